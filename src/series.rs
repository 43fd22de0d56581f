//! The series of a run as a file: CSV or Parquet by its ending, written as the run goes, whole or not at all.
//!
//! First column the wall-clock time (local standard time, milliseconds since 1970 in Parquet, not adjusted to UTC), then one column of
//! numbers each, in the unit that its head names; a missing value is an empty field or a null. Parquet rows are handed over in groups
//! of [`GROUP_ROWS`]: a season takes no more memory than a day.

use crate::{files::Draft, finding::Finding};
use heatwright_core::{Severity, Subject};
use jiff::civil::{DateTime, date};
use parquet::{
    basic::{LogicalType, Repetition, TimeUnit, Type as Physical},
    column::writer::ColumnWriter,
    errors::ParquetError,
    file::{properties::WriterProperties, writer::SerializedFileWriter},
    schema::types::Type,
};
use std::{
    fs::File,
    io::BufWriter,
    path::{Path, PathBuf},
    sync::Arc,
};

/// Rows of a group.
pub const GROUP_ROWS: usize = 8_192;
/// Endings that are understood.
pub const ENDINGS: [&str; 2] = ["csv", "parquet"];

enum Form {
    Csv(Box<csv::Writer<BufWriter<File>>>),
    Parquet(Box<Groups>),
}

/// A series in the making.
pub struct SeriesFile {
    draft: Draft,
    path: PathBuf,
    start: DateTime,
    form: Form,
    rows: u64,
}

/// Rows that wait for their group.
struct Groups {
    writer: SerializedFileWriter<File>,
    times_ms: Vec<i64>,
    columns: Vec<Vec<Option<f64>>>,
}

fn told(path: &Path, what: impl std::fmt::Display) -> Finding {
    Finding::new("F07", Severity::Error, Subject::Plant, format!("{} cannot be written: {what}", path.display()))
        .hint("nothing was changed; see that there is room on the disk")
}

impl SeriesFile {
    /// Begins a series that starts at `start`, with the heads of its columns of numbers.
    pub fn new(path: &Path, start: DateTime, heads: &[String]) -> Result<Self, Finding> {
        let draft = Draft::new(path)?;
        let file = draft.handle()?;
        let parquet = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("parquet"));
        let form = if parquet {
            Form::Parquet(Box::new(Groups::new(file, heads).map_err(|e| told(path, e))?))
        } else {
            let mut w = csv::Writer::from_writer(BufWriter::new(file));
            let head = std::iter::once("Time").chain(heads.iter().map(String::as_str));
            w.write_record(head).map_err(|e| told(path, e))?;
            Form::Csv(Box::new(w))
        };
        Ok(Self { draft, path: path.to_owned(), start, form, rows: 0 })
    }

    /// One row, so many seconds after the start; as many values as there are heads.
    pub fn row(&mut self, at_s: f64, values: &[Option<f64>]) -> Result<(), Finding> {
        self.rows += 1;
        let at = moment(self.start, at_s);
        match &mut self.form {
            Form::Csv(w) => {
                let time = std::iter::once(stamp(self.start, at_s));
                // Four decimals: far below what any sensor resolves.
                let each = values.iter().map(|v| v.map_or(String::new(), |v| crate::show::units::tidy(v, 4)));
                w.write_record(time.chain(each)).map_err(|e| told(&self.path, e))
            }
            Form::Parquet(g) => g.row(millis(at), values).map_err(|e| told(&self.path, e)),
        }
    }

    /// Puts the file in its place and says how many rows it has.
    pub fn finish(self, force: bool) -> Result<u64, Finding> {
        match self.form {
            Form::Csv(mut w) => self.draft.said(w.flush())?,
            Form::Parquet(g) => g.finish().map_err(|e| told(&self.path, e))?,
        }
        self.draft.keep(force)?;
        Ok(self.rows)
    }
}

fn moment(start: DateTime, at_s: f64) -> DateTime {
    start.saturating_add(jiff::SignedDuration::from_secs(at_s as i64))
}

/// A moment of a series as every table of rows writes it, and as recorded calls are read.
pub fn stamp(start: DateTime, at_s: f64) -> String {
    moment(start, at_s).strftime("%Y-%m-%dT%H:%M:%S").to_string()
}

/// Milliseconds since 1970 by the same clock.
fn millis(at: DateTime) -> i64 {
    at.duration_since(date(1970, 1, 1).at(0, 0, 0, 0)).as_millis() as i64
}

impl Groups {
    fn new(file: File, heads: &[String]) -> Result<Self, ParquetError> {
        let time = Type::primitive_type_builder("Time", Physical::INT64)
            .with_repetition(Repetition::REQUIRED)
            .with_logical_type(Some(LogicalType::timestamp(false, TimeUnit::MILLIS)))
            .build()?;
        let mut fields = vec![Arc::new(time)];
        for head in heads {
            let number = Type::primitive_type_builder(head, Physical::DOUBLE).with_repetition(Repetition::OPTIONAL);
            fields.push(Arc::new(number.build()?));
        }
        let schema = Type::group_type_builder("series").with_fields(fields).build()?;
        let made_by = format!("heatwright {}", env!("CARGO_PKG_VERSION"));
        let properties = WriterProperties::builder().set_created_by(made_by).build();
        Ok(Self {
            writer: SerializedFileWriter::new(file, Arc::new(schema), Arc::new(properties))?,
            times_ms: Vec::with_capacity(GROUP_ROWS),
            columns: heads.iter().map(|_| Vec::with_capacity(GROUP_ROWS)).collect(),
        })
    }

    fn row(&mut self, at_ms: i64, values: &[Option<f64>]) -> Result<(), ParquetError> {
        self.times_ms.push(at_ms);
        for (k, c) in self.columns.iter_mut().enumerate() {
            c.push(values.get(k).copied().flatten());
        }
        if self.times_ms.len() >= GROUP_ROWS { self.hand_over() } else { Ok(()) }
    }

    fn hand_over(&mut self) -> Result<(), ParquetError> {
        if self.times_ms.is_empty() {
            return Ok(());
        }
        let mut group = self.writer.next_row_group()?;
        let mut numbers = self.columns.iter();
        while let Some(mut column) = group.next_column()? {
            match column.untyped() {
                ColumnWriter::Int64ColumnWriter(w) => {
                    w.write_batch(&self.times_ms, None, None)?;
                }
                ColumnWriter::DoubleColumnWriter(w) => {
                    let all = numbers.next().map_or(&[] as &[Option<f64>], Vec::as_slice);
                    let there: Vec<i16> = all.iter().map(|v| i16::from(v.is_some())).collect();
                    let values: Vec<f64> = all.iter().filter_map(|v| *v).collect();
                    w.write_batch(&values, Some(&there), None)?;
                }
                // The schema above has no other kind of column.
                _ => return Err(ParquetError::General("a column of an unknown kind".into())),
            }
            column.close()?;
        }
        group.close()?;
        self.times_ms.clear();
        self.columns.iter_mut().for_each(Vec::clear);
        Ok(())
    }

    fn finish(mut self) -> Result<(), ParquetError> {
        self.hand_over()?;
        self.writer.close().map(drop)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use parquet::{
        file::reader::{FileReader, SerializedFileReader},
        record::RowAccessor,
    };

    fn heads() -> Vec<String> {
        vec!["Supply, °F".into(), "Target, °F".into()]
    }

    fn write(path: &Path, rows: usize) {
        let start = date(2015, 1, 5).at(6, 0, 0, 0);
        let mut s = SeriesFile::new(path, start, &heads()).unwrap();
        for k in 0..rows {
            let target = (k % 3 != 0).then_some(k as f64);
            s.row(k as f64 * 60.0, &[Some(k as f64 / 3.0), target]).unwrap();
        }
        assert_eq!(s.finish(false).unwrap(), rows as u64);
    }

    #[test]
    fn parquet_reads_back_as_it_was_written() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.parquet");
        let rows = 2 * GROUP_ROWS + 100;
        write(&path, rows);
        let reader = SerializedFileReader::new(File::open(&path).unwrap()).unwrap();
        let meta = reader.metadata();
        assert_eq!(meta.file_metadata().num_rows(), rows as i64);
        assert_eq!(meta.num_row_groups(), 3, "rows are handed over in groups");
        let columns = meta.file_metadata().schema_descr().columns().to_vec();
        assert_eq!(columns.iter().map(|c| c.name()).collect::<Vec<_>>(), ["Time", "Supply, °F", "Target, °F"]);
        let first_ms = millis(date(2015, 1, 5).at(6, 0, 0, 0));
        // 2015-01-05T06:00:00 is 1 420 437 600 s after 1970 began, by any calendar.
        assert_eq!(first_ms, 1_420_437_600_000);
        for (k, row) in reader.get_row_iter(None).unwrap().enumerate() {
            let row = row.unwrap();
            assert_eq!(row.get_timestamp_millis(0).unwrap(), first_ms + k as i64 * 60_000);
            assert_eq!(row.get_double(1).unwrap(), k as f64 / 3.0, "no digit is lost");
            assert_eq!(row.get_double(2).ok(), (k % 3 != 0).then_some(k as f64));
        }
    }

    #[test]
    fn csv_holds_the_same_and_nothing_is_left_of_a_series_that_is_given_up() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.csv");
        write(&path, 4);
        let text = std::fs::read_to_string(&path).unwrap();
        assert_eq!(text.lines().next(), Some("Time,\"Supply, °F\",\"Target, °F\""));
        assert_eq!(text.lines().nth(2), Some("2015-01-05T06:01:00,0.3333,1.0000"));
        assert_eq!(text.lines().nth(4), Some("2015-01-05T06:03:00,1.0000,"));
        let other = dir.path().join("b.parquet");
        drop(SeriesFile::new(&other, date(2015, 1, 5).at(6, 0, 0, 0), &heads()).unwrap());
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1);
        // What is there is not written over.
        let s = SeriesFile::new(&path, date(2015, 1, 5).at(6, 0, 0, 0), &heads()).unwrap();
        assert!(s.finish(false).unwrap_err().sentence.contains("is there already"));
    }

    #[test]
    fn the_same_series_gives_the_same_bytes() {
        let dir = tempfile::tempdir().unwrap();
        let bytes = |name: &str| {
            let path = dir.path().join(name);
            write(&path, 500);
            std::fs::read(path).unwrap()
        };
        assert_eq!(bytes("a.parquet"), bytes("b.parquet"));
    }
}
