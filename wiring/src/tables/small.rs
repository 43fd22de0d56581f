//! Largest overcurrent device of a small copper conductor, whatever its ampacity.
//!
//! Source: NFPA 70, 240.4(D): 14, 12 and 10 AWG checked; 18 and 16 AWG (with continuous load at most 80 %, and only certain
//! classes of device) from memory. The items were renumbered in 2023, so no item number is cited.
//! Does not hold for motor circuits protected by 430.52 (240.4(G)).

use super::{Awg, Source, Status};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "240.4(D)",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "18 and 16 AWG from memory",
};

/// The largest overcurrent device, amperes; `None` where 240.4(D) sets no limit (8 AWG and larger).
pub fn largest_device_amps(awg: Awg) -> Option<f64> {
    match awg {
        Awg::A18 => Some(7.0),
        Awg::A16 => Some(10.0),
        Awg::A14 => Some(15.0),
        Awg::A12 => Some(20.0),
        Awg::A10 => Some(30.0),
        _ => None,
    }
}
