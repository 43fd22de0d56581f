//! What a rule found, as data: the host adds the place in the file and renders.
//!
//! A finding has one sentence that stands alone, facts as plain numbers with their unit, and hints that say what to do. The
//! `field` is the path of the key in the plant file that the finding hangs on, such as `pumps.run`, when there is one.

use heatwright_core::{Severity, Subject};
use serde::Serialize;

/// A plain value with its unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fact {
    /// What it is.
    pub name: &'static str,
    /// Its value.
    pub value: Value,
    /// Its unit; empty for text and counts.
    pub unit: &'static str,
}

/// The value of a fact.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Value {
    /// A number in the fact's unit.
    Number(f64),
    /// A tag, a mark, a name.
    Text(String),
}

impl From<f64> for Value {
    fn from(v: f64) -> Self {
        Value::Number(v)
    }
}

impl From<usize> for Value {
    fn from(v: usize) -> Self {
        Value::Number(v as f64)
    }
}

impl From<&str> for Value {
    fn from(v: &str) -> Self {
        Value::Text(v.to_owned())
    }
}

impl From<String> for Value {
    fn from(v: String) -> Self {
        Value::Text(v)
    }
}

/// One finding.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// Code of the rule.
    pub code: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// What it is about.
    pub about: Subject,
    /// Key of the plant file that it hangs on.
    pub field: Option<&'static str>,
    /// One sentence that stands alone.
    pub sentence: String,
    /// Values behind it.
    pub facts: Vec<Fact>,
    /// What to do.
    pub hints: Vec<String>,
}

impl Finding {
    /// Names the key of the plant file.
    pub fn field(&mut self, path: &'static str) -> &mut Self {
        self.field = Some(path);
        self
    }

    /// Adds a value.
    pub fn fact(&mut self, name: &'static str, value: impl Into<Value>, unit: &'static str) -> &mut Self {
        self.facts.push(Fact { name, value: value.into(), unit });
        self
    }

    /// Adds what to do.
    pub fn hint(&mut self, text: impl Into<String>) -> &mut Self {
        self.hints.push(text.into());
        self
    }

    /// Gives it another weight than its rule's.
    pub fn severity(&mut self, severity: Severity) -> &mut Self {
        self.severity = severity;
        self
    }
}

/// Collects findings; each takes code and weight from the rule that is at work.
#[derive(Clone, Debug)]
pub struct Findings {
    code: &'static str,
    severity: Severity,
    list: Vec<Finding>,
}

impl Findings {
    /// An empty collection for a rule.
    pub fn of_rule(code: &'static str, severity: Severity) -> Self {
        Self { code, severity, list: Vec::new() }
    }

    /// Turns to the next rule.
    pub fn turn_to(&mut self, code: &'static str, severity: Severity) {
        self.code = code;
        self.severity = severity;
    }

    /// Adds a finding.
    pub fn add(&mut self, about: Subject, sentence: impl Into<String>) -> &mut Finding {
        self.list.push(Finding {
            code: self.code,
            severity: self.severity,
            about,
            field: None,
            sentence: sentence.into(),
            facts: Vec::new(),
            hints: Vec::new(),
        });
        let last = self.list.len() - 1;
        &mut self.list[last]
    }

    /// All findings, in the order found.
    pub fn into_list(self) -> Vec<Finding> {
        self.list
    }
}
