//! Which sources can put voltage on a set of terminals, and which switch takes each of them away.
//!
//! The plan's metal (rows and bonds) with every contact taken as one that may close: for lockout it does not matter that a relay
//! is open now. Two contacts of one actuator that are never closed together are not passed one after the other. The walk ends at
//! ground, at a branch breaker (the branch circuit is the source) and at a winding (the transformer is the source; it lives
//! while its primary does). Loads, coils and inputs are not passed.
//!
//! It errs on the safe side: a path through contacts that can never be closed together is still reported.

use crate::{
    device::Kind,
    part::{Actuator, Part, Rest},
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
struct Edge {
    device: usize,
    a: usize,
    b: usize,
    by: Actuator,
    rest: Rest,
}

/// The walkable plan.
pub(super) struct Map<'a> {
    pub(super) trace: &'a Trace<'a>,
    edges: Vec<Edge>,
    at: BTreeMap<usize, Vec<usize>>,
    /// Windings by group of their secondary: origin and groups of the primary.
    windings: BTreeMap<usize, Vec<(Origin, [usize; 2])>>,
    service: BTreeMap<usize, Origin>,
}

/// Sources reached, each with the tags of the devices whose contacts lie on the way.
pub(super) type Reached = BTreeMap<Origin, Vec<String>>;

impl<'a> Map<'a> {
    /// Reads contacts, windings and sources of the plan.
    pub(super) fn of(trace: &'a Trace<'a>) -> Self {
        let mut map =
            Self { trace, edges: Vec::new(), at: BTreeMap::new(), windings: BTreeMap::new(), service: BTreeMap::new() };
        for (d, part) in trace.parts() {
            let device = &trace.devices()[d];
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
                    let own = device.kind != Kind::Transformer;
                    let tag = device.tag.clone();
                    let origin = if own { Origin::Equipment { tag } } else { Origin::Transformer { tag } };
                    if let (Some(p), Some(q)) = (trace.group_of(d, primary[0]), trace.group_of(d, primary[1])) {
                        for g in secondary.iter().filter_map(|t| trace.group_of(d, *t)) {
                            map.windings.entry(g).or_default().push((origin.clone(), [p, q]));
                        }
                    }
                }
                Part::Source { hot, .. } => {
                    if let Some(g) = trace.group_of(d, *hot) {
                        let tag = device.tag.clone();
                        let foreign = device.kind == Kind::Automation;
                        let origin = if foreign { Origin::Equipment { tag } } else { Origin::Service { panel: tag } };
                        map.service.insert(g, origin);
                    }
                }
                _ => {}
            }
        }
        map
    }

    /// All switches of the plan that may serve as lockout points: disconnects and breakers, nothing else. A door switch, a selector
    /// or a thermostat is never one.
    pub(super) fn isolators(&self) -> BTreeSet<Isolator> {
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
    pub(super) fn sources(&self, starts: &[usize], open: &BTreeSet<Isolator>) -> Reached {
        self.live(starts, open, 0)
    }

    fn live(&self, starts: &[usize], open: &BTreeSet<Isolator>, depth: usize) -> Reached {
        let (mut reached, windings) = self.walk(starts, open);
        if depth < CHAIN_MAX {
            for (origin, primary, path) in windings {
                let fed = self.live(&primary, open, depth + 1);
                // A winding whose primary can only be reached from its own secondary is not a source.
                if fed.keys().any(|o| *o != origin) {
                    reached.entry(origin).or_insert(path);
                }
            }
        }
        reached
    }

    #[allow(clippy::type_complexity, reason = "origin, primary, way: used once")]
    fn walk(&self, starts: &[usize], open: &BTreeSet<Isolator>) -> (Reached, Vec<(Origin, [usize; 2], Vec<String>)>) {
        let mut reached = Reached::new();
        let mut windings: Vec<(Origin, [usize; 2], Vec<String>)> = Vec::new();
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
            for (o, primary) in self.windings.get(&group).into_iter().flatten() {
                if !windings.iter().any(|(w, _, _)| w == o) {
                    windings.push((o.clone(), *primary, path(&queue)));
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
                if let Actuator::Breaker(space) = e.by {
                    let panel = self.trace.devices()[e.device].tag.clone();
                    // From the bus towards a load is not a way to a source.
                    if !self.service.contains_key(&group) {
                        reached.entry(Origin::Branch { panel, space }).or_insert_with(|| path(&queue));
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
