//! Which devices make one sheet: the item with what is mounted on it, the relay panel as everything in its enclosure, and
//! whatever else line voltage can reach.

use super::{
    Item,
    reach::{Map, Origin},
    sources,
};
use crate::{
    device::{Device, Kind},
    job::Job,
    kinds::relay::has_own_box,
    part::Part,
    pass::choose::switched_at_fan,
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
pub(in crate::pass) struct Group {
    pub(in crate::pass) item: Item,
    pub(in crate::pass) subject: Subject,
    pub(in crate::pass) devices: Vec<usize>,
    /// Its own disconnects: their load side belongs to the item, their line side stays live.
    pub(in crate::pass) switches: Vec<usize>,
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
            Kind::ZoneValve | Kind::MixingValve => Item::Valve,
            Kind::CondensatePump => Item::CondensatePump,
            Kind::Aquastat if device.subject == Some(Subject::Tank) => Item::Tank,
            Kind::Panelboard if !device.parts.iter().any(|p| matches!(p, Part::Source { .. })) => Item::Panelboard,
            _ => continue,
        };
        let subject = device.subject.unwrap_or(Subject::Plant);
        let mut devices = vec![d];
        devices.extend((0..plan.devices.len()).filter(|o| *o != d && belongs(job, item, device, &plan.devices[*o])));
        // A disconnect fed by a panelboard is no switch of the panelboard's own.
        let switches = if item == Item::Panelboard { Vec::new() } else { switches(plan, &devices) };
        list.push(Group { item, subject, devices, switches });
    }
    let panel = relay_panel(plan, trace);
    let starters = starter_panel(plan, trace, &panel);
    for (item, devices) in [(Item::RelayPanel, panel), (Item::StarterPanel, starters)] {
        if !devices.is_empty() {
            list.push(Group { item, subject: Subject::Plant, devices, switches: Vec::new() });
        }
    }
    list
}

/// Volts from which a device wants a sheet of its own: 50 V (29 CFR 1910.333(a)(1), from memory), below the 120 V of every line and
/// control circuit and above 24 V.
const LINE_V: f64 = 50.0;

/// Everything outside the relay panel on which line voltage can stand and that no group covers, one group each. The inside of a
/// panelboard and of a disconnect is not among them: the busbar and the line side stay live.
pub(super) fn others(plan: &Plan, map: &Map<'_>, covered: &[Group]) -> Vec<Group> {
    let mut list = Vec::new();
    for (d, device) in plan.devices.iter().enumerate() {
        let has_one = covered.iter().any(|g| g.devices.contains(&d));
        if has_one || matches!(device.kind, Kind::Panelboard | Kind::Disconnect) {
            continue;
        }
        let subject = device.subject.unwrap_or(Subject::Plant);
        let g = Group { item: Item::Other, subject, devices: vec![d], switches: Vec::new() };
        let line = |s: &super::Source| s.volts >= LINE_V || matches!(s.origin, Origin::Service { .. });
        if sources::sources(plan, map, &g).iter().any(line) {
            list.push(g);
        }
    }
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
/// aquastat of a fan, and its starter where that stands beside it.
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
        (Item::Fan, Some(Subject::Zone(z))) => {
            let number = |tag: &str| tag.trim_start_matches(|c: char| !c.is_ascii_digit()).to_owned();
            // What switches it stands on its sheet where it stands beside it.
            let beside = job.zones.get(z.index()).and_then(|z| z.fan).is_some_and(|f| switched_at_fan(&f));
            let switch = matches!(other.kind, Kind::Contactor | Kind::Starter | Kind::ControlTransformer);
            (other.kind == Kind::Aquastat || (beside && switch))
                && other.subject == device.subject
                && number(&other.tag) == number(&device.tag)
        }
        _ => false,
    }
}

/// The devices that share the controller's enclosure: joined to it by rows that run in no raceway.
pub(super) fn relay_panel(plan: &Plan, trace: &Trace<'_>) -> Vec<usize> {
    // Without a controller: what hangs behind the panel's own control disconnect.
    let controller = plan.devices.iter().any(|d| d.kind == Kind::Controller);
    enclosure_of(plan, trace, |_, d| if controller { d.kind == Kind::Controller } else { d.tag == "QR1" })
}

/// The same of the enclosure that holds contactors and starters apart from the controller; empty where they stand beside it.
pub(super) fn starter_panel(plan: &Plan, trace: &Trace<'_>, relay_panel: &[usize]) -> Vec<usize> {
    let mut inside = enclosure_of(plan, trace, |i, d| {
        matches!(d.kind, Kind::Contactor | Kind::Starter) && !has_own_box(d) && !relay_panel.contains(&i)
    });
    // Its ground bar has no wire inside the enclosure.
    let strips = inside.iter().map(|d| &plan.devices[*d]).filter(|d| d.kind == Kind::Strip);
    let places: Vec<_> = strips.map(|d| d.place).collect();
    let bars = plan.devices.iter().enumerate().filter(|(i, d)| {
        let bar = d.kind == Kind::Strip && d.subject.is_none() && places.contains(&d.place);
        bar && !inside.contains(i) && !relay_panel.contains(i)
    });
    let bars: Vec<usize> = bars.map(|b| b.0).collect();
    inside.extend(bars);
    inside
}

fn enclosure_of(plan: &Plan, trace: &Trace<'_>, starts: impl Fn(usize, &Device) -> bool) -> Vec<usize> {
    let mut inside: BTreeSet<usize> =
        plan.devices.iter().enumerate().filter(|(i, d)| starts(*i, d)).map(|(i, _)| i).collect();
    let joins = |r: &crate::row::Row| Some((trace.device(&r.from.device)?, trace.device(&r.to.device)?));
    let mut joined: Vec<(usize, usize)> = plan.rows.iter().filter(|r| r.run.is_empty()).filter_map(joins).collect();
    joined.sort_unstable();
    joined.dedup();
    loop {
        let before = inside.len();
        for (a, b) in &joined {
            if inside.contains(a) || inside.contains(b) {
                inside.extend([*a, *b]);
            }
        }
        if inside.len() == before {
            return inside.into_iter().collect();
        }
    }
}
