//! The procedure of the two fixtures against the solved network.

use super::*;
use crate::{
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
    // Seen to move: of a hundred times the resistance it is a load, tied to ground it is joined.
    for part in &mut p.devices.iter_mut().find(|d| d.tag == "TP1").unwrap().parts {
        if let Part::Transformer { ohm, .. } = part {
            *ohm *= 100.0;
        }
    }
    assert_eq!(of(&p), ToGround::Load);
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
    assert!(last("A2-") < first("TP1") && last("A3-") < first("T1"));
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

/// 8 per cent at the plate (our choice of regulation): at 43.3 of 40 VA a 24 V transformer stands at 24 (1 - 0.08 x 43.3 / 40) =
/// 21.92 V; and never above its volts. The same of a starter's control transformer at 120 V.
#[test]
fn a_transformer_sags_while_its_valves_start() {
    for job in [workshop(), library(), mill()] {
        let p = plan(&job).unwrap();
        for t in p.transformers.iter().filter(|t| t.tag != "TP1") {
            let volts = if t.tag.starts_with("TF") { 120.0 } else { 24.0 };
            let wanted = volts * (1.0 - 0.08 * t.inrush_va / t.va);
            assert!((t.starting_v - wanted).abs() < 0.01 && t.starting_v < volts, "{t:?}");
        }
        assert!(!p.transformers.is_empty());
    }
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
            let Some(t) = c.motors.iter().find(|t| t.tag == m.device) else {
                assert!(m.overload.is_none(), "{m:?}");
                continue;
            };
            assert_eq!(t.set_a, m.overload.map(|o| o.set_a));
            let d = p.devices.iter().find(|d| d.tag == m.device).unwrap();
            assert_eq!(t.direction, d.parts.iter().any(|p| matches!(p, Part::Load3 { .. })), "{t:?}");
            for switch in [&m.disconnect, &m.controller_disconnect] {
                let is_switch = p.devices.iter().any(|d| d.tag == *switch && d.kind == crate::device::Kind::Disconnect);
                assert!(!is_switch || t.close.contains(switch), "{switch}: {t:?}");
            }
        }
        assert!(c.motors.iter().any(|t| t.direction));
        let fans = p.devices.iter().filter(|d| d.kind == crate::device::Kind::Fan).count();
        assert_eq!(c.aquastats.len(), fans);
        assert_eq!(c.receptacles.len(), job.receptacles.len());
    }
}

/// Each branch circuit is tested once, the controller and other electronics off it; every landing of power is counted for torque.
#[test]
fn insulation_and_torque_follow_the_rows() {
    let job = mill();
    let p = plan(&job).unwrap();
    let c = checkout(&job, &p);
    assert_eq!(c.insulation.len(), p.breakers.iter().filter(|b| b.circuit != "TP1").count());
    let of = |name: &str| c.insulation.iter().find(|i| i.circuit == name).unwrap();
    assert!(of("A3-1").take_off.contains(&"T1".to_owned()), "{:?}", of("A3-1"));
    assert!(of("A3-1").lift.starts_with("A3:N"), "{:?}", of("A3-1"));
    let receptacle = p.circuits.iter().find(|c| c.duty == crate::plan::Duty::Receptacle).unwrap();
    assert!(!of(&receptacle.name).take_off.is_empty(), "its ground-fault protection");
    let mut terminals: std::collections::BTreeSet<_> = std::collections::BTreeSet::new();
    for r in p.rows.iter().filter(|r| r.class != crate::row::Class::Class2) {
        terminals.extend([&r.from, &r.to]);
    }
    assert_eq!(c.torque.iter().map(|t| t.terminals).sum::<usize>(), terminals.len());
}
