//! What a command hands over to be shown.

use super::{Format, Table, pages::pages, text::wrap};
use crate::{exit::Exit, finding::Source};
use serde_json::Value;
use std::{fs::File, sync::Arc};

/// A piece of a report.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// The report's title.
    Title(String),
    /// A heading.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// An item of a list.
    Item(String),
    /// Lines that stand as they are.
    Lines(String),
    /// A table.
    Table(Table),
}

/// What a report was made from, so that two prints can be told apart.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct MadeFrom {
    /// The program and its version.
    pub program: String,
    /// The plant file's name, without its folders.
    pub plant_file: String,
    /// The plant file's checksum.
    pub checksum: String,
}

impl MadeFrom {
    /// This program and that file.
    pub fn of(source: &Source) -> Self {
        Self {
            program: format!("heatwright {}", env!("CARGO_PKG_VERSION")),
            plant_file: source.file_name().to_owned(),
            checksum: source.checksum(),
        }
    }

    fn sentence(&self) -> String {
        format!("Plant file {}, checksum {}; {}.", self.plant_file, self.checksum, self.program)
    }
}

/// A whole result.
#[derive(Clone, Debug)]
pub struct Report {
    /// For people.
    pub blocks: Vec<Block>,
    /// For spreadsheets: the one table that carries the result.
    pub main: Table,
    /// The same for a table that stands in a temporary file instead, from its start on.
    pub spooled: Option<Arc<File>>,
    /// For programs.
    pub json: Value,
    /// How the command ends.
    pub exit: Exit,
    /// What it was made from; none where no plant file was read.
    pub made_from: Option<MadeFrom>,
    /// Set for a text that is handed over as it stands, in every format.
    pub verbatim: Option<String>,
}

impl Report {
    /// An empty report.
    pub fn new(title: impl Into<String>) -> Self {
        Self {
            blocks: vec![Block::Title(title.into())],
            main: Table::new(&[]),
            spooled: None,
            json: Value::Null,
            exit: Exit::Clean,
            made_from: None,
            verbatim: None,
        }
    }
    /// An empty report on the plant of a file.
    pub fn of(source: &Source, title: impl Into<String>) -> Self {
        Self { made_from: Some(MadeFrom::of(source)), ..Self::new(title) }
    }
    /// A text that is handed over as it stands: a file, a schema, a script.
    pub fn verbatim(text: &str) -> Self {
        Self { verbatim: Some(text.to_owned()), ..Self::new("") }
    }
    /// Adds a heading.
    pub fn heading(&mut self, s: impl Into<String>) -> &mut Self {
        self.push(Block::Heading(s.into()))
    }
    /// Adds a paragraph.
    pub fn text(&mut self, s: impl Into<String>) -> &mut Self {
        self.push(Block::Text(s.into()))
    }
    /// Adds a list item.
    pub fn item(&mut self, s: impl Into<String>) -> &mut Self {
        self.push(Block::Item(s.into()))
    }
    /// Adds a table.
    pub fn table(&mut self, t: Table) -> &mut Self {
        self.push(Block::Table(t))
    }
    /// Adds the table that carries the result.
    pub fn main_table(&mut self, t: Table) -> &mut Self {
        self.main = t.clone();
        self.table(t)
    }
    /// Adds a finding as a list item, with what to do.
    pub fn finding(&mut self, f: &crate::finding::Finding) -> &mut Self {
        let weight = match f.severity {
            heatwright_core::Severity::Note => "note",
            heatwright_core::Severity::Warning => "warning",
            heatwright_core::Severity::Error => "error",
        };
        let mut s = format!("{weight} {}: {}", f.code, f.sentence);
        if !s.ends_with('.') {
            s.push('.');
        }
        for h in &f.hints {
            s.push_str(&format!(" Mend: {}.", h.trim_end_matches('.')));
        }
        self.item(s)
    }
    /// Adds a block.
    pub fn push(&mut self, b: Block) -> &mut Self {
        self.blocks.push(b);
        self
    }

    /// The report in one format, ending with a newline.
    pub fn render(&self, format: Format, width: u16) -> Vec<u8> {
        if let Some(text) = &self.verbatim {
            return text.clone().into_bytes();
        }
        match format {
            Format::Text => self.render_text(width).into_bytes(),
            Format::Csv => self.main.csv().unwrap_or_default(),
            Format::Json => {
                let mut json = self.json.clone();
                if let (Some(made), Value::Object(o)) = (&self.made_from, &mut json) {
                    o.insert("made-from".into(), serde_json::to_value(made).unwrap_or_default());
                }
                let mut s = serde_json::to_string_pretty(&json).unwrap_or_default();
                s.push('\n');
                s.into_bytes()
            }
        }
    }

    /// The text in pages of so many lines.
    pub fn paged(&self, width: u16, lines: usize) -> String {
        let made = self.made_from.as_ref().map(|m| m.checksum.as_str());
        pages(&self.render_text(width), lines, made)
    }

    fn render_text(&self, width: u16) -> String {
        let w = usize::from(width);
        let mut out = String::new();
        let mut last_was_item = false;
        for b in &self.blocks {
            let is_item = matches!(b, Block::Item(_));
            if !(out.is_empty() || is_item && last_was_item) {
                out.push('\n');
            }
            last_was_item = is_item;
            match b {
                Block::Title(s) => {
                    let s = wrap(s, w, 0);
                    let rule = s.lines().map(|l| l.chars().count()).max().unwrap_or(0);
                    out.push_str(&format!("{s}\n{}\n", "=".repeat(rule)));
                    if let Some(made) = &self.made_from {
                        out.push_str(&format!("\n{}\n", wrap(&made.sentence(), w, 0)));
                    }
                }
                Block::Heading(s) => {
                    out.push_str(&format!("{}\n{}\n", wrap(s, w, 0), "-".repeat(s.chars().count().min(w))))
                }
                Block::Text(s) => out.push_str(&format!("{}\n", wrap(s, w, 0))),
                Block::Item(s) => out.push_str(&format!("- {}\n", wrap(s, w - 2, 2))),
                Block::Lines(s) => out.push_str(&format!("{}\n", s.trim_end_matches('\n'))),
                Block::Table(t) => out.push_str(&format!("{}\n", t.text(width))),
            }
        }
        out
    }
}
