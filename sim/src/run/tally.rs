//! What adds up step by step: sums, extremes and spans of time, side by side where there are many.
//!
//! A step only adds; what a run is told of it is worked out at the end. What follows from temperatures that are summed anyway
//! (losses of rooms, jackets and pipes) is not summed a second time.

use crate::{
    state::{Model, State},
    step::Scratch,
    zone::lanes::{BLOCKS, LANES, Lane, Row, row},
};
use heatwright_core::limits::BOILERS;

/// A zone is cold while its air is this far below its set temperature, in kelvin.
pub const COLD_BELOW_K: f64 = 1.0;

/// The smaller of two numbers, the first of equals: without the rules for what is no number, it is one instruction.
#[inline(always)]
fn lower(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

/// The larger of two numbers, the first of equals.
#[inline(always)]
fn higher(a: f64, b: f64) -> f64 {
    if b > a { b } else { a }
}

/// How many steps each of up to 64 bits was set, and how often it was set anew. Work is done when a bit changes.
#[derive(Clone, Debug)]
pub(crate) struct Spans {
    bits: u64,
    since: [u64; 64],
    pub(crate) steps: [u64; 64],
    pub(crate) starts: [u32; 64],
}

impl Spans {
    pub(crate) fn new() -> Self {
        Self { bits: 0, since: [0; 64], steps: [0; 64], starts: [0; 64] }
    }

    /// What is set when counting begins is no start.
    pub(crate) fn begin(&mut self, bits: u64) {
        *self = Self { bits, ..Self::new() };
    }

    /// The bits of step `now`, from 0, and of those after it until other ones are seen.
    #[inline]
    pub(crate) fn see(&mut self, now: u64, bits: u64) {
        if bits != self.bits {
            self.change(now, bits);
        }
    }

    /// Ends all spans before step `now`.
    pub(crate) fn end(&mut self, now: u64) {
        self.change(now, 0);
    }

    #[inline(never)]
    fn change(&mut self, now: u64, bits: u64) {
        let mut changed = bits ^ self.bits;
        self.bits = bits;
        while changed != 0 {
            let i = changed.trailing_zeros() as usize;
            changed &= changed - 1;
            if bits >> i & 1 == 1 {
                self.since[i] = now;
                self.starts[i] += 1;
            } else {
                self.steps[i] += now - self.since[i];
            }
        }
    }
}

/// Sums and extremes of a block of zones.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ZoneTally {
    pub(crate) lowest_c: Lane,
    pub(crate) highest_c: Lane,
    pub(crate) air_c: Lane,
    pub(crate) supply_c: Lane,
    pub(crate) heat_w: Lane,
    pub(crate) gains_w: Lane,
}

/// Sums and extremes of a boiler; all but those of its water while it burns only.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BoilerTally {
    pub(crate) water_max_c: f64,
    pub(crate) water_c: f64,
    pub(crate) rate: f64,
    pub(crate) water_w: f64,
    /// Return water, weighted by the rate.
    pub(crate) rate_return_c: f64,
    pub(crate) return_min_c: f64,
    pub(crate) return_cold_steps: u64,
    pub(crate) condensing_steps: u64,
    /// Share of its flow that its return valve lets to the header, summed; and steps in which it lets none.
    pub(crate) opening: f64,
    pub(crate) shut_steps: u64,
    pub(crate) condensate_kg_s: f64,
    /// What its return water should not fall below, in degrees Celsius.
    least_c: f64,
}

/// Sums and extremes of the tank.
#[derive(Clone, Copy, Debug)]
pub(crate) struct TankTally {
    pub(crate) lowest_c: f64,
    pub(crate) highest_c: f64,
    pub(crate) water_c: f64,
    pub(crate) coil_w: f64,
    pub(crate) draw_w: f64,
    pub(crate) short_steps: u64,
}

/// All of them.
#[derive(Clone, Debug)]
pub(crate) struct Tally {
    /// Steps counted.
    pub(crate) steps: u64,
    pub(crate) outdoor_c: f64,
    pub(crate) outdoor_min_c: f64,
    pub(crate) zones: [ZoneTally; BLOCKS],
    pub(crate) boilers: [BoilerTally; BOILERS],
    pub(crate) tank: TankTally,
    /// Supply and return of the zones together.
    pub(crate) pipes_c: f64,
    pub(crate) cold: Spans,
    pub(crate) cold_flowing: Spans,
    pub(crate) cold_held: Spans,
    is_cold: u64,
}

impl Tally {
    pub(crate) fn new(model: &Model) -> Self {
        let none = Lane::default();
        let zone = ZoneTally {
            lowest_c: Lane([f64::INFINITY; LANES]),
            highest_c: Lane([f64::NEG_INFINITY; LANES]),
            air_c: none,
            supply_c: none,
            heat_w: none,
            gains_w: none,
        };
        let boiler = |i: usize| BoilerTally {
            water_max_c: f64::NEG_INFINITY,
            water_c: 0.0,
            rate: 0.0,
            water_w: 0.0,
            rate_return_c: 0.0,
            return_min_c: f64::INFINITY,
            return_cold_steps: 0,
            condensing_steps: 0,
            opening: 0.0,
            shut_steps: 0,
            condensate_kg_s: 0.0,
            least_c: model.plant.boilers.get(i).and_then(|b| b.return_min_c).unwrap_or(f64::NEG_INFINITY),
        };
        Self {
            steps: 0,
            outdoor_c: 0.0,
            outdoor_min_c: f64::INFINITY,
            zones: [zone; BLOCKS],
            boilers: std::array::from_fn(boiler),
            tank: TankTally {
                lowest_c: f64::INFINITY,
                highest_c: f64::NEG_INFINITY,
                water_c: 0.0,
                coil_w: 0.0,
                draw_w: 0.0,
                short_steps: 0,
            },
            pipes_c: 0.0,
            cold: Spans::new(),
            cold_flowing: Spans::new(),
            cold_held: Spans::new(),
            is_cold: 0,
        }
    }

    /// One step, in which the contacts stand as they do in the field.
    #[inline(always)]
    pub(crate) fn add(&mut self, model: &Model, s: &State, scratch: &Scratch) {
        self.outdoor_c += s.outdoor_c;
        self.outdoor_min_c = lower(self.outdoor_min_c, s.outdoor_c);
        let mut cold = 0;
        let blocks = s.zones.blocks.iter().zip(&mut self.zones).zip(&scratch.asking);
        for (b, ((z, t), asking)) in blocks.enumerate().take(model.zones.blocks()) {
            let air_c = row(&z.nodes.air_c);
            t.lowest_c = row(&t.lowest_c).fast_min(air_c).into();
            t.highest_c = row(&t.highest_c).fast_max(air_c).into();
            t.air_c = (row(&t.air_c) + air_c).into();
            let flows = row(&z.flow_kg_s).simd_gt(Row::ZERO);
            t.supply_c = (row(&t.supply_c) + (flows & row(&z.supply_pipe_c))).into();
            t.heat_w = (row(&t.heat_w) + row(&z.heat_w)).into();
            t.gains_w = (row(&t.gains_w) + row(&z.gains_w)).into();
            let is_cold = air_c.simd_lt(row(&asking.set_c) - Row::splat(COLD_BELOW_K));
            cold |= u64::from(is_cold.to_bitmask()) << (b * LANES);
        }
        if cold | self.is_cold != 0 {
            self.see_cold(s, cold);
        }
        for (t, b) in self.boilers.iter_mut().zip(&s.boilers) {
            t.water_max_c = higher(t.water_max_c, b.state.water_c);
            t.water_c += b.state.water_c;
            if b.state.burner.lit() {
                let flux = &b.flux;
                t.rate += b.state.rate;
                t.water_w += flux.water_w;
                t.rate_return_c += b.state.rate * flux.return_c;
                t.return_min_c = lower(t.return_min_c, flux.return_c);
                t.return_cold_steps += u64::from((flux.return_c < t.least_c) & (b.state.opening > 0.0));
                t.condensing_steps += u64::from(flux.condensate_kg_s > 0.0);
                t.condensate_kg_s += flux.condensate_kg_s;
                t.opening += b.state.opening;
                t.shut_steps += u64::from(b.state.opening == 0.0);
            }
        }
        if let (Some((now, flux)), Some(plant)) = (&s.tank, &model.plant.tank) {
            let t = &mut self.tank;
            t.lowest_c = lower(t.lowest_c, now.water_c);
            t.highest_c = higher(t.highest_c, now.water_c);
            t.water_c += now.water_c;
            t.coil_w += flux.coil_w;
            t.draw_w += flux.draw_w;
            t.short_steps += u64::from((flux.draw_w > 0.0) & (now.water_c < plant.draw.use_c));
        }
        self.pipes_c += s.header.supply_c + s.header.return_c;
        self.steps += 1;
    }

    #[inline(never)]
    fn see_cold(&mut self, s: &State, cold: u64) {
        let (calls, flowing) = (s.field.calls, s.zones.flowing);
        self.is_cold = cold;
        self.cold.see(self.steps, cold);
        self.cold_flowing.see(self.steps, cold & flowing);
        self.cold_held.see(self.steps, cold & calls & !flowing);
    }
}
