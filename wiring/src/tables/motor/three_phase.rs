//! Full-load current of three-phase induction motors, amperes.
//!
//! Source: NFPA 70-2020 and -2023, Table 430.250, checked. Range 1/2 to 100 hp. From memory: 200 V from
//! 15 hp on, and 30 hp and more.

use super::{MotorVolts, is_row};
use crate::tables::{Source, Status};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Table 430.250",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "200 V from 15 hp on, and 30 hp and more, from memory",
};

/// Horsepower; amperes at 200, 208, 230, 460 V.
const TABLE: [(f64, [f64; 4]); 18] = [
    (0.5, [2.5, 2.4, 2.2, 1.1]),
    (0.75, [3.7, 3.5, 3.2, 1.6]),
    (1.0, [4.8, 4.6, 4.2, 2.1]),
    (1.5, [6.9, 6.6, 6.0, 3.0]),
    (2.0, [7.8, 7.5, 6.8, 3.4]),
    (3.0, [11.0, 10.6, 9.6, 4.8]),
    (5.0, [17.5, 16.7, 15.2, 7.6]),
    (7.5, [25.3, 24.2, 22.0, 11.0]),
    (10.0, [32.2, 30.8, 28.0, 14.0]),
    (15.0, [48.3, 46.2, 42.0, 21.0]),
    (20.0, [62.1, 59.4, 54.0, 27.0]),
    (25.0, [78.2, 74.8, 68.0, 34.0]),
    (30.0, [92.0, 88.0, 80.0, 40.0]),
    (40.0, [120.0, 114.0, 104.0, 52.0]),
    (50.0, [150.0, 143.0, 130.0, 65.0]),
    (60.0, [177.0, 169.0, 154.0, 77.0]),
    (75.0, [221.0, 211.0, 192.0, 96.0]),
    (100.0, [285.0, 273.0, 248.0, 124.0]),
];

/// Table current, amperes.
pub fn amps(hp: f64, volts: MotorVolts) -> Option<f64> {
    let row = TABLE.iter().find(|r| is_row(hp, r.0))?;
    match volts {
        MotorVolts::V115 => None,
        MotorVolts::V200 => Some(row.1[0]),
        MotorVolts::V208 => Some(row.1[1]),
        MotorVolts::V230 => Some(row.1[2]),
        MotorVolts::V460 => Some(row.1[3]),
    }
}
