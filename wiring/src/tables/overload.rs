//! Setting of a motor's overload relay, amperes.
//!
//! setting <= 125 % of the *nameplate* current for a service factor of 1.15 or more or a temperature rise of 40 °C or less,
//! else 115 %; if the motor will not start or carry its load, up to 140 % and 130 %.
//! Source: NFPA 70, 430.32(A)(1) and (C): 125, 115, 140 and 130 % checked. A three-phase motor needs an overload
//! in each phase (430.37). Motors up to 1 hp, automatically started, by 430.32(B), which has the same percentages (from memory).

use super::{Source, Status};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "430.32",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "430.32(B) is from memory",
};

/// What the nameplate says about reserve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Reserve {
    /// Service factor 1.15 or more, or rise of 40 °C or less.
    Marked,
    /// Neither, or unknown.
    None,
}

impl Reserve {
    /// By the plate: the service factor that stands on it (1 where none does) and its temperature rise in kelvin, if it
    /// names one. A rise that is not a positive number counts as none.
    pub fn of_plate(service_factor: f64, rise_k: Option<f64>) -> Self {
        // A factor typed as 1.15 must not fail by its last binary digit.
        let cool = rise_k.is_some_and(|k| k > 0.0 && k <= 40.0 + 1e-9);
        if service_factor >= 1.15 - 1e-9 || cool { Reserve::Marked } else { Reserve::None }
    }

    /// Per cent of the nameplate current that the setting may have: 430.32(A)(1).
    pub const fn percent(self) -> f64 {
        match self {
            Reserve::Marked => 125.0,
            Reserve::None => 115.0,
        }
    }

    /// Per cent where the motor will not start or carry its load otherwise: 430.32(C).
    pub const fn percent_to_start(self) -> f64 {
        match self {
            Reserve::Marked => 140.0,
            Reserve::None => 130.0,
        }
    }
}

/// The largest setting, amperes.
pub fn largest_setting_amps(nameplate_amps: f64, reserve: Reserve) -> f64 {
    nameplate_amps * reserve.percent() / 100.0
}

/// The largest setting for a motor that will not start or carry its load otherwise, amperes.
pub fn largest_setting_amps_to_start(nameplate_amps: f64, reserve: Reserve) -> f64 {
    nameplate_amps * reserve.percent_to_start() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NFPA 70 430.32(A)(1), checked: 125 % with a service factor of 1.15 or a rise of 40 degrees, else 115 %.
    #[test]
    fn the_plate_decides_between_125_and_115() {
        for (factor, rise, percent) in [
            (1.15, None, 125.0),
            (1.25, None, 125.0),
            (1.0, Some(40.0), 125.0),
            (1.14, None, 115.0),
            (1.0, Some(55.0), 115.0),
            (1.0, None, 115.0),
            (f64::NAN, Some(f64::NAN), 115.0),
            (1.0, Some(-1.0), 115.0),
        ] {
            assert_eq!(Reserve::of_plate(factor, rise).percent(), percent, "{factor} {rise:?}");
        }
        assert!((largest_setting_amps(3.1, Reserve::Marked) - 3.875).abs() < 1e-9);
        assert!((largest_setting_amps_to_start(3.1, Reserve::None) - 4.03).abs() < 1e-9);
    }
}
