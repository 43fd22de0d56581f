//! A boiler that recovers by itself gets no help; one that falls short does.

mod common;
use common::*;
use heatwright_core::{config::*, *};

const TARGET: BoilerDrive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };

/// The lead has just lit; the water stands as the test sets it.
fn lit(shape: Shape) -> Bench {
    let mut b = Bench::new(Shape { drive: TARGET, ..shape });
    b.water = false;
    b.config.guard.frozen_after = Span::ZERO;
    b.supply(30);
    b.call(0, true);
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    b
}

/// The supply reads so many hundredths of a kelvin less than its target, and every outlet so many more than that.
fn reads(b: &mut Bench, short: i32, outlet_over: i32) {
    let supply = i32::from(b.outputs.target.unwrap().centi_c()) - short;
    b.read(SensorUse::Supply, Reading::At(Temp::from_centi_c(supply as i16)));
    for i in 0..2 {
        let outlet = Temp::from_centi_c((supply + outlet_over) as i16);
        b.read(SensorUse::BoilerOutlet(BoilerId(i)), Reading::At(outlet));
    }
}

#[test]
fn a_lead_that_recovers_by_itself_within_ten_minutes_gets_no_help() {
    // 3 °F (1.7 K) a minute from 12 K below the target: seven minutes.
    let mut b = lit(Shape { boilers: 2, ..Shape::default() });
    for t in 0..420 {
        reads(&mut b, 1200 - t * 170 / 60, 1000);
        b.second();
        assert!(!b.demand(1).on, "after {t} s");
    }
}

#[test]
fn help_comes_when_the_recovery_stops_short_and_when_it_would_take_too_long() {
    let mut b = lit(Shape { boilers: 2, ..Shape::default() });
    for t in 0..120 {
        reads(&mut b, 1600 - t * 300 / 60, 1000);
        b.second();
    }
    // 10 K short, 7 K beyond the band: 1500 K s take 214 s, a minute more until the pace is forgotten.
    let stands = b.now_s;
    let second = b.until(900, |b| b.demand(1).on);
    assert!(second - stands <= 214 + 60 + 30, "{} s", second - stands);

    let mut b = lit(Shape { boilers: 2, ..Shape::default() });
    let began = b.now_s;
    // 17 K short at half a kelvin a minute: half an hour.
    for t in 0..300 {
        reads(&mut b, 1700 - t * 50 / 60, 1000);
        b.second();
    }
    assert!(b.demand(1).on, "after {} s", b.now_s - began);
}
