//! HW302 class2-source-over-limit: a Class 2 supply that is none: over 30 V or 100 VA, or overloaded, or behind too large a breaker.
//!
//! The nameplate is read from the device, the load from the plan's sums. Source: NFPA 70 Chapter 9 Table 11(A); see the tables.

use super::{Rule, nec};
use crate::{
    device::Device,
    finding::Findings,
    job::Job,
    part::Part,
    plan::{Feed, Plan},
    row::Class,
    tables::{Status, class2, transformer},
    trace::Trace,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW302",
    name: "class2-source-over-limit",
    severity: Severity::Error,
    source: nec("Chapter 9 Table 11(A), 725.121 (2020) or 725.60 (2023), 725.127", Status::Partly, "20 A ahead of the supply and the number in 2023 are from memory"),
    doc: "What it finds\n\
        A transformer that feeds Class 2 circuits and has a nameplate over 100 VA or a secondary over 30 V; one \
        loaded over its nameplate, or by pull-in of valves over twice its nameplate; or one fed by a breaker \
        over 20 A.\n\nWhy it matters\n\
        Only a listed supply within these limits makes a circuit Class 2. A fuse behind a larger transformer \
        does not.\n\nHow to mend it\n\
        Split the load over several listed Class 2 supplies, never joined, or wire the circuits as Class 1.",
    check,
};

/// Nameplate and secondary voltage of a transformer.
fn plate(d: &Device) -> Option<(f64, f64)> {
    d.parts.iter().find_map(|p| match p {
        Part::Transformer { va, secondary_volts, .. } => Some((*va, *secondary_volts)),
        _ => None,
    })
}

/// The largest breaker whose circuit lands on a device.
fn breaker_ahead(plan: &Plan, tag: &str) -> Option<u16> {
    let lands = |c: &str| plan.rows.iter().any(|r| r.circuit == c && (r.from.device == tag || r.to.device == tag));
    plan.breakers.iter().filter(|b| lands(&b.circuit)).map(|b| b.amps).max()
}

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    let mut seen: Vec<&str> = Vec::new();
    for c in plan.circuits.iter().filter(|c| c.class == Class::Class2) {
        let Feed::Transformer(tag) = &c.feed else { continue };
        if seen.contains(&tag.as_str()) {
            continue;
        }
        seen.push(tag);
        let Some(device) = trace.device(tag).map(|d| &trace.devices()[d]) else { continue };
        let about = device.subject.unwrap_or(Subject::Plant);
        if let Some((va, volts)) = plate(device)
            && !class2::may_be_class2(volts, va)
        {
            out.add(
                about,
                format!("{tag} feeds Class 2 circuits with {va:.0} VA at {volts:.0} V; 100 VA and 30 V are the most."),
            )
            .fact("nameplate", va, "VA")
            .fact("secondary", volts, "V")
            .hint("Use several listed Class 2 supplies and do not join them.");
        }
        if let Some(amps) = breaker_ahead(plan, tag).map(f64::from).filter(|a| *a > class2::SUPPLY_DEVICE_MAX_AMPS) {
            out.add(about, format!("{tag}, a Class 2 supply, stands behind a breaker of {amps:.0} A; 20 A is the most."))
                .fact("breaker", amps, "A")
                .hint("Feed it from a circuit of 20 A or less.");
        }
        if let Some(t) = plan.transformers.iter().find(|t| t.tag == *tag) {
            let pull_in_max = t.va * transformer::INRUSH_MULTIPLE;
            if t.sealed_va > t.va || t.inrush_va > pull_in_max {
                out.add(
                    about,
                    format!(
                        "{tag} ({:.0} VA) carries {:.0} VA steady and {:.0} VA while everything pulls in.",
                        t.va, t.sealed_va, t.inrush_va
                    ),
                )
                .fact("nameplate", t.va, "VA")
                .fact("steady", t.sealed_va, "VA")
                .fact("pull-in", t.inrush_va, "VA")
                .hint("Use a larger supply up to 100 VA, or split the load.");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_a_large_an_overloaded_and_a_badly_fed_supply() {
        let list = after(&RULE, |_, plan| {
            for p in plan.devices.iter_mut().filter(|d| d.tag == "T1").flat_map(|d| &mut d.parts) {
                if let Part::Transformer { va, .. } = p {
                    *va = 150.0;
                }
            }
        });
        assert!(list.len() == 1 && list[0].sentence.contains("150 VA"));
        let list = after(&RULE, |_, plan| plan.transformers[0].sealed_va = 41.0);
        assert!(list.len() == 1 && list[0].sentence.contains("41 VA steady"));
        let list = after(&RULE, |_, plan| plan.transformers[0].inrush_va = 81.0);
        assert_eq!(list.len(), 1);
        let list = after(&RULE, |_, plan| plan.breakers[2].amps = 25);
        assert!(list.len() == 1 && list[0].sentence.contains("25 A"));
    }
}
