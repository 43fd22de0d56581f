//! Outdoor temperature: reads weather files, repairs what may be repaired, refuses the rest with a sentence that helps.
//!
//! What it decides: the dry-bulb temperature at every moment of a run, as hourly values in local *standard* time with
//! straight lines between them. `x(t) = x_k + (x_k+1 - x_k)(t - t_k)/3600`, temperatures in degrees Celsius, time in seconds.
//!
//! | format | told by (never by the name of the file) | its clock | no reading |
//! |---|---|---|---|
//! | EPW | first line begins `LOCATION,` | local standard, hour 1 is 01:00 | 99.9 |
//! | TMY3 | second line begins `Date (MM/DD/YYYY)` | local standard, 01:00 to 24:00 | -9900 |
//! | ISD-Lite | first line is twelve whole numbers | UTC; the site's offset is an argument | -9999 |
//! | plain CSV | first line names `time` and `dry_bulb_c` or `dry_bulb_f` | as written; `Z` or an offset moves it to the site | empty field |
//!
//! Sources: EPW from the EnergyPlus "Auxiliary Programs" weather-file description; TMY3 from NREL/TP-581-43156; ISD-Lite from
//! NOAA's `isd-lite-format` note (all three from memory, and tried on real files of each kind). The plain CSV is ours.
//!
//! Edges: at most [`Options::gap_max_h`] missing hours in a row are filled by a straight line, each with a [`RepairNote`]; a
//! longer gap is refused. Readings off the whole hour are interpolated to it. Odd but possible readings are kept: what looks
//! like a spike may be a front. Outside the series the first or last value holds.
//!
//! What it does not do: smooth, bias-correct, fill from another station, follow daylight saving time, read sub-hourly EPW.

mod check;
mod csv;
mod design_day;
mod epw;
mod error;
mod isd;
mod note;
mod series;
mod tmy3;

pub use design_day::{ColdSnap, DesignDay};
pub use error::WeatherError;
pub use note::RepairNote;
pub use series::Series;

use jiff::{
    SignedDuration,
    civil::{DateTime, date},
};

/// A weather file larger than this is refused: a century of hourly lines is smaller.
pub const BYTES_MAX: usize = 256 * 1024 * 1024;
/// A line longer than this is refused: the longest header line of an EPW file has about two thousand bytes.
pub const LINE_BYTES_MAX: usize = 20_000;
/// Coldest dry bulb taken for possible, degrees Celsius: just below the coldest ever measured outdoors (-89.2).
pub const DRY_BULB_MIN_C: f64 = -90.0;
/// Warmest dry bulb taken for possible, degrees Celsius: just above the warmest ever measured (56.7).
pub const DRY_BULB_MAX_C: f64 = 60.0;

/// What the file itself cannot say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options {
    /// The site's standard time minus UTC, in minutes: -360 for Chicago. Needed for files in UTC.
    pub utc_offset_min: Option<i32>,
    /// As many missing hours in a row are filled by a straight line. Six is our choice: a quarter of the daily swing.
    pub gap_max_h: u32,
}

impl Default for Options {
    fn default() -> Self {
        Self { utc_offset_min: None, gap_max_h: 6 }
    }
}

/// The kinds of weather file that are read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Format {
    /// EnergyPlus weather file.
    Epw,
    /// Typical meteorological year 3 as comma-separated text.
    Tmy3,
    /// NOAA integrated surface data, reduced.
    IsdLite,
    /// `time,dry_bulb_c` or `time,dry_bulb_f`.
    Csv,
}

impl Format {
    /// The name that a person knows it by.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Epw => "EPW",
            Self::Tmy3 => "TMY3",
            Self::IsdLite => "ISD-Lite",
            Self::Csv => "plain CSV",
        }
    }
}

/// The unit of a temperature column.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

impl Unit {
    /// The value in degrees Celsius.
    pub fn to_c(self, v: f64) -> f64 {
        match self {
            Self::Celsius => v,
            Self::Fahrenheit => (v - 32.0) / 1.8,
        }
    }
    /// The sign a person writes.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
        }
    }
}

/// One line of a file, before anything is judged.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Reading {
    /// Line of the file, counted from 1.
    line: usize,
    /// Minutes since 2000-01-01 00:00 on the site's standard clock.
    minute: i64,
    /// The reading in the unit of its column; `None` where the file says that there is none.
    value: Option<f64>,
}

/// What a reader hands to the checks.
#[derive(Debug)]
struct Raw {
    readings: Vec<Reading>,
    unit: Unit,
    notes: Vec<RepairNote>,
}

/// Which kind of file this is, judged by its first lines.
pub fn detect(bytes: &[u8]) -> Result<Format, WeatherError> {
    let text = text(bytes)?;
    format_of(&text)
}

/// Reads a weather file of any known kind. `source` is what to call it in reports: a path, or a sentence.
pub fn parse(bytes: &[u8], source: &str, options: &Options) -> Result<Series, WeatherError> {
    if let Some(offset) = options.utc_offset_min
        && !(-14 * 60..=14 * 60).contains(&offset)
    {
        return Err(WeatherError::OffsetRange { given_min: offset });
    }
    let text = text(bytes)?;
    let raw = match format_of(&text)? {
        Format::Epw => epw::read(&text, options)?,
        Format::Tmy3 => tmy3::read(&text, options)?,
        Format::IsdLite => isd::read(&text, options)?,
        Format::Csv => csv::read(&text, options)?,
    };
    check::series(raw, source, options)
}

/// The built-in weather: Chicago O'Hare, the real year 2015, hourly, local standard time (UTC-6).
///
/// Its two missing hours come out repaired, with a note each. An error here would mean that the program was built from a
/// damaged file; a test reads it.
pub fn builtin() -> Result<Series, WeatherError> {
    let bytes = include_bytes!("../../../docs/examples/weather/chicago-ohare-2015.csv");
    parse(bytes, "Chicago O'Hare 2015, NOAA ISD-Lite station 725300 (built in)", &Options::default())
}

/// The bytes as text, once they are known to be text of a size and shape that can be read.
fn text(bytes: &[u8]) -> Result<std::borrow::Cow<'_, str>, WeatherError> {
    if bytes.len() > BYTES_MAX {
        return Err(WeatherError::TooLarge { bytes: bytes.len(), bytes_max: BYTES_MAX });
    }
    let hint = match bytes {
        [0x1f, 0x8b, ..] => Some("it is packed with gzip: unpack it first"),
        [b'P', b'K', 3, 4, ..] => Some("it is a zip archive: unpack it first"),
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => Some("it is UTF-16: save it again as UTF-8"),
        _ if bytes.contains(&0) => Some("it holds zero bytes"),
        _ => None,
    };
    if let Some(hint) = hint {
        return Err(WeatherError::NotText { hint });
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if let Some((at, long)) = bytes.split(|&b| b == b'\n').enumerate().find(|(_, l)| l.len() > LINE_BYTES_MAX) {
        return Err(WeatherError::LineTooLong { line: at + 1, bytes: long.len(), bytes_max: LINE_BYTES_MAX });
    }
    let text = String::from_utf8_lossy(bytes);
    if text.trim().is_empty() {
        return Err(WeatherError::Empty);
    }
    Ok(text)
}

fn format_of(text: &str) -> Result<Format, WeatherError> {
    let mut lines = content(text);
    let Some((line, first)) = lines.next() else { return Err(WeatherError::Empty) };
    let second = lines.next().map_or("", |(_, l)| l);
    let starts = |l: &str, with: &str| l.get(..with.len()).is_some_and(|s| s.eq_ignore_ascii_case(with));
    if starts(first, "LOCATION,") {
        Ok(Format::Epw)
    } else if starts(second, "Date (MM/DD/YYYY)") {
        Ok(Format::Tmy3)
    } else if isd::looks_like(first) {
        Ok(Format::IsdLite)
    } else if csv::looks_like(first) {
        Ok(Format::Csv)
    } else {
        Err(WeatherError::UnknownFormat { line, given: excerpt(first) })
    }
}

/// Lines that say something, with their number from 1: no blank lines, no `#` comments.
fn content(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.lines()
        .enumerate()
        .map(|(at, line)| (at + 1, line.trim()))
        .filter(|(_, line)| !line.is_empty() && !line.starts_with('#'))
}

/// The fields of a comma-separated line, without the blanks and quotation marks around them.
///
/// A comma inside quotation marks is not honoured: no field that is read here may hold one, and the header fields that are
/// read behind a quoted name are counted from the end of their line.
fn fields(line: &str) -> Vec<&str> {
    line.split(',').map(|f| f.trim().trim_matches('"').trim()).collect()
}

/// The beginning of what was given, short enough for a message and free of control characters.
fn excerpt(given: &str) -> String {
    let mut short: String = given.chars().take(40).map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect();
    if given.chars().nth(40).is_some() {
        short.push('…');
    }
    short
}

/// The complaint about a line with the wrong number of fields; the last line of a file was probably cut off.
fn field_count(line: usize, last_line: usize, given: usize, needed: usize) -> WeatherError {
    if line == last_line && given < needed {
        WeatherError::Truncated { line, given, needed }
    } else {
        WeatherError::FieldCount { line, given, needed }
    }
}

/// Reads a number, or says what stands there instead.
fn number(line: usize, column: &str, given: &str) -> Result<f64, WeatherError> {
    match given.parse::<f64>() {
        Ok(v) if v.is_finite() => Ok(v),
        Ok(_) => Err(WeatherError::NotFinite { line, column: column.into(), given: excerpt(given) }),
        Err(_) => Err(WeatherError::NotANumber { line, column: column.into(), given: excerpt(given) }),
    }
}

/// Reads a whole number, or says what stands there instead.
fn whole(line: usize, column: &str, given: &str) -> Result<i64, WeatherError> {
    given.parse().map_err(|_| WeatherError::NotAWholeNumber { line, column: column.into(), given: excerpt(given) })
}

const EPOCH: DateTime = date(2000, 1, 1).at(0, 0, 0, 0);

/// Minutes since 2000-01-01 00:00, as in `core`'s civil time but free to be negative.
pub(crate) fn minute_of(at: DateTime) -> i64 {
    at.duration_since(EPOCH).as_secs().div_euclid(60)
}

/// The calendar moment of a count of minutes; held to the calendar's own ends.
pub(crate) fn moment(minute: i64) -> DateTime {
    EPOCH.saturating_add(SignedDuration::from_secs(minute.saturating_mul(60)))
}

/// A calendar day and an hour of 1 to 24 as minutes, or the complaint about it.
fn hour_ending(line: usize, y: i64, m: i64, d: i64, hour: i64) -> Result<i64, WeatherError> {
    let day = calendar_day(line, y, m, d)?;
    if !(1..=24).contains(&hour) {
        return Err(WeatherError::BadTime {
            line,
            given: format!("hour {hour}"),
            allowed: "hours 1 to 24, each the end of its hour",
        });
    }
    Ok(minute_of(day) + hour * 60)
}

/// A calendar day, or the complaint about it.
fn calendar_day(line: usize, y: i64, m: i64, d: i64) -> Result<DateTime, WeatherError> {
    let day = || {
        let y = i16::try_from(y).ok().filter(|y| (1800..=2200).contains(y))?;
        jiff::civil::Date::new(y, i8::try_from(m).ok()?, i8::try_from(d).ok()?).ok()
    };
    day().map(|day| day.at(0, 0, 0, 0)).ok_or_else(|| WeatherError::BadTime {
        line,
        given: format!("year {y}, month {m}, day {d}"),
        allowed: "a day of the calendar between 1800 and 2200",
    })
}

#[cfg(test)]
mod tests;
