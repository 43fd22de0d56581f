//! Figures of a run: what each zone felt, what each pump and boiler did.
//!
//! Starts are counted from standing to running. Starts per hour are the most that fall into any sixty minutes. A burner
//! cycle is short when the flame burns less than five minutes (our choice). A boiler condenses while condensate forms; a
//! typed efficiency curve says nothing of condensate, so none is counted there.

use super::balance::Sums;
use crate::{
    plant::Trip,
    state::{Model, State},
    zone::lanes::{BLOCKS, LANES, Lane, lane, place},
};
use heatwright_core::{BoilerId, PumpId, SafetyId, ZoneId};
use serde::{Deserialize, Serialize};

/// A burner cycle below this length is short, in seconds.
pub const SHORT_CYCLE_S: f64 = 300.0;
/// A zone is cold while its air is this far below its set temperature, in kelvin.
pub const COLD_BELOW_K: f64 = 1.0;

/// All figures of a run.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Length of the counted part, in hours.
    pub duration_h: f64,
    /// Mean outdoor temperature, in degrees Celsius.
    pub outdoor_mean_c: f64,
    /// Lowest outdoor temperature, in degrees Celsius.
    pub outdoor_min_c: f64,
    /// Fuel of all boilers, in kilowatt-hours by higher heating value.
    pub fuel_kwh: f64,
    /// Electrical energy of all pumps and fans, in kilowatt-hours.
    pub electric_kwh: f64,
    /// Zones, by `ZoneId`.
    pub zones: Vec<ZoneSummary>,
    /// Pumps, by `PumpId`.
    pub pumps: Vec<PumpSummary>,
    /// Boilers, by `BoilerId`.
    pub boilers: Vec<BoilerSummary>,
    /// The tank.
    pub tank: Option<TankSummary>,
    /// Safeties that open on temperature, and how often each did.
    pub opened: Vec<SafetyOpened>,
}

/// A safety that opens on temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct SafetyOpened {
    /// Which one.
    pub safety: SafetyId,
    /// Times it opened; one that stood open when counting began is the first.
    pub times: u32,
}

/// One zone.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ZoneSummary {
    /// Which one.
    pub zone: ZoneId,
    /// Lowest air temperature, in degrees Celsius.
    pub lowest_c: f64,
    /// Mean air temperature, in degrees Celsius.
    pub mean_c: f64,
    /// Highest air temperature, in degrees Celsius.
    pub highest_c: f64,
    /// Hours with the air more than 1 K below the set temperature of the moment.
    pub cold_h: f64,
    /// Of those, hours in which it called and no water flowed: something held its pump or valve off.
    pub cold_held_h: f64,
    /// Of those, hours in which water flowed: it got less heat than it lost, or was still warming up.
    pub cold_flowing_h: f64,
    /// Calls that began.
    pub calls: u32,
    /// Hours of call.
    pub call_h: f64,
    /// Hours with flow.
    pub flow_h: f64,
    /// Mean temperature of the water entering its emitter while it flows, in degrees Celsius; 0 without flow.
    pub supply_mean_c: f64,
    /// Heat from its emitter, in kilowatt-hours.
    pub heat_kwh: f64,
}

/// One pump.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PumpSummary {
    /// Which one.
    pub pump: PumpId,
    /// Hours run.
    pub hours_h: f64,
    /// Starts.
    pub starts: u32,
    /// Electrical energy, in kilowatt-hours.
    pub energy_kwh: f64,
}

/// One boiler.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct BoilerSummary {
    /// Which one.
    pub boiler: BoilerId,
    /// Hours with flame.
    pub hours_h: f64,
    /// Burner starts.
    pub starts: u32,
    /// Most burner starts in any sixty minutes.
    pub starts_per_h_max: u32,
    /// Burner cycles shorter than five minutes.
    pub short_cycles: u32,
    /// Mean firing rate while lit, as a share of full input.
    pub rate_mean: f64,
    /// Fuel, in kilowatt-hours by higher heating value.
    pub fuel_kwh: f64,
    /// Heat from the flame into its water, in kilowatt-hours.
    pub water_kwh: f64,
    /// Lost by jacket and standing flue, in kilowatt-hours.
    pub jacket_kwh: f64,
    /// Heat to the water less jacket over fuel, a share; 0 without fuel.
    pub efficiency: f64,
    /// Mean return water while lit, weighted by fuel, in degrees Celsius; 0 without fuel.
    pub return_mean_c: f64,
    /// Lowest return water while lit, in degrees Celsius; `None` without fuel.
    pub return_min_c: Option<f64>,
    /// Hours lit with return water colder than the boiler allows.
    pub return_cold_h: f64,
    /// Hours with condensate forming.
    pub condensing_h: f64,
    /// Condensate, in kilograms.
    pub condensate_kg: f64,
    /// Highest water temperature, in degrees Celsius.
    pub water_max_c: f64,
}

/// The tank.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct TankSummary {
    /// Lowest water temperature, in degrees Celsius.
    pub lowest_c: f64,
    /// Mean water temperature, in degrees Celsius.
    pub mean_c: f64,
    /// Highest water temperature, in degrees Celsius.
    pub highest_c: f64,
    /// Hours with a draw while the tank was colder than the water that the taps want.
    pub tap_short_h: f64,
    /// Calls that began.
    pub calls: u32,
    /// Hours of call.
    pub call_h: f64,
    /// Heat through the coil, in kilowatt-hours.
    pub heat_kwh: f64,
}

/// The smaller of two numbers, the first of equals: without the rules for what is no number, it is one instruction.
#[inline]
fn lower(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

/// Times of the last starts: the most that fall into one hour.
const RING: usize = 64;

#[derive(Clone, Copy, Debug)]
struct BoilerMeter {
    lit: bool,
    lit_since_s: f64,
    starts_s: [f64; RING],
    at: usize,
    fuel_return: f64,
    return_min_c: Option<f64>,
}

/// How many steps each of up to 64 bits was set, and how often it was set anew. Work is done when a bit changes.
#[derive(Clone, Debug)]
struct Spans {
    bits: u64,
    since: u64,
    steps: [u64; 64],
    starts: [u32; 64],
}

impl Spans {
    fn new() -> Self {
        Self { bits: 0, since: 0, steps: [0; 64], starts: [0; 64] }
    }

    /// What is set when counting begins is no start.
    fn begin(&mut self, bits: u64) {
        *self = Self { bits, ..Self::new() };
    }

    /// The bits of step `now`, from 0.
    #[inline]
    fn see(&mut self, now: u64, bits: u64) {
        if bits != self.bits {
            self.change(now, bits);
        }
    }

    #[inline(never)]
    fn change(&mut self, now: u64, bits: u64) {
        for i in 0..64 {
            self.steps[i] += if self.bits >> i & 1 == 1 { now - self.since } else { 0 };
            self.starts[i] += u32::from((bits & !self.bits) >> i & 1 == 1);
        }
        (self.bits, self.since) = (bits, now);
    }
}

/// Figures of a block of zones.
#[derive(Clone, Copy, Debug)]
struct ZoneMeter {
    lowest_c: Lane,
    highest_c: Lane,
    sum_c: Lane,
    supply_sum_c: Lane,
}

/// Collects a summary step by step.
#[derive(Clone, Debug)]
pub(crate) struct Meter {
    s: Summary,
    dt_s: f64,
    steps: u64,
    zones: [ZoneMeter; BLOCKS],
    cold: Spans,
    cold_flowing: Spans,
    cold_held: Spans,
    calls: Spans,
    flowing: Spans,
    fans: Spans,
    pumps: Spans,
    tank_call: bool,
    safeties: u64,
    boilers: Vec<BoilerMeter>,
}

impl Meter {
    pub(crate) fn new(model: &Model) -> Self {
        let plant = &model.plant;
        let zone = |i: usize| ZoneSummary {
            zone: ZoneId(i as u8),
            lowest_c: f64::INFINITY,
            mean_c: 0.0,
            highest_c: f64::NEG_INFINITY,
            cold_h: 0.0,
            cold_held_h: 0.0,
            cold_flowing_h: 0.0,
            calls: 0,
            call_h: 0.0,
            flow_h: 0.0,
            supply_mean_c: 0.0,
            heat_kwh: 0.0,
        };
        let pump = |i: usize| PumpSummary { pump: PumpId(i as u8), hours_h: 0.0, starts: 0, energy_kwh: 0.0 };
        let boiler = |i: usize| BoilerSummary {
            boiler: BoilerId(i as u8),
            hours_h: 0.0,
            starts: 0,
            starts_per_h_max: 0,
            short_cycles: 0,
            rate_mean: 0.0,
            fuel_kwh: 0.0,
            water_kwh: 0.0,
            jacket_kwh: 0.0,
            efficiency: 0.0,
            return_mean_c: 0.0,
            return_min_c: None,
            return_cold_h: 0.0,
            condensing_h: 0.0,
            condensate_kg: 0.0,
            water_max_c: f64::NEG_INFINITY,
        };
        let tank = plant.tank.as_ref().map(|_| TankSummary {
            lowest_c: f64::INFINITY,
            mean_c: 0.0,
            highest_c: f64::NEG_INFINITY,
            tap_short_h: 0.0,
            calls: 0,
            call_h: 0.0,
            heat_kwh: 0.0,
        });
        let by_temperature = |i: &usize| {
            matches!(
                plant.safeties[*i].trip,
                Trip::BoilerAbove { .. } | Trip::ZoneSupplyAbove { .. } | Trip::TankAbove { .. }
            )
        };
        let opened = (0..plant.safeties.len())
            .filter(by_temperature)
            .map(|i| SafetyOpened { safety: SafetyId(i as u8), times: 0 })
            .collect();
        let meter = |b: &crate::plant::Boiler| BoilerMeter {
            lit: false,
            lit_since_s: 0.0,
            starts_s: [f64::NEG_INFINITY; RING],
            at: 0,
            fuel_return: 0.0,
            return_min_c: b.return_min_c,
        };
        Self {
            s: Summary {
                outdoor_min_c: f64::INFINITY,
                zones: (0..plant.zones.len()).map(zone).collect(),
                pumps: (0..plant.pumps.len()).map(pump).collect(),
                boilers: (0..plant.boilers.len()).map(boiler).collect(),
                tank,
                opened,
                ..Summary::default()
            },
            dt_s: model.dt_s,
            steps: 0,
            zones: [ZoneMeter {
                lowest_c: [f64::INFINITY; LANES],
                highest_c: [f64::NEG_INFINITY; LANES],
                sum_c: [0.0; LANES],
                supply_sum_c: [0.0; LANES],
            }; BLOCKS],
            cold: Spans::new(),
            cold_flowing: Spans::new(),
            cold_held: Spans::new(),
            calls: Spans::new(),
            flowing: Spans::new(),
            fans: Spans::new(),
            pumps: Spans::new(),
            tank_call: false,
            safeties: u64::MAX,
            boilers: plant.boilers.iter().map(meter).collect(),
        }
    }

    /// What already runs when counting begins is not a start.
    pub(crate) fn begin(&mut self, state: &State) {
        self.calls.begin(state.field.calls);
        self.pumps.begin(state.pumps);
        self.tank_call = state.field.tank_call;
        self.safeties = state.field.safeties;
        for o in &mut self.s.opened {
            o.times = u32::from(state.field.safeties & o.safety.bit() == 0);
        }
        for (m, b) in self.boilers.iter_mut().zip(&state.boilers) {
            m.lit = b.state.burner.lit();
        }
    }

    /// One step; `set_c` are the set temperatures of the zones in it.
    #[inline]
    pub(crate) fn add(&mut self, model: &Model, state: &State, set_c: &[Lane; BLOCKS], at_s: f64) {
        let dt_s = self.dt_s;
        let now = self.steps;
        self.steps += 1;
        self.s.outdoor_mean_c += state.outdoor_c;
        self.s.outdoor_min_c = lower(self.s.outdoor_min_c, state.outdoor_c);
        let mut cold = 0;
        for (b, set_c) in set_c.iter().enumerate().take(model.zones.blocks()) {
            let (m, z) = (&mut self.zones[b], &state.zones.blocks[b]);
            let air_c = &z.nodes.air_c;
            m.lowest_c = lane(|l| lower(m.lowest_c[l], air_c[l]));
            m.highest_c = lane(|l| -lower(-m.highest_c[l], -air_c[l]));
            m.sum_c = lane(|l| m.sum_c[l] + air_c[l]);
            let supply_c = lane(|l| if z.flow_kg_s[l] > 0.0 { z.fluxes.supply_c[l] } else { 0.0 });
            m.supply_sum_c = lane(|l| m.supply_sum_c[l] + supply_c[l]);
            for l in 0..LANES {
                cold |= u64::from(air_c[l] < set_c[l] - COLD_BELOW_K) << (b * LANES + l);
            }
        }
        let (calls, flowing) = (state.field.calls, state.zones.flowing);
        self.cold.see(now, cold);
        self.cold_flowing.see(now, cold & flowing);
        self.cold_held.see(now, cold & calls & !flowing);
        self.calls.see(now, calls);
        self.flowing.see(now, flowing);
        self.fans.see(now, state.zones.fans);
        self.pumps.see(now, state.pumps);
        let s = &mut self.s;
        let went_open = self.safeties & !state.field.safeties;
        if went_open != 0 {
            for o in &mut s.opened {
                o.times += u32::from(went_open & o.safety.bit() != 0);
            }
        }
        self.safeties = state.field.safeties;
        for (i, b) in s.boilers.iter_mut().enumerate() {
            let (m, now) = (&mut self.boilers[i], &state.boilers[i]);
            let flux = &now.flux;
            b.water_max_c = b.water_max_c.max(now.state.water_c);
            b.jacket_kwh += dt_s * flux.jacket_w;
            let lit = now.state.burner.lit();
            if lit {
                if !m.lit {
                    b.starts += 1;
                    m.lit_since_s = at_s;
                    m.starts_s[m.at] = at_s;
                    m.at = (m.at + 1) % RING;
                    let recent = m.starts_s.iter().filter(|t| **t > at_s - 3600.0).count();
                    b.starts_per_h_max = b.starts_per_h_max.max(recent as u32);
                }
                b.hours_h += dt_s;
                b.rate_mean += dt_s * now.state.rate;
                b.fuel_kwh += dt_s * flux.fuel_w;
                b.water_kwh += dt_s * flux.water_w;
                m.fuel_return += dt_s * flux.fuel_w * flux.return_c;
                b.return_min_c = Some(b.return_min_c.map_or(flux.return_c, |c| c.min(flux.return_c)));
                if m.return_min_c.is_some_and(|least_c| flux.return_c < least_c) {
                    b.return_cold_h += dt_s;
                }
                if flux.condensate_kg_s > 0.0 {
                    b.condensing_h += dt_s;
                    b.condensate_kg += dt_s * flux.condensate_kg_s;
                }
            } else if m.lit && b.starts > 0 && at_s - m.lit_since_s < SHORT_CYCLE_S {
                b.short_cycles += 1;
            }
            m.lit = lit;
        }
        if let (Some(t), Some((now, flux))) = (&mut s.tank, &state.tank) {
            t.lowest_c = t.lowest_c.min(now.water_c);
            t.highest_c = t.highest_c.max(now.water_c);
            t.mean_c += now.water_c;
            if flux.draw_w > 0.0 && model.plant.tank.as_ref().is_some_and(|p| now.water_c < p.draw.use_c) {
                t.tap_short_h += dt_s;
            }
            if now.calls {
                t.call_h += dt_s;
                t.calls += u32::from(!self.tank_call);
            }
            self.tank_call = now.calls;
            t.heat_kwh += dt_s * flux.coil_w;
        }
    }

    pub(crate) fn end(mut self, model: &Model, sums: &Sums) -> Summary {
        const H: f64 = 3600.0;
        const KWH: f64 = 3.6e6;
        let last = self.steps;
        for spans in [
            &mut self.cold,
            &mut self.cold_flowing,
            &mut self.cold_held,
            &mut self.calls,
            &mut self.flowing,
            &mut self.fans,
            &mut self.pumps,
        ] {
            spans.change(last, 0);
        }
        let dt_h = self.dt_s / H;
        let hours = |spans: &Spans, bit: usize| spans.steps[bit] as f64 * dt_h;
        let s = &mut self.s;
        let steps = self.steps.max(1) as f64;
        // With nothing counted, extremes would stand at infinity.
        let finite = |v: &mut f64| {
            if !v.is_finite() {
                *v = 0.0;
            }
        };
        s.duration_h = self.steps as f64 * self.dt_s / H;
        s.outdoor_mean_c /= steps;
        finite(&mut s.outdoor_min_c);
        for (i, z) in s.zones.iter_mut().enumerate() {
            let (b, l) = place(i);
            let (m, flowing) = (&self.zones[b], self.flowing.steps[i]);
            z.mean_c = m.sum_c[l] / steps;
            z.supply_mean_c = if flowing > 0 { m.supply_sum_c[l] / flowing as f64 } else { 0.0 };
            (z.lowest_c, z.highest_c) = (m.lowest_c[l], m.highest_c[l]);
            z.cold_h = hours(&self.cold, i);
            z.cold_flowing_h = hours(&self.cold_flowing, i);
            z.cold_held_h = hours(&self.cold_held, i);
            (z.call_h, z.calls) = (hours(&self.calls, i), self.calls.starts[i]);
            z.flow_h = hours(&self.flowing, i);
            z.heat_kwh = sums.emitter_j(i, self.dt_s) / KWH;
            finite(&mut z.lowest_c);
            finite(&mut z.highest_c);
            s.electric_kwh += hours(&self.fans, i) * model.plant.zones[i].fan.map_or(0.0, |f| f.power_w) / 1000.0;
        }
        for p in &mut s.pumps {
            let i = p.pump.index();
            (p.hours_h, p.starts) = (hours(&self.pumps, i), self.pumps.starts[i]);
            p.energy_kwh = p.hours_h * model.plant.pumps[i].power_w / 1000.0;
            s.electric_kwh += p.energy_kwh;
        }
        for (b, m) in s.boilers.iter_mut().zip(&self.boilers) {
            if b.fuel_kwh > 0.0 {
                b.return_mean_c = m.fuel_return / b.fuel_kwh;
                b.rate_mean /= b.hours_h;
                b.efficiency = (b.water_kwh - b.jacket_kwh) / b.fuel_kwh;
            }
            for v in [&mut b.hours_h, &mut b.condensing_h, &mut b.return_cold_h] {
                *v /= H;
            }
            for v in [&mut b.fuel_kwh, &mut b.water_kwh, &mut b.jacket_kwh] {
                *v /= KWH;
            }
            finite(&mut b.water_max_c);
            s.fuel_kwh += b.fuel_kwh;
        }
        if let Some(t) = &mut s.tank {
            t.mean_c /= steps;
            t.call_h /= H;
            t.tap_short_h /= H;
            t.heat_kwh /= KWH;
            finite(&mut t.lowest_c);
            finite(&mut t.highest_c);
        }
        self.s
    }
}
