//! Where outdoor temperature and wall-clock time come from: the border between weather and physics.
//!
//! A source answers for any second of a run, from the first; it never fails in the middle of one, so gaps are mended or
//! refused before a run begins. Local standard time is used all year: no hour is repeated or left out.

use heatwright_core::CivilMinute;

/// Calls for heat that come from a record in place of the model's own thermostats, one bit a `ZoneId`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Calls {
    /// Zones whose calls are recorded; the others keep their thermostats.
    pub zones: u64,
    /// Those of them that call.
    pub closed: u64,
    /// What the tank's aquastat says; `None`: it is not recorded.
    pub tank: Option<bool>,
}

/// A stretch of time in which outdoor temperature runs straight: the one of this number, from 0, of many of one length.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Line {
    /// Length, in seconds.
    pub length_s: f64,
    /// How many of that length lie before it.
    pub number: f64,
    /// Temperature at its start, in degrees Celsius.
    pub start_c: f64,
    /// How far it rises, in kelvin.
    pub rise_k: f64,
}

impl Line {
    /// The temperature on it, in degrees Celsius.
    #[inline]
    pub fn at_c(&self, at_s: f64) -> f64 {
        self.start_c + self.rise_k * (at_s / self.length_s - self.number)
    }

    /// True for a moment on it.
    #[inline]
    pub fn holds(&self, at_s: f64) -> bool {
        (self.number * self.length_s..(self.number + 1.0) * self.length_s).contains(&at_s)
    }
}

/// Outdoor dry-bulb temperature over a run, and recorded calls where there are any.
pub trait Outdoor: Sync {
    /// Outdoor temperature in degrees Celsius, this many seconds after the start of the run.
    fn outdoor_c(&self, at_s: f64) -> f64;

    /// The stretch around this moment in which [`outdoor_c`](Self::outdoor_c) runs straight, if there is one: up to its end a run
    /// need not ask again.
    fn line(&self, _at_s: f64) -> Option<Line> {
        None
    }

    /// Wall-clock time at the start of the run.
    fn civil_start(&self) -> CivilMinute;

    /// True where calls are recorded.
    fn has_calls(&self) -> bool {
        false
    }

    /// Recorded calls, this many seconds after the start of the run. None by default. While a run warms up nobody asks, and
    /// never where there are none.
    fn calls(&self, _at_s: f64) -> Calls {
        Calls::default()
    }
}

/// A constant outdoor temperature, from a Monday midnight: for tests and single-state studies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steady {
    /// The temperature, in degrees Celsius.
    pub outdoor_c: f64,
}

impl Outdoor for Steady {
    fn outdoor_c(&self, _at_s: f64) -> f64 {
        self.outdoor_c
    }

    fn civil_start(&self) -> CivilMinute {
        // Monday 2000-01-03 00:00.
        CivilMinute::new(2 * 24 * 60)
    }
}
