//! The proof on the two fixture plans, made by the passes and read back from devices and rows only.

#![allow(clippy::print_stdout, reason = "figures for whoever runs it with --nocapture")]

use heatwright_wiring::{
    device::Device,
    fixtures,
    job::Job,
    net::{
        ActuatorSet, Changes, Network, Seen, Solver, What,
        readings::{Reading, Readings},
    },
    part::Part,
    plan::plan,
    proof::{
        Expectation, Limits, Mutant, MutantKind, limit_pairs, mutate_all, observe, patterns, positions, prove,
        single_relays,
    },
    row::{Class, Colour, Landing, Row},
};
use std::time::Instant;

fn network(job: &Job) -> Network {
    let plan = plan(job).unwrap();
    Network::rebuild(&plan.devices, &plan.rows).unwrap()
}

fn proved(job: &Job) {
    let net = network(job);
    let t = Instant::now();
    let expectation = Expectation::new(job);
    let proof = prove(&net, &expectation, Limits::default());
    let all = observe::actuators(&net);
    let told: Vec<String> = proof.faults.iter().map(|f| observe::fault(&net, f, &all)).collect();
    println!(
        "{} rows, {} terminals, {} blocks, {} positions, {} blocks sampled, largest {}, {:?}",
        net.wire_count(),
        net.terminal_count(),
        proof.blocks.len(),
        proof.states,
        proof.blocks.iter().filter(|b| !b.exhaustive).count(),
        proof.blocks.iter().map(|b| b.states).max().unwrap_or(0),
        t.elapsed()
    );
    assert!(told.is_empty(), "{} faults:\n{}", told.len(), told.join("\n"));
    let (burns, states) = limit_pairs(&net, &expectation, job.boilers.len() as u8, Limits::default());
    assert_eq!(burns, []);
    assert!(states > 0);
    let (alone, welded) = single_relays(&net, &expectation, job.boilers.len() as u8, Limits::default());
    let names: Vec<String> = alone.iter().map(|(p, _)| net.part_name(*p)).collect();
    assert_eq!(names, Vec::<String>::new());
    assert!(welded > 0);
}

#[test]
fn the_workshop_is_proved() {
    proved(&fixtures::workshop());
}

#[test]
fn the_library_is_proved() {
    proved(&fixtures::library());
}

/// 100 % of every kind: caught, or shown harmless. What only an ohmmeter shows is what must be latent while the plant runs: a
/// welded contact that a twin covers, a first ground fault or touch of circuits that float, a neutral grounded twice.
#[test]
fn every_planted_fault_is_caught_or_shown_harmless() {
    for job in [fixtures::workshop(), fixtures::library()] {
        let net = network(&job);
        let rows = plan(&job).unwrap().rows;
        let t = Instant::now();
        let all = mutate_all(&net, &MutantKind::ALL, Limits::default());
        println!("all kinds: {:?}", t.elapsed());
        let mut left = Vec::new();
        for (kind, s) in &all {
            println!(
                "{}: {} tried, {} caught ({} opened, {} off), {} harmless ({} same circuit), {} nowhere, {} unseen; {:?}",
                observe::mutant_kind(*kind),
                s.total,
                s.caught,
                s.caught_opened,
                s.caught_off.len(),
                s.harmless.len(),
                s.same_circuit,
                s.nowhere.len(),
                s.survivors.len(),
                s.caught_by
            );
            assert!(s.total > 0, "{kind:?}");
            assert_eq!(s.total, s.caught + s.harmless.len() + s.nowhere.len() + s.survivors.len());
            assert_eq!(s.caught, s.caught_by.iter().map(|(_, n)| n).sum::<usize>());
            left.extend(s.survivors.iter().map(|(m, _)| m).chain(&s.nowhere).map(|m| observe::mutant(&net, *m)));
            for m in &s.caught_off {
                let class2 = |r: usize| rows[r].class == Class::Class2;
                let grounded = |r: usize| rows[r].colour == Colour::White;
                let latent = match *m {
                    Mutant::Welded(p) => {
                        let name = net.part_name(p);
                        ["KS", "KD", "KL", "KW", "KZ"].iter().any(|k| name.starts_with(k)) || name.contains("joint")
                    }
                    Mutant::Shorted(a, b) => (class2(a) && class2(b)) || grounded(a) || grounded(b),
                    Mutant::Swapped([a, b], _) => grounded(a) != grounded(b) && rows[a].class != rows[b].class,
                    Mutant::Grounded(r) => class2(r) || grounded(r),
                    _ => false,
                };
                assert!(latent, "{}", observe::mutant(&net, *m));
            }
        }
        assert!(left.is_empty(), "{left:#?}");
        let of = |k: MutantKind| all.iter().find(|(x, _)| *x == k).map(|(_, s)| s).unwrap();
        // Wires that may be left out are only grounds that run twice: one in each raceway between two enclosures.
        for m in &of(MutantKind::Removed).harmless {
            let Mutant::Removed(i) = m else { panic!("{m:?}") };
            assert_eq!(rows[*i].class, Class::Ground, "{:?}", rows[*i]);
        }
        assert!(
            of(MutantKind::Swapped).caught_opened > 0,
            "breakers exchanged on one phase show only when one is opened"
        );
    }
}

/// The score does not depend on how many cores keep it.
#[test]
fn the_score_is_the_same_on_one_core_and_on_many() {
    let net = network(&fixtures::workshop());
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| mutate_all(&net, &MutantKind::ALL, Limits::default()))
    };
    assert_eq!(on(1), on(4));
}

/// A planted fault of the planner on the large plan: two starters' coil wires exchanged, and a door switch that is bridged.
#[test]
fn a_fault_in_the_library_is_found() {
    let job = fixtures::library();
    let made = plan(&job).unwrap();
    let expectation = Expectation::new(&job);
    let at = |mark: &str| {
        let lands = |l: &Landing| format!("{}:{}", l.device, l.terminal) == mark;
        made.rows.iter().position(|r| lands(&r.from) || lands(&r.to)).unwrap()
    };
    let mut rows = made.rows.clone();
    let (a, b) = (at("QA1:A1"), at("QA2:A1"));
    for (row, from, to) in [(a, "QA1", "QA2"), (b, "QA2", "QA1")] {
        let r = &mut rows[row];
        for l in [&mut r.from, &mut r.to] {
            if l.device == from && l.terminal == "A1" {
                l.device = to.into();
            }
        }
    }
    let net = Network::rebuild(&made.devices, &rows).unwrap();
    assert!(!prove(&net, &expectation, Limits::default()).faults.is_empty());
    let mut rows = made.rows.clone();
    let mut bridge = rows[at("F1:11")].clone();
    bridge.from = Landing { device: "F1".into(), terminal: "11".into() };
    bridge.to = Landing { device: "F1".into(), terminal: "12".into() };
    rows.push(bridge);
    let net = Network::rebuild(&made.devices, &rows).unwrap();
    let (burns, _) = limit_pairs(&net, &expectation, job.boilers.len() as u8, Limits::default());
    assert_eq!(burns.len(), job.boilers.len(), "{burns:?}");
}

/// Cut at ideal rails or solved whole with every inner resistance: the same loads are live.
#[test]
fn readings_agree_with_what_is_seen() {
    for job in [fixtures::workshop(), fixtures::library()] {
        let net = network(&job);
        let mut solver = Solver::new(&net, &Changes::default());
        let all = observe::actuators(&net);
        for set in [ActuatorSet::default(), positions::busy(&all)] {
            let o = solver.solve(&set).clone();
            let readings = Readings::take(&net, &Changes::default(), &set);
            let mut live = 0;
            for (w, seen) in solver.watches().iter().zip(&o.seen) {
                let What::Load(_) = w.what else { continue };
                let Some((a, b)) = net.ends(w) else { panic!("{w:?}") };
                let share = match readings.between(a, b) {
                    Some(Reading::Volts(v)) => v / f64::from(w.volts),
                    _ => 0.0,
                };
                match seen {
                    Seen::Live => assert!((0.90..1.05).contains(&share), "{} reads {share}", observe::watch(&net, w)),
                    Seen::Dead => assert!(share < 0.01, "{} reads {share}", observe::watch(&net, w)),
                    other => panic!("{other:?}"),
                }
                live += usize::from(*seen == Seen::Live);
            }
            assert!(live > 3);
        }
    }
}

/// (b): settled outputs, each relay alone, all, none, and all but one.
#[test]
fn settled_patterns_are_proved_as_a_whole() {
    for job in [fixtures::workshop(), fixtures::library()] {
        let net = network(&job);
        let n = job.points.relays.len() as u32;
        let all = (1_u64 << n) - 1;
        let masks = (0..n).flat_map(|i| [1 << i, all ^ (1 << i)]).chain([0, all]);
        let sets: Vec<ActuatorSet> = masks.map(|m| positions::settled(&job, m)).collect();
        assert_eq!(patterns(&net, &Expectation::new(&job), &sets), []);
    }
}

/// Ruined plans end in good time, with faults and without a panic: no neutral, no power, half of the rows, one row moved on.
#[test]
fn ruined_plans_are_refused_in_good_time() {
    let job = fixtures::library();
    let made = plan(&job).unwrap();
    let expectation = Expectation::new(&job);
    let limits = Limits { samples: 256, ..Limits::default() };
    let check = |what: &str, devices: &[Device], rows: &[Row]| {
        let t = Instant::now();
        let net = Network::rebuild(devices, rows).unwrap();
        let proof = prove(&net, &expectation, limits);
        println!("{what}: {} faults, {} positions, {:?}", proof.faults.len(), proof.states, t.elapsed());
        assert!(!proof.faults.is_empty(), "{what}");
        let (_, states) = limit_pairs(&net, &expectation, job.boilers.len() as u8, limits);
        println!("limit pairs: {states} positions, {:?}", t.elapsed());
        assert!(t.elapsed().as_secs() < 60, "{what}: {:?}", t.elapsed());
    };
    check("no rows", &made.devices, &[]);
    let half: Vec<Row> = made.rows.iter().step_by(2).cloned().collect();
    check("half of the rows", &made.devices, &half);
    let mut shifted = made.rows.clone();
    for (row, next) in shifted.iter_mut().zip(made.rows.iter().cycle().skip(1)) {
        row.to = next.to.clone();
    }
    shifted.retain(|r| !r.to.terminal.contains("taped"));
    check("every far end moved to the next", &made.devices, &shifted);
    let mut dead = made.devices.clone();
    for d in &mut dead {
        d.parts.retain(|p| !matches!(p, Part::Source { .. }));
    }
    check("no service", &dead, &made.rows);
    let mut no_neutral = made.devices.clone();
    let neutral = no_neutral[0].find("N");
    for d in &mut no_neutral[..1] {
        d.parts.retain(|p| !matches!(p, Part::Bond(a, b) if Some(*a) == neutral || Some(*b) == neutral));
    }
    check("neutral bar loose", &no_neutral, &made.rows);
}

/// A simulated day moves actuators about ten thousand times.
#[test]
fn a_day_of_changes_is_solved_in_a_moment() {
    let net = network(&fixtures::library());
    let all = observe::actuators(&net);
    let mut solver = Solver::new(&net, &Changes::default());
    let mut set = positions::busy(&all);
    let t = Instant::now();
    let mut x = 1_usize;
    for _ in 0..10_000 {
        x = x.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let a = all[(x >> 33) % all.len()];
        set.set(a, !set.get(a));
        let _ = solver.solve(&set);
    }
    let spent = t.elapsed();
    println!("10000 changes of {} actuators in {spent:?}", all.len());
    assert!(spent.as_secs_f64() < 2.0, "{spent:?}");
}
