//! What is wrong with a plant before it can be simulated: facts only; the host renders them with names and places.

use heatwright_core::{Severity, Subject};

/// One thing wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finding {
    /// What it is about.
    pub subject: Subject,
    /// How much it matters.
    pub severity: Severity,
    /// The fault.
    pub fault: Fault,
}

/// Faults of a plant. Each sentence stands alone.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum Fault {
    /// A number outside its range.
    #[error("`{field}` is {value}; it must be at least {low} and at most {high}")]
    OutOfRange {
        /// Name of the field.
        field: &'static str,
        /// What was given.
        value: f64,
        /// Least value.
        low: f64,
        /// Greatest value.
        high: f64,
    },
    /// A number that must be above another is not.
    #[error("`{field}` is {value}; it must be above `{other}`, which is {limit}")]
    NotAbove {
        /// Name of the field.
        field: &'static str,
        /// What was given.
        value: f64,
        /// Name of the other field.
        other: &'static str,
        /// What the other is.
        limit: f64,
    },
    /// A list past its capacity.
    #[error("there are {count} of `{what}`; the controller takes {most} at most")]
    TooMany {
        /// What is counted.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// How many there may be.
        most: usize,
    },
    /// A list with nothing in it.
    #[error("the plant has no {what}")]
    None {
        /// What is missing.
        what: &'static str,
    },
    /// A reference to something that is not there.
    #[error("`{field}` names number {index}, but there are {count}")]
    Missing {
        /// Name of the field.
        field: &'static str,
        /// The index that was given.
        index: usize,
        /// How many there are.
        count: usize,
    },
    /// Points of a table that do not rise.
    #[error("`{field}` must have at least two points, strictly rising and above zero")]
    NotRising {
        /// Name of the field.
        field: &'static str,
    },
    /// Boilers with and without a pump of their own on one header.
    #[error("some boilers have a pump of their own and some have none; on one header all or none must have one")]
    MixedBoilerPumps,
    /// As many sensors as points are needed.
    #[error("there are {given} sensors for {points} sensor points")]
    SensorCount {
        /// Sensors given.
        given: usize,
        /// Sensor points of the controller.
        points: usize,
    },
    /// A step that cannot be used.
    #[error("a step of {step_s} s cannot be simulated; it must be 0.1 s to 5 s, in whole tenths")]
    Step {
        /// What was given, in seconds.
        step_s: f64,
    },
}

impl Finding {
    /// An error about a subject.
    pub const fn error(subject: Subject, fault: Fault) -> Self {
        Self { subject, severity: Severity::Error, fault }
    }
}
