//! Zones against something outside the project: SciPy's `solve_ivp`, a first-order step, a cool-down.

mod common;

use common::small;
use heatwright_core::{Inputs, Instant, Outputs, RelayUse, outputs::Stated};
use heatwright_sim::{
    Control, Emitter, Ideal, LinkError, Options, Plant,
    emitter::{MeanRule, Rating},
    outdoor::Steady,
    plant::Gains,
    run,
    run::{Sample, Watch},
};

const REFERENCE: &str = include_str!("data/zone_reference.csv");

/// Root mean square of the differences between two columns.
fn rms(a: &[f64], b: &[f64]) -> f64 {
    assert_eq!(a.len(), b.len());
    (a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum::<f64>() / a.len() as f64).sqrt()
}

/// The zone of `scripts/reference_zone.py`, stepped alone with a given supply.
fn stepped(emitter: Emitter, shift_c: f64, loss_factor: f64, dt_s: f64) -> Vec<[f64; 4]> {
    let loss_w = 6000.0 * loss_factor;
    let mut z = small().zones[0].clone();
    z.loss_w = loss_w;
    z.air_j_k = 3.0e6;
    z.mass_j_k = 2.0e7;
    z.air_mass_w_k = 2500.0;
    z.radiant_share = 0.3;
    z.emitter = emitter;
    z.water_l = 1e-9;
    z.metal_j_k = 200_000.0;
    z.gains = Gains { occupied_w: 250.0, setback_w: 250.0, schedule: None };
    let model = heatwright_sim::zone::ZoneModel::new(&z, &small().fluid, dt_s);
    let mut s = heatwright_sim::zone::ZoneState { air_c: 18.0, mass_c: 18.0, water_c: 20.0, slab_c: 20.0 };
    let tau = std::f64::consts::TAU;
    let mut rows = vec![[s.air_c, s.mass_c, s.water_c, s.slab_c]];
    let per_row = (300.0 / dt_s).round() as usize;
    for step in 1..=(24.0 * 3600.0 / dt_s).round() as usize {
        let (start_s, end_s) = ((step - 1) as f64 * dt_s, step as f64 * dt_s);
        let supply_c = |t: f64| 60.0 + shift_c + 8.0 * (tau * t / 7200.0).sin();
        let outdoor_c = -5.0 + 6.0 * (tau * end_s / 86_400.0).sin();
        let flow_w_k = if start_s % 3600.0 < 2400.0 { 600.0 } else { 0.0 };
        model.step_alone(&mut s, flow_w_k, supply_c(end_s), outdoor_c, 250.0);
        if step % per_row == 0 {
            rows.push([s.air_c, s.mass_c, s.water_c, s.slab_c]);
        }
    }
    rows
}

fn reference(column: usize) -> Vec<f64> {
    let rows = REFERENCE.lines().skip(2).map(|l| l.split(',').nth(column).unwrap().parse().unwrap());
    rows.collect()
}

fn radiator() -> Emitter {
    let rating = Rating { heat_w: 7000.0, supply_c: 75.0, return_c: 65.0, room_c: 20.0 };
    Emitter::Power { rating, exponent: 1.3, mean: MeanRule::Arithmetic, heating_effect: 1.0 }
}

#[test]
fn a_radiator_zone_follows_scipy_within_two_hundredths_of_a_kelvin() {
    let rows = stepped(radiator(), 0.0, 1.0, 1.0);
    for (i, name) in ["air", "mass", "water"].iter().enumerate() {
        let mine: Vec<f64> = rows.iter().map(|r| r[i]).collect();
        let off = rms(&mine, &reference(1 + i));
        assert!(off < 0.02, "{name}: {off} K");
    }
    // The check can fail: a loss that is two percent off is seen.
    let wrong: Vec<f64> = stepped(radiator(), 0.0, 1.02, 1.0).iter().map(|r| r[0]).collect();
    assert!(rms(&wrong, &reference(1)) > 0.02);
}

#[test]
fn a_floor_zone_follows_scipy_within_two_hundredths_of_a_kelvin() {
    let floor = Emitter::Floor {
        area_m2: 80.0,
        water_to_slab_m2k_w: 0.04,
        slab_to_surface_m2k_w: 0.06,
        slab_j_k: 80.0 * 120_000.0,
    };
    let rows = stepped(floor, -22.0, 1.0, 1.0);
    for (i, name) in ["air", "mass", "water", "slab"].iter().enumerate() {
        let mine: Vec<f64> = rows.iter().map(|r| r[i]).collect();
        let off = rms(&mine, &reference(4 + i));
        assert!(off < 0.02, "{name}: {off} K");
    }
}

/// A controller that keeps everything off, or one pump on.
struct Fixed(Option<usize>);

impl Control for Fixed {
    fn tick(&mut self, _: Instant, _: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        *outputs = Outputs::default();
        if let Some(relay) = self.0 {
            outputs.relays[relay] = Stated { on: true, ..Stated::default() };
        }
        Ok(())
    }
    fn next_due(&self) -> Option<Instant> {
        None
    }
}

/// Air temperature of the first zone over time.
struct Air(Vec<(f64, f64)>);

impl Watch for Air {
    fn sample(&mut self, s: &Sample<'_>) {
        self.0.push((s.at_s, s.state.zones.get(0).unwrap().nodes.air_c));
    }
}

/// A plant whose first zone is one capacity of `tau_h` behind its loss, with no water to speak of.
fn one_node(start_c: f64, tau_h: f64) -> Plant {
    let mut plant = small();
    let z = &mut plant.zones[0];
    z.thermostat.set_c = start_c;
    z.gains = Gains::default();
    z.mass_j_k = 0.0;
    z.air_mass_w_k = 0.0;
    z.air_j_k = tau_h * 3600.0 * z.loss_w_k();
    z.water_l = 0.01;
    z.metal_j_k = 0.0;
    plant
}

fn crossing_h(rows: &[(f64, f64)], level_c: f64) -> f64 {
    let after = rows.iter().position(|r| r.1 <= level_c).expect("never reached");
    let ((t0, y0), (t1, y1)) = (rows[after - 1], rows[after]);
    (t0 + (t1 - t0) * (y0 - level_c) / (y0 - y1)) / 3600.0
}

#[test]
fn a_room_cools_down_on_its_exponential() {
    // First-order cool-down, t = tau ln((21 + 10)/(16 + 10)) with tau = 40 h: 7.036 h (heat balance of one node).
    let plant = one_node(21.0, 40.0);
    let options = Options { duration_s: 9.0 * 3600.0, warm_up_s: 0.0, sample_s: 60.0, ..Options::default() };
    let mut air = Air(Vec::new());
    let outdoor = Steady { outdoor_c: -10.0 };
    run(&plant, &mut Fixed(None), &mut Ideal::new(&plant), &outdoor, &options, &mut air).unwrap();
    let took_h = crossing_h(&air.0, 16.0);
    assert!((took_h - 7.036).abs() < 0.02, "{took_h} h");
}

#[test]
fn a_step_outdoors_is_answered_in_the_known_shares() {
    // First-order step: 63.21, 86.47, 95.02, 98.17 and 99.33 % after 1 to 5 time constants.
    let plant = one_node(20.0, 2.0);
    let options = Options { duration_s: 10.0 * 3600.0, warm_up_s: 0.0, sample_s: 7200.0, ..Options::default() };
    let mut air = Air(Vec::new());
    run(&plant, &mut Fixed(None), &mut Ideal::new(&plant), &Steady { outdoor_c: 0.0 }, &options, &mut air).unwrap();
    for (n, share) in [(1, 0.6321), (2, 0.8647), (3, 0.9502), (4, 0.9817), (5, 0.9933)] {
        let answered = 1.0 - air.0[n].1 / 20.0;
        assert!((answered - share).abs() < 5e-4, "after {n} time constants: {answered}");
    }
}

#[test]
fn hand_run_water_gives_no_heat_that_no_flame_made() {
    // Pumps alone only spread what is stored: rooms cool, nothing is created.
    let plant = small();
    let pump = plant.points.relays.iter().position(|u| matches!(u, RelayUse::Pump(_)));
    let options = Options { duration_s: 6.0 * 3600.0, warm_up_s: 0.0, ..Options::default() };
    let outdoor = Steady { outdoor_c: -5.0 };
    let done = run(&plant, &mut Fixed(pump), &mut Ideal::new(&plant), &outdoor, &options, &mut ()).unwrap();
    assert_eq!(done.balance.fuel_kwh, 0.0);
    assert!(done.summary.zones[0].lowest_c < 19.0);
    assert!(done.balance.sound(), "{:?}", done.balance);
}
