//! Every state that a small plant's controller can reach, searched breadth first over the shipped `State`.
//!
//! The plant answers a step of a minute at a time: calls come and go, the water is cold, at its target or hot, flow follows
//! its pump or fails, a flame follows its demand or fails, the boiler's limit and the door switch open and close, somebody
//! presses acknowledge; where the plant has them, the tank calls, the damper fails to open, the supply sensor breaks. After
//! each step the controller is ticked until nothing is due at once. States are compared after `rebased`, two zones that are
//! alike count as one order; the laws are coarse (one step fills a sum, no filter, no trim) and are tested apart, beside their
//! code. With each state go the ages that the watchers need (how long each demand and pump has been on or off), so that the
//! invariants are judged from inputs and outputs alone.
//!
//! The usual run bounds the number of states of the larger plants; `HEATWRIGHT_SEARCH=full` searches all of them, in two threads.
//! What a whole run costs stands in DEVELOPERS.md. Two things make it possible and leave nothing out: a state is kept as the
//! 16 bytes of its key and the step that led to it, and walked to again when its turn comes; and a step with a failed flow, flame
//! or damper whose relay is off all through it is the step without the fault.
//!
//! What the search leaves out: more than one fault in the same step (they follow each other), faults shorter than a minute, hand
//! switches, low water, a lead that changes (the order of the file is kept), outdoor weather that changes, mixing valves, exercise,
//! purge and frost; and the laws' own numbers, which are a step wide here. Ages beyond two minutes count alike for the watchers.

#[path = "../common/mod.rs"]
mod common;
mod plant;
mod walk;

use common::*;
use heatwright_core::{boilers::BoilerState, config::*, pumps::PumpState, reset::Season, *};
use plant::*;
use walk::*;

fn full() -> bool {
    std::env::var_os("HEATWRIGHT_SEARCH").is_some_and(|v| v == "full")
}

/// Searches a plant and prints what was visited.
#[allow(clippy::print_stdout, reason = "the count of states is the result")]
fn hold(name: &str, kind: Kind, most: usize) -> Found {
    let plant = Plant::new(kind);
    let most = if full() { usize::MAX } else { most };
    let found = search(&plant, most, true);
    if let Some((what, way)) = &found.wrong {
        panic!("{}", told(&plant, what, way));
    }
    println!(
        "{name}: {} states{}, {} steps, every invariant held; heat within {} min from each",
        found.states,
        if found.all { "" } else { " (bounded)" },
        found.steps,
        found.slowest + 1
    );
    found
}

const TARGET: BoilerDrive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };

#[test]
fn one_boiler_one_zone_whatever_happens() {
    let found = hold("1 boiler, 1 zone", PLAIN, usize::MAX);
    assert!(found.all && found.states > 500, "{}", found.states);
}

#[test]
fn one_boiler_two_zones_whatever_happens() {
    assert!(hold("1 boiler, 2 zones", Kind { zones: 2, ..PLAIN }, 4_000).states > 1000);
}

#[test]
fn two_boilers_one_zone_whatever_happens() {
    assert!(hold("2 boilers, 1 zone", Kind { boilers: 2, ..PLAIN }, 8_000).states > 1000);
}

#[test]
fn two_boilers_two_zones_whatever_happens() {
    assert!(hold("2 boilers, 2 zones", Kind { boilers: 2, zones: 2, ..PLAIN }, 2_000).states > 1000);
}

/// Two boilers and two zones with one kind of fault at a time: the searches that are soon whole, where a whole one with every
/// fault takes most of an hour of processor.
fn two_by_two(name: &str, faults: &'static [Mishap], most: usize) {
    assert!(hold(name, Kind { boilers: 2, zones: 2, faults, ..PLAIN }, most).states > 1000);
}

#[test]
fn two_boilers_two_zones_without_a_fault() {
    two_by_two("2 boilers, 2 zones, no fault", &[], usize::MAX);
}

#[test]
fn two_boilers_two_zones_and_the_door_switch() {
    two_by_two("2 boilers, 2 zones, door switch", &[Mishap::Door], 2_000);
}

#[test]
fn two_boilers_two_zones_and_their_limits() {
    two_by_two("2 boilers, 2 zones, limits", &[Mishap::Limit], 2_000);
}

#[test]
fn two_boilers_two_zones_and_failed_flow() {
    two_by_two("2 boilers, 2 zones, flow", &[Mishap::Flow, Mishap::Button], 2_000);
}

#[test]
fn two_boilers_two_zones_and_failed_flame() {
    two_by_two("2 boilers, 2 zones, flame", &[Mishap::Flame, Mishap::Button], 2_000);
}

#[test]
fn a_tank_with_priority_whatever_happens() {
    assert!(hold("1 boiler, 1 zone, tank", Kind { tank: true, ..PLAIN }, 4_000).states > 1000);
}

#[test]
fn a_damper_whatever_happens() {
    assert!(hold("1 boiler, 1 zone, damper", Kind { damper: true, ..PLAIN }, 6_000).states > 1000);
}

#[test]
fn a_supply_sensor_that_fails_whatever_happens() {
    assert!(hold("1 boiler, 1 zone, sensor", Kind { lost: true, ..PLAIN }, 6_000).states > 1000);
}

#[test]
fn a_boiler_by_rate_whatever_happens() {
    assert!(hold("1 boiler by rate, 1 zone", Kind { drive: BoilerDrive::Rate, ..PLAIN }, 6_000).states > 1000);
}

#[test]
fn a_boiler_by_target_whatever_happens() {
    assert!(hold("1 boiler by target, 1 zone", Kind { drive: TARGET, ..PLAIN }, 6_000).states > 1000);
}

#[test]
fn two_boilers_by_rate_whatever_happens() {
    let kind = Kind { boilers: 2, drive: BoilerDrive::Rate, ..PLAIN };
    assert!(hold("2 boilers by rate, 1 zone", kind, 2_000).states > 1000);
}

/// A controller that does not look at the limit of a boiler that it is about to let go.
#[test]
fn a_planted_fault_is_found_by_the_shortest_way() {
    let mut plant = Plant::new(PLAIN);
    plant.spoil = |state, plant, seen| {
        let leaving = state.control.boilers[0].state.firing() && state.control.staging.enlisted.is_empty();
        if leaving {
            let u = ContactUse::Safety(high_limit(0), Tap::Chain);
            seen.set(plant.config.points.contact(u).unwrap(), true);
        }
    };
    let (what, way) = search(&plant, usize::MAX, false).wrong.expect("the fault is found");
    assert!(what.contains("has a demand although"), "{what}");
    insta::assert_snapshot!(told(&plant, &what, &way));
}

/// Minutes that the demand of a boiler has stood.
fn burns(state: &State, b: usize) -> Option<u32> {
    match state.control.boilers[b].state {
        BoilerState::Lighting { began, .. } | BoilerState::Firing { began } | BoilerState::Holding { began } => {
            Some(state.at.since(began).whole_s() / 60)
        }
        _ => None,
    }
}

fn rests(state: &State) -> Option<u32> {
    state.control.boilers[0].state.off_since().map(|t| state.at.since(t).whole_s() / 60)
}

fn set(plant: &Plant, o: &mut Outputs, u: RelayUse, on: bool) {
    o.relays[plant.config.points.relay(u).unwrap().index()].on = on;
}

/// A planted fault of the controller.
struct Planted {
    what: &'static str,
    kind: Kind,
    broken: fn(&Plant, &mut State, &mut Outputs),
    found: &'static str,
}

const D0: RelayUse = RelayUse::Demand(BoilerId(0));

fn planted() -> Vec<Planted> {
    let p = |what, found, broken| Planted { what, kind: PLAIN, broken, found };
    vec![
        p("forgets the shortest stop", "starts after a rest of", |_, s, _| {
            if let BoilerState::Off { since } = &mut s.control.boilers[0].state {
                *since = Instant::ZERO;
            }
        }),
        p("forgets the shortest run", "without need", |p, s, o| {
            if burns(s, 0) == Some(1) {
                set(p, o, D0, false);
            }
        }),
        p("forgets the overrun", "'s pump stands", |p, s, o| {
            if rests(s) == Some(1) {
                set(p, o, RelayUse::Pump(PumpId(1)), false);
            }
        }),
        p("forgets the shortest run of a pump", "pump 1 stops after", |p, s, o| {
            if matches!(s.control.pumps.get(0), Some(PumpState::On { since }) if s.at > since) {
                set(p, o, RelayUse::Pump(PumpId(0)), false);
            }
        }),
        p("never settles", "does not come to rest", |_, s, _| s.control.reset.season = Season::Warm),
        p("never lights", "no heat within the bound", |p, _, o| set(p, o, D0, false)),
        Planted {
            kind: Kind { boilers: 2, ..PLAIN },
            ..p("stops one boiler for the other's limit", "the limit of another boiler stops boiler 2", |p, s, o| {
                let open =
                    s.held.closed(p.config.points.contact(ContactUse::Safety(high_limit(0), Tap::Chain)).unwrap());
                if !open && burns(s, 1).is_some_and(|m| m >= 2) {
                    set(p, o, RelayUse::Demand(BoilerId(1)), false);
                }
            })
        },
    ]
}

#[test]
fn each_watcher_of_the_search_finds_a_fault_that_is_planted_for_it() {
    for fault in planted() {
        let mut plant = Plant::new(fault.kind);
        plant.broken = fault.broken;
        if fault.what.ends_with("run of a pump") {
            plant.config.pumps.iter_mut().for_each(|p| p.on_min = Span::from_min(2));
        }
        let (what, _) = search(&plant, 40_000, fault.what == "never lights").wrong.expect(fault.what);
        assert!(what.contains(fault.found), "a controller that {}: {what}", fault.what);
    }
}

/// A controller that takes a broken lead for cold water.
#[test]
fn a_failed_sensor_that_lights_a_boiler_is_found() {
    let mut plant = Plant::new(Kind { lost: true, ..PLAIN });
    plant.spoil = |_, plant, seen| {
        let slot = &mut seen.sensors[plant.config.supply_sensor().unwrap().index()];
        if slot.temp().is_none() {
            *slot = Water::Cold.reading();
        }
    };
    let (what, _) = search(&plant, usize::MAX, false).wrong.expect("the fault is found");
    assert_eq!(what, "a failed sensor starts boiler 1");
}

/// A damper whose proof nobody asks for.
#[test]
fn a_demand_without_air_is_found() {
    let mut plant = Plant::new(Kind { damper: true, ..PLAIN });
    plant.spoil = |_, plant, seen| seen.set(plant.config.points.contact(ContactUse::DamperOpen).unwrap(), true);
    let (what, _) = search(&plant, usize::MAX, false).wrong.expect("the fault is found");
    assert!(what.contains("DamperOpen forbids it"), "{what}");
}

/// Without a flame no heat comes: the bound is seen to fail.
#[test]
fn a_boiler_that_never_lights_breaks_the_bound() {
    let mut plant = Plant::new(PLAIN);
    plant.config.boilers[0].flame_proof_max = Span::from_min(90);
    plant.config.boilers[0].off_min = Span::from_min(60);
    assert_eq!(plant.heats(&plant.start(), 1), None);
}
