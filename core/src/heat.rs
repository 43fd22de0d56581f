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
    mask::Mask,
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
        let outdoor = match self.outdoor {
            FrostOutdoor::Clear | FrostOutdoor::Moving { .. } | FrostOutdoor::Standing { .. } if !freezes => {
                FrostOutdoor::Clear
            }
            FrostOutdoor::Clear => FrostOutdoor::Moving { since: now },
            FrostOutdoor::Moving { since } if clock.elapsed(since, FROST_MOVE) => FrostOutdoor::Standing { since: now },
            FrostOutdoor::Standing { since } if clock.elapsed(since, FROST_STAND) => {
                FrostOutdoor::Moving { since: now }
            }
            FrostOutdoor::Moving { since } => FrostOutdoor::Moving { since },
            FrostOutdoor::Standing { since } => FrostOutdoor::Standing { since },
        };
        let water = match (seen.supply.temp(), seen.return_.temp()) {
            (Some(s), Some(r)) => Some(s.min(r)),
            (one, other) => one.or(other),
        };
        let blind = |u, r: Reading| r.temp().is_none() && config.points.sensor(u).is_some();
        let blind = || blind(SensorUse::Supply, seen.supply) || blind(SensorUse::Return, seen.return_);
        let water = below(water, c.frost_water, self.water) || (self.water && blind());
        clock.put(self, Self { outdoor, water });
    }
}

/// Below the threshold, with a differential once it was.
fn below(t: Option<Temp>, threshold: Temp, was: bool) -> bool {
    let edge = if was { threshold.plus(FROST_BACK) } else { threshold };
    t.is_some_and(|t| t < edge)
}

/// The supply temperature that is wanted; nothing while no heat is.
pub(crate) fn target(config: &Config, heating: Temp, zones: Mask, tank_calls: bool, frost: Frost) -> Option<Temp> {
    let tank = config.tank.as_ref().filter(|_| tank_calls).map(|t| t.target);
    let zones = (!zones.is_empty()).then_some(heating);
    let frost = frost.water.then_some(config.reset.supply_min);
    tank.max(zones).max(frost)
}
