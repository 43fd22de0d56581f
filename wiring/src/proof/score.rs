//! How many mutants of each kind are caught, by what, and which are not.
//!
//! Mutants are judged on all cores; each is judged by itself, so that the score is the same on one core or many.

use super::{
    bench::{Bench, Verdict},
    mutate::{Mutant, MutantKind, mutants},
    observe,
    prove::Limits,
};
use crate::net::Network;
use rayon::prelude::*;

/// Score of one kind.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Score {
    /// Mutants tried.
    pub total: usize,
    /// Caught.
    pub caught: usize,
    /// Of these, seen only while some breaker, fuse or disconnect is open.
    pub caught_opened: usize,
    /// Of these, seen only by an ohmmeter with the power off.
    pub caught_off: Vec<Mutant>,
    /// What caught how many, in words, most first.
    pub caught_by: Vec<(&'static str, usize)>,
    /// Harmless: the plan does without these.
    pub harmless: Vec<Mutant>,
    /// Of these, those in which other terminals are joined but the circuit is the same.
    pub same_circuit: usize,
    /// Wires that lead nowhere.
    pub nowhere: Vec<Mutant>,
    /// Seen by nobody, with the verdict.
    pub survivors: Vec<(Mutant, Verdict)>,
}

impl Score {
    fn add(&mut self, m: Mutant, verdict: Verdict) {
        self.total += 1;
        if let Some(by) = observe::caught_by(&verdict) {
            self.caught += 1;
            match self.caught_by.iter_mut().find(|(b, _)| *b == by) {
                Some((_, n)) => *n += 1,
                None => self.caught_by.push((by, 1)),
            }
        }
        match verdict {
            Verdict::Seen { .. } | Verdict::Trouble { .. } => {}
            Verdict::SeenOpened { .. } => self.caught_opened += 1,
            Verdict::SeenOff { .. } => self.caught_off.push(m),
            Verdict::SamePartition => self.harmless.push(m),
            Verdict::SameCircuit => {
                self.harmless.push(m);
                self.same_circuit += 1;
            }
            Verdict::LeadsNowhere => self.nowhere.push(m),
            Verdict::Survived { .. } => self.survivors.push((m, verdict)),
        }
    }
}

/// Plants every mutant of a kind and keeps the score.
pub fn mutate(net: &Network, kind: MutantKind, limits: Limits) -> Score {
    of(&Bench::new(net, limits), kind)
}

/// The same for several kinds beside one sound network.
pub fn mutate_all(net: &Network, kinds: &[MutantKind], limits: Limits) -> Vec<(MutantKind, Score)> {
    let bench = Bench::new(net, limits);
    kinds.iter().map(|k| (*k, of(&bench, *k))).collect()
}

fn of(bench: &Bench<'_>, kind: MutantKind) -> Score {
    let list = mutants(bench.network(), kind);
    let verdicts: Vec<Verdict> = list.par_iter().map_init(|| bench.clone(), |b, m| b.judge(*m)).collect();
    let mut score = Score::default();
    for (m, v) in list.into_iter().zip(verdicts) {
        score.add(m, v);
    }
    score.caught_by.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
    score
}
