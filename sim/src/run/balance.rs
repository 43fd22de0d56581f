//! Does the heat of a run add up, and does the step matter?
//!
//! * Water: heat from the flames less jackets, against heat given off by emitters, drawn and lost by the tank, lost by
//!   pipes, and stored in all water, metal and slabs. The two sides are summed from different nodes.
//! * Rooms: heat from emitters and gains, against losses outdoors and heat stored in air and mass.
//! * Half step: the same run at half the step; the larger of the differences in fuel and in heat to the rooms. Two runs of a
//!   short or mild time may differ by one call of a thermostat that fell just before the end of one and just after it in the
//!   other. That is no error of the step: a difference of less heat than one call of the zone that takes most is let pass.
//!   Switching is sensitive besides: two paths that part by seconds end with a burner on in one and off in the other, and with other
//!   rooms warm. The heat is then not lost, it is stored elsewhere in time. So what was *used up* is compared too: heat to the rooms
//!   less what air and mass store, which by the balance of the rooms is their loss outdoors less gains, with what the taps drew and
//!   tank and pipes lost; and fuel less what water and rooms store, by the run's own efficiency. In summer the taps are most of it. A step that is too coarse shows there as another room temperature or another
//!   efficiency; a call that came earlier does not.
//!   A plant that froze burns almost nothing, and a percent of that is nothing to go by: there a difference is weighed against what its
//!   rooms would have lost at their settings in the same weather, less gains. Less than [`SOUND_PERCENT`] of that moves no room by more
//!   than that part of its distance to the weather: 0.25 K of 50. A plant that heats takes about as much as it needs, and in summer that is
//!   nothing: for those it lets nothing pass that the percentages do not.
//!
//! All in percent of the heat that came in. A run is sound below [`SOUND_PERCENT`] in each (our choice).

use super::tally::{Tally, ZoneTally};
use crate::{
    state::{Model, State},
    zone::lanes::{Lane, place},
};
use serde::{Deserialize, Serialize};

/// A run is sound while each figure stays below this, in percent.
pub const SOUND_PERCENT: f64 = 0.5;

/// Heat of a run, in kilowatt-hours, and how well it adds up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Balance {
    /// Fuel, by higher heating value.
    pub fuel_kwh: f64,
    /// From the flames into the boilers' water.
    pub flame_kwh: f64,
    /// Lost by jackets.
    pub jacket_kwh: f64,
    /// Given off by emitters into rooms.
    pub emitters_kwh: f64,
    /// Drawn at the taps, above cold water.
    pub draw_kwh: f64,
    /// Lost by the tank.
    pub tank_loss_kwh: f64,
    /// Lost by the pipes.
    pub pipes_kwh: f64,
    /// Stored in water, metal and slabs between start and end.
    pub stored_kwh: f64,
    /// Gains of the rooms.
    pub gains_kwh: f64,
    /// Lost outdoors.
    pub outdoors_kwh: f64,
    /// Stored in air and mass of the rooms between start and end.
    pub rooms_stored_kwh: f64,
    /// What is missing on the water side, in percent.
    pub water_percent: f64,
    /// What is missing in the rooms, in percent.
    pub rooms_percent: f64,
    /// Heat of one call of the zone that takes most, in kilowatt-hours: design loss over the time that its thermostat calls at
    /// half load, or over twenty minutes where it has no cycle rate.
    pub call_kwh: f64,
    /// What the rooms would have lost at their settings in this weather, less gains; none below zero, in kilowatt-hours.
    #[serde(skip)]
    pub need_kwh: f64,
    /// Against half the step, if that was run.
    pub half_step: Option<HalfStep>,
}

/// A run against the same at half the step, in percent of the latter.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct HalfStep {
    /// Difference in fuel.
    pub fuel_percent: f64,
    /// Difference in heat to the rooms.
    pub emitters_percent: f64,
    /// Difference in fuel, in kilowatt-hours.
    pub fuel_kwh: f64,
    /// Difference in heat to the rooms, in kilowatt-hours.
    pub emitters_kwh: f64,
    /// Difference in what water, metal and slabs store between start and end, in kilowatt-hours.
    pub stored_kwh: f64,
    /// Difference in what air and mass of the rooms store, in kilowatt-hours.
    pub rooms_stored_kwh: f64,
    /// Difference in the fuel that was used up: less what it left in store, in kilowatt-hours.
    pub used_fuel_kwh: f64,
    /// Difference in the heat that rooms, taps, tank and pipes used up: less what it left in store, in kilowatt-hours.
    pub used_heat_kwh: f64,
    /// Difference in fuel used up, in percent of the fuel.
    pub used_fuel_percent: f64,
    /// Difference in heat used up, in percent of the heat to rooms, taps, tank loss and pipes.
    pub used_heat_percent: f64,
}

impl HalfStep {
    /// Compares two runs.
    pub fn between(full: &Balance, half: &Balance) -> Self {
        let percent = |a: f64, b: f64| if a == b { 0.0 } else { 100.0 * (a - b) / b.abs().max(f64::MIN_POSITIVE) };
        let stored_kwh = full.stored_kwh - half.stored_kwh;
        let rooms_stored_kwh = full.rooms_stored_kwh - half.rooms_stored_kwh;
        let used_fuel = |b: &Balance| b.fuel_kwh - (b.stored_kwh + b.rooms_stored_kwh) / b.efficiency();
        let used_fuel_kwh = used_fuel(full) - used_fuel(half);
        let used_heat_kwh = full.given_kwh() - half.given_kwh() - rooms_stored_kwh;
        Self {
            stored_kwh,
            rooms_stored_kwh,
            used_fuel_kwh,
            used_heat_kwh,
            used_fuel_percent: 100.0 * used_fuel_kwh / half.fuel_kwh.max(1e-3),
            used_heat_percent: 100.0 * used_heat_kwh / half.given_kwh().max(1e-3),
            fuel_percent: percent(full.fuel_kwh, half.fuel_kwh),
            emitters_percent: percent(full.emitters_kwh, half.emitters_kwh),
            fuel_kwh: full.fuel_kwh - half.fuel_kwh,
            emitters_kwh: full.emitters_kwh - half.emitters_kwh,
        }
    }

    /// The larger difference, in kilowatt-hours, without sign.
    pub fn worst_kwh(&self) -> f64 {
        self.fuel_kwh.abs().max(self.emitters_kwh.abs())
    }

    /// The larger difference in what was used up, in percent, without sign.
    pub fn used_percent(&self) -> f64 {
        // The larger of two would pass over one that is no number.
        let (fuel, heat) = (self.used_fuel_percent.abs(), self.used_heat_percent.abs());
        if fuel.is_nan() || heat.is_nan() { f64::NAN } else { fuel.max(heat) }
    }

    /// What was used up agrees, within [`SOUND_PERCENT`] or one call of the zone that takes most, in kilowatt-hours: on a day of little
    /// fuel one start of a burner more weighs more than a percent.
    pub fn used_agrees(&self, call_kwh: f64) -> bool {
        let one_call = self.used_fuel_kwh.abs() < call_kwh && self.used_heat_kwh.abs() < call_kwh;
        self.used_percent() < SOUND_PERCENT || one_call
    }

    /// The larger difference, in percent, without sign.
    pub fn worst_percent(&self) -> f64 {
        self.fuel_percent.abs().max(self.emitters_percent.abs())
    }
}

impl Balance {
    /// Heat that left the water: to the rooms, at the taps, lost by tank and pipes.
    fn given_kwh(&self) -> f64 {
        self.emitters_kwh + self.draw_kwh + self.tank_loss_kwh + self.pipes_kwh
    }

    /// Share of the fuel that the boilers leave in the water; 1 without fuel.
    fn efficiency(&self) -> f64 {
        let got = (self.flame_kwh - self.jacket_kwh) / self.fuel_kwh;
        if got.is_finite() && got > 0.0 { got } else { 1.0 }
    }

    /// A difference of less than this is no error of the step, whatever part of little fuel it is, in kilowatt-hours.
    pub fn little_kwh(&self) -> f64 {
        0.01 * SOUND_PERCENT * self.need_kwh
    }

    /// True while every figure that was computed is below [`SOUND_PERCENT`]; never true of a figure that is no number.
    pub fn sound(&self) -> bool {
        let step = self.half_step.is_none_or(|h| {
            h.worst_percent() < SOUND_PERCENT
                || h.worst_kwh() < self.call_kwh
                || h.used_agrees(self.call_kwh)
                || h.worst_kwh() < self.little_kwh()
        });
        step && [self.water_percent, self.rooms_percent].iter().all(|p| p.abs() < SOUND_PERCENT)
    }
}

const J_KWH: f64 = 3.6e6;

/// What was stored when counting began.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Stored {
    water_j: f64,
    rooms_j: f64,
}

impl Stored {
    pub(crate) fn of(model: &Model, s: &State) -> Self {
        Self { water_j: model.stored_j(s), rooms_j: model.rooms_j(s) }
    }
}

impl Tally {
    /// Jacket losses of a boiler, summed over the steps, in watts.
    pub(crate) fn jacket_w(&self, model: &Model, boiler: usize) -> f64 {
        let (t, b) = (&self.boilers[boiler], &model.plant.boilers[boiler]);
        b.jacket_w_k * (t.water_c - self.steps as f64 * model.plant.site.boiler_room_c)
    }

    /// Does the heat of these steps add up, between what was stored before them and the state after?
    pub(crate) fn balance(&self, model: &Model, was: &Stored, s: &State) -> Balance {
        let (plant, steps) = (&model.plant, self.steps as f64);
        let room_c = plant.site.boiler_room_c;
        let j = |w: f64| model.dt_s * w;
        let all = |row: fn(&ZoneTally) -> &Lane| j(self.zones.iter().flat_map(|z| row(z).0).sum::<f64>());
        let boilers = || self.boilers.iter().zip(&plant.boilers);
        let fuel = j(boilers().map(|(t, b)| t.rate * b.input_w).sum());
        let flame = j(boilers().map(|(t, _)| t.water_w).sum());
        let jacket = j((0..plant.boilers.len()).map(|i| self.jacket_w(model, i)).sum());
        let (emitters, gains) = (all(|t| &t.heat_w), all(|t| &t.gains_w));
        let outdoors = plant.zones.iter().enumerate().map(|(i, z)| {
            let (b, l) = place(i);
            z.loss_w_k() * (self.zones[b].air_c[l] - self.outdoor_c)
        });
        let outdoors = j(outdoors.sum());
        let need = plant.zones.iter().map(|z| z.loss_w_k() * (steps * z.thermostat.set_c - self.outdoor_c));
        let need = (j(need.sum()) - gains).max(0.0);
        let draw = j(self.tank.draw_w);
        let tank_loss = plant.tank.as_ref().map_or(0.0, |t| j(t.loss_w_k * (self.tank.water_c - steps * room_c)));
        let pipes = j(model.header.loss_w(self.pipes_c - 2.0 * steps * room_c));
        let stored = model.stored_j(s) - was.water_j;
        let rooms_stored = model.rooms_j(s) - was.rooms_j;
        let came = flame - jacket;
        let went = emitters + draw + tank_loss + pipes + stored;
        let rooms_came = emitters + gains;
        let rooms_went = outdoors + rooms_stored;
        // A run without fire is measured against what was stored.
        let percent = |a: f64, b: f64, scale: f64| 100.0 * (a - b) / scale.abs().max(J_KWH * 1e-3);
        let rooms_scale = rooms_came.abs().max(outdoors.abs());
        Balance {
            fuel_kwh: fuel / J_KWH,
            flame_kwh: flame / J_KWH,
            jacket_kwh: jacket / J_KWH,
            emitters_kwh: emitters / J_KWH,
            draw_kwh: draw / J_KWH,
            tank_loss_kwh: tank_loss / J_KWH,
            pipes_kwh: pipes / J_KWH,
            stored_kwh: stored / J_KWH,
            gains_kwh: gains / J_KWH,
            outdoors_kwh: outdoors / J_KWH,
            rooms_stored_kwh: rooms_stored / J_KWH,
            water_percent: percent(came, went, flame.abs().max(stored.abs())),
            rooms_percent: percent(rooms_came, rooms_went, rooms_scale),
            call_kwh: call_kwh(model),
            need_kwh: need / J_KWH,
            half_step: None,
        }
    }
}

fn call_kwh(model: &Model) -> f64 {
    let call_h = |per_h: f64| if per_h > 0.0 { 0.5 / per_h } else { 1.0 / 3.0 };
    let calls = model.plant.zones.iter().map(|z| z.loss_w / 1000.0 * call_h(z.thermostat.cycles_per_h));
    calls.fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_leak_of_one_percent_is_not_sound() {
        let mut b = Balance { fuel_kwh: 100.0, emitters_kwh: 90.0, ..Balance::default() };
        assert!(b.sound());
        b.water_percent = -1.0;
        assert!(!b.sound());
        b.water_percent = f64::NAN;
        assert!(!b.sound());
        b.water_percent = 0.0;
        let half = Balance { fuel_kwh: 101.0, ..b };
        b.half_step = Some(HalfStep::between(&b, &half));
        assert!(!b.sound(), "{b:?}");
        // One call more or less is no error of the step; a little more than one is.
        b.call_kwh = 1.1;
        assert!(b.sound(), "{b:?}");
        b.call_kwh = 0.9;
        assert!(!b.sound(), "{b:?}");
    }

    /// 12 of 380 kWh, where the rooms would have lost 21 000: they end as cold. A plant that heats is held to its fuel.
    #[test]
    fn a_plant_that_froze_is_weighed_against_what_it_needed() {
        let with = |fuel_kwh: f64, less_kwh: f64, need_kwh: f64| {
            let of = |kwh: f64| Balance {
                fuel_kwh: kwh,
                flame_kwh: 0.8 * kwh,
                emitters_kwh: 0.8 * kwh,
                need_kwh,
                ..Balance::default()
            };
            let mut b = of(fuel_kwh);
            b.half_step = Some(HalfStep::between(&b, &of(fuel_kwh - less_kwh)));
            b.sound()
        };
        assert!(with(380.0, 12.0, 21_000.0));
        assert!(!with(380.0, 12.0, 2_000.0));
        assert!(!with(25_000.0, 200.0, 21_000.0), "a winter run");
        assert!(!with(380.0, 12.0, 0.0), "a summer run");
    }

    #[test]
    fn heat_that_is_stored_elsewhere_is_no_error_of_the_step_and_heat_that_is_gone_is() {
        // A mild day: 500 kWh of fuel at 80 %. The longer step ended with a burner on: 12 kWh more fuel.
        let half = Balance { fuel_kwh: 500.0, flame_kwh: 400.0, emitters_kwh: 390.0, ..Balance::default() };
        let with = |fuel_kwh: f64, emitters_kwh: f64, stored_kwh: f64, rooms_stored_kwh: f64| {
            let flame_kwh = 0.8 * fuel_kwh;
            let mut b = Balance { fuel_kwh, flame_kwh, emitters_kwh, stored_kwh, rooms_stored_kwh, ..half };
            b.half_step = Some(HalfStep::between(&b, &half));
            b
        };
        // All of it still there: 4 kWh in the water, 5.6 in the rooms.
        let there = with(512.0, 395.6, 4.0, 5.6);
        assert!(there.half_step.unwrap().worst_percent() > 1.0 && there.sound(), "{there:?}");
        // The same fuel, and nothing is left of it: rooms were warmer, or the boiler worse. That is the step's doing.
        assert!(!with(512.0, 395.6, 0.0, 0.0).sound());
        assert!(!with(512.0, 390.0, 0.0, 0.0).sound());
        // A figure that is none is never sound.
        assert!(!with(f64::NAN, 395.6, 4.0, 5.6).sound());
    }
}
