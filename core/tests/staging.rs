//! Boilers are added, dropped and exchanged as the settings say.

mod common;
use common::{lit, *};
use heatwright_core::{config::*, *};

fn bench(boilers: u8, drive: BoilerDrive) -> Bench {
    let mut b = Bench::new(Shape { boilers, drive, ..Shape::default() });
    b.water = false;
    // The water stands as it is set here; that is not to be taken for a frozen sensor.
    b.config.guard.frozen_after = Span::ZERO;
    b.supply(30);
    b.call(0, true);
    b
}

const TARGET: BoilerDrive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };

#[test]
fn the_next_boiler_comes_once_the_shortfall_has_added_up_after_the_flame_of_the_first() {
    let mut b = bench(2, BoilerDrive::DemandOnly);
    let first = b.until(900, |b| b.demand(0).on);
    let lit = b.until(100, |b| b.demand(0).why == Reason::Lead);
    assert!(lit > first + 25);
    let target = b.outputs.target.unwrap();
    let second = b.until(600, |b| b.demand(1).on);
    // Beyond the band of 3 K the shortfall is target - 30 °C - 3 K; 1500 K·s of it, on a grid of 10 s.
    let beyond_k = f64::from(target.centi_c()) / 100.0 - 33.0;
    let want = 1500.0 / beyond_k;
    let got = f64::from(second - lit);
    assert!(got >= want && got <= want + 25.0 + 120.0, "{got} s for {want} s");
    assert_eq!(b.demand(1).why, Reason::FlameProof);
}

#[test]
fn a_boiler_that_still_purges_or_a_plant_without_flow_adds_none() {
    let mut b = bench(2, BoilerDrive::DemandOnly);
    b.config.boilers[0].flame_proof_max = Span::from_h(2);
    b.no_flame[0] = true;
    b.run(4000);
    assert!(b.demand(0).on && !b.demand(1).on);
    assert_eq!(b.state.laws.sums.up, 0);

    let mut b = bench(2, BoilerDrive::DemandOnly);
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    b.config.boilers[0].on_min = Span::from_h(9);
    b.call(0, false);
    b.run(2000);
    assert_eq!((b.demand(0).on, b.demand(1).on, b.state.laws.sums.up), (true, false, 0));
}

#[test]
fn the_lead_goes_on_once_it_has_as_many_starts_more_as_are_set() {
    let lead = |starts: [u32; 4]| {
        let mut b = bench(2, BoilerDrive::DemandOnly);
        b.config.rotation.policy = RotationPolicy::StartsDifference(3);
        b.state.meter.starts = starts;
        b.run(2);
        b.state.control.rotation.lead
    };
    assert_eq!(lead([12, 10, 0, 0]), BoilerId(0));
    assert_eq!(lead([13, 10, 0, 0]), BoilerId(1));
    assert_eq!(lead([10, 99, 0, 0]), BoilerId(0), "the other has more");
}

#[test]
fn starts_are_spaced() {
    let mut b = bench(3, BoilerDrive::DemandOnly);
    b.config.staging.up_error_k_s = 1;
    b.config.staging.start_spacing = span(400);
    let at: Vec<u32> = (0..3).map(|i| b.until(3000, |b| b.demand(i).on)).collect();
    assert!(at[1] - at[0] >= 400 && at[2] - at[1] >= 400, "{at:?}");
}

#[test]
fn the_last_boiler_stops_above_the_band_and_others_by_the_sum_in_either_order() {
    for (order, first_to_go) in [(OffOrder::FirstOnLastOff, 1), (OffOrder::FirstOnFirstOff, 0)] {
        let mut b = bench(2, BoilerDrive::DemandOnly);
        b.config.rotation.off_order = order;
        b.until(3000, |b| b.demands() == 2 && b.demand(1).why == Reason::StagedUp);
        b.run(200);
        let target = b.outputs.target.unwrap().centi_c() / 100;
        b.supply(target + 9);
        b.run(60);
        assert_eq!(b.demands(), 2, "an excess counts over time");
        b.until(400, |b| b.demands() == 1);
        assert!(!b.demand(first_to_go).on, "{order:?}");
        b.until(400, |b| b.demands() == 0);
        let why = b.demand(0).why;
        assert!(matches!(why, Reason::Satisfied | Reason::PostPurge), "{why:?}");
    }
}

#[test]
fn boilers_by_rate_are_added_above_the_upper_rate_and_share_without_a_bump() {
    let mut b = bench(2, BoilerDrive::Rate);
    b.config.staging.up_error_k_s = u32::MAX;
    b.config.staging.start_spacing = Span::ZERO;
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    let rate = |b: &Bench, i| b.outputs.analog(b.config.points.analog(AnalogUse::Rate(BoilerId(i))).unwrap());
    b.second();
    assert_eq!(rate(&b, 0).at, Permille::new(200), "lights at its minimum");
    b.until(3000, |b| b.state.laws.load.rate.level() >= Permille::new(850));
    let high = b.now_s;
    let started = b.until(2000, |b| b.demand(1).on);
    assert!(started - high >= 300, "stands above the rate for its time first");
    let before = rate(&b, 0).at.get();
    b.until(200, |b| b.state.laws.load.lit.count() == 2);
    let sum = rate(&b, 0).at.get() + rate(&b, 1).at.get();
    assert!(sum.abs_diff(before.max(sum.min(1000))) <= 12, "{before} became {sum}");
    // The load falls: the second is dropped when the first alone could carry it at a low rate.
    b.supply(b.outputs.target.unwrap().centi_c() / 100 + 1);
    b.until(9000, |b| b.demands() == 1);
    assert!(b.demand(0).on, "first on, last off");
}

#[test]
fn in_sequence_the_first_is_full_before_the_next_leaves_its_minimum() {
    let mut b = bench(2, BoilerDrive::Rate);
    b.config.staging.modulation = Modulation::Sequential;
    b.config.staging.start_spacing = Span::ZERO;
    b.until(6000, |b| b.state.laws.load.lit.count() == 2);
    let rates = |b: &Bench| {
        [0, 1].map(|i| b.outputs.analog(b.config.points.analog(AnalogUse::Rate(BoilerId(i))).unwrap()).at.get())
    };
    for _ in 0..600 {
        b.second();
        let [first, second] = rates(&b);
        assert!(first == 1000 || second == 200, "{first} {second}");
    }
    b.supply(b.outputs.target.unwrap().centi_c() / 100 + 1);
    b.run(300);
    let [first, second] = rates(&b);
    assert!(first == 1000 || second == 200, "{first} {second}");
}

#[test]
fn the_header_trim_raises_what_the_boiler_is_told_and_lets_go_when_it_stops() {
    let mut b = bench(1, TARGET);
    // Hot water leaves the boiler and arrives cold behind the header.
    b.read(SensorUse::BoilerOutlet(BoilerId(0)), Reading::At(c(70)));
    let told = |b: &Bench| b.outputs.analog(b.config.points.analog(AnalogUse::Target(BoilerId(0))).unwrap()).at.get();
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    let share = |t: Temp| ((i32::from(t.centi_c()) - 2000 + 3) / 7) as u16;
    assert!(told(&b).abs_diff(share(b.outputs.target.unwrap())) <= 8);
    let mut last = told(&b);
    for _ in 0..2000 {
        b.second();
        assert!(told(&b).abs_diff(last) <= 8, "half a kelvin of 70 K a step");
        last = told(&b);
    }
    let trimmed = b.outputs.target.unwrap().plus(TempDelta::from_k(6));
    assert!(told(&b).abs_diff(share(trimmed)) <= 2, "bounded at 6 K");
    b.call(0, false);
    b.run(3000);
    assert_eq!(b.state.laws.header_trim, TempDelta::ZERO);
}

#[test]
fn a_new_lead_lights_before_the_old_one_goes() {
    let mut b = bench(2, BoilerDrive::DemandOnly);
    b.config.rotation.policy = RotationPolicy::HoursDifference(1);
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    let target = b.outputs.target.unwrap().centi_c() / 100;
    b.supply(target);
    b.until(4000, |b| b.outputs.lead == Some(BoilerId(1)));
    assert!((3600..3640).contains(&b.state.meter.fired[0].whole_s()));
    // Not a second without a flame.
    b.until(400, |b| {
        assert!(b.state.control.boilers.iter().any(|b| b.state.firing()));
        assert!(b.demand(0).on || b.demand(1).why == Reason::Lead);
        !b.demand(0).on
    });
    assert_eq!(b.demand(1), Stated { on: true, why: Reason::Lead });
    assert_eq!(b.demands(), 1);
}

/// The old lead holds the water a kelvin under the target. Waiting for the new one's flame would wait for ever: nothing asks
/// it for one while the old one does that.
#[test]
fn over_warm_water_a_healthy_lead_takes_over_without_a_flame_and_the_old_one_is_back_at_once_if_it_does_not_light() {
    let mut b = bench(2, TARGET);
    b.config.rotation.policy = RotationPolicy::HoursDifference(1);
    b.no_flame[1] = true;
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    lit::reads(&mut b, 100, 100);
    b.until(4000, |b| b.outputs.lead == Some(BoilerId(1)));
    b.until(400, |b| !b.demand(0).on);
    let state = b.state.control.boilers[1].state;
    assert!(matches!(state, boilers::BoilerState::Holding { .. }), "{state:?}");
    assert_eq!(b.demand(1), Stated { on: true, why: Reason::Lead });
    // The water cools: from 8 K on it owes a flame.
    b.run(600);
    lit::reads(&mut b, 900, 0);
    let owed = b.now_s;
    b.until(200, |b| b.demand(1).why == Reason::Retry);
    b.until(5, |b| b.state.control.staging.enlisted == [BoilerId(0)]);
    let back = b.until(60, |b| b.state.control.boilers[0].state.firing());
    assert!(back - owed <= 90 + 45, "{} s without heat", back - owed);
}

#[test]
fn a_boiler_that_cannot_run_is_passed_over_and_leads_again_when_it_can() {
    let mut b = bench(3, BoilerDrive::DemandOnly);
    b.contact(ContactUse::BoilerSwitch(BoilerId(0)), false);
    b.contact(ContactUse::BoilerFault(BoilerId(1)), true);
    b.run(400);
    assert_eq!(b.outputs.lead, Some(BoilerId(2)));
    assert!(b.demand(2).on);
    assert_eq!((b.demand(0).why, b.demand(1).why), (Reason::SwitchedOff, Reason::BoilerFault));
    b.contact(ContactUse::BoilerSwitch(BoilerId(0)), true);
    b.until(600, |b| b.demand(0).why == Reason::Lead);
    // The water is short: the one that kept it goes on beside the new lead.
    b.run(600);
    assert!(b.demand(2).on);
}

/// The lead is back from its fault. The one that stood for it goes once the lead has lit, unless the water is short.
#[test]
fn who_stood_for_the_lead_burns_on_while_the_water_is_short() {
    let burns_on = |short_k: i16| {
        let mut b = bench(2, BoilerDrive::DemandOnly);
        b.contact(ContactUse::BoilerFault(BoilerId(0)), true);
        b.until(600, |b| b.demand(1).why == Reason::Lead);
        b.run(300);
        let told = b.outputs.target.unwrap();
        b.read(SensorUse::Supply, Reading::At(told.minus(TempDelta::from_k(short_k))));
        b.contact(ContactUse::BoilerFault(BoilerId(0)), false);
        b.until(900, |b| b.demand(0).why == Reason::Lead);
        b.run(60);
        b.demand(1).on
    };
    assert_eq!([burns_on(1), burns_on(20)], [false, true]);
}

/// Two boilers that hold their own target; the lead fails once, and by the time of its second try the other one has warmed
/// the water to within `below_k` of the target, where it keeps it.
fn second_try(below_k: i16) -> Bench {
    let mut b = bench(2, TARGET);
    b.no_flame[0] = true;
    b.until(900, |b| b.demand(0).why == Reason::Retry);
    b.until(900, |b| b.demand(1).why == Reason::Lead);
    b.until(900, |b| b.demand(0).on);
    let told = b.outputs.target.unwrap();
    let warm = Reading::At(told.minus(TempDelta::from_k(below_k)));
    for u in [SensorUse::Supply, SensorUse::BoilerOutlet(BoilerId(0)), SensorUse::BoilerOutlet(BoilerId(1))] {
        b.read(u, warm);
    }
    b
}

#[test]
fn a_lead_that_does_not_light_over_warm_water_is_no_heat() {
    // Past 4 K the flame that it owed when it was asked is owed no more, and nobody knows whether it would light.
    for (below_k, locks_out) in [(5, true), (2, false)] {
        let mut b = second_try(below_k);
        for t in 0..1200 {
            b.second();
            assert!(b.demand(1).on && b.state.control.boilers[1].state.firing(), "{below_k} K below, {t} s");
            assert_ne!(b.demand(0).why, Reason::Lead, "{below_k} K below, {t} s");
        }
        assert_eq!(b.demand(0).why == Reason::FlameFailed, locks_out, "{below_k} K below: {:?}", b.demand(0));
        assert_eq!(b.outputs.lead, Some(BoilerId(u8::from(locks_out))));
    }
    // It lights: now the other one goes.
    let mut b = second_try(2);
    b.run(600);
    b.no_flame[0] = false;
    b.until(60, |b| b.demand(0).why == Reason::Lead);
    b.until(5, |b| !b.demand(1).on);
}

#[test]
fn a_boiler_that_was_locked_out_lights_before_another_goes() {
    let mut b = second_try(5);
    b.until(200, |b| b.demand(0).why == Reason::FlameFailed);
    let warm = Reading::At(b.outputs.target.unwrap());
    b.read(SensorUse::Supply, warm);
    b.read(SensorUse::BoilerOutlet(BoilerId(0)), warm);
    b.acknowledge();
    b.run(600);
    assert_eq!((b.demand(0).why, b.demand(1).why), (Reason::FlameProof, Reason::LeadChange));
    b.no_flame[0] = false;
    b.until(60, |b| b.demand(0).why == Reason::Lead && !b.demand(1).on);
}
