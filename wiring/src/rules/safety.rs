//! Which conductors carry safety control: read from the metal, not from what the planner calls them.
//!
//! A group of terminals is safety control when the main contact of a safety that stops something stands on it, or the limit or
//! proving pair of a boiler. Ground is none.

use crate::{
    device::{Device, Kind, Reach},
    job::Job,
    part::{LoadUse, Part, T},
    plan::Plan,
    trace::Trace,
};
use heatwright_core::{Subject, config::SafetyCircuit};
use std::collections::BTreeSet;

/// Field terminals of the contact that stops something: the first two that contacts stand on, since the auxiliary comes after.
fn main_terminals(d: &Device) -> Vec<T> {
    let mut list = Vec::new();
    for part in &d.parts {
        let Part::Contact { a, b, .. } = part else { continue };
        for t in [*a, *b] {
            let field = d.terminals.get(usize::from(t.0)).is_some_and(|x| x.reach == Reach::Field);
            if field && list.len() < 2 && !list.contains(&t) {
                list.push(t);
            }
        }
    }
    list
}

/// Groups that are safety control, of the safeties that act in a circuit of `wanted`.
pub(super) fn groups(job: &Job, plan: &Plan, trace: &Trace<'_>, wanted: fn(SafetyCircuit) -> bool) -> BTreeSet<usize> {
    let mut list = BTreeSet::new();
    for (d, device) in plan.devices.iter().enumerate() {
        match (device.kind, device.subject) {
            (Kind::Safety, Some(Subject::Safety(id))) => {
                let stops = job.safeties.get(id.index()).is_some_and(|s| wanted(s.config.circuit));
                if stops {
                    list.extend(main_terminals(device).into_iter().filter_map(|t| trace.group_of(d, t)));
                }
            }
            (Kind::Boiler, Some(Subject::Boiler(id))) => {
                for part in &device.parts {
                    if let Part::Load { a, b, what: LoadUse::Limit(_) | LoadUse::Proving(_), .. } = part {
                        list.extend([*a, *b].into_iter().filter_map(|t| trace.group_of(d, t)));
                    }
                }
                if let Some(b) = job.boilers.get(id.index()) {
                    let marks = b.marks.limit.iter().chain(&b.marks.proving);
                    list.extend(marks.filter_map(|m| device.find(m)).filter_map(|t| trace.group_of(d, t)));
                }
            }
            _ => {}
        }
    }
    list.retain(|g| !trace.is_grounded(*g));
    list
}

/// Groups that are live whatever any contact does: secondaries, and what stands behind breakers and disconnects alone.
pub(super) fn supplies(trace: &Trace<'_>) -> BTreeSet<usize> {
    let mut list = BTreeSet::new();
    let mut switches = Vec::new();
    for (d, part) in trace.parts() {
        match part {
            Part::Transformer { secondary, .. } => list.extend(secondary.iter().filter_map(|t| trace.group_of(d, *t))),
            Part::Source { hot, .. } => list.extend(trace.group_of(d, *hot)),
            Part::Contact { a, b, .. } if matches!(trace.devices()[d].kind, Kind::Panelboard | Kind::Disconnect) => {
                if let (Some(a), Some(b)) = (trace.group_of(d, *a), trace.group_of(d, *b)) {
                    switches.push((a, b));
                }
            }
            _ => {}
        }
    }
    // Each round adds a group or ends.
    loop {
        let before = list.len();
        for (a, b) in &switches {
            if list.contains(a) || list.contains(b) {
                list.extend([*a, *b]);
            }
        }
        if list.len() == before {
            return list;
        }
    }
}
