//! The electric sources of an item in words, with every switch that takes each away, and the switches to lock.

use super::{
    Item, Point, Source, Stops,
    items::Group,
    reach::{Isolator, Map, Origin},
};
use crate::{
    device::{Device, Kind, Reach},
    kinds::derived,
    part::{MAIN_BREAKER, Part},
    pass::boards::Board,
    plan::{BreakerAt, Circuit, Duty, Feed, Plan},
};
use heatwright_core::Subject;
use std::collections::{BTreeMap, BTreeSet};

/// Groups of the item's terminals that a hand or a probe can reach, each with its name.
pub(super) fn terminals(map: &Map<'_>, g: &Group) -> Vec<(usize, String)> {
    let mut list = Vec::new();
    for d in &g.devices {
        let device = &map.trace.devices()[*d];
        for (i, t) in device.terminals.iter().enumerate().filter(|(_, t)| t.reach == Reach::Field) {
            if let Some(group) = map.trace.group_of(*d, crate::part::T(i as u16))
                && !only_its_own(map, device, group)
            {
                list.push((group, format!("{}:{}", device.tag, t.mark)));
            }
        }
    }
    for d in &g.switches {
        let device = &map.trace.devices()[*d];
        for (i, t) in device.terminals.iter().enumerate().filter(|(_, t)| t.reach == Reach::Field) {
            if let Some(group) = map.trace.group_of(*d, crate::part::T(i as u16))
                && load_side(map, *d, group)
            {
                list.push((group, format!("{}:{}", device.tag, t.mark)));
            }
        }
    }
    list
}

/// True for a terminal of a panelboard on which nothing stands but the panelboard's own branch circuits: they are gone with its supply.
fn only_its_own(map: &Map<'_>, device: &Device, group: usize) -> bool {
    device.kind == Kind::Panelboard
        && map
            .sources(&[group], &BTreeSet::new())
            .keys()
            .all(|o| matches!(o, Origin::Branch { panel, space } if *panel == device.tag && *space != MAIN_BREAKER))
}

/// True for a terminal of a disconnect that loses a source when it is opened, that carries no source at all, or that only passes
/// through its box: a hand in the box touches that too.
pub(super) fn load_side(map: &Map<'_>, switch: usize, group: usize) -> bool {
    let device = &map.trace.devices()[switch];
    let of_pole = |p: &Part| matches!(p, Part::Contact { a, b, .. } if [*a, *b].iter().any(|t| map.trace.group_of(switch, *t) == Some(group)));
    if !device.parts.iter().any(of_pole) {
        return true;
    }
    let open = BTreeSet::from([Isolator::Disconnect { tag: device.tag.clone() }]);
    let live = map.sources(&[group], &BTreeSet::new());
    live.is_empty() || map.sources(&[group], &open).len() < live.len()
}

/// True for the line side of one of the item's own switches on which voltage still stands with these points open: a point ahead of the
/// switch makes it dead, and then it is measured like its load side.
pub(super) fn stays_on_the_line_side(map: &Map<'_>, switch: usize, group: usize, open: &BTreeSet<Isolator>) -> bool {
    !load_side(map, switch, group) && !map.sources(&[group], open).is_empty()
}

/// Names, with their groups, of the terminals on the line side of the item's own switches that are dead with these points open.
pub(super) fn line_sides_made_dead(map: &Map<'_>, g: &Group, open: &BTreeSet<Isolator>) -> Vec<(usize, String)> {
    let mut list = Vec::new();
    for d in &g.switches {
        let device = &map.trace.devices()[*d];
        for (i, t) in device.terminals.iter().enumerate().filter(|(_, t)| t.reach == Reach::Field) {
            let Some(group) = map.trace.group_of(*d, crate::part::T(i as u16)) else { continue };
            if !load_side(map, *d, group) && !stays_on_the_line_side(map, *d, group, open) {
                list.push((group, format!("{}:{}", device.tag, t.mark)));
            }
        }
    }
    list
}

/// Every source that can reach the item.
pub(in crate::pass) fn sources(plan: &Plan, map: &Map<'_>, g: &Group) -> Vec<Source> {
    let none = BTreeSet::new();
    let terminals = terminals(map, g);
    let starts: Vec<usize> = terminals.iter().map(|t| t.0).collect();
    let isolators: Vec<Isolator> = map.isolators().into_iter().collect();
    let alone: Vec<_> = isolators.iter().map(|i| map.sources(&starts, &BTreeSet::from([i.clone()]))).collect();
    let reached = map.sources(&starts, &none);
    // What has no supply of its own, such as a damper, has no foreign one either.
    let has_own = reached.keys().any(|o| is_own(plan, g, o));
    reached
        .into_iter()
        .map(|(origin, through)| {
            let mut cut: Vec<Isolator> = isolators
                .iter()
                .zip(&alone)
                .filter(|(_, left)| !left.contains_key(&origin))
                .map(|(i, _)| i.clone())
                .collect();
            cut.sort_by_key(|i| (nearness(plan, g, i, &origin), i.clone()));
            let mut on: Vec<String> = terminals
                .iter()
                .filter(|(group, _)| map.sources(&[*group], &none).contains_key(&origin))
                .map(|(_, name)| name.clone())
                .collect();
            on.extend(joints(plan, g, &on));
            let (what, volts) = describe(plan, &origin);
            let foreign = has_own && !is_own(plan, g, &origin);
            let volts_written = written(plan, &origin, volts);
            Source { origin, what, volts, volts_written, terminals: on, through, foreign, isolators: cut }
        })
        .collect()
}

/// Where the windings of a primary meet that this source feeds: behind a winding from either line, so that the walk does not get there.
fn joints(plan: &Plan, g: &Group, on: &[String]) -> Vec<String> {
    let mut list = Vec::new();
    for device in g.devices.iter().map(|d| &plan.devices[*d]).filter(|d| d.kind == Kind::DryTransformer) {
        let name = |t: crate::part::T| {
            device.terminals.get(usize::from(t.0)).map_or_else(String::new, |t| format!("{}:{}", device.tag, t.mark))
        };
        let fed = device
            .parts
            .iter()
            .any(|p| matches!(p, Part::Transformer { primary, .. } if primary.iter().any(|t| on.contains(&name(*t)))));
        list.extend(device.find(derived::PRIMARY_JOINT).filter(|_| fed).map(name));
    }
    list
}

/// True for the item's own branch circuit and supplies; the relay panel owns all but the boilers' and other equipment's, the starter
/// panel the circuits of its motors: the control voltage on its auxiliary contacts is the relay panel's.
pub(super) fn is_own(plan: &Plan, g: &Group, origin: &Origin) -> bool {
    let holds = |tag: &str| g.devices.iter().any(|d| plan.devices[*d].tag == tag);
    match origin {
        Origin::Transformer { .. } if g.item == Item::Panelboard => true,
        // The control transformer of its own starter: TF5.2 of MF5.2.
        Origin::Transformer { tag }
            if g.item == Item::Fan && plan.devices[g.devices[0]].tag.get(1..) == tag.get(1..) =>
        {
            true
        }
        Origin::Equipment { tag } | Origin::Transformer { tag } => holds(tag),
        Origin::Service { .. } => false,
        Origin::Branch { panel, space } => branch(plan, panel, *space).is_some_and(|c| match g.item {
            Item::RelayPanel => c.duty != Duty::BoilerLine,
            Item::StarterPanel => c.duty == Duty::Motor,
            Item::Panelboard => true,
            // The primary of the transformer itself.
            _ if c.duty == Duty::Transformer => g.devices.iter().any(|d| plan.devices[*d].kind == Kind::DryTransformer),
            // Several pumps may hang on one.
            Item::Pump | Item::CondensatePump => plan.motors.iter().any(|m| m.circuit == c.name && holds(&m.device)),
            // A beacon, a receptacle: no part of a boiler, a pump or a zone.
            Item::Other if matches!(c.duty, Duty::Alarm | Duty::Receptacle) => true,
            _ => c.subject == Some(g.subject) && c.subject != Some(Subject::Plant),
        }),
    }
}

/// The branch circuit at a space of a panelboard.
pub(super) fn branch<'a>(plan: &'a Plan, board: &str, space: u8) -> Option<&'a Circuit> {
    plan.circuits.iter().find(
        |c| matches!(&c.feed, Feed::Panelboard { panel, spaces } if panel == board && spaces.first() == Some(&space)),
    )
}

/// 0: the item's own disconnect; 1: a disconnect at its place; 2: another; 3: the breaker of that circuit; 4: one ahead of it.
fn nearness(plan: &Plan, g: &Group, i: &Isolator, origin: &Origin) -> u8 {
    let tag = match (i, origin) {
        (Isolator::Disconnect { tag }, _) => tag,
        (Isolator::Breaker { panel, space }, Origin::Branch { panel: of, space: own })
            if panel == of && space == own =>
        {
            return 3;
        }
        (Isolator::Breaker { .. }, _) => return 4,
    };
    let item = &plan.devices[g.devices[0]];
    match plan.devices.iter().find(|d| d.tag == *tag) {
        Some(d) if d.subject.is_some() && d.subject == item.subject && d.place == item.place => 0,
        Some(d) if d.place == item.place => 1,
        _ => 2,
    }
}

/// A source in words, and its volts.
pub(super) fn describe(plan: &Plan, origin: &Origin) -> (String, f64) {
    let label = |tag: &str| plan.devices.iter().find(|d| d.tag == tag).map_or("", |d| d.label.as_str());
    let secondary = |tag: &str| {
        let parts = plan.devices.iter().filter(|d| d.tag == tag).flat_map(|d| &d.parts);
        parts
            .filter_map(|p| match p {
                Part::Transformer { secondary_volts: volts, .. } | Part::Source { volts, .. } => Some(*volts),
                _ => None,
            })
            .fold(0.0, f64::max)
    };
    let whole = |tag: &str| if middle_grounded(plan, tag) { 2.0 * secondary(tag) } else { secondary(tag) };
    match origin {
        Origin::Branch { panel, space } => {
            let circuit = branch(plan, panel, *space);
            let volts = circuit.map_or(0.0, |c| c.volts);
            let of = circuit.map_or("unnamed circuit", |c| c.label.as_str());
            (format!("circuit {space} of {}: {of}", board(plan, panel)), volts)
        }
        Origin::Transformer { tag } => (format!("transformer {tag}: {}", label(tag)), whole(tag)),
        Origin::Equipment { tag } => (format!("own control supply of {tag}: {}", label(tag)), secondary(tag)),
        Origin::Service { panel } => (format!("busbar of {}, ahead of every breaker", board(plan, panel)), 0.0),
    }
}

/// True for the transformer whose two secondaries stand on both sides of a grounded middle.
fn middle_grounded(plan: &Plan, tag: &str) -> bool {
    plan.devices.iter().any(|d| d.tag == tag && d.kind == Kind::DryTransformer)
}

/// Volts as the trade writes them: "480", and "120/240" on both sides of a grounded middle.
fn written(plan: &Plan, origin: &Origin, volts: f64) -> String {
    match origin {
        Origin::Transformer { tag } if middle_grounded(plan, tag) => format!("{:.0}/{volts:.0}", volts / 2.0),
        _ => format!("{volts:.0}"),
    }
}

/// What to open and lock: for each source that still stands the nearest switch that takes it away by itself.
pub(super) fn points(
    plan: &Plan,
    map: &Map<'_>,
    g: &Group,
    sources: &[Source],
    place: &dyn Fn(&Device) -> String,
) -> Vec<Point> {
    let starts: Vec<usize> = terminals(map, g).into_iter().map(|t| t.0).collect();
    let mut open = BTreeSet::new();
    let mut chosen: Vec<Isolator> = Vec::new();
    for s in sources {
        if map.sources(&starts, &open).contains_key(&s.origin)
            && let Some(i) = s.isolators.first()
        {
            open.insert(i.clone());
            chosen.push(i.clone());
        }
    }
    chosen.into_iter().map(|isolator| point(plan, isolator, sources, place)).collect()
}

/// A switch as a lockout point.
pub(super) fn point(plan: &Plan, isolator: Isolator, sources: &[Source], place: &dyn Fn(&Device) -> String) -> Point {
    let device = |tag: &str| plan.devices.iter().find(|d| d.tag == tag);
    let (at, what, lock) = match &isolator {
        Isolator::Disconnect { tag } => {
            let label = device(tag).map_or("", |d| d.label.as_str());
            let what = format!("{tag}: {}", label.trim_end_matches(", lockable"));
            (device(tag), what, "padlock through the handle in the open position")
        }
        Isolator::Breaker { panel, space: MAIN_BREAKER } => {
            let what = format!("main breaker of {}", board(plan, panel));
            (device(panel), what, "breaker lock on the handle, with its own padlock")
        }
        Isolator::Breaker { panel, space } => {
            let here = BreakerAt { panel: panel.clone(), space: *space };
            let planned = if plan.spaces_given.contains(&here) { "" } else { " (planned; as landed: ____)" };
            let what = format!("breaker {space} of {}{planned}", board(plan, panel));
            (device(panel), what, "breaker lock on the handle, with its own padlock")
        }
    };
    Point {
        what,
        place: at.map(place).unwrap_or_default(),
        lock,
        takes: (0..sources.len()).filter(|i| sources[*i].isolators.contains(&isolator)).collect(),
        holds: Vec::new(),
        stops: Stops::default(),
        isolator,
    }
}

/// Adds what keeps a pump from starting: for each of its own supplies the nearest switch, unless it is a point already.
pub(super) fn hold(
    plan: &Plan,
    map: &Map<'_>,
    pump: &Group,
    of_item: &[Source],
    points: &mut Vec<Point>,
    (name, place): (&str, &dyn Fn(&Device) -> String),
) {
    let tag = plan.devices.get(pump.devices[0]).map_or_else(String::new, |d| d.tag.clone());
    let supplies = sources(plan, map, pump);
    let own = supplies.iter().any(|s| !s.foreign);
    for s in supplies.iter().filter(|s| !own || !s.foreign) {
        let held = points.iter_mut().find(|p| s.isolators.contains(&p.isolator));
        let Some(nearest) = s.isolators.first() else { continue };
        let at = match held {
            Some(p) => p,
            None => {
                points.push(point(plan, nearest.clone(), of_item, place));
                let Some(last) = points.last_mut() else { continue };
                last
            }
        };
        let machine = (tag.clone(), name.to_owned());
        if !at.holds.contains(&machine) {
            at.holds.push(machine);
        }
    }
}

/// Sources in few lines: the circuits of a panelboard in one, in the order of their numbers; anything else by itself.
pub(super) fn in_lines(plan: &Plan, origins: &BTreeSet<Origin>) -> Vec<String> {
    let mut boards: BTreeMap<&str, Vec<u8>> = BTreeMap::new();
    let mut others = Vec::new();
    for o in origins {
        match o {
            Origin::Branch { panel, space } => boards.entry(panel).or_default().push(*space),
            o => others.push(describe(plan, o).0),
        }
    }
    let mut lines = Vec::new();
    for (panel, mut spaces) in boards {
        spaces.sort_unstable();
        let numbers: Vec<String> = spaces.iter().map(u8::to_string).collect();
        let word = if numbers.len() == 1 { "circuit" } else { "circuits" };
        lines.push(format!("{}: {word} {}", board(plan, panel), numbers.join(", ")));
    }
    lines.extend(others);
    lines
}

/// A panelboard by the name on its door, with its tag: "DP-2 (A2)".
pub(in crate::pass) fn board(plan: &Plan, tag: &str) -> String {
    if plan.panelboard.is_empty() || tag != Board::Main.tag() {
        format!("panelboard {tag}")
    } else {
        format!("{} ({tag})", plan.panelboard)
    }
}
