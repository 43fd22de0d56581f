//! Proportional-integral law without a bump.
//!
//! On a grid `d` of 10 s, with `x` the reading and `e = target - x` in kelvins, the level moves by
//! `1000 / band * (-(x - x_last) + e * d / integral)` thousandths, with `band` in kelvins and `integral` in seconds, and is
//! held between two bounds and to a largest step. This is the incremental form: the level itself is the memory, so a bound
//! stops the integral too (no wind-up), whoever sets the level by hand or shares it out anew makes no bump, and a changed
//! target moves only the integral part. Kept in 1/1024 of a thousandth.
//! Source: velocity form of PI control with the proportional part on the measurement, any control textbook.
//! Edges: a band or an integral time of zero moves nothing. Without a reading the level holds and the next reading starts
//! anew. Of a gap longer than the catch-up bound only so many steps are made up, on the reading as it is now. An integral time
//! counts up to 29 hours (2^20 tenths of a second).

use super::{CATCH_UP, next, quotient_4096, quotient_of_bits, steps};
use crate::units::{Instant, Permille, Span, Temp, TempDelta};

/// Grid of the law.
pub const GRID: Span = Span::from_s(10);

const SHIFT: u32 = 10;

/// A level and the reading it last followed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Pi {
    level: i32,
    last: Option<Temp>,
}

/// What the law follows until the next tick.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Aim {
    pub(crate) target: Temp,
    pub(crate) reading: Option<Temp>,
    pub(crate) band: TempDelta,
    pub(crate) integral: Span,
    pub(crate) low: Permille,
    pub(crate) high: Permille,
    /// Largest move in one step.
    pub(crate) step_max: Permille,
    /// False while the level may only fall.
    pub(crate) may_rise: bool,
}

impl Aim {
    /// What a standing error moves the level in one step; nothing without a reading, a band or an integral time.
    #[inline(always)]
    fn integral_part(&self) -> Option<i32> {
        let error = self.target.above(self.reading?).centi_k();
        // 1000 thousandths << SHIFT times the grid of 100 tenths is 25 000 times 4096.
        let size = u32::from(error.unsigned_abs()).saturating_mul(25_000);
        let band = u32::try_from(self.band.centi_k()).unwrap_or(0);
        Some(signed(error, quotient_4096(size, [band, self.integral.tenths()])?))
    }

    /// What a reading that moved by `moved` moves the level.
    fn proportional_part(&self, moved: TempDelta) -> Option<i32> {
        // Most steps see the reading of the last one: no division for them.
        if moved == TempDelta::ZERO {
            return Some(0);
        }
        // 1000 thousandths << SHIFT is 250 times 4096.
        let size = u32::from(moved.centi_k().unsigned_abs()).saturating_mul(250);
        let band = u32::try_from(self.band.centi_k()).unwrap_or(0);
        Some(signed(moved.negated().centi_k(), quotient_4096(size, [band, 1])?))
    }

    /// A move of the level, held to the largest step.
    fn held(&self, by: i32) -> i32 {
        let most = fixed(self.step_max);
        by.min(if self.may_rise { most } else { 0 }).max(most.saturating_neg())
    }
}

/// `size`, 2^30 at most, with the sign of `like`.
const fn signed(like: i16, size: u32) -> i32 {
    if like < 0 { (size as i32).wrapping_neg() } else { size as i32 }
}

const _: () = assert!(GRID.tenths() * (1000 << SHIFT) == 25_000 * 4096 && 1000 << SHIFT == 250 * 4096);

const fn fixed(p: Permille) -> i32 {
    (p.get() as i32) << SHIFT
}

impl Pi {
    /// A law that stands at `level`.
    pub(crate) const fn at(level: Permille) -> Self {
        Self { level: fixed(level), last: None }
    }

    /// The level, to the nearest thousandth.
    pub const fn level(self) -> Permille {
        Permille::new((self.level.saturating_add(1 << (SHIFT - 1)) >> SHIFT) as u16)
    }

    /// The same reading followed at the level times `from / to`, inside the bounds: when a boiler joins or leaves, the sum of
    /// all stays.
    pub(crate) fn shared(self, from: u32, to: u32, low: Permille, high: Permille) -> Self {
        // A level has at most 20 bits; what it grows to past full scale is cut by the bound.
        let sum = u64::from(self.level.unsigned_abs()).saturating_mul(u64::from(from));
        let level = quotient_of_bits(sum, to, 21).map_or(self.level, |l| i32::try_from(l).unwrap_or(i32::MAX));
        Self { level: level.max(fixed(low)).min(fixed(high)), last: self.last }
    }

    /// The level after `n` grid steps, at least one. The first may see the reading move; from then on it stands, and each step
    /// moves the level by the same amount.
    #[inline(always)]
    pub(crate) fn stepped(self, aim: &Aim, n: u32) -> Self {
        let Some(x) = aim.reading else { return Self { last: None, ..self } };
        let moved = self.last.map_or(TempDelta::ZERO, |l| x.above(l));
        let (Some(p), Some(i)) = (aim.proportional_part(moved), aim.integral_part()) else { return self };
        let rest = i32::try_from(n).unwrap_or(i32::MAX).saturating_sub(1);
        let (low, high) = (fixed(aim.low), fixed(aim.high));
        let first = self.level.saturating_add(aim.held(p.saturating_add(i))).max(low).min(high);
        let level = first.saturating_add(aim.held(i).saturating_mul(rest)).max(low).min(high);
        Self { level, last: Some(x) }
    }

    /// The same, apart from its callers: of laws that few plants have.
    #[inline(never)]
    fn stepped_apart(self, aim: &Aim, n: u32) -> Self {
        self.stepped(aim, n)
    }

    /// Follows the aim over the interval from `from` to `to`.
    pub(crate) fn advance(&mut self, aim: &Aim, from: Instant, to: Instant) {
        let wanted = steps(from, to, GRID);
        if wanted > 0 {
            *self = self.stepped_apart(aim, wanted.min(CATCH_UP));
        }
    }

    /// True when the next step follows another reading than the last, or none for the first time: it moves the law whatever
    /// the aim.
    pub(crate) fn follows_another(self, reading: Option<Temp>, band: TempDelta, integral: Span) -> bool {
        match reading {
            Some(_) => self.last != reading && band > TempDelta::ZERO && !integral.is_zero(),
            None => self.last.is_some(),
        }
    }

    /// True at the lower end of the scale.
    pub(crate) const fn is_shut(self) -> bool {
        self.level == 0
    }

    /// True at the upper end of the scale.
    pub(crate) const fn is_open(self) -> bool {
        self.level == fixed(Permille::FULL)
    }

    /// True while the level stands at a bound that the error holds it to: no step moves it.
    #[inline(always)]
    pub(crate) fn held_at_a_bound(self, target: Temp, reading: Option<Temp>, low: Permille, high: Permille) -> bool {
        let (Some(x), true) = (reading, self.last == reading) else { return false };
        (target >= x && self.level == fixed(high)) || (target <= x && self.level == fixed(low))
    }

    /// When the level moves next, if the aim stays.
    pub(crate) fn due(self, aim: &Aim, now: Instant) -> Option<Instant> {
        let held = self.held_at_a_bound(aim.target, aim.reading, aim.low, aim.high);
        (!held && self.stepped_apart(aim, 1) != self).then_some(next(now, GRID))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const AIM: Aim = Aim {
        target: Temp::from_c(60),
        reading: Some(Temp::from_c(55)),
        band: TempDelta::from_k(20),
        integral: Span::from_s(600),
        low: Permille::new(200),
        high: Permille::FULL,
        step_max: Permille::FULL,
        may_rise: true,
    };

    fn after(mut pi: Pi, aim: &Aim, steps: u32) -> Pi {
        for i in 0..steps {
            pi.advance(aim, Instant::from_s(i * 10), Instant::from_s(i * 10 + 10));
        }
        pi
    }

    proptest! {
        #[test]
        fn a_step_is_due_exactly_where_it_would_move_the_law(
            last in prop::option::of(5400i16..5600), reading in prop::option::of(5400i16..5600), level in -2i32..1003,
            low in 0u16..3, high in 998u16..1001, band in 0i16..3, integral in 0u32..3, may_rise: bool
        ) {
            let (last, reading) = (last.map(Temp::from_centi_c), reading.map(Temp::from_centi_c));
            let (low, high) = (Permille::new(low), Permille::new(high));
            let pi = Pi { level: level << SHIFT, last };
            let (band, integral) = (TempDelta::from_k(band), Span::from_s(600 * integral));
            let aim = Aim { target: Temp::from_c(55), reading, band, integral, low, high, may_rise, ..AIM };
            let moves = pi.stepped(&aim, 1) != pi;
            prop_assert_eq!(pi.due(&aim, Instant::from_s(3)), moves.then_some(Instant::from_s(10)));
            prop_assert!(moves || !pi.follows_another(reading, band, integral));
        }
    }

    #[test]
    fn a_standing_error_adds_its_proportional_part_once_an_integral_time() {
        // 5 K in a band of 20 K is a quarter of full scale; the integral part adds as much every 600 s.
        let pi = after(Pi::at(Permille::new(300)), &AIM, 60);
        assert!((i32::from(pi.level().get()) - 550).abs() <= 1, "{pi:?}");
    }

    #[test]
    fn a_moving_reading_moves_the_level_by_the_band() {
        let pi = after(Pi::at(Permille::new(500)), &Aim { target: Temp::from_c(55), ..AIM }, 1);
        let fallen = Aim { target: Temp::from_c(55), reading: Some(Temp::from_c(51)), ..AIM };
        // 4 K down in a band of 20 K: 200 thousandths, and 4/20 * 10/600 of the integral part.
        assert_eq!(after(pi, &fallen, 1).level(), Permille::new(703));
    }

    #[test]
    fn a_changed_target_does_not_jump_and_a_bound_does_not_wind_up() {
        let pi = after(Pi::at(Permille::new(500)), &Aim { reading: Some(Temp::from_c(60)), ..AIM }, 1);
        let raised = after(pi, &Aim { target: Temp::from_c(70), reading: Some(Temp::from_c(60)), ..AIM }, 1);
        assert!(raised.level().get() < 510);
        let top = after(pi, &AIM, 5000);
        assert_eq!(top.level(), Permille::FULL);
        let over = Aim { reading: Some(Temp::from_c(61)), ..AIM };
        assert!(after(top, &over, 1).level().get() < 750, "leaves the bound at once");
    }

    #[test]
    fn sharing_keeps_the_sum_and_holding_keeps_the_level() {
        let pi = Pi::at(Permille::new(900));
        assert_eq!(pi.shared(1, 2, Permille::new(200), Permille::FULL).level(), Permille::new(450));
        assert_eq!(pi.shared(2, 1, Permille::new(200), Permille::FULL).level(), Permille::FULL);
        assert_eq!(pi.shared(1, 0, Permille::ZERO, Permille::FULL), pi);
        assert_eq!(after(pi, &Aim { reading: None, ..AIM }, 9).level(), Permille::new(900));
        assert_eq!(after(pi, &Aim { may_rise: false, ..AIM }, 99).level(), Permille::new(900));
        assert_eq!(after(pi, &Aim { band: TempDelta::ZERO, ..AIM }, 9).level(), Permille::new(900));
    }

    #[test]
    fn it_settles_at_its_target() {
        let at_target = Aim { reading: Some(AIM.target), ..AIM };
        let pi = after(Pi::at(Permille::new(400)), &at_target, 1);
        assert_eq!(pi.due(&at_target, Instant::from_s(10)), None);
        assert_eq!(pi.due(&AIM, Instant::from_s(13)), Some(Instant::from_s(20)));
    }

    #[test]
    fn another_reading_moves_the_law_where_there_is_one_to_move() {
        let (band, integral) = (TempDelta::from_k(20), Span::from_s(600));
        let at = |t| Some(Temp::from_c(t));
        let pi = Pi { level: 0, last: at(55) };
        assert!(pi.follows_another(at(56), band, integral));
        assert!(!pi.follows_another(at(55), band, integral));
        assert!(pi.follows_another(None, band, integral), "its sensor is lost");
        assert!(!Pi { level: 0, last: None }.follows_another(None, band, integral));
        assert!(
            !pi.follows_another(at(56), TempDelta::ZERO, integral) && !pi.follows_another(at(56), band, Span::ZERO)
        );
    }

    #[test]
    fn a_level_stands_at_the_bound_that_the_error_holds_it_to() {
        let held = |level: u16, reading: i16| {
            let reading = Some(Temp::from_c(reading));
            let pi = Pi { level: fixed(Permille::new(level)), last: reading };
            pi.held_at_a_bound(AIM.target, reading, AIM.low, AIM.high)
        };
        // The target is 60 degrees, the bounds are 200 and 1000.
        assert!(held(1000, 55) && held(1000, 60) && !held(1000, 61));
        assert!(held(200, 65) && held(200, 60) && !held(200, 59));
        assert!(!held(600, 60) && !held(600, 55));
    }
}
