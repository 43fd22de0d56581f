//! HW205 motors-share-circuit: several motors on one branch circuit outside 430.53(A) and (B).
//!
//! Motors rated in amperes only count by their current. Source: NFPA 70 430.53; see the tables.

use super::{Rule, edition, motors, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{
        Status,
        shared::{Motor, may_share},
    },
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW205",
    name: "motors-share-circuit",
    severity: Severity::Error,
    source: nec("430.53", Status::Partly, "15 A above 125 V and paragraph (B) are from memory"),
    doc: "What it finds\n\
        A branch circuit with two or more motors of which one is over 1 hp or 6 A, or whose breaker is over 20 A \
        (15 A above 125 V), and whose breaker does not protect the smallest of them by 430.52 either.\n\nWhy it matters\n\
        A breaker large enough for all of them together does not see a fault in the smallest.\n\nHow to mend it\n\
        Give each motor its own breaker, or use listed group-installation starters by 430.53(C), which this tool \
        does not judge. A 1/4 hp 115 V pump (5.8 A) may share, a 1/3 hp (7.2 A) may not.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for b in &plan.breakers {
        let list: Vec<Motor> = plan
            .motors
            .iter()
            .filter(|m| m.circuit == b.circuit)
            .filter_map(|m| motors::of(job, m.what))
            .map(|m| Motor { hp: m.hp.unwrap_or(0.0), full_load_amps: m.amps })
            .collect();
        let circuit = plan.circuits.iter().find(|c| c.name == b.circuit);
        let volts = circuit.map_or(120.0, |c| c.volts);
        if may_share(&list, volts, f64::from(b.amps), edition(job)) {
            continue;
        }
        let largest = list.iter().map(|m| m.full_load_amps).fold(0.0, f64::max);
        out.add(
            circuit.and_then(|c| c.subject).unwrap_or(Subject::Plant),
            format!(
                "{} motors share the {} A breaker of {}, and the largest draws {largest:.1} A.",
                list.len(),
                b.amps,
                circuit.map_or(b.circuit.as_str(), |c| c.label.as_str())
            ),
        )
        .fact("motors", list.len(), "")
        .fact("largest", largest, "A")
        .fact("breaker", f64::from(b.amps), "A")
        .hint("Give each motor its own breaker.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    /// Two pumps of this size on the one 20 A circuit.
    fn two(hp: f64) -> usize {
        after(&RULE, |job, plan| {
            job.pumps[0].motor = crate::job::PumpMotor::Induction { hp };
            job.pumps.push(job.pumps[0].clone());
            let mut second = plan.motors[0].clone();
            second.what = crate::part::LoadUse::Pump(heatwright_core::PumpId(1));
            plan.motors.push(second);
            plan.breakers[1].amps = 20;
        })
        .len()
    }

    #[test]
    fn passes_two_quarter_horsepower_pumps() {
        assert_eq!(two(0.25), 0);
    }

    #[test]
    fn fails_two_half_horsepower_pumps_only_where_the_breaker_is_too_large_for_one() {
        // 1/3 hp: 7.2 A x 250 % = 18 A, so a 20 A breaker protects the smaller by 430.53(B). 1/2 hp: 25 A would.
        assert_eq!(two(1.0 / 3.0), 0);
        let list = after(&RULE, |job, plan| {
            job.pumps.push(job.pumps[0].clone());
            job.pumps[1].motor = crate::job::PumpMotor::Induction { hp: 1.0 / 3.0 };
            let mut second = plan.motors[0].clone();
            second.what = crate::part::LoadUse::Pump(heatwright_core::PumpId(1));
            plan.motors.push(second);
            plan.breakers[1].amps = 20;
        });
        // 1/6 hp beside 1/3 hp on 20 A: the smaller allows 15 A only, the larger draws over 6 A.
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("7.2 A"));
    }
}
