//! A moment that was due for a law: it goes its step, and what follows is stated without a tick where no machine hears another answer.
//!
//! Three things can follow. Nothing: no answer is another. Mixing valves stand elsewhere: their signals are stated. The supply
//! target, or what boilers are told, moves by a trifle: each reading is asked again on which side it stands of every edge that hangs
//! on it ([`Band`](super::Band)); while none has changed sides, no machine takes a step, and target and signals are stated. All else
//! is a tick. So is a target while the tank calls or water is near freezing, which may not be the zones' then.

use super::{
    Quiet,
    answers::{self, Answers},
    bands, take_down, until,
};
use crate::{
    advance::advance,
    config::{BoilerDrive, Config},
    demand::held_target,
    ids::BoilerId,
    inputs::Inputs,
    outputs::Outputs,
    points::{AnalogUse, RelayUse, SensorUse},
    reset::Asked,
    state::State,
    statement::share,
    units::{Instant, Permille, Temp, TempDelta},
};

/// What a moment asks for up to which nothing was due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asks {
    /// Nothing: no law has moved, or none to another answer.
    Nothing,
    /// The target or signals have moved and no machine: [`Quiet::signals`] states them.
    Signals,
    /// A tick.
    Tick,
}

impl Quiet {
    /// Takes a moment that has come, at which these inputs are the [`same`](Self::same); `state` has taken down the readings
    /// before it. Laws that are due go their step.
    pub fn step(&mut self, config: &Config, state: &mut State, now: Instant, inputs: &Inputs) -> Asks {
        let comes = |t: Option<Instant>| t.is_some_and(|t| t <= now);
        if !comes(state.due) {
            self.until = until(state, now);
            return Asks::Nothing;
        }
        let before = Answers::of(config, state).filter(|_| !comes(self.machines));
        let Some(before) = before else { return Asks::Tick };
        let (levels, trim) = (answers::mixing(state), state.laws.header_trim);
        advance(config, state, now);
        state.at = now;
        let Some(after) = Answers::of(config, state) else { return Asks::Tick };
        let moved = after != before;
        if moved && !(after.beside_target() == before.beside_target() && retarget(config, state, inputs, &before, trim))
        {
            return Asks::Tick;
        }
        take_down(config, state, now, inputs);
        if moved {
            self.bands = bands(config, state, inputs);
        }
        let laws = state.laws.due(config, &state.known.looks, inputs, now);
        state.due = [self.machines, laws].into_iter().flatten().min();
        self.until = until(state, now);
        if moved || answers::mixing(state) != levels { Asks::Signals } else { Asks::Nothing }
    }

    /// States the target and the signals that a [`step`](Self::step) has moved.
    pub fn signals(config: &Config, state: &State, outputs: &mut Outputs) {
        outputs.target = state.laws.basis.target;
        for (i, use_) in config.points.analogs.iter().enumerate() {
            let level = match use_ {
                AnalogUse::Mixing(z) => answers::under_control(state).find(|(i, _)| *i == z.0).map(|(_, level)| level),
                AnalogUse::Target(b) => told(config, state, outputs, *b),
                AnalogUse::Rate(_) | AnalogUse::Spare => None,
            };
            if let (Some(level), Some(signal)) = (level, outputs.analogs.get_mut(i)) {
                signal.at = level;
            }
        }
    }
}

/// What a boiler with a demand is told.
fn told(config: &Config, state: &State, outputs: &Outputs, b: BoilerId) -> Option<Permille> {
    let relay = config.points.relays.iter().position(|u| *u == RelayUse::Demand(b))?;
    let boiler = config.boilers.get(b.index()).filter(|_| outputs.relays.get(relay).is_some_and(|r| r.on))?;
    let BoilerDrive::Target { low, high } = boiler.drive else { return None };
    let target = state.laws.basis.target;
    let held = held_target(boiler, target, state.laws.told(target), config.reset.supply_min);
    Some(share(held, low, high))
}

/// Sets the target that the zones ask for now, while no reading stands on another side of any edge by it. `trim` is the header's
/// before the step. False where it cannot be told, and nothing is set.
fn retarget(config: &Config, state: &mut State, inputs: &Inputs, before: &Answers, trim: TempDelta) -> bool {
    let target = state.laws.basis.target;
    let asked = Answers::of(config, state).and_then(|a| a.asked);
    let next = if state.laws.basis.heated == 0 { Some(target) } else { zones_target(config, state, before, asked) };
    let Some(next) = next else { return false };
    let new_trim = core::mem::replace(&mut state.laws.header_trim, trim);
    let was = sides(config, state, inputs);
    state.laws.header_trim = new_trim;
    state.laws.basis.target = next;
    if was.is_none() || sides(config, state, inputs) != was {
        state.laws.basis.target = target;
        return false;
    }
    if let Some(asked) = asked {
        state.laws.basis.asked = asked;
    }
    true
}

/// The target, while it is that of the zones and of nothing else.
fn zones_target(config: &Config, state: &State, before: &Answers, asked: Option<Asked>) -> Option<Option<Temp>> {
    let bounded = |a: Option<Asked>| a.map(|a| config.reset.bounded(a.heating));
    let others = state.control.tank.call.counts() || state.control.frost.water;
    let theirs = !others && state.laws.basis.target == bounded(before.asked);
    theirs.then_some(bounded(asked))
}

/// On which side of its edges each reading stands; nothing where one has none that could be told.
fn sides(config: &Config, state: &State, inputs: &Inputs) -> Option<[u64; crate::limits::SENSORS]> {
    let mut sides = [0; crate::limits::SENSORS];
    let of = bands(config, state, inputs);
    for (slot, (what, band)) in sides.iter_mut().zip(config.points.sensors.iter().zip(&of)) {
        *slot = match (what, band) {
            (_, Some(band)) => band.sides,
            (SensorUse::Outdoor | SensorUse::Spare, None) => 0,
            (_, None) => return None,
        };
    }
    Some(sides)
}
