//! Physics, weather and studies of a hot-water heating plant under its own control logic.
#![forbid(unsafe_code)]

mod actuator;
pub mod boiler;
mod check;
pub mod control;
pub mod emitter;
pub mod fault;
pub mod finding;
pub mod fluid;
mod gains;
pub mod header;
pub mod outdoor;
pub mod plant;
mod pump;
pub mod run;
mod safety;
pub mod sensor;
pub mod state;
pub mod step;
pub mod study;
pub mod tank;
pub mod thermostat;
pub mod traces;
pub mod weather;
pub mod wires;
pub mod zone;

pub use control::{Control, LinkError};
pub use emitter::Emitter;
pub use finding::Finding;
pub use outdoor::Outdoor;
pub use plant::Plant;
pub use run::{Options, Run, RunError, Summary, run, run_checked};
pub use state::{Model, State};
pub use step::Conditions;
pub use wires::{Field, Ideal, Powered, Wires};
