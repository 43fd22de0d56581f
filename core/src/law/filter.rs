//! First-order filter of a temperature.
//!
//! `y += (x - y) * d / (tau + d)` at every grid moment, with `x` the reading, `d` the grid of 60 s and `tau` the time
//! constant (a week at most), both in counts of 100 ms; `y` is kept in 1/4096 of a hundredth of a degree. This is the
//! backward Euler form of `dy/dt = (x - y) / tau`: it cannot overshoot at any `tau`. Against the exact response `1 - exp(-t / tau)` it lags by half
//! a grid step. A time constant of zero follows the reading in its own tick.
//! Source: first-order low-pass, any control textbook. Edges: preset to the first reading; restarts from the reading after a
//! gap longer than the catch-up bound, unless it had settled.

use super::{CATCH_UP, next, steps};
use crate::units::{Instant, Span, Temp};

/// Grid of the filter.
pub const GRID: Span = Span::from_s(60);

/// 1/4096 of a hundredth of a degree.
const SHIFT: u32 = 12;

/// Longest time constant: a longer one counts as this. Our choice: past any building, and short enough for 32 bits.
pub const TAU_MAX: Span = Span::from_h(7 * 24);
const _: () = assert!((TAU_MAX.tenths() as u64 + 600) * 601 < u32::MAX as u64);

/// A filtered temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Filter {
    y: i32,
}

impl Filter {
    /// A filter that stands at `t`.
    pub const fn preset(t: Temp) -> Self {
        Self { y: (t.centi_c() as i32) << SHIFT }
    }

    /// The filtered temperature, to the nearest hundredth.
    pub const fn value(self) -> Temp {
        Temp::from_centi_c((self.y.saturating_add(1 << (SHIFT - 1)) >> SHIFT) as i16)
    }

    /// One grid step towards `x`.
    #[inline(never)]
    const fn stepped(self, x: Temp, tau: Span) -> Self {
        let gap = ((x.centi_c() as i32) << SHIFT).saturating_sub(self.y);
        let total = GRID.plus(if tau.tenths() > TAU_MAX.tenths() { TAU_MAX } else { tau }).tenths();
        // `gap * d / total` to the nearest, without leaving 32 bits: whole multiples of `total` first.
        let size = gap.unsigned_abs();
        let (Some(whole), Some(rest)) = (size.checked_div(total), size.checked_rem(total)) else { return self };
        let part = rest.saturating_mul(GRID.tenths()).saturating_add(total / 2);
        let Some(part) = part.checked_div(total) else { return self };
        let by = whole.saturating_mul(GRID.tenths()).saturating_add(part) as i32;
        Self { y: if gap < 0 { self.y.saturating_sub(by) } else { self.y.saturating_add(by) } }
    }

    /// True where [`CATCH_UP`] steps cannot bring the filter to rest: no need to make them. A step leaves at least half of the
    /// gap, rounded down, while `tau` is no shorter than the grid, and rest is where it moves the filter by less than a half.
    fn far_from(self, x: Temp, tau: Span) -> bool {
        const TWICE: u32 = 2 * GRID.tenths();
        let rest = GRID.plus(tau.min(TAU_MAX)).tenths() / TWICE;
        let gap = Self::preset(x).y.saturating_sub(self.y).unsigned_abs();
        tau >= GRID && gap >> CATCH_UP > rest.saturating_add(1)
    }

    /// Follows `x` over the interval from `from` to `to`.
    pub fn advance(&mut self, x: Temp, tau: Span, from: Instant, to: Instant) {
        if tau.is_zero() {
            *self = Self::preset(x);
            return;
        }
        let wanted = steps(from, to, GRID);
        if wanted > CATCH_UP && self.far_from(x, tau) {
            *self = Self::preset(x);
            return;
        }
        for _ in 0..wanted.min(CATCH_UP) {
            let y = self.stepped(x, tau);
            if y == *self {
                return;
            }
            *self = y;
        }
        if wanted > CATCH_UP && self.stepped(x, tau) != *self {
            *self = Self::preset(x);
        }
    }

    /// When the filter moves next, if `x` stays; `None` once it has settled.
    pub fn due(self, x: Temp, tau: Span, now: Instant) -> Option<Instant> {
        if tau.is_zero() {
            return (self != Self::preset(x)).then_some(now);
        }
        (self.stepped(x, tau) != self).then_some(next(now, GRID))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_long_gap_ends_where_steps_made_one_by_one_would(y in -3000i16..6000, off in -2_000_000i32..2_000_000,
            shift in 0u32..16, tau in 1u32..2_000_000) {
            let (tau, x) = (Span::from_tenths(tau), Temp::from_centi_c(y));
            let start = Filter { y: Filter::preset(x).y + (off >> shift) };
            let eight = (0..CATCH_UP).fold(start, |f, _| f.stepped(x, tau));
            let want = if eight.stepped(x, tau) == eight { eight } else { Filter::preset(x) };
            let mut f = start;
            f.advance(x, tau, Instant::ZERO, Instant::from_s(60 * (CATCH_UP + 1)));
            prop_assert_eq!(f, want);
        }
    }

    #[test]
    fn the_value_is_the_nearest_hundredth_and_no_time_constant_is_longer_than_the_longest() {
        let half = 1 << (SHIFT - 1);
        let value = |over: i32| Filter { y: Filter::preset(Temp::from_c(20)).y + over }.value().centi_c();
        assert_eq!([value(half - 1), value(half), value(-half), value(-half - 1)], [2000, 2001, 2000, 1999]);
        let step = |tau: Span| Filter::preset(Temp::from_c(0)).stepped(Temp::from_c(100), tau);
        assert_eq!(step(TAU_MAX.plus(Span::from_h(100))), step(TAU_MAX));
        assert_ne!(step(TAU_MAX.minus(Span::from_h(1))), step(TAU_MAX));
    }

    /// The value after `s` seconds of a step from 0 to 100 °C, stepped grid by grid.
    fn step_response(tau_s: u32, s: u32) -> i16 {
        let mut f = Filter::preset(Temp::from_c(0));
        let mut t = 0;
        while t < s {
            f.advance(Temp::from_c(100), Span::from_s(tau_s), Instant::from_s(t), Instant::from_s(t + 60));
            t += 60;
        }
        f.value().centi_c()
    }

    #[test]
    fn the_step_response_is_that_of_a_first_order_lag() {
        // First-order step response: 63.21 % after one time constant, 86.47 % after two, 95.02 % after three.
        for (taus, want) in [(1, 6321), (2, 8647), (3, 9502)] {
            let got = step_response(4 * 3600, taus * 4 * 3600);
            assert!((got - want).abs() <= 20, "{taus} time constants: {got} for {want}");
        }
    }

    #[test]
    fn a_step_is_the_nearest_part_of_the_way() {
        // Against the same quotient in wide integers: gap * d / (tau + d), halves away from zero.
        for from_c in [-40i16, -1, 0, 3, 50, 100] {
            for x_centi_c in [-4000i16, -37, 0, 1, 2999, 9000] {
                for tau_s in [1u32, 60, 119, 3600, 14_400] {
                    let f = Filter::preset(Temp::from_c(from_c));
                    let x = Temp::from_centi_c(x_centi_c);
                    let gap = (i128::from(x.centi_c()) << SHIFT) - i128::from(f.y);
                    let total = i128::from(GRID.plus(Span::from_s(tau_s)).tenths());
                    let by = (2 * gap.abs() * i128::from(GRID.tenths()) + total) / (2 * total);
                    let want = i128::from(f.y) + gap.signum() * by;
                    assert_eq!(i128::from(f.stepped(x, Span::from_s(tau_s)).y), want, "{from_c} {x_centi_c} {tau_s}");
                }
            }
        }
    }

    #[test]
    fn without_a_time_constant_it_moves_at_once_and_then_rests() {
        let (x, now) = (Temp::from_c(20), Instant::from_s(7));
        assert_eq!(Filter::preset(Temp::from_c(19)).due(x, Span::ZERO, now), Some(now));
        assert_eq!(Filter::preset(x).due(x, Span::ZERO, now), None);
    }

    #[test]
    fn it_settles_and_then_is_due_no_more() {
        let (x, tau) = (Temp::from_centi_c(-1234), Span::from_h(2));
        let mut f = Filter::preset(Temp::from_c(30));
        let mut t = Instant::ZERO;
        let mut n = 0;
        while let Some(d) = f.due(x, tau, t) {
            f.advance(x, tau, t, d);
            t = d;
            n += 1;
            assert!(n < 10_000, "never settles");
        }
        assert_eq!(f.value(), x);
        // Settled: a year in one go changes nothing.
        let before = f;
        f.advance(x, tau, t, t.after(Span::from_h(8760)));
        assert_eq!(f, before);
    }

    #[test]
    fn a_short_gap_is_made_up_and_a_long_one_restarts() {
        let (x, tau) = (Temp::from_c(50), Span::from_h(1));
        let (mut a, mut b) = (Filter::preset(Temp::from_c(0)), Filter::preset(Temp::from_c(0)));
        for m in 0..8 {
            a.advance(x, tau, Instant::from_s(m * 60), Instant::from_s(m * 60 + 60));
        }
        b.advance(x, tau, Instant::ZERO, Instant::from_s(480));
        assert_eq!(a, b);
        b.advance(x, tau, Instant::from_s(480), Instant::from_s(480 + 540));
        assert_eq!(b, Filter::preset(x), "nine steps are more than are made up");
    }

    #[test]
    fn no_filter_follows_at_once() {
        let mut f = Filter::preset(Temp::from_c(0));
        f.advance(Temp::from_c(9), Span::ZERO, Instant::ZERO, Instant::ZERO);
        assert_eq!(f.value(), Temp::from_c(9));
    }
}
