//! Zone valves, mixing valves, the damper actuator.
//!
//! Supply 1-2 (24 V or 120 V). A zone valve's end switch is 3-4; where the user says that it is joined, its first side is the
//! supply's live side inside the valve and only 4 is brought out. A mixing valve takes its 0-10 V on Y+ and Y-; where its
//! commons are joined, Y- is the supply's 2 inside.

use crate::{
    device::{Device, Kind, PlaceId},
    job::{Damper, EndSwitch, MixingValve, ZoneValve},
    kinds::boiler::SHIELD,
    part::{Actuator, LoadUse, Part, Rest},
};
use heatwright_core::{AnalogId, ZoneId};

/// Supply marks.
pub const SUPPLY: [&str; 2] = ["1", "2"];
/// End-switch marks.
pub const END: [&str; 2] = ["3", "4"];
/// Signal marks.
pub const SIGNAL: [&str; 2] = ["Y+", "Y-"];

/// A zone valve.
pub fn zone_valve(tag: &str, place: PlaceId, label: &str, z: ZoneId, v: &ZoneValve) -> Device {
    let mut d = Device::new(tag, Kind::ZoneValve, place, label);
    let (live, ret) = (d.terminal(SUPPLY[0]), d.terminal(SUPPLY[1]));
    d.parts.push(Part::Load { a: live, b: ret, what: LoadUse::Valve(z), volts: v.volts, va: v.va });
    let by = Actuator::ValveOpen(z);
    match v.end_switch {
        EndSwitch::None => {}
        EndSwitch::Isolated => {
            let (a, b) = (d.terminal(END[0]), d.terminal(END[1]));
            d.parts.push(Part::Contact { a, b, rest: Rest::Open, by });
        }
        EndSwitch::Joined => {
            let b = d.terminal(END[1]);
            d.parts.push(Part::Contact { a: live, b, rest: Rest::Open, by });
        }
    }
    d
}

/// A mixing valve.
pub fn mixing(tag: &str, place: PlaceId, label: &str, z: ZoneId, m: &MixingValve, analog: Option<AnalogId>) -> Device {
    let mut d = Device::new(tag, Kind::MixingValve, place, label);
    let (live, ret) = (d.terminal(SUPPLY[0]), d.terminal(SUPPLY[1]));
    d.parts.push(Part::Load { a: live, b: ret, what: LoadUse::Mixing(z), volts: 24.0, va: m.va });
    let (plus, minus) = (d.terminal(SIGNAL[0]), d.terminal(SIGNAL[1]));
    if let Some(analog) = analog {
        d.parts.push(Part::SignalIn { plus, minus, analog });
        d.terminal(SHIELD);
    }
    if !m.signal_isolated {
        d.parts.push(Part::Bond(minus, ret));
    }
    d
}

/// The combustion-air damper's actuator.
pub fn damper(tag: &str, place: PlaceId, label: &str, j: &Damper) -> Device {
    let mut d = Device::new(tag, Kind::Damper, place, label);
    let (a, b) = (d.terminal(SUPPLY[0]), d.terminal(SUPPLY[1]));
    d.parts.push(Part::Load { a, b, what: LoadUse::Damper, volts: j.volts, va: j.va });
    if j.volts > 60.0 {
        let ground = d.terminal("PE");
        d.parts.push(Part::Chassis(ground));
    }
    d
}
