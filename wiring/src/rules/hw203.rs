//! HW203 overload-missing: a motor without overload protection, or with one set too high.
//!
//! The job says whether a motor carries its own; else a starter must, its trip contact must exist in the plan, and its setting
//! must be within 125 % of the nameplate. Source: NFPA 70 430.32(A)(1), checked.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    part::{Actuator, LoadUse, Part},
    plan::Plan,
    tables::{
        Status,
        overload::{Reserve, largest_setting_amps},
    },
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW203",
    name: "overload-missing",
    severity: Severity::Error,
    source: nec("430.31, 430.32, 430.37", Status::Partly, "430.37 and settings over 125 % are from memory"),
    doc: "What it finds\n\
        A pump motor that has no thermal protection of its own and no starter with an overload relay, or an \
        overload set over 125 % of the nameplate current.\n\nWhy it matters\n\
        The breaker of a motor circuit is too large to see an overload. A seized pump then burns its winding.\n\nHow to mend it\n\
        Use a starter with an overload set to the nameplate current, or a motor marked as thermally or impedance \
        protected.",
    check,
};

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for m in &plan.motors {
        let LoadUse::Pump(p) = m.what else { continue };
        let Some(pump) = job.pumps.get(p.index()) else { continue };
        if pump.overload_built_in {
            continue;
        }
        let about = Subject::Pump(p);
        let name = job.names.of(about);
        let trips = plan.devices.iter().flat_map(|d| &d.parts).any(
            |part| matches!(part, Part::Contact { by: Actuator::Overload(o), .. } if *o == p),
        );
        let most = largest_setting_amps(pump.nameplate_a, Reserve::Marked);
        match m.overload_a {
            None => {
                out.add(about, format!("The motor of {name} has no overload protection."))
                    .field("pumps.overload")
                    .fact("nameplate current", pump.nameplate_a, "A")
                    .hint("Add a starter with an overload relay, or state that the motor is thermally protected.");
            }
            Some(_) if !trips => {
                out.add(about, format!("The plan names an overload for {name}, but no contact of it opens anything."))
                    .hint("Wire its trip contact in the coil circuit.");
            }
            Some(set) if set > most + 1e-9 => {
                out.add(about, format!("The overload of {name} is set to {set:.1} A; {most:.1} A is the largest."))
                    .fact("setting", set, "A")
                    .fact("largest", most, "A")
                    .fact("nameplate current", pump.nameplate_a, "A")
                    .hint("Set it to the nameplate current.");
            }
            Some(_) => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, clean, found};

    #[test]
    fn passes_the_clean_job() {
        let (job, plan) = clean();
        assert!(found(&RULE, &job, &plan).is_empty());
    }

    #[test]
    fn fails_without_and_with_a_wrong_one() {
        let with = |set: Option<f64>, trip: bool| {
            after(&RULE, |job, plan| {
                job.pumps[0].overload_built_in = false;
                plan.motors[0].overload_a = set;
                if trip {
                    let mut q = crate::rules::fixture::device("Q9", crate::device::Kind::Starter, None, &["95", "96"]);
                    let by = Actuator::Overload(heatwright_core::PumpId(0));
                    crate::rules::fixture::contact(&mut q, "95", "96", crate::part::Rest::Closed, by);
                    plan.devices.push(q);
                }
            })
        };
        assert!(with(None, true)[0].sentence.contains("no overload protection"));
        assert!(with(Some(4.0), false)[0].sentence.contains("no contact of it"));
        assert!(with(Some(4.0), true).is_empty());
        // Nameplate 4.0 A x 125 % = 5.0 A.
        assert!(with(Some(5.0), true).is_empty());
        assert!(with(Some(5.1), true)[0].sentence.contains("5.0 A is the largest"));
    }
}
