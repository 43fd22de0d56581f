//! Low-temperature zones: the mixed supply and its valve.
//!
//! The mixed target falls with the header's curve about the zone's room `R`, and no faster than what the room loses:
//! `mixed = R + (T + lift - R) (mixed_design - R) / (S - R)`, with `T` what the curve with its trim and shift asks for now, before
//! the header is held to its bounds, and `S` the supply at the curve's coldest point `C`; held to `mixed_max`, and no less than `R`.
//! `lift = max(0, line - curve)` is how far the curve itself lies below the straight line `line = R + (S - R) (R - outdoor) / (R - C)`,
//! which is `R` where it is warmer outdoors than that: a curve made for a zone whose room is cooler, or which falls to its room
//! sooner, must not take from this one what its floor needs. Flat past `C`, as the curve is.
//! The valve follows a PI law
//! (`law::pi`) at no more than its stroke allows. Its valve shuts at once while the zone has no water, while the mixed
//! sensor is in fault, and while the zone's own limit is open: a floor must not be overheated by what is not seen.
//! Source: a floor gives heat in proportion to its water's excess over the room (EN 1264-2: `q = K_H Δθ_H`, exponent 1.0; with the
//! 1.1 of its surface taken by itself, as the simulator does, a little more than 1.0), at a constant flow also to that of its supply, and a
//! room loses it in proportion to room less outdoor temperature: hence the straight line. That the mixed target lies no lower than the
//! header's own fall is our choice: emitters with a larger exponent need it.
//! Not decided here: the hard-wired limit, which stops the zone's pump by itself.

use crate::{
    config::{Config, CurvePoint, MixConfig, ResetConfig},
    inputs::{Inputs, Reading},
    known::Looks,
    law::{
        CATCH_UP, next,
        pi::{Aim, GRID, Pi},
    },
    limits::ZONES,
    mask::Mask,
    points::SensorUse,
    reset::Asked,
    units::{Instant, Permille, Temp, TempDelta},
};

/// The mixed target of a zone at an outdoor temperature while heating asks for `asked`.
pub fn target(mix: &MixConfig, reset: &ResetConfig, outdoor: Temp, asked: Asked) -> Temp {
    Fall::of(reset, outdoor, asked).target(mix)
}

/// How far the curve has fallen.
#[derive(Clone, Copy, Debug)]
struct Fall {
    asked: Asked,
    /// No colder than the curve's coldest point.
    outdoor: Temp,
    /// That point; nothing without a curve.
    coldest: Option<CurvePoint>,
    /// The room that was asked about last: most zones have the same. At first it is colder than any.
    room: Temp,
    /// The supply's excess over that room, now and at the coldest point.
    over: TempDelta,
    design: TempDelta,
}

const NOWHERE: Temp = Temp::from_centi_c(i16::MIN);

impl Fall {
    fn of(reset: &ResetConfig, outdoor: Temp, asked: Asked) -> Self {
        let coldest = reset.points.first().copied();
        let outdoor = coldest.map_or(outdoor, |c| outdoor.max(c.outdoor));
        Self { asked, outdoor, coldest, room: NOWHERE, over: TempDelta::ZERO, design: TempDelta::ZERO }
    }

    fn target(&mut self, mix: &MixConfig) -> Temp {
        let room = mix.room;
        if self.room != room {
            self.ask_about(room);
        }
        let excess = share(self.over, mix.mixed_design.above(room), self.design);
        excess.map_or(mix.mixed_design, |e| room.plus(e)).min(mix.mixed_max)
    }

    fn ask_about(&mut self, room: Temp) {
        self.room = room;
        let Some(c) = self.coldest else { return };
        self.design = c.supply.above(room);
        let line = share(self.design, room.above(self.outdoor), room.above(c.outdoor)).unwrap_or(TempDelta::ZERO);
        // The header's own, or the line's with what trim and shift add to the curve.
        let by_line = self.asked.heating.above(self.asked.curve).plus(line);
        self.over = self.asked.heating.above(room).max(by_line);
    }
}

/// `a * b / of`, to the nearest; a factor below zero counts as zero. Nothing unless the divisor is positive.
#[inline(always)]
const fn share(a: TempDelta, b: TempDelta, of: TempDelta) -> Option<TempDelta> {
    let of = positive(of);
    // Fifteen bits each: a product of thirty, which half a divisor more does not carry past 31.
    match positive(a).wrapping_mul(positive(b)).wrapping_add(of >> 1).checked_div(of) {
        Some(quotient) => Some(TempDelta::from_centi_k_saturating(quotient as i32)),
        None => None,
    }
}

const fn positive(d: TempDelta) -> u32 {
    let d = d.centi_k();
    if d > 0 { d as u32 } else { 0 }
}

/// How far a valve gets in a grid step.
fn step_max(mix: &MixConfig) -> Permille {
    let step = GRID.tenths().saturating_mul(1000).checked_div(mix.stroke.tenths()).unwrap_or(1000);
    Permille::new(step.min(1000) as u16).max(Permille::new(1))
}

/// Moves a valve by so many grid steps, at least one and at most [`CATCH_UP`].
#[inline(never)]
fn step(mix: &MixConfig, target: Temp, reading: Reading, valve: &mut Pi, steps: u32) {
    let aim = Aim {
        target,
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

/// Moves the valves of the zones in `open` by so many grid steps, at least one, at the outdoor temperature that the heating target
/// was made for.
#[inline(never)]
pub(crate) fn advance(
    config: &Config,
    looks: &Looks,
    valves: &mut [Pi; ZONES],
    open: Mask,
    (outdoor, asked): (Temp, Asked),
    held: &Inputs,
    steps: u32,
) {
    if open.is_empty() {
        return;
    }
    let (mut fall, steps) = (Fall::of(&config.reset, outdoor, asked), steps.min(CATCH_UP));
    for (i, mix, reading) in mixed(config, looks, open, held) {
        if let Some(valve) = valves.get_mut(i) {
            step(mix, fall.target(mix), reading, valve, steps);
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
    (outdoor, asked): (Temp, Asked),
    inputs: &Inputs,
    now: Instant,
) -> Option<Instant> {
    if open.is_empty() {
        return None;
    }
    // All move on one grid: the first that moves tells for all. One that follows another reading does, and one between its bounds
    // nearly always: it rests only where its water is at the very target.
    let mut fall = Fall::of(&config.reset, outdoor, asked);
    let moves = |(i, mix, reading): (usize, &MixConfig, Reading)| {
        let Some(valve) = valves.get(i) else { return false };
        let (at_bound, t) = (valve.is_shut() || valve.is_open(), reading.temp());
        valve.follows_another(t, mix.band, mix.integral)
            || t.is_some() && !(at_bound && valve.held_at_a_bound(fall.target(mix), t, Permille::ZERO, Permille::FULL))
    };
    mixed(config, looks, open, inputs).any(moves).then(|| next(now, GRID))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{law::curve, units::Span};

    fn mix() -> MixConfig {
        MixConfig {
            mixed_max: Temp::from_c(45),
            mixed_design: Temp::from_c(40),
            room: Temp::from_c(20),
            band: TempDelta::from_k(10),
            integral: Span::from_s(300),
            stroke: Span::from_s(120),
        }
    }

    fn reset(points: &[(i16, i16)]) -> ResetConfig {
        let of = |(o, s): &(i16, i16)| CurvePoint { outdoor: Temp::from_c(*o), supply: Temp::from_c(*s) };
        ResetConfig { points: points.iter().map(of).collect(), ..crate::tests::plant().reset }
    }

    /// What the curve asks for by itself.
    fn asked(reset: &ResetConfig, outdoor: i16) -> Asked {
        let curve = curve::supply(&reset.points, Temp::from_c(outdoor)).unwrap();
        Asked { curve, heating: curve }
    }

    /// On the straight line there is no lift: 20 K of 60 K above the room, whatever the trim and the shift make of the curve.
    #[test]
    fn the_mixed_target_falls_with_the_curve_about_the_room() {
        let reset = reset(&[(-15, 80), (20, 20)]);
        for (outdoor, heating, want) in [(-15, 80, 4000), (20, 50, 3000), (20, 20, 2000), (-15, 120, 4500)] {
            let asked = Asked { heating: Temp::from_c(heating), ..asked(&reset, outdoor) };
            let got = target(&mix(), &reset, Temp::from_c(outdoor), asked).centi_c();
            assert_eq!(got, want, "{outdoor} {heating}");
        }
        let shut = ResetConfig { points: heapless::Vec::new(), ..reset };
        assert_eq!(target(&mix(), &shut, Temp::from_c(9), Asked::default()), Temp::from_c(40));
    }

    /// A floor of 42 °C at -16 °C in a hall of 24 °C, on a header of 68 °C there: it needs `24 + 18 (24 - t) / 40` (EN 1264: heat
    /// in proportion to the excess). The curve is made for rooms of 20 °C, straight (so that it ends at 20 °C, the hall's floor 4 K short
    /// of all), or lies above the hall's own line in mild weather, which a floor may have too. Worked by hand.
    #[test]
    fn the_mixed_target_falls_no_faster_than_the_room_loses() {
        let hall = MixConfig { mixed_design: Temp::from_c(42), room: Temp::from_c(24), ..mix() };
        let at = |reset: &ResetConfig, outdoor: i16, shift: i32| {
            let by_curve = asked(reset, outdoor);
            let heating = by_curve.curve.plus(TempDelta::from_centi_k_saturating(shift));
            target(&hall, reset, Temp::from_c(outdoor), Asked { heating, ..by_curve }).centi_c()
        };
        let cool = reset(&[(-16, 68), (20, 20)]);
        for (outdoor, want) in [(-30, 4200), (-16, 4200), (4, 3300), (9, 3075), (14, 2850), (24, 2400)] {
            assert!(at(&cool, outdoor, 0).abs_diff(want) <= 1, "{outdoor}: {}", at(&cool, outdoor, 0));
        }
        // A setback of 11 K in the header is 11 * 18 / 44 = 4.5 K here.
        assert!(at(&cool, 4, -1100).abs_diff(2850) <= 1);
        // At 4 °C the header has 57 °C where the line has 46 °C: 33 of 44 K, so 24 + 18 * 0.75.
        assert!(at(&reset(&[(-16, 68), (4, 57), (20, 40)]), 4, 0).abs_diff(3750) <= 1);
        // No floor is told less than its room by a design that is.
        let slip = MixConfig { mixed_design: Temp::from_c(22), ..hall };
        assert_eq!(target(&slip, &cool, Temp::from_c(4), asked(&cool, 4)), Temp::from_c(24));
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
