//! The procedure of the two fixtures against the solved network.

use super::*;
use crate::{
    fixtures::{library, workshop},
    part::{LoadUse, Part, Rest},
    plan::plan,
    row::Colour,
};
use heatwright_core::config::SafetyCircuit;

#[test]
fn every_conductor_is_rung_out_once() {
    for job in [workshop(), library()] {
        let plan = plan(&job).unwrap();
        let c = checkout(&job, &plan);
        assert_eq!(c.ring.len(), plan.rows.iter().filter(|r| r.colour != Colour::Shield).count());
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
