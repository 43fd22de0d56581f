//! Labels: wire numbers (both ends), device tags, runs, disconnects, the two-source warning.
//!
//! A disconnect's label says what it feeds and what stays live behind it; an enclosure that more than one source enters says so
//! (common practice; NEC 110.22(A) and 430.113 ask for identification, from memory).

use crate::{
    device::{Device, Kind},
    plan::{Circuit, Feed, Label, Run},
    row::Row,
};
use std::collections::{BTreeMap, BTreeSet};

/// All labels.
pub fn labels(devices: &[Device], circuits: &[Circuit], runs: &[Run], rows: &[Row]) -> Vec<Label> {
    let mut out = Vec::new();
    for d in devices {
        out.push(Label { on: d.tag.clone(), text: format!("{}\n{}", d.tag, d.label), count: 1 });
        let sources = sources(d, circuits, rows);
        if matches!(d.kind, Kind::Disconnect | Kind::Boiler | Kind::Starter | Kind::Contactor) && sources.len() > 1 {
            out.push(warning(&d.tag, &sources));
        }
    }
    let panel: BTreeSet<String> = devices
        .iter()
        .filter(|d| {
            matches!(d.kind, Kind::Strip | Kind::Controller) && !d.tag.starts_with("XB") && !d.tag.starts_with("XF")
        })
        .flat_map(|d| sources(d, circuits, rows))
        .collect();
    if panel.len() > 1 {
        out.push(warning("relay panel", &panel));
    }
    let mut ends: BTreeMap<&str, u16> = BTreeMap::new();
    for r in rows {
        let n = ends.entry(r.wire.as_str()).or_insert(0);
        *n = n.saturating_add(2);
    }
    out.extend(ends.into_iter().map(|(w, count)| Label { on: w.into(), text: w.into(), count }));
    out.extend(runs.iter().map(|r| Label {
        on: r.name.clone(),
        text: format!("{}\n{} to {}", r.name, r.from, r.to),
        count: 2,
    }));
    out
}

fn warning(on: &str, sources: &BTreeSet<String>) -> Label {
    let list: Vec<&str> = sources.iter().map(String::as_str).collect();
    Label { on: on.into(), text: format!("MORE THAN ONE SOURCE\n{}", list.join("\n")), count: 1 }
}

/// Sources that can make a terminal of this device live: breakers and boilers' and pumps' own supplies.
fn sources(d: &Device, circuits: &[Circuit], rows: &[Row]) -> BTreeSet<String> {
    rows.iter()
        .filter(|r| r.from.device == d.tag || r.to.device == d.tag)
        .filter_map(|r| circuits.iter().find(|c| c.name == r.circuit))
        .filter(|c| matches!(c.feed, Feed::Panelboard { .. } | Feed::Boiler(_) | Feed::Pump(_) | Feed::Automation(_)))
        .map(|c| format!("{}: {}", c.name, c.label))
        .collect()
}
