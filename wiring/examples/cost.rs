//! What planning and proving cost: plans a job so many times and proves it as often, for an instruction counter.
//!
//! `cost mill 10`, `cost zones-16 10`, `cost relays-16 10`, `cost zones-16 10 prove`. More than sixteen zones are as many plans of
//! sixteen as a building of that size has: one a controller, or one a set of zone relays.

#![allow(clippy::print_stdout, reason = "its figures are the result")]

use heatwright_core::limits;
use heatwright_wiring::{
    fixtures,
    job::Job,
    net::Network,
    plan::plan,
    proof::{Expectation, Limits, prove},
};
use std::{process::ExitCode, time::Instant};

/// The plans of a building of that name.
fn jobs(name: &str) -> Vec<Job> {
    let sized = |prefix: &str, one: fn(u8) -> Job| {
        let zones: usize = name.strip_prefix(prefix)?.parse().ok()?;
        let most = limits::ZONES;
        Some((0..zones.div_ceil(most)).map(|i| one((zones - i * most).min(most) as u8)).collect())
    };
    match name {
        "workshop" => vec![fixtures::workshop()],
        "library" => vec![fixtures::library()],
        "mill" => vec![fixtures::mill()],
        _ => sized("zones-", fixtures::sized)
            .or_else(|| sized("relays-", |n| fixtures::on_zone_relays(fixtures::sized(n))))
            .unwrap_or_default(),
    }
}

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let name = args.first().map_or("mill", String::as_str);
    let count: u32 = args.get(1).and_then(|n| n.parse().ok()).unwrap_or(1);
    let jobs = jobs(name);
    let (mut planning, mut proving, mut rows) = (f64::INFINITY, f64::INFINITY, 0);
    let (mut states, mut solved) = (0, 0);
    for _ in 0..count {
        let begun = Instant::now();
        let made: Vec<_> = jobs.iter().filter_map(|j| plan(j).ok()).collect();
        planning = planning.min(begun.elapsed().as_secs_f64());
        if made.is_empty() || made.len() < jobs.len() {
            eprintln!("{name} is no job that can be planned");
            return ExitCode::from(2);
        }
        rows = made.iter().map(|p| p.rows.len()).sum();
        if args.get(2).is_some() {
            let begun = Instant::now();
            (states, solved) = (0, 0);
            for (job, made) in jobs.iter().zip(&made) {
                let Ok(net) = Network::rebuild(&made.devices, &made.rows) else { return ExitCode::from(2) };
                let proof = prove(&net, &Expectation::new(job), Limits::default());
                assert_eq!(proof.faults.len(), 0, "a sound plan has no faults");
                states += proof.states;
                solved += proof.solved;
            }
            proving = proving.min(begun.elapsed().as_secs_f64());
        }
    }
    println!(
        "{name}: {rows} rows, planning {:.2} ms, rebuilding and proof {:.2} ms ({solved} positions solved for {states})",
        planning * 1e3,
        proving * 1e3
    );
    ExitCode::SUCCESS
}
