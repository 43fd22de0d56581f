//! HW214 overload-pole-idle: a starter with a pole of its overload relay that carries no current.
//!
//! Looked at: the poles of each starter. A pole is idle where its line or load terminal has no conductor.

use super::Rule;
use crate::{finding::Findings, job::Job, kinds::relay::main_pole, device::Kind, plan::Plan, tables::{Source, Status}};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW214",
    name: "overload-pole-idle",
    severity: Severity::Error,
    source: Source {
        standard: "common practice",
        section: "single-phase motors on starters of three poles",
        editions: "none",
        status: Status::Memory,
        remark: "no standard cited; NFPA 70 110.3(B) makes the instructions of the starter binding",
    },
    doc: "What it finds\n\
        A starter with a pole of its overload relay through which no current of the motor goes.\n\nWhy it matters\n\
        Overload relays of three poles watch for a lost phase: one that sees no current in a pole trips early, and an older one, of \
        heaters, trips late because one of three warms it.\n\nHow to mend it\n\
        Lead the current of a single-phase motor through all three poles, one behind the other: out of 2/T1 into 3/L2, out of 4/T2 into 5/L3. Or \
        take a starter that is made for single phase, and give the motor as one that carries its own overload.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let lands = |tag: &str, mark: &str| {
        plan.rows.iter().flat_map(|r| [&r.from, &r.to]).any(|l| l.device == tag && l.terminal == mark)
    };
    for d in plan.devices.iter().filter(|d| d.kind == Kind::Starter) {
        let poles = (1..=u8::MAX).map(main_pole).take_while(|[line, _]| d.find(line).is_some());
        let idle: Vec<String> = poles
            .filter(|marks| marks.iter().any(|m| !lands(&d.tag, m)))
            .map(|[line, load]| format!("{line}-{load}"))
            .collect();
        if idle.is_empty() {
            continue;
        }
        out.add(
            d.subject.unwrap_or(Subject::Plant),
            format!("No current of the motor goes through {} of {} ({}).", idle.join(" and "), d.tag, d.label),
        )
        .fact("starter", d.tag.clone(), "")
        .hint("Lead the motor's current through all three poles, one behind the other.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        fixtures,
        job::PumpMotor,
        plan::{MotorSwitch, plan},
        rules::fixture::found,
    };

    /// The workshop's floor pump, 120 V, without protection of its own.
    fn single_phase() -> (Job, Plan) {
        let mut job = fixtures::workshop();
        job.pumps[1].motor = PumpMotor::Induction { hp: 1.0 / 6.0 };
        job.pumps[1].overload_built_in = false;
        let plan = plan(&job).unwrap();
        assert!(plan.motors.iter().any(|m| m.device == "M2" && m.switch == MotorSwitch::Starter));
        (job, plan)
    }

    fn joined(plan: &Plan, a: &str, b: &str) -> bool {
        let at = |l: &crate::row::Landing, mark: &str| l.device == "QA2" && l.terminal == mark;
        plan.rows.iter().any(|r| (at(&r.from, a) && at(&r.to, b)) || (at(&r.from, b) && at(&r.to, a)))
    }

    #[test]
    fn passes_a_motor_looped_through_all_poles() {
        let (job, plan) = single_phase();
        assert!(joined(&plan, "2/T1", "3/L2") && joined(&plan, "4/T2", "5/L3"), "{:#?}", plan.rows);
        assert_eq!(found(&RULE, &job, &plan), []);
    }

    #[test]
    fn fails_a_motor_on_one_pole() {
        let (job, mut plan) = single_phase();
        plan.rows.retain(|r| ![&r.from, &r.to].iter().any(|l| l.device == "QA2" && l.terminal == "5/L3"));
        let list = found(&RULE, &job, &plan);
        assert_eq!(list.len(), 1, "{list:#?}");
        assert!(list[0].sentence.contains("5/L3-6/T3 of QA2"), "{}", list[0].sentence);
    }
}
