//! The checked plant: circulators.

use crate::plant::quantity::{Amps, Flow, HorsePower, Length, TempDelta, Time, Volts};
use heatwright_core::{RelayId, config::PumpRole};
use serde::Serialize;

plain! {
    /// Kind of a motor.
    #[derive(Copy, Eq)]
    pub enum Motor {
        /// Wet-rotor, impedance or thermally protected.
        WetRotor,
        /// Standard induction motor.
        Standard,
        /// Electronically commutated.
        ElectronicallyCommutated,
    }

    /// One circulator.
    pub struct Pump {
        /// Name on the drawings.
        pub name: String,
        /// Where it is.
        pub place: String,
        /// What it is for; found from who names it.
        pub role: PumpRole,
        /// Kind of motor.
        pub motor: Motor,
        /// Rated output; `None` for a pump rated in amps alone.
        pub hp: Option<HorsePower>,
        /// Voltage.
        pub volts: Volts,
        /// Phases, 1 or 3.
        pub phases: u8,
        /// Full-load amps on the nameplate.
        pub amps: Amps,
        /// Service factor on the nameplate.
        pub service_factor: f64,
        /// Temperature rise on the nameplate; `None` where it names none.
        pub temperature_rise: Option<TempDelta>,
        /// True when the motor protects itself against overload.
        pub thermally_protected: bool,
        /// True when the pump is listed as an appliance with its motor inside, rated in amps.
        pub appliance_listed: bool,
        /// The motor has a start input: the line stays on and a dry contact starts it.
        pub start_input: bool,
        /// Flow with the pump on.
        pub flow: Flow,
        /// Run from the control panel.
        pub run: Length,
        /// True when the pump stands in sight of the control panel.
        pub in_sight: bool,
        /// It has a HAND-OFF-AUTO switch.
        pub hand_switch: bool,
        /// Shortest run.
        pub on_min: Time,
        /// Shortest stop.
        pub off_min: Time,
        /// Run at least once in this time; zero: never.
        pub exercise_every: Time,
        /// Length of an exercise run.
        pub exercise_for: Time,
        /// Its relay, when pinned.
        pub relay: Option<RelayId>,
        /// First space of its circuit in the distribution panel, when given.
        pub space: Option<u8>,
    }
}
