//! Boilers that fail in the cold: against the closed form of a cooling room, and against common sense.

mod common;

use common::{config, sized, small};
use heatwright_core::BoilerId;
use heatwright_sim::{
    Control, Emitter, Options, Plant,
    control::InProcess,
    outdoor::Steady,
    study::redundancy::{Case, Outage, Passed, UNDER_SET_K, largest, study},
};

const HOURS_H: f64 = 30.0;

fn ran(plant: &Plant, cases: &[Case], outdoor_c: f64, marks_c: &[f64]) -> Vec<Outage> {
    let settings = config(plant);
    let options = Options { duration_s: HOURS_H * 3600.0, warm_up_s: 6.0 * 3600.0, ..Options::default() };
    let outdoor = Steady { outdoor_c };
    let fresh = || -> Box<dyn Control + Send> { Box::new(InProcess::new(settings.clone())) };
    study(plant, cases, (&outdoor, &options), (3600.0, marks_c), &fresh, &|_| {}).unwrap()
}

/// Without heat, gains or mass a room follows `t = tau ln((a0 - o)/(a1 - o))` (first-order cooling, as in any text on
/// building physics), `tau = C/U`.
#[test]
fn a_room_without_mass_cools_as_the_closed_form_says() {
    let mut plant = small();
    for z in &mut plant.zones {
        z.gains.occupied_w = 0.0;
        z.gains.setback_w = 0.0;
        // All the heat in the air, none behind it; little water, so that the emitter adds next to nothing.
        z.air_j_k = 3.0e7;
        (z.mass_j_k, z.air_mass_w_k) = (0.0, 0.0);
        (z.water_l, z.metal_j_k) = (0.5, 0.0);
    }
    let outage = &ran(&plant, &[Case::All], -15.0, &[16.0, 8.0])[0];
    for (z, model) in outage.zones.iter().zip(&plant.zones) {
        let tau_h = model.air_j_k / model.loss_w_k() / 3600.0;
        for (k, mark_c) in [16.0, 8.0].into_iter().enumerate() {
            let closed_h = tau_h * ((z.before_c + 15.0) / (mark_c + 15.0)).ln();
            let Passed::After(found_h) = z.below[k] else { panic!("{z:?}") };
            // The water that is still warm, and a look once a minute, account for the rest.
            assert!(
                (found_h - closed_h).abs() < 0.1 + 0.05 * closed_h,
                "{:?}: {found_h} h against {closed_h} h",
                z.zone
            );
        }
    }
}

#[test]
fn fewer_boilers_are_never_warmer_and_all_out_is_worst() {
    let mut plant = sized(4, 2);
    plant.boilers[1].input_w *= 1.5;
    assert_eq!(largest(&plant), Some(BoilerId(1)));
    assert_eq!(Case::all_of(&plant), [Case::None, Case::One(BoilerId(1)), Case::All]);
    let found = ran(&plant, &Case::all_of(&plant), -15.0, &[15.6, 4.4]);
    let lowest = |k: usize| found[k].zones.iter().map(|z| z.lowest_c).fold(f64::INFINITY, f64::min);
    assert!(lowest(0) > 18.0, "all boilers keep the design day: {found:#?}");
    assert!(lowest(1) < lowest(0) - 1.0, "half the plant does not keep the design day: {found:#?}");
    assert!(lowest(2) < lowest(1) - 1.0, "{found:#?}");
    let first = |k: usize| found[k].first(|z| z.below.first().copied());
    assert_eq!(first(0), None);
    assert!(found[0].zones.iter().all(|z| z.due_k == 0.0), "nothing is due to a failure that is none: {found:#?}");
    let (_, first_h) = first(2).unwrap();
    assert!(first_h > 0.5 && first_h < HOURS_H, "{first_h}");
    // Its own setting comes before the mark of 15.6 °C: 5 °F below 20 °C is 17.2 °C.
    let (_, own_h) = found[2].first(|z| Some(z.under_set)).unwrap();
    assert!(own_h > 0.0 && own_h < first_h, "{own_h} h, {first_h} h");
}

/// A mark above what a room is kept at is no consequence of the failure: a cool room is judged by its own setting.
#[test]
fn a_zone_is_judged_by_its_own_setting() {
    let mut plant = sized(4, 2);
    let cool = &mut plant.zones[1].thermostat;
    (cool.set_c, cool.setback_c) = (10.0, 10.0);
    let found = ran(&plant, &[Case::None, Case::One(BoilerId(0)), Case::All], -15.0, &[15.6, 4.4]);
    for o in &found {
        let z = &o.zones[1];
        assert_eq!(z.below[0], Passed::Kept, "{o:#?}");
        assert!(z.lowest_c < 15.0, "{o:#?}");
    }
    assert_eq!(found[0].zones[1].under_set, Passed::Never);
    assert_eq!(found[0].furthest().unwrap().under_set, Passed::Never);
    let out = &found[2].zones[1];
    assert!(matches!(out.under_set, Passed::After(h) if h > 0.0) && out.under_k > UNDER_SET_K, "{out:?}");
    // It is not the coldest room that is worst off, but the one furthest below its setting.
    assert_ne!(found[2].furthest().unwrap().zone, found[2].zones[1].zone, "{found:#?}");
}

/// Emitters of half the size leave a room cold with every boiler running: no failure of one is to blame for it.
#[test]
fn what_happens_anyway_is_told_apart_from_the_failure() {
    let mut plant = sized(4, 2);
    if let Emitter::Power { rating, .. } = &mut plant.zones[2].emitter {
        rating.heat_w *= 0.4;
    }
    for b in &mut plant.boilers {
        // One of them carries all, so that the first is not missed.
        b.input_w *= 2.5;
        b.flow_kg_s *= 2.5;
    }
    let found = ran(&plant, &[Case::One(BoilerId(0)), Case::None, Case::All], -15.0, &[15.6]);
    let (one, none, all) = (&found[0].zones[2], &found[1].zones[2], &found[2].zones[2]);
    assert!(matches!(none.under_set, Passed::After(_)), "{none:?}");
    assert!(matches!(one.under_set, Passed::Anyway), "{one:?}");
    assert!(one.due_k < 1.0 && one.lowest_c < 17.0, "{one:?}");
    assert!(all.due_k > one.due_k + 3.0 && matches!(all.under_set, Passed::After(_)), "{all:?}");
    // The run with all boilers is made even where nobody asks to see it.
    let alone = ran(&plant, &[Case::One(BoilerId(0))], -15.0, &[15.6]);
    assert_eq!(alone[0], found[0]);
}

#[test]
fn one_boiler_has_nobody_to_take_over() {
    assert_eq!(Case::all_of(&small()), [Case::None, Case::All]);
}
