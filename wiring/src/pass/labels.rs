//! Labels: nameplates, wire numbers (both ends), device tags, runs, disconnects, the two-source warning.
//!
//! An enclosure that more than one source enters says so (common practice; NEC 110.22(A) and 430.113 ask for identification,
//! from memory). Which sources those are follows from the network, by the same walk as the lockout sheets: every contact taken
//! as one that may close, every transformer traced back to the branch circuits that feed it. The relay panel with all in it
//! is one enclosure, every other device one of its own. What is fed through another of the same sources (a boiler's own
//! control circuit behind its line supply) is no further source.
//!
//! What it deliberately does not count: the few volts that the controller puts on its own inputs.

use crate::{
    device::Kind,
    natural,
    pass::lockout::{in_relay_panel, in_starter_panel, roots},
    plan::{Label, Plan},
};
use std::collections::BTreeMap;

/// All labels.
pub fn labels(plan: &Plan) -> Vec<Label> {
    let mut out = nameplates(plan);
    out.extend(plan.devices.iter().map(|d| Label {
        on: d.tag.clone(),
        text: format!("{}\n{}", d.tag, d.label),
        count: 1,
    }));
    out.extend(warnings(plan));
    let mut ends: BTreeMap<&str, u16> = BTreeMap::new();
    for r in &plan.rows {
        let n = ends.entry(r.wire.as_str()).or_insert(0);
        *n = n.saturating_add(2);
    }
    let mut wires: Vec<Label> =
        ends.into_iter().map(|(w, count)| Label { on: w.into(), text: w.into(), count }).collect();
    wires.sort_by_cached_key(|l| natural::key(&l.on));
    out.extend(wires);
    out.extend(plan.runs.iter().map(|r| Label {
        on: r.name.clone(),
        text: format!("{}\n{} to {}", r.name, r.from, r.to),
        count: 2,
    }));
    out
}

/// What stands on the doors of panelboard and relay panel, where they have a name: what a lockout sheet sends a person to.
fn nameplates(plan: &Plan) -> Vec<Label> {
    let board = plan.devices.iter().find(|d| d.kind == Kind::Panelboard).map_or("", |d| d.tag.as_str());
    [(&plan.panelboard, "panelboard", board), (&plan.relay_panel, "relay panel", "")]
        .into_iter()
        .filter(|(name, ..)| !name.is_empty())
        .map(|(name, what, tag)| {
            let text = if tag.is_empty() {
                format!("{name}\n{what}")
            } else {
                format!("{name}\n{what}, {tag} in the schedule")
            };
            Label { on: format!("door of {what}"), text, count: 1 }
        })
        .collect()
}

/// The warning on every enclosure that more than one source enters.
fn warnings(plan: &Plan) -> Vec<Label> {
    let (panel, starters) = (in_relay_panel(plan), in_starter_panel(plan));
    let mut boxes: Vec<(String, Vec<usize>)> = plan
        .devices
        .iter()
        .enumerate()
        .filter(|(d, device)| !panel.contains(d) && !starters.contains(d) && device.kind != Kind::Panelboard)
        .map(|(d, device)| (device.tag.clone(), vec![d]))
        .collect();
    boxes.push(("relay panel".into(), panel));
    if !starters.is_empty() {
        boxes.push(("starter panel".into(), starters));
    }
    roots(plan, &boxes.iter().map(|b| b.1.clone()).collect::<Vec<_>>())
        .into_iter()
        .zip(boxes)
        .filter(|(sources, _)| counted(sources) > 1)
        .map(|(sources, (on, _))| warning(on, &sources))
        .collect()
}

fn warning(on: String, sources: &[String]) -> Label {
    Label { on, text: format!("MORE THAN ONE SOURCE\n{}", sources.join("\n")), count: 1 }
}

/// Sources in these lines: a panelboard's line holds as many as it names circuits.
fn counted(lines: &[String]) -> usize {
    lines.iter().map(|l| l.split_once(": circuits ").map_or(1, |(_, list)| list.split(", ").count())).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{fixtures::library, plan::plan};
    use std::collections::BTreeSet;

    fn warned(plan: &Plan) -> BTreeMap<String, usize> {
        let list = labels(plan).into_iter().filter(|l| l.text.starts_with("MORE THAN ONE SOURCE"));
        list.map(|l| (l.on, counted(&l.text.lines().skip(1).map(str::to_owned).collect::<Vec<_>>()))).collect()
    }

    /// What a device alone shows, found apart from the walk: circuits of its rows by the breaker that feeds each.
    fn feeds(plan: &Plan, tag: &str) -> BTreeSet<String> {
        use crate::plan::Feed;
        let root = |name: &str| -> Option<String> {
            let c = plan.circuits.iter().find(|c| c.name == name)?;
            match &c.feed {
                Feed::Panelboard { .. } => Some(c.name.clone()),
                Feed::Transformer(_) => Some("A2-1".into()),
                Feed::Boiler(b) => plan
                    .circuits
                    .iter()
                    .find(|l| l.subject == c.subject && matches!(l.feed, Feed::Panelboard { .. }))
                    .map(|l| l.name.clone())
                    .or_else(|| Some(format!("boiler {}", b.0))),
                Feed::Automation(n) => Some(format!("automation {n}")),
                _ => None,
            }
        };
        let rows = plan.rows.iter().filter(|r| r.wire != "PE" && (r.from.device == tag || r.to.device == tag));
        rows.filter_map(|r| root(&r.circuit)).collect()
    }

    #[test]
    fn the_warning_follows_from_what_can_be_live_inside() {
        let p = plan(&library()).unwrap();
        let warned = warned(&p);
        assert!(warned.get("relay panel").is_some_and(|n| *n > 10), "{warned:?}");
        for tag in ["E1", "M1", "QB1", "BR1"] {
            assert!(feeds(&p, tag).len() < 2 && !warned.contains_key(tag), "{tag} has one source: {warned:?}");
        }
        // The relay panel's label is one line for all circuits of the panelboard, in order.
        let label = labels(&p).into_iter().find(|l| l.on == "relay panel" && l.text.starts_with("MORE")).unwrap();
        let line = label.text.lines().nth(1).unwrap();
        let spaces: Vec<u8> = line.split("circuits ").nth(1).unwrap().split(", ").map(|n| n.parse().unwrap()).collect();
        assert!(spaces.len() > 8 && spaces.is_sorted(), "{line}");
        // Every box with conductors of two branch circuits is warned of.
        for d in p.devices.iter().filter(|d| matches!(d.kind, Kind::Safety | Kind::Strip) && d.tag != "X1") {
            if !d.tag.starts_with("X2") && !d.tag.starts_with("XG") {
                assert_eq!(
                    warned.contains_key(&d.tag),
                    feeds(&p, &d.tag).len() > 1,
                    "{}: {:?}",
                    d.tag,
                    feeds(&p, &d.tag)
                );
            }
        }
    }

    #[test]
    fn the_names_on_the_doors_are_printed() {
        let mut job = library();
        let plate = |job: &crate::job::Job| -> Vec<String> {
            let list = plan(job).unwrap().labels.into_iter();
            list.filter(|l| l.on.starts_with("door of")).map(|l| l.text).collect()
        };
        assert_eq!(plate(&job)[0], "DP-2\npanelboard, A2 in the schedule");
        job.service.name.clear();
        assert!(!plate(&job).iter().any(|t| t.contains("panelboard")), "no name, no plate");
    }

    /// Seen to fail: a wire from a foreign circuit into a pump's box brings the warning.
    #[test]
    fn a_foreign_wire_brings_the_warning() {
        let mut p = plan(&library()).unwrap();
        let mut row = p.rows.iter().find(|r| r.to.device == "M2" && r.to.terminal == "L").unwrap().clone();
        assert!(!warned(&p).contains_key("M2"));
        row.from = p.rows.iter().find(|r| r.to.device == "M3" && r.to.terminal == "L").unwrap().from.clone();
        p.rows.push(row);
        assert_eq!(warned(&p).get("M2"), Some(&2));
    }
}
