//! The procedure of the two fixtures against the solved network.

use super::*;
use crate::{
    device::Kind,
    fixtures::{library, mill, workshop},
    part::{Actuator, LoadUse, Part, Rest},
    plan::plan,
    row::Colour,
};
use heatwright_core::config::SafetyCircuit;
use std::collections::BTreeSet;

#[test]
fn every_conductor_is_rung_out_once() {
    for job in [workshop(), library()] {
        let plan = plan(&job).unwrap();
        let c = checkout(&job, &plan);
        assert_eq!(c.ring.len(), plan.rows.len());
        let shields = plan.rows.iter().filter(|r| r.colour == Colour::Shield).count();
        let taped: Vec<_> = c.ring.iter().filter(|r| r.to.ends_with(", taped")).collect();
        assert!(taped.len() == shields && taped.iter().all(|r| r.to_ground == ToGround::Joined), "{taped:?}");
        let of = |wire: &str| c.ring.iter().find(|r| r.wire == wire).unwrap().to_ground;
        assert!(c.ring.iter().filter(|r| r.wire == "PE").all(|r| r.to_ground == ToGround::Joined));
        // A pump's line ends in its winding, which leads to the neutral and so to ground, as soon as its contactor is closed: at
        // rest the conductor behind the disconnect shows the winding.
        let pump = plan.rows.iter().find(|r| r.to.device == "M1" && r.to.terminal == "L").unwrap();
        assert_eq!(of(&pump.wire), ToGround::Load, "{}", pump.wire);
        assert!(c.ring.iter().any(|r| r.to_ground == ToGround::Open));
    }
}

/// Seen to move: a conductor tied to the case reads zero instead of its load.
#[test]
fn a_grounded_conductor_rings_to_ground() {
    let job = workshop();
    let mut p = plan(&job).unwrap();
    let pump = p.rows.iter().find(|r| r.to.device == "M1" && r.to.terminal == "L").unwrap().clone();
    let m1 = p.devices.iter_mut().find(|d| d.tag == "M1").unwrap();
    let (l, pe) = (m1.find("L").unwrap(), m1.find("PE").unwrap());
    m1.parts.push(Part::Bond(l, pe));
    let rung = checkout(&job, &p).ring;
    let to_ground = rung.iter().find(|r| r.wire == pump.wire && r.to == "M1:L").unwrap().to_ground;
    assert_eq!(to_ground, ToGround::Joined);
}

/// A safety of a boiler stops that boiler and no other; one of the plant stops all; an alarm stops nothing.
#[test]
fn each_trip_stops_whom_it_is_meant_to_stop() {
    use heatwright_core::config::SafetyScope;
    for job in [workshop(), library()] {
        let plan = plan(&job).unwrap();
        let c = checkout(&job, &plan);
        assert_eq!(c.trips.len(), job.safeties.len());
        for (t, s) in c.trips.iter().zip(&job.safeties) {
            let burner = matches!(s.config.circuit, SafetyCircuit::Limit | SafetyCircuit::Proving);
            match s.config.scope {
                SafetyScope::Boiler(b) if burner => {
                    let name = job.names.of(Subject::Boiler(b));
                    assert_eq!(t.stops.boilers.len(), 1, "{}: {:?}", t.tag, t.stops);
                    assert!(t.stops.boilers[0].starts_with(&name), "{}: {:?}", t.tag, t.stops);
                }
                SafetyScope::Plant if burner => assert!(t.stops.no_heat, "{}: {:?}", t.tag, t.stops),
                SafetyScope::Zone(_) => assert!(t.stops.boilers.is_empty() && !t.stops.pumps.is_empty(), "{}", t.tag),
                _ => assert!(!t.stops.no_heat, "{}: {:?}", t.tag, t.stops),
            }
        }
    }
}

/// Seen to fail: with a safety bridged its trip stops nothing, and the sheet says so.
#[test]
fn a_bridged_safety_stops_nothing() {
    let job = workshop();
    let mut p = plan(&job).unwrap();
    let tag = checkout(&job, &p).trips.iter().find(|t| t.stops.boilers.len() == 1).unwrap().tag.clone();
    let d = p.devices.iter_mut().find(|d| d.tag == tag).unwrap();
    let Some(Part::Contact { a, b, .. }) = d.parts.iter().find(|p| matches!(p, Part::Contact { .. })).cloned() else {
        panic!("{tag} has no contact")
    };
    d.parts.push(Part::Bond(a, b));
    let after = checkout(&job, &p).trips.into_iter().find(|t| t.tag == tag).unwrap();
    assert!(after.stops.boilers.is_empty(), "{:?}", after.stops);
}

/// The two safety relays in series: each alone opens every limit pair. With one welded (its contacts bridged) dropping it stops
/// nothing, which is what the test is for.
#[test]
fn each_series_relay_opens_alone_and_a_weld_shows() {
    let job = library();
    let mut p = plan(&job).unwrap();
    let c = checkout(&job, &p);
    let alone: Vec<&Series> = c.series.iter().filter(|s| s.stops.no_heat).collect();
    assert!(alone.len() >= 2, "{:?}", c.series);
    let tag = alone[0].tag.clone();
    assert!(alone[0].coil.contains("wire "), "{}", alone[0].coil);
    for part in p.devices.iter_mut().find(|d| d.tag == tag).unwrap().parts.iter_mut() {
        if let Part::Contact { a, b, rest: Rest::Open, .. } = part {
            *part = Part::Bond(*a, *b);
        }
    }
    assert!(!checkout(&job, &p).series.iter().any(|s| s.tag == tag), "a welded relay opens nothing");
}

/// Only relays that stand for a safety are dropped as such: those of "any call" and of a boiler's pump request take a burner away too
/// and are none.
#[test]
fn relays_of_calls_are_no_safety_relays() {
    let mut job = library();
    job.panel.hand_over = true;
    let p = plan(&job).unwrap();
    assert!(p.devices.iter().any(|d| d.tag == "KX1"));
    let series = checkout(&job, &p).series;
    let letters: BTreeSet<&str> = series.iter().filter_map(|s| s.tag.get(..2)).collect();
    assert!(
        letters.contains("KS") && letters.iter().all(|l| ["KS", "KD", "KL", "KW", "KZ"].contains(l)),
        "{letters:?}"
    );
}

/// The hot terminal of each limit pair is the one that the boiler's own supply stands on, whatever the pair does.
#[test]
fn the_hot_terminal_of_a_pair_is_on_the_supply() {
    let job = library();
    let plan = plan(&job).unwrap();
    let c = checkout(&job, &plan);
    assert_eq!(c.pairs.len(), job.boilers.len());
    for (p, b) in c.pairs.iter().zip(&job.boilers) {
        let (tag, far) = p.far.split_once(':').unwrap();
        let d = plan.devices.iter().find(|d| d.tag == tag).unwrap();
        let load = |x: &Part| matches!(x, Part::Load { a, what: LoadUse::Limit(_), .. } if d.terminals[usize::from(a.0)].mark == far);
        assert!(d.parts.iter().any(load), "{far} leads to the burner");
        assert_eq!(p.volts, b.control_volts);
    }
    assert!(c.supplies.len() >= plan.breakers.len(), "{} of {}", c.supplies.len(), plan.breakers.len());
    assert!(c.supplies.iter().all(|s| !s.at.is_empty() && s.volts > 0.0));
}

/// Half of the secondary of a dry-type transformer reads like a short; a control transformer of 24 V floats and reads open.
#[test]
fn a_winding_of_some_tenths_of_an_ohm_is_told() {
    let job = mill();
    let mut p = plan(&job).unwrap();
    let of = |p: &Plan| {
        let ring = checkout(&job, p).ring;
        ring.into_iter().find(|r| r.from == "TP1:X1").unwrap().to_ground
    };
    assert_eq!(of(&p), ToGround::Winding);
    // Seen to move: of a hundred times the resistance it reads some ohms, tied to ground it is joined.
    for part in &mut p.devices.iter_mut().find(|d| d.tag == "TP1").unwrap().parts {
        if let Part::Transformer { ohm, .. } = part {
            *ohm *= 100.0;
        }
    }
    assert_eq!(of(&p), ToGround::SmallWinding);
    let tp1 = p.devices.iter_mut().find(|d| d.tag == "TP1").unwrap();
    let (x1, pe) = (tp1.find("X1").unwrap(), tp1.find("PE").unwrap());
    tp1.parts.push(Part::Bond(x1, pe));
    assert_eq!(of(&p), ToGround::Joined);
}

/// In the order in which they are closed: the first panelboard, the transformer, the main, the second panelboard, what stands
/// behind the control disconnect.
#[test]
fn supplies_come_in_the_order_of_closing() {
    let job = mill();
    let supplies = checkout(&job, &plan(&job).unwrap()).supplies;
    let order: Vec<usize> = ["A2-1", "TP1", "A3", "A3-1", "T1"]
        .iter()
        .map(|f| supplies.iter().position(|s| s.from == *f).unwrap_or_else(|| panic!("{f}: {supplies:?}")))
        .collect();
    assert!(order.is_sorted(), "{order:?}");
    let first = |f: &str| supplies.iter().position(|s| s.from.starts_with(f)).unwrap();
    let last = |f: &str| supplies.iter().rposition(|s| s.from.starts_with(f)).unwrap();
    // The secondary stands right behind the breaker that brings it.
    assert_eq!(order[1], order[0] + 1, "{supplies:?}");
    assert!(last("A2-") < supplies.iter().position(|s| s.from == "A3").unwrap() && last("A3-") < first("T1"));
    let t1 = &supplies[order[4]];
    assert_eq!(t1.close, "QR1", "behind the control disconnect: {t1:?}");
    assert!(supplies[order[3]].close.starts_with("breaker 1 of"), "{:?}", supplies[order[3]]);
    assert_eq!(supplies[order[1]].close, "", "the transformer comes with its breaker");
}

/// A floating secondary has no volts to ground, and is taken for good at what the network predicts under load.
#[test]
fn a_control_transformer_is_accepted_at_its_own_prediction() {
    use crate::net::{
        Changes, Network,
        readings::{Reading, Readings},
    };
    for job in [workshop(), library(), mill()] {
        let p = plan(&job).unwrap();
        let net = Network::rebuild(&p.devices, &p.rows).unwrap();
        let mut seen = 0;
        for s in checkout(&job, &p).supplies.iter().filter(|s| s.from.starts_with('T') && s.volts < 30.0) {
            let d = p.devices.iter().find(|d| d.tag == s.from).unwrap();
            let [a, b] = ["X1", "X2"].map(|m| net.terminal(&d.tag, m).unwrap());
            // Everything that can close closed: the load is on it.
            let list: Vec<Actuator> = p
                .devices
                .iter()
                .flat_map(|d| &d.parts)
                .filter_map(|p| if let Part::Contact { by, .. } = p { Some(*by) } else { None })
                .filter(|a| crate::net::actuators::is_free(*a))
                .collect();
            for set in [crate::net::ActuatorSet::default(), crate::proof::positions::busy(&list)] {
                let Some(Reading::Volts(v)) = Readings::take(&net, &Changes::default(), &set).between(a, b) else {
                    panic!("{} reads nothing", s.from)
                };
                assert!(v >= s.accept_v[0] && v <= s.accept_v[1], "{}: {v} {:?}", s.from, s.accept_v);
            }
            assert!(s.accept_v[0] < s.volts * 0.95, "wider than the service's own band: {s:?}");
            let grounded = p.rows.iter().any(|r| {
                r.class == crate::row::Class::Ground && r.from.device == d.tag && r.from.terminal.starts_with('X')
            });
            assert_eq!(s.to_ground_v.is_none(), !grounded, "{s:?}");
            seen += 1;
        }
        assert!(seen > 0);
    }
}

/// 8 per cent at the plate (our choice of regulation): at 43.3 of 40 VA a 24 V transformer stands at 25.92 / (1 + 0.08 x 43.3 / 40) =
/// 23.85 V, never above what it gives unloaded, and below its plate's volts only past its plate. The same of a starter's control
/// transformer at 120 V.
#[test]
fn a_transformer_sags_while_its_valves_start() {
    for job in [workshop(), library(), mill()] {
        let p = plan(&job).unwrap();
        for t in p.transformers.iter().filter(|t| t.tag != "TP1") {
            let volts = if t.tag.starts_with("TF") { 120.0 } else { 24.0 };
            let wanted = volts * 1.08 / (1.0 + 0.08 * t.inrush_va / t.va);
            assert!((t.starting_v - wanted).abs() < 0.01, "{t:?}");
            assert_eq!(t.starting_v < volts, t.inrush_va > t.va, "{t:?}");
        }
        assert!(!p.transformers.is_empty());
    }
}

/// TP1 with all starting: the motors on its board at six times their plates, the coils and the valves, at right angles to the
/// connected load. Reckoned from job and plan apart from the pass.
#[test]
fn the_transformer_between_the_boards_starts_what_hangs_on_it() {
    let job = mill();
    let p = plan(&job).unwrap();
    let t = p.transformers.iter().find(|t| t.tag == "TP1").unwrap();
    let of = |name: &str| {
        let c = p.circuits.iter().find(|c| c.name == name).unwrap();
        matches!(&c.feed, crate::plan::Feed::Panelboard { panel, .. } if panel == "A3").then_some(c.volts)
    };
    let motors: f64 = p.motors.iter().filter_map(|m| Some(6.0 * m.nameplate_a * of(&m.circuit)?)).sum();
    // A starter whose coil comes back on the control circuit's grounded side: not a fan's.
    let coils = p
        .devices
        .iter()
        .filter(|d| matches!(d.kind, Kind::Contactor | Kind::Starter) && !d.tag.starts_with("QAF"))
        .count();
    let valves: f64 = job.zones.iter().filter_map(|z| z.valve).map(|v| v.inrush_va).sum();
    assert!(motors > 0.0 && coils > 1 && valves > 0.0, "{motors} {coils} {valves}");
    let wanted = t.sealed_va.hypot(motors + 63.0 * coils as f64 + valves);
    assert!((t.inrush_va - wanted).abs() < 0.5, "{} {wanted}", t.inrush_va);
    assert!(t.inrush_va > 1.5 * t.sealed_va);
}

/// With the control disconnect open other supplies still stand on each safety relay: those that the proof of the lockout sheet finds
/// too. A relay pulled from everything but its coil has none.
#[test]
fn what_stays_live_on_a_safety_relay_is_named() {
    for job in [library(), mill()] {
        let mut p = plan(&job).unwrap();
        let series = checkout(&job, &p).series;
        assert!(!series.is_empty());
        for s in &series {
            assert_eq!(s.switch, "QR1", "{s:?}");
            for i in 0..job.boilers.len() {
                let id = BoilerId(i as u8);
                let fed = |c: &str| p.circuits.iter().any(|x| x.name == c && x.feed == crate::plan::Feed::Boiler(id));
                let here = |r: &crate::row::Row| r.from.device == s.tag || r.to.device == s.tag;
                let lands = p.rows.iter().any(|r| here(r) && fed(&r.circuit));
                let own = job.names.of(Subject::Boiler(id));
                // By its own supply, or by its line where its pair is fed from that.
                let told = s.still_live.iter().any(|x| x.contains(&format!(": {own}")));
                assert!(!lands || told, "{} and {own}: {:?}", s.tag, s.still_live);
            }
        }
        assert!(series.iter().any(|s| !s.still_live.is_empty()), "{series:?}");
        // Seen to move: with every row of its contacts gone nothing is left but the coil.
        let tag = series.iter().find(|s| !s.still_live.is_empty()).unwrap().tag.clone();
        p.rows.retain(|r| {
            let contact = |l: &crate::row::Landing| l.device == tag && !l.terminal.starts_with('A');
            !contact(&r.from) && !contact(&r.to)
        });
        assert!(checkout(&job, &p).series.iter().all(|s| s.tag != tag), "its contacts open nothing any more");
    }
}

/// Overload, direction and disconnects of every motor; each aquastat and receptacle once.
#[test]
fn motors_fans_and_receptacles_are_tried() {
    for job in [library(), mill()] {
        let p = plan(&job).unwrap();
        let c = checkout(&job, &p);
        for m in &p.motors {
            let t = c.motors.iter().find(|t| t.tag == m.device).unwrap_or_else(|| panic!("{m:?}"));
            assert_eq!(t.set_a, m.overload.map(|o| o.set_a));
            let d = p.devices.iter().find(|d| d.tag == m.device).unwrap();
            assert_eq!(t.direction, d.parts.iter().any(|p| matches!(p, Part::Load3 { .. })), "{t:?}");
            for switch in [&m.disconnect, &m.controller_disconnect] {
                let is_switch = p.devices.iter().any(|d| d.tag == *switch && d.kind == crate::device::Kind::Disconnect);
                let before = c.supplies.iter().any(|s| s.close == *switch);
                assert!(!is_switch || before || t.close.contains(switch), "{switch}: {t:?}");
            }
        }
        assert!(c.motors.iter().any(|t| t.direction));
        let fans = p.devices.iter().filter(|d| d.kind == crate::device::Kind::Fan).count();
        assert_eq!(c.aquastats.len(), fans);
        assert_eq!(c.receptacles.len(), job.receptacles.len());
    }
}

/// Every screw that holds a conductor is counted: two of a strip terminal whose sides are both used, those of Class 2 apart.
#[test]
fn every_screw_is_counted() {
    let job = mill();
    let p = plan(&job).unwrap();
    let c = checkout(&job, &p);
    let sum = |of: fn(&Torque) -> usize| c.torque.iter().map(of).sum::<usize>();
    let mut ends: std::collections::BTreeMap<(&str, &str), (usize, bool)> = Default::default();
    for r in &p.rows {
        for l in [&r.from, &r.to] {
            if !(r.colour == Colour::Shield && l == &r.to) {
                let e = ends.entry((&l.device, &l.terminal)).or_default();
                *e = (e.0 + 1, r.class == crate::row::Class::Class2);
            }
        }
    }
    let strip = |tag: &str| p.devices.iter().any(|d| d.tag == tag && d.kind == Kind::Strip);
    let wanted = |class2: bool| {
        let here = ends.iter().filter(|e| e.1.1 == class2 && (!e.0.0.starts_with("XF") || e.0.1.starts_with("PE")));
        here.map(|((tag, mark), (n, _))| if strip(tag) && !mark.starts_with("PE") { *n.min(&2) } else { 1 })
            .sum::<usize>()
    };
    assert_eq!(sum(|t| t.screws), wanted(false));
    assert_eq!(sum(|t| t.class2_screws), wanted(true));
    let both = ends.iter().filter(|e| strip(e.0.0) && e.1.0 > 1).count();
    assert!(both > 20, "a strip terminal has two sides: {both}");
}

/// Insulation is tested piece by piece: no piece goes through a switch, each conductor is in one, motors are off, 480 V at 1000 V dc.
#[test]
fn insulation_is_tested_between_open_switches() {
    for job in [workshop(), library(), mill()] {
        let p = plan(&job).unwrap();
        let list = checkout(&job, &p).insulation;
        let holds = |i: &Insulation, wire: &str| i.wires.iter().any(|w| w == wire);
        // Every conductor of power and control stands in one line of its circuit.
        for r in p.rows.iter().filter(|r| matches!(r.class, crate::row::Class::Power | crate::row::Class::Control)) {
            let n = list.iter().filter(|i| i.circuit == r.circuit && holds(i, &r.wire)).count();
            assert_eq!(n, 1, "{} of {}", r.wire, r.circuit);
        }
        // The two sides of a pole are never in one line.
        for d in p.devices.iter().filter(|d| d.kind == Kind::Disconnect) {
            let at = |mark: &str| {
                let lands = |l: &crate::row::Landing| l.device == d.tag && l.terminal == mark;
                p.rows.iter().find(|r| lands(&r.from) || lands(&r.to)).map(|r| r.wire.clone())
            };
            if let (Some(line), Some(load)) = (at("1/L1"), at("2/T1")) {
                assert!(!list.iter().any(|i| holds(i, &line) && holds(i, &load)), "{}: {line} {load}", d.tag);
            }
        }
        for m in &p.motors {
            let near: Vec<&Insulation> = list.iter().filter(|i| i.between.contains(&m.device)).collect();
            assert!(!near.is_empty() && near.iter().all(|i| i.take_off.contains(&m.device)), "{}", m.device);
        }
        for i in &list {
            let c = p.circuits.iter().find(|c| c.name == i.circuit).unwrap();
            assert_eq!(i.volts_dc, if c.volts > 250.0 { 1000.0 } else { 500.0 }, "{i:?}");
        }
        // What feeds a relay panel is electronics on one side of its disconnect and a neutral to lift on the other.
        let supply = p.circuits.iter().find(|c| c.duty == crate::plan::Duty::PanelSupply).unwrap();
        let of: Vec<&Insulation> = list.iter().filter(|i| i.circuit == supply.name).collect();
        assert!(of.iter().any(|i| i.take_off.contains(&"T1".to_owned())), "{of:?}");
        assert_eq!(of.iter().filter(|i| i.lift.contains(":N")).count(), 1, "{of:?}");
        let receptacle = p.circuits.iter().find(|c| c.duty == crate::plan::Duty::Receptacle).unwrap();
        let off = |i: &&Insulation| i.circuit == receptacle.name && !i.take_off.is_empty();
        assert!(list.iter().any(|i| off(&i)), "its ground-fault protection");
        // The limit loops of the boilers are lines of their own.
        let pair = |f: &crate::plan::Feed| matches!(f, crate::plan::Feed::Boiler(_));
        for c in p.circuits.iter().filter(|c| pair(&c.feed) && p.rows.iter().any(|r| r.circuit == c.name)) {
            assert!(c.class == crate::row::Class::Class2 || list.iter().any(|i| i.circuit == c.name), "{}", c.name);
        }
    }
}

/// Each disconnect of the plan is closed at one place of the procedure, once: none stays open, none is closed unseen.
#[test]
fn every_disconnect_is_closed_once() {
    for job in [workshop(), library(), mill()] {
        let p = plan(&job).unwrap();
        let c = checkout(&job, &p);
        for d in p.devices.iter().filter(|d| d.kind == crate::device::Kind::Disconnect) {
            let supplies = c.supplies.iter().filter(|s| s.close == d.tag).count();
            let motors = c.motors.iter().filter(|m| m.close.contains(&d.tag)).count();
            // A control disconnect brings all transformers behind it; a motor's disconnects stand in its own line.
            assert!(supplies + motors > 0, "{}: nobody closes it", d.tag);
            assert!(supplies == 0 || motors == 0, "{}: closed twice", d.tag);
        }
        // The boilers' pairs are measured in part 4 with their control circuits live: their switches are closed in part 3.
        let boiler = |s: &&Supply| s.close.starts_with("QC");
        assert_eq!(c.supplies.iter().filter(boiler).count(), job.boilers.len());
        assert!(c.supplies.iter().filter(boiler).all(|s| !s.at.starts_with("QC")), "measured behind the switch");
        assert_eq!(c.motors.iter().filter(|m| m.tag.starts_with("ME")).count(), job.condensate_pumps.len());
    }
}

/// How each motor is started follows from the network: HAND where there is a selector, else the call that closes its way.
#[test]
fn the_start_of_each_motor_is_named() {
    let job = mill();
    let mut p = plan(&job).unwrap();
    let start = |p: &Plan, tag: &str| checkout(&job, p).motors.into_iter().find(|m| m.tag == tag).unwrap().start;
    for (i, pump) in job.pumps.iter().enumerate() {
        let told = start(&p, &format!("M{}", i + 1));
        let hand = pump.selector == crate::job::Selector::HandOffAuto;
        assert_eq!(told.ends_with(" at HAND"), hand, "M{}: {told}", i + 1);
        assert!(hand || told.contains("call"), "M{}: {told}", i + 1);
    }
    assert!(start(&p, "ME1").contains("float"));
    let (i, _) = job.pumps.iter().enumerate().find(|(_, p)| p.selector == crate::job::Selector::HandOffAuto).unwrap();
    let tag = format!("M{}", i + 1);
    // Seen to move: with its HAND contact gone only a call starts it.
    for d in &mut p.devices {
        d.parts.retain(|x| !matches!(x, Part::Contact { by: Actuator::Hand(q), .. } if q.index() == i));
    }
    assert!(start(&p, &tag).contains("call"), "{}", start(&p, &tag));

    // Without a controller: the flat's own thermostat, and the boiler that asks for its pump.
    let mut job = workshop();
    job.control = crate::job::Control::ZoneRelays;
    job.points = heatwright_core::Points::default();
    job.sensors = Vec::new();
    job.beacon = None;
    job.boilers[0].drive = heatwright_core::config::BoilerDrive::DemandOnly;
    job.boilers[0].marks.signal = None;
    let p = plan(&job).unwrap();
    let start = |tag: &str| checkout(&job, &p).motors.into_iter().find(|m| m.tag == tag).unwrap().start;
    assert_eq!(start("M3"), "call of office");
}

/// A safety with a supply of its own is dead and open while conductors are rung out; a receptacle has nothing plugged in; the
/// live side of a boiler's grounded control transformer reads its winding.
#[test]
fn what_is_dead_or_empty_leads_nowhere() {
    let mut job = workshop();
    let ring = |job: &Job| {
        let p = plan(job).unwrap();
        checkout(job, &p).ring
    };
    let at = |ring: &[Ring], end: &str| {
        ring.iter().find(|r| r.from == end || r.to == end).unwrap_or_else(|| panic!("{end}")).to_ground
    };
    let before = ring(&job);
    assert_eq!(at(&before, "E1:1"), ToGround::SmallWinding, "24 V x 24 V x 0.08 / 40 VA: 1.2 ohm");
    assert_eq!(at(&before, "XR1:L"), ToGround::Open);
    let cutoff = |ring: &[Ring]| ["F2:11", "F2:12"].map(|end| at(ring, end));
    assert!(cutoff(&before).iter().all(|r| *r != ToGround::Open), "{:?}", cutoff(&before));
    job.safeties[1].supply = Some(crate::job::SafetySupply { volts: 120.0, va: 5.0 });
    job.safeties[1].rest = Rest::Open;
    let after = ring(&job);
    assert!(cutoff(&after).contains(&ToGround::Open), "dead and open: {:?}", cutoff(&after));
}

/// The flow of a boiler is stopped where its pump can be stopped, by name, and put back; a maintained switch is turned back.
#[test]
fn a_trip_names_what_is_turned() {
    use heatwright_core::config::SafetyKind;
    for (job, wanted) in [(mill(), "to OFF; back to AUTO"), (workshop(), "Open QB1: ")] {
        let p = plan(&job).unwrap();
        let trips = checkout(&job, &p).trips;
        let of = |kind: SafetyKind| job.safeties.iter().position(|s| s.config.kind == kind).map(|i| &trips[i]).unwrap();
        let flow = of(SafetyKind::FlowSwitch);
        assert!(flow.how.contains(wanted) && flow.how.ends_with("at once."), "{flow:?}");
        let named = p.devices.iter().filter(|d| flow.how.split([' ', ':']).any(|w| w == d.tag)).count();
        assert_eq!(named, 1, "{flow:?}");
        let door = of(SafetyKind::DoorSwitch);
        assert!(!door.after.contains("button") && door.after.contains("turns it back"), "{door:?}");
    }
}

/// A switch that breaks one pole leaves the load on the neutral: whatever hangs on a tied wire and is harmed comes off first.
#[test]
fn what_hangs_on_a_tied_wire_comes_off_first() {
    let mut by_neutral = 0;
    for job in [workshop(), library(), mill()] {
        let p = plan(&job).unwrap();
        for i in checkout(&job, &p).insulation {
            for r in p.rows.iter().filter(|r| r.circuit == i.circuit && i.wires.contains(&r.wire)) {
                for l in [&r.from, &r.to] {
                    let d = p.devices.iter().find(|d| d.tag == l.device).unwrap();
                    let harmed = insulation::comes_off(d);
                    assert!(!harmed || i.take_off.contains(&d.tag), "{}: {} on {}", i.circuit, d.tag, r.wire);
                    by_neutral += usize::from(harmed && !i.between.contains(&d.tag));
                }
            }
        }
    }
    assert!(by_neutral > 10, "{by_neutral}");
}

/// Every point of the controller but spares, demands, pumps, valves and safeties' inputs has its line, and each contact of another
/// system; each names a terminal.
#[test]
fn every_point_is_tried() {
    use heatwright_core::{AnalogUse, ContactUse, RelayUse, SensorUse};
    for job in [workshop(), library(), mill()] {
        let p = plan(&job).unwrap();
        let list = checkout(&job, &p).signals;
        let points = &job.points;
        let inputs =
            points.contacts.iter().filter(|c| !matches!(c, ContactUse::Spare | ContactUse::Safety(..))).count();
        let sensors = points.sensors.iter().filter(|s| **s != SensorUse::Spare).count();
        let outputs = points.analogs.iter().filter(|a| **a != AnalogUse::Spare).count();
        let relays =
            points.relays.iter().filter(|r| matches!(r, RelayUse::Alarm | RelayUse::Health | RelayUse::Damper)).count();
        assert_eq!(list.len(), inputs + sensors + outputs + relays + job.automation.len());
        assert_eq!(list.iter().filter(|s| s.sensor.is_some()).count(), sensors);
        assert!(list.iter().all(|s| p.devices.iter().any(|d| s.at.starts_with(&d.tag))), "{list:?}");
        let beacon = p.devices.iter().find(|d| d.kind == Kind::Beacon);
        assert!(beacon.is_none_or(|b| list.iter().any(|s| s.seen.contains(&format!("{} lights", b.tag)))));
    }
}

/// With a control circuit that floats the meter's second lead has a terminal to go to, which lies on the circuit's other side: across
/// the pair the solved network shows the volts, with the pair open.
#[test]
fn the_far_lead_of_a_floating_pair_has_a_terminal() {
    let mut job = library();
    for b in &mut job.boilers {
        b.control_grounded = false;
    }
    let p = plan(&job).unwrap();
    for pair in checkout(&job, &p).pairs {
        let named = pair.against.split(',').next().unwrap();
        let (tag, mark) = named.split_once(':').unwrap();
        let d = p.devices.iter().find(|d| d.tag == tag).unwrap();
        assert!(d.find(mark).is_some(), "{}", pair.against);
    }
}
