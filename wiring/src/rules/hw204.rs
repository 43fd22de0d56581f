//! HW204 disconnect-not-in-sight: a motor or boiler without a disconnect in sight of it, or that can be locked open.
//!
//! A disconnect of the plan counts as in sight when it stands at the same place; the panelboard when the job says so.

use super::{Rule, nec};
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    part::LoadUse,
    pass::boards::{self, Board},
    plan::Plan,
    tables::Status,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW204",
    name: "disconnect-not-in-sight",
    severity: Severity::Error,
    source: nec("430.102, 422.31, 110.25", Status::Memory, "all from memory; since 2017 a lockable device out of sight also serves under 422.31(C)"),
    doc: "What it finds\n\
        A boiler, pump or fan whose disconnect is missing from the plan, stands in another room, or is a breaker \
        out of sight.\n\nWhy it matters\n\
        Whoever has hands in the machine must be able to see that nobody closes the switch, or hold it open with \
        a lock.\n\nHow to mend it\n\
        Add a lockable disconnect at the machine, within sight and 50 ft.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for m in &plan.motors {
        let Some(motor) = plan.devices.iter().find(|d| d.tag == m.device) else { continue };
        let about = motor.subject.unwrap_or(Subject::Plant);
        let in_sight_of_panel = match m.what {
            LoadUse::Pump(p) | LoadUse::PumpSupply(p) => {
                let board = if m.disconnect == Board::Second.tag() { Board::Second } else { Board::Main };
                job.pumps.get(p.index()).is_some_and(|p| {
                    p.in_sight_of_panel && boards::in_sight(job, board, boards::enclosure_of(job, m.switch, p.supply))
                })
            }
            _ => motor.place == job.service.panelboard,
        };
        let place = |p: crate::device::PlaceId| plan.places.get(usize::from(p.0)).map_or("", String::as_str);
        let fault = match plan.devices.iter().find(|d| d.tag == m.disconnect) {
            None => Some(format!("{} has no disconnect in the plan.", motor.label)),
            Some(d) if d.kind == Kind::Panelboard && !in_sight_of_panel => {
                Some(format!("The only disconnect of {} is a breaker that is not in sight of it.", motor.label))
            }
            Some(d) if d.kind != Kind::Panelboard && d.place != motor.place => Some(format!(
                "The disconnect {} of {} stands in {}, not in {} where the motor is.",
                d.tag,
                motor.label,
                place(d.place),
                place(motor.place)
            )),
            Some(_) => None,
        };
        if let Some(sentence) = fault {
            let found = out.add(about, sentence);
            if matches!(about, Subject::Pump(_)) {
                found.field("pumps.in_sight_of_panel");
            }
            found.hint("Add a lockable disconnect at the motor, in sight and within 50 ft.");
        }
    }
    for (i, b) in job.boilers.iter().enumerate() {
        if !b.switch.lockable_in_sight {
            let about = Subject::Boiler(heatwright_core::BoilerId(i as u8));
            out.add(
                about,
                format!("The service switch of {} is not both lockable open and in sight.", job.names.of(about)),
            )
            .field("boilers.switch")
            .hint("Use a switch that can be locked open, in sight of the boiler.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_none_another_room_and_a_breaker_far_away() {
        let with = |tag: &str| after(&RULE, |_, plan| plan.motors[0].disconnect = tag.into());
        assert!(with("")[0].sentence.contains("no disconnect"));
        assert!(with("A2")[0].sentence.contains("breaker that is not in sight"));
        let list = after(&RULE, |_, plan| {
            plan.places.push("attic".into());
            plan.devices.iter_mut().find(|d| d.tag == "M1").unwrap().place = crate::device::PlaceId(2);
        });
        assert!(list[0].sentence.contains("not in attic"));
    }

    #[test]
    fn fails_a_boiler_switch_that_cannot_be_locked() {
        let list = after(&RULE, |job, _| job.boilers[0].switch.lockable_in_sight = false);
        assert_eq!(list[0].field, Some("boilers.switch"));
    }
}
