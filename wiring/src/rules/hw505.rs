//! HW505 floor-limit-missing: a heated floor, or a zone whose water is mixed down, without a hard-wired limit.
//!
//! A floor without a mixing valve has nothing between it and the boilers but their own settings: it needs the limit most.
//! Source: CSA B214 12.1.2, checked: a limit at most about 20 °F over design.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{
    ZoneId,
    config::{SafetyCircuit, SafetyKind, SafetyScope},
    Severity, Subject,
};

pub(super) const RULE: Rule = Rule {
    code: "HW505",
    name: "floor-limit-missing",
    severity: Severity::Error,
    source: Source { standard: "CSA B214", section: "12.1.2", editions: "current", status: Status::Checked, remark: "" },
    doc: "What it finds\n\
        A heated floor, or any zone with a mixing valve, and no limit that stops its water by a wire, whatever the controller does. \
        A floor without a mixing valve is one too.\n\nWhy it matters\n\
        A stuck mixing valve, or a boiler at its own limit, sends boiler water into a floor: burnt feet, cracked screed, dead adhesive.\n\nHow to mend it\n\
        Add a floor limit for the zone, circuit = \"zone\", set at most about 20 °F over the design supply \
        temperature.",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    for (i, z) in job.zones.iter().enumerate().filter(|(_, z)| z.floor || z.mixing.is_some()) {
        let id = ZoneId(i as u8);
        let limited = job.safeties.iter().map(|s| &s.config).any(|c| {
            c.kind == SafetyKind::FloorLimit
                && c.scope == SafetyScope::Zone(id)
                && matches!(c.circuit, SafetyCircuit::ZoneLimit | SafetyCircuit::Limit)
        });
        if !limited {
            let about = Subject::Zone(id);
            let what = if z.mixing.is_some() { "mixes its water down" } else { "is a heated floor" };
            out.add(about, format!("{} {what} and has no hard-wired limit.", job.names.of(about)))
                .field("safeties")
                .hint("Add a safety of kind floor-limit for this zone, circuit = \"zone\".");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    fn with(circuit: Option<SafetyCircuit>) -> usize {
        after(&RULE, |job, _| {
            job.zones[0].mixing = Some(crate::job::MixingValve {
                place: crate::device::PlaceId(0),
                run_ft: 10.0,
                va: 5.0,
                signal_isolated: true,
            });
            if let Some(c) = circuit {
                let scope = SafetyScope::Zone(ZoneId(0));
                let reset = heatwright_core::config::Reset::Automatic;
                job.safeties.push(crate::rules::fixture::safety(SafetyKind::FloorLimit, scope, c, reset));
            }
        })
        .len()
    }

    #[test]
    fn passes_with_a_limit_in_the_pump_circuit() {
        assert_eq!(with(Some(SafetyCircuit::ZoneLimit)), 0);
    }

    /// Seen to fail: a floor that boiler water reaches unmixed was not looked at.
    #[test]
    fn fails_a_floor_without_a_mixing_valve() {
        let with = |floor, limited: bool| {
            after(&RULE, |job, _| {
                job.zones[0].floor = floor;
                if limited {
                    let (scope, reset) = (SafetyScope::Zone(ZoneId(0)), heatwright_core::config::Reset::Automatic);
                    let circuit = SafetyCircuit::ZoneLimit;
                    job.safeties.push(crate::rules::fixture::safety(SafetyKind::FloorLimit, scope, circuit, reset));
                }
            })
            .len()
        };
        assert_eq!((with(true, false), with(true, true), with(false, false)), (1, 0, 0));
    }

    #[test]
    fn fails_without_one_or_with_an_alarm_only() {
        assert_eq!(with(None), 1);
        assert_eq!(with(Some(SafetyCircuit::Alarm)), 1);
    }
}
