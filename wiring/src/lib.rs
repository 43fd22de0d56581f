//! A compiler from a boiler room's control job to conductors, schedules, lockout points, rules and a proof.
//!
//! What is absent, by rule: TOML, time, physics.
#![forbid(unsafe_code)]

pub mod device;
pub mod diff;
pub mod finding;
#[doc(hidden)]
pub mod fixtures;
pub mod job;
pub mod kinds;
pub mod natural;
pub mod net;
pub mod part;
pub mod pass;
pub mod plan;
pub mod proof;
pub mod row;
pub mod rules;
pub mod tables;
pub mod trace;
