//! What calls alone ask for, pattern by pattern, on plants of the trade.

mod common;
use common::*;
use heatwright_core::{config::*, *};

fn of(config: &Config, zones: u64, end_switches: u64, tank: bool) -> Intent {
    Intent::of(config, Calls { zones, end_switches, tank })
}

#[test]
fn a_call_starts_its_pump_and_any_call_asks_every_boiler() {
    let c = config(Shape { zones: 3, boilers: 2, ..Shape::default() });
    assert_eq!(of(&c, 0, 0, false), Intent::default());
    let boiler_pumps = c.boilers.iter().fold(0, |m, b| match b.pump {
        BoilerPump::Controller(p) => m | p.bit(),
        _ => m,
    });
    assert_ne!(boiler_pumps, 0);
    for calls in 1..8 {
        let i = of(&c, calls, 0, false);
        // Zone pumps come first in this plant, by zone.
        assert_eq!(i.pumps, calls | boiler_pumps, "{calls:#b}");
        assert_eq!((i.boilers, i.valves, i.damper), (0b11, 0, true), "{calls:#b}");
    }
}

#[test]
fn a_pump_that_its_boiler_owns_is_the_boilers_affair() {
    let mut c = config(Shape::default());
    let BoilerPump::Controller(p) = c.boilers[0].pump else { panic!("{:?}", c.boilers[0].pump) };
    c.boilers[0].pump = BoilerPump::Boiler(p);
    assert_eq!(of(&c, 1, 0, false).pumps & p.bit(), 0);
    c.boilers[0].pump = BoilerPump::Either(p);
    assert_ne!(of(&c, 1, 0, false).pumps & p.bit(), 0);
}

#[test]
fn zones_that_may_be_shed_wait_for_the_tank_and_others_do_not() {
    let mut c = config(Shape { zones: 3, tank: true, ..Shape::default() });
    let tank = c.tank.as_ref().unwrap().pump.bit();
    c.zones[1].sheddable = false;
    let pumps = |c: &Config, tank_calls| of(c, 0b111, 0, tank_calls).pumps & (0b111 | tank);
    assert_eq!(pumps(&c, false), 0b111);
    assert_eq!(pumps(&c, true), 0b010 | tank);
    assert_eq!(of(&c, 0, 0, true).boilers, 1, "the tank alone asks the boiler");
    c.tank.as_mut().unwrap().priority_max = Span::ZERO;
    assert_eq!(pumps(&c, true), 0b111 | tank, "without priority all run");
}

#[test]
fn behind_a_valve_pump_and_boilers_wait_for_its_end_switch() {
    let mut c = config(Shape { zones: 2, tank: true, ..Shape::default() });
    c.zones[0].drive = ZoneDrive::Valve { pump: Some(PumpId(0)) };
    let without = of(&c, 1, 0, false);
    assert_eq!((without.valves, without.pumps & 1, without.boilers), (1, 1, 1), "no end switch to wait for");
    c.points.contacts.push(ContactUse::EndSwitch(ZoneId(0))).unwrap();
    let shut = of(&c, 1, 0, false);
    assert_eq!((shut.valves, shut.pumps, shut.boilers), (1, 0, 0));
    let open = of(&c, 1, 1, false);
    assert_eq!((open.valves, open.pumps & 1, open.boilers), (1, 1, 1));
    // The tank shuts the valve; what has not let go yet still runs.
    let tank = of(&c, 1, 1, true);
    assert_eq!((tank.valves, tank.pumps & 1), (0, 1));
}
