//! HW510 proving-pair-closed: a boiler to which nothing proves that its water flows.
//!
//! A proving pair with nothing in it has to be closed by a jumper, or the boiler never fires. Where a controller of ours asks for
//! heat, it is told of flow by a contact of its own (`C05`); where zone relays do, the pair is all there is. Source: common
//! practice, no source; some boilers watch their flow themselves, by a switch inside or by their temperature rise.

use super::Rule;
use crate::{
    finding::Findings,
    job::{Control, Job},
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{
    BoilerId, Severity, Subject,
    config::{SafetyCircuit, SafetyKind, SafetyScope},
};

pub(super) const RULE: Rule = Rule {
    code: "HW510",
    name: "proving-pair-closed",
    severity: Severity::Warning,
    source: Source { standard: "common practice", section: "flow is proved before a boiler fires", editions: "none", status: Status::Memory, remark: "no standard cited; the boiler's own manual says whether it watches its flow itself" },
    doc: "What it finds\n\
        A boiler whose proving pair holds nothing, so that the plan closes it with a jumper; and, where zone relays run the plant, \
        one without a flow switch in its pair.\n\nWhy it matters\n\
        With its pump stopped or its valves shut the boiler fires into standing water and is stopped by its high limit alone. A \
        jumper in a safety circuit is what an inspector looks for first.\n\nHow to mend it\n\
        Add a flow switch for this boiler. If its manual says that it watches its flow itself and wants the jumper, mark the jumper \
        in its terminal box and keep that page of the manual with the plan.",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    for (i, _) in (0u8..).zip(&job.boilers) {
        let id = BoilerId(i);
        let mine = |scope| scope == SafetyScope::Plant || scope == SafetyScope::Boiler(id);
        let pair = || {
            let all = job.safeties.iter().map(|s| &s.config);
            all.filter(|c| c.circuit == SafetyCircuit::Proving && mine(c.scope))
        };
        let about = Subject::Boiler(id);
        let name = job.names.of(about);
        let sentence = if pair().next().is_none() {
            format!("Nothing stands in the proving pair of {name}: the plan closes it with a jumper.")
        } else if job.control == Control::ZoneRelays && !pair().any(|c| c.kind == SafetyKind::FlowSwitch) {
            format!("No flow switch stands in the proving pair of {name}, and no controller watches its flow.")
        } else {
            continue;
        };
        out.add(about, sentence).field("safeties").hint(
            "Add a flow switch: kind = \"flow-switch\", circuit = \"proving\", scope = the boiler. If its manual wants the jumper, mark it.",
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, clean, found};

    fn sentences(control: Control, keep: fn(SafetyKind) -> bool) -> Vec<String> {
        let list = after(&RULE, |job, _| {
            job.control = control;
            job.safeties.retain(|s| s.config.circuit != SafetyCircuit::Proving || keep(s.config.kind));
        });
        list.into_iter().map(|f| f.sentence).collect()
    }

    #[test]
    fn passes_the_clean_job_under_either_control() {
        let (job, plan) = clean();
        assert!(found(&RULE, &job, &plan).is_empty());
        assert_eq!(sentences(Control::ZoneRelays, |_| true), [""; 0]);
    }

    #[test]
    fn fails_a_pair_with_nothing_in_it() {
        for control in [Control::Controller, Control::ZoneRelays] {
            let list = sentences(control, |_| false);
            assert!(list.len() == 1 && list[0].contains("jumper"), "{list:?}");
        }
    }

    #[test]
    fn fails_air_proved_and_flow_not_where_no_controller_watches_it() {
        let only_air = |job: &mut Job| {
            let flow = job.safeties.iter_mut().filter(|s| s.config.kind == SafetyKind::FlowSwitch);
            flow.for_each(|s| s.config.kind = SafetyKind::DamperSwitch);
        };
        for (control, found) in [(Control::Controller, 0), (Control::ZoneRelays, 1)] {
            let list = after(&RULE, |job, _| {
                only_air(job);
                job.control = control;
            });
            assert_eq!(list.len(), found, "{list:?}");
        }
    }
}
