//! HW506 tank-limit-missing: a hot-water tank whose pump no limit stops.
//!
//! Common practice, no standard.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{Severity, Subject, config::{SafetyCircuit, SafetyKind}};

pub(super) const RULE: Rule = Rule {
    code: "HW506",
    name: "tank-limit-missing",
    severity: Severity::Error,
    source: Source { standard: "common practice", section: "limit of an indirectly heated hot-water tank", editions: "none", status: Status::Memory, remark: "plumbing codes ask for temperature relief and scald protection; the electrical limit is common practice" },
    doc: "What it finds\n\
        A tank charged by a pump and no tank limit in that pump's circuit.\n\nWhy it matters\n\
        A welded relay or an aquastat that fell off its well charges the tank to boiler temperature.\n\nHow to mend it\n\
        Add a tank limit with hand reset, circuit = \"tank\".",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    let limited = || {
        job.safeties.iter().any(|s| s.config.kind == SafetyKind::TankLimit && s.config.circuit == SafetyCircuit::TankLimit)
    };
    if job.tank.is_some() && !limited() {
        out.add(Subject::Tank, "No limit stops the pump that charges the hot-water tank.")
            .field("safeties")
            .hint("Add a safety of kind tank-limit, circuit = \"tank\".");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_a_tank_without_and_passes_one_with() {
        use heatwright_core::{PumpId, config::{Reset, SafetyScope}};
        let with = |limit: bool| {
            after(&RULE, |job, _| {
                job.tank = Some(crate::job::Tank { place: crate::device::PlaceId(0), run_ft: 10.0, pump: PumpId(0) });
                if limit {
                    let (kind, circuit) = (SafetyKind::TankLimit, SafetyCircuit::TankLimit);
                    job.safeties.push(crate::rules::fixture::safety(kind, SafetyScope::Tank, circuit, Reset::Manual));
                }
            })
            .len()
        };
        assert_eq!(with(false), 1);
        assert_eq!(with(true), 0);
    }
}
