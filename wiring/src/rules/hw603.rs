//! HW603 short-circuit-rating-too-low: a relay or starter panel whose short-circuit rating is unknown or below what the service can deliver.
//!
//! Source: NFPA 70 409.22, 409.110, 110.9, checked.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    pass::{
        boards::Board,
        lockout::{in_relay_panel, in_starter_panel},
    },
    plan::{Circuit, Feed, Plan},
    tables::{Status, derived::let_through_ka},
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW603",
    name: "short-circuit-rating-too-low",
    severity: Severity::Error,
    source: nec("409.22, 409.110, 110.9", Status::Checked, ""),
    doc: "What it finds\n\
        An assembled panel rated for less short-circuit current than is available in it, or a job in \
        which one of the two figures is not stated.\n\nWhy it matters\n\
        A panel that is not rated for the current bursts when something inside shorts.\n\nHow to mend it\n\
        Get the available current from the utility or the engineer, and mark the panel with its rating; if it is \
        too low, use current-limiting fuses ahead of it or better-rated parts. An assembly that nobody rated \
        counts as 5 kA.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    one(job, plan, out, "relay panel", &in_relay_panel(plan), job.panel.short_circuit_ka);
    if let Some(p) = &job.starter_panel {
        one(job, plan, out, "starter panel", &in_starter_panel(plan), p.short_circuit_ka);
    }
}

/// What is available in an enclosure, kA: of the panelboards whose circuits come into it the most; behind the transformer no
/// more than its impedance lets through, where that is stated.
fn available(job: &Job, plan: &Plan, inside: &[usize]) -> Option<f64> {
    let service = job.service.fault_ka?;
    let here = |tag: &str| inside.iter().any(|d| plan.devices.get(*d).is_some_and(|x| x.tag == tag));
    let second = job.service.step_down.and_then(|s| let_through_ka(s.va, s.impedance_percent?, 240.0));
    let of = |c: &Circuit| match &c.feed {
        Feed::Panelboard { panel, .. } if panel == Board::Second.tag() => second.map_or(service, |ka| ka.min(service)),
        _ => service,
    };
    let comes_in = |c: &Circuit| plan.rows.iter().any(|r| r.circuit == c.name && (here(&r.from.device) || here(&r.to.device)));
    let boards = plan.circuits.iter().filter(|c| matches!(c.feed, Feed::Panelboard { .. }) && comes_in(c)).map(of);
    Some(boards.reduce(f64::max).unwrap_or(service))
}

fn one(job: &Job, plan: &Plan, out: &mut Findings, what: &str, inside: &[usize], rated: Option<f64>) {
    let field = if what == "starter panel" { "starter_panel.short-circuit" } else { "panel.short-circuit" };
    match (available(job, plan, inside), rated) {
        (Some(available), Some(rated)) if rated < available => {
            out.add(
                Subject::Plant,
                format!("The {what} is rated for {rated:.1} kA and {available:.1} kA is available in it."),
            )
            .field(field)
            .fact("available", available, "kA")
            .fact("rated", rated, "kA")
            .hint("Use current-limiting fuses ahead of it, or parts with a higher rating.");
        }
        (Some(_), Some(_)) => {}
        (None, _) => {
            out.add(Subject::Plant, "The available short-circuit current at the panelboard is not stated.")
                .severity(Severity::Warning)
                .field("service.fault-current")
                .hint("Ask the utility or the engineer of record.");
        }
        (_, None) => {
            out.add(Subject::Plant, format!("The {what} has no short-circuit rating."))
                .field(field)
                .hint("Have the assembly rated and marked.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_too_low_and_unknown() {
        let with = |fault, rated| {
            after(&RULE, |job, _| {
                job.service.fault_ka = fault;
                job.panel.short_circuit_ka = rated;
            })
        };
        assert!(with(Some(22.0), Some(5.0))[0].sentence.contains("rated for 5.0 kA"));
        assert_eq!(with(Some(22.0), None)[0].severity, Severity::Error);
        assert_eq!(with(None, Some(5.0))[0].severity, Severity::Warning);
        assert!(with(Some(5.0), Some(5.0)).is_empty());
    }
}
