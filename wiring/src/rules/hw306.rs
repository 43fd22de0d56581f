//! HW306 relay-classes-mixed: relay outputs of Class 2 and of line-voltage circuits in turn on the controller's card.
//!
//! Read from rows and devices: the class of what lands on each relay output, in the order of the relays. One change along the
//! card is needed, more are found. Outputs without wires are passed over. Source: NFPA 70 725.136(A), (B) and (D), checked;
//! that grouping is the way to keep the distance is common practice.

use super::{Rule, nec};
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    part::{Actuator, Part},
    plan::Plan,
    row::Class,
    tables::Status,
};
use heatwright_core::{RelayId, Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW306",
    name: "relay-classes-mixed",
    severity: Severity::Warning,
    source: nec("725.136(A), (B), (D)", Status::Checked, ""),
    doc: "What it finds\n\
        Relay outputs of the controller that switch Class 2 and line-voltage circuits in turn, so that their wires \
        cross on the card.\n\nWhy it matters\n\
        Inside an enclosure Class 2 conductors must stay 1/4 in away from line-voltage ones, or behind a barrier. Between \
        outputs that take turns nobody can keep that distance.\n\nHow to mend it\n\
        Leave the pins of relays out of the file, or pin all Class 2 outputs (24 V valves, 24 V damper) at one end.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    for d in plan.devices.iter().filter(|d| d.kind == Kind::Controller) {
        let mut outputs: Vec<(RelayId, bool)> = Vec::new();
        for part in &d.parts {
            let Part::Contact { a, b, by: Actuator::Relay(r), .. } = part else { continue };
            let mark = |t: crate::part::T| d.terminals.get(usize::from(t.0)).map(|t| t.mark.as_str());
            let marks = [mark(*a), mark(*b)];
            let lands = plan.rows.iter().find(|row| {
                [&row.from, &row.to].iter().any(|e| e.device == d.tag && marks.contains(&Some(e.terminal.as_str())))
            });
            if let Some(row) = lands {
                outputs.push((*r, row.class == Class::Class2));
            }
        }
        outputs.sort_unstable();
        outputs.dedup_by_key(|o| o.0);
        let changes = outputs.windows(2).filter(|w| w[0].1 != w[1].1).count();
        if changes > 1 {
            let class2: Vec<String> =
                outputs.iter().filter(|o| o.1).map(|o| (u16::from(o.0.0) + 1).to_string()).collect();
            out.add(
                Subject::Plant,
                format!("Class 2 and line-voltage circuits take turns on the relay outputs of {}.", d.tag),
            )
            .fact("changes along the card", changes, "")
            .fact("Class 2 relays", class2.join(", "), "")
            .hint("Pin the Class 2 outputs side by side at one end of the card, or pin none.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        fixtures::library,
        plan,
        rules::fixture::found,
    };
    use heatwright_core::RelayUse;

    #[test]
    fn passes_grouped_outputs_and_fails_a_valve_among_pumps() {
        let mut job = library();
        assert!(found(&RULE, &job, &plan::plan(&job).unwrap()).is_empty());
        let at = |job: &Job, u: RelayUse| job.points.relays.iter().position(|r| *r == u).unwrap();
        let valve = at(&job, RelayUse::Valve(heatwright_core::ZoneId(6)));
        let pump = at(&job, RelayUse::Pump(heatwright_core::PumpId(5)));
        job.points.relays.swap(valve, pump);
        let list = found(&RULE, &job, &plan::plan(&job).unwrap());
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("take turns"));
    }

    #[test]
    fn fails_the_example_of_its_documentation() {
        let mut job = library();
        let last = job.points.relays.iter().position(|r| *r == RelayUse::Damper).unwrap();
        job.points.relays.swap(0, last);
        assert_eq!(found(&RULE, &job, &plan::plan(&job).unwrap()).len(), 1);
    }
}
