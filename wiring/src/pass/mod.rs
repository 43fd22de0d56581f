//! The passes, each a function from one plain type to the next. [`crate::plan::plan`] shows them in order.

pub mod balance;
pub mod boards;
pub mod check;
pub mod checkout;
pub mod choose;
pub mod circuits;
pub mod conductors;
pub mod devices;
pub mod grounding;
pub mod labels;
pub mod lockout;
pub mod loom;
pub mod materials;
mod movers;
mod orders;
pub mod potentials;
pub mod protection;
pub mod raceways;
pub mod reduced;
pub mod schedule;
#[cfg(test)]
mod shop;
mod shutoff;
pub mod strips;
pub mod sundries;
