//! What the safeties and sensors, as seen, forbid and demand.
//!
//! The wires act by themselves: a limit opens burner power whatever this code does. Here the controller only draws the same
//! conclusion in the same tick, so that its relay does not contradict the wires and the paper says why.
//!
//! * A **common** stop (a safety of the limit pair whose scope is the plant: door switch, gas) ends every demand. It is
//!   charged to no boiler and brings no next one: the next would be stopped too.
//! * A boiler's **own** stop (a limit of its own, its fault contact, its service switch) ends its demand; a fault brings the
//!   next at once (`staging`).
//! * **First-out**: the safety that opened first is kept until acknowledged after it has closed again. Of two that open in
//!   one tick the one named earlier in the file is kept.
//! * **Low water** stops pumps only where its own switch is seen to open, not when a limit before it in the chain did.
//! * A safety that is reset by hand keeps the alarm after it has closed, until acknowledged.
//! * **Alarm**: the relay is energised while nothing is wrong and nothing waits to be acknowledged.
//!
//! Source: first-out annunciation and fail-safe alarm contacts are common practice. Not decided here: proofs, which are waits
//! of the boiler (`boilers`) and the damper (`damper`); proofs that are made when they must not be (`guard::proofs`).

pub mod hot;
pub mod proofs;
pub mod sensors;

use crate::{
    clock::Clock,
    config::{Config, Reset, SafetyCircuit, SafetyKind, SafetyScope},
    ids::{SafetyId, ZoneId},
    limits::BOILERS,
    mask::Mask,
    reason::Reason,
    seen::Seen,
};

/// What the guard remembers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Guard {
    /// The safety that opened first and is not acknowledged.
    pub first_out: Option<SafetyId>,
    /// Safeties reset by hand that have opened and are not acknowledged.
    pub latched: Mask,
}

/// What the safeties forbid in this tick.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Verdict {
    /// No boiler may have a demand.
    pub(crate) common: Option<Reason>,
    /// This boiler may not.
    pub(crate) own: [Option<Reason>; BOILERS],
    /// Boilers whose own stop is a fault, so that the next is wanted at once.
    pub(crate) faulted: Mask,
    /// Zones held by their own limit.
    pub(crate) zones_held: Mask,
    /// The tank's limit.
    pub(crate) tank: Option<SafetyId>,
    /// Low water, when it stops pumps: of the plant, and of a boiler.
    pub(crate) dry: Option<SafetyId>,
    pub(crate) dry_boilers: [Option<SafetyId>; BOILERS],
    /// Something is open that raises the alarm now.
    pub(crate) alarm: bool,
}

/// The limit that holds this zone: of several that are open the first of the file.
pub(crate) fn zone_limit(config: &Config, seen: &Seen, zone: u8) -> Option<SafetyId> {
    let scope = SafetyScope::Zone(ZoneId(zone));
    let limits = |s: &SafetyId| {
        config.safeties.get(s.index()).is_some_and(|s| s.circuit == SafetyCircuit::ZoneLimit && s.scope == scope)
    };
    seen.open.iter().map(SafetyId).find(limits)
}

impl Guard {
    /// Judges what is seen.
    #[inline(never)]
    pub(crate) fn decide(&mut self, config: &Config, seen: &Seen, clock: &mut Clock, v: &mut Verdict) {
        for i in seen.open.iter() {
            self.judge(config, SafetyId(i), seen.opened.has(i), v);
        }
        for i in seen.boiler_faults.iter() {
            v.faulted.add(i);
            v.alarm = true;
            set(&mut v.own, i, Reason::BoilerFault);
        }
        for i in seen.switched_off.iter() {
            // Somebody is at work on it; that outranks what it reports meanwhile.
            v.faulted = v.faulted.without(Mask::of(i));
            if let Some(slot) = v.own.get_mut(usize::from(i)) {
                *slot = Some(Reason::SwitchedOff);
            }
        }
        self.remember(config, seen, clock);
        v.alarm |= self.first_out.is_some() || !self.latched.is_empty();
    }

    /// Draws the conclusion from one open safety; `itself` says that this device opened, and not one before it in its chain.
    fn judge(&self, config: &Config, id: SafetyId, itself: bool, v: &mut Verdict) {
        let Some(s) = config.safeties.get(id.index()) else { return };
        // A tap that is open because a limit before it in the chain is says nothing about the water: the pump of a hot
        // boiler runs on.
        let low_water = itself && s.kind == SafetyKind::LowWater && config.guard.low_water_stops_pumps;
        match (s.circuit, s.scope) {
            // Proving pairs are open at rest.
            (SafetyCircuit::Proving, _) => return,
            (SafetyCircuit::Limit, SafetyScope::Plant) => {
                v.common.get_or_insert(Reason::Safety(id));
                if low_water {
                    v.dry.get_or_insert(id);
                }
            }
            (SafetyCircuit::Limit, SafetyScope::Boiler(b)) => {
                set(&mut v.own, b.0, Reason::Safety(id));
                v.faulted.add(b.0);
                if low_water && let Some(slot) = v.dry_boilers.get_mut(b.index()) {
                    slot.get_or_insert(id);
                }
            }
            (SafetyCircuit::ZoneLimit, SafetyScope::Zone(z)) => {
                v.zones_held.add(z.0);
            }
            (SafetyCircuit::TankLimit, _) => {
                v.tank.get_or_insert(id);
            }
            (SafetyCircuit::Limit | SafetyCircuit::ZoneLimit | SafetyCircuit::Alarm, _) => {}
        }
        v.alarm = true;
    }

    /// Keeps first-out and hand-reset safeties until acknowledged.
    fn remember(&mut self, config: &Config, seen: &Seen, clock: &mut Clock) {
        let (mut first_out, mut latched) = (self.first_out, self.latched);
        if seen.acknowledge {
            first_out = first_out.filter(|s| seen.is_open(*s));
            latched = latched.and(seen.open);
        }
        for i in seen.opened.iter() {
            let Some(s) = config.safeties.get(usize::from(i)) else { continue };
            if s.circuit == SafetyCircuit::Proving {
                continue;
            }
            first_out.get_or_insert(SafetyId(i));
            latched.add_if(i, s.reset == Reset::Manual);
        }
        clock.put(&mut self.first_out, first_out);
        clock.put(&mut self.latched, latched);
    }
}

fn set(list: &mut [Option<Reason>; BOILERS], boiler: u8, why: Reason) {
    if let Some(slot) = list.get_mut(usize::from(boiler)) {
        slot.get_or_insert(why);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{config::SafetyConfig, tests::plant, units::Instant};

    /// Safeties by circuit, scope and reset, in the order of the file.
    fn with(safeties: &[(SafetyCircuit, SafetyScope, Reset)]) -> Config {
        let mut c = plant();
        for (circuit, scope, reset) in safeties {
            let kind = SafetyKind::HighLimit;
            c.safeties.push(SafetyConfig { kind, scope: *scope, circuit: *circuit, reset: *reset }).unwrap();
        }
        c
    }

    const BY_ITSELF: Reset = Reset::Automatic;

    fn zone(z: u8) -> SafetyScope {
        SafetyScope::Zone(ZoneId(z))
    }

    #[test]
    fn the_limit_that_holds_a_zone_is_one_of_its_own_pump() {
        let c = with(&[
            (SafetyCircuit::ZoneLimit, zone(1), BY_ITSELF),
            (SafetyCircuit::Alarm, zone(0), BY_ITSELF),
            (SafetyCircuit::ZoneLimit, zone(0), BY_ITSELF),
            (SafetyCircuit::ZoneLimit, zone(0), BY_ITSELF),
        ]);
        let held_by = |open: u32| zone_limit(&c, &Seen { open: Mask::from_bits(open), ..Seen::default() }, 0);
        assert_eq!(held_by(0), None);
        assert_eq!(held_by(0b0001), None, "another zone's");
        assert_eq!(held_by(0b0010), None, "it only raises the alarm");
        assert_eq!(held_by(0b1000), Some(SafetyId(3)));
        assert_eq!(held_by(0b1111), Some(SafetyId(2)), "the first of the file");
    }

    /// What opened itself, tick by tick, and whether the button is pressed; then what is kept.
    fn kept(c: &Config, ticks: &[(u32, bool)]) -> Guard {
        let mut g = Guard::default();
        for (opened, acknowledge) in ticks {
            let opened = Mask::from_bits(*opened);
            let seen = Seen { open: opened, opened, acknowledge: *acknowledge, ..Seen::default() };
            g.decide(c, &seen, &mut Clock::at(Instant::ZERO), &mut Verdict::default());
        }
        g
    }

    #[test]
    fn a_boiler_that_is_switched_off_is_not_missed_whatever_it_reports() {
        let seen = Seen { boiler_faults: Mask::from_bits(0b11), switched_off: Mask::of(0), ..Seen::default() };
        let mut v = Verdict::default();
        Guard::default().decide(&plant(), &seen, &mut Clock::at(Instant::ZERO), &mut v);
        assert_eq!(
            (v.faulted, v.own[0], v.own[1]),
            (Mask::of(1), Some(Reason::SwitchedOff), Some(Reason::BoilerFault))
        );
    }

    /// It opened itself; then a device ahead of it in the chain opens too, and its own tap says nothing any more.
    #[test]
    fn the_button_does_not_hide_the_first_one_while_it_is_open_behind_another() {
        let c = with(&[(SafetyCircuit::Limit, SafetyScope::Plant, BY_ITSELF); 2]);
        let mut g = Guard::default();
        let mut see = |open: u32, opened: u32, acknowledge| {
            let (open, opened) = (Mask::from_bits(open), Mask::from_bits(opened));
            let seen = Seen { open, opened, acknowledge, ..Seen::default() };
            g.decide(&c, &seen, &mut Clock::at(Instant::ZERO), &mut Verdict::default());
            g.first_out
        };
        assert_eq!(see(0b10, 0b10, false), Some(SafetyId(1)));
        assert_eq!(see(0b11, 0b01, true), Some(SafetyId(1)));
        assert_eq!(see(0b01, 0b01, true), Some(SafetyId(0)));
    }

    #[test]
    fn a_proof_that_opens_is_no_safety_that_opened_first() {
        let c = with(&[
            (SafetyCircuit::Proving, SafetyScope::Plant, Reset::Manual),
            (SafetyCircuit::Limit, SafetyScope::Plant, Reset::Manual),
            (SafetyCircuit::Limit, SafetyScope::Plant, BY_ITSELF),
        ]);
        assert_eq!(kept(&c, &[(0b001, false)]), Guard::default());
        let both = Guard { first_out: Some(SafetyId(1)), latched: Mask::of(1) };
        assert_eq!(kept(&c, &[(0b011, false), (0b100, false), (0, false)]), both, "kept after it has closed");
        assert_eq!(kept(&c, &[(0b010, false), (0b010, true)]), both, "the button does not hide what is open");
        assert_eq!(kept(&c, &[(0b010, false), (0, true)]), Guard::default());
        let second = Guard { first_out: Some(SafetyId(2)), latched: Mask::NONE };
        assert_eq!(kept(&c, &[(0b100, false), (0, false)]), second, "it closes by itself and is named all the same");
    }

    /// What opened first and what must be reset by hand raise the alarm by themselves, open or not.
    #[test]
    fn what_is_kept_raises_the_alarm() {
        let alarm = |first_out: Option<u8>, latched: u32| {
            let mut g = Guard { first_out: first_out.map(SafetyId), latched: Mask::from_bits(latched) };
            let mut v = Verdict::default();
            g.decide(&with(&[]), &Seen::default(), &mut Clock::at(Instant::ZERO), &mut v);
            v.alarm
        };
        assert_eq!([alarm(None, 0), alarm(Some(1), 0), alarm(None, 0b10)], [false, true, true]);
    }
}
