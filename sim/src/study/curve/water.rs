//! The water of the whole plant at one steady state: what comes back, what the boilers must give, what they burn.
//!
//! A zone loses heat and gains some from people, light and machines; what is left, `Q`, its emitter must give, and a zone with
//! nothing left does not call. Gains are taken at their mean over the week. A zone whose emitter gives `Q_full` at the supply
//! temperature and needs `Q` runs the share `d = min(1, Q/Q_full)` of the time.
//! Over that time the zones draw `F_s = sum d C` (W/K) and send back `t_R = sum(d C t_r) / F_s`. The boilers that run move `F_p`:
//!
//! * `t_B = max(t_S, t_R + Q/F_p)` boiler outlet: where the zones draw more than the boilers move, return mixes into the supply;
//! * `t_E = t_B - Q/F_p` boiler inlet.
//!
//! Both follow from the mass and heat balance of a perfectly mixed header. As many boilers run, in the order of the file, as are
//! needed at 85 % efficiency; they share the rate, and below the smallest rate they are taken at it. Boilers without a pump of
//! their own move what the zones draw.
//!
//! A picture of averages: calls that happen to coincide draw more than `F_s` for a while. Left out: pipe and jacket losses,
//! hot-water draw, losses of starting, boilers running side by side at low fire for efficiency.

use super::need::{emitter_supply_c, flow_w_k};
use crate::{
    boiler::efficiency::EfficiencyTable,
    plant::{Gains, Plant},
};
use heatwright_core::{CivilMinute, Level, config::BoilerPump};

/// Minutes of a week.
const WEEK_MIN: u32 = 7 * 1_440;

/// Efficiency at which the number of running boilers is judged.
const EFFICIENCY_FOR_COUNT: f64 = 0.85;

/// The plant's water at one steady state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// Heat that the zones that call need, in watts: losses less gains.
    pub load_w: f64,
    /// Heat that they get, in watts.
    pub heat_w: f64,
    /// Mean temperature that comes back from the zones, in degrees Celsius.
    pub return_c: f64,
    /// What the boilers must give, in degrees Celsius.
    pub boiler_outlet_c: f64,
    /// What comes back to the boilers, in degrees Celsius.
    pub boiler_return_c: f64,
    /// Boilers that run.
    pub boilers: usize,
    /// Their firing rate as a share of full input, 0 to 1.
    pub rate: f64,
    /// Fuel by higher heating value, in watts.
    pub fuel_w: f64,
    /// True where flue gas condenses in at least one of them.
    pub condensing: bool,
    /// Condensate, in kilograms an hour.
    pub condensate_kg_h: f64,
}

/// The plant with its boilers' efficiency tabulated.
pub(in crate::study) struct Waters<'a> {
    plant: &'a Plant,
    tables: Vec<EfficiencyTable>,
    /// Gains of each zone, their mean over the week, in watts.
    gains_w: Vec<f64>,
}

impl<'a> Waters<'a> {
    pub(in crate::study) fn new(plant: &'a Plant) -> Self {
        let altitude_m = plant.site.altitude_m;
        let table = |b: &crate::plant::Boiler| EfficiencyTable::new(&b.efficiency, b.minimum_share, altitude_m);
        let gains_w = plant.zones.iter().map(|z| mean_gains_w(plant, &z.gains)).collect();
        Self { plant, tables: plant.boilers.iter().map(table).collect(), gains_w }
    }

    /// Heat that a zone's emitter must give at an outdoor temperature in degrees Celsius, in watts.
    fn zone_load_w(&self, zone: usize, outdoor_c: f64) -> f64 {
        let z = &self.plant.zones[zone];
        (z.loss_w_k() * (z.thermostat.set_c - outdoor_c) - self.gains_w[zone]).max(0.0)
    }

    /// The same of all zones.
    pub(super) fn load_w(&self, outdoor_c: f64) -> f64 {
        (0..self.plant.zones.len()).map(|k| self.zone_load_w(k, outdoor_c)).sum()
    }

    /// Heat in watts and return in degrees Celsius of a zone that runs all the time on this header supply.
    pub(super) fn full(&self, zone: usize, header_c: f64) -> crate::emitter::AtFlow {
        let z = &self.plant.zones[zone];
        z.emitter.at_flow(emitter_supply_c(z, header_c), flow_w_k(self.plant, z.flow_kg_s), z.thermostat.set_c)
    }

    /// Heat at full fire of the first boiler, the first two and so on, with this return in degrees Celsius, in watts.
    pub(super) fn outputs_w(&self, return_c: f64) -> Vec<f64> {
        let each = self.plant.boilers.iter().zip(&self.tables).map(|(b, t)| b.input_w * t.at(return_c, 1.0).0);
        each.scan(0.0, |sum, w| {
            *sum += w;
            Some(*sum)
        })
        .collect()
    }

    /// The state at an outdoor temperature and a header supply, both in degrees Celsius; `None` where no zone takes heat.
    pub(in crate::study) fn at(&self, outdoor_c: f64, header_c: f64) -> Option<Water> {
        let (mut heat_w, mut flow, mut flow_return) = (0.0, 0.0, 0.0);
        for k in 0..self.plant.zones.len() {
            let load_w = self.zone_load_w(k, outdoor_c);
            let full = self.full(k, header_c);
            if load_w <= 0.0 || full.heat_w <= 0.0 {
                continue;
            }
            let given_w = load_w.min(full.heat_w);
            // A mixed zone draws from the header only what its own return does not supply: given / (header - return).
            let drawn = given_w / (header_c - full.return_c);
            heat_w += given_w;
            flow += drawn;
            flow_return += drawn * full.return_c;
        }
        if heat_w <= 0.0 {
            return None;
        }
        let return_c = flow_return / flow;
        let boilers = &self.plant.boilers;
        let mut running = 0;
        let mut input_w = 0.0;
        while running < boilers.len() && input_w * EFFICIENCY_FOR_COUNT < heat_w {
            input_w += boilers[running].input_w;
            running += 1;
        }
        let moved: f64 = boilers[..running]
            .iter()
            .map(|b| match b.pump {
                BoilerPump::None => flow * b.input_w / input_w,
                BoilerPump::Controller(_) | BoilerPump::Boiler(_) | BoilerPump::Either(_) => {
                    flow_w_k(self.plant, b.flow_kg_s)
                }
            })
            .sum();
        let outlet_c = header_c.max(return_c + heat_w / moved);
        let inlet_c = outlet_c - heat_w / moved;
        // The rate follows from the fuel, the fuel from the efficiency, the efficiency from the rate: a few rounds settle it.
        let (mut rate, mut share) = (heat_w / (input_w * EFFICIENCY_FOR_COUNT), (EFFICIENCY_FOR_COUNT, 0.0));
        for _ in 0..8 {
            share = self.shared(running, input_w, inlet_c, rate);
            rate = (heat_w / (input_w * share.0)).min(1.0);
        }
        let (efficiency, condensate) = share;
        Some(Water {
            load_w: self.load_w(outdoor_c),
            heat_w: heat_w.min(input_w * efficiency),
            return_c,
            boiler_outlet_c: outlet_c,
            boiler_return_c: inlet_c,
            boilers: running,
            rate,
            fuel_w: rate * input_w,
            condensing: condensate > 0.0,
            condensate_kg_h: rate * input_w * condensate * 3600.0,
        })
    }

    /// Efficiency and condensate of the first `running` boilers at a common rate, weighted by their input.
    fn shared(&self, running: usize, input_w: f64, inlet_c: f64, rate: f64) -> (f64, f64) {
        let each = self.plant.boilers.iter().zip(&self.tables).take(running);
        each.fold((0.0, 0.0), |sum, (b, t)| {
            let (efficiency, condensate) = t.at(inlet_c, rate.max(b.minimum_share));
            let weight = b.input_w / input_w;
            (sum.0 + weight * efficiency, sum.1 + weight * condensate)
        })
    }
}

/// Gains of a zone in watts, their mean over a week of its schedule.
fn mean_gains_w(plant: &Plant, g: &Gains) -> f64 {
    let Some(schedule) = g.schedule.and_then(|s| plant.schedules.get(s.index())) else { return g.occupied_w };
    let occupied = |m: &u32| schedule.level(Some(CivilMinute::new(*m))) == Level::Occupied;
    let share = (0..WEEK_MIN).filter(occupied).count() as f64 / f64::from(WEEK_MIN);
    g.setback_w + share * (g.occupied_w - g.setback_w)
}
