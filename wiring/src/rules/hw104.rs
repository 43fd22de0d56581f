//! HW104 conductor-over-ampacity: a conductor carries more than it may where it runs.
//!
//! Ampacity at the run's ambient with all current-carrying conductors of the run, capped by the terminals, against the row's
//! current; 125 % of a continuous load, before adjustment, against the terminals' column. Source: NFPA 70 310.15, 210.19(A), 110.14(C).

use super::{Rule, carrying, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::{Duty, Plan},
    row::Class,
    tables::{
        Awg, Status,
        conductor::{Conditions, allowed_amps},
    },
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW104",
    name: "conductor-over-ampacity",
    severity: Severity::Error,
    source: nec(
        "310.15(B), 310.15(C)(1), 110.14(C), 210.19(A)",
        Status::Partly,
        "125 % of continuous loads and the exemption of nipples are from memory",
    ),
    doc: "What it finds\n\
        A power or line-voltage control conductor whose current is over its ampacity after correction for the ambient and adjustment for the \
        number of current-carrying conductors in its raceway, or over what its terminals are marked for. Neutrals of two-wire circuits \
        count.\n\nWhy it matters\n\
        A raceway with ten current-carrying conductors halves their ampacity; a hot boiler room takes its share too. Insulation that is \
        too hot for years fails where nobody sees it.\n\nHow to mend it\n\
        Use a larger conductor, split the raceway, or run it through a cooler place.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for row in plan.rows.iter().filter(|r| matches!(r.class, Class::Power | Class::Control)) {
        let Ok(awg) = row.awg.parse::<Awg>() else {
            out.add(Subject::Plant, format!("Wire {} has size {}, which is not in the tables.", row.wire, row.awg))
                .severity(Severity::Warning)
                .hint("Check its ampacity by hand.");
            continue;
        };
        let on = carrying::conditions(job, plan, row, awg);
        let circuit = plan.circuits.iter().find(|c| c.name == row.circuit);
        let continuous = circuit.is_some_and(|c| c.continuous && c.duty != Duty::Motor);
        let about = circuit.and_then(|c| c.subject).unwrap_or(Subject::Plant);
        let plain = allowed_amps(awg, Conditions { ambient_c: 30.0, current_carrying: 3, ..on }).unwrap_or(0.0);
        let adjusted = allowed_amps(awg, on).unwrap_or(0.0);
        let (need, may) = if row.amps > adjusted {
            (row.amps, adjusted)
        } else if continuous && 1.25 * row.amps > plain {
            (1.25 * row.amps, plain)
        } else {
            continue;
        };
        out.add(
            about,
            format!(
                "Wire {} ({} AWG {}) must carry {need:.1} A and may carry {may:.1} A in {}.",
                row.wire,
                row.awg,
                row.insulation,
                if row.run.is_empty() { "its enclosure".to_owned() } else { format!("raceway {}", row.run) }
            ),
        )
        .fact("current", need, "A")
        .fact("allowed", may, "A")
        .fact("ambient", on.ambient_c, "°C")
        .fact("current-carrying conductors", on.current_carrying, "")
        .hint("Use a larger conductor, or put fewer conductors into the raceway.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, clean, found};

    #[test]
    fn passes_light_loads() {
        let (job, plan) = clean();
        assert!(found(&RULE, &job, &plan).is_empty());
    }

    #[test]
    fn fails_many_conductors_in_one_raceway() {
        // 12 AWG, 35 °C: 30 * 0.96 * 0.5 = 14.4 A with ten in the raceway, and the boiler's conductors carry 16 A.
        let crowd = |extra: usize| {
            after(&RULE, |_, plan| {
                plan.rows[0].amps = 16.0;
                let mate = plan.rows[1].clone();
                plan.rows.extend(std::iter::repeat_n(mate, extra));
            })
        };
        assert!(crowd(0).is_empty());
        let list = crowd(8);
        assert_eq!(list.len(), 1, "{list:#?}");
        assert!(list[0].sentence.contains("may carry 14.4 A"), "{}", list[0].sentence);
    }

    #[test]
    fn fails_a_continuous_load_over_80_per_cent() {
        let list = after(&RULE, |_, plan| {
            plan.circuits[0].continuous = true;
            plan.rows[0].amps = 17.0;
        });
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("21.2 A") || list[0].sentence.contains("21.3 A"));
    }

    #[test]
    fn fails_a_room_too_hot_for_the_insulation() {
        let list = after(&RULE, |_, plan| plan.runs[0].ambient_c = 95.0);
        assert!(list.len() >= 2 && list[0].sentence.contains("may carry 0.0 A"));
    }
}
