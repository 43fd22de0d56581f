//! What the boilers of one run did, seen by their flames alone.
//!
//! From the flames at every step: hours of burning, starts, the longest time without a flame (the ends of the run count as if
//! the boiler had burned just outside it), and changes of the *base boiler*: the one that has burned longest of those that burn.
//! When none burns the last one stays base; on a tie the lower index is. A change of base boiler is what a hand would call a
//! change of lead, told without asking the controller.
//!
//! A boiler that starts after a time `t` without flame is warmed up again: `C dT (1 - exp(-t / T))`, with `C` its water and metal in
//! J/K, `dT` its own target above the boiler room in K, and `T = C / J` by its jacket loss `J` in W/K. That heat is lost to the room
//! while it stands; it is part of the fuel already, and is told apart because a policy that lets boilers go cold pays it.
//!
//! Intervals are closed by [`FlameLog::finish`]. Definitions: our choice; cooling: heat balance of the model's boiler node, without the
//! flow of neighbours through it.

use heatwright_core::limits::BOILERS;

/// One boiler's share of a run.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BoilerUse {
    /// Hours with flame.
    pub burning_h: f64,
    /// Times that a flame appeared.
    pub starts: u32,
    /// Longest time without flame, in hours.
    pub idle_max_h: f64,
}

/// How a boiler without flame cools down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cooling {
    /// Heat to warm it from its room to its target, in joules.
    pub heat_j: f64,
    /// Time constant of its cooling, in seconds; infinite for one that loses nothing.
    pub time_s: f64,
}

/// Collects flames over a run.
#[derive(Clone, Debug, PartialEq)]
pub struct FlameLog {
    uses: Vec<BoilerUse>,
    flames: u64,
    /// Since when each boiler's flame has been as it is, in seconds.
    since_s: [f64; BOILERS],
    base: Option<usize>,
    base_changes: u32,
    begun: bool,
    ended_s: f64,
    cooling: Vec<Cooling>,
    reheat_j: f64,
}

impl FlameLog {
    /// A log for so many boilers. The first call of [`flames`](Self::flames) says how they stand; it counts as no start.
    pub fn new(boilers: usize) -> Self {
        Self {
            uses: vec![BoilerUse::default(); boilers.min(BOILERS)],
            flames: 0,
            since_s: [0.0; BOILERS],
            base: None,
            base_changes: 0,
            begun: false,
            ended_s: 0.0,
            cooling: Vec::new(),
            reheat_j: 0.0,
        }
    }

    /// The same for boilers that cool down like this, by `BoilerId`.
    pub fn with_cooling(cooling: Vec<Cooling>) -> Self {
        Self { cooling, ..Self::new(0) }.sized()
    }

    fn sized(mut self) -> Self {
        self.uses = vec![BoilerUse::default(); self.cooling.len().min(BOILERS)];
        self
    }

    /// Heat that went into warming up boilers that had stood without flame, in joules.
    pub fn reheat_j(&self) -> f64 {
        self.reheat_j
    }

    /// The flames from `at_s` seconds on, one bit a boiler. Calls come in order of time; most change nothing and cost little.
    #[inline]
    pub fn flames(&mut self, at_s: f64, flames: u64) {
        self.ended_s = at_s;
        if !self.begun {
            self.begun = true;
            self.flames = flames;
            self.since_s = [at_s; BOILERS];
            self.base = (0..self.uses.len()).find(|k| flames >> k & 1 == 1);
        } else if flames != self.flames {
            self.change(at_s, flames);
        }
    }

    fn change(&mut self, at_s: f64, flames: u64) {
        for (k, (u, since_s)) in self.uses.iter_mut().zip(&mut self.since_s).enumerate() {
            let (was, is) = (self.flames >> k & 1, flames >> k & 1);
            if was == is {
                continue;
            }
            let long_h = (at_s - *since_s) / 3600.0;
            if is == 1 {
                u.starts += 1;
                u.idle_max_h = u.idle_max_h.max(long_h);
                if let Some(c) = self.cooling.get(k) {
                    self.reheat_j += c.heat_j * (1.0 - (-(at_s - *since_s) / c.time_s).exp());
                }
            } else {
                u.burning_h += long_h;
            }
            *since_s = at_s;
        }
        self.flames = flames;
        let burning = (0..self.uses.len()).filter(|k| flames >> k & 1 == 1);
        let longest = burning.min_by(|a, b| self.since_s[*a].total_cmp(&self.since_s[*b]));
        if let Some(base) = longest {
            self.base_changes += u32::from(self.base.is_some_and(|b| b != base));
            self.base = Some(base);
        }
    }

    /// Closes what is open at `at_s` seconds and gives what each boiler did, and the changes of base boiler.
    pub fn finish(mut self, at_s: f64) -> (Vec<BoilerUse>, u32) {
        let at_s = at_s.max(self.ended_s);
        for (k, (u, since_s)) in self.uses.iter_mut().zip(self.since_s).enumerate() {
            let long_h = (at_s - since_s) / 3600.0;
            if self.flames >> k & 1 == 1 {
                u.burning_h += long_h;
            } else {
                u.idle_max_h = u.idle_max_h.max(long_h);
            }
        }
        (self.uses, self.base_changes)
    }
}
