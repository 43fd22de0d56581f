//! The electrical network of a plan, rebuilt from rows and devices only, and its solution.
//!
//! Passes, each a function from one plain type to the next:
//! `rebuild` (terminals, parts, wires) -> `joins` (which terminals are one node while no switch moves) -> `blocks` (parts
//! that can influence each other) -> `block`, `settle`, `look` (one block compiled, solved, seen) -> `solve` (all blocks in order, with what is
//! seen at every load, input, sensor and signal; `fixed` and `off` add what no switch moves) -> `readings` (volts between two terminals, ideal
//! conductors) and `meter` (the same with every conductor's resistance; `spice` writes it for a circuit simulator).
//!
//! What it deliberately does not do: inrush, power factor of loads, magnetising current, frequency. It is a picture of the
//! settled state after every contact has moved.

pub mod actuators;
mod block;
mod blocks;
mod components;
mod contacts;
mod errors;
mod fixed;
mod joins;
mod linear;
mod look;
pub mod meter;
mod off;
pub mod readings;
pub mod rebuild;
mod reduce;
mod settle;
pub mod solve;
mod sparse;
mod spice;
pub mod watch;

pub use actuators::{ActuatorSet, ZONE_FANS};
pub(crate) use contacts::{Contacts, Moved};
pub use errors::RebuildError;
pub use rebuild::{Changes, Network};
pub use solve::{Observation, Solver};
pub use watch::{Seen, Trouble, Watch, What};
