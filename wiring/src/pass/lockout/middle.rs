//! Where to measure behind a transformer with a grounded middle, and where the windings of its primary meet.

use super::{
    Between,
    measure::{Pairs, Spot, indices},
};
use crate::{
    device::{Device, Kind},
    kinds::{
        derived,
        panelboard::{MAIN_LINE, MAIN_NEUTRAL},
    },
    part::{Part, T},
};
use std::collections::BTreeSet;

/// Behind a transformer with a grounded middle: each line against that middle, and the middle against ground. It is the neutral of no
/// single branch circuit.
pub(super) fn pairs(pairs: &mut Pairs, device: &Device, spots: &[Spot], ground: &str) {
    let (lines, middle): (&[&str], &str) = match device.kind {
        Kind::DryTransformer => (&derived::SECONDARY, derived::MIDDLE),
        Kind::Panelboard => (&MAIN_LINE, MAIN_NEUTRAL),
        _ => return,
    };
    let Some(n) = device.find(middle).and_then(|t| device.terminals.get(usize::from(t.0))) else { return };
    let n = format!("{}:{}", device.tag, n.mark);
    let mut of = BTreeSet::new();
    for s in spots.iter().filter(|s| lines.iter().any(|m| device.find(m) == Some(s.t))) {
        let list = indices(s);
        if !list.is_empty() {
            of.extend(list.iter().copied());
            pairs.add(&s.name, &n, Between::PhaseToNeutral, list.into_iter().collect());
        }
    }
    if !of.is_empty() {
        pairs.add(&n, ground, Between::NeutralToGround, of.into_iter().collect());
    }
    // The joint of the primary's windings lies behind one of them from either line: no source reaches it over metal alone.
    let joint = device.find(derived::PRIMARY_JOINT).and_then(|t| device.terminals.get(usize::from(t.0)));
    let ends: BTreeSet<usize> = device
        .parts
        .iter()
        .flat_map(primary)
        .filter_map(|t| spots.iter().find(|s| s.t == t))
        .flat_map(indices)
        .collect();
    if let (Some(t), false) = (joint, ends.is_empty()) {
        let at = format!("{}:{}", device.tag, t.mark);
        pairs.add(&at, ground, Between::PhaseToGround, ends.into_iter().collect());
    }
}

/// The two ends of a transformer's primary.
fn primary(p: &Part) -> Vec<T> {
    if let Part::Transformer { primary, .. } = p { primary.to_vec() } else { Vec::new() }
}
