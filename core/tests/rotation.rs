//! Who leads, and what a boiler that is dropped means for the lead.

mod common;
use common::*;
use heatwright_core::{config::*, *};

fn bench(boilers: u8, policy: RotationPolicy, off_order: OffOrder) -> Bench {
    let mut b = Bench::new(Shape { boilers, policy, off_order, ..Shape::default() });
    b.water = false;
    b.config.guard.frozen_after = Span::ZERO;
    // The return asks for more than one boiler alone could carry.
    b.config.zones.iter_mut().for_each(|z| z.flow_w_per_k = 20_000);
    b.supply(30);
    b.call(0, true);
    b
}

/// So many boilers burn, and the supply stands a kelvin below its target.
fn burning(boilers: u8, burn: usize, policy: RotationPolicy, off_order: OffOrder) -> Bench {
    let mut b = bench(boilers, policy, off_order);
    b.until(4000, |b| b.state.control.boilers.iter().filter(|b| b.state.firing()).count() == burn);
    steady(&mut b);
    b.run(60);
    b
}

fn steady(b: &mut Bench) {
    b.supply(b.outputs.target.unwrap().centi_c() / 100 - 1);
}

fn hot(b: &mut Bench) {
    b.supply(b.outputs.target.unwrap().centi_c() / 100 + 9);
}

fn lead_with(policy: RotationPolicy, hours: [u32; 4], starts: [u32; 4], off: &[u8]) -> u8 {
    let mut b = bench(4, policy, OffOrder::FirstOnLastOff);
    b.state.meter.fired = hours.map(Span::from_h);
    b.state.meter.starts = starts;
    off.iter().for_each(|i| b.contact(ContactUse::BoilerSwitch(BoilerId(*i)), false));
    b.run(2);
    b.state.control.rotation.lead.0
}

#[test]
fn the_lead_passes_to_the_boiler_with_the_fewest_hours_wherever_it_stands_in_the_row() {
    let lead = |hours, off: &[u8]| lead_with(RotationPolicy::HoursDifference(25), hours, [0; 4], off);
    assert_eq!(lead([100, 99, 75, 80], &[]), 2, "the next one keeps up, the third has stayed behind");
    assert_eq!(lead([99, 98, 75, 80], &[]), 0, "not far enough");
    assert_eq!(lead([100, 75, 75, 75], &[]), 1, "of equals the next");
    assert_eq!(lead([100, 99, 75, 80], &[2]), 0, "one that is switched off leads nobody");
    assert_eq!(lead([105, 99, 75, 80], &[2]), 3, "then the fewest of the others");
    assert_eq!(lead([60, 99, 75, 80], &[]), 0, "the lead itself has the fewest");
}

#[test]
fn the_lead_passes_to_the_boiler_with_the_fewest_starts_wherever_it_stands_in_the_row() {
    let lead = |starts| lead_with(RotationPolicy::StartsDifference(10), [0; 4], starts, &[]);
    assert_eq!(lead([30, 29, 25, 20]), 3);
    assert_eq!(lead([29, 28, 25, 20]), 0);
    assert_eq!(lead([29, 99, 99, 99]), 0);
}

#[test]
fn while_two_of_three_burn_all_the_time_the_hours_stay_near_the_difference_that_is_set() {
    for off_order in [OffOrder::FirstOnLastOff, OffOrder::FirstOnFirstOff] {
        let mut b = burning(3, 2, RotationPolicy::HoursDifference(1), off_order);
        let (mut led, mut changes) = ([false; 3], 0);
        let mut last = b.outputs.lead;
        for minute in 0..30 * 60 {
            b.run(60);
            let hours: Vec<u32> = b.state.meter.fired.iter().take(3).map(|s| s.whole_s()).collect();
            let (most, least) = (hours.iter().max().unwrap(), hours.iter().min().unwrap());
            // The difference, and the length of a start: two minutes of flow, purge and flame, twice.
            assert!(most - least <= 3600 + 240, "{off_order:?}, minute {minute}: {hours:?}");
            assert!((2..=3).contains(&b.demands()), "{off_order:?}, minute {minute}: {}", b.demands());
            changes += u32::from(b.outputs.lead != last);
            last = b.outputs.lead;
            led[last.unwrap().index()] = true;
        }
        assert_eq!(led, [true; 3], "{off_order:?}: all have led");
        assert!((8..=30).contains(&changes), "{off_order:?}: {changes} changes of the lead in 30 h");
    }
}

/// Found by a property: the new lead had burned for a second, the old one with its hours still burned, and two others had none.
#[test]
fn a_lead_that_passes_on_by_hours_passes_on_once() {
    for boilers in [3, 4] {
        let mut b = burning(boilers, 1, RotationPolicy::HoursDifference(1), OffOrder::FirstOnLastOff);
        b.until(4000, |b| b.outputs.lead == Some(BoilerId(1)));
        b.until(300, |b| !b.demand(0).on);
        for _ in 0..3000 {
            b.second();
            assert!(b.demand(1).on && b.demands() == 1, "{:?}", b.state.control.staging);
            assert_eq!(b.outputs.lead, Some(BoilerId(1)));
        }
    }
}

#[test]
fn a_lead_that_goes_first_hands_the_lead_to_the_one_that_was_on_next() {
    let policies = [
        RotationPolicy::Fixed,
        RotationPolicy::HoursDifference(50),
        RotationPolicy::StartsDifference(20),
        RotationPolicy::Calendar { every_h: 24, minute_of_day: 600 },
    ];
    for policy in policies {
        let mut b = burning(3, 2, policy, OffOrder::FirstOnFirstOff);
        hot(&mut b);
        b.until(900, |b| b.demands() == 1);
        assert!(!b.demand(0).on && b.demand(1).on, "first on, first off");
        assert_eq!(b.outputs.lead, Some(BoilerId(1)), "{policy:?}");
        steady(&mut b);
        for _ in 0..3600 {
            b.second();
            assert!(!b.demand(0).on && b.demand(1).on && !b.demand(2).on, "{policy:?}: no changeover follows");
        }
        assert_eq!((b.demand(0).why, b.demand(1).why), (Reason::NotNeeded, Reason::Lead));
        // The next that is wanted is the one after the new lead.
        b.supply(30);
        b.until(900, |b| b.demands() == 2);
        assert!(b.demand(2).on, "{policy:?}");
    }
}

#[test]
fn a_fixed_lead_that_went_first_leads_again_once_no_boiler_is_wanted() {
    let mut b = burning(2, 2, RotationPolicy::Fixed, OffOrder::FirstOnFirstOff);
    hot(&mut b);
    b.until(3000, |b| b.demands() == 0);
    b.run(2);
    assert_eq!(b.outputs.lead, Some(BoilerId(0)));
    b.supply(30);
    b.until(900, |b| b.demands() == 1);
    assert!(b.demand(0).on);
}

#[test]
fn a_lead_that_burns_behind_another_is_the_last_to_go() {
    let mut b = burning(2, 2, RotationPolicy::HoursDifference(25), OffOrder::FirstOnLastOff);
    b.state.meter.fired[0] = Span::from_h(40);
    b.run(2);
    assert_eq!(b.outputs.lead, Some(BoilerId(1)), "it burns already");
    assert_eq!(b.demands(), 2);
    hot(&mut b);
    b.until(900, |b| b.demands() == 1);
    assert!(b.demand(1).on, "the lead stays");
    steady(&mut b);
    for _ in 0..1800 {
        b.second();
        assert!(b.demand(1).on && !b.demand(0).on, "and no changeover follows");
    }
}
