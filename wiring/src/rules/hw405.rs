//! HW405 limit-stops-another-zone: a zone's limit opens a pump that serves other zones too.
//!
//! What a limit opens is the core's table (`config::opens`): a zone on a valve closes its valve and stops nobody else; a zone on a
//! pump takes the pump with it, shared or not. That is the safe side, and a thing that whoever answers the call must know.
//! Common practice, no source.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    pass::choose::limits_of_pump,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{
    PumpId, ZoneId,
    config::{SafetyScope, ZoneDrive},
    Severity, Subject,
};

pub(super) const RULE: Rule = Rule {
    code: "HW405",
    name: "limit-stops-another-zone",
    severity: Severity::Note,
    source: Source {
        standard: "common practice",
        section: "limit of a zone that shares its pump",
        editions: "none",
        status: Status::Memory,
        remark: "no standard cited",
    },
    doc: "What it finds\n\
        A limit of one zone in the circuit of a pump that serves other zones too.\n\nWhy it matters\n\
        When the limit opens, the other zones stand still as well, and nothing is wrong with them. Until it is reset they cool \
        down with the one that ran hot.\n\nHow to mend it\n\
        Give the zone a pump of its own, or a zone valve: its limit then closes the valve and leaves the pump to the others.",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    for p in (0..job.pumps.len()).map(|i| PumpId(i as u8)) {
        let served = |z: ZoneId| {
            job.zones.get(z.index()).is_some_and(|z| match z.drive {
                ZoneDrive::Pump(q) => q == p,
                ZoneDrive::Valve { pump } => pump == Some(p),
            })
        };
        for s in limits_of_pump(job, p) {
            let Some(SafetyScope::Zone(own)) = job.safeties.get(s.index()).map(|s| s.config.scope) else { continue };
            let others = (0..job.zones.len()).map(|i| ZoneId(i as u8)).filter(|z| *z != own && served(*z));
            let others: Vec<String> = others.map(|z| job.names.of(Subject::Zone(z))).collect();
            if !others.is_empty() {
                let (limit, pump) = (job.names.of(Subject::Safety(s)), job.names.of(Subject::Pump(p)));
                out.add(
                    Subject::Safety(s),
                    format!("{limit} opens the circuit of {pump}: {} stops with it.", others.join(", ")),
                )
                .hint("Give the zone a pump or a valve of its own, or tell those who answer the call.");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, safety};
    use heatwright_core::config::{Reset, SafetyCircuit, SafetyKind};

    /// A second zone beside the limited first.
    fn with(first: ZoneDrive, second: ZoneDrive) -> Vec<crate::finding::Finding> {
        after(&RULE, |job, _| {
            let scope = SafetyScope::Zone(ZoneId(0));
            job.safeties.push(safety(SafetyKind::FloorLimit, scope, SafetyCircuit::ZoneLimit, Reset::Manual));
            let other = job.zones[0].clone();
            job.zones.push(other);
            (job.zones[0].drive, job.zones[1].drive) = (first, second);
        })
    }

    #[test]
    fn fails_only_where_the_limit_takes_the_pump_from_another() {
        let (own, other) = (PumpId(0), PumpId(1));
        let behind = |pump| ZoneDrive::Valve { pump: Some(pump) };
        for second in [ZoneDrive::Pump(own), behind(own)] {
            let list = with(ZoneDrive::Pump(own), second);
            assert_eq!(list.len(), 1, "{second:?}: {list:#?}");
            assert!(matches!(list[0].about, Subject::Safety(_)));
        }
        assert!(with(ZoneDrive::Pump(own), ZoneDrive::Pump(other)).is_empty());
        assert!(with(behind(own), behind(own)).is_empty());
        assert!(with(behind(own), ZoneDrive::Pump(own)).is_empty());
    }
}
