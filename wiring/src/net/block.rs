//! One block compiled to local numbers.
//!
//! Loads and coils are conductances `y = VA / V^2` (S), elements by their test value, supplies that are not stiff a source
//! with its inner resistance. Rails of one system are joined beforehand with their known offsets. How a block is solved is
//! in `settle`, what it shows in `look`.
//!
//! What it deliberately does not do: power factor, inrush. A transformer's primary draws its nameplate whatever hangs on it
//! (our choice: an upper bound that matters only where something stands in series with it).

use super::{
    blocks::BlockParts,
    components::Potentials,
    joins::{Joined, phasor},
    linear::Linear,
    rebuild::Network,
    watch::{Seen, Trouble},
};
use crate::part::{Actuator, Part, Rest, T};
use num_complex::Complex64;
use std::collections::HashMap;

/// What moves a contact of the block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum By {
    /// Actuator of the block, by place.
    Actuator(usize),
    /// Coil of the block, by place.
    Coil(usize),
    /// Coil of an earlier block, by place in `before`.
    Before(usize),
}

#[derive(Clone, Debug, PartialEq)]
pub(super) struct Switch {
    pub(super) a: u32,
    pub(super) b: u32,
    pub(super) closed_at_rest: bool,
    pub(super) by: By,
    pub(super) terminals: (u32, u32),
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Branch {
    pub(super) a: u32,
    pub(super) b: u32,
    pub(super) y: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Emf {
    Fixed(Complex64),
    /// A transformer: primary nodes, turns ratio, rated primary volts.
    Follows {
        a: u32,
        b: u32,
        ratio: f64,
        rated: f64,
    },
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Supply {
    pub(super) a: u32,
    pub(super) b: u32,
    pub(super) y: f64,
    /// Conductance of the winding while it carries nothing.
    pub(super) idle: f64,
    pub(super) emf: Emf,
    /// Its two terminals.
    pub(super) terminals: (u32, u32),
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CoilAt {
    pub(super) a: u32,
    pub(super) b: u32,
    pub(super) volts: f64,
    pub(super) terminal: u32,
}

/// A system of rails as the block sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct System {
    /// Local node that stands for it.
    pub(super) anchor: u32,
    pub(super) terminal: u32,
    pub(super) live: bool,
    pub(super) earthed: bool,
    /// Potential of ground, or else of a return pole, against the anchor.
    pub(super) reference: Option<Complex64>,
    /// Root of the system among all rails.
    pub(super) root: u32,
}

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Look {
    Load { a: u32, b: u32, volts: f64 },
    Load3 { lines: [u32; 3], volts: f64 },
    Coil(usize),
    Input { a: u32, b: u32 },
    Sensor { a: u32, b: u32 },
    Signal { plus: u32, minus: u32 },
}

/// A block ready to be solved.
#[derive(Clone, Debug)]
pub(crate) struct Block {
    /// Its parts, rising.
    pub(crate) parts: Vec<usize>,
    /// Free actuators of the block, each once.
    pub(crate) actuators: Vec<Actuator>,
    /// Coil parts of earlier blocks that move contacts here.
    pub(crate) before: Vec<usize>,
    /// Coil parts of this block.
    pub(crate) coil_parts: Vec<usize>,
    /// Part of each thing looked at.
    pub(crate) watched: Vec<usize>,
    /// Rated volt-amperes of loads and coils on each node of the whole network that the block touches.
    pub(crate) nodes: Vec<u32>,
    pub(crate) load_va: f64,
    pub(super) template: Potentials,
    pub(super) systems: Vec<System>,
    pub(super) switches: Vec<Switch>,
    pub(super) branches: Vec<Branch>,
    pub(super) elements: Vec<(u32, u32, u8)>,
    pub(super) outs: Vec<(u32, u32, u8)>,
    pub(super) supplies: Vec<Supply>,
    pub(super) coils: Vec<CoilAt>,
    pub(super) looks: Vec<Look>,
    pub(super) feedback: bool,
}

/// What a block shows.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Solved {
    pub(crate) seen: Vec<Seen>,
    pub(crate) coils: Vec<bool>,
    pub(crate) troubles: Vec<Trouble>,
}

/// Scratch memory, shared by all blocks of a solver.
#[derive(Clone, Debug, Default)]
pub(crate) struct Scratch {
    pub(super) pot: Potentials,
    /// Root of the conductive piece of each group.
    pub(super) piece: Vec<u32>,
    pub(super) x: Vec<Complex64>,
    pub(super) place: Vec<Option<usize>>,
    pub(super) linear: Linear,
    pub(super) coils: Vec<bool>,
    pub(super) emf: Vec<Complex64>,
    pub(super) shorts: Vec<Trouble>,
}

/// Where a node stands: which piece, and at what potential in it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stand {
    pub(crate) piece: u32,
    pub(crate) volts: Complex64,
}

/// Conductance of a load. A rating of 0 VA counts as 1 mVA, so that the load still sees its volts.
fn conductance(va: f64, volts: f64) -> f64 {
    va.max(1e-3) / (volts * volts)
}

/// Test value of a temperature element, ohm.
pub(crate) fn test_ohm(sensor: u8) -> f64 {
    1000.0 * 1.0837_f64.powi(i32::from(sensor))
}

pub(super) struct Local {
    map: HashMap<u32, u32>,
    nodes: Vec<u32>,
    terminal: Vec<u32>,
}

impl Local {
    fn at(&mut self, joined: &Joined, terminal: u32) -> u32 {
        let global = joined.node[terminal as usize];
        let next = self.nodes.len() as u32;
        let (nodes, terms) = (&mut self.nodes, &mut self.terminal);
        *self.map.entry(global).or_insert_with(|| {
            nodes.push(global);
            terms.push(terminal);
            next
        })
    }
}

impl Block {
    /// Compiles the parts of a block.
    pub(crate) fn compile(
        net: &Network,
        joined: &Joined,
        coils: &HashMap<(crate::device::DeviceId, u8), usize>,
        parts: &BlockParts,
    ) -> Self {
        let mut local = Local { map: HashMap::new(), nodes: Vec::new(), terminal: Vec::new() };
        let mut out = Self {
            parts: parts.parts.clone(),
            actuators: Vec::new(),
            before: parts.before.clone(),
            coil_parts: parts
                .parts
                .iter()
                .copied()
                .filter(|p| matches!(net.parts[*p].part, Part::Coil { .. }))
                .collect(),
            watched: Vec::new(),
            nodes: Vec::new(),
            load_va: 0.0,
            template: Potentials::default(),
            systems: Vec::new(),
            switches: Vec::new(),
            branches: Vec::new(),
            elements: Vec::new(),
            outs: Vec::new(),
            supplies: Vec::new(),
            coils: Vec::new(),
            looks: Vec::new(),
            feedback: false,
        };
        for &i in &parts.parts {
            let p = &net.parts[i];
            let mut at = |t: T| local.at(joined, p.at(t));
            match p.part {
                Part::Contact { a, b, rest, by } => {
                    let terminals = (p.at(a), p.at(b));
                    let (a, b) = (at(a), at(b));
                    let by = match by {
                        Actuator::Coil(number) => {
                            let coil = coils.get(&(p.device, number)).copied().unwrap_or(usize::MAX);
                            match out.coil_parts.binary_search(&coil) {
                                Ok(k) => {
                                    out.feedback = true;
                                    By::Coil(k)
                                }
                                Err(_) => By::Before(out.before.binary_search(&coil).unwrap_or(usize::MAX)),
                            }
                        }
                        free => By::Actuator(out.actuators.iter().position(|x| *x == free).unwrap_or_else(|| {
                            out.actuators.push(free);
                            out.actuators.len() - 1
                        })),
                    };
                    out.switches.push(Switch { a, b, closed_at_rest: rest == Rest::Closed, by, terminals });
                }
                Part::Load { a, b, volts, va, .. } => {
                    let (a, b) = (at(a), at(b));
                    out.load_va += va;
                    out.branches.push(Branch { a, b, y: conductance(va, volts) });
                    out.look(i, Look::Load { a, b, volts });
                }
                Part::Load3 { lines, volts, va, .. } => {
                    let lines = lines.map(&mut at);
                    out.load_va += va;
                    for (j, k) in [(0, 1), (1, 2), (2, 0)] {
                        out.branches.push(Branch { a: lines[j], b: lines[k], y: conductance(va, volts) / 3.0 });
                    }
                    out.look(i, Look::Load3 { lines, volts });
                }
                Part::Coil { a, b, volts, va, .. } => {
                    let terminal = p.at(a);
                    let (a, b) = (at(a), at(b));
                    out.load_va += va;
                    out.branches.push(Branch { a, b, y: conductance(va, volts) });
                    out.look(i, Look::Coil(out.coils.len()));
                    out.coils.push(CoilAt { a, b, volts, terminal });
                }
                Part::Source { hot, ret, volts, angle_deg, ohm } => {
                    let (a, b) = (at(hot), at(ret));
                    out.supplies.push(Supply {
                        a,
                        b,
                        y: 1.0 / ohm,
                        idle: 1.0 / ohm,
                        emf: Emf::Fixed(phasor(volts, angle_deg)),
                        terminals: (p.at(hot), p.at(ret)),
                    });
                }
                Part::Transformer { primary, secondary, primary_volts, secondary_volts, ohm, va } => {
                    let [pa, pb] = primary.map(&mut at);
                    let terminals = (p.at(secondary[0]), p.at(secondary[1]));
                    let [a, b] = secondary.map(&mut at);
                    out.branches.push(Branch { a: pa, b: pb, y: conductance(va, primary_volts) });
                    // A winding without load passes a small share of its rating as magnetising current (our choice: 2 %).
                    let idle = 0.02 * va / (secondary_volts * secondary_volts);
                    let emf =
                        Emf::Follows { a: pa, b: pb, ratio: secondary_volts / primary_volts, rated: primary_volts };
                    out.supplies.push(Supply { a, b, y: 1.0 / ohm, idle, emf, terminals });
                    out.look(i, Look::Load { a: pa, b: pb, volts: primary_volts });
                }
                Part::Input { a, b, .. } => {
                    let (a, b) = (at(a), at(b));
                    out.look(i, Look::Input { a, b });
                }
                Part::Element { a, b, sensor } => {
                    let (a, b) = (at(a), at(b));
                    out.branches.push(Branch { a, b, y: 1.0 / test_ohm(sensor.0) });
                    out.elements.push((a, b, sensor.0));
                }
                Part::SensorInput { a, b, .. } => {
                    let (a, b) = (at(a), at(b));
                    out.look(i, Look::Sensor { a, b });
                }
                Part::SignalOut { plus, minus, analog } => {
                    let (a, b) = (at(plus), at(minus));
                    out.outs.push((a, b, analog.0));
                }
                Part::SignalIn { plus, minus, .. } => {
                    let (plus, minus) = (at(plus), at(minus));
                    out.look(i, Look::Signal { plus, minus });
                }
                Part::Bond(..) | Part::Chassis(_) | Part::Earth(_) => {}
            }
        }
        out.rails(joined, &local);
        out.nodes = local.nodes;
        out
    }

    /// True when both say the same: local numbers follow the order of the parts, so equal blocks compile alike.
    pub(crate) fn same_equations(&self, other: &Self) -> bool {
        let systems =
            |b: &Self| -> Vec<_> { b.systems.iter().map(|s| (s.anchor, s.live, s.earthed, s.reference)).collect() };
        self.parts == other.parts
            && self.before == other.before
            && self.template == other.template
            && systems(self) == systems(other)
            && self.switches == other.switches
            && self.branches == other.branches
            && self.elements == other.elements
            && self.outs == other.outs
            && self.supplies == other.supplies
            && self.coils == other.coils
            && self.looks == other.looks
    }

    fn look(&mut self, part: usize, look: Look) {
        self.watched.push(part);
        self.looks.push(look);
    }

    /// Rails of one system are joined for good, with their known offsets.
    fn rails(&mut self, joined: &Joined, local: &Local) {
        self.template = Potentials::new(local.nodes.len());
        for (i, global) in local.nodes.iter().enumerate().filter(|(_, g)| joined.is_rail[**g as usize]) {
            let (root, v) = joined.rails.find(*global);
            let known = self.systems.iter().find(|s| s.root == root).copied();
            match known {
                Some(s) => {
                    let (_, anchor) = joined.rails.find(local.nodes[s.anchor as usize]);
                    // Rails agree with each other, so this cannot contradict.
                    let _ = self.template.join(i as u32, s.anchor, v - anchor);
                }
                None => {
                    let offset = |node: u32| {
                        let (r, w) = joined.rails.find(node);
                        (r == root).then_some(w - v)
                    };
                    let earth = joined.earth.and_then(offset);
                    self.systems.push(System {
                        anchor: i as u32,
                        terminal: local.terminal[i],
                        live: joined.live[root as usize],
                        earthed: earth.is_some(),
                        reference: earth.or_else(|| joined.ret[root as usize].and_then(offset)),
                        root,
                    });
                }
            }
        }
        // Ground first, then live systems: the first of a piece is its reference.
        self.systems.sort_by_key(|s| (!s.earthed, !s.live, s.anchor));
    }
}

pub(super) fn stand(node: u32, s: &Scratch) -> Stand {
    let (root, offset) = s.pot.find(node);
    Stand { piece: s.piece[root as usize], volts: s.x[root as usize] + offset }
}

/// Volts from `b` to `a`; `None` where nothing relates the two.
pub(super) fn difference(a: Stand, b: Stand) -> Option<Complex64> {
    (a.piece == b.piece).then(|| a.volts - b.volts)
}
