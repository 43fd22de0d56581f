//! What must hold and is seen by asking "what if": the bench stands still, a copy of its controller goes on.

use super::invariants::{Invariant, Violation, broken};
use super::*;

/// A tick from where the bench stands, one second on, with other inputs; the bench itself does not move.
fn what_if(bench: &Bench, inputs: &Inputs) -> Outputs {
    what_if_at(bench, inputs).1
}

fn what_if_at(bench: &Bench, inputs: &Inputs) -> (State, Outputs) {
    let (mut state, mut outputs) = (bench.state.clone(), bench.outputs);
    (bench.controller)(&bench.config, &mut state, s(bench.now_s + 1), inputs, &mut outputs);
    (state, outputs)
}

/// The last reading of this sensor is found to stand still: it is no good reading either.
fn stands_still(state: &State, u: SensorUse) -> bool {
    let sensors = &state.control.sensors;
    let watch = match u {
        SensorUse::Supply => sensors.supply.watch,
        SensorUse::BoilerOutlet(b) => sensors.outlets[b.index()].watch,
        _ => return false,
    };
    matches!(watch, guard::sensors::Watch::Frozen { .. })
}

fn demands(config: &Config, o: &Outputs) -> Vec<bool> {
    let on = |b| config.points.relay(RelayUse::Demand(BoilerId(b))).is_some_and(|r| o.relay(r).on);
    (0..config.boilers.len() as u8).map(on).collect()
}

/// A sensor that fails now raises neither a demand nor a rate, against the same second with the last reading.
pub fn failed_sensors_raise(bench: &Bench) -> Vec<Violation> {
    let (state, good) = what_if_at(bench, &bench.inputs);
    let mut v = Vec::new();
    let sensors = &bench.config.points.sensors;
    if sensors.iter().any(|u| stands_still(&state, *u) && !stands_still(&bench.state, *u)) {
        // This very second finds a reading frozen: what follows with the last readings is no good case to compare with.
        return v;
    }
    for (i, u) in sensors.iter().enumerate() {
        for fault in [Reading::Open, Reading::Short, Reading::NeverRead] {
            let mut inputs = bench.inputs;
            inputs.sensors[i] = fault;
            let what = raised(&bench.config, &good, &what_if(bench, &inputs)).map(|x| format!("{u:?} {fault:?}: {x}"));
            v.extend(what.map(|x| broken(Invariant::FailedSensorRaisesNothing, x)));
        }
    }
    v
}

pub fn raised(config: &Config, good: &Outputs, bad: &Outputs) -> Option<String> {
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
pub fn own_faults_stop_others(bench: &Bench) -> Vec<Violation> {
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
                    v.push(broken(Invariant::OwnFaultStopsNoOther, format!("{u:?} stops boiler {i}")));
                }
            }
        }
    }
    v
}

/// With a call, good inputs and the button pressed: seconds until a flame is proved, within the bound.
pub fn recovers(bench: &mut Bench) -> Option<u32> {
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

/// A state moved to the fixed moment goes on as the one that was not: the bench runs on for so many seconds.
pub fn rebased_does_the_same(bench: &mut Bench, seconds: u32) -> Option<Violation> {
    let mut other = bench.state.rebased(&bench.config);
    let mut outputs = bench.outputs;
    let shift = other.at.since(bench.state.at);
    let twice = other.rebased(&bench.config) == other;
    for _ in 0..seconds {
        bench.second();
        (bench.controller)(&bench.config, &mut other, s(bench.now_s).after(shift), &bench.inputs, &mut outputs);
        if outputs != bench.outputs || !twice {
            let what = format!("a rebased state differs: {:?}", diff(&outputs, &bench.outputs).collect::<Vec<_>>());
            return Some(broken(Invariant::RebasedDoesTheSame, what));
        }
    }
    None
}

/// Ticks that are due at once end.
pub fn comes_to_rest(b: &Bench) -> Vec<Violation> {
    let (mut state, mut outputs) = (b.state.clone(), b.outputs);
    for _ in 0..24 {
        if next_due(&state).is_none_or(|d| d > s(b.now_s)) {
            return Vec::new();
        }
        (b.controller)(&b.config, &mut state, s(b.now_s), &b.inputs, &mut outputs);
    }
    vec![broken(Invariant::ComesToRest, "does not come to rest".to_owned())]
}

/// A tick so many seconds on that is not due changes nothing but the meters.
pub fn early_tick_changes(b: &Bench, early_s: u32) -> Vec<Violation> {
    let due = next_due(&b.state);
    if due.is_some_and(|d| d <= s(b.now_s + early_s)) {
        return Vec::new();
    }
    let (mut state, mut outputs) = (b.state.clone(), b.outputs);
    (b.controller)(&b.config, &mut state, s(b.now_s + early_s), &b.inputs, &mut outputs);
    let same = outputs == b.outputs
        && state.control == b.state.control
        && state.laws == b.state.laws
        && next_due(&state) == due;
    let what = || format!("an early tick changes {:?}", diff(&b.outputs, &outputs).collect::<Vec<_>>());
    (!same).then(|| broken(Invariant::EarlyTickChangesNothing, what())).into_iter().collect()
}
