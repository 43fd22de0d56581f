//! What planning costs: the example plants, and against the number of zones.

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use heatwright_bench::{ZONES, plants, sized};
use heatwright_wiring::plan::plan;

fn planning(c: &mut Criterion) {
    let mut group = c.benchmark_group("planning");
    for (name, job) in plants() {
        group.bench_function(BenchmarkId::new("plant", name), |b| b.iter(|| plan(&job)));
    }
    for zones in ZONES {
        let job = sized(zones);
        group.bench_function(BenchmarkId::new("zones", format!("{zones:02}")), |b| b.iter(|| plan(&job)));
    }
    group.finish();
}

criterion_group!(benches, planning);
criterion_main!(benches);
