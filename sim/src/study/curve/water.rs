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
//! Both follow from the mass and heat balance of a perfectly mixed header. Which boilers run, what their return valves lead round
//! and what they cannot give stands in [`boilers`](super::boilers). Where they cannot give this heat or this water, the zones get
//! the hottest supply that they can.
//!
//! A zone whose water circulates all season takes what its emitter gives while anybody calls ([`circulating`]),
//! and its room gets warmer than it is set to.
//!
//! A picture of averages: calls that happen to coincide draw more than `F_s` for a while. Left out: pipe and jacket losses,
//! hot-water draw, losses of starting, boilers running side by side at low fire for efficiency.

use super::{
    boilers::{Boilers, HeldBack, Reach, Want},
    circulating::{self, Balance},
    need::{emitter_supply_c, flow_w_k, given_c},
};
use crate::plant::{Gains, Plant};
use heatwright_core::{CivilMinute, Level, config::ResetConfig};

/// Minutes of a week.
const WEEK_MIN: u32 = 7 * 1_440;
/// Halvings by which the hottest supply that can be made is found: a hundred kelvin to a hundred thousandth.
const HALVINGS: u32 = 23;

/// The plant's water at one steady state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// Heat that the zones that call need, in watts: losses less gains, and what circulating water gives beyond that.
    pub load_w: f64,
    /// Heat that they get, in watts.
    pub heat_w: f64,
    /// Header supply that they get, in degrees Celsius: below what was asked for where the boilers cannot make that.
    pub supply_c: f64,
    /// Mean temperature that comes back from the zones, in degrees Celsius.
    pub return_c: f64,
    /// What the boilers give to the header, in degrees Celsius.
    pub boiler_outlet_c: f64,
    /// What they would have to give for the supply that was asked for, nothing led round, in degrees Celsius.
    pub asked_outlet_c: f64,
    /// What comes back to the boilers, in degrees Celsius.
    pub boiler_return_c: f64,
    /// The coldest water that enters one that runs, behind its return valve, in degrees Celsius.
    pub entering_c: f64,
    /// The coldest that enters one which must not have it, and the highest such limit, in degrees Celsius.
    pub cold_c: Option<(f64, f64)>,
    /// Boilers that run.
    pub boilers: usize,
    /// Their firing rate as a share of full input, 0 to 1.
    pub rate: f64,
    /// Fuel by higher heating value, in watts.
    pub fuel_w: f64,
    /// True where flue gas condenses in at least one of them.
    pub condensing: bool,
    /// True where a boiler that must not condense gets colder water than it may.
    pub too_cold: bool,
    /// Condensate, in kilograms an hour.
    pub condensate_kg_h: f64,
    /// Where heat is missing: the boiler whose return valve keeps most from the header.
    pub held_back: Option<HeldBack>,
}

/// The plant with its boilers' efficiency tabulated.
pub(in crate::study) struct Waters<'a> {
    plant: &'a Plant,
    boilers: Boilers<'a>,
    /// Gains of each zone, their mean over the week, in watts.
    gains_w: Vec<f64>,
    /// The curve that mixing valves follow; `None`: as in the coldest weather.
    reset: Option<ResetConfig>,
    /// Zones whose water circulates all season, but those whose fan follows the thermostat.
    circulates: Vec<bool>,
}

/// What one zone takes of a header supply, on average.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Take {
    /// Heat, in watts.
    pub(super) heat_w: f64,
    /// What of it is beyond its need, in watts.
    pub(super) over_w: f64,
    /// What it sends back while it takes heat, in degrees Celsius.
    pub(super) return_c: f64,
    /// What its room is kept at, or is to be kept at, in degrees Celsius.
    pub(super) room_c: f64,
}

impl<'a> Waters<'a> {
    pub(in crate::study) fn new(plant: &'a Plant, reach: Reach) -> Self {
        let gains_w = plant.zones.iter().map(|z| mean_gains_w(plant, &z.gains)).collect();
        let circulates = plant
            .zones
            .iter()
            .enumerate()
            .map(|(k, z)| z.fan.is_none_or(|f| f.aquastat_c.is_some()) && reach.circulates(k))
            .collect();
        Self { plant, boilers: Boilers::new(plant, reach), gains_w, reset: None, circulates }
    }

    /// The same with mixing valves that follow this curve.
    pub(super) fn following(plant: &'a Plant, reach: Reach, reset: &ResetConfig) -> Self {
        Self { reset: Some(reset.clone()), ..Self::new(plant, reach) }
    }

    /// The hottest water that a zone's emitter can be given from a header supply at an outdoor temperature, in degrees Celsius.
    pub(super) fn given_c(&self, zone: usize, outdoor_c: f64, header_c: f64) -> f64 {
        let z = &self.plant.zones[zone];
        self.reset.as_ref().map_or_else(|| emitter_supply_c(z, header_c), |r| given_c(z, r, outdoor_c, header_c))
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

    /// The water of this zone circulates all season.
    pub(super) fn circulates(&self, zone: usize) -> bool {
        self.circulates.get(zone).copied().unwrap_or(false)
    }

    /// Share of the time in which somebody asks for heat, on this header supply at this outdoor temperature in degrees Celsius.
    fn heated(&self, outdoor_c: f64, header_c: f64) -> f64 {
        let (mut circulating, mut none_calls) = (0.0_f64, 1.0);
        for k in 0..self.plant.zones.len() {
            let (load_w, full_w) = (self.zone_load_w(k, outdoor_c), self.full(k, outdoor_c, header_c).heat_w);
            let share = if load_w <= 0.0 || full_w <= 0.0 { 0.0 } else { (load_w / full_w).min(1.0) };
            if self.circulates(k) {
                circulating = circulating.max(share);
            } else {
                none_calls *= 1.0 - share;
            }
        }
        circulating.max(1.0 - none_calls)
    }

    /// What a zone takes of this header supply at this outdoor temperature, both in degrees Celsius.
    pub(super) fn take(&self, zone: usize, outdoor_c: f64, header_c: f64) -> Take {
        let heated = if self.circulates(zone) { self.heated(outdoor_c, header_c) } else { 0.0 };
        self.take_of(zone, outdoor_c, header_c, heated)
    }

    /// The same with the share of the time in which the water is heated.
    fn take_of(&self, zone: usize, outdoor_c: f64, header_c: f64, heated: f64) -> Take {
        let z = &self.plant.zones[zone];
        let (load_w, room_c) = (self.zone_load_w(zone, outdoor_c), z.thermostat.set_c);
        let given_c = self.given_c(zone, outdoor_c, header_c);
        let flow_w_k = flow_w_k(self.plant, z.flow_kg_s);
        let fan_stands = z.fan.and_then(|f| f.aquastat_c).is_some_and(|aquastat_c| given_c < aquastat_c);
        if self.circulates(zone)
            && !fan_stands
            && let Some(Balance { room_c, heat_w, return_c }) = circulating::balance(
                (z.loss_w_k(), self.gains_w[zone]),
                (outdoor_c, room_c, given_c),
                heated,
                |room_c| z.emitter.at_flow(given_c, flow_w_k, room_c),
            )
        {
            return Take { heat_w, over_w: (heat_w - load_w).max(0.0), return_c, room_c };
        }
        let full = self.full(zone, outdoor_c, header_c);
        Take { heat_w: load_w.min(full.heat_w), over_w: 0.0, return_c: full.return_c, room_c }
    }

    /// Heat that circulating water gives all zones beyond their need, in watts.
    pub(super) fn over_w(&self, outdoor_c: f64, header_c: f64) -> f64 {
        (0..self.plant.zones.len())
            .filter(|k| self.circulates(*k))
            .map(|k| self.take(k, outdoor_c, header_c).over_w)
            .sum()
    }

    /// Heat in watts and return in degrees Celsius of a zone that runs all the time on this header supply, at this outdoor temperature,
    /// both in degrees Celsius.
    pub(super) fn full(&self, zone: usize, outdoor_c: f64, header_c: f64) -> crate::emitter::AtFlow {
        let z = &self.plant.zones[zone];
        z.emitter.at_flow(
            self.given_c(zone, outdoor_c, header_c),
            flow_w_k(self.plant, z.flow_kg_s),
            z.thermostat.set_c,
        )
    }

    /// Heat at full fire of each boiler, with this return in degrees Celsius, in watts.
    pub(super) fn outputs_w(&self, return_c: f64) -> Vec<f64> {
        self.boilers.outputs_w(return_c)
    }

    /// The state at an outdoor temperature and a header supply that is asked for, both in degrees Celsius; `None` where no zone
    /// takes heat.
    pub(in crate::study) fn at(&self, outdoor_c: f64, asked_c: f64) -> Option<Water> {
        let want = self.want(outdoor_c, asked_c).filter(|_| !self.plant.boilers.is_empty())?;
        let first = self.boilers.give(&want, asked_c);
        let (mut made, mut given) = (want, first);
        if first.short {
            // Rooms take nothing of water that is no warmer than they are.
            let rooms_c = self.plant.zones.iter().map(|z| z.thermostat.set_c);
            let (mut low_c, mut high_c) = (rooms_c.fold(asked_c, f64::min), asked_c);
            (made.supply_c, made.heat_w, made.return_c) = (low_c, 0.0, low_c);
            given = self.boilers.give(&made, asked_c);
            for _ in 0..HALVINGS {
                let middle_c = 0.5 * (low_c + high_c);
                let tried = self.want(outdoor_c, middle_c).map(|w| (w, self.boilers.give(&w, asked_c)));
                match tried {
                    Some((_, g)) if g.short => high_c = middle_c,
                    Some((w, g)) => (low_c, made, given) = (middle_c, w, g),
                    None => low_c = middle_c,
                }
            }
        }
        Some(Water {
            load_w: self.load_w(outdoor_c) + self.over_w(outdoor_c, made.supply_c),
            heat_w: given.heat_w,
            supply_c: made.supply_c,
            return_c: made.return_c,
            boiler_outlet_c: given.outlet_c,
            asked_outlet_c: self.boilers.asked_outlet_c(&want),
            boiler_return_c: given.return_c,
            entering_c: given.entering_c,
            cold_c: given.cold_c,
            boilers: given.running,
            rate: given.rate,
            fuel_w: given.fuel_w,
            condensing: given.condensate_kg_s > 0.0,
            too_cold: given.cold_c.is_some(),
            condensate_kg_h: given.condensate_kg_s * 3600.0,
            held_back: first.held_back,
        })
    }

    /// What the zones want of a header supply, at an outdoor temperature, both in degrees Celsius; `None` where none takes heat.
    fn want(&self, outdoor_c: f64, header_c: f64) -> Option<Want> {
        let (mut heat_w, mut flow, mut flow_return) = (0.0, 0.0, 0.0);
        let heated = if self.circulates.contains(&true) { self.heated(outdoor_c, header_c) } else { 0.0 };
        for k in 0..self.plant.zones.len() {
            let took = self.take_of(k, outdoor_c, header_c, heated);
            if took.heat_w <= 0.0 {
                continue;
            }
            // A mixed zone draws from the header only what its own return does not supply: given / (header - return).
            let drawn = took.heat_w / (header_c - took.return_c);
            heat_w += took.heat_w;
            flow += drawn;
            flow_return += drawn * took.return_c;
        }
        let want = Want { heat_w, flow_w_k: flow, return_c: flow_return / flow, supply_c: header_c };
        (heat_w > 0.0).then_some(want)
    }
}

/// Gains of a zone in watts, their mean over a week of its schedule.
fn mean_gains_w(plant: &Plant, g: &Gains) -> f64 {
    let Some(schedule) = g.schedule.and_then(|s| plant.schedules.get(s.index())) else { return g.occupied_w };
    let occupied = |m: &u32| schedule.level(Some(CivilMinute::new(*m))) == Level::Occupied;
    let share = (0..WEEK_MIN).filter(occupied).count() as f64 / f64::from(WEEK_MIN);
    g.setback_w + share * (g.occupied_w - g.setback_w)
}
