//! The first part of a tick: laws and meters move over the interval just past.
//!
//! They follow what was true in that interval: the inputs held since the last tick and what the machines stood at. Nothing
//! of the new inputs enters here, so that a tick that is left out is one that would have moved them by the same amount.

use crate::{config::Config, state::State, units::Instant};

/// Moves laws and meters from the last tick to `now`.
#[inline(never)]
pub(crate) fn advance(config: &Config, state: &mut State, now: Instant) {
    let from = state.at;
    state.meter.advance(&state.control.boilers, state.laws.basis.running, now.since(from));
    state.laws.advance(config, &state.known.looks, &state.control.zones, &state.held, from, now);
}
