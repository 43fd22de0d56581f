//! Disconnects and lockout sheets: for each item everything that can make it dangerous, and the order of taking it away.
//!
//! Electric sources are found from devices and rows, never listed by hand: line circuits, transformers, a boiler's own low voltage
//! on somebody else's terminals, what a HAND position can bring in (see `reach`). Stored energy, restart and the words of the
//! steps come from the job (see `energy`, `words`, `steps`).
//!
//! Order of the steps: 29 CFR 1910.147(d)(1) to (6) with (c)(9) before and after and (e) for the return to service, checked. The test at
//! each point of work follows NFPA 70E 120.5, checked. Lockout points are disconnects and breakers only; door switches, selectors,
//! thermostats and the controller are none.
//!
//! What it deliberately does not do: arc-flash boundaries, protective clothing, work on live parts, valves by tag (the plan does not
//! know them: the sheet leaves room to write them in), a sheet for the inside of a switch (each sheet names the breaker ahead of
//! its switch instead), a sheet for a panelboard on the service itself (what takes its busbars away is no part of the plan).

mod across;
pub(in crate::pass) mod consequences;
mod energy;
mod farther;
pub(in crate::pass) mod items;
mod measure;
mod middle;
mod motor_valves;
pub(in crate::pass) mod reach;
mod remains;
pub(in crate::pass) mod sources;
mod steps;
mod words;

pub use reach::{Isolator, Origin};
pub use words::{stops as stops_in_words, stops_for_a_test};

use crate::{
    device::{Kind, Reach},
    job::Job,
    part::{LoadUse, Part, T},
    pass::movers::Movers,
    plan::{BreakerAt, Plan},
    trace::Trace,
};
use across::Ends;
use consequences::Alive;
use heatwright_core::Subject;
use items::Group;
use reach::Map;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

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
    /// A zone valve or mixing valve.
    Valve,
    /// The hot-water tank.
    Tank,
    /// The condensate pump.
    CondensatePump,
    /// Anything else on which line voltage can stand and that no other sheet covers: a door switch, a limit, the beacon.
    Other,
    /// A panelboard behind a transformer: its main breaker's line side and what stands behind it.
    Panelboard,
    /// The relay panel.
    RelayPanel,
    /// The starter panel.
    StarterPanel,
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
    /// Tags of its own disconnects: the sheet covers their load side.
    pub switches: Vec<String>,
    /// Where it stands.
    pub place: String,
    /// Spaces of its circuits that are planned and not given: the sheet leaves room to write in where they were landed.
    pub spaces_planned: Vec<BreakerAt>,
    /// Everything electric that can reach it.
    pub sources: Vec<Source>,
    /// What to open and lock, in this order.
    pub points: Vec<Point>,
    /// Switches farther ahead, each of which does for several of these points.
    pub instead: Vec<Instead>,
    /// Of a panel: that no single disconnect makes it dead, and why; empty where one does.
    pub no_single: String,
    /// Valves to close and lock, in this order.
    pub valves: Vec<Valve>,
    /// Energy that stays behind open points and closed valves.
    pub stored: Vec<Stored>,
    /// Why it may start by itself.
    pub starts_by_itself: Vec<String>,
    /// What stays live with every point open.
    pub stays_live: Vec<String>,
    /// What else stops with every point open.
    pub stops: Stops,
    /// Where to measure.
    pub tests: Vec<Test>,
    /// What must be known of the sources while measuring: which of them show nothing against ground.
    pub measuring: Vec<String>,
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
    /// Its volts: the highest between two of its conductors.
    pub volts: f64,
    /// The same as it is written: "480", "120/240".
    pub volts_written: String,
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
    /// Machines that it keeps from starting although their terminals are not of this sheet: tag and name.
    pub holds: Vec<(String, String)>,
    /// What else stops when it alone is opened.
    pub stops: Stops,
}

/// A switch that does for several lockout points at once, and stops more.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Instead {
    /// The switch; what it takes away, and what stops.
    pub point: Point,
    /// The points that it does for: places in the list of points.
    pub points: Vec<usize>,
}

/// A valve to close and lock; its tag is written in by hand.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Valve {
    /// Which valve.
    pub what: &'static str,
    /// How it is locked.
    pub lock: &'static str,
    /// How one sees that what it shuts off is gone.
    pub gone: &'static str,
}

/// What stops besides the item, found from the network.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Stops {
    /// Boilers that can no longer fire, each with what they lack.
    pub boilers: Vec<String>,
    /// Pumps that can no longer run.
    pub pumps: Vec<String>,
    /// Other things that lose their supply.
    pub others: Vec<String>,
    /// Zones without heat; empty where no boiler can fire at all.
    pub zones: Vec<String>,
    /// Contacts by which another system sees trouble, each with the relay that drops.
    pub watchers: Vec<String>,
    /// What stops later, in sentences: a boiler whose condensate sump fills.
    pub later: Vec<String>,
    /// True when no boiler of the plant can fire any more.
    pub no_heat: bool,
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
    /// What is measured between.
    pub between: Between,
    /// Sources that would show there: places in the list of sources.
    pub sources: Vec<usize>,
    /// True where a source comes in: the first place to measure.
    pub incoming: bool,
}

/// What a pair of terminals is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Between {
    /// Two poles of one circuit.
    PhaseToPhase,
    /// The two sides of a supply that is not grounded.
    AcrossSupply,
    /// A pole and the grounded conductor of its circuit.
    PhaseToNeutral,
    /// A pole and the grounding terminal.
    PhaseToGround,
    /// The grounded conductor and the grounding terminal.
    NeutralToGround,
    /// Line side and load side of a contact.
    AcrossContact,
    /// A side of a supply and what lies on its other side behind a load: shows while the contact between is open.
    AcrossOpen,
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

/// The devices inside the relay panel and inside the starter panel.
pub fn in_panels(plan: &Plan) -> [Vec<usize>; 2] {
    let trace = Trace::of(plan);
    let relay_panel = items::relay_panel(plan, &trace);
    let starters = items::starter_panel(plan, &trace, &relay_panel);
    [relay_panel, starters]
}

/// The devices inside the relay panel: places in the plan's list.
pub fn in_relay_panel(plan: &Plan) -> Vec<usize> {
    items::relay_panel(plan, &Trace::of(plan))
}

/// The devices inside the starter panel: places in the plan's list; none where contactors stand in the relay panel.
pub fn in_starter_panel(plan: &Plan) -> Vec<usize> {
    let trace = Trace::of(plan);
    items::starter_panel(plan, &trace, &items::relay_panel(plan, &trace))
}

/// For each disconnect behind another the nearest one ahead of its first pole: places in the plan's list.
pub fn disconnects_ahead(plan: &Plan) -> BTreeMap<usize, usize> {
    let trace = Trace::of(plan);
    let map = Map::of(&trace);
    let mut out = BTreeMap::new();
    for (d, device) in plan.devices.iter().enumerate().filter(|(_, d)| d.kind == Kind::Disconnect) {
        let line = device.parts.iter().find_map(|p| if let Part::Contact { a, .. } = p { Some(*a) } else { None });
        let Some(group) = line.and_then(|t| map.trace.group_of(d, t)) else { continue };
        let branch =
            map.sources(&[group], &BTreeSet::new()).into_iter().find(|(o, _)| matches!(o, Origin::Branch { .. }));
        let other = |tag: &String| {
            plan.devices.iter().position(|o| o.tag == *tag && o.kind == Kind::Disconnect).filter(|o| *o != d)
        };
        out.extend(branch.and_then(|(_, way)| way.iter().find_map(other)).map(|o| (d, o)));
    }
    out
}

/// A panelboard by the name on its door.
pub fn board_name(plan: &Plan, tag: &str) -> String {
    sources::board(plan, tag)
}

/// Sources that can be live on the terminals of each group of devices, in words, transformers traced back to the branch
/// circuits that feed them.
///
/// One line a panelboard with the numbers of its circuits, then one a source of another kind.
pub fn roots(plan: &Plan, groups: &[Vec<usize>]) -> Vec<Vec<String>> {
    let trace = Trace::of(plan);
    let map = Map::of(&trace);
    let field = |d: usize| {
        let terminals = plan.devices[d].terminals.iter().enumerate();
        let field = terminals.filter(|(_, t)| t.reach == Reach::Field);
        field.map(|(i, _)| T(i as u16)).filter_map(|t| map.trace.group_of(d, t)).collect::<Vec<_>>()
    };
    groups
        .iter()
        .map(|devices| {
            let starts: Vec<usize> = devices.iter().flat_map(|d| field(*d)).collect();
            sources::in_lines(plan, &map.roots(&starts))
        })
        .collect()
}

/// Makes all sheets: boilers, pumps, fans, damper, zone valves and mixing valves, tank, condensate pump, whatever else carries line voltage, relay panel.
pub fn lockout(job: &Job, plan: &Plan) -> Lockout {
    let trace = Trace::of(plan);
    let map = Map::of(&trace);
    let movers = Movers::of(&trace);
    let ends = Ends::of(&trace);
    let before = consequences::alive(job, &map, &BTreeSet::new());
    let mut groups = items::items(job, plan, &trace);
    let others = items::others(plan, &map, &groups);
    groups.extend(others);
    groups.sort_by_key(|g| g.item);
    let sheets = groups.iter().map(|g| sheet(job, plan, (&map, &movers, &ends), &before, &groups, g)).collect();
    Lockout { sheets, cautions: words::cautions(job) }
}

fn sheet(
    job: &Job,
    plan: &Plan,
    (map, movers, ends): (&Map<'_>, &Movers<'_>, &Ends),
    before: &Alive,
    all: &[Group],
    g: &Group,
) -> Sheet {
    let first = &plan.devices[g.devices[0]];
    let place = |p: crate::device::PlaceId| plan.places.get(usize::from(p.0)).cloned().unwrap_or_default();
    let stands = |d: &crate::device::Device| {
        let inside = |o: &&Group| {
            matches!(o.item, Item::RelayPanel | Item::StarterPanel)
                && o.item != g.item
                && o.devices.iter().any(|i| plan.devices[*i].tag == d.tag)
        };
        match all.iter().find(inside) {
            Some(o) => format!("in {}, {}", panel_name(job, o.item), place(d.place)),
            None => place(d.place),
        }
    };
    let name = match g.item {
        Item::RelayPanel | Item::StarterPanel => panel_name(job, g.item),
        Item::Panelboard => sources::board(plan, &first.tag),
        _ if g.subject == Subject::Plant => first.label.clone(),
        Item::Fan | Item::Valve => first.label.clone(),
        // Not by the zone's name: the box is no zone.
        Item::Other if first.kind == crate::device::Kind::Strip => first.label.clone(),
        _ => job.names.of(g.subject),
    };
    let mut sources = sources::sources(plan, map, g);
    let mut points = sources::points(plan, map, g, &sources, &stands);
    let mut spaces_planned: Vec<BreakerAt> = sources
        .iter()
        .filter_map(|s| match &s.origin {
            Origin::Branch { panel, space } => Some(BreakerAt { panel: panel.clone(), space: *space }),
            _ => None,
        })
        .filter(|s| !plan.spaces_given.contains(s))
        .collect();
    spaces_planned.sort();
    let held = energy::pumps_to_hold(job, g.item, g.subject);
    for pump in all.iter().filter(|o| o.item == Item::Pump && held.contains(&o.subject)) {
        sources::hold(plan, map, pump, &sources, &mut points, (&job.names.of(pump.subject), &stands));
    }
    let ran: Vec<String> = held.iter().map(|s| job.names.of(*s)).collect();
    let stopped = |open: &BTreeSet<Isolator>| {
        let mut s = consequences::stops(job, plan, map, g, before, open);
        s.pumps.retain(|p| !ran.contains(p));
        s
    };
    let mut instead = Vec::new();
    if matches!(g.item, Item::RelayPanel | Item::StarterPanel) {
        instead = farther::instead(plan, &sources, &points, &stands);
    }
    for p in points.iter_mut().chain(instead.iter_mut().map(|i| &mut i.point)) {
        p.stops = stopped(&BTreeSet::from([p.isolator.clone()]));
    }
    let no_single = farther::no_single(plan, g.item, &points, &instead);
    let owned = sources.iter().any(|s| sources::is_own(plan, g, &s.origin));
    let open: BTreeSet<Isolator> = points.iter().map(|p| p.isolator.clone()).collect();
    for (group, name) in sources::line_sides_made_dead(map, g, &open) {
        let here = map.sources(&[group], &BTreeSet::new());
        sources.iter_mut().filter(|s| here.contains_key(&s.origin)).for_each(|s| s.terminals.push(name.clone()));
    }
    let tests = measure::tests(plan, map, ends, g, &sources, &open);
    let measuring = ends.words(&sources, &tests);
    let valves = energy::valves(g.item);
    let stored = energy::stored(job, g.item, g.subject, first.kind);
    let starts_by_itself = words::starts(job, movers, (g.item, first.kind), g.subject);
    let mut stays_live = remains::stays_live(plan, map, g, &sources, &points, &open);
    stays_live.extend(remains::condensate_pumps(job, plan, map, g, &open));
    let stops = stopped(&open);
    let besides = match g.item {
        Item::Valve => motor_valves::prepare(plan, g, &sources, &stops.others),
        _ => Vec::new(),
    };
    let steps = steps::steps(&steps::Told {
        job,
        movers,
        item: g.item,
        subject: g.subject,
        kind: first.kind,
        condensate: first.parts.iter().find_map(|p| match p {
            Part::Load { what: LoadUse::CondensatePump(i), .. } => Some(*i),
            _ => None,
        }),
        name: &name,
        sources: &sources,
        owned,
        points: &points,
        control: farther::of_the_relay_panel(plan, g, &sources, &points),
        valves: &valves,
        stored: &stored,
        starts: &starts_by_itself,
        tests: &tests,
        stops: &stops,
        besides: &besides,
    });
    Sheet {
        item: g.item,
        subject: g.subject,
        name,
        devices: g.devices.iter().map(|d| plan.devices[*d].tag.clone()).collect(),
        switches: g.switches.iter().map(|d| plan.devices[*d].tag.clone()).collect(),
        place: place(first.place),
        spaces_planned,
        sources,
        points,
        instead,
        no_single,
        valves,
        stored,
        starts_by_itself,
        stays_live,
        stops,
        tests,
        measuring,
        steps,
    }
}

/// The relay panel or the starter panel by the name on its door.
fn panel_name(job: &Job, item: Item) -> String {
    let (what, name) = match item {
        Item::StarterPanel => ("starter panel", job.starter_panel.as_ref().map_or("", |p| p.name.as_str())),
        _ => ("relay panel", job.panel.name.as_str()),
    };
    if name.is_empty() || name.eq_ignore_ascii_case(what) { what.to_owned() } else { format!("{what} {name}") }
}

#[cfg(test)]
mod panels;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod two_boards;
