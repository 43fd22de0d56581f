//! Which pump moves which zone's water, as sets.
//!
//! A tick asks for this again and again: which zones a running pump serves, which pumps have a way for their water. It is read
//! from the zones' configuration once a tick; the only reading that enters is that of the supply. Decides nothing.

use crate::{
    config::{Config, MixConfig, ZoneDrive},
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
            if let Some(mix) = &zone.mix {
                p.mixed = p.mixed.or(it);
                p.floors = p.floors.or(pump.only_if(floor_in_reach(mix, seen)));
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

/// True while the floor of a mixed zone could be warmed by its pump.
fn floor_in_reach(mix: &MixConfig, seen: &Seen) -> bool {
    seen.supply.temp().is_none_or(|t| t > mix.mixed_max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        inputs::Reading,
        tests::plant,
        units::{Span, Temp, TempDelta},
    };

    /// Five zones: 0 on pump 0, 1 behind a valve and pump 0 too, 2 mixed on pump 1 (at most 45 degrees), 3 behind a valve without
    /// a pump, 4 behind a valve and pump 3.
    fn piping(supply: Reading) -> Piping {
        let mut c = plant();
        let zone = c.zones[0].clone();
        c.zones.clear();
        let valve = |pump| ZoneDrive::Valve { pump };
        let p = |p| Some(PumpId(p));
        for drive in [ZoneDrive::Pump(PumpId(0)), valve(p(0)), ZoneDrive::Pump(PumpId(1)), valve(None), valve(p(3))] {
            c.zones.push(crate::config::ZoneConfig { drive, ..zone.clone() }).unwrap();
        }
        c.zones[2].mix = Some(MixConfig {
            mixed_max: Temp::from_c(45),
            mixed_design: Temp::from_c(40),
            band: TempDelta::from_k(20),
            integral: Span::from_s(300),
            stroke: Span::from_s(120),
        });
        let mut piping = Piping::default();
        piping.follow(&c, &Seen { supply, ..Seen::default() });
        piping
    }

    fn set<const N: usize>(of: [u8; N]) -> Mask {
        of.into_iter().fold(Mask::NONE, |m, i| m.or(Mask::of(i)))
    }

    #[test]
    fn each_pump_serves_the_zones_that_hang_on_it() {
        let p = piping(Reading::Open);
        assert_eq!((p.valves, p.pumpless, p.mixed), (set([1, 3, 4]), set([3]), set([2])));
        assert_eq!((p.valved, p.direct), (set([0, 3]), set([0, 1])));
        assert_eq!(p.served_by(set([0])), set([0, 1]));
        assert_eq!(p.served_by(set([1, 3])), set([2, 4]));
        assert_eq!(p.served_by(set([2])), Mask::NONE);
        assert_eq!(
            [0, 1, 2, 3, 4, 5].map(|z| p.pump_of(z).map(|p| p.0)),
            [Some(0), Some(0), Some(1), None, Some(3), None]
        );
    }

    #[test]
    fn a_floor_is_in_reach_of_its_pump_unless_the_supply_is_known_to_be_cool_enough() {
        assert_eq!(piping(Reading::At(Temp::from_centi_c(4500))).floors, Mask::NONE);
        assert_eq!(piping(Reading::At(Temp::from_centi_c(4501))).floors, set([1]));
        assert_eq!(piping(Reading::Open).floors, set([1]), "nobody knows");
    }
}
