//! One boiler: a water node, its burner, its own temperature control, limit and frost protection.
//!
//! `C dT/dt = w (t_in - T) + eta F - J (T - t_room)`, `F` fuel input and `J` jacket and standing flue loss; the water leaves at
//! the node's temperature. `eta` from [`efficiency`] at the return water and rate of the step's start.
//!
//! Its own control:
//! * Demand, with the drive of the plant: hold the fixed target (demand contact only), hold the 0-10 V target, or fire at
//!   the 0-10 V rate. The burner starts `on_below_k` under the target and stops `off_above_k` over it; between minimum and
//!   full fire it modulates by a PI law, `rate = e/band + (1/(band T_i)) integral of e dt`, held to its range, the integral
//!   frozen outside it and zero at each start. A burner with a rate signal fires while it has demand.
//! * Its own limit stops the burner whatever asks, and comes back by itself.
//! * Its own frost protection fires at minimum rate, without demand, until 10 K above its setting.
//! * It asks for its own pump from demand or frost until its burner is at rest.
//!
//! Its return valve, where it has one, holds up what enters it: [`return_valve`].
//!
//! Source: common practice. Not modelled: draft losses while idle apart from `J`, scaling, sensors of its own with lag.

pub mod altitude;
pub mod burner;
pub mod efficiency;
pub(crate) mod return_valve;
#[cfg(test)]
mod tests;

use crate::{
    fluid::RUN_C,
    header::{BoilerReply, Way},
    plant::{Boiler, Fluid},
    thermostat::lag_share,
};
use burner::{Burner, Senses};
use efficiency::{Cell, EfficiencyTable};
use heatwright_core::{Permille, config::BoilerDrive};
use return_valve::ReturnValve;

/// How far above its setting frost protection ends, in kelvin.
const FROST_SPAN_K: f64 = 10.0;

/// A boiler ready to step.
#[derive(Clone, Debug)]
pub struct BoilerModel {
    plant: Boiler,
    efficiency: EfficiencyTable,
    capacity_j_k: f64,
    /// Heat capacity over the step, in W/K.
    capacity: f64,
    dt_s: f64,
    lag_share: f64,
    /// Of its own modulation: share of full fire per kelvin, and what one step adds to the integral part per kelvin.
    per_band: f64,
    per_band_step: f64,
    /// Target at 0 V in degrees Celsius, and how much higher it is at 10 V, in kelvin.
    target_range: (f64, f64),
    pub(crate) flow_w_k: f64,
    pub(crate) valve: ReturnValve,
}

/// Where it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoilerState {
    /// Water in it and leaving it, in degrees Celsius.
    pub water_c: f64,
    /// Burner sequence.
    pub burner: Burner,
    /// Firing rate as a share of full input; what it will start at while not lit.
    pub rate: f64,
    /// Integral part of its own modulation, a share.
    pub integral: f64,
    /// Its temperature control wants fire.
    pub wants: bool,
    /// Its own limit is closed.
    pub limit_made: bool,
    /// Its frost protection is on.
    pub frost: bool,
    /// Share of its flow that its return valve lets to the header; 1 without a valve.
    pub opening: f64,
}

/// What a boiler did in one step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BoilerFlux {
    /// Fuel, in watts by higher heating value.
    pub fuel_w: f64,
    /// Heat from the flame into the water, in watts.
    pub water_w: f64,
    /// Condensate, in kilograms per second.
    pub condensate_kg_s: f64,
    /// Flow through it, in kilograms per second; below zero when it runs backwards.
    pub flow_kg_s: f64,
    /// Water entering it, behind its return valve where it has one, in degrees Celsius.
    pub return_c: f64,
}

/// What the wires and the street give a boiler, and the water that is moved through it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct BoilerDriveNow {
    pub(crate) line: bool,
    pub(crate) limit: bool,
    pub(crate) proving: bool,
    pub(crate) demand: bool,
    pub(crate) signal: Permille,
    pub(crate) fuel: bool,
    pub(crate) reset: bool,
    pub(crate) way: Way,
    /// What it and the header exchange, in W/K, and the share of its pump's flow that goes round by its return valve.
    pub(crate) flow_w_k: f64,
    pub(crate) round_share: f64,
    pub(crate) room_c: f64,
}

/// A drive, and what follows from it for every step until it changes.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct BoilerHeld {
    drive: BoilerDriveNow,
    target_c: Option<f64>,
    /// What the jacket would give a boiler of no temperature, in watts.
    jacket_in_w: f64,
    /// One over the capacities at its node, in K/W, and what of the inlet's temperature comes through, a share.
    den: f64,
    per_inlet: f64,
    /// Its temperature control wants fire.
    called: bool,
    /// Water between these, both counted, changes nothing of limit, frost protection and what the control wants.
    between_c: (f64, f64),
    pace: Pace,
    cell: Cell,
}

/// What nearly every step finds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Pace {
    /// Burning with its flame contact made, and nothing against it.
    Lit,
    /// At rest, and nothing for it.
    Off,
    /// The whole sequence is gone through.
    #[default]
    Any,
}

impl BoilerHeld {
    /// True when this drive has been taken.
    pub(crate) fn holds(&self, drive: &BoilerDriveNow) -> bool {
        // Before one was taken there are no capacities.
        self.den > 0.0 && self.drive == *drive
    }
}

impl BoilerModel {
    /// Prepares a boiler for steps of `dt_s` seconds.
    pub fn new(b: &Boiler, fluid: &Fluid, altitude_m: f64, dt_s: f64) -> Self {
        let capacity_j_k = fluid.capacity_j_k(b.water_l) + b.metal_j_k;
        let target_range = match b.drive {
            BoilerDrive::Target { low, high } => {
                let (low_c, high_c) = (f64::from(low.centi_c()) / 100.0, f64::from(high.centi_c()) / 100.0);
                (low_c, high_c - low_c)
            }
            BoilerDrive::DemandOnly | BoilerDrive::Rate => (0.0, 0.0),
        };
        Self {
            target_range,
            plant: b.clone(),
            efficiency: EfficiencyTable::new(&b.efficiency, b.minimum_share, altitude_m),
            capacity_j_k,
            capacity: capacity_j_k / dt_s,
            dt_s,
            lag_share: lag_share(b.burner.modulation_lag_s, dt_s),
            per_band: 1.0 / b.control.band_k,
            per_band_step: dt_s / (b.control.band_k * b.control.integral_s),
            flow_w_k: b.flow_kg_s * fluid.specific_heat_j_kgk(RUN_C),
            valve: ReturnValve::new(b.return_valve_c),
        }
    }

    /// At rest at a water temperature in degrees Celsius.
    pub fn start(&self, water_c: f64) -> BoilerState {
        BoilerState {
            water_c,
            burner: Burner::Off,
            rate: self.plant.minimum_share,
            integral: 0.0,
            wants: false,
            limit_made: true,
            frost: false,
            opening: if self.valve.fitted() { 0.0 } else { 1.0 },
        }
    }

    /// Heat in water and metal, in joules above 0 degrees Celsius.
    pub fn stored_j(&self, s: &BoilerState) -> f64 {
        self.capacity_j_k * s.water_c
    }

    /// The temperature it holds with this signal on its input, in degrees Celsius; `None` when it is told a rate.
    pub fn target_c(&self, signal: Permille) -> Option<f64> {
        match self.plant.drive {
            BoilerDrive::DemandOnly => Some(self.plant.control.fixed_target_c),
            BoilerDrive::Target { .. } => {
                let (low_c, span_k) = self.target_range;
                Some(low_c + f64::from(signal.get()) * (0.001 * span_k))
            }
            BoilerDrive::Rate => None,
        }
    }

    /// The boiler as the header sees it while a drive is held.
    pub(crate) fn joined(h: &BoilerHeld) -> BoilerReply {
        BoilerReply { way: h.drive.way, flow_w_k: h.drive.flow_w_k, fixed_c: 0.0, per_inlet: h.per_inlet }
    }

    /// Takes a drive; its first step goes through the whole sequence.
    pub(crate) fn hold(&self, drive: BoilerDriveNow) -> BoilerHeld {
        let mut h = BoilerHeld {
            target_c: self.target_c(drive.signal),
            jacket_in_w: self.plant.jacket_w_k * drive.room_c,
            drive,
            ..BoilerHeld::default()
        };
        self.exchange(&mut h, drive.flow_w_k, drive.round_share);
        h
    }

    /// Takes what it and the header exchange, in W/K, and the share of its pump's flow that goes round; the rest of the drive
    /// stays.
    pub(crate) fn exchange(&self, h: &mut BoilerHeld, flow_w_k: f64, round_share: f64) {
        (h.drive.flow_w_k, h.drive.round_share) = (flow_w_k, round_share);
        h.den = 1.0 / (self.capacity + flow_w_k + self.plant.jacket_w_k);
        h.per_inlet = flow_w_k * h.den;
    }

    /// Burner and control, then the water node eliminated. True when a contact of the boiler may have moved, or its flame
    /// came or went.
    #[inline(always)]
    pub(crate) fn reply(
        &self,
        s: &mut BoilerState,
        h: &mut BoilerHeld,
        header_c: f64,
        flux: &mut BoilerFlux,
        fixed_c: &mut f64,
    ) -> bool {
        let return_c = self.valve.entering_c(h.drive.round_share, s.water_c, header_c);
        flux.return_c = return_c;
        let between = h.between_c.0 <= s.water_c && s.water_c <= h.between_c.1;
        let mut moved = false;
        match (&mut s.burner, h.pace) {
            // The whole sequence says the same.
            (Burner::Lit { for_s }, Pace::Lit) if between => {
                *for_s += self.dt_s;
                self.burn(s, h, return_c, flux, true);
            }
            (_, Pace::Off) if between => {}
            _ => moved = self.sequence(s, h, return_c, flux),
        }
        *fixed_c = (self.capacity * s.water_c + flux.water_w + h.jacket_in_w) * h.den;
        moved
    }

    /// Burner and control by the whole sequence. True when a contact may have moved.
    #[inline(never)]
    fn sequence(&self, s: &mut BoilerState, h: &mut BoilerHeld, return_c: f64, flux: &mut BoilerFlux) -> bool {
        let (c, d) = (&self.plant.control, &h.drive);
        let contacts =
            |s: &BoilerState| (self.flame_contact(s), self.asks_pump(s, d.demand), s.burner.lit(), s.burner.locked());
        let before = contacts(s);
        if s.water_c > c.limit_c {
            s.limit_made = false;
        } else if s.water_c < c.limit_c - c.limit_reset_k {
            s.limit_made = true;
        }
        if let Some(frost_c) = c.frost_c {
            s.frost = s.water_c < frost_c || (s.frost && s.water_c < frost_c + FROST_SPAN_K);
        }
        h.called = match h.target_c {
            Some(target_c) if d.demand => {
                if s.water_c < target_c - c.on_below_k {
                    s.wants = true;
                } else if s.water_c > target_c + c.off_above_k {
                    s.wants = false;
                }
                s.wants
            }
            Some(_) => {
                s.wants = false;
                false
            }
            None => d.demand,
        };
        let was_lit = s.burner.lit();
        let senses = Senses {
            line: d.line,
            limit: d.limit && s.limit_made,
            proved: d.proving,
            called: h.called || s.frost,
            fuel: d.fuel,
            reset: d.reset,
        };
        s.burner = s.burner.next(&self.plant.burner, senses, self.dt_s);
        h.between_c = self.between_c(s, h);
        h.pace = match s.burner {
            Burner::Lit { .. } if senses.burns() && self.flame_contact(s) => Pace::Lit,
            Burner::Off if senses.line && !senses.may_burn() => Pace::Off,
            _ => Pace::Any,
        };
        (flux.fuel_w, flux.water_w, flux.condensate_kg_s) = (0.0, 0.0, 0.0);
        let after = contacts(s);
        if s.burner.lit() {
            self.burn(s, h, return_c, flux, was_lit);
        } else {
            s.rate = self.plant.minimum_share;
            s.integral = 0.0;
        }
        before != after
    }

    /// Between which water temperatures limit, frost protection and what the control wants stay as they are.
    fn between_c(&self, s: &BoilerState, h: &BoilerHeld) -> (f64, f64) {
        let c = &self.plant.control;
        let (mut low_c, mut high_c) = (f64::NEG_INFINITY, f64::INFINITY);
        if s.limit_made {
            high_c = high_c.min(c.limit_c);
        } else {
            low_c = low_c.max(c.limit_c - c.limit_reset_k);
        }
        match c.frost_c {
            // It ends *at* its upper end.
            Some(frost_c) if s.frost => high_c = high_c.min((frost_c + FROST_SPAN_K).next_down()),
            Some(frost_c) => low_c = low_c.max(frost_c),
            None => {}
        }
        match h.target_c {
            Some(target_c) if h.drive.demand && s.wants => high_c = high_c.min(target_c + c.off_above_k),
            Some(target_c) if h.drive.demand => low_c = low_c.max(target_c - c.on_below_k),
            _ => {}
        }
        (low_c, high_c)
    }

    /// One step of the flame: its rate, and what it gives.
    #[inline(always)]
    fn burn(&self, s: &mut BoilerState, h: &mut BoilerHeld, return_c: f64, flux: &mut BoilerFlux, was_lit: bool) {
        let minimum = self.plant.minimum_share;
        let wanted = match h.target_c {
            _ if minimum >= 1.0 => 1.0,
            _ if !h.called => minimum,
            Some(target_c) => {
                let error_k = target_c - s.water_c;
                let rate = error_k * self.per_band + s.integral;
                if (rate < 1.0 || error_k < 0.0) && (rate > minimum || error_k > 0.0) {
                    s.integral += error_k * self.per_band_step;
                }
                rate
            }
            None => f64::from(h.drive.signal.get()) / 1000.0,
        };
        // Held to its range; cheaper than with the rules for what is no number.
        let wanted = if wanted < minimum { minimum } else { wanted };
        let wanted = if wanted > 1.0 { 1.0 } else { wanted };
        s.rate = if was_lit { s.rate + self.lag_share * (wanted - s.rate) } else { minimum };
        let [efficiency, condensate_kg_j] = self.efficiency.within(&mut h.cell, return_c, s.rate);
        flux.fuel_w = self.plant.input_w * s.rate;
        flux.water_w = flux.fuel_w * efficiency;
        flux.condensate_kg_s = flux.fuel_w * condensate_kg_j;
    }

    /// Places the water node once the inlet is known.
    #[inline(always)]
    pub(crate) fn finish(s: &mut BoilerState, r: &BoilerReply, inlet_c: f64) {
        s.water_c = r.fixed_c + r.per_inlet * inlet_c;
    }

    /// True while it asks for the pump it owns.
    pub(crate) fn asks_pump(&self, s: &BoilerState, demand: bool) -> bool {
        demand || s.frost || !matches!(s.burner, Burner::Off | Burner::Lockout)
    }

    /// True once its flame contact is closed.
    pub(crate) fn flame_contact(&self, s: &BoilerState) -> bool {
        s.burner.flame_contact(&self.plant.burner)
    }
}
