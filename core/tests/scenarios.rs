//! Named scenarios from the trade, each as a table: when, what happens, what each relay does, and why.
//!
//! The water is a few lines of physics (`common`): what counts is what the controller does about it, in which order and when.
//! Each table was read as a controls technician would read it before it was kept.

mod common;
use common::story::Story;
use common::*;
use heatwright_core::{config::*, *};

const TARGET: BoilerDrive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };

fn plant(boilers: u8, zones: u8) -> Shape {
    Shape { boilers, zones, drive: TARGET, ..Shape::default() }
}

fn told(title: &str, shape: Shape) -> Story {
    let mut c = config(shape);
    c.reset.outdoor_filter = Span::from_h(1);
    Story::new(title, c)
}

fn outdoor(b: &mut Bench, t: i16) {
    b.read(SensorUse::Outdoor, Reading::At(c(t)));
}

fn limit(b: &mut Bench, s: SafetyId, tap: Tap, closed: bool) {
    b.contact(ContactUse::Safety(s, tap), closed);
}

fn acknowledge(t: &mut Story) {
    t.does("somebody presses acknowledge", |b| b.contact(ContactUse::Acknowledge, true));
    t.run(2);
    t.b.contact(ContactUse::Acknowledge, false);
}

/// Runs a story until the lead fires and settles.
fn heating(title: &str, shape: Shape, supply: i16) -> Story {
    let mut t = told(title, shape);
    t.b.supply(supply);
    t.does("zone 1 calls, 0 °C outside", |b| b.call(0, true));
    t.minutes(8);
    t
}

/// The lead alone burns and holds the water a kelvin below its target.
fn alone(title: &str, shape: Shape) -> Story {
    let mut t = told(title, shape);
    t.b.water = false;
    t.b.config.guard.frozen_after = Span::ZERO;
    t.b.supply(57);
    t.does("zone 1 calls, 0 °C outside", |b| b.call(0, true));
    t.minutes(6);
    t.b.supply(60);
    t.minutes(2);
    t
}

macro_rules! keep {
    ($t:ident) => {
        insta::assert_snapshot!($t.table())
    };
}

#[test]
fn cold_start() {
    let mut t = told("Cold start: two boilers, water at 15 °C, -10 °C outside, two zones call", plant(2, 2));
    t.b.supply(15);
    outdoor(&mut t.b, -10);
    t.does("power on; zones 1 and 2 call", |b| {
        b.call(0, true);
        b.call(1, true);
    });
    t.minutes(40);
    keep!(t);
}

#[test]
fn mass_call_after_setback() {
    let mut shape = plant(2, 4);
    shape.by_load = false;
    let mut c = config(shape);
    let mut week = Schedule::default();
    for day in 0..7u16 {
        week.steps.push(schedule::Step::new(day * 1440 + 330, Level::Occupied)).unwrap();
        week.steps.push(schedule::Step::new(day * 1440 + 1290, Level::Setback)).unwrap();
    }
    c.schedules.push(week).unwrap();
    c.reset.schedule = Some(ScheduleId(0));
    let mut t = Story::new("Mass call after setback: four zones at 05:30, -10 °C outside", c);
    // Monday 2000-01-03 05:00.
    t.civil_at_zero = Some(2880 + 300);
    t.b.supply(38);
    outdoor(&mut t.b, -10);
    t.does("05:00, nobody calls yet", |_| {});
    t.minutes(30);
    t.does("05:30: setback ends, all four thermostats call", |b| (0..4).for_each(|z| b.call(z, true)));
    t.minutes(45);
    keep!(t);
}

#[test]
fn lead_fails_to_light() {
    let mut t = told("The lead fails to light: the next comes at once, the lead is locked out", plant(2, 2));
    t.b.supply(25);
    t.b.no_flame[0] = true;
    t.does("zone 1 calls; boiler 1 will not light", |b| b.call(0, true));
    t.minutes(25);
    t.does("the gas cock of boiler 1 is found shut and opened", |b| b.no_flame[0] = false);
    acknowledge(&mut t);
    t.minutes(8);
    keep!(t);
}

#[test]
fn flow_switch_stuck_made_at_rest() {
    let mut t = told("Flow switch stuck made at rest", plant(1, 2));
    t.b.water = false;
    t.does("all at rest, 0 °C outside", |_| {});
    t.minutes(8);
    t.wrench = |b| b.contact(ContactUse::Flow(BoilerId(0)), true);
    t.does("the flow switch of boiler 1 sticks made, no pump runs", |_| {});
    t.minutes(6);
    t.b.supply(25);
    t.does("zone 1 calls: heat goes on, the alarm stays", |b| b.call(0, true));
    t.minutes(3);
    t.wrench = |_| {};
    t.does("the paddle is freed; the call ends", |b| b.call(0, false));
    t.minutes(15);
    keep!(t);
}

#[test]
fn damper_proof_lost_under_fire() {
    let mut t = heating("The air damper's proof is lost under fire", Shape { damper: true, ..plant(2, 2) }, 30);
    t.wrench = |b| b.contact(ContactUse::DamperOpen, false);
    t.does("the damper falls shut", |_| {});
    t.minutes(6);
    t.wrench = |_| {};
    t.does("the linkage is mended", |_| {});
    acknowledge(&mut t);
    t.minutes(8);
    keep!(t);
}

#[test]
fn gas_sags_for_all_boilers_in_turn() {
    let mut t = told("Gas sags: one boiler after the other fails to light", plant(3, 2));
    t.b.supply(20);
    t.b.no_flame = [true; 4];
    t.does("zone 1 calls; no burner finds enough gas", |b| b.call(0, true));
    t.minutes(35);
    t.does("the gas is back", |b| b.no_flame = [false; 4]);
    acknowledge(&mut t);
    t.minutes(10);
    keep!(t);
}

#[test]
fn gas_pressure_switch_opens() {
    let mut t = heating("The plant's gas pressure switch opens: common, charged to no boiler", plant(2, 2), 30);
    t.does("gas pressure falls", |b| limit(b, GAS, Tap::Aux, false));
    t.minutes(20);
    t.does("gas pressure is back, the switch is reset by hand", |b| limit(b, GAS, Tap::Aux, true));
    t.minutes(2);
    acknowledge(&mut t);
    t.minutes(5);
    keep!(t);
}

#[test]
fn high_limit_during_heat_purge() {
    let mut t =
        heating("A high limit opens while heat is purged into the tank", Shape { tank: true, ..plant(1, 2) }, 30);
    t.b.water = false;
    t.b.supply(70);
    t.b.read(SensorUse::Tank, Reading::At(c(50)));
    t.does("the call ends, 70 °C in the header", |b| b.call(0, false));
    t.minutes(5);
    t.does("the high limit of boiler 1 opens", |b| {
        limit(b, high_limit(0), Tap::Chain, false);
        limit(b, low_water(0), Tap::Chain, false);
    });
    t.minutes(2);
    t.does("the water has cooled to 45 °C", |b| b.supply(45));
    t.minutes(5);
    t.does("the limit is reset by hand", |b| {
        limit(b, high_limit(0), Tap::Chain, true);
        limit(b, low_water(0), Tap::Chain, true);
    });
    acknowledge(&mut t);
    t.run(10);
    keep!(t);
}

#[test]
fn outdoor_sensor_opens_in_deep_cold() {
    let mut t = told("The outdoor sensor opens at -23 °C (-10 °F)", plant(2, 2));
    outdoor(&mut t.b, -23);
    t.b.supply(60);
    t.does("zone 1 calls at -23 °C", |b| b.call(0, true));
    t.minutes(20);
    let before = t.b.outputs.target.unwrap();
    t.does("the sensor's lead breaks", |b| b.read(SensorUse::Outdoor, Reading::Open));
    t.minutes(60);
    let after = t.b.outputs.target.unwrap();
    t.remark(&format!(
        "Target before {:.1} °C, an hour later {:.1} °C: no jump.",
        f64::from(before.centi_c()) / 100.0,
        f64::from(after.centi_c()) / 100.0
    ));
    keep!(t);
}

#[test]
fn supply_sensor_shorts() {
    let mut t = heating("The supply sensor shorts under fire", plant(2, 2), 40);
    t.wrench = |b| b.read(SensorUse::Supply, Reading::Short);
    t.does("the supply sensor shorts", |_| {});
    t.minutes(30);
    t.wrench = |_| {};
    t.does("the sensor is replaced", |_| {});
    t.minutes(5);
    keep!(t);
}

#[test]
fn tank_satisfied_while_the_floor_calls() {
    let mut shape = plant(1, 3);
    shape.tank = true;
    shape.extras = true;
    let mut c = config(shape);
    c.reset.schedule = None;
    c.zones[1].circulation = Circulation::OnCall;
    let mut t = Story::new("The tank is satisfied while the floor calls: no scalding water into the floor", c);
    t.b.supply(35);
    // What leaves the valve: water of the floor at 24 °C, and of the header as far as the valve is open; its sensor lags.
    t.wrench = |b| {
        let reads = |b: &Bench, u| b.inputs.reading(b.config.points.sensor(u).unwrap()).temp().unwrap().centi_c();
        let (supply, before) = (reads(b, SensorUse::Supply), reads(b, SensorUse::Mixed(ZoneId(2))));
        let valve = b.outputs.analog(b.config.points.analog(AnalogUse::Mixing(ZoneId(2))).unwrap()).at.get();
        let mixed = 2400 + i32::from(supply - 2400) * i32::from(valve) / 1000;
        let after = i32::from(before) + (mixed - i32::from(before)) / 20;
        b.read(SensorUse::Mixed(ZoneId(2)), Reading::At(Temp::from_centi_c(after as i16)));
    };
    t.b.read(SensorUse::Mixed(ZoneId(2)), Reading::At(common::c(24)));
    t.does("tank and floor (zone 3) call", |b| {
        b.contact(ContactUse::TankCall, true);
        b.call(2, true);
    });
    t.minutes(20);
    t.does("the tank is warm enough; the header is still hot", |b| b.contact(ContactUse::TankCall, false));
    t.run(40);
    let valve =
        |t: &Story| t.b.outputs.analog(t.b.config.points.analog(AnalogUse::Mixing(ZoneId(2))).unwrap()).at.get();
    let opening = valve(&t);
    let mixed = t.b.config.points.sensor(SensorUse::Mixed(ZoneId(2))).unwrap();
    let mut hottest = 0;
    for _ in 0..600 {
        t.run(1);
        hottest = hottest.max(t.b.inputs.reading(mixed).temp().unwrap().centi_c());
    }
    let later = valve(&t);
    t.remark(&format!("Mixing valve half a minute later at {opening} of 1000, after ten minutes at {later}."));
    t.remark(&format!("The floor got {:.1} °C at most.", f64::from(hottest) / 100.0));
    keep!(t);
}

#[test]
fn power_back_after_hours_of_cold() {
    let mut t = heating("Power is back after hours of cold", plant(2, 2), 30);
    t.does("boiler 2 was locked out before", |b| b.contact(ContactUse::BoilerFault(BoilerId(1)), true));
    t.minutes(1);
    t.power_cut(5 * 3600);
    t.b.supply(4);
    outdoor(&mut t.b, -20);
    t.does("water at 4 °C, -20 °C outside, zone 1 calls", |_| {});
    t.minutes(20);
    keep!(t);
}

#[test]
fn door_switch_bumped() {
    let mut t = heating("Somebody bumps the door switch for three seconds", plant(2, 2), 30);
    t.does("the door switch opens", |b| limit(b, DOOR, Tap::Aux, false));
    t.run(3);
    t.does("it is closed again", |b| limit(b, DOOR, Tap::Aux, true));
    t.minutes(8);
    acknowledge(&mut t);
    t.minutes(2);
    keep!(t);
}

#[test]
fn lead_change_on_the_night_the_clocks_change() {
    let shape = Shape { policy: RotationPolicy::Calendar { every_h: 24, minute_of_day: 120 }, ..plant(2, 2) };
    let mut t = alone("Lead change at 02:00 on the night when 02:00 comes twice", shape);
    let sunday = 300 * 1440;
    let set = |t: &mut Story, minute: u32| t.civil_at_zero = Some(sunday + minute - t.b.now_s / 60);
    set(&mut t, 115);
    t.does("01:55 on the wall", |_| {});
    t.minutes(64);
    set(&mut t, 120);
    t.does("02:59 was shown; the clock goes back and shows 02:00 again", |_| {});
    t.minutes(120);
    set(&mut t, 1440 + 119);
    t.does("01:59 the night after", |_| {});
    t.minutes(8);
    keep!(t);
}

#[test]
fn one_small_zone_on_a_mild_day() {
    let mut shape = plant(1, 1);
    shape.drive = BoilerDrive::DemandOnly;
    shape.low_load = true;
    let mut t = told("One small zone on a mild day: two short runs, then a wider band", shape);
    outdoor(&mut t.b, 12);
    t.b.supply(40);
    t.does("zone 1 calls, 12 °C outside", |b| b.call(0, true));
    t.minutes(75);
    let starts = t.b.state.meter.starts[0];
    t.remark(&format!("{starts} starts in 75 minutes."));
    keep!(t);
}

#[test]
fn stuck_call_in_july() {
    let mut t = told("A thermostat sticks in July", plant(1, 2));
    t.b.supply(25);
    outdoor(&mut t.b, 14);
    t.does("14 °C outside; the thermostat sticks made", |b| b.call(0, true));
    t.minutes(10);
    t.does("noon, 29 °C", |b| outdoor(b, 29));
    t.minutes(180);
    t.does("the next cool morning, 12 °C", |b| outdoor(b, 12));
    t.minutes(110);
    keep!(t);
}

#[test]
fn controller_dies() {
    let mut t = heating("The controller dies: the health relay drops, the wires take over", plant(1, 2), 30);
    t.power_cut(30 * 60);
    t.does("the board starts anew; zone 1 still calls", |_| {});
    t.minutes(10);
    keep!(t);
}

#[test]
fn low_water_under_fire() {
    let mut t = heating("Low water under fire: burner and its pump stop", plant(2, 2), 30);
    t.does("low water in boiler 1", |b| limit(b, low_water(0), Tap::Chain, false));
    t.minutes(6);
    t.does("filled up and reset by hand", |b| limit(b, low_water(0), Tap::Chain, true));
    acknowledge(&mut t);
    t.minutes(10);
    keep!(t);
}

#[test]
fn end_switch_does_not_close() {
    let mut shape = plant(1, 1);
    shape.extras = true;
    let mut t = told("A zone valve sticks: its end switch does not close", shape);
    t.b.config.reset.schedule = None;
    t.b.supply(25);
    t.wrench = |b| b.contact(ContactUse::EndSwitch(ZoneId(0)), false);
    t.does("zone 1 calls; the valve does not move", |b| b.call(0, true));
    t.minutes(6);
    t.wrench = |_| {};
    t.does("the valve is freed", |_| {});
    t.minutes(3);
    t.wrench = |b| b.contact(ContactUse::EndSwitch(ZoneId(0)), true);
    t.does("the call ends; now the end switch sticks made", |b| b.call(0, false));
    t.minutes(12);
    keep!(t);
}

/// Three zones, no schedule; the second calls.
fn zone_2_calls(title: &'static str) -> Story {
    let mut shape = plant(1, 3);
    shape.extras = true;
    let mut t = told(title, shape);
    t.b.config.reset.schedule = None;
    t.b.config.zones[1].circulation = Circulation::OnCall;
    t.b.state = State::new(&t.b.config, None);
    t.b.supply(28);
    t.b.read(SensorUse::Mixed(ZoneId(2)), Reading::At(c(24)));
    t.does("zone 2 calls", |b| b.call(1, true));
    t
}

#[test]
fn pump_switched_off_under_call() {
    let mut t = zone_2_calls("The pump of the only calling zone is switched OFF under fire, then to HAND");
    t.minutes(8);
    t.does("its switch is turned to OFF", |b| b.contact(ContactUse::Auto(PumpId(1)), false));
    t.minutes(12);
    t.does("and to HAND", |b| b.contact(ContactUse::Hand(PumpId(1)), true));
    t.minutes(5);
    keep!(t);
}

#[test]
fn pump_switch_turned_through_off() {
    let mut t = zone_2_calls("A pump's switch is turned to HAND and back, through OFF");
    t.minutes(9);
    t.does("its switch leaves AUTO", |b| b.contact(ContactUse::Auto(PumpId(1)), false));
    t.run(1);
    t.does("and is at HAND", |b| b.contact(ContactUse::Hand(PumpId(1)), true));
    t.minutes(2);
    t.does("it leaves HAND", |b| b.contact(ContactUse::Hand(PumpId(1)), false));
    t.run(1);
    t.does("and is at AUTO", |b| b.contact(ContactUse::Auto(PumpId(1)), true));
    t.minutes(3);
    keep!(t);
}

#[test]
fn tank_priority_on_a_cold_morning() {
    let mut t = heating("The tank sheds the zones, for half an hour at most", Shape { tank: true, ..plant(2, 2) }, 40);
    t.b.call(1, true);
    t.does("zone 2 calls too", |_| {});
    t.minutes(2);
    t.does("showers: the tank calls", |b| b.contact(ContactUse::TankCall, true));
    t.minutes(40);
    t.does("the tank is warm", |b| b.contact(ContactUse::TankCall, false));
    t.minutes(10);
    keep!(t);
}

#[test]
fn no_priority_in_deep_cold() {
    let mut t = told("No priority in deep cold, and none in frost", Shape { tank: true, ..plant(2, 2) });
    outdoor(&mut t.b, -14);
    t.b.supply(50);
    t.does("zone 1 calls at -14 °C", |b| b.call(0, true));
    t.minutes(5);
    t.does("the tank calls", |b| b.contact(ContactUse::TankCall, true));
    t.minutes(10);
    keep!(t);
}

#[test]
fn frost_in_the_return_without_a_call() {
    let mut t = told("The return nears freezing at night, nobody calls", plant(1, 2));
    t.b.water = false;
    t.b.supply(20);
    t.b.read(SensorUse::BoilerOutlet(BoilerId(0)), Reading::At(c(20)));
    outdoor(&mut t.b, -22);
    t.does("-22 °C outside", |_| {});
    t.minutes(35);
    t.does("the return reads 4 °C", |b| b.read(SensorUse::Return, Reading::At(c(4))));
    t.minutes(6);
    t.does("the return reads 8 °C, the supply 45 °C", |b| {
        b.supply(45);
        b.read(SensorUse::Return, Reading::At(c(8)));
    });
    t.minutes(12);
    keep!(t);
}

#[test]
fn own_fault_of_one_of_two() {
    let mut t = told("Of two boilers that burn one reports a fault", plant(3, 4));
    t.b.supply(20);
    outdoor(&mut t.b, -15);
    t.does("four zones call at -15 °C", |b| (0..4).for_each(|z| b.call(z, true)));
    t.minutes(25);
    t.does("boiler 1 reports a fault", |b| b.contact(ContactUse::BoilerFault(BoilerId(0)), true));
    t.minutes(8);
    t.does("it is reset at the boiler", |b| b.contact(ContactUse::BoilerFault(BoilerId(0)), false));
    t.minutes(12);
    keep!(t);
}

#[test]
fn floor_limit_opens() {
    let mut shape = plant(1, 3);
    shape.extras = true;
    let mut t = told("The floor's limit opens", shape);
    t.b.config.reset.schedule = None;
    t.b.config.zones[1].circulation = Circulation::OnCall;
    t.b.state = State::new(&t.b.config, None);
    t.b.supply(30);
    t.b.read(SensorUse::Mixed(ZoneId(2)), Reading::At(c(30)));
    let floor = SafetyId(4);
    t.does("the floor (zone 3) calls", |b| b.call(2, true));
    t.minutes(6);
    t.does("its surface limit opens", |b| limit(b, floor, Tap::Aux, false));
    t.minutes(8);
    t.does("the limit closes by itself", |b| limit(b, floor, Tap::Aux, true));
    t.minutes(2);
    acknowledge(&mut t);
    t.minutes(8);
    keep!(t);
}

#[test]
fn service_switch_turned_off_under_fire() {
    let mut t = heating("A boiler is switched off for service under fire", plant(2, 2), 30);
    t.does("the service switch of boiler 1 is turned off", |b| b.contact(ContactUse::BoilerSwitch(BoilerId(0)), false));
    t.minutes(6);
    t.does("and on again", |b| b.contact(ContactUse::BoilerSwitch(BoilerId(0)), true));
    t.minutes(12);
    keep!(t);
}

#[test]
fn supply_sensor_fell_out_of_its_well() {
    let mut t = told("The supply sensor fell out of its well: it does not move after the flame", plant(1, 2));
    t.b.supply(25);
    t.wrench = |b| b.read(SensorUse::Supply, Reading::At(c(25)));
    t.does("zone 1 calls; the sensor reads the room", |b| b.call(0, true));
    t.minutes(40);
    t.wrench = |_| {};
    t.does("it is put back", |_| {});
    t.minutes(3);
    keep!(t);
}

#[test]
fn lead_passes_on_by_hours() {
    let shape = Shape { policy: RotationPolicy::HoursDifference(2), ..plant(2, 2) };
    let mut t = alone("The lead passes on after two hours more than the next", shape);
    t.minutes(125);
    keep!(t);
}

#[test]
fn weekly_exercise_in_summer() {
    let mut t = told("Summer: pumps that stood for two days run a minute each", Shape { tank: true, ..plant(2, 3) });
    t.b.water = false;
    t.b.supply(25);
    outdoor(&mut t.b, 25);
    // The afternoon is a little warmer than the morning: a reading that never moves would be an alarm of its own.
    t.wrench = |b| outdoor(b, if b.now_s / 43_200 % 2 == 0 { 25 } else { 29 });
    t.does("nobody calls for days", |_| {});
    t.minutes(49 * 60);
    keep!(t);
}

#[test]
fn boilers_by_rate_share_the_load() {
    let mut shape = plant(2, 3);
    shape.drive = BoilerDrive::Rate;
    let mut t = told("Two boilers by rate: the second joins without a bump and leaves again", shape);
    t.b.config.staging.up_error_k_s = 9_000_000;
    t.b.supply(45);
    outdoor(&mut t.b, -12);
    let rates = |t: &Story| {
        let r = |i| t.b.outputs.analog(t.b.config.points.analog(AnalogUse::Rate(BoilerId(i))).unwrap()).at.get();
        format!("rates {} and {} of 1000", r(0), r(1))
    };
    t.does("three zones call at -12 °C", |b| (0..3).for_each(|z| b.call(z, true)));
    for _ in 0..10 {
        t.minutes(5);
        let now = rates(&t);
        t.does(&now, |_| {});
    }
    t.does("two zones are warm", |b| (1..3).for_each(|z| b.call(z, false)));
    for _ in 0..8 {
        t.minutes(5);
        let now = rates(&t);
        t.does(&now, |_| {});
    }
    keep!(t);
}

#[test]
fn water_at_the_upper_bound() {
    let mut t = heating("The outlet of a boiler runs up to its bound: flow too small", plant(2, 2), 40);
    t.wrench = |b| {
        let hot = b.demand(0).on;
        b.read(SensorUse::BoilerOutlet(BoilerId(0)), Reading::At(c(if hot { 96 } else { 70 })));
    };
    t.does("the outlet of boiler 1 reads 96 °C", |_| {});
    t.minutes(30);
    keep!(t);
}
