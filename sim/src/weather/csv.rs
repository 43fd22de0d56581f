//! Plain CSV: a head line with `time` and `dry_bulb_c` or `dry_bulb_f`, then one line a reading. Other columns are not read.
//!
//! The time is `2015-01-05T18:00`, with a blank for the `T` if you like, seconds or not. Without anything behind it, it is the
//! site's standard time. With `Z` or `-06:00` behind it, it is moved to the site's standard time, whose offset must be given.
//! The unit may be written `c`, `degC`, `°C`, `celsius`, and so for Fahrenheit: `dry_bulb (degF)` is read too.

use super::{Options, Raw, Reading, RepairNote, Unit, WeatherError, excerpt, fields, minute_of, number};
use jiff::{SignedDuration, Timestamp, civil::DateTime};

const TIME_ALLOWED: &str = "2015-01-05T18:00, local standard time, or the same with Z or an offset such as -06:00";

/// What a column name says, when it is about the dry bulb.
enum Column {
    Other,
    Time,
    DryBulb(Option<Unit>),
}

fn column(name: &str) -> Column {
    let plain: String = name.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
    if plain == "time" {
        return Column::Time;
    }
    match plain.strip_prefix("drybulb") {
        Some("c" | "degc" | "celsius") => Column::DryBulb(Some(Unit::Celsius)),
        Some("f" | "degf" | "fahrenheit") => Column::DryBulb(Some(Unit::Fahrenheit)),
        Some(_) => Column::DryBulb(None),
        None => Column::Other,
    }
}

pub(super) fn looks_like(first: &str) -> bool {
    let named = |wanted: fn(&Column) -> bool| fields(first).iter().any(|f| wanted(&column(f)));
    named(|c| matches!(c, Column::Time)) || named(|c| matches!(c, Column::DryBulb(_)))
}

pub(super) fn read(text: &str, options: &Options) -> Result<Raw, WeatherError> {
    let mut lines = super::content(text);
    let Some((line, head)) = lines.next() else { return Err(WeatherError::Empty) };
    let names = fields(head);
    let (mut time, mut dry_bulb) = (None, None);
    for (k, name) in names.iter().enumerate() {
        match column(name) {
            Column::Other => {}
            Column::Time if time.is_some() => return Err(WeatherError::ColumnTwice { line, column: "time" }),
            Column::Time => time = Some(k),
            Column::DryBulb(_) if dry_bulb.is_some() => {
                return Err(WeatherError::ColumnTwice { line, column: "dry_bulb" });
            }
            Column::DryBulb(None) => return Err(WeatherError::UnitMissing { line, given: excerpt(name) }),
            Column::DryBulb(Some(unit)) => dry_bulb = Some((k, unit)),
        }
    }
    let missing = |column| WeatherError::ColumnMissing { line, column, found: excerpt(head) };
    let time = time.ok_or_else(|| missing("time"))?;
    let (dry_bulb, unit) = dry_bulb.ok_or_else(|| missing("dry_bulb_c or dry_bulb_f"))?;
    let last_line = super::content(text).last().map_or(0, |(line, _)| line);
    let mut readings = Vec::new();
    for (line, row) in lines {
        let given = fields(row);
        let (Some(at), Some(value)) = (given.get(time), given.get(dry_bulb)) else {
            return Err(super::field_count(line, last_line, given.len(), names.len()));
        };
        if given.len() != names.len() {
            return Err(super::field_count(line, last_line, given.len(), names.len()));
        }
        let minute = minute(line, at, options)?;
        let value = if value.is_empty() { None } else { Some(number(line, "dry_bulb", value)?) };
        readings.push(Reading { line, minute, value });
    }
    let mut notes = Vec::new();
    if !text.ends_with('\n') {
        notes.push(RepairNote::NoFinalLineEnd { line: last_line });
    }
    Ok(Raw { readings, unit, notes })
}

fn minute(line: usize, given: &str, options: &Options) -> Result<i64, WeatherError> {
    let bad = || WeatherError::BadTime { line, given: excerpt(given), allowed: TIME_ALLOWED };
    // A date alone would be read as its midnight: say so instead.
    if !given.contains(':') {
        return Err(bad());
    }
    let local = if let Ok(moment) = given.parse::<Timestamp>() {
        let offset = options.utc_offset_min.ok_or(WeatherError::OffsetMissing)?;
        let utc = jiff::tz::Offset::UTC.to_datetime(moment);
        utc.checked_add(SignedDuration::from_mins(i64::from(offset))).map_err(|_| bad())?
    } else {
        given.parse::<DateTime>().map_err(|_| bad())?
    };
    if !(1800..=2200).contains(&local.year()) {
        return Err(bad());
    }
    Ok(minute_of(local))
}
