//! The contacts of a block as a graph: which nodes each joins, what moves it, and where anything else hangs.
//!
//! What a block shows depends on its contacts only through which of its *held* nodes they join: those with a load, coil, supply,
//! input, rail or a contact of its own coils. Two contacts between the same two nodes therefore act as one that is closed while one
//! of them is; two in a row over a node that nothing else touches as one that is closed while both are; one whose end nothing else
//! touches does nothing. `proof::cases` takes those three steps.
//!
//! What it deliberately does not do: contacts that the block's own coils move are no input of it; both their ends are held.

use super::block::{Block, By, Emf, Look};
use crate::part::Actuator;

/// What moves a contact, seen from outside of its block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Moved {
    /// A free actuator.
    Free(Actuator),
    /// The coil of an earlier block, by part.
    Coil(usize),
    /// Nothing: it has no coil.
    Never,
}

/// One contact between two nodes of its block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Contact {
    pub(crate) ends: [u32; 2],
    pub(crate) closed_at_rest: bool,
    pub(crate) moved: Moved,
}

/// All contacts of a block that its inputs move.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Contacts {
    pub(crate) list: Vec<Contact>,
    /// Nodes on which something else hangs.
    pub(crate) held: Vec<bool>,
}

impl Block {
    /// Its contacts.
    pub(crate) fn contacts(&self) -> Contacts {
        let mut held = vec![false; self.nodes.len()];
        let mut hold = |nodes: &[u32]| nodes.iter().for_each(|n| held[*n as usize] = true);
        for (i, _) in self.nodes.iter().enumerate() {
            let node = i as u32;
            if self.systems.iter().any(|s| self.template.between(node, s.anchor).is_some()) {
                hold(&[node]);
            }
        }
        self.branches.iter().for_each(|b| hold(&[b.a, b.b]));
        self.elements.iter().for_each(|(a, b, _)| hold(&[*a, *b]));
        self.outs.iter().for_each(|(a, b, _)| hold(&[*a, *b]));
        self.coils.iter().for_each(|c| hold(&[c.a, c.b]));
        for u in &self.supplies {
            hold(&[u.a, u.b]);
            if let Emf::Follows { a, b, .. } = u.emf {
                hold(&[a, b]);
            }
        }
        for l in &self.looks {
            match *l {
                Look::Load { a, b, .. } | Look::Input { a, b } | Look::Sensor { a, b } => hold(&[a, b]),
                Look::Load3 { lines, .. } => hold(&lines),
                Look::Signal { plus, minus } => hold(&[plus, minus]),
                Look::Coil(_) => {}
            }
        }
        let mut list = Vec::new();
        for c in &self.switches {
            let moved = match c.by {
                By::Actuator(k) => Moved::Free(self.actuators[k]),
                By::Before(k) => self.before.get(k).map_or(Moved::Never, |part| Moved::Coil(*part)),
                By::Coil(_) => {
                    hold(&[c.a, c.b]);
                    continue;
                }
            };
            list.push(Contact { ends: [c.a, c.b], closed_at_rest: c.closed_at_rest, moved });
        }
        Contacts { list, held }
    }
}
