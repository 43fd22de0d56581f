//! HW508 safety-in-another-circuit: a safety in a pair of the boiler where it does not belong.
//!
//! What must never be exceeded stands in the limit pair; what proves that something runs stands in the proving pair, which the boiler
//! looks at once it has been asked for heat. Source: common practice, no source; the boiler's own diagram governs.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{
    SafetyId, Severity, Subject,
    config::{SafetyCircuit, SafetyKind},
};

pub(super) const RULE: Rule = Rule {
    code: "HW508",
    name: "safety-in-another-circuit",
    severity: Severity::Error,
    source: Source { standard: "common practice", section: "limit pair and proving pair of a boiler", editions: "none", status: Status::Memory, remark: "no standard; the diagram of the boiler says which pair is which" },
    doc: "What it finds\n\
        A limit or cutoff in the proving pair of a boiler, or a switch that proves flow or combustion air in its limit \
        pair.\n\nWhy it matters\n\
        Most burners treat the two pairs apart: an open limit locks out or is counted, an open proof merely waits. A high limit among \
        the proofs is waited for and comes back by itself; a flow switch among the limits stands open at each start, before the pump \
        runs, and is taken for a tripped limit.\n\nHow to mend it\n\
        Correct `circuit` of the safety: \"limit\" for what must not be exceeded, \"proving\" for what must have begun. Look at the \
        boiler's own diagram.",
    check,
};

/// The circuits that a kind may stand in, and why it may not stand in another. Alarm alone stops nothing and is for others to judge.
fn belongs(kind: SafetyKind) -> (&'static [SafetyCircuit], &'static str) {
    use SafetyCircuit::{Limit, Proving, TankLimit, ZoneLimit};
    match kind {
        SafetyKind::FlowSwitch => (&[Proving], "it stands open until the pump runs"),
        SafetyKind::DamperSwitch => (&[Proving], "it stands open until the damper has moved"),
        SafetyKind::HighLimit | SafetyKind::HighLimitManual => {
            (&[Limit, ZoneLimit, TankLimit], "a temperature that must not be exceeded is no proof to wait for")
        }
        SafetyKind::LowWater => (&[Limit], "want of water is no proof to wait for"),
        SafetyKind::GasLow | SafetyKind::GasHigh => (&[Limit], "gas pressure out of range is no proof to wait for"),
        SafetyKind::PressureLow => (&[Limit], "want of pressure is no proof to wait for"),
        SafetyKind::Condensate => (&[Limit], "a blocked drain is no proof to wait for"),
        SafetyKind::GasDetector => (&[Limit], "gas in the room is no proof to wait for"),
        SafetyKind::DoorSwitch => (&[Limit], "a switch that people rely on in an emergency is no proof to wait for"),
        SafetyKind::FloorLimit => (&[ZoneLimit, Limit], "a floor that is too hot is no proof to wait for"),
        SafetyKind::TankLimit => (&[TankLimit, Limit], "a tank that is too hot is no proof to wait for"),
    }
}

/// As the plant file writes them.
const fn named(circuit: SafetyCircuit) -> &'static str {
    match circuit {
        SafetyCircuit::Limit => "limit",
        SafetyCircuit::Proving => "proving",
        SafetyCircuit::ZoneLimit => "zone",
        SafetyCircuit::TankLimit => "tank",
        SafetyCircuit::Alarm => "alarm",
    }
}

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    for (i, s) in job.safeties.iter().enumerate() {
        let (may, why) = belongs(s.config.kind);
        let circuit = s.config.circuit;
        if circuit == SafetyCircuit::Alarm || may.contains(&circuit) {
            continue;
        }
        let about = Subject::Safety(SafetyId(i as u8));
        let best = may.first().copied().unwrap_or(SafetyCircuit::Limit);
        out.add(about, format!("{} stands in the {} circuit: {why}.", job.names.of(about), named(circuit)))
            .field("safeties.circuit")
            .hint(format!("Write circuit = \"{}\" if the boiler's diagram does not say otherwise.", named(best)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, clean, found, safety};
    use heatwright_core::{
        BoilerId,
        config::{Reset, SafetyScope},
    };

    fn with(kind: SafetyKind, circuit: SafetyCircuit) -> usize {
        let list = after(&RULE, |job, _| {
            job.safeties.push(safety(kind, SafetyScope::Boiler(BoilerId(0)), circuit, Reset::Automatic));
        });
        list.len()
    }

    #[test]
    fn passes_the_clean_job_and_each_kind_where_it_belongs() {
        let (job, plan) = clean();
        assert!(found(&RULE, &job, &plan).is_empty());
        for kind in [SafetyKind::HighLimit, SafetyKind::LowWater, SafetyKind::GasLow, SafetyKind::DoorSwitch] {
            assert_eq!(with(kind, SafetyCircuit::Limit), 0, "{kind:?}");
        }
        for kind in [SafetyKind::FlowSwitch, SafetyKind::DamperSwitch] {
            assert_eq!(with(kind, SafetyCircuit::Proving), 0, "{kind:?}");
        }
        assert_eq!(with(SafetyKind::FlowSwitch, SafetyCircuit::Alarm), 0, "an alarm stops nothing");
    }

    #[test]
    fn fails_a_limit_among_the_proofs_and_a_proof_among_the_limits() {
        for kind in [SafetyKind::HighLimit, SafetyKind::HighLimitManual, SafetyKind::LowWater, SafetyKind::GasDetector] {
            assert_eq!(with(kind, SafetyCircuit::Proving), 1, "{kind:?}");
        }
        for kind in [SafetyKind::FlowSwitch, SafetyKind::DamperSwitch] {
            assert_eq!(with(kind, SafetyCircuit::Limit), 1, "{kind:?}");
        }
    }
}
