//! What needs control, physics and wires together.
//!
//! [`wired`] puts the solved network of the wiring plan where a run otherwise has ideal wires; [`compare`] runs both and
//! says where they part.

pub mod compare;
pub mod wired;
