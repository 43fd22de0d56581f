//! Who asks for which circulator, and what stops one.
//!
//! In this order the askers name the reason: zones (through their valve's end switch where there is one), the tank,
//! boilers. A boiler asks for its pump from before its flow is proved until `pump_overrun` after its demand, answered by a
//! flame or not (the commonest reason for "no flame" is an eye that did not see the one that burned), and while its heat is
//! purged. A pump that only its boiler switches is not ours to ask for, nor to exercise. Low water stops
//! pumps where the plant says so.

use crate::{
    clock::Clock,
    config::{BoilerPump, Config},
    guard::Verdict,
    ids::{BoilerId, ZoneId},
    limits::PUMPS,
    mask::Mask,
    piping::Piping,
    pumps::{PumpState, Pumps},
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
    /// Where purge heat goes, while it runs.
    pub(crate) sink: Option<Sink>,
}

/// Collects what zones and tank ask of each pump: after the switches, which outrank all. `open` are the zones that want water
/// and whose valve is open.
#[inline(never)]
pub(crate) fn collect(
    config: &Config,
    control: &Control,
    from: &Askers<'_>,
    wants: &Wants,
    open: Mask,
    piping: &Piping,
    asks: &mut Pumps,
) {
    asks.hand = from.seen.hand;
    for i in from.seen.off.or(from.seen.hand).iter() {
        asks.stop(i, Reason::Hand);
    }
    zones(wants, open, piping, from.verdict, asks);
    tank(config, control, from, asks);
}

/// Adds what boilers ask, and what stops every pump.
#[inline(never)]
pub(crate) fn collect_late(config: &Config, control: &Control, from: &Askers<'_>, asks: &mut Pumps, clock: &mut Clock) {
    boilers(config, control, from, asks, clock);
    if let Some(dry) = from.verdict.dry {
        asks.stop_all(Reason::Safety(dry));
    }
}

/// Zones whose valve is opened because the pump behind it is due for exercise and has no other way for its water: the first
/// zone of the pump whose own limit is closed. None where a floor is in reach, and none for a pump with a zone without a valve.
pub(crate) fn valves_to_exercise(
    config: &Config,
    pumps: &[PumpState; PUMPS],
    piping: &Piping,
    floors: Mask,
    from: &Askers<'_>,
    clock: &mut Clock,
) -> Mask {
    let mut valves = Mask::NONE;
    let mut served = from.seen.off.or(from.seen.hand).or(piping.direct).or(floors);
    for i in piping.valves.without(from.verdict.zones_held).iter() {
        let Some(p) = piping.pump_of(i).filter(|p| !served.has(p.0)) else { continue };
        let (Some(c), Some(pump)) = (config.pumps.get(p.index()), pumps.get(p.index())) else { continue };
        if pump.exercises(c, clock) {
            served.add(p.0);
            valves.add(i);
        }
    }
    valves
}

fn zones(wants: &Wants, open: Mask, piping: &Piping, verdict: &Verdict, asks: &mut Pumps) {
    let mut way = piping.direct;
    for (i, (p, why)) in (0u8..).zip(piping.pumps.iter().zip(&wants.why)) {
        if open.has(i) {
            way.add(*p);
            // A valve that is open for the pump's own sake does not ask: the pump is due.
            if *why != Reason::Exercise {
                asks.ask(*p, *why);
            }
        } else if wants.water.has(i) {
            asks.excuse(*p, Reason::EndSwitch(ZoneId(i)));
        } else if *why != Reason::NoCall {
            asks.excuse(*p, *why);
        }
    }
    // No pump is run against shut valves.
    asks.no_exercise = piping.valved.without(way);
    // A zone's own limit stops its pump at once, unless another zone needs it: the wires part the two.
    for i in verdict.zones_held.iter() {
        if let (Some(p), Some(limit)) = (piping.pump_of(i), wants.why.get(usize::from(i)))
            && !asks.wanted(p)
        {
            asks.stop(p.0, *limit);
        }
    }
}

fn tank(config: &Config, control: &Control, from: &Askers<'_>, asks: &mut Pumps) {
    let Some(tank) = &config.tank else { return };
    let pump = tank.pump.0;
    if let Some(limit) = from.verdict.tank {
        asks.stop(pump, Reason::Safety(limit));
    } else if control.tank.call.counts() {
        asks.ask(pump, Reason::TankCall);
    } else if from.sink == Some(Sink::Tank) {
        asks.ask(pump, Reason::HeatPurge);
    } else if control.tank.call.runs_on() {
        asks.ask(pump, Reason::Overrun);
    }
}

fn boilers(config: &Config, control: &Control, from: &Askers<'_>, asks: &mut Pumps, clock: &mut Clock) {
    for (i, ((c, boiler), dry)) in
        (0u8..).zip(config.boilers.iter().zip(&control.boilers).zip(&from.verdict.dry_boilers))
    {
        let p = match c.pump {
            BoilerPump::Controller(p) | BoilerPump::Either(p) => p.0,
            // Not ours to run, nor to exercise.
            BoilerPump::Boiler(p) => {
                asks.no_exercise.add(p.0);
                continue;
            }
            BoilerPump::None => continue,
        };
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
