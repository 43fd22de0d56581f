//! Temperature sensors: one element between two leads, no polarity.

use crate::{
    device::{Device, Kind, PlaceId},
    part::Part,
};
use heatwright_core::SensorId;

/// Its leads.
pub const LEADS: [&str; 2] = ["1", "2"];

/// A sensor.
pub fn sensor(tag: &str, place: PlaceId, label: &str, id: SensorId) -> Device {
    let mut d = Device::new(tag, Kind::Sensor, place, label);
    let (a, b) = (d.terminal(LEADS[0]), d.terminal(LEADS[1]));
    d.parts.push(Part::Element { a, b, sensor: id });
    d
}
