//! Which water moves: flow of every zone, boiler and the tank from running pumps and open valves.
//!
//! A running pump gives each branch its design flow; branches in parallel behind one pump do not rob each other, and a
//! valve lets through its opening's share (our choice: pipes and pump curves are a study of their own, not of this
//! model). A zone valve without a pump behind it has flow while any boiler pump runs. Boilers without a pump share the
//! zones' flow in proportion to their design flows.

use crate::plant::{Drive, Plant};
use heatwright_core::PumpId;

/// How a branch gets its flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Branch {
    /// Any of these pumps moves it.
    pub(crate) pumps: u64,
    /// It stands behind a valve.
    pub(crate) valve: bool,
    /// Full flow, in kilograms per second.
    pub(crate) flow_kg_s: f64,
}

impl Branch {
    /// Its flow in kilograms per second with these pumps running and its valve this far open.
    #[inline]
    pub(crate) fn flow_kg_s(&self, running: u64, opening: f64) -> f64 {
        if running & self.pumps == 0 {
            0.0
        } else if self.valve {
            self.flow_kg_s * opening
        } else {
            self.flow_kg_s
        }
    }
}

/// The branch of each zone.
pub(crate) fn zone_branches(plant: &Plant) -> Vec<Branch> {
    let boiler_pumps = (0..plant.boilers.len())
        .filter_map(|i| plant.boiler_pump(heatwright_core::BoilerId(i as u8)))
        .fold(0, |m, p: PumpId| m | p.bit());
    plant
        .zones
        .iter()
        .map(|z| {
            let (pumps, valve) = match z.drive {
                Drive::Pump(p) => (p.bit(), false),
                Drive::Valve { pump: Some(p), .. } => (p.bit(), true),
                Drive::Valve { pump: None, .. } => (boiler_pumps, true),
            };
            Branch { pumps, valve, flow_kg_s: z.flow_kg_s }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_branch_needs_its_pump_and_its_valve() {
        let b = Branch { pumps: 0b100, valve: true, flow_kg_s: 0.4 };
        assert_eq!(b.flow_kg_s(0b011, 1.0), 0.0);
        assert_eq!(b.flow_kg_s(0b100, 0.0), 0.0);
        assert_eq!(b.flow_kg_s(0b110, 0.5), 0.2);
        assert_eq!(Branch { valve: false, ..b }.flow_kg_s(0b100, 0.0), 0.4);
    }
}
