//! The checked plant: the domestic-hot-water tank and the combustion-air damper.

use crate::plant::quantity::{Flow, Length, Power, Temp, TempDelta, Time, Va, Volts, Volume};
use heatwright_core::{PumpId, RelayId, SafetyId};
use serde::Serialize;

plain! {
    /// One draw of domestic hot water, every day.
    #[derive(Copy)]
    pub struct Draw {
        /// Minute of the day it begins.
        pub minute_of_day: u16,
        /// How long it runs.
        pub lasts: Time,
        /// Flow at the tap, mixed to `Tank::tap`.
        pub flow: Flow,
    }

    /// The domestic-hot-water tank.
    pub struct Tank {
        /// Name on the drawings.
        pub name: String,
        /// Where it stands.
        pub place: String,
        /// Volume.
        pub volume: Volume,
        /// The aquastat opens at this.
        pub aquastat: Temp,
        /// It closes this far below.
        pub differential: TempDelta,
        /// Cold water that comes in.
        pub cold: Temp,
        /// Water at the tap.
        pub tap: Temp,
        /// Output of its coil at `coil_supply` and the tank at `cold`.
        pub coil: Power,
        /// Supply temperature of that rating.
        pub coil_supply: Temp,
        /// Standing loss.
        pub standing_loss: Power,
        /// Draws of a day.
        pub draws: Vec<Draw>,
        /// The pump that charges it.
        pub pump: PumpId,
        /// The hard-wired limit in its pump's circuit.
        pub limit: Option<SafetyId>,
        /// What that limit opens at.
        pub limit_at: Option<Temp>,
        /// Supply target of a call.
        pub target: Temp,
        /// No purge heat above this.
        pub purge_max: Temp,
        /// Zones are shed at most this long; zero: no priority.
        pub priority_max: Time,
        /// No priority below this outdoor temperature.
        pub priority_above: Temp,
        /// A change of the call counts once it has lasted this long.
        pub debounce: Time,
        /// The pump runs on this long.
        pub overrun: Time,
        /// Run of the aquastat from the control panel.
        pub run: Length,
    }

    /// Combustion-air damper.
    pub struct Damper {
        /// Name on the drawings.
        pub name: String,
        /// Where it is.
        pub place: String,
        /// Supply of its actuator.
        pub volts: Volts,
        /// Load of its actuator.
        pub va: Va,
        /// Time from shut to open.
        pub stroke: Time,
        /// It must be proved open this soon.
        pub proof_max: Time,
        /// Run from the control panel.
        pub run: Length,
        /// Its relay, when pinned.
        pub relay: Option<RelayId>,
    }
}
