//! HW513 breaker-not-stocked: a one-pole breaker of a size that nobody has on the shelf.
//!
//! Common practice, no standard: one-pole breakers are made up to 60 or 70 A, seldom 100 A.

use super::Rule;
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::{Severity, Subject};

/// Largest one-pole breaker that is usual, amperes.
const ONE_POLE_MAX_A: u16 = 100;

pub(super) const RULE: Rule = Rule {
    code: "HW513",
    name: "breaker-not-stocked",
    severity: Severity::Warning,
    source: Source { standard: "common practice", section: "one-pole breakers", editions: "none", status: Status::Memory, remark: "what is made and stocked is common practice, no source" },
    doc: "What it finds\n\
        A circuit to neutral whose breaker would have one pole and more than 100 A.\n\nWhy it matters\n\
        Such a breaker is hardly made, and a motor or boiler of that size at 120 V is mostly a slip in the file: its plate says 208 V, \
        240 V or three phases.\n\nHow to mend it\n\
        Read the plate again: volts, phases, hp and amps. Where it is right, feed the machine at a higher voltage.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    for b in plan.breakers.iter().filter(|b| b.poles == 1 && b.amps > ONE_POLE_MAX_A) {
        let circuit = plan.circuits.iter().find(|c| c.name == b.circuit);
        let (about, label) = circuit.map_or((Subject::Plant, b.circuit.clone()), |c| (c.subject.unwrap_or(Subject::Plant), c.label.clone()));
        out.add(about, format!("{label} needs a one-pole breaker of {} A, which is hardly made.", b.amps))
            .fact("breaker", f64::from(b.amps), "A")
            .hint("Read its plate again: volts, phases, hp and amps.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_a_large_one_pole_breaker_and_no_other() {
        let with = |amps, poles| {
            after(&RULE, |_, plan| {
                let b = plan.breakers.first_mut().unwrap();
                (b.amps, b.poles) = (amps, poles);
            })
            .len()
        };
        assert_eq!((with(175, 1), with(175, 3), with(100, 1)), (1, 0, 0));
    }
}
