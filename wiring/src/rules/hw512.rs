//! HW512 door-switch-inside: the emergency switch stands where the boilers stand.
//!
//! Source: a state rule, checked; CSD-1 CE-110 from memory: just outside the door, or just inside where the room has no other way.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{SafetyId, Severity, Subject, config::{SafetyCircuit, SafetyKind, SafetyScope}};

pub(super) const RULE: Rule = Rule {
    code: "HW512",
    name: "door-switch-inside",
    severity: Severity::Warning,
    source: Source { standard: "ASME CSD-1; state boiler rules", section: "CE-110; emergency switch just outside each boiler-room door", editions: "current", status: Status::Partly, remark: "a state rule was checked; CE-110 is from memory" },
    doc: "What it finds\n\
        A plant whose emergency switches all have the place of a boiler: by the plant file they hang inside the boiler room.\n\n\
        Why it matters\n\
        Whoever meets smoke or gas at the door would have to walk past the fire to reach the switch.\n\nHow to mend it\n\
        Hang it just outside the door and write that as its place. Where the room opens straight to the open and local rule \
        wants it inside the door, write that place, such as \"boiler room, at the door\".",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    let switches = || {
        let plant = job.safeties.iter().enumerate();
        plant.filter(|(_, s)| {
            let c = &s.config;
            c.kind == SafetyKind::DoorSwitch && c.scope == SafetyScope::Plant && c.circuit == SafetyCircuit::Limit
        })
    };
    let inside = |s: &crate::job::Safety| job.boilers.iter().any(|b| b.place == s.place);
    if switches().any(|(_, s)| !inside(s)) {
        return;
    }
    for (i, s) in switches() {
        let about = Subject::Safety(SafetyId(i as u8));
        let place = job.places.get(usize::from(s.place.0)).map_or("", |p| p.name.as_str());
        out.add(about, format!("{} has the place of the boilers, {place}: it belongs outside their door.", job.names.of(about)))
            .field("safeties.place")
            .hint("Hang it just outside the boiler-room door, and write that as its place.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{device::PlaceId, rules::fixture::{after, clean, found}};

    #[test]
    fn passes_the_clean_job() {
        let (job, plan) = clean();
        assert!(found(&RULE, &job, &plan).is_empty());
    }

    #[test]
    fn fails_a_switch_at_the_boilers() {
        let list = after(&RULE, |job, _| job.safeties[0].place = job.boilers[0].place);
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("boiler room"), "{}", list[0].sentence);
    }

    /// A second one inside beside one outside does no harm.
    #[test]
    fn passes_one_inside_beside_one_outside() {
        let list = after(&RULE, |job, _| {
            let more = crate::job::Safety { place: PlaceId(0), ..job.safeties[0].clone() };
            job.safeties.push(more);
        });
        assert!(list.is_empty(), "{list:?}");
    }
}
