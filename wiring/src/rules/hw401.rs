//! HW401 safety-in-class2: a safety's contact wired as Class 2.
//!
//! Safety control is read from the metal: the main contacts of safeties that stop something, and the limit and proving pairs of boilers. An
//! auxiliary contact may signal in Class 2. Source: NFPA 70 725.31 (2020), checked.

use super::{Rule, nec, safety};
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    row::Class,
    tables::Status,
    trace::Trace,
};
use heatwright_core::{Severity, Subject, config::SafetyCircuit};

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

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    let groups = safety::groups(job, plan, &trace, |c| c != SafetyCircuit::Alarm);
    for row in plan.rows.iter().filter(|r| r.class == Class::Class2) {
        let nodes = [&row.from, &row.to].into_iter().filter_map(|l| trace.landing(l));
        let Some(node) = nodes.into_iter().find(|n| groups.contains(&trace.group(*n))) else { continue };
        let device = trace.members(trace.group(node)).iter().map(|n| &trace.devices()[trace.owner(*n)]);
        let about = device.filter_map(|d| d.subject).next().unwrap_or(Subject::Plant);
        out.add(about, format!("Class 2 wire {} is part of a safety-control circuit at {}.", row.wire, trace.name(node)))
            .fact("wire", row.wire.clone(), "")
            .fact("terminal", trace.name(node), "")
            .hint("Wire it as Class 1 in its own raceway; signal from an auxiliary contact.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_a_wire_between_two_limits() {
        let list = after(&RULE, |_, plan| {
            plan.rows.iter_mut().find(|r| r.to.device == "F2").unwrap().class = Class::Class2;
        });
        assert_eq!(list.len(), 1, "{list:#?}");
    }

    #[test]
    fn passes_an_alarm_contact_in_class_2() {
        let list = after(&RULE, |job, plan| {
            job.safeties[1].config.circuit = SafetyCircuit::Alarm;
            plan.rows.retain(|r| r.to.device != "F2" && r.from.device != "F2");
            let mut row = plan.rows.iter().find(|r| r.circuit == "A1:inputs").unwrap().clone();
            (row.to.device, row.to.terminal) = ("F2".into(), "11".into());
            plan.rows.push(row);
        });
        assert!(list.is_empty(), "{list:#?}");
    }
}
