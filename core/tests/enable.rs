//! The plant runs by the number of calls: the published rule on the whole controller.

mod common;
use common::*;
use heatwright_core::{config::*, *};

fn plant(ignored: u8, tank: bool) -> Bench {
    let mut c = config(Shape { zones: 3, tank, by_requests: true, ..Shape::default() });
    c.enable = PlantEnable::Requests(EnableRules { ignored, ..EnableRules::GUIDELINE_36 });
    let mut b = Bench::with(c);
    b.water = false;
    b.supply(25);
    b
}

#[test]
fn a_start_waits_for_the_plants_shortest_stop_and_a_stop_for_three_minutes_without_calls() {
    // ASHRAE Guideline 36-2021, 5.21.2.2 and 5.21.2.3: 15 min, 15 min, 3 min.
    let mut b = plant(0, false);
    b.call(0, true);
    b.run(890);
    assert_eq!((b.outputs.target, b.pump(0)), (None, Stated { on: false, why: Reason::FewCalls }));
    let on = b.until(20, |b| b.outputs.target.is_some());
    assert_eq!(on, 900);
    b.until(120, |b| b.demand(0).on);
    b.run(1200);
    b.call(0, false);
    b.until(90, |b| b.outputs.target.is_none());
    b.call(1, true);
    // Too short a gap to stop the plant: heat is wanted again at once.
    b.until(20, |b| b.outputs.target.is_some());
    b.call(1, false);
    b.run(300);
    b.call(1, true);
    b.run(600);
    assert_eq!(b.pump(1).why, Reason::FewCalls, "after three minutes without a call it rests");
    b.until(400, |b| b.outputs.target.is_some());
}

#[test]
fn calls_that_are_ignored_start_nothing_until_one_more_comes() {
    let mut b = plant(1, false);
    b.call(0, true);
    b.run(7200);
    assert_eq!((b.outputs.target, b.demands(), b.pump(0).why), (None, 0, Reason::FewCalls));
    b.call(2, true);
    b.until(20, |b| b.outputs.target.is_some());
    b.until(30, |b| b.pump(0).on && b.pump(2).on);
}

#[test]
fn the_tank_and_frost_wait_for_no_company() {
    let mut b = plant(2, true);
    b.run(1000);
    b.contact(ContactUse::TankCall, true);
    b.until(30, |b| b.outputs.target.is_some());
    let mut b = plant(2, false);
    b.run(10);
    b.read(SensorUse::Return, Reading::At(c(4)));
    b.second();
    assert!(b.outputs.target.is_some(), "frost in the water heats at once");
    b.call(0, true);
    b.run(60);
    assert_eq!(b.pump(0).why, Reason::Frost, "a call that is ignored keeps its frost protection");
}

#[test]
fn on_any_call_the_rule_rests() {
    let mut b = Bench::new(Shape::default());
    b.call(0, true);
    b.run(10);
    assert!(b.outputs.target.is_some());
    assert_eq!(b.state.control.enable, enable::Enable::default());
}
