//! HW309 derived-system-not-grounded: a separately derived system without its bonding jumper or its electrode.
//!
//! Read from rows and bonds: the middle of the secondary must stand on ground, and a conductor must lead from the transformer to a
//! grounding electrode. Source: NFPA 70 250.30(A)(1), (4), (5), 250.20(B)(1), from memory.

use super::{Rule, nec};
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    kinds::derived::MIDDLE,
    plan::Plan,
    tables::Status,
    trace::Trace,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW309",
    name: "derived-system-not-grounded",
    severity: Severity::Error,
    source: nec("250.20(B)(1), 250.30(A)(1), (A)(4), (A)(5)", Status::Memory, "from memory"),
    doc: "What it finds\n\
        A dry-type transformer whose secondary middle is not joined to ground, or from which no conductor leads to a \
        grounding electrode.\n\nWhy it matters\n\
        Without the jumper no fault to metal trips a breaker, and the lines may stand at any voltage to ground. Without \
        the electrode lightning and a fault of the 480 V winding find their way through the building.\n\nHow to mend it\n\
        Land one system bonding jumper from the middle of the secondary (X2 and X3 joined) to the ground bar in the transformer, and one conductor from that bar to \
        the nearest building steel or metal water pipe.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    for (d, device) in plan.devices.iter().enumerate().filter(|(_, d)| d.kind == Kind::DryTransformer) {
        let middle = device.find(MIDDLE).and_then(|t| trace.group_of(d, t));
        if !middle.is_some_and(|g| trace.is_grounded(g)) {
            out.add(Subject::Plant, format!("The middle of the secondary of {} is not joined to ground.", device.tag))
                .fact("transformer", device.tag.clone(), "")
                .hint("Land a system bonding jumper from X2/X3, the middle of its secondary, to the ground bar inside it.");
        }
        let electrode = |tag: &str| plan.devices.iter().any(|e| e.tag == tag && e.kind == Kind::Electrode);
        let led = plan.rows.iter().any(|r| {
            let ends = [&r.from.device, &r.to.device];
            ends.iter().any(|e| **e == device.tag) && ends.iter().any(|e| electrode(e))
        });
        if !led {
            out.add(Subject::Plant, format!("No conductor leads from {} to a grounding electrode.", device.tag))
                .fact("transformer", device.tag.clone(), "")
                .hint("Lead one from its ground bar to the nearest building steel or metal water pipe.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    #[test]
    fn fails_without_jumper_and_without_electrode() {
        let list = after_mill(&RULE, |_, p| p.rows.retain(|r| !r.wire.starts_with("SBJ")));
        assert!(list.len() == 1 && list[0].sentence.contains("not joined to ground"), "{list:#?}");
        let list = after_mill(&RULE, |_, p| p.rows.retain(|r| !r.wire.starts_with("GEC")));
        assert!(list.len() == 1 && list[0].sentence.contains("grounding electrode"), "{list:#?}");
    }

}
