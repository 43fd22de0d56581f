//! An hourly outdoor-temperature series and windows of it.
//!
//! Values stand on whole hours of local standard time; between them the temperature runs straight; outside, the first or last
//! value holds. A series has at least two values, all finite, by construction.

use super::{RepairNote, WeatherError, minute_of, moment};
use crate::outdoor::{Line, Outdoor};
use heatwright_core::CivilMinute;
use jiff::civil::{Date, DateTime};

/// Hourly outdoor dry-bulb temperature in local standard time.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    start: DateTime,
    dry_bulb_c: Vec<f64>,
    notes: Vec<RepairNote>,
    source: String,
}

impl Series {
    /// Time between two values, in seconds.
    pub const STEP_S: f64 = 3600.0;

    /// A series from values that are at hand. `start` is cut to its whole hour.
    pub fn new(start: DateTime, dry_bulb_c: Vec<f64>, source: &str) -> Result<Self, WeatherError> {
        use super::{DRY_BULB_MAX_C, DRY_BULB_MIN_C};
        if dry_bulb_c.len() < 2 {
            return Err(WeatherError::TooShort { hours: dry_bulb_c.len() });
        }
        if let Some(&given) = dry_bulb_c.iter().find(|v| !(DRY_BULB_MIN_C..=DRY_BULB_MAX_C).contains(*v)) {
            return Err(WeatherError::Setting {
                field: "outdoor dry bulb, °C,",
                given,
                low: DRY_BULB_MIN_C,
                high: DRY_BULB_MAX_C,
            });
        }
        let start = moment(minute_of(start).div_euclid(60) * 60);
        Ok(Self { start, dry_bulb_c, notes: Vec::new(), source: source.into() })
    }

    pub(super) fn with_notes(mut self, notes: Vec<RepairNote>) -> Self {
        self.notes = notes;
        self
    }

    /// The moment of the first value, local standard time.
    pub fn start(&self) -> DateTime {
        self.start
    }
    /// The moment of the last value, local standard time.
    pub fn end(&self) -> DateTime {
        self.moment_of(self.dry_bulb_c.len().saturating_sub(1))
    }
    /// The hourly values, degrees Celsius.
    pub fn dry_bulb_c(&self) -> &[f64] {
        &self.dry_bulb_c
    }
    /// What was repaired or decided while reading.
    pub fn notes(&self) -> &[RepairNote] {
        &self.notes
    }
    /// Where the values come from.
    pub fn source(&self) -> &str {
        &self.source
    }
    /// Hours that were filled by a straight line.
    pub fn hours_repaired(&self) -> u32 {
        let hours = |n: &RepairNote| if let RepairNote::MissingHours { hours, .. } = n { *hours } else { 0 };
        self.notes.iter().map(hours).sum()
    }
    /// Time from the first to the last value, in seconds.
    pub fn length_s(&self) -> f64 {
        (self.dry_bulb_c.len() as f64 - 1.0) * Self::STEP_S
    }

    /// Temperature `at_s` seconds after the start, degrees Celsius; the first or last value holds outside.
    pub fn dry_bulb_at_c(&self, at_s: f64) -> f64 {
        // What is no number reads the first value.
        let within_s = at_s.max(0.0).min(self.length_s());
        self.hour(within_s).at_c(within_s)
    }

    /// The hour of a moment; that of the last value is level.
    fn hour(&self, at_s: f64) -> Line {
        let k = ((at_s / Self::STEP_S) as usize).min(self.dry_bulb_c.len().saturating_sub(1));
        let start_c = self.dry_bulb_c.get(k).copied().unwrap_or_default();
        let rise_k = self.dry_bulb_c.get(k + 1).map_or(0.0, |next_c| next_c - start_c);
        Line { length_s: Self::STEP_S, number: k as f64, start_c, rise_k }
    }

    /// Wall-clock time at the start, as the controller counts it. Years before 2000 are moved up by 28 years at a time, which
    /// keeps weekdays and leap days where they were.
    pub fn civil_start(&self) -> CivilMinute {
        const YEARS_28_MIN: i64 = (28 * 365 + 7) * 24 * 60;
        let minute = minute_of(self.start);
        let minute = if minute < 0 { minute.rem_euclid(YEARS_28_MIN) } else { minute };
        CivilMinute::new(u32::try_from(minute).unwrap_or(u32::MAX))
    }

    /// The window of `days` days from midnight at the start of `from`.
    pub fn days(&self, from: Date, days: u32) -> Result<Self, WeatherError> {
        let outside = || WeatherError::OutsideSeries { from, days, first: self.start, last: self.end() };
        let first = minute_of(from.at(0, 0, 0, 0)) - minute_of(self.start);
        let first = usize::try_from(first / 60).ok().filter(|_| first >= 0).ok_or_else(outside)?;
        self.window(first, days).ok_or_else(outside)
    }

    /// The `days` whole days, midnight to midnight, with the lowest mean temperature; the earliest of equals.
    pub fn coldest_days(&self, days: u32) -> Result<Self, WeatherError> {
        let hours = days as usize * 24;
        let midnights = || (0..self.dry_bulb_c.len()).filter(|k| self.moment_of(*k).hour() == 0);
        let sums =
            midnights().filter_map(|k| Some((k, self.dry_bulb_c.get(k..k.checked_add(hours)?)?.iter().sum::<f64>())));
        let coldest = sums.filter(|_| days > 0).min_by(|a, b| a.1.total_cmp(&b.1));
        coldest.and_then(|(k, _)| self.window(k, days)).ok_or_else(|| WeatherError::WindowTooLong {
            days,
            whole_days: midnights().next().map_or(0, |k| (self.dry_bulb_c.len() - k) / 24),
        })
    }

    /// True where it stands still for a day or more.
    pub fn stands_still(&self) -> bool {
        let still = |day: &[f64]| day.iter().all(|c| (c - day[0]).abs() < 0.005);
        self.dry_bulb_c.windows(25).any(still)
    }

    /// Mean of the hourly values, degrees Celsius.
    pub fn mean_c(&self) -> f64 {
        self.dry_bulb_c.iter().sum::<f64>() / self.dry_bulb_c.len() as f64
    }
    /// Lowest hourly value, degrees Celsius.
    pub fn min_c(&self) -> f64 {
        self.dry_bulb_c.iter().copied().fold(f64::INFINITY, f64::min)
    }
    /// Highest hourly value, degrees Celsius.
    pub fn max_c(&self) -> f64 {
        self.dry_bulb_c.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }

    /// Degree-days below `base_c` over the calendar days of the series, kelvin-days: each day counts `max(0, base - mean)`,
    /// a day that is not whole by its share.
    pub fn heating_degree_days(&self, base_c: f64) -> f64 {
        self.each_day().map(|(_, day)| day.iter().map(|v| base_c - v).sum::<f64>().max(0.0) / 24.0).sum()
    }

    /// The same for each month, the first of them the one that the series begins in; the closing midnight is in the day before it.
    pub fn degree_days_by_month(&self, base_c: f64) -> Vec<f64> {
        let mut months = Vec::new();
        for (first, day) in self.each_day() {
            let month = self.month_of(first);
            if months.len() <= month {
                months.resize(month + 1, 0.0);
            }
            months[month] += day.iter().map(|v| base_c - v).sum::<f64>().max(0.0) / 24.0;
        }
        months
    }

    /// Calendar days: the place of the first value of each, and its values.
    fn each_day(&self) -> impl Iterator<Item = (usize, &[f64])> {
        let (head, rest) = self.dry_bulb_c.split_at((24 - self.start.hour() as usize).min(self.dry_bulb_c.len()));
        let at = head.len();
        std::iter::once((0, head)).chain(rest.chunks(24).enumerate().map(move |(k, day)| (at + 24 * k, day)))
    }

    /// The month of a value, counted from that in which the series begins; the last value is in the month of the hour that it ends.
    pub fn month_of(&self, value: usize) -> usize {
        let last = value > 0 && value + 1 >= self.dry_bulb_c.len();
        let at = self.moment_of(value - usize::from(last));
        let months = |t: DateTime| i64::from(t.year()) * 12 + i64::from(t.month());
        usize::try_from(months(at) - months(self.start)).unwrap_or(0)
    }

    fn moment_of(&self, k: usize) -> DateTime {
        moment(minute_of(self.start) + k as i64 * 60)
    }

    /// `days` days from value `first`, with the value at their closing midnight where there is one.
    fn window(&self, first: usize, days: u32) -> Option<Self> {
        let end = first.checked_add((days as usize).checked_mul(24)?)?;
        if days == 0 || end > self.dry_bulb_c.len() {
            return None;
        }
        let values = self.dry_bulb_c.get(first..(end + 1).min(self.dry_bulb_c.len()))?.to_vec();
        let start = self.moment_of(first);
        let end = self.moment_of(end);
        let inside = |n: &&RepairNote| match n {
            RepairNote::MissingHours { first, hours } => {
                let last = moment(minute_of(*first) + i64::from(*hours) * 60);
                *first <= end && last > start
            }
            RepairNote::EdgeLeftOut { .. } | RepairNote::NoFinalLineEnd { .. } => false,
            RepairNote::BetweenReadings { .. } | RepairNote::CommonYear { .. } | RepairNote::LeapDayAbsent { .. } => {
                true
            }
        };
        let notes = self.notes.iter().filter(inside).cloned().collect();
        Some(Self { start, dry_bulb_c: values, notes, source: self.source.clone() })
    }
}

impl Outdoor for Series {
    fn outdoor_c(&self, at_s: f64) -> f64 {
        self.dry_bulb_at_c(at_s)
    }

    fn line(&self, at_s: f64) -> Option<Line> {
        Some(self.hour(at_s))
    }

    fn civil_start(&self) -> CivilMinute {
        Series::civil_start(self)
    }
}
