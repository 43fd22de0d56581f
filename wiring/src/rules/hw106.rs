//! HW106 ground-missing: metal that can become live and is not joined to ground.
//!
//! Every device on which a conductor of 50 V or more lands and that has a metal part must stand on the ground bar, by rows and bonds
//! alone: never over a contact. Source: NFPA 70 250.4(A), from memory.

use super::{Rule, nec};
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    part::Part,
    plan::Plan,
    tables::Status,
    trace::Trace,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW106",
    name: "ground-missing",
    severity: Severity::Error,
    source: nec("250.4(A), 250.110, 250.114", Status::Memory, "all from memory"),
    doc: "What it finds\n\
        A device fed with 50 V or more whose metal case has no unbroken way to the grounding bar, or a boiler, \
        motor or receptacle that has no grounding terminal at all.\n\nWhy it matters\n\
        A fault to an ungrounded case does not trip the breaker. It waits for a hand.\n\nHow to mend it\n\
        Land an equipment grounding conductor on the case; carry it through every box and disconnect on the way; \
        never through a switch.",
    check,
};

/// Volts from which metal must be grounded.
const LINE_VOLTS: f64 = 50.0;

/// Kinds that are never without a metal case or a grounding contact.
const EQUIPMENT: [Kind; 5] = [Kind::Boiler, Kind::Pump, Kind::Fan, Kind::CondensatePump, Kind::Receptacle];

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    for (d, device) in trace.devices().iter().enumerate() {
        let line = plan
            .rows
            .iter()
            .any(|r| r.volts >= LINE_VOLTS && (r.from.device == device.tag || r.to.device == device.tag));
        if !line {
            continue;
        }
        let about = device.subject.unwrap_or(Subject::Plant);
        let cases: Vec<_> = device.parts.iter().filter_map(|p| if let Part::Chassis(t) = p { Some(*t) } else { None }).collect();
        if cases.is_empty() && EQUIPMENT.contains(&device.kind) {
            out.add(about, format!("{} ({}) is fed at line voltage and has no grounding terminal.", device.label, device.tag))
                .hint("Give it a grounding terminal and an equipment grounding conductor.");
        }
        for t in cases {
            if !trace.group_of(d, t).is_some_and(|g| trace.is_grounded(g)) {
                out.add(
                    about,
                    format!("The metal case of {} ({}) is not joined to ground.", device.label, device.tag),
                )
                .fact("device", device.tag.clone(), "")
                .hint("Land an equipment grounding conductor on it.");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_a_ground_wire_left_out() {
        let list = after(&RULE, |_, plan| plan.rows.retain(|r| !(r.to.device == "U1" && r.to.terminal == "G")));
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("U1"));
    }

    #[test]
    fn fails_a_break_upstream_for_all_behind_it() {
        let list = after(&RULE, |_, plan| plan.rows.retain(|r| !(r.to.device == "Q1" && r.to.terminal == "PE")));
        let tags: Vec<_> = list.iter().map(|f| f.facts[0].value.clone()).collect();
        assert_eq!(tags, ["Q1".into(), "U1".into()]);
    }

    #[test]
    fn fails_a_motor_without_a_grounding_terminal() {
        let list = after(&RULE, |_, plan| {
            let m = plan.devices.iter_mut().find(|d| d.tag == "M1").unwrap();
            m.parts.retain(|p| !matches!(p, Part::Chassis(_)));
        });
        assert!(list[0].sentence.contains("no grounding terminal"));
    }
}
