//! EPW: eight header lines, then one comma-separated line an hour: year, month, day, hour (1 to 24, the end of the hour),
//! minute, flags, dry bulb in degrees Celsius (99.9 where there is no reading), and more that is not read.
//!
//! Times are local standard; the `LOCATION` line says how far that is from UTC. Typical years are put together from months of
//! several years: the `tmy3` module lays them on a calendar. The minute field is 0 or 60 in hourly files and is not read.

use super::{Options, Raw, Unit, WeatherError, fields, number, tmy3, whole};

/// The least a line must have: up to the dry bulb.
const FIELDS_MIN: usize = 7;
const NO_READING_C: f64 = 99.9;

pub(super) fn read(text: &str, options: &Options) -> Result<Raw, WeatherError> {
    let last_line = super::content(text).last().map_or(0, |(line, _)| line);
    let mut rows = Vec::new();
    let mut needed = None;
    for (line, row) in super::content(text) {
        let given = fields(row);
        let first = given.first().copied().unwrap_or_default();
        if rows.is_empty() && !first.bytes().all(|b| b.is_ascii_digit()) {
            header(line, &given, options)?;
            continue;
        }
        let needed = *needed.get_or_insert(given.len().max(FIELDS_MIN));
        let [y, m, d, h, _, _, t, ..] = given.as_slice() else {
            return Err(super::field_count(line, last_line, given.len(), needed));
        };
        if given.len() != needed {
            return Err(super::field_count(line, last_line, given.len(), needed));
        }
        let value = number(line, "dry bulb", t)?;
        rows.push(tmy3::Row {
            line,
            year: whole(line, "year", y)?,
            month: whole(line, "month", m)?,
            day: whole(line, "day", d)?,
            hour: whole(line, "hour", h)?,
            value: (value != NO_READING_C).then_some(value),
        });
    }
    let (readings, notes) = tmy3::lay(&rows)?;
    Ok(Raw { readings, unit: Unit::Celsius, notes })
}

fn header(line: usize, given: &[&str], options: &Options) -> Result<(), WeatherError> {
    let name = given.first().copied().unwrap_or_default();
    if name.eq_ignore_ascii_case("LOCATION") {
        // ..., latitude, longitude, time zone, elevation: counted from the end, since a name may hold a comma.
        let Some(zone) = given.len().checked_sub(2).and_then(|k| given.get(k)).filter(|_| given.len() >= 10) else {
            return Err(WeatherError::FieldCount { line, given: given.len(), needed: 10 });
        };
        tmy3::same_offset(line, number(line, "time zone", zone)?, options)?;
    } else if name.eq_ignore_ascii_case("DATA PERIODS")
        && let Some(records) = given.get(2)
    {
        let records = whole(line, "records per hour", records)?;
        if records != 1 {
            return Err(WeatherError::RecordsPerHour { line, given: records });
        }
    }
    Ok(())
}
