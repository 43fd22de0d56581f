//! HW604 no-fallback: a plant without a stated fallback for a dead controller.
//!
//! The fallback is wired by the health relay. Our choice, no standard.

use super::Rule;
use crate::{
    finding::Findings,
    job::{Control, Fallback, Job},
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::RelayUse;
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW604",
    name: "no-fallback",
    severity: Severity::Warning,
    source: Source { standard: "our choice", section: "what happens when the controller stops", editions: "none", status: Status::Memory, remark: "no standard asks for it; it is a choice of this tool" },
    doc: "What it finds\n\
        A plant that states no fallback for a dead controller, or whose controller has no health relay to hand \
        over to it, so that nothing takes over when the controller stops.\n\nWhy it matters\n\
        On a January night a dead controller means a frozen building by the morning. A relay that drops with it \
        can hand the boilers to their own fixed target and the pumps to the thermostats, with all limits in \
        force.\n\nHow to mend it\n\
        Give one relay output the use health and state the fallback, or accept in writing that there is none \
        and how long the coldest zone lasts.",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    if job.control == Control::ZoneRelays {
        return;
    }
    let missing = if job.points.relay(RelayUse::Health).is_none() {
        "no relay of the controller drops with it"
    } else if job.fallback == Fallback::None {
        "the plant states no fallback"
    } else {
        return;
    };
    out.add(Subject::Plant, format!("Nothing takes over when the controller stops: {missing}."))
        .field("plant.guard.fallback")
        .hint("State what the plant does meanwhile: fallback = \"zone-relays\" under [guard] wires it.");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, clean, found};

    #[test]
    fn fails_without_a_stated_fallback() {
        let list = after(&RULE, |job, _| job.fallback = Fallback::None);
        assert!(list[0].sentence.contains("states no fallback"));
    }

    #[test]
    fn has_nothing_to_say_where_there_is_no_controller() {
        let (mut job, plan) = clean();
        job.control = Control::ZoneRelays;
        job.fallback = Fallback::None;
        assert!(found(&RULE, &job, &plan).is_empty());
    }

    #[test]
    fn fails_without_a_health_relay() {
        let list = after(&RULE, |job, _| job.points.relays.retain(|r| *r != RelayUse::Health));
        assert_eq!(list.len(), 1);
    }
}
