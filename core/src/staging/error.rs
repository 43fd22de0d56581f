//! The sums of supply error over time.
//!
//! On a grid of 10 s, with `e` the supply's distance beyond the band in hundredths of a kelvin: `sum += e * 10 s`, kept in
//! hundredths of a kelvin-second. The sum upwards starts over when the supply reaches its target from below, the sum
//! downwards when it reaches it from above. Both stop at the size that counts, so that a standing error settles.
//! Source: the integral of error over time is common practice; grid and reset are our choice.

use crate::{
    law::{CATCH_UP, next, steps},
    units::{Instant, Span, TempDelta},
};

/// Grid of the sums.
pub const GRID: Span = Span::from_s(10);

/// What the sums follow until the next tick.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Basis {
    /// Distance from supply up to target; nothing while no heat is wanted.
    pub(crate) error: Option<TempDelta>,
    /// The sum upwards may grow.
    pub(crate) up: bool,
    /// The sum downwards may grow.
    pub(crate) down: bool,
}

/// Shortfall and excess added up, in hundredths of a kelvin-second.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Sums {
    /// Shortfall beyond the band.
    pub up: u32,
    /// Excess beyond the band.
    pub down: u32,
}

/// The sizes that count and the band, from the configuration.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sizes {
    pub(crate) band: TempDelta,
    pub(crate) up_k_s: u32,
    pub(crate) down_k_s: u32,
}

impl Sums {
    /// True once the shortfall has added up to this many kelvin-seconds.
    pub(crate) const fn up_reached(&self, k_s: u32) -> bool {
        self.up >= k_s.saturating_mul(100)
    }

    /// True once the excess has added up to this many kelvin-seconds.
    pub(crate) const fn down_reached(&self, k_s: u32) -> bool {
        self.down >= k_s.saturating_mul(100)
    }

    /// The sums after `n` steps on a standing error, at least one and at most [`CATCH_UP`]: each adds as much as the first, up
    /// to the size that counts.
    fn stepped(self, basis: Basis, sizes: Sizes, n: u32) -> Self {
        let Some(error) = basis.error else { return Self::default() };
        let seconds = GRID.whole_s().saturating_mul(n);
        let add = |beyond: i32| u32::try_from(beyond).unwrap_or(0).saturating_mul(seconds);
        let (e, band) = (i32::from(error.centi_k()), i32::from(sizes.band.centi_k()));
        let up = match e {
            ..=0 => 0,
            _ if basis.up => self.up.saturating_add(add(e.saturating_sub(band))).min(sizes.up_k_s.saturating_mul(100)),
            _ => self.up,
        };
        let down = match e {
            0.. => 0,
            _ if basis.down => {
                let excess = e.saturating_neg().saturating_sub(band);
                self.down.saturating_add(add(excess)).min(sizes.down_k_s.saturating_mul(100))
            }
            _ => self.down,
        };
        Self { up, down }
    }

    /// Follows the error held over the interval from `from` to `to`.
    pub(crate) fn advance(&mut self, basis: Basis, sizes: Sizes, from: Instant, to: Instant) {
        let wanted = steps(from, to, GRID);
        if wanted == 0 {
            return;
        }
        *self = self.stepped(basis, sizes, wanted.min(CATCH_UP));
        if wanted > CATCH_UP && self.stepped(basis, sizes, 1) != *self {
            *self = Self::default();
        }
    }

    /// When a sum moves next, if the error stays.
    pub(crate) fn due(self, basis: Basis, sizes: Sizes, now: Instant) -> Option<Instant> {
        (self.stepped(basis, sizes, 1) != self).then_some(next(now, GRID))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SIZES: Sizes = Sizes { band: TempDelta::from_k(2), up_k_s: 1000, down_k_s: 500 };

    fn after(basis: Basis, seconds: u32) -> Sums {
        let mut s = Sums::default();
        for t in 0..seconds {
            s.advance(basis, SIZES, Instant::from_s(t), Instant::from_s(t + 1));
        }
        s
    }

    proptest! {
        #[test]
        fn steps_made_up_in_one_are_those_made_one_by_one(
            error in -900i16..900, up: bool, down: bool, sum in 0u32..110_000, below: bool, n in 1..=CATCH_UP
        ) {
            let basis = Basis { error: Some(TempDelta::from_centi_k(error)), up, down };
            let sums = if below { Sums { up: sum, down: 0 } } else { Sums { up: 0, down: sum } };
            let each = (0..n).fold(sums, |s, _| s.stepped(basis, SIZES, 1));
            prop_assert_eq!(sums.stepped(basis, SIZES, n), each);
        }
    }

    #[test]
    fn a_shortfall_of_five_kelvins_beyond_the_band_counts_after_200_seconds() {
        let basis = Basis { error: Some(TempDelta::from_k(7)), up: true, down: true };
        assert!(!after(basis, 199).up_reached(1000));
        assert!(after(basis, 200).up_reached(1000));
        assert_eq!(after(basis, 100_000), after(basis, 200), "a standing error settles");
        assert_eq!(after(basis, 500).down, 0);
    }

    #[test]
    fn nothing_counts_inside_the_band_or_while_it_may_not() {
        for (error, up) in [(TempDelta::from_k(2), true), (TempDelta::from_k(9), false)] {
            assert_eq!(after(Basis { error: Some(error), up, down: true }, 1000), Sums::default());
        }
        let excess = Basis { error: Some(TempDelta::from_k(-3)), up: true, down: true };
        assert!(after(excess, 500).down_reached(500) && !after(excess, 490).down_reached(500));
        assert!(!after(Basis { down: false, ..excess }, 900).down_reached(500));
    }

    #[test]
    fn crossing_the_target_starts_over() {
        let mut s = Sums { up: 5000, down: 0 };
        let basis = Basis { error: Some(TempDelta::ZERO), up: true, down: true };
        s.advance(basis, SIZES, Instant::ZERO, Instant::from_s(10));
        assert_eq!(s, Sums::default());
    }

    #[test]
    fn each_sum_starts_over_at_the_target_and_past_it_and_stands_where_it_may_not_grow() {
        let from = |sums: Sums, error_k: i16, grows: bool| {
            let basis = Basis { error: Some(TempDelta::from_k(error_k)), up: grows, down: grows };
            sums.stepped(basis, SIZES, 1)
        };
        let down = Sums { up: 0, down: 5000 };
        assert_eq!(
            [from(down, 0, true), from(down, 1, true)],
            [Sums::default(); 2],
            "the supply came down to its target"
        );
        // 3 K over, 1 K of it past the band, for ten seconds.
        assert_eq!(from(down, -3, true), Sums { up: 0, down: 6000 });
        assert_eq!(from(down, -3, false), down);
        assert_eq!(from(down, -1, true), down, "inside the band");
        let up = Sums { up: 5000, down: 0 };
        assert_eq!([from(up, 0, true), from(up, -1, true)], [Sums::default(); 2]);
        assert_eq!([from(up, 3, true), from(up, 3, false), from(up, 1, true)], [Sums { up: 6000, down: 0 }, up, up]);
    }

    #[test]
    fn after_a_long_gap_a_sum_that_has_come_to_rest_stays() {
        let after = |error_k: i16, sums: Sums| {
            let mut s = sums;
            let basis = Basis { error: Some(TempDelta::from_k(error_k)), up: true, down: true };
            s.advance(basis, SIZES, Instant::ZERO, Instant::from_s(10 * (CATCH_UP + 1)));
            s
        };
        let full = Sums { up: 100_000, down: 0 };
        assert_eq!(after(9, full), full, "at the size that counts");
        assert_eq!(after(1, Sums { up: 700, down: 0 }), Sums { up: 700, down: 0 }, "inside the band");
        assert_eq!(after(9, Sums::default()), Sums::default(), "it was still growing: begins anew");
    }
}
