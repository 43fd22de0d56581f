//! Where water moves and why: shared pumps, valves, tank priority, heat purge, exercise, switches, mixing, season, setback.

mod common;
use common::*;
use heatwright_core::{config::*, schedule::Step, *};

fn still(shape: Shape) -> Bench {
    let mut b = Bench::new(shape);
    b.water = false;
    b.supply(40);
    b
}

#[test]
fn several_zones_share_a_pump_and_a_valve_waits_for_its_end_switch() {
    let mut c = config(Shape { zones: 3, ..Shape::default() });
    for z in 0..2u8 {
        c.zones[usize::from(z)].drive = ZoneDrive::Valve { pump: Some(PumpId(0)) };
        c.points.relays.push(RelayUse::Valve(ZoneId(z))).unwrap();
    }
    c.points.contacts.push(ContactUse::EndSwitch(ZoneId(1))).unwrap();
    let mut b = Bench::with(c);
    b.water = false;
    // The valve of zone 1 sticks: its end switch does not close.
    let stuck = |b: &mut Bench, seconds: u32| {
        for _ in 0..seconds {
            b.now_s += 1;
            b.plant();
            b.contact(ContactUse::EndSwitch(ZoneId(1)), false);
            b.tick();
        }
    };
    b.call(1, true);
    stuck(&mut b, 60);
    assert_eq!(b.relay(RelayUse::Valve(ZoneId(1))), Stated { on: true, why: Reason::Call(ZoneId(1)) });
    assert_eq!(b.pump(0), Stated { on: false, why: Reason::EndSwitch(ZoneId(1)) });
    assert!(!b.demand(0).on);
    b.call(0, true);
    stuck(&mut b, 10);
    assert_eq!(b.pump(0), Stated { on: true, why: Reason::Call(ZoneId(0)) }, "without an end switch at once");
    b.call(0, false);
    stuck(&mut b, 300);
    assert!(!b.pump(0).on);
    b.run(2);
    assert_eq!(b.pump(0), Stated { on: true, why: Reason::Call(ZoneId(1)) });
}

#[test]
fn pumps_start_one_after_another_run_their_minimum_and_are_exercised() {
    let mut b = still(Shape { zones: 4, ..Shape::default() });
    b.run(30);
    for z in 0..4 {
        b.call(z, true);
    }
    let at: Vec<u32> = (0..4).map(|p| b.until(60, |b| b.pump(p).on)).collect();
    assert!(at.windows(2).all(|w| w[1] - w[0] >= 5), "{at:?}");
    assert_eq!(b.pump(3).why, Reason::Call(ZoneId(3)));
    let mut b = still(Shape::default());
    b.read(SensorUse::Outdoor, Reading::At(c(25)));
    let first = b.until(49 * 3600, |b| b.pump(0).on);
    assert_eq!((first, b.pump(0).why), (48 * 3600, Reason::Exercise));
    assert!(!b.pump(1).on, "one at a time");
    assert_eq!(b.until(100, |b| !b.pump(0).on) - first, 60);
}

#[test]
fn a_switch_at_off_takes_the_zone_out_and_one_at_hand_moves_its_water() {
    let mut c = config(Shape::default());
    c.points.contacts.push(ContactUse::Auto(PumpId(0))).unwrap();
    c.points.contacts.push(ContactUse::Hand(PumpId(0))).unwrap();
    let mut b = Bench::with(c);
    b.water = false;
    b.contact(ContactUse::Auto(PumpId(0)), false);
    b.call(0, true);
    b.run(900);
    assert_eq!(b.pump(0), Stated { on: false, why: Reason::Hand });
    assert!(!b.demand(0).on && b.outputs.target.is_none(), "no heat for a zone that cannot take it");
    b.contact(ContactUse::Hand(PumpId(0)), true);
    b.until(600, |b| b.demand(0).on);
    assert_eq!(b.pump(0), Stated { on: false, why: Reason::Hand }, "the switch runs it, not our relay");
}

#[test]
fn the_tank_sheds_zones_for_a_limited_time_and_the_higher_target_counts() {
    let mut conf = config(Shape { tank: true, ..Shape::default() });
    conf.zones[1].sheddable = false;
    let mut b = Bench::with(conf);
    b.water = false;
    b.supply(40);
    b.call(0, true);
    b.call(1, true);
    b.run(120);
    let heating = b.outputs.target.unwrap();
    b.contact(ContactUse::TankCall, true);
    b.run(60);
    assert_eq!(b.pump(0), Stated { on: false, why: Reason::Shed });
    assert_eq!(b.pump(1).why, Reason::Call(ZoneId(1)), "not one that may not be shed");
    assert_eq!(b.outputs.target, Some(c(80)));
    b.run(1800);
    assert_eq!(b.pump(0).why, Reason::Call(ZoneId(0)), "after half an hour at the latest");
    b.read(SensorUse::Outdoor, Reading::At(c(-13)));
    b.contact(ContactUse::TankCall, false);
    b.run(200);
    assert!(b.outputs.target.unwrap().above(heating).centi_k() < 100);
    b.contact(ContactUse::TankCall, true);
    b.run(60);
    assert!(b.pump(0).on, "no priority in deep cold");
}

#[test]
fn heat_is_purged_into_the_tank_below_its_limit_else_into_the_named_zone_until_cool_or_late() {
    let hot = |tank: i16| {
        let mut b = still(Shape { tank: true, ..Shape::default() });
        b.read(SensorUse::Tank, Reading::At(c(tank)));
        b.call(1, true);
        b.supply(30);
        b.until(900, |b| b.demand(0).why == Reason::Lead);
        b.run(200);
        b.supply(70);
        b.call(1, false);
        b.until(400, |b| !b.demand(0).on && b.outputs.target.is_none());
        b.run(3);
        b
    };
    let tank_pump = 3;
    let mut b = hot(50);
    assert_eq!(b.pump(tank_pump).why, Reason::HeatPurge);
    assert!(!b.pump(0).on);
    b.supply(45);
    b.run(40);
    assert!(!b.pump(tank_pump).on, "cool enough");
    let mut b = hot(66);
    assert_eq!(b.pump(0), Stated { on: true, why: Reason::HeatPurge });
    assert!(!b.pump(tank_pump).on, "the tank is full");
    b.run(550);
    assert_eq!(b.pump(2), Stated { on: true, why: Reason::HeatPurge }, "with the boiler's pump");
    b.run(60);
    assert!(!b.pump(0).on && !b.pump(2).on, "no longer than 600 s");
}

#[test]
fn a_mixed_zone_follows_its_target_and_shuts_when_its_sensor_or_water_is_lost() {
    let mut conf = config(Shape::default());
    conf.zones[1].mix = Some(MixConfig {
        mixed_max: c(45),
        mixed_design: c(40),
        room: c(20),
        band: TempDelta::from_k(20),
        integral: span(300),
        stroke: span(120),
    });
    conf.points.sensors.push(SensorUse::Mixed(ZoneId(1))).unwrap();
    conf.points.analogs.push(AnalogUse::Mixing(ZoneId(1))).unwrap();
    let mut b = Bench::with(conf);
    b.water = false;
    b.supply(60);
    b.read(SensorUse::Mixed(ZoneId(1)), Reading::At(c(24)));
    let valve = |b: &Bench| b.outputs.analog(b.config.points.analog(AnalogUse::Mixing(ZoneId(1))).unwrap());
    b.call(0, true);
    b.run(100);
    assert_eq!((valve(&b).at, valve(&b).why), (Permille::ZERO, Reason::NoCall));
    b.call(1, true);
    let mut last = 0;
    for _ in 0..600 {
        b.second();
        let at = valve(&b).at.get();
        assert!(at.abs_diff(last) <= 84, "no faster than its stroke of 120 s");
        last = at;
    }
    assert!(last > 300 && valve(&b).why == Reason::Law);
    b.read(SensorUse::Mixed(ZoneId(1)), Reading::Open);
    b.second();
    let id = b.config.points.sensor(SensorUse::Mixed(ZoneId(1))).unwrap();
    assert_eq!(valve(&b), Signal { at: Permille::ZERO, why: Reason::Fallback(id) });
}

#[test]
fn warm_weather_ends_heating_with_a_differential_and_constant_circulation_with_it() {
    let mut conf = config(Shape::default());
    conf.reset.outdoor_filter = Span::ZERO;
    conf.zones[1].circulation = Circulation::Constant;
    let mut b = Bench::with(conf);
    b.water = false;
    b.call(0, true);
    let mut at = |t: i16| {
        b.read(SensorUse::Outdoor, Reading::At(c(t)));
        b.run(300);
        (b.pump(0).why, b.pump(1).why)
    };
    let heating = (Reason::Call(ZoneId(0)), Reason::ConstantCirculation);
    let warm = (Reason::WarmWeather, Reason::WarmWeather);
    assert_eq!([at(10), at(17), at(18), at(17), at(16), at(17)], [heating, heating, warm, warm, heating, heating]);
}

#[test]
fn setback_lowers_the_target_and_a_boost_follows_it() {
    let mut conf = config(Shape::default());
    let mut week = Schedule::default();
    week.steps.push(Step::new(0, Level::Setback)).unwrap();
    week.steps.push(Step::new(360, Level::Occupied)).unwrap();
    conf.schedules.push(week).unwrap();
    conf.reset.schedule = Some(ScheduleId(0));
    let mut b = Bench::with(conf);
    b.water = false;
    b.call(0, true);
    // Monday 2000-01-03 05:00.
    let monday_five = 2880 + 300;
    let mut targets = Vec::new();
    for minute in 0..180u32 {
        b.inputs.civil = Some(CivilMinute::new(monday_five + minute));
        b.run(60);
        if [30, 90, 150].contains(&minute) {
            targets.push(b.outputs.target.unwrap().centi_c());
        }
    }
    // The curve at 0 °C between (-15, 80) and (20, 35): 80 - 45 * 15 / 35 = 60.71 °C; -8 K at night, +5 K for an hour.
    assert_eq!(targets, [5271, 6571, 6071]);
}

#[test]
fn the_pump_of_a_boiler_runs_on_after_its_demand_and_not_for_one_that_owns_it() {
    let mut b = still(Shape::default());
    b.supply(30);
    b.call(0, true);
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    b.run(200);
    b.supply(30);
    b.call(0, false);
    let off = b.until(400, |b| !b.demand(0).on);
    assert_eq!(b.pump(2).why, Reason::BoilerOverrun(BoilerId(0)));
    let stop = b.until(900, |b| !b.pump(2).on);
    assert_eq!(stop - off, 240);

    let mut conf = config(Shape::default());
    conf.boilers[0].pump = BoilerPump::Boiler(PumpId(2));
    let mut b = Bench::with(conf);
    b.water = false;
    b.supply(30);
    b.call(0, true);
    let mut on = 0;
    for _ in 0..600 {
        b.now_s += 1;
        b.plant();
        // The boiler starts its own pump with its demand.
        let flow = b.demand(0).on;
        b.contact(ContactUse::Flow(BoilerId(0)), flow);
        b.tick();
        assert!(!b.pump(2).on);
        on += u32::from(b.demand(0).on);
    }
    assert!(on > 100, "flow shows only after the demand: {on}");
}

/// Two zones behind one pump, each with a valve and an end switch; the water is cool and nobody calls all summer.
fn valved() -> Bench {
    let mut c = config(Shape::default());
    for z in 0..2u8 {
        c.zones[usize::from(z)].drive = ZoneDrive::Valve { pump: Some(PumpId(0)) };
        c.points.relays.push(RelayUse::Valve(ZoneId(z))).unwrap();
        c.points.contacts.push(ContactUse::EndSwitch(ZoneId(z))).unwrap();
    }
    // Readings stand still here for days.
    c.guard.frozen_after = Span::ZERO;
    let mut b = Bench::with(c);
    b.water = false;
    b.supply(20);
    b.read(SensorUse::Outdoor, Reading::At(common::c(25)));
    b
}

/// A way for the water of the pump: a valve that is asked to be open and says so.
fn way(b: &Bench) -> bool {
    (0..2).any(|z| {
        b.relay(RelayUse::Valve(ZoneId(z))).on
            && b.inputs.closed(b.config.points.contact(ContactUse::EndSwitch(ZoneId(z))).unwrap())
    })
}

#[test]
fn an_exercise_opens_a_valve_first_and_never_runs_a_pump_against_shut_ones() {
    let mut b = valved();
    let due = b.until(49 * 3600, |b| b.relay(RelayUse::Valve(ZoneId(0))).on);
    assert_eq!((due, b.relay(RelayUse::Valve(ZoneId(0))).why), (48 * 3600, Reason::Exercise));
    assert!(!b.relay(RelayUse::Valve(ZoneId(1))).on, "one is enough");
    assert!(!b.pump(0).on, "its end switch has not closed yet");
    let began = b.until(30, |b| b.pump(0).on);
    assert_eq!(b.pump(0).why, Reason::Exercise);
    let mut against_shut = 0;
    while b.pump(0).on {
        against_shut += u32::from(!way(&b));
        b.second();
    }
    assert_eq!((b.now_s - began, against_shut), (60, 0));
    assert!(b.outputs.target.is_none() && b.demands() == 0, "no heat for an exercise");
    b.run(2);
    assert!(!b.relay(RelayUse::Valve(ZoneId(0))).on, "and it is shut again");
}

#[test]
fn an_exercise_waits_for_a_valve_that_does_not_open_and_stops_when_one_is_lost() {
    let mut b = valved();
    let stuck = |b: &mut Bench, seconds: u32| {
        for _ in 0..seconds {
            b.now_s += 1;
            b.plant();
            b.contact(ContactUse::EndSwitch(ZoneId(0)), false);
            b.tick();
        }
    };
    stuck(&mut b, 48 * 3600 + 600);
    assert!(b.relay(RelayUse::Valve(ZoneId(0))).on && !b.pump(0).on);
    assert_eq!(b.pump(0).why, Reason::EndSwitch(ZoneId(0)));
    assert_eq!(b.relay(RelayUse::Alarm).why, Reason::StuckEndSwitch(ZoneId(0)));
    b.until(30, |b| b.pump(0).on);
    b.run(10);
    stuck(&mut b, 1);
    assert!(!b.pump(0).on, "the way is lost");
}

#[test]
fn an_exercise_opens_no_valve_of_a_floor_on_hot_water_nor_for_a_pump_at_off() {
    let mix = MixConfig {
        mixed_max: common::c(45),
        mixed_design: common::c(40),
        room: common::c(20),
        band: TempDelta::from_k(20),
        integral: span(300),
        stroke: span(120),
    };
    let mut c = valved().config;
    c.zones[1].mix = Some(mix);
    c.points.sensors.push(SensorUse::Mixed(ZoneId(1))).unwrap();
    c.points.analogs.push(AnalogUse::Mixing(ZoneId(1))).unwrap();
    c.points.contacts.push(ContactUse::Auto(PumpId(0))).unwrap();
    c.points.contacts.push(ContactUse::Hand(PumpId(0))).unwrap();
    let mut b = Bench::with(c);
    b.water = false;
    b.supply(60);
    b.read(SensorUse::Outdoor, Reading::At(common::c(25)));
    b.run(48 * 3600 + 60);
    let shut = |b: &Bench| (0..2).all(|z| !b.relay(RelayUse::Valve(ZoneId(z))).on);
    assert!(shut(&b) && !b.pump(0).on, "a floor hangs on this pump");
    b.contact(ContactUse::Auto(PumpId(0)), false);
    b.supply(20);
    b.run(60);
    assert!(shut(&b) && !b.pump(0).on, "its switch is at OFF");
    b.contact(ContactUse::Auto(PumpId(0)), true);
    b.until(60, |b| b.pump(0).on);
}
