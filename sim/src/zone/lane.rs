//! Four figures side by side as they are kept between steps.
//!
//! A processor of the oldest kind that the command runs on takes two of them from memory in the instruction that reckons with them
//! only where they lie at whole multiples of 16 bytes; elsewhere each costs an instruction of its own before. Hence a type of its own
//! and not `[f64; 4]`. It reads and writes as that does.

use super::lanes::{LANES, Row};
use std::{
    fmt,
    ops::{Deref, DerefMut},
};

/// One figure of each zone of a block, laid as the processor takes a row: a step reckons with it where it stands.
#[derive(Clone, Copy, Default, PartialEq)]
#[repr(align(32))]
pub(crate) struct Lane(pub(crate) [f64; LANES]);

impl Deref for Lane {
    type Target = [f64; LANES];
    #[inline(always)]
    fn deref(&self) -> &[f64; LANES] {
        &self.0
    }
}

impl DerefMut for Lane {
    #[inline(always)]
    fn deref_mut(&mut self) -> &mut [f64; LANES] {
        &mut self.0
    }
}

impl From<Row> for Lane {
    #[inline(always)]
    fn from(row: Row) -> Self {
        Self(row.to_array())
    }
}

impl fmt::Debug for Lane {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}
