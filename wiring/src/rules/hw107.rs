//! HW107 ground-undersized: an equipment ground smaller than its breaker, or the upsizing of its conductors, asks for.
//!
//! Every ground conductor of a branch circuit is compared, and what the load alone would need is computed anew.

use super::{Rule, carrying, edition, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::{Breaker, Circuit, Duty, Plan},
    row::Class,
    tables::{
        Awg, Status,
        conductor::{Conditions, motor_amps, size_for, size_for_circuit},
        egc,
    },
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW107",
    name: "ground-undersized",
    severity: Severity::Error,
    source: nec("Table 250.122, 250.122(A) and (B)", Status::Partly, "(A) and (B) are from memory"),
    doc: "What it finds\n\
        An equipment grounding conductor smaller than Table 250.122 gives for the breaker, or one that did not \
        grow in proportion when the circuit conductors were made larger than their load needs. It need never be \
        larger than the circuit conductors.\n\nWhy it matters\n\
        The ground must carry the fault current until the breaker opens. On a long run made larger for voltage \
        drop a small ground would keep the fault current too low to trip it.\n\nHow to mend it\n\
        Use the size stated; where a cable limits it, run a separate ground.",
    check,
};

/// The size that the circuit needs for its load and breaker alone.
fn needed(job: &Job, circuit: &Circuit, b: &Breaker) -> Option<Awg> {
    let on = Conditions { terminals: carrying::terminals(job), ..Conditions::default() };
    if circuit.duty == Duty::Motor {
        size_for(motor_amps(circuit.amps), on)
    } else {
        // 125 % of a continuous load is what the load itself asks for: it is no upsizing.
        let load = if circuit.continuous { 1.25 } else { 1.0 } * circuit.amps;
        size_for_circuit(load, f64::from(b.amps), on, edition(job))
    }
}

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for b in &plan.breakers {
        let Some(circuit) = plan.circuits.iter().find(|c| c.name == b.circuit) else { continue };
        if circuit.duty == Duty::Feeder {
            // Between transformer and main breaker stands a bonding jumper, sized by other tables: HW311.
            continue;
        }
        let of = |class| {
            plan.rows
                .iter()
                .filter(move |r| r.circuit == b.circuit && r.class == class)
                .filter_map(|r| Some((r, r.awg.parse::<Awg>().ok()?)))
        };
        let Some(used) = of(Class::Power).map(|r| r.1).min() else { continue };
        let want = needed(job, circuit, b).and_then(|n| egc::size(f64::from(b.amps), n, used));
        let Some(want) = want else { continue };
        if let Some((row, got)) = of(Class::Ground).min_by_key(|r| r.1).filter(|r| r.1 < want) {
            out.add(
                circuit.subject.unwrap_or(Subject::Plant),
                format!(
                    "The equipment ground {} of {} is {got} AWG; its {} A breaker and {used} AWG conductors ask for {want} AWG.",
                    row.wire, circuit.label, b.amps
                ),
            )
            .fact("ground", got.mark(), "AWG")
            .fact("wanted", want.mark(), "AWG")
            .fact("breaker", f64::from(b.amps), "A")
            .hint(format!("Use {want} AWG."));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, clean};

    fn sized(power: &'static str, ground: &'static str, amps: u16) -> usize {
        after(&RULE, |_, plan| {
            plan.breakers[0].amps = amps;
            for r in plan.rows.iter_mut().filter(|r| r.circuit == "A2:1") {
                r.awg = if r.class == Class::Ground { ground } else { power }.into();
            }
        })
        .len()
    }

    /// A continuous load of 46.9 A asks for 1.25 times that, 4 AWG behind 60 A: no upsizing, and a 10 AWG ground will do.
    #[test]
    fn a_continuous_load_is_no_upsizing() {
        let want = |continuous| {
            let (job, plan) = clean();
            let circuit = Circuit { amps: 46.9, continuous, ..plan.circuits[0].clone() };
            needed(&job, &circuit, &Breaker { amps: 60, ..plan.breakers[0].clone() })
        };
        assert_eq!((want(true), want(false)), (Some(Awg::A4), Some(Awg::A6)));
    }

    #[test]
    fn fails_14_behind_20_amperes() {
        assert_eq!(sized("12", "12", 20), 0);
        assert_eq!(sized("12", "14", 20), 1);
    }

    #[test]
    fn fails_when_conductors_grew_and_the_ground_did_not() {
        // 20 A needs 12 AWG; 8 AWG was used for drop: 12 AWG x 16510 / 6530 = 8 AWG.
        assert_eq!(sized("8", "10", 20), 1);
        assert_eq!(sized("8", "8", 20), 0);
    }
}
