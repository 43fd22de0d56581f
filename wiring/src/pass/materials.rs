//! The list of materials: devices by kind and rating, conductors, cables, raceways.
//!
//! Conductor lengths are those of the rows and 10 per cent, raceway and cable lengths those of the runs and 10 per cent (trade
//! allowance, no source), rounded up to whole feet. Fittings, boxes and supports are not counted. The user's own equipment
//! (boilers, pumps, thermostats, valves, safeties, sensors) is listed so that nothing is forgotten; who buys it is not said.

use crate::{
    device::{Device, Kind, Reach},
    kinds::disconnect,
    part::Part,
    plan::{Breaker, Material, MotorProtection, Run, RunForm},
    row::{Colour, Row},
};
use std::collections::BTreeMap;

const ALLOWANCE: f64 = 1.10;

/// All materials.
pub fn materials(
    devices: &[Device],
    breakers: &[Breaker],
    motors: &[MotorProtection],
    runs: &[Run],
    rows: &[Row],
) -> Vec<Material> {
    let mut out = Vec::new();
    counted(&mut out, devices.iter().filter(|d| d.kind != Kind::Strip).map(|d| device_item(d, motors)));
    counted(&mut out, breakers.iter().map(breaker_item));
    let strips: usize = devices.iter().filter(|d| d.kind == Kind::Strip).map(field_terminals).sum();
    out.push(Material {
        item: "strip terminal, one conductor a side".into(),
        quantity: strips as f64,
        unit: "each".into(),
        note: "with jumper bars where the schedule joins neighbours".into(),
    });
    lengths(&mut out, runs, rows);
    out
}

fn field_terminals(d: &Device) -> usize {
    d.terminals.iter().filter(|t| t.reach == Reach::Field).count()
}

fn counted(out: &mut Vec<Material>, items: impl Iterator<Item = (String, String)>) {
    let mut count: BTreeMap<(String, String), u32> = BTreeMap::new();
    for i in items {
        *count.entry(i).or_insert(0) += 1;
    }
    for ((item, note), n) in count {
        out.push(Material { item, quantity: f64::from(n), unit: "each".into(), note });
    }
}

fn breaker_item(b: &Breaker) -> (String, String) {
    let fault = if b.ground_fault { ", ground-fault protection" } else { "" };
    (format!("breaker {} A, {} pole{fault}", b.amps, b.poles), "lockable, for the panelboard".into())
}

fn device_item(d: &Device, motors: &[MotorProtection]) -> (String, String) {
    let motor = motors.iter().find(|m| m.disconnect == d.tag || m.controller_disconnect == d.tag);
    let poles = d.parts.iter().filter(|p| matches!(p, Part::Contact { .. })).count();
    match d.kind {
        Kind::Relay => {
            let volts = coil_volts(d);
            (format!("control relay, {volts:.0} V coil, {} change-over", poles / 2), "with socket".into())
        }
        Kind::Contactor => (format!("contactor, {poles} pole, {:.0} V coil", coil_volts(d)), String::new()),
        Kind::Starter => (
            format!("starter, {} pole, {:.0} V coil", poles - 1, coil_volts(d)),
            "overload to the motor schedule".into(),
        ),
        Kind::Disconnect => {
            let (poles, aux) = disconnect::poles(d);
            // The auxiliary contact is wired in Class 2: NEC 725.136(D) asks for a barrier or 1/4 in.
            let (with, apart) = match aux {
                0 => (String::new(), ""),
                n => (
                    format!(" + {n} auxiliary contact"),
                    "; auxiliary is Class 2: behind a barrier, or 1/4 in from line conductors (725.136)",
                ),
            };
            match motor {
                Some(m) => (
                    format!("disconnect switch, {poles} pole{with}, {} A", switch_a(m.disconnect_min_a)),
                    format!("lockable open, motor rated{apart}"),
                ),
                None => (format!("disconnect switch, {poles} pole{with}"), format!("lockable open{apart}")),
            }
        }
        Kind::Transformer => {
            let va = d.parts.iter().find_map(|p| if let Part::Transformer { va, .. } = p { Some(*va) } else { None });
            (format!("transformer 120/24 V, {:.0} VA", va.unwrap_or(0.0)), "listed as Class 2 supply".into())
        }
        Kind::Selector => ("HAND-OFF-AUTO selector".into(), format!("{poles} contact blocks")),
        Kind::Button => ("push button, 1 contact".into(), String::new()),
        Kind::Panelboard => ("panelboard".into(), String::new()),
        Kind::Controller => ("controller".into(), String::new()),
        _ => (d.label.clone(), d.tag.clone()),
    }
}

/// The smallest usual switch: 20, 30, 60, 100, 200 A (common practice, no source).
fn switch_a(least: f64) -> u16 {
    [20, 30, 60, 100].into_iter().find(|a| f64::from(*a) >= least).unwrap_or(200)
}

fn coil_volts(d: &Device) -> f64 {
    d.parts.iter().find_map(|p| if let Part::Coil { volts, .. } = p { Some(*volts) } else { None }).unwrap_or(0.0)
}

fn lengths(out: &mut Vec<Material>, runs: &[Run], rows: &[Row]) {
    let mut wire: BTreeMap<(String, String), f64> = BTreeMap::new();
    for r in rows {
        if matches!(r.colour, Colour::Core(_) | Colour::Shield) {
            continue;
        }
        let colour = format!("{:?}", r.colour).to_lowercase();
        *wire.entry((format!("{} {}", r.awg, r.insulation), colour)).or_insert(0.0) += r.length_ft;
    }
    for ((what, colour), ft) in wire {
        out.push(feet(
            format!("wire {what} AWG {colour}").replace(" THHN AWG", " AWG THHN").replace(" TFFN AWG", " AWG TFFN"),
            ft,
        ));
    }
    let mut tube: BTreeMap<String, f64> = BTreeMap::new();
    for run in runs {
        let item = match &run.form {
            RunForm::Emt(size) => format!("EMT {size} in"),
            RunForm::Cable { cores, shielded } => {
                let awg = rows.iter().find(|r| r.run == run.name).map_or("18", |r| r.awg.as_str());
                let shield = if *shielded { ", shielded" } else { "" };
                format!("cable CL2 {cores} x {awg} AWG{shield}")
            }
        };
        *tube.entry(item).or_insert(0.0) += run.length_ft;
    }
    for (item, ft) in tube {
        out.push(feet(item, ft));
    }
}

fn feet(item: String, ft: f64) -> Material {
    Material { item, quantity: (ft * ALLOWANCE).ceil(), unit: "ft".into(), note: "10 % allowance".into() }
}
