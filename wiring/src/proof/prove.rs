//! Runs the proof over blocks, given positions and limit pairs.
//!
//! Each block is looked at in every position of the actuators that can influence it *or* that its expectation depends on, so
//! that a safety which is missing from the wires is missed too.

use super::{
    expect::{Expectation, Want},
    positions::Positions,
};
use crate::{
    net::{ActuatorSet, Changes, Network, Seen, Solver, Trouble, Watch, What},
    part::{Actuator, LoadUse, Part},
};
use heatwright_core::{BoilerId, SafetyId};
use std::collections::HashMap;

/// A block that was wrong in so many positions is not looked at further (our choice): nothing more is learnt, and a plan whose
/// supply is cut off falls into one block that is slow to solve.
const BAD_MAX: u32 = 256;

/// How much is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// A block with at most this many positions is looked at in all of them.
    pub states_max: u64,
    /// Samples of a block with more.
    pub samples: u64,
    /// Seed of the samples.
    pub seed: u64,
}

impl Default for Limits {
    /// All positions up to 2^14; 4096 samples beyond.
    fn default() -> Self {
        Self { states_max: 1 << 14, samples: 4096, seed: 2 }
    }
}

/// Something that is not as it must be.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// The plan has nothing that should be looked at.
    Missing(What),
    /// A watch shows something else than it must.
    Wrong {
        /// Where.
        watch: Watch,
        /// What must be seen.
        want: Want,
        /// What is seen.
        seen: Seen,
        /// The first position in which it is.
        position: ActuatorSet,
        /// Number of positions in which it is.
        count: u64,
    },
    /// Something that is wrong in itself.
    Trouble {
        /// What.
        trouble: Trouble,
        /// The first position in which it is.
        position: ActuatorSet,
        /// Number of positions in which it is.
        count: u64,
    },
    /// A burner has power although a safety of its limit pair is open.
    Burns {
        /// The boiler.
        boiler: BoilerId,
        /// The open safety.
        safety: SafetyId,
        /// The first position in which it is.
        position: ActuatorSet,
    },
}

/// How one block was looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct BlockProof {
    /// What is looked at in it.
    pub watches: Vec<Watch>,
    /// Everything that can influence it or that its expectation depends on.
    pub actuators: Vec<Actuator>,
    /// Positions taken.
    pub states: u64,
    /// True when these are all.
    pub exhaustive: bool,
}

/// The result.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proof {
    /// Every block.
    pub blocks: Vec<BlockProof>,
    /// Positions taken, all blocks together.
    pub states: u64,
    /// Everything that is not as it must be; empty for a proved plan.
    pub faults: Vec<Fault>,
}

#[derive(Default)]
struct Found {
    wrong: HashMap<(usize, Seen), usize>,
    trouble: HashMap<Trouble, usize>,
    faults: Vec<Fault>,
}

impl Found {
    fn wrong(&mut self, w: usize, watch: Watch, want: &Want, seen: Seen, position: &ActuatorSet) {
        let next = self.faults.len();
        let at = *self.wrong.entry((w, seen)).or_insert(next);
        if at == next {
            self.faults.push(Fault::Wrong { watch, want: want.clone(), seen, position: *position, count: 0 });
        }
        if let Fault::Wrong { count, .. } = &mut self.faults[at] {
            *count += 1;
        }
    }

    fn trouble(&mut self, t: Trouble, position: &ActuatorSet) {
        let next = self.faults.len();
        let at = *self.trouble.entry(t).or_insert(next);
        if at == next {
            self.faults.push(Fault::Trouble { trouble: t, position: *position, count: 0 });
        }
        if let Fault::Trouble { count, .. } = &mut self.faults[at] {
            *count += 1;
        }
    }
}

/// (a): every block in its positions.
pub fn prove(net: &Network, expectation: &Expectation<'_>, limits: Limits) -> Proof {
    let mut solver = Solver::new(net, &Changes::default());
    let watches = solver.watches().to_vec();
    let wants: Vec<Want> = watches.iter().map(|w| expectation.of(w)).collect();
    let mut found = Found::default();
    for what in expectation.wanted() {
        if !watches.iter().any(|w| w.what == what) {
            found.faults.push(Fault::Missing(what));
        }
    }
    let rest = ActuatorSet::default();
    for w in solver.fixed_watches() {
        if !wants[w].met(solver.at(w), &rest) {
            found.wrong(w, watches[w], &wants[w], solver.at(w), &rest);
        }
    }
    for t in solver.fixed_troubles().to_vec() {
        found.trouble(t, &rest);
    }
    let mut proof = Proof::default();
    for block in 0..solver.block_count() {
        let mine = solver.watches_of(block).to_vec();
        let mut actuators = solver.actuators_of(block);
        actuators.extend(mine.iter().flat_map(|w| wants[*w].support()));
        actuators.sort_unstable();
        actuators.dedup();
        let positions = Positions::new(&actuators, limits.states_max, limits.samples, limits.seed);
        let mut bad = 0;
        let states = positions.each(|set| {
            solver.solve_cone(block, set);
            let mut good = true;
            for w in &mine {
                if !wants[*w].met(solver.at(*w), set) {
                    found.wrong(*w, watches[*w], &wants[*w], solver.at(*w), set);
                    good = false;
                }
            }
            for t in solver.troubles_of(block) {
                found.trouble(*t, set);
                good = false;
            }
            bad += u32::from(!good);
            bad < BAD_MAX
        });
        proof.states += states;
        proof.blocks.push(BlockProof {
            watches: mine.iter().map(|w| watches[*w]).collect(),
            actuators,
            states,
            exhaustive: positions.exhaustive() && bad < BAD_MAX,
        });
    }
    proof.faults = found.faults;
    proof
}

/// (b): given positions of the whole plant, for example the settled outputs of each call pattern.
pub fn patterns(net: &Network, expectation: &Expectation<'_>, sets: &[ActuatorSet]) -> Vec<Fault> {
    let mut solver = Solver::new(net, &Changes::default());
    let watches = solver.watches().to_vec();
    let wants: Vec<Want> = watches.iter().map(|w| expectation.of(w)).collect();
    let mut found = Found::default();
    for set in sets {
        let o = solver.solve(set);
        for (w, seen) in o.seen.iter().enumerate() {
            if !wants[w].met(*seen, set) {
                found.wrong(w, watches[w], &wants[w], *seen, set);
            }
        }
        for t in &o.troubles {
            found.trouble(*t, set);
        }
    }
    found.faults
}

/// (c): with any one safety of a boiler's limit pair open, its burner has no power. Gives faults and positions taken.
///
/// Every free boolean of the plant that can reach the burner moves; the safety stays open. A plan in which a safety is
/// missing, bridged or wired to the wrong boiler fails here whatever the expectation of (a) says.
pub fn limit_pairs(net: &Network, expectation: &Expectation<'_>, boilers: u8, limits: Limits) -> (Vec<Fault>, u64) {
    let solver = Solver::new(net, &Changes::default());
    pairs_of(solver, expectation, (0..boilers).map(BoilerId), limits)
}

/// (c) once more with one relay's contact welded at a time: contacts that alone can keep a burner on although a safety of its limit
/// pair is open, with the first such fault of each boiler; and how many contacts were welded.
///
/// A single relay between a safety and a burner is a latent fault: nobody sees it until the safety trips and nothing happens.
pub fn single_relays(
    net: &Network,
    expectation: &Expectation<'_>,
    boilers: u8,
    limits: Limits,
) -> (Vec<(usize, Fault)>, usize) {
    let sound = Solver::new(net, &Changes::default());
    let burner = |b: BoilerId| sound.places(What::Load(LoadUse::Limit(b))).to_vec();
    let mut out = Vec::new();
    let mut welded = 0;
    for part in 0..net.part_count() {
        let Part::Contact { by: Actuator::Coil(_), .. } = net.parts[part].part else { continue };
        let near: Vec<BoilerId> =
            (0..boilers).map(BoilerId).filter(|b| burner(*b).iter().any(|w| sound.can_influence(part, *w))).collect();
        if near.is_empty() {
            continue;
        }
        welded += 1;
        let stuck = Changes { stuck: vec![(part, true)], ..Changes::default() };
        for b in near {
            let (faults, _) = pairs_of(Solver::new(net, &stuck), expectation, std::iter::once(b), limits);
            out.extend(faults.into_iter().next().map(|f| (part, f)));
        }
    }
    (out, welded)
}

fn pairs_of(
    mut solver: Solver,
    expectation: &Expectation<'_>,
    boilers: impl Iterator<Item = BoilerId>,
    limits: Limits,
) -> (Vec<Fault>, u64) {
    let watches = solver.watches().to_vec();
    let mut faults = Vec::new();
    let mut states = 0;
    for boiler in boilers {
        for block in 0..solver.block_count() {
            let mine = solver.watches_of(block).to_vec();
            let burners: Vec<usize> =
                mine.into_iter().filter(|w| watches[*w].what == What::Load(LoadUse::Limit(boiler))).collect();
            if burners.is_empty() {
                continue;
            }
            let all = solver.actuators_of(block);
            for safety in expectation.limits_of(boiler) {
                let mut support = Vec::new();
                let rule = expectation.healthy(safety);
                rule.support(&mut support);
                let others: Vec<Actuator> = all.iter().copied().filter(|a| !support.contains(a)).collect();
                let positions = Positions::new(&others, limits.states_max, limits.samples, limits.seed);
                states += positions.each(|set| {
                    let mut set = *set;
                    for a in &support {
                        set.set(*a, true);
                        if rule.holds(&set) {
                            set.set(*a, false);
                        }
                    }
                    solver.solve_cone(block, &set);
                    let burns = burners.iter().any(|w| solver.at(*w) != Seen::Dead);
                    if burns {
                        faults.push(Fault::Burns { boiler, safety, position: set });
                    }
                    !burns
                });
            }
        }
    }
    (faults, states)
}
