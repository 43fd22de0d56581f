//! Setting of a motor's overload relay, amperes.
//!
//! setting <= 125 % of the *nameplate* current for a service factor of 1.15 or more or a temperature rise of 40 °C or less,
//! else 115 %; if the motor will not start or carry its load, up to 140 % and 130 %.
//! Source: NFPA 70, 430.32(A)(1) and (C): 125 and 115 % checked, 140 and 130 % from memory. A three-phase motor needs an overload
//! in each phase (430.37). Motors up to 1 hp, automatically started, by 430.32(B), which has the same percentages (from memory).

use super::{Source, Status};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "430.32",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "140 and 130 % of 430.32(C), and 430.32(B), are from memory",
};

/// What the nameplate says about reserve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Reserve {
    /// Service factor 1.15 or more, or rise of 40 °C or less.
    Marked,
    /// Neither, or unknown.
    None,
}

/// The largest setting, amperes.
pub fn largest_setting_amps(nameplate_amps: f64, reserve: Reserve) -> f64 {
    nameplate_amps * if reserve == Reserve::Marked { 1.25 } else { 1.15 }
}

/// The largest setting for a motor that will not start or carry its load otherwise, amperes (from memory).
pub fn largest_setting_amps_to_start(nameplate_amps: f64, reserve: Reserve) -> f64 {
    nameplate_amps * if reserve == Reserve::Marked { 1.40 } else { 1.30 }
}
