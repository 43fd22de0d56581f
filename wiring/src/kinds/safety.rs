//! Safety devices: switches, limits, cutoffs, detectors.
//!
//! Main contact 11-12: made while healthy, whatever makes it so. Flow and damper switches are open at rest and made by flow
//! or by the driven blade. A device with its own supply (L-N, or R-C at 24 V) whose contact is open at rest makes it through
//! an internal relay, so that loss of supply opens it as a trip does. The auxiliary contact 23-24 follows the main one and is
//! isolated from it.

use crate::{
    device::{Device, Kind, PlaceId},
    job::Safety,
    part::{Actuator, LoadUse, Part, Rest, T},
};
use heatwright_core::{
    SafetyId,
    config::{SafetyCircuit, SafetyKind, SafetyScope},
};

/// The main contact.
pub const MAIN: [&str; 2] = ["11", "12"];
/// The auxiliary contact.
pub const AUX: [&str; 2] = ["23", "24"];

/// Marks of the own supply at this voltage: live, return.
pub fn supply_marks(volts: f64) -> [&'static str; 2] {
    if volts > 60.0 { ["L", "N"] } else { ["R", "C"] }
}

/// What makes or breaks a safety's contact, and how it stands without that.
pub fn actuator(id: SafetyId, s: &Safety) -> (Actuator, Rest) {
    match (s.config.kind, s.config.scope) {
        (SafetyKind::FlowSwitch, SafetyScope::Boiler(b)) => (Actuator::Flow(b), Rest::Open),
        (SafetyKind::DamperSwitch, _) => (Actuator::DamperOpen, Rest::Open),
        _ => (Actuator::Trip(id), Rest::Closed),
    }
}

/// The safety device.
pub fn safety(tag: &str, id: SafetyId, label: &str, s: &Safety, place: PlaceId) -> Device {
    let mut d = Device::new(tag, Kind::Safety, place, label);
    let (by, rest) = actuator(id, s);
    let through_coil = match s.supply {
        Some(own) => {
            let [live, ret] = supply_marks(own.volts);
            let (a, b) = (d.terminal(live), d.terminal(ret));
            d.parts.push(Part::Load { a, b, what: LoadUse::SafetySupply(id), volts: own.volts, va: own.va });
            if s.rest == Rest::Open {
                d.parts.push(Part::Coil { a, b, number: 0, volts: own.volts, va: 0.0 });
            }
            s.rest == Rest::Open
        }
        None => false,
    };
    contact(&mut d, MAIN, by, rest, through_coil);
    if s.aux {
        contact(&mut d, AUX, by, rest, through_coil);
    }
    // A device that only alarms stands on Class 2 wiring, which carries no equipment ground.
    if s.config.circuit != SafetyCircuit::Alarm || s.supply.is_some_and(|p| p.volts > 60.0) {
        let ground = d.terminal_for("PE", 2);
        d.parts.push(Part::Chassis(ground));
    }
    d
}

/// The same on Class 2 wiring alone: such as a limit in a zone valve's 24 V. It carries no equipment ground.
pub fn on_class2_alone(mut d: Device) -> Device {
    d.parts.retain(|p| !matches!(p, Part::Chassis(_)));
    if d.terminals.last().is_some_and(|t| t.mark == "PE") {
        d.terminals.pop();
    }
    d
}

fn contact(d: &mut Device, marks: [&str; 2], by: Actuator, rest: Rest, through_coil: bool) {
    let (a, b) = (d.terminal(marks[0]), d.terminal(marks[1]));
    let from: T = if through_coil {
        let joint = d.inside(format!("{}-{} joint", marks[0], marks[1]));
        d.parts.push(Part::Contact { a, b: joint, rest: Rest::Open, by: Actuator::Coil(0) });
        joint
    } else {
        a
    };
    d.parts.push(Part::Contact { a: from, b, rest, by });
}
