//! The plant as the model sees it where zone relays stand in place of a controller.
//!
//! The model's control and its wires speak in points. The stand-in for the relays (`heatwright_sim::zone_relays`) gets those that it needs, which
//! exist in the model alone: an outdoor sensor (each boiler has its own), a supply sensor that shows the water, and each boiler's
//! target as a signal, since a boiler on its own reset is a boiler that is told the curve's target. The scale is one that every target fits:
//! -4 to 248 °F (-20 to 120 °C), in thousandths: 0.14 K a step.

use crate::plant::{
    checked::{Control, Drive, Element, Plant, Sensor},
    quantity::{Length, Temp, TempDelta},
};
use heatwright_core::SensorUse;

/// The plant with what the model needs; `None` where our controller runs it.
pub fn stand_in(plant: &Plant) -> Option<Plant> {
    if plant.panel.control == Control::Controller {
        return None;
    }
    let mut out = plant.clone();
    for b in &mut out.boilers {
        b.drive = Drive::Target { low: Temp::from_c(-20.0), high: Temp::from_c(120.0) };
    }
    // A boiler's own reset holds the curve at its own outlet: it knows nothing of the water past the tees, nor of who calls.
    out.reset.header_trim_max = TempDelta { k: 0.0 };
    out.reset.demand_trim_max = TempDelta { k: 0.0 };
    out.sensors = [(SensorUse::Outdoor, "Outdoor air"), (SensorUse::Supply, "Supply")]
        .into_iter()
        .map(|(measures, name)| sensor(measures, name))
        .collect();
    Some(out)
}

fn sensor(measures: SensorUse, name: &str) -> Sensor {
    Sensor {
        name: name.to_owned(),
        place: String::new(),
        measures,
        element: Element::Thermistor10k2,
        run: Length { m: 0.0 },
    }
}
