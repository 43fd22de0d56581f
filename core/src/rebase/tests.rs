//! Which setting lengthens which wait.

use super::*;
use crate::{
    config::{EnableRules, LowLoadConfig},
    tests::plant,
};

extern crate std;
use std::vec::Vec;

const NO: Span = Span::ZERO;

fn span(v: u32) -> Span {
    Span::from_s(v)
}

/// The waits by name, in seconds.
fn waits(c: &Config) -> Vec<(&'static str, u32)> {
    let w = Waits::of(c);
    [
        ("debounce", w.debounce),
        ("call", w.call),
        ("overrun", w.overrun),
        ("pump on", w.pump_on),
        ("pump off", w.pump_off),
        ("exercise", w.exercise),
        ("boiler on", w.boiler_on),
        ("boiler off", w.boiler_off),
        ("proof", w.proof),
        ("retry", w.retry),
        ("stagger", w.stagger),
        ("start", w.start),
        ("run", w.run),
        ("rest", w.rest),
        ("hot", w.hot),
        ("plant", w.plant),
    ]
    .map(|(name, s)| (name, s.whole_s()))
    .to_vec()
}

/// Frost lets water stand for twenty minutes whatever is set.
const STANDS_S: u32 = 1200;

#[test]
fn without_settings_only_the_rest_of_frost_is_waited_for() {
    let all: Vec<_> = waits(&plant()).into_iter().filter(|w| w.1 > 0).collect();
    assert_eq!(all, [("rest", STANDS_S)]);
}

/// Each setting, made 5000 s long, and the waits that it lengthens. 5000 s is longer than all fixed ones.
#[test]
fn each_setting_lengthens_the_waits_that_are_counted_by_it() {
    type Row = (fn(&mut Config), &'static [&'static str]);
    const LONG: Span = Span::from_s(5000);
    let rows: [Row; 36] = [
        (|c| c.zones[0].debounce = LONG, &["debounce"]),
        (|c| c.zones[1].debounce = LONG, &["debounce"]),
        (|c| c.tank.as_mut().unwrap().debounce = LONG, &["debounce"]),
        (|c| c.zones[0].call_min = LONG, &["call"]),
        (|c| c.zones[1].call_min = LONG, &["call"]),
        (|c| c.zones[0].overrun = LONG, &["overrun"]),
        (|c| c.zones[1].overrun = LONG, &["overrun"]),
        (|c| c.tank.as_mut().unwrap().overrun = LONG, &["overrun"]),
        (|c| c.pumps[0].on_min = LONG, &["pump on"]),
        (|c| c.pumps[1].on_min = LONG, &["pump on"]),
        (|c| c.pumps[0].off_min = LONG, &["pump off"]),
        (|c| c.pumps[1].exercise_every = LONG, &["pump off"]),
        (|c| c.pumps[0].exercise_for = LONG, &["exercise"]),
        (|c| c.pumps[1].exercise_for = LONG, &["exercise"]),
        (|c| c.boilers[0].on_min = LONG, &["boiler on"]),
        (|c| c.boilers[1].on_min = LONG, &["boiler on"]),
        // Flow is proved from the start of the pump on, and from the demand on where the boiler starts its own.
        (|c| c.boilers[0].flow_proof_max = LONG, &["pump on", "boiler on", "proof"]),
        (|c| c.boilers[1].flow_proof_max = LONG, &["pump on", "boiler on", "proof"]),
        (|c| c.boilers[0].flame_proof_max = LONG, &["proof"]),
        (|c| c.boilers[0].off_min = LONG, &["boiler off"]),
        (|c| c.boilers[1].post_purge = LONG, &["boiler off"]),
        (|c| c.boilers[0].pump_overrun = LONG, &["boiler off"]),
        (|c| c.boilers[1].retry_after = LONG, &["retry"]),
        (|c| c.pump_stagger = LONG, &["stagger"]),
        (|c| c.staging.start_spacing = LONG, &["start"]),
        (|c| c.staging.low_load.run_min = LONG, &["run"]),
        (|c| c.staging.rate_hold = LONG, &["rest"]),
        (|c| c.guard.frozen_after = span(1250), &["rest"]),
        (|c| c.guard.damper_proof_max = LONG, &["rest"]),
        (|c| c.guard.damper_retry_after = LONG, &["rest"]),
        (|c| c.guard.valve_travel_max = LONG, &["rest"]),
        (|c| c.purge.time_max = LONG, &["rest"]),
        (|c| c.reset.boost_for = LONG, &["rest"]),
        (|c| c.tank.as_mut().unwrap().priority_max = LONG, &["rest"]),
        (|c| c.guard.hot_cuts_within = LONG, &["hot"]),
        // All three waits of a plant that runs by the number of calls are counted from one moment.
        (|c| c.enable = requests([5000, 1, 2]), &["plant"]),
    ];
    let before = waits(&plant());
    for (i, (set, expected)) in rows.iter().enumerate() {
        let mut c = plant();
        set(&mut c);
        let longer: Vec<_> = waits(&c).into_iter().zip(&before).filter(|(a, b)| a != *b).collect();
        assert!(longer.iter().all(|(a, _)| a.1 == 5000), "row {i}: {longer:?}");
        assert_eq!(longer.iter().map(|(a, _)| a.0).collect::<Vec<_>>(), *expected, "row {i}");
    }
}

fn requests([off, on, few]: [u32; 3]) -> PlantEnable {
    PlantEnable::Requests(EnableRules { ignored: 0, off_min: span(off), on_min: span(on), few_for: span(few) })
}

#[test]
fn a_plant_by_requests_waits_for_the_longest_of_its_three() {
    for order in [[700, 20, 3], [20, 700, 3], [3, 20, 700]] {
        let c = Config { enable: requests(order), ..plant() };
        assert_eq!(Waits::of(&c).plant, span(700));
    }
}

/// A call that never stops moves the demand trim after `LONG_CALL`: only while that trim is on.
#[test]
fn the_demand_trim_waits_for_a_long_call() {
    let mut c = plant();
    assert_eq!(Waits::of(&c).call, NO);
    c.reset.demand_trim_max = TempDelta::from_k(1);
    assert_eq!(Waits::of(&c).call, LONG_CALL);
}

/// A run that is long in a band of 3 K is three times as long in one of 7 K, rounded up.
#[test]
fn a_run_at_low_load_is_as_much_longer_as_its_band_is_wider() {
    let run = |band: TempDelta, wide: TempDelta| {
        let mut c = plant();
        (c.staging.band, c.staging.low_load) = (band, LowLoadConfig { run_min: span(400), band: wide });
        Waits::of(&c).run
    };
    assert_eq!(run(TempDelta::from_k(3), TempDelta::from_k(7)), span(1200));
    assert_eq!(run(TempDelta::from_k(3), TempDelta::ZERO), span(400), "no band of its own");
    assert_eq!(run(TempDelta::ZERO, TempDelta::from_centi_k(5)), span(2000), "no band to compare with");
}

/// Water that has stood since a moment has stood as long in the state that is moved; where it does not, there is no moment.
#[test]
fn how_long_water_has_stood_is_kept() {
    let mut c = plant();
    c.boilers[0].flow_proof_max = span(60);
    let stood = |since: Instant| {
        let mut s = State::new(&c, None);
        (s.at, s.control.still_since) = (Instant::from_s(1000), since);
        let moved = s.rebased(&c);
        (moved.control.still_since != Instant::ZERO).then(|| moved.at.since(moved.control.still_since).whole_s())
    };
    assert_eq!(
        [stood(Instant::from_s(970)), stood(Instant::from_s(100)), stood(Instant::ZERO)],
        [Some(30), Some(60), None]
    );
}

/// A switch that passed OFF is remembered for ten seconds.
#[test]
fn how_long_ago_a_switch_passed_is_kept() {
    let ago = |seconds: u32| {
        let mut s = State::new(&plant(), None);
        (s.at, s.control.switches.since) = (Instant::from_s(1000), Some(Instant::from_s(1000 - seconds)));
        let moved = s.rebased(&plant());
        moved.control.switches.since.map(|t| moved.at.since(t).whole_s())
    };
    assert_eq!([ago(4), ago(400)], [Some(4), Some(10)]);
}

/// What its retry is counted from stays the end of its demand: the longer of both waits.
#[test]
fn a_retry_is_kept_for_as_long_as_it_and_the_shortest_stop_need() {
    let kept = |off_s: u32, retry_s: u32| {
        let mut c = plant();
        (c.boilers[0].off_min, c.boilers[0].retry_after) = (span(off_s), span(retry_s));
        let mut state = State::new(&c, None);
        let began = Instant::from_s(12_345);
        state.control.boilers[0].state = BoilerState::Retry { since: began, why: crate::boilers::Failure::Flame };
        let mut longest = NO;
        state.each_moment(&Waits::of(&c), &mut |t, wait| {
            if *t == began {
                longest = longest.max(wait);
            }
        });
        longest.whole_s()
    };
    assert_eq!([kept(5000, 100), kept(100, 5000)], [5000, 5000]);
}
