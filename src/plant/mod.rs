//! The plant file: from text to a plant that means something, with every fault of the file found in one run.
//!
//! * [`quantity`]: units, one table for reading and printing.
//! * [`checked`]: the plant as it is meant, which the back ends read.
//! * [`places`]: where in the file each field stands, for findings made later.

pub mod checked;
pub mod places;
pub mod quantity;
