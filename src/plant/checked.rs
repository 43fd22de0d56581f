//! The plant as it is meant: every reference resolved to a core id, every quantity in one unit, every default applied.
//!
//! The three back ends read this and nothing else of the file. A list's place is its id: `zones[i]` is `ZoneId(i)`,
//! `boilers[i]` is `BoilerId(i)`, and so for pumps, safeties, sensors and schedules. What the file left out and a default
//! filled in stands in [`Plant::assumptions`], so that it can be said aloud.
//!
//! It decides nothing about physics, control or code rules: a plant that is legal here may still be a bad plant.

use super::quantity::{
    Amps, Area, DegreeTime, Flow, HorsePower, Length, Power, Share, Temp, TempDelta, ThermalResistance, Time, Va,
    Volts, Volume, Watts,
};
use heatwright_core::{
    RelayId, SafetyId, Schedule, ScheduleId, SensorUse, Subject, ZoneId,
    config::{
        BoilerPump, Circulation, OffOrder, PumpRole, PurgeTo, Reset, RotationPolicy, SafetyCircuit, SafetyKind,
        SafetyScope, ZoneDrive,
    },
};
use serde::Serialize;

macro_rules! plain {
    ($($(#[$meta:meta])* pub $kind:ident $name:ident $body:tt)*) => {$(
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq, Serialize)]
        #[serde(rename_all = "kebab-case")]
        pub $kind $name $body
    )*};
}

plain! {
    /// A whole plant.
    pub struct Plant {
        /// The building.
        pub site: Site,
        /// Where the power comes from.
        pub power: PowerService,
        /// Which code edition and which local rules hold.
        pub code: Code,
        /// What is in the pipes.
        pub fluid: Fluid,
        /// Where boiler water and zone water meet.
        pub header: Header,
        /// Boilers, by `BoilerId`.
        pub boilers: Vec<Boiler>,
        /// Zones, by `ZoneId`.
        pub zones: Vec<Zone>,
        /// Circulators, by `PumpId`.
        pub pumps: Vec<Pump>,
        /// Domestic hot water.
        pub tank: Option<Tank>,
        /// Safety devices, by `SafetyId`.
        pub safeties: Vec<Safety>,
        /// Temperature sensors, by `SensorId`.
        pub sensors: Vec<Sensor>,
        /// Combustion-air damper.
        pub damper: Option<Damper>,
        /// Weekly schedules, by `ScheduleId`.
        pub schedules: Vec<Schedule>,
        /// Outdoor reset.
        pub reset: ResetSettings,
        /// When boilers are added and dropped.
        pub staging: StagingSettings,
        /// Who leads and who stops first.
        pub rotation: RotationSettings,
        /// Where heat goes that is left in a boiler.
        pub purge: PurgeSettings,
        /// Faults and frost.
        pub guard: GuardSettings,
        /// What the plant does while the controller is dead.
        pub fallback: Fallback,
        /// Control panel, enclosures, raceways, smallest sizes, spare points.
        pub panel: Panel,
        /// Contacts handed to a building-automation system.
        pub automation: Vec<Automation>,
        /// What the file left out and what was taken instead.
        pub assumptions: Vec<Assumption>,
    }

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

    /// How a burner fires.
    #[derive(Copy)]
    pub enum Firing {
        /// Full fire or none.
        OnOff,
        /// Between a minimum and full fire.
        Modulating {
            /// Smallest firing rate, as a share of full input.
            minimum: Share,
        },
    }

    /// Where a boiler's efficiency comes from.
    pub enum Efficiency {
        /// The standard curve of a condensing boiler.
        Condensing,
        /// The standard curve of a boiler that must not condense.
        NonCondensing,
        /// Points typed in the file, in rising order of return temperature.
        Points(Vec<EfficiencyPoint>),
    }

    /// One typed point of an efficiency curve.
    #[derive(Copy)]
    pub struct EfficiencyPoint {
        /// Return water temperature.
        pub return_water: Temp,
        /// Efficiency on the higher heating value.
        pub efficiency: Share,
    }

    /// How we tell a boiler what to do beside its demand contact.
    #[derive(Copy)]
    pub enum Drive {
        /// Demand contact only.
        DemandOnly,
        /// 0-10 V sets the target temperature.
        Target {
            /// Temperature at 0 V.
            low: Temp,
            /// Temperature at 10 V.
            high: Temp,
        },
        /// 0-10 V sets the firing rate.
        Rate,
    }

    /// The burner control's own times.
    #[derive(Copy)]
    pub struct Burner {
        /// Fan before the first spark.
        pub pre_purge: Time,
        /// One trial for ignition.
        pub ignition: Time,
        /// Trials before it locks out.
        pub trials: u8,
        /// Fan between trials.
        pub inter_purge: Time,
        /// From spark to proved flame when all is well.
        pub proof: Time,
        /// Fan after the flame.
        pub post_purge: Time,
        /// Time from smallest to full fire.
        pub modulation: Time,
    }

    /// Electrical data of a boiler.
    pub struct BoilerElectrical {
        /// Line voltage.
        pub volts: Volts,
        /// Line phases.
        pub phases: u8,
        /// Line amps of the boiler itself, without pumps.
        pub amps: Amps,
        /// Voltage that the boiler puts on its own control terminals.
        pub control_volts: Volts,
        /// True when one side of that control supply is grounded inside the boiler.
        pub control_grounded: bool,
        /// Current that the boiler's control terminals put through a closed contact.
        pub control_amps: Amps,
        /// Largest current of the boiler's own pump contact; `None` when it has none.
        pub pump_contact: Option<Amps>,
    }

    /// The marks printed on a boiler's terminals, typed by whoever stands in front of it. `None`: not typed.
    #[derive(Default)]
    pub struct BoilerMarks {
        /// Line, neutral, ground, as printed.
        pub line: Option<Vec<String>>,
        /// The two terminals of the limit pair.
        pub limit: Option<[String; 2]>,
        /// The two terminals of the proving pair.
        pub proving: Option<[String; 2]>,
        /// The two terminals of the demand pair.
        pub demand: Option<[String; 2]>,
        /// 0-10 V: plus, minus.
        pub signal: Option<[String; 2]>,
        /// Contact that closes while the burner is lit.
        pub status: Option<[String; 2]>,
        /// Contact that closes in fault.
        pub alarm: Option<[String; 2]>,
        /// Output to its own pump.
        pub pump: Option<[String; 2]>,
    }

    /// One boiler.
    pub struct Boiler {
        /// Name on the drawings.
        pub name: String,
        /// Where it stands.
        pub place: String,
        /// Full input.
        pub input: Power,
        /// How it fires.
        pub firing: Firing,
        /// Where its efficiency comes from.
        pub efficiency: Efficiency,
        /// Water in it.
        pub water: Volume,
        /// Dry mass of its heat exchanger, as the water volume of equal heat capacity.
        pub metal: Volume,
        /// Loss of its jacket at design, as a share of full input.
        pub jacket_loss: Share,
        /// Smallest flow through it.
        pub flow_min: Flow,
        /// Flow with its pump on.
        pub flow: Flow,
        /// The burner control's own times.
        pub burner: Burner,
        /// How it is driven.
        pub drive: Drive,
        /// Its pump and who switches it.
        pub pump: BoilerPump,
        /// Highest target it is ever given.
        pub outlet_max: Temp,
        /// Target that it holds by itself when nobody tells it one.
        pub fixed_target: Temp,
        /// Its own operating limit.
        pub limit: Temp,
        /// Its own frost protection fires below this; `None` when it has none.
        pub own_frost: Option<Temp>,
        /// Lowest return temperature it may see for long; `None` when it may condense.
        pub return_min: Option<Temp>,
        /// Shortest time between a demand and its ordinary end.
        pub on_min: Time,
        /// Shortest time between the end of a demand and the next.
        pub off_min: Time,
        /// Flow must be proved this soon.
        pub flow_proof_max: Time,
        /// Flame must be proved this soon.
        pub flame_proof_max: Time,
        /// Its pump runs on this long.
        pub pump_overrun: Time,
        /// One more request this long after a failed start.
        pub retry_after: Time,
        /// A contact that says the burner is lit is wired back.
        pub status_contact: bool,
        /// A contact that says it is in fault is wired back.
        pub alarm_contact: bool,
        /// Its service switch is read back.
        pub service_switch: bool,
        /// It has a condensate pump on a circuit of its own.
        pub condensate_pump: Option<CondensatePump>,
        /// Electrical data.
        pub electrical: BoilerElectrical,
        /// Marks on its terminals.
        pub marks: BoilerMarks,
        /// Run from the control panel.
        pub run: Length,
        /// The relay of its demand contact, when pinned.
        pub relay: Option<RelayId>,
    }

    /// A condensate pump.
    #[derive(Copy)]
    pub struct CondensatePump {
        /// Voltage.
        pub volts: Volts,
        /// Amps.
        pub amps: Amps,
        /// Run from the distribution panel.
        pub run: Length,
    }

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
        /// True when the motor protects itself against overload.
        pub thermally_protected: bool,
        /// True when the pump is listed as an appliance with its motor inside, rated in amps.
        pub appliance_listed: bool,
        /// Inrush on switching the line, for electronically commutated motors.
        pub inrush: Option<Amps>,
        /// The motor has a start input: the line stays on and a dry contact starts it.
        pub start_input: bool,
        /// Flow with the pump on.
        pub flow: Flow,
        /// Head at that flow.
        pub head: Option<Length>,
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
    }

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
        /// Room or entering-air temperature at the rating.
        pub room: Temp,
        /// Exponent of the output over the excess temperature.
        pub exponent: f64,
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
    #[derive(Copy)]
    pub struct Valve {
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

    /// Fans of a zone, started by the zone and held off by an aquastat until the water is warm.
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
        /// Electrical input of each, for the heat that it adds to the room.
        pub power: Watts,
        /// Closes when the water is at this.
        pub aquastat: Option<Temp>,
        /// Run from the distribution panel to the first.
        pub run: Length,
    }

    /// A zone whose water is mixed down.
    #[derive(Copy)]
    pub struct Mixing {
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
        pub pump: heatwright_core::PumpId,
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

    /// Outdoor reset.
    pub struct ResetSettings {
        /// Points typed in the file, rising in outdoor temperature; `None`: to be computed from the emitters.
        pub points: Option<Vec<ResetPoint>>,
        /// Lowest target.
        pub supply_min: Temp,
        /// Highest target.
        pub supply_max: Temp,
        /// Time constant of the outdoor filter.
        pub outdoor_filter: Time,
        /// No heating at or above this.
        pub warm_weather_off: Temp,
        /// It comes back this far below.
        pub warm_weather_differential: TempDelta,
        /// Target is lowered by this in setback.
        pub setback: TempDelta,
        /// Target is raised by this after setback.
        pub boost: TempDelta,
        /// For this long.
        pub boost_for: Time,
        /// The schedule that the setback follows.
        pub schedule: Option<ScheduleId>,
        /// Outdoor temperature to assume while the sensor is in fault.
        pub outdoor_fallback: Temp,
        /// How far the header's error may raise the boiler target.
        pub header_trim_max: TempDelta,
    }

    /// One typed point of the reset curve.
    #[derive(Copy)]
    pub struct ResetPoint {
        /// Outdoor temperature.
        pub outdoor: Temp,
        /// Supply target.
        pub supply: Temp,
    }

    /// When boilers are added and dropped.
    pub struct StagingSettings {
        /// First boiler starts this far below target, last stops this far above.
        pub band: TempDelta,
        /// Shortfall that brings the next boiler.
        pub up_error: DegreeTime,
        /// Excess that drops one.
        pub down_error: DegreeTime,
        /// Modulating: next boiler while all that run fire above this.
        pub up_rate: Share,
        /// Modulating: one less while the rest could carry the load below this.
        pub down_rate: Share,
        /// For this long.
        pub rate_hold: Time,
        /// No second start within this.
        pub start_spacing: Time,
        /// Proportional band of the supply loop, for rate drive.
        pub band_pi: TempDelta,
        /// Integral time of the supply loop, for rate drive.
        pub integral: Time,
    }

    /// Lead and order.
    pub struct RotationSettings {
        /// Who leads.
        pub policy: RotationPolicy,
        /// Who stops first.
        pub off_order: OffOrder,
    }

    /// Heat purge.
    pub struct PurgeSettings {
        /// Where the heat goes.
        pub to: PurgeTo,
        /// At most this long.
        pub time_max: Time,
        /// Until the supply is down to this.
        pub until: Temp,
    }

    /// Faults and frost.
    pub struct GuardSettings {
        /// The water must move below this outdoor temperature.
        pub frost_outdoor: Temp,
        /// The plant heats below this water temperature.
        pub frost_water: Temp,
        /// A sensor must move within this once its driver acted; zero: no check.
        pub frozen_after: Time,
        /// Low water stops the pumps too.
        pub low_water_stops_pumps: bool,
    }

    /// What the plant does while the controller is dead.
    #[derive(Copy, Eq)]
    pub enum Fallback {
        /// Nothing: no heat until the controller is back.
        None,
        /// Boilers at their own fixed target, pumps from the thermostats, all limits in force.
        FixedTarget,
    }

    /// Control panel and what leads to it.
    pub struct Panel {
        /// Name of the control panel.
        pub name: String,
        /// Where it hangs.
        pub place: String,
        /// Enclosure type of the control panel, as in NEMA 250: "1", "3R", "4", "12".
        pub enclosure: String,
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
        /// Voltage that the other system puts on it.
        pub volts: Volts,
        /// Run from the control panel.
        pub run: Length,
    }

    /// Something the file left out.
    #[derive(Eq)]
    pub struct Assumption {
        /// What it is about.
        pub subject: Subject,
        /// The key that was left out, as it would be written in the file: `boiler.b1.burner.post-purge`.
        pub key: String,
        /// What was taken instead, in both unit systems where there are two.
        pub value: String,
        /// Why that is a fair guess.
        pub reason: &'static str,
    }
}

impl Plant {
    /// The zones that take their water from one pump.
    pub fn zones_of(&self, pump: heatwright_core::PumpId) -> impl Iterator<Item = ZoneId> + '_ {
        self.zones.iter().enumerate().filter_map(move |(i, z)| {
            let its = match z.drive {
                ZoneDrive::Pump(p) => Some(p),
                ZoneDrive::Valve { pump } => pump,
            };
            (its == Some(pump)).then_some(ZoneId(i as u8))
        })
    }
}
