//! Insulation, piece by piece between open contacts.
//!
//! Position: every breaker and every disconnect open, nothing pulled, everything dead. What is then joined by metal, by contacts closed
//! at rest (an overload, a limit) or through a coil is one piece: its conductors are tied together and tested against ground, so that no
//! coil lies between two of them. Line side and load side of a switch are two pieces. What would be harmed by the test voltage, or
//! leads around a switch, comes off first: motors, electronics, windings, ground-fault protection. The neutral, and what grounds a
//! transformer, is lifted, since it lies on ground there.
//!
//! Volts: 500 V dc up to 250 V, 1000 V dc above (acceptance tests for equipment of 250 V and 600 V, from memory). 1 megohm or more
//! passes, the usual bound for a circuit of such volts (from memory); new conductors read far more.
//!
//! What it deliberately does not list: Class 2, which is rung out and not tested with such volts.

use crate::{
    device::{Device, Kind},
    natural,
    part::{Actuator, LoadUse, Part, Rest, T},
    plan::{Feed, Plan},
    row::{Class, Row},
    trace::Trace,
};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// One piece of a circuit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Insulation {
    /// The circuit.
    pub circuit: String,
    /// What it feeds.
    pub feeds: String,
    /// Tags of the devices between which it lies, without strips and boxes.
    pub between: Vec<String>,
    /// Wire numbers of its conductors, tied together for the test.
    pub wires: Vec<String>,
    /// Test voltage, dc.
    pub volts_dc: f64,
    /// Least insulation, megohm.
    pub least_megohm: f64,
    /// Tags of the devices to take off first.
    pub take_off: Vec<String>,
    /// Terminal at which the grounded conductor is lifted; empty for none.
    pub lift: String,
}

/// Up to these volts of the circuit the lower test voltage is taken.
const LOW_V: f64 = 250.0;
/// Test voltage of low and of higher circuits, dc.
const TEST_V: [f64; 2] = [500.0, 1000.0];
/// Least insulation, megohm.
const LEAST_MEGOHM: f64 = 1.0;

/// Every circuit of power and control, piece by piece.
pub(super) fn insulation(plan: &Plan, trace: &Trace<'_>) -> Vec<Insulation> {
    let piece = pieces(trace);
    let mut list = Vec::new();
    for c in plan.circuits.iter().filter(|c| !matches!(c.feed, Feed::Controller)) {
        let tested = |r: &&Row| r.circuit == c.name && matches!(r.class, Class::Power | Class::Control);
        // Pieces of the same devices are the poles of one run: one line.
        let mut found: Vec<(BTreeSet<usize>, Vec<&Row>, bool)> = Vec::new();
        let (mut grounded, mut ground): (Vec<&Row>, BTreeSet<usize>) = Default::default();
        let mut by_piece: Vec<(usize, Vec<&Row>)> = Vec::new();
        for r in plan.rows.iter().filter(tested) {
            let Some(g) = trace.landing(&r.from).map(|n| trace.group(n)) else { continue };
            let p = piece.get(&g).copied().unwrap_or(g);
            if trace.is_grounded(g) {
                grounded.push(r);
                ground.insert(p);
                continue;
            }
            match by_piece.iter_mut().find(|(q, _)| *q == p) {
                Some((_, rows)) => rows.push(r),
                None => by_piece.push((p, vec![r])),
            }
        }
        for (p, rows) in by_piece {
            // Through coils: these hang on the grounded conductor.
            let hangs = ground.contains(&p);
            let on: BTreeSet<usize> =
                rows.iter().flat_map(|r| [&r.from, &r.to]).filter_map(|l| trace.device(&l.device)).collect();
            match found.iter_mut().find(|(o, ..)| *o == on) {
                Some((_, all, with)) => {
                    all.extend(rows);
                    *with |= hangs;
                }
                None => found.push((on, rows, hangs)),
            }
        }
        let lift = lift(plan, &c.feed, &grounded);
        // The grounded conductor goes through every switch: it is tested once, with the coils on it, else with the piece at the supply.
        let with_ground = found.iter().position(|f| f.2).unwrap_or(0);
        for (i, (on, rows, _)) in found.into_iter().enumerate() {
            let with: Vec<&Row> = if i == with_ground { grounded.clone() } else { Vec::new() };
            // The lifted conductor goes on to every load of the circuit, past switches that break one pole only.
            let mut tied = on.clone();
            tied.extend(with.iter().flat_map(|r| [&r.from, &r.to]).filter_map(|l| trace.device(&l.device)));
            list.push(Insulation {
                circuit: c.name.clone(),
                feeds: c.label.clone(),
                between: tags(trace, &on, |d| d.kind != Kind::Strip),
                wires: wires(rows.into_iter().chain(with)),
                volts_dc: TEST_V[usize::from(c.volts.max(c.volts_to_ground) > LOW_V)],
                least_megohm: LEAST_MEGOHM,
                take_off: tags(trace, &tied, comes_off),
                lift: if i == with_ground { lift.clone() } else { String::new() },
            });
        }
    }
    list
}

fn tags(trace: &Trace<'_>, on: &BTreeSet<usize>, wanted: impl Fn(&Device) -> bool) -> Vec<String> {
    let devices = on.iter().filter_map(|d| trace.devices().get(*d)).filter(|d| wanted(d));
    let mut list: Vec<String> = devices.map(|d| d.tag.clone()).collect();
    list.sort_by_cached_key(|t| natural::key(t));
    list
}

fn wires<'a>(rows: impl Iterator<Item = &'a Row>) -> Vec<String> {
    let mut list: Vec<String> = rows.map(|r| r.wire.clone()).collect();
    list.sort_by_cached_key(|w| natural::key(w));
    list.dedup();
    list
}

/// Where the grounded conductor of a circuit leaves ground: its terminal on the neutral bar, or what grounds its transformer.
fn lift(plan: &Plan, feed: &Feed, grounded: &[&Row]) -> String {
    match feed {
        Feed::Panelboard { panel, .. } => {
            let row = grounded.iter().find(|r| r.from.device == *panel && r.from.terminal.starts_with('N'));
            row.map_or_else(String::new, |r| format!("{panel}:{}", r.from.terminal))
        }
        Feed::Transformer(tag) => {
            let end = |r: &Row| {
                let ends = [&r.from, &r.to].into_iter();
                ends.filter(|l| l.device == *tag && l.terminal.starts_with('X')).map(|l| l.terminal.clone()).next()
            };
            let row = plan.rows.iter().filter(|r| r.class == Class::Ground).find_map(end);
            row.map_or_else(String::new, |mark| format!("{tag}:{mark}"))
        }
        _ => String::new(),
    }
}

/// Which piece each group belongs to, by its smallest group.
fn pieces(trace: &Trace<'_>) -> BTreeMap<usize, usize> {
    let mut root: BTreeMap<usize, usize> = BTreeMap::new();
    fn find(root: &BTreeMap<usize, usize>, mut g: usize) -> usize {
        while let Some(up) = root.get(&g).copied().filter(|up| *up != g) {
            g = up;
        }
        g
    }
    for (d, part) in trace.parts() {
        let device = &trace.devices()[d];
        let ends: Option<(T, T)> = match part {
            Part::Contact { a, b, rest: Rest::Closed, by } if rests_closed(device, *by) => Some((*a, *b)),
            Part::Coil { a, b, .. } => Some((*a, *b)),
            _ => None,
        };
        let Some((a, b)) = ends.and_then(|(a, b)| Some((trace.group_of(d, a)?, trace.group_of(d, b)?))) else {
            continue;
        };
        let (a, b) = (find(&root, a), find(&root, b));
        root.insert(a.max(b), a.min(b));
    }
    root.keys().map(|g| (*g, find(&root, *g))).collect()
}

/// True for a contact that joins two conductors of one piece: neither a switch nor in something that comes off, nor open while it is dead.
fn rests_closed(d: &Device, by: Actuator) -> bool {
    let powered = d.parts.iter().any(|p| matches!(p, Part::Load { what: LoadUse::SafetySupply(_), .. }));
    match by {
        Actuator::Breaker(_) | Actuator::Opened | Actuator::BoilerSwitchOff(_) => false,
        _ => !powered && !comes_off(d),
    }
}

/// True for what a test voltage would harm, or what leads it where it does not belong: motors, electronics, windings, ground-fault
/// protection.
pub(super) fn comes_off(d: &Device) -> bool {
    d.parts.iter().any(|p| {
        matches!(
            p,
            Part::Transformer { .. }
                | Part::Input { .. }
                | Part::Contact { by: Actuator::GroundFault, .. }
                | Part::Load { .. }
                | Part::Load3 { .. }
        )
    })
}
