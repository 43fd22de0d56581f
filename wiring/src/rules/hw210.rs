//! HW210 controller-without-disconnect: a contactor, starter or relay of a motor without a disconnect in sight on its line side.
//!
//! Looked for in rows and devices: what the line terminal of the controller is joined to. That must be the load terminal of a
//! lockable disconnect at the same place; a breaker serves only where the job says that its panelboard is in sight of the
//! relay panel. The disconnect at the motor does not count: it stands behind the controller and leaves it live.
//! Source: NFPA 70 430.102(A), wording checked; "in sight" is visible and within 50 ft (Article 100, checked).

use super::{Rule, nec};
use crate::{
    device::{Device, Kind},
    finding::Findings,
    job::Job,
    kinds::relay::{main_pole, pole_open},
    pass::{boards::Board, choose::calls},
    part::{Actuator, LoadUse, Part, T},
    plan::{MotorSwitch, Plan},
    tables::Status,
    trace::Trace,
};
use heatwright_core::{RelayUse, Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW210",
    name: "controller-without-disconnect",
    severity: Severity::Error,
    source: nec("430.102(A), 430.101", Status::Checked, ""),
    doc: "What it finds\n\
        A contactor, a starter or a relay contact that carries a motor, whose line side comes straight from a \
        breaker out of sight, or from a disconnect in another room.\n\nWhy it matters\n\
        The disconnect at the pump lets a mechanic work on the pump. Whoever changes the contactor has its line \
        terminals live in front of him, and the only switch for them is in another room.\n\nHow to mend it\n\
        Lead each motor circuit through a lockable disconnect with all its poles in or beside the relay panel, \
        ahead of the contactor; or stand the panelboard in sight of the relay panel.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    for m in &plan.motors {
        let about = match m.what {
            LoadUse::Pump(p) => Subject::Pump(p),
            LoadUse::Fan(z, _) => Subject::Zone(z),
            _ => continue,
        };
        let found = match m.switch {
            MotorSwitch::ControllerRelay => plan.devices.iter().position(|d| d.kind == Kind::Controller),
            MotorSwitch::CallRelay => {
                let LoadUse::Pump(p) = m.what else { continue };
                let tag = calls::callers_of(job, p).first().map(|c| format!("KU{}", calls::ending(*c)));
                plan.devices.iter().position(|d| tag.as_ref() == Some(&d.tag))
            }
            MotorSwitch::Contactor | MotorSwitch::Starter => {
                // M3 is switched by QA3, MF5.2 by QAF5.2.
                let tag = m.device.strip_prefix('M').map(|of| format!("QA{of}"));
                let own = |d: &Device| d.subject == Some(about) && matches!(m.what, LoadUse::Pump(_));
                plan.devices.iter().position(|d| {
                    matches!(d.kind, Kind::Contactor | Kind::Starter) && (own(d) || tag.as_ref() == Some(&d.tag))
                })
            }
            _ => continue,
        };
        let Some(d) = found else { continue };
        let controller = &plan.devices[d];
        let lines = line_terminals(job, controller, m.switch, about);
        // One open pole is enough for a fault; each is told once a motor.
        // A pole that another pole of the same starter feeds (single phase, all three behind each other) brings no line in.
        let behind = |g: &usize| {
            let own = |n: &&usize| trace.owner(**n) == d;
            let load_side = |n: &usize| (1..=3).any(|pole| trace.terminal(*n).mark == main_pole(pole)[1]);
            trace.members(*g).iter().filter(own).any(load_side)
        };
        let mut groups = lines.into_iter().filter_map(|t| trace.group_of(d, t)).filter(|g| !behind(g));
        let bad = groups.find(|g| !served(job, &trace, controller, *g));
        let Some(group) = bad else { continue };
        let from = trace.members(group).iter().find(|n| trace.devices()[trace.owner(**n)].kind == Kind::Panelboard);
        let breaker = from.map_or("no disconnect of the plan", |_| "a breaker that is not in sight of it");
        out.add(
            about,
            format!("{} {} has {breaker} ahead of it.", controller.tag, controller.label),
        )
        .field("service.in_sight_of_relay_panel")
        .fact("controller", controller.tag.as_str(), "")
        .hint("Add a lockable disconnect for this circuit in the relay panel, ahead of what switches it.");
    }
}

/// The terminals on which the line comes in.
fn line_terminals(job: &Job, d: &Device, switch: MotorSwitch, about: Subject) -> Vec<T> {
    if switch == MotorSwitch::ControllerRelay {
        let Subject::Pump(p) = about else { return Vec::new() };
        let Some(relay) = job.points.relay(RelayUse::Pump(p)) else { return Vec::new() };
        let first = d.parts.iter().find_map(|part| match part {
            Part::Contact { a, by: Actuator::Relay(r), .. } if *r == relay => Some(*a),
            _ => None,
        });
        return first.into_iter().collect();
    }
    if switch == MotorSwitch::CallRelay {
        return d.find(&pole_open(2)[0]).into_iter().collect();
    }
    (1..=3).filter_map(|n| d.find(&main_pole(n)[0])).collect()
}

/// True when this group is the load side of a lockable disconnect at the controller's place, or of a breaker in sight of it.
fn served(job: &Job, trace: &Trace<'_>, controller: &Device, group: usize) -> bool {
    let members = trace.members(group);
    let breaker = members.iter().map(|n| &trace.devices()[trace.owner(*n)]).find(|d| d.kind == Kind::Panelboard);
    if let Some(board) = breaker {
        return in_sight(job, board, controller);
    }
    members.iter().any(|n| {
        let q = &trace.devices()[trace.owner(*n)];
        let load_side = (1..=3).any(|pole| trace.terminal(*n).mark == main_pole(pole)[1]);
        q.kind == Kind::Disconnect && q.place == controller.place && load_side
    })
}

/// True when the job says that this panelboard is in sight of the enclosure in which a controller stands.
fn in_sight(job: &Job, board: &Device, controller: &Device) -> bool {
    let second = job.service.step_down.filter(|_| board.tag == Board::Second.tag());
    match (&job.starter_panel, second) {
        (_, Some(s)) => s.in_sight_of_relay_panel,
        (Some(p), None) if p.place == controller.place && p.place != job.panel.place => p.in_sight_of_panelboard,
        _ => job.service.in_sight_of_relay_panel,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        device::PlaceId,
        fixtures::library,
        plan,
        rules::fixture::{after, found},
    };

    #[test]
    fn fails_a_relay_contact_behind_a_breaker_out_of_sight() {
        let list = after(&RULE, |job, _| job.service.in_sight_of_relay_panel = false);
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("a breaker that is not in sight"));
    }

    #[test]
    fn fails_what_the_planner_would_leave_out() {
        let job = library();
        let good = plan::plan(&job).unwrap();
        assert!(found(&RULE, &job, &good).is_empty());
        // A starter with three poles: a disconnect in another room, and one pole led round it.
        let mut p = good.clone();
        p.devices.iter_mut().find(|d| d.tag == "QL4").unwrap().place = PlaceId(4);
        assert_eq!(found(&RULE, &job, &p).len(), 1);
        let mut p = good.clone();
        for r in &mut p.rows {
            for end in [&mut r.from, &mut r.to] {
                if end.device == "QL4" && end.terminal == "6/T3" {
                    end.terminal = "5/L3".into();
                }
            }
        }
        let list = found(&RULE, &job, &p);
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.starts_with("QA4 starter"));
    }

    /// Seen to fail: the second and third pole of a single-phase starter, fed by the first, were taken for lines of their own.
    #[test]
    fn passes_a_single_phase_starter_whose_poles_lie_behind_each_other() {
        let mut job = library();
        for p in job.pumps.iter_mut().filter(|p| p.supply.phases == 1) {
            p.overload_built_in = false;
        }
        let plan = plan::plan(&job).unwrap();
        let starter = |m: &&plan::MotorProtection| {
            let single = |p: &heatwright_core::PumpId| job.pumps[p.index()].supply.phases == 1;
            m.switch == MotorSwitch::Starter && matches!(m.what, LoadUse::Pump(p) if single(&p))
        };
        assert!(plan.motors.iter().any(|m| starter(&m)));
        let list = found(&RULE, &job, &plan);
        assert!(list.is_empty(), "{list:?}");
    }
}
