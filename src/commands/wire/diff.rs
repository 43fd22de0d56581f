//! `wire --diff`: what a revision does to the wires.

use crate::{
    commands::Failure,
    exit::Exit,
    files,
    finding::Finding,
    plant::Loaded,
    show::{
        Report, Table,
        units::In,
        wiring::{at, colour},
    },
};
use heatwright_core::{Severity, Subject};
use heatwright_wiring::{
    diff::{Pair, diff},
    plan::Plan,
    row::Row,
};
use serde::Deserialize;
use std::path::Path;

/// What is read of an older plan: its rows. The rest may have changed its form.
#[derive(Deserialize)]
struct Old {
    rows: Vec<Row>,
}

/// Rows of an older plan, or one finding.
fn read(path: &Path) -> Result<Vec<Row>, Finding> {
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
    serde_json::from_slice::<Old>(&bytes).map(|o| o.rows).map_err(|e| fault(e.to_string()))
}

/// The report.
pub(super) fn report(l: &Loaded, plan: &Plan, old: &Path, u: In) -> Result<Report, Failure> {
    let d = diff(&read(old)?, &plan.rows);
    let mut r = Report::new(format!("Revision of the wiring of {}", l.plant.site.name));
    r.text(format!(
        "Against {}: {} wires added, {} moved, {} changed, {} dropped; {} stay as they are. Take out what is dropped before anything is \
         landed on its terminals.",
        old.display(),
        d.added.len(),
        d.moved.len(),
        d.changed.len(),
        d.dropped.len(),
        d.same
    ));
    let old_rows = d.same + d.moved.len() + d.changed.len() + d.dropped.len();
    if d.same * 10 < old_rows {
        r.text("Hardly a wire stays: see that the older schedule is of this plant.");
    }
    let mut all = Table::new(&["Revision", "Wire", "From", "To", "Conductor", "In", "What"]);
    let conductor = |w: &Row| format!("{} {}", w.awg, colour(w.colour));
    let run = |w: &Row| if w.run.is_empty() { "panel".to_owned() } else { w.run.clone() };
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
            all.row([word.to_owned(), w.wire.clone(), at(&w.from), at(&w.to), conductor(w), run(w), w.purpose.clone()]);
        }
        r.table(t);
    };
    single(&mut r, "Dropped", "dropped", &d.dropped);
    single(&mut r, "Added", "added", &d.added);
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
            all.row([word.to_owned(), w.wire.clone(), at(&w.from), at(&w.to), conductor(w), run(w), what]);
        }
        r.table(t);
    };
    double(&mut r, "Moved", "moved", &d.moved);
    double(&mut r, "Changed", "changed", &d.changed);
    if d.added.is_empty() && d.moved.is_empty() && d.changed.is_empty() && d.dropped.is_empty() {
        r.text("No wire is to be touched.");
    }
    r.text("Wires only: breakers, ratings and devices are not compared. Hold 'wire --by directory' and '--by device' of both side by side.");
    r.main = all;
    r.json = serde_json::to_value(&d).unwrap_or_default();
    r.exit = Exit::Clean;
    Ok(r)
}
