//! The checked plant: safety devices and temperature sensors.

use crate::plant::quantity::{Length, Temp, Va, Volts};
use heatwright_core::{
    SensorUse,
    config::{Reset, SafetyCircuit, SafetyKind, SafetyScope},
};
use serde::Serialize;

plain! {
    /// What a safety's contact is while all is well.
    #[derive(Copy, Eq)]
    pub enum Rest {
        /// Closed while all is well; opens to stop.
        Closed,
        /// Open at rest; must close after the call.
        Open,
    }

    /// One safety device.
    pub struct Safety {
        /// Name on the drawings.
        pub name: String,
        /// Where it is.
        pub place: String,
        /// What it is.
        pub kind: SafetyKind,
        /// Whom it stops.
        pub scope: SafetyScope,
        /// Where it acts.
        pub circuit: SafetyCircuit,
        /// Its contact at rest.
        pub rest: Rest,
        /// How it comes back.
        pub reset: Reset,
        /// It has a second contact for the controller's first-out.
        pub aux: bool,
        /// Supply that the device itself needs; `None` for a plain switch.
        pub supply: Option<Volts>,
        /// Load of the device on that supply.
        pub supply_va: Option<Va>,
        /// Temperature it opens at, for limits.
        pub opens_at: Option<Temp>,
        /// Run from the control panel.
        pub run: Length,
    }

    /// Kind of a sensor.
    #[derive(Copy, Eq)]
    pub enum Element {
        /// 10 kilohm thermistor, type II curve.
        Thermistor10k2,
        /// 10 kilohm thermistor, type III curve.
        Thermistor10k3,
        /// 1000 ohm platinum.
        Platinum1000,
    }

    /// One temperature sensor.
    pub struct Sensor {
        /// Name on the drawings.
        pub name: String,
        /// Where it is.
        pub place: String,
        /// What it measures.
        pub measures: SensorUse,
        /// Its element.
        pub element: Element,
        /// Run from the control panel.
        pub run: Length,
    }
}
