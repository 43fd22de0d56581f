//! What every plan must keep, on both fixtures: terminals, separation, numbers, sizes, refusals.

mod proved_kit;

use heatwright_core::{
    BoilerId, ContactUse, PumpId, RelayUse, Severity, Subject, ZoneId,
    config::{BoilerPump, SafetyKind, SafetyScope, ZoneDrive},
};
use heatwright_wiring::{
    device::{PlaceId, Reach},
    fixtures::{library, workshop},
    job::{Edition, Job, PumpCircuits, PumpMotor, Safety, Supply},
    pass::check::Problem,
    plan::{Plan, RunForm, RunGround, plan},
    row::{Class, Colour, Row},
    rules,
};
use proved_kit::compiled;
use std::collections::{BTreeMap, BTreeSet};

fn both() -> [(Job, Plan); 2] {
    [workshop(), library()].map(|j| {
        let p = compiled(&j);
        (j, p)
    })
}

fn landings(p: &Plan) -> BTreeMap<(&str, &str), usize> {
    let mut n = BTreeMap::new();
    for end in p.rows.iter().flat_map(|r| [&r.from, &r.to]) {
        *n.entry((end.device.as_str(), end.terminal.as_str())).or_insert(0) += 1;
    }
    n
}

#[test]
fn no_terminal_holds_more_than_it_is_identified_for() {
    for (_, p) in both() {
        let n = landings(&p);
        for d in &p.devices {
            for t in &d.terminals {
                let here = n.get(&(d.tag.as_str(), t.mark.as_str())).copied().unwrap_or(0);
                assert!(here <= usize::from(t.holds), "{}:{} holds {here}", d.tag, t.mark);
                assert!(t.reach == Reach::Field || here == 0, "{}:{} is inside", d.tag, t.mark);
            }
        }
    }
}

/// NEC 110.14(A), seen to fail: two wires moved onto one terminal are counted.
#[test]
fn the_count_of_conductors_sees_a_second_wire() {
    let mut p = compiled(&workshop());
    let to = p.rows[0].to.clone();
    p.rows[1].from = p.rows[0].from.clone();
    p.rows[1].to = to;
    let n = landings(&p);
    let from = &p.rows[0].from;
    assert!(n[&(from.device.as_str(), from.terminal.as_str())] > 1);
}

#[test]
fn every_point_of_the_controller_is_landed_and_no_spare_is() {
    for (job, p) in both() {
        let n = landings(&p);
        let landed = |mark: String| n.contains_key(&("A1", mark.as_str()));
        for (i, u) in job.points.relays.iter().enumerate() {
            assert_eq!(landed(format!("K{}.11", i + 1)), *u != RelayUse::Spare, "{u:?}");
        }
        for (i, u) in job.points.contacts.iter().enumerate() {
            let wanted = *u != ContactUse::Spare;
            assert_eq!(landed(format!("I{}.1", i + 1)), wanted, "{u:?}");
            assert_eq!(landed(format!("I{}.2", i + 1)), wanted, "{u:?}");
        }
        for i in 0..job.points.sensors.len() {
            assert!(landed(format!("S{}.1", i + 1)) && landed(format!("S{}.2", i + 1)));
        }
        for i in 0..job.points.analogs.len() {
            assert!(landed(format!("O{}+", i + 1)) && landed(format!("O{}-", i + 1)));
        }
    }
}

#[test]
fn safety_control_and_class_2_share_no_raceway_with_others() {
    for (_, p) in both() {
        for run in &p.runs {
            let inside: Vec<&Row> = p.rows.iter().filter(|r| r.run == run.name).collect();
            assert_eq!(inside.len(), usize::from(run.conductors), "{}", run.name);
            let class2 = inside.iter().filter(|r| r.class == Class::Class2).count();
            assert!(class2 == 0 || class2 == inside.len(), "{} mixes Class 2", run.name);
            assert_eq!(class2 > 0, matches!(run.form, RunForm::Cable { .. }), "{}", run.name);
            if run.safety {
                let others = inside.iter().filter(|r| r.class == Class::Power).count();
                assert_eq!(others, 0, "{}", run.name);
                let demand = inside.iter().find(|r| r.purpose.contains("demand") || r.purpose.contains("coil"));
                assert_eq!(demand, None);
            } else {
                let safety = |r: &&&Row| r.purpose.contains("limit pair") || r.purpose.contains("proving pair");
                assert_eq!(inside.iter().find(safety), None, "{}", run.name);
            }
            if let (Some(fill), Some(most)) = (run.fill_percent, run.fill_max_percent) {
                assert!(fill <= most, "{}: {fill} of {most} per cent", run.name);
            }
        }
    }
}

#[test]
fn one_number_a_potential_and_no_number_twice() {
    for (_, p) in both() {
        // Neighbours by wire and by the jumper bars of strips.
        let mut at: BTreeMap<(&str, &str), &str> = BTreeMap::new();
        for r in &p.rows {
            for end in [&r.from, &r.to] {
                let known = at.insert((&end.device, &end.terminal), &r.wire);
                assert!(known.is_none_or(|k| k == r.wire), "{}:{} has two numbers", end.device, end.terminal);
            }
        }
        // A number other than PE names its owner's terminal, so it must be landed on that very terminal.
        for r in p.rows.iter().filter(|r| r.wire != "PE" && !r.wire.starts_with("SH-")) {
            let (tag, mark) = r.wire.split_once('-').unwrap();
            assert_eq!(at.get(&(tag, mark)), Some(&r.wire.as_str()), "{}", r.wire);
        }
    }
}

#[test]
fn grounds_are_green_and_nothing_else_is() {
    for (_, p) in both() {
        for r in &p.rows {
            assert_eq!(r.class == Class::Ground, r.colour == Colour::Green, "{}", r.wire);
            assert_eq!(r.class == Class::Ground, r.wire == "PE");
        }
    }
}

#[test]
fn every_number_is_a_number() {
    for (_, p) in both() {
        for r in &p.rows {
            for v in [r.length_ft, r.volts, r.amps, r.drop_percent] {
                assert!(v.is_finite() && v >= 0.0 && !v.is_sign_negative(), "{r:?}");
            }
            assert!(!r.wire.is_empty() && !r.purpose.is_empty() && !r.circuit.is_empty());
        }
    }
}

/// A zone added at the end: what was pulled before keeps its number, its ends, its size and its colour.
#[test]
fn a_new_zone_changes_few_rows() {
    // Line 4 (contact in, contact out, disconnect, motor), neutral 2, grounds 2, thermostat 2 x 2; with a breaker of its own 1 and 1 more.
    for (circuits, more_rows) in [(PumpCircuits::Shared, 12), (PumpCircuits::OneEach, 14)] {
        let mut job = workshop();
        job.settings.pump_circuits = circuits;
        let before = compiled(&job);
        let mut more = job.clone();
        more.pumps.push(job.pumps[2].clone());
        let mut zone = job.zones[1].clone();
        zone.drive = ZoneDrive::Pump(PumpId(3));
        more.zones.push(zone);
        more.points.relays.push(RelayUse::Pump(PumpId(3))).unwrap();
        more.points.contacts.push(ContactUse::Call(ZoneId(2))).unwrap();
        let after = compiled(&more);
        let key = |r: &Row| format!("{} {:?} {:?} {} {:?} {}", r.wire, r.from, r.to, r.awg, r.colour, r.run);
        let new: BTreeSet<String> = after.rows.iter().map(key).collect();
        let lost: Vec<String> = before.rows.iter().map(key).filter(|k| !new.contains(k)).collect();
        assert!(lost.is_empty(), "{} of {} rows changed:\n{}", lost.len(), before.rows.len(), lost.join("\n"));
        assert_eq!(after.rows.len() - before.rows.len(), more_rows);
    }
}

/// NFPA 70 Table 430.248 (1/3 hp, 115 V: 7.2 A), Table 430.250 (3/4 hp, 208 V: 3.5 A), Table 430.52 (250 %, next size), 240.6(A)
/// (10 A is a standard breaker from 2023 on), 430.110(A) (115 %).
#[test]
fn motors_are_protected_by_the_tables() {
    for (edition, three_phase_a) in [(Edition::Nec2020, 15), (Edition::Nec2023, 10)] {
        let mut job = library();
        job.settings.edition = edition;
        let p = compiled(&job);
        let motor = |tag: &str| p.motors.iter().find(|m| m.device == tag).unwrap();
        let breaker = |tag: &str| p.breakers.iter().find(|b| b.circuit == motor(tag).circuit).unwrap();
        assert_eq!(motor("M1").sizing_a, 7.2);
        assert_eq!(breaker("M1").max_a, 20);
        assert!((motor("M1").disconnect_min_a - 8.28).abs() < 1e-9);
        assert_eq!(motor("M4").sizing_a, 3.5);
        assert_eq!((breaker("M4").amps, breaker("M4").max_a), (three_phase_a, three_phase_a));
        assert_eq!(breaker("M4").poles, 3);
        // 430.32(A)(1): at most 115 % of the nameplate's 2.9 A without a service factor of 1.15; 430.32(C): 130 %.
        let o = motor("M4").overload.unwrap();
        assert_eq!((o.set_a, o.max_percent), (2.9, 115.0));
        assert!((o.max_a - 3.335).abs() < 1e-9 && (o.max_to_start_a - 3.77).abs() < 1e-9);
        job.pumps[3].service_factor = 1.15;
        let o = compiled(&job).motors.iter().find(|m| m.device == "M4").unwrap().overload.unwrap();
        assert!((o.max_a - 3.625).abs() < 1e-9 && (o.max_to_start_a - 4.06).abs() < 1e-9);
    }
}

/// The drop of a 120 V circuit by hand: 5.8 A, 162 ft one way, 10 AWG at 1.24 ohm/kft (NFPA 70 Chapter 9 Table 8):
/// 2 x 5.8 x 0.162 x 1.24 = 2.330 V = 1.94 %; 12 AWG at 1.98 would lose 3.10 %, over the 3 % wanted.
#[test]
fn a_long_run_is_pulled_larger() {
    let p = compiled(&library());
    let row = p.rows.iter().find(|r| r.to.device == "QF6" && r.class == Class::Power).unwrap();
    assert_eq!(row.awg, "10");
    assert!((row.drop_percent - 1.942).abs() < 0.001, "{}", row.drop_percent);
}

/// Both fixtures are meant to be clean of errors; the rules are seen to fail beside each of them.
#[test]
fn the_rules_find_no_error_on_either_job() {
    for (job, p) in both() {
        let checked = rules::check(&job, &p);
        let errors: Vec<String> = checked
            .findings
            .iter()
            .filter(|f| f.severity == Severity::Error)
            .map(|f| format!("{} {}", f.code, f.sentence))
            .collect();
        assert!(errors.is_empty(), "{}", errors.join("\n"));
    }
}

fn refused(job: &Job) -> Vec<(Subject, Problem)> {
    plan(job).err().unwrap_or_default().into_iter().map(|f| (f.subject, f.problem)).collect()
}

#[test]
fn what_cannot_be_wired_is_refused_all_at_once() {
    let mut job = workshop();
    job.pumps[0].run_ft = -3.0;
    job.pumps[1].nameplate_a = f64::NAN;
    job.pumps[2].supply = Supply { volts: 480.0, phases: 3 };
    job.boilers[0].marks.limit[1] = job.boilers[0].marks.demand[0].clone();
    job.boilers[0].place = PlaceId(99);
    job.zones[0].drive = ZoneDrive::Pump(PumpId(9));
    job.points.contacts.push(ContactUse::Flame(BoilerId(3))).unwrap();
    let said = refused(&job);
    let about: BTreeSet<Subject> = said.iter().map(|f| f.0).collect();
    assert_eq!(said.len(), 7, "{said:?}");
    assert!(about.contains(&Subject::Pump(PumpId(1))) && about.contains(&Subject::Zone(ZoneId(0))));
    assert!(said.iter().any(|f| matches!(f.1, Problem::SameMark { .. })));
    assert!(said.iter().all(|f| !f.1.to_string().is_empty()));
}

#[test]
fn sizes_and_numbers_past_the_tables_are_refused() {
    let one = |change: fn(&mut Job)| {
        let mut job = workshop();
        change(&mut job);
        let said = refused(&job);
        assert_eq!(said.len(), 1, "{said:?}");
        said.into_iter().next().map(|f| f.1)
    };
    assert!(matches!(one(|j| j.boilers[0].amps = 1e300), Some(Problem::TooLarge { .. })));
    assert!(matches!(one(|j| j.settings.power_min_awg = 13), Some(Problem::NoSuchSize { given: 13, .. })));
    assert!(matches!(one(|j| j.zones = vec![j.zones[0].clone(); 300]), Some(Problem::TooMany { given: 300, .. })));
    assert!(matches!(
        one(|j| j.pumps[1].motor = PumpMotor::Induction { hp: f64::NAN }),
        Some(Problem::NotPositive { .. })
    ));
}

#[test]
fn an_empty_job_is_refused_or_planned_but_never_panics() {
    let mut job = workshop();
    job.boilers.clear();
    job.pumps.clear();
    job.zones.clear();
    job.safeties.clear();
    job.sensors.clear();
    job.beacon = None;
    assert!(!refused(&job).is_empty(), "points without things");
    job.points = Default::default();
    assert!(plan(&job).is_ok());
    job.places.clear();
    assert!(!refused(&job).is_empty());
}

#[test]
fn the_same_job_gives_the_same_plan() {
    for job in [workshop(), library()] {
        assert_eq!(compiled(&job), compiled(&job.clone()));
    }
}

/// The whole schedule of the workshop, as it is handed over.
#[test]
fn the_workshop_schedule() {
    let p = compiled(&workshop());
    let mut text = Row::HEADERS.join(",");
    for r in &p.rows {
        text.push('\n');
        text.push_str(&r.cells().join(","));
    }
    insta::assert_snapshot!(text);
}

/// NEC 250.118: a raceway has a green conductor or serves itself, and its line says which; cables of Class 2 have neither.
#[test]
fn every_raceway_says_what_its_equipment_ground_is() {
    for (_, p) in both() {
        for run in &p.runs {
            let green = p.rows.iter().find(|r| r.run == run.name && r.colour == Colour::Green);
            let wanted = match (green, &run.form) {
                (Some(row), _) => RunGround::Wire(row.awg.clone()),
                (None, RunForm::Emt(_)) => RunGround::Raceway,
                (None, RunForm::Cable { .. } | RunForm::Bare) => RunGround::None,
            };
            assert_eq!(run.ground, wanted, "{}", run.name);
        }
        // Tubing that serves itself always ends at metal that another run's green conductor grounds.
        for run in p.runs.iter().filter(|r| r.ground == RunGround::Raceway) {
            let other = |r: &&Row| r.colour == Colour::Green && (r.to.device == run.to || r.from.device == run.to);
            assert!(p.rows.iter().any(|r| other(&r)), "{}: nothing green at {}", run.name, run.to);
        }
    }
}

/// A boiler's own switch makes boiler, low-water cutoff and pump contact dead and takes nothing else with it. A boiler without 120 V that
/// asks for its pump through a dry contact carries our control voltage there, so its sheet rightly names the panel's disconnect too.
#[test]
fn a_boilers_switch_is_all_that_its_sheet_needs() {
    let mut second = library();
    second.boilers[1].supply = Supply { volts: 208.0, phases: 1 };
    second.boilers[1].marks.line = vec!["L1".into(), "L2".into()];
    let p = compiled(&second);
    for (job, p) in both().into_iter().chain([(second, p)]) {
        let out = heatwright_wiring::pass::lockout::lockout(&job, &p);
        let mut alone = 0;
        for sheet in &out.sheets {
            let Subject::Boiler(b) = sheet.subject else { continue };
            let own = &job.boilers[b.index()];
            let asks = matches!(own.pump, BoilerPump::Boiler(_) | BoilerPump::Either(_)) && own.supply.volts > 130.0;
            // A flow switch that the controller sees without a second contact of its own is looked at through our control circuit.
            let flow = |s: &Safety| s.config.kind == SafetyKind::FlowSwitch && s.config.scope == SafetyScope::Boiler(b);
            let asks = asks || job.safeties.iter().any(|s| flow(s) && !s.aux);
            let panel = sheet.points.iter().any(|p| p.what.contains("QR1"));
            assert_eq!(panel, asks, "{}: {:?}", sheet.name, sheet.points);
            let controller = sheet.stops.others.iter().any(|d| d.contains("controller"));
            assert_eq!(controller, asks, "{}: {:?}", sheet.name, sheet.stops);
            alone += usize::from(!asks);
        }
        assert!(alone > 0);
    }
}

/// A zone pump with contactor and selector added at the end of the larger plant: no conductor that was pulled before changes its
/// number, its ends or its run.
#[test]
fn a_pump_more_renumbers_no_strip_terminal() {
    let job = library();
    let before = compiled(&job);
    let mut more = job.clone();
    let last = PumpId(job.pumps.len() as u8);
    more.pumps.push(job.pumps[4].clone());
    let mut zone = job.zones[1].clone();
    zone.drive = ZoneDrive::Pump(last);
    more.zones.push(zone);
    more.points.relays.push(RelayUse::Pump(last)).unwrap();
    more.points.contacts.push(ContactUse::Call(ZoneId(job.zones.len() as u8))).unwrap();
    let after = compiled(&more);
    let key = |r: &Row| format!("{} {:?} {:?} {}", r.wire, r.from, r.to, r.run);
    let new: BTreeSet<String> = after.rows.iter().map(key).collect();
    let lost: Vec<String> = before.rows.iter().map(key).filter(|k| !new.contains(k)).collect();
    assert!(lost.is_empty(), "{} of {} rows changed:\n{}", lost.len(), before.rows.len(), lost.join("\n"));
}

/// The sentence beside a breaker is true in both editions: 250 % of 1.0 A is 2.5 A, next standard size 15 A, from 2023 on 10 A
/// (NFPA 70 Table 430.52(C)(1), 240.6(A), checked).
#[test]
fn the_reason_of_a_breaker_is_true_in_its_edition() {
    for edition in [Edition::Nec2020, Edition::Nec2023] {
        let mut job = library();
        job.settings.edition = edition;
        let p = compiled(&job);
        let mut told = 0;
        for m in &p.motors {
            let Some(b) = p.breakers.iter().find(|b| b.circuit == m.circuit) else { continue };
            // Several motors on one circuit are sized by 430.24 and 430.53(A), in other words.
            if p.motors.iter().filter(|o| o.circuit == m.circuit).count() > 1 {
                continue;
            }
            let start =
                format!("250 % of {:.1} A = {:.2} A, next standard size {} A", m.sizing_a, 2.5 * m.sizing_a, b.max_a);
            assert!(b.why.starts_with(&start), "{}: {}", m.device, b.why);
            assert_eq!(b.amps < b.max_a, b.why.contains(&format!("{} A is chosen", b.amps)), "{}", b.why);
            told += usize::from(b.max_a == 10);
        }
        assert_eq!(told > 0, edition == Edition::Nec2023, "10 A is a breaker from 2023 on");
    }
}

/// The pump contact of a 120 V boiler is a control conductor that stays live with the relay panel off: yellow, whatever its phase.
#[test]
fn a_boilers_own_pump_request_is_yellow() {
    let p = compiled(&library());
    let here: Vec<&Row> = p.rows.iter().filter(|r| r.to.terminal.starts_with("PMP ") && r.to.device == "E2").collect();
    assert_eq!(here.len(), 2);
    for r in here {
        assert_eq!((r.class, r.colour), (Class::Control, Colour::Yellow), "{r:?}");
    }
}
