//! Sheets of the plant with two panelboards, and the words for things that are no machine.

use super::*;
use crate::{
    device::Kind,
    fixtures::{library, mill, workshop},
    plan::plan,
};

fn sheets(job: &Job) -> Vec<Sheet> {
    lockout(job, &plan(job).unwrap()).sheets
}

fn of<'a>(list: &'a [Sheet], tag: &str) -> &'a Sheet {
    list.iter().find(|s| s.devices.iter().any(|d| d == tag)).unwrap_or_else(|| panic!("no sheet for {tag}"))
}

fn tasks<'a>(s: &'a Sheet, clause: &str) -> Vec<&'a str> {
    s.steps.iter().filter(|x| x.clause == clause).flat_map(|x| &x.tasks).map(String::as_str).collect()
}

/// The second panelboard is taken away by the breaker of its transformer, and its line side is measured; the first, on the service
/// itself, has no switch of this plan.
#[test]
fn the_second_panelboard_has_a_sheet() {
    let list = sheets(&mill());
    let a3 = of(&list, "A3");
    assert_eq!(a3.item, Item::Panelboard);
    let sources: Vec<&Origin> = a3.sources.iter().map(|s| &s.origin).collect();
    assert_eq!(sources, [&Origin::Transformer { tag: "TP1".into() }]);
    assert!(!a3.sources[0].foreign && a3.sources[0].terminals == ["A3:1/L1", "A3:3/L2"], "{:?}", a3.sources);
    let tp1 = of(&list, "TP1");
    assert_eq!(a3.points.len(), 1);
    assert_eq!(a3.points[0].isolator, tp1.points[0].isolator, "the breaker of the primary");
    for pair in ["A3:1/L1", "A3:3/L2"] {
        assert!(a3.tests.iter().any(|t| t.at == pair && t.between == Between::PhaseToGround), "{:?}", a3.tests);
    }
    assert!(a3.stops.no_heat, "the control circuit hangs on it");
    assert!(!list.iter().any(|s| s.devices.iter().any(|d| d == "A2")));
}

/// Seen to move: a branch of another supply tied to a breaker of the second panelboard is a source of its own there.
#[test]
fn a_backfed_breaker_shows_on_the_panelboards_sheet() {
    let job = mill();
    let mut p = plan(&job).unwrap();
    let beacon = p.rows.iter().find(|r| r.from.device == "A3" && r.to.terminal.starts_with("A3-2")).unwrap().clone();
    let mut row = p.rows.iter().find(|r| r.from.device == "A2" && r.from.terminal == "1").unwrap().clone();
    row.to = beacon.from.clone();
    p.rows.push(row);
    let sources = of(&lockout(&job, &p).sheets, "A3").sources.clone();
    assert!(sources.iter().any(|s| matches!(&s.origin, Origin::Branch { panel, .. } if panel == "A2")), "{sources:?}");
}

/// The primary of the transformer is the transformer's own circuit.
#[test]
fn a_transformers_primary_is_its_own() {
    let list = sheets(&mill());
    let tp1 = of(&list, "TP1");
    assert!(tp1.sources.len() == 2 && tp1.sources.iter().all(|s| !s.foreign), "{:?}", tp1.sources);
}

/// A zone pump stopped leaves its zones cold, and the crew tells them so; a boiler pump leaves none.
#[test]
fn zones_without_heat_are_named() {
    use heatwright_core::config::ZoneDrive;
    for job in [workshop(), library(), mill()] {
        let list = sheets(&job);
        for s in list.iter().filter(|s| s.item == Item::Pump && !s.stops.no_heat) {
            let Subject::Pump(p) = s.subject else { continue };
            let served = |d: ZoneDrive| match d {
                ZoneDrive::Pump(q) => q == p,
                ZoneDrive::Valve { pump } => pump == Some(p),
            };
            let zones = job.zones.iter().enumerate().filter(|(_, z)| served(z.drive));
            let names: Vec<String> =
                zones.map(|(i, _)| job.names.of(Subject::Zone(heatwright_core::ZoneId(i as u8)))).collect();
            assert!(names.iter().all(|n| s.stops.zones.contains(n)), "{}: {names:?} {:?}", s.name, s.stops);
            let told = tasks(s, "(c)(9)").join(" ");
            assert_eq!(!s.stops.zones.is_empty(), told.contains("Without heat: "), "{told}");
            assert_eq!(!s.stops.zones.is_empty(), told.contains("frost"), "{told}");
        }
        assert!(list.iter().any(|s| s.item == Item::Pump && !s.stops.zones.is_empty()));
    }
}

/// The relays that tell another system hang on the beacon's circuit: with it open that system sees trouble.
#[test]
fn another_system_that_sees_trouble_is_told_of() {
    use crate::job::{AutomationContact, Shown};
    let mut job = mill();
    let place = job.panel.place;
    let contact = |name: &str, shows| AutomationContact { name: name.into(), shows, place, run_ft: 40.0, volts: 24.0 };
    job.automation = vec![contact("plant alarm", Shown::Alarm), contact("controller alive", Shown::Health)];
    let list = sheets(&job);
    let beacon = list.iter().find(|s| s.devices == ["PA1"]).unwrap();
    assert_eq!(beacon.stops.watchers.len(), job.automation.len(), "{:?}", beacon.stops);
    let told = tasks(beacon, "(c)(9)").join(" ");
    for a in &job.automation {
        assert!(told.contains(&a.name), "{told}");
    }
    assert!(!told.contains("nothing else stops"), "{told}");
    // Seen to move: without a contact for the other system nothing is told.
    let mut bare = job.clone();
    bare.automation.clear();
    let list = sheets(&bare);
    let beacon = list.iter().find(|s| s.devices == ["PA1"]).unwrap();
    assert!(tasks(beacon, "(c)(9)").join(" ").contains("nothing else stops"));
}

/// Nothing is said of a water line on a beacon, nor of calls on a receptacle, nor of one start of a box.
#[test]
fn each_other_thing_has_its_own_words() {
    for job in [library(), mill()] {
        let plan = plan(&job).unwrap();
        for s in lockout(&job, &plan).sheets.iter().filter(|s| s.item == Item::Other) {
            let d = plan.devices.iter().find(|d| d.tag == s.devices[0]).unwrap();
            let (down, back) = (tasks(s, "(d)(2)").join(" "), tasks(s, "(e)").join(" "));
            let plain = matches!(d.kind, Kind::Beacon | Kind::Receptacle | Kind::Strip | Kind::DryTransformer);
            assert_eq!(plain, !down.contains("calls that need it"), "{}: {down}", d.tag);
            assert!(!plain || s.stored.is_empty(), "{}: {:?}", d.tag, s.stored);
            assert!(!plain || !back.contains("watch one start"), "{}: {back}", d.tag);
            if let Some(Subject::Safety(id)) = d.subject {
                let door = job.safeties[id.index()].config.kind == heatwright_core::config::SafetyKind::DoorSwitch;
                assert_eq!(door, s.stored.is_empty(), "{}: {:?}", d.tag, s.stored);
            }
        }
    }
}

/// A box at a zone's fans is told by what it is, not by the zone's name alone.
#[test]
fn a_box_is_no_zone() {
    let job = mill();
    let list = sheets(&job);
    let name = job.names.of(Subject::Zone(heatwright_core::ZoneId(4)));
    let boxed = list.iter().find(|s| s.devices[0].starts_with("XF")).unwrap();
    assert!(boxed.name != name && boxed.name.contains(&name), "{}", boxed.name);
}

/// Only what can start is tried: no sheet of a door switch, a box, a receptacle asks for a start.
#[test]
fn only_what_can_start_is_tried() {
    for job in [library(), mill()] {
        for s in sheets(&job) {
            let asked = tasks(&s, "(d)(6)").join(" ").contains("try to start");
            let starts = !matches!(s.item, Item::Other | Item::Damper | Item::Valve)
                || s.devices.iter().any(|d| d.starts_with("TP"));
            assert_eq!(asked, starts, "{}", s.name);
        }
    }
}

#[test]
fn one_point_has_no_order() {
    for s in sheets(&mill()) {
        for clause in ["(d)(3)", "(e)"] {
            let text = tasks(&s, clause).join(" ");
            assert!(!text.contains("point 1, in this order"), "{text}");
            assert!(s.points.len() != 1 || !text.contains("the points"), "{}: {text}", s.name);
        }
    }
}

/// One pump for all condensate names the boilers with a drain switch that no other pump serves.
#[test]
fn the_boilers_of_a_condensate_pump_are_named() {
    let mut job = library();
    job.condensate_pumps[0].boiler = None;
    job.condensate_pumps.truncate(1);
    use heatwright_core::config::{SafetyCircuit, SafetyKind, SafetyScope};
    let of_boiler = |s: &&mut crate::job::Safety| {
        matches!(s.config.scope, SafetyScope::Boiler(_)) && s.config.circuit == SafetyCircuit::Limit
    };
    job.safeties.iter_mut().find(of_boiler).unwrap().config.kind = SafetyKind::Condensate;
    let list = sheets(&job);
    let down = tasks(list.iter().find(|s| s.item == Item::CondensatePump).unwrap(), "(d)(2)").join(" ");
    let drained: Vec<String> = job
        .safeties
        .iter()
        .filter(|s| s.config.kind == heatwright_core::config::SafetyKind::Condensate)
        .filter_map(|s| match s.config.scope {
            heatwright_core::config::SafetyScope::Boiler(b) => Some(job.names.of(Subject::Boiler(b))),
            _ => None,
        })
        .collect();
    assert!(!drained.is_empty() && drained.iter().all(|n| down.contains(n)), "{drained:?}: {down}");
}

/// A motor's own switch stays live on its line side: the line disconnect in the starter panel takes that away, and is named.
#[test]
fn the_nearest_switch_ahead_is_named() {
    let job = mill();
    let p = plan(&job).unwrap();
    let trace = Trace::of(&p);
    let map = Map::of(&trace);
    let mut named = 0;
    for s in lockout(&job, &p).sheets.iter().filter(|s| s.item == Item::Pump) {
        let open: BTreeSet<Isolator> = s.points.iter().map(|p| p.isolator.clone()).collect();
        for said in &s.stays_live {
            let Some((at, by)) = said.split_once("; off by Q") else { continue };
            let tag = format!("Q{}", by.split(' ').next().unwrap());
            let mut words = at.split([' ', ',']);
            let (mark, of) = (words.nth(1).unwrap(), words.nth(1).unwrap());
            let d = p.devices.iter().position(|d| d.tag == of).unwrap();
            let group = trace.group_of(d, p.devices[d].find(mark).unwrap()).unwrap();
            assert!(!map.sources(&[group], &open).is_empty());
            let mut more = open.clone();
            more.insert(Isolator::Disconnect { tag });
            assert!(map.sources(&[group], &more).is_empty(), "{said}");
            assert!(by.contains(" or breaker "), "{said}");
            named += 1;
        }
    }
    assert!(named >= 3, "the three lines of a pump at least");
}

/// A fan behind a starter: its own two disconnects, at the fan and in the starter panel, take away every source of it, its aquastat's
/// too, and nothing else stops. Seen to move: its aquastat led back to the relay panel's control circuit.
#[test]
fn a_fans_own_disconnects_make_its_coil_circuit_dead() {
    let job = mill();
    let mut p = plan(&job).unwrap();
    let own = |s: &Sheet| {
        let of = |i: &Isolator| matches!(i, Isolator::Disconnect { tag } if tag == "QF6.1" || tag == "QLF6.1");
        s.points.iter().all(|x| of(&x.isolator))
    };
    let list = lockout(&job, &p).sheets;
    let fan = of(&list, "MF6.1");
    assert!(fan.devices.iter().any(|d| d == "BF6.1"));
    let coil = fan.sources.iter().find(|s| s.origin == Origin::Transformer { tag: "TF6.1".into() }).unwrap();
    assert!(
        coil.terminals == ["BF6.1:1", "BF6.1:2", "QF6.1:C1", "QF6.1:C2"] && !coil.foreign && coil.volts == 120.0,
        "{coil:?}"
    );
    assert!(fan.sources.len() == 2 && own(fan), "{:?}", fan.points);
    // The line side of the switch at the fan is dead by the one in the starter panel: it is measured, not taken for granted.
    for mark in ["QF6.1:1/L1", "QF6.1:3/L2", "QF6.1:5/L3"] {
        let on = |t: &&Test| t.at == mark || t.against == mark;
        let kinds: Vec<Between> = fan.tests.iter().filter(on).map(|t| t.between).collect();
        assert_eq!(kinds.iter().filter(|b| **b == Between::PhaseToGround).count(), 1, "{mark}: {kinds:?}");
        assert_eq!(kinds.len(), 3, "{mark}: to the two other lines and to ground: {kinds:?}");
        assert!(fan.sources[0].terminals.iter().any(|t| t == mark));
    }
    assert_eq!(fan.stops, Stops::default(), "nothing else stops");
    // Its starter is dead too: the panel's other starters keep their own.
    let there = |s: &&Source| s.terminals.iter().any(|t| t.starts_with("QAF6.1:A"));
    let starters = list.iter().find(|s| s.item == Item::StarterPanel).unwrap();
    let feeds: Vec<&Origin> = starters.sources.iter().filter(there).map(|s| &s.origin).collect();
    assert_eq!(feeds, [&Origin::Transformer { tag: "TF6.1".into() }]);

    let live = p.rows.iter().find(|r| r.wire == "QR1-2/T1" && r.from.device == "X1").unwrap().from.clone();
    let to_aquastat = |l: &crate::row::Landing| l.device == "BF6.1" && l.terminal == "1";
    let row = p.rows.iter_mut().find(|r| to_aquastat(&r.to) || to_aquastat(&r.from)).unwrap();
    (row.from, row.to) = (live, crate::row::Landing { device: "BF6.1".into(), terminal: "1".into() });
    let list = lockout(&job, &p).sheets;
    assert!(!own(of(&list, "MF6.1")));
}
