//! The terminals of a building-automation system that reads a contact of ours.
//!
//! Marks 1 and 2. The other system's own supply, a floating one, stands on 1; behind 2 sits its input. We give it an isolated
//! contact and nothing else: its supply touches none of ours, and stays live with our panel locked out. What its input draws
//! is small ([`INPUT_VA`], our choice).

use crate::{
    device::{Device, Kind, PlaceId},
    part::{LoadUse, Part},
};

/// The two terminals that take our contact.
pub const MARKS: [&str; 2] = ["1", "2"];

/// What an input of another system draws, volt-amperes (our choice).
pub const INPUT_VA: f64 = 0.5;

/// The terminals of input number `n` of the job's list.
pub fn input(tag: &str, place: PlaceId, label: &str, n: u8, volts: f64) -> Device {
    let mut d = Device::new(tag, Kind::Automation, place, label);
    let [out, back] = MARKS.map(|m| d.terminal(m));
    let ret = d.inside("other system's common");
    d.parts.push(Part::Source { hot: out, ret, volts, angle_deg: 0.0, ohm: 0.05 * volts * volts / 40.0 });
    d.parts.push(Part::Load { a: back, b: ret, what: LoadUse::Automation(n), volts, va: INPUT_VA });
    d
}
