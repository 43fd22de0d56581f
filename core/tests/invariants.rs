//! What must hold whatever happens, on random plants and random histories. Each observer is seen to fail in `planted_faults`.

mod common;
use common::checks::*;
use common::history::{History, apply, plants};
use common::invariants::{Observer, Violation};
use common::*;
use heatwright_core::{config::SafetyScope, *};
use proptest::prelude::*;

/// Runs a history second by second; `look` sees the bench after every tick, `spoil` may falsify the outputs that are looked at.
fn run(bench: &mut Bench, history: &History, mut look: impl FnMut(&mut Bench) -> Vec<Violation>) -> Result<(), String> {
    let mut follow = true;
    for (wait, happening) in &history.steps {
        for _ in 0..(*wait).min(3000) {
            bench.now_s += 1;
            if follow {
                bench.plant();
            }
            bench.tick();
            if let Some(v) = look(bench).into_iter().next() {
                return Err(format!("at {} s: {v}", bench.now_s));
            }
        }
        apply(bench, happening, &mut follow);
    }
    Ok(())
}

/// Found by a property: in the second in which a reading is found to stand still, one that fails is compared with nothing good.
#[test]
fn a_reading_found_frozen_in_this_second_is_no_good_one_to_compare_with() {
    let mut b = quiet(Shape { zones: 5, by_load: true, low_load: true, ..Shape::default() });
    b.run(1339);
    b.read(SensorUse::Supply, Reading::At(c(0)));
    for _ in 0..1500 {
        b.second();
        assert_eq!(failed_sensors_raise(&b).len(), 0, "at {} s", b.now_s);
    }
    assert!(b.state.control.sensors.supply.lost.is_some(), "it was found frozen");
}

fn quiet(shape: Shape) -> Bench {
    let mut b = Bench::new(shape);
    b.water = false;
    b
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(16), max_shrink_iters: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn proofs_minimums_and_pumps((shape, history) in plants(50)) {
        let mut bench = quiet(shape);
        let mut observer = Observer::new(&bench.config);
        run(&mut bench, &history, |b| observer.second(&b.config, b.now_s, &b.inputs, &b.outputs))
            .map_err(TestCaseError::fail)?;
    }

    #[test]
    fn a_failed_sensor_never_raises_firing((shape, history) in plants(40)) {
        let mut bench = quiet(shape);
        run(&mut bench, &history, |b| if b.now_s % 37 == 0 { failed_sensors_raise(b) } else { Vec::new() })
            .map_err(TestCaseError::fail)?;
    }

    #[test]
    fn one_boilers_own_fault_never_stops_the_others((shape, history) in plants(40)) {
        let mut bench = quiet(shape);
        run(&mut bench, &history, |b| if b.now_s % 37 == 0 { own_faults_stop_others(b) } else { Vec::new() })
            .map_err(TestCaseError::fail)?;
    }

    #[test]
    fn heat_comes_back_from_wherever_a_history_leads((shape, history) in plants(40)) {
        let mut bench = quiet(shape);
        run(&mut bench, &history, |_| Vec::new()).map_err(TestCaseError::fail)?;
        let seconds = recovers(&mut bench);
        prop_assert!(seconds.is_some(), "no heat within the bound: {:#?}", bench.state.control);
    }

    #[test]
    fn a_rebased_state_does_the_same((shape, history) in plants(30)) {
        let mut bench = quiet(shape);
        run(&mut bench, &history, |_| Vec::new()).map_err(TestCaseError::fail)?;
        let wrong = rebased_does_the_same(&mut bench, 2000);
        prop_assert!(wrong.is_none(), "{wrong:?}");
    }

    #[test]
    fn what_is_due_at_once_comes_to_rest((shape, history) in plants(40)) {
        let mut bench = quiet(shape);
        run(&mut bench, &history, |b| comes_to_rest(b)).map_err(TestCaseError::fail)?;
    }
}

/// A bench whose single boiler fires.
fn fired() -> Bench {
    let mut b = quiet(Shape::default());
    b.call(0, true);
    b.supply(30);
    b.run(700);
    assert!(b.demand(0).on);
    b
}

/// Outputs with one relay falsified.
fn with_relay(b: &Bench, u: RelayUse, on: bool) -> Outputs {
    let mut o = b.outputs;
    o.relays[b.config.points.relay(u).unwrap().index()].on = on;
    o
}

#[test]
fn the_comparison_sees_a_controller_that_fires_on_a_failed_sensor() {
    let b = fired();
    let off = with_relay(&b, RelayUse::Demand(BoilerId(0)), false);
    assert!(raised(&b.config, &off, &b.outputs).is_some());
    assert!(raised(&b.config, &b.outputs, &off).is_none());
}

#[test]
fn the_comparison_sees_a_fault_that_stops_another_boiler() {
    // Wired as a safety of the plant, a boiler's own limit does stop the others.
    let mut b = quiet(Shape { boilers: 2, ..Shape::default() });
    b.call(0, true);
    b.supply(20);
    b.run(3000);
    assert_eq!(b.demands(), 2);
    assert_eq!(own_faults_stop_others(&b), Vec::new());
    b.config.safeties[high_limit(0).index()].scope = SafetyScope::Plant;
    assert!(!own_faults_stop_others(&b).is_empty());
}

#[test]
fn the_bound_fails_for_a_boiler_that_does_not_light() {
    let mut b = quiet(Shape::default());
    b.no_flame = [true; 4];
    assert_eq!(recovers(&mut b), None);
}
