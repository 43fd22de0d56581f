//! `explain`: what a rule looks for, why, and how to mend it.

use super::{Common, Failure};
use crate::{
    finding::Finding,
    show::{Block, Report, Table, text::wrap},
};
use clap::Args;
use heatwright_core::{Severity, Subject};
use heatwright_wiring::rules;

/// What a rule looks for, why, and how to mend it.
#[derive(Debug, Args)]
pub(super) struct Explain {
    /// Code of the rule, like HW101.
    #[arg(required_unless_present = "list")]
    code: Option<String>,
    /// List all rules.
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

fn one(code: &str) -> Result<Report, Failure> {
    let Some(rule) = rules::find(code) else {
        let near = rules::RULES.iter().map(|r| r.code).filter(|c| strsim::levenshtein(c, &code.to_uppercase()) <= 1);
        let near: Vec<&str> = near.take(3).collect();
        let hint = if near.is_empty() {
            "'heatwright explain --list' names them all; a finding of another kind says all that is known of it where it stands"
                .to_owned()
        } else {
            format!("perhaps {} is meant", near.join(" or "))
        };
        return Err(Finding::new(
            "X01",
            Severity::Error,
            Subject::Plant,
            format!("there is no rule `{}`", code.chars().take(40).collect::<String>()),
        )
        .hint(hint)
        .into());
    };
    let mut r = Report::new(format!("{} {}", rule.code, rule.name));
    let text = rule.explain();
    let body = text.split_once('\n').map_or("", |(_, rest)| rest).trim();
    r.push(Block::Lines(body.lines().map(|l| wrap(l, 80, 0)).collect::<Vec<_>>().join("\n")));
    let mut t = Table::new(&["Code", "Fault", "Text"]);
    t.row([rule.code.to_owned(), rule.name.to_owned(), text.clone()]);
    r.main = t;
    r.json = serde_json::json!({ "code": rule.code, "name": rule.name, "severity": rule.severity, "text": text });
    Ok(r)
}

fn list() -> Report {
    let mut r = Report::new("Rules");
    let mut t = Table::new(&["Code", "Fault", "Weight", "Source"]);
    for rule in rules::RULES {
        let weight = match rule.severity {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Error => "error",
        };
        t.row([rule.code, rule.name, weight, &format!("{}, {}", rule.source.standard, rule.source.section)]);
    }
    r.main_table(t);
    r.json = rules::RULES.iter().map(|r| serde_json::json!({ "code": r.code, "name": r.name })).collect();
    r
}
