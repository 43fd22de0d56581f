//! Quantities of the control logic: integers whose unit is in the type.
//!
//! * [`Temp`] is a point on the Celsius scale and [`TempDelta`] a difference, both in hundredths of a kelvin
//!   (range -327.68 to +327.67). Two points subtract to a difference; points never add.
//! * [`Instant`] and [`Span`] count 100 ms in a `u32`: 13.6 years before they saturate. Milliseconds in a `u32`
//!   would wrap after 50 days.
//! * [`Permille`] is a share of full scale, 0 to 1000: firing rate, valve opening, 0-10 V output.
//! * [`CivilMinute`] is wall-clock time: minutes since Saturday 2000-01-01 00:00, local. It may be absent and may jump;
//!   only calendars read it, never an interval.
//!
//! Every operation saturates at the edge of its range: nothing here can overflow or panic.

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident($int:ty)) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(transparent))]
        #[cfg_attr(feature = "defmt", derive(defmt::Format))]
        pub struct $name($int);
    };
}

/// Saturates an intermediate result into the 16 bits of a temperature.
const fn sat16(v: i32) -> i16 {
    if v > i16::MAX as i32 {
        i16::MAX
    } else if v < i16::MIN as i32 {
        i16::MIN
    } else {
        v as i16
    }
}

quantity! {
    /// A temperature in hundredths of a degree Celsius.
    Temp(i16)
}
quantity! {
    /// A temperature difference in hundredths of a kelvin.
    TempDelta(i16)
}
quantity! {
    /// A moment on the controller's own clock, which starts at zero at power-up and never jumps: 100 ms a count.
    Instant(u32)
}
quantity! {
    /// A length of time: 100 ms a count.
    Span(u32)
}
/// A share of full scale, 0 to 1000.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(from = "u16"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Permille(u16);

/// From thousandths; held to 1000.
impl From<u16> for Permille {
    fn from(v: u16) -> Self {
        Self::new(v)
    }
}

quantity! {
    /// Wall-clock time: minutes since Saturday 2000-01-01 00:00, local time as the clock on the wall shows it.
    CivilMinute(u32)
}

impl Temp {
    /// From hundredths of a degree Celsius.
    pub const fn from_centi_c(v: i16) -> Self {
        Self(v)
    }
    /// From whole degrees Celsius; saturates outside -327 to +327.
    pub const fn from_c(v: i16) -> Self {
        Self(sat16((v as i32).saturating_mul(100)))
    }
    /// Hundredths of a degree Celsius.
    pub const fn centi_c(self) -> i16 {
        self.0
    }
    /// This point moved by a difference.
    pub const fn plus(self, d: TempDelta) -> Self {
        Self(self.0.saturating_add(d.0))
    }
    /// This point moved down by a difference.
    pub const fn minus(self, d: TempDelta) -> Self {
        Self(self.0.saturating_sub(d.0))
    }
    /// The difference from `other` up to this point.
    pub const fn above(self, other: Temp) -> TempDelta {
        TempDelta(self.0.saturating_sub(other.0))
    }
}

impl TempDelta {
    /// No difference.
    pub const ZERO: Self = Self(0);
    /// From hundredths of a kelvin.
    pub const fn from_centi_k(v: i16) -> Self {
        Self(v)
    }
    /// From hundredths of a kelvin held in 32 bits; saturates.
    pub const fn from_centi_k_saturating(v: i32) -> Self {
        Self(sat16(v))
    }
    /// From whole kelvins; saturates.
    pub const fn from_k(v: i16) -> Self {
        Self(sat16((v as i32).saturating_mul(100)))
    }
    /// Hundredths of a kelvin.
    pub const fn centi_k(self) -> i16 {
        self.0
    }
    /// Sum of two differences.
    pub const fn plus(self, d: TempDelta) -> Self {
        Self(self.0.saturating_add(d.0))
    }
    /// The difference of the other sign.
    pub const fn negated(self) -> Self {
        Self(self.0.saturating_neg())
    }
    /// This difference held between `low` and `high`; `low` wins when they cross.
    pub const fn held_in(self, low: TempDelta, high: TempDelta) -> Self {
        if self.0 < low.0 || high.0 < low.0 {
            low
        } else if self.0 > high.0 {
            high
        } else {
            self
        }
    }
}

impl Instant {
    /// Power-up.
    pub const ZERO: Self = Self(0);
    /// The last moment that can be told: 13.6 years after power-up.
    pub const MAX: Self = Self(u32::MAX);
    /// From counts of 100 ms.
    pub const fn from_tenths(v: u32) -> Self {
        Self(v)
    }
    /// From whole seconds; saturates.
    pub const fn from_s(v: u32) -> Self {
        Self(v.saturating_mul(10))
    }
    /// Counts of 100 ms since power-up.
    pub const fn tenths(self) -> u32 {
        self.0
    }
    /// This moment plus a length of time.
    pub const fn after(self, s: Span) -> Self {
        Self(self.0.saturating_add(s.0))
    }
    /// Time since `earlier`; zero when `earlier` lies ahead.
    pub const fn since(self, earlier: Instant) -> Span {
        Span(self.0.saturating_sub(earlier.0))
    }
}

impl Span {
    /// No time.
    pub const ZERO: Self = Self(0);
    /// Longer than anything the controller waits for.
    pub const MAX: Self = Self(u32::MAX);
    /// From counts of 100 ms.
    pub const fn from_tenths(v: u32) -> Self {
        Self(v)
    }
    /// From whole seconds; saturates.
    pub const fn from_s(v: u32) -> Self {
        Self(v.saturating_mul(10))
    }
    /// From whole minutes; saturates.
    pub const fn from_min(v: u32) -> Self {
        Self(v.saturating_mul(600))
    }
    /// From whole hours; saturates.
    pub const fn from_h(v: u32) -> Self {
        Self(v.saturating_mul(36_000))
    }
    /// Counts of 100 ms.
    pub const fn tenths(self) -> u32 {
        self.0
    }
    /// Whole seconds, rounded down.
    pub const fn whole_s(self) -> u32 {
        self.0 / 10
    }
    /// Sum of two lengths.
    pub const fn plus(self, s: Span) -> Self {
        Self(self.0.saturating_add(s.0))
    }
    /// What is left of this length after `s`; zero when nothing is.
    pub const fn minus(self, s: Span) -> Self {
        Self(self.0.saturating_sub(s.0))
    }
    /// True for a length of zero.
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }
}

impl Permille {
    /// Nothing.
    pub const ZERO: Self = Self(0);
    /// Full scale.
    pub const FULL: Self = Self(1000);
    /// From thousandths; held to 1000.
    pub const fn new(v: u16) -> Self {
        Self(if v > 1000 { 1000 } else { v })
    }
    /// Thousandths.
    pub const fn get(self) -> u16 {
        self.0
    }
}

impl CivilMinute {
    /// Minutes in a week.
    pub const WEEK: u32 = 7 * 24 * 60;
    /// From minutes since Saturday 2000-01-01 00:00 local.
    pub const fn new(v: u32) -> Self {
        Self(v)
    }
    /// Minutes since Saturday 2000-01-01 00:00 local.
    pub const fn get(self) -> u32 {
        self.0
    }
    /// Minute of the week, counted from Monday 00:00 (0 to 10079). 2000-01-01 was a Saturday.
    pub const fn minute_of_week(self) -> u16 {
        ((self.0 % Self::WEEK).saturating_add(5 * 24 * 60) % Self::WEEK) as u16
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arithmetic_saturates_at_both_ends() {
        assert_eq!(Temp::from_c(400).centi_c(), i16::MAX);
        assert_eq!(Temp::from_c(-300).minus(TempDelta::from_k(300)).centi_c(), i16::MIN);
        assert_eq!(Instant::from_s(3).since(Instant::from_s(5)), Span::ZERO);
        assert_eq!(Instant::from_tenths(u32::MAX).after(Span::from_s(1)).tenths(), u32::MAX);
        assert_eq!(Permille::new(2000), Permille::FULL);
    }

    /// Whatever a link or a file says, a share is never past full scale.
    #[cfg(feature = "serde")]
    #[test]
    fn a_share_that_is_read_is_held_to_full_scale() {
        use serde::{Deserialize, de::IntoDeserializer, de::value::Error};
        let read = |v: u16| Permille::deserialize(IntoDeserializer::<Error>::into_deserializer(v));
        assert_eq!([999, 1000, 5000].map(read), [Ok(Permille(999)), Ok(Permille(1000)), Ok(Permille(1000))]);
    }

    #[test]
    fn the_first_of_january_2000_was_a_saturday() {
        // Civil calendar fact: 2000-01-01 fell on a Saturday, so the following Monday 00:00 is minute zero of a week.
        assert_eq!(CivilMinute::new(0).minute_of_week(), 5 * 1440);
        assert_eq!(CivilMinute::new(2 * 1440).minute_of_week(), 0);
        assert_eq!(CivilMinute::new(2 * 1440 - 1).minute_of_week(), 10_079);
    }
}
