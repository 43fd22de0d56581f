//! Control logic of a hot-water heating plant: what runs on the bench, in the simulator and on the board.
//!
//! What is absent, by rule: the standard library, the heap, floating point, a clock, names, `unsafe`, and panics. Time and
//! wall-clock time are arguments. See `DEVELOPERS.md` for the reasons.
#![no_std]
#![forbid(unsafe_code)]

pub mod config;
pub mod ids;
pub mod inputs;
pub mod limits;
pub mod outputs;
pub mod points;
pub mod reason;
pub mod schedule;
pub mod units;

pub use config::Config;
pub use ids::{
    AnalogId, BoilerId, ContactId, PumpId, RelayId, SafetyId, ScheduleId, SensorId, Severity, Subject, ZoneId,
};
pub use inputs::{Inputs, Reading};
pub use outputs::{Outputs, Signal, Stated};
pub use points::{AnalogUse, ContactUse, Points, RelayUse, SensorUse, Tap};
pub use reason::Reason;
pub use schedule::{Level, Schedule};
pub use units::{CivilMinute, Instant, Permille, Span, Temp, TempDelta};
