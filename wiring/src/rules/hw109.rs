//! HW109 grounded-conductor-switched: a contact in a grounded conductor.
//!
//! Read from the metal: a contact with one side joined to ground by rows and bonds, also past the closed poles of disconnects.
//! Breakers, disconnects and ground-fault devices, which open all conductors together, are left out themselves.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    part::{Actuator, Part},
    plan::Plan,
    tables::Status,
    trace::Trace,
};
use heatwright_core::{Severity, Subject};
use std::collections::BTreeSet;

pub(super) const RULE: Rule = Rule {
    code: "HW109",
    name: "grounded-conductor-switched",
    severity: Severity::Error,
    source: nec("404.2(B); boiler rules of the states", Status::Partly, "404.2(B) is from memory; the state rule (switched in the ungrounded leg, one side grounded) was checked"),
    doc: "What it finds\n\
        A contact of a relay, thermostat, safety or selector with one side on a grounded conductor: the neutral, \
        or the grounded side of a control transformer.\n\nWhy it matters\n\
        With the contact open, the load still hangs on the live side. A ground fault beyond the load then starts \
        it, past every safety in the grounded leg.\n\nHow to mend it\n\
        Move the contact to the ungrounded side. Let the grounded conductor run unbroken to the load.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    let grounded = past_disconnects(&trace);
    for (d, part) in trace.parts() {
        let Part::Contact { a, b, by, .. } = part else { continue };
        // A ground-fault device opens both conductors at once (404.2(B) and 240.22 allow that).
        if matches!(by, Actuator::Opened | Actuator::Breaker(_) | Actuator::GroundFault) {
            continue;
        }
        let found = [*a, *b].into_iter().filter_map(|t| trace.node(d, t)).find(|n| grounded.contains(&trace.group(*n)));
        if let Some(n) = found {
            let device = &trace.devices()[d];
            out.add(
                device.subject.unwrap_or(Subject::Plant),
                format!("A contact of {} switches a grounded conductor at {}.", device.label, trace.name(n)),
            )
            .fact("terminal", trace.name(n), "")
            .hint("Put the contact into the ungrounded leg.");
        }
    }
}

/// Groups on ground, also through the poles of disconnects, which are closed while anything runs.
fn past_disconnects(trace: &Trace<'_>) -> BTreeSet<usize> {
    let poles: Vec<[usize; 2]> = trace
        .parts()
        .filter_map(|(d, p)| match p {
            Part::Contact { a, b, by: Actuator::Opened, .. } => Some([trace.group_of(d, *a)?, trace.group_of(d, *b)?]),
            _ => None,
        })
        .collect();
    let mut list: BTreeSet<usize> = poles.iter().flatten().copied().filter(|g| trace.is_grounded(*g)).collect();
    // Each round passes at least one more pole, or it is the last.
    for _ in 0..=poles.len() {
        let before = list.len();
        for [a, b] in &poles {
            if list.contains(a) || list.contains(b) {
                list.extend([*a, *b]);
            }
        }
        if list.len() == before {
            break;
        }
    }
    list.extend(trace.parts().flat_map(|(d, p)| match p {
        Part::Contact { a, b, .. } => [trace.group_of(d, *a), trace.group_of(d, *b)],
        _ => [None, None],
    }).flatten().filter(|g| trace.is_grounded(*g)));
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_a_relay_in_the_neutral_of_a_pump() {
        let list = after(&RULE, |_, plan| {
            for r in &mut plan.rows {
                let line = r.circuit == "A2:7" && r.from.device == "A2" && r.from.terminal == "7";
                if line {
                    r.from.terminal = "N7".into();
                }
            }
        });
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("A1:K2.11"));
    }

    #[test]
    fn fails_a_safety_on_the_grounded_side_of_the_boiler() {
        let list = after(&RULE, |_, plan| {
            let u1 = plan.devices.iter_mut().find(|d| d.tag == "U1").unwrap();
            let (common, a1) = (u1.find("common").unwrap(), u1.find("a1").unwrap());
            u1.parts.retain(|p| !matches!(p, Part::Bond(_, t) if *t == a1));
            u1.parts.push(Part::Bond(common, a1));
        });
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("F1:11"));
    }
}
