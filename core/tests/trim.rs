//! What boilers are told while the header dilutes, while it does not, and while the tank calls.

mod common;
use common::{lit::*, *};
use heatwright_core::*;

fn told_c(b: &Bench) -> f64 {
    let a = b.outputs.analog(b.config.points.analog(AnalogUse::Target(BoilerId(0))).unwrap());
    20.0 + 0.07 * f64::from(a.at.get())
}

#[test]
fn the_trim_makes_up_for_dilution_and_takes_no_lag_of_the_supply_for_it() {
    // Warming up: outlets 10 K above the supply, both far below what is asked.
    let mut b = lit(Shape::default());
    for t in 0..300 {
        reads(&mut b, 2500 - t * 3, 1000);
        b.second();
    }
    assert_eq!(b.state.laws.header_trim, TempDelta::ZERO);
    // The outlet is at its target, the supply 4 K below it: that is dilution.
    for _ in 0..1800 {
        reads(&mut b, 400, 400);
        b.second();
    }
    let trim = b.state.laws.header_trim;
    assert!(trim > TempDelta::from_k(3) && trim <= TempDelta::from_k(4), "{trim:?}");
    // The supply has its target and more: whatever the outlets read, the trim shrinks.
    for _ in 0..1200 {
        reads(&mut b, -200, 1200);
        b.second();
    }
    assert!(b.state.laws.header_trim < TempDelta::from_k(1));
}

#[test]
fn a_tank_is_served_without_trim() {
    let mut b = lit(Shape { tank: true, ..Shape::default() });
    for _ in 0..1200 {
        reads(&mut b, 400, 600);
        b.second();
    }
    assert!(b.state.laws.header_trim > TempDelta::from_k(2));
    b.contact(ContactUse::TankCall, true);
    for _ in 0..900 {
        reads(&mut b, 400, 600);
        b.second();
    }
    assert_eq!(b.outputs.target, Some(c(80)));
    assert_eq!(b.state.laws.header_trim, TempDelta::ZERO);
    assert!((told_c(&b) - 80.0).abs() < 0.1, "{}", told_c(&b));
}

#[test]
fn the_trim_tells_no_boiler_more_than_its_bound_less_what_its_own_control_goes_past_it() {
    for (outlet_max, want) in [(95, 66.7), (68, 63.0), (63, 60.7), (60, 60.0)] {
        let mut b = lit(Shape::default());
        b.config.boilers[0].outlet_max = c(outlet_max);
        b.config.boilers[0].fixed_target = c(50);
        b.state.laws.header_trim = TempDelta::from_k(6);
        reads(&mut b, 800, 0);
        b.second();
        // The target is 60.7 °C: asked for as it is, though never more than the bound.
        assert!((told_c(&b) - want).abs() < 0.35, "{outlet_max}: {} for {want}", told_c(&b));
    }
}
