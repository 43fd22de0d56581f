//! Sheets of panels that many circuits enter, what is said of sources from elsewhere, and what stays beside a boiler.

use super::*;
use crate::{
    fixtures::{library, mill},
    plan::{Duty, Feed, plan},
};

fn of(list: &[Sheet], wanted: Item) -> &Sheet {
    list.iter().find(|s| s.item == wanted).unwrap()
}

fn prepare(s: &Sheet) -> String {
    s.steps.iter().filter(|x| x.clause == "(d)(1)").flat_map(|x| x.tasks.clone()).collect::<Vec<_>>().join(" ")
}

/// Twenty circuits of a board on the service itself: nothing of the plan is ahead of them all, and the sheet says so. What stands
/// on its auxiliary contacts is the relay panel's, and is called so.
#[test]
fn a_panel_without_a_feeder_says_so_and_owns_its_motors_alone() {
    let job = mill();
    let p = plan(&job).unwrap();
    let list = lockout(&job, &p).sheets;
    let s = of(&list, Item::StarterPanel);
    let of_motors: BTreeSet<&str> =
        p.motors.iter().filter(|m| !m.controller_disconnect.is_empty()).map(|m| m.circuit.as_str()).collect();
    let breakers =
        s.points.iter().filter(|p| matches!(&p.isolator, Isolator::Breaker { panel, .. } if panel == "A2")).count();
    assert!(breakers > 1 && breakers <= of_motors.len(), "{breakers}");
    assert!(s.instead.is_empty(), "{:?}", s.instead);
    assert!(s.no_single.contains(&format!("all {} points", s.points.len())), "{}", s.no_single);
    assert!(s.no_single.contains(&format!("{breakers} circuits come from ")), "{}", s.no_single);
    let supply = p.circuits.iter().find(|c| c.duty == Duty::PanelSupply).unwrap();
    let Feed::Panelboard { panel, spaces } = &supply.feed else { panic!("{supply:?}") };
    let origin = Origin::Branch { panel: panel.clone(), space: spaces[0] };
    let foreign: Vec<&Origin> = s.sources.iter().filter(|s| s.foreign).map(|s| &s.origin).collect();
    assert_eq!(foreign, [&origin]);
    let at = s.sources.iter().position(|s| s.origin == origin).unwrap() + 1;
    let told = prepare(s);
    assert!(told.contains(&format!("1 from elsewhere, live with its own circuits open: V{at}.")), "{told}");
    assert!(told.contains("so QR1, the relay panel's control disconnect, is among its points"), "{told}");
    // A panel with its own supply owns that.
    assert!(of(&list, Item::RelayPanel).sources.iter().any(|s| s.origin == origin && !s.foreign));
}

/// Where one breaker feeds the board of several points, that one is offered, and does for them: with it open nothing stands that the
/// points would have taken away.
#[test]
fn the_main_of_a_board_does_for_its_circuits() {
    let job = mill();
    let p = plan(&job).unwrap();
    let trace = Trace::of(&p);
    let map = Map::of(&trace);
    let list = lockout(&job, &p).sheets;
    let s = of(&list, Item::RelayPanel);
    let one = &s.instead[0];
    assert_eq!(one.point.isolator, Isolator::Breaker { panel: "A3".into(), space: crate::part::MAIN_BREAKER });
    let on_a3 = |p: &Point| matches!(&p.isolator, Isolator::Breaker { panel, .. } if panel == "A3");
    let wanted: Vec<usize> = s.points.iter().enumerate().filter(|(_, p)| on_a3(p)).map(|(i, _)| i).collect();
    assert!(wanted.len() > 1 && one.points == wanted, "{:?} {wanted:?}", one.points);
    assert!(one.point.stops.no_heat, "it stops the control circuit");
    let mut open: BTreeSet<Isolator> =
        s.points.iter().enumerate().filter(|(i, _)| !one.points.contains(i)).map(|(_, p)| p.isolator.clone()).collect();
    open.insert(one.point.isolator.clone());
    let of_panel = in_relay_panel(&p);
    let starts: Vec<usize> = of_panel
        .iter()
        .flat_map(|d| (0..p.devices[*d].terminals.len()).filter_map(|t| trace.group_of(*d, T(t as u16))))
        .collect();
    let left = map.sources(&starts, &open);
    assert!(left.keys().all(|o| !matches!(o, Origin::Branch { panel, .. } if panel == "A3")), "{left:?}");
    assert!(!s.no_single.is_empty() && !s.no_single.contains("circuits come from"), "{}", s.no_single);
}

/// What hangs on nothing of its own says that; a machine with its circuit says that too.
#[test]
fn what_has_no_circuit_of_its_own_claims_none() {
    for job in [library(), mill()] {
        let list = lockout(&job, &plan(&job).unwrap()).sheets;
        let damper = prepare(of(&list, Item::Damper));
        assert!(damper.contains("from elsewhere: it has no circuit and no switch of its own"), "{damper}");
        for s in list.iter().filter(|s| matches!(s.item, Item::Pump | Item::CondensatePump)) {
            assert!(!prepare(s).contains("no circuit and no switch"), "{}: {}", s.name, prepare(s));
        }
        for tag in ["PA1", "XR1"] {
            let s = list.iter().find(|s| s.devices == [tag]).unwrap();
            assert!(prepare(s).contains("1, all its own"), "{tag}: {}", prepare(s));
        }
    }
}

/// A tank whose limit stands in the control circuit tells whose disconnect it sends a person to, and in which enclosure that is.
#[test]
fn a_disconnect_in_another_panel_is_explained_and_found() {
    let mut job = library();
    job.panel.name = "RP-7".into();
    let p = plan(&job).unwrap();
    let list = lockout(&job, &p).sheets;
    let s = of(&list, Item::Tank);
    let at = s.points.iter().find(|p| p.isolator == Isolator::Disconnect { tag: "QR1".into() }).unwrap();
    let room = &p.places[usize::from(job.panel.place.0)];
    assert_eq!(at.place, format!("in relay panel RP-7, {room}"));
    let limit = s.devices.iter().find(|d| d.starts_with('F')).unwrap();
    let told = prepare(s);
    assert!(told.contains(&format!("control voltage stands on {limit}: so QR1, ")), "{told}");
    assert!(told.contains("no boiler fires"), "{told}");
    // Of its own panel the place is the room.
    let own = of(&list, Item::RelayPanel);
    assert!(own.points.iter().all(|p| !p.place.starts_with("in relay panel")), "{:?}", own.points);
}

/// A condensate pump starts by its float beside an opened boiler; flue gas of others comes out of an opened vent.
#[test]
fn a_boilers_sheet_tells_of_its_condensate_pump_and_its_flue() {
    let mut job = mill();
    job.condensate_pumps.truncate(1);
    job.condensate_pumps[0].boiler = Some(heatwright_core::BoilerId(1));
    let list = lockout(&job, &plan(&job).unwrap()).sheets;
    let pumps: BTreeSet<_> = job.condensate_pumps.iter().filter_map(|c| c.boiler).collect();
    assert!(!pumps.is_empty() && pumps.len() < job.boilers.len());
    for s in list.iter().filter(|s| s.item == Item::Boiler) {
        let Subject::Boiler(b) = s.subject else { panic!("{:?}", s.subject) };
        let live = s.stays_live.iter().any(|x| x.starts_with("ME") && x.contains("starts by its float"));
        assert_eq!(live, pumps.contains(&b), "{}: {:?}", s.name, s.stays_live);
        assert!(s.stored.iter().any(|x| x.what.contains("carbon monoxide")), "{:?}", s.stored);
    }
}

/// Behind the transformer: line to line, each line to the grounded middle, and that to ground; its volts are those of both halves.
#[test]
fn the_middle_of_a_transformer_is_measured() {
    let job = mill();
    let list = lockout(&job, &plan(&job).unwrap()).sheets;
    for (tag, lines, middle) in [("A3", ["1/L1", "3/L2"], "N.main"), ("TP1", ["X1", "X4"], "X2/X3")] {
        let s = list.iter().find(|s| s.devices == [tag]).unwrap();
        let n = format!("{tag}:{middle}");
        for mark in lines {
            let pair = |t: &&Test| t.at == format!("{tag}:{mark}") && t.against == n;
            assert_eq!(s.tests.iter().find(pair).map(|t| t.between), Some(Between::PhaseToNeutral), "{:?}", s.tests);
        }
        assert!(s.tests.iter().any(|t| t.at == n && t.between == Between::NeutralToGround), "{:?}", s.tests);
        // Where the windings of the primary meet there is voltage, and no conductor of the plan.
        let joint = |t: &&Test| t.at == format!("{tag}:H2/H3") && t.between == Between::PhaseToGround;
        assert_eq!(s.tests.iter().any(|t| joint(&t)), tag == "TP1", "{:?}", s.tests);
        let v = s.sources.iter().find(|s| s.origin == Origin::Transformer { tag: "TP1".into() }).unwrap();
        assert_eq!((v.volts, v.volts_written.as_str()), (240.0, "120/240"));
    }
}

/// Four conductors meet in the middle of TP1: two leads, the neutral, the bonding jumper. They are no splice of two or three, and H2 with
/// H3 has a terminal to land on.
#[test]
fn the_joints_of_a_transformer_are_ordered() {
    let p = plan(&mill()).unwrap();
    let note = |item: &str| p.materials.iter().find(|m| m.item == item).map(|m| m.note.as_str());
    assert!(note("neutral terminal bar for 4 conductors").is_some_and(|n| n.starts_with("TP1: X2, X3, ")));
    assert!(note("insulated terminal block, 1 pole, 600 V").is_some_and(|n| n.contains("H2 to H3")));
    let spliced = note("wire connector for a splice of 2 or 3").unwrap_or("");
    assert!(!spliced.contains("TP1"), "{spliced}");
    let plain = plan(&library()).unwrap();
    assert!(!plain.materials.iter().any(|m| m.item.starts_with("neutral terminal bar")));
}
