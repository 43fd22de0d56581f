//! HW101 crowded-terminal: more conductors on a terminal than it is identified for.
//!
//! Counts the row ends on each terminal of each device; joints inside are HW110's. Source: NFPA 70 110.14(A), checked.

use super::{Rule, count, nec};
use crate::{
    device::Reach,
    finding::Findings,
    job::Job,
    plan::Plan,
    tables::Status,
    trace::Trace,
};
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW101",
    name: "crowded-terminal",
    severity: Severity::Error,
    source: nec("110.14(A)", Status::Checked, ""),
    doc: "What it finds\n\
        A terminal with more conductors landed on it than it is identified for.\n\nWhy it matters\n\
        A clamp made for one conductor holds two badly: one of them works loose, heats, and opens the circuit at some later \
        time. Terminals take one conductor unless they are marked for more.\n\nHow to mend it\n\
        Use a terminal strip with a jumper bar, a second terminal of the same potential, or a device whose terminal is marked \
        for the number and sizes of conductors.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    let mut landed = std::collections::BTreeMap::<usize, usize>::new();
    for at in plan.rows.iter().flat_map(|r| [&r.from, &r.to]) {
        if let Some(n) = trace.landing(at) {
            *landed.entry(n).or_default() += 1;
        }
    }
    for (node, n) in landed {
        let device = &trace.devices()[trace.owner(node)];
        let terminal = trace.terminal(node);
        let holds = usize::from(terminal.holds);
        if terminal.reach == Reach::Field && n > holds {
            let what = format!(
                "{} land on terminal {} of {}, which is identified for {holds}.",
                count(n, "conductor"),
                trace.name(node),
                device.label
            );
            out.add(device.subject.unwrap_or(Subject::Plant), what)
                .fact("terminal", trace.name(node), "")
                .fact("conductors", n, "")
                .fact("identified for", holds, "")
                .hint("Land the others on a strip with a jumper bar.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::{after, clean, found};

    #[test]
    fn passes_one_conductor_a_terminal_and_several_where_marked() {
        let (job, plan) = clean();
        assert!(found(&RULE, &job, &plan).is_empty());
    }

    #[test]
    fn fails_two_on_one() {
        let list = after(&RULE, |_, plan| {
            let mut row = plan.rows[0].clone();
            row.to.terminal = "N".into();
            row.from.terminal = "7".into();
            plan.rows.push(row);
        });
        // Breaker terminal A2:7 holds one, Q1:N two; both have one too many.
        assert_eq!(list.len(), 2, "{list:#?}");
        assert!(list[0].sentence.contains("2 conductors land on terminal A2:7"));
        assert!(list[1].sentence.contains("identified for 2"));
    }
}
