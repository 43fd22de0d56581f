//! Bonding jumpers and the grounding electrode conductor of a separately derived system, copper.
//!
//! System and supply-side bonding jumpers: NFPA 70 Table 250.102(C)(1); grounding electrode conductor: Table 250.66, by the
//! largest ungrounded conductor of the secondary: to 2 AWG 8 AWG, to 1/0 6 AWG, to 3/0 4 AWG, above (to 350 kcmil) 2 AWG. Both
//! tables give the same sizes that far. From memory, like 250.30(A)(1), (2), (5) and 250.28(D).
//! Range: secondaries of 14 AWG to 4/0 AWG, one conductor a phase.

use super::{Awg, Source, Status};

/// Where the sizes come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Table 250.102(C)(1), Table 250.66",
    editions: "2020, 2023",
    status: Status::Memory,
    remark: "both tables from memory",
};

/// Bonding jumper or electrode conductor for a secondary of this size.
pub fn size(secondary: Awg) -> Awg {
    match secondary {
        a if a <= Awg::A2 => Awg::A8,
        a if a <= Awg::A1_0 => Awg::A6,
        a if a <= Awg::A3_0 => Awg::A4,
        _ => Awg::A2,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NFPA 70 Tables 250.66 and 250.102(C)(1), from memory.
    #[test]
    fn sizes_step_with_the_secondary() {
        for (secondary, want) in [
            (Awg::A8, Awg::A8),
            (Awg::A2, Awg::A8),
            (Awg::A1, Awg::A6),
            (Awg::A1_0, Awg::A6),
            (Awg::A2_0, Awg::A4),
            (Awg::A3_0, Awg::A4),
            (Awg::A4_0, Awg::A2),
        ] {
            assert_eq!(size(secondary), want, "{secondary}");
        }
    }
}
