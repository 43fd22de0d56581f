//! Marks of strip terminals: the wire number that lands there and, where several stand under it, the place among them.
//!
//! `X1:S1-14.2` is the second terminal of wire S1-14 on strip X1. A wire number comes from the terminal that owns its
//! potential (see [`super::potentials`]), never from a running count, so a mark says which potential stands there and survives
//! any change that leaves its owner and the places before it alone (our choice; wire numbers on terminals are common practice).
//!
//! Also the list of jumper bars: neighbours joined without a conductor are found from the strips' own joints.
//!
//! Edges: a strip terminal on which nothing lands keeps its first mark; the planner makes none.

use crate::{
    device::{Device, Kind, Reach},
    part::Part,
    pass::loom::{Carries, Loom},
    plan::Bar,
    row::Row,
};
use std::collections::BTreeMap;

/// Gives every strip terminal its mark.
pub fn strips(mut loom: Loom, numbers: &[String]) -> Loom {
    let mut wire: BTreeMap<(usize, usize), &str> = BTreeMap::new();
    for (w, number) in loom.wires.iter().zip(numbers) {
        if matches!(w.carries, Carries::Ground | Carries::Shield | Carries::Bond) {
            continue;
        }
        for end in [w.from, w.to] {
            wire.insert((usize::from(end.device.0), usize::from(end.t.0)), number);
        }
    }
    for (d, device) in loom.inventory.devices.iter_mut().enumerate().filter(|(_, d)| d.kind == Kind::Strip) {
        // A terminal between others under one bar may be empty on both sides: it has its neighbours' potential.
        let of: Vec<Option<&str>> = bars_of(device)
            .into_iter()
            .flat_map(|bar| {
                let number = bar.iter().find_map(|t| wire.get(&(d, *t)).copied());
                bar.into_iter().map(move |t| (t, number))
            })
            .fold(vec![None; device.terminals.len()], |mut all, (t, number)| {
                all[t] = number;
                all
            });
        let mut count: BTreeMap<&str, usize> = BTreeMap::new();
        for number in of.iter().flatten() {
            *count.entry(number).or_insert(0) += 1;
        }
        let mut next: BTreeMap<&str, usize> = BTreeMap::new();
        for (t, number) in of.iter().enumerate() {
            let Some(number) = number else { continue };
            let n = next.entry(number).or_insert(0);
            *n += 1;
            let alone = count.get(number) == Some(&1);
            device.terminals[t].mark = if alone { (*number).to_owned() } else { format!("{number}.{n}") };
        }
    }
    loom
}

/// Groups of a strip's field terminals that its own joints make one, in the order of the strip. Joints to an inner rail (the
/// metal of a ground bar) make no jumper bar.
fn bars_of(device: &Device) -> Vec<Vec<usize>> {
    let field = |t: usize| device.terminals.get(t).is_some_and(|t| t.reach == Reach::Field);
    let mut group: Vec<usize> = (0..device.terminals.len()).collect();
    for part in &device.parts {
        if let Part::Bond(a, b) = part {
            let (a, b) = (usize::from(a.0), usize::from(b.0));
            if field(a) && field(b) {
                let (low, high) = (group[a].min(group[b]), group[a].max(group[b]));
                group.iter_mut().filter(|g| **g == high).for_each(|g| *g = low);
            }
        }
    }
    let mut bars: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (t, g) in group.iter().enumerate().filter(|(t, _)| field(*t)) {
        bars.entry(*g).or_default().push(t);
    }
    bars.into_values().collect()
}

/// Every jumper bar of two poles or more, strip by strip.
pub fn bars(devices: &[Device], rows: &[Row]) -> Vec<Bar> {
    let mut out = Vec::new();
    // In a splice box nothing is joined by bars.
    for d in devices.iter().filter(|d| d.kind == Kind::Strip && !super::materials::is_splice_box(d)) {
        for bar in bars_of(d) {
            let (Some(first), Some(last)) = (bar.first(), bar.last()) else { continue };
            if bar.len() < 2 {
                continue;
            }
            let here = |mark: &str| {
                rows.iter().find(|r| [&r.from, &r.to].iter().any(|e| e.device == d.tag && e.terminal == mark))
            };
            let row = bar.iter().find_map(|t| here(&d.terminals[*t].mark));
            out.push(Bar {
                strip: d.tag.clone(),
                place: d.place,
                first: d.terminals[*first].mark.clone(),
                last: d.terminals[*last].mark.clone(),
                poles: bar.len() as u16,
                wire: row.map_or_else(String::new, |r| r.wire.clone()),
                circuit: row.map_or_else(String::new, |r| r.circuit.clone()),
            });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{fixtures::library, plan::plan};
    use std::collections::BTreeSet;

    #[test]
    fn a_strip_terminal_bears_the_number_of_its_wire() {
        let p = plan(&library()).unwrap();
        for r in p.rows.iter().filter(|r| r.wire != "PE" && !r.wire.starts_with("SH-")) {
            for end in [&r.from, &r.to] {
                let strip = p.devices.iter().find(|d| d.tag == end.device).unwrap().kind == Kind::Strip;
                let own = end.terminal.strip_prefix(r.wire.as_str());
                let place = own.is_some_and(|o| o.is_empty() || o[1..].parse::<u16>().is_ok());
                assert!(!strip || place, "{} on {}:{}", r.wire, end.device, end.terminal);
            }
        }
        let marks: Vec<&str> = p
            .devices
            .iter()
            .filter(|d| d.kind == Kind::Strip)
            .flat_map(|d| &d.terminals)
            .map(|t| t.mark.as_str())
            .filter(|m| m.starts_with("new "))
            .collect();
        assert_eq!(marks, Vec::<&str>::new());
    }

    /// Each bar joins as many neighbours as it says, and they stand side by side.
    #[test]
    fn bars_are_the_joints_of_the_strips() {
        let p = plan(&library()).unwrap();
        assert!(p.bars.iter().any(|b| b.strip == "X1" && b.wire == "QR1-2/T1" && b.poles > 10), "{:?}", p.bars);
        assert!(p.bars.iter().any(|b| b.strip.starts_with("XB")));
        for b in &p.bars {
            let d = p.devices.iter().find(|d| d.tag == b.strip).unwrap();
            let at = |m: &str| usize::from(d.find(m).unwrap().0);
            let rows: BTreeSet<&str> =
                d.terminals[at(&b.first)..=at(&b.last)].iter().map(|t| t.mark.as_str()).collect();
            assert_eq!(rows.len(), usize::from(b.poles), "{b:?}");
            assert!(rows.iter().all(|m| m.starts_with(b.wire.as_str())), "{b:?} joins {rows:?}");
        }
    }

    /// Seen to fail: a joint taken away splits its bar.
    #[test]
    fn a_joint_taken_away_splits_its_bar() {
        let mut p = plan(&library()).unwrap();
        let longest = p.bars.iter().max_by_key(|b| b.poles).unwrap().clone();
        let d = p.devices.iter_mut().find(|d| d.tag == longest.strip).unwrap();
        let third = d.find(&longest.first).unwrap().0 + 2;
        d.parts.retain(|part| !matches!(part, Part::Bond(a, _) if a.0 == third));
        let now = bars(&p.devices, &p.rows);
        assert_eq!(now.len(), p.bars.len() + 1);
        assert!(now.iter().any(|b| b.first == longest.first && b.poles == 3));
    }
}
