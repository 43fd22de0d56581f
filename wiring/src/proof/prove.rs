//! Runs the proof over blocks, given positions and limit pairs.
//!
//! Each block is looked at in every position of the actuators that can influence it *or* that its expectation depends on, so
//! that a safety which is missing from the wires is missed too: one by one while they are few, else by cases that stand for all of them
//! (`cases`).

use super::{
    cases::Cases,
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
    /// A block with at most this many positions is looked at in each of them.
    pub listed_max: u64,
    /// One with more, where its cases are too many: in all of them up to this number. Planted faults are judged by it alone.
    pub states_max: u64,
    /// Samples of a block with more.
    pub samples: u64,
    /// Seed of the samples.
    pub seed: u64,
}

impl Default for Limits {
    /// Each position up to 2^8, beyond that by cases; where these do not do, all positions up to 2^14 and 4096 samples beyond.
    fn default() -> Self {
        Self { listed_max: 1 << 8, states_max: 1 << 14, samples: 4096, seed: 2 }
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
    /// Positions that it was proved in.
    pub states: u64,
    /// Of these, how many were solved: fewer where one stands for all of its case.
    pub solved: u64,
    /// True when these are all positions.
    pub exhaustive: bool,
}

/// The result.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proof {
    /// Every block.
    pub blocks: Vec<BlockProof>,
    /// Positions proved, all blocks together.
    pub states: u64,
    /// Of these, how many were solved.
    pub solved: u64,
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
    fn wrong(&mut self, w: usize, watch: Watch, want: &Want, seen: Seen, position: &ActuatorSet, n: u64) {
        let next = self.faults.len();
        let at = *self.wrong.entry((w, seen)).or_insert(next);
        if at == next {
            self.faults.push(Fault::Wrong { watch, want: want.clone(), seen, position: *position, count: 0 });
        }
        if let Fault::Wrong { count, .. } = &mut self.faults[at] {
            *count = count.saturating_add(n);
        }
    }

    fn trouble(&mut self, t: Trouble, position: &ActuatorSet, n: u64) {
        let next = self.faults.len();
        let at = *self.trouble.entry(t).or_insert(next);
        if at == next {
            self.faults.push(Fault::Trouble { trouble: t, position: *position, count: 0 });
        }
        if let Fault::Trouble { count, .. } = &mut self.faults[at] {
            *count = count.saturating_add(n);
        }
    }
}

/// (a): every block in its positions.
pub fn prove(net: &Network, expectation: &Expectation<'_>, limits: Limits) -> Proof {
    let solver = Solver::new(net, &Changes::default());
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
            found.wrong(w, watches[w], &wants[w], solver.at(w), &rest, 1);
        }
    }
    for t in solver.fixed_troubles().to_vec() {
        found.trouble(t, &rest, 1);
    }
    let mut proof = Proof::default();
    let mut run = Run { solver, watches, wants, found, cases: None };
    for block in 0..run.solver.block_count() {
        let done = run.block(block, limits);
        proof.states = proof.states.saturating_add(done.states);
        proof.solved += done.solved;
        proof.blocks.push(done);
    }
    proof.faults = run.found.faults;
    proof
}

/// A proof under way.
struct Run {
    solver: Solver,
    watches: Vec<Watch>,
    wants: Vec<Want>,
    found: Found,
    /// Made with the first block that needs it; `None` inside where there is nothing to make it of.
    cases: Option<Option<Cases>>,
}

impl Run {
    fn block(&mut self, block: usize, limits: Limits) -> BlockProof {
        let mine = self.solver.watches_of(block).to_vec();
        let mut actuators = self.solver.actuators_of(block);
        actuators.extend(mine.iter().flat_map(|w| self.wants[*w].support()));
        actuators.sort_unstable();
        actuators.dedup();
        let positions = Positions::new(&actuators, limits.states_max, limits.samples, limits.seed);
        let few = positions.count().is_some_and(|n| n <= limits.listed_max);
        let (states, solved, exhaustive) = match (!few).then(|| self.by_cases(block, &mine, &actuators)).flatten() {
            Some(done) => done,
            None => self.one_by_one(block, &mine, &positions),
        };
        let watches = mine.iter().map(|w| self.watches[*w]).collect();
        BlockProof { watches, actuators, states, solved, exhaustive }
    }

    /// In each position of the list: positions proved and solved, and whether they are all.
    fn one_by_one(&mut self, block: usize, mine: &[usize], positions: &Positions) -> (u64, u64, bool) {
        let Self { solver, watches, wants, found, .. } = self;
        let mut bad = 0;
        let states = positions.each(|set| {
            solver.solve_cone(block, set);
            let mut good = true;
            for &w in mine {
                if !wants[w].met(solver.at(w), set) {
                    found.wrong(w, watches[w], &wants[w], solver.at(w), set, 1);
                    good = false;
                }
            }
            for t in solver.troubles_of(block) {
                found.trouble(*t, set, 1);
                good = false;
            }
            bad += u32::from(!good);
            bad < BAD_MAX
        });
        (states, states, positions.exhaustive() && bad < BAD_MAX)
    }

    /// The same by the cases of the block; `None` where they are too many, with nothing found.
    fn by_cases(&mut self, block: usize, mine: &[usize], actuators: &[Actuator]) -> Option<(u64, u64, bool)> {
        let Self { solver, watches, wants, found, cases } = self;
        let expected = || wants.iter().flat_map(Want::support).collect::<Vec<_>>();
        let cases = cases.get_or_insert_with(|| Cases::new(solver, &expected())).as_mut()?;
        let list = cases.of(solver, block, actuators)?;
        let rules: Vec<_> = mine.iter().map(|w| cases.wanted(&wants[*w])).collect::<Option<_>>()?;
        // Nothing is told before the last set was small enough.
        let (mut states, mut solved, mut bad) = (0_u64, 0, 0);
        let (mut wrong, mut troubles) = (Vec::new(), Vec::new());
        for case in &list {
            if bad >= BAD_MAX {
                break;
            }
            solver.solve_cone(block, &case.position);
            let n = cases.count(&case.holds, actuators.len());
            let told = wrong.len() + troubles.len();
            for (&w, rule) in mine.iter().zip(&rules) {
                let set = cases.wrong(&wants[w], rule.as_ref(), solver.at(w), case)?;
                if let Some(position) = cases.one(&set) {
                    wrong.push((w, solver.at(w), position, cases.count(&set, actuators.len())));
                }
            }
            troubles.extend(solver.troubles_of(block).iter().map(|t| (*t, case.position, n)));
            states = states.saturating_add(n);
            solved += 1;
            bad += u32::from(wrong.len() + troubles.len() > told);
        }
        for (w, seen, position, n) in wrong {
            found.wrong(w, watches[w], &wants[w], seen, &position, n);
        }
        troubles.into_iter().for_each(|(t, position, n)| found.trouble(t, &position, n));
        Some((states, solved, bad < BAD_MAX))
    }
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
                found.wrong(w, watches[w], &wants[w], *seen, set, 1);
            }
        }
        for t in &o.troubles {
            found.trouble(*t, set, 1);
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
