//! Figures of a run: what each zone felt, what each pump and boiler did.
//!
//! Starts are counted from standing to running. Starts per hour are the most that fall into any sixty minutes. A burner
//! cycle is short when the flame burns less than five minutes (our choice). A boiler condenses while condensate forms; a
//! typed efficiency curve says nothing of condensate, so none is counted there.

use crate::{
    plant::Trip,
    state::{Model, State},
    wires::Powered,
};
use heatwright_core::{BoilerId, CivilMinute, PumpId, SafetyId, ZoneId};
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

/// Collects a summary step by step.
#[derive(Clone, Debug)]
pub(crate) struct Meter {
    s: Summary,
    dt_s: f64,
    steps: u64,
    calls: u64,
    tank_call: bool,
    pumps: u64,
    safeties: u64,
    boilers: Vec<BoilerMeter>,
    set_minute: Option<CivilMinute>,
    set_c: Vec<f64>,
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
            calls: 0,
            tank_call: false,
            pumps: 0,
            safeties: u64::MAX,
            boilers: plant.boilers.iter().map(meter).collect(),
            set_minute: None,
            set_c: vec![0.0; plant.zones.len()],
        }
    }

    /// What already runs when counting begins is not a start.
    pub(crate) fn begin(&mut self, state: &State) {
        self.calls = state.field.calls;
        self.tank_call = state.field.tank_call;
        self.pumps = state.pumps;
        self.safeties = state.field.safeties;
        for o in &mut self.s.opened {
            o.times = u32::from(state.field.safeties & o.safety.bit() == 0);
        }
        for (m, b) in self.boilers.iter_mut().zip(&state.boilers) {
            m.lit = b.state.burner.lit();
        }
    }

    pub(crate) fn add(&mut self, model: &Model, state: &State, powered: &Powered, civil: CivilMinute, at_s: f64) {
        let dt_s = self.dt_s;
        let s = &mut self.s;
        self.steps += 1;
        s.outdoor_mean_c += state.outdoor_c;
        s.outdoor_min_c = s.outdoor_min_c.min(state.outdoor_c);
        if self.set_minute != Some(civil) {
            self.set_minute = Some(civil);
            for (i, slot) in self.set_c.iter_mut().enumerate() {
                *slot = model.zone_set_c(i, civil);
            }
        }
        let calls = state.field.calls;
        for (i, z) in s.zones.iter_mut().enumerate() {
            let now = &state.zones[i];
            let (bit, air_c) = (z.zone.bit(), now.nodes.air_c);
            z.lowest_c = z.lowest_c.min(air_c);
            z.highest_c = z.highest_c.max(air_c);
            z.mean_c += air_c;
            if air_c < self.set_c[i] - COLD_BELOW_K {
                z.cold_h += dt_s;
                if now.flux.flow_kg_s > 0.0 {
                    z.cold_flowing_h += dt_s;
                } else if calls & bit != 0 {
                    z.cold_held_h += dt_s;
                }
            }
            if calls & bit != 0 {
                z.call_h += dt_s;
                z.calls += u32::from(self.calls & bit == 0);
            }
            if now.flux.flow_kg_s > 0.0 {
                z.flow_h += dt_s;
                z.supply_mean_c += dt_s * now.flux.supply_c;
            }
            z.heat_kwh += dt_s * now.flux.heat_w;
            if now.fan {
                s.electric_kwh += dt_s * model.plant.zones[i].fan.map_or(0.0, |f| f.power_w);
            }
        }
        self.calls = calls;
        for p in &mut s.pumps {
            let bit = p.pump.bit();
            if powered.pumps & bit != 0 {
                p.hours_h += dt_s;
                p.starts += u32::from(self.pumps & bit == 0);
            }
        }
        self.pumps = powered.pumps;
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

    pub(crate) fn end(mut self, model: &Model) -> Summary {
        const H: f64 = 3600.0;
        const KWH: f64 = 3.6e6;
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
        for z in &mut s.zones {
            z.mean_c /= steps;
            z.supply_mean_c = if z.flow_h > 0.0 { z.supply_mean_c / z.flow_h } else { 0.0 };
            for v in [&mut z.cold_h, &mut z.cold_held_h, &mut z.cold_flowing_h, &mut z.call_h, &mut z.flow_h] {
                *v /= H;
            }
            z.heat_kwh /= KWH;
            finite(&mut z.lowest_c);
            finite(&mut z.highest_c);
        }
        s.electric_kwh /= KWH;
        for p in &mut s.pumps {
            p.hours_h /= H;
            p.energy_kwh = p.hours_h * model.plant.pumps[p.pump.index()].power_w / 1000.0;
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
