//! The plant file: from text to a plant that means something, with every fault of the file found in one run.
//!
//! * [`quantity`]: units, one table for reading and printing.
//! * [`checked`]: the plant as it is meant, which the back ends read.
//! * [`places`]: where in the file each field stands, for findings made later.
//! * [`read`]: from bytes to a plant, by one set of questions that also writes the [`schema`].
//! * [`lower`]: from the plant to physics, control and wiring.

pub(crate) mod carrier;
pub mod checked;
mod cursor;
mod doubts;
mod file;
pub(crate) mod floors;
mod guards;
mod idle;
mod in_sight;
mod limits_set;
pub mod load;
pub mod lower;
mod odd;
pub mod places;
pub mod quantity;
mod rates;
pub mod read;
pub mod reference;
pub mod schema;
mod sense;
#[cfg(test)]
mod slips;
mod syntax;
pub(crate) mod told;
mod whole;

pub(crate) use cursor::nearest;
pub use load::{CurveOrigin, Loaded, ResetCurve, load};
pub use read::Refusal;
