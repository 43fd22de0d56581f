//! Size of the equipment grounding conductor, copper.
//!
//! By the rating of the overcurrent device (Table 250.122, next row up); if the ungrounded conductors were made larger than
//! their load needs, the ground grows by the same ratio of circular mils (250.122(B)), never past the circuit conductors
//! themselves (250.122(A)). Table checked; (A) and (B) from memory. Range: up to 1200 A.

use super::{Awg, Source, Status};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Table 250.122",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "250.122(A) and (B) from memory",
};

const TABLE: [(f64, Awg); 13] = [
    (15.0, Awg::A14),
    (20.0, Awg::A12),
    (30.0, Awg::A10),
    (40.0, Awg::A10),
    (60.0, Awg::A10),
    (100.0, Awg::A8),
    (200.0, Awg::A6),
    (300.0, Awg::A4),
    (400.0, Awg::A3),
    (500.0, Awg::A2),
    (600.0, Awg::A1),
    (800.0, Awg::A1_0),
    (1000.0, Awg::A2_0),
];

/// The table's size for a device of so many amperes.
pub fn by_device(device_amps: f64) -> Option<Awg> {
    if !(device_amps.is_finite() && device_amps > 0.0) {
        return None;
    }
    if device_amps > 1000.0 {
        return (device_amps <= 1200.0).then_some(Awg::A3_0);
    }
    TABLE.iter().find(|r| r.0 >= device_amps).map(|r| r.1)
}

/// The size for a device and for circuit conductors that are `used` where the load alone `needed` less.
///
/// `needed` at or above `used` means nothing was upsized. The answer is never larger than `used`.
pub fn size(device_amps: f64, needed: Awg, used: Awg) -> Option<Awg> {
    let base = by_device(device_amps)?;
    let ratio = (used.cmil() / needed.cmil()).max(1.0);
    let grown = if ratio > 1.0 { Awg::at_least_cmil(base.cmil() * ratio) } else { Some(base) };
    // 250.122(A): not required to be larger than the circuit conductors; past the tables that cap answers too.
    Some(grown.unwrap_or(used).min(used.max(Awg::A14)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges() {
        assert_eq!(by_device(0.0), None);
        assert_eq!(by_device(f64::NAN), None);
        assert_eq!(by_device(1300.0), None);
        assert_eq!(by_device(10.0), Some(Awg::A14));
        assert_eq!(by_device(25.0), Some(Awg::A10));
    }

    #[test]
    fn never_larger_than_the_circuit_conductors() {
        // A 30 A motor circuit on 14 AWG conductors (430.52 allows it): the ground stays 14 AWG.
        assert_eq!(size(30.0, Awg::A14, Awg::A14), Some(Awg::A14));
        assert_eq!(size(20.0, Awg::A12, Awg::A12), Some(Awg::A12));
    }
}
