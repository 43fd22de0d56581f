//! Rating of a motor's disconnect.
//!
//! rating >= 115 % of full-load current (amperes), unless it is a listed switch rated in horsepower, which must have the
//! motor's horsepower. A general-use snap switch (AC only) up to 2 hp and 300 V carries 80 % of its rating.
//! Sources: NFPA 70, 430.110(A), 430.109(C), 430.102, from memory. "In sight" is visible and not over 50 ft away (Article 100).

use super::{Source, Status};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "430.102, 430.109, 430.110",
    editions: "2020, 2023",
    status: Status::Memory,
    remark: "all from memory",
};

/// Farthest that still counts as in sight, feet.
pub const IN_SIGHT_FT: f64 = 50.0;
/// Per cent of full-load current.
pub const PERCENT: f64 = 115.0;

/// Least ampere rating of the disconnect, amperes.
pub fn least_amps(full_load_amps: f64) -> f64 {
    full_load_amps * PERCENT / 100.0
}

/// Least rating of an alternating-current snap switch, amperes; `None` over 2 hp or 300 V.
pub fn least_snap_switch_amps(full_load_amps: f64, hp: f64, volts: f64) -> Option<f64> {
    (hp <= 2.0 && volts <= 300.0).then_some(full_load_amps / 0.8)
}
