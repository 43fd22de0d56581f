//! Laws that move with time: integer arithmetic on fixed grids.
//!
//! A law is stepped at the whole multiples of its grid on the controller's clock, in order, with what it followed since the
//! last tick. A host that leaves out ticks does not change it: a law that still moves makes the next grid moment due, and a
//! law that has settled gives the same value however often it is stepped. After a longer gap at most [`CATCH_UP`] steps are
//! made up; past that the law restarts from its reading, because what happened in between is not known.

pub mod curve;
pub mod filter;
pub mod pi;
pub mod trim;

use crate::units::{Instant, Span};

/// Steps that are made up after a gap. Our choice: it bounds the work of a tick.
pub const CATCH_UP: u32 = 8;

/// Grid moments in the interval from `from` (not counted) to `to` (counted).
pub(crate) const fn steps(from: Instant, to: Instant, grid: Span) -> u32 {
    let g = if grid.tenths() == 0 { 1 } else { grid.tenths() };
    match (to.tenths().checked_div(g), from.tenths().checked_div(g)) {
        (Some(a), Some(b)) => a.saturating_sub(b),
        _ => 0,
    }
}

/// The next grid moment after `now`.
pub(crate) const fn next(now: Instant, grid: Span) -> Instant {
    let g = if grid.tenths() == 0 { 1 } else { grid.tenths() };
    match now.tenths().checked_rem(g) {
        Some(past) => now.after(Span::from_tenths(g.saturating_sub(past))),
        None => now,
    }
}
