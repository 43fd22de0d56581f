//! What the controller is told once: validated, immutable, without names.
//!
//! Every number here is one that a technician would set or read on a commissioning sheet. What a point serves stands in
//! [`Points`] only; a part that needs a contact or a relay finds it there, by use.

pub mod check;

use crate::{
    ids::{BoilerId, PumpId, SafetyId, ScheduleId, SensorId, ZoneId},
    limits::{BOILERS, CURVE_POINTS, PUMPS, SAFETIES, SCHEDULES, ZONES},
    points::Points,
    schedule::Schedule,
    units::{Permille, Span, Temp, TempDelta},
};
use heapless::Vec;

macro_rules! record {
    ($($(#[$meta:meta])* pub $kind:ident $name:ident $body:tt)*) => {$(
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq, Eq)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
        #[cfg_attr(feature = "defmt", derive(defmt::Format))]
        pub $kind $name $body
    )*};
}

mod fault;
mod opens;
mod staging;

pub use opens::{Opens, opens};
pub use staging::{LoadRules, LowLoadConfig, Modulation, StageBy, StagingConfig, UpAgainst};

record! {
    /// The whole configuration.
    pub struct Config {
        /// Which point serves what.
        pub points: Points,
        /// Outdoor reset.
        pub reset: ResetConfig,
        /// Zones, by `ZoneId`.
        pub zones: Vec<ZoneConfig, ZONES>,
        /// Circulators, by `PumpId`.
        pub pumps: Vec<PumpConfig, PUMPS>,
        /// No circulator is started within this time of the last one; zero lets all start at once.
        pub pump_stagger: Span,
        /// Boilers, by `BoilerId`.
        pub boilers: Vec<BoilerConfig, BOILERS>,
        /// Safety devices, by `SafetyId`.
        pub safeties: Vec<SafetyConfig, SAFETIES>,
        /// When boilers are added and dropped.
        pub staging: StagingConfig,
        /// Which boiler leads.
        pub rotation: RotationConfig,
        /// Where heat goes that is left in a boiler.
        pub purge: PurgeConfig,
        /// Domestic hot water, if the plant makes any.
        pub tank: Option<TankConfig>,
        /// What happens on faults and frost.
        pub guard: GuardConfig,
        /// Weekly schedules, by `ScheduleId`.
        pub schedules: Vec<Schedule, SCHEDULES>,
        /// How many calls the plant runs for.
        pub enable: PlantEnable,
    }

    /// When the plant as a whole may heat.
    #[derive(Copy)]
    pub enum PlantEnable {
        /// On any call.
        AnyCall,
        /// By the number of calls that stand.
        Requests(EnableRules),
    }

    /// Starting and stopping the plant by the number of calls.
    #[derive(Copy)]
    pub struct EnableRules {
        /// So many calls of zones are ignored: the plant starts on more.
        pub ignored: u8,
        /// Shortest stop of the plant.
        pub off_min: Span,
        /// Shortest run of the plant.
        pub on_min: Span,
        /// It stops once no more than `ignored` calls have stood for this long.
        pub few_for: Span,
    }

    /// One point of the outdoor-reset curve.
    #[derive(Copy)]
    pub struct CurvePoint {
        /// Outdoor temperature.
        pub outdoor: Temp,
        /// Supply temperature wanted at that outdoor temperature.
        pub supply: Temp,
    }

    /// Outdoor reset: supply target against outdoor temperature, piecewise linear, flat past both ends.
    pub struct ResetConfig {
        /// Points in strictly rising order of outdoor temperature, falling or level in supply; two to eight.
        pub points: Vec<CurvePoint, CURVE_POINTS>,
        /// The target is never below this while there is a call.
        pub supply_min: Temp,
        /// The target is never above this.
        pub supply_max: Temp,
        /// Time constant of the outdoor-temperature filter; zero means no filter.
        pub outdoor_filter: Span,
        /// Heating calls are ignored while the filtered outdoor temperature is at or above this.
        pub warm_weather_off: Temp,
        /// Heating comes back this far below `warm_weather_off`.
        pub warm_weather_differential: TempDelta,
        /// The target is lowered by this while the schedule says setback.
        pub setback: TempDelta,
        /// The target is raised by this for `boost_for` after setback ends.
        pub boost: TempDelta,
        /// How long the boost lasts; zero means none.
        pub boost_for: Span,
        /// The schedule that the setback follows; `None` means occupied always.
        pub schedule: Option<ScheduleId>,
        /// Outdoor temperature to assume while the sensor is in fault: the design day is the safe choice.
        pub outdoor_fallback: Temp,
        /// How far the header's error may raise the boiler target above the supply target.
        pub header_trim_max: TempDelta,
        /// How far the target may drift down while no zone calls for long, and up while one never stops calling;
        /// zero means the target follows the weather alone.
        pub demand_trim_max: TempDelta,
    }

    /// When a zone's water moves.
    #[derive(Copy)]
    pub enum Circulation {
        /// On a call.
        OnCall,
        /// All through the heating season; the call only asks for heat.
        Constant,
    }

    /// How a zone takes its water.
    #[derive(Copy)]
    pub enum ZoneDrive {
        /// A circulator of its own, or one shared with other zones.
        Pump(PumpId),
        /// A zone valve; the pump behind it, if any, starts on the valve's end switch when there is one.
        Valve {
            /// The pump behind the valve.
            pump: Option<PumpId>,
        },
    }

    /// A zone whose water is mixed down, with the highest mixed temperature.
    #[derive(Copy)]
    pub struct MixConfig {
        /// Highest mixed supply temperature.
        pub mixed_max: Temp,
        /// Mixed supply target at the coldest point of the curve; it falls with the header's curve from there.
        pub mixed_design: Temp,
        /// The room about which it falls.
        pub room: Temp,
        /// Proportional band of the valve.
        pub band: TempDelta,
        /// Integral time of the valve.
        pub integral: Span,
        /// Full stroke of the valve.
        pub stroke: Span,
    }

    /// One zone.
    pub struct ZoneConfig {
        /// How it takes its water.
        pub drive: ZoneDrive,
        /// When its water moves.
        pub circulation: Circulation,
        /// A change of the call counts once it has lasted this long.
        pub debounce: Span,
        /// A call, once counted, holds at least this long.
        pub call_min: Span,
        /// The zone keeps its flow this long after its call ends.
        pub overrun: Span,
        /// False for a zone that hot-water priority may not shed.
        pub sheddable: bool,
        /// Set for a zone whose water is mixed down.
        pub mix: Option<MixConfig>,
        /// Heat that its design flow carries for each kelvin, in watts; zero where nobody knows it.
        pub flow_w_per_k: u32,
    }

    /// What a circulator is for.
    #[derive(Copy)]
    pub enum PumpRole {
        /// One or more zones.
        Zone,
        /// One boiler.
        Boiler(BoilerId),
        /// The domestic-hot-water tank.
        Tank,
    }

    /// One circulator.
    pub struct PumpConfig {
        /// What it is for.
        pub role: PumpRole,
        /// Shortest run.
        pub on_min: Span,
        /// Shortest stop.
        pub off_min: Span,
        /// Run at least once in this time, against seizing; zero means never.
        pub exercise_every: Span,
        /// Length of an exercise run.
        pub exercise_for: Span,
    }

    /// How a burner fires.
    #[derive(Copy)]
    pub enum Firing {
        /// Full fire or none.
        OnOff,
        /// Between a minimum and full fire.
        Modulating {
            /// Smallest firing rate.
            minimum: Permille,
        },
    }

    /// How we tell a boiler what to do beside its demand contact.
    #[derive(Copy)]
    pub enum BoilerDrive {
        /// Demand contact only: the boiler holds its own fixed target.
        DemandOnly,
        /// 0-10 V sets the boiler's target temperature; it modulates by itself.
        Target {
            /// Temperature at 0 V.
            low: Temp,
            /// Temperature at 10 V.
            high: Temp,
        },
        /// 0-10 V sets the firing rate.
        Rate,
    }

    /// Who switches the boiler's pump.
    #[derive(Copy)]
    pub enum BoilerPump {
        /// No pump of its own: the system's flow passes through it.
        None,
        /// The controller.
        Controller(PumpId),
        /// The boiler itself.
        Boiler(PumpId),
        /// Whoever asks.
        Either(PumpId),
    }

    /// One boiler.
    pub struct BoilerConfig {
        /// How it fires.
        pub firing: Firing,
        /// How it is driven.
        pub drive: BoilerDrive,
        /// Who switches its pump.
        pub pump: BoilerPump,
        /// Full input, in watts: for shares of load, not for heat balance.
        pub input_w: u32,
        /// Shortest time between a demand and its ordinary end.
        pub on_min: Span,
        /// Shortest time between the end of a demand and the next.
        pub off_min: Span,
        /// Flow must be proved this soon after the pump is asked for.
        pub flow_proof_max: Span,
        /// Flame must be proved this soon after the demand: pre-purge and all ignition trials of the burner control.
        pub flame_proof_max: Span,
        /// The burner's own post-purge: no new demand before it is over.
        pub post_purge: Span,
        /// The boiler pump runs on this long after the flame.
        pub pump_overrun: Span,
        /// One more request this long after a failed start; a second failure latches the boiler out.
        pub retry_after: Span,
        /// Highest target this boiler is ever given, and where its demand is dropped when its outlet reads above it.
        pub outlet_max: Temp,
        /// Target that the boiler holds by itself when nobody tells it one.
        pub fixed_target: Temp,
    }

    /// Where in the wiring a safety acts.
    #[derive(Copy)]
    pub enum SafetyCircuit {
        /// Opens the limit pair of the boilers in its scope: burner power off.
        Limit,
        /// Must close in the proving pair after the call.
        Proving,
        /// Opens the circuit of a zone's pump, or of its valve where it has one.
        ZoneLimit,
        /// Opens the tank pump's circuit.
        TankLimit,
        /// Alarm only.
        Alarm,
    }

    /// Whom a safety stops.
    #[derive(Copy)]
    pub enum SafetyScope {
        /// All boilers.
        Plant,
        /// One boiler.
        Boiler(BoilerId),
        /// One zone.
        Zone(ZoneId),
        /// The tank.
        Tank,
    }

    /// What kind of safety it is.
    #[derive(Copy)]
    pub enum SafetyKind {
        /// Emergency door switch.
        DoorSwitch,
        /// Low-water fuel cutoff.
        LowWater,
        /// Operating high limit, automatic reset.
        HighLimit,
        /// Upper high limit, hand reset.
        HighLimitManual,
        /// Low gas pressure.
        GasLow,
        /// High gas pressure.
        GasHigh,
        /// Condensate drain blocked.
        Condensate,
        /// Flow through a boiler.
        FlowSwitch,
        /// Combustion-air damper proved open.
        DamperSwitch,
        /// Surface or supply limit of a low-temperature zone.
        FloorLimit,
        /// Limit of the hot-water tank.
        TankLimit,
        /// Water pressure low.
        PressureLow,
        /// Carbon monoxide or fuel gas detected.
        GasDetector,
    }

    /// How a safety comes back.
    #[derive(Copy)]
    pub enum Reset {
        /// By itself.
        Automatic,
        /// By hand, at the device.
        Manual,
    }

    /// One safety device.
    pub struct SafetyConfig {
        /// What it is.
        pub kind: SafetyKind,
        /// Whom it stops.
        pub scope: SafetyScope,
        /// Where it acts.
        pub circuit: SafetyCircuit,
        /// How it comes back.
        pub reset: Reset,
    }

    /// Who leads.
    #[derive(Copy)]
    pub enum RotationPolicy {
        /// Always in the order of the file.
        Fixed,
        /// The lead passes to the boiler with the fewest hours once it has run this many more than that one.
        HoursDifference(u16),
        /// The lead passes to the boiler with the fewest starts once it has started this many times more than that one.
        StartsDifference(u16),
        /// The lead passes on every so many hours of wall-clock time, at a minute of the day.
        Calendar {
            /// Hours between changes; a multiple of 24.
            every_h: u16,
            /// Minute of the day of the change.
            minute_of_day: u16,
        },
    }

    /// Which boiler stops first.
    #[derive(Copy)]
    pub enum OffOrder {
        /// The one that started first: even hours.
        FirstOnFirstOff,
        /// The one that started last: fewest lead changes under fire.
        FirstOnLastOff,
    }

    /// Lead and order.
    pub struct RotationConfig {
        /// Who leads.
        pub policy: RotationPolicy,
        /// Who stops first.
        pub off_order: OffOrder,
    }

    /// Where heat goes that is left in a boiler after its last call.
    #[derive(Copy)]
    pub enum PurgeTo {
        /// Nowhere: the boiler pump's overrun alone.
        None,
        /// The tank, below its limit.
        Tank,
        /// A zone that takes it.
        Zone(ZoneId),
    }

    /// Heat purge.
    pub struct PurgeConfig {
        /// First choice.
        pub to: PurgeTo,
        /// The zone that takes the heat when the first choice cannot; neither OFF nor low-temperature.
        pub otherwise: Option<ZoneId>,
        /// The purge ends after this time.
        pub time_max: Span,
        /// The purge ends when the supply is down to this.
        pub until: Temp,
    }

    /// The domestic-hot-water tank.
    pub struct TankConfig {
        /// The pump that charges it.
        pub pump: PumpId,
        /// Supply target of a tank call.
        pub target: Temp,
        /// A change of the call counts once it has lasted this long.
        pub debounce: Span,
        /// Tank temperature at which no purge heat is put into it any more.
        pub purge_max: Temp,
        /// Zones are shed while the tank calls, at most this long; zero means no priority.
        pub priority_max: Span,
        /// Priority is not given below this outdoor temperature.
        pub priority_above: Temp,
        /// The pump runs on this long after the call.
        pub overrun: Span,
        /// Heat that its flow carries for each kelvin, in watts; zero where nobody knows it.
        pub flow_w_per_k: u32,
    }

    /// Faults and frost.
    pub struct GuardConfig {
        /// Outdoor temperature below which the water of every zone moves from time to time.
        pub frost_outdoor: Temp,
        /// Supply or return water temperature below which the plant heats whatever the calls say.
        pub frost_water: Temp,
        /// A sensor whose driver acted must move within this time; zero switches the check off.
        pub frozen_after: Span,
        /// The damper must be proved open this soon after it is asked to open.
        pub damper_proof_max: Span,
        /// One more request this long after the damper failed to prove open; a second failure latches.
        pub damper_retry_after: Span,
        /// True when low water stops the pumps too.
        pub low_water_stops_pumps: bool,
        /// A zone valve's end switch must follow its relay within this time, both ways; zero switches the check off.
        pub valve_travel_max: Span,
        /// A boiler that is cut by its own hot water so often within `hot_cuts_within` raises the alarm; one to
        /// [`HOT_CUTS_MAX`](crate::guard::hot::HOT_CUTS_MAX), zero switches the check off.
        pub hot_cuts: u8,
        /// See `hot_cuts`.
        pub hot_cuts_within: Span,
    }
}

impl EnableRules {
    /// ASHRAE Guideline 36-2021, 5.21.2.2 and 5.21.2.3, checked against a public text: 15 min, 15 min, 3 min, none ignored.
    pub const GUIDELINE_36: Self =
        Self { ignored: 0, off_min: Span::from_min(15), on_min: Span::from_min(15), few_for: Span::from_min(3) };
}

impl Config {
    /// The pump that belongs to a boiler, whoever switches it.
    pub fn boiler_pump(&self, b: BoilerId) -> Option<PumpId> {
        match self.boilers.get(b.index())?.pump {
            BoilerPump::None => None,
            BoilerPump::Controller(p) | BoilerPump::Boiler(p) | BoilerPump::Either(p) => Some(p),
        }
    }

    /// The sensor that measures the header's supply.
    pub fn supply_sensor(&self) -> Option<SensorId> {
        self.points.sensor(crate::points::SensorUse::Supply)
    }

    /// True when this safety acts on this boiler's burner.
    pub fn stops(&self, s: SafetyId, b: BoilerId) -> bool {
        self.safeties.get(s.index()).is_some_and(|c| {
            matches!(c.circuit, SafetyCircuit::Limit | SafetyCircuit::Proving)
                && (c.scope == SafetyScope::Plant || c.scope == SafetyScope::Boiler(b))
        })
    }
}
