//! Breadth first through everything that can happen, until something is wrong or nothing is new.

#![allow(unreachable_pub)]

use crate::plant::*;
use heatwright_core::*;
use std::collections::HashSet;
use std::fmt::Write as _;

/// What a search found.
pub struct Found {
    pub states: usize,
    pub steps: usize,
    pub all: bool,
    /// The longest way to heat, in steps.
    pub slowest: u32,
    /// The shortest way to the first thing that is wrong.
    pub wrong: Option<(String, Vec<Happens>)>,
}

/// Keys of states are hashes already.
#[derive(Clone, Copy, Default)]
struct AsItIs(u64);

impl std::hash::Hasher for AsItIs {
    fn write(&mut self, _: &[u8]) {}
    fn write_u64(&mut self, v: u64) {
        self.0 = v;
    }
    fn finish(&self) -> u64 {
        self.0
    }
}

/// The key of a state in 16 bytes that ask for no more room than that.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Key(u64, u64);

impl std::hash::Hash for Key {
    fn hash<H: std::hash::Hasher>(&self, h: &mut H) {
        h.write_u64(self.0);
    }
}

type Seen = HashSet<Key, std::hash::BuildHasherDefault<AsItIs>>;

/// Every state that was found, as the state that it was found from and the letter that led to it: a node is walked to again when its
/// turn comes, so that a search of millions of states keeps 25 bytes for each and not its two kilobytes.
struct Tree {
    from: Vec<(u32, u16)>,
}

impl Tree {
    /// The states on the way to this one, the start left out.
    fn way(&self, mut at: u32) -> Vec<u32> {
        let mut way = Vec::new();
        while at != 0 {
            way.push(at);
            at = self.from[at as usize].0;
        }
        way.reverse();
        way
    }

    fn letters(&self, plant: &Plant, at: u32, last: Option<Happens>) -> Vec<Happens> {
        let letter = |id: u32| plant.alphabet[usize::from(self.from[id as usize].1)];
        self.way(at).into_iter().map(letter).chain(last).collect()
    }
}

/// Walks to one state after another; what two ways have in common is walked once.
struct Walker<'a> {
    plant: &'a Plant,
    start: Node,
    nodes: Vec<(u32, Node)>,
}

impl<'a> Walker<'a> {
    fn new(plant: &'a Plant) -> Self {
        Self { plant, start: plant.start(), nodes: Vec::new() }
    }

    fn node(&mut self, tree: &Tree, at: u32) -> Node {
        let way = tree.way(at);
        let common = self.nodes.iter().zip(&way).take_while(|((a, _), b)| a == *b).count();
        self.nodes.truncate(common);
        for id in &way[common..] {
            let before = self.nodes.last().map_or(&self.start, |(_, n)| n);
            let letter = self.plant.alphabet[usize::from(tree.from[*id as usize].1)];
            let next = self.plant.step(before, letter).node;
            self.nodes.push((*id, next));
        }
        self.nodes.last().map_or_else(|| self.start.clone(), |(_, n)| n.clone())
    }
}

/// What came of the states of one piece of the queue.
#[derive(Default)]
struct Piece {
    /// Successors that were not known when the piece began, in order: key, state, letter.
    new: Vec<(Key, u32, u16)>,
    steps: usize,
    slowest: u32,
    wrong: Option<(String, u32, Option<Happens>)>,
}

fn key(plant: &Plant, n: &Node) -> Key {
    let key = plant.key(n);
    Key(key as u64, (key >> 64) as u64)
}

/// Goes every step from each of these states.
fn expand(walker: &mut Walker<'_>, tree: &Tree, seen: &Seen, ids: std::ops::Range<u32>, liveness: bool) -> Piece {
    let plant = walker.plant;
    let mut piece = Piece::default();
    for at in ids {
        let node = walker.node(tree, at);
        if liveness {
            // A node stands for its mirror image too: each zone calls in turn.
            for calls in (0..plant.kind.zones).map(|z| 1 << z) {
                match plant.heats(&node, calls) {
                    Some(steps) => piece.slowest = piece.slowest.max(steps),
                    None => {
                        piece.wrong = Some(("no heat within the bound".to_owned(), at, None));
                        return piece;
                    }
                }
            }
        }
        let mut demands: Vec<Outputs> = Vec::with_capacity(plant.alphabet.len());
        let (mut plain, mut touched) = (0, Touched::default());
        for (i, h) in (0u16..).zip(&plant.alphabet) {
            piece.steps += 1;
            if h.is_plain() {
                plain = demands.len();
            } else if !touched.by(h) {
                // Nothing that this fault acts on stood otherwise: every contact is that of the step without it.
                demands.push(demands[plain]);
                continue;
            }
            let step = plant.step(&node, *h);
            if h.is_plain() {
                touched = step.touched;
            }
            if let Some(what) = step.wrong {
                piece.wrong = Some((what, at, Some(*h)));
                return piece;
            }
            demands.push(step.node.outputs);
            let key = key(plant, &step.node);
            if !seen.contains(&key) {
                piece.new.push((key, at, i));
            }
        }
        let siblings = own_faults(plant, &node.outputs, &demands).or_else(|| lost_raises(plant, &node, &demands));
        if let Some((i, what)) = siblings {
            piece.wrong = Some((what, at, Some(plant.alphabet[i])));
            return piece;
        }
    }
    piece
}

/// States of the queue that are gone through between two looks at what is new.
const BLOCK: usize = 8192;

pub fn search(plant: &Plant, most: usize, liveness: bool) -> Found {
    let mut tree = Tree { from: vec![(0, 0)] };
    let mut seen = Seen::default();
    seen.insert(key(plant, &plant.start()));
    let mut found = Found { states: 1, steps: 0, all: true, slowest: 0, wrong: None };
    let threads = if most == usize::MAX { 2 } else { 1 };
    let mut walkers: Vec<_> = (0..threads).map(|_| Walker::new(plant)).collect();
    let mut next = 0usize;
    while next < tree.from.len() {
        let end = tree.from.len().min(next + BLOCK);
        let each = (end - next).div_ceil(walkers.len());
        let pieces: Vec<Piece> = std::thread::scope(|scope| {
            let (tree, seen) = (&tree, &seen);
            let run = |(i, walker)| {
                let (from, to) = (next + i * each, end.min(next + (i + 1) * each));
                scope.spawn(move || expand(walker, tree, seen, from as u32..to.max(from) as u32, liveness))
            };
            let all: Vec<_> = walkers.iter_mut().enumerate().map(run).collect();
            all.into_iter().map(|t| t.join().expect("a walker ends")).collect()
        });
        next = end;
        if threads > 1 && (next / BLOCK).is_multiple_of(16) {
            told_so_far(next, tree.from.len());
        }
        for piece in pieces {
            found.steps += piece.steps;
            found.slowest = found.slowest.max(piece.slowest);
            for (key, at, letter) in piece.new {
                if seen.len() >= most {
                    found.all &= seen.contains(&key);
                } else if seen.insert(key) {
                    tree.from.push((at, letter));
                }
            }
            if let Some((what, at, last)) = piece.wrong {
                found.wrong = Some((what, tree.letters(plant, at, last)));
                return found;
            }
        }
    }
    found.states = seen.len();
    found
}

/// How far a long search has come.
#[allow(clippy::print_stderr, reason = "a search of hours says that it goes on")]
fn told_so_far(gone_through: usize, found: usize) {
    eprintln!("{gone_through} of {found} states gone through");
}

/// One boiler's own limit takes no demand from another: the same step with and without it. Hot water is left out: there the
/// boiler that stays is the last one, and stops because it is not needed.
fn own_faults(plant: &Plant, before: &Outputs, outputs: &[Outputs]) -> Option<(usize, String)> {
    for (i, h) in plant.alphabet.iter().enumerate().filter(|(_, h)| h.limit_open != 0 && h.water != Water::Hot) {
        let good = Happens { limit_open: 0, ..*h };
        let j = plant.alphabet.iter().position(|a| *a == good)?;
        for b in (0..plant.kind.boilers).filter(|b| h.limit_open >> b & 1 == 0) {
            if plant.demand(before, b) && plant.demand(&outputs[j], b) && !plant.demand(&outputs[i], b) {
                return Some((i, format!("the limit of another boiler stops boiler {}", b + 1)));
            }
        }
    }
    None
}

/// A supply sensor that fails now brings no demand that its last reading would not have brought.
fn lost_raises(plant: &Plant, before: &Node, outputs: &[Outputs]) -> Option<(usize, String)> {
    let last = before.state.held.reading(plant.config.supply_sensor().unwrap());
    for (i, h) in plant.alphabet.iter().enumerate().filter(|(_, h)| h.water == Water::Lost) {
        let good =
            plant.alphabet.iter().position(|a| a.water.reading() == last && Happens { water: h.water, ..*a } == *h);
        let Some(j) = good.filter(|j| *j != i) else { continue };
        for b in 0..plant.kind.boilers {
            if plant.demand(&outputs[i], b) && !plant.demand(&outputs[j], b) {
                return Some((i, format!("a failed sensor starts boiler {}", b + 1)));
            }
        }
    }
    None
}

/// The way to what is wrong, step by step.
pub fn told(plant: &Plant, what: &str, way: &[Happens]) -> String {
    let mut text = format!("{what}\n\n min  what happens\n");
    let mut node = plant.start();
    for (i, h) in way.iter().enumerate() {
        node = plant.step(&node, *h).node;
        let mut words = Vec::new();
        for z in (0..2u8).filter(|z| h.calls >> z & 1 != 0) {
            words.push(format!("zone {} calls", z + 1));
        }
        if h.tank {
            words.push("the tank calls".into());
        }
        words.push(format!("water {:?}", h.water).to_lowercase());
        for (bits, name) in [(h.no_flow, "no flow"), (h.no_flame, "no flame"), (h.limit_open, "limit open")] {
            for b in (0..2u8).filter(|b| bits >> b & 1 != 0) {
                words.push(format!("{name} in boiler {}", b + 1));
            }
        }
        if h.door_open {
            words.push("door switch open".into());
        }
        if h.no_air {
            words.push("damper not open".into());
        }
        if h.acknowledge {
            words.push("acknowledge".into());
        }
        let _ = writeln!(text, "{:>4}  {}", i + 1, words.join(", "));
        for b in 0..plant.kind.boilers {
            let r = node.outputs.relay(plant.config.points.relay(RelayUse::Demand(BoilerId(b))).unwrap());
            let _ = writeln!(text, "          boiler {} {} {:?}", b + 1, if r.on { "ON " } else { "off" }, r.why);
        }
    }
    text
}
