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

use crate::{
    plant::Thermostat,
    zone::lanes::{Lane, Row, lane, row},
};
use heatwright_core::Level;

/// Time constant of the slow mean, in seconds.
const SLOW_S: f64 = 3.0 * 3600.0;

/// What is left of the rise for good, in kelvin. Far below what any sum of temperatures can hold, it keeps a rise that dies away
/// all summer out of the numbers near zero, of which each costs a processor as much as a whole zone.
const COLD_K: f64 = 1e-100;

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
}

/// The thermostats of a block of zones, ready to step side by side.
#[derive(Clone, Debug, Default)]
pub(crate) struct Thermostats {
    half_k: Lane,
    rise_k: Lane,
    air_share: Lane,
    rise_share: Lane,
    slow_share: Lane,
}

/// What a block's thermostats hold, and what their heaters do while nobody turns.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Asking {
    /// Set temperatures, in degrees Celsius.
    pub(crate) set_c: Lane,
    /// Where the heaters' rise goes, in kelvin.
    heater_k: Lane,
    /// 1 where one calls, -1 elsewhere.
    side: Lane,
}

/// Where the thermostats of a block stand, in kelvin and degrees Celsius; who calls is one bit a zone elsewhere.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Elements {
    pub(crate) element_c: Lane,
    pub(crate) rise_k: Lane,
    pub(crate) slow_k: Lane,
}

impl Thermostats {
    pub(crate) fn put(&mut self, l: usize, t: &ThermostatModel) {
        (self.half_k[l], self.rise_k[l]) = (t.half_k, t.rise_k);
        (self.air_share[l], self.rise_share[l], self.slow_share[l]) = (t.air_share, t.rise_share, t.slow_share);
    }

    /// What follows from who calls, until that changes.
    pub(crate) fn ready(&self, h: &mut Asking, called: u64) {
        h.heater_k = lane(|l| if called >> l & 1 == 1 { self.rise_k[l] } else { COLD_K });
        h.side = lane(|l| if called >> l & 1 == 1 { 1.0 } else { -1.0 });
    }

    /// One step. True when one of them calls now that did not, or no longer does: [`turned`](Self::turned) says which.
    #[inline(always)]
    pub(crate) fn step(&self, s: &mut Elements, h: &Asking, air_c: Row) -> bool {
        let toward = |was: &Lane, share: &Lane, to: Row| row(was) + row(share) * (to - row(was));
        let element_c = toward(&s.element_c, &self.air_share, air_c);
        let rise_k = toward(&s.rise_k, &self.rise_share, row(&h.heater_k));
        let slow_k = toward(&s.slow_k, &self.slow_share, rise_k);
        s.element_c = element_c.into();
        s.rise_k = rise_k.into();
        s.slow_k = slow_k.into();
        self.past(element_c, rise_k, slow_k, h) != 0
    }

    /// Which stand past the edge at which they turn: half the differential over what they hold while they call, under it
    /// while they do not. One bit a place.
    #[inline(always)]
    fn past(&self, element_c: Row, rise_k: Row, slow_k: Row, h: &Asking) -> u64 {
        let over_k = row(&h.side) * (element_c + rise_k - slow_k - row(&h.set_c));
        over_k.simd_gt(row(&self.half_k)).to_bitmask().into()
    }

    /// Who has turned in the last step, one bit a place.
    pub(crate) fn turned(&self, s: &Elements, h: &Asking) -> u64 {
        self.past(row(&s.element_c), row(&s.rise_k), row(&s.slow_k), h)
    }
}

impl Elements {
    pub(crate) fn get(&self, l: usize, calls: bool) -> ThermostatState {
        ThermostatState { element_c: self.element_c[l], rise_k: self.rise_k[l], slow_k: self.slow_k[l], calls }
    }

    pub(crate) fn put(&mut self, l: usize, s: &ThermostatState) {
        (self.element_c[l], self.rise_k[l], self.slow_k[l]) = (s.element_c, s.rise_k, s.slow_k);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::zone::lanes::LANES;

    const PLAIN: Thermostat =
        Thermostat { set_c: 20.0, setback_c: 16.0, differential_k: 0.5, cycles_per_h: 0.0, lag_s: 0.0, schedule: None };

    /// One thermostat in a block by itself.
    fn step(m: &ThermostatModel, s: &mut ThermostatState, set_c: f64, air_c: f64) {
        let (mut block, mut elements) = (Thermostats::default(), Elements::default());
        // Not in the first place: its neighbours must not matter.
        block.put(2, m);
        elements.put(2, s);
        let mut asking = Asking { set_c: Lane([set_c; LANES]), ..Asking::default() };
        block.ready(&mut asking, u64::from(s.calls) << 2);
        let turns = block.step(&mut elements, &asking, Row::splat(air_c));
        // Places without a thermostat stand past both edges here.
        assert!(turns);
        let calls = s.calls ^ (block.turned(&elements, &asking) >> 2 & 1 == 1);
        *s = elements.get(2, calls);
    }

    #[test]
    fn it_switches_half_the_differential_either_side() {
        let m = ThermostatModel::new(&PLAIN, 1.0);
        let mut s = m.start(20.0);
        for (air_c, calls) in [(19.76, false), (19.74, true), (20.2, true), (20.26, false), (19.8, false)] {
            step(&m, &mut s, 20.0, air_c);
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
            step(&m, &mut s, 20.0, 20.0);
            starts += u32::from(s.calls && !was);
            on_s += u32::from(s.calls);
        }
        assert!((38..=42).contains(&starts), "{starts} starts in ten hours");
        assert!((17_000..19_000).contains(&on_s), "{on_s} s on of 36000");
    }
}
