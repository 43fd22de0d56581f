//! TMY3 as comma-separated text, and the calendar of typical years.
//!
//! First line: station, "name", state, time zone in hours, latitude, longitude, elevation. Second line: column names, among
//! them `Date (MM/DD/YYYY)`, `Time (HH:MM)` (01:00 to 24:00, local standard, the end of the hour) and `Dry-bulb (C)`; -9900
//! where there is no reading.
//!
//! A typical year takes each month from another year. Such a file is laid on one calendar: 2017, or 2012 when it has a
//! 29 February; both begin on a Sunday, as typical-year files assume (our choice). December may run on into January, once a
//! year. A file whose lines all name one year keeps it, except that a leap year without its 29 February is laid on 2017.

use super::{Options, Raw, Reading, RepairNote, Unit, WeatherError, fields, hour_ending, number, whole};

const COMMON_YEAR: i64 = 2017;
const LEAP_YEAR: i64 = 2012;
const NO_READING_BELOW_C: f64 = -9000.0;

/// One line of a file that counts hours 1 to 24.
pub(super) struct Row {
    pub(super) line: usize,
    pub(super) year: i64,
    pub(super) month: i64,
    pub(super) day: i64,
    pub(super) hour: i64,
    pub(super) value: Option<f64>,
}

pub(super) fn read(text: &str, options: &Options) -> Result<Raw, WeatherError> {
    let last_line = super::content(text).last().map_or(0, |(line, _)| line);
    let mut lines = super::content(text);
    if let Some((line, station)) = lines.next() {
        let given = fields(station);
        let Some(zone) = given.len().checked_sub(4).and_then(|k| given.get(k)).filter(|_| given.len() >= 7) else {
            return Err(WeatherError::FieldCount { line, given: given.len(), needed: 7 });
        };
        same_offset(line, number(line, "time zone", zone)?, options)?;
    }
    let Some((line, head)) = lines.next() else { return Err(WeatherError::TooShort { hours: 0 }) };
    let names = fields(head);
    let find = |column: &'static str| {
        names.iter().position(|n| n.eq_ignore_ascii_case(column)).ok_or_else(|| WeatherError::ColumnMissing {
            line,
            column,
            found: super::excerpt(head),
        })
    };
    let (date, time, dry_bulb) = (find("Date (MM/DD/YYYY)")?, find("Time (HH:MM)")?, find("Dry-bulb (C)")?);
    let mut rows = Vec::new();
    for (line, row) in lines {
        let given = fields(row);
        let field = |k: usize| given.get(k).copied().unwrap_or_default();
        if given.len() != names.len() {
            return Err(super::field_count(line, last_line, given.len(), names.len()));
        }
        let bad = |given: &str, allowed| WeatherError::BadTime { line, given: super::excerpt(given), allowed };
        let mut day = field(date).split('/');
        let (Some(m), Some(d), Some(y), None) = (day.next(), day.next(), day.next(), day.next()) else {
            return Err(bad(field(date), "MM/DD/YYYY"));
        };
        let hour = match field(time).split_once(':') {
            Some((hour, "00")) => whole(line, "hour", hour)?,
            _ => return Err(bad(field(time), "01:00 to 24:00, on the hour")),
        };
        let value = number(line, "Dry-bulb (C)", field(dry_bulb))?;
        rows.push(Row {
            line,
            year: whole(line, "year", y)?,
            month: whole(line, "month", m)?,
            day: whole(line, "day", d)?,
            hour,
            value: (value > NO_READING_BELOW_C).then_some(value),
        });
    }
    let (readings, notes) = lay(&rows)?;
    Ok(Raw { readings, unit: Unit::Celsius, notes })
}

/// An offset given as an argument must be the one in the file, or none.
pub(super) fn same_offset(line: usize, file_h: f64, options: &Options) -> Result<(), WeatherError> {
    let file_min = (file_h * 60.0).round() as i32;
    match options.utc_offset_min {
        Some(given_min) if given_min != file_min => Err(WeatherError::OffsetContradicts { line, file_min, given_min }),
        Some(_) | None => Ok(()),
    }
}

/// Lays rows on a calendar: their own year when they share one, else a common year.
pub(super) fn lay(rows: &[Row]) -> Result<(Vec<Reading>, Vec<RepairNote>), WeatherError> {
    let Some(first) = rows.first() else { return Err(WeatherError::TooShort { hours: 0 }) };
    let has = |month: i64, day: i64| rows.iter().any(|r| r.month == month && r.day == day);
    let leap_year = |y: i64| y % 4 == 0 && (y % 100 != 0 || y % 400 == 0);
    let mut notes = Vec::new();
    let one_year = rows.iter().all(|r| r.year == first.year);
    let follows = rows.iter().zip(rows.iter().skip(1)).all(|(a, b)| {
        // Several real years in a row, not months picked from several: the year only ever rises, and at New Year.
        a.year == b.year || (b.year == a.year + 1 && a.month == 12 && b.month == 1)
    });
    let laid_on = if one_year && leap_year(first.year) && has(2, 28) && has(3, 1) && !has(2, 29) {
        let year_given = i16::try_from(first.year).unwrap_or_default();
        notes.push(RepairNote::LeapDayAbsent { year_given, year: COMMON_YEAR as i16 });
        Some(COMMON_YEAR)
    } else if one_year || follows {
        None
    } else {
        let year = if has(2, 29) { LEAP_YEAR } else { COMMON_YEAR };
        notes.push(RepairNote::CommonYear { year: year as i16 });
        Some(year)
    };
    let mut readings = Vec::with_capacity(rows.len());
    let mut added = 0;
    let mut before = first.month;
    for r in rows {
        if before == 12 && r.month == 1 {
            added += 1;
        }
        before = r.month;
        let year = laid_on.map_or(r.year, |y| y + added);
        let minute = hour_ending(r.line, year, r.month, r.day, r.hour)?;
        readings.push(Reading { line: r.line, minute, value: r.value });
    }
    Ok((readings, notes))
}
