//! The checked plant: the control panel, the alarm, contacts for building automation.

use crate::plant::quantity::{Amps, Length, Share, Va, Volts};
use heatwright_core::RelayId;
use heatwright_wiring::job::{EnclosureType, Moisture};
use serde::Serialize;

plain! {
    /// Control panel and what leads to it.
    pub struct Panel {
        /// Name of the control panel.
        pub name: String,
        /// What decides in it.
        pub control: Control,
        /// Where it hangs.
        pub place: String,
        /// Its enclosure type.
        pub enclosure: EnclosureType,
        /// What water its place brings.
        pub moisture: Moisture,
        /// Short-circuit rating of the whole assembly; `None` when nobody has rated it.
        pub short_circuit_rating: Option<Amps>,
        /// How conductors are led in the boiler room.
        pub raceway: Raceway,
        /// Smallest conductor for power, AWG.
        pub power_awg_min: u8,
        /// Smallest conductor for line-voltage control, AWG.
        pub control_awg_min: u8,
        /// Smallest conductor for Class 2, AWG.
        pub class2_awg_min: u8,
        /// Smallest trade size of raceway, in inches.
        pub raceway_min: Length,
        /// Largest volt drop on a branch circuit.
        pub drop_max: Share,
        /// Share of a raceway's or panel's room to be left free.
        pub spare_room: Share,
        /// Spare relays.
        pub spare_relays: u8,
        /// Spare contact inputs.
        pub spare_contacts: u8,
        /// Spare sensor inputs.
        pub spare_sensors: u8,
        /// Spare 0-10 V outputs.
        pub spare_analogs: u8,
        /// The alarm relay, when pinned.
        pub alarm_relay: Option<RelayId>,
        /// The health relay, when pinned.
        pub health_relay: Option<RelayId>,
        /// A convenience receptacle is wanted beside the panel.
        pub receptacle: bool,
        /// Space of its control circuit in the distribution panel, when given.
        pub space: Option<u8>,
        /// Space of the receptacle circuit, when given.
        pub receptacle_space: Option<u8>,
    }

    /// What decides in the control panel.
    #[derive(Copy, Eq)]
    pub enum Control {
        /// Our controller.
        Controller,
        /// A relay a call, and boilers on a reset of their own.
        ZoneRelays,
    }

    /// Kind of raceway.
    #[derive(Copy, Eq)]
    pub enum Raceway {
        /// Electrical metallic tubing.
        Emt,
        /// Rigid metal conduit.
        Rigid,
        /// Flexible metal conduit.
        Flexible,
    }

    /// The alarm beacon or horn, on its own 120 V circuit.
    pub struct Alarm {
        /// Where it hangs.
        pub place: String,
        /// Its rated voltage.
        pub volts: Volts,
        /// Its load.
        pub va: Va,
        /// Run from the control panel.
        pub run: Length,
        /// Space of its circuit in the distribution panel, when given.
        pub space: Option<u8>,
    }

    /// What a building-automation contact shows.
    #[derive(Copy, Eq)]
    pub enum Shown {
        /// The alarm relay.
        Alarm,
        /// The health relay.
        Health,
    }

    /// A contact handed to a building-automation system.
    pub struct Automation {
        /// Id in the file.
        pub id: String,
        /// Name on the drawings.
        pub name: String,
        /// What it shows.
        pub shows: Shown,
        /// Where the other system's terminals are.
        pub place: String,
        /// Voltage that the other system puts on it.
        pub volts: Volts,
        /// Run from the control panel.
        pub run: Length,
    }
}
