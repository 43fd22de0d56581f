//! Progress on the error stream for runs of more than a second, on a terminal only.

use std::{
    io::{IsTerminal, Write},
    sync::Mutex,
    time::{Duration, Instant},
};

/// A line that says how far a long run has come. Dropping it clears the line.
pub struct Progress {
    what: &'static str,
    begun: Instant,
    shown: Option<Instant>,
    on: bool,
}

impl Progress {
    /// Starts the clock.
    pub fn new(what: &'static str, quiet: bool) -> Self {
        Self { what, begun: Instant::now(), shown: None, on: !quiet && std::io::stderr().is_terminal() }
    }

    /// Says how much is done, 0 to 1; shown after the first second, then at most five times a second.
    pub fn at(&mut self, share: f64) {
        let now = Instant::now();
        let due = match self.shown {
            None => now - self.begun > Duration::from_secs(1),
            Some(t) => now - t > Duration::from_millis(200),
        };
        if self.on && due {
            self.shown = Some(now);
            let _ = write!(std::io::stderr(), "\r{}: {:3.0} %", self.what, share.clamp(0.0, 1.0) * 100.0);
        }
    }
}

/// Progress of several runs side by side, told from any thread.
pub struct Shared {
    line: Mutex<(Progress, f64)>,
    runs: usize,
}

impl Shared {
    /// Starts the clock for this many runs.
    pub fn new(what: &'static str, runs: usize, quiet: bool) -> Self {
        Self { line: Mutex::new((Progress::new(what, quiet), 0.0)), runs: runs.max(1) }
    }

    /// One run is a hundredth further: each tells its own share a hundred times.
    pub fn step(&self) {
        if let Ok(mut line) = self.line.lock() {
            line.1 += 0.01 / self.runs as f64;
            let share = line.1;
            line.0.at(share);
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.shown.is_some() {
            let _ = write!(std::io::stderr(), "\r{:width$}\r", "", width = self.what.len() + 8);
        }
    }
}
