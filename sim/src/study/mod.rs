//! Studies: questions about a plant that take more than one state or more than one run to answer.
//!
//! | study | question | how |
//! |---|---|---|
//! | [`curve`] | does the outdoor-reset curve cover every zone's emitters, and what comes back to the boilers? | steady states |
//! | [`short_cycle`] | how often will a boiler start when only the smallest zone calls? | closed form |
//! | [`rotation`] | how do the rotation policies share hours and starts? | runs side by side |
//! | [`redundancy`] | boilers fail in the cold: how cold does it get, and how soon? | runs side by side |
//! | [`water_side`] | what fills, expands, relieves, flows and drips? | closed forms |
//!
//! What they have in common: facts with units and ids, no names and no text layout; the host renders. Steady-state studies
//! are exact for the laws of the model and say nothing about warm-up; runs say everything and cost time.

pub mod curve;
pub mod finding;
pub mod redundancy;
pub mod rotation;
pub mod short_cycle;
pub mod water_side;

pub use finding::{Finding, Issue};
