//! Circulators and fans: what their motors put on the line.
//!
//! Single phase L-N, or L1-L2 between two phases; three phase U-V-W (IEC 60445). Volt-amperes are nameplate: U I, times the
//! square root of three on three phases. A pump with a start input draws its supply all the time; the input is fed from the
//! pump's own 24 V and closed by a dry contact between S1 and S2.

use crate::{
    device::{Device, Kind, PlaceId},
    job::Supply,
    part::{LoadUse, Part, T},
};
use heatwright_core::PumpId;

/// Marks of a start input.
pub const START: [&str; 2] = ["S1", "S2"];
const START_V: f64 = 24.0;
const START_VA: f64 = 1.0;

/// Line marks of a motor: two phases, phase and neutral, or three phases (T1 to T3 of NEMA MG 1, from memory).
pub fn line_marks(phases: u8, neutral: bool) -> &'static [&'static str] {
    match (phases, neutral) {
        (3, _) => &["T1", "T2", "T3"],
        (_, true) => &["L", "N"],
        _ => &["L1", "L2"],
    }
}

/// A pump that runs while its supply is live.
pub fn plain(tag: &str, place: PlaceId, label: &str, s: Supply, neutral: bool, amps: f64, what: LoadUse) -> Device {
    motor(tag, Kind::Pump, place, label, s, neutral, amps, what)
}

/// A fan.
pub fn fan(tag: &str, place: PlaceId, label: &str, s: Supply, neutral: bool, amps: f64, what: LoadUse) -> Device {
    motor(tag, Kind::Fan, place, label, s, neutral, amps, what)
}

#[allow(clippy::too_many_arguments, reason = "one call a kind of motor; a struct would only rename the arguments")]
fn motor(
    tag: &str,
    kind: Kind,
    place: PlaceId,
    label: &str,
    s: Supply,
    neutral: bool,
    amps: f64,
    what: LoadUse,
) -> Device {
    let mut d = Device::new(tag, kind, place, label);
    let t: Vec<T> = line_marks(s.phases, neutral).iter().map(|m| d.terminal(*m)).collect();
    match *t {
        [a, b] => d.parts.push(Part::Load { a, b, what, volts: s.volts, va: s.volts * amps }),
        [a, b, c] => {
            d.parts.push(Part::Load3 { lines: [a, b, c], what, volts: s.volts, va: 3f64.sqrt() * s.volts * amps })
        }
        _ => {}
    }
    let ground = d.terminal("PE");
    d.parts.push(Part::Chassis(ground));
    d
}

/// A pump with a start input.
pub fn with_start(tag: &str, place: PlaceId, label: &str, s: Supply, neutral: bool, amps: f64, p: PumpId) -> Device {
    let mut d = plain(tag, place, label, s, neutral, amps, LoadUse::PumpSupply(p));
    let (live, common) = (d.terminal(START[0]), d.inside("start common"));
    let back = d.terminal(START[1]);
    if let Some(Part::Load { a, b, .. }) = d.parts.first().cloned() {
        d.parts.push(Part::Transformer {
            primary: [a, b],
            secondary: [live, common],
            primary_volts: s.volts,
            secondary_volts: START_V,
            ohm: 10.0,
            va: 5.0,
        });
    }
    d.parts.push(Part::Load { a: back, b: common, what: LoadUse::PumpStart(p), volts: START_V, va: START_VA });
    d
}
