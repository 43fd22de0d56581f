//! Disconnect switches, lockable open, in their own metal box.
//!
//! Main contacts 1/L1-2/T1 ...; a grounded conductor passes through on terminal N, identified for two conductors; the box is
//! bonded at PE, identified for three.

use crate::{
    device::{Device, Kind, PlaceId},
    kinds::relay::main_pole,
    part::{Actuator, Part, Rest},
};

/// Auxiliary contact of a switch that tells the controller whether it is on.
pub const AUX: [&str; 2] = ["13", "14"];

/// A disconnect with so many poles; `neutral` adds the pass-through terminal.
pub fn disconnect(tag: &str, place: PlaceId, label: &str, poles: u8, neutral: bool, by: Actuator) -> Device {
    let mut d = Device::new(tag, Kind::Disconnect, place, label);
    for n in 1..=poles {
        let [line, load] = main_pole(n);
        let (a, b) = (d.terminal(line), d.terminal(load));
        d.parts.push(Part::Contact { a, b, rest: Rest::Closed, by });
    }
    if neutral {
        d.terminal_for("N", 2);
    }
    let ground = d.terminal_for("PE", 3);
    d.parts.push(Part::Chassis(ground));
    d
}

/// A disconnect without a box of its own: in an enclosure that is grounded already.
pub fn open_style(tag: &str, place: PlaceId, label: &str, poles: u8, by: Actuator) -> Device {
    let mut d = Device::new(tag, Kind::Disconnect, place, label);
    for n in 1..=poles {
        let [line, load] = main_pole(n);
        let (a, b) = (d.terminal(line), d.terminal(load));
        d.parts.push(Part::Contact { a, b, rest: Rest::Closed, by });
    }
    d
}

/// Splices of two control conductors that pass through the box: they share its raceway with the power of the same machine.
pub const THROUGH: [&str; 2] = ["C1", "C2"];

/// Adds these splices, which no pole of the switch opens.
pub fn add_through(d: &mut Device) {
    for mark in THROUGH {
        d.terminal_for(mark, 2);
    }
}

/// Adds the auxiliary contact, closed while the switch is on.
pub fn add_aux(d: &mut Device, by: Actuator) {
    let (a, b) = (d.terminal(AUX[0]), d.terminal(AUX[1]));
    d.parts.push(Part::Contact { a, b, rest: Rest::Closed, by });
}

/// Poles of the line, and auxiliary contacts.
pub fn poles(d: &Device) -> (usize, usize) {
    let on_aux = |t: crate::part::T| d.terminals.get(usize::from(t.0)).is_some_and(|t| AUX.contains(&t.mark.as_str()));
    let contacts = d.parts.iter().filter_map(|p| if let Part::Contact { a, .. } = p { Some(*a) } else { None });
    let (aux, main): (Vec<_>, Vec<_>) = contacts.partition(|a| on_aux(*a));
    (main.len(), aux.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use heatwright_core::BoilerId;

    #[test]
    fn an_auxiliary_contact_is_no_pole() {
        let by = Actuator::BoilerSwitchOff(BoilerId(0));
        let mut d = disconnect("QC1", PlaceId(0), "switch", 1, true, by);
        assert_eq!(poles(&d), (1, 0));
        add_aux(&mut d, by);
        assert_eq!(poles(&d), (1, 1));
        assert_eq!(poles(&disconnect("QB4", PlaceId(0), "switch", 3, false, Actuator::Opened)), (3, 0));
    }
}
