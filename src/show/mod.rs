//! How a result is shown: one report, as text, CSV or JSON.
//!
//! A command computes nothing about looks. It hands over a [`Report`]: blocks of text and tables for people, and plain data
//! for machines. Text keeps to 80 columns, or to the terminal's width when it is wider and the output is a terminal.

pub mod legend;
mod pages;
pub mod points;
pub mod progress;
pub mod reasons;
pub mod report;
pub mod spool;
pub mod table;
pub mod text;
pub mod units;
pub mod wiring;
pub mod workbook;

pub use report::{Block, Report};
pub use table::{Align, Table};

/// Output format.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum Format {
    /// For people.
    #[default]
    Text,
    /// The main table, comma-separated, with a head line.
    Csv,
    /// Everything, for programs.
    Json,
}
