//! Adjustment of ampacity for more than three current-carrying conductors in one raceway or cable.
//!
//! Source: NFPA 70-2020 and -2023, Table 310.15(C)(1), checked. The neutral of a two-wire circuit counts; an equipment ground
//! does not. Not applied in a nipple of 24 in or less (310.15(C)(1)(b), from memory).

use super::{Source, Status};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Table 310.15(C)(1)",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "the exemption of nipples up to 24 in is from memory",
};

/// Longest raceway that counts as a nipple, feet (24 in).
pub const NIPPLE_MAX_FT: f64 = 2.0;

/// Share of its ampacity up to which a control conductor beside power conductors does not count: the factors apply to the power
/// conductors alone (NEC 310.15(C)(1); 725.51(B)(2) of 2020, from memory).
pub const CONTROL_SHARE: f64 = 0.1;

/// True where a control conductor counts beside power conductors: more than a tenth of its ampacity.
pub fn control_counts(amps: f64, ampacity: f64) -> bool {
    amps > CONTROL_SHARE * ampacity
}

/// The factor for so many current-carrying conductors in one raceway.
pub fn factor(current_carrying: usize) -> f64 {
    match current_carrying {
        0..=3 => 1.0,
        4..=6 => 0.80,
        7..=9 => 0.70,
        10..=20 => 0.50,
        21..=30 => 0.45,
        31..=40 => 0.40,
        _ => 0.35,
    }
}
