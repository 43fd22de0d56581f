//! Condensate pump, alarm beacon, receptacles: single-phase 120 V, L-N-PE.
//!
//! A receptacle's screws are identified for feeding through to the next one. One with ground-fault protection opens both of
//! its own conductors when it trips; what is fed through from its line screws has to have its own.

use crate::{
    device::{Device, Kind, PlaceId},
    part::{Actuator, LoadUse, Part, Rest},
};

/// A receptacle, with or without ground-fault protection for personnel in it.
pub fn receptacle(tag: &str, place: PlaceId, label: &str, va: f64, ground_fault: bool) -> Device {
    let mut d = appliance(tag, Kind::Receptacle, place, label, LoadUse::Receptacle, va);
    if ground_fault {
        let slots = [d.inside("L slot"), d.inside("N slot")];
        for part in &mut d.parts {
            if let Part::Load { a, b, .. } = part {
                let screws = [*a, *b];
                [*a, *b] = slots;
                let contact = |i: usize| Part::Contact {
                    a: screws[i],
                    b: slots[i],
                    rest: Rest::Closed,
                    by: Actuator::GroundFault,
                };
                let contacts = [contact(0), contact(1)];
                d.parts.extend(contacts);
                break;
            }
        }
    }
    d
}

/// True for a device that trips on a ground fault by itself.
pub fn trips_on_ground_fault(d: &Device) -> bool {
    let poles = d.parts.iter().filter(|p| matches!(p, Part::Contact { by: Actuator::GroundFault, .. })).count();
    poles >= 2
}

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
