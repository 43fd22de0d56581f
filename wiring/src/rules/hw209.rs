//! HW209 hand-bypasses-limit: a pump that runs on HAND although its limit or overload has tripped.
//!
//! The network is solved: everything healthy and called for, the selector at HAND, then each limit of that pump tripped in turn. A rule
//! of common practice; NFPA 70 430.74 (no safety bypassed) checked.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    net::{ActuatorSet, Changes, Network, Seen, Solver, What},
    part::{Actuator, LoadUse, Part},
    pass::choose::limits_of_pump,
    plan::Plan,
    proof::positions::busy,
    tables::Status,
};
use heatwright_core::{PumpId, Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW209",
    name: "hand-bypasses-limit",
    severity: Severity::Error,
    source: nec("430.74, 430.32", Status::Partly, "that HAND bypasses the controller only is common practice"),
    doc: "What it finds\n\
        A HAND-OFF-AUTO selector whose HAND position goes round the floor limit, the tank limit or the overload \
        of its pump.\n\nWhy it matters\n\
        HAND is for the day the controller is dead. On that day the hard-wired limit is the only one left.\n\nHow to mend it\n\
        Wire limit and overload after the point where HAND and AUTO meet, next to the coil.",
    check,
};

/// Actuators of the plan's contacts.
fn actuators(plan: &Plan) -> Vec<Actuator> {
    plan.devices
        .iter()
        .flat_map(|d| &d.parts)
        .filter_map(|p| if let Part::Contact { by, .. } = p { Some(*by) } else { None })
        .collect()
}

/// What must stop this pump whatever its selector says, with words for it.
fn stops(job: &Job, pump: PumpId, list: &[Actuator]) -> Vec<(Actuator, String)> {
    let mut out = Vec::new();
    for id in limits_of_pump(job, pump) {
        out.push((Actuator::Trip(id), job.names.of(Subject::Safety(id))));
    }
    if list.contains(&Actuator::Overload(pump)) {
        out.push((Actuator::Overload(pump), "its overload".to_owned()));
    }
    out
}

/// True when some load of the pump is live.
fn runs(solver: &mut Solver, set: &ActuatorSet, pump: PumpId) -> bool {
    let places: Vec<usize> = solver
        .watches()
        .iter()
        .enumerate()
        .filter(|(_, w)| matches!(w.what, What::Load(LoadUse::Pump(p) | LoadUse::PumpStart(p)) if p == pump))
        .map(|(i, _)| i)
        .collect();
    let seen = solver.solve(set);
    places.into_iter().any(|i| matches!(seen.seen.get(i), Some(Seen::Live | Seen::LiveReversed)))
}

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    let list = actuators(plan);
    if !list.iter().any(|a| matches!(a, Actuator::Hand(_))) {
        return;
    }
    let Ok(net) = Network::rebuild(&plan.devices, &plan.rows) else { return };
    let mut solver = Solver::new(&net, &Changes::default());
    for i in 0..job.pumps.len() {
        let pump = PumpId(i as u8);
        if !list.contains(&Actuator::Hand(pump)) {
            continue;
        }
        let about = Subject::Pump(pump);
        let hand = busy(&list).with(Actuator::Auto(pump), false).with(Actuator::Hand(pump), true);
        for (trip, what) in stops(job, pump, &list) {
            if runs(&mut solver, &hand.with(trip, true), pump) {
                out.add(about, format!("{} runs on HAND although {what} has tripped.", job.names.of(about)))
                    .field("pumps.selector")
                    .hint("Wire the limit behind the point where HAND and AUTO meet.");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    use crate::rules::fixture::{contact, device, safety};
    use crate::{device::Kind, part::Rest, row::Row};
    use heatwright_core::{
        SafetyId, ZoneId,
        config::{Reset, SafetyCircuit, SafetyKind, SafetyScope},
    };

    /// The pump's line through a selector and a floor limit; HAND joins before or after the limit.
    fn with(hand_joins_behind: bool) -> Vec<crate::finding::Finding> {
        after(&RULE, |job, plan| {
            let scope = SafetyScope::Zone(ZoneId(0));
            job.safeties.push(safety(SafetyKind::FloorLimit, scope, SafetyCircuit::ZoneLimit, Reset::Automatic));
            let limit = SafetyId(job.safeties.len() as u8 - 1);
            let mut s = device("S9", Kind::Selector, None, &["13", "14"]);
            contact(&mut s, "13", "14", Rest::Open, Actuator::Hand(PumpId(0)));
            let mut f = device("F9", Kind::Safety, None, &["11", "12"]);
            contact(&mut f, "11", "12", Rest::Closed, Actuator::Trip(limit));
            plan.devices.extend([s, f]);
            let line = plan.rows.iter().find(|r| r.from.terminal == "K2.14").unwrap().clone();
            plan.rows.retain(|r| r.from.terminal != "K2.14");
            let mut wire = |from: (&str, &str), to: (&str, &str)| {
                let mut row: Row = line.clone();
                (row.from.device, row.from.terminal) = (from.0.into(), from.1.into());
                (row.to.device, row.to.terminal) = (to.0.into(), to.1.into());
                plan.rows.push(row);
            };
            wire(("A1", "K2.14"), ("F9", "11"));
            wire(("F9", "12"), ("Q2", "1/L1"));
            wire(("A1", "K2.11"), ("S9", "13"));
            wire(("S9", "14"), if hand_joins_behind { ("Q2", "1/L1") } else { ("F9", "11") });
        })
    }

    #[test]
    fn passes_hand_before_the_limit() {
        assert!(with(false).is_empty());
    }

    #[test]
    fn fails_hand_behind_the_limit() {
        let list = with(true);
        assert_eq!(list.len(), 1, "{list:#?}");
        assert_eq!(list[0].about, Subject::Pump(PumpId(0)));
    }
}
