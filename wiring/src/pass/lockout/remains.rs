//! What stays live behind the open points, and what no switch of the plan takes away.

use super::{
    Point, Source,
    items::Group,
    reach::{Isolator, Map},
    sources::{board, describe},
};
use crate::{
    device::{Kind, Reach},
    plan::Plan,
};
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
                breakers.entry(panel).or_default().push(space.to_string());
                continue;
            }
        };
        let Some(d) = map.trace.device(tag) else { continue };
        for (i, t) in plan.devices[d].terminals.iter().enumerate().filter(|(_, t)| t.reach == Reach::Field) {
            let Some(group) = map.trace.group_of(d, crate::part::T(i as u16)) else { continue };
            if let Some(origin) = map.sources(&[group], open).into_keys().next() {
                let ahead = ahead(map, group, open, &origin);
                let off = ahead.map_or_else(String::new, |(panel, space)| {
                    format!("; off only by breaker {space} of {}", board(plan, &panel))
                });
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

/// The breaker that takes this source from a terminal on which it still stands.
fn ahead(map: &Map<'_>, group: usize, open: &BTreeSet<Isolator>, origin: &super::Origin) -> Option<(String, u8)> {
    map.isolators().into_iter().find_map(|i| {
        let Isolator::Breaker { panel, space } = &i else { return None };
        let mut more = open.clone();
        more.insert(i.clone());
        (!map.sources(&[group], &more).contains_key(origin)).then(|| (panel.clone(), *space))
    })
}
