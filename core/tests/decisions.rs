//! What a tick decides at its edges, and what is stated and counted of it.

mod common;
use common::*;
use heatwright_core::{
    boilers::BoilerState,
    config::*,
    enable::Enable,
    guard::sensors::OUTDOOR_STILL,
    limits::RELAYS,
    quiet::{Asks, Quiet, take_down},
    *,
};

const TARGET: BoilerDrive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };

/// Water as it is set, and no sensor is called frozen for that.
fn set(c: Config, supply: i16) -> Bench {
    let mut b = Bench::with(c);
    b.water = false;
    b.config.guard.frozen_after = Span::ZERO;
    b.supply(supply);
    b
}

fn firing(b: &Bench) -> usize {
    b.state.control.boilers.iter().filter(|b| b.state.firing()).count()
}

/// So many of three boilers burn for a load that needs two, a kelvin below the target.
fn two_of_three() -> Bench {
    two_of_three_by(RotationPolicy::Fixed)
}

fn two_of_three_by(policy: RotationPolicy) -> Bench {
    let mut c = config(Shape { boilers: 3, policy, ..Shape::default() });
    c.zones.iter_mut().for_each(|z| z.flow_w_per_k = 20_000);
    let mut b = set(c, 30);
    b.call(0, true);
    b.until(4000, |b| firing(b) == 2);
    b.supply(b.outputs.target.unwrap().centi_c() / 100 - 1);
    b.run(200);
    assert_eq!(firing(&b), 2);
    b
}

#[test]
fn each_relay_is_counted_in_its_own_place() {
    let mut b = Bench::new(Shape { boilers: 2, tank: true, ..Shape::default() });
    let mut counted = [0u32; RELAYS];
    for t in 0..3000 {
        if t % 700 == 0 {
            b.call(0, t % 1400 == 0);
            b.contact(ContactUse::TankCall, t % 1400 != 0);
        }
        let before = b.outputs;
        b.second();
        for (n, (before, after)) in counted.iter_mut().zip(before.relays.iter().zip(&b.outputs.relays)) {
            *n += u32::from(after.on && !before.on);
        }
    }
    assert_eq!(b.state.meter.operations, counted);
    assert!(counted.iter().filter(|n| **n > 0).count() >= 6, "{counted:?}");
}

#[test]
fn a_rate_says_why_it_stands_where_it_does() {
    let mut b = Bench::new(Shape { boilers: 2, drive: BoilerDrive::Rate, ..Shape::default() });
    b.call(0, true);
    let mut seen = [0; 3];
    for _ in 0..1500 {
        b.second();
        for i in 0..2 {
            let (demand, lit) = (b.demand(i), b.state.control.boilers[usize::from(i)].state.firing());
            let signal = b.outputs.analog(b.config.points.analog(AnalogUse::Rate(BoilerId(i))).unwrap());
            let want = if demand.on && lit { Reason::Law } else { demand.why };
            assert_eq!(signal.why, want, "boiler {i}");
            seen[usize::from(demand.on) + usize::from(demand.on && lit)] += 1;
        }
    }
    assert!(seen.iter().all(|n| *n > 20), "{seen:?}");
}

#[test]
fn frost_heat_ends_where_no_zone_can_take_it() {
    let mut c = config(Shape::default());
    for p in [0, 1] {
        c.points.contacts.extend([ContactUse::Auto(PumpId(p)), ContactUse::Hand(PumpId(p))]);
    }
    let mut b = set(c, 20);
    b.read(SensorUse::BoilerOutlet(BoilerId(0)), Reading::At(common::c(20)));
    b.read(SensorUse::Return, Reading::At(common::c(4)));
    b.until(900, |b| firing(b) == 1);
    b.run(200);
    b.contact(ContactUse::Auto(PumpId(0)), false);
    b.run(10);
    assert!(b.demand(0).on, "one zone is left");
    b.contact(ContactUse::Auto(PumpId(1)), false);
    b.run(10);
    assert!(!b.demand(0).on);
}

/// A flame of a minute that is switched off at the boiler; what the water reads then says whether it was a short run.
#[test]
fn a_short_run_is_one_that_ends_over_water_that_is_warm_enough() {
    let short = |above_centi: Option<i16>| {
        let mut b = set(config(Shape { low_load: true, ..Shape::default() }), 30);
        let reads = |b: &mut Bench, r| {
            let all = [SensorUse::Supply, SensorUse::Return, SensorUse::BoilerOutlet(BoilerId(0))];
            all.into_iter().for_each(|u| b.read(u, r));
        };
        if above_centi.is_none() {
            reads(&mut b, Reading::NeverRead);
        }
        b.call(0, true);
        b.until(900, |b| firing(b) == 1);
        b.run(60);
        if let Some(above) = above_centi {
            let at = b.outputs.target.unwrap().plus(TempDelta::from_centi_k(above));
            reads(&mut b, Reading::At(at));
        }
        b.second();
        b.contact(ContactUse::BoilerSwitch(BoilerId(0)), false);
        b.run(3);
        assert_eq!(firing(&b), 0);
        b.state.control.low_load.short
    };
    assert_eq!([short(Some(0)), short(Some(-1)), short(None)], [1, 0, 0]);
}

#[test]
fn a_drop_by_the_sum_tries_no_load_and_a_fault_refuses_none() {
    let mut b = two_of_three();
    b.supply(b.outputs.target.unwrap().centi_c() / 100 + 9);
    b.until(900, |b| b.demands() == 1);
    assert_eq!(b.state.laws.required.tried_w, 0, "the rest was not judged");

    let mut b = two_of_three();
    // A load was tried, and the shortfall has added up in the very second of the fault.
    b.state.laws.required.tried_w = u32::MAX;
    b.state.laws.sums.up = b.config.staging.up_error_k_s * 100;
    b.contact(ContactUse::BoilerFault(BoilerId(0)), true);
    b.second();
    assert_eq!(b.state.control.staging.enlisted[..], [BoilerId(1), BoilerId(2)]);
    assert!(!b.state.laws.required.refused, "one came for one that failed, not for the load");
}

#[test]
fn boilers_by_rate_are_held_against_no_rest() {
    let mut b = set(config(Shape { boilers: 2, drive: BoilerDrive::Rate, ..Shape::default() }), 30);
    b.call(0, true);
    b.until(4000, |b| firing(b) == 2);
    b.state.laws.required.tried_w = 1;
    b.run(2);
    assert!(b.state.laws.basis.required.flow_w_per_k > 0, "what is carried is looked at");
    assert_eq!(b.state.laws.basis.required.down_design_w, 0);
}

#[test]
fn calls_in_summer_do_not_start_a_plant_that_runs_by_their_number() {
    let mut b = set(config(Shape { zones: 3, by_requests: true, ..Shape::default() }), 25);
    b.read(SensorUse::Outdoor, Reading::At(c(25)));
    (0..3).for_each(|z| b.call(z, true));
    b.run(2000);
    assert!(matches!(b.state.control.enable, Enable::Off { .. }), "{:?}", b.state.control.enable);
}

#[test]
fn a_boiler_waits_until_the_pump_of_the_tank_runs() {
    let mut conf = config(Shape { tank: true, ..Shape::default() });
    let pump = conf.tank.as_ref().unwrap().pump;
    conf.pumps[pump.index()].off_min = span(400);
    let mut b = set(conf, 40);
    b.contact(ContactUse::TankCall, true);
    let on = b.until(900, |b| {
        assert!(b.pump(pump.0).on || matches!(b.state.control.boilers[0].state, BoilerState::Off { .. }));
        b.pump(pump.0).on
    });
    assert!(on >= 400);
    b.until(60, |b| b.demand(0).on);
}

#[test]
fn two_boilers_that_were_cut_together_start_again_one_at_a_time() {
    let mut b = two_of_three();
    let outlets =
        |b: &mut Bench, t| (0..2).for_each(|i| b.read(SensorUse::BoilerOutlet(BoilerId(i)), Reading::At(c(t))));
    outlets(&mut b, 96);
    b.second();
    assert_eq!(b.demands(), 0);
    outlets(&mut b, 60);
    let first = b.until(900, |b| b.demands() == 1);
    let second = b.until(900, |b| b.demands() == 2);
    assert!(second - first >= b.config.staging.start_spacing.whole_s(), "{} s apart", second - first);
}

#[test]
fn where_a_valve_has_no_time_its_end_switch_is_never_stuck() {
    let alarm = |travel: Span| {
        let mut c = config(Shape { extras: true, ..Shape::default() });
        c.guard.valve_travel_max = travel;
        let mut b = set(c, 40);
        b.read(SensorUse::Mixed(ZoneId(1)), Reading::At(common::c(30)));
        for _ in 0..600 {
            b.now_s += 1;
            b.plant();
            b.contact(ContactUse::EndSwitch(ZoneId(0)), true);
            b.tick();
        }
        b.relay(RelayUse::Alarm).why
    };
    assert_eq!([alarm(Span::ZERO), alarm(span(240))], [Reason::Healthy, Reason::StuckEndSwitch(ZoneId(0))]);
}

#[test]
fn an_outdoor_reading_that_stands_for_long_raises_the_alarm() {
    let mut b = Bench::new(Shape::default());
    b.run(10);
    let outdoor = b.config.points.sensor(SensorUse::Outdoor).unwrap();
    b.now_s += OUTDOOR_STILL.whole_s() - 20;
    b.second();
    assert_eq!(b.relay(RelayUse::Alarm).why, Reason::Healthy);
    b.run(20);
    assert_eq!(b.relay(RelayUse::Alarm).why, Reason::Frozen(outdoor));
    b.read(SensorUse::Outdoor, Reading::At(c(1)));
    b.run(2);
    assert_eq!(b.relay(RelayUse::Alarm).why, Reason::Healthy);
}

#[test]
fn both_ends_of_a_band_give_the_same_answers_and_the_next_hundredth_another() {
    let mut b = set(config(Shape { drive: TARGET, ..Shape::default() }), 50);
    b.run(20);
    let (quiet, supply) =
        (Quiet::after(&b.config, &b.state, next_due(&b.state)), b.config.points.sensor(SensorUse::Supply).unwrap());
    // A purge would end at 45 degrees; what a boiler holds matters at its own outlet.
    let (low, high) = quiet.range(supply).unwrap();
    assert_eq!((low, high), (4501, i16::MAX));
    let tank = |shape: Shape| {
        let mut b = set(config(shape), 50);
        b.run(20);
        b
    };
    let b = tank(Shape { tank: true, ..Shape::default() });
    let (quiet, tank) =
        (Quiet::after(&b.config, &b.state, next_due(&b.state)), b.config.points.sensor(SensorUse::Tank).unwrap());
    let same = |centi| {
        let mut inputs = b.inputs;
        inputs.sensors[tank.index()] = Reading::At(Temp::from_centi_c(centi));
        quiet.same(&inputs)
    };
    assert_eq!(quiet.range(tank), Some((i16::MIN, 6499)));
    assert_eq!([same(6499), same(6500), same(i16::MIN)], [true, false, true]);
}

#[test]
fn a_grid_moment_is_passed_over_where_nothing_is_due_at_all() {
    let mut conf = config(Shape::default());
    conf.pumps.iter_mut().for_each(|p| p.exercise_every = Span::ZERO);
    conf.guard.frozen_after = Span::ZERO;
    let mut b = set(conf, 40);
    b.run(2000);
    assert_eq!(next_due(&b.state), None);
    let mut quiet = Quiet::after(&b.config, &b.state, next_due(&b.state));
    assert_eq!(quiet.until(), None);
    let at = Instant::from_s(b.now_s + 10);
    assert_eq!(quiet.step(&b.config, &mut b.state, at, &b.inputs), Asks::Nothing);
}

#[test]
fn a_supply_that_is_not_trusted_is_not_taken_down_as_good() {
    let mut b = set(config(Shape::default()), 40);
    b.run(10);
    b.read(SensorUse::Supply, Reading::Open);
    b.second();
    let good = b.state.control.sensors.supply.good;
    assert_eq!(good, Some(c(40)));
    let mut inputs = b.inputs;
    inputs.sensors[b.config.points.sensor(SensorUse::Supply).unwrap().index()] = Reading::At(c(70));
    take_down(&b.config, &mut b.state, Instant::from_s(b.now_s + 1), &inputs);
    assert_eq!(b.state.control.sensors.supply.good, good);
}

/// By hours the one with the most of them makes room for a new lead; by starts the one that was on first.
#[test]
fn who_makes_room_for_a_new_lead_goes_by_hours_only_where_the_lead_does() {
    let leaves = |policy: RotationPolicy| {
        let mut b = two_of_three_by(policy);
        let first_on: Vec<_> = b.state.control.staging.enlisted.iter().map(|b| b.0).collect();
        // The one that came second has burned longest, the one that stands least.
        let third = (0..3).find(|i| !first_on.contains(i)).unwrap();
        b.state.meter.fired = [Span::from_h(100); 4];
        b.state.meter.fired[usize::from(first_on[1])] = Span::from_h(200);
        b.state.meter.fired[usize::from(third)] = Span::ZERO;
        b.state.meter.starts = [9; 4];
        b.state.meter.starts[usize::from(third)] = 0;
        b.state.control.rotation.lead = BoilerId(first_on[0]);
        b.until(90_000, |b| b.state.control.staging.leaving.is_some());
        let leaving = b.state.control.staging.leaving.unwrap().0;
        first_on.iter().position(|f| *f == leaving).unwrap()
    };
    assert_eq!(leaves(RotationPolicy::HoursDifference(25)), 1);
    assert_eq!(leaves(RotationPolicy::StartsDifference(3)), 0);
}

/// At power-up with a broken supply sensor and nothing to stand in for it, the boiler whose turn has not come is not called satisfied.
#[test]
fn where_nobody_reads_the_supply_a_boiler_that_rests_is_not_said_to_be_satisfied() {
    let mut b = set(config(Shape { boilers: 2, ..Shape::default() }), 30);
    for u in [SensorUse::Supply, SensorUse::Return] {
        b.read(u, Reading::Open);
    }
    b.call(0, true);
    b.until(60, |b| b.outputs.target.is_some());
    assert_eq!(b.demand(1), Stated { on: false, why: Reason::NotNeeded });
}

/// The water of a boiler whose outlet sensor fails is taken for no cooler than the supply; one that has no sensor is judged by its own
/// control alone.
#[test]
fn a_lost_outlet_is_stood_for_by_the_supply_and_a_sensor_that_is_not_there_is_not() {
    let cut = |sensor: bool| {
        let mut c = config(Shape { drive: TARGET, ..Shape::default() });
        c.reset.supply_max = common::c(94);
        if !sensor {
            let outlet = c.points.sensor(SensorUse::BoilerOutlet(BoilerId(0))).unwrap();
            c.points.sensors[outlet.index()] = SensorUse::Spare;
        }
        let mut b = set(c, 40);
        b.call(0, true);
        b.until(900, |b| firing(b) == 1);
        b.run(200);
        if sensor {
            b.read(SensorUse::BoilerOutlet(BoilerId(0)), Reading::Open);
        }
        b.supply(96);
        b.second();
        (b.state.control.hot.kept[0], b.demand(0).on)
    };
    assert_eq!(cut(true).0, 1);
    assert_eq!(cut(false).0, 0);
}

/// Two boilers that are asked for in one tick: the second neither starts its pump nor waits for flow before the first has its demand.
#[test]
fn of_two_that_may_start_at_once_the_second_waits_behind_the_first() {
    let mut b = two_of_three();
    let outlets =
        |b: &mut Bench, t| (0..2).for_each(|i| b.read(SensorUse::BoilerOutlet(BoilerId(i)), Reading::At(c(t))));
    outlets(&mut b, 96);
    b.run(400);
    assert_eq!(b.demands(), 0);
    outlets(&mut b, 60);
    b.until(900, |b| {
        let flow = b.state.control.boilers.iter().filter(|b| matches!(b.state, BoilerState::Flow { .. })).count();
        assert!(flow <= 1, "{:?}", b.state.control.boilers);
        b.demands() == 1
    });
}

#[test]
fn a_pump_that_nobody_asks_for_any_more_keeps_its_shortest_run() {
    let mut conf = config(Shape::default());
    (conf.zones[0].call_min, conf.zones[0].overrun) = (Span::ZERO, Span::ZERO);
    let mut b = set(conf, 50);
    b.call(0, true);
    b.until(60, |b| b.pump(0).on);
    b.call(0, false);
    b.until(20, |b| b.pump(0).why == Reason::MinimumOn);
    assert!(b.pump(0).on);
    let ran = b.until(60, |b| !b.pump(0).on);
    assert!(ran > 15, "{ran}");
}

/// The supply is lost; what stands for it comes down to the boiler that burns, whatever a hotter one at rest says.
#[test]
fn an_outlet_of_a_boiler_at_rest_stands_for_no_supply() {
    let mut b = set(config(Shape { boilers: 2, drive: TARGET, ..Shape::default() }), 40);
    b.call(0, true);
    b.until(900, |b| firing(b) == 1);
    for (i, t) in [(0, 60), (1, 85)] {
        b.read(SensorUse::BoilerOutlet(BoilerId(i)), Reading::At(common::c(t)));
    }
    b.contact(ContactUse::BoilerSwitch(BoilerId(1)), false);
    b.read(SensorUse::Supply, Reading::Open);
    b.run(45 * 60);
    assert_eq!(b.state.laws.basis.supply, Some(common::c(60)));
}
