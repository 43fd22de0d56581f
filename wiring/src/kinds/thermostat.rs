//! Room thermostats and aquastats.
//!
//! Two-wire: a dry contact between R and W. Powered: supply on R-C, the contact from R to W, so W is live with R's supply
//! while it calls (thermostat letters, from memory). Aquastats: 1-2, made when the water is hot (fan) or when the tank calls.

use crate::{
    device::{Device, Kind, PlaceId},
    part::{Actuator, LoadUse, Part, Rest},
};
use heatwright_core::ZoneId;

/// Contact of an aquastat.
pub const AQUASTAT: [&str; 2] = ["1", "2"];
/// Its second pole, where it has one.
pub const AQUASTAT_SECOND: [&str; 2] = ["3", "4"];

/// A two-wire thermostat.
pub fn two_wire(tag: &str, place: PlaceId, label: &str, z: ZoneId) -> Device {
    let mut d = Device::new(tag, Kind::Thermostat, place, label);
    let (a, b) = (d.terminal("R"), d.terminal("W"));
    d.parts.push(Part::Contact { a, b, rest: Rest::Open, by: Actuator::Call(z) });
    d
}

/// A powered thermostat.
pub fn powered(tag: &str, place: PlaceId, label: &str, z: ZoneId, va: f64) -> Device {
    let mut d = Device::new(tag, Kind::Thermostat, place, label);
    let (r, w, c) = (d.terminal("R"), d.terminal("W"), d.terminal("C"));
    d.parts.push(Part::Load { a: r, b: c, what: LoadUse::Thermostat(z), volts: 24.0, va });
    d.parts.push(Part::Contact { a: r, b: w, rest: Rest::Open, by: Actuator::Call(z) });
    d
}

/// A fan's aquastat in the coil circuit of its starter: a bonded box, one contact.
pub fn aquastat_in_control(tag: &str, place: PlaceId, label: &str, by: Actuator) -> Device {
    let mut d = aquastat(tag, place, label, by, None);
    let ground = d.terminal_for("PE", 2);
    d.parts.push(Part::Chassis(ground));
    d
}

/// An aquastat in the line of a fan between two ungrounded conductors: it opens both, so that a fan that stands is dead.
pub fn aquastat_two_pole(tag: &str, place: PlaceId, label: &str, by: Actuator) -> Device {
    let mut d = aquastat(tag, place, label, by, None);
    let (a, b) = (d.terminal(AQUASTAT_SECOND[0]), d.terminal(AQUASTAT_SECOND[1]));
    d.parts.push(Part::Contact { a, b, rest: Rest::Open, by });
    let ground = d.terminal_for("PE", 2);
    d.parts.push(Part::Chassis(ground));
    d
}

/// An aquastat. One in a line-voltage circuit has a bonded box and a terminal, marked so, on which the other conductor
/// passes through.
pub fn aquastat(tag: &str, place: PlaceId, label: &str, by: Actuator, passes: Option<&str>) -> Device {
    let mut d = Device::new(tag, Kind::Aquastat, place, label);
    let (a, b) = (d.terminal(AQUASTAT[0]), d.terminal(AQUASTAT[1]));
    d.parts.push(Part::Contact { a, b, rest: Rest::Open, by });
    if let Some(mark) = passes {
        d.terminal_for(mark, 2);
        let ground = d.terminal_for("PE", 2);
        d.parts.push(Part::Chassis(ground));
    }
    d
}
