//! A HAND-OFF-AUTO switch that is turned through OFF, and one that stays there.

mod common;
use common::*;
use heatwright_core::*;

const AUTO: (bool, bool) = (true, false);
const OFF: (bool, bool) = (false, false);
const HAND: (bool, bool) = (false, true);

fn turn(b: &mut Bench, p: u8, (auto, hand): (bool, bool)) {
    b.contact(ContactUse::Auto(PumpId(p)), auto);
    b.contact(ContactUse::Hand(PumpId(p)), hand);
}

/// One boiler and two zones; the pumps of zone 1 (pump 0) and of the boiler (pump 2) have switches. `flow` says whether a
/// contact looks at the boiler's flow.
fn plant(flow: bool) -> Bench {
    let mut c = config(Shape::default());
    for p in [0, 2] {
        c.points.contacts.push(ContactUse::Auto(PumpId(p))).unwrap();
        c.points.contacts.push(ContactUse::Hand(PumpId(p))).unwrap();
    }
    if !flow {
        let contact = c.points.contact(ContactUse::Flow(BoilerId(0))).unwrap();
        c.points.contacts[contact.index()] = ContactUse::Spare;
    }
    let mut b = Bench::with(c);
    b.water = false;
    b.config.guard.frozen_after = Span::ZERO;
    b.supply(40);
    b
}

/// The boiler burns and its shortest run is over.
fn burning(flow: bool) -> Bench {
    let mut b = plant(flow);
    b.call(0, true);
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    b.run(200);
    b
}

/// A second of the plant in which its flow contact stays as it was: water coasts.
fn coasting(b: &mut Bench) {
    b.now_s += 1;
    b.plant();
    b.contact(ContactUse::Flow(BoilerId(0)), true);
    b.tick();
}

#[test]
fn a_turn_through_off_stops_neither_burner_nor_pump() {
    let turns = [[AUTO, HAND], [HAND, AUTO], [AUTO, AUTO], [HAND, HAND]];
    for (p, [from, to]) in [0, 2].into_iter().flat_map(|p| turns.map(|t| (p, t))) {
        let mut b = burning(true);
        turn(&mut b, p, from);
        (0..60).for_each(|_| coasting(&mut b));
        let starts = b.state.meter.starts;
        turn(&mut b, p, OFF);
        coasting(&mut b);
        assert_eq!(b.pump(p), Stated { on: false, why: Reason::Hand }, "its relay is off in that very tick");
        turn(&mut b, p, to);
        for t in 0..120 {
            coasting(&mut b);
            assert_eq!(b.pump(p).on, to == AUTO, "pump {p} {from:?} {to:?}, {t} s");
            assert_eq!(b.demand(0), Stated { on: true, why: Reason::Lead }, "pump {p} {from:?} {to:?}, {t} s");
        }
        assert_eq!(b.state.meter.starts, starts);
        assert!(!b.state.control.boilers[0].tried);
    }
}

#[test]
fn off_is_off_at_once_and_after_a_second_the_burner_goes() {
    // Nobody looks at the flow: only the switch tells.
    for (p, from) in [(0, AUTO), (0, HAND), (2, AUTO), (2, HAND)] {
        let mut b = burning(false);
        turn(&mut b, p, from);
        b.run(60);
        turn(&mut b, p, OFF);
        b.second();
        assert!(!b.pump(p).on && b.demand(0).on, "pump {p} {from:?}");
        b.second();
        assert!(!b.pump(p).on, "pump {p} {from:?}");
        b.until(2, |b| !b.demand(0).on);
        // Back at AUTO its shortest stop counts: 20 s from where it stood.
        turn(&mut b, p, AUTO);
        if p == 0 {
            b.run(18);
            assert!(!b.pump(0).on);
            b.until(4, |b| b.pump(0).on);
        }
    }
}

#[test]
fn a_flow_contact_that_opens_while_a_switch_passes_is_believed() {
    let mut b = burning(true);
    turn(&mut b, 2, OFF);
    b.now_s += 1;
    b.plant();
    b.contact(ContactUse::Flow(BoilerId(0)), false);
    b.tick();
    assert!(!b.demand(0).on);
}

/// The call ends and the pump runs on for 120 s; halfway its switch is turned to HAND and back, or through OFF and back.
#[test]
fn an_overrun_goes_on_where_it_was() {
    let ends = |turned: bool| {
        let mut b = burning(true);
        // The supply is below the end of a heat purge: the call's overrun alone keeps the pump running.
        b.call(0, false);
        b.until(10, |b| b.pump(0).why == Reason::Overrun);
        let began = b.now_s;
        b.run(50);
        if turned {
            turn(&mut b, 0, OFF);
            coasting(&mut b);
            turn(&mut b, 0, AUTO);
            coasting(&mut b);
            assert_eq!(b.pump(0), Stated { on: true, why: Reason::Overrun });
        }
        b.until(200, |b| !b.pump(0).on) - began
    };
    assert_eq!([ends(true), ends(false)], [120; 2]);
}

#[test]
fn a_heat_purge_goes_on_where_it_was() {
    let mut b = burning(true);
    b.supply(70);
    b.call(0, false);
    b.until(300, |b| b.state.control.purge.runs());
    let purge = b.state.control.purge;
    for p in [0, 2] {
        b.run(20);
        turn(&mut b, p, OFF);
        coasting(&mut b);
        turn(&mut b, p, AUTO);
        coasting(&mut b);
        assert_eq!(b.state.control.purge, purge);
        assert!(b.pump(0).on && b.pump(2).on);
    }
    // At OFF the zone takes no heat any more.
    turn(&mut b, 0, OFF);
    b.run(4);
    assert!(!b.state.control.purge.runs());
}

#[test]
fn a_contact_that_chatters_stops_its_pump_by_the_rules() {
    let mut b = burning(true);
    let mut starts = 0;
    let mut was = b.pump(0).on;
    for t in 0..40 {
        turn(&mut b, 0, if t % 2 == 0 { OFF } else { AUTO });
        coasting(&mut b);
        starts += u32::from(b.pump(0).on && !was);
        was = b.pump(0).on;
    }
    // Excused once, then stopped; each OFF since begins its shortest stop anew or finds it standing.
    assert!(starts <= 2, "{starts} starts in 40 s");
}

/// A pump that its switch runs is taken for running: back at AUTO its shortest run is over, and its exercise counts from there.
#[test]
fn a_pump_at_hand_is_followed_as_one_that_runs() {
    use heatwright_core::pumps::PumpState;
    let mut b = plant(true);
    b.run(100);
    assert!(matches!(b.state.control.pumps.get(0), Some(PumpState::Off { .. })));
    turn(&mut b, 0, HAND);
    b.run(10);
    assert!(matches!(b.state.control.pumps.get(0), Some(PumpState::On { .. })));
    assert_eq!(b.pump(0), Stated { on: false, why: Reason::Hand }, "not by our relay");
    b.contact(ContactUse::Safety(low_water(0), Tap::Chain), false);
    b.run(10);
    assert!(matches!(b.state.control.pumps.get(0), Some(PumpState::On { .. })), "a stop of ours does not reach it");
}
