//! Where the heat goes that is left in the boilers after the last call.
//!
//! ```text
//!   Idle -- a boiler has a demand --> Armed -- no demand, no heat wanted --> Running -- time_max or cool enough --> Idle
//!                                      '<------------- a demand, or heat is wanted again ----------'
//! ```
//!
//! While `Running`, the pumps of boilers that have burned within [`WARM`] run and the heat is carried into the tank (below
//! `purge_max`, with its limit closed, and while the supply stands [`ABOVE`] over it or more: colder water would cool it), else
//! into a named zone whose switch is not at OFF, that is not held by its own limit and whose water is not mixed down.
//! It ends when the supply is down to `until`, after `time_max` at the latest, and does not begin where it would end at once.
//! Without a reading of the supply a zone takes the heat until the time is over. Frost and calls come first. Source: common
//! practice; the two bounds are our choice.

use crate::{
    clock::Clock,
    config::{Config, PurgeTo, ZoneDrive},
    ids::ZoneId,
    mask::Mask,
    seen::Seen,
    units::{Instant, Span, TempDelta},
};

/// The tank takes heat from water that is this much warmer than itself. Our choice: a coil takes little from less.
pub const ABOVE: TempDelta = TempDelta::from_k(5);
/// A boiler that has not burned for this long has no heat left that is worth its pump. Our choice.
pub const WARM: Span = Span::from_h(1);

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
    pub(crate) sink: Option<Sink>,
}

impl Purge {
    /// True while heat is carried away.
    pub const fn runs(self) -> bool {
        matches!(self, Purge::Running { .. })
    }

    /// Moves the purge.
    pub(crate) fn decide(&mut self, config: &Config, around: &Around, clock: &mut Clock) {
        self.follow(config.purge.time_max, around, clock);
    }

    fn follow(&mut self, time_max: Span, around: &Around, clock: &mut Clock) {
        let next = match *self {
            Purge::Armed if around.demand || around.heat_wanted => return,
            Purge::Idle | Purge::Running { .. } if around.demand => Purge::Armed,
            Purge::Running { .. } if around.heat_wanted => Purge::Armed,
            Purge::Armed if around.sink.is_none() || time_max.is_zero() => Purge::Idle,
            Purge::Armed => Purge::Running { since: clock.now() },
            Purge::Running { since } if around.sink.is_none() || clock.elapsed(since, time_max) => Purge::Idle,
            Purge::Idle | Purge::Running { .. } => return,
        };
        *self = next;
        clock.written(true);
    }
}

/// What can take heat now, as long as the supply is hotter than `until`; `zones_held` are the zones held by their own limit.
pub(crate) fn sink(config: &Config, seen: &Seen, zones_held: Mask, tank_held: bool) -> Option<Sink> {
    let (off, supply) = (seen.off, seen.supply.temp());
    if supply.is_some_and(|t| t <= config.purge.until) {
        return None;
    }
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
            let tank = seen.tank.temp()?;
            let room = tank < t.purge_max && supply?.above(tank) >= ABOVE;
            (room && !tank_held && !off.has(t.pump.0)).then_some(Sink::Tank)
        }),
    };
    first.or_else(|| config.purge.otherwise.and_then(zone))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{ids::PumpId, inputs::Reading, tests::plant, units::Temp};

    const fn s(v: u32) -> Instant {
        Instant::from_s(v)
    }

    #[test]
    fn each_state_goes_where_the_diagram_says() {
        const REST: Around = Around { demand: false, heat_wanted: false, sink: Some(Sink::Tank) };
        let time_max = Span::from_s(600);
        let running = Purge::Running { since: s(100) };
        let rows = [
            ("burns", Purge::Idle, Around { demand: true, ..REST }, 100, Purge::Armed),
            ("rests cold", Purge::Idle, REST, 100, Purge::Idle),
            ("calls go on", Purge::Armed, Around { heat_wanted: true, ..REST }, 100, Purge::Armed),
            ("last call over", Purge::Armed, REST, 100, running),
            ("nowhere to go", Purge::Armed, Around { sink: None, ..REST }, 100, Purge::Idle),
            ("goes on", running, REST, 699, running),
            ("late", running, REST, 700, Purge::Idle),
            ("nowhere any more", running, Around { sink: None, ..REST }, 200, Purge::Idle),
            ("called", running, Around { heat_wanted: true, ..REST }, 200, Purge::Armed),
        ];
        for (what, from, around, at, to) in rows {
            let mut p = from;
            p.follow(time_max, &around, &mut Clock::at(s(at)));
            assert_eq!(p, to, "{what}");
        }
    }

    /// Into the tank, else into zone 0; a purge into zone 1 where the plant says so.
    #[test]
    fn heat_goes_where_it_can_be_taken() {
        let mut c = plant();
        (c.purge.to, c.purge.otherwise) = (PurgeTo::Tank, Some(ZoneId(0)));
        let max = c.tank.as_ref().unwrap().purge_max;
        let (cool, zone) = (max.minus(TempDelta::from_centi_k(1)), Some(Sink::Zone(ZoneId(0))));
        let seen = |off: u32, tank: Option<Temp>| Seen {
            off: Mask::from_bits(off),
            tank: tank.map_or(Reading::Open, Reading::At),
            supply: Reading::At(Temp::from_c(80)),
            ..Seen::default()
        };
        let to = |c: &Config, off: u32, held: u32, tank| sink(c, &seen(off, tank), Mask::from_bits(held), false);
        assert_eq!(to(&c, 0, 0, Some(cool)), Some(Sink::Tank));
        assert_eq!(to(&c, 0, 0, Some(max)), zone, "as warm as it may get");
        assert_eq!(to(&c, 0, 0, None), zone, "nobody knows how warm");
        assert_eq!(sink(&c, &seen(0, Some(cool)), Mask::NONE, true), zone, "its limit is open");
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

    /// The tank takes heat up to 65 °C and zone 0 what it does not; a purge ends at 45 °C.
    #[test]
    fn the_tank_takes_heat_from_water_that_is_warmer_by_5_k_and_a_zone_takes_the_rest() {
        let mut c = plant();
        let pump = c.tank.as_ref().map(|t| t.pump).unwrap_or(PumpId(0));
        (c.purge.to, c.purge.otherwise, c.purge.until) = (PurgeTo::Tank, Some(ZoneId(0)), Temp::from_c(45));
        c.tank.as_mut().unwrap().purge_max = Temp::from_c(65);
        let at = |supply: Option<i16>, tank: Option<i16>| {
            let read = |t: Option<i16>| t.map_or(Reading::Open, |t| Reading::At(Temp::from_centi_c(t)));
            let seen = Seen { supply: read(supply), tank: read(tank), ..Seen::default() };
            sink(&c, &seen, Mask::NONE, false)
        };
        let zone = Some(Sink::Zone(ZoneId(0)));
        assert_eq!([at(Some(6000), Some(5500)), at(Some(6000), Some(5501))], [Some(Sink::Tank), zone]);
        assert_eq!([at(Some(8000), Some(6499)), at(Some(8000), Some(6500))], [Some(Sink::Tank), zone]);
        assert_eq!([at(Some(4501), Some(2000)), at(Some(4500), Some(2000))], [Some(Sink::Tank), None], "cool");
        assert_eq!([at(None, Some(2000)), at(Some(8000), None)], [zone, zone], "nobody knows which is warmer");
        let off = Seen { off: Mask::of(pump.0), supply: Reading::At(Temp::from_c(70)), ..Seen::default() };
        assert_eq!(sink(&c, &Seen { tank: Reading::At(Temp::from_c(50)), ..off }, Mask::NONE, false), zone);
        c.purge.otherwise = None;
        let seen =
            Seen { tank: Reading::At(Temp::from_c(57)), supply: Reading::At(Temp::from_c(60)), ..Seen::default() };
        assert_eq!(sink(&c, &seen, Mask::NONE, false), None);
    }
}
