//! What a shop lands, orders and measures by the plan: checked on the fixtures.

use crate::{
    device::Kind,
    fixtures::{library, mill, workshop},
    job::{Job, PumpMotor},
    part::LoadUse,
    pass::{checkout::checkout, grounding::ends_flexible, materials::is_splice_box},
    plan::{Duty, Material, Plan, RunForm, plan},
    row::{Class, Colour},
    tables::shared,
};
use std::collections::BTreeSet;

fn fixtures() -> Vec<(Job, Plan)> {
    let all = [workshop(), library(), mill()];
    all.into_iter().map(|job| (plan(&job).unwrap(), job)).map(|(p, j)| (j, p)).collect()
}

/// NEC 250.118, 348.60 (from memory): flexible conduit to what shakes is no ground of its own, so each such run holds a green wire.
#[test]
fn a_run_with_a_flexible_end_has_a_green_wire() {
    let mut seen = 0;
    for (_, p) in fixtures() {
        let kind = |tag: &str| p.devices.iter().find(|d| d.tag == tag).map(|d| d.kind);
        for run in p.runs.iter().filter(|r| matches!(r.form, RunForm::Emt(_))) {
            if [&run.from, &run.to].into_iter().any(|t| kind(t).is_some_and(ends_flexible)) {
                let green = p.rows.iter().any(|r| r.run == run.name && r.class == Class::Ground);
                assert!(green, "{} has none", run.name);
                seen += 1;
            }
        }
    }
    assert!(seen > 20, "{seen}");
}

/// Each potential in a box of splices is one terminal: nothing else joins two of them there.
#[test]
fn a_potential_in_a_splice_box_is_one_terminal() {
    let mut seen = 0;
    for (_, p) in fixtures() {
        for d in p.devices.iter().filter(|d| is_splice_box(d)) {
            let mut marks: BTreeSet<(&str, &str)> = BTreeSet::new();
            for r in p.rows.iter().filter(|r| r.class != Class::Ground) {
                for l in [&r.from, &r.to].into_iter().filter(|l| l.device == d.tag) {
                    marks.insert((&r.wire, &l.terminal));
                }
            }
            let wires: BTreeSet<&str> = marks.iter().map(|m| m.0).collect();
            assert_eq!(marks.len(), wires.len(), "{}: {marks:?}", d.tag);
            seen += marks.len();
        }
    }
    assert!(seen > 1, "{seen}");
}

/// NEC 430.83(A) (from memory): what switches a motor is rated for it. Every contactor says which, and two sizes are two lines; a
/// limit in a motor's own line is rated for it too.
#[test]
fn what_carries_a_motor_is_ordered_for_it() {
    for (_, p) in fixtures() {
        for m in p.materials.iter().filter(|m| m.item.starts_with("contactor,")) {
            assert!(m.item.contains("for a motor of"), "{m:?}");
        }
    }
    let mut job = library();
    let lines = |job: &Job| {
        let list: Vec<Material> = plan(job).unwrap().materials;
        list.into_iter().filter(|m| m.item.starts_with("contactor,")).map(|m| m.item).collect::<BTreeSet<_>>()
    };
    let before = lines(&job);
    let contactor = plan(&job).unwrap().motors.iter().find_map(|m| match (m.switch, m.what) {
        (crate::plan::MotorSwitch::Contactor, LoadUse::Pump(p)) => Some(p),
        _ => None,
    });
    let id = contactor.unwrap();
    job.pumps[id.index()].motor = PumpMotor::WetRotor;
    job.pumps[id.index()].nameplate_a = 5.7;
    assert!(lines(&job) != before && lines(&job).iter().any(|i| i.contains("5.7 A")), "{:?}", lines(&job));
    // The limits that carry a pump's line themselves.
    let mut carried = 0;
    for (_, p) in fixtures() {
        let on = |d: &crate::device::Device| {
            let here =
                p.rows.iter().filter(|r| r.class == Class::Power && (r.from.device == d.tag || r.to.device == d.tag));
            let circuits: Vec<&str> = here.map(|r| r.circuit.as_str()).collect();
            p.circuits.iter().any(|c| c.duty == Duty::Motor && circuits.contains(&c.name.as_str()))
        };
        for d in p.devices.iter().filter(|d| d.kind == Kind::Safety && on(d)) {
            let rated =
                p.materials.iter().any(|m| m.note.starts_with(&d.tag) && m.note.contains("contact rated for a motor"));
            assert!(rated, "{} {}", d.tag, d.label);
            carried += 1;
        }
    }
    assert!(carried > 0);
}

/// By way of its box a boiler's line is two whips long: 143 ft and twice 6 ft of 12 AWG at 6.04 A are 2 x 155 x 6.04 x 1.98 / 1000 =
/// 3.7 V, 3.09 % of 120 V.
#[test]
fn a_boilers_drop_counts_the_way_through_its_box() {
    let job = library();
    let p = plan(&job).unwrap();
    let mut seen = 0;
    let kind = |tag: &str| p.devices.iter().find(|d| d.tag == tag).map(|d| d.kind);
    for c in p.circuits.iter().filter(|c| c.duty == Duty::BoilerLine) {
        // One conductor's way from the panelboard to the boiler, without what parts from it to a safety or a relay.
        let on_the_way = |tag: &str| !matches!(kind(tag), Some(Kind::Safety | Kind::Relay));
        let line = || {
            let rows =
                p.rows.iter().filter(|r| r.circuit == c.name && r.class == Class::Power && r.colour != Colour::White);
            rows.filter(|r| on_the_way(&r.from.device) && on_the_way(&r.to.device))
        };
        let Some(last) = line().find(|r| kind(&r.to.device) == Some(Kind::Boiler)) else { continue };
        let way: f64 = line().filter(|r| r.wire == last.wire || r.wire == c.name).map(|r| r.length_ft).sum();
        let awg = last.awg.parse().unwrap();
        let volts = crate::tables::drop::volts(crate::tables::motor::Phases::One, awg, last.amps, way, 75.0);
        let least = crate::tables::drop::percent(volts, c.volts).unwrap();
        let printed = line().map(|r| r.drop_percent).fold(0.0, f64::max);
        assert!(printed >= least - 0.02, "{}: {printed} printed, {least} by {way} ft", c.name);
        seen += 1;
    }
    assert!(seen > 1);
}

/// 24 V on a plate are those at full load: a Class 2 transformer with nothing on it that reads 28 V is well, one of 34 V is not.
#[test]
fn a_small_transformer_without_load_is_accepted() {
    for (job, p) in fixtures() {
        let list = checkout(&job, &p).supplies;
        let class2 = |from: &str| p.devices.iter().any(|d| d.tag == from && d.kind == Kind::Transformer);
        let mut seen = 0;
        for s in list.iter().filter(|s| class2(&s.from)) {
            assert!(s.accept_v[0] < 23.0 && s.accept_v[1] > 29.0 && s.accept_v[1] < 31.0, "{s:?}");
            seen += 1;
        }
        assert!(seen > 0);
    }
}

/// Fans that start together: their breaker stands over 175 % of the largest and the rest, as for one motor alone.
#[test]
fn a_group_of_motors_rides_through_its_start() {
    let mut job = library();
    let mut seen = 0;
    for (amps, count) in [(2.4, 6), (2.4, 12), (1.0, 3)] {
        for z in job.zones.iter_mut() {
            if let Some(f) = z.fan.as_mut().filter(|f| f.supply.phases == 1) {
                (f.amps, f.count, f.hp) = (amps, count, 0.0);
            }
        }
        let p = plan(&job).unwrap();
        for b in &p.breakers {
            let fans = p.motors.iter().filter(|m| m.circuit == b.circuit && matches!(m.what, LoadUse::Fan(..)));
            let motors: Vec<f64> = fans.map(|m| m.sizing_a).collect();
            if motors.len() > 1 {
                assert!(f64::from(b.amps) >= shared::starting_amps(&motors), "{} {motors:?}: {} A", b.circuit, b.amps);
                seen += 1;
            }
        }
    }
    assert!(seen > 3, "{seen}");
}

/// Large conductors: the breaker and the strip that they land on are named, too.
#[test]
fn a_large_wire_is_told_at_both_ends() {
    let mut job = library();
    job.pumps[1].run_ft = 2000.0;
    let p = plan(&job).unwrap();
    let note = |starts: &str| p.materials.iter().find(|m| m.item.starts_with(starts)).map(|m| m.note.clone());
    let lugs = note("splice").unwrap();
    assert!(lugs.contains("A2:"), "{lugs}");
    assert!(note("terminal blocks for large conductors").is_some_and(|n| n.contains("X1")), "{lugs}");
}

/// NEC 725.136: where relays of the controller carry Class 2 beside those that carry line, the place of the barrier is told.
#[test]
fn the_controllers_own_border_is_told() {
    let (mut told, mut wanted) = (0, 0);
    for (_, p) in fixtures() {
        let class = |n: usize| {
            let start = format!("K{n}.");
            let here = |l: &crate::row::Landing| l.device == "A1" && l.terminal.starts_with(&start);
            let row = p.rows.iter().find(|r| here(&r.from) || here(&r.to));
            row.map(|r| r.class == Class::Class2)
        };
        let list: Vec<bool> = (1..=40).filter_map(class).collect();
        wanted += list.windows(2).filter(|w| w[0] != w[1]).count();
        let notes: String =
            p.materials.iter().filter(|m| m.item.starts_with("separation")).map(|m| m.note.as_str()).collect();
        told += notes.matches("A1 between K").count();
    }
    assert!(wanted > 0 && told == wanted, "{told} of {wanted}");
}
