//! Which positions of a list of actuators are looked at.
//!
//! A HAND-OFF-AUTO selector has three positions, every other actuator two. All positions are taken while they are at most a
//! stated number; beyond that: two base positions (everything at rest; everything called for, healthy and on AUTO), every
//! single change and every pair of changes of both, and seeded samples (splitmix64). A list is always the same for the same
//! actuators and seed.

use crate::{job::Job, net::ActuatorSet, part::Actuator};
use heatwright_core::{BoilerId, PumpId, RelayUse, ZoneId, config::BoilerPump};

/// One thing that can be set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Knob {
    Two(Actuator),
    Selector(PumpId),
}

impl Knob {
    fn ways(self) -> u64 {
        match self {
            Knob::Two(_) => 2,
            Knob::Selector(_) => 3,
        }
    }

    fn set(self, at: u64, set: &mut ActuatorSet) {
        match self {
            Knob::Two(a) => set.set(a, at == 1),
            Knob::Selector(p) => {
                set.set(Actuator::Hand(p), at == 1);
                set.set(Actuator::Auto(p), at == 2);
            }
        }
    }

    /// Its position while all is called for and nothing has tripped.
    fn busy(self) -> u64 {
        match self {
            Knob::Selector(_) => 2,
            Knob::Two(
                Actuator::Trip(_)
                | Actuator::Overload(_)
                | Actuator::FanOverload(..)
                | Actuator::BoilerSwitchOff(_)
                | Actuator::BoilerFault(_)
                | Actuator::Hand(_)
                | Actuator::Acknowledge,
            ) => 0,
            Knob::Two(_) => 1,
        }
    }
}

/// The positions of a list of actuators.
#[derive(Clone, Debug)]
pub struct Positions {
    knobs: Vec<Knob>,
    all: Option<u64>,
    samples: u64,
    seed: u64,
}

/// Everything called for and healthy, every selector at AUTO, for these actuators.
pub fn busy(actuators: &[Actuator]) -> ActuatorSet {
    let mut set = ActuatorSet::default();
    for k in knobs(actuators) {
        k.set(k.busy(), &mut set);
    }
    set
}

/// The plant as it settles on these relays: every selector at AUTO, nobody trips, and water, valves and damper follow.
pub fn settled(job: &Job, relays: u64) -> ActuatorSet {
    let mut set = ActuatorSet::default();
    set.set_relays(relays);
    let on = |what| job.points.relay(what).is_some_and(|r| relays & r.bit() != 0);
    for p in (0..job.pumps.len()).map(|i| PumpId(i as u8)) {
        set.set(Actuator::Auto(p), true);
    }
    for z in (0..job.zones.len()).map(|i| ZoneId(i as u8)) {
        set.set(Actuator::ValveOpen(z), on(RelayUse::Valve(z)));
    }
    set.set(Actuator::DamperOpen, on(RelayUse::Damper));
    for (i, b) in job.boilers.iter().enumerate() {
        let id = BoilerId(i as u8);
        let asks = on(RelayUse::Demand(id));
        let flows = match b.pump {
            BoilerPump::None => asks,
            BoilerPump::Controller(p) => on(RelayUse::Pump(p)),
            BoilerPump::Boiler(_) => asks,
            BoilerPump::Either(p) => asks || on(RelayUse::Pump(p)),
        };
        set.set(Actuator::Flow(id), flows);
        set.set(Actuator::BoilerPump(id), asks);
        set.set(Actuator::Flame(id), asks && flows);
    }
    set
}

fn knobs(actuators: &[Actuator]) -> Vec<Knob> {
    let mut list = actuators.to_vec();
    list.sort_unstable();
    list.dedup();
    let has = |a| list.binary_search(&a).is_ok();
    list.iter()
        .filter_map(|a| match *a {
            Actuator::Hand(p) if has(Actuator::Auto(p)) => Some(Knob::Selector(p)),
            Actuator::Auto(p) if has(Actuator::Hand(p)) => None,
            a => Some(Knob::Two(a)),
        })
        .collect()
}

impl Positions {
    /// All positions when there are at most `states_max`, else flips and `samples` samples.
    pub fn new(actuators: &[Actuator], states_max: u64, samples: u64, seed: u64) -> Self {
        let knobs = knobs(actuators);
        let all = knobs.iter().try_fold(1_u64, |n, k| n.checked_mul(k.ways())).filter(|n| *n <= states_max.max(1));
        Self { knobs, all, samples, seed }
    }

    /// True when every position is taken.
    pub fn exhaustive(&self) -> bool {
        self.all.is_some()
    }

    /// How many there are, where all are taken.
    pub fn count(&self) -> Option<u64> {
        self.all
    }

    /// Number of knobs.
    pub fn knob_count(&self) -> usize {
        self.knobs.len()
    }

    /// Calls `look` with each position until it says stop (false). Gives the number of positions taken.
    /// Base positions and their single changes come first, since most faults show there.
    pub fn each(&self, mut look: impl FnMut(&ActuatorSet) -> bool) -> u64 {
        let mut taken = 0;
        let mut go = |set: &ActuatorSet| {
            taken += 1;
            look(set)
        };
        let Some(all) = self.all else {
            let _ = self.flips(true, &mut go) && self.sampled(&mut go);
            return taken;
        };
        for index in 0..all {
            let mut set = ActuatorSet::default();
            let mut rest = index;
            for k in &self.knobs {
                k.set(rest % k.ways(), &mut set);
                rest /= k.ways();
            }
            if !go(&set) {
                break;
            }
        }
        taken
    }

    /// Only the base positions with their single changes.
    pub fn each_single(&self, mut look: impl FnMut(&ActuatorSet) -> bool) -> bool {
        self.flips(false, &mut look)
    }

    fn flips(&self, pairs: bool, go: &mut impl FnMut(&ActuatorSet) -> bool) -> bool {
        for busy in [true, false] {
            let base: Vec<u64> = self.knobs.iter().map(|k| if busy { k.busy() } else { 0 }).collect();
            let mut set = ActuatorSet::default();
            for (k, at) in self.knobs.iter().zip(&base) {
                k.set(*at, &mut set);
            }
            if !go(&set) {
                return false;
            }
            for (i, k) in self.knobs.iter().enumerate() {
                for at in (0..k.ways()).filter(|at| *at != base[i]) {
                    let mut one = set;
                    k.set(at, &mut one);
                    if !go(&one) {
                        return false;
                    }
                    if !pairs {
                        continue;
                    }
                    for (l, base) in self.knobs[i + 1..].iter().zip(&base[i + 1..]) {
                        for at in (0..l.ways()).filter(|at| at != base) {
                            let mut two = one;
                            l.set(at, &mut two);
                            if !go(&two) {
                                return false;
                            }
                        }
                    }
                }
            }
        }
        true
    }

    fn sampled(&self, go: &mut impl FnMut(&ActuatorSet) -> bool) -> bool {
        let mut state = self.seed;
        for _ in 0..self.samples {
            let mut set = ActuatorSet::default();
            for k in &self.knobs {
                k.set(next(&mut state) % k.ways(), &mut set);
            }
            if !go(&set) {
                return false;
            }
        }
        true
    }
}

/// splitmix64 (Steele, Lea, Flood 2014; constants from memory).
pub fn next(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;
    use heatwright_core::{RelayId, ZoneId};
    use std::collections::HashSet;

    fn pump() -> Vec<Actuator> {
        let p = PumpId(0);
        vec![Actuator::Hand(p), Actuator::Auto(p), Actuator::Relay(RelayId(0)), Actuator::Call(ZoneId(0))]
    }

    #[test]
    fn a_selector_is_never_at_two_positions() {
        let mut seen = HashSet::new();
        let n = Positions::new(&pump(), 100, 0, 1).each(|s| {
            assert!(!(s.get(Actuator::Hand(PumpId(0))) && s.get(Actuator::Auto(PumpId(0)))));
            seen.insert(*s)
        });
        assert_eq!((n, seen.len()), (12, 12));
    }

    #[test]
    fn past_the_limit_flips_and_samples_are_taken_and_said_to_be_so() {
        let p = Positions::new(&pump(), 11, 50, 1);
        assert!(!p.exhaustive());
        // Two bases, each with 4 single changes (2 of the selector) and 5 pairs (2 + 2 with it, 1 without), and 50 samples.
        assert_eq!(p.each(|_| true), 2 * (1 + 4 + 5) + 50);
    }
}
