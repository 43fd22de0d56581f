//! A room thermostat: calls below its set temperature, with a differential and, if it has one, a cycle rate.
//!
//! * The element follows the air with time constant `lag_s`.
//! * A thermostat with a cycle rate `N` (cycles per hour at half load) carries a small heater that warms the element while
//!   it calls: rise `A` = twice the differential, time constant chosen so that with still air the call is on and off for
//!   equal times, `N` times an hour: `tau = 3600 / (2 N ln((A + d)/(A - d)))`. The rise's slow mean (three hours) is taken
//!   off again, as the integral part of an electronic thermostat does, so that the room keeps its temperature at any load.
//! * It calls at half the differential `d` below the set temperature and stops at half above.
//!
//! Source: the anticipating heater and the cycle rate at half load are common practice; the numbers for `A` and the slow
//! mean are our choice. Not modelled: minimum on and off times of electronic thermostats, which the controller has.

use crate::plant::Thermostat;
use heatwright_core::Level;

/// Time constant of the slow mean, in seconds.
const SLOW_S: f64 = 3.0 * 3600.0;

/// A thermostat ready to step.
#[derive(Clone, Copy, Debug)]
pub struct ThermostatModel {
    set_c: f64,
    setback_c: f64,
    half_k: f64,
    rise_k: f64,
    air_share: f64,
    rise_share: f64,
    slow_share: f64,
}

/// Where it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThermostatState {
    /// Temperature of its element without the heater, in degrees Celsius.
    pub element_c: f64,
    /// The heater's present rise, in kelvin.
    pub rise_k: f64,
    /// Slow mean of the rise, in kelvin.
    pub slow_k: f64,
    /// It calls for heat.
    pub calls: bool,
}

/// Share of the way that a first-order lag goes in one step.
pub(crate) fn lag_share(lag_s: f64, dt_s: f64) -> f64 {
    if lag_s > 0.0 { -(-dt_s / lag_s).exp_m1() } else { 1.0 }
}

impl ThermostatModel {
    /// Prepares a thermostat for steps of `dt_s` seconds.
    pub fn new(t: &Thermostat, dt_s: f64) -> Self {
        let cycling = t.cycles_per_h > 0.0 && t.differential_k > 0.0;
        let rise_k = if cycling { 2.0 * t.differential_k } else { 0.0 };
        let rise_tau_s = if cycling { 3600.0 / (2.0 * t.cycles_per_h * 3.0_f64.ln()) } else { 0.0 };
        Self {
            set_c: t.set_c,
            setback_c: t.setback_c,
            half_k: 0.5 * t.differential_k,
            rise_k,
            air_share: lag_share(t.lag_s, dt_s),
            rise_share: lag_share(rise_tau_s, dt_s),
            slow_share: if cycling { lag_share(SLOW_S, dt_s) } else { 1.0 },
        }
    }

    /// The temperature it holds at a level of its schedule, in degrees Celsius.
    pub fn set_c(&self, level: Level) -> f64 {
        match level {
            Level::Occupied => self.set_c,
            Level::Setback => self.setback_c,
        }
    }

    /// At rest in a room at this temperature.
    pub fn start(&self, air_c: f64) -> ThermostatState {
        let half = 0.5 * self.rise_k;
        ThermostatState { element_c: air_c, rise_k: half, slow_k: half, calls: false }
    }

    /// One step.
    #[inline]
    pub fn step(&self, s: &mut ThermostatState, set_c: f64, air_c: f64) {
        s.element_c += self.air_share * (air_c - s.element_c);
        let heater = if s.calls { self.rise_k } else { 0.0 };
        s.rise_k += self.rise_share * (heater - s.rise_k);
        s.slow_k += self.slow_share * (s.rise_k - s.slow_k);
        let sensed = s.element_c + s.rise_k - s.slow_k;
        if sensed < set_c - self.half_k {
            s.calls = true;
        } else if sensed > set_c + self.half_k {
            s.calls = false;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAIN: Thermostat =
        Thermostat { set_c: 20.0, setback_c: 16.0, differential_k: 0.5, cycles_per_h: 0.0, lag_s: 0.0, schedule: None };

    #[test]
    fn it_switches_half_the_differential_either_side() {
        let m = ThermostatModel::new(&PLAIN, 1.0);
        let mut s = m.start(20.0);
        for (air_c, calls) in [(19.76, false), (19.74, true), (20.2, true), (20.26, false), (19.8, false)] {
            m.step(&mut s, 20.0, air_c);
            assert_eq!(s.calls, calls, "at {air_c}");
        }
    }

    #[test]
    fn the_cycle_rate_is_met_at_half_load() {
        let m = ThermostatModel::new(&Thermostat { cycles_per_h: 4.0, ..PLAIN }, 1.0);
        let mut s = m.start(20.0);
        let (mut starts, mut on_s) = (0, 0);
        for _ in 0..10 * 3600 {
            let was = s.calls;
            m.step(&mut s, 20.0, 20.0);
            starts += u32::from(s.calls && !was);
            on_s += u32::from(s.calls);
        }
        assert!((38..=42).contains(&starts), "{starts} starts in ten hours");
        assert!((17_000..19_000).contains(&on_s), "{on_s} s on of 36000");
    }
}
