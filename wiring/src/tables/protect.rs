//! Largest branch short-circuit and ground-fault protection of one motor.
//!
//! rating = percentage of the table full-load current, and the next standard size up where that is none.
//! Source: NFPA 70 Table 430.52 (2020), Table 430.52(C)(1) (2023): 300, 175, 800, 250 % checked; 1100 % for instantaneous trip
//! on Design B energy-efficient motors and the larger limits "if it will not start" from memory. These are *maximum* ratings.
//! Edges: a current that is not a positive number gives `None`.

use super::{Edition, Source, Status, standard};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Table 430.52",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "1100 % and the limits for a motor that will not start are from memory",
};

/// Kind of branch protection.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Device {
    /// Fuse without time delay.
    Fuse,
    /// Dual-element, time-delay fuse.
    DualElementFuse,
    /// Inverse-time breaker.
    InverseTimeBreaker,
}

impl Device {
    /// Per cent of full-load current by the table.
    pub const fn percent(self) -> f64 {
        match self {
            Device::Fuse => 300.0,
            Device::DualElementFuse => 175.0,
            Device::InverseTimeBreaker => 250.0,
        }
    }

    /// Per cent of full-load current that may be reached, by the exceptions, when the motor will not start (from memory).
    /// At this limit the size is rounded *down*.
    pub fn start_percent(self, full_load_amps: f64) -> f64 {
        match self {
            Device::Fuse => 400.0,
            Device::DualElementFuse => 225.0,
            Device::InverseTimeBreaker if full_load_amps > 100.0 => 300.0,
            Device::InverseTimeBreaker => 400.0,
        }
    }
}

/// The largest rating by the table with the next standard size, amperes.
pub fn largest_amps(device: Device, full_load_amps: f64, edition: Edition) -> Option<f64> {
    let limit = full_load_amps * device.percent() / 100.0;
    match device {
        Device::InverseTimeBreaker => standard::breaker_at_least(limit, edition),
        Device::Fuse | Device::DualElementFuse => standard::fuse_at_least(limit, edition),
    }
}

/// The largest inverse-time breaker for a motor by the table with the next standard size, amperes.
pub fn inverse_time_breaker(full_load_amps: f64, edition: Edition) -> Option<f64> {
    largest_amps(Device::InverseTimeBreaker, full_load_amps, edition)
}

/// The largest dual-element fuse for a motor by the table with the next standard size, amperes.
pub fn dual_element_fuse(full_load_amps: f64, edition: Edition) -> Option<f64> {
    largest_amps(Device::DualElementFuse, full_load_amps, edition)
}

/// The largest rating for a motor that will not start on the one by the table, amperes (from memory).
pub fn largest_amps_to_start(device: Device, full_load_amps: f64, edition: Edition) -> Option<f64> {
    let limit = full_load_amps * device.start_percent(full_load_amps) / 100.0;
    match device {
        Device::InverseTimeBreaker => standard::breaker_at_most(limit, edition),
        Device::Fuse | Device::DualElementFuse => standard::fuse_at_most(limit, edition),
    }
}
