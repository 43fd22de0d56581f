//! The schedules: rows by wire, landings by terminal, the panelboard's directory.
//!
//! Rows stand circuit by circuit in the order the circuits were laid, so that a change moves only what it changes.

use crate::{
    job::Job,
    kinds::panelboard::phase_of,
    pass::{
        conductors::Conductor,
        loom::{At, Carries, Loom, Way},
        protection::Protection,
        raceways::run_name,
    },
    plan::{Breaker, DirectoryEntry, Feed, TerminalLanding},
    row::{Landing, Row},
};

/// All rows.
pub fn rows(loom: &Loom, p: &Protection, conductors: &[Conductor], numbers: &[String]) -> Vec<Row> {
    let mut order: Vec<usize> = (0..loom.wires.len()).collect();
    order.sort_by_key(|i| loom.legs[loom.wires[*i].leg].circuit);
    order
        .into_iter()
        .map(|i| {
            let (w, c) = (&loom.wires[i], &conductors[i]);
            let leg = &loom.legs[w.leg];
            let circuit = &loom.circuits[leg.circuit];
            let dead = matches!(w.carries, Carries::Ground | Carries::Shield);
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

fn landing(loom: &Loom, at: At) -> Landing {
    let d = loom.device(at.device);
    Landing {
        device: d.tag.clone(),
        terminal: d.terminals.get(usize::from(at.t.0)).map_or_else(String::new, |t| t.mark.clone()),
    }
}

/// What lands on each terminal, device by device.
pub fn landings(loom: &Loom, rows: &[Row]) -> Vec<TerminalLanding> {
    let mut out = Vec::new();
    for d in &loom.inventory.devices {
        for t in &d.terminals {
            let at = Landing { device: d.tag.clone(), terminal: t.mark.clone() };
            for r in rows {
                let far = if r.from == at {
                    &r.to
                } else if r.to == at {
                    &r.from
                } else {
                    continue;
                };
                out.push(TerminalLanding {
                    at: at.clone(),
                    place: d.place,
                    wire: r.wire.clone(),
                    far: far.clone(),
                    run: r.run.clone(),
                });
            }
        }
    }
    out
}

/// The panelboard's directory, space by space, with the spares.
pub fn directory(job: &Job, loom: &Loom, breakers: &[Breaker]) -> Vec<DirectoryEntry> {
    let phases = job.service.volts.phases();
    let mut out = Vec::new();
    for c in &loom.circuits {
        let Feed::Panelboard { spaces } = &c.feed else { continue };
        let amps = breakers.iter().find(|b| b.circuit == c.name).map_or(0, |b| b.amps);
        for s in spaces {
            out.push(DirectoryEntry {
                space: *s,
                phase: phase_of(*s, phases),
                circuit: c.name.clone(),
                amps,
                poles: spaces.len() as u8,
                feeds: c.label.clone(),
                va: c.va / spaces.len() as f64,
            });
        }
    }
    let mut free: Vec<u8> = (1..=u8::MAX).filter(|s| !out.iter().any(|e| e.space == *s)).collect();
    free.truncate(usize::from(job.spare_spaces));
    for space in free {
        let feeds = "spare".to_owned();
        let phase = phase_of(space, phases);
        out.push(DirectoryEntry { space, phase, circuit: String::new(), amps: 0, poles: 0, feeds, va: 0.0 });
    }
    out.sort_by_key(|e| e.space);
    out
}
