//! The end of a tick: what was decided, point by point.
//!
//! Walks the lists of points once. Every relay and signal is stated, used or not; a relay that goes on is counted.

use crate::{
    config::{BoilerDrive, Config},
    damper::Damper,
    decide::Decided,
    ids::{BoilerId, SensorId, ZoneId},
    law::curve::divide_nearest,
    limits::{BOILERS, PUMPS, RELAYS, ZONES},
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
    let damper = damper(state.control.damper);
    let places = state.known.relays.get(..uses.len()).unwrap_or(&state.known.relays);
    for ((slot, operations), place) in outputs.relays.iter_mut().zip(&mut state.meter.operations).zip(places) {
        let stated = relay(decided, damper, *place);
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

/// What relays can serve, in one row: pumps, valves by their zone, demands by their boiler, then what there is one of.
const VALVES: u8 = PUMPS as u8;
const DEMANDS: u8 = VALVES + ZONES as u8;
const DAMPER: u8 = DEMANDS + BOILERS as u8;
const ALARM: u8 = DAMPER + 1;
const HEALTH: u8 = ALARM + 1;
const SPARE: u8 = HEALTH + 1;

/// The place of a use in that row; that of a spare relay for what cannot be there.
const fn place(use_: RelayUse) -> u8 {
    let (first, i, many) = match use_ {
        RelayUse::Pump(p) => (0, p.0, VALVES),
        RelayUse::Valve(z) => (VALVES, z.0, DEMANDS - VALVES),
        RelayUse::Demand(b) => (DEMANDS, b.0, DAMPER - DEMANDS),
        RelayUse::Damper => (DAMPER, 0, 1),
        RelayUse::Alarm => (ALARM, 0, 1),
        RelayUse::Health => (HEALTH, 0, 1),
        RelayUse::Spare => (SPARE, 0, 1),
    };
    if i < many { first.saturating_add(i) } else { SPARE }
}

/// The place in that row of what each relay serves.
pub(crate) fn places(relays: &[RelayUse]) -> [u8; RELAYS] {
    let mut places = [SPARE; RELAYS];
    for (slot, use_) in places.iter_mut().zip(relays) {
        *slot = place(*use_);
    }
    places
}

/// What the relay says that serves what stands at this place of the row.
fn relay(decided: &Decided, damper: Stated, place: u8) -> Stated {
    match place {
        ..VALVES => decided.pumps.get(place),
        VALVES..DEMANDS => {
            let zone = place.saturating_sub(VALVES);
            let why = decided.zones.why.get(usize::from(zone)).copied().unwrap_or_default();
            Stated { on: decided.zones.water.has(zone), why }
        }
        DEMANDS..DAMPER => decided.demands.get(place.saturating_sub(DEMANDS)),
        DAMPER => damper,
        ALARM => Stated { on: decided.alarm.is_none(), why: decided.alarm.unwrap_or(Reason::Healthy) },
        HEALTH => Stated { on: true, why: Reason::Healthy },
        SPARE.. => Stated::default(),
    }
}

fn damper(damper: Damper) -> Stated {
    Stated {
        on: damper.asked(),
        why: match damper {
            Damper::Closed | Damper::Missed => Reason::NoCall,
            Damper::Opening { .. } => Reason::DamperProof,
            Damper::Open => Reason::Law,
            Damper::Waiting { .. } => Reason::Retry,
            Damper::Failed => Reason::DamperFailed,
        },
    }
}

#[inline(always)]
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
            let held = decided.held.get(b.index()).copied().unwrap_or_default();
            Signal { at: share(held, low, high), why: demand.why }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        ids::{PumpId, ZoneId},
        mask::Mask,
    };

    #[test]
    fn a_relay_says_what_was_decided_for_what_it_serves_and_nothing_for_what_is_not_there() {
        let odd = Mask::from_bits(0xAAAA_AAAA);
        let mut d = Decided::default();
        (d.pumps.on, d.zones.water, d.demands.on) = (odd, odd, odd);
        for i in 0..32 {
            d.pumps.why.get_mut(i).into_iter().for_each(|w| *w = Reason::Call(ZoneId(i as u8)));
            d.zones.why.get_mut(i).into_iter().for_each(|w| *w = Reason::EndSwitch(ZoneId(i as u8)));
            d.demands.why.get_mut(i).into_iter().for_each(|w| *w = Reason::BoilerCall(BoilerId(i as u8)));
        }
        let open = damper(Damper::Open);
        let says = |use_| relay(&d, open, place(use_));
        for i in 0..=u8::MAX {
            let want = |many: usize, why| {
                let there = usize::from(i) < many;
                if there { Stated { on: odd.has(i), why } } else { Stated::default() }
            };
            assert_eq!(says(RelayUse::Pump(PumpId(i))), want(PUMPS, Reason::Call(ZoneId(i))));
            assert_eq!(says(RelayUse::Valve(ZoneId(i))), want(ZONES, Reason::EndSwitch(ZoneId(i))));
            assert_eq!(says(RelayUse::Demand(BoilerId(i))), want(BOILERS, Reason::BoilerCall(BoilerId(i))));
        }
        assert_eq!(says(RelayUse::Damper), Stated { on: true, why: Reason::Law });
        assert_eq!(says(RelayUse::Alarm), Stated { on: true, why: Reason::Healthy });
        assert_eq!(says(RelayUse::Health), Stated { on: true, why: Reason::Healthy });
        assert_eq!(says(RelayUse::Spare), Stated::default());
    }
}
