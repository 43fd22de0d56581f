//! Would the proof see it? Faults of wiring planted one at a time.
//!
//! Each mutant changes the network in one place and is compared, watch by watch, with the sound network over the positions
//! of the blocks that it touched: blocks that compile to the same equations are not solved again. A mutant is
//! * *caught* when some watch or trouble differs in some position;
//! * *harmless* when the partition of terminals is unchanged (a redundant jumper), or when the circuit is the same with the
//!   two ends of a contact, coil or sensor exchanged (these have no polarity) or contacts in series in another order, or a
//!   welded contact has nothing on one side;
//! * *leading nowhere* when a removed wire ends on a terminal with nothing behind it;
//! * *caught opened* when it shows only while some breaker, fuse or disconnect is open: the wrong one would be locked out;
//! * a *survivor* otherwise, with its name: either a latent fault of the plan or a watch that is missing.
//!
//! What it deliberately does not do: two faults at once; a first ground fault of a floating circuit; current that a second
//! bond of the neutral drives through ground (conductors have no resistance here).

use super::{
    observe::actuators,
    positions::{Positions, busy},
    prove::Limits,
};
use crate::{
    device::DeviceId,
    net::{ActuatorSet, Changes, Network, Observation, Seen, Solver, Trouble, Watch},
    part::{Actuator, Part},
};

/// A planted fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Mutant {
    /// A wire is left out (row).
    Removed(usize),
    /// Two wires of one run are exchanged where both land on one device: rows and the end (0 from, 1 to) of each.
    Swapped([usize; 2], [usize; 2]),
    /// Two wires of one run touch.
    Shorted(usize, usize),
    /// A wire touches ground.
    Grounded(usize),
    /// A contact does not open any more (part).
    Welded(usize),
}

/// What became of a mutant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// A watch differs in some position.
    Seen {
        /// Which.
        watch: Watch,
        /// What it shows.
        seen: Seen,
        /// What it shows in the sound network.
        sound: Seen,
        /// The position.
        position: ActuatorSet,
    },
    /// A watch differs while one breaker, fuse or disconnect is open: the fault shows when somebody locks out.
    SeenOpened {
        /// The device that is open.
        device: DeviceId,
        /// Its breaker, by first space; `None` for a fuse or disconnect.
        breaker: Option<u8>,
        /// Which.
        watch: Watch,
        /// What it shows.
        seen: Seen,
        /// What it shows in the sound network.
        sound: Seen,
    },
    /// Something wrong in itself.
    Trouble {
        /// What.
        trouble: Trouble,
        /// The position.
        position: ActuatorSet,
    },
    /// Harmless: the same terminals are joined.
    SamePartition,
    /// Harmless: the same circuit, ends without polarity exchanged.
    SameCircuit,
    /// The wire ends on a terminal with nothing behind it.
    LeadsNowhere,
    /// Nobody sees it.
    Survived {
        /// Positions taken.
        states: u64,
        /// True when these are all.
        exhaustive: bool,
    },
}

impl Verdict {
    /// True for a mutant that some watch or trouble shows.
    pub fn caught(&self) -> bool {
        matches!(self, Verdict::Seen { .. } | Verdict::SeenOpened { .. } | Verdict::Trouble { .. })
    }

    /// True for a mutant that changes nothing.
    pub fn harmless(&self) -> bool {
        matches!(self, Verdict::SamePartition | Verdict::SameCircuit)
    }
}

/// Kinds of mutants.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum MutantKind {
    /// Every wire left out once.
    Removed,
    /// Every two wires of one run exchanged at a device where both land.
    Swapped,
    /// Every two wires of one run touching.
    Shorted,
    /// Every wire touching ground.
    Grounded,
    /// Every contact welded closed.
    Welded,
}

/// Score of one kind.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Score {
    /// Mutants tried.
    pub total: usize,
    /// Caught.
    pub caught: usize,
    /// Of these, seen only while some breaker, fuse or disconnect is open.
    pub caught_opened: usize,
    /// Harmless: the plan does without these.
    pub harmless: Vec<Mutant>,
    /// Wires that lead nowhere.
    pub nowhere: Vec<Mutant>,
    /// Seen by nobody, with the verdict.
    pub survivors: Vec<(Mutant, Verdict)>,
}

/// All mutants of a kind.
pub fn mutants(net: &Network, kind: MutantKind) -> Vec<Mutant> {
    let rows = 0..net.wire_count();
    match kind {
        MutantKind::Removed => rows.map(Mutant::Removed).collect(),
        MutantKind::Grounded => rows.filter(|r| !net.wires[*r].shield).map(Mutant::Grounded).collect(),
        MutantKind::Shorted => pairs(net).map(|(a, b)| Mutant::Shorted(a, b)).collect(),
        MutantKind::Swapped => pairs(net).filter_map(|(a, b)| swap(net, a, b)).collect(),
        MutantKind::Welded => (0..net.part_count())
            .filter(|p| matches!(net.parts[*p].part, Part::Contact { by, .. } if !matches!(by, Actuator::Opened | Actuator::Breaker(_) | Actuator::GroundFault)))
            .map(Mutant::Welded)
            .collect(),
    }
}

fn pairs(net: &Network) -> impl Iterator<Item = (usize, usize)> + '_ {
    let n = net.wire_count();
    (0..n).flat_map(move |a| (a + 1..n).map(move |b| (a, b))).filter(|(a, b)| {
        !net.runs[*a].is_empty() && net.runs[*a] == net.runs[*b] && !net.wires[*a].shield && !net.wires[*b].shield
    })
}

/// The first end at which both wires land on one device, the far end preferred.
fn swap(net: &Network, a: usize, b: usize) -> Option<Mutant> {
    let device = |row: usize, end: usize| net.device_of[net.wires[row].ends[end] as usize];
    [(1, 1), (0, 0), (1, 0), (0, 1)]
        .into_iter()
        .find(|(i, j)| device(a, *i) == device(b, *j))
        .map(|(i, j)| Mutant::Swapped([a, b], [i, j]))
}

/// The network with a mutant planted.
pub fn changes(net: &Network, m: Mutant) -> Changes {
    let mut c = Changes::default();
    match m {
        Mutant::Removed(row) => c.without.push(row),
        Mutant::Swapped([a, b], [i, j]) => {
            c.landed.push((a, i, net.wires[b].ends[j]));
            c.landed.push((b, j, net.wires[a].ends[i]));
        }
        Mutant::Shorted(a, b) => c.joined.push((net.wires[a].ends[0], net.wires[b].ends[0])),
        Mutant::Grounded(row) => c.joined.extend(net.earths().next().map(|e| (net.wires[row].ends[0], e))),
        Mutant::Welded(part) => c.stuck.push((part, true)),
    }
    c
}

/// Plants every mutant of a kind and keeps the score.
pub fn mutate(net: &Network, kind: MutantKind, limits: Limits) -> Score {
    let mut bench = Bench::new(net, limits);
    let mut score = Score::default();
    for m in mutants(net, kind) {
        let verdict = bench.judge(m);
        score.total += 1;
        if verdict.caught() {
            score.caught += 1;
            score.caught_opened += usize::from(matches!(verdict, Verdict::SeenOpened { .. }));
        } else if verdict.harmless() {
            score.harmless.push(m);
        } else if verdict == Verdict::LeadsNowhere {
            score.nowhere.push(m);
        } else {
            score.survivors.push((m, verdict));
        }
    }
    score
}

/// A sound network beside which mutants are judged.
pub struct Bench<'a> {
    net: &'a Network,
    limits: Limits,
    sound: Solver,
    /// Block of each watch in the sound network.
    block_of: Vec<Option<usize>>,
    circuit: Vec<Vec<(u32, u8)>>,
    /// The sound network with each device opened once, everything called for: made when first needed.
    opened: Vec<(Opening, Observation)>,
    busy: ActuatorSet,
}

/// A breaker, or a fuse or disconnect.
type Opening = (DeviceId, Option<u8>);

/// Everything that somebody can open.
fn openings(net: &Network) -> Vec<Opening> {
    let mut out: Vec<Opening> = net
        .parts
        .iter()
        .filter_map(|p| match p.part {
            Part::Contact { by: Actuator::Opened | Actuator::GroundFault, .. } => Some((p.device, None)),
            Part::Contact { by: Actuator::Breaker(space), .. } => Some((p.device, Some(space))),
            _ => None,
        })
        .collect();
    out.sort_unstable();
    out.dedup();
    out
}

fn with_opened(mut changes: Changes, (device, breaker): Opening) -> Changes {
    match breaker {
        Some(space) => changes.breakers.push((device, space)),
        None => changes.opened.push(device),
    }
    changes
}

impl<'a> Bench<'a> {
    /// From the plan's network.
    pub fn new(net: &'a Network, limits: Limits) -> Self {
        let sound = Solver::new(net, &Changes::default());
        let mut block_of = vec![None; sound.watches().len()];
        for b in 0..sound.block_count() {
            for w in sound.watches_of(b) {
                block_of[*w] = Some(b);
            }
        }
        let circuit = sound.circuit(net, None);
        let busy = busy(&actuators(net));
        Self { net, limits, sound, block_of, circuit, opened: Vec::new(), busy }
    }

    /// What becomes of one mutant.
    pub fn judge(&mut self, m: Mutant) -> Verdict {
        let mut mutant = Solver::new(self.net, &changes(self.net, m));
        let moved = matches!(m, Mutant::Welded(_));
        if !moved && mutant.same_partition(&self.sound) {
            return Verdict::SamePartition;
        }
        let rest = ActuatorSet::default();
        if let Some(t) = mutant.fixed_troubles().iter().find(|t| !self.sound.fixed_troubles().contains(t)) {
            return Verdict::Trouble { trouble: *t, position: rest };
        }
        for w in mutant.fixed_watches() {
            if mutant.at(w) != self.sound.at(w) && self.block_of[w].is_none() {
                return self.seen(&mutant, w, &rest);
            }
        }
        let changed: Vec<usize> = (0..mutant.block_count()).filter(|b| !self.sound.has_block(&mutant, *b)).collect();
        // Most faults show in the first few positions of some block, so these are looked at everywhere first.
        let mut states = 0;
        let mut exhaustive = true;
        for thorough in [false, true] {
            for &block in &changed {
                let (taken, all, verdict) = self.compare(&mut mutant, block, thorough);
                states += taken;
                exhaustive &= all;
                if let Some(v) = verdict {
                    return v;
                }
            }
        }
        if let Mutant::Welded(part) = m {
            // A contact with nothing on one side.
            if mutant.circuit(self.net, Some(part)) == self.sound.circuit(self.net, Some(part)) {
                return Verdict::SameCircuit;
            }
        } else if mutant.circuit(self.net, None) == self.circuit {
            return if matches!(m, Mutant::Removed(_)) { Verdict::LeadsNowhere } else { Verdict::SameCircuit };
        }
        // A ground fault of a floating circuit shows no more with something open than without.
        if !matches!(m, Mutant::Grounded(_))
            && let Some(v) = self.opened(m)
        {
            return v;
        }
        Verdict::Survived { states, exhaustive }
    }

    /// Opens each breaker, fuse and disconnect once, everything called for.
    fn opened(&mut self, m: Mutant) -> Option<Verdict> {
        if self.opened.is_empty() {
            for o in openings(self.net) {
                let mut s = Solver::new(self.net, &with_opened(Changes::default(), o));
                self.opened.push((o, s.solve(&self.busy).clone()));
            }
        }
        for (o, sound) in &self.opened {
            let mut s = Solver::new(self.net, &with_opened(changes(self.net, m), *o));
            let with = s.solve(&self.busy);
            if let Some(w) = (0..sound.seen.len()).find(|w| with.seen[*w] != sound.seen[*w]) {
                let (seen, sound) = (with.seen[w], sound.seen[w]);
                return Some(Verdict::SeenOpened {
                    device: o.0,
                    breaker: o.1,
                    watch: self.sound.watches()[w],
                    seen,
                    sound,
                });
            }
        }
        None
    }

    fn seen(&self, mutant: &Solver, w: usize, position: &ActuatorSet) -> Verdict {
        Verdict::Seen {
            watch: self.sound.watches()[w],
            seen: mutant.at(w),
            sound: self.sound.at(w),
            position: *position,
        }
    }

    fn compare(&mut self, mutant: &mut Solver, block: usize, thorough: bool) -> (u64, bool, Option<Verdict>) {
        let watches = mutant.watches_of(block).to_vec();
        let mut actuators = mutant.actuators_of(block);
        let mut owners: Vec<usize> = watches.iter().filter_map(|w| self.block_of[*w]).collect();
        owners.sort_unstable();
        owners.dedup();
        for o in &owners {
            actuators.extend(self.sound.actuators_of(*o));
        }
        let Limits { states_max, samples, seed } = self.limits;
        let positions = Positions::new(&actuators, states_max, samples, seed);
        let mut verdict = None;
        let mut look = |set: &ActuatorSet| {
            mutant.solve_cone(block, set);
            for o in &owners {
                self.sound.solve_cone(*o, set);
            }
            for w in &watches {
                if mutant.at(*w) != self.sound.at(*w) {
                    verdict = Some(self.seen(mutant, *w, set));
                    return false;
                }
            }
            let sound = |t: &&Trouble| !owners.iter().any(|o| self.sound.troubles_of(*o).contains(t));
            if let Some(t) = mutant.troubles_of(block).iter().find(sound) {
                verdict = Some(Verdict::Trouble { trouble: *t, position: *set });
                return false;
            }
            true
        };
        let taken = if thorough {
            positions.each(look)
        } else {
            let mut n = 0;
            positions.each_single(|set| {
                n += 1;
                look(set)
            });
            n
        };
        (taken, positions.exhaustive(), verdict)
    }
}
