//! Jobs that differ from the fixtures in one respect each: every one must compile, rebuild and be proved.

mod proved_kit;

use heatwright_core::{
    BoilerId, ContactId, ContactUse, PumpId, RelayUse, SafetyId, Tap, ZoneId,
    config::{BoilerPump, Reset, SafetyCircuit, SafetyConfig, SafetyKind, SafetyScope, ZoneDrive},
};
use heatwright_wiring::{
    device::PlaceId,
    fixtures::{library, sized, workshop},
    job::{
        AutomationContact, CondensatePump, Edition, EndSwitch, Job, PumpCircuits, PumpMotor, Safety, SafetySupply,
        Selector, ServiceVolts, Shown, Supply, ThermostatKind, ZoneValve,
    },
    net::{ActuatorSet, Changes, Network, Seen, Solver, What},
    part::{Actuator, LoadUse, Rest},
    plan::{MotorSwitch, Plan},
    proof::{Expectation, Limits, MutantKind, mutate, prove},
};
use proved_kit::{compiled, proved};

fn switch_of(p: &Plan, device: &str) -> MotorSwitch {
    p.motors.iter().find(|m| m.device == device).map(|m| m.switch).unwrap()
}

#[test]
fn a_two_phase_pump_gets_a_two_pole_contactor() {
    for (volts, service) in [(208.0, ServiceVolts::Wye208), (240.0, ServiceVolts::Single120240)] {
        let mut job = workshop();
        job.service.volts = service;
        job.pumps[2].supply = Supply { volts, phases: 1 };
        job.pumps[2].motor = PumpMotor::Induction { hp: 0.5 };
        let p = proved(&job);
        assert_eq!(switch_of(&p, "M3"), MotorSwitch::Contactor);
        let poles = p.rows.iter().filter(|r| r.to.device == "M3" && r.to.terminal.starts_with('L')).count();
        assert_eq!(poles, 2);
        // Its two lines may be exchanged anywhere: it runs the same.
        let net = Network::rebuild(&p.devices, &p.rows).unwrap();
        let score = mutate(&net, MutantKind::Swapped, Limits::default());
        assert_eq!(score.survivors, [], "{volts} V");
    }
}

#[test]
fn an_end_switch_joined_to_its_valve_goes_through_a_relay() {
    let mut job = library();
    job.zones[6].valve.as_mut().unwrap().end_switch = EndSwitch::Joined;
    let p = proved(&job);
    assert!(p.devices.iter().any(|d| d.tag == "KE7"));
}

#[test]
fn contacts_that_bring_the_boilers_voltage_go_through_relays() {
    let mut job = library();
    for b in &mut job.boilers {
        for c in [&mut b.marks.flame, &mut b.marks.fault, &mut b.marks.pump] {
            c.as_mut().unwrap().dry = false;
        }
    }
    let p = proved(&job);
    for tag in ["KF1", "KB1", "KP2", "KP3"] {
        assert!(p.devices.iter().any(|d| d.tag == tag), "{tag}");
    }
}

#[test]
fn every_pump_may_be_switched_by_boiler_or_by_either() {
    let mut job = library();
    job.boilers[0].pump = BoilerPump::Either(PumpId(0));
    proved(&job);
    job.boilers[1].pump = BoilerPump::None;
    let relays = &mut job.points.relays;
    relays.push(RelayUse::Pump(PumpId(1))).unwrap();
    job.boilers[1].pump = BoilerPump::Controller(PumpId(1));
    proved(&job);
}

#[test]
fn a_chain_tap_of_a_boilers_own_limit_moves_its_chain_into_our_circuit() {
    let mut job = workshop();
    let at = job.points.contacts.iter().position(|c| *c == ContactUse::Safety(SafetyId(1), Tap::Aux)).unwrap();
    job.points.contacts[at] = ContactUse::Safety(SafetyId(1), Tap::Chain);
    let p = proved(&job);
    for tag in ["KL1.1", "KL1.2", "KC2"] {
        assert!(p.devices.iter().any(|d| d.tag == tag), "{tag}");
    }
}

/// A floor limit of a zone.
fn limit(zone: u8, aux: bool) -> Safety {
    Safety {
        config: SafetyConfig {
            kind: SafetyKind::FloorLimit,
            scope: SafetyScope::Zone(ZoneId(zone)),
            circuit: SafetyCircuit::ZoneLimit,
            reset: Reset::Manual,
        },
        place: PlaceId(0),
        run_ft: 12.0,
        rest: Rest::Closed,
        aux,
        supply: None,
    }
}

#[test]
fn a_floor_limit_opens_the_line_the_coil_or_the_valve() {
    // Zone 2's pump is carried by the controller's relay: the limit stands in its line.
    let mut job = workshop();
    job.safeties.push(limit(1, true));
    let p = proved(&job);
    assert_eq!(switch_of(&p, "M3"), MotorSwitch::ControllerRelay);
    // Zone 1's pump has a contactor with a hand switch: HAND does not bypass the limit.
    let mut job = workshop();
    job.safeties.push(limit(0, true));
    let p = proved(&job);
    assert_eq!(switch_of(&p, "M2"), MotorSwitch::Contactor);
    // Seen without an auxiliary contact: the limit ends in two relays, which carry no motor.
    let mut job = workshop();
    job.safeties.push(limit(1, false));
    job.points.contacts.push(ContactUse::Safety(SafetyId(4), Tap::Chain)).unwrap();
    let p = proved(&job);
    assert_eq!(switch_of(&p, "M3"), MotorSwitch::Contactor);
    // A zone valve: the limit stands in its 24 V.
    let mut job = library();
    job.safeties.push(limit(6, true));
    proved(&job);
}

/// What runs, by the solved wires of the plan, while all relays are on and this safety has tripped or not: the pumps and zone
/// valves that are live.
fn live(p: &Plan, relays: u64, tripped: Option<SafetyId>) -> (Vec<PumpId>, Vec<ZoneId>) {
    let net = Network::rebuild(&p.devices, &p.rows).unwrap();
    let mut solver = Solver::new(&net, &Changes::default());
    let mut set = ActuatorSet::default();
    set.set_relays(relays);
    for i in 0..16 {
        set.set(Actuator::Auto(PumpId(i)), true);
    }
    if let Some(s) = tripped {
        set.set(Actuator::Trip(s), true);
    }
    let whats: Vec<What> = solver.watches().iter().map(|w| w.what).collect();
    let seen = &solver.solve(&set).seen;
    let on = whats.iter().zip(seen.iter()).filter(|(_, s)| **s == Seen::Live).map(|(w, _)| *w);
    let mut out = (Vec::new(), Vec::new());
    for what in on {
        match what {
            What::Load(LoadUse::Pump(q) | LoadUse::PumpStart(q)) => out.0.push(q),
            What::Load(LoadUse::Valve(z)) => out.1.push(z),
            _ => {}
        }
    }
    out
}

/// Each row of what a zone limit opens, on solved wires: what stops when the limit of a zone trips, by the drive of that zone.
#[test]
fn a_zone_limit_takes_its_pump_from_all_who_share_it_and_a_valve_from_nobody_else() {
    let behind = |i| ZoneDrive::Valve { pump: Some(PumpId(i)) };
    let (pump, valve) = (|i| (vec![PumpId(i)], vec![]), |z| (vec![], vec![ZoneId(z)]));
    type Case = (&'static str, u8, fn(&mut Job), (Vec<PumpId>, Vec<ZoneId>));
    // In the library zone 6 is a valve behind pump 9, which zone 7 shares as its own.
    let cases: [Case; 5] = [
        ("a pump of its own", 0, |_| {}, pump(3)),
        ("two zones on one pump", 5, |j| j.zones[2].drive = ZoneDrive::Pump(PumpId(8)), pump(8)),
        ("a pump that a valve zone shares", 7, |_| {}, pump(9)),
        ("a valve that shares a pump", 6, |_| {}, valve(6)),
        ("a valve alone behind a pump", 6, |j| j.zones[7].drive = ZoneDrive::Pump(PumpId(8)), valve(6)),
    ];
    assert_eq!(library().zones[6].drive, behind(9));
    for (name, zone, change, stops) in cases {
        let mut job = library();
        change(&mut job);
        job.safeties.push(limit(zone, true));
        let s = SafetyId(job.safeties.len() as u8 - 1);
        let p = proved(&job);
        let (before, after) = (live(&p, u64::MAX, None), live(&p, u64::MAX, Some(s)));
        let gone = (
            before.0.into_iter().filter(|q| !after.0.contains(q)).collect::<Vec<_>>(),
            before.1.into_iter().filter(|z| !after.1.contains(z)).collect::<Vec<_>>(),
        );
        assert_eq!(gone, stops, "{name}");
    }
}

#[test]
fn supplies_of_safeties_at_24_v_and_a_flow_switch_without_auxiliary_contact() {
    let mut job = workshop();
    job.safeties[1].supply = Some(SafetySupply { volts: 24.0, va: 4.0 });
    job.safeties[1].rest = Rest::Open;
    job.safeties[3].aux = false;
    let p = proved(&job);
    assert!(p.devices.iter().any(|d| d.tag == "KW1.2"));
    assert!(p.devices.iter().any(|d| d.tag == "T2"));
}

#[test]
fn a_plant_without_common_safeties_and_a_pump_in_sight_of_its_breaker() {
    let mut job = workshop();
    job.safeties.remove(0);
    for c in &mut job.points.contacts {
        if let ContactUse::Safety(SafetyId(n), _) = c {
            *c = if *n == 0 { ContactUse::Spare } else { ContactUse::Safety(SafetyId(*n - 1), Tap::Aux) };
        }
    }
    job.pumps[0].in_sight_of_panel = true;
    let p = proved(&job);
    assert!(!p.devices.iter().any(|d| d.tag == "KS1" || d.tag == "QB1"));
}

#[test]
fn a_pump_in_sight_of_the_relay_panel_shares_the_disconnect_there() {
    let mut job = library();
    assert!(!job.service.in_sight_of_relay_panel);
    for i in [4, 7, 9] {
        job.pumps[i].in_sight_of_panel = true;
    }
    let p = proved(&job);
    let motor = |tag: &str| p.motors.iter().find(|m| m.device == tag).unwrap();
    let there = |tag: &str| p.devices.iter().any(|d| d.tag == tag);
    // Contactor and relay contact: one switch ahead of them serves the motor too. A start input has nothing in the panel
    // that it could stand ahead of, so that pump keeps its own.
    for (motor_tag, line, own) in [("M5", "QL5", "QB5"), ("M8", "QL8", "QB8")] {
        assert_eq!(
            (motor(motor_tag).disconnect.as_str(), motor(motor_tag).controller_disconnect.as_str()),
            (line, line)
        );
        assert!(there(line) && !there(own), "{motor_tag}");
    }
    assert_eq!((motor("M10").disconnect.as_str(), motor("M10").controller_disconnect.as_str()), ("QB10", ""));
    assert!(!there("QL10"));
    // Far away: both.
    assert_eq!((motor("M4").disconnect.as_str(), motor("M4").controller_disconnect.as_str()), ("QB4", "QL4"));
    // In sight of the panelboard the breakers serve.
    job.service.in_sight_of_relay_panel = true;
    let p = proved(&job);
    assert!(!p.devices.iter().any(|d| d.tag.starts_with("QL")));
    let disconnect = |p: &Plan| p.motors.iter().find(|m| m.device == "M5").unwrap().disconnect.clone();
    assert_eq!(disconnect(&p), "QB5", "its breaker feeds other pumps too");
    job.settings.pump_circuits = PumpCircuits::OneEach;
    assert_eq!(disconnect(&proved(&job)), "A2");
}

#[test]
fn powered_thermostats_past_one_transformer_are_split() {
    let mut job = library();
    for z in &mut job.zones {
        z.thermostat.kind = ThermostatKind::Powered;
        z.thermostat.va = 12.0;
    }
    let p = proved(&job);
    assert!(p.transformers.len() >= 4);
    for t in &p.transformers {
        assert!(t.va <= 100.0 && t.sealed_va <= 0.8 * t.va + 1e-9, "{t:?}");
    }
}

#[test]
fn a_valve_zone_may_stand_without_a_pump() {
    let mut job = workshop();
    job.zones[1].drive = ZoneDrive::Valve { pump: None };
    job.zones[1].valve = Some(ZoneValve {
        place: PlaceId(0),
        run_ft: 20.0,
        volts: 24.0,
        va: 7.0,
        inrush_va: 20.0,
        end_switch: EndSwitch::None,
    });
    job.points.relays.push(RelayUse::Valve(ZoneId(1))).unwrap();
    proved(&job);
}

#[test]
fn start_input_with_and_without_a_hand_switch() {
    for selector in [Selector::None, Selector::HandOffAuto] {
        let mut job = workshop();
        job.pumps[2].motor = PumpMotor::ElectronicallyCommutated { start_input: true };
        job.pumps[2].selector = selector;
        let p = proved(&job);
        assert_eq!(switch_of(&p, "M3"), MotorSwitch::StartInput);
    }
    let mut job = workshop();
    job.pumps[2].motor = PumpMotor::ElectronicallyCommutated { start_input: false };
    let p = proved(&job);
    assert_eq!(switch_of(&p, "M3"), MotorSwitch::Contactor, "inrush wants a rated contact");
}

#[test]
fn four_boilers_and_the_older_edition() {
    let mut job = workshop();
    job.settings.edition = Edition::Nec2020;
    job.boilers.push(job.boilers[0].clone());
    job.boilers[1].pump = BoilerPump::None;
    job.points.relays.push(RelayUse::Demand(BoilerId(1))).unwrap();
    job.points.analogs.push(heatwright_core::AnalogUse::Target(BoilerId(1))).unwrap();
    job.points.contacts.push(ContactUse::Flame(BoilerId(1))).unwrap();
    let p = proved(&job);
    let breaker = p.breakers.iter().find(|b| b.circuit == p.motors[0].circuit).unwrap();
    assert_eq!(breaker.amps, 15, "no 10 A breaker before 2023");
    assert_eq!(job.points.contacts.get(usize::from(ContactId(0).0)), Some(&ContactUse::Call(ZoneId(0))));
}

/// The library with three contacts for building automation, two on one relay and one at 120 V.
fn with_automation() -> Job {
    let mut job = library();
    let contact = |name: &str, shows, volts| AutomationContact {
        name: name.into(),
        shows,
        place: PlaceId(1),
        run_ft: 50.0,
        volts,
    };
    job.automation = vec![
        contact("heating alarm", Shown::Alarm, 24.0),
        contact("heating alarm, pager", Shown::Alarm, 120.0),
        contact("controller", Shown::Health, 24.0),
    ];
    job
}

#[test]
fn automation_gets_isolated_contacts_with_and_without_a_beacon() {
    let job = with_automation();
    let p = proved(&job);
    assert_eq!(p.devices.iter().filter(|d| d.tag.starts_with("KG")).count(), 2, "one relay a state that is shown");
    let mut bare = with_automation();
    bare.beacon = None;
    proved(&bare);
}

#[test]
fn automation_wires_on_each_others_terminals_are_found() {
    let job = with_automation();
    let mut p = compiled(&job);
    // The alarm's and the controller's wires change places at the relays.
    for r in &mut p.rows {
        for end in [&mut r.from, &mut r.to] {
            if end.terminal == "11" && end.device.starts_with("KG") {
                end.device = if end.device == "KG1" { "KG2".into() } else { "KG1".into() };
            }
        }
    }
    let net = Network::rebuild(&p.devices, &p.rows).unwrap();
    assert!(!prove(&net, &Expectation::new(&job), Limits::default()).faults.is_empty());
}

#[test]
fn a_locked_out_panel_still_has_the_other_systems_voltage() {
    let job = with_automation();
    let p = compiled(&job);
    let sheets = heatwright_wiring::pass::lockout::lockout(&job, &p).sheets;
    let panel = sheets.iter().find(|s| s.item == heatwright_wiring::pass::lockout::Item::RelayPanel).unwrap();
    let foreign: Vec<&str> = panel.sources.iter().filter(|s| s.foreign).map(|s| s.what.as_str()).collect();
    for tag in ["XA1", "XA2", "XA3"] {
        assert!(foreign.iter().any(|f| f.contains(tag)), "{tag} is missing: {foreign:?}");
    }
}

#[test]
fn every_condensate_pump_has_a_circuit_of_its_own() {
    let mut job = library();
    let first = job.condensate_pumps[0];
    job.condensate_pumps = (0..3).map(|b| CondensatePump { boiler: Some(BoilerId(b)), ..first }).collect();
    let p = proved(&job);
    let circuits: std::collections::BTreeSet<_> =
        p.motors.iter().filter(|m| m.device.starts_with("ME")).map(|m| m.circuit.clone()).collect();
    assert_eq!(circuits.len(), 3, "{circuits:?}");
    assert!(circuits.iter().all(|c| !c.is_empty()));
}

/// From two zones to all that one controller holds.
#[test]
fn a_plant_of_any_number_of_zones_is_proved() {
    for zones in [2, 4, 8, 16] {
        let job = sized(zones);
        assert_eq!(job.zones.len(), usize::from(zones));
        let p = proved(&job);
        assert!(p.rows.len() > 60 + 9 * usize::from(zones), "{zones}: {}", p.rows.len());
    }
}
