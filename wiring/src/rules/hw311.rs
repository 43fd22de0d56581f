//! HW311 bonding-jumper-undersized: a bonding jumper or grounding electrode conductor smaller than the secondary conductors ask for.
//!
//! System bonding jumper, supply-side bonding jumper and electrode conductor of a transformer, against the largest secondary
//! conductor. Source: NFPA 70 Tables 250.102(C)(1) and 250.66, 250.28(D), from memory.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::{Duty, Plan},
    row::Class,
    tables::{Awg, Status, bonding},
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW311",
    name: "bonding-jumper-undersized",
    severity: Severity::Error,
    source: nec("250.28(D), Table 250.102(C)(1), Table 250.66", Status::Memory, "from memory"),
    doc: "What it finds\n\
        A system bonding jumper, a supply-side bonding jumper or a grounding electrode conductor of a transformer that is \
        smaller than its tables give for the secondary conductors.\n\nWhy it matters\n\
        Behind the transformer no device limits what a fault drives through these conductors before the primary opens.\n\nHow to mend it\n\
        Take the size of the table: 8 AWG for secondaries up to 2 AWG, 6 AWG up to 1/0, 4 AWG up to 3/0, 2 AWG above.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    for c in plan.circuits.iter().filter(|c| c.duty == Duty::Feeder) {
        let of = |wanted: Class| plan.rows.iter().filter(move |r| r.circuit == c.name && r.class == wanted);
        let Some(largest) = of(Class::Power).filter_map(|r| r.awg.parse::<Awg>().ok()).max() else { continue };
        let least = bonding::size(largest);
        for r in of(Class::Ground) {
            if r.awg.parse::<Awg>().is_ok_and(|awg| awg < least) {
                out.add(
                    Subject::Plant,
                    format!("{} from {} to {} is {} AWG; {least} AWG is the least.", r.wire, r.from.device, r.to.device, r.awg),
                )
                .fact("secondary", largest.mark(), "AWG")
                .hint("Take the size of Tables 250.102(C)(1) and 250.66.");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    #[test]
    fn fails_each_that_is_too_thin() {
        let list = after_mill(&RULE, |_, p| {
            p.rows.iter_mut().filter(|r| r.circuit == "TP1" && r.class == Class::Ground).for_each(|r| r.awg = "10".into());
        });
        assert_eq!(list.len(), 3, "{list:#?}");
        assert!(list.iter().all(|f| f.sentence.ends_with("10 AWG; 8 AWG is the least.")));
    }

}
