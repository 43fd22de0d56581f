//! Condensate: how much a year, how fast at worst, and what it takes to neutralise.
//!
//! Amounts come from the combustion model ([`boiler::efficiency`](crate::boiler::efficiency)): kilograms for each joule of fuel, by
//! return water and rate, over the weather year under the reset curve. Fastest: all boilers at full fire with the coldest return
//! of that year. Never more than all of the water that combustion makes: 0.0405 kg/MJ of higher heating value (1.13 gal a therm).
//!
//! Neutralising with calcium carbonate (limestone chips, 100.09 g/mol):
//!
//! * the strong acids alone: `CaCO3 + 2 H+`, `m = V 10^-pH 100.09 / 2` g for `V` litres; pH 3.8 is the sour end of the range
//!   that condensate of natural gas has (3.8 to 5.4);
//! * and all of the dissolved carbon dioxide at most: `CaCO3 + CO2 + H2O -> Ca(HCO3)2`, `m = V k_H x p 100.09` g, with Henry's constant
//!   `k_H` 0.0244 mol/(l atm) at 40 degrees Celsius (from memory), `x` share of carbon dioxide in the flue gas, `p` in atm.
//!
//! What is used up in a year lies between the two; a charge is chosen from the larger. Rates are those of the boilers that are
//! built to condense ([`Efficiency::can_condense`]): only they have a drain. Typed efficiency points say nothing about condensate:
//! such boilers count as dry. Left out: nitric acid of single burners, chips that crust over.

use crate::{
    boiler::efficiency::{EfficiencyTable, FlueGas, WATER_KG_J},
    plant::{Boiler, Efficiency, Plant},
    study::curve::{self, Year},
};
use heatwright_core::config::ResetConfig;
use serde::Serialize;

/// The sour end of condensate.
pub const PH: f64 = 3.8;
/// Molar mass of calcium carbonate, in grams per mole.
const CARBONATE_G_MOL: f64 = 100.09;
/// Henry's constant of carbon dioxide in water at 40 degrees Celsius, in moles per litre and atmosphere.
const HENRY_MOL_L_ATM: f64 = 0.0244;
/// Coldest return of a plant that is only just starting, in degrees Celsius.
const COLD_START_C: f64 = 20.0;

/// Condensate of the whole plant.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Condensate {
    /// In a year of the weather, in kilograms.
    pub year_kg: f64,
    /// Fuel of that year by higher heating value, in kilowatt-hours.
    pub year_fuel_kwh: f64,
    /// At full fire with the coldest return of the year, in kilograms an hour.
    pub fastest_kg_h: f64,
    /// That coldest return, in degrees Celsius.
    pub return_c: f64,
    /// At full fire into a stone-cold plant, in kilograms an hour: what drain and pump must carry for a while.
    pub start_kg_h: f64,
    /// All water that combustion at full fire makes in the boilers that condense, in kilograms an hour.
    pub ceiling_kg_h: f64,
    /// Calcium carbonate that the strong acids use up in a year, in kilograms.
    pub acid_carbonate_kg: f64,
    /// Calcium carbonate that the dissolved carbon dioxide can use up in a year besides, in kilograms.
    pub gas_carbonate_kg: f64,
}

/// Calcium carbonate for the strong acids of this much condensate, both in kilograms.
pub fn acid_carbonate_kg(condensate_kg: f64, ph: f64) -> f64 {
    condensate_kg * 10f64.powf(-ph) * CARBONATE_G_MOL / 2.0 / 1000.0
}

/// Calcium carbonate that the dissolved carbon dioxide of this much condensate can use up, in kilograms; partial pressure in
/// atmospheres.
pub fn gas_carbonate_kg(condensate_kg: f64, carbon_dioxide_atm: f64) -> f64 {
    condensate_kg * HENRY_MOL_L_ATM * carbon_dioxide_atm * CARBONATE_G_MOL / 1000.0
}

/// Condensate of a plant, with its year from the curve's study.
pub fn of(plant: &Plant, reset: &ResetConfig, year: &Year) -> Condensate {
    let design_c = plant.site.design_outdoor_c;
    let return_c = year.boiler_return_c.map_or_else(|| curve::target_c(reset, design_c), |r| r.0);
    let condensing = || plant.boilers.iter().filter(|b: &&Boiler| b.efficiency.can_condense());
    let at = |return_c: f64| {
        let each = condensing().map(|b| {
            let table = EfficiencyTable::new(&b.efficiency, b.minimum_share, plant.site.altitude_m);
            b.input_w * table.at(return_c, 1.0).1 * 3600.0
        });
        each.sum::<f64>()
    };
    let (mut ceiling_kg_h, mut carbon_dioxide_atm) = (0.0, 0.0_f64);
    for b in condensing() {
        if let Efficiency::Combustion { excess_air, .. } = b.efficiency {
            let gas = FlueGas::dry(excess_air, plant.site.altitude_m);
            ceiling_kg_h += b.input_w * WATER_KG_J * 3600.0;
            carbon_dioxide_atm = carbon_dioxide_atm.max(gas.co2_dry() * gas.pressure_kpa / 101.325);
        }
    }
    Condensate {
        year_kg: year.condensate_kg,
        year_fuel_kwh: year.fuel_kwh,
        fastest_kg_h: at(return_c),
        return_c,
        start_kg_h: at(COLD_START_C.min(return_c)),
        ceiling_kg_h,
        acid_carbonate_kg: acid_carbonate_kg(year.condensate_kg, PH),
        gas_carbonate_kg: gas_carbonate_kg(year.condensate_kg, carbon_dioxide_atm),
    }
}
