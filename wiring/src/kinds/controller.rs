//! The controller: relays, contact inputs, sensor inputs, 0-10 V outputs, its own 24 V supply.
//!
//! Marks: relay 3 is K3.11 (common), K3.12 (closed at rest), K3.14 (open at rest); input 3 is I3.1 and I3.2; sensor 3 is S3.1
//! and S3.2; output 3 is O3+ and O3-; the supply is 24V.1 and 24V.2. Relay contacts, inputs and outputs are isolated from
//! each other: no common is shared (our choice: two transformers cannot be joined through the board).

use crate::{
    device::{Device, Kind, PlaceId},
    part::{Actuator, LoadUse, Part, Rest},
};
use heatwright_core::{AnalogId, ContactId, Points, RelayId, SensorId};

/// Rated supply of the controller, volts.
pub const SUPPLY_V: f64 = 24.0;

/// The controller with a terminal for every point.
pub fn controller(tag: &str, place: PlaceId, points: &Points, va: f64) -> Device {
    let mut d = Device::new(tag, Kind::Controller, place, "controller");
    let (a, b) = (d.terminal("24V.1"), d.terminal("24V.2"));
    d.parts.push(Part::Load { a, b, what: LoadUse::Controller, volts: SUPPLY_V, va });
    for i in 0..points.relays.len() as u8 {
        let n = i + 1;
        let (common, closed, open) =
            (d.terminal(format!("K{n}.11")), d.terminal(format!("K{n}.12")), d.terminal(format!("K{n}.14")));
        let by = Actuator::Relay(RelayId(i));
        d.parts.push(Part::Contact { a: common, b: open, rest: Rest::Open, by });
        d.parts.push(Part::Contact { a: common, b: closed, rest: Rest::Closed, by });
    }
    for i in 0..points.contacts.len() as u8 {
        let (a, b) = (d.terminal(format!("I{}.1", i + 1)), d.terminal(format!("I{}.2", i + 1)));
        d.parts.push(Part::Input { a, b, contact: ContactId(i) });
    }
    for i in 0..points.sensors.len() as u8 {
        let (a, b) = (d.terminal(format!("S{}.1", i + 1)), d.terminal(format!("S{}.2", i + 1)));
        d.parts.push(Part::SensorInput { a, b, sensor: SensorId(i) });
    }
    for i in 0..points.analogs.len() as u8 {
        let (plus, minus) = (d.terminal(format!("O{}+", i + 1)), d.terminal(format!("O{}-", i + 1)));
        d.parts.push(Part::SignalOut { plus, minus, analog: AnalogId(i) });
    }
    d
}

/// Marks of a relay's common and its contact that is open at rest.
pub fn relay_open(r: RelayId) -> [String; 2] {
    [format!("K{}.11", r.0 + 1), format!("K{}.14", r.0 + 1)]
}

/// Marks of a relay's common and its contact that is closed at rest.
pub fn relay_closed(r: RelayId) -> [String; 2] {
    [format!("K{}.11", r.0 + 1), format!("K{}.12", r.0 + 1)]
}

/// Marks of a contact input.
pub fn input(c: ContactId) -> [String; 2] {
    [format!("I{}.1", c.0 + 1), format!("I{}.2", c.0 + 1)]
}

/// Marks of a sensor input.
pub fn sensor(s: SensorId) -> [String; 2] {
    [format!("S{}.1", s.0 + 1), format!("S{}.2", s.0 + 1)]
}

/// Marks of a 0-10 V output.
pub fn analog(a: AnalogId) -> [String; 2] {
    [format!("O{}+", a.0 + 1), format!("O{}-", a.0 + 1)]
}
