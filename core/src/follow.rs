//! The end of a tick's decisions: what the laws follow until the next tick.
//!
//! Which readings and targets the laws are given, which of them may move, and what of it is zero again: a mixing valve that is no
//! longer under control is shut. Decides nothing about outputs. How a law moves stands with the law.

use crate::{
    clock::Clock,
    config::{BoilerDrive, Config},
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
#[allow(clippy::too_many_arguments, reason = "parts of one tick, borrowed apart")]
pub(crate) fn follow(
    config: &Config,
    state: &mut State,
    seen: &Seen,
    trusted: &Trusted,
    water: &Water,
    target: Option<Temp>,
    clock: &mut Clock,
) {
    let (control, basis) = (&state.control, &mut state.laws.basis);
    let enlisted = &control.staging.enlisted;
    let proved = water.wanted.without(water.flames.answered()).is_empty();
    let mixing = water.mixing.and(seen.mixed);
    for i in basis.mixing.without(mixing).iter() {
        if let Some(valve) = state.laws.mixing.get_mut(usize::from(i)) {
            *valve = Pi::at(Permille::ZERO);
        }
    }
    let tried_w = state.laws.required.tried_w;
    let before = basis.required.at_once(basis.target);
    basis.required = required_basis(config, control, trusted, water, seen, target, tried_w, proved);
    if basis.required.at_once(target) != before {
        // The next tick hears another advice, although no machine has changed.
        clock.wake(clock.now());
    }
    let by_error = !config.staging.by_load() || basis.required.now_w(target).is_none();
    basis.target = target;
    basis.supply = trusted.supply;
    (basis.good, basis.rises) = (trusted.supply_good, trusted.rises);
    let enlisted = if by_error { enlisted.len() } else { 0 };
    basis.up = enlisted > 0 && water.outflow && proved;
    basis.down = enlisted > 1;
    basis.trimming = trusted.supply_good && water.outflow && !water.tank_flows && trims(config, water.flames.firing);
    basis.outlet = hottest(water.flames.firing, &trusted.outlets);
    basis.mixing = mixing;
    basis.heated = water.heated.bits() as u16;
    basis.asked = water.asked;
    basis.running = water.moved;
}

/// What the required heat is and is set against, as long as it can be known.
#[allow(clippy::too_many_arguments, reason = "parts of one tick, borrowed apart")]
fn required_basis(
    config: &Config,
    control: &Control,
    trusted: &Trusted,
    water: &Water,
    seen: &Seen,
    target: Option<Temp>,
    tried_w: u32,
    proved: bool,
) -> required::Basis {
    let staging = &control.staging;
    let (Some(target), Some(return_)) = (target, seen.return_.temp()) else { return required::Basis::default() };
    let by_load = config.staging.by_load();
    // A common rate knows better than design flows what the rest could carry.
    let asked = by_load || staging.enlisted.len() > 1 && !staging.enlisted.iter().all(|b| by_rate(config, *b));
    // What is carried without one that was dropped is looked at once the supply falls short.
    if staging.enlisted.is_empty() || !trusted.supply_good || (!asked && tried_w == 0) {
        return required::Basis::default();
    }
    let tank = config.tank.as_ref().filter(|_| water.tank_flows).map_or(0, |t| t.flow_w_per_k);
    let flowing = water.flowing.iter().filter_map(|z| config.zones.get(usize::from(z)));
    let flow_w_per_k = flowing.fold(tank, |sum, z| sum.saturating_add(z.flow_w_per_k));
    let rules = config.staging.rules();
    let leaver = staging.leaver(config.rotation.off_order, Some(control.rotation.lead));
    let basis = required::Basis::of(config, rules, water.wanted, water.next.filter(|_| by_load), leaver);
    let (short, proved) = if by_load {
        (required::too_short(rules, target, trusted.supply), proved)
    } else {
        let short = trusted.supply.is_none_or(|s| target.above(s) >= control.low_load.band(&config.staging));
        (short, proved && !short)
    };
    let down_design_w = if asked { basis.down_design_w } else { 0 };
    required::Basis { flow_w_per_k, return_: Some(return_), down_design_w, short, proved, ..basis }
}

/// This boiler burns at the rate that it is told.
fn by_rate(config: &Config, b: BoilerId) -> bool {
    config.boilers.get(b.index()).is_some_and(|c| c.drive == BoilerDrive::Rate)
}

/// The hottest outlet of a boiler that burns, of those that have a sensor there.
fn hottest(firing: Mask, outlets: &[Option<Temp>; BOILERS]) -> Option<Temp> {
    firing.iter().filter_map(|b| *outlets.get(usize::from(b))?).max()
}

/// Some boiler that is told its target burns.
fn trims(config: &Config, firing: Mask) -> bool {
    Mask::each(&config.boilers).any(|(it, c)| firing.meets(it) && matches!(c.drive, BoilerDrive::Target { .. }))
}
