//! What a revision does to the wires: which are added, dropped, landed elsewhere, or stay but become another conductor.
//!
//! A wire is told by its number and its two ends, whichever of them the schedule calls "from". In this order:
//! 1. the same number and ends: the same wire; if size, colour, run, length or circuit differ it is *changed*;
//! 2. the same ends, another number: *changed* (its markers are renewed);
//! 3. the same number and one end: *moved*, its other end lands elsewhere;
//! 4. the same number, circuit and purpose: *moved* at both ends;
//! 5. what is left is *dropped* or *added*.
//!
//! Numbers come from the terminal that owns the potential, so that a small change of the plant leaves most wires alone.
//!
//! What hangs on the wires (breakers, devices, motors, runs) is compared in [`parts`].
//!
//! What it deliberately does not do: prose (a purpose in other words is no change).

pub mod parts;

use crate::row::{Landing, Row};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// A wire before and after.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Pair {
    /// As it was.
    pub old: Row,
    /// As it is.
    pub new: Row,
    /// What differs, in words: "size 14 to 12".
    pub what: Vec<String>,
}

/// What a revision does.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Diff {
    /// New wires, in the order of the new schedule.
    pub added: Vec<Row>,
    /// Wires that land elsewhere, in the order of the new schedule.
    pub moved: Vec<Pair>,
    /// Wires with the same ends that become another conductor, in the order of the new schedule.
    pub changed: Vec<Pair>,
    /// Wires that are taken out, in the order of the old schedule.
    pub dropped: Vec<Row>,
    /// Wires that stay as they are.
    pub same: usize,
}

/// Compares two schedules.
pub fn diff(old: &[Row], new: &[Row]) -> Diff {
    let mut matched: Vec<Option<usize>> = vec![None; new.len()];
    let mut taken = vec![false; old.len()];
    let steps: [fn(&Row) -> Vec<String>; 4] = [
        |r| vec![joined(&[&r.wire, &ends(r)])],
        |r| vec![ends(r)],
        |r| [&r.from, &r.to].map(|l| joined(&[&r.wire, &at(l)])).to_vec(),
        |r| vec![joined(&[&r.wire, &r.circuit, &r.purpose])],
    ];
    for keys in steps {
        let mut by: HashMap<String, Vec<usize>> = HashMap::new();
        for (i, r) in old.iter().enumerate().filter(|(i, _)| !taken[*i]) {
            for k in keys(r) {
                by.entry(k).or_default().push(i);
            }
        }
        for (n, r) in new.iter().enumerate() {
            if matched[n].is_some() {
                continue;
            }
            let free = |k: String| by.get(&k).and_then(|l| l.iter().find(|i| !taken[**i])).copied();
            if let Some(i) = keys(r).into_iter().find_map(free) {
                taken[i] = true;
                matched[n] = Some(i);
            }
        }
    }
    let mut out = Diff::default();
    for (r, was) in new.iter().zip(matched) {
        let Some(was) = was.and_then(|i| old.get(i)) else {
            out.added.push(r.clone());
            continue;
        };
        let what = differences(was, r);
        let pair = || Pair { old: was.clone(), new: r.clone(), what: what.clone() };
        if ends(was) != ends(r) {
            out.moved.push(pair());
        } else if !what.is_empty() {
            out.changed.push(pair());
        } else {
            out.same += 1;
        }
    }
    out.dropped = old.iter().zip(taken).filter(|(_, t)| !t).map(|(r, _)| r.clone()).collect();
    out
}

fn at(l: &Landing) -> String {
    joined(&[&l.device, &l.terminal])
}

/// Parts that no sign in them can run together.
fn joined(parts: &[&str]) -> String {
    parts.join("\u{1f}")
}

/// Both ends, whichever way round.
fn ends(r: &Row) -> String {
    let mut both = [at(&r.from), at(&r.to)];
    both.sort();
    both.join("\u{1e}")
}

fn differences(a: &Row, b: &Row) -> Vec<String> {
    let mut out = Vec::new();
    let mut note = |what: &str, x: String, y: String| {
        if x != y {
            let or = |s: String| if s.is_empty() { "none".to_owned() } else { s };
            out.push(format!("{what} {} to {}", or(x), or(y)));
        }
    };
    let colon = |l: &Landing| format!("{}:{}", l.device, l.terminal);
    // An end is told against the one that it stood for.
    let turned = a.from == b.to || a.to == b.from;
    let (from, to) = if turned { (&b.to, &b.from) } else { (&b.from, &b.to) };
    note("end", colon(&a.from), colon(from));
    note("end", colon(&a.to), colon(to));
    note("number", a.wire.clone(), b.wire.clone());
    note("circuit", a.circuit.clone(), b.circuit.clone());
    note("class", a.class.text().into(), b.class.text().into());
    note("size", a.awg.clone(), b.awg.clone());
    note("insulation", a.insulation.clone(), b.insulation.clone());
    note("color", a.colour.text(), b.colour.text());
    note("run", a.run.clone(), b.run.clone());
    note("length, ft,", parts::figure(a.length_ft, 0), parts::figure(b.length_ft, 0));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{fixtures, plan::plan};

    fn land(r: &mut Row, device: &str, terminal: &str) {
        r.to = Landing { device: device.into(), terminal: terminal.into() };
    }

    #[test]
    fn each_kind_of_change_is_told_and_nothing_else() {
        let old = plan(&fixtures::workshop()).unwrap_or_else(|e| panic!("{e:?}")).rows;
        let same = diff(&old, &old);
        assert_eq!((same.same, same.added.len(), same.moved.len(), same.changed.len()), (old.len(), 0, 0, 0));
        let mut new = old.clone();
        let gone = new.remove(3);
        land(&mut new[5], "X9", "1");
        new[7].awg = "8".into();
        let turned = new[9].clone();
        (new[9].from, new[9].to) = (turned.to, turned.from);
        new[11].wire = "Z-1".into();
        let mut more = old[0].clone();
        more.wire = "Z-2".into();
        land(&mut more, "X9", "2");
        more.from = Landing { device: "X9".into(), terminal: "3".into() };
        new.push(more.clone());
        let d = diff(&old, &new);
        assert_eq!(d.dropped, [gone]);
        assert_eq!(d.added, [more]);
        assert_eq!(d.moved.len(), 1, "{:#?}", d.moved);
        assert!(d.moved[0].what.len() == 1 && d.moved[0].what[0].ends_with("to X9:1"), "{:?}", d.moved[0].what);
        let changed: Vec<&[String]> = d.changed.iter().map(|p| &p.what[..]).collect();
        assert_eq!(changed.len(), 2, "{changed:?}");
        assert!(changed[0][0].ends_with("to 8") && changed[1][0].ends_with("to Z-1"), "{changed:?}");
        assert_eq!(d.same, old.len() - 4);
        // The other way round, what was added is dropped.
        let back = diff(&new, &old);
        assert_eq!((back.added, back.dropped), (d.dropped, d.added));
    }
}
