//! Each supply, measured once where it first arrives, in the order in which they are closed in: the branches of a panelboard, what
//! its breakers feed that is a supply itself, then what stands behind a disconnect, last the disconnects of what is no motor: each
//! disconnect is named once, here or among the motors. What comes with a breaker is measured in the next line, before another is
//! closed.
//!
//! Accepted: a branch of the service within 5 per cent of its volts (ANSI C84.1 range A, from memory). A transformer stands between
//! its volts with all its load, U - R S / U (U in volts, R its inner resistance in ohm, S the sum of its sealed volt-amperes), and its
//! volts with none, and the service's 5 per cent either way on top. The volts on its plate are those at full load: with nothing on it a
//! small one of Class 2 reads up to a fifth more, a control transformer up to a tenth (common practice, no source; its plate or sheet
//! may say), a dry type a few per cent.
//!
//! To ground: what its first conductor shows; nothing where neither side of a transformer is grounded, since it floats.

use super::{
    super::lockout::{Isolator, reach::Map, sources},
    motors::Motor,
};
use crate::{
    device::{Device, Kind},
    part::{Part, T},
    plan::{Circuit, Feed, Plan},
    trace::Trace,
};
use serde::Serialize;
use std::collections::BTreeSet;

/// How far the service may stand from its volts, as a share.
const SERVICE_BAND: f64 = 0.05;

/// How far a transformer's volts with no load may stand above its plate, as a share: Class 2, control transformer, dry type
/// (common practice, no source).
fn no_load(d: &Device) -> f64 {
    match d.kind {
        Kind::Transformer => 0.20,
        Kind::ControlTransformer => 0.10,
        _ => 0.04,
    }
}

/// A supply.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Supply {
    /// The breaker's panelboard and first space, or the tag of the transformer.
    pub from: String,
    /// What is closed to bring it, in words; empty where it comes with the line before.
    pub close: String,
    /// What it feeds.
    pub feeds: String,
    /// Volts between its conductors.
    pub volts: f64,
    /// Least and most that is accepted between them, volts.
    pub accept_v: [f64; 2],
    /// Highest volts from one of them to ground; `None` for a supply that floats.
    pub to_ground_v: Option<f64>,
    /// 1 or 3.
    pub phases: u8,
    /// Terminals of its first conductor outside the panelboard or transformer.
    pub at: String,
}

/// All supplies of the plan.
pub(super) fn supplies(plan: &Plan, trace: &Trace<'_>, map: &Map<'_>, motors: &[Motor]) -> Vec<Supply> {
    let mut list: Vec<(u8, Supply)> = Vec::new();
    let boards = plan.devices.iter().filter(|d| d.kind == Kind::Panelboard).count();
    for c in &plan.circuits {
        let (from, source) = match &c.feed {
            Feed::Panelboard { panel, spaces } => {
                let space = spaces.first().map_or_else(String::new, u8::to_string);
                // With two panelboards the space alone says too little.
                (if boards > 1 { format!("{panel}-{space}") } else { space }, panel)
            }
            Feed::Transformer(tag) => (tag.clone(), tag),
            _ => continue,
        };
        let Some(d) = plan.devices.iter().find(|d| d.tag == *source) else { continue };
        let from_here = || plan.rows.iter().filter(|r| r.circuit == c.name && r.from.device == *source);
        // Where its live side arrives: the grounded one shows nothing to ground.
        let live = |r: &&crate::row::Row| {
            let group = trace.device(source).zip(d.find(&r.from.terminal)).and_then(|(at, t)| trace.group_of(at, t));
            group.is_none_or(|g| !trace.is_grounded(g))
        };
        let Some(row) = from_here().find(live).or_else(|| from_here().next()) else { continue };
        let at = format!("{}:{}", row.to.device, row.to.terminal);
        let behind = !plan.devices.iter().any(|d| d.tag == *source && feeds_itself(d));
        let (stage, close) = match &c.feed {
            Feed::Panelboard { panel, spaces } => {
                let first = spaces.first().copied().unwrap_or_default();
                (2 * u8::from(behind), format!("breaker {first} of {}", sources::board(plan, panel)))
            }
            _ => close_in(trace, map, d),
        };
        let (accept_v, floats) = match &c.feed {
            Feed::Transformer(tag) => (accepted(plan, d, tag, c), floating(trace, d)),
            _ => ([c.volts * (1.0 - SERVICE_BAND), c.volts * (1.0 + SERVICE_BAND)], false),
        };
        let to_ground_v = (!floats).then_some(c.volts_to_ground);
        let feeds = c.label.clone();
        list.push((stage, Supply { from, close, feeds, volts: c.volts, accept_v, to_ground_v, phases: c.phases, at }));
    }
    for d in plan.devices.iter().filter(|d| d.kind == Kind::Panelboard && !feeds_itself(d)) {
        list.extend(main(plan, d).map(|s| (1, s)));
    }
    // Stable: within a stage the order of the circuits stays; a transformer's secondary comes ahead of its main breaker.
    list.sort_by_key(|(stage, s)| (*stage, *stage == 1 && s.close.starts_with("main")));
    let mut list: Vec<Supply> = list.into_iter().map(|(_, s)| s).collect();
    // What comes with a breaker stands behind that breaker's line.
    for d in plan.devices.iter().filter(|d| d.kind == Kind::DryTransformer) {
        let fed = |s: &Supply| s.at.strip_prefix(d.tag.as_str()).is_some_and(|t| t.starts_with(':'));
        let (Some(with), Some(brings)) =
            (list.iter().position(|s| s.from == d.tag && s.close.is_empty()), list.iter().position(fed))
        else {
            continue;
        };
        let moved = list.remove(with);
        list.insert(if with < brings { brings } else { brings + 1 }, moved);
    }
    let behind = switches(plan, &list, motors);
    list.extend(behind);
    list
}

/// The disconnects that neither bring a transformer in nor stand ahead of a motor, each measured at its load side.
fn switches(plan: &Plan, list: &[Supply], motors: &[Motor]) -> Vec<Supply> {
    let mut out = Vec::new();
    for d in plan.devices.iter().filter(|d| d.kind == Kind::Disconnect) {
        let named = list.iter().any(|s| s.close == d.tag) || motors.iter().any(|m| m.close.contains(&d.tag));
        // Of its contacts the first is a pole of the line.
        let load = d.parts.iter().find_map(|p| if let Part::Contact { b, .. } = p { Some(*b) } else { None });
        let Some(mark) = load.and_then(|t| d.terminals.get(usize::from(t.0))).filter(|_| !named) else { continue };
        let lands = |r: &&crate::row::Row| r.from.device == d.tag && r.from.terminal == mark.mark;
        let back = |r: &&crate::row::Row| r.to.device == d.tag && r.to.terminal == mark.mark;
        let Some(row) = plan.rows.iter().find(lands).or_else(|| plan.rows.iter().find(back)) else { continue };
        let Some(c) = plan.circuits.iter().find(|c| c.name == row.circuit) else { continue };
        let far = if row.from.device == d.tag { &row.to } else { &row.from };
        out.push(Supply {
            from: d.tag.clone(),
            close: d.tag.clone(),
            feeds: c.label.clone(),
            volts: c.volts,
            accept_v: [c.volts * (1.0 - SERVICE_BAND), c.volts * (1.0 + SERVICE_BAND)],
            to_ground_v: Some(c.volts_to_ground),
            phases: c.phases,
            at: format!("{}:{}", far.device, far.terminal),
        });
    }
    out
}

/// True for a panelboard on the service.
fn feeds_itself(d: &Device) -> bool {
    d.parts.iter().any(|p| matches!(p, Part::Source { .. }))
}

/// The main breaker of a panelboard behind a transformer.
fn main(plan: &Plan, d: &Device) -> Option<Supply> {
    let c = plan.circuits.iter().find(|c| plan.rows.iter().any(|r| r.circuit == c.name && r.to.device == d.tag))?;
    let Feed::Transformer(tag) = &c.feed else { return None };
    let transformer = plan.devices.iter().find(|t| t.tag == *tag)?;
    Some(Supply {
        from: d.tag.clone(),
        close: format!("main breaker of {}", sources::board(plan, &d.tag)),
        feeds: format!("busbars of {}", sources::board(plan, &d.tag)),
        volts: c.volts,
        accept_v: accepted(plan, transformer, tag, c),
        to_ground_v: Some(c.volts_to_ground),
        phases: c.phases,
        at: format!("{}, its busbars", d.tag),
    })
}

/// When a transformer comes in, and by what: with the breaker ahead of it, or with a disconnect.
fn close_in(trace: &Trace<'_>, map: &Map<'_>, d: &Device) -> (u8, String) {
    let Some(at) = trace.device(&d.tag) else { return (3, String::new()) };
    let primary =
        d.parts.iter().find_map(|p| if let Part::Transformer { primary, .. } = p { Some(*primary) } else { None });
    let groups: Vec<usize> = primary.into_iter().flatten().filter_map(|t: T| trace.group_of(at, t)).collect();
    let live = map.sources(&groups, &BTreeSet::new()).len();
    let ahead = map.isolators().into_iter().find_map(|i| {
        let Isolator::Disconnect { tag } = &i else { return None };
        (map.sources(&groups, &BTreeSet::from([i.clone()])).len() < live).then(|| tag.clone())
    });
    match ahead {
        Some(tag) => (3, tag),
        None if d.kind == Kind::DryTransformer => (1, String::new()),
        None => (3, String::new()),
    }
}

/// Least and most between the conductors of a transformer's secondary, volts.
fn accepted(plan: &Plan, d: &Device, tag: &str, c: &Circuit) -> [f64; 2] {
    let windings = d.parts.iter().filter_map(|p| match p {
        Part::Transformer { secondary_volts, ohm, .. } => Some((*secondary_volts, *ohm)),
        _ => None,
    });
    let (volts, ohm) = windings.fold((0.0, 0.0), |a, w| (a.0 + w.0, a.1 + w.1));
    // What is known of its load: the sum for a control transformer, the whole of a dry type.
    let load = plan.transformers.iter().find(|t| t.tag == tag).map_or(c.va, |t| t.sealed_va);
    let loaded = if volts > 0.0 { volts - ohm * load / volts } else { volts };
    [loaded * (1.0 - SERVICE_BAND), volts * (1.0 + no_load(d)) * (1.0 + SERVICE_BAND)]
}

/// True where no terminal of any secondary winding lies on ground.
fn floating(trace: &Trace<'_>, d: &Device) -> bool {
    let Some(at) = trace.device(&d.tag) else { return false };
    let secondary = d
        .parts
        .iter()
        .filter_map(|p| if let Part::Transformer { secondary, .. } = p { Some(*secondary) } else { None });
    !secondary.flatten().filter_map(|t| trace.group_of(at, t)).any(|g| trace.is_grounded(g))
}
