//! Which boiler leads.
//!
//! Boilers are asked in the order of the file from the lead on, past the end to the first; those that cannot run are passed
//! over, and the lead stays theirs: one that comes back leads again.
//!
//! * `Fixed`: the first of the file, always; with `FirstOnFirstOff` once no boiler is wanted any more.
//! * `HoursDifference(h)`: the lead passes to the boiler with the fewest hours of those able to run, once the lead has `h` more
//!   than that one. Of equals the next in the order leads. As many hours apart as are set is where it passes on; where two of
//!   three burn all the time, the hours stay within about twice that.
//! * `StartsDifference(n)`: the same with starts.
//! * `Calendar`: the lead moves to the next one able to run; with `p = floor((wall-clock minute - minute_of_day) / (every_h * 60))` the lead moves on when `p` grows. A
//!   clock that repeats an hour in autumn gives the same `p` again and moves nothing. A clock set back by more than one
//!   period, and one that is set for the first time, only set the mark. However far it jumps ahead, the lead moves once.
//!
//! A boiler that was locked out or switched off for weeks comes back with the fewest hours. By hours or starts it then leads
//! until it has caught up: that is what the setting asks for. There is no hunting between equals: who has just taken the lead
//! must first get ahead of all others by the whole difference.
//!
//! How the change is made under fire is `staging`'s: the new lead lights before the old one goes. Where `FirstOnFirstOff` drops
//! the lead, the lead passes to the one that was on next: no changeover follows.
//! Source: lead rotation by hours or calendar is common practice; see also ASHRAE Guideline 36-2021, 5.1.15 (from memory).

use crate::{
    clock::Clock,
    config::{Config, OffOrder, RotationPolicy},
    ids::BoilerId,
    limits::BOILERS,
    mask::Mask,
    meter::Meter,
    reset::wake_at_minute,
    units::{CivilMinute, Span},
};
use heapless::Vec;

/// Who leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Rotation {
    /// The lead.
    pub lead: BoilerId,
    /// The calendar period that the lead was last moved in.
    pub period: Option<u32>,
}

impl Default for Rotation {
    fn default() -> Self {
        Self { lead: BoilerId(0), period: None }
    }
}

/// Boilers able to run, in the order in which they are asked.
pub(crate) type Order = Vec<BoilerId, BOILERS>;

impl Rotation {
    /// Moves the lead; `able` are the boilers that can run, `firing` those whose hours grow now, `rest` says that no boiler is
    /// wanted.
    #[inline(never)]
    #[allow(clippy::too_many_arguments)]
    pub(crate) fn decide(
        &mut self,
        config: &Config,
        meter: &Meter,
        civil: Option<CivilMinute>,
        able: Mask,
        firing: Mask,
        rest: bool,
        clock: &mut Clock,
    ) {
        let (counts, ahead, hours) = match config.rotation.policy {
            RotationPolicy::Fixed => {
                if rest || config.rotation.off_order == OffOrder::FirstOnLastOff {
                    clock.put(&mut self.lead, BoilerId(0));
                }
                return;
            }
            RotationPolicy::HoursDifference(h) => {
                (meter.fired.map(|s| s.tenths()), Span::from_h(h.into()).tenths(), true)
            }
            RotationPolicy::StartsDifference(n) => (meter.starts, u32::from(n), false),
            // The next one that can run, whatever it has behind it.
            RotationPolicy::Calendar { every_h, minute_of_day } => {
                if !self.period_began(civil, every_h, minute_of_day, clock) {
                    return;
                }
                ([0; BOILERS], 0, false)
            }
        };
        let count = |b: BoilerId| counts.get(b.index()).copied().unwrap_or(0);
        let (mut fewest, mut fewest_idle) = (None, u32::MAX);
        for b in self.round(config).skip(1).filter(|b| able.has(b.0)) {
            if fewest.is_none_or(|f| count(b) < count(f)) {
                fewest = Some(b);
            }
            if !firing.has(b.0) {
                fewest_idle = fewest_idle.min(count(b));
            }
        }
        let left = |few: u32| few.saturating_add(ahead).saturating_sub(count(self.lead));
        match fewest {
            Some(b) if left(count(b)) == 0 => clock.put(&mut self.lead, b),
            // While only the lead's hours grow, the moment at which they are that far ahead is due.
            Some(_) if hours && firing.has(self.lead.0) && fewest_idle < u32::MAX => {
                clock.wake(clock.now().after(Span::from_tenths(left(fewest_idle))));
            }
            Some(_) | None => {}
        }
    }

    /// The lead was dropped because it was on first, and this one was on next.
    pub(crate) fn dropped(&mut self, next: BoilerId, clock: &mut Clock) {
        clock.put(&mut self.lead, next);
    }

    /// All boilers, lead first.
    fn round(&self, config: &Config) -> impl Iterator<Item = BoilerId> {
        let n = config.boilers.len().min(BOILERS) as u8;
        let lead = self.lead.0;
        (lead..n).chain(0..lead.min(n)).map(BoilerId)
    }

    /// The boilers that can run, in the order in which they are asked.
    pub(crate) fn order(&self, config: &Config, able: Mask) -> Order {
        let mut order = Order::new();
        for b in self.round(config).filter(|b| able.has(b.0)) {
            // As long as there are boilers at most.
            let _ = order.push(b);
        }
        order
    }

    fn period_began(
        &mut self,
        civil: Option<CivilMinute>,
        every_h: u16,
        minute_of_day: u16,
        clock: &mut Clock,
    ) -> bool {
        let (Some(civil), true) = (civil, every_h > 0) else { return false };
        let length = u32::from(every_h).saturating_mul(60);
        // Shifted up by one period so that the first day of the calendar has no negative period.
        let minute = civil.get().saturating_add(length).saturating_sub(u32::from(minute_of_day));
        let (Some(period), Some(past)) = (minute.checked_div(length), minute.checked_rem(length)) else { return false };
        wake_at_minute(length.saturating_sub(past), clock);
        let (mark, moved) = match self.period {
            None => (period, false),
            Some(mark) if period > mark => (period, true),
            Some(mark) if period.saturating_add(1) < mark => (period, false),
            Some(mark) => (mark, false),
        };
        clock.put(&mut self.period, Some(mark));
        moved
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Instant;

    fn calendar(civil: &[u32]) -> std::vec::Vec<bool> {
        let mut r = Rotation::default();
        civil
            .iter()
            .map(|m| r.period_began(Some(CivilMinute::new(*m)), 24, 120, &mut Clock::at(Instant::ZERO)))
            .collect()
    }

    extern crate std;
    const DAY: u32 = 1440;

    #[test]
    fn the_calendar_moves_the_lead_once_when_the_clock_repeats_an_hour() {
        // The change stands at 02:00. In autumn the clock shows 02:59 and then 02:00 again.
        let d = 300 * DAY;
        let shown = [d + 60, d + 119, d + 120, d + 179, d + 120, d + 179, d + 180, d + DAY + 119, d + DAY + 120];
        assert_eq!(calendar(&shown), [false, false, true, false, false, false, false, false, true]);
        // Back over the moment of the change itself: 02:10 and then 01:10 again.
        let shown = [d + 119, d + 130, d + 70, d + 119, d + 120, d + 130];
        assert_eq!(calendar(&shown), [false, true, false, false, false, false]);
        // In spring 02:00 is never shown.
        assert_eq!(calendar(&[d + 119, d + 180]), [false, true]);
    }

    #[test]
    fn a_clock_set_wrong_and_put_right_moves_nothing_by_itself() {
        let d = 300 * DAY;
        assert_eq!(calendar(&[0, d, d + 10 * DAY, d + 2 * DAY, d + 3 * DAY]), [false, true, true, false, true]);
    }

    /// Boilers 0 and 1 of the plant; the lead may come from a memory of one that had more.
    #[test]
    fn boilers_are_asked_from_the_lead_on_and_round() {
        let c = crate::tests::plant();
        let order = |lead, able: u32| {
            let r = Rotation { lead: BoilerId(lead), period: None };
            r.order(&c, Mask::from_bits(able)).iter().map(|b| b.0).collect::<std::vec::Vec<_>>()
        };
        assert_eq!([order(0, 0b11), order(1, 0b11)], [[0, 1], [1, 0]]);
        assert_eq!([order(0, 0b10), order(1, 0b01)], [[1], [0]], "one that cannot run is passed over");
        assert_eq!(order(3, 0b11), [0, 1], "a lead that the plant does not have");
        assert_eq!(order(0, 0), [0u8; 0]);
    }

    /// The lead has started as often as the next one, or more.
    #[test]
    fn the_lead_passes_on_with_the_start_that_makes_the_difference() {
        let mut c = crate::tests::plant();
        c.rotation.policy = RotationPolicy::StartsDifference(3);
        let lead = |starts: [u32; 2], able: u32| {
            let mut r = Rotation::default();
            let mut meter = Meter::default();
            (meter.starts[0], meter.starts[1]) = (starts[0], starts[1]);
            let mut clock = Clock::at(Instant::ZERO);
            r.decide(&c, &meter, None, Mask::from_bits(able), Mask::NONE, true, &mut clock);
            r.lead.0
        };
        assert_eq!([lead([6, 4], 0b11), lead([7, 4], 0b11), lead([8, 4], 0b11)], [0, 1, 1]);
        assert_eq!(lead([9, 4], 0b01), 0, "the next one cannot run");
    }

    /// In hours: the difference is due while only the lead burns.
    #[test]
    fn the_lead_passes_on_with_the_hour_that_makes_the_difference() {
        let mut c = crate::tests::plant();
        c.rotation.policy = RotationPolicy::HoursDifference(2);
        let at = |hours: [u32; 2], firing: u32| {
            let mut r = Rotation::default();
            let mut meter = Meter::default();
            (meter.fired[0], meter.fired[1]) = (Span::from_h(hours[0]), Span::from_h(hours[1]));
            let mut clock = Clock::at(Instant::from_s(100));
            r.decide(&c, &meter, None, Mask::from_bits(0b11), Mask::from_bits(firing), firing == 0, &mut clock);
            (r.lead.0, clock.due())
        };
        assert_eq!(at([6, 5], 0b01), (0, Some(Instant::from_s(100 + 3600))), "an hour is left");
        assert_eq!(at([6, 5], 0b11), (0, None), "the other one keeps up");
        assert_eq!(at([6, 5], 0b00), (0, None));
        assert_eq!(at([7, 5], 0b11).0, 1);
    }
}
