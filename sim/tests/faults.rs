//! Faults laid over a run do in the plant what they do in a boiler room, and nothing before their time.

mod common;

use common::{Double, config, large, small};
use heatwright_core::{BoilerId, ContactUse, PumpId, Reading, SafetyId, SensorId, Tap, Temp, ZoneId};
use heatwright_sim::{
    Ideal, Options, Plant, Run, RunError, Wires,
    boiler::burner::Burner,
    control::InProcess,
    fault::{Acting, Fault, FaultyControl, FaultyWires, Position, Script, Stuck, Timed},
    outdoor::Steady,
    run,
    run::{Fresh, run_checked},
    wires::Field,
};

const HOURS: Options = Options {
    duration_s: 4.0 * 3600.0,
    warm_up_s: 3600.0,
    step_s: 1.0,
    sample_s: 0.0,
    seed: 1,
    events_max: 10_000,
    curve_setback: None,
};

fn try_faulty(plant: &Plant, faults: &[(f64, f64, Fault)]) -> Result<Run, RunError> {
    let items = faults.iter().map(|&(from_s, to_s, fault)| Timed { from_s, to_s, fault });
    let script = Script::new(items, HOURS.warm_up_s);
    let mut control = FaultyControl::new(Double::new(plant), script.clone());
    let mut wires = FaultyWires::new(Ideal::new(plant), plant, script.clone());
    let mut watch = Acting { script: &script, inner: &mut () };
    run(plant, &mut control, &mut wires, &Steady { outdoor_c: -10.0 }, &HOURS, &mut watch)
}

fn faulty(plant: &Plant, faults: &[(f64, f64, Fault)]) -> Run {
    try_faulty(plant, faults).unwrap()
}

const EVER: f64 = f64::INFINITY;

#[test]
fn no_faults_is_the_plain_run() {
    let plant = large();
    let plain =
        run(&plant, &mut Double::new(&plant), &mut Ideal::new(&plant), &Steady { outdoor_c: -10.0 }, &HOURS, &mut ());
    assert_eq!(plain.unwrap(), faulty(&plant, &[]));
}

#[test]
fn no_gas_locks_the_burner_out_until_it_is_reset() {
    let plant = small();
    let b = BoilerId(0);
    let locked = faulty(&plant, &[(3600.0, EVER, Fault::NoGas(b))]);
    assert_eq!(locked.state.boilers[0].state.burner, Burner::Lockout);
    assert!(locked.state.field.boiler_fault & b.bit() != 0);
    let back = [(3600.0, 7200.0, Fault::NoGas(b)), (9000.0, 9001.0, Fault::BoilerReset(b))];
    assert_ne!(faulty(&plant, &back).state.boilers[0].state.burner, Burner::Lockout);
    // Reset while there is still no gas leads back to lockout.
    let vain = [(3600.0, EVER, Fault::NoGas(b)), (9000.0, 9001.0, Fault::BoilerReset(b))];
    assert_eq!(faulty(&plant, &vain).state.boilers[0].state.burner, Burner::Lockout);
}

#[test]
fn the_run_at_half_the_step_has_the_same_faults() {
    let plant = small();
    let items = [Timed { from_s: 3600.0, to_s: EVER, fault: Fault::NoGas(BoilerId(0)) }];
    let script = Script::new(items, HOURS.warm_up_s);
    let fresh = || -> Fresh { (Box::new(Double::new(&plant)), Box::new(Ideal::new(&plant))) };
    let mut watch = Acting { script: &script, inner: &mut () };
    let ran = run_checked(&plant, &fresh, &Steady { outdoor_c: -10.0 }, &HOURS, &mut watch).unwrap();
    assert_eq!(ran.state.boilers[0].state.burner, Burner::Lockout);
    let apart = ran.balance.half_step.unwrap().worst_percent();
    assert!(
        apart < 5.0,
        "with gas for four hours in one run and for one in the other they would lie far apart: {apart} %"
    );
}

#[test]
fn an_open_safety_puts_every_flame_in_its_scope_out_at_once() {
    let plant = large();
    let door = SafetyId(4);
    let run = faulty(&plant, &[(7200.0, EVER, Fault::Safety(door, Stuck::Open))]);
    for (b, s) in run.state.boilers.iter().zip(&run.summary.boilers) {
        assert!(!b.state.burner.lit(), "{b:?}");
        assert!(s.hours_h <= 2.0, "{s:?}");
    }
    let one = faulty(&plant, &[(7200.0, EVER, Fault::Safety(SafetyId(3), Stuck::Open))]);
    assert!(one.summary.boilers[0].hours_h <= 2.0 && one.summary.boilers[1].hours_h > 2.0, "{:?}", one.summary.boilers);
}

#[test]
fn a_hand_reset_safety_stays_open_after_its_fault() {
    let plant = small();
    let high = SafetyId(0);
    let opened = (3600.0, 3700.0, Fault::Safety(high, Stuck::Open));
    let left = faulty(&plant, &[opened]);
    assert!(left.summary.boilers[0].hours_h <= 1.0, "{:?}", left.summary.boilers);
    let reset = faulty(&plant, &[opened, (7200.0, 7201.0, Fault::SafetyReset(high))]);
    assert!(reset.summary.boilers[0].hours_h > 1.5, "{:?}", reset.summary.boilers);
}

#[test]
fn a_dead_boiler_pump_opens_the_flow_switch_and_the_boiler_stays_cool() {
    let plant = small();
    let run = faulty(&plant, &[(3600.0, EVER, Fault::PumpDead(PumpId(2)))]);
    let guarded_s = run.summary.boilers[0].hours_h * 3600.0;
    assert!(guarded_s <= 3603.0, "{:?}", run.summary.boilers);
    // Without the flow switch in its proving pair it fires on into standing water until its own control stops it.
    let mut bare = small();
    bare.safeties.truncate(1);
    bare.points.contacts.pop();
    let hot = faulty(&bare, &[(3600.0, EVER, Fault::PumpDead(PumpId(2)))]);
    assert!(hot.summary.boilers[0].hours_h * 3600.0 > guarded_s + 10.0, "{:?}", hot.summary.boilers);
}

#[test]
fn hand_runs_a_pump_but_not_past_its_overload_or_its_limit() {
    let plant = large();
    let floor = PumpId(2);
    let hand = (0.0, EVER, Fault::PumpSwitch(floor, Position::Hand));
    assert_eq!(faulty(&plant, &[hand]).summary.pumps[2].hours_h, 4.0);
    let tripped = faulty(&plant, &[hand, (7200.0, EVER, Fault::Overload(floor))]);
    assert!((tripped.summary.pumps[2].hours_h - 2.0).abs() < 0.01, "{:?}", tripped.summary.pumps[2]);
    let limit = faulty(&plant, &[hand, (7200.0, EVER, Fault::Safety(SafetyId(5), Stuck::Open))]);
    assert!((limit.summary.pumps[2].hours_h - 2.0).abs() < 0.01, "{:?}", limit.summary.pumps[2]);
    let off = faulty(&plant, &[(0.0, EVER, Fault::PumpSwitch(floor, Position::Off))]);
    assert!(off.summary.pumps[2].hours_h < 0.01, "{:?}", off.summary.pumps[2]);
}

#[test]
fn a_floor_valve_that_fails_open_is_caught_by_the_wired_limit() {
    let mut plant = large();
    plant.zones[2].mix = Some(heatwright_sim::plant::Mix::SelfActing { set_c: 90.0, band_k: 5.0, lag_s: 10.0 });
    let run = faulty(&plant, &[(0.0, EVER, Fault::Thermostat(ZoneId(2), Stuck::Closed))]);
    assert!(run.summary.pumps[2].hours_h < 3.5, "the limit never opened: {:?}", run.summary.pumps[2]);
    assert!(run.summary.pumps[2].starts > 1, "{:?}", run.summary.pumps[2]);
}

#[test]
fn a_stuck_thermostat_overheats_or_freezes_its_room() {
    // A wide margin of emitter, so that a thermostat that never stops has something to overheat with.
    let mut plant = small();
    plant.zones[0].emitter = heatwright_sim::Emitter::radiator(25_000.0, 1.3);
    let closed = faulty(&plant, &[(0.0, EVER, Fault::Thermostat(ZoneId(0), Stuck::Closed))]);
    let open = faulty(&plant, &[(0.0, EVER, Fault::Thermostat(ZoneId(0), Stuck::Open))]);
    assert!(closed.summary.zones[0].highest_c > 20.5, "{:?}", closed.summary.zones[0]);
    assert!(open.summary.zones[0].lowest_c < 19.0, "{:?}", open.summary.zones[0]);
}

#[test]
fn sensor_faults_reach_the_inputs_and_nothing_else() {
    let plant = small();
    let reading = |fault, at_s: u32| {
        let script = Script::new([Timed { from_s: 100.0, to_s: 4000.0, fault }], 0.0);
        let mut wires = FaultyWires::new(Ideal::new(&plant), &plant, script);
        let mut field = Field::default();
        let mut last = Reading::NeverRead;
        for s in [50, 100, at_s] {
            field.at = heatwright_core::Instant::from_s(s);
            field.sensors[1] = Reading::At(Temp::from_c(40 + (s / 100) as i16));
            last = wires.seen(&heatwright_core::Outputs::default(), &field).sensors[1];
        }
        last
    };
    let s = SensorId(1);
    assert_eq!(reading(Fault::SensorOpen(s), 1000), Reading::Open);
    assert_eq!(reading(Fault::SensorShort(s), 1000), Reading::Short);
    assert_eq!(reading(Fault::SensorFrozen(s), 1000), Reading::At(Temp::from_c(41)));
    assert_eq!(reading(Fault::SensorOff(s, -2.5), 1000), Reading::At(Temp::from_centi_c(4750)));
    assert_eq!(reading(Fault::SensorDrifts(s, 4.0), 1000), Reading::At(Temp::from_c(51)));
    for fault in [Fault::SensorOpen(s), Fault::SensorFrozen(s), Fault::SensorOff(s, 3.0)] {
        assert_eq!(reading(fault, 4000), Reading::At(Temp::from_c(80)), "{fault:?} acts past its end");
    }
    assert_eq!(reading(Fault::SensorOpen(SensorId(200)), 1000), Reading::At(Temp::from_c(50)));
}

#[test]
fn a_controller_that_hangs_keeps_its_outputs_and_a_silent_one_ends_the_run() {
    let plant = small();
    let dead = faulty(&plant, &[(0.0, EVER, Fault::ControllerDead)]);
    assert_eq!(dead.summary.fuel_kwh, 0.0);
    let cut = faulty(&plant, &[(3600.0, 7200.0, Fault::ControllerDead)]);
    let hours = cut.summary.boilers[0].hours_h;
    assert!((2.5..3.1).contains(&hours), "with its power back it goes on: {hours} h");
    let hung = faulty(&plant, &[(0.0, EVER, Fault::ControllerHangs)]);
    assert!(hung.events.is_empty() && hung.summary.fuel_kwh > 0.0);
    let error = try_faulty(&plant, &[(60.0, EVER, Fault::ControllerSilent)]).unwrap_err();
    assert_eq!(error, RunError::Link { at_s: 60.0, error: heatwright_sim::LinkError::Silent });
}

/// What the wires make of one fault while the damper stands open or shut: closed contacts by id, and the proving pairs.
fn seen_and_proved(plant: &Plant, fault: Option<Fault>, open: bool) -> (u64, u64) {
    let script = Script::new(fault.map(|fault| Timed { from_s: 0.0, to_s: EVER, fault }), 0.0);
    let mut wires = FaultyWires::new(Ideal::new(plant), plant, script);
    let safeties = if open { u64::MAX } else { !SafetyId(0).bit() };
    let field = Field { damper_open: open, safeties, flow: 0b11, ..Field::default() };
    let off = heatwright_core::Outputs::default();
    (wires.seen(&off, &field).contacts, wires.powered(&off, &field).proving)
}

#[test]
fn a_fault_of_the_damper_switch_moves_every_contact_that_it_has() {
    let mut plant = large();
    plant.points.contacts.push(ContactUse::Safety(SafetyId(0), Tap::Aux)).unwrap();
    // Both names of the one device.
    for stuck in [Stuck::Open, Stuck::Closed] {
        let made = stuck == Stuck::Closed;
        let like = seen_and_proved(&plant, None, made);
        for fault in [Fault::DamperSwitch(stuck), Fault::Safety(SafetyId(0), stuck)] {
            for open in [false, true] {
                assert_eq!(seen_and_proved(&plant, Some(fault), open), like, "{fault:?} with the damper open: {open}");
            }
        }
    }
    assert_ne!(seen_and_proved(&plant, None, true), seen_and_proved(&plant, None, false));
    // The same for a boiler that has two flow switches' contacts: one device by the flow that it watches.
    let twice = plant.safeties[1];
    plant.safeties.push(twice);
    let fault = Fault::Safety(SafetyId(1), Stuck::Open);
    let script = Script::new([Timed { from_s: 0.0, to_s: EVER, fault }], 0.0);
    let mut wires = FaultyWires::new(Ideal::new(&plant), &plant, script);
    let field = Field { damper_open: true, flow: 0b11, ..Field::default() };
    assert_eq!(wires.powered(&heatwright_core::Outputs::default(), &field).proving, 0b10);
}

#[test]
fn a_flow_switch_has_no_hand_reset() {
    let mut plant = small();
    plant.safeties[1].reset = heatwright_core::config::Reset::Manual;
    let flow = (3600.0, 3700.0, Fault::Safety(SafetyId(1), Stuck::Open));
    assert!(faulty(&plant, &[flow]).summary.boilers[0].hours_h > 1.5);
}

#[test]
fn an_alarm_that_stands_is_told_with_its_hours_and_the_boiler_that_failed() {
    let mut plant = small();
    plant.points.relays.push(heatwright_core::RelayUse::Alarm).unwrap();
    let b = BoilerId(0);
    let day = Options { duration_s: 6.0 * 3600.0, ..HOURS };
    let told = |faults: Vec<Timed>| {
        let script = Script::new(faults, day.warm_up_s);
        let mut control = FaultyControl::new(InProcess::new(config(&plant)), script.clone());
        let mut wires = FaultyWires::new(Ideal::new(&plant), &plant, script.clone());
        let mut watch = Acting { script: &script, inner: &mut () };
        let outdoor = Steady { outdoor_c: -10.0 };
        run(&plant, &mut control, &mut wires, &outdoor, &day, &mut watch).unwrap().summary.alarm
    };
    let none = told(Vec::new());
    assert_eq!((none.hours_h, none.causes.len(), none.out_of_order.len()), (0.0, 0, 0), "{none:?}");
    // No gas after an hour: the flame fails, once more after `retry_after`, and the boiler is locked out for good.
    let gas = told(vec![Timed { from_s: 3600.0, to_s: EVER, fault: Fault::NoGas(b) }]);
    let out = gas.out_of_order.last().unwrap();
    assert_eq!(out.boiler, Some(b));
    assert!(out.at_end && out.first_s > 3600.0 && gas.at_end, "{gas:?}");
    let cause = gas.causes.last().unwrap();
    assert_eq!((cause.boiler, cause.why, cause.at_end), (Some(b), out.why, true));
    assert!((gas.hours_h - (6.0 - gas.causes[0].first_s / 3600.0)).abs() < 0.01, "{gas:?}");
}
