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

/// Outdoor dry-bulb temperature over a run, and recorded calls where there are any.
pub trait Outdoor: Sync {
    /// Outdoor temperature in degrees Celsius, this many seconds after the start of the run.
    fn outdoor_c(&self, at_s: f64) -> f64;

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
