//! HW515 condensate-unwatched: a boiler's condensate pump whose sump nothing watches.
//!
//! Source: common practice; makers of condensate pumps and of condensing boilers ask for it in their instructions. A pump that serves
//! no boiler in particular is not judged: the plan does not know whose condensate it lifts.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{
    Severity, Subject,
    config::{SafetyKind, SafetyScope},
};

pub(super) const RULE: Rule = Rule {
    code: "HW515",
    name: "condensate-unwatched",
    severity: Severity::Warning,
    source: Source { standard: "common practice", section: "a full condensate sump stops its boiler", editions: "none", status: Status::Memory, remark: "no standard cited; instructions of pumps and boilers ask for it" },
    doc: "What it finds\n\
        A condensate pump of a boiler without a safety of kind `condensate` for that boiler or for the whole plant.\n\nWhy it matters\n\
        When the pump fails or its breaker trips, the boiler goes on firing. Its condensate fills the sump, runs over the floor or \
        backs up into the heat exchanger. A switch in the sump opens before that.\n\nHow to mend it\n\
        Add a safety of kind `condensate` with the boiler as its scope, and land the pump's overflow contact on it. Where the boiler \
        watches its own drain, its manual says so, and this warning may stand.",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    for b in job.condensate_pumps.iter().filter_map(|c| c.boiler) {
        let watches = |scope| scope == SafetyScope::Plant || scope == SafetyScope::Boiler(b);
        if job.safeties.iter().any(|s| s.config.kind == SafetyKind::Condensate && watches(s.config.scope)) {
            continue;
        }
        let about = Subject::Boiler(b);
        let name = job.names.of(about);
        out.add(about, format!("{name} has a condensate pump, and nothing stops {name} when its sump is full.")).field("safeties").hint(
            "Add a safety: kind = \"condensate\", scope = the boiler; its contact is the pump's overflow switch.",
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        job::CondensatePump,
        rules::fixture::{after, safety},
    };
    use heatwright_core::{
        BoilerId,
        config::{Reset, SafetyCircuit},
    };

    fn found(of: Option<BoilerId>, watched: Option<SafetyScope>) -> usize {
        let pump = |job: &mut Job| CondensatePump { boiler: of, place: job.safeties[0].place, run_ft: 10.0, amps: 2.0 };
        let list = after(&RULE, |job, _| {
            let pump = pump(job);
            job.condensate_pumps.push(pump);
            let made = |s| safety(SafetyKind::Condensate, s, SafetyCircuit::Limit, Reset::Automatic);
            job.safeties.extend(watched.map(made));
        });
        list.len()
    }

    #[test]
    fn fails_a_pump_whose_sump_nothing_watches() {
        let one = Some(BoilerId(0));
        assert_eq!(found(one, None), 1);
        assert_eq!(found(one, Some(SafetyScope::Boiler(BoilerId(0)))), 0);
        assert_eq!(found(one, Some(SafetyScope::Plant)), 0);
        assert_eq!(found(one, Some(SafetyScope::Boiler(BoilerId(1)))), 1, "another boiler's switch stops that one");
        assert_eq!(found(None, None), 0, "nobody knows whose it is");
    }
}
