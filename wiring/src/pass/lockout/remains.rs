//! What stays live behind the open points, and what no switch of the plan takes away.

use super::{
    Point, Source,
    reach::{Isolator, Map},
    sources::describe,
};
use crate::{device::Reach, plan::Plan};
use std::collections::{BTreeMap, BTreeSet};

/// The sides of the open points on which voltage still stands; then sources without any switch.
pub(super) fn stays_live(
    plan: &Plan,
    map: &Map<'_>,
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
                list.push(format!("Terminal {} of {tag}, from {}.", t.mark, describe(plan, &origin).0));
            }
        }
    }
    for (panel, spaces) in breakers {
        let word = if spaces.len() == 1 { "breaker" } else { "breakers" };
        list.push(format!("The busbars of {panel} ahead of {word} {}.", spaces.join(", ")));
    }
    for (i, s) in sources.iter().enumerate().filter(|(_, s)| s.isolators.is_empty()) {
        list.push(format!(
            "S{}, {} ({:.0} V): no switch of this plan takes it away. Have its owner switch it off, then test.",
            i + 1,
            s.what,
            s.volts
        ));
    }
    list
}
