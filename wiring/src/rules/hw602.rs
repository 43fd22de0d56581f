//! HW602 receptacle-without-ground-fault-protection: a service receptacle without ground-fault protection for personnel.
//!
//! Either the outlet has it or the breaker of its circuit. Source: NFPA 70 210.8(B) and (E), checked.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::{Duty, Plan},
    tables::Status,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW602",
    name: "receptacle-without-ground-fault-protection",
    severity: Severity::Error,
    source: nec("210.8(B), 210.8(E)", Status::Checked, ""),
    doc: "What it finds\n\
        A receptacle that neither has ground-fault protection itself nor hangs on a breaker that has it.\n\nWhy it matters\n\
        Boiler-room floors are wet when something is being repaired.\n\nHow to mend it\n\
        Use an outlet or a breaker with ground-fault protection for personnel.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    let mut circuits = plan.circuits.iter().filter(|c| c.duty == Duty::Receptacle).peekable();
    let by_breaker = circuits.peek().is_some()
        && circuits.all(|c| plan.breakers.iter().any(|b| b.circuit == c.name && b.ground_fault));
    for r in job.receptacles.iter().filter(|r| !r.ground_fault_protected && !by_breaker) {
        let place = job.places.get(usize::from(r.place.0)).map_or("an unknown place", |p| p.name.as_str());
        out.add(Subject::Plant, format!("The receptacle in {place} has no ground-fault protection."))
            .field("receptacles")
            .hint("Protect the outlet or its breaker.");
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
    fn fails_unless_outlet_or_breaker_protects() {
        let with = |breaker: bool| {
            after(&RULE, |job, plan| {
                job.receptacles[0].ground_fault_protected = false;
                plan.circuits[2].duty = Duty::Receptacle;
                plan.breakers[2].ground_fault = breaker;
            })
            .len()
        };
        assert_eq!(with(false), 1);
        assert_eq!(with(true), 0);
    }
}
