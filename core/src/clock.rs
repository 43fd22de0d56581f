//! The one place where a tick compares times, and so the one place that knows when the next tick matters.
//!
//! Every wait is a comparison `now >= since + length`. A comparison that comes out false leaves its moment here; the
//! earliest of them is when the next tick is due. A machine cannot forget to announce a wait, because it cannot make one
//! any other way. A tick that changes a machine makes one more tick due at once, at the next opportunity of whoever calls: what
//! other machines conclude from the change follows there. So "no tick is due" means that nothing can change before that moment
//! while the inputs stay as they are.
//!
//! What it does not do: it does not read a clock. Time comes in with the tick.

use crate::units::{Instant, Span};

/// Time as one tick sees it, and what the tick finds out about the next.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Clock {
    now: Instant,
    /// The earliest moment asked for; the end of time while `asked` is false.
    due: Instant,
    asked: bool,
}

impl Clock {
    /// A clock that stands at `now`.
    pub(crate) const fn at(now: Instant) -> Self {
        Self { now, due: Instant::MAX, asked: false }
    }

    /// The time of this tick.
    pub(crate) const fn now(&self) -> Instant {
        self.now
    }

    /// The earliest moment at which something can change, as far as this tick has seen.
    pub(crate) fn due(&self) -> Option<Instant> {
        self.asked.then_some(self.due)
    }

    /// True once the next tick is due by this moment.
    pub(crate) fn due_by(&self, at: Instant) -> bool {
        self.asked && self.due <= at
    }

    /// True once `length` has passed since `since`; otherwise the end of the wait becomes due.
    pub(crate) fn elapsed(&mut self, since: Instant, length: Span) -> bool {
        let end = since.after(length);
        let over = self.now >= end;
        if !over {
            self.due = self.due.min(end);
            self.asked = true;
        }
        over
    }

    /// Asks for a tick at `at`; a moment that is not ahead means at once.
    pub(crate) fn wake(&mut self, at: Instant) {
        self.due = self.due.min(at.max(self.now));
        self.asked = true;
    }

    /// A machine's state has been written; one that is another makes a tick due at once.
    pub(crate) fn written(&mut self, another: bool) {
        if another {
            self.due = self.now;
            self.asked = true;
        }
    }

    /// Takes out what stands there, if anything does: a change like any other.
    pub(crate) fn clear<T>(&mut self, slot: &mut Option<T>) {
        let there = slot.take().is_some();
        self.written(there);
    }

    /// Writes a machine's state; a change makes a tick due at once, so that others can follow it.
    pub(crate) fn put<T: PartialEq>(&mut self, slot: &mut T, value: T) {
        if *slot != value {
            *slot = value;
            self.due = self.now;
            self.asked = true;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wait_that_is_not_over_is_due_at_its_end() {
        let mut c = Clock::at(Instant::from_s(10));
        assert!(c.elapsed(Instant::from_s(4), Span::from_s(6)));
        assert_eq!(c.due(), None);
        assert!(!c.elapsed(Instant::from_s(4), Span::from_s(20)));
        assert!(!c.elapsed(Instant::from_s(4), Span::from_s(7)));
        assert_eq!(c.due(), Some(Instant::from_s(11)));
    }

    #[test]
    fn a_change_makes_a_tick_due_at_once_and_no_change_asks_for_nothing() {
        let mut c = Clock::at(Instant::from_s(10));
        let mut slot = 3;
        c.put(&mut slot, 3);
        assert_eq!(c.due(), None);
        c.put(&mut slot, 4);
        assert_eq!((slot, c.due()), (4, Some(Instant::from_s(10))));
        let mut c = Clock::at(Instant::from_s(20));
        let mut slot = None::<u8>;
        c.clear(&mut slot);
        assert_eq!(c.due(), None);
        slot = Some(3);
        c.clear(&mut slot);
        assert_eq!((slot, c.due()), (None, Some(Instant::from_s(20))));
    }
}
