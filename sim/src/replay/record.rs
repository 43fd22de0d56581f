//! Recorded temperatures: a CSV of one column a sensor, each with its unit in its head.
//!
//! `time,outdoor °F,supply °F,return °F` and then lines with a time and numbers. Times are `2015-01-05T18:00:00`, local standard
//! time, strictly rising. Between two readings the temperature runs straight; there is none before the first line or after the last.
//!
//! Repaired, and told: an empty field or a pause of up to [`GAP_S`] is bridged by the straight line; a line that stands twice is taken
//! once. Refused, with the line: longer gaps, a column without a unit, a temperature outside what such a sensor can see (with the hint
//! that the unit may be another), a time that does not rise, a field that is no number. Told: a column that would look right in the
//! other unit. Bounds are our choice: outdoors -60 to 55 degrees Celsius, water -20 to 130.

use crate::timed::{Timed, TimedError, excerpt};
use heatwright_core::SensorUse;
use jiff::civil::DateTime;
use std::fmt;
use thiserror::Error;

/// Longest gap that is bridged, in seconds: two hours.
pub const GAP_S: f64 = 7_200.0;
/// A record with more columns than this is refused.
pub const COLUMNS_MAX: usize = 64;

/// The unit of a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

impl Scale {
    fn to_c(self, v: f64) -> f64 {
        match self {
            Self::Celsius => v,
            Self::Fahrenheit => (v - 32.0) / 1.8,
        }
    }
    fn other(self) -> Self {
        match self {
            Self::Celsius => Self::Fahrenheit,
            Self::Fahrenheit => Self::Celsius,
        }
    }
}

impl fmt::Display for Scale {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
        })
    }
}

/// What was repaired or looks odd.
#[derive(Clone, Debug, PartialEq)]
pub enum RecordNote {
    /// A line that stands twice was taken once.
    SameTwice {
        /// The second of them.
        line: u64,
    },
    /// Readings were missing and a straight line stands for them.
    Bridged {
        /// The column.
        name: String,
        /// How many gaps.
        gaps: usize,
        /// The longest of them, in seconds.
        longest_s: f64,
    },
    /// The whole column would look right in the other unit.
    OtherUnit {
        /// The column.
        name: String,
        /// Its lowest and highest figure, as written.
        ends: (f64, f64),
        /// The unit that is written.
        given: Scale,
        /// The other.
        other: Scale,
    },
}

impl fmt::Display for RecordNote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SameTwice { line } => write!(f, "line {line} says the same as the line before it: taken once"),
            Self::Bridged { name, gaps, longest_s } => write!(
                f,
                "`{name}`: {gaps} gap{} bridged by a straight line, the longest of {:.0} min",
                if *gaps == 1 { "" } else { "s" },
                longest_s / 60.0
            ),
            Self::OtherUnit { name, ends: (low, high), given, other } => {
                write!(f, "`{name}` lies between {low} and {high} {given}: see that it is not in {other}")
            }
        }
    }
}

/// Why a record is refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // The sentence of each variant says what its fields are.
pub enum RecordError {
    #[error(transparent)]
    Table(#[from] TimedError),
    #[error("there is no time in which every column has readings")]
    NoCommonTime,
    #[error("line {line}: the column `{name}` says no unit; write `{name} °F` or `{name} °C`")]
    NoUnit { line: u64, name: String },
    #[error("line {line} names `{name}` a second time")]
    NameTwice { line: u64, name: String },
    #[error("line {line}: `{given}` for {name} is no number; leave the field empty where a reading is missing")]
    NotANumber { line: u64, name: String, given: String },
    #[error("line {line}: {given} {scale} is nothing that `{name}` can read; is the column in {other}?")]
    Range { line: u64, name: String, given: f64, scale: Scale, other: Scale },
    #[error(
        "`{name}` has no reading for {hours:.1} h before line {line}; at most {} h are bridged: cut the record there",
        GAP_S / 3600.0
    )]
    Gap { line: u64, name: String, hours: f64 },
    #[error("`{name}` has fewer than two readings")]
    NoReadings { name: String },
}

/// One column.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its name as written, without the unit.
    pub name: String,
    /// What the sensor is for.
    pub sensor: SensorUse,
    /// Seconds since the record's start, and degrees Celsius.
    points: Vec<(f64, f64)>,
}

/// Recorded temperatures.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    start: DateTime,
    columns: Vec<Column>,
    from_s: f64,
    to_s: f64,
    notes: Vec<RecordNote>,
}

/// A head that was read: each column's name and unit.
type Heads = Vec<(String, Scale)>;

/// Name and unit of a column: `supply °F`, `supply degC`, `supply [F]`.
fn head_of(field: &str) -> Option<(String, Scale)> {
    let (name, unit) = field.rsplit_once([' ', '['])?;
    let unit = unit.trim_matches([']', ')', '(', ' ']).to_lowercase();
    let scale = match unit.trim_start_matches("deg").trim_start_matches('°') {
        "f" => Scale::Fahrenheit,
        "c" => Scale::Celsius,
        _ => return None,
    };
    Some((name.trim().to_owned(), scale))
}

fn allowed(sensor: SensorUse) -> std::ops::RangeInclusive<f64> {
    if sensor == SensorUse::Outdoor { -60.0..=55.0 } else { -20.0..=130.0 }
}

impl Record {
    /// Reads a record. `sensor` says what a column's name is the sensor of, or the host's complaint about it.
    pub fn parse<E: From<RecordError>>(
        bytes: &[u8],
        mut sensor: impl FnMut(&str) -> Result<SensorUse, E>,
    ) -> Result<Self, E> {
        let table = Timed::open(bytes, COLUMNS_MAX).map_err(RecordError::from)?;
        let heads = heads(&table)?;
        let mut columns = Vec::with_capacity(heads.len());
        for (name, _) in &heads {
            columns.push(Column { name: name.clone(), sensor: sensor(name)?, points: Vec::new() });
        }
        Ok(Self::rows(table, &heads, columns)?)
    }

    fn rows(mut table: Timed<'_>, heads: &Heads, mut columns: Vec<Column>) -> Result<Self, RecordError> {
        // Gaps of each column, and the longest; lowest and highest figure as written.
        let mut gaps = vec![(0_usize, 0.0_f64); columns.len()];
        let mut ends = vec![(f64::INFINITY, f64::NEG_INFINITY); columns.len()];
        let (mut usual_s, mut before_s) = (f64::INFINITY, f64::NEG_INFINITY);
        while let Some(row) = table.next()? {
            let (line, at_s) = (row.line, row.at_s);
            usual_s = usual_s.min(at_s - before_s);
            before_s = at_s;
            let each = columns.iter_mut().zip(heads).zip(row.values()).zip(gaps.iter_mut().zip(&mut ends));
            for (((column, (name, scale)), given), (gap, end)) in each {
                if given.is_empty() {
                    continue;
                }
                let value: f64 = given
                    .parse()
                    .ok()
                    .filter(|v: &f64| v.is_finite())
                    .ok_or_else(|| RecordError::NotANumber { line, name: name.clone(), given: excerpt(given) })?;
                let celsius = scale.to_c(value);
                if !allowed(column.sensor).contains(&celsius) {
                    let (scale, other) = (*scale, scale.other());
                    return Err(RecordError::Range { line, name: name.clone(), given: value, scale, other });
                }
                *end = (end.0.min(value), end.1.max(value));
                if let Some((last_s, _)) = column.points.last() {
                    let pause_s = at_s - last_s;
                    if pause_s > GAP_S {
                        return Err(RecordError::Gap { line, name: name.clone(), hours: pause_s / 3600.0 });
                    }
                    // More than one and a half of the shortest pause is a gap, and so is an empty field.
                    if pause_s > 1.5 * usual_s {
                        *gap = (gap.0 + 1, gap.1.max(pause_s));
                    }
                }
                column.points.push((at_s, celsius));
            }
        }
        let start = table.first.ok_or(TimedError::Empty)?;
        let mut notes: Vec<_> = table.doubled.into_iter().map(|line| RecordNote::SameTwice { line }).collect();
        let (mut from_s, mut to_s) = (0.0_f64, f64::INFINITY);
        for (c, ((gap, ends), (_, scale))) in columns.iter().zip(gaps.iter().zip(&ends).zip(heads)) {
            let (Some(a), Some(b)) = (c.points.first(), c.points.last().filter(|_| c.points.len() > 1)) else {
                return Err(RecordError::NoReadings { name: c.name.clone() });
            };
            (from_s, to_s) = (from_s.max(a.0), to_s.min(b.0));
            if gap.0 > 0 {
                notes.push(RecordNote::Bridged { name: c.name.clone(), gaps: gap.0, longest_s: gap.1 });
            }
            if suspicious(c.sensor, *ends, *scale) {
                let (given, other) = (*scale, scale.other());
                notes.push(RecordNote::OtherUnit { name: c.name.clone(), ends: *ends, given, other });
            }
        }
        if to_s <= from_s {
            return Err(RecordError::NoCommonTime);
        }
        Ok(Self { start, columns, from_s, to_s, notes })
    }

    /// The first moment at which every column has a reading, local standard time.
    pub fn start(&self) -> DateTime {
        self.start.saturating_add(jiff::SignedDuration::from_secs(self.from_s as i64))
    }
    /// Time in which every column has readings, in seconds.
    pub fn length_s(&self) -> f64 {
        (self.to_s - self.from_s).floor()
    }
    /// The columns.
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }
    /// What was repaired or looks odd.
    pub fn notes(&self) -> &[RecordNote] {
        &self.notes
    }
    /// A reader that goes on in time.
    pub fn course(&self) -> Course<'_> {
        Course { record: self, next: vec![0; self.columns.len()] }
    }
}

fn heads(table: &Timed<'_>) -> Result<Heads, RecordError> {
    let line = table.head_line;
    let mut out: Heads = Vec::new();
    for field in &table.names {
        let (name, scale) = head_of(field).ok_or_else(|| RecordError::NoUnit { line, name: excerpt(field) })?;
        if out.iter().any(|(n, _)| *n == name) {
            return Err(RecordError::NameTwice { line, name: excerpt(&name) });
        }
        out.push((name, scale));
    }
    Ok(out)
}

/// True for a column that says °F and never rises above what °C would give for heating water, or outdoors that say °C and are never
/// below 30: the figures of the other unit. Between 30 and 95 °F all the time a heating supply does nothing in heating weather.
fn suspicious(sensor: SensorUse, (low, high): (f64, f64), scale: Scale) -> bool {
    match (sensor, scale) {
        (SensorUse::Outdoor, Scale::Celsius) => low > 30.0,
        (SensorUse::Outdoor, Scale::Fahrenheit) => high < 0.0,
        (SensorUse::Spare, _) => false,
        (_, Scale::Fahrenheit) => high < 95.0,
        (_, Scale::Celsius) => low > 95.0,
    }
}

/// Reads a record forward in time.
#[derive(Clone, Debug)]
pub struct Course<'a> {
    record: &'a Record,
    next: Vec<usize>,
}

impl Course<'_> {
    /// Temperature of a sensor, in degrees Celsius, so many seconds after the record's start; times do not fall. `None` for a sensor
    /// that is not recorded.
    pub fn at(&mut self, sensor: SensorUse, at_s: f64) -> Option<f64> {
        let k = self.record.columns.iter().position(|c| c.sensor == sensor)?;
        let (points, next) = (&self.record.columns.get(k)?.points, self.next.get_mut(k)?);
        let at_s = at_s + self.record.from_s;
        while points.get(*next).is_some_and(|p| p.0 <= at_s) {
            *next += 1;
        }
        let before = points.get(next.checked_sub(1)?)?;
        let Some(after) = points.get(*next) else { return Some(before.1) };
        Some(before.1 + (after.1 - before.1) * (at_s - before.0) / (after.0 - before.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const RECORD: &str = "time,outdoor °C,supply °F\n2015-01-05T06:00:00,-5,150\n2015-01-05T06:10:00,-4,160\n\
        2015-01-05T06:20:00,,170\n2015-01-05T06:30:00,-2,161\n";

    fn parse(text: &str) -> Result<Record, RecordError> {
        Record::parse(text.as_bytes(), |name| match name {
            "outdoor" => Ok(SensorUse::Outdoor),
            "supply" => Ok(SensorUse::Supply),
            _ => Err(RecordError::NoCommonTime),
        })
    }

    #[test]
    fn readings_run_straight_and_missing_ones_are_told() {
        let r = parse(RECORD).unwrap();
        let mut c = r.course();
        assert_eq!(c.at(SensorUse::Outdoor, 0.0), Some(-5.0));
        assert_eq!(c.at(SensorUse::Outdoor, 300.0), Some(-4.5));
        assert_eq!(c.at(SensorUse::Outdoor, 1200.0), Some(-3.0), "the missing reading lies on the line");
        assert!((c.at(SensorUse::Supply, 1800.0).unwrap() - (161.0 - 32.0) / 1.8).abs() < 1e-9);
        assert_eq!(c.at(SensorUse::Return, 0.0), None);
        assert_eq!(r.notes(), [RecordNote::Bridged { name: "outdoor".into(), gaps: 1, longest_s: 1200.0 }]);
        assert_eq!(r.length_s(), 1800.0);
    }

    #[test]
    fn odd_lines_are_refused_with_their_number() {
        let with = |from: &str, to: &str| {
            assert!(RECORD.contains(from), "{from}");
            parse(&RECORD.replace(from, to)).unwrap_err()
        };
        assert_eq!(with("supply °F", "supply"), RecordError::NoUnit { line: 1, name: "supply".into() });
        assert_eq!(with("supply °F", "supply K"), RecordError::NoUnit { line: 1, name: "supply K".into() });
        assert_eq!(with("supply °F", "outdoor °F"), RecordError::NameTwice { line: 1, name: "outdoor".into() });
        assert!(matches!(with(",160", ",warm"), RecordError::NotANumber { line: 3, .. }));
        assert!(matches!(with(",160", ",nan"), RecordError::NotANumber { line: 3, .. }));
        let short = TimedError::FieldCount { line: 3, given: 2, needed: 3 };
        assert_eq!(with(",160", ""), RecordError::Table(short));
        assert!(matches!(with("06:30:00,-2,161", "09:30:00,-2,161"), RecordError::Gap { line: 5, .. }));
        // 150 °C of water: the column is in °F.
        let e = with("supply °F", "supply °C");
        assert!(matches!(e, RecordError::Range { line: 2, other: Scale::Fahrenheit, .. }), "{e:?}");
        assert!(e.to_string().contains("is the column in °F?"), "{e}");
        assert_eq!(parse("time,outdoor °C,supply °F\n"), Err(RecordError::Table(TimedError::Empty)));
        // One column ends where the other begins.
        let apart = "time,outdoor °C,supply °F\n2015-01-05T06:00:00,-5,\n2015-01-05T06:10:00,-4,160\n2015-01-05T06:20:00,,170\n";
        assert_eq!(parse(apart), Err(RecordError::NoCommonTime));
    }

    #[test]
    fn a_line_twice_is_taken_once_and_the_other_unit_is_told() {
        let twice =
            RECORD.replace("2015-01-05T06:10:00,-4,160\n", "2015-01-05T06:10:00,-4,160\n2015-01-05T06:10:00,-4,160\n");
        assert_eq!(parse(&twice).unwrap().notes().first(), Some(&RecordNote::SameTwice { line: 4 }));
        let cold = RECORD.replace(",150", ",60").replace(",160", ",65").replace(",170", ",70").replace(",161", ",66");
        let told = parse(&cold).unwrap().notes().to_vec();
        assert!(matches!(told.last(), Some(RecordNote::OtherUnit { other: Scale::Celsius, .. })), "{told:?}");
    }

    #[test]
    fn units_are_read_as_people_write_them() {
        for (written, scale) in [
            ("supply °F", Scale::Fahrenheit),
            ("supply [degC]", Scale::Celsius),
            ("supply F", Scale::Fahrenheit),
            ("supply (°C)", Scale::Celsius),
        ] {
            assert_eq!(head_of(written), Some(("supply".to_owned(), scale)), "{written}");
        }
        assert_eq!(head_of("supply"), None);
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn no_bytes_bring_the_reader_down(head in prop::sample::select(vec!["", "time,outdoor °F\n", RECORD]), tail in prop::collection::vec(any::<u8>(), 0..80), at in 0.0f64..1e7) {
            let read: Result<Record, RecordError> = Record::parse(&[head.as_bytes(), &tail].concat(), |_| Ok(SensorUse::Outdoor));
            if let Ok(r) = read {
                prop_assert!(r.length_s() >= 0.0);
                prop_assert!(r.course().at(SensorUse::Outdoor, at).is_some());
            }
        }
    }
}
