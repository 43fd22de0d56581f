//! The checked plant: the building, its power service, the codes that hold, the fluid, the header.

use crate::plant::quantity::{Amps, Length, Power, Pressure, Share, Temp, Va, Volume};
use heatwright_wiring::job::{EnclosureType, Moisture, PumpCircuits};
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
        /// Transformer to a second panelboard of 120/240 V.
        pub transformer: Option<PowerTransformer>,
        /// Volt drop ahead of the distribution panel at full load.
        pub feeder_drop: Share,
        /// How pumps hang on branch circuits.
        pub pump_circuits: PumpCircuits,
    }

    /// A dry-type transformer and the panelboard behind it.
    pub struct PowerTransformer {
        /// Rating.
        pub va: Va,
        /// Impedance on its plate, as a share; `None` when nobody has told.
        pub impedance: Option<Share>,
        /// Where it stands.
        pub place: String,
        /// Where the second panelboard hangs.
        pub panel_place: String,
        /// Run from the distribution panel to it.
        pub run: Length,
        /// Run from it to the second panelboard.
        pub secondary_run: Length,
        /// Run from it to the grounding electrode.
        pub electrode_run: Length,
        /// Run from the second panelboard to the control panel.
        pub panel_run: Length,
        /// True when the second panelboard is in sight of the control panel.
        pub panel_in_sight: bool,
    }

    /// An enclosure for contactors and starters.
    pub struct StarterPanel {
        /// Its name.
        pub name: String,
        /// Where it hangs.
        pub place: String,
        /// Run from the control panel to it.
        pub run: Length,
        /// Run from the distribution panel to it.
        pub panel_run: Length,
        /// Its enclosure type.
        pub enclosure: EnclosureType,
        /// What water its place brings.
        pub moisture: Moisture,
        /// True when the distribution panel is in sight of it.
        pub panel_in_sight: bool,
        /// Short-circuit rating of the whole assembly; `None` when nobody has rated it.
        pub short_circuit_rating: Option<Amps>,
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
        /// Boilers of more input want a second high limit with hand reset, and the room an emergency switch.
        pub hand_reset_above: Power,
        /// Boilers of more input want gas-pressure switches; `None`: not looked at.
        pub gas_switches_above: Option<Power>,
        /// The inputs of all boilers count together.
        pub inputs_add_up: bool,
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
        /// Heat that both lose with water at 180 °F (82 °C).
        pub loss: Power,
    }

    /// What pipes are made of.
    #[derive(Copy, Eq)]
    pub enum Pipe {
        /// Steel.
        Steel,
        /// Copper tube.
        Copper,
    }

    /// How the mains of boilers side by side run.
    #[derive(Copy, Eq)]
    pub enum BoilerMains {
        /// Supply and return at the same end.
        DirectReturn,
        /// Supply at one end, return at the other.
        ReverseReturn,
    }

    /// The water side: pressures, expansion tank, boiler mains.
    #[derive(Copy)]
    pub struct WaterSide {
        /// Highest water above the boilers' gauge.
        pub height: Length,
        /// Pressure wanted there while cold.
        pub top_pressure: Pressure,
        /// Fill pressure set at the gauge; `None`: just what is needed.
        pub fill: Option<Pressure>,
        /// Coldest water that the plant is filled with.
        pub fill_temperature: Temp,
        /// Hottest that all of the water may become.
        pub hottest: Temp,
        /// All water of the plant.
        pub volume: Volume,
        /// What the pipes are made of.
        pub pipe: Pipe,
        /// What running pumps add at the boilers above the expansion tank's connection.
        pub pump_rise: Pressure,
        /// The expansion tank that is there.
        pub expansion_tank: Option<Volume>,
        /// Most water that its diaphragm lets in; `None`: not said.
        pub expansion_acceptance: Option<Volume>,
        /// Its air charge; `None`: equal to the fill pressure.
        pub precharge: Option<Pressure>,
        /// How the boilers' mains run; `None`: not said.
        pub boiler_mains: Option<BoilerMains>,
        /// Length of each main from one boiler to the next.
        pub boiler_spacing: Length,
        /// Bore of those mains.
        pub main_bore: Length,
    }
}
