//! One tick of the controller.
//!
//! ```text
//!   advance   laws and meters move over the interval just past, with the inputs held since the last tick
//!   analyse   contacts and readings are sorted; safeties are judged
//!   decide    every machine takes at most one step that changes an output: reset, tank, zones, rotation, staging, boilers,
//!             damper, purge, pumps
//!   interlock an output may still move to its safe side, and nowhere else
//!   outputs   every relay and signal is stated, with its reason
//! ```
//!
//! A tick that comes early and sees nothing new changes nothing but the meters. A late tick makes the step that was due; what
//! follows from it shifts later by as much. What one machine concludes from another's step that is taken later in the order
//! follows in the next tick, and [`next_due`] makes that one due at once.
//!
//! Wall-clock time that merely runs on is no new input: the moments at which a schedule or a calendar acts are announced.

use crate::{
    advance::advance,
    clock::Clock,
    config::Config,
    decide::{Decided, decide},
    inputs::{Inputs, Reading},
    interlock, law,
    outputs::Outputs,
    seen::Seen,
    staging::error,
    state::State,
    statement,
    units::Instant,
};

/// Moves the controller to `now` and states every output.
///
/// `config` is sound ([`Config::is_sound`]) and the one that `state` was made for ([`State::belongs_to`]); with another one nothing
/// panics, and nothing that is stated means anything. `outputs` goes in and comes out: it holds what the last tick stated, or
/// [`Outputs::SAFE`] at the first. Only the count of relay operations reads it.
///
/// `now` never runs back; a tick at an earlier moment than the last counts as one at the last. At [`Instant::MAX`] time stands still
/// and no wait could be trusted: every output goes to its safe side and stays there. A board whose clock comes near it starts
/// anew with [`State::memory`], in a quiet hour of the years before.
pub fn tick(config: &Config, state: &mut State, now: Instant, inputs: &Inputs, outputs: &mut Outputs) {
    tick_for(config, state, now, inputs, outputs);
}

/// A [`tick`] that gives the moment at which a machine is due whatever the laws do until then; what is due before it is a law's
/// step (see [`quiet`](crate::quiet)).
#[inline(always)]
pub fn tick_for(
    config: &Config,
    state: &mut State,
    now: Instant,
    inputs: &Inputs,
    outputs: &mut Outputs,
) -> Option<Instant> {
    let now = now.max(state.at);
    if now == Instant::MAX {
        *outputs = Outputs::SAFE;
        (state.at, state.due) = (now, None);
        return None;
    }
    advance(config, state, now);
    let mut clock = Clock::at(now);
    let mut seen = Seen::default();
    seen.read(config, &state.known.looks, inputs, &state.held);
    // It is one in fault for everybody who asks.
    seen.outdoor_stands = state.control.sensors.outdoor_stands(seen.outdoor, config.guard.frozen_after, &mut clock);
    if seen.outdoor_stands {
        seen.outdoor = Reading::Open;
    }
    state.control.switches.decide(&mut seen, &mut clock);
    let mut decided = Decided::default();
    decide(config, state, &seen, inputs.civil, &mut clock, &mut decided);
    interlock::apply(config, &seen, &mut decided);
    let machines = clock.due();
    // No law moves before the next moment of the finest grid.
    if !clock.due_by(law::next(now, error::GRID))
        && let Some(at) = state.laws.due(config, &state.known.looks, inputs, now)
    {
        clock.wake(at);
    }
    statement::state_all(config, state, &decided, outputs);
    state.held = *inputs;
    state.at = now;
    state.due = clock.due();
    machines
}

/// When the next tick is due if the inputs stay as they are; `None` while nothing can change any more.
///
/// A tick before that moment, with the same inputs, changes nothing but the meters. Inputs that change make a tick due at
/// once; wall-clock time that merely runs on does not count as a change.
pub fn next_due(state: &State) -> Option<Instant> {
    state.due
}
