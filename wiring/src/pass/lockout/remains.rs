//! What to measure once the points are open, what stays live behind them, and what else goes dead.

use super::{
    Item, Point, Source, Test,
    items::Group,
    reach::{Isolator, Map},
    sources::describe,
};
use crate::{
    device::Reach,
    part::{LoadUse, Part, T},
    plan::Plan,
};
use std::collections::BTreeSet;

/// Terminals of the item that a source can reach: against its grounding terminal, across each load, and against each other
/// within one source.
pub(super) fn tests(map: &Map<'_>, g: &Group, sources: &[Source]) -> Vec<Test> {
    let mut list = Vec::new();
    for d in &g.devices {
        let device = &map.trace.devices()[*d];
        let chassis = device.parts.iter().find_map(|p| if let Part::Chassis(t) = p { Some(*t) } else { None });
        let ground = chassis
            .and_then(|t| device.terminals.get(usize::from(t.0)))
            .map_or_else(|| "ground".to_owned(), |t| format!("{}:{}", device.tag, t.mark));
        let own: Vec<(String, Vec<usize>)> = device
            .terminals
            .iter()
            .filter(|t| t.reach == Reach::Field)
            .map(|t| format!("{}:{}", device.tag, t.mark))
            .map(|name| {
                let of = (0..sources.len()).filter(|i| sources[*i].terminals.contains(&name)).collect();
                (name, of)
            })
            .filter(|(_, of): &(String, Vec<usize>)| !of.is_empty())
            .collect();
        for (name, of) in &own {
            list.push(Test { at: name.clone(), against: ground.clone(), sources: of.clone() });
        }
        // Across each load: with its ground broken, line against ground would read 0 V and line against neutral would not;
        // and the grounded conductor is measured against ground like any other.
        for (a, b) in device.parts.iter().filter_map(across) {
            let name = |t: T| {
                let t = device.terminals.get(usize::from(t.0)).filter(|t| t.reach == Reach::Field)?;
                Some(format!("{}:{}", device.tag, t.mark))
            };
            let (Some(a), Some(b)) = (name(a), name(b)) else { continue };
            let live = |n: &str| own.iter().find(|(o, _)| o == n).map(|(_, of)| of.clone());
            let (at, against, sources) = match (live(&a), live(&b)) {
                (Some(of), None) => (a, b, of),
                (None, Some(of)) => (b, a, of),
                _ => continue,
            };
            for (at, against) in [(at, against.clone()), (against, ground.clone())] {
                if at != against && !list.iter().any(|t: &Test| t.at == at && t.against == against) {
                    list.push(Test { at, against, sources: sources.clone() });
                }
            }
        }
        // Conductor to conductor: a floating supply shows nothing against ground.
        for (i, (at, of)) in own.iter().enumerate() {
            for (against, other) in own.iter().skip(i + 1) {
                let both: Vec<usize> = of.iter().copied().filter(|s| other.contains(s)).collect();
                if !both.is_empty() && g.item != Item::RelayPanel {
                    list.push(Test { at: at.clone(), against: against.clone(), sources: both });
                }
            }
        }
    }
    list
}

/// The two sides of a part that takes power.
fn across(p: &Part) -> Option<(T, T)> {
    match p {
        Part::Load { a, b, .. } | Part::Coil { a, b, .. } => Some((*a, *b)),
        Part::Transformer { primary, .. } => Some((primary[0], primary[1])),
        _ => None,
    }
}

/// The sides of the open points on which voltage still stands.
pub(super) fn stays_live(plan: &Plan, map: &Map<'_>, points: &[Point], open: &BTreeSet<Isolator>) -> Vec<String> {
    let mut list = Vec::new();
    for p in points {
        let tag = match &p.isolator {
            Isolator::Disconnect { tag } => tag,
            Isolator::Breaker { panel, space } => {
                list.push(format!("The busbars of {panel} ahead of breaker {space}."));
                continue;
            }
        };
        let Some(d) = map.trace.device(tag) else { continue };
        for (i, t) in plan.devices[d].terminals.iter().enumerate().filter(|(_, t)| t.reach == Reach::Field) {
            let Some(group) = map.trace.group_of(d, crate::part::T(i as u16)) else { continue };
            if let Some(origin) = map.sources(&[group], open).into_keys().next() {
                list.push(format!("Terminal {} of {tag}, from {}.", t.mark, describe(plan, &origin).0));
            }
        }
    }
    list
}

/// Loads and coils of other items that lose their power.
pub(super) fn also_dead(plan: &Plan, map: &Map<'_>, g: &Group, open: &BTreeSet<Isolator>) -> Vec<String> {
    let none = BTreeSet::new();
    let mut list = Vec::new();
    for (d, device) in plan.devices.iter().enumerate().filter(|(d, _)| !g.devices.contains(d)) {
        let lost = device.parts.iter().any(|p| {
            let sides: Vec<_> = match p {
                Part::Load { a, b, what, .. }
                    if !matches!(what, LoadUse::Limit(_) | LoadUse::Proving(_) | LoadUse::Demand(_)) =>
                {
                    vec![*a, *b]
                }
                Part::Load3 { lines, .. } => lines.to_vec(),
                // A contactor or relay that drops takes with it what it switches.
                Part::Coil { a, b, .. } => vec![*a, *b],
                _ => return false,
            };
            let groups: Vec<usize> = sides.into_iter().filter_map(|t| map.trace.group_of(d, t)).collect();
            !map.sources(&groups, &none).is_empty() && map.sources(&groups, open).is_empty()
        });
        if lost {
            list.push(format!("{}: {}", device.tag, device.label));
        }
    }
    list
}
