//! The last word before the outputs: an output may move to its safe side here, and nowhere else.
//!
//! A burner's safe side is off. A pump's is its own: it is stopped by low water where the plant says so, and by the limit
//! of the zone or the tank that it serves, never because something else went wrong. The machines have drawn the same
//! conclusions from the same inputs; this is a second, shorter path to them that no state can get in the way of.

use crate::{
    config::{Config, PumpRole},
    decide::Decided,
    reason::Reason,
    seen::Seen,
};

/// Moves outputs to their safe side.
#[inline(never)]
pub(crate) fn apply(config: &Config, seen: &Seen, decided: &mut Decided) {
    let v = &decided.verdict;
    for (i, (demand, own)) in (0u8..).zip(decided.demands.iter_mut().zip(&v.own)) {
        let stop = v.common.or(*own);
        if let (true, Some(why)) = (demand.on, stop) {
            *demand = crate::Stated { on: false, why };
        }
        if demand.on && seen.switched_off.has(i) {
            *demand = crate::Stated { on: false, why: Reason::SwitchedOff };
        }
    }
    for (config, pump) in config.pumps.iter().zip(&mut decided.pumps) {
        let stop = match config.role {
            _ if v.dry.is_some() => v.dry,
            PumpRole::Tank => v.tank,
            PumpRole::Boiler(b) => v.dry_boilers.get(b.index()).copied().flatten(),
            PumpRole::Zone => None,
        };
        if let (true, Some(s)) = (pump.on, stop) {
            *pump = crate::Stated { on: false, why: Reason::Safety(s) };
        }
    }
}
