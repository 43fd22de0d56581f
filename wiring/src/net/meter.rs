//! What a meter shows at the terminals of the real plan: conductors have their resistance.
//!
//! R of a conductor = r L / 1000, r ohm per 1000 ft by NFPA 70 Chapter 9 Table 8 at 75 °C, L its length in feet; the same
//! resistance as in the voltage drop of the schedule. Joints, closed contacts and raceways have none (our choice). Loads and
//! coils are `V^2 / VA`, windings and sources keep their inner resistance, as everywhere in `net`. Coils stand as the
//! proof's solution has them, so that a meter never sees another position than the proof.
//!
//! A transformer gives its plate's volts at its full volt-amperes and, with nothing on it, more by its regulation (`kinds`: 8 per cent, a
//! dry type 3; our choice, a real one of Class 2 gives up to a fifth more), by the formula that the list of transformers has too. The proof and the drop of the schedule take the plate's volts
//! for those of the unloaded winding, which is the careful side. It follows the volts at its primary, and its primary draws what its
//! secondary gives, turned over by its ratio, beside [`EXCITING`] of its plate that it takes for itself. This is solved again until
//! nothing moves, at most twice a transformer and twenty times more.
//!
//! Units: volts rms as phasors, ohm, siemens. Where nothing holds one terminal against the other the reading is floating,
//! never 0 V. Circuits without a supply in them (contact inputs, sensors, 0-10 V: the controller feeds them) are not read.
//!
//! What it deliberately does not do: reactance, temperature of each run, meter burden, ground paths over metal tubing.

use super::{
    actuators::ActuatorSet,
    block::test_ohm,
    components::Groups,
    joins::{FED, fixed_position, phasor},
    readings::Reading,
    rebuild::{Changes, Network},
    solve::Solver,
    sparse::Sparse,
};
use crate::{
    part::{Actuator, Part, Rest},
    tables::transformer,
};
use num_complex::Complex64;

/// Least resistance of a conductor, ohm: one of no length is a joint (our choice).
const OHM_MIN: f64 = 1e-6;

/// Volt-amperes that a transformer takes with nothing on it, as a share of its plate (common practice, no source: small dry types 5 to
/// 10 per cent), counted as real power.
const EXCITING: f64 = 0.05;

/// What a branch is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Branch {
    /// A resistance, ohm.
    Ohm(f64),
    /// A source behind a resistance: volts, degrees, ohm.
    Source(f64, f64, f64),
    /// A winding that follows nodes `from` and `to` by a ratio, behind a resistance, and draws its current there by the same ratio.
    Follows {
        /// Live side of the primary.
        from: u32,
        /// Other side of it.
        to: u32,
        /// Secondary volts a primary volt.
        ratio: f64,
        /// Inner resistance, ohm.
        ohm: f64,
    },
}

/// One branch between two nodes.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// One node.
    pub a: u32,
    /// Other node.
    pub b: u32,
    /// What it is.
    pub what: Branch,
    /// What it is, in words.
    pub label: String,
}

/// All potentials of the real plan for one position of the actuators.
#[derive(Clone, Debug)]
pub struct Meter {
    /// Node of each terminal.
    pub(crate) node: Vec<u32>,
    /// Piece of each node, by its reference node.
    pub(crate) piece: Vec<u32>,
    /// True for a piece with a supply in it, by reference node.
    live: Vec<bool>,
    pub(crate) volts: Vec<Complex64>,
    pub(crate) elements: Vec<Element>,
    /// Node of ground.
    pub(crate) earth: Option<u32>,
}

impl Meter {
    /// Solves the plan for one position.
    pub fn take(net: &Network, changes: &Changes, set: &ActuatorSet) -> Self {
        let mut solver = Solver::new(net, changes);
        let _ = solver.solve(set);
        let closed = closed(net, changes, set, &solver);
        let (node, count) = nodes(net, changes, &closed);
        let mut elements = elements(net, changes, &node);
        let earth = net.earths().next().map(|t| node[t as usize]);
        let mut pieces = Groups::new(count);
        for e in &elements {
            pieces.join(e.a, e.b);
        }
        // Ground is the reference of its piece, the lowest node that of any other.
        let earth_root = earth.map(|e| pieces.find(e));
        let piece: Vec<u32> = (0..count as u32)
            .map(|n| {
                let root = pieces.find(n);
                if Some(root) == earth_root { earth.unwrap_or(root) } else { root }
            })
            .collect();
        let mut live = vec![false; count];
        for e in elements.iter().filter(|e| !matches!(e.what, Branch::Ohm(_))) {
            live[piece[e.a as usize] as usize] = true;
        }
        let mut place = vec![None; count];
        let mut unknown = 0;
        for n in 0..count {
            if piece[n] != n as u32 {
                place[n] = Some(unknown);
                unknown += 1;
            }
        }
        let volts = settle(&mut elements, &place, unknown as usize);
        Self { node, piece, live, volts, elements, earth }
    }

    /// Volts between two terminals; `None` for a terminal that the network has not, or in a circuit without a supply.
    pub fn between(&self, a: u32, b: u32) -> Option<Reading> {
        let (a, b) = (*self.node.get(a as usize)? as usize, *self.node.get(b as usize)? as usize);
        let (pa, pb) = (self.piece[a], self.piece[b]);
        if !self.live[pa as usize] && !self.live[pb as usize] {
            return None;
        }
        Some(if pa == pb { Reading::Volts((self.volts[a] - self.volts[b]).norm()) } else { Reading::Floating })
    }

    /// True where conductors, closed contacts or windings join two terminals, with a supply or without: with none in it a meter shows
    /// 0 V between them.
    pub fn joined(&self, a: u32, b: u32) -> bool {
        let piece = |t: u32| self.node.get(t as usize).and_then(|n| self.piece.get(*n as usize));
        piece(a).is_some_and(|p| piece(b) == Some(p))
    }

    /// Every branch of the solved network.
    pub fn elements(&self) -> &[Element] {
        &self.elements
    }

    /// Volts of a node against the reference of its piece.
    pub fn potential(&self, node: u32) -> Option<Complex64> {
        self.volts.get(node as usize).copied()
    }

    /// Number of nodes.
    pub fn node_count(&self) -> usize {
        self.volts.len()
    }
}

/// Where each contact stands.
fn closed(net: &Network, changes: &Changes, set: &ActuatorSet, solver: &Solver) -> Vec<bool> {
    let coils = super::blocks::coils(net);
    let moved = |i: usize| match net.parts[i].part {
        Part::Contact { rest, by, .. } => fixed_position(net, i, changes).unwrap_or_else(|| {
            let acts = match by {
                Actuator::Coil(n) => coils.get(&(net.parts[i].device, n)).is_some_and(|c| solver.coil_in(*c)),
                free => set.get(free),
            };
            (rest == Rest::Closed) != acts
        }),
        _ => false,
    };
    (0..net.part_count()).map(moved).collect()
}

/// Nodes: terminals joined by anything but conductors.
fn nodes(net: &Network, changes: &Changes, closed: &[bool]) -> (Vec<u32>, usize) {
    let mut g = Groups::new(net.terminal_count());
    for (a, b) in &changes.joined {
        g.join(*a, *b);
    }
    let earths: Vec<u32> = net.earths().collect();
    for pair in earths.windows(2) {
        g.join(pair[0], pair[1]);
    }
    for (p, closed) in net.parts.iter().zip(closed) {
        match p.part {
            Part::Bond(a, b) => g.join(p.at(a), p.at(b)),
            Part::Contact { a, b, .. } if *closed => g.join(p.at(a), p.at(b)),
            _ => {}
        }
    }
    g.numbered()
}

fn elements(net: &Network, changes: &Changes, node: &[u32]) -> Vec<Element> {
    let mut out = Vec::new();
    let at = |t: u32| node[t as usize];
    for (row, w) in net.wires_with_rows(changes).filter(|(_, w)| !w.shield) {
        let ohm = net.ohms[row].max(OHM_MIN);
        out.push(Element {
            a: at(w.ends[0]),
            b: at(w.ends[1]),
            what: Branch::Ohm(ohm),
            label: net.numbers[row].clone(),
        });
    }
    for (i, p) in net.parts.iter().enumerate() {
        let mut add = |a, b, what| {
            let label = net.part_name(i);
            out.push(Element { a: at(p.at(a)), b: at(p.at(b)), what, label });
        };
        // A rating of 0 VA counts as 1 mVA, as in the proof.
        let ohm = |volts: f64, va: f64| volts * volts / va.max(1e-3);
        match p.part {
            Part::Source { hot, ret, volts, angle_deg, ohm } => add(hot, ret, Branch::Source(volts, angle_deg, ohm)),
            Part::Transformer {
                primary: [a, b],
                secondary: [c, d],
                primary_volts,
                secondary_volts,
                ohm: inner,
                va,
            } => {
                add(a, b, Branch::Ohm(ohm(primary_volts, EXCITING * va)));
                let (from, to) = (at(p.at(a)), at(p.at(b)));
                // Wound so that it gives its plate's volts with its full volt-amperes on it.
                let regulation = inner * va / (secondary_volts * secondary_volts);
                let ratio = transformer::unloaded_v(secondary_volts, regulation) / primary_volts;
                add(c, d, Branch::Follows { from, to, ratio, ohm: inner });
            }
            Part::Load { a, b, volts, va, .. } | Part::Coil { a, b, volts, va, .. } => {
                add(a, b, Branch::Ohm(ohm(volts, va)));
            }
            Part::Load3 { lines: [a, b, c], volts, va, .. } => {
                for (x, y) in [(a, b), (b, c), (c, a)] {
                    add(x, y, Branch::Ohm(3.0 * ohm(volts, va)));
                }
            }
            Part::Element { a, b, sensor } => add(a, b, Branch::Ohm(test_ohm(sensor.0))),
            _ => {}
        }
    }
    out.retain(|e| e.a != e.b || matches!(e.what, Branch::Source(..) | Branch::Follows { .. }));
    out
}

/// Potentials of all nodes.
fn settle(elements: &mut [Element], place: &[Option<u32>], unknown: usize) -> Vec<Complex64> {
    let windings = elements.iter().filter(|e| matches!(e.what, Branch::Follows { .. })).count();
    let mut emf = vec![Complex64::ZERO; elements.len()];
    // What each winding draws at its primary: as a conductance, and what is left of it as a current.
    let mut drawn = vec![(0.0, Complex64::ZERO); elements.len()];
    let mut volts = vec![Complex64::ZERO; place.len()];
    for _ in 0..2 * windings + 20 {
        let mut s = Sparse::new(unknown);
        for ((e, emf), (y, rest)) in elements.iter().zip(&emf).zip(&drawn) {
            if let Branch::Follows { from, to, .. } = e.what {
                let (from, to) = (place[from as usize], place[to as usize]);
                s.branch(from, to, *y, Complex64::ZERO);
                s.draw(from, to, *rest);
            }
            let (ohm, source) = match e.what {
                Branch::Ohm(ohm) => (ohm, Complex64::ZERO),
                Branch::Source(volts, degrees, ohm) => (ohm, phasor(volts, degrees)),
                Branch::Follows { ohm, .. } => (ohm, *emf),
            };
            if e.a != e.b {
                s.branch(place[e.a as usize], place[e.b as usize], 1.0 / ohm, source);
            }
        }
        let solved = s.solve();
        for (v, p) in volts.iter_mut().zip(place) {
            *v = p.map_or(Complex64::ZERO, |p| solved[p as usize]);
        }
        let mut moved = false;
        for ((e, emf), (y, rest)) in elements.iter().zip(&mut emf).zip(&mut drawn) {
            if let Branch::Follows { from, to, ratio, ohm } = e.what {
                let v = volts[from as usize] - volts[to as usize];
                let fed = v.norm() > FED;
                let next = if fed { v * ratio } else { Complex64::ZERO };
                // What it gave in the solution just found.
                let amps = (*emf - (volts[e.a as usize] - volts[e.b as usize])) * (ratio / ohm);
                let (was, now) = (v * *y + *rest, if fed { amps } else { Complex64::ZERO });
                moved |= (next - *emf).norm() > 1e-9 || (now - was).norm() > 1e-9;
                *y = if fed { (now / v).re.max(0.0) } else { 0.0 };
                *rest = now - v * *y;
                *emf = next;
            }
        }
        if !moved {
            break;
        }
    }
    volts
}
