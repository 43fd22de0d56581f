//! The combustion-air damper, which belongs to the plant and not to a boiler.
//!
//! ```text
//!   Closed -- a boiler needs air --> Opening -- proved open --> Open -- nobody needs air --> Closed
//!                                     |  ^                        '---- proof lost --> Opening
//!          not proved in time, first  |  | damper_retry_after over
//!                                     v  |
//!                                    Waiting        the second time: Failed -- acknowledged --> Closed
//! ```
//!
//! A first failure is forgotten once the damper is proved open, and by nothing less: where nobody needs air any more it is `Missed`
//! instead of closed, a power cut or not, and the next failure latches.
//!
//! A damper that does not open is a *common* fault: it is charged to no boiler and brings no next one. Without a damper
//! relay and without a contact that looks at it there is always air. With a contact and no relay the damper is somebody
//! else's: its proof is waited for and never asked for. Source: a powered opening is proved open on its driven blade before
//! the burner lights (ASME CSD-1, CG-2xx, section from memory); one more request is our choice.

use crate::{clock::Clock, config::GuardConfig, units::Instant};

/// Where the damper stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Damper {
    /// Not asked for.
    #[default]
    Closed,
    /// Asked to open and not proved.
    Opening {
        /// Since when.
        since: Instant,
        /// It has failed once.
        again: bool,
    },
    /// Not asked for; it failed once, and has not been proved open since.
    Missed,
    /// Proved open.
    Open,
    /// It failed once and rests before it is asked again.
    Waiting {
        /// Since when.
        since: Instant,
    },
    /// It failed twice; waits to be acknowledged.
    Failed,
}

impl Damper {
    /// True while the damper is asked to be open.
    pub const fn asked(self) -> bool {
        matches!(self, Damper::Opening { .. } | Damper::Open)
    }

    /// True while it has failed once and has not been proved open since: the next failure latches.
    pub const fn failed_once(self) -> bool {
        matches!(self, Damper::Missed | Damper::Waiting { .. } | Damper::Opening { again: true, .. })
    }

    /// Moves the damper; `proof` is `None` when nobody looks at it.
    pub(crate) fn decide(
        &mut self,
        config: &GuardConfig,
        needed: bool,
        proof: Option<bool>,
        acknowledge: bool,
        clock: &mut Clock,
    ) {
        let now = clock.now();
        let next = match *self {
            Damper::Failed if acknowledge => Damper::Closed,
            Damper::Failed => return,
            Damper::Closed | Damper::Missed if !needed => return,
            once if !needed && once.failed_once() => Damper::Missed,
            Damper::Opening { .. } | Damper::Open | Damper::Waiting { .. } if !needed => Damper::Closed,
            Damper::Closed => Damper::Opening { since: now, again: false },
            Damper::Missed => Damper::Opening { since: now, again: true },
            Damper::Opening { .. } if proof != Some(false) => Damper::Open,
            Damper::Opening { since, again } if clock.elapsed(since, config.damper_proof_max) => {
                if again {
                    Damper::Failed
                } else {
                    Damper::Waiting { since: now }
                }
            }
            Damper::Open if proof == Some(false) => Damper::Opening { since: now, again: false },
            Damper::Waiting { since } if clock.elapsed(since, config.damper_retry_after) => {
                Damper::Opening { since: now, again: true }
            }
            Damper::Opening { .. } | Damper::Open | Damper::Waiting { .. } => return,
        };
        *self = next;
        clock.written(true);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Span, tests::GUARD};

    const CONFIG: GuardConfig =
        GuardConfig { damper_proof_max: Span::from_s(60), damper_retry_after: Span::from_s(120), ..GUARD };

    #[test]
    fn a_damper_that_does_not_open_is_asked_once_more_and_then_latches() {
        let mut d = Damper::Closed;
        let mut at = |s: u32, needed, proof, acknowledge| {
            d.decide(&CONFIG, needed, proof, acknowledge, &mut Clock::at(Instant::from_s(s)));
            d
        };
        let s = Instant::from_s;
        assert_eq!(at(0, true, Some(false), false), Damper::Opening { since: s(0), again: false });
        assert_eq!(at(59, true, Some(false), false), Damper::Opening { since: s(0), again: false });
        assert_eq!(at(60, true, Some(false), false), Damper::Waiting { since: s(60) });
        assert_eq!(at(179, true, Some(false), false), Damper::Waiting { since: s(60) });
        assert_eq!(at(180, true, Some(false), false), Damper::Opening { since: s(180), again: true });
        assert_eq!(at(240, true, Some(false), false), Damper::Failed);
        assert_eq!(at(999, false, Some(false), false), Damper::Failed, "latched without a need too");
        assert_eq!(at(1000, true, Some(true), true), Damper::Closed);
        assert_eq!(at(1001, true, Some(true), false), Damper::Opening { since: s(1001), again: false });
        assert_eq!(at(1002, true, Some(true), false), Damper::Open);
        assert_eq!(at(1003, true, Some(false), false), Damper::Opening { since: s(1003), again: false });
        assert_eq!(at(1004, false, Some(false), false), Damper::Closed);
    }

    /// Where nobody needs air between two failures, or one need is all there is before it opens.
    #[test]
    fn a_first_failure_is_forgotten_only_by_a_damper_that_opens() {
        let from = |d: Damper, s: u32, needed, open| {
            let mut d = d;
            d.decide(&CONFIG, needed, Some(open), false, &mut Clock::at(Instant::from_s(s)));
            d
        };
        let waiting = Damper::Waiting { since: Instant::ZERO };
        let again = |s| Damper::Opening { since: Instant::from_s(s), again: true };
        assert_eq!([waiting, again(0), Damper::Missed].map(|d| from(d, 9, false, false)), [Damper::Missed; 3]);
        assert_eq!(from(Damper::Missed, 10, true, false), again(10));
        assert_eq!([from(again(0), 60, true, false), from(again(0), 60, true, true)], [Damper::Failed, Damper::Open]);
        let once = Damper::Opening { since: Instant::ZERO, again: false };
        assert_eq!([once, Damper::Open].map(|d| from(d, 9, false, true)), [Damper::Closed; 2]);
        let kept = [waiting, again(0), Damper::Missed, once, Damper::Open, Damper::Failed, Damper::Closed];
        assert_eq!(kept.map(Damper::failed_once), [true, true, true, false, false, false, false]);
    }

    #[test]
    fn a_damper_that_nobody_looks_at_is_taken_as_open_once_asked() {
        let mut d = Damper::Closed;
        for (s, want) in [(0, Damper::Opening { since: Instant::ZERO, again: false }), (1, Damper::Open)] {
            d.decide(&CONFIG, true, None, false, &mut Clock::at(Instant::from_s(s)));
            assert_eq!(d, want);
        }
    }
}
