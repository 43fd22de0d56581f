//! The curve's study where boilers cannot give what the curve asks for: by their fire, the hottest water that they are told, or
//! their return valve. Figures worked by hand from the balance of heat.

mod study_plant;

use heatwright_core::{BoilerId, Severity, Subject, Temp, config::BoilerDrive};
use heatwright_sim::{
    Plant,
    emitter::MeanRule,
    study::{
        Issue,
        curve::{self, CurveStudy, Reach},
    },
    weather,
};
use study_plant::{boiler, c_to_f, constant_efficiency, f_to_c, plant, reset, water_j_kgk, zone};

/// One zone of 60 kW at 170 and 150 degF in a room of 70, 0 outdoors, and a boiler with the zone's flow.
fn one(input_w: f64) -> Plant {
    let z = zone(60_000.0, f_to_c(170.0), f_to_c(150.0), f_to_c(70.0), f_to_c(0.0), 1.3, MeanRule::Arithmetic);
    let flow = z.flow_kg_s;
    let mut b = boiler(input_w, 0.2, flow, constant_efficiency(0.9));
    b.drive = BoilerDrive::Rate;
    plant(f_to_c(0.0), vec![z], vec![b])
}

fn flat(p: &Plant, supply_f: f64, reach: Reach) -> CurveStudy {
    let level = reset(&[(-30.0, f_to_c(supply_f)), (20.0, f_to_c(supply_f))], 18.0);
    curve::study_within(p, &level, reach, &weather::builtin().unwrap())
}

fn near_f(c: f64, f: f64) -> bool {
    (c_to_f(c) - f).abs() < 0.02
}

/// 160 degF enters, 20 more leaves; of the flow 20/30 reaches the header, where the zone draws all of it: 2/3 of 180 and 1/3 of 150
/// make the 170 that it wants.
#[test]
fn a_return_valve_leads_round_what_its_balance_says() {
    let mut p = one(80_000.0);
    p.boilers[0].return_min_c = Some(f_to_c(160.0));
    let bare = flat(&p, 170.0, Reach::own());
    assert!(near_f(bare.rows[0].water.unwrap().entering_c, 150.0), "{:?}", bare.rows[0]);
    assert!(bare.year.hours_return_cold > 1000.0, "{:?}", bare.year);
    p.boilers[0].return_valve_c = Some(f_to_c(160.0));
    let s = flat(&p, 170.0, Reach::own());
    let w = s.rows[0].water.unwrap();
    assert!(
        near_f(w.boiler_outlet_c, 180.0) && near_f(w.entering_c, 160.0) && near_f(w.boiler_return_c, 150.0),
        "{w:?}"
    );
    assert!(near_f(w.supply_c, 170.0) && near_f(w.asked_outlet_c, 170.0) && (w.heat_w - 60_000.0).abs() < 1.0, "{w:?}");
    assert_eq!((w.held_back, s.year.hours_return_cold, s.year.return_cold_c), (None, 0.0, None));
    // Nothing is lost on the way.
    assert!((s.year.heat_kwh / bare.year.heat_kwh - 1.0).abs() < 1e-9);
    assert!(s.findings.iter().all(|f| !matches!(f.issue, Issue::ReturnCold { .. } | Issue::ReturnValveShort { .. })));
}

/// Told no more than the curve's 170 degF it gives what warms its flow from 160: half of what the zone needs. From 180 on it gives
/// all.
#[test]
fn a_return_valve_under_a_low_target_cuts_the_heat() {
    let told = |low_f: f64| {
        let mut p = one(80_000.0);
        p.boilers[0].return_valve_c = Some(f_to_c(160.0));
        let centi = |f: f64| Temp::from_centi_c((f_to_c(f) * 100.0).round() as i16);
        p.boilers[0].drive = BoilerDrive::Target { low: centi(low_f), high: centi(200.0) };
        flat(&p, 170.0, Reach::told(0.0, vec![f_to_c(200.0)]))
    };
    let short = told(60.0);
    let w = short.rows[0].water.unwrap();
    assert!((w.heat_w / 30_000.0 - 1.0).abs() < 1e-3 && near_f(w.entering_c, 160.0), "{w:?}");
    assert!(w.supply_c < f_to_c(140.0) && (short.rows[0].made_c - w.supply_c).abs() < 1e-9, "{w:?}");
    let found = short.findings.iter().find_map(|f| match f.issue {
        Issue::ReturnValveShort { held, heat_w, load_w, .. } => Some((f.subject, held, heat_w, load_w)),
        _ => None,
    });
    let (about, held, heat_w, load_w) = found.unwrap();
    assert_eq!((about, held.boiler), (Subject::Boiler(BoilerId(0)), BoilerId(0)));
    assert!((held.most_w / 30_000.0 - 1.0).abs() < 1e-3 && (held.full_w - 72_000.0).abs() < 1.0, "{held:?}");
    assert!((heat_w / 30_000.0 - 1.0).abs() < 1e-3 && (load_w - 60_000.0).abs() < 1.0);
    let enough = told(180.1);
    assert!((enough.rows[0].water.unwrap().heat_w - 60_000.0).abs() < 1.0, "{:?}", enough.rows[0]);
    assert!(
        enough.findings.iter().all(|f| !matches!(f.issue, Issue::ReturnValveShort { .. })),
        "{:?}",
        enough.findings
    );
    // Three quarters missing is an error; half or less is not.
    let mut p = one(80_000.0);
    p.boilers[0].drive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };
    for (valve_f, severity) in [(165.0, Severity::Error), (159.0, Severity::Warning)] {
        p.boilers[0].return_valve_c = Some(f_to_c(valve_f));
        let s = flat(&p, 170.0, Reach::told(0.0, vec![f_to_c(200.0)]));
        let found = s.findings.iter().find(|f| matches!(f.issue, Issue::ReturnValveShort { .. })).unwrap();
        assert_eq!(found.severity, severity, "{found:?}");
    }
    // Never told as much as the setting, it gives nothing.
    let mut p = one(80_000.0);
    p.boilers[0].return_valve_c = Some(f_to_c(175.0));
    p.boilers[0].drive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };
    let s = flat(&p, 170.0, Reach::told(0.0, vec![f_to_c(200.0)]));
    assert!(s.year.heat_kwh == 0.0 && s.year.fuel_kwh == 0.0 && s.year.short_kwh > 1e4, "{:?}", s.year);
}

/// A curve of 180 degF on boilers that are told 122 at most is a curve of 122 (50 degC, which a setting holds exactly), in everything that is counted.
#[test]
fn water_that_is_never_made_is_not_counted() {
    let mut p = one(80_000.0);
    p.boilers[0].efficiency = study_plant::condensing();
    let (asked, told) = (flat(&p, 180.0, Reach::told(20.0, vec![f_to_c(122.0)])), flat(&p, 122.0, Reach::own()));
    let free = flat(&p, 180.0, Reach::own());
    assert!(asked.year.hours_condensing > free.year.hours_condensing + 100.0, "{:?} {:?}", asked.year, free.year);
    assert!(asked.year.short_kwh > 1000.0 && free.year.short_kwh < 1.0, "{:?} {:?}", asked.year, free.year);
    for (a, b) in [
        (asked.year.hours_condensing, told.year.hours_condensing),
        (asked.year.heat_kwh, told.year.heat_kwh),
        (asked.year.fuel_kwh, told.year.fuel_kwh),
        (asked.year.short_kwh, told.year.short_kwh),
        (asked.rows[0].made_c, f_to_c(122.0)),
        (asked.rows[0].zones[0].surplus_w, told.rows[0].zones[0].surplus_w),
        (asked.rows[0].zones[0].return_c, told.rows[0].zones[0].return_c),
    ] {
        assert!((a - b).abs() < 1e-4 * b.abs() + 1e-3, "{a} {b}");
    }
    assert_eq!(asked.year.hours_less_made, asked.year.hours_heating);
    assert_eq!((told.year.hours_less_made, free.year.hours_less_made), (0.0, 0.0));
    // The curve itself is not at fault.
    assert!(asked.findings.iter().all(|f| !matches!(f.issue, Issue::CurveShort { .. })), "{:?}", asked.findings);
}

/// A boiler of 36 kW on a zone of 60: the supply is where the emitter gives just that.
#[test]
fn a_boiler_that_is_too_small_gives_the_water_that_its_fire_makes() {
    let p = one(40_000.0);
    let s = flat(&p, 170.0, Reach::own());
    let w = s.rows[0].water.unwrap();
    let z = &p.zones[0];
    let made_c = z.emitter.supply_needed_c(36_000.0, z.flow_kg_s * water_j_kgk(), z.thermostat.set_c).unwrap();
    assert!((w.heat_w - 36_000.0).abs() < 2.0 && (w.fuel_w - 40_000.0).abs() < 2.0, "{w:?}");
    assert!(
        (w.supply_c - made_c).abs() < 0.01 && (s.rows[0].zones[0].surplus_w + 24_000.0).abs() < 5.0,
        "{made_c}: {w:?}"
    );
}
