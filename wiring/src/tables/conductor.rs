//! The size of a copper conductor for a current under given conditions.
//!
//! allowed = min(ampacity(insulation column) x ambient factor x adjustment factor, ampacity(terminal column)), amperes.
//! A circuit further needs an overcurrent device not over the next standard size above `allowed`, and within 240.4(D).
//! Motor conductors: 125 % of the table current (430.22); several motors: 125 % of the largest plus the others (430.24).
//!
//! Sources: NFPA 70, 310.14-310.16, 110.14(C), 240.4(B) and (D), 430.22, 430.24. 110.14(C) and 430.22 checked, 240.4(B) and
//! 430.24 from memory. Edges: nothing smaller than 14 AWG is chosen for power (310.3(A), from memory; our floor too);
//! past 4/0 AWG `None`; non-numbers `None`.

use super::{
    Awg, Edition, Source, Status, adjustment, ambient,
    ampacity::{self, Column},
    small, standard,
};
use serde::{Deserialize, Serialize};

/// Where the rules come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "110.14(C), 240.4(B), 430.22, 430.24",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "240.4(B), 430.24 and the smallest size of 14 AWG are from memory",
};

/// Per cent of the table current that a motor's conductors must carry (430.22).
pub const MOTOR_PERCENT: f64 = 125.0;

/// Rounding guard, amperes.
const GUARD: f64 = 1e-9;

/// What decides how much a conductor may carry.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Conditions {
    /// Column of the conductor's insulation.
    pub insulation: Column,
    /// Column that the terminals at its ends are marked for.
    pub terminals: Column,
    /// Ambient along its run, °C.
    pub ambient_c: f64,
    /// Current-carrying conductors in its raceway, this circuit's included.
    pub current_carrying: usize,
}

impl Default for Conditions {
    /// 90 °C insulation on 60 °C terminals, 30 °C, three conductors: what 110.14(C) assumes up to 100 A.
    fn default() -> Self {
        Self { insulation: Column::C90, terminals: Column::C60, ambient_c: 30.0, current_carrying: 3 }
    }
}

/// Column of unmarked terminals by 110.14(C): 60 °C up to 100 A, 75 °C above.
pub fn unmarked_terminals(circuit_amps: f64) -> Column {
    if circuit_amps > 100.0 { Column::C75 } else { Column::C60 }
}

/// What this size may carry under these conditions, amperes.
pub fn allowed_amps(awg: Awg, on: Conditions) -> Option<f64> {
    let by_insulation = ampacity::amps(awg, on.insulation)?
        * ambient::factor(on.insulation, on.ambient_c)?
        * adjustment::factor(on.current_carrying);
    Some(by_insulation.min(ampacity::amps(awg, on.terminals)?))
}

/// The smallest size that carries so many amperes.
pub fn size_for(amps: f64, on: Conditions) -> Option<Awg> {
    if !(amps.is_finite() && amps >= 0.0) {
        return None;
    }
    Awg::all().filter(|a| *a >= Awg::A14).find(|a| allowed_amps(*a, on).is_some_and(|i| i + GUARD >= amps))
}

/// Whether an overcurrent device protects this size: 240.4(B) with the next standard size, and 240.4(D).
/// Not for motor circuits, which go by 430.52.
pub fn is_protected(awg: Awg, device_amps: f64, on: Conditions, edition: Edition) -> bool {
    let small = small::largest_device_amps(awg).is_none_or(|most| device_amps <= most);
    let ampacity = allowed_amps(awg, on)
        .and_then(|i| standard::breaker_at_least(i, edition))
        .is_some_and(|most| device_amps <= most);
    small && ampacity
}

/// The smallest size that carries the current and is protected by the device: a circuit that is not a motor's.
pub fn size_for_circuit(amps: f64, device_amps: f64, on: Conditions, edition: Edition) -> Option<Awg> {
    let by_load = size_for(amps, on)?;
    Awg::all().filter(|a| *a >= by_load).find(|a| is_protected(*a, device_amps, on, edition))
}

/// What the conductors of one motor must carry, amperes.
pub fn motor_amps(full_load_amps: f64) -> f64 {
    full_load_amps * MOTOR_PERCENT / 100.0
}

/// What the conductors of several motors and other loads must carry, amperes: 125 % of the largest motor, 100 % of the other
/// motors and of non-continuous loads, 125 % of continuous loads that are no motors.
pub fn group_amps(motors: &[f64], other_amps: f64, continuous_amps: f64) -> f64 {
    let largest = motors.iter().copied().fold(0.0, f64::max);
    motors.iter().sum::<f64>() + 0.25 * largest + other_amps + 1.25 * continuous_amps
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn terminals_cap_what_insulation_allows() {
        let hot = Conditions { ambient_c: 45.0, current_carrying: 9, ..Conditions::default() };
        // 12 AWG: 30 * 0.87 * 0.7 = 18.27 A, under the 20 A of its terminals.
        assert!((allowed_amps(Awg::A12, hot).unwrap() - 18.27).abs() < 1e-9);
        assert_eq!(allowed_amps(Awg::A12, Conditions::default()), Some(20.0));
        assert_eq!(size_for(19.0, hot), Some(Awg::A10));
        assert_eq!(size_for(19.0, Conditions::default()), Some(Awg::A12));
    }

    #[test]
    fn small_conductors_follow_the_device() {
        // 10 A of load on a 20 A breaker still needs 12 AWG.
        let on = Conditions { terminals: Column::C75, ..Conditions::default() };
        assert_eq!(size_for_circuit(10.0, 20.0, on, Edition::Nec2023), Some(Awg::A12));
        assert!(!is_protected(Awg::A14, 20.0, on, Edition::Nec2023));
    }

    #[test]
    fn edges() {
        assert_eq!(size_for(f64::NAN, Conditions::default()), None);
        assert_eq!(size_for(-1.0, Conditions::default()), None);
        assert_eq!(size_for(196.0, Conditions::default()), None);
        assert_eq!(size_for(0.0, Conditions::default()), Some(Awg::A14));
        assert_eq!(size_for(1.0, Conditions { ambient_c: 90.0, ..Conditions::default() }), None);
        assert_eq!(group_amps(&[], 2.0, 4.0), 7.0);
        assert_eq!(group_amps(&[4.0, 8.0], 0.0, 0.0), 14.0);
    }
}
