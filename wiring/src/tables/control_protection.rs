//! Largest overcurrent device of motor-control conductors, copper, amperes.
//!
//! Source: NFPA 70, Table 430.72(B): 16 AWG at 10 A in columns A and C checked, the rest from memory.
//! Column A: general. B: inside the controller's enclosure. C: leaving the enclosure, where the branch device protects the conductors.

use super::{Awg, Source, Status};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Table 430.72(B)",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "all but 16 AWG at 10 A from memory; column A from 14 AWG up by 310.16 is not copied",
};

/// Column of the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Place {
    /// A: separate protection.
    Separate,
    /// B: inside the enclosure, on the branch device.
    Inside,
    /// C: beyond the enclosure, on the branch device.
    Beyond,
}

/// Largest device, amperes; `None` where the table is not copied.
pub fn largest_amps(awg: Awg, place: Place) -> Option<f64> {
    Some(match (place, awg) {
        (Place::Separate | Place::Beyond, Awg::A18) => 7.0,
        (Place::Separate | Place::Beyond, Awg::A16) => 10.0,
        (Place::Inside, Awg::A18) => 25.0,
        (Place::Inside, Awg::A16) => 40.0,
        (Place::Inside, Awg::A14) => 100.0,
        (Place::Inside, Awg::A12) => 120.0,
        (Place::Inside, Awg::A10) => 160.0,
        (Place::Beyond, Awg::A14) => 45.0,
        (Place::Beyond, Awg::A12) => 60.0,
        (Place::Beyond, Awg::A10) => 90.0,
        _ => return None,
    })
}
