//! Which pump moves which zone's water, as sets, and what else sorts the zones.
//!
//! A tick asks for this again and again: which zones a running pump serves, which pumps have a way for their water. It follows
//! from the zones' configuration alone and is worked out once, at power-up (`known`). Decides nothing.

use crate::{
    config::{Circulation, Config, ZoneDrive},
    ids::PumpId,
    limits::{PUMPS, ZONES},
    mask::{Half, Mask},
    units::Temp,
};

/// The piping between pumps and zones.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(crate) struct Piping {
    /// The pump of each zone, its own or the one behind its valve; past every pump for one without.
    pub(crate) pumps: [u8; ZONES],
    /// Zones that have a valve, and zones whose water is mixed.
    pub(crate) valves: Half,
    pub(crate) mixed: Half,
    /// Zones that may be shed, and those whose circulation is constant.
    pub(crate) sheddable: Half,
    pub(crate) constant: Half,
    /// Pumps with a zone behind a valve, and pumps with a zone without one.
    pub(crate) valved: Mask,
    pub(crate) direct: Mask,
}

/// The pump of a zone without one, past every pump. Its bit in a set is the last, which is no pump's.
const NONE: u8 = u8::MAX;
const _: () = assert!(PUMPS < 32);

impl Piping {
    /// Follows the pipes of every zone.
    pub(crate) fn of(config: &Config) -> Self {
        let mut p = Self { pumps: [NONE; ZONES], ..Self::default() };
        let [mut valves, mut mixed, mut sheddable, mut constant] = [Mask::NONE; 4];
        for ((i, zone), slot) in (0u8..).zip(&config.zones).zip(&mut p.pumps) {
            let (pump, valve) = match zone.drive {
                ZoneDrive::Pump(p) => (Some(p), false),
                ZoneDrive::Valve { pump } => (pump, true),
            };
            *slot = pump.filter(|p| p.index() < PUMPS).map_or(NONE, |p| p.0);
            valves.add_if(i, valve);
            mixed.add_if(i, zone.mix.is_some());
            sheddable.add_if(i, zone.sheddable);
            constant.add_if(i, zone.circulation == Circulation::Constant);
            p.valved.add_if(*slot, valve);
            p.direct.add_if(*slot, !valve);
        }
        (p.valves, p.mixed) = (valves.half(), mixed.half());
        (p.sheddable, p.constant) = (sheddable.half(), constant.half());
        p
    }

    /// The set of a zone's pump as it stands in `pumps`: of a zone without one it is a set that holds none.
    #[inline(always)]
    pub(crate) const fn set_of(pump: u8) -> Mask {
        Mask::from_bits(1u32.wrapping_shl(pump as u32))
    }

    /// Zones whose pump is one of `pumps`.
    pub(crate) fn served_by(&self, pumps: Mask) -> Mask {
        let pumps = pumps.and(Mask::first_of(PUMPS));
        Mask::places(&self.pumps, |p| pumps.meets(Self::set_of(*p)))
    }

    /// Zones whose pump is one of `pumps`, and those without a pump; so are all places past the zones.
    pub(crate) fn served_or_pumpless(&self, pumps: Mask) -> Mask {
        let pumps = pumps.and(Mask::first_of(PUMPS)).or(Self::set_of(NONE));
        Mask::places(&self.pumps, |p| pumps.meets(Self::set_of(*p)))
    }

    /// The pump of a zone.
    pub(crate) fn pump_of(&self, zone: u8) -> Option<PumpId> {
        self.pumps.get(usize::from(zone)).filter(|p| **p != NONE).map(|p| PumpId(*p))
    }

    /// Pumps that would warm the floor of a mixed zone if they ran: the supply is not known to be cool enough.
    pub(crate) fn floors(&self, config: &Config, supply: Option<Temp>) -> Mask {
        let mut floors = Mask::NONE;
        for i in self.mixed.all().iter() {
            let place = usize::from(i);
            let mix = config.zones.get(place).and_then(|z| z.mix.as_ref());
            if let (Some(mix), Some(pump)) = (mix, self.pumps.get(place)) {
                let warm = supply.is_none_or(|t| t > mix.mixed_max);
                floors = floors.or(Self::set_of(*pump).only_if(warm));
            }
        }
        floors
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        blob::wire::{Dice, Wire},
        config::MixConfig,
        tests::plant,
        units::{Span, TempDelta},
    };
    use proptest::prelude::*;

    /// Five zones: 0 on pump 0, 1 behind a valve and pump 0 too, 2 mixed on pump 1 (at most 45 degrees), 3 behind a valve without
    /// a pump, 4 behind a valve and pump 3.
    fn five_zones() -> Config {
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
            room: Temp::from_c(20),
            band: TempDelta::from_k(20),
            integral: Span::from_s(300),
            stroke: Span::from_s(120),
        });
        c
    }

    fn set<const N: usize>(of: [u8; N]) -> Mask {
        of.into_iter().fold(Mask::NONE, |m, i| m.or(Mask::of(i)))
    }

    #[test]
    fn each_pump_serves_the_zones_that_hang_on_it() {
        let p = Piping::of(&five_zones());
        assert_eq!((p.valves.all(), p.mixed.all()), (set([1, 3, 4]), set([2])));
        let past = Mask::first_of(ZONES).without(Mask::first_of(5));
        assert_eq!(p.served_or_pumpless(Mask::NONE), past.or(set([3])));
        assert_eq!(p.served_or_pumpless(set([0, 31])), past.or(set([0, 1, 3])));
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
        let c = five_zones();
        let floors = |supply: Option<i16>| Piping::of(&c).floors(&c, supply.map(Temp::from_centi_c));
        assert_eq!(floors(Some(4500)), Mask::NONE);
        assert_eq!(floors(Some(4501)), set([1]));
        assert_eq!(floors(None), set([1]), "nobody knows");
    }

    proptest! {
        #[test]
        fn the_sets_say_what_the_zones_say(seed: u64, full: bool, pumps: u32, supply in prop::option::of(2000i16..6000)) {
            let config = Config::any(&mut Dice { state: seed | 1, full });
            let (p, supply) = (Piping::of(&config), supply.map(Temp::from_centi_c));
            let pumps = Mask::from_bits(pumps);
            for (i, z) in (0u8..).zip(&config.zones) {
                let (pump, valve) = match z.drive {
                    ZoneDrive::Pump(p) => (Some(p), false),
                    ZoneDrive::Valve { pump } => (pump, true),
                };
                // Past the last there is no pump.
                let there = pump.filter(|p| p.index() < PUMPS);
                prop_assert_eq!(p.pump_of(i), there);
                prop_assert_eq!(p.valves.all().has(i), valve);
                prop_assert_eq!(p.served_or_pumpless(Mask::NONE).has(i), there.is_none());
                prop_assert_eq!(p.sheddable.all().has(i), z.sheddable);
                prop_assert_eq!(p.constant.all().has(i), z.circulation == Circulation::Constant);
                prop_assert_eq!(p.served_by(pumps).has(i), there.is_some_and(|p| pumps.has(p.0)));
                if let Some(pump) = there {
                    let by_way = if valve { p.valved } else { p.direct };
                    prop_assert!(by_way.has(pump.0));
                    let warm = z.mix.as_ref().is_some_and(|m| supply.is_none_or(|t| t > m.mixed_max));
                    prop_assert!(!warm || p.floors(&config, supply).has(pump.0));
                }
            }
            let zones = config.zones.len();
            let kept = [p.valves, p.mixed, p.sheddable, p.constant].map(Half::all);
            let beyond = [kept[0], kept[1], kept[2], kept[3], p.served_by(pumps)];
            prop_assert!(beyond.iter().all(|set| set.without(Mask::first_of(zones)).is_empty()));
        }
    }
}
