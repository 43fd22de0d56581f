//! The supply target: outdoor reset, season, setback and boost.
//!
//! `target = curve(filtered outdoor) + demand trim + shift`, held between `supply_min` and `supply_max`; `shift` is
//! `-setback` while the schedule says so, `+boost` for `boost_for` after it, else zero. Zones that mix their water down
//! follow it without the bounds. The curve and the filter are `law::curve` and `law::filter`; the filter is preset to
//! the first reading, so that a restart in January does not begin in spring.
//!
//! ```text
//!   season:  Heating -- filtered >= warm_weather_off --> Warm
//!            Warm    -- filtered <= warm_weather_off - warm_weather_differential --> Heating
//!   shift:   Level -- schedule says setback --> Lowered -- says occupied --> Raised -- boost_for over --> Level
//! ```
//!
//! An outdoor sensor in fault is replaced by `outdoor_fallback` *as the reading the filter follows*: the target glides there
//! with the filter's time constant, or with [`GLIDE`] if that is longer, and so does not jump. It glides back the same way
//! and then follows the filter's own time constant again. Before the first reading the fallback itself is used.
//! Source: outdoor reset is common practice and asked for by ASHRAE 90.1 (6.5.4.4) above 88 kW; the shifts are our choice.

use crate::{
    clock::Clock,
    config::ResetConfig,
    law::{curve, filter::Filter},
    schedule::{Level, Schedule},
    units::{CivilMinute, Instant, Span, Temp, TempDelta},
};

/// Shortest time constant with which the target moves to and from the outdoor fallback. Our choice.
pub const GLIDE: Span = Span::from_h(1);

/// A glide back ends once the filtered value is this close to the reading. Our choice.
const GLIDE_DONE: TempDelta = TempDelta::from_centi_k(20);

/// Whether heating is on at all.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Season {
    /// Calls for heat are served.
    #[default]
    Heating,
    /// Warm-weather shutdown.
    Warm,
}

/// How the schedule moves the target.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Shift {
    /// Not at all.
    #[default]
    Level,
    /// Down by the setback.
    Lowered,
    /// Up by the boost.
    Raised {
        /// Since the setback ended.
        since: Instant,
    },
}

/// The filtered outdoor temperature.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Outdoor {
    /// The filter; nothing before the first reading.
    pub filter: Option<Filter>,
    /// It moves to the fallback or back from it.
    pub gliding: bool,
    /// The last reading cannot be trusted.
    pub lost: bool,
}

impl Outdoor {
    /// The outdoor temperature that the target follows.
    pub fn value(&self, config: &ResetConfig) -> Temp {
        self.filter.map_or(config.outdoor_fallback, Filter::value)
    }

    fn tau(&self, config: &ResetConfig) -> Span {
        if self.gliding { config.outdoor_filter.max(GLIDE) } else { config.outdoor_filter }
    }

    /// There is no filter: it moves whatever the grid.
    pub(crate) fn follows_at_once(&self, config: &ResetConfig) -> bool {
        self.tau(config).is_zero()
    }

    /// Follows the reading held over the interval just past.
    pub(crate) fn advance(&mut self, config: &ResetConfig, reading: Option<Temp>, from: Instant, to: Instant) {
        let tau = self.tau(config);
        if let Some(f) = &mut self.filter {
            f.advance(reading.filter(|_| !self.lost).unwrap_or(config.outdoor_fallback), tau, from, to);
        }
    }

    /// Takes note of this tick's reading, none where it cannot be trusted.
    pub(crate) fn decide(&mut self, config: &ResetConfig, reading: Option<Temp>, clock: &mut Clock) {
        self.lost = reading.is_none();
        match (self.filter, reading) {
            (None, Some(first)) => self.filter = Some(Filter::preset(first)),
            (None, None) => {}
            (Some(_), None) => clock.put(&mut self.gliding, true),
            (Some(f), Some(t)) => {
                let off = f.value().above(t).centi_k().saturating_abs();
                let still = self.gliding && off > GLIDE_DONE.centi_k();
                clock.put(&mut self.gliding, still);
            }
        }
        if self.follows_at_once(config) {
            self.filter = reading.map(Filter::preset).or(self.filter);
        }
    }

    /// When the filter moves next, if this reading stays.
    pub(crate) fn due(&self, config: &ResetConfig, reading: Option<Temp>, now: Instant) -> Option<Instant> {
        self.filter?.due(reading.filter(|_| !self.lost).unwrap_or(config.outdoor_fallback), self.tau(config), now)
    }
}

/// Season and shift.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ResetState {
    /// Whether heating is on.
    pub season: Season,
    /// How the schedule moves the target.
    pub shift: Shift,
}

impl ResetState {
    /// The season that follows at this outdoor temperature.
    pub(crate) fn season_at(&self, config: &ResetConfig, outdoor: Temp) -> Season {
        let back = config.warm_weather_off.minus(config.warm_weather_differential);
        match self.season {
            Season::Heating if outdoor >= config.warm_weather_off => Season::Warm,
            // A differential of zero must not swing at every tick.
            Season::Warm if outdoor <= back && outdoor < config.warm_weather_off => Season::Heating,
            Season::Heating => Season::Heating,
            Season::Warm => Season::Warm,
        }
    }

    /// Moves season and shift.
    pub(crate) fn decide(
        &mut self,
        config: &ResetConfig,
        schedules: &[Schedule],
        outdoor: Temp,
        civil: Option<CivilMinute>,
        clock: &mut Clock,
    ) {
        let season = self.season_at(config, outdoor);
        clock.put(&mut self.season, season);
        let schedule = config.schedule.and_then(|s| schedules.get(s.index()));
        let (level, minutes) = schedule.zip(civil).map_or((Level::Occupied, None), |(s, c)| s.at(c));
        let now = clock.now();
        let next = match self.shift {
            Shift::Level | Shift::Raised { .. } if level == Level::Setback => Some(Shift::Lowered),
            Shift::Lowered if level == Level::Occupied && config.boost_for.is_zero() => Some(Shift::Level),
            Shift::Lowered if level == Level::Occupied => Some(Shift::Raised { since: now }),
            Shift::Raised { since } => clock.elapsed(since, config.boost_for).then_some(Shift::Level),
            Shift::Level | Shift::Lowered => None,
        };
        if let Some(next) = next {
            self.shift = next;
            clock.written(true);
        }
        if let Some(minutes) = minutes {
            wake_at_minute(u32::from(minutes), clock);
        }
    }

    /// The supply temperature that heating asks for.
    pub fn asked(&self, config: &ResetConfig, outdoor: Temp, trim: TempDelta) -> Asked {
        let curve = curve::supply(&config.points, outdoor).unwrap_or(config.supply_min);
        let base = curve.plus(trim);
        let heating = match self.shift {
            Shift::Level => base,
            Shift::Lowered => base.minus(config.setback),
            Shift::Raised { .. } => base.plus(config.boost),
        };
        Asked { curve, heating }
    }
}

/// What heating asks for, before the bounds of the supply.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Asked {
    /// By the curve alone.
    pub curve: Temp,
    /// With trim by demand and the schedule's shift.
    pub heating: Temp,
}

impl ResetConfig {
    /// A supply temperature held to the bounds.
    pub fn bounded(&self, supply: Temp) -> Temp {
        supply.max(self.supply_min).min(self.supply_max)
    }
}

/// Makes due the earliest moment at which the wall clock can be `minutes` further. The wall clock comes in whole
/// minutes, so its next one begins at any time within the coming minute: from there on every second is due until it
/// shows.
pub(crate) fn wake_at_minute(minutes: u32, clock: &mut Clock) {
    let wait = Span::from_min(minutes.saturating_sub(1)).plus(Span::from_s(1));
    clock.wake(clock.now().after(wait));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tests::plant;

    /// A filter of four hours, warm weather from 18 degrees on and below it again at 16.
    fn reset() -> ResetConfig {
        let mut r = plant().reset;
        r.outdoor_filter = Span::from_h(4);
        (r.warm_weather_off, r.warm_weather_differential) = (Temp::from_c(18), TempDelta::from_k(2));
        (r.outdoor_fallback, r.supply_min) = (Temp::from_c(-15), Temp::from_c(30));
        r
    }

    fn at(centi_c: i16) -> Option<Temp> {
        Some(Temp::from_centi_c(centi_c))
    }

    /// The outdoor reading comes back while the filter stands at zero degrees on its way from the fallback.
    #[test]
    fn a_glide_back_ends_a_fifth_of_a_kelvin_from_the_reading() {
        let glides = |gliding, reading: Option<Temp>| {
            let mut o = Outdoor { filter: Some(Filter::preset(Temp::from_c(0))), gliding, lost: false };
            o.decide(&reset(), reading, &mut Clock::at(Instant::ZERO));
            o.gliding
        };
        assert_eq!([20, 21, -20, -21].map(|t| glides(true, at(t))), [false, true, false, true]);
        assert!(!glides(false, at(900)), "a reading that was never lost is filtered, not glided to");
        assert!(glides(false, None));
    }

    #[test]
    fn before_the_first_reading_the_fallback_counts_and_the_first_is_believed() {
        let mut o = Outdoor::default();
        o.decide(&reset(), None, &mut Clock::at(Instant::ZERO));
        assert_eq!((o.value(&reset()), o.gliding), (Temp::from_c(-15), false));
        o.decide(&reset(), at(700), &mut Clock::at(Instant::ZERO));
        assert_eq!(o.value(&reset()), Temp::from_c(7));
    }

    /// Without a filter the reading counts in its own tick; one that is lost is still glided from, by the hour.
    #[test]
    fn without_a_filter_the_reading_itself_counts() {
        let config = ResetConfig { outdoor_filter: Span::ZERO, ..reset() };
        let mut o = Outdoor { filter: Some(Filter::preset(Temp::from_c(0))), gliding: false, lost: false };
        let mut clock = Clock::at(Instant::from_s(5));
        o.decide(&config, at(450), &mut clock);
        assert_eq!((o.value(&config), clock.due()), (Temp::from_centi_c(450), None));
        o.decide(&config, None, &mut clock);
        assert_eq!((o.value(&config), o.gliding), (Temp::from_centi_c(450), true), "no jump");
        assert_eq!(clock.due(), Some(Instant::from_s(5)), "others follow at once");
        o.advance(&config, None, Instant::from_s(0), Instant::from_s(60));
        let (value, fallback) = (o.value(&config), config.outdoor_fallback);
        assert!(value < Temp::from_centi_c(450) && value > fallback.plus(TempDelta::from_k(15)), "{value:?}: no jump");
    }

    #[test]
    fn the_season_ends_at_its_limit_and_begins_again_at_its_differential() {
        let season = |from, outdoor: i16, differential: TempDelta| {
            let config = ResetConfig { warm_weather_differential: differential, ..reset() };
            let mut r = ResetState { season: from, shift: Shift::Level };
            r.decide(&config, &[], Temp::from_centi_c(outdoor), None, &mut Clock::at(Instant::ZERO));
            r.season
        };
        let two = TempDelta::from_k(2);
        assert_eq!([1799, 1800].map(|t| season(Season::Heating, t, two)), [Season::Heating, Season::Warm]);
        assert_eq!([1601, 1600].map(|t| season(Season::Warm, t, two)), [Season::Warm, Season::Heating]);
        assert_eq!(season(Season::Warm, 1800, TempDelta::ZERO), Season::Warm, "no swinging at the limit itself");
        assert_eq!(season(Season::Warm, 1799, TempDelta::ZERO), Season::Heating);
    }

    #[test]
    fn the_supply_is_held_to_its_bounds_and_moved_by_the_shift() {
        let mut r = reset();
        r.supply_max = Temp::from_c(70);
        (r.setback, r.boost) = (TempDelta::from_k(8), TempDelta::from_k(5));
        assert_eq!([20, 50, 90].map(|t| r.bounded(Temp::from_c(t))), [30, 50, 70].map(Temp::from_c));
        let asked =
            |shift| ResetState { season: Season::Heating, shift }.asked(&r, Temp::from_c(0), TempDelta::from_k(1));
        // Without a curve it is the lowest supply, and a kelvin of trim.
        let want = |heating| Asked { curve: Temp::from_c(30), heating: Temp::from_c(heating) };
        assert_eq!(asked(Shift::Level), want(31));
        assert_eq!(asked(Shift::Lowered), want(23));
        assert_eq!(asked(Shift::Raised { since: Instant::ZERO }), want(36));
    }
}
