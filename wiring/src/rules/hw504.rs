//! HW504 damper-not-proved: a combustion-air damper without an end switch that holds the burners.
//!
//! Source: CSD-1, combustion-air interlock, checked (the exact paragraph number was not).

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{Severity, Subject, config::{SafetyCircuit, SafetyKind, SafetyScope}};

pub(super) const RULE: Rule = Rule {
    code: "HW504",
    name: "damper-not-proved",
    severity: Severity::Error,
    source: Source { standard: "ASME CSD-1", section: "CG-2xx, combustion air; interlock on the driven blade", editions: "current", status: Status::Checked, remark: "" },
    doc: "What it finds\n\
        A plant with a combustion-air damper and no switch on its driven blade in the proving pair of the \
        boilers.\n\nWhy it matters\n\
        A damper that stays shut starves the burners of air: carbon monoxide.\n\nHow to mend it\n\
        Add a damper switch on the driven blade (not on the actuator) in the proving pair, scope plant.",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    if job.damper.is_none() {
        return;
    }
    let proved = job.safeties.iter().map(|s| &s.config).any(|c| {
        c.kind == SafetyKind::DamperSwitch
            && c.scope == SafetyScope::Plant
            && matches!(c.circuit, SafetyCircuit::Proving | SafetyCircuit::Limit)
    });
    if !proved {
        out.add(Subject::Damper, "The combustion-air damper is not proved open before the burners may fire.")
            .severity(if job.settings.no_air_proof_accepted { Severity::Warning } else { Severity::Error })
            .field("safeties")
            .hint("Add a safety of kind damper-switch, scope plant, circuit proving.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    fn with(proof: Option<SafetyCircuit>) -> usize {
        after(&RULE, |job, _| {
            job.damper = Some(crate::job::Damper { place: crate::device::PlaceId(0), run_ft: 10.0, volts: 24.0, va: 6.0 });
            if let Some(c) = proof {
                let reset = heatwright_core::config::Reset::Automatic;
                job.safeties.push(crate::rules::fixture::safety(SafetyKind::DamperSwitch, SafetyScope::Plant, c, reset));
            }
        })
        .len()
    }

    #[test]
    fn passes_with_a_switch_in_the_proving_pair() {
        assert_eq!(with(Some(SafetyCircuit::Proving)), 0);
    }

    /// Accepted by the job: a warning is left of it.
    #[test]
    fn fails_as_a_warning_where_the_job_accepts_it() {
        for (accepted, weight) in [(false, Severity::Error), (true, Severity::Warning)] {
            let list = after(&RULE, |job, _| {
                job.settings.no_air_proof_accepted = accepted;
                job.damper = Some(crate::job::Damper { place: crate::device::PlaceId(0), run_ft: 10.0, volts: 24.0, va: 6.0 });
            });
            assert_eq!(list[0].severity, weight);
        }
    }

    #[test]
    fn fails_without_one_or_with_an_alarm_only() {
        assert_eq!(with(None), 1);
        assert_eq!(with(Some(SafetyCircuit::Alarm)), 1);
    }
}
