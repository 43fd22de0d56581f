//! Who asks for which circulator, and what stops one.
//!
//! In this order the askers name the reason: zones (through their valve's end switch where there is one), the tank, boilers.
//! A boiler asks for its pump from before its flow is proved until `pump_overrun` after its demand, and while its heat is
//! purged. A pump that only its boiler switches is not ours to ask for. Low water stops pumps where the plant says so.

use crate::{
    clock::Clock,
    config::{BoilerPump, Config, ZoneDrive},
    guard::Verdict,
    ids::{BoilerId, ZoneId},
    mask::Mask,
    pumps::Asks,
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
pub(crate) fn collect(config: &Config, control: &Control, from: &Askers<'_>, clock: &mut Clock) -> Asks {
    let mut asks = Asks::none();
    for i in from.seen.off.or(from.seen.hand).iter() {
        asks.stop(i, Reason::Hand);
    }
    for (i, (zone, why)) in (0u8..).zip(config.zones.iter().zip(&from.zones.why)) {
        let (ZoneDrive::Pump(p) | ZoneDrive::Valve { pump: Some(p) }) = zone.drive else { continue };
        if from.open.has(i) {
            asks.ask(p.0, *why);
        } else if from.zones.water.has(i) {
            asks.excuse(p.0, Reason::EndSwitch(ZoneId(i)));
        } else {
            asks.excuse(p.0, *why);
        }
    }
    for zone in &config.zones {
        if let (ZoneDrive::Pump(p) | ZoneDrive::Valve { pump: Some(p) }, Some(mix)) = (zone.drive, &zone.mix) {
            let cool = from.seen.supply.temp().is_some_and(|t| t <= mix.mixed_max);
            asks.no_exercise.add_if(p.0, !cool);
        }
    }
    for (zone, held) in config.zones.iter().zip(&from.verdict.zones) {
        // A zone's own limit stops its pump at once, unless another zone needs it: the wires part the two.
        if let (ZoneDrive::Pump(p) | ZoneDrive::Valve { pump: Some(p) }, Some(limit)) = (zone.drive, held)
            && !asks.wanted(p.0)
        {
            asks.stop(p.0, Reason::Safety(*limit));
        }
    }
    tank(config, control, from, &mut asks);
    boilers(config, control, from, &mut asks, clock);
    if let Some(dry) = from.verdict.dry {
        for (p, _) in (0u8..).zip(&config.pumps) {
            asks.stop(p, Reason::Safety(dry));
        }
    }
    asks
}

fn tank(config: &Config, control: &Control, from: &Askers<'_>, asks: &mut Asks) {
    let Some(tank) = &config.tank else { return };
    if let Some(limit) = from.verdict.tank {
        asks.stop(tank.pump.0, Reason::Safety(limit));
    } else if control.tank.call.counts() {
        asks.ask(tank.pump.0, Reason::TankCall);
    } else if from.sink == Some(Sink::Tank) {
        asks.ask(tank.pump.0, Reason::HeatPurge);
    } else if control.tank.call.runs_on() {
        asks.ask(tank.pump.0, Reason::Overrun);
    }
}

fn boilers(config: &Config, control: &Control, from: &Askers<'_>, asks: &mut Asks, clock: &mut Clock) {
    for (i, ((c, boiler), dry)) in
        (0u8..).zip(config.boilers.iter().zip(&control.boilers).zip(&from.verdict.dry_boilers))
    {
        let (BoilerPump::Controller(p) | BoilerPump::Either(p)) = c.pump else { continue };
        if let Some(dry) = dry {
            asks.stop(p.0, Reason::Safety(*dry));
        }
        match boiler.wants_pump(c.pump_overrun, clock) {
            Some(true) => asks.ask(p.0, Reason::BoilerCall(BoilerId(i))),
            Some(false) => asks.ask(p.0, Reason::BoilerOverrun(BoilerId(i))),
            None if from.sink.is_some() => asks.ask(p.0, Reason::HeatPurge),
            None => {}
        }
    }
}
