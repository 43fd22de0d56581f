//! Whether heat is wanted, at what supply temperature, and frost.
//!
//! `target = max(heating target while a zone wants heat, tank target while the tank calls, supply_min in water frost)`, held
//! to `supply_max` for heating only: a tank may want hotter water than the zones.
//!
//! Frost reads the *raw* readings of this tick, never the filter: below `frost_outdoor` outdoors the water of every
//! zone moves, for ten minutes of every thirty, so that zones without a call are not heated all winter; below
//! `frost_water` in supply or return the plant heats whatever the calls and the season say. Each lets go [`FROST_BACK`]
//! above. For an outdoor sensor in fault, or not read yet, the value counts that the target glides to (`reset`); a
//! water sensor in fault begins no frost, and frost that has begun stays until every water sensor reads again: a broken
//! sensor lights no burner and puts none out. Source: common practice; the differential is our choice.

use crate::{
    clock::Clock,
    config::Config,
    inputs::Reading,
    points::SensorUse,
    seen::Seen,
    units::{Instant, Span, Temp, TempDelta},
};

/// Frost lets go this far above its threshold.
pub const FROST_BACK: TempDelta = TempDelta::from_k(2);
/// In frost outdoors the water of a zone without a call moves for this long. Our choice.
pub const FROST_MOVE: Span = Span::from_min(10);
/// And then may stand for this long. Our choice.
pub const FROST_STAND: Span = Span::from_min(20);

/// Frost outdoors.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum FrostOutdoor {
    /// It is not below the threshold.
    #[default]
    Clear,
    /// The water of all zones moves.
    Moving {
        /// Since when.
        since: Instant,
    },
    /// It may stand for a while.
    Standing {
        /// Since when.
        since: Instant,
    },
}

/// Frost as the raw readings show it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Frost {
    /// It freezes outdoors.
    pub outdoor: FrostOutdoor,
    /// Water is near freezing: the plant must heat.
    pub water: bool,
}

impl Frost {
    /// There is frost outdoors or in the water.
    pub const fn any(self) -> bool {
        self.water || !matches!(self.outdoor, FrostOutdoor::Clear)
    }

    /// The water of all zones must move now.
    pub const fn moves(self) -> bool {
        self.water || matches!(self.outdoor, FrostOutdoor::Moving { .. })
    }

    /// Judges the raw readings; `outdoor` is what the target follows, for want of one.
    pub(crate) fn decide(&mut self, config: &Config, seen: &Seen, outdoor: Temp, clock: &mut Clock) {
        let c = &config.guard;
        let outdoor = match seen.outdoor {
            Reading::At(t) => Some(t),
            Reading::Open | Reading::Short => Some(outdoor),
            // One that is there and has not been read yet is as good as broken; one that is not there says nothing.
            Reading::NeverRead => config.points.sensor(SensorUse::Outdoor).map(|_| outdoor),
        };
        let freezes = below(outdoor, c.frost_outdoor, self.outdoor != FrostOutdoor::Clear);
        let now = clock.now();
        let next = match self.outdoor {
            FrostOutdoor::Clear if freezes => Some(FrostOutdoor::Moving { since: now }),
            FrostOutdoor::Clear => None,
            FrostOutdoor::Moving { .. } | FrostOutdoor::Standing { .. } if !freezes => Some(FrostOutdoor::Clear),
            FrostOutdoor::Moving { since } => {
                clock.elapsed(since, FROST_MOVE).then_some(FrostOutdoor::Standing { since: now })
            }
            FrostOutdoor::Standing { since } => {
                clock.elapsed(since, FROST_STAND).then_some(FrostOutdoor::Moving { since: now })
            }
        };
        if let Some(next) = next {
            self.outdoor = next;
            clock.written(true);
        }
        let water = match (seen.supply.temp(), seen.return_.temp()) {
            (Some(s), Some(r)) => Some(s.min(r)),
            (one, other) => one.or(other),
        };
        let blind = |u, r: Reading| r.temp().is_none() && config.points.sensor(u).is_some();
        let blind = || blind(SensorUse::Supply, seen.supply) || blind(SensorUse::Return, seen.return_);
        let water = below(water, c.frost_water, self.water) || (self.water && blind());
        clock.put(&mut self.water, water);
    }
}

/// Below the threshold, with a differential once it was.
fn below(t: Option<Temp>, threshold: Temp, was: bool) -> bool {
    let edge = if was { threshold.plus(FROST_BACK) } else { threshold };
    t.is_some_and(|t| t < edge)
}

/// The supply temperature that is wanted; nothing while no heat is.
pub(crate) fn target(config: &Config, heating: Temp, zones: bool, tank_calls: bool, frost: Frost) -> Option<Temp> {
    let tank = config.tank.as_ref().filter(|_| tank_calls).map(|t| t.target);
    let zones = zones.then_some(heating);
    let frost = frost.water.then_some(config.reset.supply_min);
    tank.max(zones).max(frost)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tests::plant;

    /// Frost in the water begins below 5 degrees and ends at 7.
    fn water(supply: Option<i16>, return_: Option<i16>, was: bool, sensors: &[SensorUse]) -> bool {
        let mut c = plant();
        (c.guard.frost_water, c.guard.frost_outdoor) = (Temp::from_c(5), Temp::from_c(-20));
        c.points.sensors = heapless::Vec::from_slice(sensors).unwrap();
        let read = |t: Option<i16>| t.map_or(Reading::Open, |t| Reading::At(Temp::from_centi_c(t)));
        let seen = Seen { supply: read(supply), return_: read(return_), ..Seen::default() };
        let mut f = Frost { water: was, ..Frost::default() };
        f.decide(&c, &seen, Temp::from_c(0), &mut Clock::at(Instant::ZERO));
        assert_eq!((f.any(), f.moves()), (f.water, f.water));
        f.water
    }

    const BOTH: &[SensorUse] = &[SensorUse::Supply, SensorUse::Return];

    #[test]
    fn the_colder_of_supply_and_return_counts_and_one_of_them_is_enough() {
        for cold in [(Some(499), Some(4000)), (Some(4000), Some(499)), (Some(499), None), (None, Some(499))] {
            assert!(water(cold.0, cold.1, false, BOTH), "{cold:?}");
        }
        for warm in [(Some(500), Some(500)), (Some(500), None), (None, Some(500)), (None, None)] {
            assert!(!water(warm.0, warm.1, false, BOTH), "{warm:?}");
        }
    }

    #[test]
    fn frost_that_has_begun_stays_below_its_end_and_while_a_sensor_is_blind() {
        assert!(water(Some(699), Some(4000), true, BOTH));
        assert!(!water(Some(700), Some(700), true, BOTH));
        assert!(water(Some(4000), None, true, BOTH), "the return is there and does not read");
        assert!(water(None, Some(4000), true, BOTH));
        assert!(!water(Some(4000), None, true, &[SensorUse::Supply]), "no return sensor was ever there");
        assert!(!water(None, Some(4000), true, &[SensorUse::Return]));
    }

    #[test]
    fn the_hottest_that_is_asked_for_counts() {
        let mut c = plant();
        c.reset.supply_min = Temp::from_c(30);
        let frost = Frost { water: true, ..Frost::default() };
        let asked = |zones: bool, tank, frost| target(&c, Temp::from_c(45), zones, tank, frost);
        assert_eq!(asked(false, false, Frost::default()), None);
        assert_eq!(asked(true, false, Frost::default()), Some(Temp::from_c(45)));
        assert_eq!(asked(false, true, Frost::default()), Some(Temp::from_c(60)));
        assert_eq!(asked(true, true, frost), Some(Temp::from_c(60)));
        assert_eq!(asked(true, false, frost), Some(Temp::from_c(45)));
        assert_eq!(asked(false, false, frost), Some(Temp::from_c(30)));
    }
}
