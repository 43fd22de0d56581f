//! Rotation policies side by side: the same plant, weather and seed under each, and which one to take.
//!
//! What it decides, for each policy and off-order: hours and starts of each boiler, their spread (most less least), the longest idle
//! time, changes of base boiler, starts and fuel in all ([`log`] says how they are counted); then a recommendation.
//!
//! The recommendation, our choice, in four sieves:
//! 1. leave out policies that burn more than [`FUEL_SLACK`] above the least: boilers that are unlike in efficiency make even hours
//!    cost fuel;
//! 2. keep policies whose spread of hours is at most [`SPREAD_SHARE_MAX`] of the mean, or [`SPREAD_SLACK_H`] if that is more; when
//!    none is that even, keep the most even one and all within the slack of it;
//! 3. of those keep the ones with at most [`STARTS_SLACK`] more starts than the fewest;
//! 4. of those take the fewest changes of base boiler, then the smaller spread, then the first in the list, which begins with the
//!    simplest.
//!
//! Each run stands alone, so they run on all processors; the result is in the order of the list and the same on one thread.
//! Range: a policy that acts once in 100 hours shows little in a week; let the run be long enough for the question. What it does
//! not do: weigh the age of boilers or the price of a start.

pub mod log;

use crate::{
    outdoor::Outdoor,
    plant::Plant,
    run::{Fresh, Options, RunError, Sample, Watch},
};
use heatwright_core::{
    BoilerId,
    config::{OffOrder, RotationConfig, RotationPolicy},
};
use log::{BoilerUse, Cooling, FlameLog};
use rayon::prelude::*;

/// Largest spread of hours that counts as even, as a share of the mean hours of a boiler.
pub const SPREAD_SHARE_MAX: f64 = 0.05;
/// Spreads within this many hours of each other are taken for equal.
pub const SPREAD_SLACK_H: f64 = 4.0;
/// Starts within this share of the fewest are taken for equal.
pub const STARTS_SLACK: f64 = 0.10;
/// Fuel within this share of the least is taken for equal; our choice.
pub const FUEL_SLACK: f64 = 0.01;
/// Minute of the day at which calendar policies change: 10:00, when somebody is there to see it; our choice.
pub const CHANGE_MINUTE: u16 = 600;

/// The policies that are compared, simplest first, each with both off-orders.
pub fn policies() -> Vec<RotationConfig> {
    let calendar = |every_h| RotationPolicy::Calendar { every_h, minute_of_day: CHANGE_MINUTE };
    let policies = [
        RotationPolicy::Fixed,
        calendar(168),
        calendar(24),
        RotationPolicy::HoursDifference(100),
        RotationPolicy::HoursDifference(50),
        RotationPolicy::HoursDifference(25),
        RotationPolicy::StartsDifference(10),
    ];
    let both = |policy| {
        [OffOrder::FirstOnLastOff, OffOrder::FirstOnFirstOff].map(|off_order| RotationConfig { policy, off_order })
    };
    policies.into_iter().flat_map(both).collect()
}

/// What one run gives to the comparison.
#[derive(Clone, Debug, PartialEq)]
pub struct Ran {
    /// The flames of the run.
    pub flames: FlameLog,
    /// Length of the run, in seconds.
    pub length_s: f64,
    /// Fuel by higher heating value, in kilowatt-hours.
    pub fuel_kwh: f64,
}

/// One policy's result.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// The policy and off-order.
    pub rotation: RotationConfig,
    /// Each boiler, by `BoilerId`.
    pub boilers: Vec<BoilerUse>,
    /// Changes of the boiler that carries the base load.
    pub changeovers: u32,
    /// Fuel by higher heating value, in kilowatt-hours.
    pub fuel_kwh: f64,
    /// Heat that went into warming up boilers that had stood cold, in kilowatt-hours: part of the fuel.
    pub reheat_kwh: f64,
}

impl Outcome {
    /// Most less least hours of burning.
    pub fn spread_h(&self) -> f64 {
        let hours = || self.boilers.iter().map(|b| b.burning_h);
        hours().max_by(f64::total_cmp).unwrap_or(0.0) - hours().min_by(f64::total_cmp).unwrap_or(0.0)
    }
    /// Most less fewest starts.
    pub fn spread_starts(&self) -> u32 {
        let starts = || self.boilers.iter().map(|b| b.starts);
        starts().max().unwrap_or(0) - starts().min().unwrap_or(0)
    }
    /// Starts of all boilers.
    pub fn starts(&self) -> u32 {
        self.boilers.iter().map(|b| b.starts).sum()
    }
    /// The boiler that stood longest without flame, and how many hours.
    pub fn idle_max(&self) -> Option<(BoilerId, f64)> {
        let each = self.boilers.iter().enumerate().map(|(k, b)| (BoilerId(k as u8), b.idle_max_h));
        each.fold(
            None,
            |best: Option<(BoilerId, f64)>, i| if best.is_some_and(|b| b.1 >= i.1) { best } else { Some(i) },
        )
    }
    /// Largest spread that counts as even here, in hours.
    pub fn even_h(&self) -> f64 {
        (SPREAD_SHARE_MAX * self.mean_h()).max(SPREAD_SLACK_H)
    }
    fn mean_h(&self) -> f64 {
        self.boilers.iter().map(|b| b.burning_h).sum::<f64>() / self.boilers.len().max(1) as f64
    }
}

/// Why a policy is recommended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Why {
    /// One boiler: there is nothing to rotate.
    OneBoiler,
    /// It is the only one, or one of those, that shares the hours evenly.
    Even {
        /// Its spread of hours.
        spread_h: f64,
        /// The spread with a fixed order, if that was run.
        fixed_spread_h: Option<f64>,
        /// Policies that are as even, itself among them.
        as_even: usize,
    },
    /// None shares the hours evenly over this time; it is one of those that come nearest.
    MostEven {
        /// Its spread of hours.
        spread_h: f64,
        /// The least spread of all.
        least_h: f64,
        /// Policies within [`SPREAD_SLACK_H`] of that, itself among them.
        near: usize,
        /// Mean hours of a boiler.
        mean_h: f64,
    },
}

/// What to take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Recommendation {
    /// Its place in the list of outcomes.
    pub place: usize,
    /// Why.
    pub why: Why,
}

/// The comparison and what follows from it.
#[derive(Clone, Debug, PartialEq)]
pub struct RotationStudy {
    /// Every policy, in the order of [`policies`].
    pub outcomes: Vec<Outcome>,
    /// The policy to take; `None` when nothing was compared.
    pub recommendation: Option<Recommendation>,
}

/// Records the flames of a run.
struct Flames<'a> {
    log: FlameLog,
    done: &'a (dyn Fn(f64) + Sync),
}

impl Watch for Flames<'_> {
    fn sample(&mut self, sample: &Sample<'_>) {
        self.log.flames(sample.at_s, sample.state.field.flame);
    }
    fn progress(&mut self, done: f64) {
        (self.done)(done);
    }
}

/// Runs the plant once under each of the `policies` and recommends one. `fresh` makes a controller and wires whose rotation is
/// the one given and whose meters stand at zero. `progress` is told each run's share done, from any thread.
pub fn study(
    plant: &Plant,
    policies: &[RotationConfig],
    outdoor: &dyn Outdoor,
    options: &Options,
    fresh: &(dyn Fn(&RotationConfig) -> Fresh + Sync),
    progress: &(dyn Fn(f64) + Sync),
) -> Result<RotationStudy, RunError> {
    // A sample at every step: no flame is missed, however short.
    let options = Options { sample_s: options.step_s, events_max: 0, ..*options };
    let outcomes = compare(policies, |rotation| {
        let (mut control, mut wires) = fresh(rotation);
        let mut flames = Flames { log: FlameLog::with_cooling(cooling(plant)), done: progress };
        let run = crate::run::run(plant, &mut *control, &mut *wires, outdoor, &options, &mut flames)?;
        Ok(Ran { flames: flames.log, length_s: options.duration_s, fuel_kwh: run.summary.fuel_kwh })
    })?;
    let recommendation = recommend(&outcomes);
    Ok(RotationStudy { outcomes, recommendation })
}

/// How the boilers of a plant cool down without flame.
fn cooling(plant: &Plant) -> Vec<Cooling> {
    let one = |b: &crate::plant::Boiler| {
        let capacity_j_k = plant.fluid.capacity_j_k(b.water_l) + b.metal_j_k;
        Cooling {
            heat_j: capacity_j_k * (b.control.fixed_target_c - plant.site.boiler_room_c).max(0.0),
            time_s: if b.jacket_w_k > 0.0 { capacity_j_k / b.jacket_w_k } else { f64::INFINITY },
        }
    };
    plant.boilers.iter().map(one).collect()
}

/// Runs every policy through `run` and collects the outcomes in the order of the list. The error of the earliest policy in the
/// list that failed is given back.
pub fn compare<E: Send>(
    policies: &[RotationConfig],
    run: impl Fn(&RotationConfig) -> Result<Ran, E> + Send + Sync,
) -> Result<Vec<Outcome>, E> {
    let ran: Vec<Result<Ran, E>> = policies.par_iter().map(run).collect();
    let outcome = |(rotation, ran): (&RotationConfig, Result<Ran, E>)| {
        let Ran { flames, length_s, fuel_kwh } = ran?;
        let reheat_kwh = flames.reheat_j() / 3.6e6;
        let (boilers, changeovers) = flames.finish(length_s);
        Ok(Outcome { rotation: rotation.clone(), boilers, changeovers, fuel_kwh, reheat_kwh })
    };
    policies.iter().zip(ran).map(outcome).collect()
}

/// Which of the outcomes to take; `None` when there are none.
pub fn recommend(outcomes: &[Outcome]) -> Option<Recommendation> {
    let first = outcomes.first()?;
    if first.boilers.len() < 2 {
        return Some(Recommendation { place: 0, why: Why::OneBoiler });
    }
    let cheap = |place: usize| fuel_over(outcomes, place).is_none_or(|(_, over)| over <= FUEL_SLACK);
    let all = || outcomes.iter().enumerate().filter(|(place, _)| cheap(*place));
    let even = |o: &Outcome| o.spread_h() <= o.even_h();
    let least_h = all().map(|(_, o)| o.spread_h()).fold(f64::INFINITY, f64::min);
    let any_even = all().any(|(_, o)| even(o));
    let kept: Vec<(usize, &Outcome)> =
        all().filter(|(_, o)| if any_even { even(o) } else { o.spread_h() <= least_h + SPREAD_SLACK_H }).collect();
    let fewest = kept.iter().map(|(_, o)| o.starts()).min()?;
    let few = |o: &Outcome| f64::from(o.starts()) <= f64::from(fewest) * (1.0 + STARTS_SLACK);
    let (place, taken) = kept.iter().filter(|(_, o)| few(o)).min_by(|a, b| {
        let (a, b) = (a.1, b.1);
        a.changeovers.cmp(&b.changeovers).then(a.spread_h().total_cmp(&b.spread_h()))
    })?;
    let fixed = outcomes.iter().find(|o| o.rotation.policy == RotationPolicy::Fixed);
    let why = if any_even {
        Why::Even { spread_h: taken.spread_h(), fixed_spread_h: fixed.map(Outcome::spread_h), as_even: kept.len() }
    } else {
        Why::MostEven { spread_h: taken.spread_h(), least_h, near: kept.len(), mean_h: taken.mean_h() }
    };
    Some(Recommendation { place: *place, why })
}

/// What the policy at `place` burns beyond the one that burns least, as a share of the least, and where that one stands. Hours are
/// shared for even wear: boilers that are unlike in efficiency make that cost fuel.
pub fn fuel_over(outcomes: &[Outcome], place: usize) -> Option<(usize, f64)> {
    let all = outcomes.iter().map(|o| o.fuel_kwh).enumerate();
    let (least, least_kwh) = all.min_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, kwh)| *kwh > 0.0)?;
    Some((least, outcomes.get(place)?.fuel_kwh / least_kwh - 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fuel_is_weighed_against_the_least() {
        let o = |fuel_kwh| Outcome { fuel_kwh, ..outcome(0, [1.0, 1.0], [1, 1], 0) };
        let all = [o(1030.0), o(1000.0), o(1100.0)];
        assert_eq!(fuel_over(&all, 1), Some((1, 0.0)));
        let (least, over) = fuel_over(&all, 0).unwrap();
        assert!(least == 1 && (over - 0.03).abs() < 1e-12, "{over}");
        assert_eq!(fuel_over(&[o(0.0), o(0.0)], 0), None, "a summer without a flame has nothing to compare");
        assert_eq!(fuel_over(&[], 0), None);
    }

    /// The most even costs 3 %: it is left out, and the best of the rest taken; at 0.9 % it stays.
    #[test]
    fn even_hours_that_cost_fuel_are_left_out() {
        let with = |even_kwh| {
            let o = |place, hours, fuel_kwh| Outcome { fuel_kwh, ..outcome(place, hours, [10, 10], 1) };
            let all = [o(0, [100.0, 60.0], 1000.0), o(2, [80.0, 80.0], even_kwh), o(4, [90.0, 70.0], 1005.0)];
            recommend(&all).unwrap().place
        };
        assert_eq!((with(1030.0), with(1009.0)), (2, 1));
    }

    fn log(boilers: usize, flames: &[(f64, u64)], end_h: f64) -> (Vec<BoilerUse>, u32) {
        let mut log = FlameLog::new(boilers);
        log.flames(0.0, 0);
        for (h, bits) in flames {
            log.flames(h * 3600.0, *bits);
        }
        log.finish(end_h * 3600.0)
    }

    #[test]
    fn flames_are_counted() {
        let (uses, changes) =
            log(3, &[(1.0, 0b01), (3.0, 0b11), (4.0, 0b10), (6.0, 0b00), (7.0, 0b10), (8.0, 0)], 20.0);
        assert_eq!(uses[0], BoilerUse { burning_h: 3.0, starts: 1, idle_max_h: 16.0 });
        assert_eq!(uses[1], BoilerUse { burning_h: 4.0, starts: 2, idle_max_h: 12.0 });
        assert_eq!(uses[2], BoilerUse { burning_h: 0.0, starts: 0, idle_max_h: 20.0 });
        assert_eq!(changes, 1, "from the first to the second at hour 4; coming back as the same is no change");
        let (uses, _) = log(1, &[(1.0, 1)], 5.0);
        assert_eq!(
            uses[0],
            BoilerUse { burning_h: 4.0, starts: 1, idle_max_h: 1.0 },
            "an open burn is closed at the end"
        );
    }

    #[test]
    fn a_boiler_that_stood_is_warmed_up_again() {
        // 10 MJ to its target, time constant two hours: after two hours 63.2 % of it is gone, after ten minutes 8.0 %.
        let one = Cooling { heat_j: 10e6, time_s: 7200.0 };
        let after = |idle_s: f64| {
            let mut log = FlameLog::with_cooling(vec![one]);
            log.flames(0.0, 1);
            log.flames(100.0, 0);
            log.flames(100.0 + idle_s, 1);
            log.reheat_j()
        };
        assert!((after(7200.0) - 6.321e6).abs() < 1e3, "{}", after(7200.0));
        assert!((after(600.0) - 0.800e6).abs() < 1e3, "{}", after(600.0));
        let never = Cooling { time_s: f64::INFINITY, ..one };
        let mut log = FlameLog::with_cooling(vec![never]);
        log.flames(0.0, 0);
        log.flames(9e9, 1);
        assert_eq!(log.reheat_j(), 0.0);
    }

    /// An outcome with these hours and starts a boiler, and changes.
    fn outcome(place: usize, hours: [f64; 2], starts: [u32; 2], changeovers: u32) -> Outcome {
        let boiler = |k: usize| BoilerUse { burning_h: hours[k], starts: starts[k], idle_max_h: 1.0 };
        Outcome {
            rotation: policies()[place].clone(),
            boilers: vec![boiler(0), boiler(1)],
            changeovers,
            fuel_kwh: 1.0,
            reheat_kwh: 0.0,
        }
    }

    #[test]
    fn the_recommendation_takes_even_hours_then_few_starts_then_few_changes() {
        let fixed = outcome(0, [100.0, 20.0], [10, 5], 0);
        let weekly = outcome(2, [62.0, 58.0], [12, 12], 3);
        let daily = outcome(4, [61.0, 59.0], [12, 12], 9);
        let starter = outcome(6, [60.0, 60.0], [40, 40], 0);
        let all = [fixed.clone(), weekly, daily, starter];
        let r = recommend(&all).unwrap();
        assert_eq!(r.place, 1);
        assert_eq!(r.why, Why::Even { spread_h: 4.0, fixed_spread_h: Some(80.0), as_even: 3 });
        let r = recommend(&[fixed, outcome(2, [90.0, 30.0], [10, 5], 1)]).unwrap();
        assert_eq!((r.place, r.why), (1, Why::MostEven { spread_h: 60.0, least_h: 60.0, near: 1, mean_h: 60.0 }));
        // Within four hours of the most even, fewer changes count for more: that one is not called the nearest.
        let r = recommend(&[outcome(2, [68.0, 54.4], [10, 10], 1), outcome(4, [67.0, 55.0], [10, 10], 9)]).unwrap();
        let Why::MostEven { spread_h, least_h, near, .. } = r.why else { panic!("{r:?}") };
        assert!(r.place == 0 && (spread_h - 13.6).abs() < 1e-9 && (least_h - 12.0).abs() < 1e-9 && near == 2, "{r:?}");
        let mut one = outcome(0, [5.0, 5.0], [1, 1], 0);
        one.boilers.pop();
        assert_eq!(recommend(&[one]).unwrap().why, Why::OneBoiler);
        assert_eq!(recommend(&[]), None);
    }

    #[test]
    fn the_outcome_is_the_same_on_one_thread_and_on_many() {
        let run = |r: &RotationConfig| -> Result<Ran, String> {
            let mut flames = FlameLog::new(3);
            let mut seed = policies().iter().position(|p| p == r).unwrap() as u64 + 1;
            for k in 0..2000 {
                seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                flames.flames(f64::from(k) * 60.0, seed >> 61);
            }
            Ok(Ran { flames, length_s: 120_000.0, fuel_kwh: seed as f64 })
        };
        let on = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| compare(&policies(), run)).unwrap()
        };
        let (one, many) = (on(1), on(4));
        assert_eq!(format!("{one:?}"), format!("{many:?}"));
        assert_eq!(one.len(), 14);
        assert!(one.windows(2).any(|w| w[0].boilers != w[1].boilers), "the runs differ, so an order could be lost");
    }

    #[test]
    fn the_first_failure_in_the_list_is_the_one_told() {
        let fail = |r: &RotationConfig| Err(policies().iter().position(|p| p == r).unwrap());
        assert_eq!(compare(&policies(), fail), Err(0));
    }
}
