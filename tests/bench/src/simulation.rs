//! Plants of the simulator, and what is measured of them: the whole run, and the floor below it.
//!
//! The *whole run* is controller, wires, physics, meters and events. The *floor* is the same physics through the same changes of
//! what is live, as one bare loop (`heatwright_sim::run::bare`). Time is that of the thread on its processor: on a machine that
//! does other things beside, the clock on the wall says nothing.

use heatwright::plant::{Loaded, load};
use heatwright_core::Config;
use heatwright_sim::{
    Ideal, Options, Outdoor, Plant,
    control::InProcess,
    run,
    run::bare::{Recorder, bare},
    weather,
    wires::Powered,
};
use std::{error::Error, fs, path::Path};

#[path = "../../../sim/tests/common/mod.rs"]
mod common;

/// Seconds of a day.
pub const DAY_S: f64 = 86_400.0;

/// A plant with its controller and its weather.
pub struct Case {
    /// The physics.
    pub plant: Plant,
    /// The controller's configuration.
    pub config: Config,
    outdoor: Box<dyn Outdoor>,
    options: Options,
}

impl Case {
    /// An example plant of the repository, from this day of the built-in year on; without a day in its coldest stretch.
    pub fn example(name: &str, from: Option<jiff::civil::Date>, days: u32) -> Result<Self, Box<dyn Error>> {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../../docs/examples/{name}.toml"));
        let refused = |_| format!("{} is no plant file without faults", path.display());
        let Loaded { physics, config, .. } = load(name, &fs::read(&path)?).map_err(refused)?;
        let year = weather::builtin()?;
        let series = match from {
            Some(day) => year.days(day, days)?,
            None => year.coldest_days(days)?,
        };
        Ok(Self { plant: physics, config, outdoor: Box::new(series), options: options(days) })
    }

    /// A plant of a size, in a cold week.
    pub fn sized(zones: u8, boilers: u8, days: u32) -> Self {
        let plant = common::sized(zones, boilers);
        Self { config: common::config(&plant), plant, outdoor: Box::new(common::ColdWeek), options: options(days) }
    }

    /// Simulated seconds.
    pub fn seconds(&self) -> f64 {
        self.options.duration_s
    }

    /// The whole run; gives its fuel in kilowatt-hours and the ticks that it took.
    pub fn whole(&self) -> (f64, u64) {
        let mut control = InProcess::new(self.config.clone());
        let mut wires = Ideal::new(&self.plant);
        let ran = run(&self.plant, &mut control, &mut wires, &*self.outdoor, &self.options, &mut ());
        (ran.map_or(f64::NAN, |r| r.balance.fuel_kwh), control.ticks())
    }

    /// What is live in the whole run, and from which step on.
    pub fn changes(&self) -> Vec<(u64, Powered)> {
        let mut recorder = Recorder::new(Ideal::new(&self.plant));
        let mut control = InProcess::new(self.config.clone());
        let ran = run(&self.plant, &mut control, &mut recorder, &*self.outdoor, &self.options, &mut ());
        assert!(ran.is_ok(), "a run that cannot be made is not measured");
        recorder.changes()
    }

    /// The floor.
    pub fn floor(&self, changes: &[(u64, Powered)]) -> f64 {
        bare(&self.plant, changes, &*self.outdoor, &self.options).map_or(f64::NAN, |s| s.outdoor_c)
    }
}

fn options(days: u32) -> Options {
    Options { duration_s: f64::from(days) * DAY_S, warm_up_s: 0.0, ..Options::default() }
}

/// Seconds that this thread has been on a processor, where the system tells (Linux).
pub fn on_processor_s() -> Option<f64> {
    let text = fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    Some(text.split_whitespace().next()?.parse::<f64>().ok()? / 1e9)
}

/// Most memory that this process has had, in MiB, where the system tells (Linux).
pub fn memory_peak_mib() -> Option<f64> {
    let text = fs::read_to_string("/proc/self/status").ok()?;
    let line = text.lines().find(|l| l.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<f64>().ok()? / 1024.0)
}
