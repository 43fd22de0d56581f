//! Overrun and heat purge after heat that never came.
//!
//! Decided so: a pump runs on whether or not a flame was seen. The commonest reason for "no flame" is an eye that did not see
//! the one that burned, and every trial puts heat into the boiler (common practice, no source); water that runs on for its few
//! minutes over a cold boiler costs next to nothing. Where no boiler was asked there is no overrun of a boiler's pump to be had.
//! A heat purge looks at the water: it carries what is there, whoever put it there, and does not begin over cool water.

mod common;
use common::*;
use heatwright_core::{purge::Purge, *};

/// A plant of two boilers and two zones; zone 1's pump is 0, the boilers' are 2 and 3. Half an hour after power-up.
fn at_rest(supply: i16) -> Bench {
    let mut b = Bench::new(Shape { boilers: 2, ..Shape::default() });
    b.water = false;
    b.config.guard.frozen_after = Span::ZERO;
    b.supply(supply);
    b.run(1800);
    assert!((0..4).all(|p| !b.pump(p).on));
    b
}

/// Seconds that a pump runs from here on.
fn runs_on(b: &mut Bench, p: u8) -> u32 {
    let began = b.now_s;
    b.until(2000, |b| !b.pump(p).on) - began
}

#[test]
fn where_every_boiler_is_locked_out_only_the_zone_runs_on() {
    let mut b = at_rest(40);
    (0..2).for_each(|i| b.contact(ContactUse::BoilerFault(BoilerId(i)), true));
    b.call(0, true);
    for _ in 0..3600 {
        b.second();
        assert!(!b.pump(2).on && !b.pump(3).on, "no boiler was asked");
        assert_eq!(b.state.control.purge, Purge::Idle);
    }
    assert_eq!((b.outputs.lead, b.pump(0).why), (None, Reason::Call(ZoneId(0))));
    b.call(0, false);
    b.until(10, |b| b.pump(0).why == Reason::Overrun);
    assert_eq!(runs_on(&mut b, 0), 120);
    assert!(!b.pump(2).on && !b.pump(3).on && b.state.control.purge == Purge::Idle);
}

#[test]
fn a_boilers_pump_runs_on_after_a_demand_that_was_not_answered() {
    let mut b = at_rest(40);
    b.no_flame = [true; 4];
    b.call(0, true);
    b.until(900, |b| b.demand(0).on);
    b.until(900, |b| !b.demand(0).on);
    assert_eq!(b.demand(0).why, Reason::Retry);
    assert_eq!(b.pump(2), Stated { on: true, why: Reason::BoilerOverrun(BoilerId(0)) });
    assert_eq!(runs_on(&mut b, 2), 240);
}

#[test]
fn what_is_purged_is_what_the_water_holds() {
    for (supply, purged) in [(44, false), (46, true)] {
        let mut b = at_rest(supply);
        b.no_flame = [true; 4];
        b.call(0, true);
        b.until(900, |b| b.demand(0).on);
        b.call(0, false);
        b.until(300, |b| !b.demand(0).on && b.outputs.target.is_none());
        b.run(1);
        assert_eq!(b.state.control.purge != Purge::Idle, purged, "{supply} °C");
        b.run(2);
        assert_eq!(b.state.control.purge.runs(), purged, "{supply} °C");
    }
}
