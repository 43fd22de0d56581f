//! What must hold whatever happens, on random plants and random histories, and each observer seen to fail.

mod common;
use common::history::{History, apply, plants};
use common::invariants::Observer;
use common::*;
use heatwright_core::{config::*, *};
use proptest::prelude::*;

/// Runs a history second by second; `look` sees the bench after every tick, `spoil` may falsify the outputs that are looked at.
fn run(bench: &mut Bench, history: &History, mut look: impl FnMut(&mut Bench) -> Vec<String>) -> Result<(), String> {
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

fn quiet(shape: Shape) -> Bench {
    let mut b = Bench::new(shape);
    b.water = false;
    b
}

/// A tick from where the bench stands, one second on, with other inputs; the bench itself does not move.
fn what_if(bench: &Bench, inputs: &Inputs) -> Outputs {
    let (mut state, mut outputs) = (bench.state.clone(), bench.outputs);
    tick(&bench.config, &mut state, s(bench.now_s + 1), inputs, &mut outputs);
    outputs
}

fn demands(config: &Config, o: &Outputs) -> Vec<bool> {
    let on = |b| config.points.relay(RelayUse::Demand(BoilerId(b))).is_some_and(|r| o.relay(r).on);
    (0..config.boilers.len() as u8).map(on).collect()
}

/// A sensor that fails now raises neither a demand nor a rate, against the same second with the last reading.
fn failed_sensors_raise(bench: &Bench) -> Vec<String> {
    let good = what_if(bench, &bench.inputs);
    let mut v = Vec::new();
    for (i, u) in bench.config.points.sensors.iter().enumerate() {
        for fault in [Reading::Open, Reading::Short, Reading::NeverRead] {
            let mut inputs = bench.inputs;
            inputs.sensors[i] = fault;
            v.extend(raised(&bench.config, &good, &what_if(bench, &inputs)).map(|x| format!("{u:?} {fault:?}: {x}")));
        }
    }
    v
}

fn raised(config: &Config, good: &Outputs, bad: &Outputs) -> Option<String> {
    let more = demands(config, good).iter().zip(demands(config, bad)).any(|(g, b)| b && !g);
    // Rates count together: what one boiler leaves another may take over.
    let rates = |o: &Outputs| -> u32 {
        let all = o.analogs.iter().zip(&config.points.analogs);
        all.filter(|(_, u)| matches!(u, AnalogUse::Rate(_))).map(|(a, _)| u32::from(a.at.get())).sum()
    };
    let target = |o: &Outputs| {
        let all = o.analogs.iter().zip(&config.points.analogs);
        all.filter(|(_, u)| matches!(u, AnalogUse::Target(_))).map(|(a, _)| a.at).max()
    };
    // A thousandth is lost or won where a sum is shared out anew.
    let hotter = rates(bad) > rates(good) + 1 || target(bad) > target(good);
    (more || hotter)
        .then(|| format!("raises firing (demand {more}, signal {hotter}): {:?}", diff(good, bad).collect::<Vec<_>>()))
}

/// A fault that is one boiler's own takes no demand from the others.
fn own_faults_stop_others(bench: &Bench) -> Vec<String> {
    let good = demands(&bench.config, &what_if(bench, &bench.inputs));
    let mut v = Vec::new();
    for b in 0..bench.config.boilers.len() as u8 {
        let uses = [
            (ContactUse::BoilerFault(BoilerId(b)), true),
            (ContactUse::Flow(BoilerId(b)), false),
            (ContactUse::BoilerSwitch(BoilerId(b)), false),
            (ContactUse::Safety(high_limit(b), Tap::Chain), false),
        ];
        for (u, closed) in uses {
            let mut inputs = bench.inputs;
            inputs.set(bench.config.points.contact(u).unwrap(), closed);
            let bad = demands(&bench.config, &what_if(bench, &inputs));
            for (i, (g, d)) in good.iter().zip(&bad).enumerate() {
                if i != usize::from(b) && *g && !d {
                    v.push(format!("{u:?} stops boiler {i}"));
                }
            }
        }
    }
    v
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, max_shrink_iters: 200, failure_persistence: None, ..ProptestConfig::default() })]

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
        let mut other = bench.state.rebased(&bench.config);
        let mut outputs = bench.outputs;
        prop_assert_eq!(other.rebased(&bench.config), other.clone());
        let shift = other.at.since(bench.state.at);
        for _ in 0..2000 {
            bench.now_s += 1;
            bench.plant();
            bench.tick();
            tick(&bench.config, &mut other, s(bench.now_s).after(shift), &bench.inputs, &mut outputs);
            prop_assert_eq!(outputs, bench.outputs);
        }
    }

    #[test]
    fn what_is_due_at_once_comes_to_rest((shape, history) in plants(40)) {
        let mut bench = quiet(shape);
        run(&mut bench, &history, |b| {
            let (mut state, mut outputs) = (b.state.clone(), b.outputs);
            for _ in 0..24 {
                if next_due(&b.config, &state).is_none_or(|d| d > s(b.now_s)) {
                    return Vec::new();
                }
                tick(&b.config, &mut state, s(b.now_s), &b.inputs, &mut outputs);
            }
            vec!["does not come to rest".to_owned()]
        })
        .map_err(TestCaseError::fail)?;
    }
}

/// With a call, good inputs and the button pressed: seconds until a flame is proved, within the bound.
fn recovers(bench: &mut Bench) -> Option<u32> {
    // Longest: a glide back from the outdoor fallback, then a rest, a failed start's wait and two proofs.
    const BOUND_S: u32 = 6 * 3600;
    bench.config.reset.outdoor_filter = Span::ZERO;
    for (i, u) in bench.config.points.contacts.clone().iter().enumerate() {
        let closed = matches!(u, ContactUse::Safety(..) | ContactUse::BoilerSwitch(_) | ContactUse::Auto(_));
        bench.inputs.set(ContactId(i as u8), closed);
    }
    bench.read(SensorUse::Outdoor, Reading::At(c(0)));
    bench.read(SensorUse::Return, Reading::At(c(25)));
    bench.read(SensorUse::Supply, Reading::At(c(25)));
    for b in 0..4 {
        bench.read(SensorUse::BoilerOutlet(BoilerId(b)), Reading::At(c(30)));
    }
    bench.call(0, true);
    bench.second();
    bench.contact(ContactUse::Acknowledge, true);
    for i in 0..BOUND_S {
        bench.second();
        if i == 5 {
            bench.contact(ContactUse::Acknowledge, false);
        }
        let fires = |b| {
            bench.demand(b).on
                && bench.inputs.closed(bench.config.points.contact(ContactUse::Flame(BoilerId(b))).unwrap())
        };
        if (0..bench.config.boilers.len() as u8).any(fires) {
            return Some(i);
        }
    }
    None
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

#[test]
fn the_observer_sees_a_demand_through_an_open_limit() {
    let mut b = fired();
    let mut o = Observer::new(&b.config);
    assert_eq!(o.second(&b.config, b.now_s, &b.inputs, &b.outputs), Vec::<String>::new());
    b.contact(ContactUse::Safety(high_limit(0), Tap::Chain), false);
    // Outputs as they were: a controller that does not look.
    let seen = o.second(&b.config, b.now_s + 1, &b.inputs, &b.outputs);
    assert!(seen[0].contains("has a demand although"), "{seen:?}");
}

/// Outputs with one relay falsified.
fn with_relay(b: &Bench, u: RelayUse, on: bool) -> Outputs {
    let mut o = b.outputs;
    o.relays[b.config.points.relay(u).unwrap().index()].on = on;
    o
}

#[test]
fn the_observer_sees_short_rests_short_runs_and_a_stopped_pump() {
    let b = fired();
    let demand = RelayUse::Demand(BoilerId(0));
    let mut o = Observer::new(&b.config);
    let look = |o: &mut Observer, at: u32, out: &Outputs| o.second(&b.config, b.now_s + at, &b.inputs, out).join("; ");
    assert_eq!(look(&mut o, 0, &b.outputs), "");
    assert!(look(&mut o, 10, &with_relay(&b, demand, false)).contains("without need"));
    assert!(look(&mut o, 20, &b.outputs).contains("after a rest of"));
    assert!(look(&mut o, 21, &with_relay(&b, RelayUse::Pump(PumpId(2)), false)).contains("pump stands"));
    assert!(look(&mut o, 22, &b.outputs).contains("pump 2 starts too soon"));
    assert!(look(&mut o, 23, &with_relay(&b, RelayUse::Pump(PumpId(2)), false)).contains("pump 2 stops too soon"));
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
    assert_eq!(own_faults_stop_others(&b), Vec::<String>::new());
    b.config.safeties[high_limit(0).index()].scope = SafetyScope::Plant;
    assert!(!own_faults_stop_others(&b).is_empty());
}

#[test]
fn the_bound_fails_for_a_boiler_that_does_not_light() {
    let mut b = quiet(Shape::default());
    b.no_flame = [true; 4];
    assert_eq!(recovers(&mut b), None);
}
