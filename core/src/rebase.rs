//! States of different times made comparable.
//!
//! [`State::rebased`] moves every moment in a state so that "now" becomes one fixed moment, and lets every age end at the
//! longest wait that is counted from such a moment: what is older than that makes no difference any more. Two states that are
//! equal after it do the same from here on, whatever time it is. The laws' grids are kept: "now" keeps its place within
//! ten minutes, of which every grid is a divisor, or within a minute while the demand trim is off.
//!
//! What it does not do: it leaves meters and wall-clock time alone. A search compares `control` and `laws`.

use crate::{
    boilers::BoilerState,
    call::Call,
    config::{Config, PlantEnable, PurgeTo, TankConfig},
    damper::Damper,
    enable::Enable,
    guard::{
        proofs::REST,
        sensors::{OUTDOOR_STILL, StandIn, Watch, by_flow},
    },
    heat::{FROST_STAND, FrostOutdoor},
    law::{
        filter::GRID,
        trim::{DEMAND_GRID, LONG_CALL},
    },
    lull::LULL,
    pumps::PumpState,
    purge::{self, Purge},
    reset::Shift,
    staging::load::RateHold,
    state::State,
    switches::AGAIN,
    tank::Priority,
    units::{Instant, Span, TempDelta},
};

/// The whole number of ten-minute grids that a rebased state stands at: later than any wait is long.
const BASE: Instant = Instant::from_tenths(DEMAND_GRID.tenths() * 100_000);

impl State {
    /// This state with all its moments moved so that it can be compared with states of other times.
    #[must_use]
    pub fn rebased(&self, config: &Config) -> Self {
        // Without demand trim the longest grid that a law moves on is the filter's.
        let grid = if config.reset.demand_trim_max > TempDelta::ZERO { DEMAND_GRID } else { GRID };
        let phase = self.at.tenths().checked_rem(grid.tenths()).unwrap_or(0);
        let now = BASE.after(Span::from_tenths(phase));
        let at = self.at;
        let mut state = self.clone();
        state.each_moment(&Waits::of(config), &mut |t, longest| {
            // What lies ahead has no age, and what is past is not ahead: one of the two is zero.
            let (ahead, age) = (t.since(at), at.since(*t).min(longest));
            *t = Instant::from_tenths(now.after(ahead).tenths().saturating_sub(age.tenths()));
        });
        state.at = now;
        state
    }

    /// Every moment with the longest wait that is counted from it.
    fn each_moment(&mut self, waits: &Waits, f: &mut dyn FnMut(&mut Instant, Span)) {
        let c = &mut self.control;
        let mut of_call = |call: &mut Call| match call {
            Call::Idle => {}
            Call::Rising { since } => f(since, waits.debounce),
            Call::Calling { since } => f(since, waits.call),
            Call::Falling { began, since } => {
                f(began, waits.call);
                f(since, waits.debounce);
            }
            Call::Resuming { ended, since } => {
                f(ended, waits.overrun);
                f(since, waits.debounce);
            }
            Call::Overrun { ended } => f(ended, waits.overrun),
        };
        c.zones.each(&mut of_call);
        of_call(&mut c.tank.call);
        c.pumps.each(|pump| match pump {
            PumpState::Off { since } => f(since, waits.pump_off),
            PumpState::On { since } => f(since, waits.pump_on),
            PumpState::Exercise { since } => f(since, waits.exercise),
        });
        for boiler in &mut c.boilers {
            match &mut boiler.state {
                BoilerState::Off { since } | BoilerState::LockedOut { since, .. } => f(since, waits.boiler_off),
                // What its retry is counted from stays the end of its demand afterwards.
                BoilerState::Retry { since, .. } => f(since, waits.boiler_off.max(waits.retry)),
                BoilerState::Air { off } => f(off, waits.boiler_off),
                BoilerState::Flow { since, off } => {
                    f(since, waits.proof);
                    f(off, waits.boiler_off);
                }
                BoilerState::Lighting { since, began } => {
                    f(since, waits.proof);
                    f(began, waits.boiler_on);
                }
                BoilerState::Firing { began } | BoilerState::Holding { began } => f(began, waits.boiler_on),
            }
        }
        if let Priority::Shedding { since } = &mut c.tank.priority {
            f(since, waits.rest);
        }
        if let Shift::Raised { since } = &mut c.reset.shift {
            f(since, waits.rest);
        }
        if let Damper::Opening { since, .. } | Damper::Waiting { since } = &mut c.damper {
            f(since, waits.rest);
        }
        if let FrostOutdoor::Moving { since } | FrostOutdoor::Standing { since } = &mut c.frost.outdoor {
            f(since, waits.rest);
        }
        if let Purge::Running { since } = &mut c.purge {
            f(since, waits.rest);
        }
        let sensors = &mut c.sensors;
        for watch in sensors.outlets.iter_mut().map(|o| &mut o.watch).chain([&mut sensors.supply.watch]) {
            if let Watch::Waiting { since, .. } = watch {
                f(since, waits.rest);
            }
        }
        for lost in sensors.outlets.iter_mut().map(|o| &mut o.lost).chain([&mut sensors.supply.lost]) {
            if let Some(StandIn::Moving { since, .. }) = lost {
                f(since, OUTDOOR_STILL);
            }
        }
        if let Some(held) = &mut sensors.outdoor {
            f(&mut held.since, OUTDOOR_STILL);
        }
        let proofs = &mut c.proofs;
        for (i, since) in (0u8..).zip(&mut proofs.ends_since) {
            if proofs.ends_wrong.has(i) {
                f(since, waits.rest);
            }
        }
        for cut in c.hot.moments() {
            f(cut, waits.hot);
        }
        match &mut c.enable {
            Enable::Off { since } => f(since, waits.plant),
            Enable::On { since, few } => {
                f(since, waits.plant);
                if let Some(few) = few {
                    f(few, waits.plant);
                }
            }
        }
        let ages = [
            (&mut proofs.rest_since, REST),
            (&mut proofs.damper_since, waits.rest),
            (&mut c.switches.since, AGAIN),
            (&mut c.pump_started, waits.stagger),
            (&mut c.staging.last_start, waits.start),
            (&mut c.low_load.lit, waits.run),
            (&mut c.lull, LULL),
        ];
        if c.still_since != Instant::ZERO {
            f(&mut c.still_since, waits.proof);
        }
        for (t, longest) in ages {
            if let Some(t) = t {
                f(t, longest);
            }
        }
        if let Some(due) = &mut self.due {
            f(due, Span::ZERO);
        }
        if let RateHold::High { since } | RateHold::Low { since } = &mut self.laws.load.hold {
            f(since, waits.rest);
        }
    }
}

/// The longest waits of a configuration, by what they are counted from.
struct Waits {
    debounce: Span,
    call: Span,
    overrun: Span,
    pump_on: Span,
    pump_off: Span,
    exercise: Span,
    boiler_on: Span,
    boiler_off: Span,
    proof: Span,
    retry: Span,
    stagger: Span,
    start: Span,
    run: Span,
    rest: Span,
    hot: Span,
    plant: Span,
}

fn longest(all: impl Iterator<Item = Span>) -> Span {
    all.max().unwrap_or_default()
}

impl Waits {
    fn of(config: &Config) -> Self {
        let (zones, pumps, boilers) = (|| config.zones.iter(), || config.pumps.iter(), || config.boilers.iter());
        let trim = (config.reset.demand_trim_max > TempDelta::ZERO).then_some(LONG_CALL);
        let tank = |wait: fn(&TankConfig) -> Span| config.tank.iter().map(wait);
        let (s, g) = (&config.staging, &config.guard);
        // A run that is long at low load is longer by as much as the band is wider.
        let wider = u32::from(s.low_load.band.centi_k().unsigned_abs())
            .div_ceil(u32::from(s.band.centi_k().unsigned_abs()).max(1));
        // Without a purge nobody asks how long a boiler has been off, once it may start again.
        let purges = config.purge.to != PurgeTo::None || config.purge.otherwise.is_some();
        let warm = if purges { purge::WARM } else { Span::ZERO };
        let run = Span::from_tenths(s.low_load.run_min.tenths().saturating_mul(wider.max(1)));
        let rest = [
            s.rate_hold,
            by_flow(g.frozen_after),
            g.damper_proof_max,
            g.damper_retry_after,
            g.valve_travel_max,
            config.purge.time_max,
            config.reset.boost_for,
            config.tank.as_ref().map_or(Span::ZERO, |t| t.priority_max),
            FROST_STAND,
            REST,
        ];
        Self {
            debounce: longest(zones().map(|z| z.debounce).chain(tank(|t| t.debounce))),
            call: longest(zones().map(|z| z.call_min).chain(trim)),
            overrun: longest(zones().map(|z| z.overrun).chain(tank(|t| t.overrun))),
            // Flow through a boiler is waited for from the start of its pump on.
            pump_on: longest(pumps().map(|p| p.on_min).chain(boilers().map(|b| b.flow_proof_max))),
            pump_off: longest(pumps().map(|p| p.off_min.max(p.exercise_every))),
            exercise: longest(pumps().map(|p| p.exercise_for)),
            boiler_on: longest(boilers().map(|b| b.on_min.max(b.flow_proof_max))),
            boiler_off: longest(boilers().map(|b| b.off_min.max(b.post_purge).max(b.pump_overrun).max(warm))),
            proof: longest(boilers().map(|b| b.flow_proof_max.max(b.flame_proof_max))),
            retry: longest(boilers().map(|b| b.retry_after)),
            stagger: config.pump_stagger,
            start: s.start_spacing,
            run,
            rest: longest(rest.into_iter()),
            hot: g.hot_cuts_within,
            plant: match &config.enable {
                PlantEnable::AnyCall => Span::ZERO,
                PlantEnable::Requests(r) => r.off_min.max(r.on_min).max(r.few_for),
            },
        }
    }
}

#[cfg(test)]
mod tests;
