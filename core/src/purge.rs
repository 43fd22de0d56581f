//! Where the heat goes that is left in the boilers after the last call.
//!
//! ```text
//!   Idle -- a boiler has a demand --> Armed -- no demand, no heat wanted --> Running -- time_max or cool enough --> Idle
//!                                      '<------------- a demand, or heat is wanted again ----------'
//! ```
//!
//! While `Running`, the boiler pumps run and the heat is carried into the tank (below `purge_max` and with its limit closed),
//! else into a named zone whose switch is not at OFF, that is not held by its own limit and whose water is not mixed down.
//! It ends when the supply is down to `until`, after `time_max` at the latest, and does not begin where it would end at once.
//! Without a reading of the supply only the time ends it. Frost and calls come first. Source: common practice.

use crate::{
    clock::Clock,
    config::{Config, PurgeTo, ZoneDrive},
    ids::ZoneId,
    mask::Mask,
    units::{Instant, Temp},
};

/// Where the heat purge stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Purge {
    /// No heat is left that is known of.
    #[default]
    Idle,
    /// Boilers are hot; a purge follows the last call.
    Armed,
    /// Heat is carried away.
    Running {
        /// Since when.
        since: Instant,
    },
}

/// What can take the heat now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Sink {
    Tank,
    Zone(ZoneId),
}

/// What the purge sees in one tick.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Around {
    pub(crate) demand: bool,
    pub(crate) heat_wanted: bool,
    pub(crate) supply: Option<Temp>,
    pub(crate) sink: Option<Sink>,
}

impl Purge {
    /// True while heat is carried away.
    pub const fn runs(self) -> bool {
        matches!(self, Purge::Running { .. })
    }

    /// Moves the purge.
    pub(crate) fn decide(&mut self, config: &Config, around: &Around, clock: &mut Clock) {
        let c = &config.purge;
        let cool = around.supply.is_some_and(|t| t <= c.until);
        let next = match *self {
            Purge::Idle | Purge::Armed | Purge::Running { .. } if around.demand => Purge::Armed,
            Purge::Idle => Purge::Idle,
            Purge::Armed | Purge::Running { .. } if around.heat_wanted => Purge::Armed,
            Purge::Armed if cool || around.sink.is_none() || c.time_max.is_zero() => Purge::Idle,
            Purge::Armed => Purge::Running { since: clock.now() },
            Purge::Running { since } if cool || around.sink.is_none() || clock.elapsed(since, c.time_max) => {
                Purge::Idle
            }
            Purge::Running { since } => Purge::Running { since },
        };
        clock.put(self, next);
    }
}

/// What can take heat now; `off` are the pumps whose switch is at OFF, `zones_held` the zones held by their own limit.
pub(crate) fn sink(config: &Config, off: Mask, zones_held: Mask, tank: Option<Temp>, tank_held: bool) -> Option<Sink> {
    let zone = |z: ZoneId| {
        let c = config.zones.get(z.index())?;
        let pump_off = match c.drive {
            ZoneDrive::Pump(p) | ZoneDrive::Valve { pump: Some(p) } => off.has(p.0),
            ZoneDrive::Valve { pump: None } => false,
        };
        (c.mix.is_none() && !pump_off && !zones_held.has(z.0)).then_some(Sink::Zone(z))
    };
    let first = match config.purge.to {
        PurgeTo::None => return None,
        PurgeTo::Zone(z) => zone(z),
        PurgeTo::Tank => config.tank.as_ref().and_then(|t| {
            let room = tank.is_some_and(|temp| temp < t.purge_max);
            (room && !tank_held && !off.has(t.pump.0)).then_some(Sink::Tank)
        }),
    };
    first.or_else(|| config.purge.otherwise.and_then(zone))
}
