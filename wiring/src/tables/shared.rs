//! Several motors on one branch circuit.
//!
//! Allowed without further conditions when each motor is not over 1 hp, its full-load current not over 6 A, and the circuit
//! protected at not over 20 A at 125 V or less, 15 A at 126 to 1000 V.
//! Source: NFPA 70, 430.53(A): 1 hp, 6 A and 20 A checked, 15 A above 125 V from memory. (B) the device may protect the smallest
//! motor by 430.52: also accepted, from memory. (C) group installation of listed parts is not decided here.

use super::{Edition, Source, Status, protect};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "430.53",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "15 A above 125 V and paragraph (B) are from memory",
};

/// Largest motor of 430.53(A), horsepower.
pub const MOTOR_MAX_HP: f64 = 1.0;
/// Largest full-load current of 430.53(A), amperes.
pub const MOTOR_MAX_AMPS: f64 = 6.0;

/// One motor of the circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motor {
    /// Horsepower.
    pub hp: f64,
    /// Full-load current, amperes.
    pub full_load_amps: f64,
}

/// Largest device of 430.53(A) at this voltage, amperes.
pub fn largest_device_amps(volts: f64) -> f64 {
    if volts <= 125.0 { 20.0 } else { 15.0 }
}

/// What a device must carry while the largest motor of a group starts and the rest run: 175 % of the largest and the rest, amperes.
/// Our choice, as for one motor alone: it rides through starting.
pub fn starting_amps(full_load_amps: &[f64]) -> f64 {
    let largest = full_load_amps.iter().copied().fold(0.0, f64::max);
    full_load_amps.iter().sum::<f64>() + 0.75 * largest
}

/// Whether 430.53(A) lets these motors share a circuit of this voltage and device.
pub fn small_motors_may_share(motors: &[Motor], volts: f64, device_amps: f64) -> bool {
    device_amps <= largest_device_amps(volts)
        && motors.iter().all(|m| m.hp <= MOTOR_MAX_HP && m.full_load_amps <= MOTOR_MAX_AMPS)
}

/// Whether 430.53(B) lets them share: the device is within 430.52 for the smallest of them.
pub fn smallest_is_protected(motors: &[Motor], device_amps: f64, edition: Edition) -> bool {
    motors
        .iter()
        .map(|m| m.full_load_amps)
        .min_by(f64::total_cmp)
        .and_then(|i| protect::inverse_time_breaker(i, edition))
        .is_some_and(|most| device_amps <= most)
}

/// Whether these motors may share a circuit by (A) or (B).
pub fn may_share(motors: &[Motor], volts: f64, device_amps: f64, edition: Edition) -> bool {
    motors.len() < 2
        || small_motors_may_share(motors, volts, device_amps)
        || smallest_is_protected(motors, device_amps, edition)
}
