//! Relays on output pins.
//!
//! A pin is driven only when its relay changes, all of them at first and after a fault. A relay card that pulls in on a low
//! level is told so once. The order is that of the points. Decides nothing about relays: it drives what is stated.

use crate::{ids::RelayId, outputs::Outputs};
use embedded_hal::digital::{OutputPin, PinState};
use heapless::Vec;

/// A pin that could not be driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RelayFault<E> {
    /// The first relay at fault.
    pub relay: RelayId,
    /// What its pin said.
    pub error: E,
}

/// Output pins, one a relay, in the order of the points.
#[derive(Debug)]
pub struct Relays<P, const N: usize> {
    pins: Vec<P, N>,
    energised: PinState,
    /// What the pins stand at, while that is known.
    standing: Option<u64>,
}

impl<P: OutputPin, const N: usize> Relays<P, N> {
    /// Relays that pull in while their pin is at `energised`. Nothing is driven yet.
    pub const fn new(pins: Vec<P, N>, energised: PinState) -> Self {
        Self { pins, energised, standing: None }
    }

    /// Drives every relay to what is stated. A pin at fault is named and tried again the next time; the others are driven.
    pub fn apply(&mut self, outputs: &Outputs) -> Result<(), RelayFault<P::Error>> {
        let mut wanted = 0;
        let mut fault = Ok(());
        for (i, (pin, stated)) in (0u8..).zip(self.pins.iter_mut().zip(&outputs.relays)) {
            let relay = RelayId(i);
            wanted |= if stated.on { relay.bit() } else { 0 };
            if self.standing.is_some_and(|s| (s ^ wanted) & relay.bit() == 0) {
                continue;
            }
            let level = if stated.on { self.energised } else { !self.energised };
            if let Err(error) = pin.set_state(level) {
                fault = fault.and(Err(RelayFault { relay, error }));
            }
        }
        self.standing = fault.is_ok().then_some(wanted);
        fault
    }

    /// The pins.
    pub fn free(self) -> Vec<P, N> {
        self.pins
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use embedded_hal_mock::eh1::{
        MockError,
        digital::{Mock, State, Transaction},
    };

    fn stated(on: &[bool]) -> Outputs {
        let mut o = Outputs::SAFE;
        for (slot, on) in o.relays.iter_mut().zip(on) {
            slot.on = *on;
        }
        o
    }

    fn done(relays: Relays<Mock, 4>) {
        for mut pin in relays.free() {
            pin.done();
        }
    }

    #[test]
    fn a_pin_is_driven_when_its_relay_changes_and_at_first() {
        // Pulls in on a low level: off is high.
        let a = Mock::new(&[Transaction::set(State::High), Transaction::set(State::Low)]);
        let b = Mock::new(&[Transaction::set(State::High)]);
        let mut relays = Relays::<_, 4>::new([a, b].into_iter().collect(), PinState::Low);
        for on in [[false, false], [true, false], [true, false]] {
            relays.apply(&stated(&on)).unwrap();
        }
        done(relays);
    }

    #[test]
    fn a_broken_pin_does_not_keep_the_others_from_being_driven() {
        let error = MockError::Io(std::io::ErrorKind::Other);
        let a = Mock::new(&[Transaction::set(State::Low).with_error(error.clone()), Transaction::set(State::Low)]);
        let b = Mock::new(&[Transaction::set(State::High), Transaction::set(State::High)]);
        let mut relays = Relays::<_, 4>::new([a, b].into_iter().collect(), PinState::High);
        assert_eq!(relays.apply(&stated(&[false, true])), Err(RelayFault { relay: RelayId(0), error }));
        assert_eq!(relays.apply(&stated(&[false, true])), Ok(()), "all are driven again after a fault");
        done(relays);
    }
}
