//! A table that may be longer than memory: its rows go to a nameless temporary file as they come, and from there to the
//! screen or into their file once the result stands. So a season takes no more memory than a day, and a run that fails leaves
//! nothing half written.

use crate::{files::why, finding::Finding};
use heatwright_core::{Severity, Subject};
use std::{
    fs::File,
    io::{BufWriter, Seek},
    sync::Arc,
};

/// A table on its way into a temporary file, as comma-separated values.
#[derive(Debug)]
pub struct Spool {
    rows: csv::Writer<BufWriter<File>>,
    failed: Option<csv::Error>,
}

fn told(e: &std::io::Error) -> Finding {
    let sentence = format!("the series cannot be kept in a temporary file: {}", why(e));
    Finding::new("F07", Severity::Error, Subject::Plant, sentence)
        .hint("see that there is room in the folder for temporary files, or take fewer rows")
}

impl Spool {
    /// Begins a table with its heads.
    pub fn new(heads: &[String]) -> Result<Self, Finding> {
        let file = tempfile::tempfile().map_err(|e| told(&e))?;
        let mut spool = Self { rows: csv::Writer::from_writer(BufWriter::new(file)), failed: None };
        spool.row(heads);
        Ok(spool)
    }

    /// Adds a row. A failure is told by [`finish`](Self::finish).
    pub fn row(&mut self, cells: impl IntoIterator<Item = impl AsRef<[u8]>>) {
        if self.failed.is_none() {
            self.failed = self.rows.write_record(cells).err();
        }
    }

    /// The whole table, to be read from its start.
    pub fn finish(self) -> Result<Arc<File>, Finding> {
        if let Some(e) = self.failed {
            return Err(told(&e.into()));
        }
        let buffer = self.rows.into_inner().map_err(|e| told(e.error()))?;
        let mut file = buffer.into_inner().map_err(|e| told(e.error()))?;
        file.rewind().map_err(|e| told(&e))?;
        Ok(Arc::new(file))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read;

    #[test]
    fn rows_come_out_as_they_went_in() {
        let mut s = Spool::new(&["Time".into(), "Supply, °F".into()]).unwrap();
        s.row(["2015-01-05 00:00:00", "131.4"]);
        let mut text = String::new();
        (&*s.finish().unwrap()).read_to_string(&mut text).unwrap();
        assert_eq!(text, "Time,\"Supply, °F\"\n2015-01-05 00:00:00,131.4\n");
    }

    #[test]
    fn a_row_of_another_length_is_told_at_the_end() {
        let mut s = Spool::new(&["Time".into(), "Supply, °F".into()]).unwrap();
        s.row(["2015-01-05 00:00:00"]);
        s.row(["2015-01-05 00:05:00", "131.4"]);
        assert_eq!(s.finish().unwrap_err().code, "F07");
    }
}
