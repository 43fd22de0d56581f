//! Plants whose calls act by themselves: control by zone relays alone, and the hand-over of a dead controller. Each is compiled,
//! read back from rows and devices, proved, and every fault planted in it must be seen or be harmless.

mod proved_kit;

use heatwright_core::{
    BoilerId, PumpId, RelayUse, SafetyId, ZoneId,
    config::{PumpRole, ZoneDrive},
};
use heatwright_wiring::{
    device::PlaceId,
    fixtures::{library, on_zone_relays, workshop},
    job::{Damper, EndSwitch, Job, PumpMotor, Selector, Tank, ThermostatKind, ZoneValve},
    net::{ActuatorSet, Changes, Seen, Solver, What},
    part::{Actuator, LoadUse},
    plan::{MotorSwitch, Plan, plan},
    proof::{Expectation, Limits, prove, single_relays},
};
use proved_kit::{compiled, every_planted_fault_is_seen, rebuilt};

const B: BoilerId = BoilerId(0);

/// The workshop without its controller: two zones on a pump each, one boiler on its own reset.
fn two_zones() -> Job {
    on_zone_relays(workshop())
}

fn valve(end_switch: EndSwitch) -> ZoneValve {
    ZoneValve { place: PlaceId(0), run_ft: 20.0, volts: 24.0, va: 6.0, inrush_va: 9.0, end_switch }
}

/// The same with a tank on a pump of its own.
fn with_tank(mut job: Job) -> Job {
    let pump = PumpId(job.pumps.len() as u8);
    let mut own = job.pumps[2].clone();
    own.role = PumpRole::Tank;
    job.pumps.push(own);
    job.tank = Some(Tank { place: PlaceId(0), run_ft: 15.0, pump });
    job
}

/// Proved, and no relay alone keeps a burner on.
fn proved(job: &Job) -> Plan {
    let p = proved_kit::proved(job);
    let alone = single_relays(&rebuilt(&p), &Expectation::new(job), job.boilers.len() as u8, Limits::default()).0;
    assert_eq!(alone, []);
    p
}

/// Loads that are live in one position.
fn live(p: &Plan, on: &[Actuator]) -> Vec<LoadUse> {
    let set = on.iter().fold(ActuatorSet::default(), |s, a| s.with(*a, true));
    let mut solver = Solver::new(&rebuilt(p), &Changes::default());
    let watches = solver.watches().to_vec();
    let seen = solver.solve(&set).seen.clone();
    let mut out: Vec<LoadUse> = watches
        .iter()
        .zip(seen)
        .filter_map(|(w, s)| match (w.what, s) {
            (What::Load(l), Seen::Live) => Some(l),
            _ => None,
        })
        .filter(|l| {
            matches!(
                l,
                LoadUse::Pump(_) | LoadUse::PumpStart(_) | LoadUse::Valve(_) | LoadUse::Demand(_) | LoadUse::Damper
            )
        })
        .collect();
    out.sort_unstable();
    out
}

#[test]
fn two_zones_on_relays_are_proved() {
    let job = two_zones();
    let p = proved(&job);
    assert!(p.devices.iter().all(|d| d.tag != "A1"), "no controller");
    // The floor pump has a hand switch, the office pump none: its relay carries it.
    let switch = |tag: &str| p.motors.iter().find(|m| m.device == tag).map(|m| m.switch).unwrap();
    assert_eq!(switch("M2"), MotorSwitch::Contactor);
    assert_eq!(switch("M3"), MotorSwitch::CallRelay);
    let (floor, office) = (Actuator::Call(ZoneId(0)), Actuator::Call(ZoneId(1)));
    let auto = Actuator::Auto(PumpId(1));
    let pump = |p| LoadUse::Pump(PumpId(p));
    assert_eq!(live(&p, &[auto]), []);
    assert_eq!(live(&p, &[auto, floor]), [pump(0), pump(1), LoadUse::Demand(B)]);
    assert_eq!(live(&p, &[office]), [pump(0), pump(2), LoadUse::Demand(B)]);
    assert_eq!(live(&p, &[Actuator::Hand(PumpId(1))]), [pump(1)], "HAND asks no boiler");
    every_planted_fault_is_seen(&p);
}

#[test]
fn powered_thermostats_a_damper_and_an_electronic_pump_on_relays_are_proved() {
    for volts in [24.0, 120.0] {
        let mut job = two_zones();
        job.zones[0].thermostat.kind = ThermostatKind::Powered;
        job.zones[0].thermostat.va = 3.0;
        job.pumps[2].motor = PumpMotor::ElectronicallyCommutated { start_input: true };
        job.pumps[1].selector = Selector::None;
        job.damper = Some(Damper { place: PlaceId(0), run_ft: 30.0, volts, va: 8.0 });
        let p = proved(&job);
        assert!(live(&p, &[Actuator::Call(ZoneId(1))]).contains(&LoadUse::Damper), "{volts}");
        every_planted_fault_is_seen(&p);
    }
}

#[test]
fn zones_wait_for_the_tank_over_contacts_of_its_relays() {
    let mut job = with_tank(two_zones());
    job.pumps[1].selector = Selector::None;
    let (floor, office) = (Actuator::Call(ZoneId(0)), Actuator::Call(ZoneId(1)));
    let pump = |p| LoadUse::Pump(PumpId(p));
    let p = proved(&job);
    assert_eq!(
        live(&p, &[floor, Actuator::TankCall]),
        [pump(0), pump(1), pump(3), LoadUse::Demand(B)],
        "without priority both run"
    );
    job.wait_for_tank = vec![ZoneId(0), ZoneId(1)];
    let p = proved(&job);
    assert_eq!(live(&p, &[floor, office, Actuator::TankCall]), [pump(0), pump(3), LoadUse::Demand(B)]);
    assert_eq!(live(&p, &[floor, office]), [pump(0), pump(1), pump(2), LoadUse::Demand(B)]);
    every_planted_fault_is_seen(&p);
    job.wait_for_tank = vec![ZoneId(1)];
    let p = proved(&job);
    assert_eq!(live(&p, &[floor, office, Actuator::TankCall]), [pump(0), pump(1), pump(3), LoadUse::Demand(B)]);
}

#[test]
fn a_valve_with_an_end_switch_starts_its_pump_and_the_boiler_by_that_switch() {
    let pump = |p| LoadUse::Pump(PumpId(p));
    for end in [EndSwitch::Isolated, EndSwitch::Joined, EndSwitch::None] {
        let mut job = with_tank(two_zones());
        // Both zones on valves and one pump.
        for z in &mut job.zones {
            z.drive = ZoneDrive::Valve { pump: Some(PumpId(1)) };
            z.valve = Some(valve(end));
        }
        job.pumps[1].selector = Selector::None;
        job.pumps[2].role = PumpRole::Tank;
        job.pumps.truncate(3);
        job.tank = Some(Tank { place: PlaceId(0), run_ft: 15.0, pump: PumpId(2) });
        job.wait_for_tank = vec![ZoneId(0)];
        let p = proved(&job);
        let call = Actuator::Call(ZoneId(0));
        let open = Actuator::ValveOpen(ZoneId(0));
        let valve = LoadUse::Valve(ZoneId(0));
        let called =
            if end == EndSwitch::None { vec![pump(0), pump(1), valve, LoadUse::Demand(B)] } else { vec![valve] };
        assert_eq!(live(&p, &[call]), called, "{end:?}");
        assert_eq!(live(&p, &[call, open]), [pump(0), pump(1), valve, LoadUse::Demand(B)], "{end:?}");
        // The tank shuts the valve; then its end switch lets go.
        assert_eq!(live(&p, &[call, Actuator::TankCall]), [pump(0), pump(2), LoadUse::Demand(B)], "{end:?}");
        every_planted_fault_is_seen(&p);
    }
}

/// Limits, low water, door switch and flow proof act on the boiler as ever: they stand in other pairs than demand.
#[test]
fn safeties_hold_without_a_controller() {
    let p = proved(&two_zones());
    let shown = |on: &[Actuator], what: LoadUse| {
        let set = on.iter().fold(ActuatorSet::default(), |s, a| s.with(*a, true));
        let mut solver = Solver::new(&rebuilt(&p), &Changes::default());
        let at = solver.watches().iter().position(|w| w.what == What::Load(what)).unwrap();
        solver.solve(&set).seen[at]
    };
    let call = Actuator::Call(ZoneId(1));
    assert_eq!(shown(&[call], LoadUse::Limit(B)), Seen::Live);
    for s in 0..3 {
        assert_eq!(shown(&[call, Actuator::Trip(SafetyId(s))], LoadUse::Limit(B)), Seen::Dead, "safety {s}");
        assert_eq!(
            shown(&[call, Actuator::Trip(SafetyId(s))], LoadUse::Demand(B)),
            Seen::Live,
            "demand is no shutdown"
        );
    }
    assert_eq!(shown(&[call], LoadUse::Proving(B)), Seen::Dead, "no flow yet");
    assert_eq!(shown(&[call, Actuator::Flow(B)], LoadUse::Proving(B)), Seen::Live);
}

/// The coils of two zones' relays exchanged, and a zone's contact left out of "any call": both are told.
#[test]
fn a_slip_in_the_call_relays_is_found() {
    let job = two_zones();
    let good = compiled(&job);
    let faults = |bad: &Plan| prove(&rebuilt(bad), &Expectation::new(&job), Limits::default()).faults;
    assert_eq!(faults(&good), []);
    let mut exchanged = good.clone();
    for end in exchanged.rows.iter_mut().flat_map(|r| [&mut r.from, &mut r.to]).filter(|e| e.terminal == "A1") {
        match end.device.as_str() {
            "KU1" => end.device = "KU2".into(),
            "KU2" => end.device = "KU1".into(),
            _ => {}
        }
    }
    assert!(!faults(&exchanged).is_empty());
    let mut left_out = good.clone();
    left_out.rows.retain(|r| ![&r.from, &r.to].iter().any(|e| e.device == "KU2" && e.terminal == "14"));
    assert_eq!(left_out.rows.len() + 1, good.rows.len());
    assert!(!faults(&left_out).is_empty());
}

#[test]
fn what_zone_relays_cannot_do_is_refused_in_words() {
    let told = |change: &dyn Fn(&mut Job)| {
        let mut job = two_zones();
        change(&mut job);
        plan(&job).unwrap_err().iter().map(|f| f.problem.to_string()).collect::<Vec<_>>().join("; ")
    };
    assert!(told(&|j| j.points = workshop().points).contains("no point of a controller"));
    assert!(told(&|j| j.beacon = workshop().beacon).contains("no alarm relay"));
    assert!(told(&|j| j.wait_for_tank = vec![ZoneId(0)]).contains("wait for the tank"));
}

/// What runs with the controller dead, and that nothing of it runs beside a healthy one.
#[test]
fn a_dead_controller_hands_over_to_the_thermostats() {
    let mut job = workshop();
    job.panel.hand_over = true;
    let p = proved(&job);
    let health = Actuator::Relay(job.points.relay(RelayUse::Health).unwrap());
    let (floor, office) = (Actuator::Call(ZoneId(0)), Actuator::Call(ZoneId(1)));
    let auto = Actuator::Auto(PumpId(1));
    let pump = |p| LoadUse::Pump(PumpId(p));
    assert_eq!(live(&p, &[auto, floor, office, health]), [], "a healthy controller decides alone");
    assert_eq!(live(&p, &[auto]), []);
    assert_eq!(live(&p, &[auto, floor]), [pump(0), pump(1), LoadUse::Demand(B)]);
    assert_eq!(live(&p, &[auto, office]), [pump(0), pump(2), LoadUse::Demand(B)]);
    assert_eq!(live(&p, &[floor]), [pump(0), LoadUse::Demand(B)], "OFF stays OFF");
    every_planted_fault_is_seen(&p);
}

#[test]
fn the_library_hands_over_too() {
    let mut job = library();
    job.panel.hand_over = true;
    let p = proved(&job);
    for tag in ["KH1", "KHV1", "KX1", "KUW", "KT7"] {
        assert!(p.devices.iter().any(|d| d.tag == tag), "{tag}");
    }
    every_planted_fault_is_seen(&p);
}

/// The beacon's breaker opened, to silence it, must hand nothing over: the coils of the hand-over relays hang on the control circuit,
/// and the beacon's circuit has nothing on it but alarm relay, hand-over contact and beacon.
#[test]
fn the_beacons_breaker_hands_nothing_over() {
    let mut job = library();
    job.panel.hand_over = true;
    let p = proved(&job);
    let label = |name: &str| p.circuits.iter().find(|c| c.name == name).unwrap().label.as_str();
    let mut coils = 0;
    for r in p.rows.iter().filter(|r| r.wire != "PE") {
        let coil = [&r.from, &r.to].into_iter().any(|l| l.device.starts_with("KH") && l.terminal.starts_with('A'));
        if coil {
            coils += 1;
            assert!(label(&r.circuit).starts_with("relay panel"), "{r:?}");
        }
        let lit =
            [&r.from, &r.to].into_iter().find(|l| label(&r.circuit) == "alarm beacon" && l.device.starts_with('K'));
        assert!(lit.is_none_or(|l| l.device.starts_with("KH") || l.device.starts_with("KG1")), "{r:?}");
    }
    assert!(coils >= 4, "{coils}");
    assert!(
        p.rows.iter().any(|r| label(&r.circuit) == "alarm beacon"
            && (r.from.device.starts_with("KH") || r.to.device.starts_with("KH")))
    );
}
