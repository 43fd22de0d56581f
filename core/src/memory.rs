//! What survives a power cut: counters, the lead, what is latched and what opened first.
//!
//! The state of the machines does not survive: after power-up every boiler is off and waits its shortest stop and post-purge
//! from there, every pump stands, every call is heard anew. That is the safe reading of "I do not know how long I was off".
//!
//! Counters, lockouts and latches go by the numbers of boilers, pumps, relays and safeties, and those are of one configuration.
//! A record says by the fingerprint of its block which one it is of; for another nothing is kept that goes by a number, and
//! what was safe stays so ([`Memory::for_another_plant`]).

mod record;

use crate::{
    boilers::{Boiler, BoilerState, Failure},
    damper::Damper,
    guard::{Guard, hot::HotCuts, proofs::Proofs},
    limits::BOILERS,
    mask::Mask,
    meter::Meter,
    rotation::Rotation,
    units::Instant,
};

/// What a power cut does not take away.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Memory {
    /// Hours, starts and operations.
    pub meter: Meter,
    /// The lead and the calendar mark.
    pub rotation: Rotation,
    /// First-out and hand-reset safeties.
    pub guard: Guard,
    /// Boilers whose last start failed: the next failure latches, power cut or not.
    pub tried: Mask,
    /// Boilers locked out.
    pub lockouts: [Option<Failure>; BOILERS],
    /// The damper has failed twice.
    pub damper_failed: bool,
    /// It has failed once, and has not been proved open since: the next failure latches, power cut or not.
    pub damper_missed: bool,
    /// The damper's proof is stuck: no air until it is seen open, or acknowledged.
    pub damper_stuck: bool,
    /// The damper's proof was lost under a demand and nobody has acknowledged it.
    pub damper_lost: bool,
    /// Boilers that were cut by their own hot water too often and are not acknowledged.
    pub hot_cuts: Mask,
}

/// What a record holds for the configuration that runs now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Found {
    /// Nothing was ever stored.
    Nothing,
    /// What was remembered.
    Whole(Memory),
    /// It was remembered for another configuration; this is what may stand for any. Somebody must be told.
    OtherPlant(Memory),
    /// A record of another version, or one that makes no sense: whether a boiler was locked out is not known. Somebody must
    /// be told.
    Unread,
}

impl Found {
    /// What to power up with.
    pub const fn memory(&self) -> Option<&Memory> {
        match self {
            Found::Whole(m) | Found::OtherPlant(m) => Some(m),
            Found::Nothing | Found::Unread => None,
        }
    }
}

impl Memory {
    /// Version of what is remembered; a store with another one is not read.
    pub const VERSION: u8 = 4;

    /// What may stand after a change of the configuration. The damper is the plant's and stays as it is. If any boiler was
    /// locked out all are, until acknowledged; if any had failed to start once, the next failure of each latches: which of them
    /// it was nobody can tell any more. All that was counted, the lead and what opened are forgotten.
    #[must_use]
    pub fn for_another_plant(&self) -> Self {
        Self {
            meter: Meter::default(),
            rotation: Rotation::default(),
            guard: Guard::default(),
            tried: Mask::first_of(BOILERS).only_if(!self.tried.is_empty()),
            lockouts: [self.lockouts.iter().flatten().next().copied(); BOILERS],
            hot_cuts: Mask::NONE,
            ..*self
        }
    }

    pub(crate) fn boiler(&self, index: usize) -> Boiler {
        match self.lockouts.get(index).copied().flatten() {
            Some(why) => {
                Boiler { state: BoilerState::LockedOut { since: Instant::ZERO, why }, tried: true, unlit: true }
            }
            None => {
                let tried = self.tried.has(index as u8);
                Boiler { tried, unlit: tried, ..Boiler::off(Instant::ZERO) }
            }
        }
    }

    pub(crate) const fn damper(&self) -> Damper {
        match (self.damper_failed, self.damper_missed) {
            (true, _) => Damper::Failed,
            (false, true) => Damper::Missed,
            (false, false) => Damper::Closed,
        }
    }

    pub(crate) fn proofs(&self) -> Proofs {
        Proofs { damper_stuck: self.damper_stuck, damper_lost: self.damper_lost, ..Proofs::default() }
    }

    pub(crate) fn hot(&self) -> HotCuts {
        HotCuts { often: self.hot_cuts, ..HotCuts::default() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{State, tests::plant};

    /// What failed before the cut has failed after it.
    #[test]
    fn a_damper_that_failed_and_a_boiler_that_did_not_light_are_remembered() {
        let mut before = State::new(&plant(), None);
        let fresh = before.memory();
        before.control.damper = Damper::Failed;
        before.control.boilers[1] = Boiler { tried: true, ..Boiler::off(Instant::ZERO) };
        let after = State::new(&plant(), Some(&before.memory())).control;
        assert_eq!(after.damper, Damper::Failed);
        assert_eq!(after.boilers.map(|b| (b.tried, b.unlit))[..2], [(false, false), (true, true)]);
        assert_eq!(State::new(&plant(), Some(&fresh)).control.damper, Damper::Closed);
        for once in [Damper::Waiting { since: Instant::ZERO }, Damper::Missed] {
            before.control.damper = once;
            assert_eq!(State::new(&plant(), Some(&before.memory())).control.damper, Damper::Missed);
        }
        before.control.damper = Damper::Open;
        assert_eq!(State::new(&plant(), Some(&before.memory())).control.damper, Damper::Closed);
    }

    #[test]
    fn a_state_belongs_to_the_plant_that_it_was_made_for() {
        let one = plant();
        let state = State::new(&one, None);
        let mut other = one.clone();
        other.zones[0].sheddable = false;
        assert!(state.belongs_to(&one) && !state.belongs_to(&other));
    }
}
