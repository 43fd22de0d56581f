//! Where the pumps stand, as it is kept: sets of those that run, and a moment for each. Half the room of a row of states, and a
//! tick that asks which pumps run reads two words.

use super::PumpState;
use crate::{limits::PUMPS, mask::Mask, units::Instant};
use core::fmt;

/// Where each pump stands.
#[derive(Clone, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PumpStates {
    /// Pumps that run, and those of them that run so that they do not seize.
    on: Mask,
    exercised: Mask,
    /// Since when each stands or runs as it does.
    since: [Instant; PUMPS],
}

impl PumpStates {
    /// All stand since `since`.
    pub(crate) const fn standing(since: Instant) -> Self {
        Self { on: Mask::NONE, exercised: Mask::NONE, since: [since; PUMPS] }
    }

    /// Where a pump stands; nothing past the last.
    pub fn get(&self, pump: u8) -> Option<PumpState> {
        let since = *self.since.get(usize::from(pump))?;
        Some(if !self.on.has(pump) {
            PumpState::Off { since }
        } else if !self.exercised.has(pump) {
            PumpState::On { since }
        } else {
            PumpState::Exercise { since }
        })
    }

    /// Puts a pump elsewhere; nothing past the last.
    #[inline(never)]
    pub fn set(&mut self, pump: u8, to: PumpState) {
        let Some(slot) = self.since.get_mut(usize::from(pump)) else { return };
        let it = Mask::of(pump);
        let (PumpState::Off { since } | PumpState::On { since } | PumpState::Exercise { since }) = to;
        *slot = since;
        self.on = self.on.without(it).or(it.only_if(to.is_on()));
        self.exercised = self.exercised.without(it).or(it.only_if(matches!(to, PumpState::Exercise { .. })));
    }

    /// Lets each pump of a set that ran because somebody asked, or by its switch, stand from now on where `over` tells, which gets
    /// the pump and since when it has run; gives those that it has stopped.
    #[inline(always)]
    pub(crate) fn stop(&mut self, pumps: Mask, now: Instant, mut over: impl FnMut(u8, Instant) -> bool) -> Mask {
        let mut stopped = Mask::NONE;
        for i in pumps.iter() {
            if let Some(since) = self.since.get_mut(usize::from(i))
                && over(i, *since)
            {
                *since = now;
                stopped = stopped.or(Mask::of(i));
            }
        }
        self.on = self.on.without(stopped);
        stopped
    }

    /// Since when a pump stands or runs as it does; the beginning of time past the last.
    pub(crate) fn since(&self, pump: u8) -> Instant {
        self.since.get(usize::from(pump)).copied().unwrap_or(Instant::ZERO)
    }

    /// Those that run.
    pub(crate) const fn on(&self) -> Mask {
        self.on
    }

    /// Those that run for their exercise.
    pub(crate) const fn exercised(&self) -> Mask {
        self.exercised
    }

    /// All of them, in order.
    pub fn iter(&self) -> impl Iterator<Item = PumpState> {
        (0..PUMPS as u8).filter_map(|i| self.get(i))
    }

    /// Every state may be written anew.
    pub(crate) fn each(&mut self, mut f: impl FnMut(&mut PumpState)) {
        for i in 0..PUMPS as u8 {
            if let Some(mut pump) = self.get(i) {
                f(&mut pump);
                self.set(i, pump);
            }
        }
    }
}

/// As the row of states that it stands for.
impl fmt::Debug for PumpStates {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(self.iter()).finish()
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    #[test]
    fn what_is_put_is_kept_and_changes_no_other() {
        let s = Instant::from_s;
        let mut kept = PumpStates::standing(s(3));
        let mut row = [PumpState::Off { since: s(3) }; PUMPS];
        let put = [
            (1, PumpState::On { since: s(4) }),
            (23, PumpState::Exercise { since: s(5) }),
            (0, PumpState::Exercise { since: s(6) }),
            (1, PumpState::Exercise { since: s(7) }),
            (1, PumpState::Off { since: s(8) }),
            (0, PumpState::On { since: s(6) }),
        ];
        for (i, state) in put {
            kept.set(i, state);
            row[usize::from(i)] = state;
            assert!(kept.iter().eq(row));
            assert_eq!(std::format!("{kept:?}"), std::format!("{row:?}"));
        }
        let mut stopped = kept.clone();
        let one = stopped.stop(Mask::of(0), s(9), |i, since| i == 0 && since == s(6));
        assert_eq!((one, stopped.get(0)), (Mask::of(0), Some(PumpState::Off { since: s(9) })));
        assert_eq!(stopped.stop(Mask::of(1), s(9), |_, _| false), Mask::NONE);
        stopped.set(0, PumpState::On { since: s(6) });
        assert_eq!(stopped, kept, "one that runs on and all others are left alone");
        assert_eq!((kept.on().bits(), kept.exercised().bits()), (1 | 1 << 23, 1 << 23));
        let before = kept.clone();
        kept.set(24, PumpState::On { since: s(9) });
        assert_eq!((kept.get(24), kept), (None, before), "there is none past the last");
    }
}
