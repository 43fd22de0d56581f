//! States of different times made comparable.
//!
//! [`State::rebased`] moves every moment in a state so that "now" becomes one fixed moment, and lets every age end at the
//! longest wait that the configuration knows: what is older than that makes no difference any more. Two states that are
//! equal after it do the same from here on, whatever time it is. The laws' grids are kept: "now" keeps its place within
//! ten minutes, of which every grid is a divisor.
//!
//! What it does not do: it leaves meters and wall-clock time alone. A search compares `control` and `laws`.

use crate::{
    boilers::BoilerState,
    call::Call,
    config::Config,
    damper::Damper,
    guard::{
        proofs::REST,
        sensors::{OUTDOOR_STILL, StandIn, Watch},
    },
    heat::FrostOutdoor,
    law::trim::DEMAND_GRID,
    pumps::PumpState,
    purge::Purge,
    reset::Shift,
    staging::load::RateHold,
    state::State,
    tank::Priority,
    units::{Instant, Span},
};

/// The whole number of ten-minute grids that a rebased state stands at: later than any wait is long.
const BASE: Instant = Instant::from_tenths(DEMAND_GRID.tenths() * 100_000);

impl State {
    /// This state with all its moments moved so that it can be compared with states of other times.
    #[must_use]
    pub fn rebased(&self, config: &Config) -> Self {
        let phase = self.at.tenths().checked_rem(DEMAND_GRID.tenths()).unwrap_or(0);
        let now = BASE.after(Span::from_tenths(phase));
        let (at, longest) = (self.at, longest_wait(config));
        let mut state = self.clone();
        state.each_moment(&mut |t| {
            *t = if *t > at {
                now.after(t.since(at))
            } else {
                let age = at.since(*t).min(longest);
                Instant::from_tenths(now.tenths().saturating_sub(age.tenths()))
            };
        });
        state.at = now;
        state
    }

    fn each_moment(&mut self, f: &mut dyn FnMut(&mut Instant)) {
        let c = &mut self.control;
        for call in c.zones.iter_mut().chain([&mut c.tank.call]) {
            match call {
                Call::Idle => {}
                Call::Rising { since } | Call::Calling { since } => f(since),
                Call::Falling { began: a, since: b } | Call::Resuming { ended: a, since: b } => {
                    f(a);
                    f(b);
                }
                Call::Overrun { ended } => f(ended),
            }
        }
        for pump in &mut c.pumps {
            match pump {
                PumpState::Off { since } | PumpState::On { since } | PumpState::Exercise { since } => f(since),
            }
        }
        for boiler in &mut c.boilers {
            match &mut boiler.state {
                BoilerState::Off { since: t }
                | BoilerState::Retry { since: t, .. }
                | BoilerState::LockedOut { since: t, .. }
                | BoilerState::Air { off: t }
                | BoilerState::Firing { began: t }
                | BoilerState::Holding { began: t } => f(t),
                BoilerState::Flow { since, off: other } | BoilerState::Lighting { since, began: other } => {
                    f(since);
                    f(other);
                }
            }
        }
        if let Priority::Shedding { since } = &mut c.tank.priority {
            f(since);
        }
        if let Shift::Raised { since } = &mut c.reset.shift {
            f(since);
        }
        if let Damper::Opening { since, .. } | Damper::Waiting { since } = &mut c.damper {
            f(since);
        }
        if let FrostOutdoor::Moving { since } | FrostOutdoor::Standing { since } = &mut c.frost.outdoor {
            f(since);
        }
        if let Purge::Running { since } = &mut c.purge {
            f(since);
        }
        let sensors = &mut c.sensors;
        for watch in sensors.outlets.iter_mut().map(|o| &mut o.watch).chain([&mut sensors.supply.watch]) {
            if let Watch::Waiting { since, .. } = watch {
                f(since);
            }
        }
        for lost in sensors.outlets.iter_mut().map(|o| &mut o.lost).chain([&mut sensors.supply.lost]) {
            if let Some(StandIn::Falling { since, .. }) = lost {
                f(since);
            }
        }
        if let Some(held) = &mut sensors.outdoor {
            f(&mut held.since);
        }
        let proofs = &mut c.proofs;
        for (i, since) in (0u8..).zip(&mut proofs.ends_since) {
            if proofs.ends_wrong.has(i) {
                f(since);
            }
        }
        for t in [&mut proofs.rest_since, &mut proofs.damper_since].into_iter().flatten() {
            f(t);
        }
        for t in
            [&mut c.pump_started, &mut c.staging.last_start, &mut c.low_load.lit, &mut self.due].into_iter().flatten()
        {
            f(t);
        }
        if let RateHold::High { since } | RateHold::Low { since } = &mut self.laws.load.hold {
            f(since);
        }
    }
}

/// Longer than every wait of this configuration.
fn longest_wait(config: &Config) -> Span {
    let mut longest = OUTDOOR_STILL.max(REST);
    let mut note = |s: Span| longest = longest.max(s);
    for z in &config.zones {
        [z.debounce, z.call_min, z.overrun].into_iter().for_each(&mut note);
    }
    for p in &config.pumps {
        [p.on_min, p.off_min, p.exercise_every, p.exercise_for].into_iter().for_each(&mut note);
    }
    for b in &config.boilers {
        let own =
            [b.on_min, b.off_min, b.flow_proof_max, b.flame_proof_max, b.post_purge, b.pump_overrun, b.retry_after];
        own.into_iter().for_each(&mut note);
    }
    if let Some(t) = &config.tank {
        [t.debounce, t.priority_max, t.overrun].into_iter().for_each(&mut note);
    }
    let (s, g) = (&config.staging, &config.guard);
    [
        s.low_load.run_min,
        s.rate_hold,
        s.start_spacing,
        g.frozen_after,
        g.damper_proof_max,
        g.damper_retry_after,
        g.valve_travel_max,
    ]
    .into_iter()
    .for_each(&mut note);
    [config.purge.time_max, config.reset.boost_for, config.pump_stagger].into_iter().for_each(&mut note);
    longest
}
