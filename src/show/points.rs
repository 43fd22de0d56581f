//! What stands at each point of the controller, with the plant's own names: the pin map of a board.

use super::reasons;
use crate::{names::Names, plant::checked::Element};
use heatwright_core::{AnalogUse, ContactUse, Points, RelayUse, SensorUse, Subject, Tap};

/// One point: its number as on the panel, and what it serves.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Point {
    /// `relay 1`, `contact 12`, `sensor 3`, `0-10 V output 2`.
    pub point: String,
    /// The file's id of what it serves; nothing for a spare and for parts without one.
    pub id: Option<String>,
    /// What it serves, in words.
    pub serves: String,
    /// What the point reads or does while it is on.
    pub on: &'static str,
}

/// Every point of a plant, relays first, each kind in the order of its numbers; `elements` of the sensors, in theirs.
pub fn pin_map(points: &Points, names: &Names, elements: &[Element]) -> Vec<Point> {
    let mut out = Vec::new();
    let id = |s: Subject| names.iter().find(|(x, _)| *x == s).map(|(_, n)| n.id.clone());
    for (i, u) in points.relays.iter().enumerate() {
        let (id, serves) = (relay_subject(*u).and_then(id), reasons::relay(*u, names));
        out.push(Point { point: format!("relay {}", i + 1), id, serves, on: "energized" });
    }
    for (i, u) in points.contacts.iter().enumerate() {
        let (subject, serves, on) = contact(*u, names);
        out.push(Point { point: format!("contact {}", i + 1), id: subject.and_then(id), serves, on });
    }
    for (i, u) in points.sensors.iter().enumerate() {
        let (subject, mut serves) = sensor(*u, names);
        if let Some(e) = elements.get(i) {
            serves.push_str(match e {
                Element::Thermistor10k2 => ", 10 kΩ thermistor type II",
                Element::Thermistor10k3 => ", 10 kΩ thermistor type III",
                Element::Platinum1000 => ", 1000 Ω platinum",
            });
        }
        // The sensor itself has an id of its own.
        let own = Subject::Sensor(heatwright_core::SensorId(i as u8));
        out.push(Point { point: format!("sensor {}", i + 1), id: id(own).or(subject.and_then(id)), serves, on: "°C" });
    }
    for (i, u) in points.analogs.iter().enumerate() {
        let (subject, serves) = analog(*u, names);
        out.push(Point { point: format!("0-10 V output {}", i + 1), id: subject.and_then(id), serves, on: "0-10 V" });
    }
    out
}

fn relay_subject(u: RelayUse) -> Option<Subject> {
    match u {
        RelayUse::Demand(b) => Some(Subject::Boiler(b)),
        RelayUse::Pump(p) => Some(Subject::Pump(p)),
        RelayUse::Valve(z) => Some(Subject::Zone(z)),
        RelayUse::Damper => Some(Subject::Damper),
        RelayUse::Spare | RelayUse::Alarm | RelayUse::Health => None,
    }
}

fn contact(u: ContactUse, names: &Names) -> (Option<Subject>, String, &'static str) {
    let of = |s: Subject, what: &str, on: &'static str| (Some(s), format!("{}, {what}", names.title(s)), on);
    match u {
        ContactUse::Spare => (None, "spare".into(), "closed"),
        ContactUse::Call(z) => of(Subject::Zone(z), "thermostat", "calls"),
        ContactUse::TankCall => of(Subject::Tank, "aquastat", "calls"),
        ContactUse::EndSwitch(z) => of(Subject::Zone(z), "end switch of its valve", "open"),
        ContactUse::Flow(b) => of(Subject::Boiler(b), "flow proof", "water flows"),
        ContactUse::DamperOpen => of(Subject::Damper, "proof of its blade", "open"),
        ContactUse::Flame(b) => of(Subject::Boiler(b), "status", "burns"),
        ContactUse::BoilerFault(b) => of(Subject::Boiler(b), "alarm", "in fault"),
        ContactUse::Safety(s, Tap::Chain) => of(Subject::Safety(s), "chain up to here", "made"),
        ContactUse::Safety(s, Tap::Aux) => of(Subject::Safety(s), "its own second contact", "made"),
        ContactUse::Hand(p) => of(Subject::Pump(p), "switch", "at HAND"),
        ContactUse::Auto(p) => of(Subject::Pump(p), "switch", "at AUTO"),
        ContactUse::BoilerSwitch(b) => of(Subject::Boiler(b), "service switch", "on"),
        ContactUse::Acknowledge => (None, "acknowledge button".into(), "pressed"),
    }
}

fn sensor(u: SensorUse, names: &Names) -> (Option<Subject>, String) {
    let of = |s: Subject, what: &str| (Some(s), format!("{}, {what}", names.title(s)));
    match u {
        SensorUse::Spare => (None, "spare".into()),
        SensorUse::Outdoor => (None, "outdoor air".into()),
        SensorUse::Supply => (None, "supply to the zones".into()),
        SensorUse::Return => (None, "return from the zones".into()),
        SensorUse::BoilerOutlet(b) => of(Subject::Boiler(b), "outlet"),
        SensorUse::Tank => of(Subject::Tank, "water"),
        SensorUse::Mixed(z) => of(Subject::Zone(z), "mixed supply"),
    }
}

fn analog(u: AnalogUse, names: &Names) -> (Option<Subject>, String) {
    let of = |s: Subject, what: &str| (Some(s), format!("{}, {what}", names.title(s)));
    match u {
        AnalogUse::Spare => (None, "spare".into()),
        AnalogUse::Target(b) => of(Subject::Boiler(b), "target temperature"),
        AnalogUse::Rate(b) => of(Subject::Boiler(b), "firing rate"),
        AnalogUse::Mixing(z) => of(Subject::Zone(z), "mixing valve"),
    }
}
