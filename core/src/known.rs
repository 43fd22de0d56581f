//! What is known of a plant before its first tick: it follows from the configuration alone.
//!
//! It is worked out once, at power-up, and kept with the state, so that no tick works it out again. A state belongs to the
//! configuration that it was made for ([`State::belongs_to`](crate::State::belongs_to)); a power cut makes a new one. Decides
//! nothing.

use crate::{
    config::{Config, SafetyCircuit},
    limits::{BOILERS, RELAYS, SENSORS, ZONES},
    mask::{Half, Mask},
    piping::Piping,
    points::{ContactUse, SensorUse, Tap},
    statement,
};

/// What follows from the configuration alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(crate) struct Known {
    pub(crate) piping: Piping,
    pub(crate) looks: Looks,
    /// What each relay serves, as its place among all that relays can serve.
    pub(crate) relays: [u8; RELAYS],
}

impl Known {
    /// Works it out.
    pub(crate) fn of(config: &Config) -> Self {
        Self { piping: Piping::of(config), looks: Looks::of(config), relays: statement::places(&config.points.relays) }
    }
}

/// What the contacts look at, as far as it does not depend on how they stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(crate) struct Looks {
    /// Contacts that say something once they close, bit by contact; the others do once they open.
    closing: u64,
    /// So many of the first contacts are the calls of the first zones, in order: they are taken as they stand.
    pub(crate) calls: u8,
    /// The damper is looked at.
    pub(crate) damper: bool,
    /// Sensors that measure mixed water, bit by sensor: half a [`Mask`], which is all that there is room for.
    pub(crate) mixed: u16,
    /// Zones with an end switch.
    pub(crate) end_switches: Half,
    /// Boilers whose flow, and whose flame, is looked at, bit by boiler.
    pub(crate) flow: u8,
    pub(crate) flame: u8,
    /// Safeties with an auxiliary switch, and those of the proving pair that are looked at in any way.
    pub(crate) aux: Mask,
    pub(crate) proofs: Mask,
}

const _: () = assert!(SENSORS <= 16 && BOILERS <= 8);

impl Looks {
    fn of(config: &Config) -> Self {
        let uses = &config.points.contacts;
        let in_order = (0u8..).zip(uses).take(ZONES).take_while(|(i, u)| matches!(u, ContactUse::Call(z) if z.0 == *i));
        // A contact that is not there says nothing while it is open.
        let [mut end_switches, mut flow, mut flame] = [Mask::NONE; 3];
        let mut looks = Self { closing: u64::MAX, calls: in_order.count() as u8, ..Self::default() };
        for (i, u) in uses.iter().enumerate() {
            let mut opening = true;
            match *u {
                ContactUse::EndSwitch(z) => {
                    end_switches.add(z.0);
                    opening = false;
                }
                ContactUse::Flame(b) => {
                    flame.add(b.0);
                    opening = false;
                }
                ContactUse::Flow(b) => flow.add(b.0),
                ContactUse::DamperOpen => looks.damper = true,
                ContactUse::Safety(s, tap) => {
                    looks.aux.add_if(s.0, tap == Tap::Aux);
                    let proves = |s: &crate::config::SafetyConfig| s.circuit == SafetyCircuit::Proving;
                    looks.proofs.add_if(s.0, config.safeties.get(s.index()).is_some_and(proves));
                }
                ContactUse::Auto(_) | ContactUse::BoilerSwitch(_) => {}
                ContactUse::Spare
                | ContactUse::Call(_)
                | ContactUse::TankCall
                | ContactUse::BoilerFault(_)
                | ContactUse::Hand(_)
                | ContactUse::Acknowledge => opening = false,
            }
            if opening {
                looks.closing &= !(1 << i);
            }
        }
        (looks.end_switches, looks.flow, looks.flame) = (end_switches.half(), flow.bits() as u8, flame.bits() as u8);
        looks.mixed = Mask::places(&config.points.sensors, |u| matches!(u, SensorUse::Mixed(_))).bits() as u16;
        looks
    }

    /// The contacts that say something as they stand, without the calls that are taken as they stand: words of 32.
    pub(crate) const fn speaking(&self, contacts: u64) -> [Mask; 2] {
        let speaking = !(contacts ^ self.closing);
        let first = Mask::from_bits(speaking as u32).without(Mask::first_of(self.calls as usize));
        [first, Mask::from_bits((speaking >> 32) as u32)]
    }
}
