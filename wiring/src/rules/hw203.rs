//! HW203 overload-missing: a motor without overload protection, or with one set too high.
//!
//! The job says whether a motor carries its own; else a starter must, its trip contact must exist in the plan, and its setting
//! and the ceiling that is printed for it must be within what the plate allows: 125 % of the nameplate current for a service
//! factor of 1.15 or more or a rise of 40 °C or less, else 115 %. Source: NFPA 70 430.32(A)(1), checked.

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
    source: nec("430.31, 430.32, 430.37", Status::Partly, "430.37 is from memory"),
    doc: "What it finds\n\
        A pump motor that has no thermal protection of its own and no starter with an overload relay, or an \
        overload whose setting or printed ceiling is over 125 % of the nameplate current; 115 % where the plate has \
        neither a service factor of 1.15 nor a temperature rise of 40 °C or less.\n\nWhy it matters\n\
        The breaker of a motor circuit is too large to see an overload. A seized pump then burns its winding.\n\nHow to mend it\n\
        Use a starter with an overload set to the nameplate current, or a motor marked as thermally or impedance \
        protected.",
    check,
};

/// A pump's motor, or that of a three-phase fan; small single-phase fans are taken as the job says and carry their own.
struct Plate {
    about: Subject,
    nameplate_a: f64,
    service_factor: f64,
    rise_k: Option<f64>,
    built_in: bool,
    trips: Actuator,
}

fn of(job: &Job, what: LoadUse) -> Option<Plate> {
    match what {
        LoadUse::Pump(p) | LoadUse::PumpSupply(p) => job.pumps.get(p.index()).map(|x| Plate {
            about: Subject::Pump(p),
            nameplate_a: x.nameplate_a,
            service_factor: x.service_factor,
            rise_k: x.rise_k,
            built_in: x.overload_built_in,
            trips: Actuator::Overload(p),
        }),
        LoadUse::Fan(z, fan) => job.zones.get(z.index())?.fan.as_ref().map(|f| Plate {
            about: Subject::Zone(z),
            nameplate_a: f.amps,
            service_factor: f.service_factor,
            rise_k: None,
            built_in: f.overload_built_in,
            trips: Actuator::FanOverload(z, fan),
        }),
        _ => None,
    }
}

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    for m in &plan.motors {
        let Some(motor) = of(job, m.what).filter(|m| !m.built_in) else { continue };
        let (about, nameplate_a) = (motor.about, motor.nameplate_a);
        let name = job.names.of(about);
        let trips = plan
            .devices
            .iter()
            .flat_map(|d| &d.parts)
            .any(|part| matches!(part, Part::Contact { by, .. } if *by == motor.trips));
        let reserve = Reserve::of_plate(motor.service_factor, motor.rise_k);
        let most = largest_setting_amps(nameplate_a, reserve);
        match m.overload.map(|o| o.set_a.max(o.max_a)) {
            None => {
                out.add(about, format!("The motor of {name} has no overload protection."))
                    .field("pumps.overload")
                    .fact("nameplate current", nameplate_a, "A")
                    .hint("Add a starter with an overload relay, or state that the motor is thermally protected.");
            }
            Some(_) if !trips => {
                out.add(about, format!("The plan names an overload for {name}, but no contact of it opens anything."))
                    .hint("Wire its trip contact in the coil circuit.");
            }
            Some(set) if set > most + 1e-9 => {
                out.add(about, format!("The overload of {name} may be set to {set:.2} A; {most:.2} A is the largest."))
                    .field("pumps.service_factor")
                    .fact("setting", set, "A")
                    .fact("largest", most, "A")
                    .fact("of the nameplate current", reserve.percent(), "%")
                    .fact("nameplate current", nameplate_a, "A")
                    .hint("Set it to the nameplate current.");
            }
            Some(_) => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_without_and_with_a_wrong_one() {
        let with = |set: Option<f64>, trip: bool, service_factor: f64| {
            after(&RULE, |job, plan| {
                job.pumps[0].overload_built_in = false;
                job.pumps[0].service_factor = service_factor;
                plan.motors[0].overload = set.map(|a| crate::plan::Overload {
                    set_a: 4.0,
                    max_a: a,
                    max_to_start_a: 5.2,
                    max_percent: 115.0,
                });
                if trip {
                    let mut q = crate::rules::fixture::device("Q9", crate::device::Kind::Starter, None, &["95", "96"]);
                    let by = Actuator::Overload(heatwright_core::PumpId(0));
                    crate::rules::fixture::contact(&mut q, "95", "96", crate::part::Rest::Closed, by);
                    plan.devices.push(q);
                }
            })
        };
        assert!(with(None, true, 1.15)[0].sentence.contains("no overload protection"));
        assert!(with(Some(4.0), false, 1.15)[0].sentence.contains("no contact of it"));
        assert!(with(Some(4.0), true, 1.15).is_empty());
        // Nameplate 4.0 A x 125 % = 5.0 A.
        assert!(with(Some(5.0), true, 1.15).is_empty());
        assert!(with(Some(5.1), true, 1.15)[0].sentence.contains("5.00 A is the largest"));
        // Without a service factor 4.0 A x 115 % = 4.6 A.
        assert!(with(Some(4.6), true, 1.0).is_empty());
        assert!(with(Some(5.0), true, 1.0)[0].sentence.contains("4.60 A is the largest"));
    }
}
