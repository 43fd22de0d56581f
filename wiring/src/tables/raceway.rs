//! How many conductors go into electrical metallic tubing (EMT).
//!
//! sum of conductor areas <= share x inner area (square inches): 53 % for one conductor, 31 % for two, 40 % for more, 60 % in a
//! nipple of 24 in or less. With conductors all of one size the calculated number is rounded up at a decimal of 0.8 (Note 7).
//! Equipment grounds count. Source: NFPA 70, Chapter 9, Tables 1 and 4: 53, 31, 40 % and the areas for 1/2 to 2 in checked; the
//! nipple and Note 7 from memory; the 31 % and 60 % areas are computed.
//! Edges: nothing to fill gives 1/2; more than a 2 in tube holds gives `None`; a conductor without an area gives `None`.

use super::{Awg, Insulation, Source, Status, insulation};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Chapter 9 Tables 1 and 4 (EMT)",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "60 % for nipples and Note 7 (round up at 0.8) are from memory",
};

/// Trade size of EMT.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Emt {
    /// 1/2 in.
    #[serde(rename = "1/2")]
    Half,
    /// 3/4 in.
    #[serde(rename = "3/4")]
    ThreeQuarter,
    /// 1 in.
    #[serde(rename = "1")]
    One,
    /// 1-1/4 in.
    #[serde(rename = "1-1/4")]
    OneQuarter,
    /// 1-1/2 in.
    #[serde(rename = "1-1/2")]
    OneHalf,
    /// 2 in.
    #[serde(rename = "2")]
    Two,
}

/// Size, mark, total area, area at 40 % and at 53 %, square inches.
const TABLE: [(Emt, &str, f64, f64, f64); 6] = [
    (Emt::Half, "1/2", 0.304, 0.122, 0.161),
    (Emt::ThreeQuarter, "3/4", 0.533, 0.213, 0.283),
    (Emt::One, "1", 0.864, 0.346, 0.458),
    (Emt::OneQuarter, "1-1/4", 1.496, 0.598, 0.793),
    (Emt::OneHalf, "1-1/2", 2.036, 0.814, 1.079),
    (Emt::Two, "2", 3.356, 1.342, 1.778),
];

impl Emt {
    /// All sizes, smallest first.
    pub fn all() -> impl Iterator<Item = Emt> {
        TABLE.iter().map(|r| r.0)
    }

    /// As it is printed, inches.
    pub fn mark(self) -> &'static str {
        TABLE[self as usize].1
    }

    /// Trade size, inches.
    pub const fn trade_in(self) -> f64 {
        match self {
            Self::Half => 0.5,
            Self::ThreeQuarter => 0.75,
            Self::One => 1.0,
            Self::OneQuarter => 1.25,
            Self::OneHalf => 1.5,
            Self::Two => 2.0,
        }
    }

    /// The size with this mark.
    pub fn from_mark(mark: &str) -> Option<Emt> {
        TABLE.iter().find(|r| r.1 == mark.trim()).map(|r| r.0)
    }

    /// Inner area, square inches.
    pub fn area_in2(self) -> f64 {
        TABLE[self as usize].2
    }

    /// Area that so many conductors may fill, square inches.
    pub fn usable_in2(self, conductors: usize, nipple: bool) -> f64 {
        let (_, _, total, at40, at53) = TABLE[self as usize];
        match conductors {
            _ if nipple => total * 0.60,
            0 | 1 => at53,
            2 => total * 0.31,
            _ => at40,
        }
    }
}

impl fmt::Display for Emt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.mark())
    }
}

/// Conductors of one size and type in a raceway.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fill {
    /// Size.
    pub awg: Awg,
    /// Type.
    pub insulation: Insulation,
    /// How many.
    pub count: usize,
}

/// Sum of areas, square inches; `None` if one conductor has no area in the table.
pub fn filled_in2(fills: &[Fill]) -> Option<f64> {
    fills.iter().map(|f| insulation::area_in2(f.awg, f.insulation).map(|a| a * f.count as f64)).sum()
}

/// Most conductors of one size, three or more, by Note 7.
pub fn most_of(emt: Emt, awg: Awg, insulation: Insulation) -> Option<usize> {
    let each = insulation::area_in2(awg, insulation)?;
    Some((emt.usable_in2(3, false) / each + 0.2 + 1e-9).floor() as usize)
}

/// Whether these conductors go into this tube.
pub fn fits(emt: Emt, fills: &[Fill], nipple: bool) -> Option<bool> {
    let count: usize = fills.iter().map(|f| f.count).sum();
    let filled = filled_in2(fills)?;
    if filled <= emt.usable_in2(count, nipple) + 1e-12 {
        return Some(true);
    }
    let mut used = fills.iter().filter(|f| f.count > 0);
    Some(match used.next() {
        Some(first)
            if count >= 3 && !nipple && used.all(|f| (f.awg, f.insulation) == (first.awg, first.insulation)) =>
        {
            most_of(emt, first.awg, first.insulation).is_some_and(|most| count <= most)
        }
        _ => false,
    })
}

/// The smallest tube for these conductors.
pub fn smallest_emt(fills: &[Fill], nipple: bool) -> Option<Emt> {
    filled_in2(fills)?;
    Emt::all().find(|e| fits(*e, fills, nipple) == Some(true))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn printed_shares_are_shares_of_the_area() {
        for (e, _, total, at40, at53) in TABLE {
            assert!((total * 0.40 - at40).abs() < 0.0011 && (total * 0.53 - at53).abs() < 0.0011, "{e}");
        }
    }

    #[test]
    fn edges() {
        let f = |awg, insulation, count| Fill { awg, insulation, count };
        assert_eq!(smallest_emt(&[], false), Some(Emt::Half));
        assert_eq!(smallest_emt(&[f(Awg::A18, Insulation::Thhn, 1)], false), None);
        assert_eq!(smallest_emt(&[f(Awg::A4_0, Insulation::Thhn, 20)], false), None);
        assert_eq!(smallest_emt(&[f(Awg::A12, Insulation::Thhn, 10)], false), Some(Emt::ThreeQuarter));
        assert_eq!(smallest_emt(&[f(Awg::A12, Insulation::Thhn, 10)], true), Some(Emt::Half));
    }
}
