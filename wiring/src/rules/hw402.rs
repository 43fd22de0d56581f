//! HW402 safety-circuit-not-grounded: a boiler's control circuit without a grounded side, or above 150 V.
//!
//! Read from the job (what the user found in the boiler) and from the metal (a limit pair whose supply has no pole on ground).
//! Source: state boiler rules (two-wire, one side grounded, at most 150 V), checked for one state; ASME IV HG-632 from memory.

use super::Rule;
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    part::{LoadUse, Part},
    plan::{Duty, Plan},
    tables::{Source, Status},
    trace::Trace,
};
use heatwright_core::BoilerId;
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW402",
    name: "safety-circuit-not-grounded",
    severity: Severity::Error,
    source: Source { standard: "ASME BPVC Section IV, state boiler rules", section: "HG-632; two-wire, one side grounded, at most 150 V", editions: "current", status: Status::Partly, remark: "one state's text was checked; HG-632 is from memory" },
    doc: "What it finds\n\
        A boiler whose internal control supply has neither side on ground, so that its limit, proving and demand \
        pairs float (a warning below 50 V made from a line of at most 150 V to ground, where NEC 250.20(A) does not ask for it); or a control circuit over 150 V.\n\nWhy it matters\n\
        In a floating circuit a first ground fault goes unseen and a second one bridges the safeties between \
        them. With one side grounded and the contacts in the other leg the first fault opens the fuse.\n\nHow to mend it\n\
        Ground one side of the boiler's control supply if its maker allows it; otherwise have the maker or the \
        authority decide, and write it down.",
    check,
};

/// Most volts of a safety-control circuit.
const VOLTS_MAX: f64 = 150.0;

/// Up to here a circuit need not be grounded by 250.20(A) unless its transformer is fed with more than 150 V to ground, is not grounded
/// itself, or runs overhead outdoors (from memory).
const LOW_VOLTS_MAX: f64 = 49.0;

/// True when the load behind the limit pair has its other side on ground.
fn limit_is_grounded(trace: &Trace<'_>, boiler: BoilerId) -> Option<bool> {
    let mut found = None;
    for (d, part) in trace.parts().filter(|(d, _)| trace.devices()[*d].kind == Kind::Boiler) {
        if let Part::Load { a, b, what: LoadUse::Limit(id), .. } = part
            && *id == boiler
        {
            found = Some([*a, *b].into_iter().filter_map(|t| trace.group_of(d, t)).any(|g| trace.is_grounded(g)));
        }
    }
    found
}

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    for (i, b) in job.boilers.iter().enumerate() {
        let id = BoilerId(i as u8);
        let about = Subject::Boiler(id);
        let name = job.names.of(about);
        if b.control_volts > VOLTS_MAX {
            out.add(about, format!("The control circuit of {name} has {:.0} V; 150 V is the most.", b.control_volts))
                .field("boilers.control")
                .fact("control voltage", b.control_volts, "V")
                .hint("Use a control transformer.");
        }
        if limit_is_grounded(&trace, id) == Some(false) {
            // A 24 V supply inside the boiler is its maker's to ground or not; above that the rules ask for it.
            let fed = plan.circuits.iter().find(|c| c.subject == Some(about) && c.duty == Duty::BoilerLine);
            let low = b.control_volts <= LOW_VOLTS_MAX && fed.is_none_or(|c| c.volts_to_ground <= VOLTS_MAX);
            let weight = if low { Severity::Warning } else { Severity::Error };
            out.add(about, format!("The control circuit of {name} has no grounded side, so one ground fault goes unseen."))
                .severity(weight)
                .field("boilers.control")
                .fact("control voltage", b.control_volts, "V")
                .hint("Look at the boiler's own diagram and write control-grounded as it is there.")
                .hint("Ask whether one side of its internal supply may be grounded, and ground it.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    /// Without its ground: an error on 120 V, a look at the diagram where the boiler makes 24 V itself.
    #[test]
    fn fails_a_floating_supply_and_warns_of_one_of_24_volts() {
        for (volts, weight) in [(120.0, Severity::Error), (50.0, Severity::Error), (24.0, Severity::Warning)] {
            let list = after(&RULE, |job, plan| {
                job.boilers[0].control_volts = volts;
                let u1 = plan.devices.iter_mut().find(|d| d.tag == "U1").unwrap();
                let g = u1.find("G").unwrap();
                u1.parts.retain(|p| !matches!(p, Part::Bond(_, t) if *t == g));
            });
            assert_eq!(list.iter().map(|f| f.severity).collect::<Vec<_>>(), [weight], "{volts} V");
            assert!(list[0].sentence.contains("north boiler"));
        }
    }

    /// 24 V made from 277 V to ground must be grounded: 250.20(A)(1).
    #[test]
    fn fails_a_floating_24_volts_behind_277() {
        let list = after(&RULE, |_, plan| {
            plan.circuits.iter_mut().for_each(|c| c.volts_to_ground = 277.0);
            let u1 = plan.devices.iter_mut().find(|d| d.tag == "U1").unwrap();
            let g = u1.find("G").unwrap();
            u1.parts.retain(|p| !matches!(p, Part::Bond(_, t) if *t == g));
        });
        assert_eq!(list.iter().map(|f| f.severity).collect::<Vec<_>>(), [Severity::Error]);
    }

    #[test]
    fn fails_277_volts() {
        let list = after(&RULE, |job, _| job.boilers[0].control_volts = 277.0);
        assert!(list[0].sentence.contains("277 V"));
    }
}
