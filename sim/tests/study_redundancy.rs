//! Boilers that fail in the cold: against the closed form of a cooling room, and against common sense.

mod common;

use common::{config, sized, small};
use heatwright_core::BoilerId;
use heatwright_sim::{
    Control, Options, Plant,
    control::InProcess,
    outdoor::Steady,
    study::redundancy::{Case, Outage, largest, study},
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
            let found_h = z.below_h[k].unwrap();
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
    let lowest = |k: usize| found[k].coldest().unwrap().lowest_c;
    assert!(lowest(0) > 18.0, "all boilers keep the design day: {found:#?}");
    assert!(lowest(1) < lowest(0) - 1.0, "half the plant does not keep the design day: {found:#?}");
    assert!(lowest(2) < lowest(1) - 1.0, "{found:#?}");
    assert_eq!(found[0].first_below(0), None);
    // A mark above what the rooms are kept at is no consequence of the failure.
    let warm = &ran(&plant, &[Case::None], -15.0, &[25.0])[0];
    assert!(warm.zones.iter().all(|z| z.below_h[0] == Some(0.0)) && warm.first_below(0).is_none(), "{warm:?}");
    let (_, first_h) = found[2].first_below(0).unwrap();
    assert!(first_h > 0.5 && first_h < HOURS_H, "{first_h}");
}

#[test]
fn one_boiler_has_nobody_to_take_over() {
    assert_eq!(Case::all_of(&small()), [Case::None, Case::All]);
}
