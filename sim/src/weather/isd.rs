//! ISD-Lite: one line an hour, twelve whole numbers: year, month, day, hour (UTC), air temperature in tenths of a degree
//! Celsius, dew point, pressure, wind direction, wind speed, sky, rain of 1 h, rain of 6 h; -9999 where there is no reading.
//!
//! An hour without an observation often has no line at all. The local standard time is UTC plus the site's offset.

use super::{Options, Raw, Reading, Unit, WeatherError, calendar_day, minute_of, whole};

const FIELDS: usize = 12;
const NO_READING: i64 = -9999;

pub(super) fn looks_like(first: &str) -> bool {
    let mut count = 0;
    first.split_whitespace().all(|f| {
        count += 1;
        f.parse::<i64>().is_ok()
    }) && (5..=FIELDS).contains(&count)
}

pub(super) fn read(text: &str, options: &Options) -> Result<Raw, WeatherError> {
    let offset = i64::from(options.utc_offset_min.ok_or(WeatherError::OffsetMissing)?);
    let last_line = super::content(text).last().map_or(0, |(line, _)| line);
    let mut readings = Vec::new();
    for (line, row) in super::content(text) {
        let given: Vec<&str> = row.split_whitespace().collect();
        let [y, m, d, h, t, _, _, _, _, _, _, _] = given.as_slice() else {
            return Err(super::field_count(line, last_line, given.len(), FIELDS));
        };
        let day = calendar_day(line, whole(line, "year", y)?, whole(line, "month", m)?, whole(line, "day", d)?)?;
        let hour = whole(line, "hour", h)?;
        if !(0..=23).contains(&hour) {
            return Err(WeatherError::BadTime { line, given: format!("hour {hour}"), allowed: "hours 0 to 23, UTC" });
        }
        let tenths = whole(line, "air temperature", t)?;
        let value = (tenths != NO_READING).then_some(tenths as f64 / 10.0);
        readings.push(Reading { line, minute: minute_of(day) + hour * 60 + offset, value });
    }
    Ok(Raw { readings, unit: Unit::Celsius, notes: Vec::new() })
}
