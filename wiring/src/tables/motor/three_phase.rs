//! Full-load current of three-phase induction motors, amperes.
//!
//! Source: NFPA 70-2020 and -2023, Table 430.250, checked. Range 1/2 to 25 hp at 208, 230, 460 V; 200 V to 10 hp.

use super::{MotorVolts, is_row};
use crate::tables::{Source, Status};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Table 430.250",
    editions: "2020, 2023",
    status: Status::Checked,
    remark: "",
};

/// Horsepower; amperes at 200 V (where listed here), 208, 230, 460 V.
const TABLE: [(f64, Option<f64>, [f64; 3]); 12] = [
    (0.5, Some(2.5), [2.4, 2.2, 1.1]),
    (0.75, Some(3.7), [3.5, 3.2, 1.6]),
    (1.0, Some(4.8), [4.6, 4.2, 2.1]),
    (1.5, Some(6.9), [6.6, 6.0, 3.0]),
    (2.0, Some(7.8), [7.5, 6.8, 3.4]),
    (3.0, Some(11.0), [10.6, 9.6, 4.8]),
    (5.0, Some(17.5), [16.7, 15.2, 7.6]),
    (7.5, Some(25.3), [24.2, 22.0, 11.0]),
    (10.0, Some(32.2), [30.8, 28.0, 14.0]),
    (15.0, None, [46.2, 42.0, 21.0]),
    (20.0, None, [59.4, 54.0, 27.0]),
    (25.0, None, [74.8, 68.0, 34.0]),
];

/// Table current, amperes.
pub fn amps(hp: f64, volts: MotorVolts) -> Option<f64> {
    let row = TABLE.iter().find(|r| is_row(hp, r.0))?;
    match volts {
        MotorVolts::V115 => None,
        MotorVolts::V200 => row.1,
        MotorVolts::V208 => Some(row.2[0]),
        MotorVolts::V230 => Some(row.2[1]),
        MotorVolts::V460 => Some(row.2[2]),
    }
}
