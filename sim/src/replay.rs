//! Open loop: the controller is driven by recordings, and what it states is written down. No physics.
//!
//! Recorded temperatures ([`record`]) stand at the sensors, recorded calls at the thermostats. The field devices answer as meant
//! ([`answer`]): a pump that is switched on gives flow, a demand gives a flame after the burner's own times. So the controller
//! can be held against a plant that exists: on this day, would it have done what was done? The water does *not* answer: what the
//! controller states changes no recorded temperature, so hours and starts are those of this loop and no forecast.
//!
//! Sensors that are not recorded read as never read; the controller takes its stated fallback, as in a plant without them.
//! Wall-clock time is the record's own, local standard time.

pub mod answer;
pub mod record;

use crate::{
    control::{Control, LinkError},
    outdoor::Calls,
    plant::Plant,
    run::{
        alarm::{AlarmWatch, Alarms},
        event::{Event, Log},
    },
    weather::minute_of,
    wires::{Ideal, Wires},
};
use answer::Answers;
use heatwright_core::{CivilMinute, Instant, Outputs, Reading, Temp};
use record::Record;

/// Longest record that is driven, in seconds: ten years.
const LONGEST_S: f64 = 10.0 * 366.0 * 86_400.0;
/// Most events kept; more are counted.
const EVENTS_MAX: usize = 100_000;

/// One moment, for a series.
#[derive(Clone, Copy, Debug)]
pub struct Commanded<'a> {
    /// Seconds since the record's start.
    pub at_s: f64,
    /// What each sensor reads, by `SensorId`.
    pub sensors: &'a [Reading],
    /// Calls as they stand, by `ZoneId`.
    pub calls: u64,
    /// What the controller states.
    pub outputs: &'a Outputs,
}

/// What came of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Replay {
    /// Length, in seconds.
    pub length_s: f64,
    /// Seconds that each relay was on, by `RelayId`; as many as the points have.
    pub on_s: Vec<f64>,
    /// Times that each relay was switched on.
    pub starts: Vec<u32>,
    /// When the alarm stood, and which boilers were out of order.
    pub alarm: Alarms,
    /// Changes of outputs, in order of time.
    pub events: Vec<Event>,
    /// Events past the most that are kept.
    pub events_dropped: u64,
}

/// Why a record cannot be driven to its end.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ReplayError {
    /// It is too long.
    #[error("the record is {days:.0} days long; at most ten years are driven")]
    TooLong {
        /// Its length, in days.
        days: f64,
    },
    /// The controller was lost.
    #[error("{at_s} s after the start: {error}")]
    Link {
        /// When, in seconds of the record.
        at_s: f64,
        /// What happened.
        error: LinkError,
    },
}

/// Drives the controller by a record and calls, once a second; `calls` is asked with seconds of the record, `look` is told a moment
/// every `sample_s` seconds.
pub fn replay(
    plant: &Plant,
    record: &Record,
    calls: &dyn Fn(f64) -> Calls,
    control: &mut dyn Control,
    sample_s: u32,
    look: &mut dyn FnMut(&Commanded<'_>),
) -> Result<Replay, ReplayError> {
    let length_s = record.length_s();
    if length_s > LONGEST_S {
        return Err(ReplayError::TooLong { days: length_s / 86_400.0 });
    }
    let start = minute_of(record.start());
    let second_of_minute = u32::try_from(record.start().second()).unwrap_or(0);
    let relays = plant.points.relays.len();
    let mut out = Replay {
        length_s,
        on_s: vec![0.0; relays],
        starts: vec![0; relays],
        alarm: Alarms::default(),
        events: Vec::new(),
        events_dropped: 0,
    };
    let mut alarms = AlarmWatch::new(&plant.points);
    let mut wires = Ideal::new(plant);
    let mut answers = Answers::new(plant);
    let mut outputs = Outputs::default();
    let mut before = Outputs::default();
    let mut log = Log::new(EVENTS_MAX);
    let mut course = record.course();
    for second in 0..=(length_s as u32) {
        let at_s = f64::from(second);
        let minutes = start + i64::from((second + second_of_minute) / 60);
        let called = calls(at_s);
        let powered = wires.powered(&outputs, answers.field());
        let field = answers.step(plant, &powered, |use_, slot| {
            if let Some(c) = course.at(use_, at_s) {
                *slot = Reading::At(Temp::from_centi_c((c * 100.0).round() as i16));
            }
        });
        field.at = Instant::from_tenths(second.saturating_mul(10));
        field.civil = u32::try_from(minutes).ok().map(CivilMinute::new);
        field.calls = called.closed & called.zones;
        field.tank_call = called.tank.unwrap_or(field.tank_call);
        let field = *field;
        let inputs = wires.seen(&outputs, &field);
        before.clone_from(&outputs);
        control.tick(field.at, &inputs, &mut outputs).map_err(|error| ReplayError::Link { at_s, error })?;
        log.add(at_s, &plant.points, &before, &outputs);
        alarms.see(at_s, &outputs);
        for (k, (on_s, starts)) in out.on_s.iter_mut().zip(&mut out.starts).enumerate() {
            let r = heatwright_core::RelayId(k as u8);
            if outputs.relay(r).on {
                // The last moment stands for no time.
                *on_s += if second < length_s as u32 { 1.0 } else { 0.0 };
                *starts += u32::from(!before.relay(r).on);
            }
        }
        if sample_s > 0 && second.is_multiple_of(sample_s) {
            look(&Commanded { at_s, sensors: &field.sensors, calls: field.calls, outputs: &outputs });
        }
    }
    out.alarm = alarms.end(length_s);
    (out.events, out.events_dropped) = log.end();
    Ok(out)
}
