//! Which sources can put voltage on a set of terminals, and which switch takes each of them away.
//!
//! The plan's metal (rows and bonds) with every contact taken as one that may close: for lockout it does not matter that a relay
//! is open now. Two contacts of one actuator that are never closed together are not passed one after the other. The walk ends at
//! ground, at a branch breaker (the branch circuit is the source; it lives while its busbar does) and at a winding (the transformer is the source; it lives
//! while its primary does). Loads, coils and inputs are not passed.
//!
//! It errs on the safe side: a path through contacts that can never be closed together is still reported.

use crate::{
    device::{Device, Kind, Reach},
    part::{Actuator, MAIN_BREAKER, Part, Rest, T},
    trace::Trace,
};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Deepest chain of transformers that is followed.
const CHAIN_MAX: usize = 6;

/// A source of voltage, by the tag of the device that holds it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Origin {
    /// A branch circuit: panelboard and first space of its breaker.
    Branch {
        /// The panelboard.
        panel: String,
        /// First space.
        space: u8,
    },
    /// A transformer of the plan.
    Transformer {
        /// Its tag.
        tag: String,
    },
    /// A supply inside a piece of equipment: a boiler's own low voltage, another system's supply behind its terminals.
    Equipment {
        /// The equipment's tag.
        tag: String,
    },
    /// The service itself, without a breaker in between.
    Service {
        /// The panelboard.
        panel: String,
    },
}

/// A switch that can be locked open.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Isolator {
    /// A disconnect, by tag.
    Disconnect {
        /// Its tag.
        tag: String,
    },
    /// A breaker: panelboard and first space.
    Breaker {
        /// The panelboard.
        panel: String,
        /// First space.
        space: u8,
    },
}

/// A contact between two groups of terminals.
pub(in crate::pass) struct Edge {
    pub(in crate::pass) device: usize,
    a: usize,
    b: usize,
    pub(in crate::pass) by: Actuator,
    pub(in crate::pass) rest: Rest,
}

/// A winding seen from one end of its secondary.
struct Winding {
    origin: Origin,
    pole: String,
    primary: [usize; 2],
}

/// What a winding or a source inside this device counts as.
pub(super) fn origin(device: &Device) -> Origin {
    let tag = device.tag.clone();
    match device.kind {
        Kind::Transformer | Kind::ControlTransformer | Kind::DryTransformer => Origin::Transformer { tag },
        Kind::Panelboard => Origin::Service { panel: tag },
        _ => Origin::Equipment { tag },
    }
}

/// The walkable plan.
pub(in crate::pass) struct Map<'a> {
    pub(in crate::pass) trace: &'a Trace<'a>,
    pub(in crate::pass) edges: Vec<Edge>,
    at: BTreeMap<usize, Vec<usize>>,
    /// Windings by group of their secondary.
    windings: BTreeMap<usize, Vec<Winding>>,
    /// Busbars by group: origin and mark.
    service: BTreeMap<usize, (Origin, String)>,
    /// Busbars of all panelboards by group, also of one behind a transformer: their mark.
    buses: BTreeMap<usize, String>,
}

/// Sources reached, each with the tags of the devices whose contacts lie on the way.
pub(in crate::pass) type Reached = BTreeMap<Origin, Vec<String>>;
/// The same pole by pole: the mark of the busbar, or of the end of the winding.
pub(super) type Poles = BTreeMap<(Origin, String), Vec<String>>;
/// By group: sources and poles that can stand on it.
pub(super) type Flooded = BTreeMap<usize, BTreeSet<(Origin, String)>>;

impl<'a> Map<'a> {
    /// Reads contacts, windings and sources of the plan.
    pub(in crate::pass) fn of(trace: &'a Trace<'a>) -> Self {
        let mut map = Self {
            trace,
            edges: Vec::new(),
            at: BTreeMap::new(),
            windings: BTreeMap::new(),
            service: BTreeMap::new(),
            buses: BTreeMap::new(),
        };
        for (d, device) in trace.devices().iter().enumerate().filter(|(_, d)| d.kind == Kind::Panelboard) {
            for (i, t) in device.terminals.iter().enumerate() {
                if let (Reach::Inside, true, Some(g)) =
                    (t.reach, t.mark.starts_with('L'), trace.group_of(d, T(i as u16)))
                {
                    map.buses.insert(g, t.mark.clone());
                }
            }
        }
        for (d, part) in trace.parts() {
            let device = &trace.devices()[d];
            let mark = |t: T| device.terminals.get(usize::from(t.0)).map_or_else(String::new, |t| t.mark.clone());
            match part {
                Part::Contact { a, b, rest, by } => {
                    if let (Some(a), Some(b)) = (trace.group_of(d, *a), trace.group_of(d, *b)) {
                        let n = map.edges.len();
                        map.edges.push(Edge { device: d, a, b, by: *by, rest: *rest });
                        map.at.entry(a).or_default().push(n);
                        map.at.entry(b).or_default().push(n);
                    }
                }
                Part::Transformer { primary, secondary, .. } => {
                    let origin = origin(device);
                    if let (Some(p), Some(q)) = (trace.group_of(d, primary[0]), trace.group_of(d, primary[1])) {
                        for t in secondary {
                            let Some(g) = trace.group_of(d, *t) else { continue };
                            let winding = Winding { origin: origin.clone(), pole: mark(*t), primary: [p, q] };
                            map.windings.entry(g).or_default().push(winding);
                        }
                    }
                }
                Part::Source { hot, .. } => {
                    if let Some(g) = trace.group_of(d, *hot) {
                        map.service.insert(g, (origin(device), mark(*hot)));
                    }
                }
                _ => {}
            }
        }
        map
    }

    /// All switches of the plan that may serve as lockout points: disconnects and breakers, nothing else. A door switch, a selector
    /// or a thermostat is never one.
    pub(in crate::pass) fn isolators(&self) -> BTreeSet<Isolator> {
        self.edges.iter().filter_map(|e| self.isolator(e)).collect()
    }

    fn isolator(&self, e: &Edge) -> Option<Isolator> {
        let device = &self.trace.devices()[e.device];
        let tag = device.tag.clone();
        match (e.by, device.kind) {
            (Actuator::Breaker(space), _) => Some(Isolator::Breaker { panel: tag, space }),
            (_, Kind::Disconnect) => Some(Isolator::Disconnect { tag }),
            _ => None,
        }
    }

    /// Sources that can stand on one of these groups while these switches are open.
    pub(in crate::pass) fn sources(&self, starts: &[usize], open: &BTreeSet<Isolator>) -> Reached {
        let mut reached = Reached::new();
        for ((origin, _), path) in self.poles(starts, open) {
            reached.entry(origin).or_insert(path);
        }
        reached
    }

    /// The same pole by pole.
    pub(super) fn poles(&self, starts: &[usize], open: &BTreeSet<Isolator>) -> Poles {
        self.live(starts, open, 0)
    }

    /// Branch circuits and busbars behind everything that can stand on these groups: transformers are traced back.
    pub(super) fn roots(&self, starts: &[usize]) -> BTreeSet<Origin> {
        self.roots_at(starts, 0)
    }

    fn roots_at(&self, starts: &[usize], depth: usize) -> BTreeSet<Origin> {
        let (reached, windings) = self.walk(starts, &BTreeSet::new(), depth);
        let mut roots: BTreeSet<Origin> = reached.into_keys().map(|(o, _)| o).collect();
        if depth < CHAIN_MAX {
            let mut primaries: Vec<[usize; 2]> = windings.into_iter().map(|(w, _)| w.primary).collect();
            primaries.sort_unstable();
            primaries.dedup();
            roots.extend(primaries.iter().flat_map(|p| self.roots_at(p, depth + 1)));
        }
        roots
    }

    fn live(&self, starts: &[usize], open: &BTreeSet<Isolator>, depth: usize) -> Poles {
        let (mut reached, windings) = self.walk(starts, open, depth);
        if depth < CHAIN_MAX {
            for (w, path) in windings {
                let fed = self.live(&w.primary, open, depth + 1);
                // A winding whose primary can only be reached from its own secondary is not a source.
                if fed.keys().any(|(o, _)| *o != w.origin) {
                    reached.entry((w.origin.clone(), w.pole.clone())).or_insert(path);
                }
            }
        }
        reached
    }

    #[allow(clippy::type_complexity, reason = "windings and the way to them: used once")]
    fn walk(&self, starts: &[usize], open: &BTreeSet<Isolator>, depth: usize) -> (Poles, Vec<(&Winding, Vec<String>)>) {
        let mut reached = Poles::new();
        let mut windings: Vec<(&Winding, Vec<String>)> = Vec::new();
        let mut seen = BTreeSet::new();
        let mut queue: Vec<(usize, Option<usize>, Option<usize>)> = Vec::new();
        for g in starts.iter().filter(|g| !self.trace.is_grounded(**g)) {
            if seen.insert((*g, None)) {
                queue.push((*g, None, None));
            }
        }
        let mut next = 0;
        while let Some((group, last, _)) = queue.get(next).copied() {
            let path = |queue: &[(usize, Option<usize>, Option<usize>)]| {
                let mut tags = Vec::new();
                let mut at = Some(next);
                while let Some((_, edge, parent)) = at.and_then(|i| queue.get(i).copied()) {
                    if let Some(e) = edge {
                        tags.push(self.trace.devices()[self.edges[e].device].tag.clone());
                    }
                    at = parent;
                }
                tags.reverse();
                tags
            };
            if let Some(o) = self.service.get(&group) {
                reached.entry(o.clone()).or_insert_with(|| path(&queue));
            }
            for w in self.windings.get(&group).into_iter().flatten() {
                if !windings.iter().any(|(o, _)| o.origin == w.origin && o.pole == w.pole) {
                    windings.push((w, path(&queue)));
                }
            }
            for n in self.at.get(&group).into_iter().flatten() {
                let e = &self.edges[*n];
                if last == Some(*n) || last.is_some_and(|l| self.exclude(l, *n)) {
                    continue;
                }
                if self.isolator(e).is_some_and(|i| open.contains(&i)) {
                    continue;
                }
                if let Some((origin, pole, bus)) = self.branch(e) {
                    // From the bus towards a load is not a way to a source. A branch circuit lives while its busbar does.
                    if group != bus && self.bus_lives(bus, open, depth) {
                        reached.entry((origin, pole)).or_insert_with(|| path(&queue));
                    }
                    continue;
                }
                let far = if e.a == group { e.b } else { e.a };
                if !self.trace.is_grounded(far) && seen.insert((far, Some(*n))) {
                    queue.push((far, Some(*n), Some(next)));
                }
            }
            next += 1;
        }
        (reached, windings)
    }

    /// The branch circuit that a breaker's pole feeds, the mark and the group of its busbar. A main breaker feeds none.
    fn branch(&self, e: &Edge) -> Option<(Origin, String, usize)> {
        let Actuator::Breaker(space) = e.by else { return None };
        if space == MAIN_BREAKER {
            return None;
        }
        let (bus, mark) = [e.a, e.b].into_iter().find_map(|g| self.buses.get(&g).map(|m| (g, m.clone())))?;
        let panel = self.trace.devices()[e.device].tag.clone();
        Some((Origin::Branch { panel, space }, mark, bus))
    }

    /// True while a busbar can have voltage: the service's always, one behind a transformer while the transformer is fed.
    fn bus_lives(&self, bus: usize, open: &BTreeSet<Isolator>, depth: usize) -> bool {
        self.service.contains_key(&bus) || (depth < CHAIN_MAX && !self.live(&[bus], open, depth + 1).is_empty())
    }

    /// Every group that some source can reach with these switches open and these contacts (places among [`Map::edges`]) unable
    /// to close: the same walk, from the sources outward.
    pub(super) fn flood(&self, open: &BTreeSet<Isolator>, dead: &BTreeSet<usize>) -> Flooded {
        let mut lit = Flooded::new();
        for (group, source) in &self.service {
            self.pour(&mut lit, *group, source, open, dead);
        }
        // Each round feeds at least one winding or one branch circuit more, or it is the last.
        let mut fed: BTreeSet<(Origin, String)> = BTreeSet::new();
        loop {
            let before = fed.len();
            for (n, e) in self.edges.iter().enumerate() {
                let Some((origin, pole, bus)) = self.branch(e) else { continue };
                let source = (origin, pole);
                let off = dead.contains(&n) || self.isolator(e).is_some_and(|i| open.contains(&i));
                if off || fed.contains(&source) || !lit.contains_key(&bus) {
                    continue;
                }
                let load = if e.a == bus { e.b } else { e.a };
                fed.insert(source.clone());
                self.pour(&mut lit, load, &source, open, dead);
            }
            for (group, list) in &self.windings {
                for w in list {
                    let source = (w.origin.clone(), w.pole.clone());
                    if !fed.contains(&source) && self.powered(&lit, w.primary[0], w.primary[1]) {
                        fed.insert(source.clone());
                        self.pour(&mut lit, *group, &source, open, dead);
                    }
                }
            }
            if fed.len() == before {
                return lit;
            }
        }
    }

    fn pour(
        &self,
        lit: &mut Flooded,
        start: usize,
        source: &(Origin, String),
        open: &BTreeSet<Isolator>,
        dead: &BTreeSet<usize>,
    ) {
        if self.trace.is_grounded(start) {
            return;
        }
        let mut seen = BTreeSet::from([(start, None)]);
        let mut queue: Vec<(usize, Option<usize>)> = vec![(start, None)];
        while let Some((group, last)) = queue.pop() {
            lit.entry(group).or_default().insert(source.clone());
            for n in self.at.get(&group).into_iter().flatten() {
                let e = &self.edges[*n];
                let barred = last == Some(*n)
                    || last.is_some_and(|l| self.exclude(l, *n))
                    || dead.contains(n)
                    || matches!(e.by, Actuator::Breaker(space) if space != MAIN_BREAKER)
                    || self.isolator(e).is_some_and(|i| open.contains(&i));
                let far = if e.a == group { e.b } else { e.a };
                if !barred && !self.trace.is_grounded(far) && seen.insert((far, Some(*n))) {
                    queue.push((far, Some(*n)));
                }
            }
        }
    }

    /// True when voltage can stand between two groups: one pole of a source on one side, ground or another of its poles on the
    /// other.
    pub(super) fn powered(&self, lit: &Flooded, a: usize, b: usize) -> bool {
        let none = BTreeSet::new();
        let of = |g: usize| lit.get(&g).unwrap_or(&none);
        let one = |x: usize, y: usize| {
            of(x).iter().any(|(o, p)| {
                let grounded = self.trace.is_grounded(y);
                grounded || of(y).iter().any(|(other, q)| other == o && q != p)
            })
        };
        one(a, b) || one(b, a)
    }

    /// Two contacts of one actuator, one open where the other is closed.
    fn exclude(&self, a: usize, b: usize) -> bool {
        let (a, b) = (&self.edges[a], &self.edges[b]);
        let one = match (a.by, b.by) {
            (Actuator::Coil(x), Actuator::Coil(y)) => x == y && a.device == b.device,
            (x, y) => x == y,
        };
        one && a.rest != b.rest
    }
}
