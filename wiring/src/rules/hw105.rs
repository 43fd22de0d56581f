//! HW105 breaker-over-conductor: a breaker too large for the conductors it protects.
//!
//! Branch circuits that are not motor circuits: 240.4(B) with the next standard size, and 240.4(D) for small conductors.
//! Also a breaker over what the equipment's plate asks for. Source: NFPA 70 240.4; see the tables.

use super::{Rule, carrying, edition, nec};
use crate::{
    finding::Findings,
    job::Job,
    plan::{Duty, Plan},
    tables::{
        Awg, Status,
        conductor::{Conditions, allowed_amps, is_protected},
        standard,
    },
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW105",
    name: "breaker-over-conductor",
    severity: Severity::Error,
    source: nec("240.4, 240.6(A)", Status::Partly, "240.4(B) is from memory"),
    doc: "What it finds\n\
        A breaker larger than its conductors allow: 15 A on 14 AWG, 20 A on 12 AWG, 30 A on 10 AWG, above that the ampacity or the next \
        standard size. Also a breaker that is no standard size, and one over the largest that the boiler's plate names. Motor circuits \
        are looked at by HW201.\n\nWhy it matters\n\
        The breaker is there for the wire. Too large, it lets the wire burn before it opens.\n\nHow to mend it\n\
        Take the smaller breaker or the larger conductor; follow the equipment's plate where it names a maximum.",
    check,
};

/// Ampacity in place, amperes; none is the least.
fn allowed((awg, on): (Awg, Conditions)) -> f64 {
    allowed_amps(awg, on).unwrap_or(0.0)
}

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for b in &plan.breakers {
        let circuit = plan.circuits.iter().find(|c| c.name == b.circuit);
        let about = circuit.and_then(|c| c.subject).unwrap_or(Subject::Plant);
        let label = circuit.map_or(b.circuit.as_str(), |c| c.label.as_str());
        let amps = f64::from(b.amps);
        if !standard::is_breaker(amps, edition(job)) {
            out.add(about, format!("The breaker of {label} is {amps:.0} A, which is no standard rating in this edition."))
                .fact("breaker", amps, "A")
                .hint("Take the next standard rating that conductors and equipment allow.");
        }
        if let Subject::Boiler(id) = about
            && circuit.is_some_and(|c| c.duty == Duty::BoilerLine)
            && let Some(most) = job.boilers.get(id.index()).and_then(|x| x.breaker_max_a)
            && b.amps > most
        {
            out.add(about, format!("The breaker of {label} is {amps:.0} A; the boiler's plate names {most} A at most."))
                .field("boilers.breaker")
                .fact("breaker", amps, "A")
                .fact("plate", f64::from(most), "A")
                .hint("Follow the plate.");
        }
        if circuit.is_some_and(|c| c.duty == Duty::Motor) {
            continue;
        }
        let Ok(awg) = b.awg.parse::<Awg>() else { continue };
        let bare = Conditions { terminals: carrying::terminals(job), ..Conditions::default() };
        // Every conductor of the circuit counts where it runs, and the one that the breaker's entry names.
        let here = |r: &crate::row::Row| r.awg.parse::<Awg>().ok().map(|a| (a, carrying::conditions(job, plan, r, a)));
        let rows = plan.rows.iter().filter(|r| r.circuit == b.circuit && r.class == crate::row::Class::Power);
        let weakest = rows
            .filter_map(here)
            .chain([(awg, bare)])
            .filter(|(a, on)| !is_protected(*a, amps, *on, edition(job)))
            .min_by(|a, b| allowed(*a).total_cmp(&allowed(*b)));
        if let Some((awg, on)) = weakest {
            out.add(about, format!("The breaker of {label} is {amps:.0} A, too large for its {awg} AWG conductors."))
                .fact("breaker", amps, "A")
                .fact("conductor", awg.mark(), "AWG")
                .fact("ampacity where it runs", allowed((awg, on)), "A")
                .hint("Take a smaller breaker or larger conductors all the way.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, clean, found};

    #[test]
    fn passes_15_amperes_on_12() {
        let (job, plan) = clean();
        assert!(found(&RULE, &job, &plan).is_empty());
    }

    #[test]
    fn fails_30_amperes_on_12() {
        let list = after(&RULE, |_, plan| plan.breakers[2].amps = 30);
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("12 AWG"));
    }

    #[test]
    fn fails_one_thin_conductor_along_the_way() {
        let list = after(&RULE, |_, plan| {
            plan.breakers[0].amps = 20;
            plan.rows[3].awg = "14".into();
        });
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("14 AWG"));
    }

    /// 12 AWG THHN at 80 °C: 30 A x 0.41 = 12.3 A, and 15 A is the next standard rating.
    #[test]
    fn fails_20_amperes_on_12_in_great_heat() {
        let hot = |amps, ambient_c| {
            after(&RULE, |_, plan| {
                plan.breakers[0].amps = amps;
                plan.runs.iter_mut().for_each(|r| r.ambient_c = ambient_c);
            })
        };
        assert!(hot(20, 30.0).is_empty());
        assert!(hot(15, 80.0).is_empty());
        assert_eq!(hot(20, 80.0).len(), 1, "{:?}", hot(20, 80.0));
    }

    #[test]
    fn fails_over_the_plate_and_off_the_list() {
        let list = after(&RULE, |job, _| job.boilers[0].breaker_max_a = Some(10));
        assert_eq!(list[0].field, Some("boilers.breaker"));
        let list = after(&RULE, |_, plan| plan.breakers[1].amps = 17);
        assert!(list[0].sentence.contains("no standard rating"));
    }
}
