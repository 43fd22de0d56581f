//! Control relays, contactors and starters.
//!
//! Relay: coil A1-A2, change-over contacts 11-12-14, 21-22-24 ... (EN 50005). Contactor: coil A1-A2, main contacts 1/L1-2/T1,
//! 3/L2-4/T2, 5/L3-6/T3. Starter: a contactor whose overload carries the auxiliary contact 95-96, closed at rest, which is
//! wired in the coil circuit by rows like any other contact.

use crate::{
    device::{Device, Kind, PlaceId},
    part::{Actuator, Part, Rest},
};

/// Sealed volt-amperes of a control relay's coil (typical, our choice).
pub const RELAY_COIL_VA: f64 = 2.8;
/// Sealed volt-amperes of a small contactor's coil (typical, our choice).
pub const CONTACTOR_COIL_VA: f64 = 9.0;
/// Inrush volt-amperes of a small contactor's coil: about seven times sealed (common practice, 5 to 10 times).
pub const CONTACTOR_INRUSH_VA: f64 = 63.0;

/// A control relay with so many change-over contacts.
pub fn relay(tag: &str, place: PlaceId, label: &str, volts: f64, poles: u8) -> Device {
    let mut d = Device::new(tag, Kind::Relay, place, label);
    coil(&mut d, volts, RELAY_COIL_VA);
    for n in 1..=poles {
        let (common, closed, open) =
            (d.terminal(format!("{n}1")), d.terminal(format!("{n}2")), d.terminal(format!("{n}4")));
        let by = Actuator::Coil(0);
        d.parts.push(Part::Contact { a: common, b: open, rest: Rest::Open, by });
        d.parts.push(Part::Contact { a: common, b: closed, rest: Rest::Closed, by });
    }
    d
}

/// Marks of the contact of a pole (from 1) that is open at rest.
pub fn pole_open(n: u8) -> [String; 2] {
    [format!("{n}1"), format!("{n}4")]
}

/// A contactor.
pub fn contactor(tag: &str, place: PlaceId, label: &str, volts: f64, poles: u8) -> Device {
    let mut d = Device::new(tag, Kind::Contactor, place, label);
    coil(&mut d, volts, CONTACTOR_COIL_VA);
    mains(&mut d, poles);
    d
}

/// A contactor with overload relay: three poles, whatever the motor, as stock starters have (common practice, no source). For the poles
/// that a phase passes see [`starter_poles`].
pub fn starter(tag: &str, place: PlaceId, label: &str, volts: f64, trips: Actuator) -> Device {
    let mut d = contactor(tag, place, label, volts, 3);
    d.kind = Kind::Starter;
    let (a, b) = (d.terminal("95"), d.terminal("96"));
    d.parts.push(Part::Contact { a, b, rest: Rest::Closed, by: trips });
    d
}

/// Puts a contactor or starter into a metal box of its own, bonded at PE: one that stands at its machine and not in a panel. Two of its line
/// terminals take the primary of its control transformer too, which stands in the box with it.
pub fn in_own_box(d: &mut Device) {
    let ground = d.terminal_for("PE", 4);
    d.parts.push(Part::Chassis(ground));
}

/// True for a contactor or starter in a box of its own.
pub fn has_own_box(d: &Device) -> bool {
    matches!(d.kind, Kind::Contactor | Kind::Starter) && d.parts.iter().any(|p| matches!(p, Part::Chassis(_)))
}

/// Poles (from 1) of a starter that phase `n` (from 0) of a motor with so many ungrounded conductors passes, one behind the other. A
/// three-pole overload relay that sees no current in a pole takes it for a lost phase, and one that sees it in one pole of three trips
/// late: the current of a single-phase motor goes through all three (common practice, no source).
pub fn starter_poles(phases: usize, n: usize) -> std::ops::RangeInclusive<u8> {
    match (phases, n) {
        (1, _) => 1..=3,
        (2, 0) => 1..=1,
        (2, _) => 2..=3,
        _ => n as u8 + 1..=n as u8 + 1,
    }
}

/// Marks of main pole `n` (from 1): line side, load side.
pub fn main_pole(n: u8) -> [String; 2] {
    [format!("{}/L{n}", 2 * n - 1), format!("{}/T{n}", 2 * n)]
}

fn coil(d: &mut Device, volts: f64, va: f64) {
    let (a, b) = (d.terminal("A1"), d.terminal("A2"));
    d.parts.push(Part::Coil { a, b, number: 0, volts, va });
}

fn mains(d: &mut Device, poles: u8) {
    for n in 1..=poles {
        let [line, load] = main_pole(n);
        let (a, b) = (d.terminal(line), d.terminal(load));
        d.parts.push(Part::Contact { a, b, rest: Rest::Open, by: Actuator::Coil(0) });
    }
}
