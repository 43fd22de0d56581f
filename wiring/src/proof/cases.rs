//! A block in every position without going through each: by the cases that its contacts can tell apart.
//!
//! The argument, in four steps:
//! 1. What a block shows depends on its contacts only through which nodes they join. So contacts side by side act as one that is
//!    closed while one of them is, contacts in a row over a node that nothing else touches as one that is closed while all are, and
//!    one that leads to nothing does not act (`net::contacts`). What is left are few *ways*, each a boolean function of the free actuators.
//! 2. A *case* is one pattern of ways, and the set of all positions in which it stands. The cases are found by cutting the set of all
//!    positions in two at each way and dropping what is empty, so together they are all positions, and each position is in one.
//! 3. In all positions of a case the block shows the same, so one of them is solved, by the very solver that solves any other position.
//!    What must be seen is a boolean function of the actuators too; the positions of the case in which it differs are a set, and
//!    must be empty. This is exact: contacts closed at rest, and a fault that only two calls at once show, are cases like any other.
//! 4. The positions in which a coil has pulled in are the union of its block's cases that show it so. A contact in a later block
//!    that this coil moves is that function, however many actuators lie behind it. Blocks come in the order of cause.
//!
//! "Any call asks the boilers" shows what is won: sixteen contacts side by side are one way and two cases, and not 65,536 positions.
//!
//! Sets of positions are binary decision diagrams (Bryant 1986). Their size hangs on the order of the actuators, which is that in
//! which a walk from the blocks back to their causes meets them, so that what acts together stands together.
//!
//! Before its relays have moved, a block stands as its free actuators alone say; shorts count there too (`settle`), so each way is cut
//! as it stands then as well. Where several contacts that act as one would close a short, one of them is named.
//!
//! Edges: a diagram of more than [`NODES_MAX`] nodes, more than [`CASES_MAX`] cases or [`ALL_NODES_MAX`] nodes in all of them ends the attempt for that block and all after it;
//! it is then looked at by positions or samples as `prove` says, and counted as such.

use super::expect::{Rule, Want};
use crate::{
    net::{ActuatorSet, Contacts, Moved, Seen, Solver},
    part::Actuator,
};
use biodivine_lib_bdd::{Bdd, BddVariable, BddVariableSet, op_function};
use std::collections::{BTreeMap, HashMap, HashSet};

/// Most nodes of a diagram (our choice: a few hundred occur).
const NODES_MAX: usize = 1 << 13;
/// Most nodes of all cases of a block (our choice: some megabytes).
const ALL_NODES_MAX: usize = 1 << 18;
/// Most cases of a block (our choice: as many as its positions may be where all are taken).
const CASES_MAX: usize = 1 << 12;
/// Most actuators: sets of so many positions are still counted.
const ACTUATORS_MAX: usize = 900;

/// Positions in which a block shows the same, and one of them.
pub(super) struct Case {
    /// All of them.
    pub(super) holds: Bdd,
    /// One of them, with as little acting as possible.
    pub(super) position: ActuatorSet,
}

/// A contact, or several that act as one: when it is closed, and when before any relay has moved.
#[derive(Clone)]
struct Way {
    ends: [u32; 2],
    now: Bdd,
    first: Bdd,
}

/// The cases of a solver's blocks, made when asked for.
pub(super) struct Cases {
    vars: BddVariableSet,
    order: Vec<Actuator>,
    place: HashMap<Actuator, BddVariable>,
    /// When each coil has pulled in, by part; `None` where that is not known.
    coils: HashMap<usize, Option<Bdd>>,
    /// Blocks whose coils are among those.
    done: Vec<bool>,
}

fn and(a: &Bdd, b: &Bdd) -> Option<Bdd> {
    Bdd::binary_op_with_limit(NODES_MAX, a, b, op_function::and)
}

fn or(a: &Bdd, b: &Bdd) -> Option<Bdd> {
    Bdd::binary_op_with_limit(NODES_MAX, a, b, op_function::or)
}

impl Cases {
    /// For a solver, with actuators that no block hangs on but that something is expected of. `None`: too many actuators.
    pub(super) fn new(solver: &Solver, expected: &[Actuator]) -> Option<Self> {
        let mut order = met(solver);
        order.extend(expected);
        let mut known = HashSet::new();
        order.retain(|a| known.insert(*a));
        let place = order.iter().enumerate().map(|(i, a)| (*a, BddVariable::from_index(i))).collect();
        let n = u16::try_from(order.len()).ok().filter(|n| usize::from(*n) <= ACTUATORS_MAX)?;
        let done = vec![false; solver.block_count()];
        Some(Self { vars: BddVariableSet::new_anonymous(n), order, place, coils: HashMap::new(), done })
    }

    fn on(&self, a: Actuator) -> Option<Bdd> {
        self.place.get(&a).map(|v| self.vars.mk_var(*v))
    }

    /// All positions of these actuators: a selector is never at HAND and AUTO at once.
    fn every(&self, actuators: &[Actuator]) -> Option<Bdd> {
        let mut all = self.vars.mk_true();
        for a in actuators {
            if let Actuator::Hand(p) = *a
                && actuators.contains(&Actuator::Auto(p))
            {
                let both = and(&self.on(*a)?, &self.on(Actuator::Auto(p))?)?;
                all = and(&all, &both.not())?;
            }
        }
        Some(all)
    }

    /// How many positions of so many actuators a set has.
    pub(super) fn count(&self, set: &Bdd, actuators: usize) -> u64 {
        let idle = self.order.len().saturating_sub(actuators);
        // Both are below 2^900, and dividing by a power of two is exact.
        (set.cardinality() / 2_f64.powi(idle as i32)) as u64
    }

    /// One position of a set; `None` where it is empty.
    pub(super) fn one(&self, set: &Bdd) -> Option<ActuatorSet> {
        let found = set.most_negative_valuation()?;
        let acting = self.order.iter().zip(found.into_vector()).filter(|(_, on)| *on);
        Some(acting.fold(ActuatorSet::default(), |s, (a, _)| s.with(*a, true)))
    }

    /// Positions in which a rule holds.
    fn rule(&self, rule: &Rule) -> Option<Bdd> {
        match rule {
            Rule::Fixed(true) => Some(self.vars.mk_true()),
            Rule::Fixed(false) => Some(self.vars.mk_false()),
            Rule::On(a) => self.on(*a),
            Rule::Off(a) => self.on(*a).map(|b| b.not()),
            Rule::All(l) => l.iter().try_fold(self.vars.mk_true(), |b, r| and(&b, &self.rule(r)?)),
            Rule::Any(l) => l.iter().try_fold(self.vars.mk_false(), |b, r| or(&b, &self.rule(r)?)),
        }
    }

    /// What a watch must show, as the set of positions in which its rule holds; the inner `None`: it does not hang on any.
    #[allow(clippy::option_option, reason = "not to be told and nothing to tell are two things")]
    pub(super) fn wanted(&self, want: &Want) -> Option<Option<Bdd>> {
        want.rule().map_or(Some(None), |r| self.rule(r).map(Some))
    }

    /// The positions of a case in which what is seen is not what must be seen.
    pub(super) fn wrong(&self, want: &Want, rule: Option<&Bdd>, seen: Seen, case: &Case) -> Option<Bdd> {
        let met = [false, true].map(|holds| want.while_rule(holds).met(seen, &case.position));
        match (met, rule) {
            ([true, true], _) => Some(self.vars.mk_false()),
            ([false, false], _) | (_, None) => Some(case.holds.clone()),
            ([true, false], Some(r)) => and(&case.holds, r),
            ([false, true], Some(r)) => and(&case.holds, &r.not()),
        }
    }

    /// The cases of a block over these actuators. `None`: too many, or too large to tell.
    pub(super) fn of(&mut self, solver: &mut Solver, block: usize, actuators: &[Actuator]) -> Option<Vec<Case>> {
        for before in solver.cone_of(block).to_vec() {
            if before != block && !self.done[before] {
                self.done[before] = true;
                self.pull_in(solver, before);
            }
        }
        let ways = self.ways(&solver.contacts_of(block))?;
        let mut sets = vec![self.every(actuators)?];
        let functions = ways.iter().map(|w| &w.now).chain(ways.iter().filter(|w| w.first != w.now).map(|w| &w.first));
        for f in functions {
            let no = f.not();
            let mut next = Vec::with_capacity(sets.len());
            for s in &sets {
                for part in [and(s, &no)?, and(s, f)?] {
                    if !part.is_false() {
                        next.push(part);
                    }
                }
            }
            if next.len() > CASES_MAX || next.iter().map(Bdd::size).sum::<usize>() > ALL_NODES_MAX {
                return None;
            }
            sets = next;
        }
        sets.into_iter().map(|holds| self.one(&holds).map(|position| Case { holds, position })).collect()
    }

    /// Finds when the coils of a block have pulled in.
    fn pull_in(&mut self, solver: &mut Solver, block: usize) {
        let coils = solver.coils_of(block).to_vec();
        let actuators = solver.actuators_of(block);
        let found = self.of(solver, block, &actuators).and_then(|cases| {
            let mut at: Vec<Bdd> = vec![self.vars.mk_false(); coils.len()];
            for case in &cases {
                solver.solve_cone(block, &case.position);
                for (coil, when) in coils.iter().zip(&mut at) {
                    if solver.coil_in(*coil) {
                        *when = or(when, &case.holds)?;
                    }
                }
            }
            Some(at)
        });
        match found {
            Some(at) => self.coils.extend(coils.into_iter().zip(at.into_iter().map(Some))),
            None => self.coils.extend(coils.into_iter().map(|c| (c, None))),
        }
    }

    /// Contacts that act as one, made one.
    fn ways(&self, contacts: &Contacts) -> Option<Vec<Way>> {
        let mut ways = Vec::with_capacity(contacts.list.len());
        for c in &contacts.list {
            let moved = match c.moved {
                Moved::Free(a) => self.on(a)?,
                Moved::Coil(part) => self.coils.get(&part)?.clone()?,
                Moved::Never => self.vars.mk_false(),
            };
            let still = if let Moved::Free(_) = c.moved { moved.clone() } else { self.vars.mk_false() };
            let [now, first] = [moved, still].map(|m| if c.closed_at_rest { m.not() } else { m });
            ways.push(Way { ends: c.ends, now, first });
        }
        loop {
            let before = ways.len();
            ways = in_a_row(side_by_side(ways)?, &contacts.held)?;
            if ways.len() == before {
                return Some(ways);
            }
        }
    }
}

/// Ways between the same two nodes.
fn side_by_side(ways: Vec<Way>) -> Option<Vec<Way>> {
    let mut out: BTreeMap<[u32; 2], Way> = BTreeMap::new();
    for mut w in ways.into_iter().filter(|w| w.ends[0] != w.ends[1]) {
        w.ends.sort_unstable();
        match out.get_mut(&w.ends) {
            None => {
                out.insert(w.ends, w);
            }
            Some(o) => {
                o.now = or(&o.now, &w.now)?;
                o.first = or(&o.first, &w.first)?;
            }
        }
    }
    Some(out.into_values().collect())
}

/// One node that nothing holds and that one or two ways touch, taken out.
fn in_a_row(mut ways: Vec<Way>, held: &[bool]) -> Option<Vec<Way>> {
    let mut touch = vec![Vec::new(); held.len()];
    for (i, w) in ways.iter().enumerate() {
        w.ends.iter().for_each(|n| touch[*n as usize].push(i));
    }
    let free = |n: &usize| !held[*n] && (1..=2).contains(&touch[*n].len());
    let Some(node) = (0..held.len()).find(free) else { return Some(ways) };
    if let [a, b] = touch[node][..] {
        let other = |w: &Way| w.ends[usize::from(w.ends[0] as usize == node)];
        let (x, y) = (&ways[a], &ways[b]);
        let joined = Way { ends: [other(x), other(y)], now: and(&x.now, &y.now)?, first: and(&x.first, &y.first)? };
        ways[a] = joined;
        let _ = ways.remove(b);
    } else {
        let _ = ways.remove(touch[node][0]);
    }
    Some(ways)
}

/// Actuators in the order in which a walk from the blocks with most before them back to their causes meets them.
fn met(solver: &Solver) -> Vec<Actuator> {
    let mut blocks: Vec<usize> = (0..solver.block_count()).collect();
    blocks.sort_by_key(|b| std::cmp::Reverse(solver.cone_of(*b).len()));
    let mut seen = vec![false; solver.block_count()];
    let mut out = Vec::new();
    for start in blocks {
        let mut stack = vec![Moved::Coil(usize::MAX)];
        let mut enter = Some(start);
        while let Some(moved) = stack.pop() {
            let block = match moved {
                Moved::Free(a) => {
                    out.push(a);
                    continue;
                }
                Moved::Coil(part) => enter.take().or_else(|| solver.block_of(part)),
                Moved::Never => None,
            };
            if let Some(b) = block.filter(|b| !std::mem::replace(&mut seen[*b], true)) {
                stack.extend(solver.contacts_of(b).list.iter().rev().map(|c| c.moved));
            }
        }
    }
    out
}
