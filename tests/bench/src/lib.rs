//! Jobs and plants that the benches measure with. The package stands outside the workspace, so that nobody who builds the command
//! has to build a measuring library.

pub mod simulation;

use heatwright_wiring::{fixtures, job::Job};

/// Zones against which cost is measured: one controller holds sixteen.
pub const ZONES: [u8; 4] = [2, 4, 8, 16];

/// The example plants with their names.
pub fn plants() -> Vec<(&'static str, Job)> {
    vec![("workshop", fixtures::workshop()), ("library", fixtures::library()), ("mill", fixtures::mill())]
}

/// The workshop with so many zones.
pub fn sized(zones: u8) -> Job {
    fixtures::sized(zones)
}
