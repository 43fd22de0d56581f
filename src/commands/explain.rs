//! `explain`: what a finding means, why it matters, and how to mend it.

use super::{Common, Failure};
use crate::{
    explain::{self, Explained},
    finding::Finding,
    show::{Block, Report, Table, text::wrap},
};
use clap::Args;
use heatwright_core::{Severity, Subject};

/// What a finding means, why it matters, and how to mend it.
#[derive(Debug, Args)]
pub(super) struct Explain {
    /// Code or name of a finding, like HW101, P04 or short-cycle.
    #[arg(required_unless_present = "list")]
    code: Option<String>,
    /// List all codes, a table a family.
    #[arg(long)]
    list: bool,
}

impl Explain {
    pub(super) fn run(&self, _common: &Common) -> Result<Report, Failure> {
        match &self.code {
            Some(code) if !self.list => one(code),
            _ => Ok(list()),
        }
    }
}

/// Columns of the text form.
const WIDTH: usize = 80;

fn one(code: &str) -> Result<Report, Failure> {
    let Some(e) = explain::find(code) else {
        let near = explain::near(code);
        let hint = if near.is_empty() {
            "'heatwright explain --list' names them all".to_owned()
        } else {
            format!("perhaps {} is meant", near.join(" or "))
        };
        let given = code.chars().take(40).collect::<String>();
        let sentence = format!("no finding has the code or the name `{given}`");
        return Err(Finding::new("X01", Severity::Error, Subject::Plant, sentence).hint(hint).into());
    };
    let title = if e.code == e.name { e.code.to_owned() } else { format!("{} {}", e.code, e.name) };
    let mut r = Report::new(format!("{title} ({})", e.weight.word()));
    r.push(Block::Lines(lines(&e.text)));
    let mut t = Table::new(&["Code", "Fault", "Text"]);
    t.row([e.code, e.name, &e.text]);
    r.main = t;
    let mut json = head(&e);
    if let Some(o) = json.as_object_mut() {
        o.insert("text".into(), e.text.clone().into());
    }
    r.json = json;
    Ok(r)
}

/// Paragraphs in lines; what begins with blanks stands as it is.
fn lines(text: &str) -> String {
    let each = text.lines().map(|l| if l.starts_with(' ') { l.to_owned() } else { wrap(l, WIDTH, 0) });
    each.collect::<Vec<_>>().join("\n")
}

fn head(e: &Explained) -> serde_json::Value {
    serde_json::json!({
        "code": e.code,
        "name": e.name,
        "family": e.family,
        "severity": e.weight.word(),
        "source": e.source,
    })
}

fn list() -> Report {
    let all = explain::all();
    let mut r = Report::new("Findings");
    r.text("'heatwright explain CODE' says what one of them means, why it matters and how to mend it.");
    for family in all.chunk_by(|a, b| a.family == b.family) {
        let Some(first) = family.first() else { continue };
        r.heading(first.family);
        // Where the code is a name, it is not said twice.
        let named = family.iter().any(|e| e.code != e.name);
        let mut t = if named {
            Table::new(&["Code", "Fault", "Weight", "Source"])
        } else {
            Table::new(&["Code", "Weight", "Source"])
        };
        for e in family {
            let cells = [e.code, e.name, e.weight.word(), &e.source];
            t.row(cells.into_iter().enumerate().filter(|(k, _)| named || *k != 1).map(|(_, c)| c));
        }
        r.table(t);
    }
    let mut main = Table::new(&["Code", "Fault", "Weight", "Source", "Family"]);
    for e in &all {
        main.row([e.code, e.name, e.weight.word(), &e.source, e.family]);
    }
    r.main = main;
    r.json = all.iter().map(head).collect();
    r
}
