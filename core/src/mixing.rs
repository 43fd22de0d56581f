//! Low-temperature zones: the mixed supply and its valve.
//!
//! The mixed target falls with the header's curve: `mixed = 20 °C + (T - 20 °C) * (mixed_design - 20 °C) / (S - 20
//! °C)`, with `T` what the curve with its trim and shift asks for now, before the header is held to its bounds, and `S`
//! the supply at the curve's coldest point, held to `mixed_max`. The valve follows a PI law
//! (`law::pi`) at no more than its stroke allows. Its valve shuts at once while the zone has no water, while the mixed
//! sensor is in fault, and while the zone's own limit is open: a floor must not be overheated by what is not seen.
//! Source: the proportional fall about the room temperature is our choice; a load-proportional curve does the same.
//! Not decided here: the hard-wired limit, which stops the zone's pump by itself.

use crate::{
    config::{Config, MixConfig, ResetConfig},
    inputs::{Inputs, Reading},
    known::Looks,
    law::{
        CATCH_UP,
        curve::divide_nearest,
        next,
        pi::{Aim, GRID, Pi},
    },
    limits::ZONES,
    mask::Mask,
    points::SensorUse,
    units::{Instant, Permille, Temp, TempDelta},
};

/// The temperature about which the mixed target falls: that of the room.
const ROOM: Temp = Temp::from_c(20);

/// The mixed target of a zone while the curve asks for `heating`, bounds of the header apart.
pub fn target(mix: &MixConfig, reset: &ResetConfig, heating: Temp) -> Temp {
    Fall::of(reset, heating).target(mix)
}

/// How far the curve has fallen, which is the same for every zone: rises above the room in hundredths of a kelvin, now and at
/// its coldest point.
#[derive(Clone, Copy, Debug)]
struct Fall {
    now: i32,
    design: i32,
}

impl Fall {
    fn of(reset: &ResetConfig, heating: Temp) -> Self {
        let rise = |t: Temp| i32::from(t.above(ROOM).centi_k());
        Self { now: rise(heating), design: rise(reset.points.first().map_or(heating, |p| p.supply)) }
    }

    fn target(self, mix: &MixConfig) -> Temp {
        let ratio = i32::from(mix.mixed_design.above(ROOM).centi_k());
        match divide_nearest(self.now.saturating_mul(ratio), self.design) {
            Some(d) => ROOM.plus(TempDelta::from_centi_k_saturating(d)),
            None => mix.mixed_design,
        }
        .min(mix.mixed_max)
    }
}

/// How far a valve gets in a grid step.
fn step_max(mix: &MixConfig) -> Permille {
    let step = GRID.tenths().saturating_mul(1000).checked_div(mix.stroke.tenths()).unwrap_or(1000);
    Permille::new(step.min(1000) as u16).max(Permille::new(1))
}

/// Moves a valve by so many grid steps, at least one and at most [`CATCH_UP`].
#[inline(never)]
fn step(mix: &MixConfig, fall: Fall, reading: Reading, valve: &mut Pi, steps: u32) {
    let aim = Aim {
        target: fall.target(mix),
        reading: reading.temp(),
        band: mix.band,
        integral: mix.integral,
        low: Permille::ZERO,
        high: Permille::FULL,
        step_max: step_max(mix),
        may_rise: true,
    };
    *valve = valve.stepped(&aim, steps);
}

/// Every zone in `open` whose mixed water is measured, with the sensor's reading.
fn mixed<'a>(
    config: &'a Config,
    looks: &Looks,
    open: Mask,
    inputs: &'a Inputs,
) -> impl Iterator<Item = (usize, &'a MixConfig, Reading)> {
    Mask::from_bits(looks.mixed.into()).iter().filter_map(move |s| {
        let s = usize::from(s);
        let SensorUse::Mixed(z) = *config.points.sensors.get(s)? else { return None };
        let zone = config.zones.get(z.index()).filter(|_| open.has(z.0))?;
        Some((z.index(), zone.mix.as_ref()?, *inputs.sensors.get(s)?))
    })
}

/// Moves the valves of the zones in `open` by so many grid steps, at least one.
#[inline(never)]
pub(crate) fn advance(
    config: &Config,
    looks: &Looks,
    valves: &mut [Pi; ZONES],
    open: Mask,
    heating: Temp,
    held: &Inputs,
    steps: u32,
) {
    if open.is_empty() {
        return;
    }
    let (fall, steps) = (Fall::of(&config.reset, heating), steps.min(CATCH_UP));
    for (i, mix, reading) in mixed(config, looks, open, held) {
        if let Some(valve) = valves.get_mut(i) {
            step(mix, fall, reading, valve, steps);
        }
    }
}

/// When a valve moves next, if everything stays.
#[inline(never)]
pub(crate) fn due(
    config: &Config,
    looks: &Looks,
    valves: &[Pi; ZONES],
    open: Mask,
    heating: Temp,
    inputs: &Inputs,
    now: Instant,
) -> Option<Instant> {
    if open.is_empty() {
        return None;
    }
    // All move on one grid: the first that moves tells for all. Most need no step to tell: they see another reading, or stand
    // at a bound.
    let fall = Fall::of(&config.reset, heating);
    let moves = |(i, mix, reading): (usize, &MixConfig, Reading)| {
        let (Some(valve), t) = (valves.get(i), reading.temp()) else { return false };
        let goes = || {
            let mut next = *valve;
            step(mix, fall, reading, &mut next, 1);
            next != *valve
        };
        valve.follows_another(t, mix.band, mix.integral)
            || !valve.held_at_a_bound(fall.target(mix), t, Permille::ZERO, Permille::FULL) && goes()
    };
    mixed(config, looks, open, inputs).any(moves).then(|| next(now, GRID))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{config::CurvePoint, units::Span};

    #[test]
    fn the_mixed_target_falls_with_the_curve_about_the_room() {
        let mix = MixConfig {
            mixed_max: Temp::from_c(45),
            mixed_design: Temp::from_c(40),
            band: TempDelta::from_k(10),
            integral: Span::from_s(300),
            stroke: Span::from_s(120),
        };
        let points =
            [(-15, 80), (20, 20)].map(|(o, s)| CurvePoint { outdoor: Temp::from_c(o), supply: Temp::from_c(s) });
        let reset = ResetConfig {
            points: heapless::Vec::from_slice(&points).unwrap(),
            supply_min: Temp::from_c(30),
            supply_max: Temp::from_c(90),
            outdoor_filter: Span::ZERO,
            warm_weather_off: Temp::from_c(18),
            warm_weather_differential: TempDelta::from_k(1),
            setback: TempDelta::ZERO,
            boost: TempDelta::ZERO,
            boost_for: Span::ZERO,
            schedule: None,
            outdoor_fallback: Temp::from_c(-15),
            header_trim_max: TempDelta::ZERO,
            demand_trim_max: TempDelta::ZERO,
        };
        // 20 K of 60 K: a third of the way, by the formula in the head.
        for (heating, want) in [(80, 4000), (50, 3000), (20, 2000), (120, 4500)] {
            assert_eq!(target(&mix, &reset, Temp::from_c(heating)).centi_c(), want, "{heating}");
        }
        let shut = ResetConfig { points: heapless::Vec::new(), ..reset };
        assert_eq!(target(&mix, &shut, Temp::from_c(20)), Temp::from_c(40));
    }

    /// A valve with a stroke of two minutes moves a twelfth of it in ten seconds, and one without a time as far as it likes.
    #[test]
    fn a_valve_moves_no_faster_than_its_stroke() {
        let step = |stroke: Span| {
            let mut mix: MixConfig = crate::blob::wire::Wire::blank();
            mix.stroke = stroke;
            step_max(&mix).get()
        };
        assert_eq!([step(Span::from_s(120)), step(Span::from_h(9)), step(Span::ZERO)], [83, 1, 1000]);
    }
}
