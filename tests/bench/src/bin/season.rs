//! What a simulated second of an example plant costs, and how much memory a run takes, as one line of JSON.
//!
//! `season PLANT week|season [floor]`: the coldest week, or the 212 days of the built-in year from its start, at steps of one second;
//! with `floor` the bare physics of the same run beside it.

use heatwright_bench::simulation::{Case, memory_peak_mib, on_processor_s};
use std::{error::Error, time::Instant};

/// Time of one call in seconds: on the processor where the system tells, else on the clock.
fn took(f: impl FnOnce()) -> f64 {
    let (clock, cpu) = (Instant::now(), on_processor_s());
    f();
    match (cpu, on_processor_s()) {
        (Some(a), Some(b)) => b - a,
        _ => clock.elapsed().as_secs_f64(),
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let usage = "season PLANT week|season [floor]";
    let (plant, length, floor) = match args.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        [plant, length] => (plant, length, false),
        [plant, length, "floor"] => (plant, length, true),
        _ => return Err(usage.into()),
    };
    let case = match length {
        "week" => Case::example(plant, None, 7)?,
        "season" => Case::example(plant, Some(jiff::civil::date(2015, 1, 1)), 212)?,
        _ => return Err(usage.into()),
    };
    let (mut fuel_kwh, mut ticks) = (f64::NAN, 0);
    let whole_s = took(|| (fuel_kwh, ticks) = case.whole());
    let memory = memory_peak_mib().map_or("null".to_owned(), |m| format!("{m:.1}"));
    let ns = |s: f64| s / case.seconds() * 1e9;
    let bare = if floor {
        let changes = case.changes();
        format!("{:.1}", ns(took(|| assert!(case.floor(&changes).is_finite()))))
    } else {
        "null".to_owned()
    };
    println!(
        "{{\"plant\": \"{plant}\", \"length\": \"{length}\", \"whole_s\": {whole_s:.3}, \"whole_ns\": {:.1}, \"floor_ns\": {bare}, \
         \"ticks_per_s\": {:.4}, \"memory_mib\": {memory}, \"fuel_kwh\": {fuel_kwh:.3}}}",
        ns(whole_s),
        ticks as f64 / case.seconds(),
    );
    Ok(())
}
