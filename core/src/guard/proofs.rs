//! Proofs that do not follow what drives them: a stuck end switch, flow made at rest, a damper proof made at rest.
//!
//! * **End switch of a zone valve**: it must close within `valve_travel_max` of its relay, and open within the same time
//!   after it. Alarm only: one that does not close keeps its zone's pump waiting by itself; one that does not open lets a
//!   pump run against a shut valve, which harms nothing at once.
//! * **Flow made at rest**: while none of our pumps runs and no boiler has a demand for [`REST`], no flow can be there. A
//!   flow switch that still says so is stuck. Alarm only, our choice: limits and low-water cutoff still guard the boiler, and a
//!   cold building is the greater harm. Pumps that a boiler switches by itself are not seen; none is expected to run then.
//! * **Damper proof made at rest**: `damper_proof_max` after the damper was last asked to be open its proof must be gone. A
//!   proof that was never lost proves nothing: there is no air until somebody acknowledges, or it is seen open. Only for a
//!   damper that is ours to switch.
//!
//! * **Damper proof lost under fire**: ends every demand at once (`boilers`); here it is kept as an alarm until acknowledged.
//!
//! The others are forgotten as soon as the contact agrees again, flow and damper also when acknowledged, which begins
//! their wait anew (a proof that is still made is found again after it). Source: an air proof that is made before the
//! call is a fault of the start in burner controls (ANSI Z21.20, from memory, clause not checked); the rest is common
//! practice, the lengths our choice.

use crate::{
    clock::Clock,
    config::{Config, GuardConfig},
    ids::{BoilerId, ZoneId},
    limits::ZONES,
    mask::Mask,
    reason::Reason,
    seen::Seen,
    units::{Instant, Span},
};

/// Flow must be gone once all has stood for this long. Our choice: longer than any pump takes to run down.
pub const REST: Span = Span::from_min(5);

/// Proofs and since when they contradict.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Proofs {
    /// Zones whose end switch contradicts the valve's relay.
    pub ends_wrong: Mask,
    /// Since when; zero for the others.
    pub ends_since: [Instant; ZONES],
    /// Zones whose end switch is stuck.
    pub ends_stuck: Mask,
    /// All has stood since.
    pub rest_since: Option<Instant>,
    /// Boilers whose flow switch is stuck.
    pub flow_stuck: Mask,
    /// The damper has not been asked for since, and its proof is made.
    pub damper_since: Option<Instant>,
    /// The damper's proof is stuck.
    pub damper_stuck: bool,
    /// The damper's proof was lost while a boiler had a demand, and nobody has acknowledged it.
    pub damper_lost: bool,
}

/// What the proofs are held against: what this tick asked for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Around {
    /// Zones whose valve is asked to be open.
    pub(crate) valves: Mask,
    /// No pump of ours runs and no boiler has a demand.
    pub(crate) rest: bool,
    /// The damper is asked to be open; `None` for one that is not ours.
    pub(crate) damper: Option<bool>,
    /// The damper's proof has just been lost under a demand.
    pub(crate) lost: bool,
}

impl Proofs {
    /// Holds the proofs against what drives them.
    #[inline(never)]
    pub(crate) fn decide(&mut self, config: &GuardConfig, seen: &Seen, around: &Around, clock: &mut Clock) {
        if !config.valve_travel_max.is_zero() {
            for i in seen.end_switches.iter() {
                self.end_switch(i, around.valves.has(i) == seen.ends_closed.has(i), config.valve_travel_max, clock);
            }
        }
        let lost = around.lost || self.damper_lost && !seen.acknowledge;
        clock.put(&mut self.damper_lost, lost);
        self.flow(seen, around.rest, clock);
        self.damper(seen, around.damper, config.damper_proof_max, clock);
    }

    fn end_switch(&mut self, i: u8, agrees: bool, travel: Span, clock: &mut Clock) {
        let Some(since) = self.ends_since.get_mut(usize::from(i)) else { return };
        let it = Mask::of(i);
        let (wrong, stuck) = if agrees {
            *since = Instant::ZERO;
            (self.ends_wrong.without(it), self.ends_stuck.without(it))
        } else if !self.ends_wrong.has(i) {
            *since = clock.now();
            (self.ends_wrong.or(it), self.ends_stuck)
        } else if clock.elapsed(*since, travel) {
            (self.ends_wrong, self.ends_stuck.or(it))
        } else {
            (self.ends_wrong, self.ends_stuck)
        };
        clock.put(&mut self.ends_wrong, wrong);
        clock.put(&mut self.ends_stuck, stuck);
    }

    fn flow(&mut self, seen: &Seen, rest: bool, clock: &mut Clock) {
        let made = seen.flow_seen.without(seen.flow_missing);
        let since = self.rest_since.filter(|_| rest && !seen.acknowledge).or(rest.then_some(clock.now()));
        clock.put(&mut self.rest_since, since);
        let mut stuck = if seen.acknowledge { Mask::NONE } else { self.flow_stuck.and(made) };
        if let Some(since) = since
            && !made.is_empty()
            && clock.elapsed(since, REST)
        {
            stuck = made;
        }
        clock.put(&mut self.flow_stuck, stuck);
    }

    fn damper(&mut self, seen: &Seen, asked: Option<bool>, within: Span, clock: &mut Clock) {
        let made = seen.damper_seen && seen.damper_open;
        let watched = made && asked == Some(false);
        let since = self.damper_since.filter(|_| watched && !seen.acknowledge).or(watched.then_some(clock.now()));
        clock.put(&mut self.damper_since, since);
        let mut stuck = self.damper_stuck && made && !seen.acknowledge;
        if let Some(since) = since
            && !within.is_zero()
            && clock.elapsed(since, within)
        {
            stuck = true;
        }
        clock.put(&mut self.damper_stuck, stuck);
    }

    /// The first proof that is stuck, as a reason for the alarm.
    pub(crate) fn alarm(&self) -> Option<Reason> {
        if self.damper_stuck {
            return Some(Reason::StuckDamper);
        }
        if self.damper_lost {
            return Some(Reason::DamperFailed);
        }
        let flow = self.flow_stuck.first().map(|b| Reason::StuckFlow(BoilerId(b)));
        flow.or_else(|| self.ends_stuck.first().map(|z| Reason::StuckEndSwitch(ZoneId(z))))
    }
}

/// True for a damper that is ours to switch.
pub(crate) fn damper_is_ours(config: &Config) -> bool {
    config.points.relays.iter().rev().any(|u| *u == crate::points::RelayUse::Damper)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tests::GUARD;

    const CONFIG: GuardConfig = GuardConfig {
        damper_proof_max: Span::from_s(60),
        damper_retry_after: Span::from_s(120),
        valve_travel_max: Span::from_s(240),
        ..GUARD
    };
    const REST_AROUND: Around = Around { valves: Mask::NONE, rest: true, damper: Some(false), lost: false };

    fn at(p: &mut Proofs, s: u32, seen: &Seen, around: Around) -> Option<Reason> {
        p.decide(&CONFIG, seen, &around, &mut Clock::at(Instant::from_s(s)));
        p.alarm()
    }

    #[test]
    fn an_end_switch_must_follow_its_valve_both_ways() {
        let mut seen = Seen { end_switches: Mask::of(2), ends_closed: Mask::of(2), ..Seen::default() };
        let stuck = Some(Reason::StuckEndSwitch(ZoneId(2)));
        let open = Around { valves: Mask::of(2), ..REST_AROUND };
        let mut p = Proofs::default();
        assert_eq!(at(&mut p, 0, &seen, open), None);
        assert_eq!(at(&mut p, 10, &seen, REST_AROUND), None, "it may take its time to shut");
        assert_eq!(at(&mut p, 249, &seen, REST_AROUND), None);
        assert_eq!(at(&mut p, 250, &seen, REST_AROUND), stuck);
        seen.ends_closed = Mask::NONE;
        assert_eq!(at(&mut p, 260, &seen, REST_AROUND), None);
        assert_eq!(p, Proofs { rest_since: p.rest_since, ..Proofs::default() }, "nothing is left behind");
        assert_eq!(at(&mut p, 300, &seen, open), None);
        assert_eq!(at(&mut p, 539, &seen, open), None);
        assert_eq!(at(&mut p, 540, &seen, open), stuck, "and one that does not close");
    }

    #[test]
    fn flow_without_any_pump_is_a_stuck_switch_until_it_opens_or_is_acknowledged() {
        let both = Mask::of(0).or(Mask::of(1));
        let made = Seen { flow_seen: both, flow_missing: Mask::of(0), ..Seen::default() };
        let busy = Around { rest: false, ..REST_AROUND };
        let mut p = Proofs::default();
        assert_eq!(at(&mut p, 0, &made, busy), None);
        assert_eq!(at(&mut p, 9000, &made, busy), None, "while a pump runs nothing is known");
        assert_eq!(at(&mut p, 9001, &made, REST_AROUND), None);
        assert_eq!(at(&mut p, 9300, &made, REST_AROUND), None);
        assert_eq!(at(&mut p, 9301, &made, REST_AROUND), Some(Reason::StuckFlow(BoilerId(1))));
        assert_eq!(at(&mut p, 9302, &made, busy), Some(Reason::StuckFlow(BoilerId(1))), "kept while it runs");
        assert_eq!(at(&mut p, 9303, &Seen { acknowledge: true, ..made }, busy), None);
        assert_eq!(at(&mut p, 9304, &made, REST_AROUND), None);
        assert_eq!(at(&mut p, 9604, &made, REST_AROUND), Some(Reason::StuckFlow(BoilerId(1))), "found again");
        assert_eq!(at(&mut p, 9605, &Seen { acknowledge: true, ..made }, REST_AROUND), None, "also at rest");
        assert_eq!(at(&mut p, 9904, &made, REST_AROUND), None);
        assert_eq!(at(&mut p, 9905, &made, REST_AROUND), Some(Reason::StuckFlow(BoilerId(1))));
        assert_eq!(at(&mut p, 9906, &Seen { flow_missing: both, ..made }, REST_AROUND), None);
    }

    #[test]
    fn a_damper_proof_that_stays_made_after_the_damper_shuts_is_stuck() {
        let made = Seen { damper_seen: true, damper_open: true, ..Seen::default() };
        let with = |asked| Around { damper: asked, rest: false, ..REST_AROUND };
        let mut p = Proofs::default();
        assert_eq!(at(&mut p, 0, &made, with(Some(true))), None);
        assert_eq!(at(&mut p, 500, &made, with(Some(false))), None);
        assert_eq!(at(&mut p, 559, &made, with(Some(false))), None);
        assert_eq!(at(&mut p, 560, &made, with(Some(false))), Some(Reason::StuckDamper));
        assert_eq!(at(&mut p, 561, &made, with(Some(true))), Some(Reason::StuckDamper), "a call does not clear it");
        assert_eq!(at(&mut p, 562, &Seen { damper_open: false, ..made }, with(Some(true))), None);
        let lost = Around { lost: true, ..with(Some(true)) };
        let open = Seen { damper_open: false, ..made };
        assert_eq!(at(&mut p, 600, &open, lost), Some(Reason::DamperFailed));
        assert_eq!(at(&mut p, 700, &made, with(Some(true))), Some(Reason::DamperFailed), "kept");
        assert_eq!(at(&mut p, 701, &Seen { acknowledge: true, ..made }, with(Some(true))), None);
        let mut p = Proofs::default();
        for s in [800, 860] {
            at(&mut p, s, &made, with(Some(false)));
        }
        assert!(p.damper_stuck);
        let pressed = Seen { acknowledge: true, ..made };
        assert_eq!(at(&mut p, 900, &pressed, with(Some(false))), None, "also while it rests");
        assert_eq!(at(&mut p, 959, &made, with(Some(false))), None);
        assert_eq!(at(&mut p, 960, &made, with(Some(false))), Some(Reason::StuckDamper), "and found again");
        let mut p = Proofs::default();
        for s in [0, 100, 9000] {
            assert_eq!(at(&mut p, s, &made, with(None)), None, "somebody else's damper");
        }
    }
}
