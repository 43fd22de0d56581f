//! The schedules: rows by wire, landings by terminal, the panelboard's directory.
//!
//! Rows stand circuit by circuit in the order the circuits were laid, and within a circuit in walking order: from the
//! panelboard to the relay panel, inside it, then run by run outward; in each place by wire number and terminal, numbers as
//! numbers. A change moves only what it changes.
//!
//! The directory lists every space of the smallest usual panelboard that holds the breakers and the spares asked for: 12, 18,
//! 20, 24, 30, 32, 40, 42, 54, 60 or 84 spaces (common practice, no source), else an even number. Odd spaces stand on the
//! left, even ones on the right. A space beyond the spares asked for is a spare as well.

use crate::{
    device::DeviceId,
    job::Job,
    kinds::panelboard::phase_of,
    natural,
    pass::{
        boards::{Board, boards, volts},
        conductors::Conductor,
        devices::Role,
        loom::{At, Carries, Loom, Way},
        protection::Protection,
        raceways::run_name,
    },
    plan::{Breaker, DirectoryEntry, Feed, PanelSide, TerminalLanding},
    row::{Landing, Row},
};
use std::collections::{BTreeMap, HashMap};

/// All rows.
pub fn rows(loom: &Loom, p: &Protection, conductors: &[Conductor], numbers: &[String]) -> Vec<Row> {
    let boxes: Vec<DeviceId> = (0..loom.inventory.devices.len()).map(|d| enclosure(loom, DeviceId(d as u16))).collect();
    let enclosure = |d: DeviceId| boxes.get(usize::from(d.0)).copied().unwrap_or(d);
    let depth = depths(loom, &enclosure);
    let tag = |at: At| loom.device(at.device).tag.as_str();
    let mark = |at: At| loom.device(at.device).terminals.get(usize::from(at.t.0)).map_or("", |t| t.mark.as_str());
    let places: Vec<(usize, usize, String, bool)> = loom
        .wires
        .iter()
        .map(|w| {
            let (far, run) = match w.way {
                // Inside one device, where that stands: a pigtail, a jumper.
                Way::Inside if w.from.device == w.to.device => {
                    (depth.get(&enclosure(w.from.device)).copied().unwrap_or(1), String::new())
                }
                Way::Inside => (1, String::new()),
                Way::Run(key, _) => {
                    let of = |d: DeviceId| depth.get(&enclosure(d)).copied().unwrap_or(usize::MAX);
                    (of(key.from).min(of(key.to)), run_name(loom, key))
                }
            };
            let ground = matches!(w.carries, Carries::Ground | Carries::Shield | Carries::Bond);
            (loom.legs[w.leg].circuit, far, run, ground)
        })
        .collect();
    let mut order: Vec<usize> = (0..loom.wires.len()).collect();
    order.sort_by(|i, j| {
        let ((a, b), (v, w)) = ((&places[*i], &places[*j]), (&loom.wires[*i], &loom.wires[*j]));
        let ends = |x: At, y: At| natural::cmp(tag(x), tag(y)).then_with(|| natural::cmp(mark(x), mark(y)));
        (a.0, a.1)
            .cmp(&(b.0, b.1))
            .then_with(|| natural::cmp(&a.2, &b.2))
            .then_with(|| a.3.cmp(&b.3))
            .then_with(|| natural::cmp(&numbers[*i], &numbers[*j]))
            .then_with(|| ends(v.from, w.from))
            .then_with(|| ends(v.to, w.to))
    });
    order
        .into_iter()
        .map(|i| {
            let (w, c) = (&loom.wires[i], &conductors[i]);
            let leg = &loom.legs[w.leg];
            let circuit = &loom.circuits[leg.circuit];
            let dead = matches!(w.carries, Carries::Ground | Carries::Shield | Carries::Bond);
            Row {
                wire: numbers[i].clone(),
                from: landing(loom, w.from),
                to: landing(loom, w.to),
                circuit: circuit.name.clone(),
                class: c.class,
                awg: c.awg.mark().into(),
                insulation: c.insulation.into(),
                colour: c.colour,
                run: match w.way {
                    Way::Inside => String::new(),
                    Way::Run(key, _) => run_name(loom, key),
                },
                length_ft: c.length_ft,
                volts: leg.volts.max(if leg.volts > 60.0 { circuit.volts_to_ground } else { 0.0 }),
                amps: if dead { 0.0 } else { leg.amps },
                drop_percent: if dead { 0.0 } else { p.legs[w.leg].drop_percent },
                purpose: w.purpose.clone(),
            }
        })
        .collect()
}

/// How many runs lie between the panelboard and each enclosure. Class 2 cables and control runs count like any other.
fn depths(loom: &Loom, enclosure: &dyn Fn(DeviceId) -> DeviceId) -> BTreeMap<DeviceId, usize> {
    let mut depth: BTreeMap<DeviceId, usize> = BTreeMap::new();
    for (role, far) in [
        (Role::Panelboard(Board::Main), 0),
        (Role::Panelboard(Board::Second), 0),
        (Role::GroundBar, 1),
        (Role::StarterGroundBar, 1),
    ] {
        depth.extend(loom.inventory.id(role).map(|d| (d, far)));
    }
    let between = |w: &crate::pass::loom::Wire| match w.way {
        Way::Run(key, _) => Some((enclosure(key.from), enclosure(key.to))),
        Way::Inside => None,
    };
    let mut runs: Vec<(DeviceId, DeviceId)> = loom.wires.iter().filter_map(between).collect();
    runs.sort_unstable();
    runs.dedup();
    // Each round reaches one run further.
    for round in 0..loom.inventory.devices.len() {
        let before = depth.len();
        for (a, b) in runs.iter().copied() {
            for (near, far) in [(a, b), (b, a)] {
                if depth.get(&near) == Some(&round) {
                    depth.entry(far).or_insert(round + 1);
                }
            }
        }
        if depth.len() == before && round > 1 {
            break;
        }
    }
    depth
}

fn enclosure(loom: &Loom, d: DeviceId) -> DeviceId {
    crate::pass::grounding::enclosure(&loom.inventory, d)
}

fn landing(loom: &Loom, at: At) -> Landing {
    let d = loom.device(at.device);
    Landing {
        device: d.tag.clone(),
        terminal: d.terminals.get(usize::from(at.t.0)).map_or_else(String::new, |t| t.mark.clone()),
    }
}

/// What lands on each terminal, device by device.
pub fn landings(loom: &Loom, rows: &[Row]) -> Vec<TerminalLanding> {
    // Rows by the device that they end on, in the order of the rows: few of them, so that marks are compared where they may meet.
    let mut ends: HashMap<&str, Vec<(&Landing, &Landing, &Row)>> = HashMap::new();
    for r in rows {
        ends.entry(&r.from.device).or_default().push((&r.from, &r.to, r));
        if r.to != r.from {
            ends.entry(&r.to.device).or_default().push((&r.to, &r.from, r));
        }
    }
    let mut out = Vec::new();
    for d in &loom.inventory.devices {
        let here = ends.get(d.tag.as_str()).map_or(&[][..], Vec::as_slice);
        for t in &d.terminals {
            for (at, far, r) in here.iter().filter(|e| e.0.terminal == t.mark) {
                out.push(TerminalLanding {
                    at: (*at).clone(),
                    place: d.place,
                    wire: r.wire.clone(),
                    far: (*far).clone(),
                    run: r.run.clone(),
                });
            }
        }
    }
    out
}

/// Usual numbers of spaces of a panelboard.
const SIZES: [u8; 11] = [12, 18, 20, 24, 30, 32, 40, 42, 54, 60, 84];

/// The panelboards' directories: every space of them.
pub fn directory(job: &Job, loom: &Loom, breakers: &[Breaker]) -> Vec<DirectoryEntry> {
    boards(job).iter().flat_map(|b| of_board(job, loom, breakers, *b)).collect()
}

/// True where control transformers of starters hang on a branch circuit.
fn with_coils(loom: &Loom, c: &crate::plan::Circuit) -> bool {
    let supply = |d: crate::device::DeviceId| loom.device(d).kind == crate::device::Kind::ControlTransformer;
    loom.wires.iter().any(|w| {
        loom.circuits[loom.legs[w.leg].circuit].name == c.name && (supply(w.from.device) || supply(w.to.device))
    })
}

fn of_board(job: &Job, loom: &Loom, breakers: &[Breaker], board: Board) -> Vec<DirectoryEntry> {
    let phases = volts(job, board).phases();
    let side = |space: u8| if space % 2 == 1 { PanelSide::Left } else { PanelSide::Right };
    let mut out = Vec::new();
    for c in &loom.circuits {
        let Feed::Panelboard { panel, spaces } = &c.feed else { continue };
        if panel != board.tag() {
            continue;
        }
        let amps = breakers.iter().find(|b| b.circuit == c.name).map_or(0, |b| b.amps);
        for (i, s) in spaces.iter().enumerate() {
            out.push(DirectoryEntry {
                panel: panel.clone(),
                space: *s,
                side: side(*s),
                phase: phase_of(*s, phases),
                circuit: c.name.clone(),
                amps,
                poles: spaces.len() as u8,
                pole: i as u8 + 1,
                feeds: match with_coils(loom, c) {
                    true => format!("{}, with their coil circuits", c.label),
                    false => c.label.clone(),
                },
                va: c.va / spaces.len() as f64,
            });
        }
    }
    for space in 1..=spaces_needed(&out, job.spare_spaces) {
        if out.iter().any(|e| e.space == space) {
            continue;
        }
        out.push(DirectoryEntry {
            panel: board.tag().into(),
            space,
            side: side(space),
            phase: phase_of(space, phases),
            circuit: String::new(),
            amps: 0,
            poles: 0,
            pole: 0,
            feeds: "spare".into(),
            va: 0.0,
        });
    }
    out.sort_by_key(|e| e.space);
    out
}

/// Spaces of the smallest usual panelboard with these breakers and so many spares.
fn spaces_needed(taken: &[DirectoryEntry], spares: u8) -> u8 {
    let last = taken.iter().map(|e| e.space).max().unwrap_or(0);
    let count = taken.len().saturating_add(usize::from(spares)).min(usize::from(u8::MAX)) as u8;
    let least = last.max(count);
    let even = least.saturating_add(least % 2);
    SIZES.into_iter().find(|s| *s >= least).unwrap_or(even)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        fixtures::{library, workshop},
        plan::plan,
    };

    #[test]
    fn the_directory_lists_every_space() {
        for job in [workshop(), library()] {
            let p = plan(&job).unwrap();
            let n = p.directory.len() as u8;
            let numbers: Vec<u8> = p.directory.iter().map(|e| e.space).collect();
            assert_eq!(numbers, (1..=n).collect::<Vec<u8>>(), "every space once, in order");
            assert!(SIZES.contains(&n));
            let spares = p.directory.iter().filter(|e| e.amps == 0).count();
            assert!(spares >= usize::from(job.spare_spaces));
            for e in &p.directory {
                assert_eq!(e.side == PanelSide::Left, e.space % 2 == 1);
                assert_eq!(e.pole == 0, e.amps == 0);
            }
            for b in p.breakers.iter().filter(|b| b.poles > 1) {
                let poles: Vec<(u8, u8)> =
                    p.directory.iter().filter(|e| e.circuit == b.circuit).map(|e| (e.space, e.pole)).collect();
                assert_eq!(poles.len(), usize::from(b.poles));
                assert!(poles.windows(2).all(|w| w[1].0 == w[0].0 + 2 && w[1].1 == w[0].1 + 1), "{poles:?}");
            }
        }
    }

    /// Seen to fail: more spares than the next size holds make the panelboard larger.
    #[test]
    fn more_spares_need_a_larger_panelboard() {
        let mut job = library();
        let before = plan(&job).unwrap().directory.len();
        job.spare_spaces = 30;
        assert!(plan(&job).unwrap().directory.len() > before);
        assert_eq!(spaces_needed(&[], 0), 12);
        assert_eq!(spaces_needed(&[], 85), 86);
        assert_eq!(spaces_needed(&[], u8::MAX), u8::MAX);
    }

    #[test]
    fn rows_of_a_circuit_stand_in_walking_order() {
        let p = plan(&library()).unwrap();
        let rows: Vec<&Row> = p.rows.iter().filter(|r| r.circuit == "A2-1").collect();
        let place = |run: &str| match run {
            "" => 1,
            r if r.starts_with("R-A2-") => 0,
            r if r.starts_with("R-X1-") => 2,
            _ => 3,
        };
        let places: Vec<u8> = rows.iter().map(|r| place(&r.run)).collect();
        assert!(places.is_sorted(), "{places:?}");
        assert!(places.contains(&0) && places.contains(&3));
        // A run's conductors stand together.
        let mut runs: Vec<&str> = rows.iter().map(|r| r.run.as_str()).collect();
        runs.dedup();
        let mut once = runs.clone();
        once.sort_unstable();
        once.dedup();
        assert_eq!(runs.len(), once.len());
    }
}
