//! The calls of the zones, and what they are as sets: a tick asks the sets which calls count and which follow their contacts, and
//! looks at no call that rests.

use super::{Call, Waits};
use crate::{
    clock::Clock,
    limits::ZONES,
    mask::{Half, Mask},
    units::Instant,
};
use core::fmt;

/// The call of each zone.
#[derive(Clone, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ZoneCalls {
    calls: [Call; ZONES],
    /// They ask for heat.
    counts: Half,
    /// Their water runs on after them.
    runs_on: Half,
    /// Their contact has changed, and that does not count yet.
    waits: Half,
}

impl Default for ZoneCalls {
    fn default() -> Self {
        let none = Mask::NONE.half();
        Self { calls: [Call::Idle; ZONES], counts: none, runs_on: none, waits: none }
    }
}

impl ZoneCalls {
    /// The call of a zone; nothing past the last.
    pub fn get(&self, zone: u8) -> Option<Call> {
        self.calls.get(usize::from(zone)).copied()
    }

    /// Puts a zone's call elsewhere; nothing past the last.
    pub fn set(&mut self, zone: u8, to: Call) {
        let Some(call) = self.calls.get_mut(usize::from(zone)) else { return };
        *call = to;
        self.sort(zone, to);
    }

    /// Lets a zone's call follow its contact.
    #[inline(always)]
    pub(crate) fn follow(&mut self, zone: u8, contact: bool, waits: Waits, clock: &mut Clock) {
        let Some(call) = self.calls.get_mut(usize::from(zone)) else { return };
        if call.follow(contact, waits, clock) {
            let to = *call;
            self.sort(zone, to);
        }
    }

    /// Sorts a zone's call into the sets.
    fn sort(&mut self, zone: u8, to: Call) {
        let it = Mask::of(zone);
        let put = |set: &mut Half, is: bool| *set = set.all().without(it).or(it.only_if(is)).half();
        put(&mut self.counts, to.counts());
        put(&mut self.runs_on, to.runs_on());
        put(&mut self.waits, to.waits());
    }

    /// Zones whose call asks for heat.
    pub(crate) const fn counts(&self) -> Mask {
        self.counts.all()
    }

    /// Zones whose water runs on after their call.
    pub(crate) const fn runs_on(&self) -> Mask {
        self.runs_on.all()
    }

    /// Zones whose call has something to follow while these contacts are closed: all but those without a call, none of which is
    /// asked for, and those whose call counts and whose contact is closed.
    pub(crate) const fn moves(&self, closed: Mask) -> Mask {
        let counts = self.counts.all();
        counts.or(closed).without(counts.and(closed)).or(self.runs_on.all()).or(self.waits.all())
    }

    /// Since when each call that counts does so, with its zone.
    pub(crate) fn counted(&self) -> impl Iterator<Item = (u8, Instant)> {
        self.counts.all().iter().filter_map(|i| Some((i, self.get(i)?.counted_since()?)))
    }

    /// All of them, in order.
    pub fn iter(&self) -> impl Iterator<Item = Call> {
        self.calls.iter().copied()
    }

    /// Every call may be written anew.
    pub(crate) fn each(&mut self, mut f: impl FnMut(&mut Call)) {
        for i in 0..ZONES as u8 {
            if let Some(mut call) = self.get(i) {
                f(&mut call);
                self.set(i, call);
            }
        }
    }
}

/// As the row of calls that it stands for.
impl fmt::Debug for ZoneCalls {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(self.iter()).finish()
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::units::Span;

    const WAITS: Waits = Waits { debounce: Span::from_s(5), call_min: Span::from_s(60), overrun: Span::from_s(30) };

    /// One that is let follow its contact ends as a call of its own would, in the row and in the sets.
    #[test]
    fn a_zone_s_call_follows_its_contact() {
        let (mut kept, mut own) = (ZoneCalls::default(), Call::Idle);
        for t in 0..400u32 {
            let (contact, at) = (t % 130 < 70 || t % 41 == 0, Instant::from_s(t));
            kept.follow(3, contact, WAITS, &mut Clock::at(at));
            own.follow(contact, WAITS, &mut Clock::at(at));
            let mut put = ZoneCalls::default();
            put.set(3, own);
            assert_eq!(kept, put, "after {t} s");
        }
    }

    #[test]
    fn what_is_put_is_kept_and_changes_no_other() {
        let s = Instant::from_s;
        let mut kept = ZoneCalls::default();
        let mut row = [Call::Idle; ZONES];
        let each = [
            Call::Rising { since: s(1) },
            Call::Calling { since: s(2) },
            Call::Falling { began: s(3), since: s(4) },
            Call::Overrun { ended: s(5) },
            Call::Resuming { ended: s(6), since: s(7) },
            Call::Idle,
        ];
        // Each after each, beside one that stays.
        for (from, to) in each.iter().flat_map(|a| each.map(|b| (*a, b))) {
            for (i, call) in [(15, each[2]), (0, from), (0, to)] {
                kept.set(i, call);
                row[usize::from(i)] = call;
                assert!(kept.iter().eq(row));
                assert_eq!(std::format!("{kept:?}"), std::format!("{row:?}"));
                let mut anew = ZoneCalls::default();
                (0u8..).zip(row).for_each(|(i, call)| anew.set(i, call));
                assert_eq!(kept, anew, "two that say the same are the same");
            }
            for closed in [Mask::NONE, Mask::from_bits(0xFFFF), Mask::of(0)] {
                for (it, call) in Mask::each(row) {
                    let contact = closed.meets(it);
                    let rests = matches!((call, contact), (Call::Idle, false) | (Call::Calling { .. }, true));
                    assert_eq!(kept.moves(closed).meets(it), !rests);
                    let mut after = call;
                    let another = after.follow(contact, WAITS, &mut Clock::at(s(500)));
                    assert_eq!(another, after != call);
                    assert!(!rests || !another, "what rests may be left alone: {call:?}");
                }
            }
            assert_eq!(kept.counts(), Mask::places(&row, |c| c.counts()));
            assert_eq!(kept.runs_on(), Mask::places(&row, |c| c.runs_on()));
            let counted = (0u8..).zip(row).filter_map(|(i, c)| Some((i, c.counted_since()?)));
            assert!(kept.counted().eq(counted));
        }
        let before = kept.clone();
        kept.set(16, each[1]);
        assert_eq!((kept.get(16), kept), (None, before), "there is none past the last");
    }
}
