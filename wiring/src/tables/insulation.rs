//! Area of insulated conductors, square inches, for raceway fill.
//!
//! Source: NFPA 70, Chapter 9, Table 5: THHN / THWN-2, 14 to 4/0 AWG checked; TFFN 18 and 16 AWG from memory.
//! Edges: a size that is not made in the type gives `None`.

use super::{Awg, Source, Status, ampacity::Column};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Chapter 9 Table 5",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "TFFN 18 and 16 AWG from memory",
};

/// Type of a single conductor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Insulation {
    /// THHN, also marked THWN-2: building wire, 90 °C.
    #[serde(rename = "THHN")]
    Thhn,
    /// TFFN: fixture wire for control, 18 and 16 AWG, 90 °C.
    #[serde(rename = "TFFN")]
    Tffn,
}

impl Insulation {
    /// Column of Table 310.16.
    pub const fn column(self) -> Column {
        Column::C90
    }

    /// As it is printed.
    pub const fn mark(self) -> &'static str {
        match self {
            Insulation::Thhn => "THHN",
            Insulation::Tffn => "TFFN",
        }
    }

    /// The type with this mark.
    pub fn from_mark(mark: &str) -> Option<Insulation> {
        [Insulation::Thhn, Insulation::Tffn].into_iter().find(|i| i.mark() == mark.trim())
    }
}

impl fmt::Display for Insulation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.mark())
    }
}

/// Area over the insulation, square inches.
pub fn area_in2(awg: Awg, insulation: Insulation) -> Option<f64> {
    match (insulation, awg) {
        (Insulation::Tffn, Awg::A18) => Some(0.0055),
        (Insulation::Tffn, Awg::A16) => Some(0.0072),
        (Insulation::Tffn, _) | (Insulation::Thhn, Awg::A18 | Awg::A16) => None,
        (Insulation::Thhn, Awg::A14) => Some(0.0097),
        (Insulation::Thhn, Awg::A12) => Some(0.0133),
        (Insulation::Thhn, Awg::A10) => Some(0.0211),
        (Insulation::Thhn, Awg::A8) => Some(0.0366),
        (Insulation::Thhn, Awg::A6) => Some(0.0507),
        (Insulation::Thhn, Awg::A4) => Some(0.0824),
        (Insulation::Thhn, Awg::A3) => Some(0.0973),
        (Insulation::Thhn, Awg::A2) => Some(0.1158),
        (Insulation::Thhn, Awg::A1) => Some(0.1562),
        (Insulation::Thhn, Awg::A1_0) => Some(0.1855),
        (Insulation::Thhn, Awg::A2_0) => Some(0.2223),
        (Insulation::Thhn, Awg::A3_0) => Some(0.2679),
        (Insulation::Thhn, Awg::A4_0) => Some(0.3237),
    }
}
