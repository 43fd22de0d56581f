//! What a time in the plant file usually is. Outside of it stands a warning (P64), never an error: plants differ.
//!
//! The slip that it is for is a wrong unit: hours typed for minutes are inside what is allowed and pass as meant. One row a key, in
//! seconds. Sources: where nothing is said, our choice, wide round the default and the trade's usual values. 0 s, where it is allowed,
//! means "none" or "never" and is not odd, but for what keeps a burner whole ([`needed`]).

use crate::plant::quantity::{self, Kind, Quantity as _, Time};

const MIN: f64 = 60.0;
const H: f64 = 3_600.0;
const D: f64 = 86_400.0;

/// Path of the table as in the schema, key, lowest and highest usual value in seconds, where it comes from.
type Row = (&'static str, &'static str, f64, f64, &'static str);

const CHOICE: &str = "our choice";
const PRACTICE: &str = "common practice, no source";

#[rustfmt::skip]
const USUAL: &[Row] = &[
    ("boiler.*", "on-min", 30.0, 20.0 * MIN, CHOICE),
    ("boiler.*", "off-min", 1.0 * MIN, 20.0 * MIN, CHOICE),
    ("boiler.*", "flow-proof-max", 5.0, 2.0 * MIN, PRACTICE),
    ("boiler.*", "flame-proof-max", 30.0, 8.0 * MIN, "three trials with their purges; common practice, no source"),
    ("boiler.*", "pump-overrun", 30.0, 15.0 * MIN, PRACTICE),
    ("boiler.*", "retry-after", 1.0 * MIN, 30.0 * MIN, CHOICE),
    ("boiler.*.burner", "pre-purge", 5.0, 3.0 * MIN, PRACTICE),
    ("boiler.*.burner", "ignition", 1.0, 15.0, "15 s is the longest trial of most burner standards, from memory"),
    ("boiler.*.burner", "inter-purge", 5.0, 3.0 * MIN, PRACTICE),
    ("boiler.*.burner", "proof", 0.5, 15.0, PRACTICE),
    ("boiler.*.burner", "post-purge", 5.0, 3.0 * MIN, PRACTICE),
    ("boiler.*.burner", "modulation", 5.0, 5.0 * MIN, PRACTICE),
    ("zone.*", "overrun", 10.0, 10.0 * MIN, CHOICE),
    ("zone.*", "debounce", 0.5, 1.0 * MIN, CHOICE),
    ("zone.*", "call-min", 30.0, 15.0 * MIN, CHOICE),
    ("zone.*.valve", "stroke", 5.0, 4.0 * MIN, PRACTICE),
    ("zone.*.mixing", "integral", 15.0, 15.0 * MIN, CHOICE),
    ("zone.*.mixing", "stroke", 15.0, 5.0 * MIN, PRACTICE),
    ("pump.*", "on-min", 10.0, 15.0 * MIN, CHOICE),
    ("pump.*", "off-min", 5.0, 15.0 * MIN, CHOICE),
    ("pump.*", "exercise-every", 1.0 * D, 31.0 * D, CHOICE),
    ("pump.*", "exercise-for", 10.0, 10.0 * MIN, CHOICE),
    ("tank", "priority-max", 15.0 * MIN, 2.0 * H, PRACTICE),
    ("tank", "debounce", 0.5, 1.0 * MIN, CHOICE),
    ("tank", "overrun", 10.0, 15.0 * MIN, CHOICE),
    ("tank.draws[]", "for", 15.0, 4.0 * H, CHOICE),
    ("damper", "stroke", 5.0, 3.0 * MIN, PRACTICE),
    ("damper", "proof-max", 10.0, 6.0 * MIN, "twice the stroke"),
    ("reset", "outdoor-filter", 10.0 * MIN, 12.0 * H, CHOICE),
    ("reset", "boost-for", 15.0 * MIN, 5.0 * H, CHOICE),
    ("staging", "low-load-run", 1.0 * MIN, 30.0 * MIN, CHOICE),
    ("staging", "rate-hold", 1.0 * MIN, 30.0 * MIN, CHOICE),
    ("staging", "start-spacing", 15.0, 15.0 * MIN, CHOICE),
    ("staging", "rate-integral", 1.0 * MIN, 30.0 * MIN, CHOICE),
    ("staging", "plant-off-min", 2.0 * MIN, 1.0 * H, CHOICE),
    ("staging", "plant-on-min", 2.0 * MIN, 1.0 * H, CHOICE),
    ("staging", "plant-few-for", 30.0, 30.0 * MIN, CHOICE),
    ("rotation", "hours", 10.0 * H, 500.0 * H, PRACTICE),
    ("rotation", "every", 1.0 * D, 92.0 * D, PRACTICE),
    ("purge", "time-max", 1.0 * MIN, 30.0 * MIN, CHOICE),
    ("guard", "frozen-after", 10.0 * MIN, 6.0 * H, CHOICE),
    ("guard", "hot-cuts-within", 10.0 * MIN, 12.0 * H, CHOICE),
];

/// The usual range of a time and its source.
pub(super) fn of(kind: &Kind, path: &str, key: &str) -> Option<(f64, f64, &'static str)> {
    if kind.noun != Time::KIND.noun {
        return None;
    }
    USUAL.iter().find(|r| r.0 == path && r.1 == key).map(|r| (r.2, r.3, r.4))
}

/// A time of which "none" is as odd as any other: without it a burner is started again and again, or its heat stays in it.
pub(super) fn needed(path: &str, key: &str) -> bool {
    path == "boiler.*" && ["on-min", "off-min", "pump-overrun"].contains(&key)
}

/// The range as text.
pub(super) fn text(low: f64, high: f64) -> String {
    let show = |s: f64| Time::from_base(s).show(quantity::Units::Us);
    format!("{} to {}", show(low), show(high))
}

/// The same figure in another unit of time that would be usual: the likely slip.
pub(super) fn other_unit(value_s: f64, scale: f64, low: f64, high: f64) -> Option<String> {
    let units = Time::KIND.units.iter().filter(|u| u.scale != scale);
    let fits = |s: f64| (low..=high).contains(&s);
    let mut slips = units.map(|u| (u, value_s / scale * u.scale)).filter(|(_, s)| fits(*s));
    slips.next().map(|(u, s)| quantity::in_unit(u, s))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::{
        cursor::{Ctx, Cursor},
        read::{assemble, read},
    };
    use std::cell::RefCell;

    /// Every time that the file may hold has its row, and every row its key.
    #[test]
    fn each_time_has_its_usual_range_and_it_is_allowed() {
        let ctx = Ctx { schema: Some(RefCell::default()), ..Ctx::default() };
        let _ = assemble(&Cursor::nothing(&ctx));
        let all = ctx.schema.map(RefCell::into_inner).unwrap();
        let comment = format!("{},", Time::KIND.noun);
        let is_time =
            |k: &&crate::plant::cursor::SchemaKey| k.form["$comment"].as_str().is_some_and(|c| c.starts_with(&comment));
        let mut keys: Vec<(String, &str)> =
            all.iter().flat_map(|(p, l)| l.iter().filter(is_time).map(move |k| (p.clone(), k.key))).collect();
        let mut rows: Vec<(String, &str)> = USUAL.iter().map(|r| (r.0.to_owned(), r.1)).collect();
        keys.sort();
        rows.sort();
        assert_eq!(keys, rows);
        assert!(USUAL.iter().all(|r| r.2 < r.3 && !r.4.is_empty()));
    }

    fn notes(old: &str, new: &str) -> Vec<String> {
        let file = include_str!("../../../docs/examples/workshop.toml").replacen(old, new, 1);
        let read = read("plant.toml", file.as_bytes()).unwrap_or_else(|e| panic!("{:?}", e.findings));
        let odd = read.notes.iter().filter(|f| f.code == "P64");
        odd.map(|f| format!("{} {}", f.sentence, f.hints.join("; "))).collect()
    }

    #[test]
    fn hours_for_minutes_are_told_and_zero_only_where_a_burner_needs_the_time() {
        let at = "[boiler.b1]\n";
        let list = notes(at, "[boiler.b1]\non-min = \"1 h\"\n");
        assert_eq!(list.len(), 1, "{list:?}");
        assert!(list[0].contains("`boiler.b1.on-min` is 1 h; usual is 30 s to 20 min"), "{list:?}");
        assert!(list[0].contains("\"1 min\""), "{list:?}");
        assert_eq!(notes(at, "[boiler.b1]\non-min = \"3 min\"\n"), [""; 0]);
        for key in ["on-min", "off-min", "pump-overrun"] {
            let list = notes(at, &format!("[boiler.b1]\n{key} = \"0 s\"\n"));
            assert!(list.len() == 1 && list[0].contains(&format!("`boiler.b1.{key}` is 0 s; usual is")), "{list:?}");
        }
        assert_eq!(notes(at, "[boiler.b1]\nretry-after = \"1 min\"\n"), [""; 0]);
        assert_eq!(notes("[pump.p-shop]\n", "[pump.p-shop]\nexercise-every = \"0 s\"\n"), [""; 0]);
        assert_eq!(notes("[pump.p-shop]\n", "[pump.p-shop]\nexercise-every = \"7 h\"\n").len(), 1);
    }

    #[test]
    fn the_examples_are_usual() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/examples");
        let mut seen = 0;
        for f in std::fs::read_dir(folder).unwrap().map(|f| f.unwrap().path()) {
            if f.extension().is_some_and(|e| e == "toml") {
                let read =
                    read("plant.toml", &std::fs::read(&f).unwrap()).unwrap_or_else(|e| panic!("{:?}", e.findings));
                let odd: Vec<_> = read.notes.iter().filter(|f| f.code == "P64").map(|f| &f.sentence).collect();
                assert!(odd.is_empty(), "{}: {odd:?}", f.display());
                seen += 1;
            }
        }
        assert!(seen >= 4);
    }
}
