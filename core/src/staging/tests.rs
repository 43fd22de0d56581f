//! Who goes, who is struck and what is told of it: a run shows these only by what follows.

use super::*;
use crate::{boilers::BoilerState, limits, tests::plant, units::Instant};

/// Four boilers; a band of 3 K, and 900 kelvin-seconds of excess that drop one.
fn four() -> Config {
    let mut c = plant();
    for _ in 0..2 {
        let b = c.boilers[0].clone();
        c.boilers.push(b).unwrap();
    }
    (c.staging.up_error_k_s, c.staging.down_error_k_s) = (1500, 900);
    c
}

const NO_SUMS: Sums = Sums { up: 0, down: 0, past: TempDelta::ZERO };
const EXCESS: Sums = Sums { down: 90_000, ..NO_SUMS };

/// Who is wanted after one tick, and who is leaving: the target is 60 degrees, boilers in `proved` burn.
fn after(
    enlisted: &[u8],
    leaving: Option<u8>,
    order: &[u8],
    proved: &[u8],
    supply: Option<i16>,
    sums: Sums,
) -> (std::vec::Vec<u8>, Option<u8>) {
    beside(None, enlisted, leaving, order, proved, supply, sums)
}

/// The same beside a boiler that has failed, has not lit since and is warm enough now.
fn beside(
    dark: Option<u8>,
    enlisted: &[u8],
    leaving: Option<u8>,
    order: &[u8],
    proved: &[u8],
    supply: Option<i16>,
    sums: Sums,
) -> (std::vec::Vec<u8>, Option<u8>) {
    let ids = |list: &[u8]| list.iter().map(|b| BoilerId(*b)).collect::<std::vec::Vec<_>>();
    let mut s = Staging::default();
    s.enlisted.extend_from_slice(&ids(enlisted)).unwrap();
    s.leaving = leaving.map(BoilerId);
    let mut boilers = [crate::boilers::Boiler::off(Instant::ZERO); limits::BOILERS];
    for b in proved {
        boilers[usize::from(*b)].state = BoilerState::Firing { began: Instant::ZERO };
    }
    if let Some(b) = dark {
        let state = BoilerState::Holding { began: Instant::ZERO };
        boilers[usize::from(b)] = crate::boilers::Boiler { state, tried: true, unlit: true };
    }
    let mut flames = Flames::default();
    flames.sort(&boilers);
    let order = ids(order);
    let around = Around {
        target: Some(Temp::from_c(60)),
        supply: supply.map(Temp::from_c),
        order: &order,
        able: order.iter().fold(Mask::NONE, |all, b| all.or(Mask::of(b.0))),
        wanted: s.wanted(),
        faulted: Mask::NONE,
        flames,
        common: false,
        outflow: true,
        advice: load::Advice::default(),
        required: None,
        short: sums.up > 0,
        rest_could: false,
        band: TempDelta::from_k(3),
        low: false,
        lull: false,
        hours: None,
    };
    s.decide(&four(), &mut { sums }, &around, &mut Clock::at(Instant::ZERO));
    (s.enlisted.iter().map(|b| b.0).collect(), s.leaving.map(|b| b.0))
}

extern crate std;
use std::{vec, vec::Vec};

#[test]
fn the_first_is_asked_for_below_the_band_and_where_nobody_reads_the_supply() {
    let first = |supply| after(&[], None, &[2, 0], &[], supply, NO_SUMS).0;
    assert_eq!([first(Some(57)), first(None)], [vec![2], vec![2]]);
    assert_eq!(first(Some(58)), vec![]);
}

/// Boiler 0 hands the lead to boiler 1.
#[test]
fn an_old_lead_goes_once_the_new_one_is_proved() {
    let under_way = |proved: &[u8], supply, sums| after(&[0, 1], Some(0), &[1, 0, 2], proved, Some(supply), sums);
    assert_eq!(under_way(&[0], 60, NO_SUMS), (vec![0, 1], Some(0)));
    assert_eq!(under_way(&[0, 1], 60, NO_SUMS), (vec![1], None));
    assert_eq!(under_way(&[0], 62, EXCESS), (vec![0, 1], Some(0)), "of two none goes by the sum");
    assert_eq!(under_way(&[0], 63, NO_SUMS), (vec![0], None), "the load went: the new one is not needed either");
    assert_eq!(after(&[0, 1], Some(0), &[0, 1], &[0], Some(60), NO_SUMS), (vec![0, 1], None), "the lead came back");
}

/// Boiler 1 was to hand the lead to boiler 0, which failed and is back in the next tick, acknowledged.
#[test]
fn a_new_lead_that_was_struck_and_is_back_is_asked_anew() {
    let back = after(&[1], Some(1), &[0, 1], &[1], Some(60), NO_SUMS);
    assert_eq!(back, (vec![1], None));
    assert_eq!(after(&back.0, back.1, &[0, 1], &[1], Some(60), NO_SUMS), (vec![1, 0], Some(1)));
}

/// Boiler 0 hands the lead to boiler 1 while boiler 2 burns too.
#[test]
fn of_three_the_old_lead_goes_by_the_sum_without_waiting_for_the_new_one() {
    let under_way = |proved: &[u8], supply, sums| after(&[0, 2, 1], Some(0), &[1, 2, 0], proved, Some(supply), sums);
    assert_eq!(under_way(&[0, 2], 62, NO_SUMS), (vec![0, 2, 1], Some(0)));
    assert_eq!(under_way(&[0, 2], 62, EXCESS), (vec![2, 1], None));
    assert_eq!(under_way(&[0, 2], 64, NO_SUMS), (vec![0, 2, 1], Some(0)), "above the band alone drops only a last one");
    assert_eq!(under_way(&[0, 1, 2], 62, EXCESS), (vec![2, 1], None));
}

/// Boiler 0 has failed, has not lit since, and leads again over water that boiler 1 keeps warm.
#[test]
fn a_lead_that_failed_drops_no_other_before_it_has_lit_and_keeps_none_from_coming() {
    let dark = |supply, sums| beside(Some(0), &[1, 0], Some(1), &[0, 1, 2], &[1], Some(supply), sums);
    assert_eq!(dark(60, NO_SUMS), (vec![1, 0], Some(1)));
    let short = Sums { up: 1, ..NO_SUMS };
    assert_eq!(dark(58, short), (vec![1, 0, 2], Some(1)), "another is needed");
    assert_eq!(dark(63, NO_SUMS), (vec![1], None), "none of them is needed");
    assert_eq!(after(&[1, 0], Some(1), &[0, 1, 2], &[0, 1], Some(60), NO_SUMS), (vec![0], None), "it has lit");
    // Where one is to go, it is the one that does not burn, whichever was on last.
    let goes = |enlisted: &[u8]| beside(Some(0), enlisted, None, &[0, 1, 2], &[1], Some(62), EXCESS).0;
    assert_eq!([goes(&[0, 1]), goes(&[1, 0])], [vec![1], vec![1]]);
}

#[test]
fn a_lead_that_passes_on_lights_the_new_one_beside_the_old_one() {
    let passes = |proved: &[u8]| after(&[0, 2], None, &[1, 2, 0], proved, Some(60), NO_SUMS);
    assert_eq!(passes(&[0, 2]), (vec![0, 2, 1], Some(0)));
    assert_eq!(passes(&[0]), (vec![0, 2], None), "not before all of them burn");
}

const FIRST_GOES: OffOrder = OffOrder::FirstOnFirstOff;
const LAST_GOES: OffOrder = OffOrder::FirstOnLastOff;

fn asked(list: &[u8], leaving: Option<u8>) -> Staging {
    let mut s = Staging { leaving: leaving.map(BoilerId), last_start: Some(Instant::from_s(7)), ..Staging::default() };
    list.iter().for_each(|b| s.enlist(BoilerId(*b)));
    s
}

fn set(boilers: &[u8]) -> Mask {
    boilers.iter().fold(Mask::NONE, |all, b| all.or(Mask::of(*b)))
}

/// Boilers 0 to 2 are able, and those in `burn` do; the target is 60 degrees.
fn around<'a>(order: &'a [BoilerId], burn: &[u8], supply: i16) -> Around<'a> {
    let burn = set(burn);
    Around {
        target: Some(Temp::from_c(60)),
        supply: Some(Temp::from_c(supply)),
        order,
        able: set(&[0, 1, 2]),
        wanted: burn,
        faulted: Mask::NONE,
        flames: Flames { demand: burn, proved: burn, firing: burn, ..Flames::default() },
        common: false,
        outflow: true,
        advice: load::Advice::default(),
        required: None,
        short: false,
        rest_could: false,
        band: TempDelta::from_k(3),
        low: false,
        lull: false,
        hours: None,
    }
}

const ORDER: [BoilerId; 3] = [BoilerId(0), BoilerId(1), BoilerId(2)];

fn list(s: &Staging) -> Vec<u8> {
    s.enlisted.iter().map(|b| b.0).collect()
}

#[test]
fn the_lead_goes_only_where_the_first_goes_and_it_was_on_first() {
    let goes = |list, leaving, order, lead: Option<u8>| asked(list, leaving).lead_goes(order, lead.map(BoilerId));
    assert!(goes(&[0, 1], None, FIRST_GOES, Some(0)));
    assert!(!goes(&[1, 0], None, FIRST_GOES, Some(0)), "another was on first");
    assert!(!goes(&[0, 1], Some(0), FIRST_GOES, Some(0)), "it is on its way out for a new lead");
    assert!(!goes(&[], None, FIRST_GOES, None), "nobody leads");
    assert!(!goes(&[0, 1], None, LAST_GOES, Some(0)));
    assert!(!goes(&[0], None, LAST_GOES, Some(0)), "alone it would be dropped, and nobody takes the lead");
}

#[test]
fn where_the_last_goes_the_lead_stays_whenever_it_was_asked() {
    let goes = |list, order, lead| asked(list, None).leaver(order, Some(BoilerId(lead))).map(|b| b.0);
    assert_eq!([goes(&[0, 1, 2], LAST_GOES, 0), goes(&[0, 1, 2], LAST_GOES, 2)], [Some(2), Some(1)]);
    assert_eq!([goes(&[2], LAST_GOES, 2), goes(&[], LAST_GOES, 0)], [Some(2), None]);
    assert_eq!([goes(&[0, 1], FIRST_GOES, 0), goes(&[1, 0], FIRST_GOES, 0)], [Some(0), Some(1)]);
}

#[test]
fn a_change_is_told_and_begins_the_sums_anew_and_no_change_does_neither() {
    let decided = |mut s: Staging, around: Around<'_>| {
        let mut sums = Sums { up: 70, down: 0, past: TempDelta::from_k(1) };
        let around = Around { wanted: s.wanted(), ..around };
        let told = s.decide(&plant(), &mut sums, &around, &mut Clock::at(Instant::ZERO));
        (told, sums == Sums::default(), list(&s))
    };
    assert_eq!(decided(asked(&[], None), around(&ORDER, &[], 50)), (true, true, [0].to_vec()));
    assert_eq!(decided(asked(&[0], None), around(&ORDER, &[0], 58)), (false, false, [0].to_vec()));
    let no_call = Around { target: None, ..around(&ORDER, &[0], 58) };
    assert_eq!(decided(asked(&[0], None), no_call), (true, true, Vec::new()));
    let held = Around { common: true, ..around(&ORDER, &[0], 58) };
    assert_eq!(decided(asked(&[0], None), held), (true, true, Vec::new()), "a common stop holds all");
}

#[test]
fn only_what_cannot_run_is_struck_and_only_a_fault_brings_the_next() {
    let struck = |able: &[u8], faulted: &[u8]| {
        let mut s = asked(&[0, 1], Some(0));
        let a = Around { able: set(able), faulted: set(faulted), ..around(&ORDER, &[0, 1], 60) };
        let struck = s.strike(&a);
        (struck, list(&s), s.leaving.map(|b| b.0), s.replace, s.last_start.is_some())
    };
    assert_eq!(struck(&[0, 1, 2], &[]), (false, [0, 1].to_vec(), Some(0), false, true));
    assert_eq!(struck(&[1, 2], &[]), (true, [1].to_vec(), None, false, true), "switched off: nobody is missed");
    assert_eq!(struck(&[1, 2], &[0]), (true, [1].to_vec(), None, true, false), "and the next may start at once");
    assert_eq!(struck(&[0, 1], &[2]), (false, [0, 1].to_vec(), Some(0), false, true), "it was not wanted");
}

/// Boiler 2 of three stops while boiler 0 was to make room: what that means for boiler 0 shows in the next tick.
#[test]
fn in_the_tick_in_which_one_is_struck_no_other_goes() {
    let goes = |able: &[u8]| {
        let order = [BoilerId(1), BoilerId(0), BoilerId(2)];
        let mut s = asked(&[0, 1, 2], Some(0));
        let a = Around { able: set(able), ..around(&order, &[0, 1, 2], 60) };
        s.decide(&plant(), &mut Sums::default(), &a, &mut Clock::at(Instant::ZERO));
        (list(&s), s.leaving.map(|b| b.0))
    };
    assert_eq!(goes(&[0, 1]), ([0, 1].to_vec(), Some(0)));
    assert_eq!(goes(&[0, 1, 2]), ([1, 2].to_vec(), None));
}

#[test]
fn at_low_load_a_boiler_that_put_its_flame_out_is_let_go_unless_the_water_is_short() {
    let left = |low, supply, holds: bool| {
        let one = Mask::of(0);
        let flames = Flames {
            demand: one,
            proved: one,
            holding: one.only_if(holds),
            firing: one.only_if(!holds),
            ..Flames::default()
        };
        let mut s = asked(&[0], None);
        let a = Around { low, flames, wanted: one, ..around(&ORDER, &[], supply) };
        s.decide(&plant(), &mut Sums::default(), &a, &mut Clock::at(Instant::ZERO));
        list(&s)
    };
    assert_eq!(left(true, 60, true), Vec::<u8>::new());
    assert_eq!(left(true, 57, true), [0], "3 K short, the band");
    assert_eq!(left(true, 60, false), [0], "it burns");
    assert_eq!(left(false, 60, true), [0]);
}

/// By hours the one with the most goes when the lead passes on, else the one that was on first.
#[test]
fn by_hours_the_one_that_burned_most_makes_room_for_a_new_lead() {
    let leaves = |hours: Option<[u32; 2]>| {
        let mut fired = [Span::ZERO; limits::BOILERS];
        for (f, h) in fired.iter_mut().zip(hours.unwrap_or_default()) {
            *f = Span::from_h(h);
        }
        let order = [BoilerId(2), BoilerId(0), BoilerId(1)];
        let mut s = asked(&[0, 1], None);
        let a = Around { hours: hours.map(|_| &fired), ..around(&order, &[0, 1], 60) };
        s.decide(&plant(), &mut Sums::default(), &a, &mut Clock::at(Instant::ZERO));
        (list(&s), s.leaving.map(|b| b.0))
    };
    assert_eq!(leaves(None), ([0, 1, 2].to_vec(), Some(0)));
    assert_eq!(leaves(Some([8, 9])), ([0, 1, 2].to_vec(), Some(1)));
    assert_eq!(leaves(Some([9, 8])), ([0, 1, 2].to_vec(), Some(0)));
    assert_eq!(leaves(Some([9, 9])), ([0, 1, 2].to_vec(), Some(0)), "of equals the one that was on first");
}
