//! A finding in the form that people read: code, severity, one sentence that stands alone, its place, what to do.
//!
//! Every crate has its own typed faults (codes and facts, no text of files). They become a [`Finding`] here: a back end's
//! fault is turned into one with [`Finding::new`], which needs only a code, a severity, a [`Subject`] and a sentence;
//! [`Finding::place`] then looks up where in the plant file the subject stands. This module also renders: text at a given
//! width with the line of the file underlined, and JSON.
//!
//! It does not decide what is a fault, nor what exit code follows from it.

use crate::{names::Names, plant::places::Places};
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use heatwright_core::{Severity, Subject};
use serde::Serialize;
use std::{borrow::Cow, ops::Range, path::Path};

/// A text file that findings point into.
#[derive(Clone, Debug, Default)]
pub struct Source {
    /// The name to print: a path.
    pub label: String,
    /// The whole text.
    pub text: String,
}

impl Source {
    /// The file's name without its folders.
    pub fn file_name(&self) -> &str {
        Path::new(&self.label).file_name().and_then(|n| n.to_str()).unwrap_or(&self.label)
    }

    /// CRC-32 of the text (ISO-HDLC, as archives have it), in hexadecimal. Ends of lines count alike in both forms.
    pub fn checksum(&self) -> String {
        const CRC: crc::Crc<u32> = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC);
        let mut digest = CRC.digest();
        self.text.split("\r\n").enumerate().for_each(|(n, line)| {
            if n > 0 {
                digest.update(b"\n");
            }
            digest.update(line.as_bytes());
        });
        format!("{:08x}", digest.finalize())
    }
}

/// One finding.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// Its code, never reused: `P06`.
    pub code: Cow<'static, str>,
    /// How much it matters.
    pub severity: Severity,
    /// What it is about.
    pub subject: Subject,
    /// The field of the subject, as a path in the plant file, when it is about one.
    pub field: Option<String>,
    /// One sentence that stands alone.
    pub sentence: String,
    /// Where in the plant file, in bytes.
    pub span: Option<Range<usize>>,
    /// A word under the underline.
    pub label: Option<String>,
    /// Other places that belong to it, each with a word.
    pub also: Vec<(Range<usize>, String)>,
    /// Facts behind it: sums, comparisons, sources.
    pub notes: Vec<String>,
    /// What to do, most likely first.
    pub hints: Vec<String>,
}

impl Finding {
    /// A finding without a place.
    pub fn new(
        code: impl Into<Cow<'static, str>>,
        severity: Severity,
        subject: Subject,
        sentence: impl Into<String>,
    ) -> Self {
        Self {
            code: code.into(),
            severity,
            subject,
            field: None,
            sentence: sentence.into(),
            span: None,
            label: None,
            also: Vec::new(),
            notes: Vec::new(),
            hints: Vec::new(),
        }
    }

    /// Adds what to do.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }

    /// Adds several things to do.
    pub fn hints(mut self, hints: impl IntoIterator<Item = String>) -> Self {
        self.hints.extend(hints);
        self
    }

    /// Adds a fact behind it.
    pub fn note(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// Says which field of the subject it is about.
    pub fn field(mut self, field: impl Into<String>) -> Self {
        self.field = Some(field.into());
        self
    }

    /// Puts it at a place in the file.
    pub fn at(mut self, span: Range<usize>) -> Self {
        self.span = Some(span);
        self
    }

    /// Writes a word under the underline.
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = Some(label.into());
        self
    }

    /// Adds another place.
    pub fn also(mut self, span: Range<usize>, label: impl Into<String>) -> Self {
        self.also.push((span, label.into()));
        self
    }

    /// Finds its place from its subject and field, unless it has one.
    pub fn place(mut self, places: &Places) -> Self {
        if self.span.is_none() {
            self.span = match &self.field {
                Some(field) => places.at(self.subject, field),
                None => places.of(self.subject),
            };
        }
        self
    }

    /// The finding as a JSON value, with the subject by name and the place in lines and columns.
    pub fn to_json(&self, names: &Names, source: Option<&Source>) -> serde_json::Value {
        let place = self.span.as_ref().zip(source).map(|(span, source)| {
            let (line, column) = line_and_column(&source.text, span.start);
            serde_json::json!({ "file": source.label, "line": line, "column": column })
        });
        serde_json::json!({
            "code": self.code,
            "severity": self.severity,
            "subject": names.id(self.subject),
            "field": self.field,
            "sentence": self.sentence,
            "place": place,
            "notes": self.notes,
            "hints": self.hints,
        })
    }
}

/// The greatest severity among findings.
pub fn worst(findings: &[Finding]) -> Option<Severity> {
    findings.iter().map(|f| f.severity).max()
}

/// Line and column of a byte, both counted from 1; columns count characters.
pub fn line_and_column(text: &str, byte: usize) -> (usize, usize) {
    let before = text.get(..floor(text, byte)).unwrap_or("");
    let line_start = before.rfind('\n').map_or(0, |i| i + 1);
    let column = before.get(line_start..).unwrap_or("").chars().count();
    (before.matches('\n').count() + 1, column + 1)
}

/// How findings are rendered as text.
#[derive(Clone, Copy, Debug)]
pub struct Look {
    /// Columns.
    pub width: usize,
    /// With terminal colours.
    pub color: bool,
}

impl Default for Look {
    fn default() -> Self {
        Self { width: 80, color: false }
    }
}

/// Findings as text, each followed by an empty line.
pub fn render(findings: &[Finding], source: Option<&Source>, look: Look) -> String {
    let lines = source.map(|s| Lines::new(&s.text));
    findings.iter().map(|f| render_one(f, source.zip(lines.as_ref()), look) + "\n\n").collect()
}

/// A line longer than this is cut around its place before it is rendered.
const LINE_MAX: usize = 1000;
/// Of a cut line, this much is shown on each side of the place.
const CUT_SIDE: usize = 20;
/// Places further apart than this many bytes are shown as separate pieces of the file.
const PIECE_MAX: usize = 64 * 1024;

/// Start of every line, so that a place is found without reading the file again for every finding.
struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    fn new(text: &str) -> Self {
        let next = text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i + 1);
        Self { starts: std::iter::once(0).chain(next).collect() }
    }

    /// Index of the line that holds a byte.
    fn of(&self, byte: usize) -> usize {
        self.starts.partition_point(|s| *s <= byte).saturating_sub(1)
    }

    /// Bytes of a line, without its end.
    fn span(&self, text: &str, line: usize) -> Range<usize> {
        let start = self.starts.get(line).copied().unwrap_or(text.len());
        let end = self.starts.get(line + 1).map_or(text.len(), |next| next.saturating_sub(1));
        start..end.max(start)
    }
}

/// The last boundary of a character at or before a byte.
fn floor(text: &str, byte: usize) -> usize {
    let mut at = byte.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// A place held to the characters and to the first line of what it covers.
fn first_line(text: &str, lines: &Lines, span: &Range<usize>) -> (usize, Range<usize>) {
    let start = floor(text, span.start);
    let line = lines.of(start);
    let whole = lines.span(text, line);
    let start = start.min(whole.end);
    (line, start..floor(text, span.end).clamp(start, whole.end))
}

/// A long line cut around a place: the text to show and the place in it.
fn cut(text: &str, whole: &Range<usize>, place: &Range<usize>) -> (String, Range<usize>) {
    let pick = |range: Range<usize>| text.get(range).unwrap_or("");
    let mut before: Vec<char> = pick(whole.start..place.start).chars().rev().take(CUT_SIDE).collect();
    before.reverse();
    let head = format!("…{}", before.into_iter().collect::<String>());
    let inside: String = pick(place.clone()).chars().take(CUT_SIDE).collect();
    let after: String = pick(place.start + inside.len()..whole.end).chars().take(CUT_SIDE).collect();
    let mark = head.len()..head.len() + inside.len();
    (format!("{head}{inside}{after}…"), mark)
}

fn level(severity: Severity) -> Level<'static> {
    match severity {
        Severity::Note => Level::NOTE,
        Severity::Warning => Level::WARNING,
        Severity::Error => Level::ERROR,
    }
}

fn render_one(f: &Finding, source: Option<(&Source, &Lines)>, look: Look) -> String {
    let width = look.width.max(40);
    let renderer = if look.color { Renderer::styled() } else { Renderer::plain() }.term_width(width);
    let heading = match f.severity {
        Severity::Note => "note",
        Severity::Warning => "warning",
        Severity::Error => "error",
    };
    // The renderer sets every further line of the title under its first word.
    let title_width = width.saturating_sub(heading.len() + f.code.len() + 4);
    let title = level(f.severity).primary_title(wrap(&f.sentence, title_width)).id(f.code.as_ref());
    let mut group = Group::with_title(title);
    if let (Some((source, lines)), Some(span)) = (source, &f.span) {
        let primary = std::iter::once((span, f.label.as_ref(), AnnotationKind::Primary));
        let others = f.also.iter().map(|(s, l)| (s, Some(l), AnnotationKind::Context));
        let marks: Vec<_> = primary
            .chain(others)
            .map(|(span, label, kind)| (first_line(&source.text, lines, span), label, kind))
            .collect();
        let whole = |line: &usize| lines.span(&source.text, *line);
        let first = marks.iter().map(|((line, _), ..)| whole(line).start).min().unwrap_or(0);
        let last = marks.iter().map(|((line, _), ..)| whole(line).end).max().unwrap_or(0);
        let long = marks.iter().any(|((line, _), ..)| whole(line).len() > LINE_MAX);
        if !long && last - first <= PIECE_MAX {
            let piece = source.text.get(first..last).unwrap_or("");
            let marks = marks.into_iter().map(|((_, place), label, kind)| {
                kind.span(place.start - first..place.end - first).label(label.map(String::as_str))
            });
            let start = lines.of(first) + 1;
            group = group.element(Snippet::source(piece).line_start(start).path(&source.label).annotations(marks));
        } else {
            for ((line, place), label, kind) in marks {
                let (text, mark) = cut(&source.text, &whole(&line), &place);
                let mark = kind.span(mark).label(label.map(String::as_str));
                group = group.element(Snippet::source(text).line_start(line + 1).path(&source.label).annotation(mark));
            }
            let (line, column) = line_and_column(&source.text, span.start);
            let note = format!("a part is shown; the place is line {line}, character {column}");
            group = group.element(Level::NOTE.message(note));
        }
    }
    // The gutter is as wide as the largest line number.
    let digits = match (source, &f.span) {
        (Some((_, lines)), Some(span)) => (lines.of(span.end) + 1).to_string().len(),
        _ => 1,
    };
    let room = width.saturating_sub((digits + 9).max(14));
    for note in &f.notes {
        group = group.element(Level::NOTE.message(wrap(note, room)));
    }
    for hint in &f.hints {
        group = group.element(Level::HELP.message(wrap(hint, room)));
    }
    renderer.render(&[group])
}

/// Breaks a text at spaces so that no line is longer than `room`, as far as its words allow. A number keeps the word after
/// it, which is its unit.
fn wrap(text: &str, room: usize) -> String {
    let room = room.max(20);
    let (mut out, mut used) = (String::new(), 0);
    let mut words = text.split(' ').peekable();
    while let Some(first) = words.next() {
        let mut word = first.to_owned();
        while word.ends_with(|c: char| c.is_ascii_digit()) {
            let Some(unit) = words.next_if(|w| !w.starts_with(|c: char| c.is_ascii_digit())) else { break };
            word.push(' ');
            word.push_str(unit);
        }
        let length = word.chars().count();
        if used > 0 && used + 1 + length > room {
            out.push('\n');
            used = 0;
        } else if used > 0 {
            out.push(' ');
            used += 1;
        }
        out.push_str(&word);
        used += length;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> (Finding, Source) {
        let text = "[zone.office]\npump = \"p-ofice\"\n[pump.p-office]\n".to_string();
        let f =
            Finding::new("P11", Severity::Error, Subject::Plant, "zone `office` names a pump that is not in the file")
                .at(21..30)
                .label("no such pump")
                .also(37..45, "perhaps this one")
                .note("a fact")
                .hint("write \"p-office\"");
        (f, Source { label: "plant.toml".into(), text })
    }

    /// The check value of CRC-32/ISO-HDLC in the catalogue of the program RevEng (from memory): cbf43926 for the digits 1 to 9.
    #[test]
    fn a_checksum_is_that_of_archives_and_does_not_see_how_lines_end() {
        let of = |text: &str| Source { label: "a/b.toml".into(), text: text.into() }.checksum();
        assert_eq!(of("123456789"), "cbf43926");
        assert_eq!(of("a = 1\r\nb = 2\r\n"), of("a = 1\nb = 2\n"));
        assert_ne!(of("a = 1\nb = 2\n"), of("a = 1\nb = 3\n"));
    }

    #[test]
    fn text_underlines_the_place_and_says_what_to_do() {
        let (f, source) = sample();
        insta::assert_snapshot!(render(&[f], Some(&source), Look::default()));
    }

    #[test]
    fn lines_break_at_spaces_but_never_between_a_number_and_its_unit() {
        assert_eq!(wrap("it is colder at 60 °F (15.6 °C) outdoors", 20), "it is colder at\n60 °F (15.6 °C)\noutdoors");
    }

    #[test]
    fn json_counts_lines_and_columns_from_one() {
        let (f, source) = sample();
        let v = f.to_json(&Names::default(), Some(&source));
        assert_eq!(v["place"], serde_json::json!({ "file": "plant.toml", "line": 2, "column": 8 }));
        assert_eq!(v["severity"], "error");
    }

    #[test]
    fn no_span_can_break_the_rendering() {
        let text = "é°\n\tü = \"°°°°\"\r\n\u{1b}[31m";
        let source = Source { label: "x".into(), text: text.into() };
        for start in 0..text.len() + 3 {
            for end in 0..text.len() + 3 {
                let f = Finding::new("P01", Severity::Error, Subject::Plant, "something")
                    .at(start..end)
                    .also(end..start, "x");
                let out = render(&[f], Some(&source), Look::default());
                assert!(!out.contains('\u{1b}'), "the file's own escape codes never reach the terminal");
            }
        }
    }

    #[test]
    fn a_long_line_is_cut_around_its_place() {
        let text = format!("key = \"{}\"", "x".repeat(10_000_000));
        let source = Source { label: "x".into(), text };
        let f = Finding::new("P01", Severity::Error, Subject::Plant, "too long")
            .at(5_000_000..5_000_003)
            .also(3..9_000_000, "b");
        let out = render(&[f], Some(&source), Look::default());
        assert!(out.lines().all(|l| l.chars().count() <= 80), "{out}");
    }
}
