//! The checked plant: control settings: reset, staging, rotation, purge, guard, fallback.

use crate::plant::quantity::{DegreeTime, Share, Temp, TempDelta, Time};
use heatwright_core::{
    ScheduleId, ZoneId,
    config::{Modulation, OffOrder, PlantEnable, PurgeTo, RotationPolicy, StageBy},
};
use serde::Serialize;

plain! {
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
        /// How far long calls raise the target, and silence lowers it; zero: not at all.
        pub demand_trim_max: TempDelta,
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
        /// How boilers in rate drive share the load.
        pub modulation: Modulation,
        /// What adds and drops boilers after the first.
        pub stage_by: StageBy,
        /// A flame shorter than this that ends satisfied is a short one; zero: no low-load mode.
        pub low_load_run: Time,
        /// Band of the lone boiler at low load.
        pub low_load_band: TempDelta,
        /// When the plant as a whole may heat.
        pub enable: PlantEnable,
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
        /// The zone that takes it when that cannot.
        pub otherwise: Option<ZoneId>,
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
        /// A boiler cut by its own hot water so often raises the alarm; zero: no check.
        pub hot_cuts: u8,
        /// Within this time.
        pub hot_cuts_within: Time,
    }

    /// What the plant does while the controller is dead.
    #[derive(Copy, Eq)]
    pub enum Fallback {
        /// Nothing: no heat until the controller is back.
        None,
        /// Boilers at their own fixed target, pumps from the thermostats, all limits in force.
        FixedTarget,
        /// The same, wired: relays of every call take over while the health relay is dropped.
        ZoneRelays,
    }
}
