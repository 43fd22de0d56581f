//! Figures of a run: what each zone felt, what each pump and boiler did.
//!
//! Starts are counted from standing to running. Starts per hour are the most that fall into any sixty minutes. A burner
//! cycle is short when the flame burns less than five minutes (our choice). A boiler condenses while condensate forms; a
//! typed efficiency curve says nothing of condensate, so none is counted there.

use heatwright_core::{BoilerId, PumpId, SafetyId, ZoneId};
use serde::{Deserialize, Serialize};

/// A burner cycle below this length is short, in seconds.
pub const SHORT_CYCLE_S: f64 = 300.0;
pub use super::{
    alarm::{Alarms, Stood},
    tally::COLD_BELOW_K,
};

/// All figures of a run.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Length of the counted part, in hours.
    pub duration_h: f64,
    /// Mean outdoor temperature, in degrees Celsius.
    pub outdoor_mean_c: f64,
    /// Lowest outdoor temperature, in degrees Celsius.
    pub outdoor_min_c: f64,
    /// Fuel of all boilers, in kilowatt-hours by higher heating value.
    pub fuel_kwh: f64,
    /// Electrical energy of all pumps and fans, in kilowatt-hours.
    pub electric_kwh: f64,
    /// Zones, by `ZoneId`.
    pub zones: Vec<ZoneSummary>,
    /// Pumps, by `PumpId`.
    pub pumps: Vec<PumpSummary>,
    /// Boilers, by `BoilerId`.
    pub boilers: Vec<BoilerSummary>,
    /// The tank.
    pub tank: Option<TankSummary>,
    /// Safeties that open on temperature, and how often each did.
    pub opened: Vec<SafetyOpened>,
    /// When the alarm stood, and which boilers were out of order.
    pub alarm: Alarms,
}

/// A safety that opens on temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct SafetyOpened {
    /// Which one.
    pub safety: SafetyId,
    /// Times it opened; one that stood open when counting began is the first.
    pub times: u32,
}

/// One zone.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ZoneSummary {
    /// Which one.
    pub zone: ZoneId,
    /// Lowest air temperature, in degrees Celsius.
    pub lowest_c: f64,
    /// Mean air temperature, in degrees Celsius.
    pub mean_c: f64,
    /// Highest air temperature, in degrees Celsius.
    pub highest_c: f64,
    /// Hours with the air more than 1 K below the set temperature of the moment.
    pub cold_h: f64,
    /// Of those, hours in which it called and no water flowed: something held its pump or valve off.
    pub cold_held_h: f64,
    /// Of those, hours in which water flowed: it got less heat than it lost, or was still warming up.
    pub cold_flowing_h: f64,
    /// Calls that began.
    pub calls: u32,
    /// Hours of call.
    pub call_h: f64,
    /// Hours with flow.
    pub flow_h: f64,
    /// Mean temperature of the water entering its emitter while it flows, in degrees Celsius; 0 without flow.
    pub supply_mean_c: f64,
    /// Heat from its emitter, in kilowatt-hours.
    pub heat_kwh: f64,
}

/// One pump.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PumpSummary {
    /// Which one.
    pub pump: PumpId,
    /// Hours run.
    pub hours_h: f64,
    /// Starts.
    pub starts: u32,
    /// Electrical energy, in kilowatt-hours.
    pub energy_kwh: f64,
}

/// One boiler.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct BoilerSummary {
    /// Which one.
    pub boiler: BoilerId,
    /// Hours with flame.
    pub hours_h: f64,
    /// Burner starts.
    pub starts: u32,
    /// Most burner starts in any sixty minutes.
    pub starts_per_h_max: u32,
    /// Burner cycles shorter than five minutes.
    pub short_cycles: u32,
    /// Times that its own limit put its flame out.
    pub limit_stops: u32,
    /// Mean firing rate while lit, as a share of full input.
    pub rate_mean: f64,
    /// Fuel, in kilowatt-hours by higher heating value.
    pub fuel_kwh: f64,
    /// Heat from the flame into its water, in kilowatt-hours.
    pub water_kwh: f64,
    /// Lost by jacket and standing flue, in kilowatt-hours.
    pub jacket_kwh: f64,
    /// Heat to the water less jacket over fuel, a share; 0 without fuel.
    pub efficiency: f64,
    /// Mean return water while lit, weighted by fuel, in degrees Celsius; 0 without fuel.
    pub return_mean_c: f64,
    /// Lowest return water while lit, in degrees Celsius; `None` without fuel.
    pub return_min_c: Option<f64>,
    /// Hours lit with return water colder than the boiler allows, less those in which its return valve is shut to the header.
    pub return_cold_h: f64,
    /// Mean share of its flow that its return valve lets to the header while lit; 1 without a valve or without fuel.
    pub valve_mean: f64,
    /// Hours lit in which its return valve lets nothing to the header: it warms its own water.
    pub valve_shut_h: f64,
    /// Hours with condensate forming.
    pub condensing_h: f64,
    /// Condensate, in kilograms.
    pub condensate_kg: f64,
    /// Highest water temperature, in degrees Celsius.
    pub water_max_c: f64,
}

/// The tank.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct TankSummary {
    /// Lowest water temperature, in degrees Celsius.
    pub lowest_c: f64,
    /// Mean water temperature, in degrees Celsius.
    pub mean_c: f64,
    /// Highest water temperature, in degrees Celsius.
    pub highest_c: f64,
    /// Hours with a draw while the tank was colder than the water that the taps want.
    pub tap_short_h: f64,
    /// Calls that began.
    pub calls: u32,
    /// Hours of call.
    pub call_h: f64,
    /// Heat through the coil, in kilowatt-hours.
    pub heat_kwh: f64,
}
