//! Made-up weather for questions that no real week answers: a design day, and a cold snap.
//!
//! Design day: `x(t) = x_d + (r/2) cos(2 pi (t - t_w)/24 h)`, with `x_d` the design temperature (degrees Celsius), `r` the
//! daily range (K) and `t_w` the warmest hour (15:00 by default). With `r = 0` it is the steady design condition.
//!
//! Cold snap: the same swing about a mean that runs straight from `mild_c` down to `cold_c` over `fall_h`, stays there for
//! `hold_h`, and rises back over `rise_h`, after `lead_h` of mild weather; mild again to the end of the last day.
//!
//! Source: our choice; a sinusoid is the common first picture of a day. Winter days are rarely that regular: use real weeks to
//! judge a plant, these to compare two settings. Beyond the ranges below a setting is refused.

use super::{Series, WeatherError};
use jiff::civil::Date;

/// A day that repeats, about a design temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DesignDay {
    /// Mean temperature, degrees Celsius: -60 to 30.
    pub design_c: f64,
    /// Warmest minus coldest, kelvin: 0 to 30.
    pub range_k: f64,
    /// Warmest hour of the day: 0 to 24.
    pub warmest_h: f64,
}

impl DesignDay {
    /// The design temperature with no swing at all.
    pub const fn steady(design_c: f64) -> Self {
        Self { design_c, range_k: 0.0, warmest_h: 15.0 }
    }

    /// `days` such days (1 to 366) from midnight of `from`.
    pub fn series(&self, from: Date, days: u32) -> Result<Series, WeatherError> {
        setting("design temperature, °C,", self.design_c, -60.0, 30.0)?;
        swing(self.range_k, self.warmest_h)?;
        build(from, days, &format!("design day, mean {} °C, range {} K", self.design_c, self.range_k), |h| {
            self.design_c + wave(h, self.range_k, self.warmest_h)
        })
    }
}

/// Mild weather, a fall, some cold days, and back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ColdSnap {
    /// Mean before and after, degrees Celsius: -60 to 30.
    pub mild_c: f64,
    /// Mean at the bottom, degrees Celsius: -60 to 30, not above `mild_c`.
    pub cold_c: f64,
    /// Mild hours before the fall: 0 to 2000.
    pub lead_h: f64,
    /// Hours of the fall: 0 to 2000.
    pub fall_h: f64,
    /// Hours at the bottom: 0 to 2000.
    pub hold_h: f64,
    /// Hours of the rise: 0 to 2000.
    pub rise_h: f64,
    /// Warmest minus coldest of each day, kelvin: 0 to 30.
    pub range_k: f64,
    /// Warmest hour of the day: 0 to 24.
    pub warmest_h: f64,
}

impl ColdSnap {
    /// `days` days (1 to 366) from midnight of `from`.
    pub fn series(&self, from: Date, days: u32) -> Result<Series, WeatherError> {
        setting("mild temperature, °C,", self.mild_c, -60.0, 30.0)?;
        setting("cold temperature, °C,", self.cold_c, -60.0, self.mild_c)?;
        setting("lead, h,", self.lead_h, 0.0, 2000.0)?;
        setting("fall, h,", self.fall_h, 0.0, 2000.0)?;
        setting("hold, h,", self.hold_h, 0.0, 2000.0)?;
        setting("rise, h,", self.rise_h, 0.0, 2000.0)?;
        swing(self.range_k, self.warmest_h)?;
        build(from, days, &format!("cold snap, {} to {} °C", self.mild_c, self.cold_c), |h| {
            self.mean_c(h) + wave(h, self.range_k, self.warmest_h)
        })
    }

    fn mean_c(&self, h: f64) -> f64 {
        let part =
            |from: f64, long: f64| if long > 0.0 { ((h - from) / long).clamp(0.0, 1.0) } else { f64::from(h >= from) };
        let down = part(self.lead_h, self.fall_h);
        let up = part(self.lead_h + self.fall_h + self.hold_h, self.rise_h);
        self.mild_c + (self.cold_c - self.mild_c) * (down - up)
    }
}

fn wave(h: f64, range_k: f64, warmest_h: f64) -> f64 {
    range_k / 2.0 * (std::f64::consts::TAU * (h - warmest_h) / 24.0).cos()
}

fn swing(range_k: f64, warmest_h: f64) -> Result<(), WeatherError> {
    setting("daily range, K,", range_k, 0.0, 30.0)?;
    setting("warmest hour of the day", warmest_h, 0.0, 24.0)
}

fn setting(field: &'static str, given: f64, low: f64, high: f64) -> Result<(), WeatherError> {
    if (low..=high).contains(&given) { Ok(()) } else { Err(WeatherError::Setting { field, given, low, high }) }
}

fn build(from: Date, days: u32, source: &str, at: impl Fn(f64) -> f64) -> Result<Series, WeatherError> {
    setting("number of days", f64::from(days), 1.0, 366.0)?;
    Series::new(from.at(0, 0, 0, 0), (0..=days * 24).map(|h| at(f64::from(h))).collect(), source)
}
