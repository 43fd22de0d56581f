//! From the checked plant to the three back ends, one file each.
//!
//! Order: points, then physics, then the curve by the emitters' own law, then the controller, then the wiring job. Each fact
//! is entered once, in the plant file, and read here.

pub mod core;
pub mod findings;
mod named;
pub mod points;
pub mod sim;
pub mod water;
pub mod water_findings;
pub mod wiring;
pub mod zone_relays;
