//! Where one machine's business ends and another's begins: a safety behind another, a pump that is taken away from its
//! boiler, a call that cannot be served, a lead that changes while the load falls.

mod common;
use common::*;
use heatwright_core::{config::*, *};

const B0: BoilerId = BoilerId(0);
/// The first boiler's pump where there are two zones.
const BOILER_PUMP: PumpId = PumpId(2);

fn alarm(b: &Bench) -> Reason {
    b.relay(RelayUse::Alarm).why
}

fn cold(config: Config) -> Bench {
    let mut b = Bench::with(config);
    b.water = false;
    // The water stands as it is set here; that is not to be taken for a frozen sensor.
    b.config.guard.frozen_after = Span::ZERO;
    b.supply(25);
    b.call(0, true);
    b
}

/// Nobody looks at the first boiler's flow.
fn blind(mut c: Config) -> Config {
    let flow = c.points.contact(ContactUse::Flow(B0)).unwrap();
    c.points.contacts[flow.index()] = ContactUse::Spare;
    c
}

fn switched(mut c: Config, p: PumpId) -> Config {
    c.points.contacts.push(ContactUse::Auto(p)).unwrap();
    c.points.contacts.push(ContactUse::Hand(p)).unwrap();
    c
}

fn turn(b: &mut Bench, p: PumpId, auto: bool, hand: bool) {
    b.contact(ContactUse::Auto(p), auto);
    b.contact(ContactUse::Hand(p), hand);
}

#[test]
fn a_tap_behind_an_open_door_switch_of_the_plant_says_nothing_of_its_own_device() {
    let mut conf = config(Shape::default());
    let water = SafetyId(conf.safeties.len() as u8);
    conf.safeties
        .push(SafetyConfig {
            kind: SafetyKind::LowWater,
            scope: SafetyScope::Plant,
            circuit: SafetyCircuit::Limit,
            reset: Reset::Manual,
        })
        .unwrap();
    conf.points.contacts.push(ContactUse::Safety(water, Tap::Chain)).unwrap();
    let mut b = cold(conf);
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    // The door switch, seen by its own contact, opens the whole chain behind it: the plant's taps, then the boiler's.
    b.contact(ContactUse::Safety(DOOR, Tap::Aux), false);
    for tap in [water, high_limit(0), low_water(0)] {
        b.contact(ContactUse::Safety(tap, Tap::Chain), false);
    }
    b.run(3);
    assert_eq!(b.demand(0), Stated { on: false, why: Reason::Safety(DOOR) });
    assert_eq!(b.outputs.first_out, Some(DOOR));
    assert!(b.state.control.guard.latched.is_empty(), "no device was seen to open but the door switch");
    assert!(b.pump(0).on && b.pump(2).on, "there is no low water: the pumps run on");
    // With the door shut again an open tap is that device's own.
    b.contact(ContactUse::Safety(DOOR, Tap::Aux), true);
    b.second();
    assert!(b.state.control.guard.latched.has(water.0) && !b.pump(0).on);
}

#[test]
fn a_boiler_whose_pump_is_switched_off_under_fire_ends_its_demand() {
    let mut b = cold(switched(blind(config(Shape::default())), BOILER_PUMP));
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    turn(&mut b, BOILER_PUMP, false, false);
    b.second();
    assert!(b.demand(0).on, "its switch may be on its way to HAND");
    b.second();
    assert_eq!(b.demand(0), Stated { on: false, why: Reason::Retry });
    assert_eq!(alarm(&b), Reason::FlowMissed(BoilerId(0)));
    turn(&mut b, BOILER_PUMP, true, false);
    b.until(900, |b| b.demand(0).why == Reason::Lead);
}

#[test]
fn a_boiler_without_a_pump_ends_its_demand_when_no_water_flows_for_long() {
    let mut conf = blind(config(Shape::default()));
    conf.boilers[0].pump = BoilerPump::None;
    conf.boilers[0].on_min = Span::from_h(2);
    conf.zones[0].drive = ZoneDrive::Valve { pump: None };
    conf.points.relays.push(RelayUse::Valve(ZoneId(0))).unwrap();
    conf.points.contacts.push(ContactUse::EndSwitch(ZoneId(0))).unwrap();
    let mut b = cold(conf);
    let open = |b: &mut Bench, seconds: u32| {
        for _ in 0..seconds {
            b.now_s += 1;
            b.plant();
            b.contact(ContactUse::EndSwitch(ZoneId(0)), false);
            b.tick();
        }
    };
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    open(&mut b, 25);
    b.run(100);
    open(&mut b, 25);
    assert!(b.demand(0).on, "a valve that comes back in time");
    b.run(10);
    open(&mut b, 30);
    assert!(b.demand(0).on);
    open(&mut b, 2);
    assert!(!b.demand(0).on, "after the time in which flow must be proved");
    assert!(!b.state.control.boilers[0].tried, "charged to the zone, not to the boiler");
    open(&mut b, 900);
    assert_eq!(b.demand(0), Stated { on: false, why: Reason::NoZoneFlow });
    b.until(60, |b| b.demand(0).on);
}

#[test]
fn a_boiler_by_rate_burns_at_its_minimum_once_no_heat_is_wanted() {
    let mut conf = config(Shape { drive: BoilerDrive::Rate, ..Shape::default() });
    conf.boilers[0].on_min = Span::from_h(9);
    let mut b = cold(conf);
    let rate = |b: &Bench| b.outputs.analog(b.config.points.analog(AnalogUse::Rate(B0)).unwrap()).at.get();
    b.until(3000, |b| rate(b) > 600);
    b.call(0, false);
    b.until(300, |b| b.outputs.target.is_none());
    b.second();
    assert_eq!((b.demand(0).on, rate(&b)), (true, 200));
    b.call(0, true);
    b.until(60, |b| b.outputs.target.is_some());
    assert!(rate(&b) < 300, "and comes up from there: {}", rate(&b));
}

#[test]
fn flow_is_asked_for_from_the_start_of_the_pump_on_not_while_it_waits_for_its_own_stop() {
    for flows in [true, false] {
        let mut conf = config(Shape::default());
        conf.pumps[2].off_min = span(500);
        let mut b = cold(conf);
        b.no_flow[0] = !flows;
        b.until(400, |b| b.demand(0).why == Reason::FlowProof);
        let pump = b.until(400, |b| b.pump(2).on);
        assert!(pump >= 500, "{pump}");
        assert!(!b.state.control.boilers[0].tried, "nobody could have seen flow yet");
        if flows {
            b.until(30, |b| b.demand(0).on);
        } else {
            let failed = b.until(60, |b| b.demand(0).why == Reason::Retry);
            assert_eq!(failed - pump, 30);
        }
    }
}

#[test]
fn an_outdoor_sensor_that_never_reads_counts_for_frost_as_a_broken_one() {
    let mut conf = config(Shape::default());
    conf.guard.frost_outdoor = c(-10);
    for fault in [Reading::Open, Reading::NeverRead] {
        let mut b = Bench::with(conf.clone());
        b.read(SensorUse::Outdoor, fault);
        b.run(60);
        assert_eq!(b.pump(0).why, Reason::Frost, "{fault:?}");
    }
}

#[test]
fn a_tank_whose_pump_is_switched_off_sheds_no_zone_and_starts_no_plant() {
    let conf = switched(config(Shape { tank: true, ..Shape::default() }), PumpId(3));
    let mut b = cold(conf);
    turn(&mut b, PumpId(3), false, false);
    b.contact(ContactUse::TankCall, true);
    b.run(120);
    assert_eq!(b.pump(0), Stated { on: true, why: Reason::Call(ZoneId(0)) });
    let conf = switched(config(Shape { tank: true, by_requests: true, ..Shape::default() }), PumpId(3));
    let mut b = cold(conf);
    b.call(0, false);
    turn(&mut b, PumpId(3), false, false);
    b.contact(ContactUse::TankCall, true);
    b.run(1000);
    assert!(matches!(b.state.control.enable, enable::Enable::Off { .. }), "it cannot be served");
    turn(&mut b, PumpId(3), true, false);
    b.run(3);
    assert!(matches!(b.state.control.enable, enable::Enable::On { .. }));
}

#[test]
fn a_zone_that_takes_purge_heat_is_heard_when_it_calls() {
    let mut b = cold(config(Shape::default()));
    b.call(0, false);
    b.call(1, true);
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    b.run(200);
    b.supply(70);
    b.call(1, false);
    b.until(400, |b| b.pump(0) == Stated { on: true, why: Reason::HeatPurge });
    b.call(0, true);
    b.run(10);
    assert_eq!(b.pump(0).why, Reason::Call(ZoneId(0)));
    assert!(b.outputs.target.is_some());
}

#[test]
fn a_load_that_falls_while_the_lead_changes_stops_both() {
    let mut conf = config(Shape { boilers: 2, policy: RotationPolicy::HoursDifference(1), ..Shape::default() });
    conf.boilers[1].flame_proof_max = Span::from_h(2);
    let mut b = cold(conf);
    b.no_flame[1] = true;
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    let target = b.outputs.target.unwrap().centi_c() / 100;
    b.supply(target);
    b.until(4000, |b| b.outputs.lead == Some(BoilerId(1)));
    b.run(300);
    assert_eq!(b.demands(), 2, "the new lead is not proved yet");
    b.supply(target + 9);
    b.run(400);
    assert_eq!(b.demands(), 0);
    assert!(b.state.control.staging.leaving.is_none());
}

#[test]
fn a_call_that_cannot_be_served_does_not_raise_the_target() {
    let mut conf = switched(config(Shape::default()), PumpId(0));
    conf.reset.demand_trim_max = TempDelta::from_k(4);
    let mut b = cold(conf);
    turn(&mut b, PumpId(0), false, false);
    // It has stood for not quite ten minutes at the first look.
    b.run(900);
    let before = b.state.laws.demand_trim;
    assert!(before <= TempDelta::ZERO);
    b.run(2 * 3600);
    assert_eq!(b.state.laws.demand_trim, before, "nothing is known of how warm its water must be");
    turn(&mut b, PumpId(0), true, false);
    b.run(3600);
    assert!(b.state.laws.demand_trim > TempDelta::ZERO);
}

#[test]
fn a_switch_turned_to_hand_and_back_does_not_make_a_running_pump_stop() {
    let mut conf = switched(config(Shape::default()), PumpId(0));
    conf.pumps[0].off_min = span(300);
    let mut b = cold(conf);
    b.run(360);
    assert!(b.pump(0).on);
    turn(&mut b, PumpId(0), false, true);
    b.run(30);
    assert_eq!(b.pump(0), Stated { on: false, why: Reason::Hand });
    turn(&mut b, PumpId(0), true, false);
    b.second();
    assert_eq!(b.pump(0), Stated { on: true, why: Reason::Call(ZoneId(0)) }, "its motor has not stopped");
    // Nor has it on its way through OFF; where that stays it has.
    turn(&mut b, PumpId(0), false, false);
    b.second();
    assert_eq!(b.pump(0), Stated { on: false, why: Reason::Hand });
    turn(&mut b, PumpId(0), true, false);
    b.second();
    assert_eq!(b.pump(0), Stated { on: true, why: Reason::Call(ZoneId(0)) });
    b.run(20);
    turn(&mut b, PumpId(0), false, false);
    b.run(3);
    turn(&mut b, PumpId(0), true, false);
    b.second();
    assert_eq!(b.pump(0), Stated { on: false, why: Reason::MinimumOff });

    let mut b = cold(switched(blind(config(Shape::default())), BOILER_PUMP));
    b.until(900, |b| b.demand(0).why == Reason::Lead);
    for (auto, hand) in [(false, true), (true, false)] {
        turn(&mut b, BOILER_PUMP, auto, hand);
        b.run(30);
        assert!(b.demand(0).on, "the boiler's water has moved all along");
    }
}

#[test]
fn an_acknowledge_contact_that_is_closed_at_power_up_was_not_pressed() {
    let mut b = cold(config(Shape::default()));
    b.contact(ContactUse::Safety(GAS, Tap::Aux), false);
    b.run(5);
    b.contact(ContactUse::Safety(GAS, Tap::Aux), true);
    b.run(5);
    assert_eq!(alarm(&b), Reason::Safety(GAS));
    b.state = State::new(&b.config, Some(&b.state.memory()));
    b.now_s = 0;
    b.contact(ContactUse::Acknowledge, true);
    b.run(60);
    assert_eq!(alarm(&b), Reason::Safety(GAS), "a button that sticks acknowledges nothing");
    b.contact(ContactUse::Acknowledge, false);
    b.second();
    b.acknowledge();
    assert_eq!(alarm(&b), Reason::Healthy);
}

#[test]
fn a_pump_that_its_boiler_switches_is_not_exercised() {
    let mut conf = config(Shape::default());
    conf.boilers[0].pump = BoilerPump::Boiler(BOILER_PUMP);
    let mut b = Bench::with(conf);
    b.water = false;
    b.read(SensorUse::Outdoor, Reading::At(c(25)));
    b.until(49 * 3600, |b| b.pump(0).on);
    b.until(600, |b| b.pump(1).on);
    for _ in 0..600 {
        b.second();
        assert!(!b.pump(2).on, "{:?}", b.pump(2));
    }
}

#[test]
fn a_mixed_zone_follows_the_curve_where_the_header_is_held_to_its_bounds() {
    let mut conf = config(Shape::default());
    let mix = MixConfig {
        mixed_max: c(45),
        mixed_design: c(40),
        room: c(20),
        band: TempDelta::from_k(20),
        integral: span(300),
        stroke: span(120),
    };
    conf.zones[1].mix = Some(mix);
    conf.points.sensors.push(SensorUse::Mixed(ZoneId(1))).unwrap();
    conf.points.analogs.push(AnalogUse::Mixing(ZoneId(1))).unwrap();
    conf.reset.outdoor_filter = Span::ZERO;
    (conf.reset.supply_min, conf.reset.supply_max) = (c(50), c(60));
    let mut b = cold(conf);
    // The curve: 80 °C at -15 °C, 35 °C at 20 °C; it is held to 50 and 60 °C.
    for (outdoor, header, mixed) in [(-15, 60, 4000), (17, 50, 2629)] {
        b.read(SensorUse::Outdoor, Reading::At(c(outdoor)));
        b.run(60);
        assert_eq!(b.outputs.target, Some(c(header)), "{outdoor}");
        let got = mixing::target(&mix, &b.config.reset, c(outdoor), b.state.laws.basis.asked).centi_c();
        assert!(got.abs_diff(mixed) <= 1, "{outdoor}: {got}");
    }
}
