//! For a moment no zone wants heat, and the next call is seconds away: the boilers are kept where their heat has somewhere to go.

mod common;
use common::{story::Story, *};
use heatwright_core::{config::*, *};

const TARGET: BoilerDrive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };
const TWO: Shape = Shape { boilers: 2, drive: TARGET, ..Shape::PLAIN };

/// Zone 1 has called and boiler 1 burns; the supply is 2 K under its target of 60.7 °C. Then the zone is content.
fn content(config: Config) -> Bench {
    let mut b = Bench::with(config);
    b.water = false;
    b.config.guard.frozen_after = Span::ZERO;
    b.supply(30);
    b.call(0, true);
    b.until(900, |b| b.state.control.boilers[0].state.firing());
    b.supply(59);
    b.run(200);
    b.call(0, false);
    b.until(30, |b| b.state.control.zones.get(0).is_some_and(|c| c.runs_on()));
    b
}

/// Seconds from the end of the last call to the end of the demand.
fn kept(b: &mut Bench) -> u32 {
    let began = b.now_s;
    b.until(400, |b| !b.demand(0).on) - began
}

const KEPT: Stated = Stated { on: true, why: Reason::Lull };

#[test]
fn a_call_within_the_minute_finds_the_boiler_burning() {
    let mut b = content(config(TWO));
    b.run(2);
    assert_eq!((b.demand(0), b.outputs.target), (KEPT, Some(Temp::from_centi_c(6071))));
    b.run(40);
    b.call(1, true);
    b.run(10);
    assert_eq!(b.demand(0), Stated { on: true, why: Reason::Lead });
    b.run(300);
    assert_eq!((b.demand(0).on, b.state.meter.starts[0]), (true, 1));
}

#[test]
fn without_one_it_is_let_go_after_a_minute() {
    let mut b = content(config(TWO));
    assert!((60..=62).contains(&kept(&mut b)));
    b.run(1);
    assert!(b.pump(0).on, "the zone's water still runs on");
    assert_eq!(b.state.control.lull, None);
}

#[test]
fn no_boiler_is_kept_where_its_heat_has_nowhere_to_go_or_is_not_wanted() {
    let at_once = |b: &mut Bench| assert!(kept(b) <= 2, "{:?}", b.demand(0));
    let mut still = config(TWO);
    still.zones.iter_mut().for_each(|z| z.overrun = Span::ZERO);
    still.pumps.iter_mut().for_each(|p| p.on_min = Span::ZERO);
    let mut b = Bench::with(still.clone());
    b.water = false;
    b.supply(30);
    b.call(0, true);
    b.until(900, |b| b.state.control.boilers[0].state.firing());
    b.supply(59);
    b.run(200);
    b.call(0, false);
    b.until(20, |b| !b.pump(0).on);
    at_once(&mut b);
    let mut warm = content(config(TWO));
    warm.run(5);
    warm.supply(61);
    at_once(&mut warm);
    let mut blind = content(config(TWO));
    blind.run(5);
    blind.read(SensorUse::Supply, Reading::Open);
    at_once(&mut blind);
    let mut alone = content(config(Shape { zones: 1, ..TWO }));
    at_once(&mut alone);
    let mut cut = content(config(TWO));
    cut.run(5);
    cut.contact(ContactUse::Safety(DOOR, Tap::Aux), false);
    at_once(&mut cut);
}

/// Boiler 1 is cut in the lull: the other comes once a zone calls, and not before.
#[test]
fn in_a_lull_no_boiler_is_added() {
    let mut b = content(config(TWO));
    b.state.control.staging.enlisted.push(BoilerId(1)).unwrap();
    b.run(1);
    b.contact(ContactUse::Safety(high_limit(1), Tap::Chain), false);
    b.run(20);
    assert_eq!(b.state.control.staging.enlisted, [BoilerId(0)]);
    let mut b = content(config(TWO));
    b.run(1);
    b.contact(ContactUse::Safety(high_limit(0), Tap::Chain), false);
    b.run(50);
    let staging = &b.state.control.staging;
    assert!(staging.enlisted.is_empty(), "{staging:?} {:?} {:?}", b.outputs.target, b.state.control.lull);
    b.supply(50);
    b.call(1, true);
    b.run(10);
    assert_eq!(b.state.control.staging.enlisted, [BoilerId(1)]);
}

#[test]
fn a_lull_on_a_cold_morning() {
    let mut t = Story::new("A lull on a cold morning: no zone calls for half a minute, -15 °C outside", {
        let mut c = config(TWO);
        c.reset.outdoor_filter = Span::ZERO;
        c
    });
    t.b.water = false;
    t.b.config.guard.frozen_after = Span::ZERO;
    t.b.supply(60);
    t.b.read(SensorUse::Outdoor, Reading::At(c(-15)));
    t.does("zone 1 calls", |b| b.call(0, true));
    t.minutes(20);
    t.b.supply(78);
    t.minutes(2);
    t.does("zone 1 is content", |b| b.call(0, false));
    t.run(30);
    t.does("zone 2 calls", |b| b.call(1, true));
    t.minutes(10);
    t.does("zone 2 is content too, and none calls", |b| b.call(1, false));
    t.minutes(10);
    insta::assert_snapshot!(t.table());
}
