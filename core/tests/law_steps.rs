//! A moment that is due for a law alone (`quiet`): what its step asks for, each time against the tick that it stands for.

mod common;
use common::{lit::*, *};
use heatwright_core::{
    config::BoilerDrive,
    quiet::{Asks, Quiet},
    *,
};

/// Goes to the next moment that is due, as a step and as a tick. Where the step asks for no tick, both stand where the other
/// does. Nothing once no moment is due any more.
fn due(b: &mut Bench) -> Option<Asks> {
    let machines = tick_for(&b.config, &mut b.state, s(b.now_s), &b.inputs, &mut b.outputs);
    let mut quiet = Quiet::after(&b.config, &b.state, machines);
    let at = next_due(&b.state)?;
    b.now_s = at.tenths().div_ceil(10);
    let mut stepped = b.clone();
    let asks = quiet.step(&b.config, &mut stepped.state, s(b.now_s), &b.inputs);
    b.tick();
    if asks == Asks::Signals {
        Quiet::signals(&b.config, &stepped.state, &mut stepped.outputs);
    }
    if asks != Asks::Tick {
        assert_eq!(stepped.outputs, b.outputs, "at {} s", b.now_s);
        assert_eq!(stepped.state, b.state, "at {} s", b.now_s);
    }
    Some(asks)
}

/// What the moments of so many seconds ask for.
fn asked(b: &mut Bench, seconds: u32) -> Vec<Asks> {
    let end = b.now_s + seconds;
    let mut all = Vec::new();
    while b.now_s < end
        && let Some(asks) = due(b)
    {
        all.push(asks);
    }
    all
}

fn count(all: &[Asks], which: Asks) -> usize {
    all.iter().filter(|a| **a == which).count()
}

fn outdoor(b: &mut Bench, t: i16) {
    b.read(SensorUse::Outdoor, Reading::At(c(t)));
    b.second();
}

/// It grows colder: the target rises by a trifle a minute past a supply that stands. The boiler's flame is no longer owed, wanted or
/// satisfied at a few of these minutes, and those are ticks.
#[test]
fn a_target_that_rises_is_stated_without_a_tick_until_a_reading_changes_sides() {
    let mut b = lit(Shape { boilers: 2, ..Shape::default() });
    reads(&mut b, -450, 200);
    outdoor(&mut b, -15);
    let from = b.outputs.target.unwrap();
    let all = asked(&mut b, 4 * 3600);
    assert!(b.outputs.target.unwrap().above(from) > TempDelta::from_k(9), "{:?}", b.outputs.target);
    assert!(count(&all, Asks::Signals) > 60 && count(&all, Asks::Tick) > 2, "{all:?}");
}

/// Seven kelvin beyond the band add up to 1500 kelvin-seconds in 22 steps.
#[test]
fn a_sum_asks_for_a_tick_once_it_is_reached() {
    let mut b = lit(Shape { boilers: 2, ..Shape::default() });
    b.config.reset.header_trim_max = TempDelta::ZERO;
    reads(&mut b, 0, 1000);
    b.run(25);
    assert_eq!(b.state.laws.sums.up, 0);
    reads(&mut b, 1000, 1000);
    b.second();
    let all = asked(&mut b, 250);
    assert!(count(&all, Asks::Nothing) >= 20 && count(&all, Asks::Signals) == 0, "{all:?}");
    assert!(count(&all, Asks::Tick) > 0, "{all:?}");
}

#[test]
fn a_mixing_valve_brings_signals_only() {
    let mut b = Bench::new(Shape { drive: TARGET, extras: true, ..Shape::default() });
    b.water = false;
    b.read(SensorUse::Mixed(ZoneId(1)), Reading::At(c(60)));
    b.run(301);
    assert!(!b.state.laws.basis.mixing.is_empty());
    b.read(SensorUse::Mixed(ZoneId(1)), Reading::At(c(25)));
    b.second();
    let all = asked(&mut b, 60);
    assert!(count(&all, Asks::Signals) >= 4, "{all:?}");
}

/// While the tank calls the target may be the tank's, and a common firing rate has waits of its own: each step is a tick.
#[test]
fn what_cannot_be_told_without_a_tick_is_one() {
    let mut b = lit(Shape { tank: true, ..Shape::default() });
    b.contact(ContactUse::TankCall, true);
    b.run(30);
    outdoor(&mut b, -15);
    let all = asked(&mut b, 1800);
    assert_eq!(count(&all, Asks::Signals), 0, "{all:?}");
    let mut b = Bench::new(Shape { drive: BoilerDrive::Rate, ..Shape::default() });
    b.water = false;
    b.supply(30);
    b.call(0, true);
    b.until(900, |b| !b.state.laws.load.lit.is_empty());
    let all = asked(&mut b, 200);
    assert!(all.iter().all(|a| *a == Asks::Tick), "{all:?}");
}
