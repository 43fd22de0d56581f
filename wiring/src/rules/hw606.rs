//! HW606 receptacle-over-125-volts: a receptacle on a circuit of more than 125 V.
//!
//! 277 V is a voltage of lights and motors, never of a receptacle. Source: NFPA 70 210.6(A), 406.4, from memory.

use super::{Rule, nec};
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    plan::{Duty, Plan},
    tables::Status,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW606",
    name: "receptacle-over-125-volts",
    severity: Severity::Error,
    source: nec("210.6(A), 406.4", Status::Memory, "from memory"),
    doc: "What it finds\n\
        A service receptacle on a branch circuit of more than 125 V: line to neutral of a 480Y/277 V service, or two lines.\n\nWhy it matters\n\
        The next drill that is plugged in burns, and its user stands at 277 V to ground.\n\nHow to mend it\n\
        Feed receptacles from the 120 V panelboard.",
    check,
};

/// Highest volts of the usual receptacle.
const VOLTS_MAX: f64 = 125.0;

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    for d in plan.devices.iter().filter(|d| d.kind == Kind::Receptacle) {
        let lands = |c: &str| plan.rows.iter().any(|r| r.circuit == c && r.to.device == d.tag);
        for c in plan.circuits.iter().filter(|c| c.duty == Duty::Receptacle && c.volts > VOLTS_MAX && lands(&c.name)) {
            out.add(Subject::Plant, format!("{} ({}) hangs on {:.0} V.", d.tag, d.label, c.volts))
                .fact("circuit", c.name.clone(), "")
                .hint("Feed it from a 120 V branch circuit.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    #[test]
    fn fails_277_volts() {
        let list = after_mill(&RULE, |_, p| p.circuits.iter_mut().filter(|c| c.duty == Duty::Receptacle).for_each(|c| c.volts = 277.0));
        assert!(list.len() == 1 && list[0].sentence.contains("277 V"));
    }

}
