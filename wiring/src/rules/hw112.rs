//! HW112 breaker-under-load: a breaker smaller than its load asks for.
//!
//! 125 % of a continuous load and 100 % of any other. Motor circuits start through their breaker and are looked at by HW201.
//! Source: NFPA 70 210.20(A), from memory.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::{Duty, Plan},
    tables::Status,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW112",
    name: "breaker-under-load",
    severity: Severity::Error,
    source: nec("210.20(A)", Status::Memory, "the 125 % are from memory"),
    doc: "What it finds\n\
        A breaker smaller than 125 % of its continuous load with the rest of its load. It comes from a `breaker-max` of a boiler that is less \
        than its own `amps` ask for. Motor circuits are looked at by HW201. Breaker and panel are taken as listed for 80 % of \
        their rating with continuous load, as most are; one that is listed for 100 % (210.20(A), exception, from memory) is on the safe \
        side here.\n\nWhy it matters\n\
        It trips in the coldest week, when the load lasts longest. And a plate does not contradict itself: one of the two figures was \
        misread.\n\nHow to mend it\n\
        Read the plate again: amperes of the boiler with everything that it feeds, and the largest breaker that it names.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for b in &plan.breakers {
        let Some(c) = plan.circuits.iter().find(|c| c.name == b.circuit) else { continue };
        if matches!(c.duty, Duty::Motor | Duty::Transformer) {
            continue;
        }
        let asked = if c.continuous { 1.25 * c.amps } else { c.amps };
        let amps = f64::from(b.amps);
        // A hundredth of an ampere is below what any plate states.
        if amps + 0.01 >= asked {
            continue;
        }
        let about = c.subject.unwrap_or(Subject::Plant);
        let plate = match about {
            Subject::Boiler(id) if c.duty == Duty::BoilerLine => job.boilers.get(id.index()).and_then(|x| x.breaker_max_a),
            _ => None,
        };
        let why = match plate {
            Some(most) => format!(", and the boiler's plate is said to allow {most} A at most"),
            None => String::new(),
        };
        out.add(about, format!("{} asks for a breaker of {asked:.1} A or more and has {amps:.0} A{why}.", c.label))
            .field("boilers.breaker")
            .fact("breaker", amps, "A")
            .fact("load", c.amps, "A")
            .fact("asked for", asked, "A")
            .hint("Read the plate again: its amperes or its largest breaker was misread.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    /// 12 A for hours ask for 15 A; a little more asks for 20 A.
    #[test]
    fn fails_where_a_continuous_load_is_over_four_fifths() {
        let with = |amps: f64, continuous: bool| {
            after(&RULE, |job, plan| {
                job.boilers[0].breaker_max_a = Some(15);
                let c = plan.circuits.iter_mut().find(|c| c.duty == Duty::BoilerLine).unwrap();
                (c.amps, c.continuous) = (amps, continuous);
                let name = c.name.clone();
                plan.breakers.iter_mut().find(|b| b.circuit == name).unwrap().amps = 15;
            })
        };
        assert!(with(12.0, true).is_empty());
        assert!(with(15.0, false).is_empty());
        let list = with(12.1, true);
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("15.1 A or more and has 15 A"), "{list:?}");
        assert_eq!(with(15.1, false).len(), 1);
    }
}
