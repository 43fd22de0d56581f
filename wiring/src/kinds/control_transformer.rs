//! Control transformer of one starter: line volts to 120 V for that starter's own coil circuit.
//!
//! Primary by [`primary_marks`], secondary X1-X2; X2 is grounded at its own frame by a jumper that the schedule lists (NEC 250.20(B)(1), from
//! memory). Fuse clips stand on the transformer and are part of it: one ahead of each end of the primary, one behind X1.
//!
//! Size: [`VA`], the smallest usual one (common practice, no source): the coil pulls in with [`pull_in_va`], below twice the
//! plate. Inner resistance from a regulation of 8 per cent at full load (our choice, typical of 50 VA): R = 0.08 U^2 / S, in
//! ohm, volts and volt-amperes.
//!
//! Fuses: primary at most 500 % of the primary current where that is below 2 A (NEC 430.72(C)(4)), secondary at most 167 %
//! (450.3(B) below 9 A; the secondary fuse is common practice, the code does not ask for it behind such a primary one).

use super::primary_marks;
use crate::{
    device::{Device, Kind, PlaceId},
    kinds::relay::{CONTACTOR_COIL_VA, CONTACTOR_INRUSH_VA},
    part::Part,
    tables::transformer,
};

/// Nameplate, volt-amperes.
pub const VA: f64 = 50.0;
/// Secondary voltage, volts.
pub const SECONDARY_V: f64 = 120.0;
/// Voltage drop at full load, as a share.
pub const REGULATION: f64 = 0.08;
/// Usual fuses, amperes (common practice, no source).
const FUSES_A: [f64; 12] = [0.1, 0.125, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.75, 0.8, 1.0, 1.25];

/// A transformer for one starter's coil; metal frame grounded at PE, the grounded side X2 on it.
pub fn control_transformer(tag: &str, place: PlaceId, label: &str, primary_volts: f64) -> Device {
    let mut d = Device::new(tag, Kind::ControlTransformer, place, label);
    let primary = primary_marks(primary_volts).map(|m| d.terminal(m));
    let x1 = d.terminal("X1");
    // The coil's return and the jumper to the frame.
    let x2 = d.terminal_for("X2", 2);
    d.parts.push(Part::Transformer {
        primary,
        secondary: [x1, x2],
        primary_volts,
        secondary_volts: SECONDARY_V,
        ohm: REGULATION * SECONDARY_V * SECONDARY_V / VA,
        va: VA,
    });
    let ground = d.terminal_for("PE", 2);
    d.parts.extend([Part::Chassis(ground), Part::Chassis(x2)]);
    d
}

/// Volt-amperes while the contactor pulls in.
pub fn pull_in_va() -> f64 {
    transformer::pull_in_va(CONTACTOR_COIL_VA, CONTACTOR_INRUSH_VA)
}

/// The largest usual fuse of each primary conductor and of the secondary, amperes.
pub fn fuses_a(primary_volts: f64) -> [f64; 2] {
    let fits = |most: f64| FUSES_A.into_iter().rfind(|a| *a <= most + 1e-9).unwrap_or(FUSES_A[0]);
    let primary = transformer::control_primary_amps(VA / primary_volts).unwrap_or(0.0);
    let secondary = transformer::secondary(VA / SECONDARY_V).map_or(0.0, |l| l.amps);
    [fits(primary), fits(secondary)]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NFPA 70 430.72(C)(4): 50 VA at 480 V draw 0.104 A, so 0.52 A at most; 450.3(B): 0.417 A, so 0.696 A at most.
    #[test]
    fn fuses_stay_within_the_code() {
        assert_eq!(fuses_a(480.0), [0.5, 0.6]);
        // 208 V: 0.240 A, 1.20 A at most.
        assert_eq!(fuses_a(208.0), [1.0, 0.6]);
    }

    #[test]
    fn the_coil_pulls_in_within_twice_the_plate() {
        assert!(pull_in_va() <= VA * transformer::INRUSH_MULTIPLE);
        // And with no less than the 85 per cent that a contactor needs.
        assert!(1.0 - REGULATION * pull_in_va() / VA > 0.85);
    }
}
