//! One call for heat, from a bouncing contact to "this call counts".
//!
//! A thermostat's contact bounces and hunts. A change of it counts once it has lasted `debounce`; a call that counts holds at
//! least `call_min`; after it the water runs on for `overrun`. Zones and the tank use the same machine. Source: common
//! practice; the lengths are settings.
//!
//! ```text
//!              contact on                    lasted debounce
//!   Idle ------------------> Rising -------------------------> Calling
//!    ^ ^--- contact off -------'                                | ^
//!    |                                             contact off  | | contact on
//!    | overrun over                                             v |
//!   Overrun <------- off for debounce, on for call_min ------- Falling
//!    | ^
//!    v |  contact on / off
//!   Resuming ---- lasted debounce ---> Calling;  overrun over ---> Rising
//! ```
//!
//! A `debounce` of zero counts the change in its own tick. It decides nothing about pumps: water that should flow is asked
//! for by the zone, and the pump has waits of its own.

mod kept;

use crate::{
    clock::Clock,
    units::{Instant, Span},
};
pub use kept::ZoneCalls;

/// Where a call stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Call {
    /// No call.
    #[default]
    Idle,
    /// The contact is on and does not count yet.
    Rising {
        /// Contact on since.
        since: Instant,
    },
    /// The call counts.
    Calling {
        /// Counted since.
        since: Instant,
    },
    /// The call counts; the contact is off and that does not count yet.
    Falling {
        /// Counted since.
        began: Instant,
        /// Contact off since.
        since: Instant,
    },
    /// The call is over and the water runs on.
    Overrun {
        /// The call ended here.
        ended: Instant,
    },
    /// The water runs on from the last call, the contact is on again and does not count yet.
    Resuming {
        /// The last call ended here.
        ended: Instant,
        /// Contact on since.
        since: Instant,
    },
}

/// The waits of a call.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Waits {
    pub(crate) debounce: Span,
    pub(crate) call_min: Span,
    pub(crate) overrun: Span,
}

impl Call {
    /// True while the call asks for heat.
    pub const fn counts(self) -> bool {
        matches!(self, Call::Calling { .. } | Call::Falling { .. })
    }

    /// Since when the call counts, while it does.
    pub const fn counted_since(self) -> Option<Instant> {
        match self {
            Call::Calling { since } | Call::Falling { began: since, .. } => Some(since),
            Call::Idle | Call::Rising { .. } | Call::Overrun { .. } | Call::Resuming { .. } => None,
        }
    }

    /// True while the water runs on after the call.
    pub const fn runs_on(self) -> bool {
        matches!(self, Call::Overrun { .. } | Call::Resuming { .. })
    }

    /// True while a change of the contact does not count yet.
    pub(crate) const fn waits(self) -> bool {
        matches!(self, Call::Rising { .. } | Call::Falling { .. } | Call::Resuming { .. })
    }

    /// Follows the contact; true when that leads to another state.
    pub(crate) fn follow(&mut self, contact: bool, waits: Waits, clock: &mut Clock) -> bool {
        let now = clock.now();
        *self = match *self {
            Call::Idle if !contact => return false,
            Call::Idle if waits.debounce.is_zero() => Call::Calling { since: now },
            Call::Idle => Call::Rising { since: now },
            Call::Rising { .. } if !contact => Call::Idle,
            Call::Rising { since } if clock.elapsed(since, waits.debounce) => Call::Calling { since: now },
            Call::Rising { .. } => return false,
            Call::Calling { .. } if contact => return false,
            Call::Calling { since } if waits.debounce.is_zero() && clock.elapsed(since, waits.call_min) => {
                Self::ended(now, waits)
            }
            Call::Calling { since } => Call::Falling { began: since, since: now },
            Call::Falling { began, .. } if contact => Call::Calling { since: began },
            Call::Falling { began, since }
                if clock.elapsed(since, waits.debounce) && clock.elapsed(began, waits.call_min) =>
            {
                Self::ended(now, waits)
            }
            Call::Falling { .. } => return false,
            Call::Overrun { ended } if clock.elapsed(ended, waits.overrun) => Call::Idle,
            Call::Overrun { .. } if !contact => return false,
            Call::Overrun { .. } if waits.debounce.is_zero() => Call::Calling { since: now },
            Call::Overrun { ended } => Call::Resuming { ended, since: now },
            Call::Resuming { ended, .. } if !contact => Call::Overrun { ended },
            Call::Resuming { since, .. } if clock.elapsed(since, waits.debounce) => Call::Calling { since: now },
            Call::Resuming { ended, since } if clock.elapsed(ended, waits.overrun) => Call::Rising { since },
            Call::Resuming { .. } => return false,
        };
        clock.written(true);
        true
    }

    const fn ended(now: Instant, waits: Waits) -> Self {
        if waits.overrun.is_zero() { Call::Idle } else { Call::Overrun { ended: now } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WAITS: Waits = Waits { debounce: Span::from_s(5), call_min: Span::from_s(60), overrun: Span::from_s(30) };

    /// Follows a contact second by second from `Idle`; returns the calls at the seconds asked for.
    fn trace(on: impl Fn(u32) -> bool, at: &[u32]) -> Vec<Call> {
        let mut c = Call::Idle;
        let mut out = Vec::new();
        for s in 0..=*at.iter().max().unwrap() {
            c.follow(on(s), WAITS, &mut Clock::at(Instant::from_s(s)));
            if at.contains(&s) {
                out.push(c);
            }
        }
        out
    }

    extern crate std;
    use std::vec::Vec;

    const fn s(v: u32) -> Instant {
        Instant::from_s(v)
    }

    #[test]
    fn a_bounce_does_not_count() {
        assert_eq!(trace(|t| t < 4, &[3, 4]), [Call::Rising { since: s(0) }, Call::Idle]);
    }

    #[test]
    fn a_call_holds_its_minimum_and_runs_on() {
        assert_eq!(
            trace(|t| t < 10, &[4, 5, 10, 64, 65, 94, 95]),
            [
                Call::Rising { since: s(0) },
                Call::Calling { since: s(5) },
                Call::Falling { began: s(5), since: s(10) },
                Call::Falling { began: s(5), since: s(10) },
                Call::Overrun { ended: s(65) },
                Call::Overrun { ended: s(65) },
                Call::Idle,
            ]
        );
    }

    #[test]
    fn a_call_that_comes_back_in_the_overrun_keeps_the_water_moving() {
        assert_eq!(
            trace(|t| !(10..92).contains(&t), &[92, 94, 95, 97]),
            [
                Call::Resuming { ended: s(65), since: s(92) },
                Call::Resuming { ended: s(65), since: s(92) },
                Call::Rising { since: s(92) },
                Call::Calling { since: s(97) },
            ]
        );
        assert!(Call::Resuming { ended: s(0), since: s(1) }.runs_on());
    }

    #[test]
    fn without_debounce_a_change_counts_in_its_own_tick() {
        let waits = Waits { debounce: Span::ZERO, call_min: Span::ZERO, overrun: Span::ZERO };
        let mut c = Call::Idle;
        c.follow(true, waits, &mut Clock::at(s(7)));
        assert_eq!(c, Call::Calling { since: s(7) });
        c.follow(false, waits, &mut Clock::at(s(8)));
        assert_eq!(c, Call::Idle);
    }

    /// The contact is on for ten seconds; the call counts until 65 s, the water runs on until 95 s.
    #[test]
    fn a_bump_shorter_than_the_debounce_does_not_bring_a_call_back() {
        let bump = |t: u32| t < 10 || (70..73).contains(&t);
        assert_eq!(
            trace(bump, &[69, 72, 73, 80, 94, 95]),
            [
                Call::Overrun { ended: s(65) },
                Call::Resuming { ended: s(65), since: s(70) },
                Call::Overrun { ended: s(65) },
                Call::Overrun { ended: s(65) },
                Call::Overrun { ended: s(65) },
                Call::Idle,
            ]
        );
    }

    #[test]
    fn a_break_shorter_than_the_debounce_does_not_end_a_call() {
        let broken = |t: u32| t < 100 || (103..200).contains(&t);
        assert_eq!(
            trace(broken, &[100, 102, 103, 199]),
            [
                Call::Falling { began: s(5), since: s(100) },
                Call::Falling { began: s(5), since: s(100) },
                Call::Calling { since: s(5) },
                Call::Calling { since: s(5) },
            ]
        );
    }

    #[test]
    fn without_a_contact_and_a_call_nothing_follows() {
        let after = |before: Call, contact| {
            let mut call = before;
            let another = call.follow(contact, WAITS, &mut Clock::at(s(500)));
            assert_eq!(another, call != before);
            call
        };
        assert_eq!(after(Call::Idle, false), Call::Idle);
        assert_eq!(after(Call::Idle, true), Call::Rising { since: s(500) });
        assert_eq!(after(Call::Calling { since: s(5) }, true), Call::Calling { since: s(5) });
        assert_eq!(after(Call::Calling { since: s(5) }, false), Call::Falling { began: s(5), since: s(500) });
    }
}
