//! Volts between two terminals, as a meter would show them.
//!
//! Solved without rails: every supply keeps its inner resistance, so that drop under load shows. Where nothing holds one
//! terminal against the other the reading is floating, never 0 V: a meter there shows whatever it picks up.
//! Two supplies on different phases read their phasor difference once a common joins them.
//!
//! Units: volts rms. Limits: no meter burden, no resistance of conductors (wires are ideal here).

use super::{
    actuators::ActuatorSet,
    block::Stand,
    rebuild::{Changes, Network},
    solve::Solver,
};
/// What a meter shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reading {
    /// Volts rms.
    Volts(f64),
    /// Nothing holds one terminal against the other.
    Floating,
}

/// All potentials for one position of the actuators.
#[derive(Clone, Debug)]
pub struct Readings {
    node: Vec<u32>,
    /// Block, piece and potential of each node.
    stands: Vec<Option<(usize, Stand)>>,
}

impl Readings {
    /// Solves the network once for readings.
    pub fn take(net: &Network, changes: &Changes, set: &ActuatorSet) -> Self {
        let mut solver = Solver::exact(net, changes);
        let mut stands = vec![None; solver.joined.nodes];
        for (block, list) in solver.stands(set) {
            for (node, stand) in list {
                stands[node as usize] = Some((block, stand));
            }
        }
        Self { node: solver.joined.node.clone(), stands }
    }

    /// Volts between two terminals; `None` for a terminal that the network has not.
    pub fn between(&self, a: u32, b: u32) -> Option<Reading> {
        let (na, nb) = (*self.node.get(a as usize)?, *self.node.get(b as usize)?);
        if na == nb {
            return Some(Reading::Volts(0.0));
        }
        Some(match (self.stands[na as usize], self.stands[nb as usize]) {
            (Some((ba, sa)), Some((bb, sb))) if ba == bb && sa.piece == sb.piece => {
                Reading::Volts((sa.volts - sb.volts).norm())
            }
            _ => Reading::Floating,
        })
    }
}
