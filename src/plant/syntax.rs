//! Faults of the grammar in a technician's words: what the parser found, where, and what was probably meant.
//!
//! The parser goes on past a fault, so one slip may leave several; a heading that stands twice makes every key under it
//! stand twice, and only the heading is told. It decides nothing about what the keys mean.

use crate::finding::Finding;
use heatwright_core::{Severity, Subject};
use std::ops::Range;

/// Most faults of the grammar that are shown: past it the file is something else than a plant file.
const SHOWN_MAX: usize = 10;

/// The faults that the parser found, in the order of the file.
pub(super) fn faults(text: &str, errors: &[toml::de::Error]) -> Vec<Finding> {
    let mut out: Vec<Finding> = Vec::new();
    // End of the table whose heading stands twice: what is repeated inside it is no fault of its own.
    let mut repeated_to = 0;
    let mut more = 0;
    for e in errors {
        let message = e.message().lines().next().unwrap_or("it cannot be read");
        let span = e.span();
        if message.starts_with("duplicate key") && span.as_ref().is_some_and(|s| s.start < repeated_to) {
            continue;
        }
        let repeats_heading =
            span.as_ref().filter(|s| message.starts_with("duplicate key") && is_heading(text, s.start));
        if let Some(s) = repeats_heading {
            repeated_to = text.get(s.start..).and_then(|t| t.find("\n[")).map_or(text.len(), |i| s.start + i);
        }
        if out.len() >= SHOWN_MAX {
            more += 1;
            continue;
        }
        out.push(fault(text, message, span));
    }
    if more > 0 {
        let f = Finding::new("P55", Severity::Error, Subject::Plant, format!("{more} more faults are not shown"));
        out.push(f.hint("mend these first; if there are very many, see that this is the plant file"));
    }
    if let Some(first) = out.first_mut() {
        first.notes.push("what is missing or does not fit is not judged until the file can be read whole".to_owned());
    }
    out
}

fn fault(text: &str, message: &str, span: Option<Range<usize>>) -> Finding {
    let new = |code, sentence: String| Finding::new(code, Severity::Error, Subject::Plant, sentence);
    let f = match (message, &span) {
        (m, Some(s)) if m.starts_with("duplicate key") => {
            let given = crate::plant::quantity::clip(text.get(s.clone()).unwrap_or(""));
            let heading = is_heading(text, s.start);
            let mut f = if heading {
                new("P10", format!("the heading [{}] stands twice", heading_at(text, s.start)))
                    .hint("rename one of the two, or join their keys under one heading")
            } else {
                new("P10", format!("`{given}` is written twice in one table")).hint("keep one of the two")
            };
            if let Some(first) = first_place(text, s, heading) {
                f = f.label("again here").also(first, "first here");
            }
            f
        }
        (m, _) if m.starts_with("invalid basic string") || m.starts_with("invalid literal string") => {
            new("P54", "this text in quotes is not closed, or holds a sign that may not stand in it".to_owned())
                .hint("a text begins and ends with a quote on one line: name = \"Office\"")
        }
        (m, _) if m.starts_with("key with no value") => {
            new("P54", "this line names a key and gives it no value".to_owned())
                .hint("write key = value, for example name = \"Office\"; a heading stands in brackets: [zone.office]")
        }
        (m, _) if m.contains("recurs") => new("P53", "lists or tables stand too deep in each other".to_owned())
            .hint("no setting of a plant is nested so deep; see that this is the plant file"),
        (m, _) => new("P54", format!("this line does not follow the grammar of TOML: {m}"))
            .hint("headings stand in brackets, [zone.hall]; values behind an equals sign; texts in quotes"),
    };
    match span {
        Some(span) => f.at(span),
        None => f,
    }
}

/// The line that a byte stands in, from its start.
fn line_at(text: &str, at: usize) -> (usize, &str) {
    let start = text.get(..at).and_then(|t| t.rfind('\n')).map_or(0, |i| i + 1);
    let rest = text.get(start..).unwrap_or("");
    (start, rest.split('\n').next().unwrap_or(""))
}

fn is_heading(text: &str, at: usize) -> bool {
    line_at(text, at).1.trim_start().starts_with('[')
}

/// What stands between the brackets of a heading.
fn heading_at(text: &str, at: usize) -> String {
    let line = line_at(text, at).1.trim_start().trim_start_matches('[');
    crate::plant::quantity::clip(line.split(']').next().unwrap_or("").trim())
}

/// Where the same heading, or the same key in the same table, stands before.
fn first_place(text: &str, again: &Range<usize>, heading: bool) -> Option<Range<usize>> {
    let (start, line) = line_at(text, again.start);
    let name = text.get(again.clone())?;
    let same = |other: &str| {
        if heading {
            other.trim().split(']').next() == line.trim().split(']').next()
        } else {
            other.trim_start().strip_prefix(name).is_some_and(|rest| rest.trim_start().starts_with('='))
        }
    };
    let mut end = start;
    while end > 0 {
        let (from, other) = line_at(text, end - 1);
        if same(other) {
            let inside = other.find(name)?;
            return Some(from + inside..from + inside + name.len());
        }
        if !heading && other.trim_start().starts_with('[') {
            return None;
        }
        end = from;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use toml::de::DeTable;

    fn told(text: &str) -> Vec<(String, Option<Range<usize>>)> {
        let (_, errors) = DeTable::parse_recoverable(text);
        faults(text, &errors).into_iter().map(|f| (f.sentence, f.also.first().map(|a| a.0.clone()))).collect()
    }

    #[test]
    fn a_repeated_heading_is_one_fault_and_its_first_place_is_found() {
        let text = "[a.b]\nx = 1\n[a.b] # again\nx = 2\ny = 3\n[c]\nz = 1\nz = 2\n";
        assert_eq!(
            told(text),
            [
                ("the heading [a.b] stands twice".to_owned(), Some(3..4)),
                ("`z` is written twice in one table".to_owned(), Some(42..43)),
            ]
        );
    }

    #[test]
    fn very_many_faults_are_counted_not_shown() {
        let all = told(&"=\n".repeat(500));
        assert_eq!(all.len(), SHOWN_MAX + 1);
        assert!(all.last().is_some_and(|f| f.0.ends_with("more faults are not shown")), "{all:?}");
    }
}
