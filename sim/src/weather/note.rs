//! What was repaired or decided while a weather file was read: every such step is told, none is silent.

use jiff::civil::DateTime;
use std::fmt;

/// One repair or decision.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RepairNote {
    /// Hours without a reading were filled by a straight line between their neighbours.
    MissingHours {
        /// The first of them, local standard time.
        first: DateTime,
        /// How many in a row.
        hours: u32,
    },
    /// Hours without a reading at the start or the end of the file were left out.
    EdgeLeftOut {
        /// The first of them, local standard time.
        first: DateTime,
        /// How many.
        hours: u32,
    },
    /// Readings stand beside the whole hour; the values on the hour are interpolated between them.
    BetweenReadings {
        /// How many hourly values.
        hours: u32,
    },
    /// A typical year, put together from several: it was laid on one calendar year.
    CommonYear {
        /// The first calendar year it was laid on.
        year: i16,
    },
    /// A leap year whose file has no 29 February: it was laid on a common year.
    LeapDayAbsent {
        /// The year in the file.
        year_given: i16,
        /// The calendar year it was laid on.
        year: i16,
    },
    /// The last line has no line end, so its value may have been cut short.
    NoFinalLineEnd {
        /// The line, counted from 1.
        line: usize,
    },
}

impl fmt::Display for RepairNote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let clock = |t: &DateTime| t.strftime("%Y-%m-%d %H:%M").to_string();
        match self {
            Self::MissingHours { first, hours: 1 } => {
                write!(f, "no reading at {}: filled by a straight line", clock(first))
            }
            Self::MissingHours { first, hours } => {
                write!(f, "no readings for {hours} hours from {}: filled by a straight line", clock(first))
            }
            Self::EdgeLeftOut { first, hours } => {
                write!(f, "no readings for {hours} h from {}, at an end of the file: left out", clock(first))
            }
            Self::BetweenReadings { hours } => {
                write!(f, "{hours} hourly values lie between readings: interpolated to the whole hour")
            }
            Self::CommonYear { year } => write!(f, "months of several years: laid on the calendar of {year}"),
            Self::LeapDayAbsent { year_given, year } => {
                write!(f, "{year_given} without 29 February: laid on the calendar of {year}")
            }
            Self::NoFinalLineEnd { line } => {
                write!(f, "line {line}, the last, has no line end: its value may have been cut short")
            }
        }
    }
}
