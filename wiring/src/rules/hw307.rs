//! HW307 transformer-overprotected: a dry-type transformer whose devices are larger than its windings allow.
//!
//! With the rated currents of both windings: primary device at most 250 % where a secondary device of at most 125 % (next standard
//! size) stands behind it. Source: NFPA 70 Table 450.3(B), checked.

use super::{Rule, edition, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::{Duty, Plan},
    tables::{Status, derived},
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW307",
    name: "transformer-overprotected",
    severity: Severity::Error,
    source: nec("Table 450.3(B)", Status::Checked, ""),
    doc: "What it finds\n\
        A breaker at the primary over 250 % of the rated primary current, or at the secondary over 125 % and the next \
        standard size; or a secondary without one.\n\nWhy it matters\n\
        An overloaded winding burns long before a breaker that is too large opens.\n\nHow to mend it\n\
        Take the breaker down, or the transformer up.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    let list = [(Duty::Transformer, "primary"), (Duty::Feeder, "secondary")];
    for (duty, what) in list {
        for c in plan.circuits.iter().filter(|c| c.duty == duty) {
            let largest = match duty {
                Duty::Feeder => derived::secondary(c.amps, edition(job)),
                _ => derived::primary(c.amps, edition(job)),
            };
            match (plan.breakers.iter().find(|b| b.circuit == c.name), largest) {
                (Some(b), Some(d)) if f64::from(b.amps) > d.most => {
                    out.add(
                        Subject::Plant,
                        format!("The breaker at the {what} of the transformer is {} A; {:.0} A is the most.", b.amps, d.most),
                    )
                    .fact("breaker", f64::from(b.amps), "A")
                    .fact("rated current", c.amps, "A")
                    .hint("Take a smaller breaker.");
                }
                (Some(_), Some(_)) => {}
                (None, _) => {
                    out.add(Subject::Plant, format!("The {what} of the transformer has no overcurrent device."))
                        .hint("Add one; without it the other side's may be 125 % only.");
                }
                (_, None) => {
                    out.add(Subject::Plant, format!("No standard breaker fits the {what} of the transformer."))
                        .fact("rated current", c.amps, "A")
                        .hint("Take a larger transformer, or fuses.");
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    #[test]
    fn fails_too_large_and_missing() {
        let set = |circuit: &str, amps: u16| {
            after_mill(&RULE, |_, p| {
                let name = p.circuits.iter().find(|c| c.duty == Duty::Transformer).unwrap().name.clone();
                let name = if circuit == "primary" { name } else { "TP1".into() };
                p.breakers.iter_mut().find(|b| b.circuit == name).unwrap().amps = amps;
            })
        };
        // 10 kVA: 20.8 A x 250 % = 52 A: 50 A. 41.7 A x 125 % = 52.1 A, next size 60 A.
        assert!(set("primary", 50).is_empty() && set("secondary", 60).is_empty());
        assert!(set("primary", 60)[0].sentence.contains("50 A is the most"));
        assert!(set("secondary", 70)[0].sentence.contains("60 A is the most"));
        let list = after_mill(&RULE, |_, p| p.breakers.retain(|b| b.circuit != "TP1"));
        assert!(list[0].sentence.contains("no overcurrent device"));
    }

}
