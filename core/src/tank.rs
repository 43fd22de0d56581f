//! The domestic-hot-water tank: its call and its priority over the zones.
//!
//! ```text
//!   priority:  None -- the call counts and priority is allowed --> Shedding -- priority_max over --> Spent
//!              Shedding -- priority is not allowed any more --> Spent
//!              Shedding, Spent -- the call is over --> None
//! ```
//!
//! While `Shedding`, zones that may be shed get no water. Priority is not given in frost, nor below `priority_above`
//! outdoors, nor while the tank can take no heat (its limit is open, its pump's switch at OFF), and it is taken back
//! when any of these comes while it lasts: a limit that comes and goes does not renew it. A long draw cannot starve the
//! building: priority that has been `Spent` does not come back before the next call. Source: common practice; the
//! lengths are settings.
//!
//! Not decided here: the pump's own waits (`pumps`), the target (`heat::target`: the higher of the two).

use crate::{
    call::{Call, Waits},
    clock::Clock,
    config::TankConfig,
    units::{Instant, Span},
};

/// Whether the zones are shed for the tank.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Priority {
    /// No.
    #[default]
    None,
    /// Yes.
    Shedding {
        /// Since when.
        since: Instant,
    },
    /// No longer, for this call.
    Spent,
}

/// The tank.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TankState {
    /// Its call.
    pub call: Call,
    /// Its priority.
    pub priority: Priority,
}

impl TankState {
    /// Follows the aquastat; `allowed` says whether outdoor temperature and frost allow priority, `stopped` that the
    /// tank cannot take heat: its own limit is open, or its pump's switch is at OFF.
    pub(crate) fn decide(&mut self, config: &TankConfig, call: bool, allowed: bool, stopped: bool, clock: &mut Clock) {
        let waits = Waits { debounce: config.debounce, call_min: Span::ZERO, overrun: config.overrun };
        self.call.follow(call, waits, clock);
        let allowed = allowed && !stopped;
        let over = !self.call.counts() || config.priority_max.is_zero();
        let next = match self.priority {
            Priority::None if over || !allowed => return,
            Priority::None => Priority::Shedding { since: clock.now() },
            Priority::Shedding { .. } | Priority::Spent if over => Priority::None,
            Priority::Shedding { since } if !allowed || clock.elapsed(since, config.priority_max) => Priority::Spent,
            Priority::Shedding { .. } | Priority::Spent => return,
        };
        self.priority = next;
        clock.written(true);
    }

    /// True while zones are shed.
    pub const fn sheds(&self) -> bool {
        matches!(self.priority, Priority::Shedding { .. })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{PumpId, Temp};

    const CONFIG: TankConfig = TankConfig {
        pump: PumpId(0),
        target: Temp::from_c(75),
        debounce: Span::ZERO,
        purge_max: Temp::from_c(65),
        priority_max: Span::from_min(30),
        priority_above: Temp::from_c(-10),
        overrun: Span::ZERO,
        flow_w_per_k: 0,
    };

    #[test]
    fn priority_lasts_its_time_and_comes_back_with_the_next_call_only() {
        let mut t = TankState::default();
        let mut at = |s: u32, call, allowed| {
            t.decide(&CONFIG, call, allowed, false, &mut Clock::at(Instant::from_s(s)));
            t.priority
        };
        assert_eq!(at(0, false, true), Priority::None);
        assert_eq!(at(1, true, true), Priority::Shedding { since: Instant::from_s(1) });
        assert_eq!(at(1800, true, true), Priority::Shedding { since: Instant::from_s(1) });
        assert_eq!(at(1801, true, true), Priority::Spent);
        assert_eq!(at(9000, true, true), Priority::Spent, "a long draw cannot starve the building");
        assert_eq!(at(9001, false, true), Priority::None);
        assert_eq!(at(9002, true, false), Priority::None, "not in deep cold");
        assert_eq!(at(9003, true, true), Priority::Shedding { since: Instant::from_s(9003) });
        assert_eq!(at(9004, true, false), Priority::Spent, "taken back when the cold comes");
    }

    #[test]
    fn a_limit_that_comes_and_goes_does_not_renew_priority() {
        let mut t = TankState::default();
        let mut at = |s: u32, call, stopped| {
            t.decide(&CONFIG, call, true, stopped, &mut Clock::at(Instant::from_s(s)));
            (t.priority, t.sheds())
        };
        assert_eq!(at(0, true, true), (Priority::None, false), "not while it is stopped");
        assert_eq!(at(1, true, false), (Priority::Shedding { since: Instant::from_s(1) }, true));
        assert_eq!(at(100, true, true), (Priority::Spent, false));
        assert_eq!(at(101, true, false), (Priority::Spent, false), "one call, one priority");
        assert_eq!(at(102, false, false), (Priority::None, false));
        assert_eq!(at(103, true, false), (Priority::Shedding { since: Instant::from_s(103) }, true));
    }
}
