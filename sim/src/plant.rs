//! The plant as physics sees it: plain numbers with their unit in the name, subjects by the ids of the core.
//!
//! Nothing here is a setting of the controller; what both sides must agree on ([`Points`], [`Schedule`], pump and boiler
//! roles, safety circuits) is the core's own type. A plant is checked once, when [`Model`](crate::state::Model) is built
//! from it; it never changes during a run.

use crate::emitter::Emitter;
use heatwright_core::{
    BoilerId, CivilMinute, Level, PumpId, SafetyId, Schedule, ScheduleId, SensorUse, ZoneId,
    config::{BoilerDrive, BoilerPump, PumpRole, Reset, SafetyCircuit, SafetyKind, SafetyScope},
    points::Points,
};

/// The whole plant.
#[derive(Clone, Debug, PartialEq)]
pub struct Plant {
    /// Where it stands.
    pub site: Site,
    /// What flows in it.
    pub fluid: Fluid,
    /// Zones, by [`ZoneId`].
    pub zones: Vec<Zone>,
    /// Circulators, by [`PumpId`].
    pub pumps: Vec<Pump>,
    /// Boilers, by [`BoilerId`].
    pub boilers: Vec<Boiler>,
    /// What joins boilers and zones.
    pub header: Header,
    /// The domestic-hot-water tank, if there is one.
    pub tank: Option<Tank>,
    /// The combustion-air damper, if there is one.
    pub damper: Option<Damper>,
    /// Safeties, by [`SafetyId`].
    pub safeties: Vec<Safety>,
    /// Sensors, by [`SensorId`](heatwright_core::SensorId); as many as `points.sensors`.
    pub sensors: Vec<Sensor>,
    /// Weekly schedules, by [`ScheduleId`].
    pub schedules: Vec<Schedule>,
    /// Which point of the controller serves what.
    pub points: Points,
}

/// Where the plant stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Site {
    /// Altitude above sea level, in metres: it lowers the flue gas's dew point.
    pub altitude_m: f64,
    /// Design outdoor temperature, in degrees Celsius.
    pub design_outdoor_c: f64,
    /// Temperature of the boiler room, in degrees Celsius.
    pub boiler_room_c: f64,
}

/// Which antifreeze is in the water.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Glycol {
    /// Propylene glycol.
    #[default]
    Propylene,
    /// Ethylene glycol.
    Ethylene,
}

/// What flows in the plant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fluid {
    /// Propylene glycol by mass, in percent; 0 is water. Up to 60.
    pub glycol_percent: f64,
    /// Which glycol.
    pub glycol: Glycol,
}

/// One heating zone: a room air node and a mass node behind it, an emitter, and what moves its water.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// Heat loss at the two design temperatures that follow, in watts.
    pub loss_w: f64,
    /// Room temperature at which `loss_w` was computed, in degrees Celsius.
    pub loss_indoor_c: f64,
    /// Outdoor temperature at which `loss_w` was computed, in degrees Celsius.
    pub loss_outdoor_c: f64,
    /// Heat capacity of air and furnishings, in joules per kelvin.
    pub air_j_k: f64,
    /// Heat capacity of the building mass that takes part, in joules per kelvin.
    pub mass_j_k: f64,
    /// Conductance between air and mass, in watts per kelvin.
    pub air_mass_w_k: f64,
    /// Share of the emitter's heat that goes to the mass by radiation, 0 to 1.
    pub radiant_share: f64,
    /// What gives the heat off.
    pub emitter: Emitter,
    /// Water in emitter and branch pipes, in litres.
    pub water_l: f64,
    /// Heat capacity of the emitter's metal, in joules per kelvin.
    pub metal_j_k: f64,
    /// Water flow through the emitter while its pump runs and its valve is open, in kilograms per second.
    pub flow_kg_s: f64,
    /// What moves its water.
    pub drive: Drive,
    /// What calls for heat.
    pub thermostat: Thermostat,
    /// Heat from people, light and machines.
    pub gains: Gains,
    /// Set for a zone whose water is mixed down.
    pub mix: Option<Mix>,
    /// Set for fan coils and unit heaters.
    pub fan: Option<Fan>,
}

impl Zone {
    /// Loss coefficient of the zone, in watts per kelvin of room above outdoors.
    pub fn loss_w_k(&self) -> f64 {
        self.loss_w / (self.loss_indoor_c - self.loss_outdoor_c)
    }
}

/// What moves a zone's water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Drive {
    /// A circulator.
    Pump(PumpId),
    /// A zone valve.
    Valve {
        /// The circulator behind the valve; with none, the zone has flow while any boiler pump runs.
        pump: Option<PumpId>,
        /// Full stroke, in seconds, both ways.
        stroke_s: f64,
        /// True when it has an end switch, made at full opening.
        end_switch: bool,
    },
}

/// A room thermostat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thermostat {
    /// Wanted room temperature while occupied, in degrees Celsius.
    pub set_c: f64,
    /// Wanted room temperature while set back, in degrees Celsius.
    pub setback_c: f64,
    /// Switching differential, in kelvin: calls half of it below the set temperature, satisfied half of it above.
    pub differential_k: f64,
    /// Cycles per hour at half load; 0 switches on the differential alone.
    pub cycles_per_h: f64,
    /// Time constant of its sensing element, in seconds; 0 senses the air at once.
    pub lag_s: f64,
    /// The schedule it follows; `None` means occupied always.
    pub schedule: Option<ScheduleId>,
}

/// Heat gains of a zone.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Gains {
    /// While occupied, in watts.
    pub occupied_w: f64,
    /// While set back, in watts.
    pub setback_w: f64,
    /// The schedule it follows; `None` means occupied always.
    pub schedule: Option<ScheduleId>,
}

/// How a zone's water is mixed down with its own return.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mix {
    /// A thermostatic valve.
    SelfActing {
        /// Mixed temperature at half opening, in degrees Celsius.
        set_c: f64,
        /// Change of mixed temperature over the full stroke, in kelvin.
        band_k: f64,
        /// Time constant of its element, in seconds.
        lag_s: f64,
    },
    /// A motorised valve placed by the zone's 0-10 V output: 0 all return, 10 V all supply.
    Modulated {
        /// Full stroke, in seconds.
        stroke_s: f64,
        /// Mixed temperature that its controller asks for in the coldest weather, in degrees Celsius: what studies of steady states
        /// take, since they have no controller.
        max_c: f64,
    },
}

/// A fan that carries the emitter's heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fan {
    /// The aquastat on the supply pipe lets the fan run at this water temperature, in degrees Celsius; `None` for a fan
    /// that runs with the thermostat's call, as cases of standards have it: no wiring plan makes such a one.
    pub aquastat_c: Option<f64>,
    /// The aquastat opens again this far below, in kelvin.
    pub differential_k: f64,
    /// Share of the rated heat given off while the fan stands, 0 to 1.
    pub still_share: f64,
    /// Electrical power, in watts: it ends up in the room.
    pub power_w: f64,
}

/// One circulator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pump {
    /// What it is for.
    pub role: PumpRole,
    /// Electrical power while it runs, in watts. It is metered; none of it is counted as heat in the water.
    pub power_w: f64,
}

/// One boiler.
#[derive(Clone, Debug, PartialEq)]
pub struct Boiler {
    /// Full fuel input, in watts, by higher heating value.
    pub input_w: f64,
    /// Smallest firing rate as a share of full; 1 for an on/off burner.
    pub minimum_share: f64,
    /// How the controller drives it.
    pub drive: BoilerDrive,
    /// Who switches its pump.
    pub pump: BoilerPump,
    /// Flow through it while its pump runs, in kilograms per second. Boilers without a pump share the zones' flow in
    /// proportion to this.
    pub flow_kg_s: f64,
    /// Flow below which its flow switch is open, in kilograms per second.
    pub flow_min_kg_s: f64,
    /// Coldest water that may come back to it in steady running, in degrees Celsius; `None` where its maker sets no limit.
    pub return_min_c: Option<f64>,
    /// Setting of the self-acting valve that mixes its own outlet water into its return, in degrees Celsius; `None` without one.
    pub return_valve_c: Option<f64>,
    /// Water content, in litres.
    pub water_l: f64,
    /// Heat capacity of its metal, in joules per kelvin.
    pub metal_j_k: f64,
    /// Burner timings.
    pub burner: Burner,
    /// Combustion efficiency.
    pub efficiency: Efficiency,
    /// Loss of jacket and standing flue at all times, in watts per kelvin of water above the boiler room.
    pub jacket_w_k: f64,
    /// Its own temperature control.
    pub control: BoilerControl,
}

/// Timings of a burner control.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Burner {
    /// Fan before ignition, in seconds.
    pub pre_purge_s: f64,
    /// Ignition trial: the flame appears at its end, in seconds.
    pub ignition_s: f64,
    /// Trials before lockout, at least 1.
    pub trials: u8,
    /// From flame to the flame contact, in seconds.
    pub flame_proof_s: f64,
    /// Fan after the flame, in seconds: no new start before it is over.
    pub post_purge_s: f64,
    /// Time constant of the firing rate, in seconds; 0 follows at once.
    pub modulation_lag_s: f64,
}

/// The temperature control that a boiler brings along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoilerControl {
    /// Target that it holds when nobody tells it one, in degrees Celsius.
    pub fixed_target_c: f64,
    /// The burner starts this far below the target, in kelvin.
    pub on_below_k: f64,
    /// The burner stops this far above the target, in kelvin.
    pub off_above_k: f64,
    /// Proportional band of its modulation, in kelvin.
    pub band_k: f64,
    /// Integral time of its modulation, in seconds.
    pub integral_s: f64,
    /// Its own high limit, in degrees Celsius: the burner stops, and comes back `limit_reset_k` below.
    pub limit_c: f64,
    /// Differential of its own high limit, in kelvin.
    pub limit_reset_k: f64,
    /// Its own frost protection fires without any demand below this water temperature, in degrees Celsius, up to 10 K
    /// above it; `None` for a boiler that has none.
    pub frost_c: Option<f64>,
}

/// How much of the fuel's heat reaches the water.
#[derive(Clone, Debug, PartialEq)]
pub enum Efficiency {
    /// Computed from the combustion of methane: the flue gas leaves a little above the return water.
    Combustion {
        /// Excess air as a share, 0.2 for 20 %.
        excess_air: f64,
        /// Flue gas above return water at minimum fire, in kelvin.
        approach_low_k: f64,
        /// Flue gas above return water at full fire, in kelvin.
        approach_full_k: f64,
    },
    /// Typed points; linear between them and level past the ends.
    Points(Vec<EfficiencyPoint>),
}

impl Efficiency {
    /// True for a boiler that is built to condense. Flue gas that leaves more than 30 K above the water belongs to one that must
    /// not (our choice); typed points say nothing about condensate.
    pub fn can_condense(&self) -> bool {
        match self {
            Efficiency::Combustion { approach_full_k, .. } => *approach_full_k <= 30.0,
            Efficiency::Points(_) => false,
        }
    }
}

/// One typed point of an efficiency curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EfficiencyPoint {
    /// Return water, in degrees Celsius.
    pub return_c: f64,
    /// Firing rate, as a share of full input.
    pub rate: f64,
    /// Heat to the water by higher heating value, as a share, 0 to 1.
    pub efficiency: f64,
}

/// What joins boilers (primary) and zones (secondary).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Header {
    /// Water in the low-loss header, or between the closely spaced tees, in litres.
    pub water_l: f64,
    /// Water in the secondary supply pipes, in litres.
    pub secondary_supply_l: f64,
    /// Water in the secondary return pipes, in litres.
    pub secondary_return_l: f64,
    /// Water in the primary supply pipes, in litres.
    pub primary_supply_l: f64,
    /// Water in the primary return pipes, in litres.
    pub primary_return_l: f64,
    /// Heat loss of the secondary pipes to the boiler room, in watts per kelvin, half on each.
    pub loss_w_k: f64,
    /// False when idle boilers have no check valve: a running neighbour then drives a tenth of their flow backwards.
    pub check_valves: bool,
}

/// An indirect domestic-hot-water tank.
#[derive(Clone, Debug, PartialEq)]
pub struct Tank {
    /// Water content, in litres.
    pub volume_l: f64,
    /// Standing loss, in watts per kelvin of water above the boiler room.
    pub loss_w_k: f64,
    /// Conductance of the coil or plate exchanger, in watts per kelvin.
    pub coil_w_k: f64,
    /// Heating-water flow through the coil, in kilograms per second.
    pub flow_kg_s: f64,
    /// The pump that charges it.
    pub pump: PumpId,
    /// The aquastat is satisfied at this temperature, in degrees Celsius.
    pub set_c: f64,
    /// The aquastat calls this far below, in kelvin.
    pub differential_k: f64,
    /// Water drawn at the taps.
    pub draw: Draw,
}

/// One time of the day at which water is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drawn {
    /// When it begins, in seconds after midnight.
    pub at_s: f64,
    /// How long it lasts, in seconds, past midnight too.
    pub lasts_s: f64,
    /// Flow at the tap at the temperature of use, in litres per second.
    pub flow_l_s: f64,
}

/// Water drawn at the taps, the same every day.
#[derive(Clone, Debug, PartialEq)]
pub struct Draw {
    /// What is drawn, to the minute: a part of a minute counts as less flow through the whole of it.
    pub times: Vec<Drawn>,
    /// Temperature of use, in degrees Celsius: hot and cold are mixed to it while the tank can.
    pub use_c: f64,
    /// Cold-water temperature, in degrees Celsius.
    pub cold_c: f64,
}

/// A motorised combustion-air damper, spring-closed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Damper {
    /// Full stroke, in seconds.
    pub stroke_s: f64,
}

/// One safety device.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Safety {
    /// What it is.
    pub kind: SafetyKind,
    /// Where in the wiring it acts.
    pub circuit: SafetyCircuit,
    /// Whom it stops.
    pub scope: SafetyScope,
    /// How it comes back.
    pub reset: Reset,
    /// What physical thing opens it.
    pub trip: Trip,
}

/// What opens a safety.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Trip {
    /// Nothing in the model: it opens by an injected fault only (door switch, gas pressure, low water).
    Event,
    /// Water in a boiler above `open_c`; it may close again below `close_c`. Degrees Celsius.
    BoilerAbove {
        /// Which boiler.
        boiler: BoilerId,
        /// Opens above this.
        open_c: f64,
        /// May close below this.
        close_c: f64,
    },
    /// Flow through a boiler below its minimum.
    BoilerFlow(BoilerId),
    /// The damper not fully open.
    DamperClosed,
    /// Mixed supply of a zone above `open_c`. Degrees Celsius.
    ZoneSupplyAbove {
        /// Which zone.
        zone: ZoneId,
        /// Opens above this.
        open_c: f64,
        /// May close below this.
        close_c: f64,
    },
    /// Tank water above `open_c`. Degrees Celsius.
    TankAbove {
        /// Opens above this.
        open_c: f64,
        /// May close below this.
        close_c: f64,
    },
}

/// One temperature sensor of the controller.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensor {
    /// Time constant, in seconds; 0 follows at once.
    pub lag_s: f64,
    /// Standard deviation of its noise, in kelvin.
    pub noise_k: f64,
    /// Constant error, in kelvin.
    pub offset_k: f64,
    /// Step of the reading, in kelvin; at least the 0.01 K of the core's `Temp`.
    pub quantum_k: f64,
}

impl Default for Sensor {
    /// A thermistor in a well: 20 s, no noise, no error, steps of 0.05 K. Our choice.
    fn default() -> Self {
        Self { lag_s: 20.0, noise_k: 0.0, offset_k: 0.0, quantum_k: 0.05 }
    }
}

impl Plant {
    /// The pump that belongs to a boiler, whoever switches it.
    pub fn boiler_pump(&self, b: BoilerId) -> Option<PumpId> {
        match self.boilers.get(b.index())?.pump {
            BoilerPump::None => None,
            BoilerPump::Controller(p) | BoilerPump::Boiler(p) | BoilerPump::Either(p) => Some(p),
        }
    }

    /// The pump that moves a zone's water.
    pub fn zone_pump(&self, z: ZoneId) -> Option<PumpId> {
        match self.zones.get(z.index())?.drive {
            Drive::Pump(p) => Some(p),
            Drive::Valve { pump, .. } => pump,
        }
    }

    /// What a zone's thermostat asks for at a wall-clock time, in degrees Celsius.
    pub fn asked_c(&self, zone: usize, civil: CivilMinute) -> f64 {
        let t = &self.zones[zone].thermostat;
        match t.schedule.and_then(|s| self.schedules.get(s.index())).map(|s| s.level(Some(civil))) {
            Some(Level::Setback) => t.setback_c,
            Some(Level::Occupied) | None => t.set_c,
        }
    }

    /// True when this safety stands in the limit or proving pair of this boiler.
    pub fn safety_stops(&self, s: SafetyId, b: BoilerId, circuit: SafetyCircuit) -> bool {
        self.safeties.get(s.index()).is_some_and(|c| {
            c.circuit == circuit && (c.scope == SafetyScope::Plant || c.scope == SafetyScope::Boiler(b))
        })
    }

    /// The place where a sensor of this use sits, if the plant has it.
    pub fn has_sensor_place(&self, what: SensorUse) -> bool {
        match what {
            SensorUse::Spare | SensorUse::Outdoor | SensorUse::Supply | SensorUse::Return => true,
            SensorUse::BoilerOutlet(b) => b.index() < self.boilers.len(),
            SensorUse::Tank => self.tank.is_some(),
            SensorUse::Mixed(z) => z.index() < self.zones.len(),
        }
    }
}
