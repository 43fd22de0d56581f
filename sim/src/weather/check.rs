//! From the readings of any file to an hourly series: order, range, unit, gaps.
//!
//! A value on the whole hour is taken as it stands. One between two readings is `a + (b - a)(t - t_a)/(t_b - t_a)`. Readings
//! more than 90 minutes apart count as a gap (our choice: an hourly station may report some minutes early or late), and the
//! whole hours inside it are missing hours. A reading that lies more than [`SPIKE_K`] below both its neighbours or above both, each
//! within those 90 minutes, is refused: that is a sensor or a file, not weather.

use super::{DRY_BULB_MAX_C, DRY_BULB_MIN_C, Options, Raw, Reading, RepairNote, Series, Unit, WeatherError, moment};

/// Readings farther apart than this have a gap between them, minutes.
const APART_MAX_MIN: i64 = 90;
/// No hour is farther than this from the hours before and after it, both on the same side, kelvin; our choice. A front moves the
/// temperature as far in minutes, but then it stays.
const SPIKE_K: f64 = 25.0;
/// A stretch of this many hours counts as a year for the check of the unit.
const YEAR_H: usize = 350 * 24;
/// No inhabited place has a warmer mean over a year, degrees Celsius: the warmest on record is near 34.5 (from memory).
const YEAR_MEAN_MAX_C: f64 = 36.0;
/// No place that is heated stays below this all year, degrees Celsius; our choice.
const YEAR_MAX_MIN_C: f64 = 5.0;

pub(super) fn series(raw: Raw, source: &str, options: &Options) -> Result<Series, WeatherError> {
    let Raw { readings, unit, mut notes } = raw;
    order(&readings)?;
    let with_value = |r: &Reading| r.value.map(|v| (r.line, r.minute, v));
    let known: Vec<(usize, i64, f64)> = readings.iter().filter_map(with_value).collect();
    range(&known, unit)?;
    spikes(&known, unit)?;
    let (Some(first), Some(last)) = (known.first(), known.last()) else {
        return Err(WeatherError::TooShort { hours: 0 });
    };
    edges(&readings, first.1, last.1, &mut notes);
    let values = hourly(&known, unit, options, &mut notes)?;
    if values.len() < 2 {
        return Err(WeatherError::TooShort { hours: values.len() });
    }
    year(&values, unit)?;
    let start = moment(hour_up(first.1) * 60);
    Ok(Series::new(start, values, source)?.with_notes(notes))
}

fn order(readings: &[Reading]) -> Result<(), WeatherError> {
    for (a, b) in readings.iter().zip(readings.iter().skip(1)) {
        if b.minute == a.minute {
            return Err(WeatherError::Duplicate { line: b.line, first_line: a.line, at: moment(b.minute) });
        }
        if b.minute < a.minute {
            // A repeated hour shows as a step back too when the clock change repeats more than one reading.
            if let Some(twin) = readings.iter().find(|r| r.minute == b.minute && r.line < b.line) {
                return Err(WeatherError::Duplicate { line: b.line, first_line: twin.line, at: moment(b.minute) });
            }
            return Err(WeatherError::Unsorted { line: b.line, at: moment(b.minute), before: moment(a.minute) });
        }
    }
    Ok(())
}

fn range(known: &[(usize, i64, f64)], unit: Unit) -> Result<(), WeatherError> {
    let possible = |v: f64, unit: Unit| (DRY_BULB_MIN_C..=DRY_BULB_MAX_C).contains(&unit.to_c(v));
    let Some(&(line, _, given)) = known.iter().find(|k| !possible(k.2, unit)) else { return Ok(()) };
    let share = |test: &dyn Fn(f64) -> bool| known.iter().filter(|k| test(k.2)).count() as f64 / known.len() as f64;
    // One bad reading among good ones is not a wrong unit: the unit is doubted only when the odd ones are many.
    let many = share(&|v| !possible(v, unit)) > 0.01;
    let hint = if !many {
        "empty the field to have that hour repaired"
    } else if unit == Unit::Celsius && share(&|v| possible(v, Unit::Fahrenheit)) > 0.999 {
        "the values look like °F: name the column `dry_bulb_f`"
    } else if share(&|v| possible(v / 10.0, unit)) > 0.999 {
        "the values look like tenths of a degree: divide them by 10"
    } else {
        "check the column and its unit"
    };
    let (low, high) = match unit {
        Unit::Celsius => (DRY_BULB_MIN_C, DRY_BULB_MAX_C),
        Unit::Fahrenheit => (DRY_BULB_MIN_C * 1.8 + 32.0, DRY_BULB_MAX_C * 1.8 + 32.0),
    };
    Err(WeatherError::OutOfRange { line, given, unit, low, high, hint })
}

/// A reading that is far from both its neighbours.
fn spikes(known: &[(usize, i64, f64)], unit: Unit) -> Result<(), WeatherError> {
    for three in known.windows(3) {
        let &[(_, t0, before), (line, t1, given), (_, t2, after)] = three else { continue };
        if t1 - t0 > APART_MAX_MIN || t2 - t1 > APART_MAX_MIN {
            continue;
        }
        let (down, up) = (unit.to_c(before) - unit.to_c(given), unit.to_c(after) - unit.to_c(given));
        if down.abs().min(up.abs()) > SPIKE_K && down * up > 0.0 {
            return Err(WeatherError::Spike { line, given, before, after, unit });
        }
    }
    Ok(())
}

/// A whole year of values that are each possible but not together.
fn year(values_c: &[f64], unit: Unit) -> Result<(), WeatherError> {
    if values_c.len() < YEAR_H {
        return Ok(());
    }
    let mean_c = values_c.iter().sum::<f64>() / values_c.len() as f64;
    let max_c = values_c.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    match unit {
        Unit::Celsius if mean_c > YEAR_MEAN_MAX_C => Err(WeatherError::WrongUnit {
            what: "a mean",
            given: mean_c,
            unit,
            hint: "if the values are °F, name the column `dry_bulb_f`",
        }),
        Unit::Fahrenheit if max_c < YEAR_MAX_MIN_C => Err(WeatherError::WrongUnit {
            what: "a highest reading",
            given: max_c * 1.8 + 32.0,
            unit,
            hint: "if the values are °C, name the column `dry_bulb_c`",
        }),
        Unit::Celsius | Unit::Fahrenheit => Ok(()),
    }
}

/// Hours marked as missing before the first and after the last reading.
fn edges(readings: &[Reading], first: i64, last: i64, notes: &mut Vec<RepairNote>) {
    let mut tell = |rows: Vec<&Reading>| {
        if let Some(row) = rows.first() {
            notes.push(RepairNote::EdgeLeftOut { first: moment(row.minute), hours: rows.len() as u32 });
        }
    };
    tell(readings.iter().filter(|r| r.minute < first).collect());
    tell(readings.iter().filter(|r| r.minute > last).collect());
}

/// The first whole hour at or after a minute.
fn hour_up(minute: i64) -> i64 {
    -(-minute).div_euclid(60)
}

fn hourly(
    known: &[(usize, i64, f64)],
    unit: Unit,
    options: &Options,
    notes: &mut Vec<RepairNote>,
) -> Result<Vec<f64>, WeatherError> {
    let mut values = Vec::with_capacity(known.len());
    let mut between = 0_u32;
    for (&(_, from, a), &(line, to, b)) in known.iter().zip(known.iter().skip(1)) {
        if from.rem_euclid(60) == 0 {
            values.push(unit.to_c(a));
        }
        // Whole hours strictly between the two readings.
        let (first, end) = (from.div_euclid(60) + 1, hour_up(to));
        let inside = (end - first).max(0);
        if inside == 0 {
            continue;
        }
        if to - from > APART_MAX_MIN {
            if inside > i64::from(options.gap_max_h) {
                return Err(WeatherError::Gap {
                    line,
                    from: moment(first * 60),
                    hours: inside,
                    hours_max: options.gap_max_h,
                });
            }
            notes.push(RepairNote::MissingHours { first: moment(first * 60), hours: inside as u32 });
        } else {
            between += inside as u32;
        }
        let straight = |h: i64| {
            let share = (h * 60 - from) as f64 / (to - from) as f64;
            unit.to_c(a + (b - a) * share)
        };
        values.extend((first..end).map(straight));
    }
    if let Some(&(_, at, v)) = known.last()
        && at.rem_euclid(60) == 0
    {
        values.push(unit.to_c(v));
    }
    if between > 0 {
        notes.push(RepairNote::BetweenReadings { hours: between });
    }
    Ok(values)
}
