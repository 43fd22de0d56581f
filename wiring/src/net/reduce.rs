//! When two circuits of contacts are the same although not wire for wire.
//!
//! Contacts are edges between nodes. Between two nodes at which something else hangs, only this matters: in which positions they
//! are joined. So contacts in parallel become one edge, contacts in series with nothing between them become one, again and again; each
//! keeps the set of its members, without their order and without direction. Poles of one switch bear one label: whichever of them
//! carries a conductor, it is joined in the same positions. A contact that leads to nothing falls away. Every such
//! step leaves the position in which the two ends are joined as it was: "and" and "or" have no order.
//!
//! *Poles as one*, where that is asked for: poles of one switch in a row count as one of them, since they close together. A motor on two
//! lines whose starter has one pole in one line and two in the other is then the same with its lines exchanged. It is asked for last,
//! since a short across one of such poles is no more told.
//!
//! Labels are hashes of 64 bits; two different circuits of the same hash are taken as improbable (2^-64 a pair).
//!
//! What it deliberately does not do: bridges (five contacts in no series or parallel order) stay contact by contact, so that two of
//! them are the same only wire for wire.

use std::collections::{HashMap, HashSet};

/// A contact, or what contacts in series and parallel became.
#[derive(Clone, Debug)]
struct Edge {
    sort: Sort,
    members: Vec<u64>,
    ends: [u32; 2],
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sort {
    Contact,
    Series,
    Parallel,
}

impl Edge {
    fn label(&self) -> u64 {
        if let (Sort::Contact, [one]) = (self.sort, &self.members[..]) {
            return *one;
        }
        let start = if self.sort == Sort::Series { 1 } else { 2 };
        self.members.iter().fold(mix(start), |h, m| mix(h ^ m))
    }

    /// Both as one; members of the same sort are taken over, so that (a b) c and a (b c) are one.
    fn with(&self, other: &Self, sort: Sort, ends: [u32; 2], as_one: bool) -> Self {
        let mut members = Vec::new();
        for e in [self, other] {
            if e.sort == sort {
                members.extend_from_slice(&e.members);
            } else {
                members.push(e.label());
            }
        }
        members.sort_unstable();
        if as_one && sort == Sort::Series {
            members.dedup();
            if let [one] = members[..] {
                return Self { sort: Sort::Contact, members: vec![one], ends };
            }
        }
        Self { sort, members, ends }
    }
}

/// Spreads the bits (the finalizer of SplitMix64).
fn mix(x: u64) -> u64 {
    let x = x.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

/// The circuit as sorted sets of part ends a node: `nodes` holds what is no contact, `contacts` each contact with its nodes.
pub(super) fn reduce(
    mut nodes: Vec<Vec<(u64, u8)>>,
    contacts: &[(usize, u32, u32)],
    poles_as_one: bool,
) -> Vec<Vec<(u64, u8)>> {
    let mut edges: Vec<Option<Edge>> = contacts
        .iter()
        .map(|(i, a, b)| Some(Edge { sort: Sort::Contact, members: vec![mix(*i as u64 ^ (1 << 40))], ends: [*a, *b] }))
        .collect();
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); nodes.len()];
    for (n, (_, a, b)) in contacts.iter().enumerate() {
        at[*a as usize].push(n);
        at[*b as usize].push(n);
    }
    let mut todo: Vec<u32> = (0..nodes.len() as u32).collect();
    // Each round takes at least one edge away for each node that it puts back.
    while let Some(n) = todo.pop() {
        let mut between: HashMap<[u32; 2], usize> = HashMap::new();
        for e in at[n as usize].clone() {
            let Some(edge) = &edges[e] else { continue };
            let mut ends = edge.ends;
            ends.sort_unstable();
            match between.get(&ends).copied() {
                Some(first) if first != e => {
                    let both = edges[first].as_ref().map(|f| f.with(edge, Sort::Parallel, f.ends, poles_as_one));
                    edges[first] = both;
                    edges[e] = None;
                    at[ends[0] as usize].retain(|x| *x != e);
                    at[ends[1] as usize].retain(|x| *x != e);
                    todo.extend(ends.iter().filter(|m| **m != n));
                }
                Some(_) => {}
                None => {
                    between.insert(ends, e);
                }
            }
        }
        if !nodes[n as usize].is_empty() {
            continue;
        }
        let far = |e: &Edge| if e.ends[0] == n { e.ends[1] } else { e.ends[0] };
        match at[n as usize][..] {
            [e] => {
                let Some(edge) = edges[e].take() else { continue };
                let m = far(&edge);
                at[n as usize].clear();
                at[m as usize].retain(|x| *x != e);
                todo.push(m);
            }
            [e, f] if e != f => {
                let (Some(first), Some(second)) = (edges[e].take(), edges[f].take()) else { continue };
                let ends = [far(&first), far(&second)];
                edges[e] = Some(first.with(&second, Sort::Series, ends, poles_as_one));
                at[n as usize].clear();
                for x in &mut at[ends[1] as usize] {
                    if *x == f {
                        *x = e;
                    }
                }
                todo.extend(ends);
            }
            _ => {}
        }
    }
    let links: Vec<(u64, [u32; 2])> = edges.iter().flatten().map(|e| (e.label(), e.ends)).collect();
    let told = colours(&nodes, &links);
    for (list, colour) in nodes.iter_mut().zip(told) {
        // Nodes at which nothing hangs and nothing leads have fallen away.
        if let Some(c) = colour {
            list.push((c, 0));
        }
    }
    nodes.retain(|n| !n.is_empty());
    nodes.iter_mut().for_each(|n| n.sort_unstable());
    nodes.sort_unstable();
    nodes
}

/// A hash of what hangs at each node, of the edges there, and of what lies behind them as far as it tells nodes apart; nothing for a
/// node without any. Edges of one label are told apart by where they lead. (Colour refinement: rounds until no node more is told
/// apart from another.)
fn colours(nodes: &[Vec<(u64, u8)>], links: &[(u64, [u32; 2])]) -> Vec<Option<u64>> {
    let own = |n: &Vec<(u64, u8)>| {
        let mut n = n.clone();
        n.sort_unstable();
        n.iter().fold(mix(3), |h, (part, slot)| mix(mix(h ^ part) ^ u64::from(*slot)))
    };
    let mut colour: Vec<u64> = nodes.iter().map(own).collect();
    let mut apart = 0;
    loop {
        let mut around: Vec<Vec<u64>> = vec![Vec::new(); nodes.len()];
        for (label, [a, b]) in links {
            around[*a as usize].push(mix(label ^ mix(colour[*b as usize])));
            around[*b as usize].push(mix(label ^ mix(colour[*a as usize])));
        }
        for (c, list) in colour.iter_mut().zip(&mut around) {
            list.sort_unstable();
            *c = list.iter().fold(mix(*c), |h, x| mix(h ^ x));
        }
        let told: HashSet<u64> = colour.iter().copied().collect();
        if told.len() <= apart {
            let any = around.iter().zip(nodes).map(|(edges, n)| !edges.is_empty() || !n.is_empty());
            return colour.into_iter().zip(any).map(|(c, any)| any.then_some(c)).collect();
        }
        apart = told.len();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Nodes 0 and 1 with a load each; the rest free.
    fn of(contacts: &[(usize, u32, u32)]) -> Vec<Vec<(u64, u8)>> {
        let mut nodes = vec![Vec::new(); 6];
        nodes[0].push((1, 0));
        nodes[1].push((2, 0));
        reduce(nodes, contacts, false)
    }

    #[test]
    fn order_in_series_and_the_end_from_which_it_is_looked_at_do_not_matter() {
        // 7, then 8 beside 9 and 10 in series; and the same from the other end, 10 before 9.
        let one = of(&[(7, 0, 2), (8, 2, 1), (9, 2, 3), (10, 3, 1)]);
        assert_eq!(one, of(&[(7, 1, 2), (8, 2, 0), (10, 2, 3), (9, 3, 0)]));
        // What stands beside what does matter.
        assert_ne!(one, of(&[(8, 0, 2), (7, 2, 1), (9, 2, 3), (10, 3, 1)]));
        assert_ne!(one, of(&[(7, 0, 2), (8, 2, 1), (9, 2, 1), (10, 2, 1)]));
    }

    #[test]
    fn a_contact_that_leads_nowhere_falls_away() {
        assert_eq!(of(&[(7, 0, 1)]), of(&[(7, 0, 1), (8, 1, 2), (9, 2, 3)]));
        assert_ne!(of(&[(7, 0, 1)]), of(&[(7, 0, 1), (8, 0, 1)]));
    }

    /// Two poles of one switch bear one label: exchanged at both ends they are the same, crossed behind them they are not.
    #[test]
    fn poles_of_one_switch_may_be_exchanged_and_not_crossed() {
        // Sources at 0 and 1, loads at 4 and 5.
        let of = |contacts: &[(usize, u32, u32)]| {
            let mut nodes = vec![Vec::new(); 6];
            for (n, part) in [(0, 1), (1, 2), (4, 3), (5, 4)] {
                nodes[n].push((part, 0));
            }
            reduce(nodes, contacts, false)
        };
        let straight = of(&[(7, 0, 4), (7, 1, 5)]);
        assert_eq!(straight, of(&[(7, 1, 5), (7, 0, 4)]));
        assert_ne!(straight, of(&[(7, 0, 5), (7, 1, 4)]));
        // With another switch behind, pole by pole.
        let two = of(&[(7, 0, 2), (8, 2, 4), (7, 1, 3), (8, 3, 5)]);
        assert_ne!(two, of(&[(7, 0, 2), (8, 2, 5), (7, 1, 3), (8, 3, 4)]));
    }

    /// One pole of a switch in one line and two in the other, and the other way round: one circuit where poles in a row count as one.
    #[test]
    fn poles_in_a_row_are_one_where_that_is_asked_for() {
        let of = |contacts: &[(usize, u32, u32)], as_one| {
            let mut nodes = vec![Vec::new(); 6];
            for (n, part) in [(0, 1), (1, 2), (4, 3), (5, 4)] {
                nodes[n].push((part, 0));
            }
            reduce(nodes, contacts, as_one)
        };
        let one = [(7, 0, 4), (7, 1, 2), (7, 2, 5)];
        let other = [(7, 0, 2), (7, 2, 4), (7, 1, 5)];
        assert_ne!(of(&one, false), of(&other, false));
        assert_eq!(of(&one, true), of(&other, true));
        // Another switch in the row stays another.
        assert_ne!(of(&one, true), of(&[(7, 0, 4), (7, 1, 2), (8, 2, 5)], true));
    }

    #[test]
    fn a_bridge_stays_as_it_is() {
        let bridge = [(5, 0, 2), (6, 0, 3), (7, 2, 1), (8, 3, 1), (9, 2, 3)];
        let turned = [(5, 0, 2), (6, 0, 3), (8, 2, 1), (7, 3, 1), (9, 2, 3)];
        assert_eq!(of(&bridge), of(&bridge));
        assert_ne!(of(&bridge), of(&turned));
    }
}
