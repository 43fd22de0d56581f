//! Power may go at any tick: afterwards timers restart on the safe side, and nothing latched is forgotten.

mod common;
use common::history::{Happening, apply, plants};
use common::invariants::Observer;
use common::*;
use heatwright_core::*;
use proptest::prelude::*;

/// The controller as it is after a power cut of so many seconds: what is remembered, and all relays dropped meanwhile.
fn cut(b: &mut Bench, off_s: u32, remembered: &Memory) {
    b.state = State::new(&b.config, Some(remembered));
    b.outputs = Outputs::default();
    b.lit_for = [0; 4];
    // The controller's clock starts at zero; the bench's runs on.
    b.now_s += off_s;
}

/// Runs a history with power cuts in it, watched by an observer that knows no power cut: it sees relays only.
fn run(shape: Shape, steps: &[(u32, Happening)], cuts: &[(u32, u32)], forget: bool) -> Result<(), String> {
    let mut b = Bench::new(shape);
    b.water = false;
    let mut observer = Observer::new(&b.config);
    let mut follow = true;
    let (mut zero, mut ahead) = (0, 0);
    let mut cuts = cuts.iter().copied().peekable();
    for (wait, happening) in steps {
        for _ in 0..(*wait).min(2000) {
            b.now_s += 1;
            if follow {
                b.plant();
            }
            tick(&b.config, &mut b.state, s(b.now_s - zero + ahead), &b.inputs, &mut b.outputs);
            if let Some(v) = observer.second(&b.config, b.now_s, &b.inputs, &b.outputs).into_iter().next() {
                return Err(format!("at {} s: {v}", b.now_s));
            }
            if let Some((_, off_s)) = cuts.next_if(|(at, _)| *at <= b.now_s) {
                let before = b.state.memory();
                ahead = 0;
                cut(&mut b, off_s, &before);
                zero = b.now_s;
                // While power is off the observer sees every relay drop at the moment of the cut.
                observer.dropped(b.now_s - off_s);
                if forget {
                    // A controller that takes its timers for over: its clock runs on by a day.
                    ahead = 86_400;
                }
                if b.state.memory() != before {
                    return Err("what was remembered is not what comes back".to_owned());
                }
            }
        }
        apply(&mut b, happening, &mut follow);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(16), max_shrink_iters: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_minimum_is_cut_short_by_a_power_cut(
        (shape, history) in plants(40),
        cuts in prop::collection::vec((1u32..20_000, 1u32..400), 1..6),
    ) {
        let mut cuts = cuts;
        cuts.sort_unstable();
        if let Err(e) = run(shape, &history.steps, &cuts, false) {
            return Err(TestCaseError::fail(e));
        }
    }
}

#[test]
fn one_failed_start_is_remembered_so_that_the_next_failure_latches() {
    let mut b = Bench::new(Shape::default());
    b.water = false;
    b.supply(25);
    b.call(0, true);
    b.no_flame[0] = true;
    b.until(900, |b| b.demand(0).why == Reason::Retry);
    let memory = b.state.memory();
    b.state = State::new(&b.config, Some(&memory));
    b.outputs = Outputs::default();
    b.lit_for = [0; 4];
    b.now_s = 0;
    b.until(900, |b| b.demand(0).on);
    b.until(200, |b| b.demand(0).why == Reason::FlameFailed);
}

/// Puts the power off and on again, with what is remembered written and read back as a store does.
fn blip(b: &mut Bench) {
    let found = Memory::decode(&b.state.memory().encode(7), 7);
    assert_eq!(found, memory::Found::Whole(b.state.memory()));
    b.state = State::new(&b.config, found.memory());
    (b.outputs, b.lit_for, b.now_s) = (Outputs::default(), [0; 4], 0);
}

/// The proof of the damper is welded and found so. Its limit is longer than the boiler's shortest stop, so that a watch which begins
/// anew would come too late.
#[test]
fn no_burner_lights_on_a_welded_damper_proof_after_a_power_cut() {
    let mut plant = config(Shape { damper: true, ..Shape::default() });
    plant.guard.damper_proof_max = Span::from_s(400);
    let mut b = Bench::with(plant);
    b.water = false;
    b.supply(25);
    let welded = |b: &mut Bench, seconds: u32| {
        for _ in 0..seconds {
            b.now_s += 1;
            b.plant();
            b.contact(ContactUse::DamperOpen, true);
            b.tick();
        }
        b.relay(RelayUse::Alarm).why
    };
    assert_eq!(welded(&mut b, 440), Reason::StuckDamper);
    b.call(0, true);
    blip(&mut b);
    for _ in 0..1200 {
        assert_eq!(welded(&mut b, 1), Reason::StuckDamper);
        assert!(!b.demand(0).on, "the burner lights at {} s", b.now_s);
    }
    assert_eq!(b.demand(0).why, Reason::DamperProof);
    // Seen shut once, it is believed again.
    b.now_s += 1;
    b.contact(ContactUse::DamperOpen, false);
    b.tick();
    b.until(60, |b| b.demand(0).on);
}

/// The damper fails once, the power fails, and the damper fails again.
#[test]
fn a_damper_that_failed_once_before_a_power_cut_latches_at_its_next_failure() {
    let mut b = Bench::new(Shape { damper: true, ..Shape::default() });
    b.water = false;
    b.supply(25);
    let shut = |b: &mut Bench, most: u32, until: fn(&Bench) -> bool| {
        for _ in 0..most {
            if until(b) {
                return;
            }
            b.now_s += 1;
            b.plant();
            b.contact(ContactUse::DamperOpen, false);
            b.tick();
        }
        panic!("never after {most} s: {:?}", b.relay(RelayUse::Damper));
    };
    b.call(0, true);
    shut(&mut b, 900, |b| b.relay(RelayUse::Damper).why == Reason::Retry);
    blip(&mut b);
    b.contact(ContactUse::DamperOpen, false);
    let gave_up = |b: &Bench| matches!(b.relay(RelayUse::Damper).why, Reason::Retry | Reason::DamperFailed);
    shut(&mut b, 900, gave_up);
    assert_eq!(b.relay(RelayUse::Damper).why, Reason::DamperFailed, "asked twice, the power cut between");
    b.acknowledge();
    b.until(900, |b| b.demand(0).on);
    assert!(!b.state.memory().damper_missed, "it has opened");
}

#[test]
fn alarms_that_wait_to_be_acknowledged_survive_a_power_cut() {
    let mut b = Bench::new(Shape { damper: true, ..Shape::default() });
    b.water = false;
    b.supply(25);
    b.call(0, true);
    b.until(600, |b| b.demand(0).on);
    b.now_s += 1;
    b.plant();
    b.contact(ContactUse::DamperOpen, false);
    b.tick();
    b.state.control.hot.often.add(0);
    b.call(0, false);
    blip(&mut b);
    let alarm = |b: &mut Bench| {
        b.run(100);
        b.relay(RelayUse::Alarm)
    };
    let raised = |why| Stated { on: false, why };
    assert_eq!(alarm(&mut b), raised(Reason::HotCuts(BoilerId(0))));
    b.state.control.hot.often = mask::Mask::NONE;
    blip(&mut b);
    assert_eq!(alarm(&mut b), raised(Reason::DamperFailed));
    b.acknowledge();
    blip(&mut b);
    assert_eq!(alarm(&mut b), Stated { on: true, why: Reason::Healthy });
}

/// Boiler 3 of a plant is locked out; in the next plant a boiler has been taken out before it.
#[test]
fn after_a_change_of_the_configuration_no_boiler_that_was_locked_out_is_free() {
    let mut before = Bench::new(Shape { boilers: 3, ..Shape::default() });
    let why = boilers::Failure::Flame;
    before.state.control.boilers[2].state = boilers::BoilerState::LockedOut { since: s(0), why };
    let record = before.state.memory().encode(1);
    let found = Memory::decode(&record, 2);
    assert!(matches!(found, memory::Found::OtherPlant(_)), "{found:?}");
    let mut b = Bench::new(Shape { boilers: 2, ..Shape::default() });
    b.water = false;
    b.supply(25);
    b.state = State::new(&b.config, found.memory());
    b.call(0, true);
    b.run(900);
    assert_eq!([0, 1].map(|i| b.demand(i).why), [Reason::FlameFailed; 2]);
    assert_eq!(b.relay(RelayUse::Alarm).why, Reason::FlameFailed);
    b.acknowledge();
    b.until(400, |b| b.demand(0).on);
    assert_eq!(b.state.memory().lockouts, [None; 4], "and none is left behind");
}

#[test]
fn a_store_that_is_an_hour_old_loses_an_hour_of_counting_and_nothing_else() {
    let mut b = Bench::new(Shape::default());
    b.water = false;
    b.supply(50);
    b.call(0, true);
    b.run(2 * 3600);
    let stored = b.state.memory();
    b.run(3600);
    let lost = b.state.meter.fired[0].minus(State::new(&b.config, Some(&stored)).meter.fired[0]);
    assert!(lost <= Span::from_h(1));
    assert_eq!(State::new(&b.config, Some(&stored)).memory(), stored);
}

#[test]
fn the_observer_finds_a_controller_that_takes_its_timers_for_over() {
    let steps = [
        (10, Happening::Contact(ContactUse::Call(ZoneId(0)), true)),
        (900, Happening::Follow(true)),
        (900, Happening::Follow(true)),
    ];
    let shape = Shape::default();
    let steps: Vec<(u32, Happening)> =
        [(1, Happening::Read(SensorUse::Supply, Reading::At(c(25))))].into_iter().chain(steps).collect();
    assert_eq!(run(shape, &steps, &[(600, 5)], false), Ok(()));
    let wrong = run(shape, &steps, &[(600, 5)], true).unwrap_err();
    assert!(wrong.to_string().contains("pump 0 starts too soon"), "{wrong}");
}
