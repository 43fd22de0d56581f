//! The rotation study over whole runs: the plant's week under a controller double that lets one boiler fire at a time.

mod common;

use common::{ColdWeek, Double, large};
use heatwright_core::{
    BoilerId, Inputs, Instant, Outputs, RelayUse,
    config::{OffOrder, RotationConfig, RotationPolicy},
};
use heatwright_sim::{
    Control, Ideal, LinkError, Options, RunError,
    run::Fresh,
    study::rotation::{self, Outcome, RotationStudy, Why},
};

/// Lets through the demand of one boiler only: the first, or the one whose turn the calendar says it is.
struct OneAtATime {
    inner: Double,
    policy: RotationPolicy,
    demand: Vec<(usize, BoilerId)>,
}

impl Control for OneAtATime {
    fn tick(&mut self, now: Instant, inputs: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        self.inner.tick(now, inputs, outputs)?;
        let turn = match self.policy {
            RotationPolicy::Calendar { every_h, .. } => {
                inputs.civil.map_or(0, |c| c.get() / (u32::from(every_h) * 60) % 2) as u8
            }
            // A policy that loses its link stands for any failure.
            RotationPolicy::StartsDifference(_) => return Err(LinkError::Silent),
            RotationPolicy::Fixed | RotationPolicy::HoursDifference(_) => 0,
        };
        for (relay, boiler) in &self.demand {
            outputs.relays[*relay].on &= boiler.0 == turn;
        }
        Ok(())
    }

    fn next_due(&self) -> Option<Instant> {
        None
    }
}

fn rotate(policy: RotationPolicy) -> RotationConfig {
    RotationConfig { policy, off_order: OffOrder::FirstOnLastOff }
}

fn daily() -> RotationConfig {
    rotate(RotationPolicy::Calendar { every_h: 24, minute_of_day: 0 })
}

fn study(policies: &[RotationConfig], days: f64) -> Result<RotationStudy, RunError> {
    let plant = large();
    let demand: Vec<(usize, BoilerId)> = (plant.points.relays.iter().enumerate())
        .filter_map(|(k, u)| if let RelayUse::Demand(b) = u { Some((k, *b)) } else { None })
        .collect();
    let fresh = |r: &RotationConfig| -> Fresh {
        let inner = Double::new(&plant);
        let control = OneAtATime { inner, policy: r.policy, demand: demand.clone() };
        (Box::new(control), Box::new(Ideal::new(&plant)))
    };
    // No warm-up: it would end at midnight with the boiler of the day before still burning, an eighth change.
    let options = Options { duration_s: days * 86_400.0, warm_up_s: 0.0, step_s: 2.0, ..Options::default() };
    rotation::study(&plant, policies, &ColdWeek, &options, &fresh, &|_| {})
}

fn hours(o: &Outcome) -> Vec<f64> {
    o.boilers.iter().map(|b| b.burning_h).collect()
}

#[test]
fn a_fixed_order_rests_one_boiler_and_a_daily_one_shares_the_week() {
    let s = study(&[rotate(RotationPolicy::Fixed), daily()], 8.0).unwrap();
    let [fixed, daily] = s.outcomes.as_slice() else { panic!("two policies, two outcomes") };
    assert_eq!(fixed.boilers[1].starts, 0, "{fixed:?}");
    assert_eq!((hours(fixed)[1], fixed.changeovers), (0.0, 0), "{fixed:?}");
    assert_eq!(fixed.idle_max(), Some((BoilerId(1), 192.0)));
    assert_eq!(daily.changeovers, 7, "eight days have seven midnights inside: {daily:?}");
    assert!(daily.spread_h() < 0.15 * hours(daily).iter().sum::<f64>(), "{daily:?}");
    assert!((hours(fixed)[0] - hours(daily).iter().sum::<f64>()).abs() < 8.0, "the load is the same: {s:?}");
    let r = s.recommendation.unwrap();
    assert_eq!(r.place, 1);
    assert!(matches!(r.why, Why::Even { fixed_spread_h: Some(f), .. } if f > 50.0), "{r:?}");
}

#[test]
fn one_thread_and_many_give_the_same_bytes() {
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        format!("{:?}", pool.install(|| study(&[rotate(RotationPolicy::Fixed), daily()], 1.0)).unwrap())
    };
    assert_eq!(on(1), on(3));
}

#[test]
fn a_run_that_fails_fails_the_study() {
    let lost = rotate(RotationPolicy::StartsDifference(10));
    assert!(matches!(study(&[daily(), lost], 0.1), Err(RunError::Link { error: LinkError::Silent, .. })));
}
