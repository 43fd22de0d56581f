//! HW605 heating-circuit-shared: a boiler's branch circuit that feeds something else than the boiler and its auxiliaries.
//!
//! Read from the rows of the boiler's circuit: no second boiler, no receptacle, no alarm. Source: NFPA 70 422.12, from memory.

use super::{Rule, nec};
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    plan::{Duty, Plan},
    row::Class,
    tables::Status,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW605",
    name: "heating-circuit-shared",
    severity: Severity::Error,
    source: nec("422.12", Status::Memory, "from memory; pumps, valves and other auxiliaries may share"),
    doc: "What it finds\n\
        A branch circuit that feeds two boilers, or a boiler together with a receptacle or an alarm.\n\nWhy it matters\n\
        A drill on the receptacle must not put the heating out, and locking out one boiler must not stop the \
        others.\n\nHow to mend it\n\
        Give each boiler its own branch circuit; pumps, valves and controls that belong to it may share.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    for c in plan.circuits.iter().filter(|c| c.duty == Duty::BoilerLine) {
        let mut fed: Vec<&crate::device::Device> = plan
            .rows
            .iter()
            .filter(|r| r.circuit == c.name && r.class == Class::Power)
            .flat_map(|r| [&r.from, &r.to])
            .filter_map(|l| plan.devices.iter().find(|d| d.tag == l.device))
            .filter(|d| matches!(d.kind, Kind::Boiler | Kind::Receptacle | Kind::Beacon))
            .collect();
        fed.sort_by(|a, b| a.tag.cmp(&b.tag));
        fed.dedup_by(|a, b| a.tag == b.tag);
        if fed.len() > 1 {
            let names: Vec<&str> = fed.iter().map(|d| d.label.as_str()).collect();
            out.add(
                c.subject.unwrap_or(Subject::Plant),
                format!("The branch circuit of {} feeds {} together.", c.label, names.join(" and ")),
            )
            .fact("circuit", c.name.clone(), "")
            .hint("Give each its own branch circuit.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_a_receptacle_and_a_second_boiler() {
        for kind in [Kind::Receptacle, Kind::Boiler] {
            let list = after(&RULE, |_, plan| {
                plan.devices.push(crate::rules::fixture::device("X9", kind, None, &["L"]));
                let mut row = plan.rows[0].clone();
                row.to.device = "X9".into();
                row.to.terminal = "L".into();
                plan.rows.push(row);
            });
            assert_eq!(list.len(), 1, "{kind:?}");
        }
    }
}
