//! The last word before the outputs: an output may move to its safe side here, and nowhere else.
//!
//! A burner's safe side is off. A pump's is its own: it is stopped by low water where the plant says so, and the tank's
//! by the tank's limit, never because something else went wrong. At OFF it is off, and so it is while its switch passes OFF.
//! A zone's own limit is not looked at here: its pump may
//! serve other zones, which only the askers know (`asks`). The machines have drawn the same
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
    let (v, demands) = (&decided.verdict, &mut decided.demands);
    let stopped = v.common.is_some() || demands.on.meets(seen.switched_off) || v.own.iter().any(Option::is_some);
    for i in demands.on.only_if(stopped).iter() {
        let own = v.own.get(usize::from(i)).copied().flatten();
        let switched_off = seen.switched_off.has(i).then_some(Reason::SwitchedOff);
        if let Some(why) = v.common.or(own).or(switched_off) {
            demands.set(i, false, why);
        }
    }
    for i in seen.passing.iter() {
        decided.pumps.cut(i, Reason::Hand);
    }
    if v.dry.is_none() && v.tank.is_none() && v.dry_boilers.iter().all(Option::is_none) {
        return;
    }
    let pumps = &mut decided.pumps;
    for i in pumps.on.iter() {
        let Some(config) = config.pumps.get(usize::from(i)) else { continue };
        let stop = match config.role {
            _ if v.dry.is_some() => v.dry,
            PumpRole::Tank => v.tank,
            PumpRole::Boiler(b) => v.dry_boilers.get(b.index()).copied().flatten(),
            PumpRole::Zone => None,
        };
        if let Some(s) = stop {
            pumps.cut(i, Reason::Safety(s));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{ids::SafetyId, mask::Mask, tests::plant};

    const DOOR: Reason = Reason::Safety(SafetyId(0));
    const LIMIT: Reason = Reason::Safety(SafetyId(1));
    const DRY: SafetyId = SafetyId(2);

    /// Everything runs: two boilers have a demand, and the pumps of two zones, of the boilers and of the tank are on.
    fn running() -> Decided {
        let mut d = Decided::default();
        d.pumps.why.iter_mut().for_each(|why| *why = Reason::NoCall);
        d.demands.set(0, true, Reason::Lead);
        d.demands.set(1, true, Reason::StagedUp);
        d.pumps.on = Mask::from_bits(0b1_1111);
        d
    }

    /// Which demands are left and why they stand so, and which pumps are left.
    fn after(d: Decided, seen: &Seen) -> (u32, [Reason; 2], u32) {
        let mut d = d;
        apply(&plant(), seen, &mut d);
        (d.demands.on.bits(), [d.demands.why[0], d.demands.why[1]], d.pumps.on.bits())
    }

    #[test]
    fn what_the_machines_decided_stands_while_nothing_is_open() {
        assert_eq!(after(running(), &Seen::default()), (0b11, [Reason::Lead, Reason::StagedUp], 0b1_1111));
    }

    #[test]
    fn a_common_stop_ends_every_demand_and_a_boilers_own_stop_its_own() {
        let none = Seen::default();
        let mut d = running();
        d.verdict.common = Some(DOOR);
        assert_eq!(after(d, &none), (0, [DOOR, DOOR], 0b1_1111), "no pump for that");
        d.verdict.own[1] = Some(LIMIT);
        assert_eq!(after(d, &none).1, [DOOR, DOOR], "the common one names the reason");
        d.verdict.common = None;
        assert_eq!(after(d, &none), (0b01, [Reason::Lead, LIMIT], 0b1_1111));
        // One that has no demand is left with its own reason.
        d.demands.set(1, false, Reason::NotNeeded);
        assert_eq!(after(d, &none).1, [Reason::Lead, Reason::NotNeeded]);
    }

    #[test]
    fn a_service_switch_ends_a_demand_by_itself() {
        let seen = Seen { switched_off: Mask::of(0), ..Seen::default() };
        assert_eq!(after(running(), &seen), (0b10, [Reason::SwitchedOff, Reason::StagedUp], 0b1_1111));
        let mut d = running();
        d.verdict.own[0] = Some(LIMIT);
        assert_eq!(after(d, &seen).1[0], LIMIT, "a safety names the reason before the switch");
    }

    /// Pumps 0 and 1 are zones', 2 and 3 the boilers', 4 is the tank's.
    #[test]
    fn low_water_stops_all_pumps_or_the_boilers_own_and_the_tanks_limit_the_tanks() {
        let none = Seen::default();
        let with = |stop: fn(&mut Decided)| {
            let mut d = running();
            stop(&mut d);
            after(d, &none).2
        };
        assert_eq!(with(|d| d.verdict.dry = Some(DRY)), 0);
        assert_eq!(with(|d| d.verdict.tank = Some(DRY)), 0b0_1111);
        assert_eq!(with(|d| d.verdict.dry_boilers[0] = Some(DRY)), 0b1_1011);
        assert_eq!(with(|d| d.verdict.dry_boilers[1] = Some(DRY)), 0b1_0111);
        assert_eq!(with(|d| (d.verdict.tank, d.verdict.dry_boilers[1]) = (Some(DRY), Some(DRY))), 0b0_0111);
    }

    #[test]
    fn only_a_pump_that_ran_is_told_what_stops_it() {
        let mut d = running();
        d.pumps.on = Mask::of(4);
        d.verdict.dry = Some(DRY);
        apply(&plant(), &Seen::default(), &mut d);
        assert_eq!((d.pumps.get(4).why, d.pumps.get(0).why), (Reason::Safety(DRY), Reason::NoCall));
    }
}
