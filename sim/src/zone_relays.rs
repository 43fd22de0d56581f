//! A stand-in for control by zone relays: what the calls ask for, at once, and boilers on a reset of their own.
//!
//! The relays do what [`Intent`] says of the calls that the contacts show. Each boiler holds its own target: the curve of `reset` at
//! its own outdoor sensor, within the curve's bounds; it reaches the boiler model over the boiler's target input, whose scale the
//! plant must give. All boilers are asked together and hold the same target, so they share the load as their own controls let them: a
//! lead among themselves is theirs and is not modelled.
//!
//! Source: common practice, no source. Edges: an outdoor reading in fault gives the stated fallback temperature, as the plant's settings say.
//!
//! What it deliberately does not do: a filter, setback or boost, a warm-weather stop (a boiler's own stop would leave the tank cold),
//! frost protection, overruns, exercise, alarms. Nothing in such a panel does.

use crate::control::{Control, LinkError};
use heatwright_core::{
    AnalogUse, BoilerId, Calls, Config, ContactUse, Inputs, Instant, Intent, Outputs, Permille, PumpId, Reading,
    Reason, RelayUse, SensorUse, Stated, Temp, ZoneId,
    config::{BoilerDrive, ZoneDrive},
    law::curve,
    outputs::Signal,
};

/// The relays of a panel without a controller. Its points are those of the configuration, which exist in this model alone.
#[derive(Clone, Debug)]
pub struct ZoneRelays {
    config: Config,
}

impl ZoneRelays {
    /// Relays for the calls and loads of this configuration.
    pub fn new(config: Config) -> Self {
        Self { config }
    }

    fn calls(&self, inputs: &Inputs) -> Calls {
        let made = |what| self.config.points.contact(what).is_some_and(|c| inputs.contacts & c.bit() != 0);
        let mut calls = Calls { tank: made(ContactUse::TankCall), ..Calls::default() };
        for z in (0..self.config.zones.len()).map(|i| ZoneId(i as u8)) {
            if made(ContactUse::Call(z)) {
                calls.zones |= z.bit();
            }
            if made(ContactUse::EndSwitch(z)) {
                calls.end_switches |= z.bit();
            }
        }
        calls
    }

    /// The target that each boiler holds by itself.
    pub fn own_target(&self, inputs: &Inputs) -> Option<Temp> {
        let r = &self.config.reset;
        let sensor = self.config.points.sensor(SensorUse::Outdoor);
        let outdoor = match sensor.and_then(|s| inputs.sensors.get(s.index())) {
            Some(Reading::At(t)) => *t,
            _ => r.outdoor_fallback,
        };
        curve::supply(&r.points, outdoor).map(|t| t.max(r.supply_min).min(r.supply_max))
    }
}

/// Place of a target on a boiler's 0-10 V input.
fn signal(drive: BoilerDrive, target: Temp) -> Permille {
    let BoilerDrive::Target { low, high } = drive else { return Permille::ZERO };
    let span = i64::from(high.centi_c()) - i64::from(low.centi_c());
    let at = i64::from(target.centi_c()) - i64::from(low.centi_c());
    let share = if span > 0 { (at * 1000 + span / 2).div_euclid(span) } else { 0 };
    Permille::new(share.clamp(0, 1000) as u16)
}

impl Control for ZoneRelays {
    fn tick(&mut self, _: Instant, inputs: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        let calls = self.calls(inputs);
        let intent = Intent::of(&self.config, calls);
        let target = self.own_target(inputs);
        let mut out = Outputs::SAFE;
        let why = match (calls.tank, calls.zones) {
            (true, _) => Reason::TankCall,
            (false, 0) => Reason::NoCall,
            (false, zones) => Reason::Call(ZoneId(zones.trailing_zeros() as u8)),
        };
        for (slot, what) in out.relays.iter_mut().zip(&self.config.points.relays) {
            let (on, why) = match *what {
                RelayUse::Spare => continue,
                RelayUse::Alarm | RelayUse::Health => (true, Reason::Healthy),
                RelayUse::Demand(b) => (intent.boilers & b.bit() != 0, why),
                RelayUse::Pump(p) => (intent.pumps & p.bit() != 0, self.why_pump(p, calls, why)),
                RelayUse::Valve(z) => (intent.valves & z.bit() != 0, called(calls, z)),
                RelayUse::Damper => (intent.damper, why),
            };
            *slot = Stated { on, why: if on { why } else { Reason::NoCall } };
        }
        for (slot, what) in out.analogs.iter_mut().zip(&self.config.points.analogs) {
            if let AnalogUse::Target(BoilerId(b)) = *what
                && let (Some(boiler), Some(target)) = (self.config.boilers.get(usize::from(b)), target)
            {
                *slot = Signal { at: signal(boiler.drive, target), why: Reason::Law };
            }
        }
        out.target = target.filter(|_| intent.boilers != 0);
        *outputs = out;
        Ok(())
    }

    fn next_due(&self) -> Option<Instant> {
        None
    }
}

impl ZoneRelays {
    /// The zone or the tank that starts a pump; any call for a boiler's.
    fn why_pump(&self, p: PumpId, calls: Calls, any: Reason) -> Reason {
        if calls.tank && self.config.tank.as_ref().is_some_and(|t| t.pump == p) {
            return Reason::TankCall;
        }
        let mut zones = self.config.zones.iter().enumerate().map(|(i, z)| (ZoneId(i as u8), z.drive));
        let own = zones.find(|(z, drive)| calls.zones & z.bit() != 0 && pump_of(*drive) == Some(p));
        own.map_or(any, |(z, _)| Reason::Call(z))
    }
}

fn pump_of(drive: ZoneDrive) -> Option<PumpId> {
    match drive {
        ZoneDrive::Pump(p) => Some(p),
        ZoneDrive::Valve { pump } => pump,
    }
}

fn called(calls: Calls, z: ZoneId) -> Reason {
    if calls.zones & z.bit() != 0 { Reason::Call(z) } else { Reason::NoCall }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_target_finds_its_place_on_the_boilers_input() {
        let drive = BoilerDrive::Target { low: Temp::from_c(0), high: Temp::from_c(100) };
        for (c, permille) in [(-5, 0), (0, 0), (50, 500), (100, 1000), (120, 1000)] {
            assert_eq!(signal(drive, Temp::from_c(c)).get(), permille, "{c} C");
        }
        assert_eq!(signal(BoilerDrive::DemandOnly, Temp::from_c(50)), Permille::ZERO);
    }
}
