//! HW514 device-unwired: a device that no wire reaches.
//!
//! A device with terminals of its own on which nothing lands but an equipment ground. Source: the plan itself; a thermostat or a
//! safety without a wire is trusted and does nothing.

use super::Rule;
use crate::{
    device::{Kind, Reach},
    finding::Findings,
    job::Job,
    part::Part,
    plan::Plan,
    row::Class,
    tables::{Source, Status},
};
use heatwright_core::{Severity, Subject};
use std::collections::HashSet;

pub(super) const RULE: Rule = Rule {
    code: "HW514",
    name: "device-unwired",
    severity: Severity::Error,
    source: Source { standard: "our choice", section: "what a plan must hold", editions: "none", status: Status::Memory, remark: "no standard asks for it; what hangs on a wall is trusted" },
    doc: "What it finds\n\
        A device on whose terminals no conductor lands, but an equipment ground perhaps.\n\nWhy it matters\n\
        It hangs on the wall and does nothing: a safety that opens nothing, a thermostat that calls nobody. Whoever sees it counts on \
        it.\n\nHow to mend it\n\
        Wire it, or take it out of the plan.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let wires = plan.rows.iter().filter(|r| r.class != Class::Ground);
    let wired: HashSet<&str> = wires.flat_map(|r| [r.from.device.as_str(), r.to.device.as_str()]).collect();
    // A ground bar alone is a strip, too, and a strip's wires are those of what it joins.
    let judged = plan.devices.iter().filter(|d| d.kind != Kind::Strip);
    for d in judged.filter(|d| !wired.contains(d.tag.as_str())) {
        let ground = |t: usize| d.parts.iter().any(|p| matches!(p, Part::Chassis(g) if usize::from(g.0) == t));
        let own = d.terminals.iter().enumerate().any(|(n, t)| t.reach == Reach::Field && !ground(n));
        if own {
            let about = d.subject.unwrap_or(Subject::Plant);
            out.add(about, format!("No wire reaches {} ({}).", d.tag, d.label)).fact("device", d.tag.clone(), "");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_a_safety_that_only_its_ground_reaches() {
        let found = after(&RULE, |_, plan| {
            let safety = plan.devices.iter().find(|d| d.kind == Kind::Safety).unwrap().tag.clone();
            plan.rows.retain(|r| r.class == Class::Ground || (r.from.device != safety && r.to.device != safety));
        });
        assert_eq!(found.len(), 1, "{found:?}");
    }
}
