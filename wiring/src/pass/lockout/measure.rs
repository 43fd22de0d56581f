//! Where to measure for absence of voltage: which terminal against which, and what would show there.
//!
//! NFPA 70E 120.5 asks for each phase conductor against each other and against ground (checked). Pairs come from the network:
//! * phase to phase: terminals of one device on different poles of one source, reached over the same contacts; the lines of a load;
//! * phase to neutral, neutral to ground: where the grounded conductor of that very branch circuit lands on the same device;
//! * phase to neutral behind a transformer: each line against its grounded middle;
//! * phase to ground: every terminal that a source can reach, against the grounding terminal of its enclosure;
//! * across a contact: line side against load side, whichever of them can be live;
//! * across a supply that is no branch circuit: see `across`. Where it floats it shows nothing against ground.
//!
//! Where there are many pairs those at which a source comes in are marked and stand first: a crew measures these, then each terminal
//! that it will touch, to ground and to its neighbors. A list of some hundred pairs is measured by nobody. A source comes in where a
//! conductor from the field lands, on a strip or on the device itself: of a foreign source all of these, since each can be live alone; of
//! an own one those ahead of the sheet's own contacts. One that nothing from the field brings comes in where the fewest contacts lie before it.
//!
//! One terminal of a strip stands for all under its jumper bar. Of a disconnect that is itself a lockout point the load side is
//! measured; its line side stays live.
//!
//! The grounded conductor of a branch circuit is what hangs on its terminal of the panelboard's neutral bar, the bar's own
//! joints and all grounding joints left out.

use super::{
    Between, Source, Test,
    across::{self, Ends},
    items::Group,
    middle,
    reach::{Isolator, Map, Origin},
    sources,
};
use crate::{
    device::{Device, Kind, Reach},
    part::{Part, T},
    plan::{Feed, Plan},
    row::Class,
    trace::Node,
};
use std::collections::{BTreeMap, BTreeSet};

/// A terminal at which a probe can be put.
pub(super) struct Spot {
    pub(super) t: T,
    pub(super) group: usize,
    pub(super) name: String,
    /// Sources, poles and the way to them.
    pub(super) hot: Vec<(usize, String, Vec<String>)>,
    /// Sources and poles that lie behind a load or a coil.
    pub(super) behind: Vec<(usize, String)>,
    /// The branch circuit whose grounded conductor it is.
    pub(super) neutral: Option<usize>,
}

/// All pairs of a sheet, device by device.
pub(super) fn tests(
    plan: &Plan,
    map: &Map<'_>,
    ends: &Ends,
    g: &Group,
    sources: &[Source],
    open: &BTreeSet<Isolator>,
) -> Vec<Test> {
    let neutrals = neutrals(plan, map);
    let mut first = First::default();
    let mut devices = g.devices.clone();
    devices.extend(&g.switches);
    let all: Vec<(usize, Vec<Spot>)> =
        devices.into_iter().map(|d| (d, spots(map, ends, g, d, sources, &neutrals, open))).collect();
    let whole = across::shown_whole(&all);
    let mut pairs = Pairs { list: Vec::new(), seen: BTreeSet::new() };
    for (d, spots) in &all {
        let device = &map.trace.devices()[*d];
        first.see(spots);
        lines(&mut pairs, device, spots, sources);
        middle::pairs(&mut pairs, device, spots, &ground(map, g, *d));
        across::open(&mut pairs, device, spots, &whole);
        let ground = ground(map, g, *d);
        for s in spots {
            let phase = indices(s);
            if !phase.is_empty() {
                pairs.add(&s.name, &ground, Between::PhaseToGround, phase.into_iter().collect());
            }
        }
        for s in spots {
            if let Some(n) = s.neutral {
                pairs.add(&s.name, &ground, Between::NeutralToGround, vec![n]);
            }
        }
        // Across a switch that is a lockout point its live line side would show.
        if !g.switches.contains(d) {
            contacts(&mut pairs, device, spots);
        }
    }
    across::far_apart(&mut pairs, &all, sources);
    let mut list = pairs.list;
    Incoming::of(plan, map, g, &all, sources, &first).mark(&mut list);
    across::mark(&mut list, &all, sources);
    // What is measured first stands first.
    list.sort_by_key(|t| !t.incoming);
    list
}

/// Up to so many pairs are all listed; of more only those where the sources come in (our choice: what fits on a page and is done).
const LISTED_MAX: usize = 20;

/// For each pole of each source the terminal that it reaches over the fewest contacts.
#[derive(Default)]
struct First {
    best: BTreeMap<(usize, String), (usize, String)>,
}

impl First {
    fn see(&mut self, spots: &[Spot]) {
        for s in spots {
            for (source, pole, path) in &s.hot {
                let better = (path.len(), s.name.clone());
                let best = self.best.entry((*source, pole.clone())).or_insert_with(|| better.clone());
                if path.len() < best.0 {
                    *best = better;
                }
            }
        }
    }
}

/// Where each source comes in: terminals with the sources that do.
struct Incoming {
    at: BTreeSet<(String, usize)>,
}

impl Incoming {
    fn of(
        plan: &Plan,
        map: &Map<'_>,
        g: &Group,
        all: &[(usize, Vec<Spot>)],
        sources: &[Source],
        first: &First,
    ) -> Self {
        let mut at = BTreeSet::new();
        let own: BTreeSet<&str> = g.devices.iter().map(|d| map.trace.devices()[*d].tag.as_str()).collect();
        for (d, spots) in all {
            let device = &map.trace.devices()[*d];
            let bar = |t: usize| if device.kind == Kind::Strip { bar_of(device, t) } else { t };
            let ends = plan.rows.iter().filter(|r| !r.run.is_empty()).flat_map(|r| [&r.from, &r.to]);
            let here = ends.filter(|l| l.device == device.tag).filter_map(|l| device.find(&l.terminal));
            let landed: BTreeSet<usize> = here.map(|t| bar(usize::from(t.0))).collect();
            for s in spots.iter().filter(|s| landed.contains(&bar(usize::from(s.t.0)))) {
                let ahead = |path: &[String]| path.iter().all(|tag| !own.contains(tag.as_str()));
                let comes = |h: &&(usize, String, Vec<String>)| {
                    sources.get(h.0).is_some_and(|source| source.foreign) || ahead(&h.2)
                };
                at.extend(s.hot.iter().filter(comes).map(|h| (s.name.clone(), h.0)));
            }
        }
        let told: BTreeSet<usize> = at.iter().map(|x| x.1).collect();
        let rest = first.best.iter().filter(|((s, _), _)| !told.contains(s));
        at.extend(rest.map(|((s, _), (_, name))| (name.clone(), *s)));
        Self { at }
    }

    fn comes_in(&self, name: &str, of: &[usize]) -> bool {
        of.iter().any(|s| self.at.contains(&(name.to_owned(), *s)))
    }

    /// Marks the pairs where a source comes in: its poles against each other, against neutral and against ground, and that
    /// neutral against ground.
    fn mark(&self, list: &mut [Test]) {
        if list.len() <= LISTED_MAX {
            for t in list {
                t.incoming = true;
            }
            return;
        }
        let mut neutrals = BTreeSet::new();
        for t in list.iter_mut() {
            t.incoming = match t.between {
                Between::PhaseToGround | Between::PhaseToNeutral => self.comes_in(&t.at, &t.sources),
                Between::PhaseToPhase | Between::AcrossSupply => {
                    self.comes_in(&t.at, &t.sources) && self.comes_in(&t.against, &t.sources)
                }
                Between::NeutralToGround | Between::AcrossContact | Between::AcrossOpen => false,
            };
            if t.incoming && t.between == Between::PhaseToNeutral {
                neutrals.insert(t.against.clone());
            }
        }
        for t in list.iter_mut().filter(|t| t.between == Between::NeutralToGround) {
            t.incoming = neutrals.contains(&t.at);
        }
    }
}

pub(super) fn indices(s: &Spot) -> BTreeSet<usize> {
    s.hot.iter().map(|h| h.0).collect()
}

/// Pairs found so far; none twice.
pub(super) struct Pairs {
    pub(super) list: Vec<Test>,
    pub(super) seen: BTreeSet<[String; 2]>,
}

impl Pairs {
    pub(super) fn add(&mut self, at: &str, against: &str, between: Between, sources: Vec<usize>) {
        let mut pair = [at.to_owned(), against.to_owned()];
        pair.sort();
        if at != against && self.seen.insert(pair) {
            self.list.push(Test { at: at.into(), against: against.into(), between, sources, incoming: false });
        }
    }
}

/// Terminals of a device that a source reaches or that carry a grounded conductor, one for each jumper bar.
fn spots(
    map: &Map<'_>,
    ends: &Ends,
    g: &Group,
    d: usize,
    sources: &[Source],
    neutrals: &BTreeMap<Node, Origin>,
    open: &BTreeSet<Isolator>,
) -> Vec<Spot> {
    let none = BTreeSet::new();
    let device = &map.trace.devices()[d];
    let place = |o: &Origin| sources.iter().position(|s| s.origin == *o);
    let mut bars = BTreeSet::new();
    let mut out = Vec::new();
    for (i, t) in device.terminals.iter().enumerate().filter(|(_, t)| t.reach == Reach::Field) {
        let t_at = T(i as u16);
        let (Some(node), Some(group)) = (map.trace.node(d, t_at), map.trace.group_of(d, t_at)) else { continue };
        if g.switches.contains(&d) && sources::stays_on_the_line_side(map, d, group, open) {
            continue;
        }
        if device.kind == Kind::Strip && !bars.insert(bar_of(device, i)) {
            continue;
        }
        let hot: Vec<_> = map
            .poles(&[group], &none)
            .into_iter()
            .filter_map(|((o, pole), path)| Some((place(&o)?, pole, path)))
            .collect();
        let behind: Vec<_> = ends.behind(group).filter_map(|(o, pole)| Some((place(o)?, pole.clone()))).collect();
        let neutral = neutrals.get(&node).and_then(place);
        if !hot.is_empty() || !behind.is_empty() || neutral.is_some() {
            out.push(Spot { t: t_at, group, name: format!("{}:{}", device.tag, t.mark), hot, behind, neutral });
        }
    }
    out
}

/// The first terminal that stands under one jumper bar with this one; terminals on a common rail stand alone.
pub(super) fn bar_of(device: &Device, t: usize) -> usize {
    let field = |t: usize| device.terminals.get(t).is_some_and(|t| t.reach == Reach::Field);
    let mut first = t;
    loop {
        let before = first;
        for p in &device.parts {
            if let Part::Bond(a, b) = p {
                let (a, b) = (usize::from(a.0), usize::from(b.0));
                if field(a) && field(b) && a.max(b) == first {
                    first = a.min(b);
                }
            }
        }
        if first == before {
            return first;
        }
    }
}

/// Phase against phase, phase against neutral, the two sides of a supply that floats.
fn lines(pairs: &mut Pairs, device: &Device, spots: &[Spot], sources: &[Source]) {
    let branch = |s: usize| matches!(sources.get(s).map(|s| &s.origin), Some(Origin::Branch { .. }));
    let spot = |t: T| spots.iter().find(|s| s.t == t);
    // The lines of a load, whatever limits stand in one of them.
    for p in &device.parts {
        let ends: Vec<T> = match p {
            Part::Load { a, b, .. } | Part::Coil { a, b, .. } => vec![*a, *b],
            Part::Load3 { lines, .. } => lines.to_vec(),
            Part::Transformer { primary, .. } => primary.to_vec(),
            _ => continue,
        };
        for (i, a) in ends.iter().enumerate() {
            for b in &ends[i + 1..] {
                if let (Some(a), Some(b)) = (spot(*a), spot(*b)) {
                    against(pairs, a, b, &branch, false);
                }
            }
        }
    }
    for (i, a) in spots.iter().enumerate() {
        for b in &spots[i + 1..] {
            against(pairs, a, b, &branch, true);
        }
    }
    // Against the first grounded conductor of the same circuit on the same device.
    for a in spots {
        for s in indices(a).into_iter().filter(|s| branch(*s)) {
            if let Some(n) = spots.iter().find(|n| n.neutral == Some(s)) {
                pairs.add(&a.name, &n.name, Between::PhaseToNeutral, vec![s]);
            }
        }
    }
}

/// Two terminals on different poles of one source; `alike` wants the same contacts on the way to both.
fn against(pairs: &mut Pairs, a: &Spot, b: &Spot, branch: &dyn Fn(usize) -> bool, alike: bool) {
    let mut shared: BTreeMap<bool, BTreeSet<usize>> = BTreeMap::new();
    for (s, pole, path) in &a.hot {
        for (other, q, way) in &b.hot {
            if s == other && pole != q && (path == way || !alike) {
                shared.entry(branch(*s)).or_default().insert(*s);
            }
        }
    }
    for (phases, list) in shared {
        let between = if phases { Between::PhaseToPhase } else { Between::AcrossSupply };
        pairs.add(&a.name, &b.name, between, list.into_iter().collect());
    }
}

/// Line side against load side of each contact.
fn contacts(pairs: &mut Pairs, device: &Device, spots: &[Spot]) {
    let name = |t: T| device.terminals.get(usize::from(t.0)).map(|x| format!("{}:{}", device.tag, x.mark));
    let inside = |t: T| device.terminals.get(usize::from(t.0)).is_none_or(|t| t.reach == Reach::Inside);
    let ends: Vec<[T; 2]> = device
        .parts
        .iter()
        .filter_map(|p| if let Part::Contact { a, b, .. } = p { Some([*a, *b]) } else { None })
        .collect();
    let beyond = |from: T, not: usize| {
        let far = ends.iter().enumerate().filter(|(i, e)| *i != not && e.contains(&from));
        far.map(|(_, [a, b])| if *a == from { *b } else { *a }).next()
    };
    for (i, [a, b]) in ends.iter().enumerate() {
        // Two contacts in series inside a device are one between its terminals.
        let side = |t: T| if inside(t) { beyond(t, i).unwrap_or(t) } else { t };
        let (a, b) = (side(*a), side(*b));
        if inside(a) || inside(b) {
            continue;
        }
        let mut of: BTreeSet<usize> = BTreeSet::new();
        for s in spots.iter().filter(|s| s.t == a || s.t == b) {
            of.extend(indices(s));
        }
        if let (false, Some(a), Some(b)) = (of.is_empty(), name(a), name(b)) {
            pairs.add(&a, &b, Between::AcrossContact, of.into_iter().collect());
        }
    }
}

/// The grounding terminal next to a device: its own, else the ground bar of the sheet's devices, else any of theirs.
fn ground(map: &Map<'_>, g: &Group, d: usize) -> String {
    let of = |d: usize| {
        let device = &map.trace.devices()[d];
        let t = device.parts.iter().find_map(|p| if let Part::Chassis(t) = p { Some(*t) } else { None })?;
        let t = device.terminals.get(usize::from(t.0))?;
        Some(match t.reach {
            Reach::Field => format!("{}:{}", device.tag, t.mark),
            Reach::Inside => format!("{} (ground bar)", device.tag),
        })
    };
    let bar = || {
        let mut bars = g.devices.iter().filter(|d| map.trace.devices()[**d].kind == Kind::Strip);
        bars.find_map(|d| of(*d))
    };
    of(d).or_else(bar).or_else(|| g.devices.iter().find_map(|d| of(*d))).unwrap_or_else(|| "ground".into())
}

/// Terminals on the grounded conductor of each branch circuit.
fn neutrals(plan: &Plan, map: &Map<'_>) -> BTreeMap<Node, Origin> {
    let mut next: BTreeMap<Node, Vec<Node>> = BTreeMap::new();
    let mut join = |a: Node, b: Node| {
        next.entry(a).or_default().push(b);
        next.entry(b).or_default().push(a);
    };
    for r in plan.rows.iter().filter(|r| r.class != Class::Ground) {
        if let (Some(a), Some(b)) = (map.trace.landing(&r.from), map.trace.landing(&r.to)) {
            join(a, b);
        }
    }
    let mut starts: Vec<(Node, Origin)> = Vec::new();
    for (d, device) in plan.devices.iter().enumerate() {
        let metal: Vec<T> = device
            .parts
            .iter()
            .filter_map(|p| match p {
                Part::Chassis(t) | Part::Earth(t) => Some(*t),
                _ => None,
            })
            .collect();
        let bars: Vec<T> =
            if device.kind == Kind::Panelboard { device.find("N").into_iter().collect() } else { Vec::new() };
        for p in &device.parts {
            let Part::Bond(a, b) = p else { continue };
            if metal.contains(a) || metal.contains(b) {
                continue;
            }
            let (Some(x), Some(y)) = (map.trace.node(d, *a), map.trace.node(d, *b)) else { continue };
            if bars.contains(a) || bars.contains(b) {
                let node = if bars.contains(a) { y } else { x };
                starts.extend(branch_at(plan, map, node).map(|o| (node, o)));
            } else {
                join(x, y);
            }
        }
    }
    let mut out: BTreeMap<Node, Origin> = BTreeMap::new();
    for (start, origin) in starts {
        let mut queue = vec![start];
        while let Some(n) = queue.pop() {
            if out.contains_key(&n) {
                continue;
            }
            out.insert(n, origin.clone());
            queue.extend(next.get(&n).into_iter().flatten());
        }
    }
    out
}

/// The branch circuit whose grounded conductor lands on this terminal of the neutral bar.
fn branch_at(plan: &Plan, map: &Map<'_>, node: Node) -> Option<Origin> {
    let lands = |l| map.trace.landing(l) == Some(node);
    let row = plan.rows.iter().find(|r| lands(&r.from) || lands(&r.to))?;
    let circuit = plan.circuits.iter().find(|c| c.name == row.circuit)?;
    match &circuit.feed {
        Feed::Panelboard { panel, spaces } => Some(Origin::Branch { panel: panel.clone(), space: *spaces.first()? }),
        _ => None,
    }
}
