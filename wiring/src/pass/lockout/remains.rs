//! What stays live behind the open points, and what no switch of the plan takes away.

use super::{
    Item, Point, Source,
    items::Group,
    reach::{Isolator, Map},
    sources::{board, describe},
    steps,
};
use crate::{
    device::{Kind, Reach},
    job::Job,
    part::{LoadUse, MAIN_BREAKER, Part},
    plan::Plan,
};
use heatwright_core::Subject;
use std::collections::{BTreeMap, BTreeSet};

/// The sides of the open points on which voltage still stands; then sources without any switch.
pub(super) fn stays_live(
    plan: &Plan,
    map: &Map<'_>,
    g: &Group,
    sources: &[Source],
    points: &[Point],
    open: &BTreeSet<Isolator>,
) -> Vec<String> {
    let mut list = Vec::new();
    let mut breakers: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for p in points {
        let tag = match &p.isolator {
            Isolator::Disconnect { tag } => tag,
            Isolator::Breaker { panel, space } => {
                let word = if *space == MAIN_BREAKER { "main".to_owned() } else { space.to_string() };
                breakers.entry(panel).or_default().push(word);
                continue;
            }
        };
        let Some(d) = map.trace.device(tag) else { continue };
        for (i, t) in plan.devices[d].terminals.iter().enumerate().filter(|(_, t)| t.reach == Reach::Field) {
            let Some(group) = map.trace.group_of(d, crate::part::T(i as u16)) else { continue };
            if let Some(origin) = map.sources(&[group], open).into_keys().next() {
                let breaker = ahead(map, group, open, &origin).map(|(panel, space)| match space {
                    MAIN_BREAKER => format!("the main breaker of {}", board(plan, &panel)),
                    space => format!("breaker {space} of {}", board(plan, &panel)),
                });
                let off = match (switch_ahead(plan, map, (d, group), open, &origin), breaker) {
                    (Some(switch), Some(breaker)) => format!("; off by {switch} or {breaker}"),
                    (Some(by), None) | (None, Some(by)) => format!("; off by {by}"),
                    (None, None) => String::new(),
                };
                list.push(format!("Terminal {} of {tag}, from {}{off}.", t.mark, describe(plan, &origin).0));
            }
        }
    }
    for (panel, spaces) in breakers {
        let word = if spaces.len() == 1 { "breaker" } else { "breakers" };
        list.push(format!("The busbars of {} ahead of {word} {}.", board(plan, panel), spaces.join(", ")));
    }
    // Safeties and limits in its line, on the way from the source to the open point: not of this sheet.
    let mut told = Vec::new();
    for tag in sources.iter().flat_map(|s| &s.through) {
        let Some(d) = map.trace.device(tag).filter(|d| !g.devices.contains(d) && !told.contains(d)) else { continue };
        told.push(d);
        let device = &plan.devices[d];
        let groups = (0..device.terminals.len()).filter_map(|t| map.trace.group_of(d, crate::part::T(t as u16)));
        let live = map.sources(&groups.collect::<Vec<_>>(), open);
        if let (true, Some(origin)) = (device.kind == Kind::Safety, live.into_keys().next()) {
            let from = describe(plan, &origin).0;
            list.push(format!("{tag}, {}, from {from}: it has a sheet of its own.", device.label));
        }
    }
    for (i, s) in sources.iter().enumerate().filter(|(_, s)| s.isolators.is_empty()) {
        list.push(format!(
            "V{}, {} ({:.0} V): no switch of this plan takes it away. Have its owner switch it off, then test.",
            i + 1,
            s.what,
            s.volts
        ));
    }
    list
}

/// Condensate pumps of this boiler that stay live with these points open: they start by their float beside whoever works there.
pub(super) fn condensate_pumps(
    job: &Job,
    plan: &Plan,
    map: &Map<'_>,
    g: &Group,
    open: &BTreeSet<Isolator>,
) -> Vec<String> {
    let Subject::Boiler(b) = g.subject else { return Vec::new() };
    let mut list = Vec::new();
    for (d, device) in plan.devices.iter().enumerate().filter(|(_, d)| d.kind == Kind::CondensatePump) {
        let number = device.parts.iter().find_map(|p| match p {
            Part::Load { what: LoadUse::CondensatePump(i), .. } => Some(*i),
            _ => None,
        });
        let groups: Vec<usize> =
            (0..device.terminals.len()).filter_map(|t| map.trace.group_of(d, crate::part::T(t as u16))).collect();
        let live = map.sources(&groups, open).into_keys().next();
        if let (true, Some(origin)) = (g.item == Item::Boiler && steps::served_by(job, number).contains(&b), live) {
            list.push(format!(
                "{}, {}, from {}: it starts by its float, and has a sheet of its own. What drains into it is acid.",
                device.tag,
                device.label,
                describe(plan, &origin).0
            ));
        }
    }
    list
}

/// The disconnect that takes this source from a terminal of a switch, with its place: one in the same place before any other.
fn switch_ahead(
    plan: &Plan,
    map: &Map<'_>,
    (device, group): (usize, usize),
    open: &BTreeSet<Isolator>,
    origin: &super::Origin,
) -> Option<String> {
    let here = plan.devices.get(device)?.place;
    let takes = |i: &Isolator| {
        let mut more = open.clone();
        more.insert(i.clone());
        !map.sources(&[group], &more).contains_key(origin)
    };
    let mut found: Vec<&crate::device::Device> = Vec::new();
    for i in map.isolators().into_iter().filter(|i| !open.contains(i)) {
        if let Isolator::Disconnect { tag } = &i
            && takes(&i)
        {
            found.extend(plan.devices.iter().find(|d| d.tag == *tag));
        }
    }
    let nearest = found.into_iter().min_by_key(|d| d.place != here)?;
    let place = plan.places.get(usize::from(nearest.place.0)).map_or("", String::as_str);
    Some(format!("{} ({place})", nearest.tag))
}

/// A breaker that takes this source from a terminal on which it still stands: its own branch breaker before all others.
fn ahead(map: &Map<'_>, group: usize, open: &BTreeSet<Isolator>, origin: &super::Origin) -> Option<(String, u8)> {
    let takes = |panel: &String, space: u8| {
        let mut more = open.clone();
        more.insert(Isolator::Breaker { panel: panel.clone(), space });
        (!map.sources(&[group], &more).contains_key(origin)).then(|| (panel.clone(), space))
    };
    if let super::Origin::Branch { panel, space } = origin
        && let Some(own) = takes(panel, *space)
    {
        return Some(own);
    }
    map.isolators().into_iter().find_map(|i| {
        let Isolator::Breaker { panel, space } = &i else { return None };
        takes(panel, *space)
    })
}
