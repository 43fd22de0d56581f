//! The plant as it is meant: every reference resolved to a core id, every quantity in one unit, every default applied.
//!
//! The three back ends read this and nothing else of the file. A list's place is its id: `zones[i]` is `ZoneId(i)`,
//! `boilers[i]` is `BoilerId(i)`, and so for pumps, safeties, sensors and schedules. What the file left out and a default
//! filled in stands in [`Plant::assumptions`], so that it can be said aloud.
//!
//! It decides nothing about physics, control or code rules: a plant that is legal here may still be a bad plant.

macro_rules! plain {
    ($($(#[$meta:meta])* pub $kind:ident $name:ident $body:tt)*) => {$(
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq, Serialize)]
        #[serde(rename_all = "kebab-case")]
        pub $kind $name $body
    )*};
}

mod boilers;
mod building;
mod panel;
mod pumps;
mod safeties;
mod settings;
mod tank;
mod zones;

pub use boilers::{
    Boiler, BoilerElectrical, BoilerMarks, Burner, CondensatePump, Drive, Efficiency, EfficiencyPoint, Firing, InputAt,
};
pub use building::{
    BoilerMains, Code, Fluid, Glycol, Header, HeaderKind, Pipe, PowerService, PowerTransformer, Service, Site,
    StarterPanel, WaterSide,
};
pub use panel::{Alarm, Automation, Control, Panel, Raceway, Shown};
pub use pumps::{Motor, Pump};
pub use safeties::{Element, Rest, Safety, Sensor};
pub use settings::{
    Fallback, GuardSettings, PurgeSettings, ResetPoint, ResetSettings, RotationSettings, StagingSettings,
};
pub use tank::{Damper, Draw, Tank};
pub use zones::{Emitter, EmitterPoint, Fans, Floor, Mass, Mixing, Rating, Thermostat, Valve, Zone};

use heatwright_core::{PumpId, Schedule, Subject, ZoneId, config::ZoneDrive};
use serde::Serialize;

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
        /// Pressures, expansion tank, boiler mains.
        pub water: WaterSide,
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
        /// Enclosure of contactors and starters.
        pub starter_panel: Option<StarterPanel>,
        /// Alarm beacon or horn.
        pub alarm: Option<Alarm>,
        /// Contacts handed to a building-automation system.
        pub automation: Vec<Automation>,
        /// What the file left out and what was taken instead.
        pub assumptions: Vec<Assumption>,
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
    pub fn zones_of(&self, pump: PumpId) -> impl Iterator<Item = ZoneId> + '_ {
        self.zones.iter().enumerate().filter_map(move |(i, z)| {
            let its = match z.drive {
                ZoneDrive::Pump(p) => Some(p),
                ZoneDrive::Valve { pump } => pump,
            };
            (its == Some(pump)).then_some(ZoneId(i as u8))
        })
    }
}
