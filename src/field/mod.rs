//! What needs control, physics and wires together.
//!
//! [`wired`] puts the solved network of the wiring plan where a run otherwise has ideal wires; [`prove`] holds the plan
//! against the control logic, [`readings`] says what a meter shows in each of its states.

mod calls;
pub mod prove;
pub mod readings;
pub mod wired;
