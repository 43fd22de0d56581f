//! The burner control's sequence.
//!
//! ```text
//!            called                proved              time                time, fuel
//!   Off ------------> WaitProof ----------> PrePurge -------> Ignition ------------------> Lit
//!    ^                   |                     ^                 |                          |
//!    |                   | call ends           | time, no fuel,  | last trial               | call ends, limit or
//!    |                   v                     | trials left     v                          | proof opens, fuel gone
//!    +------------------Off                    +--- Ignition   Lockout                      v
//!    +------------------------------------------------------------------- time --------- PostPurge
//! ```
//!
//! A call that ends, or a limit that opens, before the flame goes through `PostPurge` too. Without line power every state
//! but `Lockout` falls to `Off`. `Lockout` is left by the reset at the boiler only. When fuel goes while `Lit`, the burner
//! tries again from `PrePurge` after its post-purge. The sequence is common practice; timings come from the plant.
//!
//! Times count down in steps; a change falls on the first step at or past its moment.

use crate::plant;

/// Where the sequence stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Burner {
    /// At rest.
    Off,
    /// Called; the proving pair is not closed yet.
    WaitProof,
    /// Fan before ignition.
    PrePurge {
        /// Time left, in seconds.
        left_s: f64,
        /// The trial that follows, from 1.
        trial: u8,
    },
    /// Ignition trial.
    Ignition {
        /// Time left, in seconds.
        left_s: f64,
        /// Which trial this is, from 1.
        trial: u8,
    },
    /// Burning.
    Lit {
        /// Time burning, in seconds.
        for_s: f64,
    },
    /// Fan after the flame.
    PostPurge {
        /// Time left, in seconds.
        left_s: f64,
    },
    /// No flame after the last trial.
    Lockout,
}

/// What the burner control senses.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Senses {
    /// It has line power.
    pub line: bool,
    /// Its limit pair and its own limit are closed.
    pub limit: bool,
    /// Its proving pair is closed.
    pub proved: bool,
    /// Its temperature control wants fire.
    pub called: bool,
    /// There is gas.
    pub fuel: bool,
    /// Its reset button is pressed.
    pub reset: bool,
}

impl Senses {
    /// Its temperature control wants fire, and no limit is open.
    pub(crate) const fn may_burn(self) -> bool {
        self.called && self.limit
    }

    /// Everything that a flame needs.
    pub(crate) const fn burns(self) -> bool {
        self.line && self.may_burn() && self.proved && self.fuel
    }
}

/// Below this a countdown is over: rounding of many small steps stays far under it.
const OVER_S: f64 = 1e-6;

impl Burner {
    /// The state one step later.
    pub fn next(self, timings: &plant::Burner, s: Senses, dt_s: f64) -> Burner {
        if self == Burner::Lockout {
            return if s.reset && s.line { Burner::Off } else { Burner::Lockout };
        }
        if !s.line {
            return Burner::Off;
        }
        let may_burn = s.may_burn();
        let post = Burner::PostPurge { left_s: timings.post_purge_s };
        match self {
            Burner::Off if may_burn && s.proved => Burner::PrePurge { left_s: timings.pre_purge_s, trial: 1 },
            Burner::Off | Burner::WaitProof if !may_burn => Burner::Off,
            Burner::WaitProof if s.proved => Burner::PrePurge { left_s: timings.pre_purge_s, trial: 1 },
            Burner::Off | Burner::WaitProof => Burner::WaitProof,
            Burner::PrePurge { .. } | Burner::Ignition { .. } if !may_burn => post,
            Burner::PrePurge { .. } | Burner::Ignition { .. } if !s.proved => Burner::WaitProof,
            Burner::PrePurge { left_s, trial } if left_s - dt_s > OVER_S => {
                Burner::PrePurge { left_s: left_s - dt_s, trial }
            }
            Burner::PrePurge { trial, .. } => Burner::Ignition { left_s: timings.ignition_s, trial },
            Burner::Ignition { left_s, trial } if left_s - dt_s > OVER_S => {
                Burner::Ignition { left_s: left_s - dt_s, trial }
            }
            Burner::Ignition { .. } if s.fuel => Burner::Lit { for_s: 0.0 },
            Burner::Ignition { trial, .. } if trial < timings.trials => {
                Burner::PrePurge { left_s: timings.pre_purge_s, trial: trial + 1 }
            }
            Burner::Ignition { .. } => Burner::Lockout,
            Burner::Lit { for_s } if may_burn && s.proved && s.fuel => Burner::Lit { for_s: for_s + dt_s },
            Burner::Lit { .. } => post,
            Burner::PostPurge { left_s } if left_s - dt_s > OVER_S => Burner::PostPurge { left_s: left_s - dt_s },
            Burner::PostPurge { .. } => Burner::Off,
            Burner::Lockout => Burner::Lockout,
        }
    }

    /// True while fuel burns.
    pub const fn lit(self) -> bool {
        matches!(self, Burner::Lit { .. })
    }

    /// True while it is locked out.
    pub const fn locked(self) -> bool {
        matches!(self, Burner::Lockout)
    }

    /// True once the flame contact has closed.
    pub fn flame_contact(self, timings: &plant::Burner) -> bool {
        matches!(self, Burner::Lit { for_s } if for_s + OVER_S >= timings.flame_proof_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TIMINGS: plant::Burner = plant::Burner {
        pre_purge_s: 3.0,
        ignition_s: 2.0,
        trials: 2,
        flame_proof_s: 2.0,
        post_purge_s: 4.0,
        modulation_lag_s: 0.0,
    };
    const CALLED: Senses = Senses { line: true, limit: true, proved: true, called: true, fuel: true, reset: false };

    fn after(mut b: Burner, s: Senses, steps: usize) -> Burner {
        for _ in 0..steps {
            b = b.next(&TIMINGS, s, 1.0);
        }
        b
    }

    #[test]
    fn a_start_takes_purge_and_ignition_and_a_stop_takes_post_purge() {
        assert!(!after(Burner::Off, CALLED, 5).lit());
        let lit = after(Burner::Off, CALLED, 6);
        assert!(lit.lit() && !lit.flame_contact(&TIMINGS));
        assert!(after(lit, CALLED, 2).flame_contact(&TIMINGS));
        let ended = Senses { called: false, ..CALLED };
        assert_eq!(after(lit, ended, 1), Burner::PostPurge { left_s: 4.0 });
        assert_eq!(after(lit, ended, 5), Burner::Off);
        // A new call waits for the post-purge.
        assert_eq!(after(after(lit, ended, 1), CALLED, 3), Burner::PostPurge { left_s: 1.0 });
    }

    #[test]
    fn half_the_step_lights_at_the_same_second() {
        let mut b = Burner::Off;
        let mut steps = 0;
        while !b.lit() {
            b = b.next(&TIMINGS, CALLED, 0.5);
            steps += 1;
        }
        assert!((5.0..=6.0).contains(&(f64::from(steps) * 0.5)), "lit after {steps} half seconds");
    }

    #[test]
    fn no_fuel_locks_out_after_the_trials_and_only_the_reset_frees_it() {
        let dry = Senses { fuel: false, ..CALLED };
        assert_eq!(after(Burner::Off, dry, 11), Burner::Lockout);
        assert_ne!(after(Burner::Off, dry, 10), Burner::Lockout);
        assert_eq!(after(Burner::Lockout, Senses { line: false, ..CALLED }, 100), Burner::Lockout);
        assert_eq!(after(Burner::Lockout, Senses { reset: true, ..CALLED }, 1), Burner::Off);
    }

    #[test]
    fn limits_and_proofs_put_the_flame_out_in_their_step() {
        let lit = Burner::Lit { for_s: 100.0 };
        for s in [
            Senses { limit: false, ..CALLED },
            Senses { proved: false, ..CALLED },
            Senses { line: false, ..CALLED },
            Senses { fuel: false, ..CALLED },
        ] {
            assert!(!after(lit, s, 1).lit(), "{s:?}");
        }
        assert_eq!(after(Burner::Off, Senses { proved: false, ..CALLED }, 50), Burner::WaitProof);
    }
}
