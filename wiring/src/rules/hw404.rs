//! HW404 single-interposing-relay: a limit pair that hangs on the contact of one relay.
//!
//! Read from the metal: contacts moved by a relay's coil that lie between the two terminals of a boiler's limit pair, by device. A safety
//! device's own internal relay belongs to its listing and is left out. Common practice, no standard.

use super::Rule;
use crate::{
    device::Kind,
    finding::Findings,
    job::Job,
    part::{Actuator, LoadUse, Part},
    plan::Plan,
    tables::{Source, Status},
    trace::Trace,
};
use heatwright_core::BoilerId;
use heatwright_core::{Severity, Subject};

pub(super) const RULE: Rule = Rule {
    code: "HW404",
    name: "single-interposing-relay",
    severity: Severity::Warning,
    source: Source { standard: "common practice", section: "latent fault of an interposing relay", editions: "none", status: Status::Memory, remark: "no standard cited; some state rules forbid interposing relays in limit circuits" },
    doc: "What it finds\n\
        A boiler's limit pair in which exactly one control relay stands for safeties elsewhere, such as a door \
        switch shared by several boilers.\n\nWhy it matters\n\
        If that one contact welds, every safety behind it is gone, and nothing shows it until the day it is \
        needed.\n\nHow to mend it\n\
        Put a contact of a second relay, driven by the same safeties, in series; or wire the safety's own \
        contact into the pair; or accept it in writing with a yearly test.",
    check,
};

/// Tags of the relays with a contact between the live side of the supply and the load of a boiler's limit pair.
fn relays_in_limit_pair(trace: &Trace<'_>, boiler: BoilerId) -> Vec<String> {
    let load = trace.parts().find_map(|(d, p)| match p {
        Part::Load { a, b, what: LoadUse::Limit(id), .. } if *id == boiler => {
            Some([trace.group_of(d, *a)?, trace.group_of(d, *b)?])
        }
        _ => None,
    });
    let Some(ends) = load else { return Vec::new() };
    // Poles of any supply end the walk: beyond them other circuits begin.
    let poles: Vec<usize> = trace
        .parts()
        .filter_map(|(d, p)| if let Part::Transformer { secondary, .. } = p { Some((d, *secondary)) } else { None })
        .flat_map(|(d, s)| s.map(|t| trace.group_of(d, t)))
        .flatten()
        .collect();
    let is_end = |g: usize| trace.is_grounded(g) || poles.contains(&g);
    let contacts: Vec<(usize, usize, usize, Actuator)> = trace
        .parts()
        .filter_map(|(d, p)| match p {
            Part::Contact { a, b, by, .. } => Some((d, trace.group_of(d, *a)?, trace.group_of(d, *b)?, *by)),
            _ => None,
        })
        .collect();
    let mut reached: Vec<usize> = ends.into_iter().filter(|g| !is_end(*g)).collect();
    let load = reached.clone();
    let mut next = 0;
    while let Some(g) = reached.get(next).copied() {
        next += 1;
        for (_, a, b, _) in contacts.iter().filter(|(_, a, b, _)| *a == g || *b == g) {
            let far = if *a == g { *b } else { *a };
            if !is_end(far) && !reached.contains(&far) {
                reached.push(far);
            }
        }
    }
    let mut between: Vec<&(usize, usize, usize, Actuator)> =
        contacts.iter().filter(|(_, a, b, _)| a != b && (reached.contains(a) || reached.contains(b))).collect();
    // A contact that leads nowhere is not on the way: drop it, and what then leads nowhere.
    loop {
        let count = |g: usize| between.iter().filter(|(_, a, b, _)| *a == g || *b == g).count();
        let stays = |g: usize| is_end(g) || load.contains(&g) || count(g) > 1;
        let kept: Vec<_> = between.iter().copied().filter(|(_, a, b, _)| stays(*a) && stays(*b)).collect();
        if kept.len() == between.len() {
            break;
        }
        between = kept;
    }
    let mut tags: Vec<String> = between
        .into_iter()
        .filter(|(d, _, _, by)| matches!(by, Actuator::Coil(_)) && trace.devices()[*d].kind != Kind::Safety)
        .map(|(d, _, _, _)| trace.devices()[*d].tag.clone())
        .collect();
    tags.sort();
    tags.dedup();
    tags
}

fn check(job: &Job, plan: &Plan, out: &mut Findings) {
    let trace = Trace::of(plan);
    for i in 0..job.boilers.len() {
        let id = BoilerId(i as u8);
        if let [tag] = relays_in_limit_pair(&trace, id).as_slice() {
            let about = Subject::Boiler(id);
            out.add(
                about,
                format!(
                    "The limit pair of {} hangs on one contact of relay {tag}: if it welds, the safeties behind it are gone.",
                    job.names.of(about)
                ),
            )
            .severity(if job.settings.single_relay_accepted { Severity::Note } else { RULE.severity })
            .fact("relay", tag.clone(), "")
            .hint("Put a contact of a second relay in series, or the safety's own contact.");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::fixture::after;

    /// The door switch replaced in the limit pair by contacts of so many relays in series.
    fn relays(n: usize, accepted: bool) -> Vec<crate::finding::Finding> {
        after(&RULE, |job, plan| {
            job.settings.single_relay_accepted = accepted;
            let mut from = ("U1".to_owned(), "a1".to_owned());
            let template = plan.rows.iter().find(|r| r.from.device == "U1" && r.from.terminal == "a1").unwrap().clone();
            plan.rows.retain(|r| !(r.from.device == "U1" && r.from.terminal == "a1"));
            for i in 0..n {
                let tag = format!("K{}", i + 10);
                let mut k = crate::rules::fixture::device(&tag, Kind::Relay, None, &["A1", "A2", "11", "14"]);
                crate::rules::fixture::contact(&mut k, "11", "14", crate::part::Rest::Open, Actuator::Coil(0));
                plan.devices.push(k);
                let mut row = template.clone();
                (row.from.device, row.from.terminal) = from;
                row.to.device = tag.clone();
                row.to.terminal = "11".into();
                plan.rows.push(row);
                from = (tag, "14".to_owned());
            }
            let mut row = template;
            (row.from.device, row.from.terminal) = from;
            plan.rows.push(row);
        })
    }

    #[test]
    fn fails_one_relay_and_passes_two_in_series() {
        assert!(relays(0, false).is_empty());
        assert_eq!(relays(1, false).len(), 1);
        assert!(relays(1, false)[0].sentence.contains("K10"));
        assert!(relays(2, false).is_empty());
    }

    /// What a jurisdiction accepts is named all the same, as a note.
    #[test]
    fn a_relay_that_is_accepted_is_a_note() {
        assert_eq!(relays(1, false)[0].severity, Severity::Warning);
        assert_eq!(relays(1, true)[0].severity, Severity::Note);
    }
}
