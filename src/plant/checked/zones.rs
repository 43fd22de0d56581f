//! The checked plant: zones: emitters, building mass, thermostats, valves, fans, mixing.

use crate::plant::quantity::{
    Amps, Area, Flow, HorsePower, Length, Power, Temp, TempDelta, ThermalResistance, Time, Va, Volts, Volume, Watts,
};
use heatwright_core::{
    RelayId, SafetyId, ScheduleId,
    config::{Circulation, ZoneDrive},
};
use serde::Serialize;

plain! {
    /// What a zone gives its heat with, at its rating.
    pub enum Emitter {
        /// Panel radiator by EN 442.
        PanelRadiator(Rating),
        /// Finned tube or baseboard.
        FinnedTube(Rating),
        /// Cast-iron radiator.
        CastIron(Rating),
        /// Fan coil, steady fan.
        FanCoil(Rating),
        /// Unit heater, steady fan.
        UnitHeater(Rating),
        /// Heated floor by EN 1264.
        Floor(Floor),
        /// Points typed in the file: output against mean water temperature above the room.
        Points {
            /// The points, rising.
            points: Vec<EmitterPoint>,
            /// Water in the emitters of the zone.
            water: Volume,
        },
    }

    /// The rating of an emitter: all that a zone has, together.
    #[derive(Copy)]
    pub struct Rating {
        /// Output at the rating.
        pub output: Power,
        /// Mean water temperature at the rating.
        pub mean_water: Temp,
        /// Supply and return temperature, when the rating names both.
        pub supply_return: Option<(Temp, Temp)>,
        /// Entering water, when the rating goes by it: at the zone's own flow.
        pub entering: Option<Temp>,
        /// Room or entering-air temperature at the rating.
        pub room: Temp,
        /// Exponent of the output over the excess temperature.
        pub exponent: f64,
        /// What the output is divided by: 1.15 for a finned tube rated with its heating effect.
        pub heating_effect: f64,
        /// Water in the emitters of the zone.
        pub water: Volume,
    }

    /// A heated floor.
    #[derive(Copy)]
    pub struct Floor {
        /// Heated area.
        pub area: Area,
        /// Thermal resistance of what lies on the screed.
        pub covering: ThermalResistance,
        /// Screed over the tubes.
        pub screed: Length,
        /// Spacing of the tubes.
        pub spacing: Length,
        /// Water in the tubes.
        pub water: Volume,
    }

    /// One typed point of an emitter.
    #[derive(Copy)]
    pub struct EmitterPoint {
        /// Mean water temperature above the room.
        pub excess: TempDelta,
        /// Output.
        pub output: Power,
    }

    /// How much the zone's building stores.
    #[derive(Copy, Eq)]
    pub enum Mass {
        /// Frame and gypsum board.
        Light,
        /// Block or brick veneer.
        Medium,
        /// Concrete or solid masonry.
        Heavy,
    }

    /// Kind of a thermostat.
    #[derive(Copy, Eq)]
    pub enum Thermostat {
        /// A switch: two wires.
        TwoWire,
        /// A powered one: terminals R, W and C.
        Powered,
    }

    /// A zone valve.
    pub struct Valve {
        /// Where it stands.
        pub place: String,
        /// Voltage.
        pub volts: Volts,
        /// Load while it opens and holds.
        pub va: Va,
        /// Time from shut to open.
        pub stroke: Time,
        /// It has an end switch.
        pub end_switch: bool,
        /// The end switch is isolated from the valve's own supply.
        pub end_switch_isolated: bool,
        /// Run from the control panel.
        pub run: Length,
    }

    /// Fans of a zone: they run by themselves while their aquastat finds the water warm.
    #[derive(Copy)]
    pub struct Fans {
        /// How many.
        pub count: u8,
        /// Voltage.
        pub volts: Volts,
        /// Phases.
        pub phases: u8,
        /// Full-load amps of each.
        pub amps: Amps,
        /// Rated output of each, when given.
        pub hp: Option<HorsePower>,
        /// True when each motor protects itself against overload.
        pub thermally_protected: bool,
        /// Service factor on the plate.
        pub service_factor: f64,
        /// Electrical input of each, for the heat that it adds to the room.
        pub power: Watts,
        /// Closes when the water is at this.
        pub aquastat: Temp,
        /// True where contactors and starters of three-phase fans stand at the fans.
        pub starter_at_fan: bool,
        /// Run to the first: from the distribution panel, or from the panel in which their starters stand.
        pub run: Length,
        /// From one to the next.
        pub spacing: Length,
        /// First space of the first circuit of them in the distribution panel, when given.
        pub space: Option<u8>,
    }

    /// A zone whose water is mixed down.
    pub struct Mixing {
        /// Where its valve stands.
        pub place: String,
        /// Highest mixed supply temperature.
        pub mixed_max: Temp,
        /// Mixed supply at design.
        pub mixed_design: Temp,
        /// Proportional band.
        pub band: TempDelta,
        /// Integral time.
        pub integral: Time,
        /// Full stroke.
        pub stroke: Time,
        /// Supply of the valve motor.
        pub volts: Volts,
        /// Load of the valve motor.
        pub va: Va,
        /// Its signal is isolated from its supply.
        pub signal_isolated: bool,
        /// Run of the valve motor from the control panel.
        pub run: Length,
        /// The hard-wired limit that opens the zone's pump circuit.
        pub limit: Option<SafetyId>,
        /// What that limit opens at.
        pub limit_at: Option<Temp>,
    }

    /// One heating zone.
    pub struct Zone {
        /// Name on the drawings.
        pub name: String,
        /// Where it is.
        pub place: String,
        /// Heat loss at design.
        pub design_loss: Power,
        /// Room temperature while occupied.
        pub room: Temp,
        /// Room temperature while set back; equal to `room` when the zone has no schedule.
        pub room_setback: Temp,
        /// What it gives its heat with.
        pub emitter: Emitter,
        /// How much its building stores.
        pub mass: Mass,
        /// Its thermostat.
        pub thermostat: Thermostat,
        /// Run of the thermostat from the control panel.
        pub thermostat_run: Length,
        /// Between its switching on and off.
        pub thermostat_differential: TempDelta,
        /// Its cycles an hour at half load.
        pub thermostat_cycles: f64,
        /// Heat from people, lights and equipment while occupied.
        pub gains: Power,
        /// The same while set back.
        pub gains_setback: Power,
        /// How it takes its water.
        pub drive: ZoneDrive,
        /// The valve, when it has one.
        pub valve: Option<Valve>,
        /// Design flow.
        pub flow: Flow,
        /// Fans.
        pub fans: Option<Fans>,
        /// Mixing valve and hard-wired limit.
        pub mixing: Option<Mixing>,
        /// When its water moves.
        pub circulation: Circulation,
        /// False when hot-water priority may not shed it.
        pub sheddable: bool,
        /// Its weekly schedule.
        pub schedule: Option<ScheduleId>,
        /// A change of the call counts once it has lasted this long.
        pub debounce: Time,
        /// A call, once counted, holds at least this long.
        pub call_min: Time,
        /// It keeps its flow this long after its call.
        pub overrun: Time,
        /// The relay of its valve, when pinned.
        pub relay: Option<RelayId>,
    }
}
