//! A week of two hand-made plants: heat adds up, the step does not matter, the same seed gives the same week, and the
//! figures are those of a heating plant.

mod common;

use common::{ColdWeek, Double, large, small};
use heatwright_sim::{Ideal, Options, Plant, Run, plant::Trip, run, run_checked};

fn week(plant: &Plant, options: &Options) -> Run {
    run(plant, &mut Double::new(plant), &mut Ideal::new(plant), &ColdWeek, options, &mut ()).unwrap()
}

#[test]
fn heat_adds_up_and_half_the_step_changes_nothing_that_matters() {
    for (name, plant) in [("small", small()), ("large", large())] {
        let fresh = || -> heatwright_sim::run::Fresh { (Box::new(Double::new(&plant)), Box::new(Ideal::new(&plant))) };
        let run = run_checked(&plant, &fresh, &ColdWeek, &Options::default(), &mut ()).unwrap();
        let b = run.balance;
        let half = b.half_step.unwrap();
        assert!(b.fuel_kwh > 500.0, "{name} hardly fired: {b:?}");
        // The scheme conserves energy to rounding; the promise to the user is 0.5 %.
        assert!(b.water_percent.abs() < 1e-6 && b.rooms_percent.abs() < 1e-6, "{name}: {b:?}");
        assert!(half.worst_percent() < 0.5, "{name}: {half:?}");
        assert!(b.sound());
    }
}

#[test]
fn rooms_hold_their_temperature_and_the_fuel_fits_the_losses() {
    for (name, plant) in [("small", small()), ("large", large())] {
        let run = week(&plant, &Options::default());
        for z in &run.summary.zones {
            let setback = plant.zones[z.zone.index()].thermostat.schedule.is_some();
            let held = if setback { 17.0..20.1 } else { 19.7..20.3 };
            assert!(held.contains(&z.mean_c), "{name}: {z:?}");
            assert!(z.lowest_c > 16.0 && z.highest_c < 22.5, "{name}: {z:?}");
        }
        // Degree-days by hand: loss coefficient times mean difference times hours, less gains.
        let need_kwh: f64 = run
            .summary
            .zones
            .iter()
            .map(|z| plant.zones[z.zone.index()].loss_w_k() * (z.mean_c - run.summary.outdoor_mean_c) * 0.168)
            .sum::<f64>()
            - run.balance.gains_kwh;
        let off = run.balance.emitters_kwh / need_kwh - 1.0;
        assert!(
            off.abs() < 0.02,
            "{name}: emitters gave {} kWh, the rooms needed {need_kwh}",
            run.balance.emitters_kwh
        );
        for b in &run.summary.boilers {
            assert!((0.84..0.97).contains(&b.efficiency), "{name}: {b:?}");
            assert!(b.water_max_c < 93.0, "{name}: {b:?}");
            // Condensate never exceeds what the fuel's hydrogen can make: 0.1457 kg/kWh, from 2 mol of water per 890.36 kJ.
            assert!(b.condensate_kg < 0.1457 * b.fuel_kwh, "{name}: {b:?}");
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_week_and_another_seed_another() {
    let plant = small();
    let day = Options { duration_s: 86_400.0, warm_up_s: 0.0, ..Options::default() };
    let first = week(&plant, &day);
    assert_eq!(first, week(&plant, &day));
    assert_ne!(first.state.sensors, week(&plant, &Options { seed: 2, ..day }).state.sensors);
}

#[test]
fn low_load_makes_a_boiler_short_cycle_and_a_small_minimum_cures_it() {
    // One small zone on a boiler far too big for it.
    let cycles = |minimum_share: f64, water_l: f64| {
        let mut plant = small();
        plant.zones[1].thermostat.set_c = 5.0;
        plant.zones[1].thermostat.setback_c = 5.0;
        plant.boilers[0].input_w = 60_000.0;
        plant.boilers[0].flow_kg_s *= 2.5;
        // Wider than the 20 K that full fire puts on the water, or the water between boiler and tees alone sets the pace.
        plant.boilers[0].control.on_below_k = 12.0;
        plant.boilers[0].control.off_above_k = 14.0;
        plant.boilers[0].minimum_share = minimum_share;
        plant.header = common::header(water_l);
        let run = week(&plant, &Options { duration_s: 2.0 * 86_400.0, ..Options::default() });
        run.summary.boilers[0]
    };
    let (on_off, modulating, buffered) = (cycles(1.0, 40.0), cycles(0.1, 40.0), cycles(1.0, 1500.0));
    assert!(on_off.short_cycles > 50, "{on_off:?}");
    assert!(on_off.starts_per_h_max > 6, "{on_off:?}");
    assert!(modulating.short_cycles < on_off.short_cycles / 4, "{modulating:?}");
    assert!(buffered.starts < on_off.starts / 3, "{buffered:?}");
}

#[test]
fn what_held_a_zone_cold_and_what_opened_is_told() {
    let day = Options { duration_s: 86_400.0, ..Options::default() };
    // A zone whose pump never runs calls in vain.
    let mut p = small();
    p.points.relays[0] = heatwright_core::RelayUse::Spare;
    let z = week(&p, &day).summary.zones[0];
    assert!(z.cold_h > 10.0 && z.cold_held_h > 0.9 * z.cold_h && z.cold_flowing_h == 0.0, "{z:?}");
    // A zone that loses five times what its emitter gives is cold with its water flowing.
    let mut p = small();
    p.zones[0].loss_w *= 5.0;
    let z = week(&p, &day).summary.zones[0];
    assert!(z.cold_h > 10.0 && z.cold_flowing_h > 0.9 * z.cold_h, "{z:?}");
    // A limit set into the working temperature opens; where it belongs it does not.
    let times = |open_c: f64| {
        let mut p = small();
        let Trip::BoilerAbove { open_c: at, close_c, .. } = &mut p.safeties[0].trip else { unreachable!() };
        (*at, *close_c) = (open_c, open_c - 8.0);
        let opened = week(&p, &day).summary.opened;
        assert_eq!(opened.len(), 1, "the flow switch opens at rest and is not counted");
        opened[0].times
    };
    assert_eq!(times(98.0), 0);
    assert!(times(45.0) > 0);
}

#[test]
fn return_water_below_the_limit_and_cold_taps_are_counted() {
    let mut p = large();
    p.boilers[0].return_min_c = Some(100.0);
    let s = week(&p, &Options::default()).summary;
    let (b, other) = (s.boilers[0], s.boilers[1]);
    assert!((b.return_cold_h - b.hours_h).abs() < 1e-9 && b.hours_h > 10.0 && other.return_cold_h == 0.0, "{b:?}");
    assert!(s.tank.unwrap().tap_short_h < 24.0);
    p.tank.as_mut().unwrap().draw.use_c = 90.0;
    assert!(week(&p, &Options::default()).summary.tank.unwrap().tap_short_h > 24.0);
}
