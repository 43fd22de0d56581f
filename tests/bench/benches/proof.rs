//! What the proof costs: rebuilding and every position, the example plants and against the number of zones; and every planted
//! fault of the example plants.

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use heatwright_bench::{ZONES, plants, sized};
use heatwright_wiring::{
    job::Job,
    net::Network,
    plan::plan,
    proof::{Expectation, Limits, MutantKind, mutate_all, prove},
};

fn network(job: &Job) -> Option<Network> {
    let made = plan(job).ok()?;
    Network::rebuild(&made.devices, &made.rows).ok()
}

fn proof(c: &mut Criterion) {
    let mut group = c.benchmark_group("proof");
    group.sample_size(10);
    let mut one = |kind: &str, name: String, job: &Job| {
        let Some(net) = network(job) else { return };
        let expectation = Expectation::new(job);
        group.bench_function(BenchmarkId::new(kind, name), |b| {
            b.iter(|| prove(&net, &expectation, Limits::default()));
        });
    };
    for (name, job) in plants() {
        one("plant", name.to_owned(), &job);
    }
    for zones in ZONES {
        one("zones", format!("{zones:02}"), &sized(zones));
    }
    group.finish();
    let mut group = c.benchmark_group("planted-faults");
    group.sample_size(10);
    for (name, job) in plants() {
        let Some(net) = network(&job) else { continue };
        group.bench_function(BenchmarkId::new("plant", name), |b| {
            b.iter(|| mutate_all(&net, &MutantKind::ALL, Limits::default()));
        });
    }
    for zones in ZONES {
        let Some(net) = network(&sized(zones)) else { continue };
        group.bench_function(BenchmarkId::new("zones", format!("{zones:02}")), |b| {
            b.iter(|| mutate_all(&net, &MutantKind::ALL, Limits::default()));
        });
    }
    group.finish();
}

criterion_group!(benches, proof);
criterion_main!(benches);
