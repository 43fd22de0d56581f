//! HW401 safety-in-class2: a safety's contact wired as Class 2.
//!
//! Looks at the circuits that carry safety control and at the wires on the main contact of each safety that stops something. An
//! auxiliary contact may signal in Class 2. Source: NFPA 70 725.31 (2020), checked.

use super::{Rule, nec};
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    part::Part,
    plan::{Duty, Plan},
    row::Class,
    tables::Status,
};
use heatwright_core::config::SafetyCircuit;
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW401",
    name: "safety-in-class2",
    severity: Severity::Error,
    source: nec("725.31 (2020), 724.31 and 300.26 (2023)", Status::Partly, "the 2023 numbers are from memory"),
    doc: "What it finds\n\
        A limit, proving or other safety-control circuit of Class 2, or a Class 2 conductor on the main contact \
        of a safety that stops a burner or a pump.\n\nWhy it matters\n\
        Remote control whose failure is a hazard is Class 1 work: insulated for the building and protected \
        against damage. A stapled thermostat cable shorted by a nail would hold a burner on.\n\nHow to mend it\n\
        Wire the circuit as Class 1 or power, in its own raceway, whatever its voltage.",
    check,
};

/// Marks of the contact that stops something: the first contact of the device.
fn main_marks(d: &crate::device::Device) -> Vec<&str> {
    let Some((a, b)) = d.parts.iter().find_map(|p| match p {
        Part::Contact { a, b, .. } => Some((*a, *b)),
        _ => None,
    }) else {
        return Vec::new();
    };
    [a, b].into_iter().filter_map(|t| d.terminals.get(usize::from(t.0))).map(|t| t.mark.as_str()).collect()
}

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for c in plan.circuits.iter().filter(|c| c.duty == Duty::SafetyControl && c.class == Class::Class2) {
        out.add(c.subject.unwrap_or(Subject::Plant), format!("{} is a safety-control circuit of Class 2.", c.label))
            .fact("circuit", c.name.clone(), "")
            .hint("Wire it as Class 1 in its own raceway.");
    }
    for d in plan.devices.iter().filter(|d| d.kind == Kind::Safety) {
        let Some(Subject::Safety(id)) = d.subject else { continue };
        let stops = job.safeties.get(id.index()).is_some_and(|s| s.config.circuit != SafetyCircuit::Alarm);
        let marks = main_marks(d);
        let row = plan.rows.iter().find(|r| {
            r.class == Class::Class2
                && [&r.from, &r.to].into_iter().any(|l| l.device == d.tag && marks.contains(&l.terminal.as_str()))
        });
        if let Some(row) = row.filter(|_| stops) {
            out.add(
                Subject::Safety(id),
                format!("Class 2 wire {} lands on the main contact of {} ({}).", row.wire, d.label, d.tag),
            )
            .fact("wire", row.wire.clone(), "")
            .hint("Use the auxiliary contact for signals.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, clean, found};

    #[test]
    fn passes_the_clean_job() {
        let (job, plan) = clean();
        assert!(found(&RULE, &job, &plan).is_empty());
    }

    #[test]
    fn fails_a_circuit_and_a_wire() {
        let list = after(&RULE, |_, plan| plan.circuits[3].class = Class::Class2);
        assert!(list.len() == 1 && list[0].sentence.contains("U1:limit"));
        let list = after(&RULE, |_, plan| {
            plan.rows.iter_mut().find(|r| r.to.device == "F2").unwrap().class = Class::Class2;
        });
        assert!(list.iter().any(|f| f.sentence.contains("F2")), "{list:#?}");
    }

    #[test]
    fn passes_an_alarm_contact_in_class_2() {
        let list = after(&RULE, |job, plan| {
            job.safeties[1].config.circuit = SafetyCircuit::Alarm;
            for r in plan.rows.iter_mut().filter(|r| r.to.device == "F2") {
                r.class = Class::Class2;
            }
        });
        assert!(list.iter().all(|f| f.about != Subject::Safety(heatwright_core::SafetyId(1))), "{list:#?}");
    }
}
