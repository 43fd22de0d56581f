//! How a planted fault is judged: beside the sound network, watch by watch.
//!
//! A mutant is compared over the positions of the blocks that it touched; blocks that compile to the same equations are not
//! solved again. It is
//! * *caught* when some watch or trouble differs in some position; a short counts as seen because the overcurrent device
//!   opens;
//! * *caught opened* when it shows only while some breaker, fuse or disconnect is open: the wrong one would be locked out;
//! * *caught with the power off* when only an ohmmeter shows it (`net::off`): a latent fault that a twin in series covers, the
//!   first ground fault of a circuit that floats, a neutral that is grounded twice;
//! * *harmless* when the partition of terminals is unchanged in every position (a redundant jumper), or when the circuit is the
//!   same with the two ends of a contact, coil, sensor, of a load between two ungrounded conductors or of a floating secondary
//!   exchanged (these have no polarity) or contacts in series or parallel in another order (poles of one switch in a row as one, where
//!   nothing else tells the two apart), or a stuck contact has nothing on one
//!   side;
//! * *leading nowhere* when a removed wire ends on a terminal with nothing behind it;
//! * a *survivor* otherwise, with its name: either a latent fault of the plan or a watch that is missing.

use super::{
    mutate::{Mutant, changes},
    observe::actuators,
    positions::{Positions, busy},
    prove::Limits,
};
use crate::{
    device::DeviceId,
    net::{ActuatorSet, Changes, Network, Observation, Seen, Solver, Trouble, Watch, What},
    part::{Actuator, Part},
};
use std::{
    borrow::Cow,
    sync::{Arc, OnceLock},
};

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
    /// An ohmmeter shows it with the power off, and nothing else does.
    SeenOff {
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
        matches!(
            self,
            Verdict::Seen { .. } | Verdict::SeenOpened { .. } | Verdict::SeenOff { .. } | Verdict::Trouble { .. }
        )
    }

    /// True for a mutant that changes nothing.
    pub fn harmless(&self) -> bool {
        matches!(self, Verdict::SamePartition | Verdict::SameCircuit)
    }
}

/// A sound network beside which mutants are judged.
#[derive(Clone)]
pub struct Bench<'a> {
    net: &'a Network,
    limits: Limits,
    sound: Solver,
    /// What never changes, shared by all copies.
    shared: Arc<Shared>,
}

struct Shared {
    /// Block of each watch in the sound network.
    block_of: Vec<Option<usize>>,
    circuit: Vec<Vec<(u64, u8)>>,
    /// The sound network with each device opened once, in each of `looked`: made when first needed.
    opened: OnceLock<Vec<(Opening, Vec<Observation>)>>,
    /// Everything called for, and everything at rest; where the tank's call stops something, also everything but that call.
    looked: Vec<ActuatorSet>,
}

/// A breaker, or a fuse or disconnect.
type Opening = (DeviceId, Option<u8>);

/// What opens a contact by hand, if something does.
fn opening(device: DeviceId, by: Actuator) -> Option<Opening> {
    match by {
        Actuator::Opened | Actuator::GroundFault => Some((device, None)),
        Actuator::Breaker(space) => Some((device, Some(space))),
        _ => None,
    }
}

/// Everything that somebody can open.
fn openings(net: &Network) -> Vec<Opening> {
    let mut out: Vec<Opening> = net
        .parts
        .iter()
        .filter_map(|p| if let Part::Contact { by, .. } = p.part { opening(p.device, by) } else { None })
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

/// True when a load is dead in the first position and live in the second.
fn stops_something(s: &mut Solver, all: &ActuatorSet, spared: &ActuatorSet) -> bool {
    let first = s.solve(all).clone();
    let load: Vec<bool> = s.watches().iter().map(|w| matches!(w.what, What::Load(_))).collect();
    let second = s.solve(spared);
    load.iter().zip(first.seen.iter().zip(&second.seen)).any(|(l, (a, b))| *l && *a == Seen::Dead && *b == Seen::Live)
}

fn power_off(w: &Watch) -> bool {
    matches!(w.what, What::Continuity | What::Insulation)
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
        let mut sound = sound;
        let acting = actuators(net);
        let all = busy(&acting);
        let mut looked = vec![all, ActuatorSet::default()];
        let spared = all.with(Actuator::TankCall, false);
        if acting.contains(&Actuator::TankCall) && stops_something(&mut sound, &all, &spared) {
            looked.push(spared);
        }
        Self { net, limits, sound, shared: Arc::new(Shared { block_of, circuit, opened: OnceLock::new(), looked }) }
    }

    /// The sound network.
    pub fn network(&self) -> &'a Network {
        self.net
    }

    /// What becomes of one mutant.
    pub fn judge(&mut self, m: Mutant) -> Verdict {
        let net = match m {
            Mutant::ReturnLost(d) => Cow::Owned(self.net.return_lost(d)),
            _ => Cow::Borrowed(self.net),
        };
        let mut mutant = Solver::new(&net, &changes(self.net, m));
        let wires_only =
            !matches!(m, Mutant::Welded(_) | Mutant::StaysOpen(_) | Mutant::CoilOpen(_) | Mutant::ReturnLost(_));
        if wires_only && mutant.same_partition(&self.sound) {
            return self.off(&mutant).unwrap_or(Verdict::SamePartition);
        }
        if let Some(v) = self.fixed(&mutant) {
            return v;
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
        self.harmless(&mutant, m)
            .or_else(|| self.opened(&net, m))
            .or_else(|| self.off(&mutant))
            .or_else(|| (wires_only && self.same_poles(&mutant)).then_some(Verdict::SameCircuit))
            .unwrap_or(Verdict::Survived { states, exhaustive })
    }

    /// What no switch changes.
    fn fixed(&mut self, mutant: &Solver) -> Option<Verdict> {
        let rest = ActuatorSet::default();
        if let Some(t) = mutant.fixed_troubles().iter().find(|t| !self.sound.fixed_troubles().contains(t)) {
            return Some(Verdict::Trouble { trouble: *t, position: rest });
        }
        for w in mutant.fixed_watches() {
            if power_off(&self.sound.watches()[w]) {
                continue;
            }
            // One that moves in the sound network is looked at in two positions of it.
            let shared = Arc::clone(&self.shared);
            let taken = if self.shared.block_of[w].is_some() { &shared.looked[..] } else { &shared.looked[..1] };
            for set in taken {
                if let Some(b) = self.shared.block_of[w] {
                    self.sound.solve_cone(b, set);
                }
                if mutant.at(w) != self.sound.at(w) {
                    return Some(self.seen(mutant, w, set));
                }
            }
        }
        None
    }

    /// The same circuit, or a wire or contact with nothing behind it.
    fn harmless(&self, mutant: &Solver, m: Mutant) -> Option<Verdict> {
        let circuit = &self.shared.circuit;
        match m {
            Mutant::Welded(part) | Mutant::StaysOpen(part) => {
                let placed = &self.net.parts[part];
                let Part::Contact { by, .. } = placed.part else { return None };
                // One that is closed while nobody opens it is looked at opened.
                let dangles = match opening(placed.device, by) {
                    Some(o) => {
                        let opened = Solver::new(self.net, &with_opened(Changes::default(), o));
                        opened.circuit(self.net, None) == opened.circuit(self.net, Some(part))
                    }
                    None => *circuit == self.sound.circuit(self.net, Some(part)),
                };
                dangles.then_some(Verdict::SameCircuit)
            }
            Mutant::CoilOpen(_) | Mutant::ReturnLost(_) => None,
            _ if mutant.circuit(self.net, None) != *circuit => None,
            Mutant::Removed(_) => Some(Verdict::LeadsNowhere),
            _ => Some(Verdict::SameCircuit),
        }
    }

    /// The same circuit where poles of one switch in a row count as one.
    fn same_poles(&self, mutant: &Solver) -> bool {
        mutant.circuit_of_poles(self.net) == self.sound.circuit_of_poles(self.net)
    }

    /// Opens each breaker, fuse and disconnect once, everything called for and at rest; last with an ohmmeter on their poles.
    fn opened(&self, net: &Network, m: Mutant) -> Option<Verdict> {
        // A ground fault of a floating circuit shows no more with something open than without.
        if matches!(m, Mutant::Grounded(_)) {
            return None;
        }
        let looked = &self.shared.looked;
        let opened = self.shared.opened.get_or_init(|| {
            let list = openings(self.net).into_iter();
            list.map(|o| {
                let mut s = Solver::new(self.net, &with_opened(Changes::default(), o));
                (o, looked.iter().map(|set| s.solve(set).clone()).collect())
            })
            .collect()
        });
        let all = self.sound.watches();
        let mut poles = None;
        for (o, sound) in opened {
            let mut s = Solver::new(net, &with_opened(changes(self.net, m), *o));
            for (set, sound) in looked.iter().zip(sound) {
                let with = s.solve(set);
                let differs = |w: &usize| with.seen[*w] != sound.seen[*w];
                let told = |w: usize| {
                    let (seen, sound) = (with.seen[w], sound.seen[w]);
                    Verdict::SeenOpened { device: o.0, breaker: o.1, watch: all[w], seen, sound }
                };
                if let Some(w) = (0..all.len()).filter(|w| !power_off(&all[*w])).find(differs) {
                    return Some(told(w));
                }
                let pole = |w: &usize| all[*w].what == What::Continuity && self.device_of(&all[*w]) == o.0;
                poles = poles.or_else(|| (0..all.len()).filter(pole).find(differs).map(told));
            }
        }
        poles
    }

    fn device_of(&self, w: &Watch) -> DeviceId {
        self.net.device_of[w.terminal as usize]
    }

    /// An ohmmeter, power off.
    fn off(&self, mutant: &Solver) -> Option<Verdict> {
        let all = self.sound.watches();
        let w = (0..all.len()).find(|w| power_off(&all[*w]) && mutant.at(*w) != self.sound.at(*w))?;
        Some(Verdict::SeenOff { watch: all[w], seen: mutant.at(w), sound: self.sound.at(w) })
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
        let mut owners: Vec<usize> = watches.iter().filter_map(|w| self.shared.block_of[*w]).collect();
        owners.sort_unstable();
        owners.dedup();
        for o in &owners {
            actuators.extend(self.sound.actuators_of(*o));
        }
        let Limits { states_max, samples, seed, .. } = self.limits;
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
