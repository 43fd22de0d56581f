//! When each circulator runs.
//!
//! Several zones may ask for one pump; the first that asks names the reason. A pump that is asked for starts once its
//! shortest stop is over and no other pump has started within the stagger time; it stops once nobody asks and its shortest
//! run is over. A pump that has stood for `exercise_every` runs for `exercise_for`, one pump at a time by the stagger, so
//! that it does not seize. A pump whose switch is at OFF is not; nor is that of a mixed zone unless the supply is known to be
//! no hotter than that zone's highest mixed temperature, valve shut or not: no floor is warmed for an exercise. A valve is not
//! opened for it. Source: common practice.
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
    config::PumpConfig,
    limits::PUMPS,
    mask::Mask,
    outputs::Stated,
    reason::Reason,
    units::{Instant, Span},
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
}

/// Who asks for each pump and what stops it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Asks {
    /// Why the pump is wanted; `None` while nobody wants it.
    pub(crate) on: [Option<Reason>; PUMPS],
    /// Why the pump waits although a zone wants it, or why none wants it.
    pub(crate) off: [Reason; PUMPS],
    /// Why the pump must stand, whatever else.
    pub(crate) stop: [Option<Reason>; PUMPS],
    /// Pumps that are not exercised now.
    pub(crate) no_exercise: Mask,
}

impl Asks {
    /// Nobody asks.
    pub(crate) const fn none() -> Self {
        Self { on: [None; PUMPS], off: [Reason::NoCall; PUMPS], stop: [None; PUMPS], no_exercise: Mask::NONE }
    }

    /// Asks for a pump; the first asker names the reason.
    pub(crate) fn ask(&mut self, pump: u8, why: Reason) {
        if let Some(slot) = self.on.get_mut(usize::from(pump)) {
            slot.get_or_insert(why);
        }
    }

    /// True when somebody has asked for the pump.
    pub(crate) fn wanted(&self, pump: u8) -> bool {
        self.on.get(usize::from(pump)).is_some_and(Option::is_some)
    }

    /// Says why a pump is not asked for.
    pub(crate) fn excuse(&mut self, pump: u8, why: Reason) {
        if let Some(slot) = self.off.get_mut(usize::from(pump)).filter(|w| **w == Reason::NoCall) {
            *slot = why;
        }
    }

    /// Stops a pump.
    pub(crate) fn stop(&mut self, pump: u8, why: Reason) {
        if let Some(slot) = self.stop.get_mut(usize::from(pump)) {
            slot.get_or_insert(why);
        }
    }
}

/// Moves every pump and states its relay.
pub(crate) fn decide(
    configs: &[PumpConfig],
    stagger: Span,
    pumps: &mut [PumpState; PUMPS],
    last_start: &mut Option<Instant>,
    asks: &Asks,
    clock: &mut Clock,
) -> [Stated; PUMPS] {
    let mut stated = [Stated::default(); PUMPS];
    let wanted = asks.on.iter().zip(&asks.off).zip(&asks.stop);
    for (i, (((config, pump), out), ((on, off), stop))) in
        (0u8..).zip(configs.iter().zip(pumps).zip(&mut stated).zip(wanted))
    {
        let around =
            Around { ask: *on, stop: *stop, exercise: !asks.no_exercise.has(i), stagger, last_start: *last_start };
        let next = step(config, *pump, &around, clock);
        if next.is_on() && !pump.is_on() {
            clock.put(last_start, Some(clock.now()));
        }
        clock.put(pump, next);
        let wait = match *pump {
            PumpState::Off { since } if on.is_some() && !clock.elapsed(since, config.off_min) => Reason::MinimumOff,
            PumpState::Off { .. } | PumpState::On { .. } | PumpState::Exercise { .. } => Reason::Stagger,
        };
        *out = Stated { on: next.is_on(), why: why(*pump, *on, wait, *off, *stop) };
    }
    stated
}

/// What a pump sees in one tick.
struct Around {
    ask: Option<Reason>,
    stop: Option<Reason>,
    exercise: bool,
    stagger: Span,
    last_start: Option<Instant>,
}

fn step(config: &PumpConfig, pump: PumpState, around: &Around, clock: &mut Clock) -> PumpState {
    let Around { ask, stop, exercise, stagger, last_start } = *around;
    let now = clock.now();
    let off = PumpState::Off { since: now };
    let free = |clock: &mut Clock| last_start.is_none_or(|t| clock.elapsed(t, stagger));
    match pump {
        PumpState::Off { since } if stop.is_some() => PumpState::Off { since },
        PumpState::On { .. } | PumpState::Exercise { .. } if stop.is_some() => off,
        PumpState::Off { since } if ask.is_some() => {
            if clock.elapsed(since, config.off_min) && free(clock) {
                PumpState::On { since: now }
            } else {
                PumpState::Off { since }
            }
        }
        PumpState::Off { since } => {
            let due = exercise
                && !config.exercise_every.is_zero()
                && !config.exercise_for.is_zero()
                && clock.elapsed(since, config.exercise_every);
            if due && free(clock) { PumpState::Exercise { since: now } } else { PumpState::Off { since } }
        }
        PumpState::On { since } if ask.is_none() && clock.elapsed(since, config.on_min) => off,
        PumpState::On { since } => PumpState::On { since },
        PumpState::Exercise { since } if ask.is_some() => PumpState::On { since },
        PumpState::Exercise { .. } if !exercise => off,
        PumpState::Exercise { since } if clock.elapsed(since, config.exercise_for) => off,
        PumpState::Exercise { since } => PumpState::Exercise { since },
    }
}

/// The reason, told from where the pump stands now.
fn why(pump: PumpState, ask: Option<Reason>, wait: Reason, off: Reason, stop: Option<Reason>) -> Reason {
    match (pump, stop, ask) {
        (PumpState::Off { .. }, Some(stop), _) => stop,
        (PumpState::Off { .. }, None, Some(_)) => wait,
        (PumpState::Off { .. }, None, None) => off,
        (PumpState::On { .. }, _, Some(ask)) => ask,
        (PumpState::On { .. }, _, None) => Reason::MinimumOn,
        (PumpState::Exercise { .. }, ..) => Reason::Exercise,
    }
}

/// Pumps whose motor runs, as far as the controller can know: by our relay at AUTO, or by the switch at HAND.
pub(crate) fn running(pumps: &[PumpState; PUMPS], hand: Mask, off: Mask) -> Mask {
    let mut on = Mask::NONE;
    for (i, p) in (0u8..).zip(pumps) {
        on.add_if(i, p.is_on());
    }
    on.without(off).or(hand)
}
