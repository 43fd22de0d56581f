//! HW304 secondary-from-480-not-grounded: a low-voltage secondary fed from a system of more than 150 V to ground, and not grounded.
//!
//! Source: NFPA 70 250.20(A), checked. Boilers' own supplies count as well.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    part::Part,
    plan::Plan,
    tables::Status,
    trace::Trace,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW304",
    name: "secondary-from-480-not-grounded",
    severity: Severity::Error,
    source: nec("250.20(A)", Status::Checked, ""),
    doc: "What it finds\n\
        A transformer under 50 V whose primary hangs on a 480Y/277 V service and whose secondary has no side on \
        ground.\n\nWhy it matters\n\
        If its insulation fails, 277 V stands on the thermostat wires with nothing to trip a breaker.\n\nHow to mend it\n\
        Ground one side of the secondary at the transformer.",
    check,
};

/// Volts to ground of a supply from which a secondary under 50 V must be grounded.
const TO_GROUND_MAX: f64 = 150.0;

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    if job.service.volts.phase_volts() <= TO_GROUND_MAX {
        return;
    }
    let trace = Trace::of(plan);
    for (d, part) in trace.parts() {
        let Part::Transformer { secondary, secondary_volts, .. } = part else { continue };
        let grounded = secondary.iter().any(|t| trace.group_of(d, *t).is_some_and(|g| trace.is_grounded(g)));
        if *secondary_volts < 50.0 && !grounded {
            let device = &trace.devices()[d];
            out.add(
                device.subject.unwrap_or(Subject::Plant),
                format!(
                    "The {secondary_volts:.0} V side of {} ({}) is not grounded, and its supply stands {:.0} V to ground.",
                    device.label,
                    device.tag,
                    job.service.volts.phase_volts()
                ),
            )
            .fact("supply to ground", job.service.volts.phase_volts(), "V")
            .hint("Ground one side of the secondary.");
        }
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
    fn fails_on_480_and_not_on_208() {
        use crate::job::ServiceVolts;
        let with = |v| after(&RULE, |job, _| job.service.volts = v);
        let list = with(ServiceVolts::Wye480);
        // T1 floats; the boiler's own supply is grounded.
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("T1"));
        assert!(with(ServiceVolts::Single120240).is_empty());
    }
}
