//! Before power: terminals to tighten (insulation: see `insulation`).
//!
//! Every screw that holds a conductor, by device and by enclosure, to the value printed on it or on its device (NEC 110.14(D), checked: a
//! calibrated tool where a value is given). Counted from the landings of rows: a strip terminal has a screw a side, so two where both
//! sides are used; a box in which conductors are spliced has none but on its ground bar. Class 2 is counted apart.

use crate::{
    device::{Device, Kind},
    natural,
    pass::{
        lockout::{in_relay_panel, in_starter_panel},
        materials::is_splice_box,
    },
    plan::Plan,
    row::{Class, Colour},
};
use serde::Serialize;
use std::collections::BTreeMap;

/// Terminals of one device or enclosure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Torque {
    /// Enclosure, or the tags of devices of one sort.
    pub at: String,
    /// How many screws hold power, control or ground conductors.
    pub screws: usize,
    /// How many hold conductors of Class 2.
    pub class2_screws: usize,
}

/// All screws that hold conductors.
pub(super) fn torque(plan: &Plan) -> Vec<Torque> {
    let (panel, starters) = (in_relay_panel(plan), in_starter_panel(plan));
    let mut ends: BTreeMap<(&str, &str), (usize, bool)> = BTreeMap::new();
    for r in &plan.rows {
        // The far end of a shield lands nowhere.
        let far = (r.colour != Colour::Shield).then_some(&r.to);
        for l in std::iter::once(&r.from).chain(far) {
            let end = ends.entry((l.device.as_str(), l.terminal.as_str())).or_default();
            *end = (end.0 + 1, r.class == Class::Class2);
        }
    }
    let mut order: Vec<String> = Vec::new();
    let mut found: BTreeMap<String, (Vec<&str>, [usize; 2])> = BTreeMap::new();
    for (i, d) in plan.devices.iter().enumerate() {
        let mut here = [0, 0];
        for ((_, mark), (n, class2)) in ends.range((d.tag.as_str(), "")..).take_while(|((tag, _), _)| *tag == d.tag) {
            here[usize::from(*class2)] += screws(d, mark, *n);
        }
        if here == [0, 0] {
            continue;
        }
        let key = if panel.contains(&i) {
            "inside the relay panel".to_owned()
        } else if starters.contains(&i) {
            "inside the starter panel".to_owned()
        } else {
            sort(d).to_owned()
        };
        if !order.contains(&key) {
            order.push(key.clone());
        }
        let at = found.entry(key).or_default();
        at.0.push(&d.tag);
        at.1 = [at.1[0] + here[0], at.1[1] + here[1]];
    }
    let mut list = Vec::new();
    for key in order {
        let Some((mut tags, [screws, class2_screws])) = found.remove(&key) else { continue };
        tags.sort_by_cached_key(|t| natural::key(t));
        let at = if key.starts_with("inside") { key } else { format!("{key} {}", tags.join(", ")) };
        list.push(Torque { at, screws, class2_screws });
    }
    list
}

/// Screws of one terminal on which so many conductors end.
fn screws(d: &Device, mark: &str, conductors: usize) -> usize {
    let ground = mark.starts_with("PE") || mark.starts_with('G');
    match d.kind {
        Kind::Strip if ground => 1,
        Kind::Strip if is_splice_box(d) => 0,
        Kind::Strip => conductors.min(2),
        _ => 1,
    }
}

fn sort(d: &Device) -> &'static str {
    match d.kind {
        Kind::Panelboard => "panelboards",
        Kind::DryTransformer => "transformer",
        Kind::Disconnect => "disconnects",
        Kind::Boiler => "boilers",
        Kind::Pump => "pumps",
        Kind::Fan => "fans",
        Kind::Strip => "boxes",
        _ => "other",
    }
}
