//! A run that has come to rest gives what the steady-state studies say, for every kind of emitter.

mod common;

use common::small;
use heatwright_sim::{
    Emitter,
    emitter::{MeanRule, Rating},
    plant::{Fluid, Gains},
    zone::{ZoneModel, ZoneState},
};

const ROOM_C: f64 = 20.0;
const OUTDOOR_C: f64 = -10.0;

/// Heat in watts and room in degrees Celsius of a zone that is given this supply (degrees Celsius) and flow (W/K) until
/// nothing moves any more. Its loss is `heat_w` at a room of 20 degrees Celsius.
fn at_rest(emitter: &Emitter, heat_w: f64, supply_c: f64, flow_w_k: f64) -> (f64, f64) {
    let mut z = small().zones[0].clone();
    (z.loss_w, z.loss_indoor_c, z.loss_outdoor_c) = (heat_w, ROOM_C, OUTDOOR_C);
    // Little to warm: rest is reached within a day.
    (z.air_j_k, z.mass_j_k, z.air_mass_w_k) = (100.0 * heat_w, 100.0 * heat_w, 10.0 * heat_w);
    z.flow_kg_s = flow_w_k / 4186.0;
    z.gains = Gains::default();
    z.emitter = emitter.clone();
    let model = ZoneModel::new(&z, &Fluid::WATER, 5.0);
    let mut s = ZoneState { air_c: 18.0, mass_c: 18.0, water_c: 25.0, slab_c: 22.0 };
    let mut heat = 0.0;
    for _ in 0..5 * 86_400 / 5 {
        heat = model.step_alone(&mut s, flow_w_k, supply_c, OUTDOOR_C, 0.0).heat_w;
    }
    (heat, s.air_c)
}

/// Every kind, with a heat in watts that suits it.
fn all() -> Vec<(&'static str, Emitter, f64)> {
    let coil = Rating { heat_w: 8000.0, supply_c: 82.0, return_c: 71.0, room_c: 18.0 };
    let floor = |water, surface| Emitter::Floor {
        area_m2: 60.0,
        water_to_slab_m2k_w: water,
        slab_to_surface_m2k_w: surface,
        slab_j_k: 1e6,
    };
    let points = vec![(20.0, 500.0), (50.0, 1700.0), (60.0, 2200.0)];
    let logarithmic =
        |rating, exponent| Emitter::Power { rating, exponent, mean: MeanRule::Logarithmic, heating_effect: 1.0 };
    let panel = Rating { heat_w: 2000.0, supply_c: 75.0, return_c: 65.0, room_c: 20.0 };
    vec![
        ("radiator", Emitter::radiator(2000.0, 1.3), 1500.0),
        ("radiator by the logarithmic mean", logarithmic(panel, 1.3), 1500.0),
        ("cast iron", Emitter::cast_iron(50.0, 1.3), 2000.0),
        ("finned tube", Emitter::finned_tube(3000.0, 1.4, true), 1200.0),
        ("fan coil", Emitter::fan_coil(coil), 5000.0),
        ("floor, bare", floor(0.051, 0.06), 3000.0),
        ("floor, carpet", floor(0.03, 0.16), 2000.0),
        ("floor, pipes far apart", floor(0.15, 0.05), 2500.0),
        ("points", Emitter::Points { points: points.clone(), mean: MeanRule::Arithmetic }, 1200.0),
        ("points by the logarithmic mean", Emitter::Points { points, mean: MeanRule::Logarithmic }, 1200.0),
    ]
}

#[test]
fn a_run_at_rest_gives_the_heat_of_the_studies_for_every_emitter() {
    for (name, emitter, full_w) in all() {
        for share in [0.15, 0.5, 1.0] {
            for drop_k in [2.0, 8.0, 14.0] {
                let heat_w = share * full_w;
                let flow_w_k = full_w / drop_k;
                let supply_c = emitter.supply_needed_c(heat_w, flow_w_k, ROOM_C).unwrap();
                let (gives_w, room_c) = at_rest(&emitter, heat_w, supply_c, flow_w_k);
                let of = format!("{name} at {heat_w} W, {drop_k} K drop at full: supply {supply_c:.1} C");
                // The room answers to what it gets, so the study is asked at the room that the run came to.
                let study = emitter.at_flow(supply_c, flow_w_k, room_c);
                assert!((gives_w / study.heat_w - 1.0).abs() < 0.005, "{of}: {gives_w:.1} W, the study {study:?}");
                assert!((room_c - ROOM_C).abs() < 0.05, "{of}: the room stands at {room_c:.3} C");
            }
        }
    }
}

/// EN 1264-2: the flux of a floor is that of the logarithmic mean of the two ends' excess over the room. By hand, with 50 W/m2,
/// 0.051 and 0.06 m2 K/W and a drop of 8 K: surface (50/8.92)^(1/1.1) = 4.79 K, mean 4.79 + 50 x 0.111 = 10.34 K, supply
/// 8 / (1 - exp(-8/10.34)) = 14.86 K above the room.
#[test]
fn a_floor_at_rest_follows_the_logarithmic_mean_of_its_standard() {
    let (_, floor, heat_w) = all().remove(5);
    let supply_c = ROOM_C + 14.86;
    let (gives_w, _) = at_rest(&floor, heat_w, supply_c, heat_w / 8.0);
    assert!((gives_w - 3000.0).abs() < 6.0, "{gives_w} W");
}
