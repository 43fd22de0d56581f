//! HW305 end-switch-not-isolated: an end switch or status contact that puts a foreign voltage on a controller input.
//!
//! Read from the metal: a controller input with a side on the secondary of any transformer, directly or behind one contact.
//! Inputs have their own wetting. Source: NFPA 70 725.121(B), checked.

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
    code: "HW305",
    name: "end-switch-not-isolated",
    severity: Severity::Error,
    source: nec("725.121(B) (2020), 725.60(B) (2023)", Status::Partly, "the text was checked in 2020; its number in 2023 is from memory"),
    doc: "What it finds\n\
        A contact input of the controller wired to a contact that is not isolated: a zone valve whose end switch \
        is joined to its motor supply, or a boiler contact that carries the boiler's own voltage.\n\nWhy it matters\n\
        The input has its own supply. The foreign one joins it there: at best the input never reads open, at \
        worst the board burns.\n\nHow to mend it\n\
        Use a valve with two separate end-switch terminals, or let the foreign voltage drive a relay whose \
        contact the controller reads.",
    check,
};

fn check(_: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    let live: Vec<(usize, usize)> = trace
        .parts()
        .flat_map(|(d, p)| match p {
            Part::Transformer { secondary, .. } => secondary.map(|t| trace.group_of(d, t).map(|g| (d, g))).to_vec(),
            Part::Source { hot, ret, .. } => [*hot, *ret].map(|t| trace.group_of(d, t).map(|g| (d, g))).to_vec(),
            _ => Vec::new(),
        })
        .flatten()
        .collect();
    let source_of = |g: usize| live.iter().find(|(_, l)| *l == g).map(|(d, _)| &trace.devices()[*d]);
    for (d, part) in trace.parts() {
        let Part::Input { a, b, contact } = part else { continue };
        for node in [*a, *b].into_iter().filter_map(|t| trace.node(d, t)) {
            let group = trace.group(node);
            // The input's own group, and the groups one contact away.
            let near = trace.parts().filter_map(|(cd, p)| match p {
                Part::Contact { a, b, .. } => {
                    let (ga, gb) = (trace.group_of(cd, *a)?, trace.group_of(cd, *b)?);
                    if ga == group {
                        Some((cd, gb))
                    } else if gb == group {
                        Some((cd, ga))
                    } else {
                        None
                    }
                }
                _ => None,
            });
            let direct = source_of(group).map(|s| (d, s));
            let found = direct.or_else(|| near.filter_map(|(cd, g)| source_of(g).map(|s| (cd, s))).next());
            if let Some((by, source)) = found {
                let at = &trace.devices()[by];
                out.add(
                    at.subject.unwrap_or(Subject::Contact(*contact)),
                    format!(
                        "Input {} of the controller gets the voltage of {} ({}) through {}.",
                        trace.name(node),
                        source.label,
                        source.tag,
                        at.label
                    ),
                )
                .fact("input", trace.name(node), "")
                .fact("source", source.tag.clone(), "")
                .hint("Use an isolated contact, or a relay between the two systems.");
                break;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    #[test]
    fn fails_a_thermostat_contact_on_our_24_volts() {
        let list = after(&RULE, |_, plan| {
            let row = plan.rows.iter_mut().find(|r| r.to.device == "B1" && r.to.terminal == "R").unwrap();
            row.from.device = "T1".into();
            row.from.terminal = "X1".into();
        });
        assert_eq!(list.len(), 1, "{list:#?}");
        assert!(list[0].sentence.contains("A1:I1.2") && list[0].sentence.contains("T1"));
    }

    #[test]
    fn fails_an_input_straight_on_a_supply() {
        let list = after(&RULE, |_, plan| {
            let row = plan.rows.iter_mut().find(|r| r.to.device == "B1" && r.to.terminal == "R").unwrap();
            row.to.device = "T1".into();
            row.to.terminal = "X1".into();
        });
        assert_eq!(list.len(), 1, "{list:#?}");
    }
}
