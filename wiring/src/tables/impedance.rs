//! Alternating-current resistance and reactance of copper in a raceway, ohm per 1000 ft at 75 °C, 60 Hz, 600 V.
//!
//! Effective impedance at a power factor: Z = R cos(phi) + X sin(phi).
//! Source: NFPA 70, Chapter 9, Table 9, three single conductors, checked for the sizes below; 18, 16, 3 and 1 AWG are not in this copy:
//! `None`.

use super::{Awg, Source, Status};
use serde::{Deserialize, Serialize};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Chapter 9 Table 9",
    editions: "2020, 2023",
    status: Status::Checked,
    remark: "sizes 3 and 1 AWG not copied",
};

/// What the raceway is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Raceway {
    /// PVC.
    Pvc,
    /// Steel, EMT included.
    Steel,
}

/// Size; reactance in PVC, in steel; resistance in PVC, in steel.
const TABLE: [(Awg, [f64; 4]); 11] = [
    (Awg::A14, [0.058, 0.073, 3.1, 3.1]),
    (Awg::A12, [0.054, 0.068, 2.0, 2.0]),
    (Awg::A10, [0.050, 0.063, 1.2, 1.2]),
    (Awg::A8, [0.052, 0.065, 0.78, 0.78]),
    (Awg::A6, [0.051, 0.064, 0.49, 0.49]),
    (Awg::A4, [0.048, 0.060, 0.31, 0.31]),
    (Awg::A2, [0.045, 0.057, 0.19, 0.20]),
    (Awg::A1_0, [0.044, 0.055, 0.12, 0.12]),
    (Awg::A2_0, [0.043, 0.054, 0.10, 0.10]),
    (Awg::A3_0, [0.042, 0.052, 0.077, 0.079]),
    (Awg::A4_0, [0.041, 0.051, 0.062, 0.063]),
];

/// Effective impedance, ohm per 1000 ft, at a power factor from 0 to 1.
pub fn effective_ohm_per_kft(awg: Awg, raceway: Raceway, power_factor: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&power_factor) {
        return None;
    }
    let row = TABLE.iter().find(|r| r.0 == awg)?.1;
    let (x, r) = match raceway {
        Raceway::Pvc => (row[0], row[2]),
        Raceway::Steel => (row[1], row[3]),
    };
    Some(r * power_factor + x * (1.0 - power_factor * power_factor).sqrt())
}
