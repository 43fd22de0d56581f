//! The middle of a tick: every machine in its order, each taking at most one step.
//!
//! The order is that in which the trade thinks: what is forbidden, what the weather asks, who calls, who heats, what moves
//! the water. A machine sees this tick's conclusions of those before it, and the last tick's of those after it.

use crate::{
    asks::{self, Askers},
    boilers::Failure,
    clock::Clock,
    config::{BoilerConfig, BoilerDrive, Config, StageBy, ZoneDrive},
    damper::Damper,
    demand::{self, Plant, able, failed, which},
    guard::{Verdict, proofs, sensors::Trusted},
    heat,
    ids::{BoilerId, SafetyId, SensorId},
    law::pi::Pi,
    laws::Basis,
    limits::{BOILERS, PUMPS},
    mask::Mask,
    outputs::Stated,
    points::RelayUse,
    pumps,
    purge::{self, Sink},
    reason::Reason,
    reset::Season,
    seen::Seen,
    staging::{self, required},
    state::{Control, State},
    units::{CivilMinute, Permille, Temp},
    zones::{self, Circumstances, Wants},
};

/// What a tick has decided, before it is stated point by point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Decided {
    pub(crate) zones: Wants,
    pub(crate) pumps: [Stated; PUMPS],
    pub(crate) demands: [Stated; BOILERS],
    /// The target each boiler is told.
    pub(crate) told: Option<Temp>,
    pub(crate) damper: Damper,
    pub(crate) target: Option<Temp>,
    pub(crate) lead: Option<BoilerId>,
    pub(crate) verdict: Verdict,
    pub(crate) first_out: Option<crate::SafetyId>,
    pub(crate) dead_sensors: Mask,
    /// Why the alarm is raised.
    pub(crate) alarm: Option<Reason>,
}

/// Lets every machine take its step.
pub(crate) fn decide(
    config: &Config,
    state: &mut State,
    seen: &Seen,
    civil: Option<CivilMinute>,
    clock: &mut Clock,
) -> Decided {
    // What is forbidden.
    let verdict = state.control.guard.decide(config, seen, clock);
    let trusted = state.control.sensors.decide(config, seen, &state.control.boilers, clock);

    // What the weather asks.
    state.laws.outdoor.decide(&config.reset, seen.outdoor.temp(), clock);
    let outdoor = state.laws.outdoor.value(&config.reset);
    let control = &mut state.control;
    control.frost.decide(config, seen, outdoor, clock);
    let frost = control.frost;
    control.reset.decide(&config.reset, &config.schedules, outdoor, civil, clock);

    // Who calls.
    if let Some(tank) = &config.tank {
        let cold = seen.outdoor.temp().unwrap_or(outdoor) < tank.priority_above;
        control.tank.decide(tank, seen.tank_call, !cold && !frost.any(), verdict.tank.is_some(), clock);
    }
    let zones_held = zones_held(&verdict);
    let sink = purge::sink(config, seen.off, zones_held, seen.tank.temp(), verdict.tank.is_some());
    let sink_now = sink.filter(|_| control.purge.runs());
    let around = Circumstances {
        season: control.reset.season == Season::Heating,
        shedding: control.tank.sheds(),
        frost: frost.moves(),
        stopped: verdict.zones,
        purge: match sink_now {
            Some(Sink::Zone(z)) => Some(z),
            Some(Sink::Tank) | None => None,
        },
    };
    let wants = zones::decide(config, &mut control.zones, seen, &around, clock);
    let open = zones::open(config, &wants, seen);
    let running = pumps::running(&control.pumps, seen.hand, seen.off);
    let tank_pump = config.tank.as_ref().map(|t| t.pump.0);
    let tank_calls =
        tank_pump.is_some_and(|p| control.tank.call.counts() && !seen.off.has(p)) && verdict.tank.is_none();
    let outflow =
        !zones::flowing(config, open, running).is_empty() || tank_pump.is_some_and(|p| tank_calls && running.has(p));
    let outflow_coming = outflow || tank_calls || !can_flow(config, wants.water, seen.off).is_empty();
    let heat_zones = can_flow(config, wants.heat, seen.off);
    let heating = control.reset.target(&config.reset, outdoor, state.laws.demand_trim);
    let target = heat::target(config, heating, heat_zones, tank_calls, frost);

    // Who heats.
    let supply = trusted.supply;
    let able = able(config, &verdict, &control.boilers);
    let firing = which(config, &control.boilers, |b| b.state.firing());
    control.rotation.decide(config, &state.meter, civil, able, firing, clock);
    let order = control.rotation.order(config, able);
    let lead = order.first().copied();
    let all_by_rate = control.staging.enlisted.iter().all(|b| state.laws.load.lit.has(b.0));
    let leaver = control.staging.leaver(config.rotation.off_order);
    let advice = state.laws.load.advise(config, all_by_rate, leaver, clock);
    let low_load = &mut control.low_load;
    let warm = control.boilers.iter().any(|b| matches!(b.state, crate::boilers::BoilerState::Holding { .. }));
    let satisfied = target.is_some_and(|t| warm || supply.is_some_and(|s| s >= t));
    low_load.decide(&config.staging, firing, satisfied, clock);
    let required = match &config.staging.stage_by {
        StageBy::Load(rules) => state.laws.required.advise(&state.laws.basis.required, rules),
        StageBy::Error => None,
    };
    let stage = staging::Around {
        target,
        supply,
        order: &order,
        faulted: verdict.faulted.or(failed(config, &control.boilers)),
        boilers: &control.boilers,
        common: verdict.common.is_some() || control.damper == Damper::Failed,
        outflow,
        advice,
        required,
        band: low_load.band(&config.staging),
        low: low_load.low(),
    };
    if control.staging.decide(config, &mut state.laws.sums, &stage, clock) {
        state.laws.required.stage_changed();
    }
    let damper_there = seen.damper_seen || config.points.relays.contains(&RelayUse::Damper);
    let air = !damper_there
        || !control.proofs.damper_stuck && (control.damper == Damper::Open && (seen.damper_open || !seen.damper_seen));
    let told = state.laws.told(config, target);
    let plant = Plant {
        seen,
        verdict: &verdict,
        target,
        told,
        lowest: config.reset.supply_min,
        supply,
        outlets: &trusted.outlets,
        outflow,
        outflow_coming,
        air,
        pumps: running,
        lead,
    };
    let fired = !which(config, &control.boilers, |b| b.state.demand()).is_empty();
    let lost = fired && control.damper == Damper::Open && seen.damper_seen && !seen.damper_open;
    let demands = demand::decide(config, state, &plant, clock);
    let control = &mut state.control;
    if damper_there {
        let needed = needs_air(&config.boilers, &control.boilers, clock);
        let proof = seen.damper_seen.then_some(seen.damper_open);
        control.damper.decide(&config.guard, needed, proof, seen.acknowledge, clock);
    }

    // What moves the water.
    let demand = which(config, &control.boilers, |b| b.state.demand());
    let purge_around = purge::Around {
        demand: !demand.is_empty(),
        heat_wanted: target.is_some(),
        supply: supply.filter(|_| trusted.supply_good),
        sink,
    };
    control.purge.decide(config, &purge_around, clock);
    let askers = Askers { seen, verdict: &verdict, zones: &wants, open, sink: sink_now };
    let asks = asks::collect(config, control, &askers, clock);
    let pumps =
        pumps::decide(&config.pumps, config.pump_stagger, &mut control.pumps, &mut control.pump_started, &asks, clock);

    // What the laws follow until the next tick.
    state.laws.load.decide(config, &control.boilers, clock);
    let enlisted = &control.staging.enlisted;
    let flowing = zones::flowing(config, open, running);
    let mixing = mixed_zones(config, seen).and(flowing);
    let tank_flows = tank_pump.is_some_and(|p| tank_calls && running.has(p));
    let required =
        required_basis(config, &control.staging, &control.boilers, &order, flowing, tank_flows, target, &trusted, seen);
    let by_load = required.now_w.is_some();
    state.laws.basis = Basis {
        target,
        supply,
        good: trusted.supply_good,
        up: !by_load
            && outflow
            && trusted.supply_good
            && !enlisted.is_empty()
            && control.staging.all_proved(&control.boilers),
        down: !by_load && enlisted.len() > 1,
        trimming: outflow && trusted.supply_good && trims(config, &control.boilers),
        outlet: hottest(&control.boilers, &trusted.outlets),
        mixing,
        heating,
        running: pumps::running(&control.pumps, seen.hand, seen.off),
        required,
    };
    for (i, valve) in (0u8..).zip(&mut state.laws.mixing) {
        if !mixing.has(i) {
            *valve = Pi::at(Permille::ZERO);
        }
    }
    let proofs_around = proofs::Around {
        valves: wants.water,
        rest: state.laws.basis.running.is_empty() && demand.is_empty(),
        damper: proofs::damper_is_ours(config).then(|| control.damper.asked()),
        lost,
    };
    control.proofs.decide(&config.guard, seen, &proofs_around, clock);
    let alarm = alarm(config, control, &verdict, &trusted, seen);
    Decided {
        zones: wants,
        pumps,
        demands,
        told,
        damper: control.damper,
        target,
        lead,
        verdict,
        first_out: control.guard.first_out,
        dead_sensors: seen.dead_sensors,
        alarm,
    }
}

/// What the required heat is and is set against, where the strategy asks for it.
#[allow(clippy::too_many_arguments)]
fn required_basis(
    config: &Config,
    staging: &staging::Staging,
    boilers: &[crate::boilers::Boiler; BOILERS],
    order: &[BoilerId],
    flowing: Mask,
    tank_flows: bool,
    target: Option<Temp>,
    trusted: &Trusted,
    seen: &Seen,
) -> required::Basis {
    let (StageBy::Load(rules), Some(target), Some(return_)) = (&config.staging.stage_by, target, seen.return_.temp())
    else {
        return required::Basis::default();
    };
    if staging.enlisted.is_empty() || !trusted.supply_good {
        return required::Basis::default();
    }
    let zones = (0u8..).zip(&config.zones).filter(|(i, _)| flowing.has(*i)).map(|(_, z)| z.flow_w_per_k);
    let tank = config.tank.iter().filter(|_| tank_flows).map(|t| t.flow_w_per_k);
    let flow_w_per_k = zones.chain(tank).fold(0u32, u32::saturating_add);
    let next = order.iter().find(|b| !staging.wants(**b)).copied();
    let leaver = staging.leaver(config.rotation.off_order);
    let basis = required::Basis::of(config, rules, &staging.enlisted, next, leaver);
    let known = flow_w_per_k > 0;
    required::Basis {
        now_w: known.then(|| required::heat_w(flow_w_per_k, target, return_)),
        proved: staging.all_proved(boilers),
        short: required::too_short(rules, target, trusted.supply),
        ..basis
    }
}

/// Why the alarm is raised: what opened first, what waits to be acknowledged, boilers, the damper, sensors, proofs.
fn alarm(config: &Config, control: &Control, verdict: &Verdict, trusted: &Trusted, seen: &Seen) -> Option<Reason> {
    let latched = control.guard.first_out.or(control.guard.latched.first().map(SafetyId));
    if let Some(s) = latched {
        return Some(Reason::Safety(s));
    }
    let failed = config.boilers.iter().zip(&control.boilers).find_map(|(_, b)| b.state.failure());
    match failed {
        _ if !seen.boiler_faults.is_empty() => return Some(Reason::BoilerFault),
        Some(Failure::Flow) => return Some(Reason::FlowFailed),
        Some(Failure::Flame) => return Some(Reason::FlameFailed),
        None => {}
    }
    if matches!(control.damper, Damper::Failed | Damper::Waiting { .. }) {
        return Some(Reason::DamperFailed);
    }
    if let Some(s) = seen.dead_sensors.first() {
        return Some(Reason::Fallback(SensorId(s)));
    }
    let rest = (verdict.alarm || trusted.frozen).then_some(Reason::Alarm);
    rest.or_else(|| control.proofs.alarm())
}

/// The hottest outlet of a boiler that burns, of those that have a sensor there.
fn hottest(boilers: &[crate::boilers::Boiler; BOILERS], outlets: &[Option<Temp>; BOILERS]) -> Option<Temp> {
    boilers.iter().zip(outlets).filter(|(b, _)| b.state.firing()).filter_map(|(_, t)| *t).max()
}

/// Zones of `wanting` whose pump is not switched to OFF.
fn can_flow(config: &Config, wanting: Mask, off: Mask) -> Mask {
    let mut m = Mask::NONE;
    for (i, z) in (0u8..).zip(&config.zones) {
        let pump_off = match z.drive {
            ZoneDrive::Pump(p) | ZoneDrive::Valve { pump: Some(p) } => off.has(p.0),
            ZoneDrive::Valve { pump: None } => false,
        };
        m.add_if(i, wanting.has(i) && !pump_off);
    }
    m
}

fn zones_held(verdict: &Verdict) -> Mask {
    let mut m = Mask::NONE;
    for (i, z) in (0u8..).zip(&verdict.zones) {
        m.add_if(i, z.is_some());
    }
    m
}

/// Mixed zones whose mixed sensor gives a temperature.
fn mixed_zones(config: &Config, seen: &Seen) -> Mask {
    let mut m = Mask::NONE;
    for (i, (z, r)) in (0u8..).zip(config.zones.iter().zip(&seen.mixed)) {
        m.add_if(i, z.mix.is_some() && r.temp().is_some());
    }
    m
}

/// Some boiler that is told its target burns.
fn trims(config: &Config, boilers: &[crate::boilers::Boiler; BOILERS]) -> bool {
    config.boilers.iter().zip(boilers).any(|(c, b)| matches!(c.drive, BoilerDrive::Target { .. }) && b.state.firing())
}

/// A boiler that waits for air, has a demand, or still purges its furnace needs the damper open.
fn needs_air(configs: &[BoilerConfig], boilers: &[crate::boilers::Boiler; BOILERS], clock: &mut Clock) -> bool {
    let mut needed = false;
    for (c, b) in configs.iter().zip(boilers) {
        needed |= match b.state.off_since() {
            None => true,
            Some(off) => {
                matches!(b.state, crate::boilers::BoilerState::Air { .. }) || !clock.elapsed(off, c.post_purge)
            }
        };
    }
    needed
}
