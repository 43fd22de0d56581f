//! Closely spaced tees and low-loss headers against their mass and heat balance.

mod common;

use common::{ColdWeek, small};
use heatwright_core::{Inputs, Instant, Outputs, config::BoilerDrive, outputs::Stated};
use heatwright_sim::{Control, Ideal, LinkError, Options, Plant, outdoor::Steady, run};

/// Every relay on.
struct AllOn;

impl Control for AllOn {
    fn tick(&mut self, _: Instant, _: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        *outputs = Outputs::default();
        outputs.relays.fill(Stated { on: true, ..Stated::default() });
        Ok(())
    }
    fn next_due(&self) -> Option<Instant> {
        None
    }
}

/// A plant in a steady state: one boiler on fire without end, one zone that can take it all.
fn steady(boiler_kg_s: f64, zone_kg_s: f64) -> Plant {
    let mut plant = small();
    plant.boilers[0].flow_kg_s = boiler_kg_s;
    plant.boilers[0].flow_min_kg_s = 0.0;
    plant.boilers[0].minimum_share = 1.0;
    plant.boilers[0].drive = BoilerDrive::Rate;
    plant.boilers[0].control.limit_c = 150.0;
    plant.boilers[0].jacket_w_k = 0.0;
    plant.safeties.clear();
    plant.points.contacts.truncate(2);
    plant.header.loss_w_k = 0.0;
    plant.zones.truncate(1);
    plant.points.contacts.truncate(1);
    plant.zones[0].flow_kg_s = zone_kg_s;
    plant.zones[0].loss_w = 20_000.0;
    plant.zones[0].emitter = heatwright_sim::Emitter::radiator(25_000.0, 1.3);
    plant.zones[0].mass_j_k = 0.0;
    plant.zones[0].air_j_k = 2e5;
    plant
}

/// Supply from the tees and return to the boiler by the mass and heat balance:
/// `qs > qp: Ts = (qp Tb + (qs-qp) Tr)/qs, return = Tr`; otherwise `Ts = Tb, return = (qs Tr + (qp-qs) Tb)/qp`.
#[test]
fn tees_mix_by_the_balance_of_mass_and_heat() {
    let balance = |qp: f64, qs: f64, tb: f64, tr: f64| {
        if qs > qp { ((qp * tb + (qs - qp) * tr) / qs, tr) } else { (tb, (qs * tr + (qp - qs) * tb) / qp) }
    };
    // The worked figures, degF: 180 and 150 with 40 against 60 gallons a minute, and the other way round.
    assert_eq!(balance(40.0, 60.0, 180.0, 150.0), (170.0, 150.0));
    assert_eq!(balance(60.0, 40.0, 180.0, 150.0), (180.0, 160.0));
    assert_eq!(balance(50.0, 50.0, 180.0, 150.0), (180.0, 150.0));
    for (qp, qs) in [(0.4, 0.6), (0.6, 0.4), (0.5, 0.5), (0.2, 1.0)] {
        let plant = steady(qp, qs);
        let options = Options { duration_s: 60.0, warm_up_s: 40.0 * 3600.0, ..Options::default() };
        let outdoor = Steady { outdoor_c: -10.0 };
        let end = run(&plant, &mut AllOn, &mut Ideal::new(&plant), &outdoor, &options, &mut ()).unwrap().state;
        let (tb, tr) = (end.boilers[0].state.water_c, end.zones.get(0).unwrap().nodes.water_c);
        let (supply_c, return_c) = balance(qp, qs, tb, tr);
        assert!(tb - tr > 5.0, "nothing to mix: {tb} and {tr}");
        assert!((end.header.supply_c - supply_c).abs() < 1e-3, "{qp}/{qs}: {} not {supply_c}", end.header.supply_c);
        assert!(
            (end.boilers[0].flux.return_c - return_c).abs() < 1e-3,
            "{qp}/{qs}: {:?} not {return_c}",
            end.boilers[0].flux
        );
    }
}

/// Condensing follows the return: below the dew point there is condensate, well above none.
#[test]
fn a_cold_return_condenses_and_a_hot_one_does_not() {
    let week = |target_c: f64| {
        let mut plant = small();
        plant.boilers[0].drive = BoilerDrive::DemandOnly;
        plant.boilers[0].control.fixed_target_c = target_c;
        let size = if target_c < 60.0 { 3.0 } else { 1.0 };
        for z in &mut plant.zones {
            z.emitter = heatwright_sim::Emitter::radiator(size * z.loss_w, 1.3);
        }
        let options = Options { duration_s: 2.0 * 86_400.0, ..Options::default() };
        let mut control = common::Double::new(&plant);
        run(&plant, &mut control, &mut Ideal::new(&plant), &ColdWeek, &options, &mut ()).unwrap().summary.boilers[0]
    };
    let (cold, hot) = (week(42.0), week(85.0));
    assert!(cold.condensing_h > 0.9 * cold.hours_h && cold.efficiency > 0.92, "{cold:?}");
    assert!(hot.condensing_h < 0.2 * hot.hours_h && hot.efficiency < 0.89, "{hot:?}");
    assert!(cold.condensate_kg > 4.0 * hot.condensate_kg, "{cold:?} {hot:?}");
}
