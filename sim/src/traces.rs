//! Recorded calls, to be replayed in place of the model's thermostats.
//!
//! What it decides: which of the recorded contacts are closed at any second. The file is CSV: a head line `time` and one name a
//! contact, then lines with a time and a 0 or 1 for each. A state holds until the next line: `x(t) = x_k` for `t_k <= t < t_k+1`.
//! After the last line the last states hold. Before the first nothing is known: behind weather the model's own thermostats call
//! until then, as they do while a run warms up.
//!
//! Times are `2015-01-05T18:00:00`, local standard time, strictly rising; they need not be evenly spaced. The form is our choice.
//! Every odd line is refused with its number: a record with holes cannot be repaired by guessing whether someone called. A line
//! that stands twice with the same states is dropped and told; the longest time in which nothing changes is told where it is
//! longer than [`STILL_S`]: a record by change may be right, one of a logger that stood is not.
//!
//! [`Replayed`] puts the record behind a run's weather: from the start of the counted part its contacts stand in place of the
//! model's thermostats, of those zones that it names.
//!
//! What it does not do: join names to zones (the host knows names), debounce, follow daylight saving time.

use crate::{
    outdoor::{Calls, Line, Outdoor},
    timed::{Timed, TimedError, excerpt},
};
use heatwright_core::{CivilMinute, ZoneId};
use jiff::civil::DateTime;
use std::fmt;
use thiserror::Error;

/// A record with more contacts than this is refused: one bit each in a `u64`.
pub const CONTACTS_MAX: usize = 64;
/// A record in which nothing changes for longer than this is worth a word, in seconds: a day; our choice.
pub const STILL_S: f64 = 86_400.0;

/// What was dropped or looks odd.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TraceNote {
    /// A line that stands twice was taken once.
    SameTwice {
        /// The second of them.
        line: u64,
    },
    /// Nothing changes for a long time.
    Still {
        /// Since when, local standard time.
        from: DateTime,
        /// How many whole hours.
        hours: u32,
    },
}

impl fmt::Display for TraceNote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SameTwice { line } => write!(f, "line {line} says the same as the line before it: taken once"),
            Self::Still { from, hours } => {
                write!(f, "no call changes for {hours} h from {from} on: see that the logger did not stand")
            }
        }
    }
}

/// Recorded contacts.
#[derive(Clone, Debug, PartialEq)]
pub struct Traces {
    names: Vec<String>,
    start: DateTime,
    /// Seconds after the start and the closed contacts from then on, one bit each in the order of the names.
    changes: Vec<(f64, u64)>,
    end_s: f64,
    notes: Vec<TraceNote>,
}

/// Why a record is refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // The sentence of each variant says what its fields are.
pub enum TraceError {
    #[error(transparent)]
    Table(#[from] TimedError),
    #[error("line {line} names `{name}` a second time")]
    NameTwice { line: u64, name: String },
    #[error("line {line}: `{given}` for {name} is neither 0 nor 1")]
    NotAState { line: u64, name: String, given: String },
}

impl Traces {
    /// Reads a record.
    pub fn parse(bytes: &[u8]) -> Result<Self, TraceError> {
        let mut table = Timed::open(bytes, CONTACTS_MAX)?;
        let names = table.names.clone();
        if let Some(name) =
            names.iter().enumerate().find_map(|(k, n)| names.iter().take(k).any(|b| b == n).then_some(n))
        {
            return Err(TraceError::NameTwice { line: table.head_line, name: excerpt(name) });
        }
        let (mut changes, mut end_s) = (Vec::<(f64, u64)>::new(), 0.0);
        while let Some(row) = table.next()? {
            let mut closed = 0_u64;
            for (k, (state, name)) in row.values().zip(&names).enumerate() {
                match state {
                    "0" => {}
                    "1" => closed |= 1 << k,
                    other => {
                        let (name, given) = (excerpt(name), excerpt(other));
                        return Err(TraceError::NotAState { line: row.line, name, given });
                    }
                }
            }
            end_s = row.at_s;
            if changes.last().is_none_or(|c| c.1 != closed) {
                changes.push((end_s, closed));
            }
        }
        let start = table.first.ok_or(TimedError::Empty)?;
        let mut notes: Vec<_> = table.doubled.into_iter().map(|line| TraceNote::SameTwice { line }).collect();
        let ends = changes.iter().skip(1).map(|c| c.0).chain([end_s]);
        let still = changes.iter().zip(ends).map(|(c, end)| (end - c.0, c.0)).max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((long_s, from_s)) = still.filter(|s| s.0 > STILL_S) {
            let from = start.saturating_add(jiff::SignedDuration::from_secs(from_s as i64));
            notes.push(TraceNote::Still { from, hours: (long_s / 3600.0) as u32 });
        }
        Ok(Self { names, start, changes, end_s, notes })
    }

    /// What was dropped or looks odd.
    pub fn notes(&self) -> &[TraceNote] {
        &self.notes
    }
    /// The moment of the last line, local standard time.
    pub fn end(&self) -> DateTime {
        self.start.saturating_add(jiff::SignedDuration::from_secs(self.end_s as i64))
    }

    /// Names of the contacts, in the order of their bits.
    pub fn names(&self) -> &[String] {
        &self.names
    }
    /// The moment of the first line, local standard time.
    pub fn start(&self) -> DateTime {
        self.start
    }
    /// Time from the first to the last line, in seconds.
    pub fn length_s(&self) -> f64 {
        self.end_s
    }
    /// Closed contacts `at_s` seconds after the start, one bit each; before it, those of the first line.
    pub fn closed_at(&self, at_s: f64) -> u64 {
        let after = self.changes.partition_point(|c| c.0 <= at_s);
        self.changes.get(after.saturating_sub(1)).map_or(0, |c| c.1)
    }
    /// The next moment after `at_s` at which any contact changes, in seconds after the start.
    pub fn next_change_s(&self, at_s: f64) -> Option<f64> {
        self.changes.get(self.changes.partition_point(|c| c.0 <= at_s)).map(|c| c.0)
    }
}

/// What a recorded contact is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Caller {
    /// A zone's thermostat.
    Zone(ZoneId),
    /// The tank's aquastat.
    Tank,
}

/// Weather with recorded calls behind it.
#[derive(Clone, Copy)]
pub struct Replayed<'a> {
    weather: &'a dyn Outdoor,
    traces: &'a Traces,
    /// What each contact is, in the order of the names.
    callers: &'a [Caller],
    /// The run's start after the record's, in seconds.
    offset_s: f64,
}

impl<'a> Replayed<'a> {
    /// A record behind weather; the run begins at `start`, local standard time.
    pub fn new(weather: &'a dyn Outdoor, traces: &'a Traces, callers: &'a [Caller], start: DateTime) -> Self {
        Self { weather, traces, callers, offset_s: start.duration_since(traces.start).as_secs_f64() }
    }
}

impl Outdoor for Replayed<'_> {
    fn outdoor_c(&self, at_s: f64) -> f64 {
        self.weather.outdoor_c(at_s)
    }
    fn line(&self, at_s: f64) -> Option<Line> {
        self.weather.line(at_s)
    }
    fn civil_start(&self) -> CivilMinute {
        self.weather.civil_start()
    }
    fn has_calls(&self) -> bool {
        true
    }
    fn calls(&self, at_s: f64) -> Calls {
        let mut out = Calls::default();
        if at_s + self.offset_s < 0.0 {
            return out;
        }
        let closed = self.traces.closed_at(at_s + self.offset_s);
        for (k, who) in self.callers.iter().enumerate().take(CONTACTS_MAX) {
            let on = closed >> k & 1 == 1;
            match who {
                Caller::Zone(z) => {
                    out.zones |= z.bit();
                    out.closed |= if on { z.bit() } else { 0 };
                }
                Caller::Tank => out.tank = Some(on),
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const RECORD: &str = "# made up\ntime,east,west\n2015-01-05T06:00:00,0,1\n2015-01-05T06:10:00,1,1\n\
        2015-01-05T06:20:00,1,1\n2015-01-05T06:30:30,0,0\n";

    #[test]
    fn states_hold_until_the_next_line() {
        let t = Traces::parse(RECORD.as_bytes()).unwrap();
        assert_eq!((t.names(), t.length_s()), (["east".to_owned(), "west".into()].as_slice(), 1830.0));
        let states = [-5.0, 0.0, 599.9, 600.0, 1829.9, 1830.0, 9e9].map(|s| t.closed_at(s));
        assert_eq!(states, [0b10, 0b10, 0b10, 0b11, 0b11, 0, 0]);
        assert_eq!([0.0, 600.0, 1830.0].map(|s| t.next_change_s(s)), [Some(600.0), Some(1830.0), None]);
    }

    #[test]
    fn a_line_twice_is_taken_once_and_a_long_stillness_is_told() {
        let twice = RECORD.replace("2015-01-05T06:20:00,1,1\n", "2015-01-05T06:20:00,1,1\n2015-01-05T06:20:00,1,1\n");
        let t = Traces::parse(twice.as_bytes()).unwrap();
        assert_eq!(t.notes(), [TraceNote::SameTwice { line: 6 }]);
        assert_eq!(t.closed_at(1300.0), 0b11);
        // The same time with other states is two truths.
        let other = RECORD.replace("06:20:00,1,1", "06:10:00,1,0");
        let two = Traces::parse(other.as_bytes());
        assert!(matches!(two, Err(TraceError::Table(TimedError::NotRising { line: 5, .. }))), "{two:?}");
        let long = RECORD.replace("2015-01-05T06:30:30", "2015-01-07T06:30:30");
        let t = Traces::parse(long.as_bytes()).unwrap();
        let from = "2015-01-05T06:10:00".parse().unwrap();
        assert_eq!(t.notes(), [TraceNote::Still { from, hours: 48 }]);
    }

    #[test]
    fn a_record_stands_behind_the_weather() {
        let t = Traces::parse(RECORD.as_bytes()).unwrap();
        let steady = crate::outdoor::Steady { outdoor_c: 3.0 };
        let callers = [Caller::Zone(ZoneId(4)), Caller::Tank];
        // A run that begins five minutes after the record.
        let r = Replayed::new(&steady, &t, &callers, "2015-01-05T06:05:00".parse().unwrap());
        assert_eq!(r.calls(0.0), Calls { zones: 1 << 4, closed: 0, tank: Some(true) });
        assert_eq!(r.calls(300.0), Calls { zones: 1 << 4, closed: 1 << 4, tank: Some(true) });
        assert_eq!(r.calls(1530.0), Calls { zones: 1 << 4, closed: 0, tank: Some(false) });
        assert_eq!(r.outdoor_c(9.0), 3.0);
    }

    #[test]
    fn odd_lines_are_refused_with_their_number() {
        let with = |from: &str, to: &str| Traces::parse(RECORD.replace(from, to).as_bytes()).unwrap_err();
        let west = || "west".to_owned();
        assert_eq!(
            with("06:10:00,1,1", "06:10:00,1,x"),
            TraceError::NotAState { line: 4, name: west(), given: "x".into() }
        );
        assert_eq!(
            with("06:10:00,1,1", "06:10:00,1,"),
            TraceError::NotAState { line: 4, name: west(), given: String::new() }
        );
        let short = TimedError::FieldCount { line: 4, given: 2, needed: 3 };
        assert_eq!(with("06:10:00,1,1", "06:10:00,1"), TraceError::Table(short));
        assert_eq!(with("east", "west"), TraceError::NameTwice { line: 2, name: west() });
        assert_eq!(Traces::parse(b"time,east\n"), Err(TraceError::Table(TimedError::Empty)));
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 500, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn no_bytes_bring_the_reader_down(head in prop::sample::select(vec!["", "time,a\n", RECORD]), tail in prop::collection::vec(any::<u8>(), 0..60), at in any::<f64>()) {
            if let Ok(t) = Traces::parse(&[head.as_bytes(), &tail].concat()) {
                prop_assert!(t.length_s() >= 0.0);
                t.closed_at(at);
                t.next_change_s(at);
            }
        }
    }
}
