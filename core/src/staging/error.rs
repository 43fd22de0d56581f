//! The sums of supply error over time.
//!
//! On a grid of 10 s, with `e` the supply's distance beyond the band in hundredths of a kelvin: `sum += e * 10 s`, kept in
//! hundredths of a kelvin-second. The sum upwards starts over when the supply reaches its target from below, the sum
//! downwards when it reaches it from above. Both stop at the size that counts, so that a standing error settles.
//!
//! A recovery under way gets credit. `past` follows the shortfall `s` by a quarter of what lies between them each step, so that in
//! a steady recovery `past - s` is what the supply gains in 40 s. While at that pace the supply would be back in its band
//! within [`IN_TIME`] (`(past - s) * IN_TIME / 40 s > s - band`), the sum upwards neither grows nor counts: no boiler is added for
//! what the others make good by themselves. Back in the band it starts over. A supply that stands or falls has no pace: then a
//! shortfall counts as if there had never been a recovery. Once the pace flags, what has added up counts at once.
//!
//! Source: the integral of error over time is common practice; grid, reset, pace and time are our choice. Ten minutes are what
//! staging by load waits too before a boiler is added (`LoadRules`).

use crate::{
    law::{CATCH_UP, next, steps},
    units::{Instant, Span, TempDelta},
};

/// Grid of the sums.
pub const GRID: Span = Span::from_s(10);

/// A recovery that takes no longer than this at its pace brings no other boiler.
pub const IN_TIME: Span = Span::from_min(10);
/// `past` follows by this part of what lies between in each step.
const FOLLOWS: i32 = 4;
/// What is gained in the time that `past` lies behind, times this, is gained in [`IN_TIME`].
const PACES: i32 = (IN_TIME.tenths() / GRID.tenths()) as i32 / FOLLOWS;
const _: () = assert!(PACES == 15);
/// From further off than this, in hundredths of a kelvin, `past` does not come to rest in the steps that are made up after a gap: ten
/// take away two, two and then one each, eight in all.
const SETTLES: i32 = 10;

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
    /// The shortfall as it was a little while ago.
    pub past: TempDelta,
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

    /// The sums after `n` steps on a standing error, at least one and at most [`CATCH_UP`].
    #[inline(never)]
    fn stepped(mut self, basis: Basis, sizes: Sizes, n: u32) -> Self {
        let Some(error) = basis.error else { return Self::default() };
        let (e, band) = (i32::from(error.centi_k()), i32::from(sizes.band.centi_k()));
        let seconds = GRID.whole_s();
        let add = |beyond: i32| u32::try_from(beyond).unwrap_or(0).saturating_mul(seconds);
        if e <= 0 {
            let excess = e.saturating_neg().saturating_sub(band);
            let down = match e {
                0 => 0,
                _ if basis.down => {
                    let more = add(excess).saturating_mul(n);
                    self.down.saturating_add(more).min(sizes.down_k_s.saturating_mul(100))
                }
                _ => self.down,
            };
            return Self { up: 0, down, past: TempDelta::ZERO };
        }
        self.down = 0;
        if !basis.up {
            return Self { past: error, ..self };
        }
        let (more, most) = (add(e.saturating_sub(band)), sizes.up_k_s.saturating_mul(100));
        let mut left = n;
        // While the past shortfall is another than this one, each step is looked at; from there on all are alike.
        while left > 0 && self.past != error {
            left = left.saturating_sub(1);
            let gained = i32::from(self.past.centi_k()).saturating_sub(e);
            let beyond = e.saturating_sub(band);
            let recovers = gained.saturating_mul(PACES) > beyond.max(0) && self.past > sizes.band;
            self.up = match recovers {
                false => self.up.saturating_add(more).min(most),
                true if beyond <= 0 => 0,
                true => self.up.min(most.saturating_sub(1)),
            };
            self.past = if self.past <= TempDelta::ZERO {
                // Where nothing was short yet there is no pace.
                error
            } else {
                let by = gained.checked_div(FOLLOWS).unwrap_or(0);
                let by = if by == 0 { gained.signum() } else { by };
                self.past.plus(TempDelta::from_centi_k_saturating(by.saturating_neg()))
            };
        }
        if left > 0 {
            self.up = self.up.saturating_add(more.saturating_mul(left)).min(most);
        }
        self
    }

    /// Follows the error held over the interval from `from` to `to`.
    pub(crate) fn advance(&mut self, basis: Basis, sizes: Sizes, from: Instant, to: Instant) {
        let wanted = steps(from, to, GRID);
        if wanted == 0 {
            return;
        }
        let under_way = |e: TempDelta| {
            let apart = i32::from(self.past.centi_k()).saturating_sub(i32::from(e.centi_k()));
            e.min(self.past) > TempDelta::ZERO && basis.up && apart.abs() > SETTLES
        };
        if wanted > CATCH_UP && basis.error.is_some_and(under_way) {
            *self = Self::default();
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
            error in -900i16..900, up: bool, down: bool, sum in 0u32..110_000, below: bool, past in 0i16..900,
            level: bool, n in 1..=CATCH_UP
        ) {
            let basis = Basis { error: Some(TempDelta::from_centi_k(error)), up, down };
            let past = TempDelta::from_centi_k(if level { error.max(0) } else { past });
            let sums = if below { Sums { up: sum, down: 0, past } } else { Sums { up: 0, down: sum, past } };
            let each = (0..n).fold(sums, |s, _| s.stepped(basis, SIZES, 1));
            prop_assert_eq!(sums.stepped(basis, SIZES, n), each);
            // Past the steps that are made up they begin anew, unless they have come to rest.
            let each = (0..CATCH_UP).fold(sums, |s, _| s.stepped(basis, SIZES, 1));
            let want = if each.stepped(basis, SIZES, 1) == each { each } else { Sums::default() };
            let mut after = sums;
            after.advance(basis, SIZES, Instant::ZERO, Instant::from_s(10 * (CATCH_UP + n)));
            prop_assert_eq!(after, want);
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
            let s = after(Basis { error: Some(error), up, down: true }, 1000);
            assert_eq!((s.up, s.down), (0, 0));
        }
        let excess = Basis { error: Some(TempDelta::from_k(-3)), up: true, down: true };
        assert!(after(excess, 500).down_reached(500) && !after(excess, 490).down_reached(500));
        assert!(!after(Basis { down: false, ..excess }, 900).down_reached(500));
    }

    #[test]
    fn crossing_the_target_starts_over() {
        let mut s = Sums { up: 5000, ..Sums::default() };
        let basis = Basis { error: Some(TempDelta::ZERO), up: true, down: true };
        s.advance(basis, SIZES, Instant::ZERO, Instant::from_s(10));
        assert_eq!(s, Sums::default());
    }

    fn sums(up: u32, down: u32) -> Sums {
        Sums { up, down, ..Sums::default() }
    }

    #[test]
    fn each_sum_starts_over_at_the_target_and_past_it_and_stands_where_it_may_not_grow() {
        let from = |s: Sums, error_k: i16, grows: bool| {
            let basis = Basis { error: Some(TempDelta::from_k(error_k)), up: grows, down: grows };
            Sums { past: TempDelta::ZERO, ..s.stepped(basis, SIZES, 1) }
        };
        let down = sums(0, 5000);
        assert_eq!(
            [from(down, 0, true), from(down, 1, true)],
            [Sums::default(); 2],
            "the supply came down to its target"
        );
        // 3 K over, 1 K of it past the band, for ten seconds.
        assert_eq!(from(down, -3, true), sums(0, 6000));
        assert_eq!(from(down, -3, false), down);
        assert_eq!(from(down, -1, true), down, "inside the band");
        let up = sums(5000, 0);
        assert_eq!([from(up, 0, true), from(up, -1, true)], [Sums::default(); 2]);
        assert_eq!([from(up, 3, true), from(up, 3, false), from(up, 1, true)], [sums(6000, 0), up, up]);
    }

    #[test]
    fn after_a_long_gap_a_sum_that_has_come_to_rest_stays() {
        let after = |error_k: i16, mut s: Sums| {
            let basis = Basis { error: Some(TempDelta::from_k(error_k)), up: true, down: true };
            s.advance(basis, SIZES, Instant::ZERO, Instant::from_s(10 * (CATCH_UP + 1)));
            Sums { past: TempDelta::ZERO, ..s }
        };
        let full = sums(100_000, 0);
        assert_eq!(after(9, full), full, "at the size that counts");
        assert_eq!(after(1, sums(700, 0)), sums(700, 0), "inside the band");
        assert_eq!(after(9, Sums::default()), Sums::default(), "it was still growing: begins anew");
    }

    /// A shortfall in hundredths of a kelvin by second; the second in which it has counted.
    fn counted(short: impl Fn(u32) -> i32, within: u32) -> Option<u32> {
        let mut s = Sums::default();
        (1..within).find(|t| {
            let error = TempDelta::from_centi_k_saturating(short(t - 1));
            let basis = Basis { error: Some(error), up: true, down: true };
            s.advance(basis, SIZES, Instant::from_s(t - 1), Instant::from_s(*t));
            s.up_reached(SIZES.up_k_s)
        })
    }

    #[test]
    fn a_recovery_that_gets_there_by_itself_within_ten_minutes_does_not_count() {
        // From 9 K short at 1.7 K (3 °F) a minute, and on past the target.
        assert_eq!(counted(|t| 900 - (t as i32) * 170 / 60, 1200), None);
        // One that stands counts: 15 steps of 7 K beyond the band.
        assert_eq!(counted(|_| 900, 1200), Some(150));
        // From 30 K short at 5 K a minute: what adds up before the pace is seen waits.
        assert_eq!(counted(|t| 3000 - (t as i32) * 500 / 60, 1200), None);
        // Too slow by half.
        assert!(counted(|t| 3000 - (t as i32) * 130 / 60, 1200).is_some_and(|t| t < 60));
    }

    #[test]
    fn a_recovery_that_flags_counts_at_once_and_a_supply_that_falls_counts_as_one_that_stands() {
        // It stops halfway, 15 K short.
        let flags = counted(|t| 3000 - (t as i32).min(180) * 500 / 60, 1200);
        assert!(flags.is_some_and(|t| (180..=360).contains(&t)), "{flags:?}");
        let falls = |t: u32| (t as i32) * 2;
        // By hand: beyond the band from 100 s on, 0.02 K/s, half of 0.02 t^2 is 1000 K s after 316 s more.
        let at = counted(falls, 1200);
        assert!(at.is_some_and(|t| (400..=430).contains(&t)), "{at:?}");
        // Back in the band it starts over.
        let mut s = Sums { up: 90_000, down: 0, past: TempDelta::from_k(4) };
        s.advance(
            Basis { error: Some(TempDelta::from_k(1)), up: true, down: true },
            SIZES,
            Instant::ZERO,
            Instant::from_s(10),
        );
        assert_eq!(s.up, 0);
    }

    #[test]
    fn a_shortfall_settles_in_the_steps_that_are_made_up_from_ten_hundredths_off_and_from_no_further() {
        let settles = |past: i16, error: i16| {
            let basis = Basis { error: Some(TempDelta::from_centi_k(error)), up: true, down: true };
            let from = Sums { up: 0, down: 0, past: TempDelta::from_centi_k(past) };
            from.stepped(basis, SIZES, CATCH_UP).past == TempDelta::from_centi_k(error)
        };
        assert_eq!(
            [settles(110, 100), settles(90, 100), settles(111, 100), settles(89, 100)],
            [true, true, false, false]
        );
        assert_eq!(SETTLES, 10);
    }

    #[test]
    fn as_many_steps_as_are_made_up_are_made_up() {
        let basis = Basis { error: Some(TempDelta::from_k(3)), up: true, down: true };
        let mut s = Sums::default();
        s.advance(basis, SIZES, Instant::ZERO, Instant::from_s(10 * CATCH_UP));
        // A kelvin beyond the band.
        assert_eq!(s.up, 1000 * CATCH_UP);
    }

    #[test]
    fn a_pace_that_just_gets_there_is_none_and_at_the_band_a_recovery_is_over() {
        let next = |past: i16, error: i16| {
            let basis = Basis { error: Some(TempDelta::from_centi_k(error)), up: true, down: true };
            Sums { up: 5000, down: 0, past: TempDelta::from_centi_k(past) }.stepped(basis, SIZES, 1).up
        };
        // A hundredth gained in the time that `past` lies behind is fifteen in ten minutes: those that are missing.
        assert_eq!([next(216, 215), next(216, 214)], [5150, 5000]);
        // A shortfall that never was beyond the band is no recovery; one that is back at it has recovered.
        assert_eq!([next(200, 100), next(201, 100), next(300, 200), next(300, 201)], [5000, 0, 0, 5000]);
    }
}
