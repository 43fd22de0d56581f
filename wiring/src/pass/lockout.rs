//! Disconnects and lockout sheets: for each item everything that can make it dangerous, and the order of taking it away.
//!
//! Electric sources are found from devices and rows, never listed by hand: line circuits, transformers, a boiler's own low voltage
//! on somebody else's terminals, what a HAND position can bring in (see `reach`). Stored energy, restart and the words of the
//! steps come from the job (see `words`).
//!
//! Order of the steps: 29 CFR 1910.147(d)(1) to (6) with (c)(9) before and after and (e) for the return to service, checked. The test at
//! each point of work follows NFPA 70E 120.5, checked. Lockout points are disconnects and breakers only; door switches, selectors,
//! thermostats and the controller are none.
//!
//! What it deliberately does not do: arc-flash boundaries, protective clothing, work on live parts, valves by tag (the plan does not
//! know them: the sheet leaves room to write them in).

mod reach;
mod words;

pub use reach::{Isolator, Origin};

use crate::{
    device::{Device, Kind, Reach},
    job::Job,
    part::{LoadUse, Part},
    plan::{Circuit, Duty, Feed, Plan},
    trace::Trace,
};
use heatwright_core::{
    Subject,
    config::{SafetyKind, SafetyScope},
};
use reach::Map;
use serde::Serialize;
use std::collections::BTreeSet;

/// Sheets for a whole plant.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Lockout {
    /// One sheet an item.
    pub sheets: Vec<Sheet>,
    /// What holds for all of them.
    pub cautions: Vec<&'static str>,
}

/// What sort of item a sheet is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Item {
    /// A boiler.
    Boiler,
    /// A pump.
    Pump,
    /// A fan.
    Fan,
    /// The combustion-air damper.
    Damper,
    /// The hot-water tank.
    Tank,
    /// The condensate pump.
    CondensatePump,
    /// The relay panel.
    RelayPanel,
}

/// One item's sheet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sheet {
    /// What sort of item.
    pub item: Item,
    /// What it belongs to.
    pub subject: Subject,
    /// Its name.
    pub name: String,
    /// Tags of the devices the sheet covers.
    pub devices: Vec<String>,
    /// Where it stands.
    pub place: String,
    /// Everything electric that can reach it.
    pub sources: Vec<Source>,
    /// What to open and lock, in this order.
    pub points: Vec<Point>,
    /// Energy that stays after all is open, or is not electric.
    pub stored: Vec<Stored>,
    /// Why it may start by itself.
    pub starts_by_itself: Vec<String>,
    /// What stays live with every point open.
    pub stays_live: Vec<String>,
    /// What else goes dead with these points.
    pub also_dead: Vec<String>,
    /// Where to measure.
    pub tests: Vec<Test>,
    /// The steps in the order of the rule.
    pub steps: Vec<Step>,
}

/// One electric source of an item.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Source {
    /// Which source.
    pub origin: Origin,
    /// In words.
    pub what: String,
    /// Its volts.
    pub volts: f64,
    /// Terminals of the item on which it can stand, as "E1:a1".
    pub terminals: Vec<String>,
    /// Tags of the devices whose contacts lie between; empty when joined for good.
    pub through: Vec<String>,
    /// True when it comes from another item's supply.
    pub foreign: bool,
    /// Every switch that takes it away by itself, nearest first.
    pub isolators: Vec<Isolator>,
}

/// A lockout point.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Point {
    /// Which switch.
    pub isolator: Isolator,
    /// In words, with its label.
    pub what: String,
    /// Where it is.
    pub place: String,
    /// How it is locked.
    pub lock: &'static str,
    /// Which sources it takes away: places in the list of sources.
    pub takes: Vec<usize>,
}

/// Energy that no switch takes away.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stored {
    /// What it is.
    pub what: &'static str,
    /// How it is relieved or held.
    pub relieve: String,
}

/// One place to measure: expected 0 V.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Test {
    /// Terminal at the point of work.
    pub at: String,
    /// Against this.
    pub against: String,
    /// Sources that would show there: places in the list of sources.
    pub sources: Vec<usize>,
}

/// One step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Paragraph of 29 CFR 1910.147.
    pub clause: &'static str,
    /// Its heading.
    pub heading: &'static str,
    /// What to do.
    pub tasks: Vec<String>,
}

/// The devices of one item.
struct Group {
    item: Item,
    subject: Subject,
    devices: Vec<usize>,
}

/// Makes all sheets: boilers, pumps, fans, damper, tank, condensate pump, relay panel.
pub fn lockout(job: &Job, plan: &Plan) -> Lockout {
    let trace = Trace::of(plan);
    let map = Map::of(&trace);
    let sheets = items(job, plan, &trace).into_iter().map(|g| sheet(job, plan, &map, g)).collect();
    Lockout { sheets, cautions: words::CAUTIONS.to_vec() }
}

fn items(job: &Job, plan: &Plan, trace: &Trace<'_>) -> Vec<Group> {
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
        (Item::Fan, subject) => other.kind == Kind::Aquastat && other.subject == subject && other.place == device.place,
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

fn sheet(job: &Job, plan: &Plan, map: &Map<'_>, g: Group) -> Sheet {
    let first = &plan.devices[g.devices[0]];
    let place = |p: crate::device::PlaceId| plan.places.get(usize::from(p.0)).cloned().unwrap_or_default();
    let name = match g.item {
        Item::RelayPanel => "relay panel".to_owned(),
        _ if g.subject == Subject::Plant => first.label.clone(),
        Item::Fan => first.label.clone(),
        _ => job.names.of(g.subject),
    };
    let sources = sources(plan, map, &g);
    let points = points(plan, map, &g, &sources, &place);
    let open: BTreeSet<Isolator> = points.iter().map(|p| p.isolator.clone()).collect();
    let tests = tests(map, &g, &sources);
    let stored = words::stored(job, g.item, g.subject);
    let starts_by_itself = words::starts(job, g.item, g.subject);
    let stays_live = stays_live(plan, map, &points, &open);
    let also_dead = also_dead(plan, map, &g, &open);
    let steps = words::steps(&words::Told {
        job,
        item: g.item,
        subject: g.subject,
        name: &name,
        sources: &sources,
        points: &points,
        stored: &stored,
        starts: &starts_by_itself,
        tests: &tests,
        also_dead: &also_dead,
    });
    Sheet {
        item: g.item,
        subject: g.subject,
        name,
        devices: g.devices.iter().map(|d| plan.devices[*d].tag.clone()).collect(),
        place: place(first.place),
        sources,
        points,
        stored,
        starts_by_itself,
        stays_live,
        also_dead,
        tests,
        steps,
    }
}

/// Groups of the item's terminals that a hand or a probe can reach, each with its name.
fn terminals(map: &Map<'_>, g: &Group) -> Vec<(usize, String)> {
    let mut list = Vec::new();
    for d in &g.devices {
        let device = &map.trace.devices()[*d];
        for (i, t) in device.terminals.iter().enumerate().filter(|(_, t)| t.reach == Reach::Field) {
            if let Some(group) = map.trace.group_of(*d, crate::part::T(i as u16)) {
                list.push((group, format!("{}:{}", device.tag, t.mark)));
            }
        }
    }
    list
}

fn sources(plan: &Plan, map: &Map<'_>, g: &Group) -> Vec<Source> {
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
            cut.sort_by_key(|i| (nearness(plan, g, i), i.clone()));
            let on = terminals
                .iter()
                .filter(|(group, _)| map.sources(&[*group], &none).contains_key(&origin))
                .map(|(_, name)| name.clone())
                .collect();
            let (what, volts) = describe(plan, &origin);
            let foreign = has_own && !is_own(plan, g, &origin);
            Source { origin, what, volts, terminals: on, through, foreign, isolators: cut }
        })
        .collect()
}

/// True for the item's own branch circuit and supplies; the relay panel owns all but the boilers' and other equipment's.
fn is_own(plan: &Plan, g: &Group, origin: &Origin) -> bool {
    let holds = |tag: &str| g.devices.iter().any(|d| plan.devices[*d].tag == tag);
    match origin {
        Origin::Equipment { tag } | Origin::Transformer { tag } => holds(tag),
        Origin::Service { .. } => false,
        Origin::Branch { space, .. } => branch(plan, *space).is_some_and(|c| match g.item {
            Item::RelayPanel => c.duty != Duty::BoilerLine,
            _ => c.subject == Some(g.subject) && c.subject != Some(Subject::Plant),
        }),
    }
}

/// The branch circuit at a space.
fn branch(plan: &Plan, space: u8) -> Option<&Circuit> {
    plan.circuits.iter().find(|c| matches!(&c.feed, Feed::Panelboard { spaces } if spaces.first() == Some(&space)))
}

/// 0: the item's own disconnect; 1: a disconnect at its place; 2: another; 3: a breaker.
fn nearness(plan: &Plan, g: &Group, i: &Isolator) -> u8 {
    let Isolator::Disconnect { tag } = i else { return 3 };
    let item = &plan.devices[g.devices[0]];
    match plan.devices.iter().find(|d| d.tag == *tag) {
        Some(d) if d.subject.is_some() && d.subject == item.subject && d.place == item.place => 0,
        Some(d) if d.place == item.place => 1,
        _ => 2,
    }
}

fn describe(plan: &Plan, origin: &Origin) -> (String, f64) {
    let label = |tag: &str| plan.devices.iter().find(|d| d.tag == tag).map_or("", |d| d.label.as_str());
    let secondary = |tag: &str| {
        let parts = plan.devices.iter().filter(|d| d.tag == tag).flat_map(|d| &d.parts);
        parts
            .filter_map(
                |p| if let Part::Transformer { secondary_volts, .. } = p { Some(*secondary_volts) } else { None },
            )
            .fold(0.0, f64::max)
    };
    match origin {
        Origin::Branch { panel, space } => {
            let circuit = branch(plan, *space);
            let volts = circuit.map_or(0.0, |c| c.volts);
            let of = circuit.map_or("unnamed circuit", |c| c.label.as_str());
            (format!("line circuit {space} of panelboard {panel}: {of}"), volts)
        }
        Origin::Transformer { tag } => (format!("transformer {tag}: {}", label(tag)), secondary(tag)),
        Origin::Equipment { tag } => (format!("own control supply of {tag}: {}", label(tag)), secondary(tag)),
        Origin::Service { panel } => (format!("busbar of panelboard {panel}, ahead of every breaker"), 0.0),
    }
}

fn points(
    plan: &Plan,
    map: &Map<'_>,
    g: &Group,
    sources: &[Source],
    place: &dyn Fn(crate::device::PlaceId) -> String,
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
    chosen
        .into_iter()
        .map(|isolator| {
            let (tag, what, lock) = match &isolator {
                Isolator::Disconnect { tag } => {
                    (tag, format!("disconnect {tag}"), "padlock through the handle in the open position")
                }
                Isolator::Breaker { panel, space } => {
                    (panel, format!("breaker {space} of {panel}"), "breaker lock on the handle, with its own padlock")
                }
            };
            let device = plan.devices.iter().find(|d| d.tag == *tag);
            Point {
                what: format!("{what}: {}", device.map_or("", |d| d.label.as_str())),
                place: device.map(|d| place(d.place)).unwrap_or_default(),
                lock,
                takes: (0..sources.len()).filter(|i| sources[*i].isolators.contains(&isolator)).collect(),
                isolator,
            }
        })
        .collect()
}

/// Terminals of the item that a source can reach, against its grounding terminal and against each other within one source.
fn tests(map: &Map<'_>, g: &Group, sources: &[Source]) -> Vec<Test> {
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

/// The sides of the open points on which voltage still stands.
fn stays_live(plan: &Plan, map: &Map<'_>, points: &[Point], open: &BTreeSet<Isolator>) -> Vec<String> {
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

/// Loads of other items that lose their power.
fn also_dead(plan: &Plan, map: &Map<'_>, g: &Group, open: &BTreeSet<Isolator>) -> Vec<String> {
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

#[cfg(test)]
mod tests;
