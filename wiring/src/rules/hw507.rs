//! HW507 gas-pressure-switches-missing: a boiler without gas-pressure switches where the job's jurisdiction wants them.
//!
//! Source: CSD-1 CF-162, from memory. The threshold is a setting; without it nothing is reported.

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
    code: "HW507",
    name: "gas-pressure-switches-missing",
    severity: Severity::Error,
    source: Source { standard: "ASME CSD-1", section: "CF-162", editions: "current", status: Status::Memory, remark: "the threshold is remembered in two versions, so it is a setting of the job and never assumed" },
    doc: "What it finds\n\
        A boiler above the job's threshold without a low and a high gas-pressure switch, both with hand reset, \
        in its limit pair.\n\nWhy it matters\n\
        Gas pressure outside the burner's range gives lean or rich fire, and flame failure.\n\nHow to mend it\n\
        Add both switches to the boiler's limit pair, or correct the jurisdiction's threshold in the plant file.",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    let Some(above) = job.settings.gas_switches_above_btu_h else { return };
    let total: f64 = job.boilers.iter().map(|b| b.input_btu_h).sum();
    for (i, b) in job.boilers.iter().enumerate() {
        let counted = if job.settings.inputs_add_up { total } else { b.input_btu_h };
        if counted <= above {
            continue;
        }
        let id = BoilerId(i as u8);
        let about = Subject::Boiler(id);
        for (kind, word) in [(SafetyKind::GasLow, "low"), (SafetyKind::GasHigh, "high")] {
            let has = job.safeties.iter().map(|s| &s.config).any(|c| {
                c.kind == kind
                    && c.circuit == SafetyCircuit::Limit
                    && c.reset == Reset::Manual
                    && (c.scope == SafetyScope::Boiler(id) || c.scope == SafetyScope::Plant)
            });
            if !has {
                out.add(
                    about,
                    format!("{} has no {word} gas-pressure switch with hand reset in its limit pair.", job.names.of(about)),
                )
                .field("safeties")
                .fact("input counted", counted, "Btu/h")
                .fact("threshold", above, "Btu/h")
                .hint(format!("Add a safety of kind gas-{word}, circuit limit, reset manual."));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_above_the_threshold_only() {
        let with = |above| after(&RULE, |job, _| job.settings.gas_switches_above_btu_h = above).len();
        assert_eq!(with(None), 0);
        assert_eq!(with(Some(399_000.0)), 0);
        assert_eq!(with(Some(398_999.0)), 2);
    }

    #[test]
    fn fails_where_modules_add_up() {
        let with = |add_up| {
            after(&RULE, |job, _| {
                job.settings.gas_switches_above_btu_h = Some(400_000.0);
                job.settings.inputs_add_up = add_up;
                let second = job.boilers[0].clone();
                job.boilers.push(second);
            })
            .len()
        };
        assert_eq!(with(false), 0);
        assert_eq!(with(true), 4);
    }
}
