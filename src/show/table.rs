//! A table: heads with units, cells as text.

use comfy_table::{
    Cell, CellAlignment, ColumnConstraint, ContentArrangement, ContentLineStyle, LineStyle, TableStyle, Width,
};
use std::borrow::Cow;

/// Columns parted by a blank, a dashed rule below the heads, nothing else: it survives a copy, a fax and a screen reader.
const STYLE: TableStyle = TableStyle::new()
    .header_lines(ContentLineStyle::none().junction(' '))
    .header_separator(LineStyle::none().fill('-').junction(' '))
    .content_lines(ContentLineStyle::none().junction(' '));

/// Narrowest column of words where not all fit.
const NARROWEST: u16 = 6;

/// How a column lines up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table. Every row has as many cells as there are columns.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// Columns.
    pub columns: Vec<(String, Align)>,
    /// Rows.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// An empty table: a head that starts with `>` makes a column of numbers.
    pub fn new(heads: &[&str]) -> Self {
        let columns = heads
            .iter()
            .map(|h| match h.strip_prefix('>') {
                Some(h) => (h.to_owned(), Align::Right),
                None => ((*h).to_owned(), Align::Left),
            })
            .collect();
        Self { columns, rows: Vec::new() }
    }

    /// Adds a row; missing cells are blank, further ones are a bug and are dropped.
    pub fn row(&mut self, cells: impl IntoIterator<Item = impl Into<String>>) {
        let mut cells: Vec<String> = cells.into_iter().map(Into::into).collect();
        cells.resize(self.columns.len(), String::new());
        self.rows.push(cells);
    }

    /// As text of at most `width` columns; long cells are wrapped.
    pub fn text(&self, width: u16) -> String {
        let mut t = comfy_table::Table::new();
        t.load_style(STYLE).set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
        let cell = |(text, align): (&String, Align)| {
            Cell::new(glued(text)).set_alignment(match align {
                Align::Left => CellAlignment::Left,
                Align::Right => CellAlignment::Right,
            })
        };
        let aligns = || self.columns.iter().map(|c| c.1);
        t.set_header(self.columns.iter().map(|(h, a)| cell((h, *a))));
        for r in &self.rows {
            t.add_row(r.iter().zip(aligns()).map(cell));
        }
        // No word is broken where the longest of every column fit side by side. Where they do not, words may break and marks (what
        // holds a figure: tags, terminals, wires, runs) may not: rather the table is wider.
        let words = self.longest(|_| true);
        let fit = words.iter().map(|w| w + 1).sum::<u16>() <= width + 1;
        let kept = if fit {
            words
        } else {
            let marks = self.longest(|w| w.contains(|c: char| c.is_ascii_digit()));
            let marks: Vec<u16> = marks.into_iter().zip(words).map(|(m, w)| m.max(w.min(NARROWEST))).collect();
            let least = marks.iter().map(|w| w + 1).sum::<u16>() - 1;
            t.set_width(width.max(least));
            marks
        };
        for (c, word) in t.column_iter_mut().zip(kept) {
            c.set_padding((0, 0));
            c.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(word)));
        }
        t.lines().map(|l| l.trim_end().replace(GLUE, " ")).collect::<Vec<_>>().join("\n")
    }

    /// Columns that the longest word of each column takes, of those that count.
    fn longest(&self, counts: impl Fn(&str) -> bool) -> Vec<u16> {
        let of = |t: &str| {
            let glued = glued(t);
            let words = glued.split([' ', '\n']).filter(|w| !w.is_empty() && counts(w));
            words.map(|w| w.chars().count()).max().unwrap_or(0)
        };
        let column = |(i, (head, _)): (usize, &(String, Align))| {
            let cells = self.rows.iter().filter_map(|r| r.get(i)).map(|t| of(t)).max().unwrap_or(0);
            of(head).max(cells).clamp(1, 200) as u16
        };
        self.columns.iter().enumerate().map(column).collect()
    }

    /// As comma-separated values with a head line. Where a text begins with a sign that a spreadsheet takes for a formula, an
    /// apostrophe stands before it; figures are left as they are, and the dash of a figure that is missing is an empty field.
    pub fn csv(&self) -> Result<Vec<u8>, csv::Error> {
        let mut w = csv::Writer::from_writer(Vec::new());
        w.write_record(self.columns.iter().map(|c| &c.0))?;
        for r in &self.rows {
            let cells = r.iter().zip(&self.columns);
            w.write_record(cells.map(|(c, (_, align))| match align {
                Align::Right if c == "-" => String::new(),
                Align::Left | Align::Right => plain(c).into_owned(),
            }))?;
        }
        w.into_inner().map_err(|e| e.into_error().into())
    }
}

/// Stands for a blank at which no line ends.
const GLUE: char = '\u{a0}';

/// A figure with its one word, such as "12 brown" or "15 A", is not parted.
fn glued(cell: &str) -> Cow<'_, str> {
    match cell.split_once(' ') {
        Some((figure, word))
            if figure.chars().all(|c| c.is_ascii_digit() || matches!(c, '/' | '.')) && !word.contains([' ', '\n']) =>
        {
            Cow::Owned(format!("{figure}{GLUE}{word}"))
        }
        _ => Cow::Borrowed(cell),
    }
}

/// A cell that no spreadsheet computes.
fn plain(cell: &str) -> Cow<'_, str> {
    let sign = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
    if sign && cell.parse::<f64>().is_err() { Cow::Owned(format!("'{cell}")) } else { Cow::Borrowed(cell) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_becomes_a_formula() {
        let mut t = Table::new(&["Name", ">Heat, MBH"]);
        t.row(["=1+1", "-3.5"]);
        t.row(["+V", "+2"]);
        t.row(["@sum", "-"]);
        t.row(["-", "-a"]);
        let csv = String::from_utf8(t.csv().unwrap()).unwrap();
        assert_eq!(
            csv, "Name,\"Heat, MBH\"\n'=1+1,-3.5\n'+V,+2\n'@sum,\n'-,'-a\n",
            "a dash in place of a figure is no figure"
        );
    }

    #[test]
    fn a_word_is_not_broken_where_it_fits() {
        let mut t = Table::new(&["Code", "Fault", "Source"]);
        t.row(["HW602", "receptacle-without-ground-fault", "a long source that has many short words in it"]);
        let text = t.text(50);
        assert!(text.contains("receptacle-without-ground-fault"), "{text}");
        assert!(text.lines().all(|l| l.chars().count() <= 50), "{text}");
    }

    /// Marks too many for the line: words break, no mark does.
    #[test]
    fn a_mark_is_never_broken() {
        let mut t = Table::new(&["Device", "Wire", "Other end", "Place"]);
        t.row(["MP-1/QF12.T1", "QLF12.14-13.2", "XB4:QLF12.14-13", "extraordinarily distant"]);
        for width in [30, 50, 58] {
            let text = t.text(width);
            for mark in ["MP-1/QF12.T1", "QLF12.14-13.2", "XB4:QLF12.14-13"] {
                assert!(text.contains(mark), "{width}\n{text}");
            }
        }
        assert!(t.text(58).lines().all(|l| l.chars().count() <= 58), "{}", t.text(58));
    }

    /// A size keeps its colour, in the narrowest table; a wider one uses its room.
    #[test]
    fn a_figure_keeps_its_word() {
        let mut t = Table::new(&["Wire", "Conductor", "Does"]);
        t.row(["A2-38", "12 brown", "fans 1 to 6 of the weaving shed in the north of the yard"]);
        t.row(["A2-40", "12 orange", "the same"]);
        let text = t.text(34);
        assert!(text.contains("12 brown") && text.contains("12 orange") && !text.contains(GLUE), "{text}");
        assert!(text.lines().count() > t.text(100).lines().count(), "{text}");
        assert_eq!(t.text(100).lines().count(), 4);
    }

    #[test]
    fn a_table_keeps_to_its_width_and_lines_up() {
        let mut t = Table::new(&["Zone", ">Heat, MBH"]);
        t.row(["reading room with a very long name that wraps", "120.0"]);
        t.row(["hall", "9.5"]);
        let text = t.text(30);
        assert!(text.lines().all(|l| l.chars().count() <= 30), "{text}");
        assert!(text.lines().last().unwrap().ends_with("       9.5"), "{text}");
        assert_eq!(String::from_utf8(t.csv().unwrap()).unwrap().lines().count(), 3);
    }
}
