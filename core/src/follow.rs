//! The end of a tick's decisions: what the laws follow until the next tick.
//!
//! Which readings and targets the laws are given, which of them may move, and what of it is zero again: a mixing valve that is no
//! longer under control is shut. Decides nothing about outputs. How a law moves stands with the law.

use crate::{
    config::{BoilerDrive, Config, StageBy},
    decide::Water,
    guard::sensors::Trusted,
    ids::BoilerId,
    law::pi::Pi,
    limits::BOILERS,
    mask::Mask,
    seen::Seen,
    staging::required,
    state::{Control, State},
    units::{Permille, Temp},
};

/// Writes down what the laws follow until the next tick.
#[inline(never)]
pub(crate) fn follow(
    config: &Config,
    state: &mut State,
    seen: &Seen,
    trusted: &Trusted,
    water: &Water,
    next: Option<BoilerId>,
    target: Option<Temp>,
) {
    let (control, basis) = (&state.control, &mut state.laws.basis);
    let enlisted = &control.staging.enlisted;
    let mixing = water.mixing.and(seen.mixed);
    for i in basis.mixing.without(mixing).iter() {
        if let Some(valve) = state.laws.mixing.get_mut(usize::from(i)) {
            *valve = Pi::at(Permille::ZERO);
        }
    }
    basis.required = required_basis(config, control, trusted, water, seen, target, next);
    let by_error = basis.required.now_w.is_none();
    let flows = water.outflow && trusted.supply_good;
    basis.target = target;
    basis.supply = trusted.supply;
    basis.good = trusted.supply_good;
    basis.up = by_error && flows && !enlisted.is_empty() && control.staging.all_in(water.flames.proved);
    basis.down = by_error && enlisted.len() > 1;
    basis.trimming = flows && trims(config, water.flames.firing);
    basis.outlet = hottest(water.flames.firing, &trusted.outlets);
    basis.mixing = mixing;
    basis.heated = water.heated.bits() as u16;
    basis.heating = water.heating;
    basis.running = water.moved;
}

/// What the required heat is and is set against, where the strategy asks for it.
fn required_basis(
    config: &Config,
    control: &Control,
    trusted: &Trusted,
    water: &Water,
    seen: &Seen,
    target: Option<Temp>,
    next: Option<BoilerId>,
) -> required::Basis {
    let staging = &control.staging;
    let (StageBy::Load(rules), Some(target), Some(return_)) = (&config.staging.stage_by, target, seen.return_.temp())
    else {
        return required::Basis::default();
    };
    if staging.enlisted.is_empty() || !trusted.supply_good {
        return required::Basis::default();
    }
    let flowing = water.flowing;
    let zones = (0u8..).zip(&config.zones).filter(|(i, _)| flowing.has(*i)).map(|(_, z)| z.flow_w_per_k);
    let tank = config.tank.iter().filter(|_| water.tank_flows).map(|t| t.flow_w_per_k);
    let flow_w_per_k = zones.chain(tank).fold(0u32, u32::saturating_add);
    let leaver = staging.leaver(config.rotation.off_order);
    let basis = required::Basis::of(config, rules, &staging.enlisted, next, leaver);
    let known = flow_w_per_k > 0;
    required::Basis {
        now_w: known.then(|| required::heat_w(flow_w_per_k, target, return_)),
        proved: staging.all_in(water.flames.proved),
        short: required::too_short(rules, target, trusted.supply),
        ..basis
    }
}

/// The hottest outlet of a boiler that burns, of those that have a sensor there.
fn hottest(firing: Mask, outlets: &[Option<Temp>; BOILERS]) -> Option<Temp> {
    Mask::each(outlets).filter(|(it, _)| firing.meets(*it)).filter_map(|(_, t)| *t).max()
}

/// Some boiler that is told its target burns.
fn trims(config: &Config, firing: Mask) -> bool {
    Mask::each(&config.boilers).any(|(it, c)| firing.meets(it) && matches!(c.drive, BoilerDrive::Target { .. }))
}
