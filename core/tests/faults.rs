//! Proofs that fail, faults of one boiler and of all, sensors that fail, first-out and the alarm.

mod common;
use common::*;
use heatwright_core::{config::*, *};

fn alarm(b: &Bench) -> Reason {
    b.relay(RelayUse::Alarm).why
}

fn cold(boilers: u8) -> Bench {
    let mut b = Bench::new(Shape { boilers, ..Shape::default() });
    b.water = false;
    b.supply(25);
    b.call(0, true);
    b
}

#[test]
fn a_boiler_that_does_not_light_is_asked_once_more_and_then_locked_out_until_acknowledged() {
    let mut b = cold(1);
    b.no_flame[0] = true;
    let first = b.until(900, |b| b.demand(0).on);
    let failed = b.until(200, |b| !b.demand(0).on);
    assert_eq!(failed - first, 90);
    assert_eq!((b.demand(0).why, alarm(&b)), (Reason::Retry, Reason::FlameMissed(BoilerId(0))));
    let again = b.until(900, |b| b.demand(0).on);
    assert!(again - failed >= 300, "{}", again - failed);
    b.until(200, |b| !b.demand(0).on);
    assert_eq!(b.demand(0).why, Reason::FlameFailed);
    b.run(9000);
    assert_eq!(b.demand(0), Stated { on: false, why: Reason::FlameFailed });
    assert_eq!(b.state.meter.starts[0], 2);
    assert!(b.state.memory().lockouts[0].is_some(), "a power cut does not clear it");
    let after_power_cut = State::new(&b.config, Some(&b.state.memory()));
    assert!(!after_power_cut.control.boilers[0].state.demand());
    assert_eq!(after_power_cut.memory(), b.state.memory());
    b.no_flame[0] = false;
    b.acknowledge();
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    assert_eq!(alarm(&b), Reason::Healthy);
}

#[test]
fn flow_that_is_not_proved_or_is_lost_counts_as_a_failed_start() {
    let mut b = cold(1);
    b.no_flow[0] = true;
    b.until(900, |b| b.demand(0).why == Reason::FlowProof);
    b.until(60, |b| b.demand(0).why == Reason::Retry);
    assert_eq!(b.state.meter.starts[0], 0, "no demand without flow");
    b.until(900, |b| b.demand(0).why == Reason::FlowFailed);
    b.no_flow[0] = false;
    b.acknowledge();
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    b.no_flow[0] = true;
    b.second();
    assert_eq!(b.demand(0), Stated { on: false, why: Reason::Retry }, "in the same tick");
}

#[test]
fn a_boilers_own_fault_brings_the_next_at_once_and_a_common_fault_brings_none() {
    let mut b = cold(3);
    b.config.staging.up_error_k_s = u32::MAX;
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    b.contact(ContactUse::BoilerFault(BoilerId(0)), true);
    b.second();
    assert_eq!(b.demand(0), Stated { on: false, why: Reason::BoilerFault });
    let at = b.now_s;
    let next = b.until(60, |b| b.demand(1).on);
    assert!(next - at < 15, "without a sum and without spacing: {} s", next - at);

    let mut b = cold(3);
    b.config.staging.up_error_k_s = u32::MAX;
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    b.contact(ContactUse::Safety(DOOR, Tap::Aux), false);
    b.second();
    assert_eq!(b.demand(0), Stated { on: false, why: Reason::Safety(DOOR) });
    b.run(3000);
    assert_eq!(b.demands(), 0);
    for i in 0..3 {
        assert!(!b.state.control.boilers[i].tried, "charged to no boiler");
        assert_eq!(b.demand(i as u8).why, Reason::Safety(DOOR));
    }
    b.contact(ContactUse::Safety(DOOR, Tap::Aux), true);
    b.until(60, |b| b.demand(0).on);
}

#[test]
fn a_damper_that_does_not_open_is_common_too() {
    let mut b = Bench::new(Shape { boilers: 2, damper: true, ..Shape::default() });
    b.water = false;
    b.supply(25);
    b.call(0, true);
    let stuck = |b: &mut Bench, seconds: u32| {
        for _ in 0..seconds {
            b.now_s += 1;
            b.plant();
            b.contact(ContactUse::DamperOpen, false);
            b.tick();
            assert_eq!(b.demands(), 0);
        }
    };
    stuck(&mut b, 1000);
    assert_eq!(b.relay(RelayUse::Damper), Stated { on: false, why: Reason::DamperFailed });
    assert_eq!(alarm(&b), Reason::DamperFailed);
    assert!(b.state.control.boilers.iter().all(|b| !b.tried));
    b.acknowledge();
    b.until(300, |b| b.demand(0).why == Reason::Lead);
    // Lost under fire: out in the same tick.
    b.now_s += 1;
    b.plant();
    b.contact(ContactUse::DamperOpen, false);
    b.tick();
    assert_eq!(b.demands(), 0);
}

#[test]
fn first_out_names_the_one_that_opened_first_in_a_chain_and_stays_until_acknowledged() {
    let mut b = cold(1);
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    // Taps of the chain up to and including each: low water comes after the high limit. The high limit opens both taps.
    b.contact(ContactUse::Safety(high_limit(0), Tap::Chain), false);
    b.contact(ContactUse::Safety(low_water(0), Tap::Chain), false);
    b.second();
    assert_eq!(b.outputs.first_out, Some(high_limit(0)));
    assert_eq!(b.demand(0), Stated { on: false, why: Reason::Safety(high_limit(0)) });
    assert!(!b.state.control.guard.latched.has(low_water(0).0), "its own switch was not seen to open");
    b.contact(ContactUse::Safety(high_limit(0), Tap::Chain), true);
    b.contact(ContactUse::Safety(low_water(0), Tap::Chain), true);
    b.run(500);
    assert_eq!((b.outputs.first_out, alarm(&b)), (Some(high_limit(0)), Reason::Safety(high_limit(0))));
    b.acknowledge();
    assert_eq!((b.outputs.first_out, alarm(&b)), (None, Reason::Healthy));
    // Behind a closed tap an open one is that device's own.
    b.contact(ContactUse::Safety(low_water(0), Tap::Chain), false);
    b.second();
    assert_eq!(b.outputs.first_out, Some(low_water(0)));
    b.acknowledge();
    assert_eq!(b.outputs.first_out, Some(low_water(0)), "not while it is open");
    assert_eq!(
        b.pump(2).why,
        Reason::Safety(low_water(0)),
        "low water stops the boiler's pump where the plant says so"
    );
}

/// Nobody can read what is missing, so every boiler comes, one after another, and none is dropped while heat is wanted. Without an
/// outlet to go by the rate never rises.
#[test]
fn a_lost_supply_sensor_makes_no_jump_and_every_boiler_comes() {
    for drive in [BoilerDrive::Rate, BoilerDrive::DemandOnly] {
        let mut c = config(Shape { boilers: 3, drive, ..Shape::default() });
        let outlet = |u: &SensorUse| matches!(u, SensorUse::BoilerOutlet(_));
        c.points.sensors.iter_mut().filter(|u| outlet(u)).for_each(|u| *u = SensorUse::Spare);
        let mut b = Bench::with(c);
        b.water = false;
        b.supply(40);
        b.call(0, true);
        b.until(900, |b| b.state.control.boilers[0].state.firing());
        b.run(60);
        let before = b.state.laws.load.rate.level();
        let demands = b.demands();
        b.read(SensorUse::Supply, Reading::Open);
        b.second();
        assert_eq!(alarm(&b), Reason::Fallback(SensorId(1)));
        assert_eq!(b.demands(), demands, "nothing comes of the fault itself");
        let mut all = None;
        for _ in 0..6000 {
            b.second();
            assert!(b.state.laws.load.rate.level() <= before);
            if b.demands() == 3 {
                all.get_or_insert(b.now_s);
            }
            assert!(all.is_none() || b.demands() == 3, "one was dropped at {} s", b.now_s);
        }
        assert!(all.is_some(), "{:#?}", b.state.control.staging);
        b.call(0, false);
        b.run(600);
        assert_eq!(b.demands(), 0, "without a call none burns on");
    }
}

/// With an outlet that can be trusted boilers by rate hold the target there.
#[test]
fn without_the_supply_the_hottest_outlet_is_held_at_the_target() {
    let mut b = Bench::new(Shape { boilers: 2, drive: BoilerDrive::Rate, ..Shape::default() });
    b.supply(30);
    for z in 0..2 {
        b.call(z, true);
    }
    b.until(900, |b| b.state.laws.load.lit.count() == 1);
    let mut over = 0;
    for _ in 0..4 * 3600 {
        b.now_s += 1;
        b.plant();
        b.read(SensorUse::Supply, Reading::Short);
        b.tick();
        let Some(target) = b.outputs.target else { continue };
        let outlets = (0..2).filter(|i| b.state.control.boilers[*i].state.firing()).map(|i| {
            let sensor = b.config.points.sensor(SensorUse::BoilerOutlet(BoilerId(i as u8))).unwrap();
            b.inputs.reading(sensor).temp().unwrap()
        });
        over = outlets.map(|t| t.above(target).centi_k()).max().unwrap_or(over);
        if b.now_s > 2 * 3600 {
            assert!((-100..=100).contains(&over), "{over} at {} s", b.now_s);
        }
    }
    assert_eq!(b.demands(), 2);
}

#[test]
fn a_lost_outdoor_sensor_glides_to_the_fallback() {
    let mut b = cold(1);
    b.run(100);
    let mut last = b.outputs.target.unwrap().centi_c();
    b.read(SensorUse::Outdoor, Reading::Short);
    for _ in 0..20 * 3600 {
        b.second();
        let t = b.outputs.target.unwrap().centi_c();
        assert!(t >= last && t - last < 20, "{last} to {t}");
        last = t;
    }
    // Five time constants of 4 h leave 15 K * exp(-5) = 0.10 K to the fallback of -15 °C: 0.13 K of the curve.
    assert!(last.abs_diff(7987) <= 3, "{last}");
}

#[test]
fn a_supply_sensor_that_does_not_move_after_a_flame_is_frozen() {
    let mut b = cold(1);
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    b.run(595);
    assert_eq!(alarm(&b), Reason::Healthy);
    b.run(10);
    let supply = b.config.points.sensor(SensorUse::Supply).unwrap();
    assert_eq!(alarm(&b), Reason::Frozen(supply));
    b.supply(26);
    b.run(2);
    assert!(b.state.control.sensors.supply.lost.is_none());
}

#[test]
fn frost_moves_the_water_and_lights_a_boiler_without_a_call() {
    let mut b = cold(1);
    b.call(0, false);
    b.read(SensorUse::Outdoor, Reading::At(c(-21)));
    b.run(60);
    assert_eq!((b.pump(0).why, b.pump(1).why), (Reason::Frost, Reason::Frost));
    assert!(!b.demand(0).on && b.outputs.target.is_none());
    b.run(700);
    assert!(!b.pump(0).on, "ten minutes at a time");
    b.run(1200);
    assert_eq!(b.pump(0).why, Reason::Frost, "and again after twenty");
    b.read(SensorUse::Return, Reading::At(c(4)));
    b.until(600, |b| b.demand(0).on);
    assert_eq!(b.outputs.target, Some(c(35)));
    b.read(SensorUse::Return, Reading::At(c(6)));
    b.second();
    assert!(b.outputs.target.is_some(), "lets go 2 K above");
    b.read(SensorUse::Return, Reading::At(c(7)));
    b.second();
    assert!(b.outputs.target.is_none());
}

/// Minutes at which the first boiler's demand is cut by its outlet until the alarm names it, within so many hours.
fn cuts_until_alarm(b: &mut Bench, cut: impl Fn(&mut Bench, bool), hours: u32) -> u32 {
    let mut cuts = 0;
    let end = b.now_s + hours * 3600;
    while b.now_s < end {
        b.until(3600, |b| b.demand(0).why == Reason::Lead);
        cut(b, true);
        b.second();
        assert!(!b.demand(0).on, "in the same tick");
        cuts += 1;
        cut(b, false);
        b.second();
        if alarm(b) == Reason::HotCuts(BoilerId(0)) {
            return cuts;
        }
    }
    panic!("{cuts} cuts and no alarm");
}

#[test]
fn a_boiler_cut_hot_again_and_again_raises_an_alarm_with_its_cause_and_is_asked_on() {
    let outlet = |b: &mut Bench, hot: bool| {
        b.read(SensorUse::BoilerOutlet(BoilerId(0)), Reading::At(c(if hot { 96 } else { 50 })))
    };
    let mut b = cold(1);
    // Readings stand still on this bench.
    b.config.guard.frozen_after = Span::ZERO;
    assert_eq!(cuts_until_alarm(&mut b, outlet, 3), 3);
    b.until(900, |b| b.demand(0).on);
    b.run(7200);
    assert_eq!(alarm(&b), Reason::HotCuts(BoilerId(0)), "kept although all is well since");
    b.acknowledge();
    assert_eq!(alarm(&b), Reason::Healthy);
    // Two within the hour say nothing, however often.
    let mut b = cold(1);
    for _ in 0..5 {
        b.until(7200, |b| b.demand(0).why == Reason::Lead);
        outlet(&mut b, true);
        b.second();
        outlet(&mut b, false);
        b.run(1860);
        assert_ne!(alarm(&b), Reason::HotCuts(BoilerId(0)));
    }
}

#[test]
fn an_automatic_high_limit_counts_as_a_cut_and_a_door_switch_does_not() {
    let mut b = cold(1);
    b.config.safeties[high_limit(0).index()].reset = config::Reset::Automatic;
    b.config.safeties[high_limit(0).index()].kind = SafetyKind::HighLimit;
    let limit = |b: &mut Bench, hot: bool| b.contact(ContactUse::Safety(high_limit(0), Tap::Chain), !hot);
    let then_acknowledged = |b: &mut Bench, hot: bool| {
        limit(b, hot);
        if !hot {
            b.acknowledge();
        }
    };
    // Its first-out outranks the count until acknowledged; the button clears both, so the alarm is looked for in between.
    for _ in 0..2 {
        b.until(3600, |b| b.demand(0).why == Reason::Lead);
        then_acknowledged(&mut b, true);
        b.second();
        then_acknowledged(&mut b, false);
    }
    b.until(3600, |b| b.demand(0).why == Reason::Lead);
    limit(&mut b, true);
    b.second();
    assert!(b.state.control.hot.often.has(0));
    let mut b = cold(1);
    for _ in 0..5 {
        b.until(3600, |b| b.demand(0).why == Reason::Lead);
        b.contact(ContactUse::Safety(DOOR, Tap::Aux), false);
        b.second();
        b.contact(ContactUse::Safety(DOOR, Tap::Aux), true);
        b.acknowledge();
    }
    assert_eq!(b.state.control.hot, guard::hot::HotCuts::default());
}

/// A plant that heats by its zones; water flows, and every reading stays as it is set.
fn still(shape: Shape) -> Bench {
    let mut b = Bench::new(shape);
    b.water = false;
    b.call(0, true);
    b
}

#[test]
fn a_supply_that_stands_above_its_target_without_a_flame_is_broken() {
    let mut b = still(Shape::default());
    b.supply(75);
    b.run(2300);
    assert_eq!((b.demands(), b.relay(RelayUse::Alarm).why), (0, Reason::Healthy), "it may yet fall");
    b.read(SensorUse::Return, Reading::At(c(12)));
    let supply = b.config.points.sensor(SensorUse::Supply).unwrap();
    b.until(200, |b| b.relay(RelayUse::Alarm).why == Reason::Frozen(supply));
    // The return stands for it, which it comes to by a kelvin a minute.
    b.until(3600, |b| b.demand(0).on);
    // Hot water that does fall is none.
    let mut b = still(Shape::default());
    for t in 0..60 {
        b.supply(75 - t / 4);
        b.run(60);
        assert_eq!(b.relay(RelayUse::Alarm).why, Reason::Healthy);
    }
}

#[test]
fn an_outlet_that_holds_up_its_boiler_and_does_not_fall_is_broken() {
    let mut b = still(Shape { boilers: 2, ..Shape::default() });
    b.supply(30);
    b.read(SensorUse::BoilerOutlet(BoilerId(0)), Reading::At(c(94)));
    b.run(500);
    assert_eq!(b.demands(), 0, "the lead waits until its water has cooled, and the other for the lead");
    let outlet = b.config.points.sensor(SensorUse::BoilerOutlet(BoilerId(0))).unwrap();
    b.until(600, |b| b.relay(RelayUse::Alarm).why == Reason::Frozen(outlet));
    b.until(3600, |b| b.demand(0).on);
}

#[test]
fn an_outdoor_reading_that_stands_for_a_day_gives_way_to_the_fallback() {
    let mut b = still(Shape::default());
    b.supply(30);
    b.read(SensorUse::Outdoor, Reading::At(c(17)));
    let hours = |b: &mut Bench, h: u32| {
        for _ in 0..h * 60 {
            b.now_s += 59;
            b.second();
        }
        b.outputs.target
    };
    let mild = hours(&mut b, 1);
    assert_eq!(hours(&mut b, 23), mild, "air may stand still so long");
    hours(&mut b, 4 * 24);
    // At the fallback of -15 degrees the curve has 80.
    assert_eq!(b.outputs.target, Some(c(80)));
    assert!(b.state.laws.outdoor.lost);
    b.read(SensorUse::Outdoor, Reading::At(c(16)));
    b.second();
    assert!(!b.state.laws.outdoor.lost, "one that moves again is believed");
}
