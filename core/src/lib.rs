//! Control logic of a hot-water heating plant: what runs on the bench, in the simulator and on the board.
//!
//! What is absent, by rule: the standard library, the heap, floating point, a clock, names, `unsafe`, and panics. Time and
//! wall-clock time are arguments. See `DEVELOPERS.md` for the reasons.
#![no_std]
#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::indexing_slicing,
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic,
        clippy::unreachable,
        clippy::arithmetic_side_effects,
        clippy::wildcard_enum_match_arm
    )
)]

mod advance;
mod asks;
pub mod blob;
pub mod boilers;
pub mod call;
mod clock;
pub mod config;
pub mod controller;
pub mod damper;
mod decide;
mod demand;
mod digest;
pub mod element;
pub mod enable;
mod follow;
pub mod guard;
pub mod heat;
pub mod ids;
pub mod inputs;
pub mod intent;
mod interlock;
#[cfg(feature = "io")]
pub mod io;
mod known;
pub mod law;
pub mod laws;
pub mod limits;
pub mod link;
pub mod lull;
pub mod mask;
pub mod memory;
pub mod meter;
pub mod mixing;
pub mod outputs;
mod piping;
pub mod points;
pub mod pumps;
pub mod purge;
pub mod quiet;
pub mod reason;
mod rebase;
pub mod reset;
pub mod rotation;
pub mod schedule;
mod seen;
pub mod staging;
pub mod state;
mod statement;
pub mod switches;
pub mod tank;
#[cfg(test)]
mod tests;
pub mod units;
mod zones;

pub use config::{
    Config,
    check::{ConfigFault, Fault},
};
pub use controller::{next_due, tick, tick_for};
pub use ids::{
    AnalogId, BoilerId, ContactId, PumpId, RelayId, SafetyId, ScheduleId, SensorId, Severity, Subject, ZoneId,
};
pub use inputs::{Inputs, Reading};
pub use intent::{Calls, Intent};
pub use memory::Memory;
pub use outputs::{Event, Outputs, Signal, Stated, diff};
pub use points::{AnalogUse, ContactUse, Points, RelayUse, SensorUse, Tap};
pub use reason::Reason;
pub use schedule::{Level, Schedule};
pub use state::State;
pub use units::{CivilMinute, Instant, Permille, Span, Temp, TempDelta};
