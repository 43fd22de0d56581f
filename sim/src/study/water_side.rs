//! The water side: what fills, expands, relieves, flows and drips, at design and at its hottest.
//!
//! | part | question | where |
//! |---|---|---|
//! | pressure | how far must the plant be filled, and what is left below the relief valves? | [`pressure`] |
//! | expansion | how large must the diaphragm tank be? | [`expansion`] |
//! | flow | does each boiler get its flow, between its least and its most? | [`flow`] |
//! | relief | does each relief valve carry what its boiler can give? | [`relief`] |
//! | condensate | how much drips, how fast, and what does it take to neutralise? | [`condensate`] |
//! | balance | do boilers side by side share the flow, by direct and by reverse return? | [`balance`] |
//!
//! Each part is a function of plain numbers with its equation and source in its head. [`study`] puts a plant's numbers in and
//! says what is wrong with the answers.
//!
//! All pressures are gauge pressures in kilopascals at the boilers' gauge, unless the name says `abs`.
//!
//! It deliberately sizes nothing that a manufacturer's table or a code official decides: no model is chosen, no pipe laid.

pub mod balance;
pub mod condensate;
pub mod expansion;
mod findings;
pub mod flow;
pub mod issue;
pub mod pressure;
pub mod relief;

use super::{Finding, curve::Year};
use crate::plant::Plant;
use heatwright_core::config::ResetConfig;
use serde::Serialize;

pub use issue::WaterIssue;

/// What the study is told beside the plant.
#[derive(Clone, Debug, PartialEq)]
pub struct Given {
    /// Highest water above the boilers' gauge, in metres.
    pub height_m: f64,
    /// Wanted pressure at that highest point while cold, in kilopascals.
    pub top_kpa: f64,
    /// Fill pressure that is set at the gauge, in kilopascals; `None`: just what is needed.
    pub fill_kpa: Option<f64>,
    /// Coldest water that the plant is filled with, in degrees Celsius.
    pub fill_c: f64,
    /// Hottest that all of the water may become, in degrees Celsius.
    pub hottest_c: f64,
    /// All water of the plant, in litres.
    pub volume_l: f64,
    /// What the pipes are made of.
    pub pipe: Pipe,
    /// What running pumps add to the pressure at the boilers above that at the expansion tank, in kilopascals.
    pub pump_rise_kpa: f64,
    /// The expansion tank that is there, in litres; `None`: not said.
    pub tank_l: Option<f64>,
    /// Most water that its diaphragm lets in, in litres; `None`: not said.
    pub acceptance_l: Option<f64>,
    /// Its air charge while empty of water, in kilopascals; `None`: equal to the fill pressure.
    pub precharge_kpa: Option<f64>,
    /// What each boiler says about itself.
    pub boilers: Vec<GivenBoiler>,
    /// The mains that join the boilers.
    pub mains: balance::Mains,
    /// How the boilers' mains run; `None`: not said.
    pub layout: Option<balance::Layout>,
}

/// What the study is told about one boiler.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GivenBoiler {
    /// Full input on its plate, in watts: what it may give at any altitude.
    pub plate_input_w: f64,
    /// Opening pressure of its relief valve, in kilopascals.
    pub relief_kpa: f64,
    /// Rated capacity of its relief valve, in watts; `None`: not said.
    pub relief_w: Option<f64>,
    /// Largest working pressure on its plate, in kilopascals; `None`: not said.
    pub working_kpa: Option<f64>,
    /// Largest flow that its instructions allow, in kilograms per second; `None`: not said.
    pub flow_max_kg_s: Option<f64>,
    /// Pressure that its flow loses in it, in kilopascals.
    pub drop_kpa: f64,
    /// Hottest that its water may be, in degrees Celsius.
    pub outlet_max_c: f64,
    /// Largest rise of the water in it that its instructions allow, in kelvin; `None`: not said.
    pub rise_max_k: Option<f64>,
}

/// What pipes are made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Pipe {
    /// Steel.
    Steel,
    /// Copper tube.
    Copper,
}

impl Pipe {
    /// Linear expansion, in 1/K: steel 6.5e-6 and copper 9.5e-6 a degree Fahrenheit (ASHRAE HVAC Systems and Equipment).
    pub const fn expansion_1_k(self) -> f64 {
        match self {
            Pipe::Steel => 11.7e-6,
            Pipe::Copper => 17.1e-6,
        }
    }
    /// Roughness inside, in metres: 0.045 mm and 0.0015 mm (Moody's commercial steel and drawn tube).
    pub const fn roughness_m(self) -> f64 {
        match self {
            Pipe::Steel => 4.5e-5,
            Pipe::Copper => 1.5e-6,
        }
    }
}

/// What the study found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WaterSide {
    /// Fill pressure and what is left below the relief valves.
    pub pressure: pressure::Pressure,
    /// The expansion tank.
    pub expansion: expansion::Expansion,
    /// Each boiler's flow at design.
    pub flows: Vec<flow::BoilerFlow>,
    /// Each boiler's relief valve.
    pub reliefs: Vec<relief::Relief>,
    /// Condensate of a year and at its fastest.
    pub condensate: condensate::Condensate,
    /// Flow of each boiler by both layouts; `None` for one boiler, or where no answer was found.
    pub balance: Option<balance::Both>,
    /// What is worth telling.
    #[serde(skip)]
    pub findings: Vec<Finding>,
}

/// Studies the water side of a plant under a reset curve; its year of weather is that of the curve's study.
pub fn study(plant: &Plant, given: &Given, reset: &ResetConfig, year: &Year) -> WaterSide {
    let pressure = pressure::pressure(&plant.fluid, plant.site.altitude_m, given);
    let expansion = expansion::of(&plant.fluid, given, &pressure);
    let flows = flow::flows(plant, given, reset);
    let reliefs = relief::reliefs(plant, given);
    let condensate = condensate::of(plant, reset, year);
    let balance = balance::both(plant, given);
    let mut out = WaterSide { pressure, expansion, flows, reliefs, condensate, balance, findings: Vec::new() };
    out.findings = findings::findings(plant, given, &out);
    out
}
