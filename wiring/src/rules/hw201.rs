//! HW201 breaker-over-motor-maximum: a breaker over the largest allowed for the motor behind it.
//!
//! The motor current is looked up anew by horsepower (nameplate where the tables do not apply); 250 % of it, and the next standard size
//! of the edition. Circuits with several motors are HW205's. Source: NFPA 70 Table 430.52, checked.

use super::{Rule, edition, motors, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::{Status, protect, shared},
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW201",
    name: "breaker-over-motor-maximum",
    severity: Severity::Error,
    source: nec("Table 430.52, 430.52(C)(1)", Status::Checked, ""),
    doc: "What it finds\n\
        An inverse-time breaker larger than 250 % of the motor's full-load current, rounded up to the next \
        standard rating. In the 2023 edition 10 A is a standard rating; in 2020 the smallest is 15 A. A motor up to 1 hp and 6 A on \
        a breaker that 430.53(A) would allow for several such motors is only noted.\n\nWhy it matters\n\
        The figure is a maximum for short circuits, not a size to aim at. Past it the breaker no longer protects \
        motor and conductors against a fault.\n\nHow to mend it\n\
        Take the smaller breaker. If the motor then does not start, 430.52(C) allows up to 400 %, and that is to \
        be written down.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for m in &plan.motors {
        let alone = plan.motors.iter().filter(|o| o.circuit == m.circuit).count() == 1;
        let (Some(b), Some(motor)) =
            (plan.breakers.iter().find(|b| b.circuit == m.circuit), motors::of(job, m.what))
        else {
            continue;
        };
        let Some(most) = protect::inverse_time_breaker(motor.amps, edition(job)).filter(|_| alone) else { continue };
        if f64::from(b.amps) > most {
            // A small motor may share a circuit of this size with another by 430.53(A): alone on it, it is the letter of 430.52
            // that is broken, not its sense.
            let small = shared::Motor { hp: motor.hp.unwrap_or(0.0), full_load_amps: motor.amps };
            let by_letter = shared::small_motors_may_share(&[small], motor.supply.volts, f64::from(b.amps));
            let weight = if by_letter { Severity::Note } else { Severity::Error };
            let device = plan.devices.iter().find(|d| d.tag == m.device);
            out.add(
                device.and_then(|d| d.subject).unwrap_or(Subject::Plant),
                format!(
                    "The breaker of {} is {} A; for {:.1} A of full-load current {most:.0} A is the largest.",
                    device.map_or(m.device.as_str(), |d| d.label.as_str()),
                    b.amps,
                    motor.amps
                ),
            )
            .fact("breaker", f64::from(b.amps), "A")
            .fact("largest", most, "A")
            .fact("full-load current", motor.amps, "A")
            .hint(format!("Take {most:.0} A or less."))
            .severity(weight);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_20_amperes_for_a_sixth_of_a_horsepower() {
        // 4.4 A x 250 % = 11 A, so 15 A.
        let list = after(&RULE, |_, plan| plan.breakers[1].amps = 20);
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("15 A is the largest"));
        // Two such motors together may hang on 20 A at 120 V (430.53(A)); at 25 A no more.
        assert_eq!(list[0].severity, Severity::Note);
        let list = after(&RULE, |_, plan| plan.breakers[1].amps = 25);
        assert_eq!(list[0].severity, Severity::Error);
    }

    #[test]
    fn fails_15_amperes_in_2023_where_10_is_standard() {
        // 3/4 hp 208 V three phase: 3.5 A x 250 % = 8.75 A.
        let by = |edition| {
            after(&RULE, |job, _| {
                job.settings.edition = edition;
                job.pumps[0].motor = crate::job::PumpMotor::Induction { hp: 0.75 };
                job.pumps[0].supply = crate::job::Supply { volts: 208.0, phases: 3 };
            })
            .len()
        };
        assert_eq!(by(crate::job::Edition::Nec2020), 0);
        assert_eq!(by(crate::job::Edition::Nec2023), 1);
    }
}
