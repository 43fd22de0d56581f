//! HW512 tank-limit-resets-itself: the limit of a hot-water tank closes again by itself.
//!
//! Common practice, no standard: the usual tank limits and energy cutoffs are reset by hand.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{SafetyId, Severity, Subject, config::{Reset, SafetyKind}};

pub(super) const RULE: Rule = Rule {
    code: "HW512",
    name: "tank-limit-resets-itself",
    severity: Severity::Warning,
    source: Source { standard: "common practice", section: "limit of an indirectly heated hot-water tank", editions: "none", status: Status::Memory, remark: "hand reset of a tank's energy cutoff is common practice, no source" },
    doc: "What it finds\n\
        A tank limit whose reset is automatic.\n\nWhy it matters\n\
        It opens because an aquastat or a relay has failed. One that closes again by itself charges the tank to its setting over and \
        over, and nobody learns of it before somebody is scalded.\n\nHow to mend it\n\
        Take a limit with hand reset and write reset = \"manual\".",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    for (i, s) in job.safeties.iter().enumerate() {
        if s.config.kind == SafetyKind::TankLimit && s.config.reset == Reset::Automatic {
            let about = Subject::Safety(SafetyId(i as u8));
            out.add(about, format!("{} closes again by itself; a limit of a hot-water tank wants hand reset.", job.names.of(about)))
                .field("safeties.reset")
                .hint("Take one with hand reset.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, safety};
    use heatwright_core::config::{SafetyCircuit, SafetyScope};

    #[test]
    fn fails_one_that_resets_itself_and_passes_hand_reset() {
        let with = |reset| {
            let change = |job: &mut Job| {
                job.safeties.push(safety(SafetyKind::TankLimit, SafetyScope::Tank, SafetyCircuit::TankLimit, reset));
            };
            after(&RULE, |job, _| change(job)).len()
        };
        assert_eq!((with(Reset::Automatic), with(Reset::Manual)), (1, 0));
    }
}
