//! HW403 safety-shares-raceway: safety-control conductors in a raceway with others.
//!
//! Safety control is read from the metal, see `safety`. A raceway of their own is our choice; the code asks for physical protection. Source: NFPA 70 725.31 (2020), checked.

use super::{Rule, nec, safety};
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    row::{Class, Row},
    tables::Status,
    trace::Trace,
};
use heatwright_core::{Severity, Subject, config::SafetyCircuit};

pub(super) const RULE: Rule = Rule {
    code: "HW403",
    name: "safety-shares-raceway",
    severity: Severity::Warning,
    source: nec("725.31 (2020), 724.31 and 300.26 (2023)", Status::Partly, "that safety control has a raceway of its own is our choice; the code asks for protection"),
    doc: "What it finds\n\
        A raceway in which conductors of a limit or proving circuit run together with power, coil or demand \
        conductors.\n\nWhy it matters\n\
        A short between two conductors of one raceway can bridge a limit. With nothing but the pair inside, a \
        short can only join the pair to itself or to ground, and each boiler's chain can be checked by itself.\n\nHow to mend it\n\
        Give each boiler's safety-control conductors a raceway of their own.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    // A floor or tank limit may sit in its pump's own line; the burners' chains have raceways of their own.
    let groups = safety::groups(job, plan, &trace, |c| matches!(c, SafetyCircuit::Limit | SafetyCircuit::Proving));
    // The live side that feeds a chain also feeds coils: it belongs to either.
    let supplies = safety::supplies(&trace);
    let group = |r: &Row| trace.landing(&r.from).map(|n| trace.group(n));
    let safe = |r: &Row| group(r).is_some_and(|g| groups.contains(&g));
    let pure = |r: &Row| safe(r) && !group(r).is_some_and(|g| supplies.contains(&g));
    let mut runs: Vec<&str> = plan.rows.iter().filter(|r| pure(r)).map(|r| r.run.as_str()).collect();
    runs.retain(|r| !r.is_empty());
    runs.sort_unstable();
    runs.dedup();
    for run in runs {
        let in_run = || plan.rows.iter().filter(|r| r.run == run && r.class != Class::Ground);
        if let (Some(own), Some(other)) = (in_run().find(|r| pure(r)), in_run().find(|r| !safe(r))) {
            let about = plan.circuits.iter().find(|c| c.name == own.circuit).and_then(|c| c.subject);
            out.add(
                about.unwrap_or(Subject::Plant),
                format!("Run {run} holds safety-control wire {} together with wire {} ({}).", own.wire, other.wire, other.purpose),
            )
            .fact("run", run, "")
            .hint("Give safety control its own raceway.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_the_demand_pair_in_the_limit_raceway() {
        let list = after(&RULE, |_, plan| {
            for r in plan.rows.iter_mut().filter(|r| r.run == "C1") {
                r.run = "S1".into();
            }
        });
        assert_eq!(list.len(), 1);
        assert_eq!(list[0].about, Subject::Boiler(heatwright_core::BoilerId(0)));
    }
}
