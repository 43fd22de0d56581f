//! What the contacts and sensors say, sorted by what they look at.
//!
//! The inputs of a tick are a row of contacts and a row of readings; [`Points`](crate::points::Points) says what each looks
//! at. This sorts both once a tick: a contact goes into the set of its kind, at the place of what it looks at. Which contacts
//! *exist* is known before (`known`): a proof that nobody wired is not asked for. It judges nothing: a reading that is open stays
//! open here.

use crate::{
    config::{Config, SafetyConfig, SafetyKind, SafetyScope},
    ids::SafetyId,
    inputs::{Inputs, Reading},
    known::Looks,
    limits::BOILERS,
    mask::Mask,
    points::{ContactUse, SensorUse, Tap},
};

/// Contacts and readings by use.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Seen {
    /// Zones whose thermostat calls.
    pub(crate) calls: Mask,
    /// Zones with an end switch, and those where it is closed.
    pub(crate) end_switches: Mask,
    pub(crate) ends_closed: Mask,
    /// Boilers whose flow is looked at, and those where some look says "no flow".
    pub(crate) flow_seen: Mask,
    pub(crate) flow_missing: Mask,
    /// Boilers whose flame is looked at, and those where it burns.
    pub(crate) flame_seen: Mask,
    pub(crate) flame: Mask,
    /// Boilers that report a fault of their own.
    pub(crate) boiler_faults: Mask,
    /// Boilers whose service switch is off.
    pub(crate) switched_off: Mask,
    /// True when some contact looks at the damper, and when all that look see it open.
    pub(crate) damper_seen: bool,
    pub(crate) damper_open: bool,
    /// Pumps at HAND, and pumps at OFF; once the switches are decided, those that stand there.
    pub(crate) hand: Mask,
    pub(crate) off: Mask,
    /// Pumps whose switch may only be on its way through OFF.
    pub(crate) passing: Mask,
    /// Safeties seen open through any contact, whichever device opened.
    pub(crate) open: Mask,
    /// Safeties that opened themselves, as far as the contacts tell.
    pub(crate) opened: Mask,
    /// The tank's aquastat calls.
    pub(crate) tank_call: bool,
    /// The acknowledge button was pressed since the last tick, having been seen open before.
    pub(crate) acknowledge: bool,
    /// Readings.
    pub(crate) outdoor: Reading,
    /// The outdoor reading stands still for too long: it counts as open.
    pub(crate) outdoor_stands: bool,
    pub(crate) supply: Reading,
    pub(crate) return_: Reading,
    pub(crate) tank: Reading,
    pub(crate) outlets: [Reading; BOILERS],
    /// Zones whose mixed water has a temperature.
    pub(crate) mixed: Mask,
    /// Readings that exist as an input and give no temperature.
    pub(crate) dead_sensors: Mask,
}

impl Seen {
    /// Sorts the inputs of this tick; `before` are those of the last one.
    #[inline(never)]
    pub(crate) fn read(&mut self, config: &Config, looks: &Looks, inputs: &Inputs, before: &Inputs) {
        self.read_contacts(config, looks, inputs, before);
        self.read_sensors(config, inputs);
    }

    /// Only contacts that say something are looked at: what is closed by rest (a safety, a switch at AUTO) says something once it
    /// opens, everything else once it closes.
    fn read_contacts(&mut self, config: &Config, looks: &Looks, inputs: &Inputs, before: &Inputs) {
        let mut calls = Mask::from_bits(inputs.contacts as u32).and(Mask::first_of(usize::from(looks.calls)));
        let (mut ends_closed, mut flow_open, mut flame) = (Mask::NONE, Mask::NONE, Mask::NONE);
        let (mut chain_open, mut aux_open) = (Mask::NONE, Mask::NONE);
        let (mut faults, mut switched_off) = (Mask::NONE, Mask::NONE);
        let (mut hand, mut not_at_auto) = (Mask::NONE, Mask::NONE);
        let (mut tank_call, mut damper_shut, mut pressed) = (false, false, false);
        let was = [before.contacts as u32, (before.contacts >> 32) as u32].map(Mask::from_bits);
        let halves = looks.speaking(inputs.contacts).into_iter().zip(was).zip(config.points.contacts.chunks(32));
        for ((speaking, was), uses) in halves {
            for i in speaking.iter() {
                match uses.get(usize::from(i)) {
                    None | Some(ContactUse::Spare) => {}
                    Some(ContactUse::Call(z)) => calls.add(z.0),
                    Some(ContactUse::TankCall) => tank_call = true,
                    Some(ContactUse::EndSwitch(z)) => ends_closed.add(z.0),
                    Some(ContactUse::Flow(b)) => flow_open.add(b.0),
                    Some(ContactUse::DamperOpen) => damper_shut = true,
                    Some(ContactUse::Flame(b)) => flame.add(b.0),
                    Some(ContactUse::BoilerFault(b)) => faults.add(b.0),
                    Some(ContactUse::Safety(s, Tap::Chain)) => chain_open.add(s.0),
                    Some(ContactUse::Safety(s, Tap::Aux)) => aux_open.add(s.0),
                    Some(ContactUse::Hand(p)) => hand.add(p.0),
                    Some(ContactUse::Auto(p)) => not_at_auto.add(p.0),
                    Some(ContactUse::BoilerSwitch(b)) => switched_off.add(b.0),
                    // Held down it is not pressed again.
                    Some(ContactUse::Acknowledge) => pressed |= !was.has(i),
                }
            }
        }
        (self.calls, self.tank_call) = (calls, tank_call);
        (self.end_switches, self.ends_closed) = (looks.end_switches.all(), ends_closed);
        (self.flow_seen, self.flow_missing) = (Mask::from_bits(looks.flow.into()), flow_open);
        (self.damper_seen, self.damper_open) = (looks.damper, !damper_shut);
        (self.flame_seen, self.flame) = (Mask::from_bits(looks.flame.into()), flame);
        (self.boiler_faults, self.switched_off) = (faults, switched_off);
        self.hand = hand;
        // A switch that is neither at HAND nor at AUTO stands at OFF; with only one of the two contacts OFF cannot be seen.
        self.off = not_at_auto.without(hand);
        self.acknowledge = pressed;
        self.open = chain_open.or(aux_open);
        if !self.open.is_empty() {
            self.read_safeties(config, chain_open, looks.aux, aux_open);
        }
        self.read_proofs(config, looks.proofs);
    }

    /// Finds which devices opened themselves. An auxiliary switch tells of its own device. A chain tap tells of
    /// everything up to it: behind a device of its circuit that is seen open, through whichever contact, an open tap
    /// says nothing. What is the plant's comes before what is a boiler's, each in the order of the file.
    fn read_safeties(&mut self, config: &Config, chain_open: Mask, aux: Mask, aux_open: Mask) {
        self.opened = aux_open;
        for i in chain_open.without(aux).iter() {
            let Some(s) = config.safeties.get(usize::from(i)) else { continue };
            let earlier = self.open.iter().any(|j| {
                let before = |e: &SafetyConfig| match (e.scope, s.scope) {
                    (SafetyScope::Plant, SafetyScope::Boiler(_)) => true,
                    (e, own) => e == own && j < i,
                };
                config.safeties.get(usize::from(j)).is_some_and(|e| e.circuit == s.circuit && before(e))
            });
            self.opened.add_if(i, !earlier);
        }
    }

    /// Safeties of the proving pair are proofs: the damper's belongs to the plant, the others to their boilers.
    fn read_proofs(&mut self, config: &Config, proofs: Mask) {
        for i in proofs.iter() {
            let Some(s) = config.safeties.get(usize::from(i)) else { continue };
            let open = self.open.has(i);
            match s.scope {
                _ if s.kind == SafetyKind::DamperSwitch => {
                    self.damper_seen = true;
                    self.damper_open &= !open;
                }
                SafetyScope::Boiler(b) => {
                    self.flow_seen.add(b.0);
                    self.flow_missing.add_if(b.0, open);
                }
                SafetyScope::Plant => {
                    for b in (0u8..).zip(&config.boilers).map(|(b, _)| b) {
                        self.flow_seen.add(b);
                        self.flow_missing.add_if(b, open);
                    }
                }
                SafetyScope::Zone(_) | SafetyScope::Tank => {}
            }
        }
    }

    fn read_sensors(&mut self, config: &Config, inputs: &Inputs) {
        for (i, (u, r)) in (0u8..).zip(config.points.sensors.iter().zip(&inputs.sensors)) {
            let reads = r.temp().is_some();
            match *u {
                SensorUse::Spare => continue,
                SensorUse::Outdoor => self.outdoor = *r,
                SensorUse::Supply => self.supply = *r,
                SensorUse::Return => self.return_ = *r,
                SensorUse::Tank => self.tank = *r,
                SensorUse::BoilerOutlet(b) => {
                    if let Some(slot) = self.outlets.get_mut(b.index()) {
                        *slot = *r;
                    }
                }
                SensorUse::Mixed(z) => self.mixed.add_if(z.0, reads),
            }
            self.dead_sensors.add_if(i, !reads);
        }
    }

    /// True when this safety is seen open.
    pub(crate) fn is_open(&self, s: SafetyId) -> bool {
        self.open.has(s.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{config::Reset, config::SafetyCircuit, ids::BoilerId, ids::ZoneId, known::Known, tests::plant};

    /// What a plant with these safeties and contacts sees while these contacts are closed.
    fn seen(safeties: &[(SafetyKind, SafetyScope, SafetyCircuit)], contacts: &[(ContactUse, bool)]) -> Seen {
        let mut c = plant();
        for (kind, scope, circuit) in safeties {
            let (kind, scope, circuit) = (*kind, *scope, *circuit);
            c.safeties.push(SafetyConfig { kind, scope, circuit, reset: Reset::Automatic }).unwrap();
        }
        let mut inputs = Inputs::default();
        for (i, (u, closed)) in (0u8..).zip(contacts) {
            c.points.contacts.push(*u).unwrap();
            inputs.set(crate::ids::ContactId(i), *closed);
        }
        let mut s = Seen::default();
        s.read(&c, &Known::of(&c).looks, &inputs, &Inputs::default());
        s
    }

    fn aux(s: u8, closed: bool) -> (ContactUse, bool) {
        (ContactUse::Safety(SafetyId(s), Tap::Aux), closed)
    }

    const PROVING: SafetyCircuit = SafetyCircuit::Proving;
    const LIMIT: SafetyCircuit = SafetyCircuit::Limit;
    const FIRST: SafetyScope = SafetyScope::Boiler(BoilerId(0));

    #[test]
    fn contacts_past_the_first_32_are_seen() {
        let mut contacts = [(ContactUse::Spare, false); 40];
        contacts[1] = (ContactUse::Call(ZoneId(0)), true);
        contacts[39] = (ContactUse::Call(ZoneId(1)), true);
        contacts[33] = (ContactUse::Acknowledge, true);
        let s = seen(&[], &contacts);
        assert_eq!((s.calls, s.acknowledge), (Mask::from_bits(0b11), true));
        contacts[39].1 = false;
        assert_eq!(seen(&[], &contacts).calls, Mask::of(0));
    }

    #[test]
    fn a_flow_switch_of_the_proving_pair_is_its_boilers_flow() {
        let pair = [(SafetyKind::FlowSwitch, FIRST, PROVING), (SafetyKind::HighLimit, FIRST, LIMIT)];
        let made = seen(&pair, &[aux(0, true), aux(1, true)]);
        assert_eq!((made.flow_seen, made.flow_missing), (Mask::of(0), Mask::NONE));
        let open = seen(&pair, &[aux(0, false), aux(1, true)]);
        assert_eq!((open.flow_seen, open.flow_missing), (Mask::of(0), Mask::of(0)));
        // A limit that is open is no flow that is missing, and a switch that no contact sees is none that says anything.
        let limit = seen(&pair, &[aux(1, false)]);
        assert_eq!((limit.flow_seen, limit.flow_missing), (Mask::NONE, Mask::NONE));
    }

    #[test]
    fn a_flow_switch_of_the_plant_is_the_flow_of_every_boiler() {
        let plant = [(SafetyKind::FlowSwitch, SafetyScope::Plant, PROVING)];
        let both = Mask::from_bits(0b11);
        let s = seen(&plant, &[aux(0, false)]);
        assert_eq!((s.flow_seen, s.flow_missing), (both, both));
        let s = seen(&plant, &[aux(0, true)]);
        assert_eq!((s.flow_seen, s.flow_missing), (both, Mask::NONE));
    }

    #[test]
    fn the_damper_is_open_when_all_that_look_see_it_open() {
        let damper = [(SafetyKind::DamperSwitch, SafetyScope::Plant, PROVING)];
        for (own, proof) in [(true, true), (true, false), (false, true), (false, false)] {
            let s = seen(&damper, &[(ContactUse::DamperOpen, own), aux(0, proof)]);
            assert_eq!((s.damper_seen, s.damper_open), (true, own && proof));
            assert_eq!(s.flow_seen, Mask::NONE, "it says nothing of flow");
        }
        let s = seen(&damper, &[aux(0, false)]);
        assert_eq!((s.damper_seen, s.damper_open), (true, false));
        assert!(!seen(&damper, &[]).damper_seen, "nobody looks");
    }
}

#[cfg(test)]
mod one_by_one {
    use super::*;
    use crate::{
        blob::wire::{Dice, Wire},
        config::SafetyCircuit,
        ids::ContactId,
        known::Known,
    };
    use proptest::prelude::*;

    /// The inputs sorted contact by contact, by nothing but the lists of the configuration.
    fn one_by_one(config: &Config, inputs: &Inputs, before: &Inputs) -> Seen {
        let mut seen = Seen { damper_open: true, ..Seen::default() };
        let (mut chain, mut chain_open, mut aux, mut aux_open) = (Mask::NONE, Mask::NONE, Mask::NONE, Mask::NONE);
        let mut not_at_auto = Mask::NONE;
        for (i, u) in (0u8..).zip(&config.points.contacts) {
            let closed = inputs.closed(ContactId(i));
            match *u {
                ContactUse::Spare => {}
                ContactUse::Call(z) => seen.calls.add_if(z.0, closed),
                ContactUse::TankCall => seen.tank_call |= closed,
                ContactUse::EndSwitch(z) => {
                    // No zone has a number past the room that is kept for it, and no boiler.
                    seen.end_switches.add_if(z.0, z.0 < 16);
                    seen.ends_closed.add_if(z.0, closed);
                }
                ContactUse::Flow(b) => {
                    seen.flow_seen.add_if(b.0, b.0 < 8);
                    seen.flow_missing.add_if(b.0, !closed);
                }
                ContactUse::DamperOpen => {
                    seen.damper_seen = true;
                    seen.damper_open &= closed;
                }
                ContactUse::Flame(b) => {
                    seen.flame_seen.add(b.0);
                    seen.flame.add_if(b.0, closed);
                }
                ContactUse::BoilerFault(b) => seen.boiler_faults.add_if(b.0, closed),
                ContactUse::Safety(s, Tap::Chain) => {
                    chain.add(s.0);
                    chain_open.add_if(s.0, !closed);
                }
                ContactUse::Safety(s, Tap::Aux) => {
                    aux.add(s.0);
                    aux_open.add_if(s.0, !closed);
                }
                ContactUse::Hand(p) => seen.hand.add_if(p.0, closed),
                ContactUse::Auto(p) => not_at_auto.add_if(p.0, !closed),
                ContactUse::BoilerSwitch(b) => seen.switched_off.add_if(b.0, !closed),
                ContactUse::Acknowledge => seen.acknowledge |= closed && !before.closed(ContactId(i)),
            }
        }
        seen.off = not_at_auto.without(seen.hand);
        seen.open = chain_open.or(aux_open);
        seen.read_safeties(config, chain_open, aux, aux_open);
        let proves = |i: &u8| config.safeties.get(usize::from(*i)).is_some_and(|s| s.circuit == SafetyCircuit::Proving);
        let proofs = chain.or(aux).iter().filter(proves).fold(Mask::NONE, |all, i| all.or(Mask::of(i)));
        seen.read_proofs(config, proofs);
        seen.read_sensors(config, inputs);
        seen
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn what_is_known_before_changes_nothing_of_what_is_seen(
            seed: u64, full: bool, closed: u64, was: u64, calls in 0usize..20
        ) {
            let mut config = Config::any(&mut Dice { state: seed | 1, full });
            // Any use at any contact, of ids that exist and of some that do not; the first ones the calls in order, or nearly.
            for (i, u) in config.points.contacts.iter_mut().enumerate() {
                *u = match *u {
                    _ if i < calls && i % 17 < 16 => ContactUse::Call(crate::ids::ZoneId(i as u8)),
                    ContactUse::Safety(s, tap) => ContactUse::Safety(SafetyId(s.0 % 40), tap),
                    ContactUse::Call(z) => ContactUse::Call(crate::ids::ZoneId(z.0 % 40)),
                    ContactUse::Flame(b) => ContactUse::Flame(crate::ids::BoilerId(b.0 % 5)),
                    other => other,
                };
            }
            let (inputs, before) =
                (Inputs { contacts: closed, ..Inputs::default() }, Inputs { contacts: was, ..Inputs::default() });
            let mut seen = Seen::default();
            seen.read(&config, &Known::of(&config).looks, &inputs, &before);
            prop_assert_eq!(seen, one_by_one(&config, &inputs, &before));
        }
    }
}
