//! HW503 door-switch-missing: a boiler room without an emergency switch that stops every burner.
//!
//! Source: a state rule, checked; CSD-1 CE-110 from memory. Below the job's threshold in all it is advice.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{BoilerId, SafetyId, Severity, Subject, config::{SafetyCircuit, SafetyConfig, SafetyKind, SafetyScope}};

pub(super) const RULE: Rule = Rule {
    code: "HW503",
    name: "door-switch-missing",
    severity: Severity::Error,
    source: Source { standard: "ASME CSD-1; state boiler rules", section: "CE-110; emergency switch at each boiler-room door", editions: "current", status: Status::Partly, remark: "a state rule (above 400,000 Btu/h in all) was checked; CE-110 is from memory" },
    doc: "What it finds\n\
        A plant without a door switch (emergency shutdown switch just outside the boiler-room door) in the limit \
        pair of every boiler. An error where the job wants one (code.door-switch of the plant file, unless it is \
        set to false) or the inputs of all boilers add up to more than 400,000 Btu/h; a warning otherwise. A door switch that \
        opens less than that is an error wherever it hangs.\n\nWhy it matters\n\
        Whoever meets smoke or gas at the door must be able to stop the fire without going in.\n\nHow to mend it\n\
        Add a marked, manually operated switch outside each door of the boiler room, circuit limit, scope plant; with one \
        boiler its id says the same.",
    check,
};

fn check(job: &Job, _: &Plan, out: &mut Findings) {
    // With one boiler, that boiler is every boiler.
    let every = |c: &SafetyConfig| {
        c.circuit == SafetyCircuit::Limit
            && (c.scope == SafetyScope::Plant || (job.boilers.len() == 1 && c.scope == SafetyScope::Boiler(BoilerId(0))))
    };
    let has = job.safeties.iter().map(|s| &s.config).any(|c| c.kind == SafetyKind::DoorSwitch && every(c));
    for (i, s) in job.safeties.iter().enumerate().filter(|(_, s)| s.config.kind == SafetyKind::DoorSwitch) {
        if !every(&s.config) {
            let said = "Whoever presses this switch at a door counts on every burner going out: it does not open the limit pair of every boiler.";
            out.add(Subject::Safety(SafetyId(i as u8)), said)
                .severity(Severity::Error)
                .field("circuit")
                .hint("Write scope plant and circuit limit.");
        }
    }
    if has || job.boilers.is_empty() {
        return;
    }
    let total: f64 = job.boilers.iter().map(|b| b.input_btu_h).sum();
    let above = job.settings.hand_reset_above_btu_h;
    out.add(Subject::Plant, "No emergency switch at the boiler-room door opens the limit pair of every boiler.")
        .severity(if job.settings.door_switch_wanted || total > above { Severity::Error } else { Severity::Warning })
        .field("safeties")
        .fact("input of all boilers", total, "Btu/h")
        .fact("threshold", above, "Btu/h")
        .hint("Add a safety of kind door-switch, scope plant, circuit limit.");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    /// Wanted by the job: an error at any input.
    #[test]
    fn fails_as_an_error_where_the_job_wants_one() {
        for wanted in [true, false] {
            let list = after(&RULE, |job, _| {
                job.boilers[0].input_btu_h = 80_000.0;
                job.settings.door_switch_wanted = wanted;
                job.safeties.retain(|s| s.config.kind != SafetyKind::DoorSwitch);
            });
            assert_eq!(list[0].severity, if wanted { Severity::Error } else { Severity::Warning });
        }
    }

    /// One boiler is all of them, whatever the scope is called; with a second one it is not.
    #[test]
    fn passes_the_scope_of_the_only_boiler() {
        let with = |boilers: usize, scope| {
            after(&RULE, |job, _| {
                while job.boilers.len() < boilers {
                    let more = job.boilers[0].clone();
                    job.boilers.push(more);
                }
                job.boilers.truncate(boilers);
                let doors = job.safeties.iter_mut().filter(|s| s.config.kind == SafetyKind::DoorSwitch);
                doors.for_each(|s| s.config.scope = scope);
            })
            .len()
        };
        assert_eq!(with(1, SafetyScope::Boiler(BoilerId(0))), 0);
        assert!(with(2, SafetyScope::Boiler(BoilerId(0))) > 0);
        assert_eq!(with(2, SafetyScope::Plant), 0);
    }

    /// Another switch is as it should be: nobody who presses this one knows.
    #[test]
    fn fails_a_switch_that_only_alarms_or_stops_one_boiler() {
        for (circuit, scope) in
            [(SafetyCircuit::Alarm, SafetyScope::Plant), (SafetyCircuit::Limit, SafetyScope::Boiler(BoilerId(0)))]
        {
            let list = after(&RULE, |job, _| {
                let more = job.boilers[0].clone();
                job.boilers.push(more);
                let mut door = job.safeties.iter().find(|s| s.config.kind == SafetyKind::DoorSwitch).unwrap().clone();
                (door.config.circuit, door.config.scope) = (circuit, scope);
                job.safeties.push(door);
            });
            assert!(list.len() == 1 && matches!(list[0].about, Subject::Safety(_)), "{list:?}");
        }
    }

    #[test]
    fn fails_without_one_with_a_weight_by_input() {
        let with = |input| {
            after(&RULE, |job, _| {
                job.boilers[0].input_btu_h = input;
                job.safeties.retain(|s| s.config.kind != SafetyKind::DoorSwitch);
            })[0]
                .severity
        };
        assert_eq!(with(399_000.0), Severity::Warning);
        assert_eq!(with(500_000.0), Severity::Error);
    }

    #[test]
    fn fails_when_it_only_alarms() {
        let list = after(&RULE, |job, _| job.safeties[0].config.circuit = SafetyCircuit::Alarm);
        let said = list.iter().map(|f| f.sentence.split_whitespace().next().unwrap()).collect::<Vec<_>>();
        assert_eq!(said, ["Whoever", "No"], "the switch itself, and the room that has no other");
    }
}
