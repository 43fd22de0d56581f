//! Why a weather file is refused: the line, what was given, what is allowed, and what to do about it.

use super::Unit;
use jiff::civil::{Date, DateTime};
use thiserror::Error;

/// Why a weather file, or a window of it, cannot be used.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // The sentence of each variant says what its fields are.
pub enum WeatherError {
    #[error("the weather file is empty; give an EPW, TMY3, ISD-Lite or `time,dry_bulb_c` file")]
    Empty,
    #[error("the weather file has {bytes} bytes; at most {bytes_max} are read: cut it to the years needed")]
    TooLarge { bytes: usize, bytes_max: usize },
    #[error("the weather file is not plain text: {hint}")]
    NotText { hint: &'static str },
    #[error(
        "line {line} of the weather file has {bytes} bytes; at most {bytes_max} are read: a line end is missing, or it is \
         not a weather file"
    )]
    LineTooLong { line: usize, bytes: usize, bytes_max: usize },
    #[error(
        "line {line} begins `{given}`, which starts no known weather file; allowed are EPW (`LOCATION,`), TMY3 (second line \
         `Date (MM/DD/YYYY)`), ISD-Lite (twelve whole numbers) and CSV with a head line `time,dry_bulb_c` or \
         `time,dry_bulb_f`"
    )]
    UnknownFormat { line: usize, given: String },
    #[error(
        "line {line} is the last one and ends early: {given} fields of {needed}; the file was cut off: fetch it again, or \
         delete that line"
    )]
    Truncated { line: usize, given: usize, needed: usize },
    #[error("line {line} has {given} fields where {needed} are needed; mend or delete that line")]
    FieldCount { line: usize, given: usize, needed: usize },
    #[error(
        "line {line}: `{given}` is not a number in column {column}; leave the field empty where there is no reading"
    )]
    NotANumber { line: usize, column: String, given: String },
    #[error("line {line}: `{given}` is not a whole number in column {column}")]
    NotAWholeNumber { line: usize, column: String, given: String },
    #[error(
        "line {line}: `{given}` in column {column} is no temperature; leave the field empty where there is no reading, and \
         short gaps are repaired"
    )]
    NotFinite { line: usize, column: String, given: String },
    #[error("line {line}: the time `{given}` cannot be read; allowed: {allowed}")]
    BadTime { line: usize, given: String, allowed: &'static str },
    #[error("line {line}: column `{given}` does not say its unit; name it `dry_bulb_c` or `dry_bulb_f`")]
    UnitMissing { line: usize, given: String },
    #[error("line {line}: there is no column {column}; found: {found}")]
    ColumnMissing { line: usize, column: &'static str, found: String },
    #[error("line {line}: there is more than one column {column}; keep one")]
    ColumnTwice { line: usize, column: &'static str },
    #[error(
        "line {line}: {given} {} is no outdoor temperature; allowed are {low:.0} to {high:.0} {}; {hint}",
        unit.sign(),
        unit.sign()
    )]
    OutOfRange { line: usize, given: f64, unit: Unit, low: f64, high: f64, hint: &'static str },
    #[error(
        "line {line}: {given} {} between {before} {} and {after} {} is a reading that went wrong: no hour is so far from both \
         its neighbors; empty the field to have that hour repaired",
        unit.sign(),
        unit.sign(),
        unit.sign()
    )]
    Spike { line: usize, given: f64, before: f64, after: f64, unit: Unit },
    #[error("a whole year with {what} of {given:.1} {} is hard to believe; {hint}", unit.sign())]
    WrongUnit { what: &'static str, given: f64, unit: Unit, hint: &'static str },
    #[error(
        "line {line} gives {} a second time (first on line {first_line}); keep one of them. Where a clock change repeats \
         an hour, convert the file to standard time",
        clock(at)
    )]
    Duplicate { line: usize, first_line: usize, at: DateTime },
    #[error(
        "line {line} ({}) is earlier than the line before it ({}); sort the file by time",
        clock(at),
        clock(before)
    )]
    Unsorted { line: usize, at: DateTime, before: DateTime },
    #[error(
        "{hours} hours are missing before line {line}, from {}; at most {hours_max} in a row are filled by a straight \
         line: complete the file or use another stretch of it",
        clock(from)
    )]
    Gap { line: usize, from: DateTime, hours: i64, hours_max: u32 },
    #[error("the weather file holds {}; at least 2 are needed", hourly(*hours))]
    TooShort { hours: usize },
    #[error(
        "the times of this file are UTC; give the site's standard time as an offset from UTC, for example -6 hours for \
         Chicago"
    )]
    OffsetMissing,
    #[error("the site's offset from UTC is given as {given_min} min; allowed are -840 to 840 min")]
    OffsetRange { given_min: i32 },
    #[error(
        "line {line}: the file says its standard time is UTC{}, but {} was given; leave the \
         argument out, or mend it",
        hours(file_min),
        hours(given_min)
    )]
    OffsetContradicts { line: usize, file_min: i32, given_min: i32 },
    #[error("line {line}: {given} records an hour; only files with 1 record an hour are read")]
    RecordsPerHour { line: usize, given: i64 },
    #[error("{days} days from {from} are not all in this weather, which runs from {} to {}", clock(first), clock(last))]
    OutsideSeries { from: Date, days: u32, first: DateTime, last: DateTime },
    #[error("a window of {days} whole days does not fit into this weather, which has {whole_days}")]
    WindowTooLong { days: u32, whole_days: usize },
    #[error("{field} is {given}; allowed are {low} to {high}")]
    Setting { field: &'static str, given: f64, low: f64, high: f64 },
}

/// An offset as people write it: `-6`, `+5:30`.
fn hours(min: &i32) -> String {
    let rest = if min % 60 == 0 { String::new() } else { format!(":{:02}", min.abs() % 60) };
    format!("{}{}{rest}", if *min < 0 { '-' } else { '+' }, min.abs() / 60)
}

/// A moment as people write it.
fn clock(at: &DateTime) -> String {
    at.strftime("%Y-%m-%d %H:%M").to_string()
}

impl WeatherError {
    /// The line of the file that the complaint is about, counted from 1; `None` when it is about the whole.
    pub fn line(&self) -> Option<usize> {
        match *self {
            Self::LineTooLong { line, .. }
            | Self::UnknownFormat { line, .. }
            | Self::Truncated { line, .. }
            | Self::FieldCount { line, .. }
            | Self::NotANumber { line, .. }
            | Self::NotAWholeNumber { line, .. }
            | Self::NotFinite { line, .. }
            | Self::BadTime { line, .. }
            | Self::UnitMissing { line, .. }
            | Self::ColumnMissing { line, .. }
            | Self::ColumnTwice { line, .. }
            | Self::OutOfRange { line, .. }
            | Self::Spike { line, .. }
            | Self::Duplicate { line, .. }
            | Self::Unsorted { line, .. }
            | Self::Gap { line, .. }
            | Self::OffsetContradicts { line, .. }
            | Self::RecordsPerHour { line, .. } => Some(line),
            Self::Empty
            | Self::TooLarge { .. }
            | Self::NotText { .. }
            | Self::WrongUnit { .. }
            | Self::TooShort { .. }
            | Self::OffsetMissing
            | Self::OffsetRange { .. }
            | Self::OutsideSeries { .. }
            | Self::WindowTooLong { .. }
            | Self::Setting { .. } => None,
        }
    }
}

/// So many hourly values, in words.
fn hourly(count: usize) -> String {
    match count {
        0 => "no hourly value".to_owned(),
        1 => "one hourly value".to_owned(),
        _ => format!("{count} hourly values"),
    }
}
