//! The end of a tick: what was decided, point by point.
//!
//! Walks the lists of points once. Every relay and signal is stated, used or not; a relay that goes on is counted.

use crate::{
    config::{BoilerDrive, Config},
    damper::Damper,
    decide::Decided,
    demand::held_target,
    ids::{BoilerId, SensorId, ZoneId},
    law::curve::divide_nearest,
    outputs::{Outputs, Signal, Stated},
    points::{AnalogUse, RelayUse, SensorUse},
    reason::Reason,
    state::State,
    units::{Permille, Temp},
};

/// States every point.
#[inline(never)]
pub(crate) fn state_all(config: &Config, state: &mut State, decided: &Decided, outputs: &mut Outputs) {
    let uses = &config.points.relays;
    let (damper, operations) = (state.control.damper, &mut state.meter.operations);
    for ((slot, use_), operations) in outputs.relays.iter_mut().zip(uses).zip(operations) {
        let stated = relay(decided, damper, *use_);
        if stated.on && !slot.on {
            *operations = operations.saturating_add(1);
        }
        *slot = stated;
    }
    outputs.relays.iter_mut().skip(uses.len()).for_each(|unused| *unused = Stated::default());
    let uses = &config.points.analogs;
    for (slot, use_) in outputs.analogs.iter_mut().zip(uses) {
        *slot = analog(config, state, decided, *use_);
    }
    outputs.analogs.iter_mut().skip(uses.len()).for_each(|unused| *unused = Signal::default());
    outputs.target = decided.target;
    outputs.lead = decided.lead;
    outputs.first_out = state.control.guard.first_out;
}

fn relay(decided: &Decided, damper: Damper, use_: RelayUse) -> Stated {
    match use_ {
        RelayUse::Spare => Stated::default(),
        RelayUse::Demand(b) => decided.demands.get(b.0),
        RelayUse::Pump(p) => decided.pumps.get(p.0),
        RelayUse::Valve(z) => Stated {
            on: decided.zones.water.has(z.0),
            why: decided.zones.why.get(z.index()).copied().unwrap_or_default(),
        },
        RelayUse::Damper => Stated {
            on: damper.asked(),
            why: match damper {
                Damper::Closed => Reason::NoCall,
                Damper::Opening { .. } => Reason::DamperProof,
                Damper::Open => Reason::Law,
                Damper::Waiting { .. } => Reason::Retry,
                Damper::Failed => Reason::DamperFailed,
            },
        },
        RelayUse::Alarm => Stated { on: decided.alarm.is_none(), why: decided.alarm.unwrap_or(Reason::Healthy) },
        RelayUse::Health => Stated { on: true, why: Reason::Healthy },
    }
}

#[inline(never)]
fn analog(config: &Config, state: &State, decided: &Decided, use_: AnalogUse) -> Signal {
    match use_ {
        AnalogUse::Spare => Signal::default(),
        AnalogUse::Target(b) => target(config, decided, b),
        AnalogUse::Rate(b) => rate(config, state, decided, b),
        AnalogUse::Mixing(z) => {
            let at = state.laws.mixing.get(z.index()).map_or(Permille::ZERO, |v| v.level());
            let why = if state.laws.basis.mixing.has(z.0) { Reason::Law } else { shut(config, decided, z) };
            Signal { at, why }
        }
    }
}

/// Why a mixing valve is shut.
fn shut(config: &Config, decided: &Decided, z: ZoneId) -> Reason {
    if !decided.zones.water.has(z.0) {
        return decided.zones.why.get(z.index()).copied().unwrap_or_default();
    }
    let mixed = |s: &u8| config.points.sensors.get(usize::from(*s)) == Some(&SensorUse::Mixed(z));
    decided.dead_sensors.iter().find(mixed).map_or(Reason::NoZoneFlow, |s| Reason::Fallback(SensorId(s)))
}

fn rate(config: &Config, state: &State, decided: &Decided, b: BoilerId) -> Signal {
    let demand = decided.demands.get(b.0);
    if !demand.on {
        return Signal { at: Permille::ZERO, why: demand.why };
    }
    let why = if state.laws.load.lit.has(b.0) { Reason::Law } else { demand.why };
    Signal { at: state.laws.load.rate_of(config, b, &state.control.staging.enlisted), why }
}

fn target(config: &Config, decided: &Decided, b: BoilerId) -> Signal {
    let demand = decided.demands.get(b.0);
    let Some(c) = config.boilers.get(b.index()) else { return Signal::default() };
    match c.drive {
        BoilerDrive::Target { low, high } if demand.on => {
            Signal { at: share(held_target(c, decided.told, config.reset.supply_min), low, high), why: demand.why }
        }
        BoilerDrive::Target { .. } | BoilerDrive::DemandOnly | BoilerDrive::Rate => {
            Signal { at: Permille::ZERO, why: demand.why }
        }
    }
}

/// Where `t` lies between `low` (nothing) and `high` (full), to the nearest thousandth.
pub(crate) fn share(t: Temp, low: Temp, high: Temp) -> Permille {
    let span = i32::from(high.above(low).centi_k());
    let part = i32::from(t.above(low).centi_k()).max(0).saturating_mul(1000);
    Permille::new(divide_nearest(part, span).map_or(0, |p| p.clamp(0, 1000) as u16))
}
