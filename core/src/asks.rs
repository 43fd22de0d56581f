//! Who asks for which circulator, and what stops one.
//!
//! In this order the askers name the reason: zones (through their valve's end switch where there is one), the tank, boilers.
//! A boiler asks for its pump from before its flow is proved until `pump_overrun` after its demand, and while its heat is
//! purged. A pump that only its boiler switches is not ours to ask for. Low water stops pumps where the plant says so.

use crate::{
    clock::Clock,
    config::{BoilerPump, Config, ZoneConfig, ZoneDrive},
    guard::Verdict,
    ids::{BoilerId, PumpId, ZoneId},
    limits::PUMPS,
    mask::Mask,
    pumps::{Asks, PumpState},
    purge::Sink,
    reason::Reason,
    seen::Seen,
    state::Control,
    zones::Wants,
};

/// What the askers see.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Askers<'a> {
    pub(crate) seen: &'a Seen,
    pub(crate) verdict: &'a Verdict,
    pub(crate) zones: &'a Wants,
    /// Zones that want water and whose valve is open.
    pub(crate) open: Mask,
    /// Where purge heat goes, while it runs.
    pub(crate) sink: Option<Sink>,
}

/// Collects who asks for each pump.
#[inline(never)]
pub(crate) fn collect(config: &Config, control: &Control, from: &Askers<'_>, clock: &mut Clock, asks: &mut Asks) {
    for i in from.seen.off.or(from.seen.hand).iter() {
        asks.stop(PumpId(i), Reason::Hand);
    }
    zones(config, from, asks);
    tank(config, control, from, asks);
    boilers(config, control, from, asks, clock);
    if let Some(dry) = from.verdict.dry {
        asks.stop_all(Reason::Safety(dry));
    }
}

/// The pump that a zone takes its water from, its own or one behind its valve.
fn pump(zone: &ZoneConfig) -> Option<PumpId> {
    match zone.drive {
        ZoneDrive::Pump(p) | ZoneDrive::Valve { pump: Some(p) } => Some(p),
        ZoneDrive::Valve { pump: None } => None,
    }
}

/// True while the zone's floor could be warmed by an exercise of its pump.
fn floor_in_reach(zone: &ZoneConfig, seen: &Seen) -> bool {
    zone.mix.as_ref().is_some_and(|mix| seen.supply.temp().is_none_or(|t| t > mix.mixed_max))
}

/// Zones whose valve is opened because the pump behind it is due for exercise and has no other way for its water: the first
/// zone of the pump whose own limit is closed. None where a floor is in reach, and none for a pump with a zone without a valve.
pub(crate) fn valves_to_exercise(
    config: &Config,
    pumps: &[PumpState; PUMPS],
    seen: &Seen,
    verdict: &Verdict,
    clock: &mut Clock,
) -> Mask {
    let mut valves = Mask::NONE;
    let mut served = seen.off.or(seen.hand);
    for zone in &config.zones {
        let (ZoneDrive::Pump(p) | ZoneDrive::Valve { pump: Some(p) }) = zone.drive else { continue };
        served.add_if(p.0, matches!(zone.drive, ZoneDrive::Pump(_)) || floor_in_reach(zone, seen));
    }
    for (i, zone) in (0u8..).zip(&config.zones) {
        let ZoneDrive::Valve { pump: Some(p) } = zone.drive else { continue };
        let (Some(c), Some(pump)) = (config.pumps.get(p.index()), pumps.get(p.index())) else { continue };
        if !served.has(p.0) && !verdict.zones_held.has(i) && pump.exercises(c, clock) {
            served.add(p.0);
            valves.add(i);
        }
    }
    valves
}

fn zones(config: &Config, from: &Askers<'_>, asks: &mut Asks) {
    let (mut valved, mut way) = (Mask::NONE, Mask::NONE);
    for (i, (zone, why)) in (0u8..).zip(config.zones.iter().zip(&from.zones.why)) {
        let Some(p) = pump(zone) else { continue };
        let valve = matches!(zone.drive, ZoneDrive::Valve { .. });
        valved.add_if(p.0, valve);
        way.add_if(p.0, !valve || from.open.has(i));
        if from.open.has(i) && *why == Reason::Exercise {
            // Its valve is open for the pump's own sake: the pump is due, not asked for.
        } else if from.open.has(i) {
            asks.ask(p, *why);
        } else if from.zones.water.has(i) {
            asks.excuse(p, Reason::EndSwitch(ZoneId(i)));
        } else {
            asks.excuse(p, *why);
        }
        asks.no_exercise.add_if(p.0, floor_in_reach(zone, from.seen));
    }
    // No pump is run against shut valves.
    asks.no_exercise = asks.no_exercise.or(valved.without(way));
    // A zone's own limit stops its pump at once, unless another zone needs it: the wires part the two.
    for i in from.verdict.zones_held.iter().map(usize::from) {
        if let (Some(p), Some(Some(limit))) = (config.zones.get(i).and_then(pump), from.verdict.zones.get(i))
            && !asks.wanted(p)
        {
            asks.stop(p, Reason::Safety(*limit));
        }
    }
}

fn tank(config: &Config, control: &Control, from: &Askers<'_>, asks: &mut Asks) {
    let Some(tank) = &config.tank else { return };
    if let Some(limit) = from.verdict.tank {
        asks.stop(tank.pump, Reason::Safety(limit));
    } else if control.tank.call.counts() {
        asks.ask(tank.pump, Reason::TankCall);
    } else if from.sink == Some(Sink::Tank) {
        asks.ask(tank.pump, Reason::HeatPurge);
    } else if control.tank.call.runs_on() {
        asks.ask(tank.pump, Reason::Overrun);
    }
}

fn boilers(config: &Config, control: &Control, from: &Askers<'_>, asks: &mut Asks, clock: &mut Clock) {
    for (i, ((c, boiler), dry)) in
        (0u8..).zip(config.boilers.iter().zip(&control.boilers).zip(&from.verdict.dry_boilers))
    {
        let (BoilerPump::Controller(p) | BoilerPump::Either(p)) = c.pump else { continue };
        if let Some(dry) = dry {
            asks.stop(p, Reason::Safety(*dry));
        }
        match boiler.wants_pump(c.pump_overrun, clock) {
            Some(true) => asks.ask(p, Reason::BoilerCall(BoilerId(i))),
            Some(false) => asks.ask(p, Reason::BoilerOverrun(BoilerId(i))),
            None if from.sink.is_some() => asks.ask(p, Reason::HeatPurge),
            None => {}
        }
    }
}
