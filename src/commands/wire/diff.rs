//! `wire --diff`: what a revision does to the wires and to what hangs on them.

use crate::{
    commands::Failure,
    exit::Exit,
    files,
    finding::Finding,
    plant::Loaded,
    show::{
        Report, Table,
        report::MadeFrom,
        units::In,
        wiring::{at, colour},
    },
};
use heatwright_core::{Severity, Subject};
use heatwright_wiring::{
    diff::{
        Pair, diff,
        parts::{ListDiff, Lists, Thing, lists},
    },
    plan::Plan,
    row::{Row, way},
};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};
use std::path::Path;

/// What is read of an older plan: its rows, which it must hold, and each other list where it is there in a form known here.
struct Old {
    made_from: Option<MadeFrom>,
    rows: Vec<Row>,
    lists: Lists,
}

/// An older plan, or one finding.
fn read(path: &Path) -> Result<Old, Finding> {
    let bytes = files::read(path)?;
    let fault = |why: String| {
        Finding::new(
            "F04",
            Severity::Error,
            Subject::Plant,
            format!("{} is no wiring schedule of an earlier run: {why}", path.display()),
        )
        .hint(
            "write one with 'heatwright wire PLANT.toml --format json --output OLD.json', before the plant is changed",
        )
    };
    let mut whole: Map<String, Value> = serde_json::from_slice(&bytes).map_err(|e| fault(e.to_string()))?;
    let rows = whole.remove("rows").ok_or_else(|| fault("it holds no `rows`".into()))?;
    let rows = serde_json::from_value(rows).map_err(|e| fault(format!("in its rows: {e}")))?;
    let lists = Lists {
        panelboard: take(&mut whole, "panelboard"),
        relay_panel: take(&mut whole, "relay-panel"),
        fault_ka: take(&mut whole, "fault-ka"),
        places: take(&mut whole, "places"),
        breakers: take(&mut whole, "breakers"),
        directory: take(&mut whole, "directory"),
        devices: take(&mut whole, "devices"),
        motors: take(&mut whole, "motors"),
        transformers: take(&mut whole, "transformers"),
        runs: take(&mut whole, "runs"),
        bars: take(&mut whole, "bars"),
    };
    Ok(Old { made_from: take(&mut whole, "made-from"), rows, lists })
}

/// One list of an older plan; `None` where it is missing or has another form.
fn take<T: DeserializeOwned>(whole: &mut Map<String, Value>, key: &str) -> Option<T> {
    serde_json::from_value(whole.remove(key)?).ok()
}

/// The report.
pub(super) fn report(l: &Loaded, plan: &Plan, old: &Path, u: In) -> Result<Report, Failure> {
    let was = read(old)?;
    let d = diff(&was.rows, &plan.rows);
    let beside = lists(&was.lists, &Lists::from(plan));
    let mut r = Report::of(&l.source, format!("Revision of the wiring of {}", l.plant.site.name));
    r.text(format!(
        "Against {}{}: {} wires added, {} moved, {} changed, {} dropped; {} stay as they are. Take out what is dropped before anything is \
         landed on its terminals.",
        old.display(),
        was.made_from.as_ref().map_or_else(String::new, |m| format!(" (plant file {}, checksum {})", m.plant_file, m.checksum)),
        d.added.len(),
        d.moved.len(),
        d.changed.len(),
        d.dropped.len(),
        d.same
    ));
    let old_rows = d.same + d.moved.len() + d.changed.len() + d.dropped.len();
    // A revision may bear another name; of another plant's wires a few stand alike by chance.
    let renamed = was.made_from.as_ref().is_some_and(|m| m.plant_file != l.source.file_name());
    let stranger = d.same * if renamed { 2 } else { 10 } < old_rows;
    if stranger {
        let sentence = format!(
            "of {old_rows} wires in {} only {} stay: it is most likely the schedule of another plant",
            old.display(),
            d.same
        );
        r.finding(
            &Finding::new("F12", Severity::Warning, Subject::Plant, sentence)
                .hint("see plant file and checksum above; take the schedule that this plant was wired by"),
        );
    }
    let mut all = Table::new(&["List", "Revision", "Which", "From", "To", "Conductor", "In", "What"]);
    let conductor = |w: &Row| format!("{} {}", w.awg, colour(w.colour));
    let run = |w: &Row| way(&w.run, &w.from, &w.to);
    let cells = |word: &str, w: &Row, what: String| {
        let [list, word] = ["wires", word].map(str::to_owned);
        [list, word, w.wire.clone(), at(&w.from), at(&w.to), conductor(w), run(w), what]
    };
    let mut single = |r: &mut Report, head: &str, word: &str, rows: &[Row]| {
        if rows.is_empty() {
            return;
        }
        r.heading(head);
        let mut t = Table::new(&["Wire", "From", "To", "Conductor", "In", &format!(">{}", u.length_unit()), "Does"]);
        for w in rows {
            t.row([
                w.wire.clone(),
                at(&w.from),
                at(&w.to),
                conductor(w),
                run(w),
                u.length_text(w.length_ft),
                w.purpose.clone(),
            ]);
            all.row(cells(word, w, w.purpose.clone()));
        }
        r.table(t);
    };
    single(&mut r, "Wires dropped", "dropped", &d.dropped);
    single(&mut r, "Wires added", "added", &d.added);
    let mut double = |r: &mut Report, head: &str, word: &str, pairs: &[Pair]| {
        if pairs.is_empty() {
            return;
        }
        r.heading(head);
        let mut t = Table::new(&["Wire", "From", "To", "What"]);
        for p in pairs {
            let w = &p.new;
            let what = u.prose(&p.what.join("; "));
            t.row([w.wire.clone(), at(&w.from), at(&w.to), what.clone()]);
            all.row(cells(word, w, what));
        }
        r.table(t);
    };
    double(&mut r, "Wires moved", "moved", &d.moved);
    double(&mut r, "Wires changed", "changed", &d.changed);
    if d.added.is_empty() && d.moved.is_empty() && d.changed.is_empty() && d.dropped.is_empty() {
        r.text("No wire is to be touched.");
    }
    for l in &beside {
        list(&mut r, &mut all, l, u);
    }
    r.text(
        "Materials, labels, fill and derating follow from these and are not compared: print them anew. A device with another tag is \
         dropped and added.",
    );
    r.main = all;
    r.json = serde_json::to_value(&d).unwrap_or_default();
    if let Some(json) = r.json.as_object_mut() {
        json.insert("lists".into(), serde_json::to_value(&beside).unwrap_or_default());
    }
    r.exit = if stranger { Exit::Findings } else { Exit::Clean };
    Ok(r)
}

/// One list beside the wires: a table, or a sentence where there is nothing to show.
fn list(r: &mut Report, all: &mut Table, l: &ListDiff, u: In) {
    let mut name = l.list.clone();
    if let Some(first) = name.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    if !l.compared {
        r.text(format!(
            "{name}: not compared, since the older file does not hold them in a form that this version reads."
        ));
        return;
    }
    if l.added.is_empty() && l.changed.is_empty() && l.dropped.is_empty() {
        r.text(format!("{name}: unchanged ({}).", l.same));
        return;
    }
    r.heading(&name);
    r.text(format!(
        "{} added, {} changed, {} dropped; {} stay as they are.",
        l.added.len(),
        l.changed.len(),
        l.dropped.len(),
        l.same
    ));
    let mut t = Table::new(&["Revision", "Which", "What"]);
    let mut rows = |word: &str, things: &[Thing]| {
        for x in things {
            let what = u.prose(&x.what.join("; "));
            t.row([word.to_owned(), x.id.clone(), what.clone()]);
            let none = String::new;
            all.row([l.list.clone(), word.to_owned(), x.id.clone(), none(), none(), none(), none(), what]);
        }
    };
    rows("dropped", &l.dropped);
    rows("added", &l.added);
    rows("changed", &l.changed);
    r.table(t);
}
