//! Published figures of raceway fill.
//!
//! Source: NFPA 70, Chapter 9, Tables 1, 4 (EMT) and 5 by public transcriptions; TFFN and Note 7 from memory; counts calculated.

use heatwright_wiring::tables::{
    Awg, Insulation, insulation,
    raceway::{Emt, Fill, most_of, smallest_emt},
};

/// Chapter 9 Table 4, EMT: total, 40 % and 53 % areas, square inches.
#[test]
fn emt_areas() {
    for (emt, total, at40, at53) in [
        (Emt::Half, 0.304, 0.122, 0.161),
        (Emt::ThreeQuarter, 0.533, 0.213, 0.283),
        (Emt::One, 0.864, 0.346, 0.458),
        (Emt::OneQuarter, 1.496, 0.598, 0.793),
        (Emt::OneHalf, 2.036, 0.814, 1.079),
        (Emt::Two, 3.356, 1.342, 1.778),
    ] {
        assert_eq!(emt.area_in2(), total);
        assert_eq!(emt.usable_in2(3, false), at40);
        assert_eq!(emt.usable_in2(1, false), at53);
        // Table 1: 31 % for two; 60 % in a nipple (from memory).
        assert!((emt.usable_in2(2, false) - 0.31 * total).abs() < 1e-12);
        assert!((emt.usable_in2(3, true) - 0.60 * total).abs() < 1e-12);
    }
}

/// Chapter 9 Table 5: THHN / THWN-2; TFFN from memory.
#[test]
fn conductor_areas() {
    for (mark, area) in [
        ("14", 0.0097),
        ("12", 0.0133),
        ("10", 0.0211),
        ("8", 0.0366),
        ("6", 0.0507),
        ("4", 0.0824),
        ("3", 0.0973),
        ("2", 0.1158),
        ("1", 0.1562),
        ("1/0", 0.1855),
        ("2/0", 0.2223),
        ("3/0", 0.2679),
        ("4/0", 0.3237),
    ] {
        assert_eq!(insulation::area_in2(mark.parse().unwrap(), Insulation::Thhn), Some(area), "{mark} AWG");
    }
    assert_eq!(insulation::area_in2(Awg::A18, Insulation::Tffn), Some(0.0055));
    assert_eq!(insulation::area_in2(Awg::A16, Insulation::Tffn), Some(0.0072));
}

/// Counts calculated from Tables 4 and 5 with Note 7: a decimal of 0.8 or more rounds up.
#[test]
fn counts() {
    for (emt, awg, insulation, want) in [
        (Emt::Half, Awg::A14, Insulation::Thhn, 12),
        (Emt::Half, Awg::A12, Insulation::Thhn, 9),
        (Emt::Half, Awg::A10, Insulation::Thhn, 5),
        (Emt::Half, Awg::A18, Insulation::Tffn, 22),
        (Emt::Half, Awg::A16, Insulation::Tffn, 17),
        (Emt::ThreeQuarter, Awg::A12, Insulation::Thhn, 16),
    ] {
        assert_eq!(most_of(emt, awg, insulation), Some(want), "{awg} AWG {insulation} in {emt}");
        let fill = |count| [Fill { awg, insulation, count }];
        assert_eq!(smallest_emt(&fill(want), false), Some(emt));
        assert!(smallest_emt(&fill(want + 1), false) > Some(emt));
    }
}
