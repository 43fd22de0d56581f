//! Puts a summary together: what changes seldom is seen when it may have changed, the rest is in the [`Tally`].

use super::{
    summary::{BoilerSummary, PumpSummary, SHORT_CYCLE_S, SafetyOpened, Summary, TankSummary, ZoneSummary},
    tally::{Spans, Tally},
};
use crate::{
    plant::Trip,
    state::{Model, State},
    zone::lanes::place,
};
use heatwright_core::{BoilerId, PumpId, SafetyId, ZoneId};

/// Times of the last starts: the most that fall into one hour.
const RING: usize = 64;

#[derive(Clone, Copy, Debug)]
struct BoilerMeter {
    lit: bool,
    lit_since_s: f64,
    starts_s: [f64; RING],
    at: usize,
}

/// Boilers that burn, one bit each.
fn flames(state: &State) -> u64 {
    state.boilers.iter().enumerate().fold(0, |bits, (i, b)| bits | u64::from(b.state.burner.lit()) << i)
}

/// Collects a summary.
#[derive(Clone, Debug)]
pub(crate) struct Meter {
    s: Summary,
    dt_s: f64,
    calls: Spans,
    flowing: Spans,
    fans: Spans,
    pumps: Spans,
    flames: Spans,
    tank_call: Spans,
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
            limit_stops: 0,
            rate_mean: 0.0,
            fuel_kwh: 0.0,
            water_kwh: 0.0,
            jacket_kwh: 0.0,
            efficiency: 0.0,
            return_mean_c: 0.0,
            return_min_c: None,
            return_cold_h: 0.0,
            valve_mean: 1.0,
            valve_shut_h: 0.0,
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
        let meter = BoilerMeter { lit: false, lit_since_s: 0.0, starts_s: [f64::NEG_INFINITY; RING], at: 0 };
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
            calls: Spans::new(),
            flowing: Spans::new(),
            fans: Spans::new(),
            pumps: Spans::new(),
            flames: Spans::new(),
            tank_call: Spans::new(),
            safeties: u64::MAX,
            boilers: vec![meter; plant.boilers.len()],
        }
    }

    /// What already runs when counting begins is not a start.
    pub(crate) fn begin(&mut self, state: &State) {
        self.calls.begin(state.field.calls);
        self.flowing.begin(state.zones.flowing);
        self.fans.begin(state.zones.fans);
        self.pumps.begin(state.pumps);
        self.flames.begin(flames(state));
        self.tank_call.begin(u64::from(state.field.tank_call));
        self.safeties = state.field.safeties;
        for o in &mut self.s.opened {
            o.times = u32::from(state.field.safeties & o.safety.bit() == 0);
        }
        for (m, b) in self.boilers.iter_mut().zip(&state.boilers) {
            m.lit = b.state.burner.lit();
        }
    }

    /// The step with this number, from 0, in which something may have changed; it ended at this time.
    pub(crate) fn see(&mut self, state: &State, now: u64, at_s: f64) {
        self.calls.see(now, state.field.calls);
        self.flowing.see(now, state.zones.flowing);
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
            let m = &mut self.boilers[i];
            let now = &state.boilers[i].state;
            let lit = now.burner.lit();
            b.limit_stops += u32::from(m.lit && !lit && !now.limit_made);
            if lit && !m.lit {
                b.starts += 1;
                m.lit_since_s = at_s;
                m.starts_s[m.at] = at_s;
                m.at = (m.at + 1) % RING;
                let recent = m.starts_s.iter().filter(|t| **t > at_s - 3600.0).count();
                b.starts_per_h_max = b.starts_per_h_max.max(recent as u32);
            } else if !lit && m.lit && b.starts > 0 && at_s - m.lit_since_s < SHORT_CYCLE_S {
                b.short_cycles += 1;
            }
            m.lit = lit;
        }
        self.flames.see(now, flames(state));
        self.tank_call.see(now, u64::from(state.field.tank_call));
    }

    /// Times that own limits have put flames out so far.
    pub(crate) fn limit_stops(&self) -> u32 {
        self.s.boilers.iter().map(|b| b.limit_stops).sum()
    }

    pub(crate) fn end(mut self, model: &Model, tally: &mut Tally) -> Summary {
        const H: f64 = 3600.0;
        const KWH: f64 = 3.6e6;
        let last = tally.steps;
        for spans in [
            &mut self.calls,
            &mut self.flowing,
            &mut self.fans,
            &mut self.pumps,
            &mut self.flames,
            &mut self.tank_call,
            &mut tally.cold,
            &mut tally.cold_flowing,
            &mut tally.cold_held,
        ] {
            spans.end(last);
        }
        let dt_s = self.dt_s;
        let (dt_h, dt_kwh) = (dt_s / H, dt_s / KWH);
        let hours = |spans: &Spans, bit: usize| spans.steps[bit] as f64 * dt_h;
        let s = &mut self.s;
        let steps = last.max(1) as f64;
        // With nothing counted, extremes would stand at infinity.
        let finite = |v: f64| if v.is_finite() { v } else { 0.0 };
        s.duration_h = last as f64 * dt_h;
        s.outdoor_mean_c = tally.outdoor_c / steps;
        s.outdoor_min_c = finite(tally.outdoor_min_c);
        for (i, z) in s.zones.iter_mut().enumerate() {
            let (b, l) = place(i);
            let (t, flowing) = (&tally.zones[b], self.flowing.steps[i]);
            z.mean_c = t.air_c[l] / steps;
            z.supply_mean_c = if flowing > 0 { t.supply_c[l] / flowing as f64 } else { 0.0 };
            (z.lowest_c, z.highest_c) = (finite(t.lowest_c[l]), finite(t.highest_c[l]));
            z.cold_h = hours(&tally.cold, i);
            z.cold_flowing_h = hours(&tally.cold_flowing, i);
            z.cold_held_h = hours(&tally.cold_held, i);
            (z.call_h, z.calls) = (hours(&self.calls, i), self.calls.starts[i]);
            z.flow_h = hours(&self.flowing, i);
            z.heat_kwh = t.heat_w[l] * dt_kwh;
            s.electric_kwh += hours(&self.fans, i) * model.plant.zones[i].fan.map_or(0.0, |f| f.power_w) / 1000.0;
        }
        for p in &mut s.pumps {
            let i = p.pump.index();
            (p.hours_h, p.starts) = (hours(&self.pumps, i), self.pumps.starts[i]);
            p.energy_kwh = p.hours_h * model.plant.pumps[i].power_w / 1000.0;
            s.electric_kwh += p.energy_kwh;
        }
        for (i, b) in s.boilers.iter_mut().enumerate() {
            let (t, lit, plant) = (&tally.boilers[i], self.flames.steps[i], &model.plant.boilers[i]);
            b.hours_h = lit as f64 * dt_h;
            b.fuel_kwh = t.rate * plant.input_w * dt_kwh;
            b.water_kwh = t.water_w * dt_kwh;
            b.jacket_kwh = tally.jacket_w(model, i) * dt_kwh;
            b.return_cold_h = t.return_cold_steps as f64 * dt_h;
            b.valve_shut_h = t.shut_steps as f64 * dt_h;
            b.condensing_h = t.condensing_steps as f64 * dt_h;
            b.condensate_kg = t.condensate_kg_s * dt_s;
            b.water_max_c = finite(t.water_max_c);
            if lit > 0 {
                b.return_mean_c = t.rate_return_c / t.rate;
                b.return_min_c = Some(t.return_min_c);
                b.rate_mean = t.rate / lit as f64;
                b.valve_mean = t.opening / lit as f64;
                b.efficiency = (b.water_kwh - b.jacket_kwh) / b.fuel_kwh;
            }
            s.fuel_kwh += b.fuel_kwh;
        }
        if let Some(sum) = &mut s.tank {
            let t = &tally.tank;
            (sum.lowest_c, sum.highest_c) = (finite(t.lowest_c), finite(t.highest_c));
            sum.mean_c = t.water_c / steps;
            sum.tap_short_h = t.short_steps as f64 * dt_h;
            (sum.calls, sum.call_h) = (self.tank_call.starts[0], hours(&self.tank_call, 0));
            sum.heat_kwh = t.coil_w * dt_kwh;
        }
        self.s
    }
}
