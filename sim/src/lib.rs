//! Physics, weather and studies of a hot-water heating plant under its own control logic.
#![forbid(unsafe_code)]

pub mod control;
pub mod emitter;
pub mod outdoor;
pub mod plant;
pub mod weather;
pub mod wires;

pub use control::{Control, LinkError};
pub use emitter::Emitter;
pub use outdoor::Outdoor;
pub use plant::Plant;
pub use wires::{Field, Ideal, Powered, Wires};
