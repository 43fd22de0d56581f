//! Pump switches that are turned through OFF.
//!
//! ```text
//!   HAND or AUTO -- OFF is seen --> passing -- over PASS, or turned again within AGAIN --> at OFF
//!                <-- HAND or AUTO --'
//! ```
//!
//! A HAND-OFF-AUTO switch has no way from HAND to AUTO but through OFF. A pump whose switch *passes* OFF has its relay off in
//! that very tick, as at OFF; but nobody concludes anything yet: its shortest stop does not begin, no boiler is charged with
//! flow that was lost, no call and no heat purge ends, and an overrun goes on where it was. Water coasts for longer than that.
//! At OFF for [`PASS`] it stands at OFF. One that comes back to OFF within [`AGAIN`] of such a pass stands there at once:
//! nobody turns a switch so often, it is a contact that chatters. At power-up a switch at OFF stands there.
//!
//! A flow contact that opens while a switch passes is believed at once: it guards the fire. The service switch of a boiler
//! passes nothing. Source: that a turn through OFF is no stop is common practice; both times are our choice.

use crate::{
    clock::Clock,
    mask::Mask,
    seen::Seen,
    units::{Instant, Span},
};

/// A hand turns a switch through OFF in less than this; for no longer does a burner go on without its pump.
pub const PASS: Span = Span::from_s(1);

/// A switch that passed OFF is not excused again before this.
pub const AGAIN: Span = Span::from_s(10);

/// Switches that pass OFF or did lately.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Switches {
    /// Pumps at OFF at the last tick; all of them at power-up.
    pub at_off: Mask,
    /// Those of them that may be on their way.
    pub passing: Mask,
    /// Pumps that passed OFF lately.
    pub lately: Mask,
    /// The last of them came to OFF here.
    pub since: Option<Instant>,
}

impl Default for Switches {
    fn default() -> Self {
        Self { at_off: Mask::from_bits(u32::MAX), passing: Mask::NONE, lately: Mask::NONE, since: None }
    }
}

impl Switches {
    /// Parts the pumps that are seen at OFF into those that stand there and those that may be on their way.
    #[inline(never)]
    pub(crate) fn decide(&mut self, seen: &mut Seen, clock: &mut Clock) {
        if seen.off.or(self.at_off).is_empty() && self.since.is_none() {
            return;
        }
        let mut next = Self { at_off: seen.off, passing: self.passing.and(seen.off), ..*self };
        if let Some(since) = self.since {
            if clock.elapsed(since, AGAIN) {
                (next.lately, next.since) = (Mask::NONE, None);
            }
            if clock.elapsed(since, PASS) {
                next.passing = Mask::NONE;
            }
        }
        let new = seen.off.without(self.at_off).without(next.lately);
        if !new.is_empty() {
            // One hand turns one switch: what else was on its way stands.
            (next.passing, next.lately, next.since) = (new, next.lately.or(new), Some(clock.now()));
        }
        (seen.off, seen.passing) = (seen.off.without(next.passing), next.passing);
        clock.put(self, next);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    extern crate std;
    use std::vec::Vec;

    /// What stands at OFF and what passes, for each moment in tenths of a second with the switches at OFF then.
    fn trace(steps: &[(u32, u32)]) -> Vec<(u32, u32)> {
        let mut switches = Switches::default();
        let mut at = |t: u32, off: u32| {
            let mut seen = Seen { off: Mask::from_bits(off), ..Seen::default() };
            switches.decide(&mut seen, &mut Clock::at(Instant::from_tenths(t)));
            (seen.off.bits(), seen.passing.bits())
        };
        at(0, 0);
        steps.iter().map(|(t, off)| at(*t, *off)).collect()
    }

    #[test]
    fn a_switch_stands_at_off_after_a_second() {
        assert_eq!(
            trace(&[(50, 0b1), (59, 0b1), (60, 0b1), (900, 0b1), (901, 0)]),
            [(0, 0b1), (0, 0b1), (0b1, 0), (0b1, 0), (0, 0)]
        );
    }

    #[test]
    fn at_power_up_a_switch_at_off_stands_there() {
        let mut seen = Seen { off: Mask::of(3), ..Seen::default() };
        Switches::default().decide(&mut seen, &mut Clock::at(Instant::ZERO));
        assert_eq!((seen.off, seen.passing), (Mask::of(3), Mask::NONE));
    }

    #[test]
    fn a_contact_that_chatters_is_excused_once_in_ten_seconds() {
        let (off, on) = (0b1, 0);
        assert_eq!(
            trace(&[(50, off), (55, on), (60, off), (65, on), (149, off), (155, on), (160, off)]),
            [(0, 0b1), (0, 0), (0b1, 0), (0, 0), (0b1, 0), (0, 0), (0, 0b1)]
        );
    }

    #[test]
    fn one_switch_after_the_other_is_excused_and_only_the_last_is_on_its_way() {
        assert_eq!(
            trace(&[(50, 0b01), (55, 0b11), (60, 0b11), (65, 0b11)]),
            [(0, 0b01), (0b01, 0b10), (0b01, 0b10), (0b11, 0)]
        );
        // The first is back; the second passes within ten seconds of it.
        assert_eq!(trace(&[(50, 0b01), (55, 0), (80, 0b10), (85, 0)]), [(0, 0b01), (0, 0), (0, 0b10), (0, 0)]);
    }

    #[test]
    fn what_is_due_is_the_end_of_a_pass_and_of_what_is_remembered_of_it() {
        let mut switches = Switches::default();
        let mut due = |t: u32, off: u32| {
            let mut seen = Seen { off: Mask::from_bits(off), ..Seen::default() };
            let mut clock = Clock::at(Instant::from_s(t));
            switches.decide(&mut seen, &mut clock);
            let first = clock.due();
            let mut clock = Clock::at(Instant::from_s(t));
            let mut seen = Seen { off: Mask::from_bits(off), ..Seen::default() };
            switches.decide(&mut seen, &mut clock);
            (first, clock.due())
        };
        due(0, 0);
        let (five, six) = (Instant::from_s(5), Instant::from_s(6));
        assert_eq!(due(5, 1), (Some(five), Some(six)));
        assert_eq!(due(6, 1), (Some(six), Some(Instant::from_s(15))));
        assert_eq!(due(15, 1), (Some(Instant::from_s(15)), None));
    }
}
