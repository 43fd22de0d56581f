//! HW304 secondary-from-480-not-grounded: a low-voltage secondary fed from a system of more than 150 V to ground, and not grounded.
//!
//! Volts to ground are those of the circuit whose conductors land on the primary: 24 V behind a second panelboard of 120/240 V
//! may float. Source: NFPA 70 250.20(A), checked. Boilers' own supplies count as well.

use super::{Rule, nec};
use crate::{
    finding::Findings,
    job::Job,
    part::Part,
    plan::Plan,
    tables::Status,
    trace::Trace,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW304",
    name: "secondary-from-480-not-grounded",
    severity: Severity::Error,
    source: nec("250.20(A)", Status::Checked, ""),
    doc: "What it finds\n\
        A transformer under 50 V whose primary hangs on a circuit of a 480Y/277 V system and whose secondary has no side on \
        ground.\n\nWhy it matters\n\
        If its insulation fails, 277 V stands on the thermostat wires with nothing to trip a breaker.\n\nHow to mend it\n\
        Ground one side of the secondary at the transformer.",
    check,
};

/// Volts to ground of a supply from which a secondary under 50 V must be grounded.
const TO_GROUND_MAX: f64 = 150.0;

/// Volts to ground of the circuit whose conductors land on this group.
fn to_ground(plan: &Plan, trace: &Trace<'_>, group: usize) -> f64 {
    let lands = |l| trace.landing(l).is_some_and(|n| trace.group(n) == group);
    let row = plan.rows.iter().find(|r| lands(&r.from) || lands(&r.to));
    let circuit = row.and_then(|r| plan.circuits.iter().find(|c| c.name == r.circuit));
    circuit.map_or(0.0, |c| c.volts_to_ground)
}

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    for (d, part) in trace.parts() {
        let Part::Transformer { primary, secondary, secondary_volts, .. } = part else { continue };
        let lines = primary.iter().filter_map(|t| trace.group_of(d, *t)).filter(|g| !trace.is_grounded(*g));
        let to_ground = lines.map(|g| to_ground(plan, &trace, g));
        let to_ground = to_ground.fold(0.0, f64::max);
        if to_ground <= TO_GROUND_MAX {
            continue;
        }
        let grounded = secondary.iter().any(|t| trace.group_of(d, *t).is_some_and(|g| trace.is_grounded(g)));
        if *secondary_volts < 50.0 && !grounded {
            let device = &trace.devices()[d];
            out.add(
                device.subject.unwrap_or(Subject::Plant),
                format!(
                    "The {secondary_volts:.0} V side of {} ({}) is not grounded, and its supply stands {:.0} V to ground.",
                    device.label,
                    device.tag,
                    to_ground
                ),
            )
            .fact("supply to ground", to_ground, "V")
            .hint("Ground one side of the secondary.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_on_480_and_not_on_208() {
        let with = |v| after(&RULE, |_, plan| plan.circuits.iter_mut().for_each(|c| c.volts_to_ground = v));
        let list = with(277.0);
        // T1 floats; the boiler's own supply is grounded.
        assert_eq!(list.len(), 1);
        assert!(list[0].sentence.contains("T1"));
        assert!(with(120.0).is_empty());
    }
}
