//! `lockout`: disconnects and lockout points, one sheet an item.

use super::{Common, Failure, PlantFile, plan};
use crate::{
    finding::Finding,
    show::{Report, Table, units::In},
};
use clap::Args;
use heatwright_core::{Severity, Subject};
use heatwright_wiring::pass::lockout::{self, Sheet};

/// Disconnects and lockout points, one sheet an item.
#[derive(Debug, Args)]
pub(super) struct Lockout {
    #[command(flatten)]
    file: PlantFile,
    /// Only items whose name holds this text.
    #[arg(long, value_name = "TEXT")]
    item: Option<String>,
}

impl Lockout {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        let loaded = self.file.read()?;
        let (job, plan) = plan(&loaded)?;
        let all = lockout::lockout(&job, &plan);
        let wanted = |s: &&Sheet| self.item.as_ref().is_none_or(|i| s.name.to_lowercase().contains(&i.to_lowercase()));
        if !all.sheets.iter().any(|s| wanted(&s)) {
            let names: Vec<&str> = all.sheets.iter().map(|s| s.name.as_str()).collect();
            return Err(Finding::new("X02", Severity::Error, Subject::Plant, "no lockout sheet has such a name")
                .hint(format!("the items are: {}", names.join(", ")))
                .into());
        }
        let mut r = Report::new(format!("Lockout sheets of {}", loaded.plant.site.name));
        for c in &all.cautions {
            r.item(*c);
        }
        let mut main = Table::new(&["Item", "Place", "Point", "At", "Lock", "Takes away"]);
        for s in all.sheets.iter().filter(wanted) {
            sheet(&mut r, s, In(common.units));
            for p in &s.points {
                main.row([
                    s.name.clone(),
                    s.place.clone(),
                    p.what.clone(),
                    p.place.clone(),
                    p.lock.to_owned(),
                    numbers(&p.takes),
                ]);
            }
        }
        r.main = main;
        let sheets: Vec<&Sheet> = all.sheets.iter().filter(wanted).collect();
        r.json = serde_json::json!({ "sheets": sheets, "cautions": all.cautions });
        Ok(r)
    }
}

fn numbers(places: &[usize]) -> String {
    places.iter().map(|i| format!("S{}", i + 1)).collect::<Vec<_>>().join(", ")
}

fn sheet(r: &mut Report, s: &Sheet, u: In) {
    r.heading(format!("{} ({}), {}", s.name, s.devices.join(", "), s.place));
    r.text("Electric sources:");
    let mut t = Table::new(&["No.", "Source", ">V", "Can stand on", "Through", "Foreign"]);
    for (i, x) in s.sources.iter().enumerate() {
        t.row([
            format!("S{}", i + 1),
            x.what.clone(),
            format!("{:.0}", x.volts),
            x.terminals.join(" "),
            if x.through.is_empty() { "joined".into() } else { x.through.join(" ") },
            if x.foreign { "YES" } else { "no" }.into(),
        ]);
    }
    r.table(t);
    r.text("Open and lock, in this order:");
    let mut t = Table::new(&["No.", "Point", "At", "Lock", "Takes away"]);
    for (i, p) in s.points.iter().enumerate() {
        t.row([(i + 1).to_string(), p.what.clone(), p.place.clone(), p.lock.to_owned(), numbers(&p.takes)]);
    }
    r.table(t);
    for x in &s.stored {
        r.item(u.prose(&format!("Stored energy: {}. {}", x.what, x.relieve)));
    }
    for x in &s.starts_by_itself {
        r.item(u.prose(&format!("Caution: {x}")));
    }
    for x in &s.stays_live {
        r.item(u.prose(&format!("Stays live: {x}")));
    }
    for x in &s.also_dead {
        r.item(format!("Goes dead too: {x}"));
    }
    if !s.tests.is_empty() {
        r.text("Test for absence of voltage at the point of work, 0 V wanted at each:");
        let mut t = Table::new(&["At", "Against", "Would show"]);
        for x in &s.tests {
            t.row([x.at.clone(), x.against.clone(), numbers(&x.sources)]);
        }
        r.table(t);
    }
    r.text("Steps (29 CFR 1910.147):");
    for x in &s.steps {
        for task in &x.tasks {
            r.item(u.prose(&format!("{} {}: {task}", x.clause, x.heading)));
        }
    }
}
