//! Why a zone was cold: each cause planted by hand in a plant that keeps its rooms, and named.

mod common;

use common::{config, sized};
use heatwright_core::{
    Config, Level, Permille, Schedule, ScheduleId, Span, Temp, TempDelta, config::Circulation, schedule::Step,
};
use heatwright_sim::{
    Emitter, Options, Plant,
    control::InProcess,
    outdoor::Steady,
    plant::{Fan, Trip},
    run::{
        Run, run,
        why::{Cause, HOT_K},
    },
    wires::Ideal,
};

const OUTDOOR_C: f64 = -15.0;

fn ran_with(plant: &Plant, settings: Config) -> Run {
    let options = Options { duration_s: 86_400.0, warm_up_s: 12.0 * 3600.0, ..Options::default() };
    let mut control = InProcess::new(settings);
    run(plant, &mut control, &mut Ideal::new(plant), &Steady { outdoor_c: OUTDOOR_C }, &options, &mut ()).unwrap()
}

fn ran(plant: &Plant) -> Run {
    ran_with(plant, config(plant))
}

fn good() -> Plant {
    let mut plant = sized(4, 2);
    for b in &mut plant.boilers {
        b.input_w *= 1.3;
        b.flow_kg_s *= 1.3;
    }
    plant
}

/// The cause that a zone had longest.
fn longest(run: &Run, zone: usize) -> Option<(Cause, f64)> {
    run.why.cold.iter().find(|c| c.zone.index() == zone).map(|c| (c.cause, c.hours_h))
}

#[track_caller]
fn is(run: &Run, zone: usize, cause: Cause) {
    let (found, hours) = longest(run, zone).unwrap();
    assert_eq!(found, cause, "{:#?}", run.why);
    assert!(hours > 1.0, "{:#?}", run.why);
}

#[test]
fn a_plant_that_keeps_its_rooms_has_no_cause_of_cold() {
    let r = ran(&good());
    let cold_h: f64 = r.why.cold.iter().map(|c| c.hours_h).sum();
    assert!(cold_h < 0.5, "{:#?}", r.why);
    assert!(r.why.boilers_short.longest_h < 0.5 && r.why.stage_short.longest_h < 0.5, "{:#?}", r.why);
}

#[test]
fn an_emitter_that_is_too_small_needs_more_than_the_target() {
    let mut plant = good();
    if let Emitter::Power { rating, .. } = &mut plant.zones[1].emitter {
        rating.heat_w *= 0.5;
    }
    let r = ran(&plant);
    is(&r, 1, Cause::Target);
    let c = r.why.cold.iter().find(|c| c.zone.index() == 1).unwrap();
    assert!(c.needed_c.unwrap() > c.target_c.unwrap() + 5.0, "{c:?}");
    assert!((c.outdoor_c - OUTDOOR_C).abs() < 0.02 && (c.hours_h - r.summary.zones[1].cold_h).abs() < 1.0, "{c:?}");
}

/// The target is far below 89 °C: the aquastat never makes, and no emitter is to blame.
#[test]
fn a_fan_that_waits_for_hotter_water_is_named() {
    let with = |aquastat_c: f64| {
        let mut plant = good();
        plant.zones[1].fan =
            Some(Fan { aquastat_c: Some(aquastat_c), differential_k: 5.0, still_share: 0.1, power_w: 0.0 });
        ran(&plant)
    };
    let waits = with(89.0);
    is(&waits, 1, Cause::Fan);
    let c = waits.why.cold.iter().find(|c| c.zone.index() == 1).unwrap();
    assert!(c.target_c.unwrap() < 85.0 && c.hours_h > 0.9 * waits.summary.zones[1].cold_h, "{c:?}");
    let runs = with(30.0);
    assert!(!runs.why.cold.iter().any(|c| c.cause == Cause::Fan), "{:#?}", runs.why);
}

#[test]
fn a_flow_that_is_too_small_is_named() {
    let mut plant = good();
    plant.zones[1].flow_kg_s *= 0.1;
    is(&ran(&plant), 1, Cause::Flow);
}

#[test]
fn boilers_that_are_too_small_burn_at_full_fire_all_day() {
    let mut plant = good();
    for b in &mut plant.boilers {
        b.input_w *= 0.3;
    }
    let r = ran(&plant);
    is(&r, 0, Cause::Boilers);
    assert!(r.why.boilers_short.longest_h > 3.0 && r.why.boilers_short.short_k > 3.0, "{:#?}", r.why);
    assert!(r.why.stage_short.longest_h < 0.5, "{:#?}", r.why);
}

#[test]
fn a_boiler_that_stands_by_too_long_is_not_a_plant_that_is_too_small() {
    let plant = good();
    let mut settings = config(&plant);
    settings.staging.up_error_k_s = 10_000_000;
    settings.staging.up_rate = Permille::new(1000);
    settings.staging.rate_hold = Span::from_h(24);
    let r = ran_with(&plant, settings);
    assert!(r.why.stage_short.longest_h > 3.0, "{:#?}", r.why);
    assert!(r.why.boilers_short.longest_h < 0.5, "{:#?}", r.why);
    is(&r, 0, Cause::Stage);
}

#[test]
fn a_limit_that_opens_is_named_before_the_boilers() {
    let mut plant = good();
    for s in &mut plant.safeties {
        if let Trip::BoilerAbove { open_c, close_c, .. } = &mut s.trip {
            (*open_c, *close_c) = (45.0, 38.0);
        }
    }
    let r = ran(&plant);
    let causes: Vec<Cause> = r.why.cold.iter().filter(|c| c.zone.index() == 0).map(|c| c.cause).collect();
    assert!(causes.contains(&Cause::Limit) && !causes.contains(&Cause::Boilers), "{:#?}", r.why);
}

#[test]
fn a_zone_that_comes_back_from_a_setback_is_not_short_of_anything() {
    let mut plant = good();
    let z = &mut plant.zones[1];
    (z.thermostat.set_c, z.thermostat.setback_c) = (20.0, 14.0);
    z.thermostat.schedule = Some(ScheduleId(0));
    assert!(plant.schedules.first().is_some_and(|s: &Schedule| !s.steps.is_empty()));
    let r = ran(&plant);
    let recovery = r.why.cold.iter().find(|c| c.zone.index() == 1 && c.cause == Cause::Recovery);
    assert!(recovery.is_some_and(|c| c.hours_h > 0.3), "{:#?}", r.why);
}

#[test]
fn a_thermostat_that_swings_wide_is_cold_before_it_calls() {
    let mut plant = good();
    (plant.zones[1].thermostat.differential_k, plant.zones[1].thermostat.cycles_per_h) = (6.0, 0.0);
    // Large enough to get it up to where the thermostat is satisfied.
    if let Emitter::Power { rating, .. } = &mut plant.zones[1].emitter {
        rating.heat_w *= 2.0;
    }
    let r = ran(&plant);
    let silent = r.why.cold.iter().find(|c| c.zone.index() == 1 && c.cause == Cause::Silent);
    assert!(silent.is_some_and(|c| c.hours_h > 1.0), "{:#?}", r.why);
}

#[test]
fn weather_that_is_too_warm_for_heating_holds_the_water_off() {
    let plant = good();
    let mut settings = config(&plant);
    settings.reset.warm_weather_off = Temp::from_c(-20);
    is(&ran_with(&plant, settings), 1, Cause::WarmWeather);
}

/// A boiler whose own limit lies in its working range is stopped by it, and the zones are short by it.
#[test]
fn an_own_limit_below_the_target_is_told() {
    let free = ran(&good());
    assert!(free.summary.boilers.iter().all(|b| b.limit_stops == 0), "{:#?}", free.summary.boilers);
    assert_eq!(free.why.own_limit_short.hours_h, 0.0);
    let mut plant = good();
    for b in &mut plant.boilers {
        (b.control.limit_c, b.control.limit_reset_k) = (45.0, 8.0);
    }
    let run = ran(&plant);
    is(&run, 0, Cause::OwnLimit);
    let stops: u32 = run.summary.boilers.iter().map(|b| b.limit_stops).sum();
    let short = run.why.own_limit_short;
    assert!(stops > 10 && short.hours_h > 1.0 && short.short_k > 3.0, "{stops}: {short:?}");
}

/// Its emitter is twice what the curve is made for: its own thermostat holds it, and nothing does once its water circulates.
#[test]
fn a_zone_that_gets_heat_without_a_call_is_seen_to_be_hot() {
    let mut plant = good();
    if let Emitter::Power { rating, .. } = &mut plant.zones[1].emitter {
        rating.heat_w *= 2.0;
    }
    let r = ran(&plant);
    assert!(r.why.hot.is_empty(), "{:#?}", r.why.hot);
    let mut settings = config(&plant);
    settings.zones[1].circulation = Circulation::Constant;
    let r = ran_with(&plant, settings);
    let set_c = plant.zones[1].thermostat.set_c;
    let [hot] = r.why.hot[..] else { panic!("{:#?}", r.why.hot) };
    assert!(hot.zone.index() == 1 && hot.hours_h > 12.0 && hot.air_c > set_c + HOT_K, "{hot:?}");
    assert!(hot.air_c <= r.summary.zones[1].highest_c && hot.supply_c > hot.air_c, "{hot:?}");
    // A weather that stands still is moved a little twice a day.
    assert!((hot.outdoor_c - OUTDOOR_C).abs() < 0.01, "{hot:?}");
}

/// A curve that is lowered all day under rooms that are not: its own setback, and the curve where that alone would not do.
#[test]
fn a_curve_that_is_set_back_is_told_from_one_that_is_too_low() {
    let mut plant = good();
    plant.schedules[0].steps = [Step::new(0, Level::Setback)].into_iter().collect();
    let ran = |short: f64| {
        let mut settings = config(&plant);
        let lower = TempDelta::from_centi_k((short * 100.0) as i16);
        settings.reset.points.iter_mut().for_each(|p| p.supply = p.supply.minus(lower));
        let options = Options {
            duration_s: 86_400.0,
            warm_up_s: 12.0 * 3600.0,
            curve_setback: Some((ScheduleId(0), 16.0)),
            ..Options::default()
        };
        let mut control = InProcess::new(settings);
        run(&plant, &mut control, &mut Ideal::new(&plant), &Steady { outdoor_c: OUTDOOR_C }, &options, &mut ()).unwrap()
    };
    is(&ran(15.0), 1, Cause::Setback);
    is(&ran(35.0), 1, Cause::Target);
}
