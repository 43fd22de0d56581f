//! Size and protection of control transformers.
//!
//! Size: nameplate VA >= sum of sealed VA, and sqrt(sealed² + inrush²) <= what it gives at 90 % volts, with the inrush of everything that
//! may pull in together. Without the transformer's own curve its inrush capacity is taken as twice its nameplate (our choice, on
//! the careful side). Source of the rule: common practice in the trade, checked; no standard.
//! Protection: NFPA 70 450.3(B), checked: primary only 125 % (next size up) from 9 A, 167 % below 9 A, 300 % below 2 A; 430.72(C) up to 500 % below
//! 2 A in a motor controller. Class 2 transformers stand outside Article 450 (450.1).
//! Edges: values that are not positive numbers give `None`.

use super::{Source, Status, class2};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "450.3(B), 430.72(C)",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "the rule for inrush is common practice; twice the nameplate without a curve is our choice",
};

/// Nameplates that are made, volt-amperes (common practice, no source).
pub const NAMEPLATES_VA: [f64; 14] =
    [20.0, 40.0, 50.0, 75.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0, 500.0, 750.0, 1000.0, 1500.0];

/// Inrush that a transformer gives at 90 % volts, as a multiple of its nameplate, when its curve is unknown (our choice).
pub const INRUSH_MULTIPLE: f64 = 2.0;

/// What the transformer sees while coils pull in over what is already sealed, volt-amperes.
pub fn pull_in_va(sealed_va: f64, inrush_va: f64) -> f64 {
    sealed_va.hypot(inrush_va)
}

/// Whether a nameplate carries the load, with an inrush capacity in volt-amperes at 90 % volts.
pub fn carries(nameplate_va: f64, inrush_capacity_va: f64, sealed_va: f64, inrush_va: f64) -> bool {
    sealed_va <= nameplate_va && pull_in_va(sealed_va, inrush_va) <= inrush_capacity_va
}

/// The smallest nameplate for sealed load and inrush, volt-amperes, loaded to at most `share` (0 to 1) of it.
pub fn smallest_va(sealed_va: f64, inrush_va: f64, share: f64) -> Option<f64> {
    if !(sealed_va.is_finite() && inrush_va.is_finite() && sealed_va >= 0.0 && inrush_va >= 0.0 && share > 0.0) {
        return None;
    }
    NAMEPLATES_VA
        .into_iter()
        .find(|va| sealed_va <= share * va && carries(*va, INRUSH_MULTIPLE * va, sealed_va, inrush_va))
}

/// The smallest Class 2 nameplate, loaded to 80 %; `None` means: split the load over more than one supply.
pub fn smallest_class2_va(sealed_va: f64, inrush_va: f64) -> Option<f64> {
    smallest_va(sealed_va, inrush_va, class2::LOAD_SHARE).filter(|va| *va <= class2::VA_MAX)
}

/// Volts of a winding with nothing on it, U0 = U (1 + r): U its plate's volts, which it gives at its full volt-amperes, r its regulation as
/// a share of them.
pub fn unloaded_v(volts: f64, regulation: f64) -> f64 {
    volts * (1.0 + regulation)
}

/// Volts at its terminals with loads on it that take S volt-amperes at the plate's volts, of a plate Sn: U0 / (1 + r S / Sn). The loads are
/// resistances behind its inner one, as the meter readings have them; rated volts at its primary.
pub fn loaded_v(volts: f64, regulation: f64, plate_va: f64, va: f64) -> f64 {
    unloaded_v(volts, regulation) / (1.0 + regulation * va / plate_va)
}

/// Current of a motor that starts, times its full-load current (NEC Table 430.251 is near that, from memory).
pub const LOCKED_ROTOR: f64 = 6.0;

/// Rated current of a winding, amperes.
pub fn winding_amps(va: f64, volts: f64) -> Option<f64> {
    (volts > 0.0 && va > 0.0).then(|| va / volts)
}

/// A limit for an overcurrent device.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// Largest rating, amperes.
    pub amps: f64,
    /// Whether the next standard size up may be taken.
    pub next_size_up: bool,
}

/// 450.3(B): primary protection only.
pub fn primary_only(primary_amps: f64) -> Option<Limit> {
    if !(primary_amps.is_finite() && primary_amps > 0.0) {
        return None;
    }
    Some(match primary_amps {
        i if i >= 9.0 => Limit { amps: 1.25 * i, next_size_up: true },
        i if i >= 2.0 => Limit { amps: 1.67 * i, next_size_up: false },
        i => Limit { amps: 3.0 * i, next_size_up: false },
    })
}

/// 450.3(B): secondary protection, beside a primary of at most 250 %.
pub fn secondary(secondary_amps: f64) -> Option<Limit> {
    if !(secondary_amps.is_finite() && secondary_amps > 0.0) {
        return None;
    }
    Some(if secondary_amps >= 9.0 {
        Limit { amps: 1.25 * secondary_amps, next_size_up: true }
    } else {
        Limit { amps: 1.67 * secondary_amps, next_size_up: false }
    })
}

/// 430.72(C): primary device of a control transformer under 2 A, amperes; `None` from 2 A.
pub fn control_primary_amps(primary_amps: f64) -> Option<f64> {
    (primary_amps > 0.0 && primary_amps < 2.0).then_some(5.0 * primary_amps)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 24 V at 40 VA with 8 per cent stand at 25.92 V unloaded behind 0.08 x 24^2 / 40 = 1.152 ohm; 40 VA are 14.4 ohm, which
    /// leave 25.92 x 14.4 / 15.552 = 24 V, and 80 VA 7.2 ohm, which leave 25.92 x 7.2 / 8.352 = 22.345 V.
    #[test]
    fn the_plates_volts_stand_at_the_plates_load() {
        assert!((unloaded_v(24.0, 0.08) - 25.92).abs() < 1e-9);
        assert!((loaded_v(24.0, 0.08, 40.0, 40.0) - 24.0).abs() < 1e-9);
        assert!((loaded_v(24.0, 0.08, 40.0, 80.0) - 22.3448).abs() < 1e-3);
    }

    #[test]
    fn inrush_decides_where_sealed_load_would_not() {
        assert_eq!(smallest_va(15.0, 0.0, 1.0), Some(20.0));
        assert_eq!(smallest_va(15.0, 75.0, 1.0), Some(40.0));
        assert_eq!(smallest_class2_va(80.0, 0.0), Some(100.0));
        assert_eq!(smallest_class2_va(81.0, 0.0), None);
        assert_eq!(smallest_va(f64::NAN, 0.0, 1.0), None);
        assert_eq!(smallest_va(2000.0, 0.0, 1.0), None);
    }
}
