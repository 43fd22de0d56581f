//! Protection and secondary conductors of a dry-type transformer between two panelboards.
//!
//! With I1 and I2 the rated currents of primary and secondary, amperes: NFPA 70 450.3(B), checked: a primary device of at most 250 %
//! I1 where a secondary device of at most 125 % I2 (next standard size up) stands behind it. Closed in, a dry type draws for a tenth of a
//! second up to k I1, k = [`INRUSH`]; a breaker of rating In holds m In so long, m = [`MAGNETIC`] (both common practice, no source; the
//! maker's curves decide). Chosen: primary the smallest standard size of (k / m) I1 or more, or the largest allowed where that is less;
//! secondary the smallest of 125 % I2 or more, which carries full load all day (our choice).
//!
//! Secondary conductors, 240.21(C), from memory: ampacity at least the device at their end, never the next size up; to 10 ft at least a
//! tenth, to 25 ft at least a third of the primary device times the ratio of volts; over 25 ft not planned.

use super::{Edition, Source, Status, standard, transformer};

/// Where the rules come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "450.3(B), 240.21(C)(2), 240.21(C)(6)",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "240.21(C) from memory",
};

/// Longest secondary conductors that can be planned, feet (240.21(C)(6)).
pub const SECONDARY_FT_MAX: f64 = 25.0;
/// Up to here 240.21(C)(2) holds, feet.
pub const SHORT_FT: f64 = 10.0;
/// Largest primary device, of the rated primary current.
pub const PRIMARY_SHARE_MAX: f64 = 2.5;

/// Closing-in current of a dry-type transformer, times its rated primary current (common practice, no source).
pub const INRUSH: f64 = 12.0;
/// Least magnetic trip of usual breakers, times their rating (common practice, no source).
pub const MAGNETIC: f64 = 6.0;

/// A device with the largest that is allowed in its place, amperes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Device {
    /// Chosen.
    pub amps: f64,
    /// Largest.
    pub most: f64,
}

/// The primary device; `None` past the standard sizes.
pub fn primary(rated_a: f64, edition: Edition) -> Option<Device> {
    let most = standard::breaker_at_most(PRIMARY_SHARE_MAX * rated_a, edition)?;
    let full_load = standard::breaker_at_least(1.25 * rated_a, edition)?.max(15.0);
    let closes = standard::breaker_at_least(INRUSH / MAGNETIC * rated_a, edition).unwrap_or(most);
    (full_load <= most).then_some(Device { amps: closes.max(full_load).min(most), most })
}

/// True where a breaker of so many amperes holds while the transformer is closed in.
pub fn holds_inrush(device_a: f64, rated_a: f64) -> bool {
    MAGNETIC * device_a >= INRUSH * rated_a
}

/// The secondary device; `None` past the standard sizes.
pub fn secondary(rated_a: f64, edition: Edition) -> Option<Device> {
    let limit = transformer::secondary(rated_a)?;
    let most = if limit.next_size_up {
        standard::breaker_at_least(limit.amps, edition)
    } else {
        standard::breaker_at_most(limit.amps, edition)
    }?;
    let amps = standard::breaker_at_least(1.25 * rated_a, edition)?.max(15.0).min(most);
    (amps >= rated_a).then_some(Device { amps, most })
}

/// Least ampacity of secondary conductors, amperes; `ratio` is primary over secondary volts. `None` over 25 ft.
pub fn secondary_ampacity(device_a: f64, primary_device_a: f64, ratio: f64, length_ft: f64) -> Option<f64> {
    let share = match length_ft {
        l if l <= SHORT_FT => 0.1,
        l if l <= SECONDARY_FT_MAX => 1.0 / 3.0,
        _ => return None,
    };
    Some(device_a.max(share * primary_device_a * ratio))
}

/// Short-circuit current that a transformer lets through behind a stiff primary, kA: 100 S / (z U), with S in
/// volt-amperes, z in per cent and U the secondary's line volts.
pub fn let_through_ka(va: f64, impedance_percent: f64, volts: f64) -> Option<f64> {
    let ka = 100.0 * va / (impedance_percent * volts) / 1000.0;
    (ka.is_finite() && ka > 0.0).then_some(ka)
}

#[cfg(test)]
mod tests {
    use super::*;

    const E: Edition = Edition::Nec2023;

    /// 450.3(B) on 25 kVA, 480 V to 120/240 V: I1 = 52.1 A, I2 = 104.2 A (calculated from the rule); 200 % of I1 is 104.2 A.
    #[test]
    fn devices_of_25_kva() {
        assert_eq!(primary(25_000.0 / 480.0, E), Some(Device { amps: 110.0, most: 125.0 }));
        // 125 % of 104.2 A is 130.2 A, the next size up 150 A.
        assert_eq!(secondary(25_000.0 / 240.0, E), Some(Device { amps: 150.0, most: 150.0 }));
    }

    #[test]
    fn small_ones_keep_to_their_limits() {
        // 5 kVA: I1 = 10.4 A, 250 % = 26.0 A; 15 A would let go at 90 A, and 125 A come in.
        assert_eq!(primary(5000.0 / 480.0, E), Some(Device { amps: 25.0, most: 25.0 }));
        assert!(holds_inrush(25.0, 5000.0 / 480.0) && !holds_inrush(15.0, 5000.0 / 480.0));
        // 3 kVA: I1 = 6.25 A, 250 % = 15.6 A; I2 = 12.5 A.
        assert_eq!(primary(6.25, E), Some(Device { amps: 15.0, most: 15.0 }));
        // 2 kVA: 250 % of 4.17 A is 10.4 A: no breaker of 15 A may stand there.
        assert_eq!(primary(2000.0 / 480.0, E), None);
        assert_eq!(secondary(f64::NAN, E), None);
    }

    /// 240.21(C)(2) and (6), from memory: a third of 70 A x 2 is 46.7 A, a tenth 14 A; the device at the end governs.
    #[test]
    fn secondary_conductors_by_length() {
        assert_eq!(secondary_ampacity(110.0, 70.0, 2.0, 10.0), Some(110.0));
        assert_eq!(secondary_ampacity(15.0, 70.0, 2.0, 10.0), Some(15.0));
        let long = secondary_ampacity(15.0, 70.0, 2.0, 11.0).unwrap();
        assert!((long - 140.0 / 3.0).abs() < 1e-9);
        assert_eq!(secondary_ampacity(110.0, 70.0, 2.0, 26.0), None);
    }

    /// 25 kVA, 4 %, 240 V: 104.2 A / 0.04 = 2.60 kA (calculated).
    #[test]
    fn the_impedance_limits_the_short_circuit() {
        assert!((let_through_ka(25_000.0, 4.0, 240.0).unwrap() - 2.604).abs() < 1e-3);
        assert_eq!(let_through_ka(25_000.0, 0.0, 240.0), None);
    }
}
