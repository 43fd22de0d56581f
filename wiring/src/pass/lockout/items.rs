//! Which devices make one sheet: the item with what is mounted on it, and the relay panel as everything in its enclosure.

use super::Item;
use crate::{
    device::{Device, Kind},
    job::Job,
    plan::Plan,
    row::Class,
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
    /// Its own disconnects: their load side belongs to the item, their line side stays live.
    pub(super) switches: Vec<usize>,
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
        let switches = switches(plan, &devices);
        list.push(Group { item, subject, devices, switches });
    }
    let panel = relay_panel(plan, trace);
    if !panel.is_empty() {
        list.push(Group { item: Item::RelayPanel, subject: Subject::Plant, devices: panel, switches: Vec::new() });
    }
    list.sort_by_key(|g| g.item);
    list
}

/// The disconnects of an item: joined to one of its devices by a power conductor.
fn switches(plan: &Plan, devices: &[usize]) -> Vec<usize> {
    let tags: Vec<&str> = devices.iter().map(|d| plan.devices[*d].tag.as_str()).collect();
    let joined = |tag: &str| {
        plan.rows.iter().any(|r| {
            let ends = [r.from.device.as_str(), r.to.device.as_str()];
            r.class == Class::Power && ends.contains(&tag) && ends.iter().any(|e| tags.contains(e))
        })
    };
    let own = |d: &Device| d.kind == Kind::Disconnect && joined(&d.tag);
    (0..plan.devices.len()).filter(|d| own(&plan.devices[*d])).collect()
}

/// Devices on the item itself that other supplies reach: a boiler's own safeties, a tank's limit, a damper's end switch, the
/// aquastat of a fan.
fn belongs(job: &Job, item: Item, device: &Device, other: &Device) -> bool {
    let config = match other.subject {
        Some(Subject::Safety(id)) => job.safeties.get(id.index()).map(|s| &s.config),
        _ => None,
    };
    match (item, device.subject) {
        // Its junction box and its own safeties.
        (Item::Boiler, Some(Subject::Boiler(b))) => {
            (other.kind == Kind::Strip && other.subject == device.subject)
                || config.is_some_and(|c| c.scope == SafetyScope::Boiler(b))
        }
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
pub(super) fn relay_panel(plan: &Plan, trace: &Trace<'_>) -> Vec<usize> {
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
