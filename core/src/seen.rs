//! What the contacts and sensors say, sorted by what they look at.
//!
//! The inputs of a tick are a row of contacts and a row of readings; [`Points`](crate::points::Points) says what each looks
//! at. This walks both lists once a tick. It also notes which contacts *exist*: a proof that nobody wired is not asked for.
//! It judges nothing: a reading that is open stays open here.

use crate::{
    config::{Config, SafetyCircuit, SafetyKind, SafetyScope},
    ids::SafetyId,
    inputs::{Inputs, Reading},
    limits::{BOILERS, ZONES},
    mask::Mask,
    points::{ContactUse, SensorUse, Tap},
};

/// Contacts and readings by use.
#[derive(Clone, Copy, Debug, Default)]
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
    /// Pumps at HAND, and pumps at OFF.
    pub(crate) hand: Mask,
    pub(crate) off: Mask,
    /// Safeties seen open through any contact, whichever device opened.
    pub(crate) open: Mask,
    /// Safeties that opened themselves, as far as the contacts tell.
    pub(crate) opened: Mask,
    /// The tank's aquastat calls.
    pub(crate) tank_call: bool,
    /// The acknowledge button was pressed since the last tick.
    pub(crate) acknowledge: bool,
    /// Readings.
    pub(crate) outdoor: Reading,
    pub(crate) supply: Reading,
    pub(crate) return_: Reading,
    pub(crate) tank: Reading,
    pub(crate) outlets: [Reading; BOILERS],
    pub(crate) mixed: [Reading; ZONES],
    /// Readings that exist as an input and give no temperature.
    pub(crate) dead_sensors: Mask,
}

impl Seen {
    /// Sorts the inputs of this tick; `before` are those of the last one.
    pub(crate) fn read(config: &Config, inputs: &Inputs, before: &Inputs) -> Self {
        let mut s = Self { damper_open: true, ..Self::default() };
        s.read_contacts(config, inputs, before);
        s.read_sensors(config, inputs);
        s
    }

    fn read_contacts(&mut self, config: &Config, inputs: &Inputs, before: &Inputs) {
        let (mut bits, mut bits_before) = (inputs.contacts, before.contacts);
        let (mut auto_seen, mut auto) = (Mask::NONE, Mask::NONE);
        let (mut chain, mut chain_open, mut aux, mut aux_open) = (Mask::NONE, Mask::NONE, Mask::NONE, Mask::NONE);
        for u in &config.points.contacts {
            let (closed, was_closed) = (bits & 1 != 0, bits_before & 1 != 0);
            bits >>= 1;
            bits_before >>= 1;
            match *u {
                ContactUse::Spare => {}
                ContactUse::Call(z) => self.calls.add_if(z.0, closed),
                ContactUse::TankCall => self.tank_call |= closed,
                ContactUse::EndSwitch(z) => {
                    self.end_switches.add(z.0);
                    self.ends_closed.add_if(z.0, closed);
                }
                ContactUse::Flow(b) => {
                    self.flow_seen.add(b.0);
                    self.flow_missing.add_if(b.0, !closed);
                }
                ContactUse::DamperOpen => {
                    self.damper_seen = true;
                    self.damper_open &= closed;
                }
                ContactUse::Flame(b) => {
                    self.flame_seen.add(b.0);
                    self.flame.add_if(b.0, closed);
                }
                ContactUse::BoilerFault(b) => self.boiler_faults.add_if(b.0, closed),
                ContactUse::Safety(s, Tap::Chain) => {
                    chain.add(s.0);
                    chain_open.add_if(s.0, !closed);
                }
                ContactUse::Safety(s, Tap::Aux) => {
                    aux.add(s.0);
                    aux_open.add_if(s.0, !closed);
                }
                ContactUse::Hand(p) => self.hand.add_if(p.0, closed),
                ContactUse::Auto(p) => {
                    auto_seen.add(p.0);
                    auto.add_if(p.0, closed);
                }
                ContactUse::BoilerSwitch(b) => self.switched_off.add_if(b.0, !closed),
                ContactUse::Acknowledge => self.acknowledge |= closed && !was_closed,
            }
        }
        // A switch that is neither at HAND nor at AUTO stands at OFF; with only one of the two contacts OFF cannot be seen.
        self.off = auto_seen.without(auto).without(self.hand);
        self.open = chain_open.or(aux_open);
        if !self.open.is_empty() {
            self.read_safeties(config, chain_open, aux, aux_open);
        }
        if !chain.or(aux).is_empty() {
            self.read_proofs(config, chain.or(aux));
        }
    }

    /// Finds which devices opened themselves. An auxiliary switch tells of its own device. A chain tap tells of everything
    /// up to it: the first open tap of a chain names the device, those behind it say nothing.
    fn read_safeties(&mut self, config: &Config, chain_open: Mask, aux: Mask, aux_open: Mask) {
        self.opened = aux_open;
        for i in chain_open.without(aux).iter() {
            let Some(s) = config.safeties.get(usize::from(i)) else { continue };
            let earlier = chain_open.iter().take_while(|j| *j < i).any(|j| {
                config.safeties.get(usize::from(j)).is_some_and(|e| e.circuit == s.circuit && e.scope == s.scope)
            });
            self.opened.add_if(i, !earlier);
        }
    }

    /// Safeties of the proving pair are proofs: the damper's belongs to the plant, the others to their boilers.
    fn read_proofs(&mut self, config: &Config, seen: Mask) {
        for i in seen.iter() {
            let Some(s) = config.safeties.get(usize::from(i)) else { continue };
            if s.circuit != SafetyCircuit::Proving {
                continue;
            }
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
            let slot = match *u {
                SensorUse::Spare => continue,
                SensorUse::Outdoor => Some(&mut self.outdoor),
                SensorUse::Supply => Some(&mut self.supply),
                SensorUse::Return => Some(&mut self.return_),
                SensorUse::Tank => Some(&mut self.tank),
                SensorUse::BoilerOutlet(b) => self.outlets.get_mut(b.index()),
                SensorUse::Mixed(z) => self.mixed.get_mut(z.index()),
            };
            if let Some(slot) = slot {
                *slot = *r;
            }
            if r.temp().is_none() {
                self.dead_sensors.add(i);
            }
        }
    }

    /// Flow through this boiler is proved, or nobody looks.
    pub(crate) fn flow_ok(&self, b: u8) -> bool {
        !self.flow_missing.has(b)
    }

    /// True when this safety is seen open.
    pub(crate) fn is_open(&self, s: SafetyId) -> bool {
        self.open.has(s.0)
    }
}
