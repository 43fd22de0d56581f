//! The curve study on plants of several zones: who governs, what is short, how well the fit follows.

mod study_plant;

use heatwright_core::{
    BoilerId, Severity, Subject, ZoneId,
    config::{ResetConfig, RotationPolicy},
};
use heatwright_sim::{
    Emitter, Plant,
    emitter::MeanRule,
    plant::Mix,
    study::{
        Finding, Issue,
        curve::{self, fit, need},
        short_cycle,
    },
    weather,
};
use proptest::prelude::*;
use study_plant::{boiler, condensing, constant_efficiency, plant, reset, zone};

/// Finned tube made for hot water, radiators for less, a floor behind a mixing valve.
fn three_zones() -> Plant {
    let fin = zone(40_000.0, 82.0, 71.0, 21.0, -20.0, 1.4, MeanRule::Arithmetic);
    let radiators = zone(30_000.0, 70.0, 55.0, 21.0, -20.0, 1.3, MeanRule::Arithmetic);
    let mut floor = zone(10_000.0, 45.0, 39.0, 21.0, -20.0, 1.1, MeanRule::Arithmetic);
    floor.emitter =
        Emitter::Floor { area_m2: 160.0, water_to_slab_m2k_w: 0.02, slab_to_surface_m2k_w: 0.05, slab_j_k: 3e7 };
    floor.mix = Some(Mix::SelfActing { set_c: 45.0, band_k: 5.0, lag_s: 30.0 });
    let b = || boiler(60_000.0, 0.2, 0.9, condensing());
    plant(-20.0, vec![fin, radiators, floor], vec![b(), b()])
}

fn codes(findings: &[Finding]) -> Vec<(Subject, &'static str)> {
    findings.iter().map(|f| (f.subject, f.issue.code())).collect()
}

#[test]
fn the_fit_follows_the_envelope_within_half_a_fahrenheit_and_never_falls_below() {
    let fit = fit::fit(&three_zones(), 18.0, 8).unwrap();
    assert!(fit.points.len() <= 8 && fit.points.len() >= 3, "{fit:?}");
    assert!(fit.above_max_k <= fit::TOLERANCE_K + 0.011, "{fit:?}");
    assert!(fit.below_max_k <= 0.005, "{fit:?}");
    assert!(fit.points.windows(2).all(|w| w[0].0 < w[1].0 && w[0].1 >= w[1].1), "{fit:?}");
    // With fewer points than it takes, the miss is told and still lies above.
    let two = fit::fit(&three_zones(), 18.0, 2).unwrap();
    assert!(two.points.len() == 2 && two.above_max_k > 1.0 && two.below_max_k <= 0.005, "{two:?}");
}

#[test]
fn a_fitted_curve_is_neither_short_nor_generous() {
    let p = three_zones();
    let fit = fit::fit(&p, 18.0, 8).unwrap();
    let study = curve::study(&p, &reset(&fit.points, 18.0), &weather::builtin().unwrap());
    let told = codes(&study.findings);
    assert!(!told.iter().any(|t| ["curve-short", "curve-generous", "flow-short"].contains(&t.1)), "{told:?}");
    assert!(study.rows.iter().all(|r| r.zones.iter().all(|z| z.surplus_k.unwrap() > -0.01)));
    assert!(study.rows.iter().all(|r| r.governing.unwrap().0 == ZoneId(0)), "the finned tube needs most throughout");
    assert!(study.year.short_kwh < 0.001 * study.year.heat_kwh, "{:?}", study.year);
}

#[test]
fn a_planted_low_curve_is_found_where_it_is_short() {
    let p = three_zones();
    let low = reset(&[(-20.0, 75.0), (18.0, 25.0)], 18.0);
    let study = curve::study(&p, &low, &weather::builtin().unwrap());
    let short = study.findings.iter().find(|f| f.issue.code() == "curve-short").unwrap();
    // More than a fifth of that zone's loss is missing where it is worst: no warning any more.
    assert_eq!((short.subject, short.severity), (Subject::Zone(ZoneId(0)), Severity::Error));
    let Issue::CurveShort { short_k, short_w, load_w, .. } = short.issue else { unreachable!() };
    assert!(short_w > curve::FAILS_SHARE * load_w, "{short:?}");
    assert!(short_k > 5.0 && short_w > 0.0 && short_w < load_w, "{short:?}");
    assert!(study.year.short_kwh > 0.0);
}

#[test]
fn a_curve_or_boilers_that_lack_more_than_a_fifth_are_errors() {
    let p = three_zones();
    let weight = |p: &Plant, reset: &ResetConfig, code: &str| {
        let study = curve::study(p, reset, &weather::builtin().unwrap());
        study.findings.into_iter().find(|f| f.issue.code() == code).map(|f| f.severity)
    };
    let fitted = fit::fit(&p, 18.0, 8).unwrap();
    // A few kelvins low is a warning, a curve that ends at 45 degrees Celsius heats nobody.
    let points: Vec<(f64, f64)> = fitted.points.iter().map(|p| (p.0, p.1 - 3.0)).collect();
    assert_eq!(weight(&p, &reset(&points, 18.0), "curve-short"), Some(Severity::Warning));
    assert_eq!(weight(&p, &reset(&[(-20.0, 45.0), (18.0, 25.0)], 18.0), "curve-short"), Some(Severity::Error));
    // Boilers of nine tenths and of half of the loss.
    let of = |share: f64| {
        let mut p = p.clone();
        let load: f64 = p.zones.iter().map(|z| z.loss_w).sum();
        let all: f64 = p.boilers.iter().map(|b| b.input_w).sum();
        p.boilers.iter_mut().for_each(|b| b.input_w *= share * load / all);
        weight(&p, &reset(&fitted.points, 18.0), "boilers-short")
    };
    // Efficiency takes its part of the input.
    assert_eq!((of(1.0), of(0.5), of(1.5)), (Some(Severity::Warning), Some(Severity::Error), None));
}

#[test]
fn a_planted_hot_curve_is_generous_and_condenses_less() {
    let p = three_zones();
    let weather = weather::builtin().unwrap();
    let hot = curve::study(&p, &reset(&[(-20.0, 90.0), (18.0, 75.0)], 18.0), &weather);
    let fitted = hot.year_fitted.unwrap();
    assert!(codes(&hot.findings).contains(&(Subject::Plant, "curve-generous")), "{:?}", hot.findings);
    assert!(codes(&hot.findings).contains(&(Subject::Plant, "seldom-condensing")), "{:?}", hot.findings);
    assert!(hot.year.hours_condensing < fitted.hours_condensing);
    assert!(hot.year.efficiency().unwrap() < fitted.efficiency().unwrap());
    assert!((hot.year.heat_kwh - fitted.heat_kwh).abs() < 1e-3 * fitted.heat_kwh, "the zones get the same heat");
    assert!((hot.year.hours - 8759.0).abs() < 1e-6);
}

#[test]
fn a_flow_that_cannot_carry_the_load_is_an_error() {
    let mut p = three_zones();
    p.zones[1].flow_kg_s *= 0.1;
    let study = curve::study(&p, &reset(&[(-20.0, 82.0), (18.0, 40.0)], 18.0), &weather::builtin().unwrap());
    let f = study.findings.iter().find(|f| f.issue.code() == "flow-short").unwrap();
    assert_eq!((f.subject, f.severity), (Subject::Zone(ZoneId(1)), Severity::Error));
    for z in &mut p.zones {
        z.flow_kg_s = 0.0;
    }
    assert!(matches!(fit::fit(&p, 18.0, 8), Err(fit::FitError::NothingToServe { .. })));
    assert!(matches!(fit::fit(&three_zones(), -25.0, 8), Err(fit::FitError::Range { .. })));
    assert!(matches!(fit::fit(&three_zones(), f64::NAN, 8), Err(fit::FitError::Range { .. })));
}

/// The mass and heat balance of closely spaced tees: where the zones draw 60 and the boilers move 40, 180 °F at the boiler and
/// 150 °F back give 170 °F supply; so 170 °F supply needs 180 °F at the boiler. Worked from the balance.
#[test]
fn the_header_dilutes_as_the_tees_balance_says() {
    use study_plant::{c_to_f, f_to_c};
    let z = zone(60_000.0, f_to_c(170.0), f_to_c(150.0), f_to_c(70.0), f_to_c(0.0), 1.3, MeanRule::Arithmetic);
    let flow = z.flow_kg_s;
    let of = |share: f64, supply_f: f64| {
        let p =
            plant(f_to_c(0.0), vec![z.clone()], vec![boiler(80_000.0, 0.2, flow * share, constant_efficiency(0.9))]);
        let s = curve::study(
            &p,
            &reset(&[(-30.0, f_to_c(supply_f)), (20.0, f_to_c(supply_f))], 18.0),
            &weather::builtin().unwrap(),
        );
        (s.rows[0].water.unwrap(), s.findings)
    };
    let (w, findings) = of(2.0 / 3.0, 170.0);
    assert!(
        (c_to_f(w.boiler_outlet_c) - 180.0).abs() < 0.05 && (c_to_f(w.boiler_return_c) - 150.0).abs() < 0.05,
        "{w:?}"
    );
    assert!(codes(&findings).contains(&(Subject::Header, "header-dilutes")));
    // The other way round, 60 through the boilers and 40 drawn: the boilers see their own water come back warmer.
    let (w, findings) = of(1.5, 170.0);
    assert!((c_to_f(w.boiler_outlet_c) - 170.0).abs() < 0.05, "{w:?}");
    assert!((c_to_f(w.boiler_return_c) - (170.0 - 20.0 / 1.5)).abs() < 0.05, "{w:?}");
    assert!(!codes(&findings).contains(&(Subject::Header, "header-dilutes")));
}

/// Months are parts of the year: their sums are the year's, and a month by itself is a series of its own days.
#[test]
fn the_months_add_up_to_the_year() {
    let (p, weather) = (three_zones(), weather::builtin().unwrap());
    let r = reset(&[(-20.0, 82.0), (18.0, 40.0)], 18.0);
    let study = curve::study(&p, &r, &weather);
    let sum = |of: fn(&curve::Month) -> f64| study.months.iter().map(of).sum::<f64>();
    let y = &study.year;
    for (name, months, year) in [
        ("hours", sum(|m| m.hours), y.hours),
        ("heating", sum(|m| m.hours_heating), y.hours_heating),
        ("condensing", sum(|m| m.hours_condensing), y.hours_condensing),
        ("heat", sum(|m| m.heat_kwh), y.heat_kwh),
        ("fuel", sum(|m| m.fuel_kwh), y.fuel_kwh),
        ("degree days", sum(|m| m.degree_days_k), weather.heating_degree_days(curve::DEGREE_DAY_BASE_C)),
    ] {
        assert!((months - year).abs() < 1e-9 * year, "{name}: {months} {year}");
    }
    // The built-in year is one of UTC: by local standard time it begins in the last hours of December.
    let of: Vec<(i16, i8)> = study.months.iter().map(|m| m.of).collect();
    assert_eq!(of, std::iter::once((2014, 12)).chain((1..=12).map(|m| (2015, m))).collect::<Vec<_>>());
    let (head, january) = (&study.months[0], &study.months[1]);
    let first = (head.hours + 0.5) as usize;
    assert_eq!(january.hours, 31.0 * 24.0);
    let days = &weather.dry_bulb_c()[first..first + 31 * 24];
    assert!((january.mean_c - days.iter().sum::<f64>() / 744.0).abs() < 1e-9);
}

#[test]
fn lowering_names_the_zone_that_fails_first_and_what_it_would_take() {
    let p = three_zones();
    let study = curve::study(&p, &reset(&[(-20.0, 84.0), (18.0, 40.0)], 18.0), &weather::builtin().unwrap());
    let first = study.lowered[0];
    assert_eq!(first.zone, ZoneId(0));
    assert!((first.spare_k.unwrap() - 2.0).abs() < 0.01, "84 against the 82 it was made for: {first:?}");
    assert!(first.short_w > 0.0);
    // An emitter larger by the stated factor, at the same flow, covers the loss.
    let supply_c = 84.0 - curve::LOWERING_K;
    let mut larger = p.clone();
    if let Emitter::Power { rating, .. } = &mut larger.zones[0].emitter {
        rating.heat_w *= first.emitter_times.unwrap();
    }
    let needed = need::needs(&larger, -20.0)[0].supply_c.unwrap();
    assert!((needed - supply_c).abs() < 0.01, "{needed} against {supply_c}");
    assert_eq!(study.lowered.iter().filter(|l| l.short_w > 0.0).count(), 1, "{:?}", study.lowered);
}

#[test]
fn too_small_boilers_are_found() {
    let mut p = three_zones();
    p.boilers.pop();
    let study = curve::study(&p, &reset(&[(-20.0, 84.0), (18.0, 40.0)], 18.0), &weather::builtin().unwrap());
    assert!(codes(&study.findings).contains(&(Subject::Plant, "boilers-short")), "{:?}", study.findings);
}

/// Every boiler leads in its turn.
fn all_lead(p: &Plant) -> Vec<BoilerId> {
    short_cycle::leads(p, RotationPolicy::HoursDifference(50))
}

/// Two boilers of unlike size take the lead in turn: a lone zone is worst off with the larger fire, not with the smallest.
#[test]
fn a_lone_zone_is_judged_on_the_worst_of_the_boilers_that_lead() {
    let mut p = three_zones();
    let r = reset(&[(-20.0, 84.0), (18.0, 40.0)], 18.0);
    assert!(p.boilers.len() > 1);
    for b in &mut p.boilers {
        b.minimum_share = 0.1;
    }
    assert_eq!(short_cycle::study(&p, &r, 3.0, &all_lead(&p)).1, []);
    let last = p.boilers.len() - 1;
    p.boilers[last].minimum_share = 0.9;
    let worst = short_cycle::study(&p, &r, 3.0, &all_lead(&p)).0.unwrap();
    assert_eq!(worst.shortest_burn.boiler.index(), last);
    let share = worst.shortest_burn.source_w / p.boilers[last].input_w;
    assert!((0.7..0.9).contains(&share), "its fire at nine tenths: {share}");
    // Where the first always leads, the fire of another does not count.
    let first = short_cycle::leads(&p, RotationPolicy::Fixed);
    assert_eq!(short_cycle::study(&p, &r, 3.0, &first).1, []);
    // With the larger fire in front it does.
    p.boilers[0].minimum_share = 0.9;
    assert_ne!(short_cycle::study(&p, &r, 3.0, &first).1, []);
}

#[test]
fn the_smallest_zone_on_a_large_fire_cycles() {
    let mut p = three_zones();
    let r = reset(&[(-20.0, 84.0), (18.0, 40.0)], 18.0);
    assert_eq!(short_cycle::study(&p, &r, 3.0, &all_lead(&p)).1, [], "11 kW of fire on a zone of 10 kW");
    for b in &mut p.boilers {
        b.minimum_share = 0.7;
    }
    let (worst, findings) = short_cycle::study(&p, &r, 3.0, &all_lead(&p));
    let short = worst.unwrap().shortest_burn;
    assert!(codes(&findings).contains(&(Subject::Zone(short.zone), "short-burn")), "{findings:?}");
    assert!(short.draw_w < short.source_w && short.extra_l > 0.0, "{short:?}");
    // With that much more water in the header the burn is as long as was wanted, and no other is shorter.
    p.header.water_l += short.extra_l;
    let again = short_cycle::study(&p, &r, 3.0, &all_lead(&p)).0.unwrap().shortest_burn;
    assert!((again.cycle.burn_s - short_cycle::WANTED_BURN_S).abs() < 1.0, "{again:?}");
    // A fire smaller than the zone's draw never cycles.
    for b in &mut p.boilers {
        b.minimum_share = 0.001;
    }
    assert_eq!(short_cycle::study(&p, &r, 3.0, &all_lead(&p)).1, []);
}

/// Of `n = 4 N x (1 - x)` cycles an hour a call is the share `x`: at N = 3 five minutes at next to no load, ten at half. Worked by hand.
#[test]
fn a_thermostat_ends_a_burn_with_its_call() {
    let calls = [(3.0, 0.0), (3.0, 0.5), (6.0, 0.5), (3.0, 1.2), (0.0, 0.5)].map(|(n, x)| short_cycle::call_s(n, x));
    assert_eq!(calls, [300.0, 600.0, 300.0, f64::INFINITY, f64::INFINITY]);
    let mut p = three_zones();
    p.zones.iter_mut().for_each(|z| z.thermostat.cycles_per_h = 3.0);
    let at = short_cycle::at(&p, &reset(&[(-20.0, 84.0), (18.0, 40.0)], 18.0), 3.0, (8.0, BoilerId(0))).unwrap();
    let z = &p.zones[at.zone.index()];
    let share = z.loss_w_k() * (z.thermostat.set_c - 8.0) / at.draw_w;
    assert!(share > 0.1 && (at.call_s - 300.0 / (1.0 - share)).abs() < 0.1, "{share} {at:?}");
}

#[test]
fn the_shortest_burn_is_at_the_smallest_draw_and_not_where_starts_are_most() {
    let mut p = three_zones();
    // The draw runs from far below half the fire, in mild weather, to above it.
    for b in &mut p.boilers {
        b.minimum_share = 0.25;
    }
    p.header.secondary_supply_l = 0.0;
    let r = reset(&[(-20.0, 84.0), (18.0, 26.0)], 18.0);
    let (worst, findings) = short_cycle::study(&p, &r, 3.0, &all_lead(&p));
    let short_cycle::Worst { most_starts, shortest_burn } = worst.unwrap();
    assert!(shortest_burn.draw_w < most_starts.draw_w, "{shortest_burn:?} {most_starts:?}");
    assert!(shortest_burn.cycle.burn_s < 0.8 * most_starts.cycle.burn_s, "{shortest_burn:?} {most_starts:?}");
    assert_eq!(shortest_burn.outdoor_c, 18.0, "the mildest weather");
    // Of a burn that is too short only where the zone draws least, something is told.
    assert!(most_starts.cycle.cycles_per_h <= short_cycle::CYCLES_PER_H_MAX, "{most_starts:?}");
    let limit = short_cycle::WANTED_BURN_S / 2.0;
    assert!(shortest_burn.cycle.burn_s < limit && limit < most_starts.cycle.burn_s, "{worst:?}");
    assert_eq!(codes(&findings), [(Subject::Zone(shortest_burn.zone), "short-burn")]);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever the zones, the fit does not fall below what they need and its points can be a controller's.
    #[test]
    fn no_fit_falls_below_what_the_zones_need(
        zones in prop::collection::vec((1e3..1e5_f64, 45.0..85.0_f64, 4.0..20.0_f64, 1.0..1.45_f64, 16.0..23.0_f64), 1..5),
        design_c in -35.0..2.0_f64,
        warm_c in 8.0..22.0_f64,
        most in 2_usize..9,
    ) {
        let make = |&(w, s, d, n, room): &(f64, f64, f64, f64, f64)| zone(w, s, s - d, room, design_c, n, MeanRule::Arithmetic);
        let p = plant(design_c, zones.iter().map(make).collect(), vec![]);
        let f = fit::fit(&p, warm_c, most).unwrap();
        prop_assert!(f.points.len() >= 2 && f.points.len() <= most);
        prop_assert!(f.below_max_k < 0.02, "{f:?}");
        prop_assert!(f.points.windows(2).all(|w| w[0].0 < w[1].0 && w[0].1 >= w[1].1), "{f:?}");
        if most == 8 {
            prop_assert!(f.above_max_k < 2.0 * fit::TOLERANCE_K, "{f:?}");
        }
    }
}

/// A floor of 20 m2 for 10 kW: 500 W/m2, where EN 1264-2 allows 100.
fn small_floor() -> Plant {
    let mut p = three_zones();
    let Emitter::Floor { area_m2, .. } = &mut p.zones[2].emitter else { unreachable!() };
    *area_m2 = 20.0;
    p
}

#[test]
fn a_mixed_zone_gets_no_more_than_its_valve_lets_through_and_does_not_drive_the_curve() {
    for mix in
        [Mix::SelfActing { set_c: 45.0, band_k: 5.0, lag_s: 30.0 }, Mix::Modulated { stroke_s: 90.0, max_c: 45.0 }]
    {
        let (mut good, mut p) = (three_zones(), small_floor());
        (good.zones[2].mix, p.zones[2].mix) = (Some(mix), Some(mix));
        let weather = weather::builtin().unwrap();
        let fit = fit::fit(&p, 18.0, 8).unwrap();
        assert_eq!(fit, fit::fit(&good, 18.0, 8).unwrap(), "hotter water in the header would not help the floor");
        let study = curve::study(&p, &reset(&fit.points, 18.0), &weather);
        let short = study.findings.iter().find(|f| f.issue.code() == "mixed-short").unwrap();
        assert_eq!((short.subject, short.severity), (Subject::Zone(ZoneId(2)), Severity::Error));
        let Issue::MixedShort { outdoor_c, most_c, needed_c, most_w, load_w } = short.issue else { unreachable!() };
        assert_eq!((outdoor_c, most_c), (-20.0, 45.0));
        assert!(needed_c > 90.0 && most_w < 0.5 * load_w, "{short:?}");
        assert!(study.rows[0].zones[2].surplus_w < 0.0 && study.lowered[0].zone == ZoneId(2), "{:?}", study.lowered);
        let told = codes(&curve::study(&good, &reset(&fit.points, 18.0), &weather).findings);
        assert!(!told.iter().any(|t| ["mixed-short", "floor-hot"].contains(&t.1)), "{told:?}");
    }
}

/// A floor's heat is in proportion to its water's excess over the room (EN 1264-2), at a constant flow to that of its supply, and its room
/// loses in proportion to room less outdoor temperature: with just the design's water at design, just enough at every other is
/// `room + (design - room) (room - t) / (room - t_design)`. The valve's controller gives that, whatever room the curve is made for;
/// and where it gives less than the zone needs, the study counts what the valve makes and not what the header has.
#[test]
fn a_mixed_floor_has_what_it_needs_in_mild_weather_or_the_study_says_so() {
    let mut p = three_zones();
    p.zones[2].thermostat.set_c = 24.0;
    let needed_c = need::needs(&p, -20.0)[2].supply_c.unwrap();
    p.zones[2].mix = Some(Mix::Modulated { stroke_s: 90.0, max_c: needed_c + 0.01 });
    let fit = fit::fit(&p, 18.0, 8).unwrap();
    let weather = weather::builtin().unwrap();
    // A curve for rooms of 20 degrees Celsius, straight, that the others need hotter.
    for points in [fit.points.clone(), vec![(-20.0, 90.0), (20.0, 20.0)]] {
        let study = curve::study(&p, &reset(&points, 18.0), &weather);
        for r in study.rows.iter().filter(|r| r.supply_c > 40.0) {
            let (z, line_c) = (&r.zones[2], 24.0 + (needed_c - 24.0) * (24.0 - r.outdoor_c) / 44.0);
            // The surface's exponent of 1.1 bends the need: 0.21 K above the line at 8 degrees Celsius, worked outside the project.
            assert!((-0.01..0.25).contains(&(z.needed_c.unwrap() - line_c)), "{} {line_c}", r.outdoor_c);
            assert!(z.surplus_k.unwrap() > -0.25, "{}: {z:?}", r.outdoor_c);
        }
        assert!(!codes(&study.findings).contains(&(Subject::Zone(ZoneId(2)), "mixed-short")), "{:?}", study.findings);
    }
    let straight = curve::study(&p, &reset(&[(-20.0, 90.0), (20.0, 20.0)], 18.0), &weather);
    assert!(straight.rows.iter().filter(|r| r.supply_c > 40.0).all(|r| r.zones[2].surplus_k.unwrap() < 0.5));
    // Radiators of exponent 1.3 behind the valve need more than a straight line in the middle: told, and no surplus shown.
    let mut r = p.clone();
    r.zones[2].emitter = Emitter::radiator(2.5 * r.zones[2].loss_w, 1.3);
    let at_design_c = need::needs(&r, -20.0)[2].supply_c.unwrap();
    r.zones[2].mix = Some(Mix::Modulated { stroke_s: 90.0, max_c: at_design_c + 0.01 });
    let study = curve::study(&r, &reset(&[(-20.0, 90.0), (20.0, 20.0)], 18.0), &weather);
    let short = study.findings.iter().find(|f| f.issue.code() == "mixed-short").unwrap();
    let Issue::MixedShort { outdoor_c, most_c, needed_c, most_w, load_w } = short.issue else { unreachable!() };
    assert!((-10.0..18.0).contains(&outdoor_c) && most_c < needed_c && most_w < 0.99 * load_w, "{short:?}");
    assert!(study.rows.iter().any(|r| r.zones[2].surplus_w < 0.0));
}

#[test]
fn a_floor_that_would_burn_feet_is_found_at_the_limit_of_the_standard() {
    // EN 1264-2: 29 degrees Celsius of surface in a room of 20 gives 8.92 * 9^1.1 = 100 W/m2.
    let floor = Emitter::Floor { area_m2: 1.0, water_to_slab_m2k_w: 0.02, slab_to_surface_m2k_w: 0.05, slab_j_k: 1e5 };
    assert!((floor.floor_surface_k(100.0).unwrap() - 9.0).abs() < 0.01);
    assert_eq!(Emitter::radiator(100.0, 1.3).floor_surface_k(100.0), None);
    let study =
        curve::study(&small_floor(), &reset(&[(-20.0, 82.0), (18.0, 40.0)], 18.0), &weather::builtin().unwrap());
    let hot = study.findings.iter().find(|f| f.issue.code() == "floor-hot").unwrap();
    assert_eq!((hot.subject, hot.severity), (Subject::Zone(ZoneId(2)), Severity::Warning));
    // The standard's 9 K stand on the room, which is at 21 degrees here.
    let Issue::FloorHot { most_c, surface_c, .. } = hot.issue else { panic!("{hot:?}") };
    assert!((most_c - 30.0).abs() < 1e-9 && surface_c > 30.05, "{hot:?}");
}

#[test]
fn water_that_comes_back_colder_than_a_boiler_allows_is_counted() {
    let weather = weather::builtin().unwrap();
    let study = |least_c: Option<f64>| {
        let mut p = three_zones();
        p.boilers[1].return_min_c = least_c;
        curve::study(&p, &reset(&[(-20.0, 82.0), (18.0, 40.0)], 18.0), &weather)
    };
    assert_eq!(study(None).year.hours_return_cold, 0.0);
    assert!(!codes(&study(Some(5.0)).findings).contains(&(Subject::Plant, "return-cold")));
    // The second boiler alone has a limit, so only hours in which it runs count.
    let s = study(Some(90.0));
    assert!(codes(&s.findings).contains(&(Subject::Plant, "return-cold")));
    assert!(s.year.hours_return_cold > 0.0 && s.year.hours_return_cold < s.year.hours_heating, "{:?}", s.year);
}

#[test]
fn the_limit_that_is_told_is_one_that_was_not_kept() {
    let weather = weather::builtin().unwrap();
    let mut p = three_zones();
    let told = |p: &Plant| {
        let s = curve::study(p, &reset(&[(-20.0, 82.0), (18.0, 40.0)], 18.0), &weather);
        let cold = s.findings.into_iter().find_map(|f| match f.issue {
            Issue::ReturnCold { return_c, least_c, .. } => Some((return_c, least_c)),
            _ => None,
        });
        cold.unwrap()
    };
    // The second boiler never runs, so that its higher limit is never in question.
    p.boilers[0].input_w *= 10.0;
    (p.boilers[0].return_min_c, p.boilers[1].return_min_c) = (Some(40.0), Some(90.0));
    let (return_c, least_c) = told(&p);
    assert_eq!(least_c, 40.0);
    assert!(return_c < 40.0);
    // Where it does run, its limit is the one.
    p.boilers[0].input_w /= 10.0;
    assert_eq!(told(&p).1, 90.0);
}

#[test]
fn weather_much_colder_than_design_is_told() {
    let weather = weather::builtin().unwrap();
    let mut p = three_zones();
    let curve = reset(&[(-20.0, 82.0), (18.0, 40.0)], 18.0);
    assert!(!codes(&curve::study(&p, &curve, &weather).findings).contains(&(Subject::Plant, "design-warm")));
    p.site.design_outdoor_c = 5.0;
    assert!(codes(&curve::study(&p, &curve, &weather).findings).contains(&(Subject::Plant, "design-warm")));
}

#[test]
fn the_fit_goes_on_past_the_coolest_room() {
    let mut p = three_zones();
    let cool = &mut p.zones[1];
    (cool.thermostat.set_c, cool.loss_indoor_c) = (12.0, 12.0);
    let fit = fit::fit(&p, 18.0, 8).unwrap();
    assert!((fit.points.last().unwrap().0 - 18.0).abs() < 0.01, "{fit:?}");
    assert!(fit.above_max_k <= fit::TOLERANCE_K + 0.011, "{fit:?}");
}

#[test]
fn no_outdoor_temperature_stands_twice() {
    let weather = weather::builtin().unwrap();
    // Where the rows' even steps end a hair short of warm-weather shutdown (-8 and 62 °F), the last two rows would be one.
    for (design_f, warm_f) in [(-8.0, 62.0), (-8.0, 62.05), (-4.0, 62.0), (5.0, 65.0), (0.0, 65.0)] {
        let mut p = three_zones();
        p.site.design_outdoor_c = study_plant::f_to_c(design_f);
        let warm_c = (study_plant::f_to_c(warm_f) * 100.0).round() / 100.0;
        let s = curve::study(&p, &reset(&[(-20.0, 82.0), (18.0, 40.0)], warm_c), &weather);
        let closest_k = s.rows.windows(2).map(|w| w[1].outdoor_c - w[0].outdoor_c).fold(f64::INFINITY, f64::min);
        assert!(closest_k > 0.1 * curve::ROW_STEP_K, "{design_f} to {warm_f}: two rows {closest_k} K apart");
        assert!((s.rows.last().unwrap().outdoor_c - warm_c).abs() < 1e-9, "the end is kept");
    }
}

#[test]
fn a_zone_that_no_water_can_serve_at_design_does_not_bend_the_curve() {
    for share in [0.02, 0.1, 0.13, 0.15, 0.17, 0.2, 0.3] {
        let mut p = three_zones();
        p.zones[1].flow_kg_s *= share;
        let fit = fit::fit(&p, 18.0, 8).unwrap();
        assert!(
            fit.points.windows(2).all(|w| w[0].1 >= w[1].1),
            "{share}: a warmer day asks for hotter water: {fit:?}"
        );
        let study = curve::study(&p, &reset(&fit.points, 18.0), &weather::builtin().unwrap());
        if study.rows[0].zones[1].needed_c.is_none() {
            assert!(codes(&study.findings).contains(&(Subject::Zone(ZoneId(1)), "flow-short")), "{share}");
            let without = {
                let mut p = three_zones();
                p.zones.remove(1);
                fit::fit(&p, 18.0, 8).unwrap()
            };
            assert_eq!(fit, without, "{share}: the others have the curve that they need");
            assert!(study.rows.iter().all(|r| r.governing.is_none_or(|g| g.0 != ZoneId(1))), "{share}");
        }
    }
}

/// By hand: the curve falls by 1.5 K a kelvin and meets 52 °C at 0 °C outdoors, where 21 of 41 K of the loss are left; at 18 °C it has 25 °C.
#[test]
fn a_fan_that_waits_for_hotter_water_than_mild_weather_has_is_told() {
    use heatwright_sim::plant::Fan;
    let weather = weather::builtin().unwrap();
    let told = |aquastat_c, room_c: f64| {
        let mut p = three_zones();
        p.zones[0].fan = Some(Fan { aquastat_c, differential_k: 5.0, still_share: 0.1, power_w: 200.0 });
        p.zones[0].thermostat.set_c = room_c;
        let found = curve::study(&p, &reset(&[(-20.0, 82.0), (20.0, 22.0)], 18.0), &weather).findings;
        found.into_iter().find(|f| f.issue.code() == "fan-waits")
    };
    let found = told(Some(52.0), 21.0).unwrap();
    assert_eq!((found.subject, found.severity), (Subject::Zone(ZoneId(0)), Severity::Warning));
    let Issue::FanWaits { outdoor_c, load_w, design_w, aquastat_c, mild_c, mild_supply_c } = found.issue else {
        unreachable!()
    };
    assert!((outdoor_c - 0.0).abs() < 0.05 && (load_w - 40_000.0 * 21.0 / 41.0).abs() < 50.0, "{found:?}");
    assert!(design_w == 40_000.0 && aquastat_c == 52.0 && mild_c == 18.0, "{found:?}");
    assert!((mild_supply_c - 25.0).abs() < 0.02, "{found:?}");
    // Hotter than the curve's end: from design on.
    let Issue::FanWaits { outdoor_c, .. } = told(Some(85.0), 21.0).unwrap().issue else { unreachable!() };
    assert_eq!(outdoor_c, -20.0);
    // Made to the end, with the thermostat, and in a room of 5 °C, which wants nothing where the curve falls below 40 °C.
    assert_eq!(told(Some(24.0), 21.0), None);
    assert_eq!(told(None, 21.0), None);
    assert_eq!(told(Some(40.0), 5.0), None);
    assert!(told(Some(52.0), 5.0).is_some());
}

#[test]
fn flows_and_emitters_that_fit_no_loss_are_told() {
    let weather = weather::builtin().unwrap();
    let told = |p: &Plant| codes(&curve::study(p, &reset(&[(-20.0, 82.0), (18.0, 40.0)], 18.0), &weather).findings);
    // Water of 110 °C is the hottest of this curve: the finned tube gives 1.9 times its loss with it, the radiators 3.
    let odd = |p: &Plant| told(p).into_iter().filter(|t| t.1.ends_with("-odd")).collect::<Vec<_>>();
    assert_eq!(odd(&three_zones()), []);
    let zone = |k: u8, code| vec![(Subject::Zone(ZoneId(k)), code)];
    for (times, found) in [(20.0, zone(1, "flow-odd")), (0.4, zone(1, "flow-odd")), (0.6, vec![]), (8.0, vec![])] {
        // 15 K at design: 0.75 K, 37.5 K, 25 K, 1.9 K.
        let mut p = three_zones();
        p.zones[1].flow_kg_s *= times;
        assert_eq!(odd(&p), found, "{times} times the flow");
    }
    for (times, found) in [(2.0, vec![]), (6.0, zone(0, "emitter-odd")), (0.1, zone(0, "emitter-odd"))] {
        let mut p = three_zones();
        if let Emitter::Power { rating, .. } = &mut p.zones[0].emitter {
            rating.heat_w *= times;
        }
        assert_eq!(odd(&p), found, "{times} times the emitter");
    }
}

/// By hand: UA 1 kW/K of 40 kW over 40 K; 4 kW of gains take 4 K of outdoor temperature off, and a room that gains what it loses
/// calls nobody.
#[test]
fn the_load_is_what_zones_that_call_need() {
    use heatwright_sim::plant::Gains;
    let mut z = zone(40_000.0, 82.0, 71.0, 20.0, -20.0, 1.3, MeanRule::Arithmetic);
    z.gains = Gains { occupied_w: 4_000.0, setback_w: 4_000.0, schedule: None };
    let mut cool = zone(10_000.0, 82.0, 71.0, 5.0, -20.0, 1.3, MeanRule::Arithmetic);
    cool.thermostat.set_c = 5.0;
    let p = plant(-20.0, vec![z, cool], vec![boiler(60_000.0, 0.2, 0.9, condensing())]);
    let s = curve::study(&p, &reset(&[(-20.0, 84.0), (18.0, 40.0)], 18.0), &weather::builtin().unwrap());
    for r in &s.rows {
        let by_hand_w = (1_000.0 * (20.0 - r.outdoor_c) - 4_000.0).max(0.0) + (400.0 * (5.0 - r.outdoor_c)).max(0.0);
        let load_w = r.water.map_or(0.0, |w| w.load_w);
        assert!((load_w - by_hand_w).abs() < 1e-6, "{} °C: {load_w} against {by_hand_w}", r.outdoor_c);
        assert!(r.outputs_w.len() == 1 && r.output_w() > 48_000.0, "{r:?}");
    }
    let last = s.rows.last().unwrap();
    assert!(last.outdoor_c > 16.0 && last.water.is_none(), "nobody calls at 18 °C");
    // The zone's own need stays that without gains, on the careful side.
    assert_eq!(s.rows[0].zones[0].load_w, 40_000.0);
}
