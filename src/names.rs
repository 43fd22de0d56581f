//! Names: what the file calls each thing, and the core id that everything else calls it by.
//!
//! One namespace: an id names one thing of one kind. Boilers, zones, pumps, safeties, sensors and schedules are numbered
//! in the order of the file. Relays, contact inputs and 0-10 V outputs have no id in the file; they are called by their
//! number on the panel, counted from 1.

use heatwright_core::{BoilerId, PumpId, SafetyId, ScheduleId, SensorId, Subject, ZoneId};
use std::{borrow::Cow, collections::BTreeMap};

/// An id and the name beside it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Name {
    /// The id in the file.
    pub id: String,
    /// The name for people; equal to the id when the file gives none.
    pub title: String,
}

/// All names of a plant.
#[derive(Clone, Debug, Default)]
pub struct Names {
    by_id: BTreeMap<String, Subject>,
    by_subject: BTreeMap<Subject, Name>,
}

impl Names {
    /// Enters a name. The first holder of an id keeps it; the answer is that holder when the id was taken.
    pub fn enter(&mut self, id: &str, title: Option<&str>, subject: Subject) -> Option<Subject> {
        let name = Name { id: id.to_string(), title: title.unwrap_or(id).to_string() };
        self.by_subject.insert(subject, name);
        match self.by_id.get(id) {
            Some(first) => Some(*first),
            None => {
                self.by_id.insert(id.to_string(), subject);
                None
            }
        }
    }

    /// Changes the name for people.
    pub fn retitle(&mut self, subject: Subject, title: &str) {
        if let Some(name) = self.by_subject.get_mut(&subject) {
            name.title = title.to_string();
        }
    }

    /// What an id names.
    pub fn find(&self, id: &str) -> Option<Subject> {
        self.by_id.get(id).copied()
    }

    /// The id of a thing, as the file writes it: `b1`; `relay 3` for a point without one.
    pub fn id(&self, subject: Subject) -> Cow<'_, str> {
        match self.by_subject.get(&subject) {
            Some(name) => Cow::Borrowed(&name.id),
            None => Cow::Owned(unnamed(subject)),
        }
    }

    /// The name for people: `Boiler 1`.
    pub fn title(&self, subject: Subject) -> Cow<'_, str> {
        match self.by_subject.get(&subject) {
            Some(name) => Cow::Borrowed(&name.title),
            None => Cow::Owned(unnamed(subject)),
        }
    }

    /// Every named thing, kind by kind, in file order.
    pub fn iter(&self) -> impl Iterator<Item = (Subject, &Name)> {
        self.by_subject.iter().map(|(s, n)| (*s, n))
    }
}

macro_rules! shorthand {
    ($($(#[$doc:meta])* $fn:ident($id:ty) -> $subject:ident;)*) => {
        impl Names {$(
            $(#[$doc])*
            pub fn $fn(&self, id: $id) -> Cow<'_, str> {
                self.id(Subject::$subject(id))
            }
        )*}
    };
}
shorthand! {
    /// The id of a boiler.
    boiler(BoilerId) -> Boiler;
    /// The id of a zone.
    zone(ZoneId) -> Zone;
    /// The id of a pump.
    pump(PumpId) -> Pump;
    /// The id of a safety.
    safety(SafetyId) -> Safety;
    /// The id of a sensor.
    sensor(SensorId) -> Sensor;
    /// The id of a schedule.
    schedule(ScheduleId) -> Schedule;
}

/// What to call a thing that has no id in the file.
fn unnamed(subject: Subject) -> String {
    let number = |kind: &str, i: u8| format!("{kind} {}", u16::from(i) + 1);
    match subject {
        Subject::Plant => "plant".into(),
        Subject::Header => "header".into(),
        Subject::Tank => "tank".into(),
        Subject::Damper => "damper".into(),
        Subject::Zone(i) => number("zone", i.0),
        Subject::Pump(i) => number("pump", i.0),
        Subject::Boiler(i) => number("boiler", i.0),
        Subject::Safety(i) => number("safety", i.0),
        Subject::Sensor(i) => number("sensor", i.0),
        Subject::Relay(i) => number("relay", i.0),
        Subject::Contact(i) => number("contact", i.0),
        Subject::Analog(i) => number("0-10 V output", i.0),
        Subject::Schedule(i) => number("schedule", i.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_namespace_and_the_first_holder_keeps_the_id() {
        let mut names = Names::default();
        assert_eq!(names.enter("b1", Some("Boiler 1"), Subject::Boiler(BoilerId(0))), None);
        assert_eq!(names.enter("b1", None, Subject::Zone(ZoneId(0))), Some(Subject::Boiler(BoilerId(0))));
        assert_eq!(names.find("b1"), Some(Subject::Boiler(BoilerId(0))));
        assert_eq!(names.title(Subject::Boiler(BoilerId(0))), "Boiler 1");
        assert_eq!(names.boiler(BoilerId(0)), "b1");
        assert_eq!(names.id(Subject::Relay(heatwright_core::RelayId(6))), "relay 7");
    }
}
