//! HW502 second-high-limit-missing: a boiler without the high limits that its input asks for.
//!
//! The rule says *greater than* 400,000 Btu/h. Both readings are reported: the input of the unit, and the total of modules of one plant.
//! Source: one state's rule, checked.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{
    BoilerId,
    config::{Reset, SafetyCircuit, SafetyKind, SafetyScope},
    Severity, Subject,
};

pub(super) const RULE: Rule = Rule {
    code: "HW502",
    name: "second-high-limit-missing",
    severity: Severity::Error,
    source: Source { standard: "state boiler rules; ASME CSD-1", section: "two high limits above 400,000 Btu/h, the upper with hand reset", editions: "current", status: Status::Checked, remark: "the threshold is a setting of the job" },
    doc: "What it finds\n\
        A boiler without any high limit; and, above the job's threshold, one without a second high limit with \
        hand reset. Where only the total of all boilers is above the threshold, that reading is reported as a \
        warning unless the job says that inputs add up.\n\nWhy it matters\n\
        One limit that fails closed leaves only the relief valve. The hand reset makes somebody look why it \
        tripped.\n\nHow to mend it\n\
        Add a second high limit with hand reset, set above the first. Ask the authority whether a boiler of \
        modules counts by unit or in total.",
    check,
};

/// As plates and rules state it, in both systems.
fn mbh(btu_h: f64) -> String {
    format!("{} MBH ({:.0} kW)", btu_h / 1000.0, btu_h * 0.000_293_071)
}

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    let above = job.settings.hand_reset_above_btu_h;
    let total: f64 = job.boilers.iter().map(|b| b.input_btu_h).sum();
    for (i, b) in job.boilers.iter().enumerate() {
        let id = BoilerId(i as u8);
        let about = Subject::Boiler(id);
        let name = job.names.of(about);
        let limits: Vec<_> = job
            .safeties
            .iter()
            .map(|s| &s.config)
            .filter(|c| {
                matches!(c.kind, SafetyKind::HighLimit | SafetyKind::HighLimitManual)
                    && c.circuit == SafetyCircuit::Limit
                    && c.scope == SafetyScope::Boiler(id)
            })
            .collect();
        if limits.is_empty() {
            out.add(about, format!("{name} has no high limit in its limit pair."))
                .field("safeties")
                .hint("Add a safety of kind high-limit, circuit limit.");
            continue;
        }
        if limits.len() >= 2 && limits.iter().any(|c| c.reset == Reset::Manual) {
            continue;
        }
        let by_unit = b.input_btu_h > above;
        let by_total = job.boilers.len() > 1 && total > above;
        let by_hand = job.settings.hand_reset_wanted && !limits.iter().any(|c| c.reset == Reset::Manual);
        if !by_unit && !by_total && !by_hand {
            continue;
        }
        let hand = limits.iter().any(|c| c.reset == Reset::Manual);
        let (missing, mend) = match (limits.len(), hand) {
            (1, true) => (
                "a high limit with hand reset and none before it that resets itself",
                "Add a high limit with automatic reset, set below the one with hand reset.",
            ),
            (1, false) => ("one high limit only", "Add a second high limit with hand reset, set above the first."),
            _ => ("no high limit with hand reset", "Have the upper one reset by hand."),
        };
        let reading = if by_unit {
            format!("its input of {} is over {}", mbh(b.input_btu_h), mbh(above))
        } else if by_hand {
            "the job wants one with hand reset on each boiler (code.manual-high-limit)".to_owned()
        } else {
            format!(
                "its input of {} is not over {}, but the {} boilers together have {}",
                mbh(b.input_btu_h),
                mbh(above),
                job.boilers.len(),
                mbh(total)
            )
        };
        let weight = if by_unit || by_hand || job.settings.inputs_add_up { Severity::Error } else { Severity::Warning };
        out.add(about, format!("{name} has {missing}: {reading}."))
            .severity(weight)
            .field("safeties")
            .fact("input", b.input_btu_h, "Btu/h")
            .fact("input of all boilers", total, "Btu/h")
            .fact("threshold", above, "Btu/h")
            .hint(mend)
            .hint("Ask the authority having jurisdiction whether modules count by unit or in total.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    /// One automatic limit a boiler, so many boilers of this input.
    fn with(boilers: usize, input: f64, add_up: bool) -> Vec<Severity> {
        after(&RULE, |job, _| {
            job.safeties.retain(|s| s.config.kind != SafetyKind::HighLimitManual);
            let limit = job.safeties.iter().find(|s| s.config.kind == SafetyKind::HighLimit).unwrap().clone();
            job.settings.inputs_add_up = add_up;
            job.boilers[0].input_btu_h = input;
            for i in 1..boilers {
                let unit = job.boilers[0].clone();
                job.boilers.push(unit);
                let mut own = limit.clone();
                own.config.scope = SafetyScope::Boiler(BoilerId(i as u8));
                job.safeties.push(own);
            }
        })
        .iter()
        .map(|f| f.severity)
        .collect()
    }

    #[test]
    fn passes_400_mbh_alone_because_the_rule_says_greater_than() {
        assert!(with(1, 400_000.0, false).is_empty());
    }

    #[test]
    fn fails_above_400_mbh_and_reports_both_readings() {
        assert_eq!(with(1, 400_001.0, false), [Severity::Error]);
        assert_eq!(with(3, 400_000.0, false), [Severity::Warning; 3]);
        assert_eq!(with(3, 400_000.0, true), [Severity::Error; 3]);
    }

    /// Wanted by the job on each boiler: an error at any input.
    #[test]
    fn fails_without_hand_reset_where_the_job_wants_one() {
        for (wanted, faults) in [(true, 1), (false, 0)] {
            let list = after(&RULE, |job, _| {
                job.safeties.retain(|s| s.config.kind != SafetyKind::HighLimitManual);
                job.settings.hand_reset_wanted = wanted;
                job.boilers[0].input_btu_h = 80_000.0;
            });
            assert_eq!(list.iter().filter(|f| f.severity == Severity::Error).count(), faults);
        }
    }

    #[test]
    fn fails_without_any() {
        let list = after(&RULE, |job, _| {
            job.safeties.retain(|s| !matches!(s.config.kind, SafetyKind::HighLimit | SafetyKind::HighLimitManual));
        });
        assert!(list[0].sentence.contains("no high limit"));
    }
}
