//! Who asks for which circulator, and what stops one.
//!
//! In this order the askers name the reason: zones (through their valve's end switch where there is one), the tank,
//! boilers. A boiler asks for its pump from before its flow is proved until `pump_overrun` after its demand, answered by a
//! flame or not (the commonest reason for "no flame" is an eye that did not see the one that burned), and while its heat is
//! purged, where it has burned lately. A pump that only its boiler switches is not ours to ask for, nor to exercise. Low water
//! stops pumps where the plant says so.

use crate::{
    clock::Clock,
    config::{BoilerPump, Config},
    guard::Verdict,
    ids::{BoilerId, ZoneId},
    limits::ZONES,
    mask::Mask,
    piping::Piping,
    pumps::{PumpStates, Pumps, exercise_due},
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
    /// Boilers that may have heat left.
    pub(crate) warm: Mask,
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
/// zone of the pump whose own limit is closed. None for a pump in `not` (a floor is in reach, or it runs by itself), and none for
/// one with a zone without a valve.
pub(crate) fn valves_to_exercise(
    config: &Config,
    pumps: &PumpStates,
    piping: &Piping,
    not: Mask,
    from: &Askers<'_>,
    clock: &mut Clock,
) -> Mask {
    let mut valves = Mask::NONE;
    let mut served = from.seen.off.or(from.seen.hand).or(piping.direct).or(not);
    for i in piping.valves.all().without(from.verdict.zones_held).iter() {
        let Some(p) = piping.pumps.get(usize::from(i)) else { continue };
        let (it, place) = (Piping::set_of(*p), usize::from(*p));
        if served.meets(it) {
            continue;
        }
        let Some(c) = config.pumps.get(place) else { continue };
        // One that runs already runs for that.
        if pumps.on().meets(it) || exercise_due(c, pumps.since(*p), clock) {
            served = served.or(it);
            valves.add(i);
        }
    }
    valves
}

fn zones(wants: &Wants, open: Mask, piping: &Piping, verdict: &Verdict, asks: &mut Pumps) {
    let mut way = piping.direct;
    let (mut wanted, stopped) = (asks.wanted, asks.stopped);
    let of = |i: u8| piping.pumps.get(usize::from(i)).copied().zip(wants.why.get(usize::from(i)).copied());
    for i in open.iter() {
        let Some((p, why)) = of(i) else { continue };
        let pump = Piping::set_of(p);
        way = way.or(pump);
        // A valve that is open for the pump's own sake does not ask: the pump is due.
        if why != Reason::Exercise {
            if !wanted.or(stopped).meets(pump) {
                asks.because(p, why);
            }
            wanted = wanted.or(pump);
        }
    }
    asks.wanted = wanted;
    // Of a pump that none of them asks for: why it waits although a zone wants it, or why none does. The first zone names it.
    let mut known = wanted.or(stopped);
    for i in Mask::first_of(ZONES).without(open).iter() {
        let Some((p, why)) = of(i) else { continue };
        let pump = Piping::set_of(p);
        let why = if wants.water.has(i) { Reason::EndSwitch(ZoneId(i)) } else { why };
        if why != Reason::NoCall && !known.meets(pump) {
            known = known.or(pump);
            asks.because(p, why);
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
            None if from.sink.is_some() && from.warm.has(i) => asks.ask(p, Reason::HeatPurge),
            None => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pump 0 serves the zones 0 to 2, pump 1 the zones 3 and 4, and what is said of them.
    fn said(open: u32, why: [Reason; 5]) -> (u32, [Reason; 2]) {
        let mut piping = Piping::default();
        piping.pumps[3..5].fill(1);
        piping.pumps[5..].fill(u8::MAX);
        let mut wants = Wants { why: [Reason::NoCall; ZONES], ..Wants::default() };
        wants.why[..5].copy_from_slice(&why);
        wants.water = Mask::from_bits(open).or(Mask::of(1));
        let mut asks = Pumps::default();
        asks.follow(&PumpStates::standing(crate::Instant::ZERO));
        zones(&wants, Mask::from_bits(open), &piping, &Verdict::default(), &mut asks);
        (asks.wanted.bits() & 0b11, [asks.why[0], asks.why[1]])
    }

    #[test]
    fn the_first_zone_that_asks_names_the_reason_before_any_that_says_why_it_does_not() {
        const CALL: Reason = Reason::Call(ZoneId(2));
        let (none, shed, frost) = (Reason::NoCall, Reason::Shed, Reason::Frost);
        let end = Reason::EndSwitch(ZoneId(1));
        assert_eq!(said(0b00100, [shed, frost, CALL, none, none]), (0b01, [CALL, none]));
        assert_eq!(said(0b00110, [shed, frost, CALL, none, none]), (0b01, [frost, none]));
        assert_eq!(said(0, [none, frost, shed, none, shed]), (0, [end, shed]), "it waits for its end switch");
        assert_eq!(said(0, [shed, frost, none, shed, frost]), (0, [shed, shed]));
        assert_eq!(said(0b10000, [none, none, none, shed, Reason::Exercise]), (0, [end, shed]), "for its own sake");
    }
}
