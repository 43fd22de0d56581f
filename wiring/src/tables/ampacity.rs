//! Ampacity of insulated copper conductors, amperes, by temperature rating of the insulation or of the terminals.
//!
//! Source: NFPA 70-2020 and -2023, Table 310.16: not more than three current-carrying conductors in a raceway, 30 °C (86 °F)
//! ambient. 14 AWG to 4/0 AWG and the 90 °C figures of 18 and 16 AWG checked against a public transcription.
//! Edges: 18 and 16 AWG have no 60 °C or 75 °C figure, so the answer is `None`.

use super::{Awg, Source, Status};
use serde::{Deserialize, Serialize};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Table 310.16",
    editions: "2020, 2023",
    status: Status::Checked,
    remark: "",
};

/// A column of the table: temperature rating, °C.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Column {
    /// 60 °C.
    #[serde(rename = "60")]
    C60,
    /// 75 °C.
    #[serde(rename = "75")]
    C75,
    /// 90 °C.
    #[serde(rename = "90")]
    C90,
}

const TABLE: [(Awg, [u16; 3]); 13] = [
    (Awg::A14, [15, 20, 25]),
    (Awg::A12, [20, 25, 30]),
    (Awg::A10, [30, 35, 40]),
    (Awg::A8, [40, 50, 55]),
    (Awg::A6, [55, 65, 75]),
    (Awg::A4, [70, 85, 95]),
    (Awg::A3, [85, 100, 115]),
    (Awg::A2, [95, 115, 130]),
    (Awg::A1, [110, 130, 145]),
    (Awg::A1_0, [125, 150, 170]),
    (Awg::A2_0, [145, 175, 195]),
    (Awg::A3_0, [165, 200, 225]),
    (Awg::A4_0, [195, 230, 260]),
];

/// Ampacity before any correction, amperes.
pub fn amps(awg: Awg, column: Column) -> Option<f64> {
    match (awg, column) {
        (Awg::A18, Column::C90) => Some(14.0),
        (Awg::A16, Column::C90) => Some(18.0),
        _ => TABLE.iter().find(|r| r.0 == awg).map(|r| f64::from(r.1[column as usize])),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grows_with_size_and_with_temperature() {
        for w in TABLE.windows(2) {
            for c in 0..3 {
                assert!(w[0].1[c] < w[1].1[c], "{} {}", w[0].0, w[1].0);
            }
            assert!(w[0].1[0] < w[0].1[1] && w[0].1[1] < w[0].1[2]);
        }
    }
}
