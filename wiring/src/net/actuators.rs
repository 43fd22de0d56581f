//! Where every free contact stands: one boolean an actuator.
//!
//! Coils are not here, they follow the network; opened breakers and disconnects are not here either, they are a change of
//! the network ([`Changes::opened`](super::Changes)).
//!
//! Range: ids below 64, which is above every capacity of the control core.

use crate::part::Actuator;
use heatwright_core::{ZoneId, limits::ZONES};

/// Most fans of a zone: what a plant file takes.
pub const ZONE_FANS: usize = 20;
const FAN_WORDS: usize = (ZONES * ZONE_FANS).div_ceil(64);
const KINDS: usize = 13 + 2 * FAN_WORDS;

/// Truth of every actuator; all false is: no relay energised, nobody calls, nothing tripped, every selector OFF.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct ActuatorSet {
    bits: [u64; KINDS],
}

/// Word and bit of a fan's actuator; `None` past the most fans of a zone.
fn fan_place(first: usize, z: ZoneId, fan: u8) -> Option<(usize, u64)> {
    let fan = usize::from(fan);
    let n = z.index() * ZONE_FANS + fan;
    (fan < ZONE_FANS && z.index() < ZONES).then(|| (first + n / 64, 1 << (n % 64)))
}

/// Kind and bit of an actuator; `None` for those that are not free.
fn place(a: Actuator) -> Option<(usize, u64)> {
    Some(match a {
        Actuator::Relay(i) => (0, i.bit()),
        Actuator::Call(i) => (1, i.bit()),
        Actuator::TankCall => (2, 1),
        Actuator::ValveOpen(i) => (3, i.bit()),
        Actuator::Flow(i) => (4, i.bit()),
        Actuator::DamperOpen => (2, 2),
        Actuator::Flame(i) => (5, i.bit()),
        Actuator::BoilerFault(i) => (6, i.bit()),
        Actuator::BoilerPump(i) => (7, i.bit()),
        Actuator::Trip(i) => (8, i.bit()),
        Actuator::Hand(i) => (9, i.bit()),
        Actuator::Auto(i) => (10, i.bit()),
        Actuator::Overload(i) => (11, i.bit()),
        Actuator::BoilerSwitchOff(i) => (12, i.bit()),
        Actuator::FanAquastat(z, fan) => fan_place(13, z, fan)?,
        Actuator::FanOverload(z, fan) => fan_place(13 + FAN_WORDS, z, fan)?,
        Actuator::Acknowledge => (2, 4),
        Actuator::Coil(_) | Actuator::Opened | Actuator::Breaker(_) | Actuator::GroundFault => return None,
    })
}

/// True for an actuator that can be set freely.
pub fn is_free(a: Actuator) -> bool {
    place(a).is_some()
}

impl ActuatorSet {
    /// How an actuator stands; false for coils and opened devices, which are not in the set.
    pub fn get(&self, a: Actuator) -> bool {
        place(a).is_some_and(|(k, bit)| self.bits[k] & bit != 0)
    }

    /// Sets an actuator. Coils and opened devices are left alone.
    pub fn set(&mut self, a: Actuator, on: bool) {
        if let Some((k, bit)) = place(a) {
            if on {
                self.bits[k] |= bit;
            } else {
                self.bits[k] &= !bit;
            }
        }
    }

    /// The same set with one actuator set.
    pub fn with(mut self, a: Actuator, on: bool) -> Self {
        self.set(a, on);
        self
    }

    /// Energises exactly the relays of this mask.
    pub fn set_relays(&mut self, mask: u64) {
        self.bits[0] = mask;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use heatwright_core::{RelayId, ZoneId};

    #[test]
    fn every_actuator_has_a_bit_of_its_own() {
        let all = [Actuator::TankCall, Actuator::DamperOpen, Actuator::Acknowledge, Actuator::Call(ZoneId(1))];
        for a in all {
            let s = ActuatorSet::default().with(a, true);
            assert!(all.iter().all(|b| s.get(*b) == (a == *b)));
            assert_eq!(s.with(a, false), ActuatorSet::default());
        }
        let mut s = ActuatorSet::default();
        s.set_relays(0b101);
        assert!(s.get(Actuator::Relay(RelayId(2))) && !s.get(Actuator::Relay(RelayId(1))));
        s.set(Actuator::Opened, true);
        assert!(!s.get(Actuator::Opened));
    }
}
