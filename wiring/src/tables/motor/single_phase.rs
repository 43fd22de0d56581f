//! Full-load current of single-phase alternating-current motors, amperes.
//!
//! Source: NFPA 70-2020 and -2023, Table 430.248, checked. Range 1/6 to 10 hp at 115, 200, 208, 230 V.

use super::{MotorVolts, is_row};
use crate::tables::{Source, Status};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Table 430.248",
    editions: "2020, 2023",
    status: Status::Checked,
    remark: "",
};

/// Horsepower; amperes at 115, 200, 208, 230 V.
const TABLE: [(f64, [f64; 4]); 12] = [
    (1.0 / 6.0, [4.4, 2.5, 2.4, 2.2]),
    (1.0 / 4.0, [5.8, 3.3, 3.2, 2.9]),
    (1.0 / 3.0, [7.2, 4.1, 4.0, 3.6]),
    (1.0 / 2.0, [9.8, 5.6, 5.4, 4.9]),
    (3.0 / 4.0, [13.8, 7.9, 7.6, 6.9]),
    (1.0, [16.0, 9.2, 8.8, 8.0]),
    (1.5, [20.0, 11.5, 11.0, 10.0]),
    (2.0, [24.0, 13.8, 13.2, 12.0]),
    (3.0, [34.0, 19.6, 18.7, 17.0]),
    (5.0, [56.0, 32.2, 30.8, 28.0]),
    (7.5, [80.0, 46.0, 44.0, 40.0]),
    (10.0, [100.0, 57.5, 55.0, 50.0]),
];

/// Table current, amperes.
pub fn amps(hp: f64, volts: MotorVolts) -> Option<f64> {
    let column = match volts {
        MotorVolts::V115 => 0,
        MotorVolts::V200 => 1,
        MotorVolts::V208 => 2,
        MotorVolts::V230 => 3,
        MotorVolts::V460 => return None,
    };
    TABLE.iter().find(|r| is_row(hp, r.0)).map(|r| r.1[column])
}
