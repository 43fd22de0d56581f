//! Which pump moves which zone's water, as sets.
//!
//! A tick asks for this again and again: which zones a running pump serves, which pumps have a way for their water. It is read
//! from the zones' configuration once a tick; the only reading that enters is that of the supply. Decides nothing.

use crate::{
    config::{Config, ZoneConfig, ZoneDrive},
    ids::PumpId,
    limits::ZONES,
    mask::Mask,
    seen::Seen,
};

/// The piping between pumps and zones.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Piping {
    /// The pump of each zone, its own or the one behind its valve, as the set of that pump.
    pub(crate) pumps: [Mask; ZONES],
    /// Zones that have a valve, zones without a pump, zones whose water is mixed.
    pub(crate) valves: Mask,
    pub(crate) pumpless: Mask,
    pub(crate) mixed: Mask,
    /// Pumps with a zone behind a valve, and pumps with a zone without one.
    pub(crate) valved: Mask,
    pub(crate) direct: Mask,
    /// Pumps that would warm the floor of a mixed zone if they ran: the supply is not known to be cool enough.
    pub(crate) floors: Mask,
}

impl Piping {
    /// Follows the pipes of every zone.
    pub(crate) fn follow(&mut self, config: &Config, seen: &Seen) {
        let p = self;
        for (it, (zone, slot)) in Mask::each(config.zones.iter().zip(&mut p.pumps)) {
            let (pump, valve) = match zone.drive {
                ZoneDrive::Pump(p) => (Mask::of(p.0), false),
                ZoneDrive::Valve { pump: Some(p) } => (Mask::of(p.0), true),
                ZoneDrive::Valve { pump: None } => (Mask::NONE, true),
            };
            *slot = pump;
            if valve {
                p.valves = p.valves.or(it);
                p.valved = p.valved.or(pump);
            } else {
                p.direct = p.direct.or(pump);
            }
            if pump.is_empty() {
                p.pumpless = p.pumpless.or(it);
            }
            if zone.mix.is_some() {
                p.mixed = p.mixed.or(it);
                p.floors = p.floors.or(pump.only_if(floor_in_reach(zone, seen)));
            }
        }
    }

    /// Zones whose pump is one of `pumps`.
    pub(crate) fn served_by(&self, pumps: Mask) -> Mask {
        Mask::places(&self.pumps, |p| p.meets(pumps))
    }

    /// The pump of a zone.
    pub(crate) fn pump_of(&self, zone: u8) -> Option<PumpId> {
        self.pumps.get(usize::from(zone))?.first().map(PumpId)
    }
}

/// True while the zone's floor could be warmed by its pump.
fn floor_in_reach(zone: &ZoneConfig, seen: &Seen) -> bool {
    zone.mix.as_ref().is_some_and(|mix| seen.supply.temp().is_none_or(|t| t > mix.mixed_max))
}
