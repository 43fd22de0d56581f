//! When a boiler's pump starts before its flame, what a standing outlet says, and whom a shortfall brings in rate drive.

mod common;
use common::*;
use heatwright_core::*;

/// Two boilers, both asked for and both at rest since their shortest stop was over.
fn both_asked(start_spacing: u32) -> Bench {
    let mut b = Bench::new(Shape { boilers: 2, drive: config::BoilerDrive::Rate, ..Shape::default() });
    b.water = false;
    b.config.staging.start_spacing = span(start_spacing);
    b.config.guard.frozen_after = Span::ZERO;
    b.run(400);
    b.supply(30);
    b.call(0, true);
    b.until(30, |b| b.outputs.target.is_some());
    b.state.control.staging.enlisted.clear();
    b.state.control.staging.enlisted.extend([BoilerId(0), BoilerId(1)]);
    b
}

#[test]
fn the_pump_of_a_boiler_starts_when_its_turn_has_come() {
    let mut b = both_asked(200);
    b.until(30, |b| b.pump(2).on);
    assert_eq!(b.demand(1).why, Reason::NotItsTurn, "no start was made yet");
    b.until(900, |b| b.demand(0).on);
    let first = b.now_s;
    assert!(!b.pump(3).on);
    b.run(100);
    assert!(!b.pump(3).on);
    assert_eq!(b.demand(1).why, Reason::Stagger);
    let pump = b.until(300, |b| b.pump(3).on);
    let demand = b.until(300, |b| b.demand(1).on);
    assert!(demand - first >= 200 && demand - pump <= 5, "{first} {pump} {demand}");
}

#[test]
fn without_spacing_both_still_start_one_after_the_other() {
    let mut b = both_asked(0);
    let first = b.until(900, |b| b.demand(0).on);
    assert!(b.until(900, |b| b.demand(1).on) - first <= 20);
}

/// It was cut by its own hot water. Its pump stands, and with it the hot water at its outlet; the header is cold.
#[test]
fn hot_water_that_stands_in_a_boiler_holds_up_its_flame_and_not_its_pump() {
    let mut b = Bench::new(Shape::default());
    b.water = false;
    b.run(400);
    b.supply(30);
    b.read(SensorUse::BoilerOutlet(BoilerId(0)), Reading::At(c(93)));
    b.call(0, true);
    b.until(60, |b| b.pump(2).on);
    b.run(60);
    assert_eq!(b.demand(0), Stated { on: false, why: Reason::OutletHigh });
    b.read(SensorUse::BoilerOutlet(BoilerId(0)), Reading::At(c(60)));
    b.until(10, |b| b.demand(0).on);
}

/// The first is held up by its own hot water: the second does not wait for it.
#[test]
fn a_boiler_that_its_hot_water_holds_up_holds_up_no_other() {
    let mut b = both_asked(60);
    b.read(SensorUse::BoilerOutlet(BoilerId(0)), Reading::At(c(93)));
    b.until(120, |b| b.demand(1).on);
    assert!(!b.demand(0).on && b.pump(2).on);
    b.read(SensorUse::BoilerOutlet(BoilerId(0)), Reading::At(c(40)));
    b.until(120, |b| b.demand(0).on);
}

/// The tank calls for 80 °C and the water is far below. The first boiler has not given what it can yet.
#[test]
fn a_fresh_target_brings_no_other_boiler_before_those_that_burn_have_given_what_they_can() {
    let mut b = Bench::new(Shape { boilers: 2, drive: config::BoilerDrive::Rate, tank: true, ..Shape::default() });
    b.water = false;
    b.config.guard.frozen_after = Span::ZERO;
    b.supply(34);
    b.call(0, true);
    b.until(900, |b| b.state.control.boilers[0].state.firing());
    b.supply(61);
    b.run(600);
    assert_eq!(b.state.laws.load.rate.level().get(), 200, "the zone is content");
    b.contact(ContactUse::TankCall, true);
    let called = b.now_s;
    let second = b.until(1200, |b| b.state.control.staging.enlisted.len() == 2);
    assert!(b.state.laws.load.rate.level() >= b.config.staging.up_rate, "{:?}", b.state.laws.load);
    // 19 K short move the rate by 1000 / 20 * 19 / 600 thousandths a second: from 200 to 850 in 411 s. There it is held for 300 s.
    assert!((700..=740).contains(&(second - called)), "{} s", second - called);
}
