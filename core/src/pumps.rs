//! When each circulator runs.
//!
//! Several zones may ask for one pump; the first that asks names the reason. A pump that is asked for starts once its
//! shortest stop is over and no other pump has started within the stagger time; it stops once nobody asks and its
//! shortest run is over. A pump that has stood for `exercise_every` runs for `exercise_for`, one pump at a time by the
//! stagger, so that it does not seize. A pump whose switch is at OFF is not; nor is that of a mixed zone unless the
//! supply is known to be no hotter than that zone's highest mixed temperature, valve shut or not: no floor is warmed
//! for an exercise. Where every zone of a pump has a valve, the first one's is opened before and shut after; the run
//! begins when its end switch says so and ends when it no longer does, so that no pump runs against shut valves. Boiler
//! pumps have their way through the header, the tank's through its coil; a pump that its boiler switches is the
//! boiler's to exercise. Source: common practice; which valve is our choice.
//!
//! ```text
//!          asked, off_min and stagger over                  stood for exercise_every
//!   Off ------------------------------------> On     Off -------------------------------> Exercise
//!    ^-- not asked and on_min over, or stopped -'     ^-- exercise_for over, or stopped ------'  (asked: On)
//! ```
//!
//! The HAND-OFF-AUTO switch is only read: at HAND the pump runs by the switch, at OFF it does not run, and in both our
//! relay has no say. On its way from one to the other it passes OFF (`switches`). At HAND it is `On`, with its relay off: back at AUTO it runs on where it is asked for, and its
//! shortest stop counts from a stop of the motor only. The safe side of a pump is its own: a lost call or a fault
//! elsewhere never stops the pump of a hot boiler. Only low water (when the plant says so), the zone's or the tank's
//! own limit, and the switch do.

mod kept;

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
pub use kept::PumpStates;

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
    /// It runs because somebody asked, or by its switch.
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
    /// True while the motor is to run: by our relay, or by its switch at HAND.
    pub const fn is_on(self) -> bool {
        matches!(self, PumpState::On { .. } | PumpState::Exercise { .. })
    }
}

/// Who asks for each pump and what stops it; then which run, and why.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pumps {
    /// Pumps that somebody wants.
    pub(crate) wanted: Mask,
    /// Pumps that must stand, whatever else.
    pub(crate) stopped: Mask,
    /// Pumps whose switch is at HAND.
    pub(crate) hand: Mask,
    /// Pumps that are not exercised now.
    pub(crate) no_exercise: Mask,
    /// Pumps that our relays ran until now; once they are decided, those that they run from now on.
    pub(crate) on: Mask,
    /// Pumps that ran for their exercise until now.
    pub(crate) exercised: Mask,
    /// Why each stands or runs: what stops it before who wants it first, before why nobody does.
    pub(crate) why: [Reason; PUMPS],
}

impl Default for Pumps {
    /// A constant: one that is put together is put together elsewhere and copied byte by byte, in every tick.
    #[inline(always)]
    fn default() -> Self {
        const NOBODY: Pumps = Pumps {
            wanted: Mask::NONE,
            stopped: Mask::NONE,
            hand: Mask::NONE,
            no_exercise: Mask::NONE,
            on: Mask::NONE,
            exercised: Mask::NONE,
            why: [Reason::NoCall; PUMPS],
        };
        NOBODY
    }
}

impl Pumps {
    /// What a pump's relay says; off past the last.
    #[inline(always)]
    pub(crate) fn get(&self, i: u8) -> Stated {
        let Some(why) = self.why.get(usize::from(i)) else { return Stated::default() };
        Stated { on: self.on.has(i), why: *why }
    }

    /// Says why a pump stands or runs.
    pub(crate) fn because(&mut self, pump: u8, why: Reason) {
        if let Some(slot) = self.why.get_mut(usize::from(pump)) {
            *slot = why;
        }
    }

    /// Asks for a pump, or for none by a number past every pump; the first asker names the reason.
    pub(crate) fn ask(&mut self, pump: u8, why: Reason) {
        let it = Mask::of(pump);
        if !self.wanted.or(self.stopped).meets(it) {
            self.because(pump, why);
        }
        self.wanted = self.wanted.or(it);
    }

    /// True when somebody has asked for the pump.
    pub(crate) fn wanted(&self, pump: PumpId) -> bool {
        self.wanted.has(pump.0)
    }

    /// Stops a pump; the first reason stays.
    pub(crate) fn stop(&mut self, pump: u8, why: Reason) {
        if !self.stopped.has(pump) {
            self.stopped.add(pump);
            self.because(pump, why);
        }
    }

    /// Takes a pump out of those that run, whatever was decided.
    pub(crate) fn cut(&mut self, pump: u8, why: Reason) {
        self.on = self.on.without(Mask::of(pump));
        self.because(pump, why);
    }

    /// Stops every pump.
    pub(crate) fn stop_all(&mut self, why: Reason) {
        for (it, slot) in Mask::each(&mut self.why) {
            if !self.stopped.meets(it) {
                self.stopped = self.stopped.or(it);
                *slot = why;
            }
        }
    }
}

/// Moves every pump and says which run and why.
#[inline(never)]
pub(crate) fn decide(config: &Config, control: &mut Control, asks: &mut Pumps, clock: &mut Clock) {
    let (pumps, last_start) = (&mut control.pumps, &mut control.pump_started);
    let (hand, stopped, wanted, no_exercise) = (asks.hand, asks.stopped, asks.wanted, asks.no_exercise);
    let (run, stand) = asks.at_rest();
    let mut running = run.without(hand);
    let mut busy = Mask::first_of(config.pumps.len()).without(run.or(stand));
    // Most of the others stand, and nothing asks for them but the end of a long stop.
    for i in busy.without(asks.on.or(wanted).or(hand).or(stopped)).iter() {
        let place = usize::from(i);
        let Some(of) = config.pumps.get(place) else { continue };
        if !exercise_due(of, pumps.since(i), clock) {
            busy = busy.without(Mask::of(i));
        }
    }
    // Those that nobody asks for any more, and those that are asked to start: after a gap they may be all.
    let leaving = asks.on.without(asks.exercised.or(hand).or(stopped).or(wanted));
    let starting = wanted.without(asks.on.or(hand).or(stopped));
    let now = clock.now();
    let left = pumps.stop(busy.and(leaving), now, |i, since| {
        let Some(of) = config.pumps.get(usize::from(i)) else { return false };
        let over = clock.elapsed(since, of.on_min);
        if !over {
            running.add(i);
            asks.because(i, Reason::MinimumOn);
        }
        over
    });
    clock.written(!left.is_empty());
    let free = |last: Option<Instant>, clock: &mut Clock| last.is_none_or(|t| clock.elapsed(t, config.pump_stagger));
    for i in busy.without(leaving).iter() {
        let (it, place) = (Mask::of(i), usize::from(i));
        let (Some(of), Some(pump)) = (config.pumps.get(place), pumps.get(i)) else { continue };
        if let (PumpState::Off { since }, true) = (pump, starting.meets(it)) {
            if !clock.elapsed(since, of.off_min) {
                asks.because(i, Reason::MinimumOff);
            } else if !free(*last_start, clock) {
                asks.because(i, Reason::Stagger);
            } else {
                *last_start = Some(clock.now());
                pumps.set(i, PumpState::On { since: clock.now() });
                clock.written(true);
                running = running.or(it);
            }
            continue;
        }
        let asked = if hand.meets(it) {
            Asked::Hand
        } else if stopped.meets(it) {
            Asked::Stop
        } else if wanted.meets(it) {
            Asked::Run
        } else {
            Asked::Nothing { exercise: !no_exercise.meets(it) }
        };
        let (next, because) = step(of, pump, asked, |clock| free(*last_start, clock), clock);
        if let Some(next) = next {
            if next.is_on() && !pump.is_on() && !hand.meets(it) {
                clock.put(last_start, Some(clock.now()));
            }
            pumps.set(i, next);
            clock.written(true);
        }
        if next.unwrap_or(pump).is_on() && !hand.meets(it) {
            running = running.or(it);
        }
        if let Some(because) = because {
            asks.because(i, because);
        }
    }
    asks.on = running;
}

impl Pumps {
    /// Takes note of the pumps that run; nobody has asked yet.
    pub(crate) fn follow(&mut self, pumps: &PumpStates) {
        (self.on, self.exercised) = (pumps.on(), pumps.exercised());
    }

    /// Pumps that run and pumps that stand as they are asked to, and no wait of their own is running: they need no step.
    fn at_rest(&self) -> (Mask, Mask) {
        let asked = self.wanted.or(self.hand);
        let stopped = self.stopped.without(self.hand);
        let run = self.on.without(self.exercised).and(asked.without(stopped));
        let stand = stopped.or(self.no_exercise.without(asked)).without(self.on);
        (run, stand)
    }
}

/// What is asked of one pump.
#[derive(Clone, Copy)]
enum Asked {
    /// Nothing that counts: its switch runs the motor.
    Hand,
    /// To stand.
    Stop,
    /// To run.
    Run,
    /// Nothing; it may be exercised.
    Nothing { exercise: bool },
}

/// Where the pump goes, if anywhere, and why it stands or runs there, if not for what was asked; `free` says that no other
/// pump has started lately.
fn step(
    config: &PumpConfig,
    pump: PumpState,
    asked: Asked,
    free: impl Fn(&mut Clock) -> bool,
    clock: &mut Clock,
) -> (Option<PumpState>, Option<Reason>) {
    let now = clock.now();
    let off = Some(PumpState::Off { since: now });
    match (pump, asked) {
        (PumpState::Off { .. }, Asked::Hand) => (Some(PumpState::On { since: now }), None),
        (PumpState::On { .. }, Asked::Hand) => (None, None),
        (PumpState::Exercise { since }, Asked::Hand) => (Some(PumpState::On { since }), None),
        (PumpState::Off { .. }, Asked::Stop) => (None, None),
        (PumpState::On { .. } | PumpState::Exercise { .. }, Asked::Stop) => (off, None),
        (PumpState::Off { since }, Asked::Run) if !clock.elapsed(since, config.off_min) => {
            (None, Some(Reason::MinimumOff))
        }
        (PumpState::Off { .. }, Asked::Run) if !free(clock) => (None, Some(Reason::Stagger)),
        (PumpState::Off { .. }, Asked::Run) => (Some(PumpState::On { since: now }), None),
        (PumpState::Off { since }, Asked::Nothing { exercise }) => {
            let due = exercise && exercise_due(config, since, clock);
            if due && free(clock) {
                (Some(PumpState::Exercise { since: now }), Some(Reason::Exercise))
            } else {
                (None, None)
            }
        }
        (PumpState::On { .. }, Asked::Run) => (None, None),
        (PumpState::On { since }, Asked::Nothing { .. }) if clock.elapsed(since, config.on_min) => (off, None),
        (PumpState::On { .. }, Asked::Nothing { .. }) => (None, Some(Reason::MinimumOn)),
        (PumpState::Exercise { since }, Asked::Run) => (Some(PumpState::On { since }), None),
        (PumpState::Exercise { .. }, Asked::Nothing { exercise: false }) => (off, None),
        (PumpState::Exercise { since }, Asked::Nothing { .. }) if clock.elapsed(since, config.exercise_for) => {
            (off, None)
        }
        (PumpState::Exercise { .. }, Asked::Nothing { .. }) => (None, Some(Reason::Exercise)),
    }
}

/// It has stood for so long that it must run.
pub(crate) fn exercise_due(config: &PumpConfig, since: Instant, clock: &mut Clock) -> bool {
    !config.exercise_every.is_zero() && !config.exercise_for.is_zero() && clock.elapsed(since, config.exercise_every)
}

/// Pumps whose motor runs, as far as the controller can know: by our relay at AUTO, or by the switch at HAND; `on` are those that
/// our relays ask to run.
pub(crate) const fn motors(on: Mask, hand: Mask, off: Mask) -> Mask {
    on.without(off).or(hand)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{config::PumpRole, units::Span};

    const fn s(v: u32) -> Instant {
        Instant::from_s(v)
    }

    const CONFIG: PumpConfig = PumpConfig {
        role: PumpRole::Zone,
        on_min: Span::from_s(30),
        off_min: Span::from_s(20),
        exercise_every: Span::from_s(900),
        exercise_for: Span::from_s(60),
    };

    /// Where a pump goes and why it stands there, if not for what was asked; no other pump has started lately.
    fn goes(from: PumpState, asked: Asked, at_s: u32) -> (PumpState, Option<Reason>) {
        let (next, why) = step(&CONFIG, from, asked, |_| true, &mut Clock::at(s(at_s)));
        (next.unwrap_or(from), why)
    }

    #[test]
    fn each_state_goes_where_the_diagram_says() {
        const MAY: Asked = Asked::Nothing { exercise: true };
        const MAY_NOT: Asked = Asked::Nothing { exercise: false };
        let (off, on, short) =
            (PumpState::Off { since: s(100) }, PumpState::On { since: s(100) }, PumpState::Exercise { since: s(100) });
        let stops = |at| PumpState::Off { since: s(at) };
        let rows = [
            ("shortest stop", off, Asked::Run, 119, off, Some(Reason::MinimumOff)),
            ("starts", off, Asked::Run, 120, PumpState::On { since: s(120) }, None),
            ("shortest run", on, MAY, 129, on, Some(Reason::MinimumOn)),
            ("stops", on, MAY, 130, stops(130), None),
            ("stopped", on, Asked::Stop, 101, stops(101), None),
            ("runs on", on, Asked::Run, 999, on, None),
            ("not due", off, MAY, 999, off, None),
            ("due", off, MAY, 1000, PumpState::Exercise { since: s(1000) }, Some(Reason::Exercise)),
            ("due and not to be", off, MAY_NOT, 1000, off, None),
            ("exercised", short, MAY, 159, short, Some(Reason::Exercise)),
            ("exercised enough", short, MAY, 160, stops(160), None),
            ("no more", short, MAY_NOT, 101, stops(101), None),
            ("called meanwhile", short, Asked::Run, 101, PumpState::On { since: s(100) }, None),
            ("stopped meanwhile", short, Asked::Stop, 101, stops(101), None),
            ("by its switch", off, Asked::Hand, 101, PumpState::On { since: s(101) }, None),
            ("by its switch on", short, Asked::Hand, 101, PumpState::On { since: s(100) }, None),
        ];
        for (what, from, asked, at_s, to, why) in rows {
            assert_eq!(goes(from, asked, at_s), (to, why), "{what}");
        }
        let waits = step(&CONFIG, off, Asked::Run, |_| false, &mut Clock::at(s(120)));
        assert_eq!(waits, (None, Some(Reason::Stagger)));
    }

    #[test]
    fn a_pump_is_exercised_only_where_both_times_are_set() {
        let due = |every: u32, length: u32| {
            let config =
                PumpConfig { exercise_every: Span::from_s(every), exercise_for: Span::from_s(length), ..CONFIG };
            exercise_due(&config, s(0), &mut Clock::at(s(5000)))
        };
        assert_eq!([due(5000, 60), due(5001, 60), due(0, 60), due(5000, 0)], [true, false, false, false]);
    }

    #[test]
    fn the_first_reason_stays_and_what_stops_a_pump_comes_before_what_wants_it() {
        let mut p = Pumps::default();
        p.follow(&PumpStates::standing(s(0)));
        p.ask(0, Reason::TankCall);
        p.ask(0, Reason::Overrun);
        p.stop(2, Reason::Hand);
        p.stop(2, Reason::TankCall);
        p.ask(2, Reason::Overrun);
        assert_eq!(p.why[..4], [Reason::TankCall, Reason::NoCall, Reason::Hand, Reason::NoCall]);
        p.stop_all(Reason::Alarm);
        assert_eq!(p.why[..4], [Reason::Alarm, Reason::Alarm, Reason::Hand, Reason::Alarm]);
        assert_eq!(p.stopped, Mask::first_of(PUMPS));
    }

    #[test]
    fn what_runs_and_what_is_exercised_is_followed() {
        let mut pumps = PumpStates::standing(s(0));
        pumps.set(1, PumpState::On { since: s(0) });
        pumps.set(2, PumpState::Exercise { since: s(0) });
        pumps.set(4, PumpState::Exercise { since: s(0) });
        let mut p = Pumps::default();
        p.follow(&pumps);
        assert_eq!((p.on.bits(), p.exercised.bits()), (0b10110, 0b10100));
    }
}
