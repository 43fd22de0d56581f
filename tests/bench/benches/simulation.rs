//! What a simulated day costs: whole run and floor of the example plants, and the whole run against zones, boilers and days.

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use heatwright_bench::{ZONES, simulation::Case};

fn simulation(c: &mut Criterion) {
    let mut group = c.benchmark_group("simulation");
    group.sample_size(10);
    for name in ["workshop", "library"] {
        let Ok(case) = Case::example(name, None, 1) else { continue };
        let changes = case.changes();
        group.bench_function(BenchmarkId::new("whole", name), |b| b.iter(|| case.whole()));
        group.bench_function(BenchmarkId::new("floor", name), |b| b.iter(|| case.floor(&changes)));
    }
    let mut one = |kind: &str, name: String, case: &Case| {
        group.bench_function(BenchmarkId::new(kind, name), |b| b.iter(|| case.whole()));
    };
    for zones in ZONES {
        one("zones", format!("{zones:02}"), &Case::sized(zones, 2, 1));
    }
    for boilers in 1..=4 {
        one("boilers", format!("{boilers:02}"), &Case::sized(8, boilers, 1));
    }
    for days in [1, 7, 28] {
        one("days", format!("{days:02}"), &Case::sized(8, 3, days));
    }
    group.finish();
}

criterion_group!(benches, simulation);
criterion_main!(benches);
