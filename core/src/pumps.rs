//! When each circulator runs.
//!
//! Several zones may ask for one pump; the first that asks names the reason. A pump that is asked for starts once its
//! shortest stop is over and no other pump has started within the stagger time; it stops once nobody asks and its shortest
//! run is over. A pump that has stood for `exercise_every` runs for `exercise_for`, one pump at a time by the stagger, so
//! that it does not seize. A pump whose switch is at OFF is not; nor is that of a mixed zone unless the supply is known to be
//! no hotter than that zone's highest mixed temperature, valve shut or not: no floor is warmed for an exercise. Where every
//! zone of a pump has a valve, the first one's is opened before and shut after; the run begins when its end switch says so and
//! ends when it no longer does, so that no pump runs against shut valves. Boiler pumps have their way through the header, the
//! tank's through its coil. Source: common practice; which valve is our choice.
//!
//! ```text
//!          asked, off_min and stagger over                  stood for exercise_every
//!   Off ------------------------------------> On     Off -------------------------------> Exercise
//!    ^-- not asked and on_min over, or stopped -'     ^-- exercise_for over, or stopped ------'  (asked: On)
//! ```
//!
//! The HAND-OFF-AUTO switch is only read: at HAND the pump runs by the switch, at OFF it does not run, and in both our
//! relay has no say. The safe side of a pump is its own: a lost call or a fault elsewhere never stops the pump of a hot
//! boiler. Only low water (when the plant says so), the zone's or the tank's own limit, and the switch do.

use crate::{
    clock::Clock,
    config::{Config, PumpConfig},
    ids::PumpId,
    limits::PUMPS,
    mask::Mask,
    outputs::Stated,
    reason::Reason,
    state::Control,
    units::Instant,
};

/// Where a pump stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PumpState {
    /// It stands.
    Off {
        /// Since when.
        since: Instant,
    },
    /// It runs because somebody asked.
    On {
        /// Since when.
        since: Instant,
    },
    /// It runs so that it does not seize.
    Exercise {
        /// Since when.
        since: Instant,
    },
}

impl PumpState {
    /// True while the relay is asked to be on.
    pub const fn is_on(self) -> bool {
        matches!(self, PumpState::On { .. } | PumpState::Exercise { .. })
    }

    /// True while it is due for exercise or exercised.
    pub(crate) fn exercises(self, config: &PumpConfig, clock: &mut Clock) -> bool {
        match self {
            PumpState::Off { since } => exercise_due(config, since, clock),
            PumpState::On { .. } => false,
            PumpState::Exercise { .. } => true,
        }
    }
}

/// What is asked of one pump.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ask {
    /// Why it is wanted; `None` while nobody wants it.
    on: Option<Reason>,
    /// Why it waits although a zone wants it, or why none wants it.
    off: Reason,
    /// Why it must stand, whatever else.
    stop: Option<Reason>,
}

/// Who asks for each pump and what stops it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Asks {
    each: [Ask; PUMPS],
    /// Pumps that are not exercised now.
    pub(crate) no_exercise: Mask,
}

impl Asks {
    /// Nobody asks.
    pub(crate) const fn none() -> Self {
        Self { each: [Ask { on: None, off: Reason::NoCall, stop: None }; PUMPS], no_exercise: Mask::NONE }
    }

    fn of(&mut self, pump: PumpId) -> Option<&mut Ask> {
        self.each.get_mut(pump.index())
    }

    /// Asks for a pump; the first asker names the reason.
    pub(crate) fn ask(&mut self, pump: PumpId, why: Reason) {
        if let Some(ask) = self.of(pump) {
            ask.on.get_or_insert(why);
        }
    }

    /// True when somebody has asked for the pump.
    pub(crate) fn wanted(&mut self, pump: PumpId) -> bool {
        self.of(pump).is_some_and(|ask| ask.on.is_some())
    }

    /// Says why a pump is not asked for.
    pub(crate) fn excuse(&mut self, pump: PumpId, why: Reason) {
        if let Some(ask) = self.of(pump).filter(|ask| ask.off == Reason::NoCall) {
            ask.off = why;
        }
    }

    /// Stops a pump; the first reason stays.
    pub(crate) fn stop(&mut self, pump: PumpId, why: Reason) {
        if let Some(ask) = self.of(pump) {
            ask.stop.get_or_insert(why);
        }
    }

    /// Stops every pump.
    pub(crate) fn stop_all(&mut self, why: Reason) {
        for ask in &mut self.each {
            ask.stop.get_or_insert(why);
        }
    }
}

/// Moves every pump and states its relay.
#[inline(never)]
pub(crate) fn decide(
    config: &Config,
    control: &mut Control,
    asks: &Asks,
    clock: &mut Clock,
    stated: &mut [Stated; PUMPS],
) {
    let last_start = &mut control.pump_started;
    let each = config.pumps.iter().zip(&mut control.pumps).zip(stated).zip(&asks.each);
    for (i, (((of, pump), out), ask)) in (0u8..).zip(each) {
        let free = |clock: &mut Clock| last_start.is_none_or(|t| clock.elapsed(t, config.pump_stagger));
        let (next, why) = step(of, *pump, ask, !asks.no_exercise.has(i), free, clock);
        let on = next.is_on();
        if on && !pump.is_on() {
            clock.put(last_start, Some(clock.now()));
        }
        clock.put(pump, next);
        *out = Stated { on, why };
    }
}

/// Where the pump goes, and why it stands or runs there; `free` says that no other pump has started lately.
fn step(
    config: &PumpConfig,
    pump: PumpState,
    ask: &Ask,
    exercise: bool,
    free: impl Fn(&mut Clock) -> bool,
    clock: &mut Clock,
) -> (PumpState, Reason) {
    let now = clock.now();
    let off = PumpState::Off { since: now };
    match (pump, ask.stop, ask.on) {
        (PumpState::Off { .. }, Some(stop), _) => (pump, stop),
        (PumpState::On { .. } | PumpState::Exercise { .. }, Some(stop), _) => (off, stop),
        (PumpState::Off { since }, None, Some(_)) if !clock.elapsed(since, config.off_min) => {
            (pump, Reason::MinimumOff)
        }
        (PumpState::Off { .. }, None, Some(_)) if !free(clock) => (pump, Reason::Stagger),
        (PumpState::Off { .. }, None, Some(why)) => (PumpState::On { since: now }, why),
        (PumpState::Off { since }, None, None) => {
            let due = exercise && exercise_due(config, since, clock);
            if due && free(clock) { (PumpState::Exercise { since: now }, Reason::Exercise) } else { (pump, ask.off) }
        }
        (PumpState::On { .. }, None, Some(why)) => (pump, why),
        (PumpState::On { since }, None, None) if clock.elapsed(since, config.on_min) => (off, ask.off),
        (PumpState::On { .. }, None, None) => (pump, Reason::MinimumOn),
        (PumpState::Exercise { since }, None, Some(why)) => (PumpState::On { since }, why),
        (PumpState::Exercise { .. }, None, None) if !exercise => (off, ask.off),
        (PumpState::Exercise { since }, None, None) if clock.elapsed(since, config.exercise_for) => (off, ask.off),
        (PumpState::Exercise { .. }, None, None) => (pump, Reason::Exercise),
    }
}

/// It has stood for so long that it must run.
fn exercise_due(config: &PumpConfig, since: Instant, clock: &mut Clock) -> bool {
    !config.exercise_every.is_zero() && !config.exercise_for.is_zero() && clock.elapsed(since, config.exercise_every)
}

/// Pumps whose motor runs, as far as the controller can know: by our relay at AUTO, or by the switch at HAND.
pub(crate) fn running(pumps: &[PumpState; PUMPS], hand: Mask, off: Mask) -> Mask {
    Mask::places(pumps, |p| p.is_on()).without(off).or(hand)
}
