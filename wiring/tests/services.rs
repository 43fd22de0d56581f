//! The three services: 120/240 V, 208Y/120 V, and 480Y/277 V with its separately derived 120/240 V. Every plan is rebuilt from its
//! rows and proved; grounding, protection and colours of the second system are checked against the rules' own figures.

#![allow(clippy::print_stdout, reason = "figures for whoever runs it with --nocapture")]

use heatwright_core::{PumpId, ZoneId};
use heatwright_wiring::{
    fixtures::{library, mill, workshop},
    job::{Job, PumpMotor, ServiceVolts, Supply},
    net::Network,
    part::LoadUse,
    pass::{
        check::Problem,
        lockout::{Item, Origin, lockout},
    },
    plan::{Duty, Feed, MotorSwitch, Plan, plan},
    proof::{Expectation, Limits, limit_pairs, observe, prove},
    row::{Class, Colour, Row},
    rules,
};

fn compiled(job: &Job) -> Plan {
    match plan(job) {
        Ok(p) => p,
        Err(faults) => panic!("{faults:?}"),
    }
}

/// What the proof says of a plan's rows.
fn faults(job: &Job, p: &Plan) -> Vec<String> {
    let net = Network::rebuild(&p.devices, &p.rows).unwrap_or_else(|e| panic!("{e:?}"));
    let expectation = Expectation::new(job);
    let proof = prove(&net, &expectation, Limits::default());
    let all = observe::actuators(&net);
    let (burns, _) = limit_pairs(&net, &expectation, job.boilers.len() as u8, Limits::default());
    assert_eq!(burns, [], "a burner has power with its limit pair open");
    proof.faults.iter().map(|f| observe::fault(&net, f, &all)).collect()
}

fn proved(job: &Job) -> Plan {
    let p = compiled(job);
    let told = faults(job, &p);
    assert!(told.is_empty(), "{} faults:\n{}", told.len(), told.join("\n"));
    let found = rules::check(job, &p).findings;
    assert!(found.is_empty(), "{:#?}", found.iter().map(|f| (f.code, &f.sentence)).collect::<Vec<_>>());
    p
}

#[test]
fn the_mill_is_proved_and_clean() {
    let p = proved(&mill());
    println!("{} rows, {} devices", p.rows.len(), p.devices.len());
}

#[test]
fn small_variants_of_all_services_are_proved() {
    for volts in [ServiceVolts::Single120240, ServiceVolts::Wye208] {
        let mut job = workshop();
        job.service.volts = volts;
        proved(&job);
    }
    let mut job = workshop();
    job.service.volts = ServiceVolts::Wye480;
    job.service.step_down = mill().service.step_down;
    let p = proved(&job);
    assert!(p.circuits.iter().filter(|c| c.duty == Duty::Motor).all(|c| c.name.starts_with("A3-")));
    // A boiler on two phases of the service, with its own 120 V behind its transformer.
    job.boilers[0].supply = Supply { volts: 480.0, phases: 1 };
    job.boilers[0].marks.line = vec!["L1".into(), "L2".into()];
    job.boilers[0].control_volts = 120.0;
    job.boilers[0].control_grounded = true;
    let p = proved(&job);
    let line = p.circuits.iter().find(|c| c.duty == Duty::BoilerLine).unwrap();
    assert!(line.name.starts_with("A2-") && line.volts == 480.0 && line.volts_to_ground == 277.0);
}

#[test]
fn a_480_volt_service_without_a_transformer_is_refused() {
    let mut job = mill();
    job.service.step_down = None;
    let faults = plan(&job).unwrap_err();
    assert!(faults.iter().any(|f| f.problem == Problem::NoControlVolts), "{faults:?}");
    let mut job = library();
    job.service.step_down = mill().service.step_down;
    assert!(plan(&job).is_err(), "208Y/120 V needs none");
    let mut job = mill();
    job.service.step_down.as_mut().unwrap().secondary_ft = 26.0;
    assert!(plan(&job).is_err(), "240.21(C)(6): 25 ft");
}

/// NFPA 70 450.3(B) and 240.21(C) on 10 kVA: I1 = 20.8 A, 200 % for the inrush -> 45 A, 250 % -> 50 A; I2 = 41.7 A, 125 % -> 60 A;
/// conductors for 60 A: 4 AWG of the 60 degree column (70 A). Bonding jumper for 4 AWG: 8 AWG (Table 250.102(C)(1), from
/// memory).
#[test]
fn the_transformer_is_protected_and_grounded_once() {
    let p = compiled(&mill());
    let breaker = |c: &str| p.breakers.iter().find(|b| b.circuit == c).unwrap();
    let primary = p.circuits.iter().find(|c| c.duty == Duty::Transformer).unwrap();
    let (one, two) = (breaker(&primary.name), breaker("TP1"));
    assert_eq!((one.amps, one.max_a, one.poles), (45, 50, 2));
    assert_eq!((two.amps, two.max_a, two.poles), (60, 60, 2));
    assert_eq!(two.awg, "4");
    let bond: Vec<_> = p.rows.iter().filter(|r| r.wire == "SBJ-TP1" || r.wire.starts_with("GEC")).collect();
    assert_eq!(bond.len(), 2);
    assert!(bond.iter().all(|r| r.awg == "8" && r.class == Class::Ground), "{bond:?}");
    let side = p.rows.iter().find(|r| r.wire == "PE" && r.from.device == "TP1" && r.to.device == "A3").unwrap();
    assert_eq!(side.awg, "8", "supply-side bonding jumper");
    // Control transformers of starters: a jumper to the frame as large as their conductors, no electrode conductor (250.30(A)(1)
    // and (5), exceptions, from memory).
    let own: Vec<_> = p.rows.iter().filter(|r| r.wire.starts_with("SBJ-TF")).collect();
    assert_eq!(own.len(), 2);
    assert!(own.iter().all(|r| r.awg == "14" && r.class == Class::Ground), "{own:?}");
}

/// Seen to fail: without the bonding jumper, the electrode conductor or the way of fault current the proof speaks.
#[test]
fn a_lost_bond_is_caught() {
    let job = mill();
    let whole = compiled(&job);
    for wire in ["SBJ-TP1", "GEC-TP1", "SBJ-TF6.1"] {
        let mut p = whole.clone();
        let before = p.rows.len();
        p.rows.retain(|r| r.wire != wire);
        assert_eq!(p.rows.len(), before - 1);
        assert!(!faults(&job, &p).is_empty(), "{wire}");
    }
    let mut p = whole.clone();
    // Green wires to flexible ends join the two systems' boxes besides; no fault current of a transformer is meant for those.
    p.rows.retain(|r| !(r.wire == "PE" && (r.run.ends_with("-C") || r.run.ends_with("-S"))));
    p.rows.retain(|r| !(r.wire == "PE" && r.to.device == "TP1"));
    assert!(!faults(&job, &p).is_empty(), "the electrode is no way for fault current");
}

#[test]
fn each_system_has_its_colours() {
    let p = compiled(&mill());
    for r in p.rows.iter().filter(|r| r.class == Class::Power) {
        let high = p.circuits.iter().find(|c| c.name == r.circuit).unwrap().volts_to_ground > 150.0;
        let of_high = matches!(r.colour, Colour::Brown | Colour::Orange | Colour::Yellow | Colour::Gray);
        assert_eq!(high, of_high, "{} {} {:?}", r.circuit, r.wire, r.colour);
    }
}

#[test]
fn starters_stand_apart_and_three_phase_fans_have_theirs() {
    let job = mill();
    let p = compiled(&job);
    let motor = |tag: &str| p.motors.iter().find(|m| m.device == tag).unwrap();
    // Table 430.250: 2 hp at 460 V 3.4 A; 250 % = 8.5 A -> 10 A (2023); 1/2 hp 1.1 A.
    let m = motor("M1");
    assert_eq!((m.switch, m.sizing_a), (MotorSwitch::Starter, 3.4));
    assert_eq!(m.overload.unwrap().set_a, 3.1);
    assert!((m.overload.unwrap().max_a - 1.25 * 3.1).abs() < 1e-9);
    let fan = motor("MF6.2");
    // Both on one circuit of 15 A: 430.53(A) to 1 hp and 6 A each, 430.24 2 x 1.1 + 0.275 = 2.5 A.
    assert_eq!(fan.circuit, motor("MF6.1").circuit);
    assert_eq!(p.breakers.iter().find(|b| b.circuit == fan.circuit).map(|b| (b.amps, b.max_a)), Some((15, 15)));
    assert_eq!((fan.switch, fan.sizing_a), (MotorSwitch::Starter, 1.1));
    assert_eq!((fan.disconnect.as_str(), fan.controller_disconnect.as_str()), ("QF6.2", "QLF6.2"));
    assert_eq!(fan.what, LoadUse::Fan(ZoneId(5), 1));
    let place = |tag: &str| p.devices.iter().find(|d| d.tag == tag).unwrap().place;
    assert_eq!(place("QA1"), job.starter_panel.as_ref().unwrap().place);
    // A pump on the second panelboard keeps its contactor in the relay panel.
    assert_eq!(place("QA5"), job.panel.place);
    // No 480 V in the relay panel.
    let inside = heatwright_wiring::pass::lockout::in_relay_panel(&p);
    for r in p.rows.iter().filter(|r| r.volts > 250.0) {
        for end in [&r.from, &r.to] {
            let d = p.devices.iter().position(|d| d.tag == end.device).unwrap();
            assert!(!inside.contains(&d), "{} in the relay panel", r.wire);
        }
    }
}

#[test]
fn the_directories_are_two() {
    let p = compiled(&mill());
    let panels: Vec<&str> = p.directory.iter().map(|e| e.panel.as_str()).collect();
    assert!(panels.contains(&"A2") && panels.contains(&"A3"));
    for c in &p.circuits {
        let Feed::Panelboard { panel, spaces } = &c.feed else { continue };
        for s in spaces {
            let here: Vec<_> = p.directory.iter().filter(|e| e.panel == *panel && e.space == *s).collect();
            assert_eq!(here.len(), 1);
            assert_eq!(here[0].circuit, c.name);
        }
        let high = panel == "A2";
        assert_eq!(c.volts_to_ground > 150.0, high, "{}", c.name);
    }
}

/// A sheet's branch circuits are those of the right panelboard, and the transformer's breaker takes all of A3.
#[test]
fn lockout_tells_the_panelboards_apart() {
    let job = mill();
    let p = compiled(&job);
    let l = lockout(&job, &p);
    let pump = l.sheets.iter().find(|s| s.item == Item::Pump && s.devices.contains(&"M1".into())).unwrap();
    let lines: Vec<_> = pump.sources.iter().map(|s| (&s.origin, s.volts)).collect();
    assert!(
        matches!(lines.as_slice(), [(Origin::Branch { panel, .. }, volts)] if panel == "A2" && *volts == 480.0),
        "{lines:?}"
    );
    let panel = l.sheets.iter().find(|s| s.item == Item::RelayPanel).unwrap();
    for s in &panel.sources {
        if let Origin::Branch { panel, .. } = &s.origin {
            assert_eq!(panel, "A3", "{}", s.what);
        }
    }
    let starters = l.sheets.iter().find(|s| s.item == Item::StarterPanel).unwrap();
    let of = |b: &str| {
        starters.sources.iter().filter(|s| matches!(&s.origin, Origin::Branch { panel, .. } if panel == b)).count()
    };
    assert!(of("A2") >= 4 && of("A3") == 1, "480 V motors and one control circuit: {:?}", starters.sources);
    assert!(starters.name.contains("MP-1"));
}

/// What a 2 hp motor asks for does not depend on which service it hangs on.
#[test]
fn three_phase_pumps_on_208_and_on_480_volts() {
    let mut job = library();
    job.pumps[3].motor = PumpMotor::Induction { hp: 2.0 };
    job.pumps[3].nameplate_a = 7.0;
    let p = proved(&job);
    let m = p.motors.iter().find(|m| m.what == LoadUse::Pump(PumpId(3))).unwrap();
    assert_eq!((m.switch, m.sizing_a), (MotorSwitch::Starter, 7.5));
}

/// A fan's coil circuit in the colour of what the relay panel's control disconnect leaves live, wherever its starter stands: in a
/// starter panel, too, coils that the disconnect makes dead stand beside it. Yellow is phase C of 480Y/277 V: pink.
#[test]
fn a_coil_circuit_beside_the_control_disconnect_has_the_colour_of_what_stays_live() {
    let mut job = mill();
    let colours = |job: &Job| -> Vec<Colour> {
        let p = compiled(job);
        let coil = |r: &&Row| r.circuit == "TF6.1" && r.class == Class::Control && r.colour != Colour::White;
        let mut list: Vec<Colour> = p.rows.iter().filter(coil).map(|r| r.colour).collect();
        list.dedup();
        list
    };
    assert_eq!(colours(&job), [Colour::Pink]);
    job.starter_panel = None;
    assert_eq!(colours(&job), [Colour::Pink]);
    assert_eq!(faults(&job, &compiled(&job)), Vec::<String>::new());
}
