//! HW202 motor-conductor-under-125: conductors of a motor circuit that carry less than 125 % of its current.
//!
//! Ampacity in place (ambient, adjustment, terminals) against 125 % of the table current, or of the largest motor plus the others.
//! Source: NFPA 70 430.22 checked, 430.24 from memory.

use super::{Rule, carrying, motors, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::Plan,
    row::Class,
    tables::{
        Awg, Status,
        conductor::{allowed_amps, group_amps},
    },
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW202",
    name: "motor-conductor-under-125",
    severity: Severity::Error,
    source: nec("430.22, 430.24, 430.6(A)", Status::Partly, "430.24 is from memory"),
    doc: "What it finds\n\
        A conductor of a motor circuit whose ampacity, after correction and adjustment, is under 125 % of the \
        motor's table current; with several motors under 125 % of the largest plus the rest.\n\nWhy it matters\n\
        A motor draws more than its full-load current for long whenever the voltage is low or the load heavy, \
        and its breaker is deliberately too large to notice.\n\nHow to mend it\n\
        Use the next larger conductor all the way, past the disconnect to the motor.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for (i, m) in plan.motors.iter().enumerate() {
        if plan.motors.iter().take(i).any(|o| o.circuit == m.circuit) {
            continue;
        }
        let on_circuit = plan.motors.iter().filter(|o| o.circuit == m.circuit);
        let amps: Vec<f64> = on_circuit.filter_map(|o| motors::of(job, o.what)).map(|o| o.amps).collect();
        let all = group_amps(&amps, 0.0, 0.0);
        let device = plan.devices.iter().find(|d| d.tag == m.device);
        for row in plan.rows.iter().filter(|r| r.circuit == m.circuit && r.class == Class::Power) {
            // Past the point where the circuit parts, a conductor carries its own motor only.
            let own = amps.iter().copied().filter(|a| (a - row.amps).abs() < 0.05).fold(f64::NAN, f64::max);
            let need = if own.is_nan() || amps.len() == 1 { all } else { 1.25 * own };
            let Ok(awg) = row.awg.parse::<Awg>() else { continue };
            let may = allowed_amps(awg, carrying::conditions(job, plan, row, awg)).unwrap_or(0.0);
            if may + 1e-9 < need {
                out.add(
                    device.and_then(|d| d.subject).unwrap_or(Subject::Plant),
                    format!(
                        "Wire {} ({awg} AWG) to {} may carry {may:.1} A; 125 % of the motor current is {need:.1} A.",
                        row.wire,
                        device.map_or(m.device.as_str(), |d| d.label.as_str())
                    ),
                )
                .fact("allowed", may, "A")
                .fact("wanted", need, "A")
                .hint("Use a larger conductor.");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_three_horsepower_on_12() {
        // 3 hp 208 V single phase: 18.7 A, 125 % = 23.4 A; 12 AWG on 60 °C terminals carries 20 A.
        let list = after(&RULE, |job, _| {
            job.pumps[0].motor = crate::job::PumpMotor::Induction { hp: 3.0 };
            job.pumps[0].supply = crate::job::Supply { volts: 208.0, phases: 1 };
        });
        assert_eq!(list.len(), 5, "each power conductor of the circuit");
        assert!(list[0].sentence.contains("23.4 A"));
    }

    #[test]
    fn fails_in_a_packed_raceway() {
        let list = after(&RULE, |_, plan| {
            plan.rows[6].awg = "14".into();
            let mate = plan.rows[6].clone();
            plan.rows.extend(std::iter::repeat_n(crate::row::Row { circuit: "other".into(), ..mate }, 40));
        });
        // 14 AWG: 25 * 0.96 * 0.35 = 8.4 A covers 5.5 A; with a hotter room it no longer does.
        assert!(list.is_empty());
        let list = after(&RULE, |_, plan| {
            plan.runs[2].ambient_c = 75.0;
            let mate = plan.rows[6].clone();
            plan.rows.extend(std::iter::repeat_n(crate::row::Row { circuit: "other".into(), ..mate }, 40));
        });
        // 12 AWG: 30 * 0.50 * 0.35 = 5.25 A against 5.5 A.
        assert_eq!(list.len(), 1);
    }
}
