//! States of different times compared (`State::rebased`): a plant whose clock is set back again and again does what one does
//! whose clock runs on, and a plant in which nothing happens any more comes to the same state whatever the time.

mod common;
use common::*;
use heatwright_core::{config::*, guard::sensors::OUTDOOR_STILL, *};

const TARGET: BoilerDrive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };

/// Plants that have every machine between them. Pumps are exercised after an hour, not after days.
fn plants() -> Vec<Config> {
    let all = Shape { boilers: 3, zones: 3, tank: true, damper: true, extras: true, ..Shape::default() };
    let shapes = [
        Shape { drive: TARGET, low_load: true, by_requests: true, ..all },
        Shape { drive: BoilerDrive::Rate, off_order: OffOrder::FirstOnFirstOff, ..all },
        Shape { drive: BoilerDrive::Rate, by_load: true, policy: RotationPolicy::HoursDifference(1), ..all },
        Shape { boilers: 1, zones: 2, damper: true, low_load: true, ..Shape::default() },
        Shape { boilers: 4, extras: false, policy: RotationPolicy::StartsDifference(1), ..all },
    ];
    let mut plants: Vec<Config> = shapes.map(config).into();
    for p in plants.iter_mut().flat_map(|c| &mut c.pumps) {
        (p.exercise_every, p.exercise_for) = (Span::from_h(1), span(60));
    }
    plants
}

/// What happens at a second of a day that goes through every machine.
fn happens(b: &mut Bench, second: u32) {
    let both = |b: &mut Bench, on| (b.call(0, on), b.call(1, on)).0;
    let limit = |b: &mut Bench, closed| b.contact(ContactUse::Safety(high_limit(0), Tap::Chain), closed);
    let acknowledge = |b: &mut Bench, on| b.contact(ContactUse::Acknowledge, on);
    let end_switch_sticks = (11_000..11_900).contains(&second);
    if end_switch_sticks {
        b.contact(ContactUse::EndSwitch(ZoneId(0)), true);
    }
    match second {
        60 => both(b, true),
        600 => b.contact(ContactUse::TankCall, true),
        // A bounce of the tank's and of a zone's contact.
        700 | 1803 => (b.contact(ContactUse::TankCall, second == 1803), b.call(0, second == 1803)).0,
        702 => b.contact(ContactUse::TankCall, true),
        1800 => b.call(0, false),
        2400 => b.read(SensorUse::Outdoor, Reading::At(c(-21))),
        // The first boiler does not light, rests, fails again and is locked out.
        2700 => b.no_flame[0] = true,
        4200 => b.no_flame[0] = false,
        4260 | 9060 => acknowledge(b, true),
        4261 | 9061 => acknowledge(b, false),
        // Its own high limit opens, three times within the hour.
        4400 | 5000 | 5600 => limit(b, false),
        4410 | 5010 | 5610 => limit(b, true),
        6000 => (both(b, false), b.contact(ContactUse::TankCall, false)).0,
        // Called again while the water still runs on.
        6060 => both(b, true),
        6400 => b.contact(ContactUse::Safety(DOOR, Tap::Aux), false),
        6500 => b.contact(ContactUse::Safety(DOOR, Tap::Aux), true),
        7000 => b.read(SensorUse::Outdoor, Reading::At(c(4))),
        // Water that does not move while boilers burn: sensors that are frozen.
        7200 => b.water = false,
        8400 => b.water = true,
        8700 => b.no_flow[1] = true,
        9000 => b.no_flow[1] = false,
        9100 => b.contact(ContactUse::Hand(PumpId(1)), true),
        9400 => b.contact(ContactUse::Hand(PumpId(1)), false),
        9700 => both(b, false),
        // At rest, one flow switch says that water moves.
        12_000 => b.contact(ContactUse::TankCall, true),
        12_900 => b.contact(ContactUse::TankCall, false),
        13_500 => b.call(1, true),
        _ => {}
    }
}

/// The supply's sensor fails for a quarter of an hour.
fn supply_fails(b: &mut Bench, second: u32) {
    if (3000..3900).contains(&second) {
        b.read(SensorUse::Supply, Reading::Open);
    }
}

/// Half past four on a working day: setback ends within the day of `happens`.
const CIVIL_AT_ZERO_MIN: u32 = 300 * 1440 + 270;

fn civil(second: u32) -> Option<CivilMinute> {
    Some(CivilMinute::new(CIVIL_AT_ZERO_MIN + second / 60))
}

/// The lines in which two states differ, once they are of the same time.
fn difference(a: &State, b: &State) -> String {
    let text = |s: &State| format!("{:#?}\n{:#?}", s.control, s.laws);
    let (a, b) = (text(a), text(b));
    let lines = a.lines().zip(b.lines()).filter(|(a, b)| a != b);
    lines.take(12).map(|(a, b)| format!("{}   beside it: {}\n", a.trim(), b.trim())).collect()
}

/// Beside the plant runs a second controller. At the end of every minute its clock is set back to where all rebased states
/// stand, with all that it remembers. It says the same every second, and remembers the same.
#[test]
fn a_controller_whose_clock_is_set_back_every_minute_does_the_same_all_day() {
    for (i, config) in plants().into_iter().enumerate() {
        let mut b = Bench::with(config);
        let (mut beside, mut outputs) = (b.state.clone(), b.outputs);
        let mut set_back = Instant::ZERO;
        for second in 1..15_000 {
            b.now_s = second;
            b.plant();
            happens(&mut b, second);
            supply_fails(&mut b, second);
            b.inputs.civil = civil(second);
            b.tick();
            let now = beside.at.after(Span::from_s(1));
            tick(&b.config, &mut beside, now, &b.inputs, &mut outputs);
            let first = diff(&outputs, &b.outputs).next();
            assert!(outputs == b.outputs, "plant {i} at {second} s: {first:?}");
            if second % 60 == 0 {
                beside = beside.rebased(&b.config);
                let here = b.state.rebased(&b.config);
                assert!(
                    here.control == beside.control && here.laws == beside.laws,
                    "plant {i} at {second} s:\n{}",
                    difference(&here, &beside)
                );
                assert_eq!((here.at, next_due(&here)), (beside.at, next_due(&beside)));
                set_back = beside.at;
            }
        }
        assert!(set_back > Instant::from_s(1_000_000), "the clock was set");
    }
}

/// What is due is due as long after a rebased state as it was after that from which it came.
#[test]
fn what_is_due_stays_as_far_ahead() {
    let mut b = Bench::new(Shape::default());
    b.call(0, true);
    b.run(3);
    let due = next_due(&b.state).unwrap().since(b.state.at);
    assert!(due > Span::ZERO);
    let there = b.state.rebased(&b.config);
    assert_eq!(next_due(&there).unwrap().since(there.at), due);
}

/// A rebased clock keeps its place in the longest grid on which a law moves: the filter's minute, and ten minutes while the
/// target is trimmed by demand.
#[test]
fn the_clock_keeps_its_place_in_the_longest_grid() {
    let place = |trim: TempDelta, second: u32| {
        let mut b = Bench::new(Shape::default());
        b.config.reset.demand_trim_max = trim;
        b.now_s = second;
        b.tick();
        b.state.rebased(&b.config).at.tenths() / 10 % 600
    };
    assert_eq!(place(TempDelta::ZERO, 187), 7);
    assert_eq!(place(TempDelta::from_centi_k(1), 187), 187);
    assert_eq!(place(TempDelta::from_centi_k(1), 1387), 187);
}

/// What is no moment is not moved: no pump without flow, no end switch that is wrong, no cut by hot water.
#[test]
fn what_never_was_stays_so() {
    let mut b = Bench::new(Shape { boilers: 2, zones: 2, tank: true, damper: true, extras: true, ..Shape::default() });
    b.run(900);
    let (here, there) = (&b.state.control, b.state.rebased(&b.config).control);
    assert_eq!((there.still_since, &there.hot), (Instant::ZERO, &here.hot));
    assert_eq!(there.proofs.ends_since, [Instant::ZERO; limits::ZONES]);
    assert_eq!((there.staging.last_start, there.low_load.lit), (None, None));
}

/// Something stands as it is: what was done to a plant before it was left alone.
type Left = (&'static str, fn(&mut Bench));

/// A plant that is left alone ages no more: once every wait is over, it is the same an hour later.
#[test]
fn a_plant_that_is_left_alone_ages_no_more() {
    let left: [Left; 9] = [
        ("at rest", |_| ()),
        ("both zones call", |b| (b.call(0, true), b.call(1, true)).0),
        ("the tank calls", |b| b.contact(ContactUse::TankCall, true)),
        ("a boiler is locked out", |b| (b.call(0, true), b.no_flame = [true; 4]).0),
        ("no flow", |b| (b.call(0, true), b.no_flow = [true; 4]).0),
        ("a safety is open", |b| (b.call(0, true), b.contact(ContactUse::Safety(high_limit(0), Tap::Chain), false)).0),
        ("the supply is lost", |b| (b.call(0, true), b.read(SensorUse::Supply, Reading::Open)).0),
        ("the outdoor sensor is lost", |b| (b.call(1, true), b.read(SensorUse::Outdoor, Reading::Short)).0),
        ("the water is cold", |b| b.supply(12)),
    ];
    for (i, config) in plants().into_iter().enumerate() {
        for (what, leave) in left {
            let mut b = Bench::with(config.clone());
            // A pump that is exercised is not left alone, nor one that changes with the hour of the day.
            b.config.pumps.iter_mut().for_each(|p| p.exercise_every = Span::ZERO);
            b.config.rotation.policy = RotationPolicy::Fixed;
            b.water = false;
            leave(&mut b);
            // Every twenty seconds is enough where nothing happens; the outdoor reading may stand still for a day, and is glided from.
            let on_to = |b: &mut Bench, end: u32| {
                while b.now_s < end {
                    b.now_s += 20;
                    b.plant();
                    b.tick();
                }
                b.state.rebased(&b.config)
            };
            let day_s = OUTDOOR_STILL.whole_s();
            let (early, late) = (on_to(&mut b, 4 * day_s), on_to(&mut b, 4 * day_s + 3600));
            assert!(
                early.control == late.control && early.laws == late.laws,
                "plant {i}, {what}:\n{}",
                difference(&early, &late)
            );
        }
    }
}
