//! Switches farther ahead than the points of a sheet: one that does for several of them, that there is none, and why a disconnect of
//! another panel is among them.

use super::{
    Instead, Item, Point, Source,
    items::Group,
    reach::{Isolator, Origin},
    sources::{board, branch, point},
};
use crate::{
    device::Device,
    part::Part,
    plan::{Duty, Plan},
};
use std::collections::{BTreeMap, BTreeSet};

/// Switches that each do for two points or more: most points first, of two that do for as many the one on the board of the circuits
/// themselves. A point that holds a machine is never left out.
pub(super) fn instead(
    plan: &Plan,
    sources: &[Source],
    points: &[Point],
    place: &dyn Fn(&Device) -> String,
) -> Vec<Instead> {
    let all: BTreeSet<&Isolator> = sources.iter().flat_map(|s| &s.isolators).collect();
    let mut left: BTreeSet<usize> =
        (0..points.len()).filter(|p| points[*p].holds.is_empty() && !points[*p].takes.is_empty()).collect();
    let mut out = Vec::new();
    loop {
        let does = |i: &Isolator| -> Vec<usize> {
            let takes = |p: &usize| points[*p].takes.iter().all(|s| sources[*s].isolators.contains(i));
            left.iter().copied().filter(takes).collect()
        };
        let on_board = |i: &Isolator| match i {
            Isolator::Breaker { panel, .. } => {
                points.iter().any(|p| matches!(&p.isolator, Isolator::Breaker { panel: of, .. } if of == panel))
            }
            Isolator::Disconnect { .. } => false,
        };
        let other = |i: &&&Isolator| points.iter().all(|p| p.isolator != ***i);
        let best = all.iter().filter(other).max_by_key(|i| (does(i).len(), on_board(i)));
        let Some(best) = best.filter(|i| does(i).len() > 1) else { return out };
        let covered = does(best);
        left.retain(|p| !covered.contains(p));
        out.push(Instead { point: point(plan, (*best).clone(), sources, place), points: covered });
    }
}

/// Of a panel with more than one point, none of which a switch farther ahead does for: that it has no single disconnect.
pub(super) fn no_single(plan: &Plan, item: Item, points: &[Point], instead: &[Instead]) -> String {
    let panel = matches!(item, Item::RelayPanel | Item::StarterPanel);
    if !panel || points.len() < 2 || instead.iter().any(|i| i.points.len() == points.len()) {
        return String::new();
    }
    let mut boards: BTreeMap<&str, Vec<u8>> = BTreeMap::new();
    for p in points {
        if let Isolator::Breaker { panel, space } = &p.isolator {
            boards.entry(panel).or_default().push(*space);
        }
    }
    let n = points.len();
    let mut text = if instead.is_empty() {
        format!("No single disconnect makes this panel dead: all {n} points below are needed.")
    } else {
        format!("No single disconnect makes this panel dead: {n} points below, and what does for several of them.")
    };
    // On the service itself nothing of the plan is ahead of the busbars.
    let on_service = |tag: &str| {
        let d = plan.devices.iter().find(|d| d.tag == tag);
        d.is_some_and(|d| d.parts.iter().any(|p| matches!(p, Part::Source { .. })))
    };
    for (tag, spaces) in boards.iter().filter(|(tag, spaces)| spaces.len() > 1 && on_service(tag)) {
        text.push_str(&format!(
            " {} circuits come from {}, each by a breaker of its own, and no feeder of this plan carries them together. What is ahead of              its busbars is no part of the plan; a main there would stop everything else that it feeds.",
            spaces.len(),
            board(plan, tag)
        ));
    }
    text
}

/// Where the relay panel's control disconnect is a point of another item: the places in the list of sources that it takes and the
/// devices on which these stand.
pub(super) fn of_the_relay_panel(
    plan: &Plan,
    g: &Group,
    sources: &[Source],
    points: &[Point],
) -> Option<(String, Vec<String>)> {
    let supply = |s: &&Source| match &s.origin {
        Origin::Branch { panel, space } => branch(plan, panel, *space).is_some_and(|c| c.duty == Duty::PanelSupply),
        _ => false,
    };
    if matches!(g.item, Item::RelayPanel | Item::Panelboard) {
        return None;
    }
    let source = sources.iter().find(supply)?;
    let point = points
        .iter()
        .find(|p| matches!(p.isolator, Isolator::Disconnect { .. }) && source.isolators.first() == Some(&p.isolator))?;
    let Isolator::Disconnect { tag } = &point.isolator else { return None };
    let mut on: Vec<String> = Vec::new();
    for t in source.terminals.iter().filter_map(|t| t.split_once(':')) {
        if !on.iter().any(|x| x == t.0) {
            on.push(t.0.to_owned());
        }
    }
    Some((tag.clone(), on))
}
