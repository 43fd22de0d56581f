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

/// `a * 4096 / divisors`, rounded down, in divisions of 32 bits: the remainder of each carries twelve more bits into the next.
/// Divisors count up to 2^20, and more than 2^30 reads as that; nothing for a divisor of zero.
///
/// A board without a divider for 64 bits would take ten times as long, and a hundred bytes of stack.
pub(crate) fn quotient_4096(a: u32, [first, second]: [u32; 2]) -> Option<u32> {
    let (whole, part) = divided(a, 0, first)?;
    let (whole, part) = divided(whole, part, second)?;
    Some(if whole >= 1 << 18 { 1 << 30 } else { (whole << 12) | part })
}

/// A number of 32 bits and twelve more behind them, divided.
#[inline(always)]
fn divided(whole: u32, part: u32, d: u32) -> Option<(u32, u32)> {
    let d = d.min(1 << 20);
    let (quotient, rest) = (whole.checked_div(d)?, whole.checked_rem(d)?);
    Some((quotient, ((rest << 12) | part).checked_div(d)?))
}

/// `a / b`, rounded down, for a quotient below 2^bits; more reads as the highest. Nothing for a divisor of zero.
pub(crate) fn quotient_of_bits(mut a: u64, b: u32, bits: u32) -> Option<u32> {
    if b == 0 {
        return None;
    }
    let mut q = 0;
    for bit in (0..bits).rev() {
        let part = u64::from(b) << bit;
        q <<= 1;
        if a >= part {
            a = a.saturating_sub(part);
            q |= 1;
        }
    }
    Some(q)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn short_divisions_give_what_long_ones_would(a in 0u32..1 << 31, b in 1u32..1 << 20, c in 1u32..1 << 20) {
            let long = (u64::from(a) * 4096 / u64::from(b)) / u64::from(c);
            prop_assert_eq!(quotient_4096(a, [b, c]), Some(long.min(1 << 30) as u32));
        }

        #[test]
        fn bit_by_bit_gives_what_a_long_division_would(a in 0u64..1 << 50, b in 1u32.., bits in 1u32..22) {
            let long = (a / u64::from(b)).min((1 << bits) - 1);
            prop_assert_eq!(quotient_of_bits(a, b, bits), Some(long as u32));
        }
    }

    #[test]
    fn nothing_is_divided_by_zero() {
        assert_eq!(quotient_4096(1, [0, 1]), None);
        assert_eq!(quotient_4096(1, [1, 0]), None);
        assert_eq!(quotient_of_bits(1, 0, 3), None);
        assert_eq!(quotient_4096(u32::MAX, [1, 1]), Some(1 << 30));
    }

    #[test]
    fn a_grid_moment_is_the_next_whole_multiple() {
        let (s, grid) = (Instant::from_s, Span::from_s(10));
        assert_eq!([0, 1, 9, 10, 11].map(|t| next(s(t), grid)), [10, 10, 10, 20, 20].map(s));
        assert_eq!(
            [(0, 9), (0, 10), (9, 11), (10, 20), (9, 31)].map(|(a, b)| steps(s(a), s(b), grid)),
            [0, 1, 1, 1, 3]
        );
        // One of no length counts as the shortest there is, a tenth of a second.
        assert_eq!(next(s(3), Span::ZERO), Instant::from_tenths(31));
        assert_eq!(steps(s(3), s(4), Span::ZERO), 10);
    }

    #[test]
    fn a_quotient_past_its_range_reads_as_the_highest() {
        // 2^19 + 1 over 2 is 2^18 and a half: one more than fits.
        assert_eq!(quotient_4096((1 << 19) + 1, [2, 1]), Some(1 << 30));
        assert_eq!(quotient_4096((1 << 19) - 1, [2, 1]), Some((1 << 30) - 2048));
    }
}
