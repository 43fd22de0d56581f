//! A plant for the studies' tests: zones and boilers are given, the rest is out of the way.
#![allow(dead_code)] // Each test file uses its own part.

use heatwright_core::{
    Points, PumpId, Span, Temp, TempDelta,
    config::{BoilerDrive, BoilerPump, CurvePoint, PumpRole, ResetConfig},
};
use heatwright_sim::{
    Emitter, Plant,
    emitter::{MeanRule, Rating},
    plant::{
        Boiler, BoilerControl, Burner, Drive, Efficiency, EfficiencyPoint, Fluid, Gains, Header, Pump, Site,
        Thermostat, Zone,
    },
};

pub(crate) fn f_to_c(f: f64) -> f64 {
    (f - 32.0) / 1.8
}

pub(crate) fn c_to_f(c: f64) -> f64 {
    c * 1.8 + 32.0
}

/// Specific heat that the plant's water has, as the model takes it, J/(kg K).
pub(crate) fn water_j_kgk() -> f64 {
    Fluid::WATER.specific_heat_j_kgk(heatwright_sim::fluid::RUN_C)
}

/// A zone whose emitter gives `loss_w` between these supply, return and room temperatures, with the flow that fits.
pub(crate) fn zone(
    loss_w: f64,
    supply_c: f64,
    return_c: f64,
    room_c: f64,
    outdoor_c: f64,
    exponent: f64,
    mean: MeanRule,
) -> Zone {
    let rating = Rating { heat_w: loss_w, supply_c, return_c, room_c };
    Zone {
        loss_w,
        loss_indoor_c: room_c,
        loss_outdoor_c: outdoor_c,
        air_j_k: 1e6,
        mass_j_k: 1e7,
        air_mass_w_k: 500.0,
        radiant_share: 0.3,
        emitter: Emitter::Power { rating, exponent, mean, heating_effect: 1.0 },
        water_l: 20.0,
        metal_j_k: 20_000.0,
        flow_kg_s: loss_w / (supply_c - return_c) / water_j_kgk(),
        drive: Drive::Pump(PumpId(0)),
        thermostat: Thermostat {
            set_c: room_c,
            setback_c: room_c,
            differential_k: 1.0,
            cycles_per_h: 0.0,
            lag_s: 0.0,
            schedule: None,
        },
        gains: Gains::default(),
        mix: None,
        fan: None,
    }
}

pub(crate) fn boiler(input_w: f64, minimum_share: f64, flow_kg_s: f64, efficiency: Efficiency) -> Boiler {
    Boiler {
        input_w,
        minimum_share,
        drive: BoilerDrive::DemandOnly,
        pump: BoilerPump::Controller(PumpId(0)),
        flow_kg_s,
        flow_min_kg_s: 0.1 * flow_kg_s,
        return_min_c: None,
        return_valve_c: None,
        water_l: 20.0,
        metal_j_k: 20_000.0,
        burner: Burner {
            pre_purge_s: 15.0,
            ignition_s: 4.0,
            trials: 3,
            flame_proof_s: 2.0,
            post_purge_s: 30.0,
            modulation_lag_s: 5.0,
        },
        efficiency,
        jacket_w_k: 5.0,
        control: BoilerControl {
            fixed_target_c: 80.0,
            on_below_k: 4.0,
            off_above_k: 6.0,
            band_k: 10.0,
            integral_s: 120.0,
            limit_c: 95.0,
            limit_reset_k: 10.0,
            frost_c: Some(5.0),
        },
    }
}

pub(crate) fn constant_efficiency(share: f64) -> Efficiency {
    Efficiency::Points(vec![EfficiencyPoint { return_c: 50.0, rate: 1.0, efficiency: share }])
}

pub(crate) fn condensing() -> Efficiency {
    Efficiency::Combustion { excess_air: 0.25, approach_low_k: 4.0, approach_full_k: 10.0 }
}

pub(crate) fn plant(design_outdoor_c: f64, zones: Vec<Zone>, boilers: Vec<Boiler>) -> Plant {
    Plant {
        site: Site { altitude_m: 0.0, design_outdoor_c, boiler_room_c: 20.0 },
        fluid: Fluid::WATER,
        zones,
        pumps: vec![Pump { role: PumpRole::Zone, power_w: 100.0 }],
        boilers,
        header: Header {
            water_l: 10.0,
            secondary_supply_l: 20.0,
            secondary_return_l: 20.0,
            primary_supply_l: 5.0,
            primary_return_l: 5.0,
            loss_w_k: 0.0,
            check_valves: true,
        },
        tank: None,
        damper: None,
        safeties: Vec::new(),
        sensors: Vec::new(),
        schedules: Vec::new(),
        points: Points::default(),
    }
}

pub(crate) fn reset(points: &[(f64, f64)], warm_c: f64) -> ResetConfig {
    let temp = |c: f64| Temp::from_centi_c((c * 100.0).round() as i16);
    ResetConfig {
        points: points.iter().map(|p| CurvePoint { outdoor: temp(p.0), supply: temp(p.1) }).collect(),
        supply_min: temp(0.0),
        supply_max: temp(110.0),
        outdoor_filter: Span::ZERO,
        warm_weather_off: temp(warm_c),
        warm_weather_differential: TempDelta::from_k(1),
        setback: TempDelta::ZERO,
        boost: TempDelta::ZERO,
        boost_for: Span::ZERO,
        schedule: None,
        outdoor_fallback: temp(-18.0),
        header_trim_max: TempDelta::ZERO,
        demand_trim_max: TempDelta::ZERO,
    }
}
