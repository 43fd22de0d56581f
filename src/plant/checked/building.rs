//! The checked plant: the building, its power service, the codes that hold, the fluid, the header.

use crate::plant::quantity::{Amps, Length, Share, Temp, Volume};
use serde::Serialize;

plain! {
    /// The building.
    pub struct Site {
        /// Name on every sheet.
        pub name: String,
        /// Town or address.
        pub place: String,
        /// Outdoor design temperature.
        pub outdoor_design: Temp,
        /// Height above sea level.
        pub altitude: Length,
        /// Air temperature in the boiler room, for conductor corrections and jacket losses.
        pub boiler_room: Temp,
        /// Highest ambient of conductors outside the boiler room.
        pub elsewhere: Temp,
        /// Length, width and height of the boiler room, when given.
        pub boiler_room_size: Option<[Length; 3]>,
        /// Run taken for a device in the boiler room whose own run is not given.
        pub run_default: Length,
    }

    /// The system voltage of the building's service.
    #[derive(Copy, Eq)]
    pub enum Service {
        /// 120/240 V, single phase, three wires.
        #[serde(rename = "120/240 V")]
        Split120_240,
        /// 208Y/120 V, three phases, four wires.
        #[serde(rename = "208Y/120 V")]
        Wye208_120,
        /// 480Y/277 V, three phases, four wires.
        #[serde(rename = "480Y/277 V")]
        Wye480_277,
    }

    /// Where the power comes from.
    pub struct PowerService {
        /// System voltage.
        pub service: Service,
        /// Fault current available at the distribution panel.
        pub fault_current: Amps,
        /// Name of the distribution panel.
        pub panel: String,
        /// Where it hangs.
        pub panel_place: String,
        /// Run from the distribution panel to the control panel.
        pub panel_run: Length,
        /// True when the distribution panel is in sight of the boilers.
        pub panel_in_sight: bool,
    }

    /// Which rules hold.
    pub struct Code {
        /// Edition of the National Electrical Code: 2017, 2020 or 2023.
        pub nec: u16,
        /// An emergency shutdown switch is wanted at each boiler-room door.
        pub door_switch: bool,
        /// A hand-reset high limit is wanted on each boiler beside the operating limit.
        pub manual_high_limit: bool,
        /// A low-water fuel cutoff is wanted on each boiler.
        pub low_water_cutoff: bool,
        /// Combustion-air proof is wanted where there is a damper.
        pub combustion_air_proof: bool,
        /// A single relay between a safety and a burner is accepted.
        pub single_interposing_relay: bool,
        /// Shared neutrals are accepted.
        pub shared_neutral: bool,
    }

    /// Which antifreeze.
    #[derive(Copy, Eq)]
    pub enum Glycol {
        /// Water alone.
        None,
        /// Propylene glycol.
        Propylene,
        /// Ethylene glycol.
        Ethylene,
    }

    /// What is in the pipes.
    pub struct Fluid {
        /// Which antifreeze.
        pub glycol: Glycol,
        /// Its share by mass; zero for water.
        pub share: Share,
    }

    /// How boiler loop and zone loop meet.
    #[derive(Copy, Eq)]
    pub enum HeaderKind {
        /// A pair of closely spaced tees.
        CloselySpacedTees,
        /// A low-loss header.
        LowLoss,
    }

    /// Where boiler water and zone water meet.
    pub struct Header {
        /// How.
        pub kind: HeaderKind,
        /// Water in the boiler side's pipes and the header, without the boilers.
        pub boiler_side: Volume,
        /// Water in the zone side's mains.
        pub zone_side: Volume,
    }
}
