//! Voltage drop along a circuit.
//!
//! dV = k I L r / 1000, k = 2 single phase and sqrt(3) three phase, I amperes, L feet one way, r ohm per 1000 ft; in per cent of
//! the circuit's voltage. Resistance by Chapter 9 Table 8 corrected for temperature, or impedance by Table 9.
//! Guidance, not a rule: 3 % on a branch circuit and 5 % in all (informational notes of 210.19(A) and 215.2(A), from memory).

use super::{Awg, Source, Status, impedance, motor::Phases, resistance};

/// Where the guidance comes from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "210.19(A), 215.2(A), informational notes",
    editions: "2020, 2023",
    status: Status::Memory,
    remark: "3 % and 5 % are guidance; the number of the note moved between editions",
};

/// Advised most on a branch circuit, per cent.
pub const BRANCH_PERCENT: f64 = 3.0;
/// Advised most on feeder and branch together, per cent.
pub const TOTAL_PERCENT: f64 = 5.0;

/// Volts lost, with a resistance or impedance in ohm per 1000 ft.
pub fn volts_of(phases: Phases, amps: f64, length_ft: f64, ohm_per_kft: f64) -> f64 {
    let k = match phases {
        Phases::One => 2.0,
        Phases::Three => 3.0_f64.sqrt(),
    };
    k * amps * length_ft * ohm_per_kft / 1000.0
}

/// Volts lost by Table 8 at a conductor temperature in °C.
pub fn volts(phases: Phases, awg: Awg, amps: f64, length_ft: f64, conductor_c: f64) -> f64 {
    volts_of(phases, amps, length_ft, resistance::ohm_per_kft_at(awg, conductor_c))
}

/// Volts lost by Table 9 at a power factor, conductors at 75 °C; `None` for a size not in that table.
pub fn volts_ac(
    phases: Phases,
    awg: Awg,
    amps: f64,
    length_ft: f64,
    raceway: impedance::Raceway,
    power_factor: f64,
) -> Option<f64> {
    impedance::effective_ohm_per_kft(awg, raceway, power_factor).map(|z| volts_of(phases, amps, length_ft, z))
}

/// Per cent of the circuit's voltage; `None` for a voltage that is not positive.
pub fn percent(lost_volts: f64, circuit_volts: f64) -> Option<f64> {
    (circuit_volts > 0.0).then(|| 100.0 * lost_volts / circuit_volts)
}

/// The smallest size, from `least` up, that keeps the drop within `most_percent` by Table 8 at 75 °C.
pub fn size_for(
    phases: Phases,
    least: Awg,
    amps: f64,
    length_ft: f64,
    circuit_volts: f64,
    most_percent: f64,
) -> Option<Awg> {
    Awg::all()
        .filter(|a| *a >= least)
        .find(|a| percent(volts(phases, *a, amps, length_ft, 75.0), circuit_volts).is_some_and(|p| p <= most_percent))
}
