//! Full-load current of motors by horsepower: the figure for conductors, branch protection and disconnects.
//!
//! Sources: NFPA 70 Tables 430.248 (single phase) and 430.250 (three phase); see the two files below this one. By 430.6(A)(1)
//! overloads go by the nameplate instead, and by its exceptions listed appliances and canned (wet-rotor) pumps go by the
//! nameplate everywhere. Horsepower matches a row within 1 %; a size between rows or below the table gives `None`, and
//! the caller takes the nameplate or says that it has nothing.

pub mod single_phase;
pub mod three_phase;

use serde::{Deserialize, Serialize};

/// Number of phases.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Phases {
    /// Single phase.
    #[serde(rename = "1")]
    One,
    /// Three phase.
    #[serde(rename = "3")]
    Three,
}

/// Rated voltage of a motor as the tables have it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum MotorVolts {
    /// 115 V, for systems of 110 to 120 V.
    V115,
    /// 200 V.
    V200,
    /// 208 V.
    V208,
    /// 230 V, for systems of 220 to 240 V.
    V230,
    /// 460 V, for systems of 440 to 480 V.
    V460,
}

impl MotorVolts {
    /// The column for a motor on a system of so many volts. `None` where the tables have no column, such as 277 V.
    pub fn of_system(volts: f64) -> Option<MotorVolts> {
        match volts {
            v if (110.0..=120.0).contains(&v) => Some(MotorVolts::V115),
            v if (199.0..=201.0).contains(&v) => Some(MotorVolts::V200),
            v if (207.0..=209.0).contains(&v) => Some(MotorVolts::V208),
            v if (220.0..=240.0).contains(&v) => Some(MotorVolts::V230),
            v if (440.0..=480.0).contains(&v) => Some(MotorVolts::V460),
            _ => None,
        }
    }
}

/// Whether a horsepower means this row: within 1 %, since 1/3 hp may come as 0.33 or from watts.
fn is_row(hp: f64, row: f64) -> bool {
    (hp - row).abs() <= 0.01 * row
}

/// Table full-load current, amperes.
pub fn full_load_amps(hp: f64, volts: MotorVolts, phases: Phases) -> Option<f64> {
    match phases {
        Phases::One => single_phase::amps(hp, volts),
        Phases::Three => three_phase::amps(hp, volts),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_column_no_answer() {
        assert_eq!(MotorVolts::of_system(277.0), None);
        assert_eq!(MotorVolts::of_system(f64::NAN), None);
        assert_eq!(full_load_amps(1.0, MotorVolts::V460, Phases::One), None);
        assert_eq!(full_load_amps(0.4, MotorVolts::V115, Phases::One), None);
        assert_eq!(full_load_amps(0.33, MotorVolts::V115, Phases::One), Some(7.2));
        assert_eq!(full_load_amps(-1.0, MotorVolts::V115, Phases::One), None);
    }
}
