//! Which devices make one sheet: the item with what is mounted on it, and the relay panel as everything in its enclosure.

use super::Item;
use crate::{
    device::{Device, Kind},
    job::Job,
    plan::Plan,
    trace::Trace,
};
use heatwright_core::{
    Subject,
    config::{SafetyKind, SafetyScope},
};
use std::collections::BTreeSet;

/// The devices of one item.
pub(super) struct Group {
    pub(super) item: Item,
    pub(super) subject: Subject,
    pub(super) devices: Vec<usize>,
}

/// The items of the plan, in the order of their kinds.
pub(super) fn items(job: &Job, plan: &Plan, trace: &Trace<'_>) -> Vec<Group> {
    let mut list = Vec::new();
    for (d, device) in plan.devices.iter().enumerate() {
        let item = match device.kind {
            Kind::Boiler => Item::Boiler,
            Kind::Pump => Item::Pump,
            Kind::Fan => Item::Fan,
            Kind::Damper => Item::Damper,
            Kind::CondensatePump => Item::CondensatePump,
            Kind::Aquastat if device.subject == Some(Subject::Tank) => Item::Tank,
            _ => continue,
        };
        let subject = device.subject.unwrap_or(Subject::Plant);
        let mut devices = vec![d];
        devices.extend((0..plan.devices.len()).filter(|o| *o != d && belongs(job, item, device, &plan.devices[*o])));
        list.push(Group { item, subject, devices });
    }
    let panel = relay_panel(plan, trace);
    if !panel.is_empty() {
        list.push(Group { item: Item::RelayPanel, subject: Subject::Plant, devices: panel });
    }
    list.sort_by_key(|g| g.item);
    list
}

/// Devices on the item itself that other supplies reach: a boiler's own safeties, a tank's limit, a damper's end switch, the
/// aquastat of a fan.
fn belongs(job: &Job, item: Item, device: &Device, other: &Device) -> bool {
    let config = match other.subject {
        Some(Subject::Safety(id)) => job.safeties.get(id.index()).map(|s| &s.config),
        _ => None,
    };
    match (item, device.subject) {
        (Item::Boiler, Some(Subject::Boiler(b))) => config.is_some_and(|c| c.scope == SafetyScope::Boiler(b)),
        (Item::Tank, _) => config.is_some_and(|c| c.scope == SafetyScope::Tank),
        (Item::Damper, _) => config.is_some_and(|c| c.kind == SafetyKind::DamperSwitch),
        // Of several fans in a zone each has its own: MF5.2 and BF5.2.
        (Item::Fan, subject) => {
            other.kind == Kind::Aquastat && other.subject == subject && other.tag.get(2..) == device.tag.get(2..)
        }
        _ => false,
    }
}

/// The devices that share the controller's enclosure: joined to it by rows that run in no raceway.
fn relay_panel(plan: &Plan, trace: &Trace<'_>) -> Vec<usize> {
    let mut inside: BTreeSet<usize> =
        plan.devices.iter().enumerate().filter(|(_, d)| d.kind == Kind::Controller).map(|(i, _)| i).collect();
    loop {
        let before = inside.len();
        for row in plan.rows.iter().filter(|r| r.run.is_empty()) {
            if let (Some(a), Some(b)) = (trace.device(&row.from.device), trace.device(&row.to.device))
                && (inside.contains(&a) || inside.contains(&b))
            {
                inside.extend([a, b]);
            }
        }
        if inside.len() == before {
            return inside.into_iter().collect();
        }
    }
}
