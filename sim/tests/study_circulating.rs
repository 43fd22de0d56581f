//! Zones whose water circulates all season: how warm they are kept, worked by hand from the balance of heat with an emitter that is
//! linear in its mean excess.

mod study_plant;

use heatwright_core::{Severity, Subject, ZoneId};
use heatwright_sim::{
    Plant,
    emitter::MeanRule,
    plant::Fan,
    study::{
        Issue,
        curve::{self, CurveStudy, Reach},
    },
    weather,
};
use study_plant::{boiler, constant_efficiency, plant, reset, zone};

/// A zone of 10 kW whose emitter fits the curve of 70 degrees at -20 and 20 at 20, and one of 5 kW with `times` the emitter.
fn two(times: f64) -> Plant {
    let fits = zone(10_000.0, 70.0, 60.0, 20.0, -20.0, 1.0, MeanRule::Arithmetic);
    let mut large = zone(5_000.0 * times, 70.0, 60.0, 20.0, -20.0, 1.0, MeanRule::Arithmetic);
    large.loss_w = 5_000.0;
    plant(-20.0, vec![fits, large], vec![boiler(30_000.0, 0.2, 1.0, constant_efficiency(0.9))])
}

fn study(p: &Plant, reach: Reach) -> CurveStudy {
    curve::study_within(p, &reset(&[(-20.0, 70.0), (20.0, 20.0)], 18.0), reach, &weather::builtin().unwrap())
}

fn hot(s: &CurveStudy) -> Vec<(Subject, Severity, curve::Kept)> {
    let of = |f: &heatwright_sim::study::Finding| match f.issue {
        Issue::ZoneHot { kept, .. } => Some((f.subject, f.severity, kept)),
        _ => None,
    };
    s.findings.iter().filter_map(of).collect()
}

/// At design the first zone calls all the time. The second has twice the emitter: Q = (ts - T) 2 x 5000 W / (70 - 20) K with the rating's
/// drop, U = 5000 / 40, so that 125 (T + 20) = 200 (70 - T), T = 11500 / 325 = 35.385.
#[test]
fn a_zone_with_too_large_an_emitter_is_kept_where_loss_and_heat_meet() {
    let s = study(&two(2.0), Reach::own().circulating(vec![true, true]));
    let found = hot(&s);
    let (about, severity, kept) = found[0];
    assert_eq!((found.len(), about, severity), (1, Subject::Zone(ZoneId(1)), Severity::Warning));
    assert!(kept.hours_hot > 0.05 * kept.hours_heating && kept.warmest_c < 35.39, "{kept:?}");
    let w = s.rows[0].water.unwrap();
    let (room_c, need_w) = (11_500.0 / 325.0, 15_000.0);
    let takes_w = 10_000.0 + 125.0 * (room_c + 20.0);
    assert!((w.load_w - takes_w).abs() < 1.0 && (w.heat_w - takes_w).abs() < 1.0 && w.load_w > need_w, "{w:?}");
    // What it loses over the year beyond its need is in heat and fuel.
    let called = study(&two(2.0), Reach::own());
    let more_kwh = s.year.heat_kwh - called.year.heat_kwh;
    assert!(more_kwh > 1000.0 && (more_kwh / s.kept[1].over_kwh - 1.0).abs() < 1e-3, "{more_kwh} {:?}", s.kept);
    assert!((s.year.short_kwh - called.year.short_kwh).abs() < 1.0, "what is beyond the need is nothing missing");
}

#[test]
fn a_zone_that_fits_its_curve_is_not_hot() {
    let s = study(&two(1.0), Reach::own().circulating(vec![true, true]));
    assert_eq!((hot(&s).len(), s.kept.len()), (0, 2));
    assert!(s.kept.iter().all(|k| k.warmest_c < 20.01 && k.over_kwh < 1.0), "{:?}", s.kept);
}

/// Alone its own thermostat stops the heat; without circulation, with a fan that follows the thermostat or waits for hotter water, or on zone
/// relays no call means no heat. A fan that runs on hot water stops for nobody.
#[test]
fn nothing_is_hot_that_its_own_thermostat_holds() {
    let both = vec![true, true];
    let mut alone = two(2.0);
    alone.zones.remove(0);
    assert_eq!(hot(&study(&alone, Reach::own().circulating(both.clone()))), []);
    assert_eq!(hot(&study(&two(2.0), Reach::own().circulating(vec![true, false]))), []);
    assert_eq!(hot(&study(&two(2.0), Reach::own().circulating(both.clone()).together(true))), []);
    let mut fans = two(2.0);
    fans.zones[1].fan = Some(Fan { power_w: 50.0, aquastat_c: None, differential_k: 3.0, still_share: 0.1 });
    assert_eq!(hot(&study(&fans, Reach::own().circulating(both.clone()))), []);
    let mut waits = |aquastat_c: f64| {
        fans.zones[1].fan.as_mut().unwrap().aquastat_c = Some(aquastat_c);
        hot(&study(&fans, Reach::own().circulating(both.clone()))).len()
    };
    assert_eq!((waits(30.0), waits(75.0)), (1, 0));
}

/// Boilers that cover the losses and not what circulates: told, and not as an error.
#[test]
fn boilers_are_short_for_what_circulating_water_gives() {
    let mut p = two(2.0);
    p.boilers[0].input_w = 15_500.0 / 0.9;
    let told = |s: &CurveStudy| {
        let of = |f: &heatwright_sim::study::Finding| match f.issue {
            Issue::BoilersShort { load_w, over_w, .. } => Some((f.severity, load_w, over_w)),
            _ => None,
        };
        s.findings.iter().find_map(of)
    };
    assert_eq!(told(&study(&p, Reach::own())), None);
    let (severity, load_w, over_w) = told(&study(&p, Reach::own().circulating(vec![true, true]))).unwrap();
    assert_eq!(severity, Severity::Warning);
    assert!((load_w - over_w - 15_000.0).abs() < 1.0 && (over_w - 125.0 * (11_500.0 / 325.0 - 20.0)).abs() < 1.0);
}
