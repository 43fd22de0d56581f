//! What each finding means, why it matters and how to mend it, by its code: what `explain` says.
//!
//! One table a family of codes, one file a table; the wiring rules come from their own registry. A text is true of every sentence
//! that carries its code, and names the keys of the plant file as they are written there. Where the program computes something,
//! the text has the formula; where a standard asks for it, the standard. Codes and names are never used again for another fault.
//!
//! The tests beside this module read the sources: a code that is emitted and not explained fails, an explanation that nothing
//! emits fails, and so does a weight that is not the one that is emitted.
//!
//! It does not decide what is a fault, and it says nothing about a certain plant: the finding itself does.

mod control;
mod equipment;
mod files;
mod naming;
mod reading;
mod runs;
mod settings;
mod studies;
#[cfg(test)]
mod tests;
mod water;

use heatwright_core::Severity;
use heatwright_wiring::{
    rules::{self, Rule},
    tables::Status,
};

/// How much the findings of a code matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Each has this weight.
    Always(Severity),
    /// Its text says when which.
    Varies,
}

const NOTE: Weight = Weight::Always(Severity::Note);
const WARNING: Weight = Weight::Always(Severity::Warning);
const ERROR: Weight = Weight::Always(Severity::Error);

impl Weight {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Weight::Always(Severity::Note) => "note",
            Weight::Always(Severity::Warning) => "warning",
            Weight::Always(Severity::Error) => "error",
            Weight::Varies => "varies",
        }
    }
}

/// What there is to say about one code. In the three texts a line is a paragraph.
pub(crate) struct Entry {
    /// The code, as findings carry it.
    pub(crate) code: &'static str,
    /// Its name: the fault.
    pub(crate) name: &'static str,
    /// Weight of its findings.
    pub(crate) weight: Weight,
    /// Where the demand comes from.
    pub(crate) source: &'static str,
    /// What it finds.
    pub(crate) finds: &'static str,
    /// Why it matters.
    pub(crate) matters: &'static str,
    /// How to mend it.
    pub(crate) mend: &'static str,
    /// Lines of a plant file as they should be; empty where none helps.
    pub(crate) example: &'static str,
}

/// A table of codes.
pub(crate) struct Family {
    /// What they are about.
    pub(crate) title: &'static str,
    /// The codes, in order.
    pub(crate) entries: &'static [Entry],
}

/// All tables but that of the wiring rules.
pub(crate) const FAMILIES: [Family; 9] = [
    Family { title: "Plant file: how it is written", entries: reading::ENTRIES },
    Family { title: "Plant file: what names what", entries: naming::ENTRIES },
    Family { title: "Plant file: equipment", entries: equipment::ENTRIES },
    Family { title: "Plant file: control settings", entries: settings::ENTRIES },
    Family { title: "Controller: points, configuration, board", entries: control::ENTRIES },
    Family { title: "Supply temperature and cycling", entries: studies::ENTRIES },
    Family { title: "Water side", entries: water::ENTRIES },
    Family { title: "Runs, weather and records", entries: runs::ENTRIES },
    Family { title: "Files, options and the wiring plan", entries: files::ENTRIES },
];

/// Title of the wiring rules' table.
const RULES_TITLE: &str = "Wiring rules";

/// Rules some of whose findings have another weight than the rule's own.
const RULES_THAT_VARY: [&str; 12] =
    ["HW103", "HW104", "HW201", "HW212", "HW402", "HW404", "HW501", "HW502", "HW503", "HW504", "HW509", "HW603"];

/// One code, explained.
#[derive(Clone, Debug, PartialEq)]
pub struct Explained {
    /// The table that it stands in.
    pub family: &'static str,
    /// Its code.
    pub code: &'static str,
    /// Its name; the code itself where that is a name already.
    pub name: &'static str,
    /// Weight of its findings.
    pub weight: Weight,
    /// Where the demand comes from; of a standard, how far it was checked.
    pub source: String,
    /// Sections with their headings. A line is a paragraph; one that begins with blanks stands as it is.
    pub text: String,
}

fn entry(family: &'static str, e: &'static Entry) -> Explained {
    let example = if e.example.is_empty() {
        String::new()
    } else {
        format!("\n\nExample\n    {}", e.example.replace('\n', "\n    "))
    };
    let text = format!(
        "What it finds\n{}\n\nWhy it matters\n{}\n\nHow to mend it\n{}{example}\n\nSource\n{}.",
        e.finds, e.matters, e.mend, e.source
    );
    Explained { family, code: e.code, name: e.name, weight: e.weight, source: e.source.to_owned(), text }
}

fn rule(r: &'static Rule) -> Explained {
    let weight = if RULES_THAT_VARY.contains(&r.code) { Weight::Varies } else { Weight::Always(r.severity) };
    let checked = match r.source.status {
        Status::Checked => "checked",
        Status::Partly => "partly checked",
        Status::Memory => "from memory",
    };
    let source = format!("{}, {}: {checked}", r.source.standard, r.source.section);
    let whole = r.explain();
    let text = whole.split_once('\n').map_or("", |(_, rest)| rest).trim().to_owned();
    Explained { family: RULES_TITLE, code: r.code, name: r.name, weight, source, text }
}

/// Every code, table by table.
pub fn all() -> Vec<Explained> {
    let ours = FAMILIES.iter().flat_map(|f| f.entries.iter().map(|e| entry(f.title, e)));
    ours.chain(rules::RULES.iter().map(|r| rule(r))).collect()
}

/// The explanation of a code or a name, in either case.
pub fn find(given: &str) -> Option<Explained> {
    all().into_iter().find(|e| e.code.eq_ignore_ascii_case(given) || e.name.eq_ignore_ascii_case(given))
}

/// Codes that are near to what was typed, nearest first, three at most.
pub fn near(given: &str) -> Vec<&'static str> {
    let given: String = given.chars().take(40).collect::<String>().to_lowercase();
    let mut found: Vec<(usize, &'static str)> = Vec::new();
    for e in all() {
        let far = strsim::levenshtein(&e.code.to_lowercase(), &given).min(strsim::levenshtein(e.name, &given));
        // One slip in a short code, one in every four letters of a name.
        if far <= (given.chars().count() / 4).max(1) {
            found.push((far, e.code));
        }
    }
    found.sort_by_key(|f| f.0);
    found.into_iter().take(3).map(|f| f.1).collect()
}
