//! The middle of a tick: every machine in its order, each taking at most one step.
//!
//! The order is that in which the trade thinks: what is forbidden, what the weather asks, who calls, who heats, what moves
//! the water. A machine sees this tick's conclusions of those before it, and the last tick's of those after it.

use crate::{
    asks::{self, Askers},
    boilers::{Boiler, BoilerState},
    clock::Clock,
    config::{BoilerConfig, Config, RotationPolicy},
    damper::Damper,
    demand::{self, Flames, Plant, able},
    follow::follow,
    guard::{Verdict, proofs, sensors::Trusted},
    heat,
    ids::{BoilerId, SafetyId, SensorId},
    limits::BOILERS,
    lull,
    mask::Mask,
    outputs::Row,
    points::SensorUse,
    pumps::{self, Pumps},
    purge::{self, Purge, Sink},
    reason::Reason,
    reset::{Asked, Season},
    seen::Seen,
    staging::{self, required::Moved},
    state::{Control, State},
    units::{CivilMinute, Temp},
    zones::{self, Circumstances, Wants},
};

/// What a tick has decided, before it is stated point by point.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Decided {
    pub(crate) verdict: Verdict,
    pub(crate) zones: Wants,
    pub(crate) pumps: Pumps,
    pub(crate) demands: Row<BOILERS>,
    /// The target that each boiler holds or is told.
    pub(crate) held: [Temp; BOILERS],
    pub(crate) target: Option<Temp>,
    pub(crate) lead: Option<BoilerId>,
    pub(crate) dead_sensors: Mask,
    /// Why the alarm is raised.
    pub(crate) alarm: Option<Reason>,
}

/// Where water flows in this tick, what it is to be heated to, and by whom.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Water {
    /// Pumps whose motor ran until now, and those whose motor runs from now on.
    pub(crate) running: Mask,
    pub(crate) moved: Mask,
    /// Zones through which water flows.
    pub(crate) flowing: Mask,
    /// Those of them whose water is mixed.
    pub(crate) mixing: Mask,
    /// The tank's pump runs for its call.
    pub(crate) tank_flows: bool,
    /// Water flows through a zone or the tank, or is about to.
    pub(crate) outflow: bool,
    pub(crate) outflow_coming: bool,
    /// What can take the heat that is left in the boilers, and what takes it now.
    pub(crate) sink: Option<Sink>,
    pub(crate) purged_into: Option<Sink>,
    /// Zones that are given heat.
    pub(crate) heated: Mask,
    /// No zone is, and boilers are kept for the next call.
    pub(crate) lull: bool,
    /// What heating asks for, whether or not a zone calls.
    pub(crate) asked: Asked,
    /// The damper's relay is ours.
    pub(crate) damper_ours: bool,
    /// What the boilers do, since their last step.
    pub(crate) flames: Flames,
    /// Boilers that are wanted, and the one that would come next.
    pub(crate) wanted: Mask,
    pub(crate) next: Option<BoilerId>,
}

/// Lets every machine take its step.
#[inline(never)]
pub(crate) fn decide(
    config: &Config,
    state: &mut State,
    seen: &Seen,
    civil: Option<CivilMinute>,
    clock: &mut Clock,
    decided: &mut Decided,
) {
    state.control.guard.decide(config, seen, clock, &mut decided.verdict);
    let outdoor = ask_the_weather(config, state, seen, civil, clock);
    let mut water = hear_the_calls(config, state, seen, outdoor, clock, decided);
    let mut trusted = Trusted::default();
    let wanted = decided.target.filter(|_| water.outflow);
    state.control.sensors.decide(config, seen, &water.flames, wanted, clock, &mut trusted);
    if seen.outdoor_stands {
        trusted.frozen = Some(SensorUse::Outdoor);
    }
    choose_the_boilers(config, state, &trusted, &mut water, civil, clock, decided);
    let damper_lost = heat(config, state, seen, &trusted, &water, clock, decided) && !water.flames.demand.is_empty();
    water.flames.sort(&state.control.boilers);
    move_the_water(config, &mut state.control, seen, &water, clock, decided);
    water.moved = pumps::motors(decided.pumps.on, seen.hand, seen.off);
    let control = &mut state.control;
    state.laws.load.decide(config, &control.boilers, decided.target.is_some(), clock);
    follow(config, state, seen, &trusted, &water, decided.target, clock);
    let control = &mut state.control;
    let proofs_around = proofs::Around {
        valves: decided.zones.water,
        rest: state.laws.basis.running.is_empty() && water.flames.demand.is_empty(),
        damper: water.damper_ours.then(|| control.damper.asked()),
        lost: damper_lost,
    };
    control.proofs.decide(&config.guard, seen, &proofs_around, clock);
    control.hot.decide(seen.acknowledge, clock);
    decided.dead_sensors = seen.dead_sensors;
    decided.alarm = alarm(config, control, &decided.verdict, &trusted, seen);
}

/// What the weather asks: the outdoor temperature that the target follows, frost, season and setback.
#[inline(never)]
fn ask_the_weather(
    config: &Config,
    state: &mut State,
    seen: &Seen,
    civil: Option<CivilMinute>,
    clock: &mut Clock,
) -> Temp {
    state.laws.outdoor.decide(&config.reset, seen.outdoor.temp(), clock);
    let outdoor = state.laws.outdoor.value(&config.reset);
    state.control.frost.decide(config, seen, outdoor, clock);
    state.control.reset.decide(&config.reset, &config.schedules, outdoor, civil, clock);
    outdoor
}

/// Who calls: tank and zones, where water flows for them, and the target that follows.
#[inline(never)]
fn hear_the_calls(
    config: &Config,
    state: &mut State,
    seen: &Seen,
    outdoor: Temp,
    clock: &mut Clock,
    decided: &mut Decided,
) -> Water {
    let (control, verdict) = (&mut state.control, &decided.verdict);
    let frost = control.frost;
    if let Some(tank) = &config.tank {
        let cold = seen.outdoor.temp().unwrap_or(outdoor) < tank.priority_above;
        let stopped = verdict.tank.is_some() || seen.off.has(tank.pump.0);
        control.tank.decide(tank, seen.tank_call, !cold && !frost.any(), stopped, clock);
    }
    let tank_pump = config.tank.as_ref().map(|t| t.pump.0);
    let tank_calls =
        tank_pump.is_some_and(|p| control.tank.call.counts() && !seen.off.has(p)) && verdict.tank.is_none();
    let sink = purge::sink(config, seen, verdict.zones_held, verdict.tank.is_some());
    let purged_into = sink.filter(|_| control.purge.runs());
    let season = control.reset.season == Season::Heating;
    // A call that only begins to count in this tick is counted in the next, which is due at once.
    let calls = || if season { control.zones.counts().count() } else { 0 };
    let runs = control.enable.decide(config, calls, tank_calls, clock);
    let piping = &state.known.piping;
    let floors = piping.floors(config, seen.supply.temp());
    let from = Askers { seen, verdict, sink: purged_into, warm: Mask::NONE };
    decided.pumps.follow(&control.pumps);
    // One that runs because it was asked is not due.
    let not = floors.or(decided.pumps.on.without(decided.pumps.exercised));
    let around = Circumstances {
        season,
        few: !runs,
        exercise: asks::valves_to_exercise(config, &control.pumps, piping, not, &from, clock),
        shedding: control.tank.sheds(),
        frost: frost.moves(),
        purge: match purged_into {
            Some(Sink::Zone(z)) => Mask::of(z.0),
            Some(Sink::Tank) | None => Mask::NONE,
        },
    };
    zones::decide(config, piping, &mut control.zones, seen, verdict, &around, clock, &mut decided.zones);
    let wants = &decided.zones;
    let open = zones::open(piping, wants, seen);
    asks::collect(config, control, &from, wants, open, piping, &mut decided.pumps);
    // None that would warm a floor is exercised.
    decided.pumps.no_exercise = decided.pumps.no_exercise.or(floors);
    let running = pumps::motors(decided.pumps.on, seen.hand, seen.off);
    let flowing = piping.served_or_pumpless(running).and(open);
    let stands = if seen.off.is_empty() { Mask::NONE } else { piping.served_by(seen.off) };
    let tank_flows = tank_calls && tank_pump.is_some_and(|p| running.has(p));
    let outflow = !flowing.is_empty() || tank_flows;
    let mut flames = Flames::default();
    flames.sort(&control.boilers);
    let asked = control.reset.asked(&config.reset, outdoor, state.laws.demand_trim);
    let heated = wants.heat.without(stands);
    let target = config.reset.bounded(asked.heating);
    let content = config.zones.len() > 1 && heated.is_empty() && !tank_calls && !frost.water && season && runs;
    let burn = content && !flowing.is_empty() && control.staging.wanted().meets(flames.demand);
    let may = burn && seen.supply.temp().is_some_and(|s| s < target);
    let lull = lull::decide(&mut control.lull, may, state.laws.basis.heated != 0, clock);
    decided.target = heat::target(config, target, !heated.is_empty() || lull, tank_calls, frost);
    Water {
        running,
        moved: running,
        flowing,
        mixing: flowing.and(piping.mixed.all()),
        tank_flows,
        outflow,
        outflow_coming: outflow || tank_calls || !wants.water.without(stands).is_empty(),
        sink,
        purged_into,
        heated,
        lull,
        asked,
        damper_ours: proofs::damper_is_ours(config),
        flames,
        wanted: Mask::NONE,
        next: None,
    }
}

/// Who heats: lead and stages; the boiler that would come next.
#[inline(never)]
#[allow(clippy::too_many_arguments, reason = "parts of one tick, state and decision borrowed apart")]
fn choose_the_boilers(
    config: &Config,
    state: &mut State,
    trusted: &Trusted,
    water: &mut Water,
    civil: Option<CivilMinute>,
    clock: &mut Clock,
    decided: &mut Decided,
) {
    let (target, verdict) = (decided.target, &decided.verdict);
    let control = &mut state.control;
    let able = able(config, verdict, &water.flames);
    let rest = control.staging.enlisted.is_empty();
    let staging = &control.staging;
    let firing = water.flames.firing;
    let mut wanted = staging.wanted();
    let carry = if staging.leaving.is_some() { Mask::NONE } else { wanted.and(firing) };
    control.rotation.decide(config, &state.meter, civil, able, firing, carry, rest, clock);
    let order = control.rotation.order(config, able, control.hot.often);
    decided.lead = order.first().copied();
    let low_load = &mut control.low_load;
    let warm = !water.flames.holding.is_empty();
    let satisfied = target.is_some_and(|t| warm || trusted.supply.is_some_and(|s| s >= t));
    low_load.decide(&config.staging, water.flames.firing, satisfied, clock);
    let by_rate = state.laws.basis.good && wanted.without(state.laws.load.lit).is_empty();
    let leaver = control.staging.leaver(config.rotation.off_order, decided.lead);
    let laws = &state.laws;
    let required = laws.required.advise(&laws.basis.required, laws.basis.target, config.staging.rules());
    let by_load = config.staging.by_load();
    let rest_could = !by_load && required.is_some_and(|r| r.down);
    let last = control.staging.last_start;
    let short = state.laws.sums.up_reached(config.staging.up_error_k_s)
        && (!by_rate || laws.load.held_back(config, laws.basis.outlet))
        && last.is_none_or(|t| clock.elapsed(t, config.staging.start_spacing));
    let stage = staging::Around {
        target,
        supply: trusted.supply,
        order: &order,
        able,
        wanted,
        faulted: verdict.faulted.or(water.flames.failed),
        flames: water.flames,
        common: verdict.common.is_some() || control.damper == Damper::Failed,
        outflow: water.outflow,
        advice: state.laws.load.advise(config, by_rate, leaver, clock),
        required: required.filter(|_| by_load),
        short,
        rest_could,
        band: low_load.band(&config.staging),
        low: low_load.low(),
        lull: water.lull,
        hours: matches!(config.rotation.policy, RotationPolicy::HoursDifference(_)).then_some(&state.meter.fired),
    };
    let lead_goes = control.staging.lead_goes(config.rotation.off_order, decided.lead);
    let before = control.staging.enlisted.len();
    if control.staging.decide(config, &mut state.laws.sums, &stage, clock) {
        if let Some(next) = control.staging.enlisted.first().filter(|b| lead_goes && Some(**b) != decided.lead) {
            control.rotation.dropped(*next, clock);
            decided.lead = Some(*next);
        }
        let moved = match control.staging.enlisted.len() {
            0 => Moved::NoneLeft,
            after if after < before && rest_could => Moved::Rested,
            after if after > before && short => Moved::Short,
            _ => Moved::Otherwise,
        };
        let (b, supply) = (&state.laws.basis.required, state.laws.basis.supply);
        let carried_w = b.now_w(supply).unwrap_or(0);
        state.laws.required.stage_changed(moved, carried_w);
        wanted = control.staging.wanted();
    }
    water.wanted = wanted;
    water.next = order.iter().find(|b| !wanted.has(b.0)).copied();
}

/// What they do: boilers and damper. True when the damper's proof has just been lost.
#[inline(never)]
fn heat(
    config: &Config,
    state: &mut State,
    seen: &Seen,
    trusted: &Trusted,
    water: &Water,
    clock: &mut Clock,
    decided: &mut Decided,
) -> bool {
    let (target, verdict) = (decided.target, &decided.verdict);
    let control = &mut state.control;
    let damper_there = seen.damper_seen || water.damper_ours;
    let opened = control.damper == Damper::Open;
    let damper_lost = opened && seen.damper_seen && !seen.damper_open;
    let plant = Plant {
        seen,
        verdict,
        target,
        told: state.laws.told(target),
        lowest: config.reset.supply_min,
        supply: trusted.supply,
        outlets: &trusted.outlets,
        outflow: water.outflow,
        lull: water.lull,
        // Nobody is enlisted or struck off any more in this tick.
        wanted: water.wanted.only_if(water.outflow_coming),
        air: !damper_there || !control.proofs.damper_stuck && opened && (seen.damper_open || !seen.damper_seen),
        pumps: water.running,
        coming: water.flames.coming,
        lead: decided.lead,
    };
    demand::decide(config, state, &plant, clock, &mut decided.demands, &mut decided.held);
    let control = &mut state.control;
    if damper_there {
        let needed = needs_air(&config.boilers, &control.boilers, clock);
        let proof = seen.damper_seen.then_some(seen.damper_open);
        control.damper.decide(&config.guard, needed, proof, seen.acknowledge, clock);
    }
    damper_lost
}

/// What moves the water: heat purge and pumps.
#[inline(never)]
fn move_the_water(
    config: &Config,
    control: &mut Control,
    seen: &Seen,
    water: &Water,
    clock: &mut Clock,
    decided: &mut Decided,
) {
    let warm = warm(control, clock);
    let purge_around = purge::Around {
        demand: !water.flames.demand.is_empty(),
        heat_wanted: decided.target.is_some(),
        sink: water.sink.filter(|_| !warm.is_empty()),
    };
    control.purge.decide(config, &purge_around, clock);
    let from = Askers { seen, verdict: &decided.verdict, sink: water.purged_into, warm };
    asks::collect_late(config, control, &from, &mut decided.pumps, clock);
    pumps::decide(config, control, &mut decided.pumps, clock);
}

/// Boilers without a demand that have burned, or may have, within the time that they stay warm; none while nothing is purged.
fn warm(control: &Control, clock: &mut Clock) -> Mask {
    if control.purge == Purge::Idle {
        return Mask::NONE;
    }
    let mut warm = |b: &Boiler| b.state.off_since().is_some_and(|off| !clock.elapsed(off, purge::WARM));
    Mask::each(&control.boilers).filter(|(_, b)| warm(b)).fold(Mask::NONE, |all, (it, _)| all.or(it))
}

/// Why the alarm is raised: what opened first, what waits to be acknowledged, boilers, the damper, sensors, proofs.
fn alarm(config: &Config, control: &Control, verdict: &Verdict, trusted: &Trusted, seen: &Seen) -> Option<Reason> {
    let latched = control.guard.first_out.or(control.guard.latched.first().map(SafetyId));
    if let Some(s) = latched {
        return Some(Reason::Safety(s));
    }
    if !seen.boiler_faults.is_empty() {
        return Some(Reason::BoilerFault);
    }
    let mut boilers = (0u8..).zip(config.boilers.iter().zip(&control.boilers));
    let failed = boilers.find_map(|(i, (_, b))| b.state.failure(BoilerId(i)));
    if failed.is_some() {
        return failed;
    }
    if matches!(control.damper, Damper::Failed | Damper::Waiting { .. }) {
        return Some(Reason::DamperFailed);
    }
    if let Some(s) = seen.dead_sensors.first() {
        return Some(Reason::Fallback(SensorId(s)));
    }
    let frozen = || trusted.frozen.and_then(|u| config.points.sensor(u)).map(Reason::Frozen);
    // What has a name of its own comes before what has none.
    let rest = || verdict.alarm.then_some(Reason::Alarm);
    control.hot.alarm().or_else(|| control.proofs.alarm()).or_else(frozen).or_else(rest)
}

/// A boiler that waits for air, has a demand, or still purges its furnace needs the damper open.
fn needs_air(configs: &[BoilerConfig], boilers: &[Boiler; BOILERS], clock: &mut Clock) -> bool {
    let mut needed = false;
    for (c, b) in configs.iter().zip(boilers) {
        needed |= match b.state.off_since() {
            None => true,
            Some(off) => matches!(b.state, BoilerState::Air { .. }) || !clock.elapsed(off, c.post_purge),
        };
    }
    needed
}
