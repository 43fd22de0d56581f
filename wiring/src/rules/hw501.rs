//! HW501 low-water-cutoff-missing: a boiler without a low-water fuel cutoff in its limit pair, or with one that comes back by itself.
//!
//! Source: IMC 1007 (every boiler) and a state rule (hand reset, independent of feed), both checked; CSD-1 CW-210 allows a flow switch for coil boilers.

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
    code: "HW501",
    name: "low-water-cutoff-missing",
    severity: Severity::Error,
    source: Source { standard: "IMC; state boiler rules; ASME CSD-1", section: "IMC 1007; CW-210 for coil boilers", editions: "current", status: Status::Checked, remark: "" },
    doc: "What it finds\n\
        A boiler with no low-water cutoff of its own or of the plant in its limit pair, or one whose cutoff \
        resets by itself (a warning).\n\nWhy it matters\n\
        A boiler fired dry cracks or melts, and water let into it then flashes to steam.\n\nHow to mend it\n\
        Add a low-water cutoff with hand reset to the boiler's limit pair. For a water-tube or coil boiler a \
        flow switch that stops the burner may serve: enter it as such and have the authority agree.",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    for i in 0..job.boilers.len() {
        let id = BoilerId(i as u8);
        let about = Subject::Boiler(id);
        let name = job.names.of(about);
        let cutoffs = || {
            job.safeties.iter().map(|s| &s.config).filter(move |c| {
                c.kind == SafetyKind::LowWater
                    && c.circuit == SafetyCircuit::Limit
                    && (c.scope == SafetyScope::Plant || c.scope == SafetyScope::Boiler(id))
            })
        };
        if cutoffs().next().is_none() {
            out.add(about, format!("{name} has no low-water cutoff in its limit pair."))
                .severity(if job.settings.no_low_water_cutoff_accepted { Severity::Warning } else { Severity::Error })
                .field("safeties")
                .hint("Add a safety of kind low-water, circuit limit, reset manual.");
        } else if cutoffs().all(|c| c.reset == Reset::Automatic) {
            out.add(about, format!("The low-water cutoff of {name} comes back by itself."))
                .severity(Severity::Warning)
                .field("safeties.reset")
                .hint("Use one with hand reset.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_without_one_with_one_elsewhere_and_with_automatic_reset() {
        let list = after(&RULE, |job, _| job.safeties.retain(|s| s.config.kind != SafetyKind::LowWater));
        assert!(list.len() == 1 && list[0].severity == Severity::Error, "{list:?}");
        // Where the jurisdiction takes a boiler without one it is told all the same, as a warning.
        let list = after(&RULE, |job, _| {
            job.safeties.retain(|s| s.config.kind != SafetyKind::LowWater);
            job.settings.no_low_water_cutoff_accepted = true;
        });
        assert!(list.len() == 1 && list[0].severity == Severity::Warning, "{list:?}");
        let list = after(&RULE, |job, _| job.safeties[1].config.circuit = SafetyCircuit::Alarm);
        assert_eq!(list.len(), 1, "an alarm stops nothing");
        let list = after(&RULE, |job, _| job.safeties[1].config.scope = SafetyScope::Boiler(BoilerId(3)));
        assert_eq!(list.len(), 1, "another boiler's");
        let list = after(&RULE, |job, _| job.safeties[1].config.reset = Reset::Automatic);
        assert_eq!(list[0].severity, Severity::Warning);
    }
}
