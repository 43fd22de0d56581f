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
    units::{Instant, Span, Temp},
};

/// Where the heat purge stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
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
        self.follow(config.purge.until, config.purge.time_max, around, clock);
    }

    fn follow(&mut self, until: Temp, time_max: Span, around: &Around, clock: &mut Clock) {
        let cool = around.supply.is_some_and(|t| t <= until);
        let next = match *self {
            Purge::Idle | Purge::Armed | Purge::Running { .. } if around.demand => Purge::Armed,
            Purge::Idle => Purge::Idle,
            Purge::Armed | Purge::Running { .. } if around.heat_wanted => Purge::Armed,
            Purge::Armed if cool || around.sink.is_none() || time_max.is_zero() => Purge::Idle,
            Purge::Armed => Purge::Running { since: clock.now() },
            Purge::Running { since } if cool || around.sink.is_none() || clock.elapsed(since, time_max) => Purge::Idle,
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

#[cfg(test)]
mod tests {
    use super::*;

    const fn s(v: u32) -> Instant {
        Instant::from_s(v)
    }

    #[test]
    fn each_state_goes_where_the_diagram_says() {
        const REST: Around =
            Around { demand: false, heat_wanted: false, supply: Some(Temp::from_c(70)), sink: Some(Sink::Tank) };
        let (until, time_max) = (Temp::from_c(45), Span::from_s(600));
        let running = Purge::Running { since: s(100) };
        let rows = [
            ("burns", Purge::Idle, Around { demand: true, ..REST }, 100, Purge::Armed),
            ("rests cold", Purge::Idle, REST, 100, Purge::Idle),
            ("calls go on", Purge::Armed, Around { heat_wanted: true, ..REST }, 100, Purge::Armed),
            ("last call over", Purge::Armed, REST, 100, running),
            ("nowhere to go", Purge::Armed, Around { sink: None, ..REST }, 100, Purge::Idle),
            ("cool already", Purge::Armed, Around { supply: Some(until), ..REST }, 100, Purge::Idle),
            ("goes on", running, REST, 699, running),
            ("late", running, REST, 700, Purge::Idle),
            ("cool", running, Around { supply: Some(until), ..REST }, 200, Purge::Idle),
            ("blind", running, Around { supply: None, ..REST }, 699, running),
            ("tank full", running, Around { sink: None, ..REST }, 200, Purge::Idle),
            ("called", running, Around { heat_wanted: true, ..REST }, 200, Purge::Armed),
        ];
        for (what, from, around, at, to) in rows {
            let mut p = from;
            p.follow(until, time_max, &around, &mut Clock::at(s(at)));
            assert_eq!(p, to, "{what}");
        }
    }

    /// Into the tank, else into zone 0; a purge into zone 1 where the plant says so.
    #[test]
    fn heat_goes_where_it_can_be_taken() {
        let mut c = crate::tests::plant();
        (c.purge.to, c.purge.otherwise) = (PurgeTo::Tank, Some(ZoneId(0)));
        let max = c.tank.as_ref().unwrap().purge_max;
        let (cool, zone) = (max.minus(crate::units::TempDelta::from_centi_k(1)), Some(Sink::Zone(ZoneId(0))));
        let to =
            |c: &Config, off: u32, held: u32, tank| sink(c, Mask::from_bits(off), Mask::from_bits(held), tank, false);
        assert_eq!(to(&c, 0, 0, Some(cool)), Some(Sink::Tank));
        assert_eq!(to(&c, 0, 0, Some(max)), zone, "as warm as it may get");
        assert_eq!(to(&c, 0, 0, None), zone, "nobody knows how warm");
        assert_eq!(sink(&c, Mask::NONE, Mask::NONE, Some(cool), true), zone, "its limit is open");
        assert_eq!(to(&c, 0b1_0000, 0, Some(cool)), zone, "its pump is switched off");
        assert_eq!(to(&c, 0b1_0001, 0, Some(cool)), None, "and the zone's");
        assert_eq!(to(&c, 0b1_0000, 0b01, Some(cool)), None, "the zone's limit is open");
        assert_eq!(to(&c, 0b1_0010, 0b10, Some(cool)), zone, "another zone's");
        c.zones[0].drive = ZoneDrive::Valve { pump: None };
        assert_eq!(to(&c, 0b1_0001, 0, Some(cool)), zone, "it has no pump that could be switched off");
        c.zones[0].mix = Some(crate::blob::wire::Wire::blank());
        assert_eq!(to(&c, 0b1_0000, 0, Some(cool)), None, "its water is mixed down");
        c.purge.to = PurgeTo::Zone(ZoneId(1));
        assert_eq!(to(&c, 0, 0, Some(cool)), Some(Sink::Zone(ZoneId(1))));
        c.purge.to = PurgeTo::None;
        assert_eq!(to(&c, 0, 0, Some(cool)), None);
    }
}
