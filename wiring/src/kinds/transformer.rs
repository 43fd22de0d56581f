//! Listed Class 2 transformers, 24 V.
//!
//! Primary H1-H2, secondary X1-X2. Inner resistance from a regulation of 8 per cent at full load (our choice, typical of
//! small Class 2 units): R = 0.08 U^2 / S, in ohm, volts and volt-amperes.

use crate::{
    device::{Device, Kind, PlaceId},
    part::Part,
};

/// Secondary voltage, volts.
pub const SECONDARY_V: f64 = 24.0;
/// Voltage drop at full load, as a share.
pub const REGULATION: f64 = 0.08;

/// A transformer whose secondary floats; metal case grounded at PE.
pub fn transformer(tag: &str, place: PlaceId, label: &str, primary_volts: f64, va: f64) -> Device {
    let mut d = Device::new(tag, Kind::Transformer, place, label);
    let primary = [d.terminal("H1"), d.terminal("H2")];
    let secondary = [d.terminal("X1"), d.terminal("X2")];
    d.parts.push(Part::Transformer {
        primary,
        secondary,
        primary_volts,
        secondary_volts: SECONDARY_V,
        ohm: REGULATION * SECONDARY_V * SECONDARY_V / va,
        va,
    });
    let ground = d.terminal("PE");
    d.parts.push(Part::Chassis(ground));
    d
}
