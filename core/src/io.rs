//! The points of the controller on the pins of a board, over `embedded-hal` 1.0 and `embedded-storage`.
//!
//! A board's own code makes its pins, converters and flash and hands them over; everything about active levels, bounce,
//! resistances, shares of 10 V and torn writes is here and tested without a board. One broken pin is reported and does not keep
//! the others from being driven. Not here: clocks, watchdogs, interrupts, which pin is which.

pub mod contacts;
pub mod divider;
pub mod relays;
pub mod signals;
pub mod store;
