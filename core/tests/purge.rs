//! Where left heat goes, whose pumps carry it, and water that runs on only where a call was answered.

mod common;
use common::*;
use heatwright_core::{quiet::Quiet, *};

/// Zone 1 has called and been heated by the first boiler; then it stops, on water of `supply` beside a tank of `tank`.
fn after_a_call(shape: Shape, supply: i16, tank: i16) -> Bench {
    let mut b = Bench::new(shape);
    b.water = false;
    b.read(SensorUse::Tank, Reading::At(c(tank)));
    b.call(1, true);
    b.supply(30);
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    b.run(200);
    b.supply(supply);
    b.call(1, false);
    b.until(400, |b| !b.demand(0).on && b.outputs.target.is_none());
    b.run(3);
    b
}

const TANK: Shape = Shape { tank: true, zones: 2, boilers: 1, ..Shape::PLAIN };
const TANK_PUMP: u8 = 3;

#[test]
fn water_colder_than_the_tank_is_not_sent_through_it() {
    let b = after_a_call(TANK, 58, 62);
    assert!(!b.pump(TANK_PUMP).on, "{:?}", b.pump(TANK_PUMP));
    assert_eq!(b.pump(0).why, Reason::HeatPurge, "the zone takes it");
}

#[test]
fn a_purge_into_the_tank_ends_once_the_water_is_no_warmer_than_it_by_5_k() {
    let mut b = after_a_call(TANK, 70, 55);
    assert_eq!(b.pump(TANK_PUMP), Stated { on: true, why: Reason::HeatPurge });
    b.read(SensorUse::Tank, Reading::At(c(58)));
    b.run(40);
    assert_eq!(b.pump(TANK_PUMP).why, Reason::HeatPurge);
    b.supply(62);
    b.run(40);
    assert!(!b.pump(TANK_PUMP).on, "4 K");
    let mut b = after_a_call(TANK, 70, 55);
    b.config.purge.otherwise = None;
    b.supply(59);
    b.run(40);
    assert!(!b.pump(TANK_PUMP).on && b.state.control.purge == purge::Purge::Idle);
}

/// Whether the tank still takes heat is asked of supply and tank together: no band of either alone holds the answer.
#[test]
fn while_the_tank_takes_heat_every_change_of_supply_and_tank_is_looked_at() {
    let b = after_a_call(TANK, 70, 55);
    let quiet = Quiet::after(&b.config, &b.state, next_due(&b.state));
    let range = |u| quiet.range(b.config.points.sensor(u).unwrap());
    assert_eq!([range(SensorUse::Supply), range(SensorUse::Tank)], [Some((7000, 7000)), Some((5500, 5500))]);
    let b = after_a_call(Shape { tank: false, ..TANK }, 70, 55);
    assert_eq!(b.pump(0).why, Reason::HeatPurge);
    let quiet = Quiet::after(&b.config, &b.state, next_due(&b.state));
    assert_ne!(quiet.range(b.config.points.sensor(SensorUse::Supply).unwrap()), Some((7000, 7000)));
}

/// The second boiler burned half an hour ago, or two hours ago.
#[test]
fn only_boilers_that_have_burned_within_the_hour_are_purged() {
    for (ago_s, runs) in [(1800, true), (7200, false)] {
        let mut b = Bench::new(Shape { boilers: 2, ..Shape::PLAIN });
        b.water = false;
        b.config.guard.frozen_after = Span::ZERO;
        b.supply(30);
        b.call(1, true);
        b.until(900, |b| b.state.control.boilers[0].state.firing());
        b.supply(60);
        b.run(7300);
        b.state.control.boilers[1] = boilers::Boiler::off(s(b.now_s - ago_s));
        b.call(1, false);
        b.until(900, |b| b.pump(2).why == Reason::HeatPurge);
        b.run(10);
        assert_eq!(b.pump(3).on, runs, "{ago_s} s: {:?}", b.pump(3));
    }
}

#[test]
fn water_runs_on_only_after_a_call_that_was_answered() {
    let after = |outdoor: i16| {
        let mut b = Bench::new(Shape::default());
        b.config.reset.outdoor_filter = Span::ZERO;
        b.water = false;
        b.read(SensorUse::Outdoor, Reading::At(c(outdoor)));
        b.call(0, true);
        b.run(200);
        b.call(0, false);
        b.run(30);
        b.pump(0)
    };
    assert_eq!(after(10), Stated { on: true, why: Reason::Overrun });
    assert!(!after(25).on, "warm weather: {:?}", after(25));
    // Shed for the tank.
    let mut b = Bench::new(TANK);
    b.water = false;
    b.contact(ContactUse::TankCall, true);
    b.run(20);
    b.call(0, true);
    b.run(200);
    assert_eq!(b.pump(0), Stated { on: false, why: Reason::Shed });
    b.call(0, false);
    b.run(10);
    b.contact(ContactUse::TankCall, false);
    b.run(20);
    assert!(!b.pump(0).on, "{:?}", b.pump(0));
}

/// The season ends while the water runs on: it is let run out.
#[test]
fn water_that_runs_on_when_the_season_ends_runs_out() {
    let mut b = Bench::new(Shape::default());
    b.config.reset.outdoor_filter = Span::ZERO;
    b.water = false;
    b.read(SensorUse::Outdoor, Reading::At(c(10)));
    b.call(0, true);
    b.run(200);
    b.call(0, false);
    b.run(30);
    b.read(SensorUse::Outdoor, Reading::At(c(25)));
    b.run(30);
    assert_eq!(b.pump(0), Stated { on: true, why: Reason::Overrun });
}
