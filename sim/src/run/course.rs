//! The course of a run: how many steps it has, and what time and weather each of them meets.
//!
//! Step 0 is the moment before the first; the counted part begins after `warm_steps`. While a run warms up it stands in the
//! weather's first temperature.
//!
//! Air never stands still for a day, and a controller takes an outdoor reading that does for a broken sensor. Weather that stands
//! (while a run warms up, a made-up design day, a constant in a file) therefore has a ripple: [`RIPPLE_K`] warmer for 20 minutes twice
//! a day, just more than a step of a reading; the mean moves by 0.002 K. Weather that moves is left as it is. Our choice.
//!
//! Lengths outside 0 to ten years and temperatures outside -100 to 80 degrees Celsius (our
//! choice) are refused, so that no run goes on for ever.

use super::{Options, RUN_MOST_S, RunError};
use crate::{
    outdoor::{Calls, Line, Outdoor},
    step::{Conditions, Outside},
};
use heatwright_core::{CivilMinute, Instant};
use std::cell::Cell;

/// Ripple of weather that stands still, in kelvin.
const RIPPLE_K: f64 = 0.06;
/// The ripple's period and length, and where it begins after the start of the counted part, in tenths of a second.
const RIPPLE: (i64, i64, i64) = (12 * 36_000, 12_000, 6 * 36_000);
/// Weather stands where it differs by less than this over one period, in kelvin.
const STANDS_K: f64 = 0.005;

/// Steps, times and weather of one run.
pub(super) struct Course<'a> {
    outdoor: &'a dyn Outdoor,
    start_min: u32,
    dt_s: f64,
    tenths: u64,
    /// The last minute that was reckoned, and the steps that it holds for: from, and up to.
    minute: Cell<(u64, u64, CivilMinute)>,
    /// The straight stretch of weather that was asked for last; one of no length holds nothing.
    line: Cell<Line>,
    /// The ripple that was reckoned last, and the steps that it holds for: from, and up to.
    ripple: Cell<(u64, u64, f64)>,
    /// Calls come from a record.
    pub(super) has_calls: bool,
    /// Steps before the counted part.
    pub(super) warm_steps: u64,
    /// All steps.
    pub(super) steps: u64,
    /// Steps between samples; 0 for no samples.
    pub(super) sample_every: u64,
}

impl<'a> Course<'a> {
    /// Checks the lengths of a run whose step is already known to be sound.
    pub(super) fn new(outdoor: &'a dyn Outdoor, options: &Options) -> Result<Self, RunError> {
        for (field, value_s) in
            [("duration_s", options.duration_s), ("warm_up_s", options.warm_up_s), ("sample_s", options.sample_s)]
        {
            if !(0.0..=RUN_MOST_S).contains(&value_s) {
                return Err(RunError::Time { field, value_s, most_s: RUN_MOST_S });
            }
        }
        let dt_s = options.step_s;
        let count = |s: f64| (s / dt_s).round() as u64;
        let warm_steps = count(options.warm_up_s);
        Ok(Self {
            outdoor,
            start_min: outdoor.civil_start().get(),
            dt_s,
            tenths: (dt_s * 10.0).round() as u64,
            minute: Cell::new((0, 0, CivilMinute::new(0))),
            line: Cell::default(),
            ripple: Cell::new((0, 0, 0.0)),
            has_calls: outdoor.has_calls(),
            warm_steps,
            steps: warm_steps + count(options.duration_s),
            sample_every: count(options.sample_s),
        })
    }

    /// Seconds of the counted part at this step; below zero while it warms up.
    pub(super) fn at_s(&self, step: u64) -> f64 {
        // Numbers with a sign are the ones that a processor has an instruction for.
        (step as i64 - self.warm_steps as i64) as f64 * self.dt_s
    }

    /// The controller's own clock.
    pub(super) fn instant(&self, step: u64) -> Instant {
        Instant::from_tenths(u32::try_from(step * self.tenths).unwrap_or(u32::MAX))
    }

    /// The last step that surely lies before a moment of the controller's own clock.
    pub(super) fn before(&self, at: Option<Instant>) -> u64 {
        at.map_or(u64::MAX, |at| u64::from(at.tenths()).saturating_sub(1) / self.tenths)
    }

    /// The last step in the same minute as this one, in the same part of the run, with the same calls from a record.
    pub(super) fn same_until(&self, step: u64) -> u64 {
        if self.has_calls {
            return step;
        }
        self.civil(step);
        let (_, to, _) = self.minute.get();
        if step > self.warm_steps { to - 1 } else { (to - 1).min(self.warm_steps) }
    }

    /// Wall-clock time.
    pub(super) fn civil(&self, step: u64) -> CivilMinute {
        let (from, to, civil) = self.minute.get();
        if (from..to).contains(&step) {
            return civil;
        }
        let civil = self.civil_at(step);
        // Tenths to the end of this minute, or, before the counted part, that are left of it at the minute's last step.
        let to = if step >= self.warm_steps {
            let end_tenths = ((step - self.warm_steps) * self.tenths / 600 + 1) * 600;
            self.warm_steps + end_tenths.div_ceil(self.tenths)
        } else {
            let left = (self.warm_steps - step) * self.tenths;
            self.warm_steps - (left.div_ceil(600) - 1) * 600 / self.tenths
        };
        self.minute.set((step, to, civil));
        civil
    }

    fn civil_at(&self, step: u64) -> CivilMinute {
        let minutes = (self.at_s(step) / 60.0 + 1e-9).floor() as i64;
        CivilMinute::new((i64::from(self.start_min) + minutes).clamp(0, i64::from(u32::MAX)) as u32)
    }

    /// Outdoor temperature, in degrees Celsius.
    #[inline]
    pub(super) fn outdoor_c(&self, step: u64) -> Result<f64, RunError> {
        let c = self.weather_c(self.at_s(step).max(0.0)) + self.ripple_k(step);
        if (-100.0..=80.0).contains(&c) { Ok(c) } else { Err(RunError::Weather { at_s: self.at_s(step) }) }
    }

    #[inline]
    fn weather_c(&self, at_s: f64) -> f64 {
        let line = self.line.get();
        if line.holds(at_s) { line.at_c(at_s) } else { self.weather_anew_c(at_s) }
    }

    #[inline(never)]
    fn weather_anew_c(&self, at_s: f64) -> f64 {
        self.line.set(self.outdoor.line(at_s).unwrap_or_default());
        self.outdoor.outdoor_c(at_s)
    }

    /// What is added to weather that stands still, in kelvin.
    #[inline]
    fn ripple_k(&self, step: u64) -> f64 {
        let (from, to, ripple_k) = self.ripple.get();
        if (from..to).contains(&step) { ripple_k } else { self.ripple_anew_k(step) }
    }

    #[inline(never)]
    fn ripple_anew_k(&self, step: u64) -> f64 {
        let (period, long, begins) = RIPPLE;
        let tenths = self.tenths.max(1) as i64;
        let at = (step as i64 - self.warm_steps as i64) * tenths;
        let phase = (at - begins).rem_euclid(period);
        let left = if phase < long { long - phase } else { period - phase };
        let now_s = (at - phase) as f64 / 10.0;
        let before = |part: i64| self.outdoor.outdoor_c((now_s - (part * period / 3) as f64 / 10.0).max(0.0));
        let stands = phase < long && (1..=3).all(|k| (before(k) - before(0)).abs() < STANDS_K);
        let ripple_k = if stands { RIPPLE_K } else { 0.0 };
        self.ripple.set((step, step + (left + tenths - 1).div_euclid(tenths) as u64, ripple_k));
        ripple_k
    }

    /// What comes from outside in this step, besides its temperature.
    pub(super) fn outside(&self, step: u64, conditions: Conditions) -> Outside {
        let at_s = self.at_s(step);
        // Before the counted part the plant's own thermostats warm it up: a record says nothing of that time.
        let calls = if self.has_calls && at_s >= 0.0 { self.outdoor.calls(at_s) } else { Calls::default() };
        Outside { civil: self.civil(step), conditions, calls }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{outdoor::Steady, weather::Series};
    use std::sync::atomic::{AtomicU64, Ordering};

    #[test]
    fn weather_that_stands_has_a_ripple_and_weather_that_moves_has_none() {
        struct Rising;
        impl Outdoor for Rising {
            fn outdoor_c(&self, at_s: f64) -> f64 {
                at_s / 36_000.0
            }
            fn civil_start(&self) -> CivilMinute {
                CivilMinute::new(0)
            }
        }
        for step_s in [0.7, 1.0, 5.0] {
            let options = Options { step_s, duration_s: 2.0 * 86_400.0, ..Options::default() };
            let steady = Course::new(&Steady { outdoor_c: -10.0 }, &options).unwrap();
            let moved = (0..steady.steps).filter(|k| steady.outdoor_c(*k).unwrap() != -10.0).count() as f64;
            // Twenty minutes, twice in each of three days.
            assert!((moved * step_s - 7200.0).abs() < 10.0 * step_s, "{step_s}: {moved} steps");
            // It is the same however it is asked.
            for k in (0..steady.steps).rev().step_by(977) {
                let fresh = Course::new(&Steady { outdoor_c: -10.0 }, &options).unwrap();
                assert_eq!(steady.outdoor_c(k), fresh.outdoor_c(k), "{step_s}: step {k}");
            }
            let rising = Course::new(&Rising, &options).unwrap();
            let counted = rising.warm_steps..rising.steps;
            assert!(counted.clone().all(|k| rising.outdoor_c(k).unwrap() == rising.at_s(k) / 36_000.0), "{step_s}");
            assert!(
                (0..rising.warm_steps).any(|k| rising.outdoor_c(k).unwrap() > 0.05),
                "{step_s}: it warms up in standing air"
            );
        }
    }

    #[test]
    fn weather_that_runs_straight_is_asked_once_an_hour_and_says_the_same() {
        struct Counted(Series, AtomicU64);
        impl Outdoor for Counted {
            fn outdoor_c(&self, at_s: f64) -> f64 {
                self.1.fetch_add(1, Ordering::Relaxed);
                self.0.outdoor_c(at_s)
            }
            fn line(&self, at_s: f64) -> Option<Line> {
                self.0.line(at_s)
            }
            fn civil_start(&self) -> CivilMinute {
                self.0.civil_start()
            }
        }
        let hours_c = vec![3.0, -7.3, -7.3, 11.1, -0.0];
        let series = Series::new(jiff::civil::date(2015, 1, 5).at(0, 0, 0, 0), hours_c, "made up").unwrap();
        for step_s in [0.7, 1.0, 5.0] {
            let counted = Counted(series.clone(), AtomicU64::new(0));
            let options = Options { step_s, warm_up_s: 600.0, duration_s: 4.0 * 3600.0 - step_s, ..Options::default() };
            let course = Course::new(&counted, &options).unwrap();
            for step in 0..=course.steps {
                let within_s = course.at_s(step).max(0.0);
                assert_eq!(course.weather_c(within_s), series.dry_bulb_at_c(within_s), "{step_s} s: step {step}");
            }
            assert_eq!(counted.1.into_inner(), 4, "{step_s} s");
        }
    }

    #[test]
    fn a_minute_has_the_steps_that_it_has_by_the_clock() {
        for (step_s, warm_up_s) in [(1.0, 0.0), (1.0, 130.0), (0.1, 59.9), (0.7, 100.1), (5.0, 600.0), (3.7, 74.0)] {
            let options = Options { step_s, warm_up_s, duration_s: 400.0, ..Options::default() };
            let course = Course::new(&Steady { outdoor_c: 0.0 }, &options).unwrap();
            for step in 1..course.steps {
                let until = course.same_until(step);
                let same = |k: u64| {
                    course.civil_at(k) == course.civil_at(step) && (k > course.warm_steps) == (step > course.warm_steps)
                };
                assert!((step..=until).all(same), "{step_s} s, {warm_up_s} s: {step} to {until}");
                assert!(!same(until + 1) || until == course.warm_steps, "{step_s} s, {warm_up_s} s: {step} to {until}");
                // Asked again inside it, it says the same.
                assert_eq!(course.same_until((step + until) / 2), until);
                assert_eq!(course.civil(step), course.civil_at(step));
            }
        }
    }

    #[test]
    fn a_moment_of_the_controller_lies_after_the_steps_before_it() {
        for (step_s, at_tenths, last) in [(1.0, 100, 9), (1.0, 101, 10), (0.7, 70, 9), (5.0, 1, 0), (1.0, 0, 0)] {
            let options = Options { step_s, ..Options::default() };
            let course = Course::new(&Steady { outdoor_c: 0.0 }, &options).unwrap();
            let at = Instant::from_tenths(at_tenths);
            assert_eq!(course.before(Some(at)), last);
            assert!(course.instant(last + 1) >= at && (last == 0 || course.instant(last) < at));
        }
    }
}
