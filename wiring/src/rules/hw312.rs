//! HW312 panelboard-without-main: a panelboard behind a transformer without a device of its own on the secondary side.
//!
//! Read from devices: the busbars of a panelboard that is fed by a transformer of the plan must stand behind a main breaker.
//! Source: NFPA 70 408.36(B), from memory.

use super::{Rule, nec};
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    part::{Actuator, MAIN_BREAKER, Part},
    plan::Plan,
    row::Class,
    tables::Status,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW312",
    name: "panelboard-without-main",
    severity: Severity::Error,
    source: nec("408.36(B)", Status::Memory, "from memory"),
    doc: "What it finds\n\
        A panelboard fed by a dry-type transformer whose incoming conductors land on its busbars without a main breaker.\n\nWhy it matters\n\
        The breaker ahead of the transformer protects neither busbars nor secondary conductors.\n\nHow to mend it\n\
        Take a panelboard with a main breaker not larger than its rating.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let transformer = |tag: &str| plan.devices.iter().any(|d| d.tag == tag && d.kind == Kind::DryTransformer);
    for d in plan.devices.iter().filter(|d| d.kind == Kind::Panelboard) {
        let lines = plan.rows.iter().filter(|r| r.class == Class::Power && r.to.device == d.tag && transformer(&r.from.device));
        let main = |mark: &str| {
            let at = d.find(mark);
            let on = |t| Some(t) == at;
            let by_main = |p: &Part| {
                matches!(p, Part::Contact { a, b, by: Actuator::Breaker(MAIN_BREAKER), .. } if on(*a) || on(*b))
            };
            d.parts.iter().any(by_main)
        };
        if lines.map(|r| r.to.terminal.as_str()).any(|m| !m.starts_with('N') && !main(m)) {
            out.add(Subject::Plant, format!("Panelboard {} stands behind a transformer and has no main breaker.", d.tag))
                .fact("panelboard", d.tag.clone(), "")
                .hint("Take one with a main breaker on the secondary side.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    #[test]
    fn fails_lugs_without_a_breaker() {
        let list = after_mill(&RULE, |_, p| {
            let d = p.devices.iter_mut().find(|d| d.tag == "A3").unwrap();
            for part in &mut d.parts {
                if let Part::Contact { a, b, by: Actuator::Breaker(MAIN_BREAKER), .. } = part {
                    *part = Part::Bond(*a, *b);
                }
            }
        });
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("A3"));
    }

}
