//! Tables over time: a head line `time,<name>,...`, then lines with a moment and one field a name.
//!
//! What records of calls and of temperatures have in common is read here: the head, the moments `2015-01-05T18:00:00` in local
//! standard time, strictly rising, the number of fields. Lines that begin with `#` and empty lines are passed over. A line that
//! stands twice is taken once and told. Commas and quotes are as RFC 4180 says; bytes that are no text become a sign that no
//! reader of figures takes.
//!
//! What it does not do: say what a field means.

use jiff::civil::DateTime;
use thiserror::Error;

/// A file with more lines than this is refused.
pub const LINES_MAX: u64 = 4_000_000;
/// A line longer than this is refused.
pub const LINE_BYTES_MAX: usize = 20_000;

/// Why a table is refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // The sentence of each variant says what its fields are.
pub enum TimedError {
    #[error("the record is empty; give a head line `time,<name>,...` and lines below it")]
    Empty,
    #[error("line {line} has more than {LINE_BYTES_MAX} bytes; is it a table of times?")]
    LineTooLong { line: u64 },
    #[error("the record has more than {LINES_MAX} lines; cut it")]
    TooLong,
    #[error("line {line} must name `time` first and then 1 to {columns_max} columns; it begins `{given}`")]
    Head { line: u64, given: String, columns_max: usize },
    #[error("line {line} has {given} fields where {needed} are needed; mend or delete that line")]
    FieldCount { line: u64, given: usize, needed: usize },
    #[error("line {line}: the time `{given}` cannot be read; allowed: 2015-01-05T18:00:00, local standard time")]
    BadTime { line: u64, given: String },
    #[error(
        "line {line} ({at}) is not later than the line before it ({before}); sort the file and keep each time once"
    )]
    NotRising { line: u64, at: DateTime, before: DateTime },
}

/// Reads a table forward.
pub(crate) struct Timed<'a> {
    bytes: &'a [u8],
    csv: csv::Reader<&'a [u8]>,
    /// Names of the columns after `time`, as written.
    pub names: Vec<String>,
    /// Line of the head.
    pub head_line: u64,
    /// Moment of the first row.
    pub first: Option<DateTime>,
    /// Lines that said the same as the line before them.
    pub doubled: Vec<u64>,
    before: Option<(DateTime, csv::StringRecord)>,
}

/// One row.
pub(crate) struct Row<'t> {
    /// Its line in the file, from one.
    pub line: u64,
    /// Seconds after the first row.
    pub at_s: f64,
    fields: &'t csv::StringRecord,
}

impl<'t> Row<'t> {
    /// The fields after the time, one a name.
    pub(crate) fn values(&self) -> impl Iterator<Item = &'t str> {
        self.fields.iter().skip(1)
    }
}

/// The beginning of what was given, for a message.
pub(crate) fn excerpt(given: &str) -> String {
    given.chars().take(40).map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect()
}

impl<'a> Timed<'a> {
    /// Reads the head.
    pub(crate) fn open(bytes: &'a [u8], columns_max: usize) -> Result<Self, TimedError> {
        // Before all else: a file that is no table has lines without end.
        let long = |(_, l): &(u64, &[u8])| l.len() > LINE_BYTES_MAX;
        if let Some((line, _)) = (1..).zip(bytes.split(|&b| b == b'\n')).find(long) {
            return Err(TimedError::LineTooLong { line });
        }
        let csv = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .trim(csv::Trim::All)
            .comment(Some(b'#'))
            .from_reader(bytes);
        let (names, doubled) = (Vec::new(), Vec::new());
        let mut out = Self { bytes, csv, names, head_line: 0, first: None, doubled, before: None };
        let (line, head) = out.record()?.ok_or(TimedError::Empty)?;
        let mut fields = head.iter();
        let time = fields.next().is_some_and(|t| t.eq_ignore_ascii_case("time"));
        out.names = fields.map(str::to_owned).collect();
        out.head_line = line;
        if !time || !(1..=columns_max).contains(&out.names.len()) || out.names.iter().any(String::is_empty) {
            let given = excerpt(&head.iter().collect::<Vec<_>>().join(","));
            return Err(TimedError::Head { line, given, columns_max });
        }
        Ok(out)
    }

    /// The next line that says anything.
    fn record(&mut self) -> Result<Option<(u64, csv::StringRecord)>, TimedError> {
        let mut raw = csv::ByteRecord::new();
        // A slice that is read as bytes, with lines of any number of fields, can only end.
        while self.csv.read_byte_record(&mut raw).unwrap_or(false) {
            if raw.iter().all(<[u8]>::is_empty) && raw.len() == 1 {
                continue;
            }
            // The reader counts from where it left off, comments and all; so the line is the one where the record ended.
            let end = self.csv.position();
            let read = usize::try_from(end.byte()).unwrap_or(usize::MAX);
            let past = self.bytes.get(..read).and_then(<[u8]>::last) == Some(&b'\n');
            let line = end.line() - u64::from(past);
            if line > LINES_MAX {
                return Err(TimedError::TooLong);
            }
            return Ok(Some((line, csv::StringRecord::from_byte_record_lossy(raw))));
        }
        Ok(None)
    }

    /// The next row.
    pub(crate) fn next(&mut self) -> Result<Option<Row<'_>>, TimedError> {
        let (line, at, fields) = loop {
            let Some((line, fields)) = self.record()? else { return Ok(None) };
            if fields.len() != self.names.len() + 1 {
                return Err(TimedError::FieldCount { line, given: fields.len(), needed: self.names.len() + 1 });
            }
            let time = fields.get(0).unwrap_or_default();
            // A date alone would be read as its midnight.
            let at: DateTime = Some(time)
                .filter(|t| t.contains(':'))
                .and_then(|t| t.parse().ok())
                .ok_or_else(|| TimedError::BadTime { line, given: excerpt(time) })?;
            match &self.before {
                Some((before, same)) if *before == at && *same == fields => self.doubled.push(line),
                Some((before, _)) if *before >= at => {
                    return Err(TimedError::NotRising { line, at, before: *before });
                }
                Some(_) | None => break (line, at, fields),
            }
        };
        let at_s = at.duration_since(*self.first.get_or_insert(at)).as_secs_f64();
        let (_, fields) = self.before.insert((at, fields));
        Ok(Some(Row { line, at_s, fields }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Line, seconds and fields of every row.
    fn rows(bytes: &[u8]) -> Result<Vec<(u64, f64, Vec<String>)>, TimedError> {
        let mut t = Timed::open(bytes, 3)?;
        let mut out = Vec::new();
        while let Some(r) = t.next()? {
            out.push((r.line, r.at_s, r.values().map(str::to_owned).collect()));
        }
        Ok(out)
    }

    #[test]
    fn lines_are_counted_as_an_editor_counts_them() {
        for end in ["\n", "\r\n"] {
            let lines = [
                "\u{feff}# made up",
                "",
                "time, a ,\"b, c\"",
                "",
                "# pause",
                "2015-01-05T06:00:00,1,",
                "   ",
                "2015-01-05T06:10:00,2,x",
                "# end",
                "2015-01-05T06:20:00,3,y",
            ];
            let text = lines.join(end);
            let t = Timed::open(text.as_bytes(), 3).unwrap();
            assert_eq!((t.head_line, t.names), (3, vec!["a".to_owned(), "b, c".into()]));
            let got = rows(text.as_bytes()).unwrap();
            assert_eq!(got.iter().map(|r| (r.0, r.1)).collect::<Vec<_>>(), [(6, 0.0), (8, 600.0), (10, 1200.0)]);
            assert_eq!(got[0].2, ["1", ""]);
        }
    }

    #[test]
    fn odd_tables_are_refused_with_the_line() {
        let t = |s: &str| rows(s.as_bytes()).unwrap_err();
        assert_eq!(t(""), TimedError::Empty);
        assert_eq!(t("# nothing\n\n"), TimedError::Empty);
        for head in ["when,a", "time", "time,", "time,a,b,c,d", "a,time"] {
            assert!(matches!(t(head), TimedError::Head { line: 1, .. }), "{head}");
        }
        assert_eq!(t("time,a\n2015-01-05T06:00:00"), TimedError::FieldCount { line: 2, given: 1, needed: 2 });
        assert!(matches!(t("time,a\n2015-01-05,1"), TimedError::BadTime { line: 2, .. }));
        assert!(matches!(t("time,a\n\n2015-02-30T06:00:00,1"), TimedError::BadTime { line: 3, .. }));
        let fall = "time,a\n2015-01-05T06:00:00,1\n2015-01-05T06:00:00,2\n";
        assert!(matches!(t(fall), TimedError::NotRising { line: 3, .. }));
        assert_eq!(rows(&vec![b'1'; 100_000]), Err(TimedError::LineTooLong { line: 1 }));
        // A quote that nobody closes takes all to the end of the file into one field, which nobody reads as a figure.
        let open = rows(b"time,a\n2015-01-05T06:00:00,\"1\n2015-01-05T06:10:00,1\n").unwrap();
        assert_eq!(open[0].2, ["1\n2015-01-05T06:10:00,1"]);
    }

    #[test]
    fn a_line_twice_is_taken_once() {
        let text = "time,a\n2015-01-05T06:00:00,1\n2015-01-05T06:00:00,1\n2015-01-05T06:10:00,1\n";
        let mut t = Timed::open(text.as_bytes(), 1).unwrap();
        let mut n = 0;
        while t.next().unwrap().is_some() {
            n += 1;
        }
        assert_eq!((n, t.doubled), (2, vec![3]));
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 500, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn no_bytes_bring_the_reader_down(head in prop::sample::select(vec!["", "time,a\n"]), tail in prop::collection::vec(any::<u8>(), 0..60)) {
            let _ = rows(&[head.as_bytes(), &tail].concat());
        }
    }
}
