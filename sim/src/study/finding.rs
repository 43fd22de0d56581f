//! What a study found: a code that never changes its meaning, a subject, and facts with their units.
//!
//! The sentence of each issue stands alone and is in SI units; a host that shows other units builds its own from the facts.

use super::{
    curve::{HeldBack, Kept},
    water_side::WaterIssue,
};
use heatwright_core::{BoilerId, Severity, Subject};

/// One thing found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finding {
    /// What it is about.
    pub subject: Subject,
    /// How much it matters.
    pub severity: Severity,
    /// What was found.
    pub issue: Issue,
}

/// What a study can find.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, thiserror::Error)]
#[serde(untagged)]
pub enum Issue {
    /// The curve gives a zone too little.
    #[error(
        "at {outdoor_c:.1} °C outdoors the curve gives {supply_c:.1} °C, {short_k:.1} K less than this zone needs: \
         {short_w:.0} W of {load_w:.0} W are missing"
    )]
    CurveShort {
        /// Outdoor temperature where the most is missing, in degrees Celsius.
        outdoor_c: f64,
        /// Supply temperature there, in degrees Celsius.
        supply_c: f64,
        /// Supply temperature missing, in kelvin.
        short_k: f64,
        /// Heat missing, in watts.
        short_w: f64,
        /// Heat loss of the zone there, in watts.
        load_w: f64,
    },
    /// The curve is hotter than every zone needs, everywhere.
    #[error("the curve is at least {spare_k:.1} K hotter than any zone needs at any outdoor temperature: lower it")]
    CurveGenerous {
        /// Smallest margin over all outdoor temperatures, in kelvin.
        spare_k: f64,
    },
    /// No supply temperature makes up for too little flow.
    #[error(
        "at {outdoor_c:.1} °C outdoors no water that the boilers can make is enough: {load_w:.0} W cool this zone's flow by \
         {drop_k:.1} K"
    )]
    FlowShort {
        /// Outdoor temperature, in degrees Celsius.
        outdoor_c: f64,
        /// Heat loss of the zone, in watts.
        load_w: f64,
        /// Temperature drop that this flow would need, in kelvin.
        drop_k: f64,
    },
    /// A flow that hardly belongs to its zone's loss.
    #[error(
        "its flow of {flow_kg_s:.3} kg/s would cool by {drop_k:.1} K under its loss of {load_w:.0} W; {} is usual",
        usual(*small)
    )]
    FlowOdd {
        /// Flow, in kilograms per second.
        flow_kg_s: f64,
        /// Heat loss of the zone at design, in watts.
        load_w: f64,
        /// Temperature drop that follows, in kelvin.
        drop_k: f64,
        /// True for a flow that is too small.
        small: bool,
    },
    /// Emitters that hardly belong to their zone's loss.
    #[error("with water of {supply_c:.1} °C its emitters give {output_w:.0} W for a loss of {load_w:.0} W")]
    EmitterOdd {
        /// Heat of its emitters with that water, in watts.
        output_w: f64,
        /// Heat loss of the zone at design, in watts.
        load_w: f64,
        /// The hottest water that they can be given, in degrees Celsius.
        supply_c: f64,
    },
    /// The curve falls below what a zone's fans wait for while the zone still needs heat.
    #[error(
        "above {outdoor_c:.1} °C outdoors, where this zone loses {load_w:.0} W of {design_w:.0} W, the curve is below the {aquastat_c:.1} °C          that its fans wait for: they stand still; at {mild_c:.1} °C outdoors it gives {mild_supply_c:.1} °C"
    )]
    FanWaits {
        /// Outdoor temperature from which on they stand, in degrees Celsius.
        outdoor_c: f64,
        /// Heat loss of the zone there, in watts.
        load_w: f64,
        /// And at design, in watts.
        design_w: f64,
        /// What the aquastat waits for, in degrees Celsius.
        aquastat_c: f64,
        /// The mildest outdoor temperature in which the zone's heat matters, in degrees Celsius.
        mild_c: f64,
        /// What the curve gives there, in degrees Celsius.
        mild_supply_c: f64,
    },
    /// A boiler's highest target lies too near the most that the controller allows.
    #[error(
        "its highest target is {target_c:.1} °C and it stops {above_k:.1} K above it: past the {most_c:.1} °C at which the controller \
         cuts it off"
    )]
    OutletNear {
        /// Highest target, in degrees Celsius.
        target_c: f64,
        /// How far above it the boiler goes by its own differential, in kelvin.
        above_k: f64,
        /// Most that its water may be, in degrees Celsius.
        most_c: f64,
    },
    /// The header dilutes more than the controller may make up for.
    #[error(
        "at {outdoor_c:.1} °C outdoors the boilers would have to run {lift_k:.1} K above the curve and the controller adds \
         {trim_k:.1} K at most"
    )]
    TrimShort {
        /// Outdoor temperature where it is worst, in degrees Celsius.
        outdoor_c: f64,
        /// Boiler outlet over header supply, in kelvin.
        lift_k: f64,
        /// Most that the controller adds, in kelvin.
        trim_k: f64,
    },
    /// The zones need hotter water of a boiler than it may give.
    #[error("the curve would need {outlet_c:.1} °C at its outlet; {most_c:.1} °C is the most that it may be told")]
    OutletOver {
        /// Outlet that the curve needs, in degrees Celsius.
        outlet_c: f64,
        /// Most that its water may be, in degrees Celsius.
        most_c: f64,
    },
    /// A zone that is mixed down needs hotter water than its valve lets through.
    #[error(
        "at {outdoor_c:.1} °C outdoors this zone needs {needed_c:.1} °C and its mixing valve lets {most_c:.1} °C through: it gives \
         {most_w:.0} W of {load_w:.0} W, whatever the header has"
    )]
    MixedShort {
        /// Outdoor temperature, in degrees Celsius.
        outdoor_c: f64,
        /// Highest mixed temperature, in degrees Celsius.
        most_c: f64,
        /// Temperature that the emitter needs, in degrees Celsius.
        needed_c: f64,
        /// Heat at the highest mixed temperature, in watts.
        most_w: f64,
        /// Heat loss of the zone, in watts.
        load_w: f64,
    },
    /// A floor would have to be warmer than people may stand on.
    #[error(
        "at {outdoor_c:.1} °C outdoors the floor's surface would have to be {surface_c:.1} °C; {most_c:.1} °C is the most where \
         people stay (EN 1264-2)"
    )]
    FloorHot {
        /// Outdoor temperature, in degrees Celsius.
        outdoor_c: f64,
        /// Surface that the heat loss needs, in degrees Celsius.
        surface_c: f64,
        /// Most that is allowed, in degrees Celsius.
        most_c: f64,
    },
    /// Water comes back colder than a boiler allows.
    #[error(
        "in {hours:.0} of {hours_heating:.0} h of heating water comes back colder than the {least_c:.1} °C that a boiler allows, \
         down to {return_c:.1} °C: its flue gas condenses where it must not"
    )]
    ReturnCold {
        /// Hours below the limit.
        hours: f64,
        /// Hours of the weather with heating.
        hours_heating: f64,
        /// Coldest return, in degrees Celsius.
        return_c: f64,
        /// Coldest return that is allowed, in degrees Celsius.
        least_c: f64,
    },
    /// A return valve leads so much of a boiler's water round that the zones lack heat.
    #[error(
        "at {outdoor_c:.1} °C outdoors its return valve at {:.1} °C and water of {:.1} °C at most let it give {:.0} W of the {:.0} W of its \
         full fire; the zones get {heat_w:.0} W of {load_w:.0} W", held.setting_c, held.most_c, held.most_w, held.full_w
    )]
    ReturnValveShort {
        /// Outdoor temperature where most is missing, in degrees Celsius.
        outdoor_c: f64,
        /// The boiler.
        held: HeldBack,
        /// Heat that the zones get, in watts.
        heat_w: f64,
        /// Heat that they need, in watts.
        load_w: f64,
    },
    /// The weather is often colder than the design temperature.
    #[error(
        "{hours:.0} of {of_hours:.0} h of the weather are colder than the design temperature of {design_c:.1} °C, down to \
         {coldest_c:.1} °C"
    )]
    DesignWarm {
        /// Hours colder.
        hours: f64,
        /// Hours of the weather.
        of_hours: f64,
        /// The coldest of them, in degrees Celsius.
        coldest_c: f64,
        /// The design temperature, in degrees Celsius.
        design_c: f64,
    },
    /// The boilers' full output is below the load.
    #[error("at {outdoor_c:.1} °C outdoors the zones need {load_w:.0} W; all boilers together give {output_w:.0} W")]
    BoilersShort {
        /// Outdoor temperature, in degrees Celsius.
        outdoor_c: f64,
        /// Heat loss of all zones, and what circulating water gives some beyond it, in watts.
        load_w: f64,
        /// What of it is beyond their loss, in watts.
        over_w: f64,
        /// Heat of all boilers at full fire, in watts.
        output_w: f64,
    },
    /// A zone whose water circulates all season is kept hot by it.
    #[error(
        "its water circulates whether it calls or not: in {:.0} of {:.0} h of heating it is kept warmer than {hot_c:.1} °C, up to {:.1} °C at \
         {:.1} °C outdoors on water of {:.1} °C; {:.0} kWh of its {:.0} kWh are beyond its need",
        kept.hours_hot, kept.hours_heating, kept.warmest_c, kept.outdoor_c, kept.supply_c, kept.over_kwh, kept.heat_kwh
    )]
    ZoneHot {
        /// What it is over the weather.
        kept: Kept,
        /// Above this it is hot, in degrees Celsius.
        hot_c: f64,
    },
    /// Zones and tank together need more than the boilers give, and the tank has no priority.
    #[error(
        "at {outdoor_c:.1} °C outdoors the tank has no priority: zones {zones_w:.0} W and its coil {coil_w:.0} W, all boilers \
         together give {output_w:.0} W"
    )]
    TankBeside {
        /// Outdoor temperature, in degrees Celsius.
        outdoor_c: f64,
        /// Heat loss of all zones, in watts.
        zones_w: f64,
        /// What the coil takes of a tank that has just called, in watts.
        coil_w: f64,
        /// Heat of all boilers at full fire, in watts.
        output_w: f64,
    },
    /// A boiler gives far more than all that it carries at design.
    #[error(
        "it gives {output_w:.0} W at full fire, {times:.1} times what zones and tank take together at {outdoor_c:.1} °C outdoors ({need_w:.0} W)"
    )]
    BoilerLarge {
        /// Outdoor temperature, in degrees Celsius.
        outdoor_c: f64,
        /// Its heat at full fire, in watts.
        output_w: f64,
        /// What zones and tank take at design, in watts.
        need_w: f64,
        /// The one over the other.
        times: f64,
    },
    /// The boilers together give far more than they carry at design, a spare counted off.
    #[error(
        "all boilers give {output_w:.0} W, {times:.1} times what zones and tank take together at {outdoor_c:.1} °C outdoors ({need_w:.0} W), and \
         {others_w:.0} W without the largest"
    )]
    PlantLarge {
        /// Outdoor temperature, in degrees Celsius.
        outdoor_c: f64,
        /// Heat of all boilers at full fire, in watts.
        output_w: f64,
        /// Heat of all but the largest, in watts.
        others_w: f64,
        /// What zones and tank take at design, in watts.
        need_w: f64,
        /// The first over the last.
        times: f64,
    },
    /// Without the largest boiler the others cover little.
    #[error(
        "without it the others give {others_w:.0} W of the {zones_w:.0} W that the zones lose at {outdoor_c:.1} °C outdoors"
    )]
    SpareShort {
        /// Outdoor temperature, in degrees Celsius.
        outdoor_c: f64,
        /// Heat of all others at full fire, in watts.
        others_w: f64,
        /// Heat loss of all zones at design, in watts.
        zones_w: f64,
    },
    /// The site lies so high that burners give less than their plates say.
    #[error(
        "the site lies at {altitude_m:.0} m: burners give {less_percent:.0} % less than plates for the sea's level say, all boilers together \
         {output_w:.0} W where the zones need {zones_w:.0} W"
    )]
    AltitudeHigh {
        /// Altitude, in metres.
        altitude_m: f64,
        /// How much less, in percent.
        less_percent: f64,
        /// Heat of all boilers at full fire then, in watts.
        output_w: f64,
        /// Heat loss of all zones at design, in watts.
        zones_w: f64,
    },
    /// The header mixes return into the supply, so boilers must run hotter than the curve.
    #[error(
        "the zones draw more than the running boilers' pumps move: at {outdoor_c:.1} °C outdoors the boilers must give \
         {lift_k:.1} K more than the curve"
    )]
    HeaderDilutes {
        /// Outdoor temperature where it is worst, in degrees Celsius.
        outdoor_c: f64,
        /// Boiler outlet over header supply, in kelvin.
        lift_k: f64,
    },
    /// Boilers that could condense seldom do.
    #[error(
        "the boilers condense in {hours:.0} of {hours_heating:.0} h of heating; the coldest return is {return_min_c:.1} °C"
    )]
    SeldomCondensing {
        /// Hours of the weather in which flue gas condenses.
        hours: f64,
        /// Hours of the weather with heating.
        hours_heating: f64,
        /// Coldest water that comes back to a boiler, in degrees Celsius.
        return_min_c: f64,
    },
    /// The smallest zone makes a boiler start often.
    #[error(
        "alone, this zone takes {draw_w:.0} W at {outdoor_c:.1} °C where its lead's smallest fire gives {source_w:.0} W: {cycles_per_h:.1} \
         starts an hour, {burn_s:.0} s each; {extra_l:.0} l more water would make no burn shorter than {wanted_s:.0} s"
    )]
    ShortCycle {
        /// The boiler that leads.
        boiler: BoilerId,
        /// Heat that the zone takes, in watts.
        draw_w: f64,
        /// Heat of its smallest fire, in watts.
        source_w: f64,
        /// Starts an hour.
        cycles_per_h: f64,
        /// Length of one burn, in seconds.
        burn_s: f64,
        /// Outdoor temperature at which starts are most, in degrees Celsius.
        outdoor_c: f64,
        /// Shortest burn that was wanted, in seconds.
        wanted_s: f64,
        /// Water to add for it, in litres.
        extra_l: f64,
    },
    /// The smallest zone makes a burn short.
    #[error(
        "alone, this zone takes as little as {draw_w:.0} W, at {outdoor_c:.1} °C, where its lead's smallest fire gives {source_w:.0} W: a \
         burn lasts {burn_s:.0} s; {extra_l:.0} l more water would make it {wanted_s:.0} s"
    )]
    ShortBurn {
        /// The boiler that leads.
        boiler: BoilerId,
        /// Heat that the zone takes, in watts.
        draw_w: f64,
        /// Heat of its smallest fire, in watts.
        source_w: f64,
        /// Length of the burn, in seconds.
        burn_s: f64,
        /// Outdoor temperature at which it is shortest, in degrees Celsius.
        outdoor_c: f64,
        /// Length of burn that was wanted, in seconds.
        wanted_s: f64,
        /// Water to add for it, in litres.
        extra_l: f64,
    },
    /// Something of the water side.
    #[error(transparent)]
    Water(WaterIssue),
}

/// Drops that a flow is designed for.
const fn usual(small: bool) -> &'static str {
    if small { "6 to 22 K" } else { "at least 3 K" }
}

impl Issue {
    /// A code that never changes its meaning and is never used again for another.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::CurveShort { .. } => "curve-short",
            Self::CurveGenerous { .. } => "curve-generous",
            Self::FlowShort { .. } => "flow-short",
            Self::FlowOdd { .. } => "flow-odd",
            Self::EmitterOdd { .. } => "emitter-odd",
            Self::FanWaits { .. } => "fan-waits",
            Self::OutletNear { .. } => "outlet-near",
            Self::TrimShort { .. } => "header-trim-short",
            Self::OutletOver { .. } => "outlet-over",
            Self::MixedShort { .. } => "mixed-short",
            Self::FloorHot { .. } => "floor-hot",
            Self::ReturnCold { .. } => "return-cold",
            Self::ReturnValveShort { .. } => "return-valve-short",
            Self::DesignWarm { .. } => "design-warm",
            Self::BoilersShort { .. } => "boilers-short",
            Self::ZoneHot { .. } => "zone-hot",
            Self::TankBeside { .. } => "tank-beside",
            Self::BoilerLarge { .. } => "boiler-large",
            Self::PlantLarge { .. } => "boilers-large",
            Self::SpareShort { .. } => "spare-short",
            Self::AltitudeHigh { .. } => "altitude-high",
            Self::HeaderDilutes { .. } => "header-dilutes",
            Self::SeldomCondensing { .. } => "seldom-condensing",
            Self::ShortCycle { .. } => "short-cycle",
            Self::ShortBurn { .. } => "short-burn",
            Self::Water(issue) => issue.code(),
        }
    }
}

impl Finding {
    pub(super) const fn new(subject: Subject, severity: Severity, issue: Issue) -> Self {
        Self { subject, severity, issue }
    }
}
