//! Rebuilding and solving small networks whose answers are known by hand or from outside.

mod proof_kit;

use heatwright_core::{BoilerId, ContactId, PumpId, RelayId, SafetyId, SensorId, ZoneId};
use heatwright_wiring::{
    device::Kind,
    net::{
        Changes, Network, RebuildError, Seen, Solver, Trouble, What,
        readings::{Reading, Readings},
    },
    part::{Actuator, LoadUse, Part},
};
use proof_kit::*;

fn close(r: Option<Reading>, volts: f64, within: f64) {
    match r {
        Some(Reading::Volts(v)) => assert!((v - volts).abs() < within, "read {v}, expected {volts}"),
        other => panic!("read {other:?}, expected {volts}"),
    }
}

/// A starter's coil behind the controller's relay and its own overload, 24 V.
fn pump_circuit() -> Kit {
    let mut k = Kit::service();
    k.transformer("T1", "L1").add(controller()).add(starter("Q1", PumpId(0)));
    k.add(device("M1", Kind::Pump, &["L", "N", "PE"], |t| {
        vec![load(t[0], t[1], LoadUse::Pump(PumpId(0)), 120.0, 500.0), Part::Chassis(t[2])]
    }));
    k.wire("T1:R", "A1:R").wire("T1:C", "A1:C").wire("T1:R", "A1:11").wire("A1:14", "Q1:A1");
    k.wire("Q1:A2", "Q1:95").wire("Q1:96", "T1:C");
    k.wire("Q0:L2", "Q1:1").wire("Q1:2", "M1:L").wire("Q0:N", "M1:N").wire("Q0:PE", "M1:PE");
    k
}

#[test]
fn a_pump_runs_on_its_relay_and_stops_on_its_overload() {
    let k = pump_circuit();
    let mut s = k.solver();
    let pump = What::Load(LoadUse::Pump(PumpId(0)));
    let on = Actuator::Relay(RelayId(0));
    for (actuators, want) in [
        (vec![], Seen::Dead),
        (vec![on], Seen::Live),
        (vec![on, Actuator::Overload(PumpId(0))], Seen::Dead),
        (vec![on], Seen::Live),
    ] {
        let o = s.solve(&set(&actuators)).clone();
        assert_eq!(seen(&s, &o, pump), want, "{actuators:?}");
        assert_eq!(o.troubles, []);
        assert_eq!(seen(&s, &o, What::Bonded), Seen::Bonded);
        assert_eq!(seen(&s, &o, What::Load(LoadUse::Controller)), Seen::Live);
    }
}

#[test]
fn planted_faults_show() {
    let base = pump_circuit();
    let pump = What::Load(LoadUse::Pump(PumpId(0)));
    let run = |k: &Kit| {
        let mut s = k.solver();
        let o = s.solve(&set(&[Actuator::Relay(RelayId(0))])).clone();
        (seen(&s, &o, pump), seen(&s, &o, What::Bonded), o.troubles)
    };
    assert_eq!(run(&base), (Seen::Live, Seen::Bonded, vec![]));
    let swap = |from: &str, to: &str| {
        let mut k = base.clone();
        for r in &mut k.rows {
            for l in [&mut r.from, &mut r.to] {
                let at = format!("{}:{}", l.device, l.terminal);
                let new = if at == from {
                    to
                } else if at == to {
                    from
                } else {
                    continue;
                };
                let (d, t) = new.split_once(':').unwrap();
                (l.device, l.terminal) = (d.into(), t.into());
            }
        }
        k
    };
    // Line and neutral exchanged at the motor.
    assert_eq!(run(&swap("M1:L", "M1:N")).0, Seen::LiveReversed);
    // The motor's case not on ground.
    let mut k = base.clone();
    k.rows.retain(|r| r.to.device != "M1" || r.to.terminal != "PE");
    assert_eq!(run(&k).1, Seen::Loose);
    // The starter in the neutral: a stopped motor stays hot.
    let mut k = base.clone();
    k.rows.retain(|r| !["Q1:2", "Q1:1"].contains(&format!("{}:{}", r.from.device, r.from.terminal).as_str()));
    k.rows.retain(|r| r.to.device != "M1" && format!("{}:{}", r.to.device, r.to.terminal) != "Q1:1");
    k.wire("Q0:L2", "M1:L").wire("Q0:N", "Q1:1").wire("Q1:2", "M1:N").wire("Q0:PE", "M1:PE");
    let mut s = k.solver();
    let o = s.solve(&set(&[])).clone();
    assert_eq!(seen(&s, &o, pump), Seen::DeadButHot);
    // A phase on the neutral is a short at once; through the starter only while it is in.
    let mut k = base.clone();
    k.wire("Q0:L2", "Q0:N");
    assert!(run(&k).2.iter().any(|t| matches!(t, Trouble::Short { volts: 120, .. })));
    let mut k = base.clone();
    k.wire("M1:L", "M1:PE");
    assert!(run(&k).2.iter().any(|t| matches!(t, Trouble::Short { volts: 120, .. })));
    let mut s = k.solver();
    assert_eq!(s.solve(&set(&[])).troubles, []);
    // A second starter coil in series with the first: neither pulls in.
    let mut k = base.clone();
    k.rows.retain(|r| r.from.terminal != "14");
    k.add(starter("Q2", PumpId(1))).wire("A1:14", "Q2:A1").wire("Q2:A2", "Q1:A1");
    let (pump_seen, _, troubles) = run(&k);
    assert_eq!(pump_seen, Seen::Dead);
    assert!(troubles.iter().any(|t| matches!(t, Trouble::WeakCoil { .. })), "{troubles:?}");
}

#[test]
fn a_three_wire_thermostat_and_its_input() {
    // The thermostat's contact sits on its supply, so it may not land on an input that brings its own voltage.
    let mut k = Kit::service();
    k.transformer("T1", "L1").add(controller()).add(thermostat("B1", ZoneId(0)));
    k.wire("T1:R", "A1:R").wire("T1:C", "A1:C").wire("T1:R", "B1:R").wire("T1:C", "B1:C");
    let mut wrong = k.clone();
    wrong.wire("B1:W", "A1:I1").wire("T1:C", "A1:IC");
    let mut s = wrong.solver();
    let o = s.solve(&set(&[Actuator::Call(ZoneId(0))])).clone();
    assert_eq!(seen(&s, &o, What::Input(ContactId(0))), Seen::Foreign);
    // A relay between makes it right.
    k.add(device("K1", Kind::Relay, &["A1", "A2", "11", "14"], |t| {
        vec![Part::Coil { a: t[0], b: t[1], number: 1, volts: 24.0, va: 1.0 }, contact(t[2], t[3], Actuator::Coil(1))]
    }));
    k.wire("B1:W", "K1:A1").wire("T1:C", "K1:A2").wire("K1:11", "A1:I1").wire("K1:14", "A1:IC");
    let mut s = k.solver();
    let o = s.solve(&set(&[Actuator::Call(ZoneId(0))])).clone();
    assert_eq!(seen(&s, &o, What::Input(ContactId(0))), Seen::Closed);
    assert_eq!(seen(&s, &o, What::Input(ContactId(1))), Seen::Open);
    assert_eq!(seen(&s, &o, What::Load(LoadUse::Thermostat(ZoneId(0)))), Seen::Live);
    let o = s.solve(&set(&[])).clone();
    assert_eq!(seen(&s, &o, What::Input(ContactId(0))), Seen::Open);
    // The coil's second wire off: the input never closes.
    k.rows.retain(|r| r.to.terminal != "A2");
    let mut s = k.solver();
    let o = s.solve(&set(&[Actuator::Call(ZoneId(0))])).clone();
    assert_eq!(seen(&s, &o, What::Input(ContactId(0))), Seen::Open);
}

/// ngspice 39, DC operating point of the resistive net: 24 V behind 0.35 ohm, three taps over 18 AWG (150, 80 and 60 ft) with
/// 75, 75 and 26.667 ohm.
#[test]
fn drop_over_a_low_voltage_run_agrees_with_a_circuit_simulator() {
    let mut k = Kit::service();
    k.transformer("T1", "L1");
    for (i, ohm) in [0.95775, 0.5108, 0.3831].into_iter().enumerate() {
        for leg in ["H", "R"] {
            k.add(device(&format!("{leg}{i}"), Kind::Strip, &["1", "2"], |t| vec![ohms(t[0], t[1], ohm)]));
        }
    }
    for (i, ohm) in [75.0, 75.0, 26.667].into_iter().enumerate() {
        k.add(device(&format!("V{i}"), Kind::ZoneValve, &["1", "2"], |t| vec![ohms(t[0], t[1], ohm)]));
        k.wire(&format!("H{i}:2"), &format!("V{i}:1")).wire(&format!("R{i}:2"), &format!("V{i}:2"));
    }
    k.wire("T1:R", "H0:1").wire("T1:C", "R0:1");
    k.wire("H0:2", "H1:1").wire("H1:2", "H2:1").wire("R0:2", "R1:1").wire("R1:2", "R2:1");
    let net = k.network();
    let r = Readings::take(&net, &Changes::default(), &set(&[]));
    let at = |d: &str, m: &str| net.terminal(d, m).unwrap();
    close(r.between(at("T1", "R"), at("T1", "C")), 23.5517, 2e-4);
    for (i, v) in [21.0982, 20.0771, 19.5163].into_iter().enumerate() {
        close(r.between(at(&format!("V{i}"), "1"), at(&format!("V{i}"), "2")), v, 2e-4);
    }
}

/// 24 V x sqrt(3) = 41.57 V between the hot sides of two supplies on phases 120 degrees apart (hand calculation).
#[test]
fn two_supplies_joined_at_their_commons_read_41_6_volts() {
    let mut k = Kit::service();
    k.transformer("T1", "L1").transformer("T2", "L2");
    let net = k.network();
    let r = Readings::take(&net, &Changes::default(), &set(&[]));
    let at = |d: &str, m: &str| net.terminal(d, m).unwrap();
    assert_eq!(r.between(at("T1", "R"), at("T2", "R")), Some(Reading::Floating));
    close(r.between(at("T1", "R"), at("T1", "C")), 24.0, 1e-3);
    close(r.between(at("Q0", "L1"), at("Q0", "L2")), 207.846, 1e-3);
    assert_eq!(k.solver().solve(&set(&[])).troubles, []);
    k.wire("T1:C", "T2:C");
    let net = k.network();
    let r = Readings::take(&net, &Changes::default(), &set(&[]));
    close(r.between(at("T1", "R"), at("T2", "R")), 41.569, 1e-3);
    assert!(matches!(k.solver().solve(&set(&[])).troubles[..], [Trouble::SuppliesJoined { .. }]));
}

/// Limit, proving and demand pairs of a boiler on its own 24 V.
#[test]
fn boiler_pairs_are_told_apart() {
    let b = BoilerId(0);
    let mut k = Kit::service();
    k.add(device("E1", Kind::Boiler, &["L", "N", "PE", "1", "2", "3", "4", "5", "6"], |t| {
        vec![
            load(t[0], t[1], LoadUse::BoilerLine(b), 120.0, 100.0),
            Part::Chassis(t[2]),
            load(t[4], t[1], LoadUse::Limit(b), 120.0, 20.0),
            load(t[6], t[1], LoadUse::Proving(b), 120.0, 20.0),
            load(t[8], t[1], LoadUse::Demand(b), 120.0, 20.0),
            Part::Bond(t[0], t[3]),
            Part::Bond(t[0], t[5]),
            Part::Bond(t[0], t[7]),
        ]
    }));
    k.add(device("S1", Kind::Safety, &["1", "2"], |t| vec![breaks(t[0], t[1], Actuator::Trip(SafetyId(0)))]));
    k.add(device("S2", Kind::Safety, &["1", "2"], |t| vec![contact(t[0], t[1], Actuator::Flow(b))]));
    k.add(controller());
    k.wire("Q0:L1", "E1:L").wire("Q0:N", "E1:N").wire("Q0:PE", "E1:PE");
    k.wire("E1:1", "S1:1").wire("S1:2", "E1:2").wire("E1:3", "S2:1").wire("S2:2", "E1:4");
    k.wire("E1:5", "A1:11").wire("A1:14", "E1:6");
    let mut s = k.solver();
    let mut look = |on: &[Actuator]| {
        let o = s.solve(&set(on)).clone();
        [LoadUse::Limit(b), LoadUse::Proving(b), LoadUse::Demand(b)].map(|l| seen(&s, &o, What::Load(l)) == Seen::Live)
    };
    let (trip, flow, relay) = (Actuator::Trip(SafetyId(0)), Actuator::Flow(b), Actuator::Relay(RelayId(0)));
    assert_eq!(look(&[]), [true, false, false]);
    assert_eq!(look(&[trip, flow, relay]), [false, true, true]);
    assert_eq!(look(&[relay]), [true, false, true]);
}

#[test]
fn relays_that_chase_each_other_end_and_are_reported() {
    let relay = |tag: &str| {
        device(tag, Kind::Relay, &["A1", "A2", "11", "12"], |t| {
            vec![
                Part::Coil { a: t[0], b: t[1], number: 1, volts: 120.0, va: 5.0 },
                breaks(t[2], t[3], Actuator::Coil(1)),
            ]
        })
    };
    let mut k = Kit::service();
    k.add(relay("K1"));
    k.wire("Q0:L1", "K1:11").wire("K1:12", "K1:A1").wire("Q0:N", "K1:A2");
    assert!(matches!(k.solver().solve(&set(&[])).troubles[..], [Trouble::Unsettled { .. }]));
}

#[test]
fn a_relay_that_holds_itself_is_reported() {
    let mut k = Kit::service();
    k.add(device("K1", Kind::Relay, &["A1", "A2", "11", "14"], |t| {
        vec![Part::Coil { a: t[0], b: t[1], number: 1, volts: 120.0, va: 5.0 }, contact(t[2], t[3], Actuator::Coil(1))]
    }));
    k.add(controller());
    k.wire("Q0:L1", "K1:11").wire("K1:14", "K1:A1").wire("Q0:N", "K1:A2").wire("Q0:L1", "A1:11").wire("A1:14", "K1:A1");
    let mut s = k.solver();
    assert!(matches!(s.solve(&set(&[])).troubles[..], [Trouble::Latching { .. }]));
    assert_eq!(s.solve(&set(&[Actuator::Relay(RelayId(0))])).troubles, []);
}

#[test]
fn sensors_are_told_apart_by_their_test_value() {
    let mut k = Kit::default();
    k.add(device("A1", Kind::Controller, &["T1", "T2", "TC"], |t| {
        vec![
            Part::SensorInput { a: t[0], b: t[2], sensor: SensorId(0) },
            Part::SensorInput { a: t[1], b: t[2], sensor: SensorId(1) },
        ]
    }));
    for i in 0..2 {
        k.add(device(&format!("B{i}"), Kind::Sensor, &["1", "2"], |t| {
            vec![Part::Element { a: t[0], b: t[1], sensor: SensorId(i) }]
        }));
    }
    let look = |wires: &[(&str, &str)]| {
        let mut k = k.clone();
        for (a, b) in wires {
            k.wire(a, b);
        }
        let mut s = k.solver();
        let o = s.solve(&set(&[])).clone();
        [0, 1].map(|i| seen(&s, &o, What::Sensor(SensorId(i))))
    };
    let common = [("B0:2", "A1:TC"), ("B1:2", "A1:TC")];
    let with = |more: &[(&'static str, &'static str)]| look(&[&common[..], more].concat());
    assert_eq!(with(&[("B0:1", "A1:T1"), ("B1:1", "A1:T2")]), [Seen::Id(0), Seen::Id(1)]);
    assert_eq!(with(&[("B0:1", "A1:T2"), ("B1:1", "A1:T1")]), [Seen::Id(1), Seen::Id(0)]);
    assert_eq!(with(&[("B0:1", "A1:T1"), ("B1:1", "A1:T1")]), [Seen::Mixed, Seen::Nothing]);
    assert_eq!(with(&[("B0:1", "A1:T1"), ("A1:T2", "A1:TC")]), [Seen::Id(0), Seen::Joined]);
}

#[test]
fn rows_that_name_nothing_are_errors_and_all_are_told() {
    let mut k = pump_circuit();
    k.wire("Q9:1", "Q1:1").wire("Q1:77", "Q1:1");
    k.add(device("Q1", Kind::Relay, &["A", "A"], |t| {
        vec![contact(t[0], t[1], Actuator::Coil(3)), load(t[0], t[1], LoadUse::Damper, f64::NAN, 1.0)]
    }));
    let e = Network::rebuild(&k.devices, &k.rows).unwrap_err();
    assert!(e.iter().any(|e| matches!(e, RebuildError::UnknownDevice { tag, .. } if tag == "Q9")), "{e:?}");
    assert!(e.iter().any(|e| matches!(e, RebuildError::UnknownTerminal { mark, .. } if mark == "77")));
    assert!(e.iter().any(|e| matches!(e, RebuildError::TagTwice { .. })));
    assert!(e.iter().any(|e| matches!(e, RebuildError::MarkTwice { .. })));
    assert!(e.iter().any(|e| matches!(e, RebuildError::Coil { number: 3, found: 0, .. })));
    assert!(e.iter().any(|e| matches!(e, RebuildError::Number { field: "volts", .. })));
    assert_eq!(e.len(), 6, "{e:?}");
}

#[test]
fn opened_devices_take_their_load_side_dead() {
    let mut k = pump_circuit();
    k.rows.retain(|r| r.from.terminal != "L1");
    k.add(device("F1", Kind::Fuse, &["1", "2"], |t| vec![breaks(t[0], t[1], Actuator::Opened)]));
    k.wire("Q0:L1", "F1:1").wire("F1:2", "T1:1");
    let net = k.network();
    let on = set(&[Actuator::Relay(RelayId(0))]);
    let mut s = Solver::new(&net, &Changes::default());
    let o = s.solve(&on).clone();
    assert_eq!(seen(&s, &o, What::Load(LoadUse::Pump(PumpId(0)))), Seen::Live);
    let opened = Changes { opened: vec![net.device("F1").unwrap()], ..Changes::default() };
    let mut s = Solver::new(&net, &opened);
    let o = s.solve(&on).clone();
    for what in [LoadUse::Pump(PumpId(0)), LoadUse::Controller] {
        assert_eq!(seen(&s, &o, What::Load(what)), Seen::Dead);
    }
}

#[test]
fn a_short_that_a_coil_would_open_too_late_is_a_short() {
    let mut k = Kit::service();
    k.add(device("K1", Kind::Relay, &["A1", "A2", "11", "12"], |t| {
        vec![Part::Coil { a: t[0], b: t[1], number: 1, volts: 120.0, va: 5.0 }, breaks(t[2], t[3], Actuator::Coil(1))]
    }));
    k.wire("Q0:L1", "K1:A1").wire("Q0:N", "K1:A2");
    assert_eq!(k.solver().solve(&set(&[])).troubles, []);
    k.wire("Q0:L1", "K1:11").wire("Q0:L2", "K1:12");
    assert!(matches!(k.solver().solve(&set(&[])).troubles[..], [Trouble::Short { volts: 208, .. }]));
}

/// Nothing is switched off silently: a transformer that could not carry all that hangs on it is solved with its load.
#[test]
fn an_overloaded_transformer_sags_for_all_on_it() {
    let mut k = Kit::service();
    k.transformer("T1", "L1").add(controller());
    k.wire("T1:R", "A1:R").wire("T1:C", "A1:C");
    // 24 V behind 0.35 ohm with 57.6 ohm (10 VA) and 0.96 ohm (600 VA) on it: 24 * 0.9443 / 1.2943 = 17.5 V, 73 %.
    k.add(device("Y1", Kind::ZoneValve, &["1", "2"], |t| {
        vec![load(t[0], t[1], LoadUse::Valve(ZoneId(0)), 24.0, 600.0)]
    }));
    k.wire("A1:14", "Y1:1").wire("Y1:2", "T1:C").wire("A1:11", "T1:R");
    let mut s = k.solver();
    let o = s.solve(&set(&[])).clone();
    assert_eq!(seen(&s, &o, What::Load(LoadUse::Controller)), Seen::Live);
    let o = s.solve(&set(&[Actuator::Relay(RelayId(0))])).clone();
    assert_eq!(seen(&s, &o, What::Load(LoadUse::Controller)), Seen::Odd(730));
}
