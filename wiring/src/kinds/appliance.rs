//! Condensate pump, alarm beacon, receptacles: single-phase 120 V, L-N-PE.
//!
//! A receptacle's screws are identified for feeding through to the next one.

use crate::{
    device::{Device, Kind, PlaceId},
    part::{LoadUse, Part},
};

/// A 120 V appliance.
pub fn appliance(tag: &str, kind: Kind, place: PlaceId, label: &str, what: LoadUse, va: f64) -> Device {
    let mut d = Device::new(tag, kind, place, label);
    let holds = if kind == Kind::Receptacle { 2 } else { 1 };
    let (a, b) = (d.terminal_for("L", holds), d.terminal_for("N", holds));
    d.parts.push(Part::Load { a, b, what, volts: 120.0, va });
    let ground = d.terminal_for("PE", holds);
    d.parts.push(Part::Chassis(ground));
    d
}
