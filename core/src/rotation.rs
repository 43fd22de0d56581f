//! Which boiler leads.
//!
//! Boilers are asked in the order of the file from the lead on, past the end to the first; those that cannot run are passed
//! over, and the lead stays theirs: one that comes back leads again.
//!
//! * `Fixed`: the first of the file, always; with `FirstOnFirstOff` once no boiler is wanted any more.
//! * `HoursDifference(h)`: the lead passes to the boiler with the fewest hours of those able to run, once the lead has `h` more
//!   than that one. Of equals the next in the order leads. It passes on, too, once any boiler that burns has `h` more than the
//!   one with the fewest of those that do not, and that one has fewer than the lead: where two of three burn all the time,
//!   only one of them leads, and the other's hours count as much. So the hours of boilers that are equally able stay within
//!   `h` and the length of a start.
//! * `StartsDifference(n)`: the same with starts.
//! * `Calendar`: the lead moves to the next one able to run; with `p = floor((wall-clock minute - minute_of_day) / (every_h * 60))` the lead moves on when `p` grows. A
//!   clock that repeats an hour in autumn gives the same `p` again and moves nothing. A clock set back by more than one
//!   period, and one that is set for the first time, only set the mark. However far it jumps ahead, the lead moves once.
//!
//! A boiler that was locked out or switched off for weeks comes back with the fewest hours. By hours or starts it then leads
//! until it has caught up: that is what the setting asks for. There is no hunting between equals: who has just taken the lead
//! must first get ahead of all others by the whole difference.
//!
//! A boiler that was cut by its own hot water again and again (`guard::hot`) is asked last until somebody acknowledges.
//!
//! How the change is made under fire is `staging`'s: the new lead lights before another goes; by hours, that is the one with the
//! most of those that are wanted. Where `FirstOnFirstOff` drops
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
    /// Moves the lead; `able` are the boilers that can run, `firing` those whose hours grow now, `carry` those of them that are
    /// wanted, none while the lead is on its way from one to another; `rest` says that no boiler is wanted.
    #[inline(never)]
    #[allow(clippy::too_many_arguments, reason = "what one decision looks at, each once")]
    pub(crate) fn decide(
        &mut self,
        config: &Config,
        meter: &Meter,
        civil: Option<CivilMinute>,
        able: Mask,
        firing: Mask,
        carry: Mask,
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
        let (mut fewest, mut idle) = (None, None);
        let mut others = self.round(config);
        others.next();
        for b in others.filter(|b| able.has(b.0)) {
            let fewer = |than: Option<BoilerId>| than.is_none_or(|t| count(b) < count(t));
            if fewer(fewest) {
                fewest = Some(b);
            }
            if !firing.has(b.0) && fewer(idle) {
                idle = Some(b);
            }
        }
        let lead = count(self.lead);
        if let Some(b) = fewest.filter(|b| lead >= count(*b).saturating_add(ahead)) {
            clock.put(&mut self.lead, b);
        } else if hours
            && let Some(b) = idle
            && let Some(most) = carry.iter().map(|b| count(BoilerId(b))).max()
        {
            // What is left until one that burns is so far ahead of one that does not, and the lead ahead of it at all.
            let behind = count(b).saturating_add(1).saturating_sub(lead);
            let left = count(b).saturating_add(ahead).saturating_sub(most).max(behind);
            if left == 0 {
                clock.put(&mut self.lead, b);
            } else if behind == 0 || carry.has(self.lead.0) {
                clock.wake(clock.now().after(Span::from_tenths(left)));
            }
        }
    }

    /// The lead was dropped because it was on first, and this one was on next.
    pub(crate) fn dropped(&mut self, next: BoilerId, clock: &mut Clock) {
        clock.put(&mut self.lead, next);
    }

    /// All boilers, lead first.
    fn round(&self, config: &Config) -> impl Iterator<Item = BoilerId> {
        let (n, lead) = (config.boilers.len().min(BOILERS) as u32, u32::from(self.lead.0));
        let (mut next, mut left) = (if lead < n { lead } else { 0 }, n);
        core::iter::from_fn(move || {
            left = left.checked_sub(1)?;
            let b = next;
            next = if b.saturating_add(1) < n { b.saturating_add(1) } else { 0 };
            Some(BoilerId(b as u8))
        })
    }

    /// The boilers that can run, in the order in which they are asked; those in `last` come after the others.
    pub(crate) fn order(&self, config: &Config, able: Mask, last: Mask) -> Order {
        let mut order = Order::new();
        for these in [able.without(last), able.and(last)] {
            if these.is_empty() {
                continue;
            }
            for b in self.round(config).filter(|b| these.has(b.0)) {
                // As long as there are boilers at most.
                let _ = order.push(b);
            }
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
            r.order(&c, Mask::from_bits(able), Mask::NONE).iter().map(|b| b.0).collect::<std::vec::Vec<_>>()
        };
        assert_eq!([order(0, 0b11), order(1, 0b11)], [[0, 1], [1, 0]]);
        assert_eq!([order(0, 0b10), order(1, 0b01)], [[1], [0]], "one that cannot run is passed over");
        assert_eq!(order(3, 0b11), [0, 1], "a lead that the plant does not have");
        assert_eq!(order(0, 0), [0u8; 0]);
        let last = |last| Rotation::default().order(&c, Mask::from_bits(0b11), Mask::of(last)).first().map(|b| b.0);
        assert_eq!([last(0), last(1)], [Some(1), Some(0)], "one that is to come last does not lead");
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
            r.decide(&c, &meter, None, Mask::from_bits(able), Mask::NONE, Mask::NONE, true, &mut clock);
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
            let firing = Mask::from_bits(firing);
            r.decide(&c, &meter, None, Mask::from_bits(0b11), firing, firing, firing.is_empty(), &mut clock);
            (r.lead.0, clock.due())
        };
        assert_eq!(at([6, 5], 0b01), (0, Some(Instant::from_s(100 + 3600))), "an hour is left");
        assert_eq!(at([6, 5], 0b11), (0, None), "the other one keeps up");
        assert_eq!(at([6, 5], 0b00), (0, None));
        assert_eq!(at([7, 5], 0b11).0, 1);
    }

    /// Two of three burn: the hours of the one that does not lead count too.
    #[test]
    fn the_lead_passes_on_when_any_that_burns_has_so_many_hours_more_than_one_that_does_not() {
        let mut c = crate::tests::plant();
        c.rotation.policy = RotationPolicy::HoursDifference(2);
        let third = c.boilers[0].clone();
        c.boilers.push(third).unwrap();
        let carried = |tenths: [u32; 3], firing: u32, carry: u32| {
            let mut r = Rotation::default();
            let mut meter = Meter::default();
            for (fired, t) in meter.fired.iter_mut().zip(tenths) {
                *fired = Span::from_tenths(t);
            }
            let mut clock = Clock::at(Instant::ZERO);
            let (firing, carry) = (Mask::from_bits(firing), Mask::from_bits(carry));
            r.decide(&c, &meter, None, Mask::from_bits(0b111), firing, carry, firing.is_empty(), &mut clock);
            (r.lead.0, clock.due().map(|t| t.tenths()).filter(|_| r.lead.0 == 0))
        };
        let at = |tenths, firing| carried(tenths, firing, firing);
        const H: u32 = 36_000;
        assert_eq!(at([9 * H, 10 * H, 8 * H], 0b011), (2, None));
        assert_eq!(at([9 * H, 10 * H - 1, 8 * H], 0b011), (0, Some(1)), "a tenth of a second is left");
        assert_eq!(at([9 * H, 10 * H, 8 * H], 0b001), (0, Some(H)), "what does not burn falls no further behind");
        assert_eq!(at([9 * H, 10 * H, 8 * H], 0b111), (0, None), "all burn");
        // The lead has as few as the one that does not burn: it leads on until it has a tenth more.
        assert_eq!(at([8 * H, 10 * H, 8 * H], 0b011), (0, Some(1)));
        assert_eq!(at([8 * H, 10 * H, 8 * H], 0b010), (0, None), "and that does not come while it does not burn");
        assert_eq!(at([9 * H, 9 * H, 8 * H], 0b010), (0, Some(H)), "the other one's hours grow alone");
        // The new lead has just lit, and the old one burns for a moment more.
        assert_eq!(carried([1, 2 * H, 0], 0b011, 0), (0, None), "the lead is on its way");
        assert_eq!(
            carried([1, 2 * H, 0], 0b011, 0b001),
            (0, Some(2 * H - 1)),
            "it has come, the old one burns out its run"
        );
    }

    #[test]
    fn a_fixed_lead_comes_back_at_once_or_where_the_first_goes_once_no_boiler_is_wanted() {
        let lead = |off_order, rest| {
            let mut c = crate::tests::plant();
            (c.rotation.policy, c.rotation.off_order) = (RotationPolicy::Fixed, off_order);
            let mut r = Rotation { lead: BoilerId(1), period: None };
            let (all, mut clock) = (Mask::from_bits(0b11), Clock::at(Instant::ZERO));
            r.decide(&c, &Meter::default(), None, all, Mask::NONE, Mask::NONE, rest, &mut clock);
            r.lead.0
        };
        assert_eq!([lead(OffOrder::FirstOnLastOff, false), lead(OffOrder::FirstOnLastOff, true)], [0, 0]);
        assert_eq!([lead(OffOrder::FirstOnFirstOff, false), lead(OffOrder::FirstOnFirstOff, true)], [1, 0]);
    }

    #[test]
    fn of_boilers_with_as_few_the_next_in_the_row_leads() {
        let mut c = crate::tests::plant();
        let third = c.boilers[0].clone();
        c.boilers.push(third).unwrap();
        for (policy, starts) in [
            (RotationPolicy::StartsDifference(3), [9, 4, 4]),
            (RotationPolicy::Calendar { every_h: 24, minute_of_day: 0 }, [0, 0, 0]),
        ] {
            c.rotation.policy = policy;
            let mut r = Rotation { lead: BoilerId(0), period: Some(1) };
            let mut meter = Meter::default();
            meter.starts[..3].copy_from_slice(&starts);
            let (all, mut clock) = (Mask::from_bits(0b111), Clock::at(Instant::ZERO));
            r.decide(&c, &meter, Some(CivilMinute::new(10 * DAY)), all, Mask::NONE, Mask::NONE, true, &mut clock);
            assert_eq!(r.lead, BoilerId(1), "{policy:?}");
        }
    }

    /// The change stands at 02:00: on the first day that the calendar knows it is made like on any other, and what is due is the
    /// second in which that minute begins, whenever in the minute before it is asked.
    #[test]
    fn a_period_begins_on_the_first_day_too_and_its_minute_is_due() {
        assert_eq!(calendar(&[60, 119, 120, 121]), [false, false, true, false]);
        let due = |minute: u32| {
            let mut clock = Clock::at(Instant::ZERO);
            let mut r = Rotation { lead: BoilerId(0), period: Some(301) };
            assert!(!r.period_began(Some(CivilMinute::new(300 * DAY + minute)), 24, 120, &mut clock));
            clock.due()
        };
        assert_eq!([due(119 + DAY), due(121)], [Some(Instant::from_s(1)), Some(Instant::from_s(1438 * 60 + 1))]);
    }
}
