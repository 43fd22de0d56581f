//! Which parts can influence each other.
//!
//! 1. *Cells*: parts that share a node that is not a rail. A cell that touches two systems can shift one against the other,
//!    so all cells that bridge the same systems become one.
//! 2. *Blocks*: cells that act on each other both ways through coils and their contacts.
//! 3. Blocks in an order in which each comes after those whose coils move its contacts. What lies before a block, its
//!    *cone*, is all that can influence it.
//!
//! A free boolean is enumerated with its block and the blocks after it only. The cut is exact as long as rails are rails
//! (see `joins`).

use super::{
    components::Groups,
    joins::Joined,
    rebuild::{Network, terminals},
};
use crate::{
    device::DeviceId,
    part::{Actuator, Part},
};
use std::collections::HashMap;

/// One block before it is compiled.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct BlockParts {
    /// Its parts, rising.
    pub(crate) parts: Vec<usize>,
    /// Coils in other blocks that move contacts here: coil parts, rising.
    pub(crate) before: Vec<usize>,
}

/// The coil part of each (device, number).
pub(crate) fn coils(net: &Network) -> HashMap<(DeviceId, u8), usize> {
    net.parts
        .iter()
        .enumerate()
        .filter_map(|(i, p)| match p.part {
            Part::Coil { number, .. } => Some(((p.device, number), i)),
            _ => None,
        })
        .collect()
}

/// Splits the network.
pub(crate) fn split(net: &Network, joined: &Joined) -> Vec<BlockParts> {
    let coils = coils(net);
    let (cell, cells) = cells(net, joined);
    // Edges between cells, from the coil to the contact it moves.
    let mut edges = Vec::new();
    for (i, p) in net.parts.iter().enumerate() {
        if let (Some(to), Part::Contact { by: Actuator::Coil(number), .. }) = (cell[i], &p.part)
            && let Some(coil) = coils.get(&(p.device, *number))
            && let Some(from) = cell[*coil]
        {
            edges.push((from, to, *coil));
        }
    }
    let order = strongly_connected(cells, &edges);
    let mut blocks = vec![BlockParts::default(); order.1];
    for (i, c) in cell.iter().enumerate() {
        if let Some(c) = c {
            blocks[order.0[*c as usize] as usize].parts.push(i);
        }
    }
    for (from, to, coil) in edges {
        let (f, t) = (order.0[from as usize], order.0[to as usize]);
        if f != t {
            blocks[t as usize].before.push(coil);
        }
    }
    for b in &mut blocks {
        b.before.sort_unstable();
        b.before.dedup();
    }
    blocks
}

/// The cell of each part that takes part in the solution, and their number.
fn cells(net: &Network, joined: &Joined) -> (Vec<Option<u32>>, usize) {
    let mut groups = Groups::new(net.parts.len());
    let mut at_node: Vec<Option<u32>> = vec![None; joined.nodes];
    let takes_part = |i: usize| {
        !joined.settled[i] && !matches!(net.parts[i].part, Part::Bond(..) | Part::Chassis(_) | Part::Earth(_))
    };
    let mut touched: Vec<(u32, u32)> = Vec::new();
    for (i, p) in net.parts.iter().enumerate().filter(|(i, _)| takes_part(*i)) {
        let (ts, n) = terminals(&p.part);
        for t in &ts[..n] {
            let node = joined.node[p.at(*t) as usize];
            if joined.is_rail[node as usize] {
                touched.push((i as u32, joined.rails.find(node).0));
            } else {
                match at_node[node as usize] {
                    Some(other) => groups.join(other, i as u32),
                    None => at_node[node as usize] = Some(i as u32),
                }
            }
        }
    }
    // Cells on two systems: all on the same systems become one.
    let mut systems: HashMap<u32, Vec<u32>> = HashMap::new();
    for (part, system) in touched {
        let list = systems.entry(groups.find(part)).or_default();
        if !list.contains(&system) {
            list.push(system);
        }
    }
    let mut anchor: HashMap<u32, u32> = HashMap::new();
    let mut bridging: Vec<(u32, Vec<u32>)> = systems.into_iter().filter(|(_, s)| s.len() > 1).collect();
    bridging.sort_unstable();
    for (root, list) in bridging {
        for system in list {
            let first = *anchor.entry(system).or_insert(root);
            groups.join(first, root);
        }
    }
    let mut number = HashMap::new();
    let mut cell = vec![None; net.parts.len()];
    for i in (0..net.parts.len()).filter(|i| takes_part(*i)) {
        let next = number.len() as u32;
        cell[i] = Some(*number.entry(groups.find(i as u32)).or_insert(next));
    }
    (cell, number.len())
}

/// Strongly connected components in topological order: the component of each vertex, and their number.
/// Two passes of depth-first search, without recursion.
fn strongly_connected(n: usize, edges: &[(u32, u32, usize)]) -> (Vec<u32>, usize) {
    let mut forward = vec![Vec::new(); n];
    let mut back = vec![Vec::new(); n];
    for (f, t, _) in edges {
        forward[*f as usize].push(*t);
        back[*t as usize].push(*f);
    }
    let mut seen = vec![false; n];
    let mut finished = Vec::with_capacity(n);
    for start in 0..n as u32 {
        if seen[start as usize] {
            continue;
        }
        seen[start as usize] = true;
        let mut stack = vec![(start, 0_usize)];
        while let Some((v, next)) = stack.last_mut() {
            if let Some(w) = forward[*v as usize].get(*next).copied() {
                *next += 1;
                if !seen[w as usize] {
                    seen[w as usize] = true;
                    stack.push((w, 0));
                }
            } else {
                finished.push(*v);
                stack.pop();
            }
        }
    }
    let mut component = vec![u32::MAX; n];
    let mut count = 0;
    for start in finished.into_iter().rev() {
        if component[start as usize] != u32::MAX {
            continue;
        }
        component[start as usize] = count;
        let mut stack = vec![start];
        while let Some(v) = stack.pop() {
            for w in &back[v as usize] {
                if component[*w as usize] == u32::MAX {
                    component[*w as usize] = count;
                    stack.push(*w);
                }
            }
        }
        count += 1;
    }
    (component, count as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn components_come_in_the_order_of_cause_and_loops_are_one() {
        // 0 -> 1 <-> 2 -> 3, and 4 alone.
        let (c, n) = strongly_connected(5, &[(2, 3, 0), (1, 2, 0), (2, 1, 0), (0, 1, 0)]);
        assert_eq!(n, 4);
        assert_eq!(c[1], c[2]);
        assert!(c[0] < c[1] && c[2] < c[3], "{c:?}");
    }
}
