//! Low load: what is done when one boiler is too much for what is called for.
//!
//! A flame that goes out because the water is warm enough, sooner than `run_min` after it was proved, was a *short run*. After
//! [`SHORT_RUNS`] in a row the lone boiler works in a wider band: it starts `low_load.band` below target and stops as far
//! above, and a boiler that holds its own target is let go as soon as its flame is out. The water of the plant then stores
//! more between two starts, so the runs get longer and fewer.
//!
//! A run in the wide band counts as long when it would have been long in the ordinary one: `run * band / low_load.band >=
//! run_min`, with the run growing in proportion to the band (one boiler, constant load, our approximation). One long run, or
//! a second flame, ends the low load; a flame that outlives another is counted from the first of the two, so that its run is
//! never taken for shorter than it was. Runs that end for another reason (the call is over, a safety, a fault) say nothing.
//!
//! Source: widening the differential at low load is common practice; two runs, and the way back, are our choice. It does not
//! pick another boiler, and it does not touch the boiler's own control.

use crate::{
    clock::Clock,
    config::StagingConfig,
    mask::Mask,
    units::{Instant, Span, TempDelta},
};

/// So many short runs in a row make a low load.
pub const SHORT_RUNS: u8 = 2;

/// Whether the load is low.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LowLoad {
    /// Short runs in a row, up to [`SHORT_RUNS`].
    pub short: u8,
    /// A flame has burned since, without a break.
    pub lit: Option<Instant>,
}

impl LowLoad {
    /// True while the wide band is in force.
    pub const fn low(&self) -> bool {
        self.short >= SHORT_RUNS
    }

    /// The band that the first boiler starts and the last one stops by.
    pub(crate) fn band(&self, config: &StagingConfig) -> TempDelta {
        if self.low() { config.low_load.band.max(config.band) } else { config.band }
    }

    /// A run of this length is long.
    fn long(&self, config: &StagingConfig, run: Span) -> bool {
        let share = |s: Span, d: TempDelta| u64::from(s.tenths()).saturating_mul(u64::from(d.centi_k().unsigned_abs()));
        share(run, config.band) >= share(config.low_load.run_min, self.band(config))
    }

    /// Follows the flames; `satisfied` says that a flame that is out now went out because the water is warm enough.
    #[inline(never)]
    pub(crate) fn decide(&mut self, config: &StagingConfig, firing: Mask, satisfied: bool, clock: &mut Clock) {
        if config.low_load.run_min.is_zero() {
            return;
        }
        let now = clock.now();
        let next = match (firing.count(), self.lit) {
            (0, None) => *self,
            (0, Some(since)) => {
                let short = match (satisfied, self.long(config, now.since(since))) {
                    (false, _) => self.short,
                    (true, true) => 0,
                    (true, false) => self.short.saturating_add(1).min(SHORT_RUNS),
                };
                Self { short, lit: None }
            }
            (1, None) => Self { lit: Some(now), ..*self },
            (1, Some(_)) => *self,
            // Whichever goes out first, what burns on is counted from the first of them.
            (_, lit) => Self { short: 0, lit: lit.or(Some(now)) },
        };
        clock.put(self, next);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{LowLoadConfig, Modulation, StageBy};
    use crate::units::Permille;

    const CONFIG: StagingConfig = StagingConfig {
        band: TempDelta::from_k(2),
        up_error_k_s: 1,
        down_error_k_s: 1,
        up_rate: Permille::FULL,
        down_rate: Permille::ZERO,
        rate_hold: Span::ZERO,
        start_spacing: Span::ZERO,
        band_pi: TempDelta::from_k(20),
        integral: Span::from_s(600),
        modulation: Modulation::Parallel,
        stage_by: StageBy::Error,
        low_load: LowLoadConfig { run_min: Span::from_s(300), band: TempDelta::from_k(6) },
    };

    /// Lets flames burn for so many seconds each, all ending satisfied or not; the band after each.
    fn after(runs: &[(u32, bool)]) -> Vec<i16> {
        let (mut low, mut t) = (LowLoad::default(), 0);
        let at = |low: &mut LowLoad, t: u32, firing: Mask, satisfied| {
            low.decide(&CONFIG, firing, satisfied, &mut Clock::at(Instant::from_s(t)));
        };
        let mut bands = Vec::new();
        for (run, satisfied) in runs {
            at(&mut low, t, Mask::of(1), false);
            at(&mut low, t + run, Mask::NONE, *satisfied);
            bands.push(low.band(&CONFIG).centi_k() / 100);
            t += run + 100;
        }
        bands
    }

    extern crate std;
    use std::vec::Vec;

    #[test]
    fn two_short_runs_in_a_row_widen_the_band_and_a_run_three_times_as_long_narrows_it() {
        assert_eq!(after(&[(100, true), (299, true), (100, true)]), [2, 6, 6]);
        assert_eq!(after(&[(100, true), (300, true), (100, true)]), [2, 2, 2], "not in a row");
        // In a band three times as wide a run of 300 s would have to take 900 s.
        assert_eq!(after(&[(1, true), (1, true), (899, true), (900, true)]), [2, 6, 6, 2]);
        assert_eq!(after(&[(1, true), (1, false), (1, true), (1, false)]), [2, 2, 6, 6], "ended otherwise: no verdict");
    }

    #[test]
    fn a_flame_that_outlives_another_is_not_counted_from_the_others_end() {
        let mut low = LowLoad::default();
        let both = Mask::of(0).or(Mask::of(1));
        let mut at = |t: u32, firing: Mask, satisfied: bool| {
            low.decide(&CONFIG, firing, satisfied, &mut Clock::at(Instant::from_s(t)));
            low.short
        };
        for run in 0..3 {
            let t = run * 5000;
            at(t, Mask::of(0), false);
            at(t + 600, both, false);
            at(t + 3000, Mask::of(0), false);
            assert_eq!(at(t + 3100, Mask::NONE, true), 0, "it has burned for 3100 s, not for 100");
        }
    }

    #[test]
    fn a_second_flame_ends_the_low_load_and_no_setting_never_begins_it() {
        let mut low = LowLoad { short: SHORT_RUNS, lit: Some(Instant::ZERO) };
        low.decide(&CONFIG, Mask::of(0).or(Mask::of(1)), false, &mut Clock::at(Instant::from_s(5)));
        assert!(!low.low());
        let off = StagingConfig { low_load: LowLoadConfig::NONE, ..CONFIG };
        for s in 0..9 {
            low.decide(
                &off,
                if s % 2 == 0 { Mask::of(0) } else { Mask::NONE },
                true,
                &mut Clock::at(Instant::from_s(s)),
            );
        }
        assert_eq!((low.low(), low.band(&off)), (false, off.band));
    }
}
