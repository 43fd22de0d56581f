//! HW310 neutral-grounded-again: a grounded conductor joined to ground a second time behind its bonding jumper.
//!
//! Read from rows and bonds: what hangs on the neutral bar of a panelboard by conductors that are no grounds, the main panelboard's
//! own joint left out, may stand on no metal part and no ground bar. Boilers' and other equipment's insides are theirs and are not
//! followed. Source: NFPA 70 250.142(B), 250.24(A)(5), from memory.

use super::{Rule, nec};
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    kinds::derived::MIDDLE,
    part::{Part, T},
    plan::Plan,
    row::Class,
    tables::Status,
    trace::{Node, Trace},
};
use heatwright_core::{Severity, Subject};
use std::collections::BTreeSet;

pub(super) const RULE: Rule = Rule {
    code: "HW310",
    name: "neutral-grounded-again",
    severity: Severity::Error,
    source: nec("250.142(B), 250.24(A)(5), 250.30(A)", Status::Memory, "from memory"),
    doc: "What it finds\n\
        A neutral that meets ground anywhere behind the one place where its system is bonded: a second jumper in a \
        panelboard, a neutral landed on a ground bar or a case.\n\nWhy it matters\n\
        Load current then flows on raceways, pipes and shields, all the time, and a broken neutral goes unseen.\n\nHow to mend it\n\
        Take the second joint out. The neutral of the service is bonded in the main panelboard, that of the transformer in \
        the transformer, and nowhere else.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    for (d, device) in plan.devices.iter().enumerate().filter(|(_, d)| d.kind == Kind::Panelboard) {
        let Some(bar) = device.find("N").and_then(|t| trace.node(d, t)) else { continue };
        for n in spread(plan, &trace, bar) {
            let owner = trace.owner(n);
            let metal = plan.devices[owner].parts.iter().any(|p| match p {
                Part::Chassis(t) | Part::Earth(t) => trace.node(owner, *t) == Some(n),
                _ => false,
            });
            if metal && trace.terminal(n).mark != MIDDLE {
                out.add(
                    plan.devices[owner].subject.unwrap_or(Subject::Plant),
                    format!("The neutral of {} is joined to ground again at {}.", device.tag, trace.name(n)),
                )
                .fact("terminal", trace.name(n), "")
                .hint("Take that joint out; the neutral is bonded once, where its system begins.");
            }
        }
    }
}

/// Everything joined to a node by conductors that are no grounds and by bonds of panelboards and strips.
fn spread(plan: &Plan, trace: &Trace<'_>, start: Node) -> BTreeSet<Node> {
    let rows = plan.rows.iter().filter(|r| r.class != Class::Ground);
    let mut joints: Vec<(Node, Node)> =
        rows.filter_map(|r| Some((trace.landing(&r.from)?, trace.landing(&r.to)?))).collect();
    let earth = |d: usize, t: T| plan.devices[d].parts.iter().any(|p| matches!(p, Part::Earth(e) if *e == t));
    joints.extend(trace.parts().filter_map(|(d, p)| match p {
        Part::Bond(a, b)
            if matches!(plan.devices[d].kind, Kind::Panelboard | Kind::Strip) && !earth(d, *a) && !earth(d, *b) =>
        {
            Some((trace.node(d, *a)?, trace.node(d, *b)?))
        }
        _ => None,
    }));
    let mut seen = BTreeSet::from([start]);
    loop {
        let before = seen.len();
        for (a, b) in &joints {
            if seen.contains(a) || seen.contains(b) {
                seen.extend([*a, *b]);
            }
        }
        if seen.len() == before {
            return seen;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after_mill;

    #[test]
    fn fails_a_second_jumper_and_a_neutral_on_a_case() {
        let list = after_mill(&RULE, |_, p| {
            let d = p.devices.iter_mut().find(|d| d.tag == "A3").unwrap();
            let (n, g) = (d.find("N").unwrap(), d.find("G").unwrap());
            d.parts.push(Part::Bond(n, g));
        });
        assert!(list.iter().any(|f| f.sentence.contains("A3:G")), "{list:#?}");
        let list = after_mill(&RULE, |_, p| {
            let row = p.rows.iter_mut().find(|r| r.to.device == "ME1" && r.to.terminal == "N").unwrap();
            row.to.terminal = "PE".into();
        });
        assert!(list.iter().any(|f| f.sentence.contains("ME1:PE")), "{list:#?}");
    }

}
