//! Water, glycol and combustion against published figures.

use heatwright_sim::{
    boiler::efficiency::{FlueGas, air_pressure_kpa},
    fluid::saturation_kpa,
    plant::{Fluid, Glycol},
};

fn c(f: f64) -> f64 {
    (f - 32.0) / 1.8
}

/// The "500": Btu/h per gallon a minute and degree Fahrenheit = 60 min/h x 0.133681 ft3/gal x density x specific heat.
fn five_hundred(fluid: &Fluid, at_f: f64) -> f64 {
    let lb_ft3 = fluid.density_kg_m3(c(at_f)) * 0.062_427_96;
    let btu_lbf = fluid.specific_heat_j_kgk(c(at_f)) / 4186.8;
    60.0 * 0.133_680_6 * lb_ft3 * btu_lbf
}

/// Density in kg/m3 and specific heat in kJ/kgK of water, IAPWS-95 at 0.3 MPa, at 45 and 75 degC: between the points of
/// the table, so that the interpolation is what is checked. Values calculated with CoolProp 8.0.0.
#[test]
fn water_between_the_points() {
    for (at_c, density, heat) in [(15.0, 999.195, 4187.78), (45.0, 990.300, 4179.67), (75.0, 974.931, 4192.77)] {
        let (d, h) = (Fluid::WATER.density_kg_m3(at_c), Fluid::WATER.specific_heat_j_kgk(at_c));
        assert!((d - density).abs() < 0.25, "{at_c} degC: {d} kg/m3, IAPWS-95 {density}");
        assert!((h / heat - 1.0).abs() < 5e-4, "{at_c} degC: {h} J/kgK, IAPWS-95 {heat}");
    }
}

/// Saturation pressure of water, kPa, IAPWS-95.
#[test]
fn saturation_of_water() {
    for (at_c, kpa) in [
        (0.0, 0.612),
        (10.0, 1.228),
        (20.0, 2.339),
        (40.0, 7.384),
        (60.0, 19.946),
        (80.0, 47.415),
        (100.0, 101.42),
        (120.0, 198.67),
    ] {
        let got = saturation_kpa(at_c);
        assert!((got / kpa - 1.0).abs() < 1.5e-3, "{at_c} degC: {got} kPa, IAPWS-95 {kpa}");
    }
}

/// The factor from 40 to 220 degF, IAPWS-95 (calculated), and for propylene glycol by Melinder's correlations (calculated).
#[test]
fn the_five_hundred_of_water_and_glycol() {
    for (at_f, factor) in [
        (40.0, 503.00),
        (60.0, 500.33),
        (100.0, 496.33),
        (140.0, 492.08),
        (160.0, 489.72),
        (180.0, 487.25),
        (200.0, 484.71),
    ] {
        let got = five_hundred(&Fluid::WATER, at_f);
        assert!((got / factor - 1.0).abs() < 1.2e-3, "{at_f} degF: {got}, published {factor}");
    }
    for (percent, at_140, at_180) in
        [(20.0, 483.6, 482.1), (30.0, 474.4, 473.8), (40.0, 461.4, 462.1), (50.0, 445.1, 447.6)]
    {
        let fluid = Fluid { glycol_percent: percent, ..Fluid::WATER };
        for (at_f, factor) in [(140.0, at_140), (180.0, at_180)] {
            let got = five_hundred(&fluid, at_f);
            assert!((got / factor - 1.0).abs() < 2e-3, "{percent} % at {at_f} degF: {got}, published {factor}");
        }
    }
}

/// Flue gas of methane: carbon dioxide and oxygen in % dry, dew point in degC with dry air at sea level, with humid air
/// (0.010 kg/kg), and in degF with dry air at 5280 ft. All calculated from stoichiometry and IAPWS-95 saturation.
#[test]
fn dew_point_and_flue_gas_of_methane() {
    for (excess, co2, o2, dew_c, humid_c, high_f) in [
        (0.0, 11.74, 0.0, 59.2, 60.5, 131.2),
        (0.1, 10.56, 2.11, 57.4, 58.8, 128.0),
        (0.2, 9.59, 3.84, 55.7, 57.3, 125.0),
        (0.3, 8.79, 5.27, 54.2, 55.8, 122.3),
        (0.5, 7.53, 7.53, 51.4, 53.4, 117.6),
        (0.75, 6.39, 9.58, 48.5, 50.7, 112.5),
        (1.0, 5.54, 11.09, 46.0, 48.5, 108.1),
    ] {
        let sea = FlueGas { excess_air: excess, pressure_kpa: 101.325, air_water_mol: 0.0 };
        assert!((100.0 * sea.co2_dry() - co2).abs() < 6e-3, "{excess}: {}", 100.0 * sea.co2_dry());
        assert!((100.0 * sea.o2_dry() - o2).abs() < 6e-3, "{excess}: {}", 100.0 * sea.o2_dry());
        assert!((sea.dew_point_c() - dew_c).abs() < 0.1, "{excess}: {}, published {dew_c}", sea.dew_point_c());
        let humid = FlueGas { air_water_mol: 0.010 * 28.96 / 18.015, ..sea };
        assert!((humid.dew_point_c() - humid_c).abs() < 0.15, "{excess}: {}, published {humid_c}", humid.dew_point_c());
        let high = FlueGas::dry(excess, 5280.0 * 0.3048);
        assert!(
            (high.dew_point_c() - c(high_f)).abs() < 0.1,
            "{excess}: {}, published {}",
            high.dew_point_c(),
            c(high_f)
        );
    }
    // Standard atmosphere at 5280 ft.
    assert!((air_pressure_kpa(5280.0 * 0.3048) - 83.4).abs() < 0.1);
}

/// Combustion efficiency in % of the higher heating value against flue temperature with 20 % excess air, and the share of
/// the water that condenses in %. Calculated: reference 25 degC, gas saturated where it condenses.
#[test]
fn efficiency_over_flue_temperature() {
    let gas = FlueGas { excess_air: 0.2, pressure_kpa: 101.325, air_water_mol: 0.0 };
    for (flue_c, efficiency, condensed) in [
        (30.0, 97.5, 77.0),
        (35.0, 96.5, 69.0),
        (40.0, 95.2, 59.0),
        (45.0, 93.7, 45.0),
        (50.0, 91.7, 28.0),
        (55.0, 89.2, 4.0),
        (60.0, 88.6, 0.0),
        (80.0, 87.8, 0.0),
        (100.0, 86.9, 0.0),
        (150.0, 84.8, 0.0),
        (200.0, 82.6, 0.0),
    ] {
        let got = gas.at(flue_c);
        assert!((100.0 * got.efficiency - efficiency).abs() < 0.15, "{flue_c} degC: {got:?}, published {efficiency}");
        assert!((100.0 * got.condensed - condensed).abs() < 1.0, "{flue_c} degC: {got:?}, published {condensed}");
    }
    // All water condensed: 0.04047 kg/MJ by stoichiometry.
    let all = gas.at(0.0);
    assert!((all.condensate_kg_j * 1e6 / all.condensed - 0.04047).abs() < 1e-5);
}

/// Density in kg/m3 and specific heat in J/kgK of ethylene glycol at 35 % by mass and 50 degC, Melinder's correlation as
/// `CoolProp` 8.0.0 computes it (`INCOMP::MEG`): between the points of the table in both directions.
#[test]
fn ethylene_glycol_between_the_points_and_not_propylene() {
    let fluid = Fluid { glycol_percent: 35.0, glycol: Glycol::Ethylene };
    let (d, h) = (fluid.density_kg_m3(50.0), fluid.specific_heat_j_kgk(50.0));
    assert!((d / 1029.402 - 1.0).abs() < 5e-4, "{d}");
    assert!((h / 3720.134 - 1.0).abs() < 1e-3, "{h}");
    let other = Fluid { glycol_percent: 35.0, ..Fluid::WATER };
    assert!(d > other.density_kg_m3(50.0) + 10.0 && h < other.specific_heat_j_kgk(50.0) - 100.0);
}
