//! HW301 class2-with-power: Class 2 conductors in one raceway or cable with power or Class 1 conductors.
//!
//! Source: NFPA 70 725.136, from memory.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    row::Class,
    tables::Status,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW301",
    name: "class2-with-power",
    severity: Severity::Error,
    source: nec("725.136", Status::Memory, "from memory; the number is to be checked in the 2023 edition"),
    doc: "What it finds\n\
        A raceway or cable that holds Class 2 conductors (thermostats, sensors, 0-10 V, 24 V actuators) together \
        with power, control or Class 1 conductors.\n\nWhy it matters\n\
        Class 2 is exempt from most protection because it cannot hurt. One nick in a shared raceway puts 120 V \
        on every thermostat in the building.\n\nHow to mend it\n\
        Give Class 2 its own raceway or cable, or reclassify the circuit and wire all of it as Class 1.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let mut runs: Vec<&str> = plan.rows.iter().map(|r| r.run.as_str()).filter(|r| !r.is_empty()).collect();
    runs.sort_unstable();
    runs.dedup();
    for run in runs {
        let of = |wanted: &[Class]| plan.rows.iter().find(|r| r.run == run && wanted.contains(&r.class));
        let low = of(&[Class::Class2]);
        let high = of(&[Class::Power, Class::Control, Class::Class1PowerLimited]);
        if let (Some(low), Some(high)) = (low, high) {
            out.add(
                Subject::Plant,
                format!(
                    "Run {run} holds Class 2 wire {} together with wire {} of {:.0} V.",
                    low.wire, high.wire, high.volts
                ),
            )
            .fact("run", run, "")
            .hint("Run Class 2 in its own raceway or cable.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_a_thermostat_pair_in_a_power_raceway() {
        let list = after(&RULE, |_, plan| {
            for r in plan.rows.iter_mut().filter(|r| r.run == "L1") {
                r.run = "P3".into();
            }
        });
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("Run P3") && list[0].sentence.contains("120 V"));
    }
}
