//! HW303 secondaries-joined: two control supplies whose secondaries are joined.
//!
//! Read from the metal: a terminal of one winding and one of another in one group. Windings that meet on ground alone are each
//! grounded, not joined. Boilers' own supplies count. Source: NFPA 70 725.121(B), checked.

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
    code: "HW303",
    name: "secondaries-joined",
    severity: Severity::Error,
    source: nec("725.121(B) (2020), 725.60(B) (2023)", Status::Partly, "the text was checked in 2020; its number in 2023 is from memory"),
    doc: "What it finds\n\
        A conductor or jumper that joins the secondary of one transformer to that of another: a shared common, a \
        shared R, or a boiler's own 24 V landed on ours.\n\nWhy it matters\n\
        Joined supplies feed each other: with one breaker open the other transformer works backwards and its \
        primary stands at 120 V. On two phases of a wye the two hot sides stand 41.6 V apart.\n\nHow to mend it\n\
        Keep each supply to itself. Pass signals between systems by isolated contacts.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    let poles: Vec<(usize, usize)> = trace
        .parts()
        .filter_map(|(d, p)| if let Part::Transformer { secondary, .. } = p { Some((d, *secondary)) } else { None })
        .flat_map(|(d, s)| s.map(|t| (d, trace.group_of(d, t))))
        .filter_map(|(d, g)| g.map(|g| (d, g)))
        .filter(|(_, g)| !trace.is_grounded(*g))
        .collect();
    let mut told: Vec<(usize, usize)> = Vec::new();
    for (i, (d, g)) in poles.iter().enumerate() {
        for (other, _) in poles.iter().skip(i + 1).filter(|(o, og)| o != d && og == g) {
            if told.contains(&(*d, *other)) {
                continue;
            }
            told.push((*d, *other));
            let (a, b) = (&trace.devices()[*d], &trace.devices()[*other]);
            let wires: Vec<String> = trace.members(*g).iter().map(|n| trace.name(*n)).collect();
            out.add(
                a.subject.or(b.subject).unwrap_or(Subject::Plant),
                format!("The low-voltage supplies of {} and {} are joined.", a.tag, b.tag),
            )
            .fact("joined terminals", wires.join(", "), "")
            .hint("Find the shared wire and pass the signal by an isolated contact instead.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    /// A wire between these two terminals.
    fn wire(plan: &mut Plan, from: (&str, &str), to: (&str, &str)) {
        let mut row = plan.rows[0].clone();
        for (end, (device, terminal)) in [(&mut row.from, from), (&mut row.to, to)] {
            end.device = device.into();
            end.terminal = terminal.into();
        }
        plan.rows.push(row);
    }

    #[test]
    fn fails_the_hot_side_of_a_boiler_on_ours() {
        let list = after(&RULE, |_, plan| wire(plan, ("U1", "a1"), ("T1", "X1")));
        assert_eq!(list.len(), 1, "{list:#?}");
        assert!(list[0].sentence.contains("U1 and T1"));
    }

    #[test]
    fn passes_two_commons_that_are_each_grounded() {
        assert!(after(&RULE, |_, plan| wire(plan, ("T1", "X2"), ("T1", "PE"))).is_empty());
    }
}
