//! Correction of ampacity for an ambient other than 30 °C (86 °F).
//!
//! factor = sqrt((Tc - Ta) / (Tc - 30)), Tc = rated conductor temperature °C, Ta = ambient °C, printed for bands of 5 K.
//! Source: NFPA 70, Table 310.15(B)(1) (2023 prints it as 310.15(B)(1)(1)). The 75 °C and 90 °C columns were checked, the
//! 60 °C column is from memory and agrees with the formula to 0.01.
//! Edges: under 21 °C the factor of the band 21-25 °C is kept: no credit for a cold room (our choice). Above the last printed
//! band the answer is `None`: that insulation is not for that room. An ambient that is not a number gives `None`.

use super::{Source, Status, ampacity::Column};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Table 310.15(B)(1)",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "60 °C column from memory; no credit under 21 °C is our choice",
};

/// Upper end of the band in °C, then the factors for 60, 75 and 90 °C.
const BANDS: [(f64, [Option<f64>; 3]); 12] = [
    (25.0, [Some(1.08), Some(1.05), Some(1.04)]),
    (30.0, [Some(1.00), Some(1.00), Some(1.00)]),
    (35.0, [Some(0.91), Some(0.94), Some(0.96)]),
    (40.0, [Some(0.82), Some(0.88), Some(0.91)]),
    (45.0, [Some(0.71), Some(0.82), Some(0.87)]),
    (50.0, [Some(0.58), Some(0.75), Some(0.82)]),
    (55.0, [Some(0.41), Some(0.67), Some(0.76)]),
    (60.0, [None, Some(0.58), Some(0.71)]),
    (65.0, [None, Some(0.47), Some(0.65)]),
    (70.0, [None, Some(0.33), Some(0.58)]),
    (75.0, [None, None, Some(0.50)]),
    (80.0, [None, None, Some(0.41)]),
];

/// The factor for this ambient, °C.
pub fn factor(column: Column, ambient_c: f64) -> Option<f64> {
    BANDS.iter().find(|b| ambient_c <= b.0).and_then(|b| b.1[column as usize])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_follow_the_formula_at_their_upper_end() {
        for (top, factors) in BANDS {
            for (f, tc) in factors.iter().zip([60.0_f64, 75.0, 90.0]) {
                if let Some(f) = f {
                    let by_formula = ((tc - top) / (tc - 30.0)).sqrt();
                    assert!((f - by_formula).abs() < 0.011, "{top} °C, {tc} °C: {f} against {by_formula}");
                }
            }
        }
    }

    #[test]
    fn edges() {
        assert_eq!(factor(Column::C90, -40.0), Some(1.04));
        assert_eq!(factor(Column::C90, 30.1), Some(0.96));
        assert_eq!(factor(Column::C60, 56.0), None);
        assert_eq!(factor(Column::C90, 81.0), None);
        assert_eq!(factor(Column::C90, f64::NAN), None);
    }
}
