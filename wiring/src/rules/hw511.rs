//! HW511 emergency-switch-inside: an emergency switch that stands in the room of the boilers.
//!
//! The room is the place of a boiler, with or without a spot after a comma. Source: a state rule, checked (H of the project's check
//! values: just outside each door, inside where the door leads outdoors); CSD-1 CE-110 from memory.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{SafetyId, Severity, Subject, config::SafetyKind};

pub(super) const RULE: Rule = Rule {
    code: "HW511",
    name: "emergency-switch-inside",
    severity: Severity::Warning,
    source: Source { standard: "ASME CSD-1; state boiler rules", section: "CE-110; emergency switch just outside each boiler-room door", editions: "current", status: Status::Partly, remark: "a state rule was checked: outside the door, or inside it where the door leads outdoors; CE-110 is from memory" },
    doc: "What it finds\n\
        A door switch (emergency shutdown switch) whose place is the room in which a boiler stands. A spot after a comma is taken as in \
        the room.\n\nWhy it matters\n\
        Whoever meets fire or gas behind the door cannot get at it. The usual rule wants it just outside the door, and inside only \
        where the door leads to the open.\n\nHow to mend it\n\
        Hang it outside the door and write that place. Where the door leads outdoors and the rule of your state lets it hang inside, write \
        the place so, such as \"yard door, inside\". Ask the authority having jurisdiction.",
    check,
};

/// True for the room itself or a spot in it: "boiler room, east wall" is in "boiler room".
fn within(place: &str, room: &str) -> bool {
    place.strip_prefix(room).is_some_and(|rest| rest.is_empty() || rest.starts_with(','))
}

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    let name = |p: crate::device::PlaceId| job.places.get(usize::from(p.0)).map_or("", |p| p.name.as_str());
    for (i, s) in job.safeties.iter().enumerate().filter(|(_, s)| s.config.kind == SafetyKind::DoorSwitch) {
        let here = name(s.place);
        if here.is_empty() || !job.boilers.iter().any(|b| within(here, name(b.place))) {
            continue;
        }
        let about = Subject::Safety(SafetyId(i as u8));
        out.add(about, format!("{} stands in {here}, where the boilers are: it cannot be reached from outside the door.", job.names.of(about)))
            .field("safeties.place")
            .hint("Hang it just outside the door and write that place; inside only where the door leads outdoors and your rules allow it.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_in_the_room_and_at_a_spot_in_it_and_not_beside_it() {
        let at = |place: &str| {
            after(&RULE, |job, _| {
                let spot = crate::device::PlaceId(job.places.len() as u16);
                job.places.push(crate::job::Place { name: place.into(), ambient_c: 30.0 });
                let switch = job.safeties.iter_mut().find(|s| s.config.kind == SafetyKind::DoorSwitch).unwrap();
                switch.place = spot;
            })
            .len()
        };
        assert_eq!(at("boiler room"), 1);
        assert_eq!(at("boiler room, at the door"), 1);
        assert_eq!(at("boiler room passage"), 0);
        assert_eq!(at("passage"), 0);
    }
}
