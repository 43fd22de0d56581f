//! The last word before the outputs: an output may move to its safe side here, and nowhere else.
//!
//! A burner's safe side is off. A pump's is its own: it is stopped by low water where the plant says so, and the tank's
//! by the tank's limit, never because something else went wrong. A zone's own limit is not looked at here: its pump may
//! serve other zones, which only the askers know (`asks`). The machines have drawn the same
//! conclusions from the same inputs; this is a second, shorter path to them that no state can get in the way of.

use crate::{
    config::{Config, PumpRole},
    decide::Decided,
    mask::Mask,
    reason::Reason,
    seen::Seen,
};

/// Moves outputs to their safe side.
#[inline(never)]
pub(crate) fn apply(config: &Config, seen: &Seen, decided: &mut Decided) {
    let (v, demands) = (&decided.verdict, &mut decided.demands);
    for i in demands.on.iter() {
        let own = v.own.get(usize::from(i)).copied().flatten();
        let switched_off = seen.switched_off.has(i).then_some(Reason::SwitchedOff);
        if let Some(why) = v.common.or(own).or(switched_off) {
            demands.set(i, false, why);
        }
    }
    if v.dry.is_none() && v.tank.is_none() && v.dry_boilers.iter().all(Option::is_none) {
        return;
    }
    let pumps = &mut decided.pumps;
    for (it, config) in Mask::each(&config.pumps) {
        let stop = match config.role {
            _ if v.dry.is_some() => v.dry,
            PumpRole::Tank => v.tank,
            PumpRole::Boiler(b) => v.dry_boilers.get(b.index()).copied().flatten(),
            PumpRole::Zone => None,
        };
        if let (true, Some(s)) = (pumps.on.meets(it), stop) {
            pumps.cut(it, Reason::Safety(s));
        }
    }
}
