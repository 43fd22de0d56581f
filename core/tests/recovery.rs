//! A boiler that recovers by itself gets no help; one that falls short does.

mod common;
use common::{lit::*, *};

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
