//! The whole network for one position of all actuators.
//!
//! Blocks are solved in the order of cause; each keeps its last position and all earlier results, so that a call solves only
//! what changed and what it has not met before. Watches stand in the order of the parts, which no change of wires moves: two
//! observations of the same devices compare place by place.
//!
//! Bounds: at most [`MEMORY`] results are kept a block, then its memory starts anew. A block with more than 128 inputs is
//! solved each time.

use super::{
    actuators::ActuatorSet,
    block::{Block, Scratch, Solved, Stand},
    blocks::{coils, split},
    components::Groups,
    contacts::Contacts,
    fixed,
    joins::{Joined, STIFF_DROP, join},
    rebuild::{Changes, Network, terminals},
    reduce::reduce,
    watch::{Seen, Trouble, Watch, What},
};
use crate::part::{Actuator, Part};
use std::collections::HashMap;

/// Results kept of one block.
const MEMORY: usize = 1 << 16;

/// What is seen everywhere.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Observation {
    /// What is seen at each watch of the solver, in its order.
    pub seen: Vec<Seen>,
    /// What is wrong in itself.
    pub troubles: Vec<Trouble>,
}

/// A block with its memory.
#[derive(Clone, Debug)]
struct Kept {
    block: Block,
    /// Place of each of its watches among all.
    places: Vec<usize>,
    /// All blocks that can influence it, itself last.
    cone: Vec<usize>,
    memory: HashMap<u128, Solved>,
    last: Option<u128>,
    troubles: Vec<Trouble>,
}

/// The network prepared for many solutions.
#[derive(Clone, Debug)]
pub struct Solver {
    watches: Vec<Watch>,
    by_what: HashMap<What, Vec<usize>>,
    kept: Vec<Kept>,
    /// Block of each part.
    by_part: HashMap<usize, usize>,
    /// State of each coil, by part.
    coil_in: Vec<bool>,
    fixed_troubles: Vec<Trouble>,
    now: Observation,
    scratch: Scratch,
    pub(crate) joined: Joined,
    bits: Vec<bool>,
}

impl Solver {
    /// Prepares a network with changes. Breakers and disconnects that are opened belong to the changes.
    pub fn new(net: &Network, changes: &Changes) -> Self {
        Self::prepare(net, changes, false)
    }

    /// The same without rails: every supply keeps its inner resistance. For readings.
    pub(crate) fn exact(net: &Network, changes: &Changes) -> Self {
        Self::prepare(net, changes, true)
    }

    fn prepare(net: &Network, changes: &Changes, exact: bool) -> Self {
        let coil_of = coils(net);
        let mut weak: Vec<usize> = Vec::new();
        // Each round finds at least one more supply that is not stiff, or ends.
        let (joined, blocks) = loop {
            let joined = join(net, changes, &weak, exact);
            let blocks: Vec<Block> =
                split(net, &joined).iter().map(|b| Block::compile(net, &joined, &coil_of, b)).collect();
            let found = too_weak(net, &joined, &blocks);
            if exact || found.is_empty() {
                break (joined, blocks);
            }
            weak.extend(found);
        };
        let (watches, fixed) = fixed::watches(net, &joined, changes);
        let mut place = vec![usize::MAX; net.parts.len()];
        for (i, (_, part)) in watches.iter().enumerate() {
            if let Some(p) = part {
                place[*p] = i;
            }
        }
        let mut owner = HashMap::new();
        for (i, b) in blocks.iter().enumerate() {
            for c in &b.coil_parts {
                owner.insert(*c, i);
            }
        }
        let mut kept: Vec<Kept> = Vec::with_capacity(blocks.len());
        for (i, block) in blocks.into_iter().enumerate() {
            let mut cone: Vec<usize> = Vec::new();
            for c in &block.before {
                if let Some(o) = owner.get(c) {
                    cone.extend(&kept[*o].cone);
                }
            }
            cone.push(i);
            cone.sort_unstable();
            cone.dedup();
            let places = block.watched.iter().map(|p| place[*p]).collect();
            kept.push(Kept { block, places, cone, memory: HashMap::new(), last: None, troubles: Vec::new() });
        }
        let by_part = kept.iter().enumerate().flat_map(|(i, k)| k.block.parts.iter().map(move |p| (*p, i))).collect();
        let mut by_what: HashMap<What, Vec<usize>> = HashMap::new();
        for (i, (w, _)) in watches.iter().enumerate() {
            by_what.entry(w.what).or_default().push(i);
        }
        let now = Observation { seen: fixed, troubles: Vec::new() };
        Self {
            watches: watches.into_iter().map(|(w, _)| w).collect(),
            by_what,
            kept,
            by_part,
            coil_in: vec![false; net.parts.len()],
            fixed_troubles: joined.troubles.clone(),
            now,
            scratch: Scratch::default(),
            joined,
            bits: Vec::new(),
        }
    }

    /// Everything that is looked at, in the order of an observation.
    pub fn watches(&self) -> &[Watch] {
        &self.watches
    }

    /// Places of all watches of this kind and id in an observation; empty when the plan has none.
    pub fn places(&self, what: What) -> &[usize] {
        self.by_what.get(&what).map_or(&[], Vec::as_slice)
    }

    /// What stands at the first watch of this kind and id since the last solution.
    pub fn seen(&self, what: What) -> Option<Seen> {
        self.places(what).first().map(|i| self.now.seen[*i])
    }

    /// Number of blocks that are solved by themselves.
    pub fn block_count(&self) -> usize {
        self.kept.len()
    }

    /// Solves for one position of the actuators; all coils start from rest.
    pub fn solve(&mut self, set: &ActuatorSet) -> &Observation {
        let mut changed = self.now.troubles.is_empty() && !self.fixed_troubles.is_empty();
        for i in 0..self.kept.len() {
            changed |= self.step(i, set);
        }
        if changed {
            self.now.troubles.clear();
            self.now.troubles.extend(&self.fixed_troubles);
            for k in &self.kept {
                self.now.troubles.extend(&k.troubles);
            }
            self.now.troubles.sort_unstable();
            self.now.troubles.dedup();
        }
        &self.now
    }

    /// Brings one block up to date; true when its troubles changed.
    fn step(&mut self, i: usize, set: &ActuatorSet) -> bool {
        let Kept { block, places, memory, last, troubles, .. } = &mut self.kept[i];
        self.bits.clear();
        self.bits.extend(block.actuators.iter().map(|a| set.get(*a)));
        self.bits.extend(block.before.iter().map(|c| self.coil_in[*c]));
        let key = (self.bits.len() <= 128)
            .then(|| self.bits.iter().enumerate().fold(0_u128, |k, (i, b)| k | (u128::from(*b) << i)));
        if key.is_some() && *last == key {
            return false;
        }
        let fresh;
        let solved = match key {
            Some(key) => {
                if memory.len() >= MEMORY && !memory.contains_key(&key) {
                    memory.clear();
                }
                memory.entry(key).or_insert_with(|| block.solve(&self.bits, &mut self.scratch))
            }
            None => {
                fresh = block.solve(&self.bits, &mut self.scratch);
                &fresh
            }
        };
        for (p, s) in places.iter().zip(&solved.seen) {
            self.now.seen[*p] = *s;
        }
        for (c, on) in block.coil_parts.iter().zip(&solved.coils) {
            self.coil_in[*c] = *on;
        }
        *last = key;
        let changed = *troubles != solved.troubles;
        if changed {
            troubles.clone_from(&solved.troubles);
        }
        changed
    }

    /// Solves a block and all that can influence it, leaving the rest as it stood.
    pub(crate) fn solve_cone(&mut self, block: usize, set: &ActuatorSet) {
        for k in 0..self.kept[block].cone.len() {
            let i = self.kept[block].cone[k];
            let _ = self.step(i, set);
        }
    }

    /// Whether a coil, by part, has pulled in since the last solution.
    pub(crate) fn coil_in(&self, part: usize) -> bool {
        self.coil_in.get(part).copied().unwrap_or(false)
    }

    /// What stands at one watch.
    pub(crate) fn at(&self, watch: usize) -> Seen {
        self.now.seen[watch]
    }

    /// Troubles of one block, as it stands.
    pub(crate) fn troubles_of(&self, block: usize) -> &[Trouble] {
        &self.kept[block].troubles
    }

    /// Troubles that no switch changes.
    pub(crate) fn fixed_troubles(&self) -> &[Trouble] {
        &self.fixed_troubles
    }

    /// Watches of one block.
    pub(crate) fn watches_of(&self, block: usize) -> &[usize] {
        &self.kept[block].places
    }

    /// Watches that no switch changes.
    pub(crate) fn fixed_watches(&self) -> Vec<usize> {
        let moving: std::collections::HashSet<usize> =
            self.kept.iter().flat_map(|k| k.places.iter().copied()).collect();
        (0..self.watches.len()).filter(|w| !moving.contains(w)).collect()
    }

    /// All free actuators that can influence a block.
    pub(crate) fn actuators_of(&self, block: usize) -> Vec<Actuator> {
        let mut out: Vec<Actuator> =
            self.kept[block].cone.iter().flat_map(|i| self.kept[*i].block.actuators.iter().copied()).collect();
        out.sort_unstable();
        out.dedup();
        out
    }

    /// All blocks that can influence one, itself last.
    pub(crate) fn cone_of(&self, block: usize) -> &[usize] {
        &self.kept[block].cone
    }

    /// Coils of a block, by part.
    pub(crate) fn coils_of(&self, block: usize) -> &[usize] {
        &self.kept[block].block.coil_parts
    }

    /// The contacts of a block that its inputs move.
    pub(crate) fn contacts_of(&self, block: usize) -> Contacts {
        self.kept[block].block.contacts()
    }

    /// The block of a part.
    pub(crate) fn block_of(&self, part: usize) -> Option<usize> {
        self.by_part.get(&part).copied()
    }

    /// True when a part can influence what is seen at a watch.
    pub(crate) fn can_influence(&self, part: usize, watch: usize) -> bool {
        let Some(of) = self.by_part.get(&part) else { return false };
        self.kept.iter().any(|k| k.places.contains(&watch) && k.cone.contains(of))
    }

    /// True when the same terminals are joined, with and without contacts that are closed for good.
    pub(crate) fn same_partition(&self, other: &Self) -> bool {
        self.joined.bonded == other.joined.bonded && self.joined.node == other.joined.node
    }

    /// True when a block of another network compiles to the same equations as one of this.
    pub(crate) fn has_block(&self, other: &Self, block: usize) -> bool {
        let theirs = &other.kept[block].block;
        self.by_part
            .get(theirs.parts.first().unwrap_or(&usize::MAX))
            .is_some_and(|mine| self.kept[*mine].block.same_equations(theirs))
    }

    /// The circuit as sets of part ends a node, one part left out. Not told apart: the ends of parts without polarity (a
    /// load or primary between two ungrounded conductors is one, and so is the secondary of a transformer that floats: it is compared
    /// with no other source), contacts in series or parallel in another order, where a contact hangs that leads to nothing
    /// (`reduce`), and the two halves of a secondary with a middle, which differ in name only.
    pub(crate) fn circuit(&self, net: &Network, without: Option<usize>) -> Vec<Vec<(u64, u8)>> {
        self.circuit_by(net, without, false)
    }

    /// The same with poles of one switch in a row counted as one.
    pub(crate) fn circuit_of_poles(&self, net: &Network) -> Vec<Vec<(u64, u8)>> {
        self.circuit_by(net, None, true)
    }

    fn circuit_by(&self, net: &Network, without: Option<usize>, poles_as_one: bool) -> Vec<Vec<(u64, u8)>> {
        let grounded = self.can_be_grounded(net);
        let node = |t: u32| self.joined.node[t as usize];
        let hot = |a: u32, b: u32| ![a, b].iter().any(|t| grounded[node(*t) as usize]);
        let mut nodes: Vec<Vec<(u64, u8)>> = vec![Vec::new(); self.joined.nodes];
        let mut contacts = Vec::new();
        // Poles of one switch are alike: each is named after the first.
        let mut first_pole = HashMap::new();
        for (i, p) in net.parts.iter().enumerate() {
            let pole = match p.part {
                Part::Contact { by, rest, .. } => *first_pole.entry((by, rest)).or_insert(i),
                _ => i,
            };
            if without == Some(i) {
                continue;
            }
            let half = first_half(net, i);
            // Whether the first two ends, and the next two, may be exchanged.
            let alike = match p.part {
                Part::Bond(..) => continue,
                Part::Contact { a, b, .. } => {
                    contacts.push((pole, node(p.at(a)), node(p.at(b))));
                    continue;
                }
                Part::Coil { .. } | Part::Element { .. } | Part::Input { .. } | Part::SensorInput { .. } => {
                    [true, false]
                }
                Part::Load { a, b, .. } => [hot(p.at(a), p.at(b)), false],
                Part::Transformer { primary: [a, b], secondary: [x, y], .. } => {
                    [hot(p.at(a), p.at(b)), half.is_none() && hot(p.at(x), p.at(y))]
                }
                _ => [false, false],
            };
            let (ts, n) = terminals(&p.part);
            for (slot, t) in ts[..n].iter().enumerate() {
                let of = half.filter(|_| slot >= 2).unwrap_or(i);
                let slot = if alike.get(slot / 2) == Some(&true) { slot / 2 * 2 } else { slot };
                nodes[node(p.at(*t)) as usize].push((of as u64, slot as u8));
            }
        }
        reduce(nodes, &contacts, poles_as_one)
    }

    /// Nodes that ground reaches over whatever contacts.
    fn can_be_grounded(&self, net: &Network) -> Vec<bool> {
        let mut g = Groups::new(self.joined.nodes);
        let node = |t: u32| self.joined.node[t as usize];
        for p in &net.parts {
            if let Part::Contact { a, b, .. } = p.part {
                g.join(node(p.at(a)), node(p.at(b)));
            }
        }
        let earth = self.joined.earth.map(|e| g.find(e));
        (0..self.joined.nodes as u32).map(|n| Some(g.find(n)) == earth).collect()
    }

    /// Where every node stands: for readings.
    pub(crate) fn stands(&mut self, set: &ActuatorSet) -> Vec<(usize, Vec<(u32, Stand)>)> {
        let _ = self.solve(set);
        let mut out = Vec::new();
        for i in 0..self.kept.len() {
            let block = &self.kept[i].block;
            let mut bits: Vec<bool> = block.actuators.iter().map(|a| set.get(*a)).collect();
            bits.extend(block.before.iter().map(|c| self.coil_in[*c]));
            out.push((i, block.stands(&bits, &mut self.scratch)));
        }
        out
    }
}

/// Transformers taken as stiff whose own resistance would drop too much with everything on them live.
fn too_weak(net: &Network, joined: &Joined, blocks: &[Block]) -> Vec<usize> {
    let mut out = Vec::new();
    for (i, p) in net.parts.iter().enumerate() {
        let Part::Transformer { secondary, secondary_volts, ohm, .. } = p.part else { continue };
        if !joined.settled[i] {
            continue;
        }
        let poles = secondary.map(|t| joined.node[p.at(t) as usize]);
        let va: f64 = poles
            .iter()
            .filter(|n| Some(**n) != joined.earth)
            .map(|n| blocks.iter().filter(|b| b.nodes.contains(n)).map(|b| b.load_va).sum::<f64>())
            .fold(0.0, f64::max);
        if va * ohm > STIFF_DROP * secondary_volts * secondary_volts {
            out.push(i);
        }
    }
    out
}

/// For a transformer winding that is one half of a secondary with a middle: the number of the device's first half.
fn first_half(net: &Network, i: usize) -> Option<usize> {
    let of = |i: usize| match net.parts.get(i).map(|p| (p.device, &p.part)) {
        Some((device, Part::Transformer { primary: [a, b], secondary: [_, middle], secondary_volts, .. })) => {
            Some((device, *a.min(b), *a.max(b), *middle, *secondary_volts))
        }
        _ => None,
    };
    let me = of(i)?;
    let twin = |j: usize| (of(j) == Some(me)).then_some(j.min(i));
    i.checked_sub(1).and_then(twin).or_else(|| twin(i + 1))
}
