//! 0-10 V signals as duty cycles: a filtered pulse width on a stage of gain is how a board makes them.
//!
//! A duty of all is 10 V; the stage's gain is the board's affair. A converter to voltage takes its place by implementing
//! `SetDutyCycle` over its own full scale. The signal is rounded by the pin to its own steps. Source: our choice.

use crate::{ids::AnalogId, outputs::Outputs};
use embedded_hal::pwm::SetDutyCycle;
use heapless::Vec;

/// A signal that could not be set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SignalFault<E> {
    /// The first signal at fault.
    pub signal: AnalogId,
    /// What its pin said.
    pub error: E,
}

/// Signals of a board, in the order of the points.
#[derive(Debug)]
pub struct Signals<P, const N: usize> {
    pins: Vec<P, N>,
}

impl<P: SetDutyCycle, const N: usize> Signals<P, N> {
    /// Signals on these pins.
    pub const fn new(pins: Vec<P, N>) -> Self {
        Self { pins }
    }

    /// Sets every signal to what is stated. A pin at fault is named; the others are set.
    pub fn apply(&mut self, outputs: &Outputs) -> Result<(), SignalFault<P::Error>> {
        let mut fault = Ok(());
        for (i, (pin, stated)) in (0u8..).zip(self.pins.iter_mut().zip(&outputs.analogs)) {
            if let Err(error) = pin.set_duty_cycle_fraction(stated.at.get(), 1000) {
                fault = fault.and(Err(SignalFault { signal: AnalogId(i), error }));
            }
        }
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
    use crate::units::Permille;
    use embedded_hal_mock::eh1::{
        MockError,
        pwm::{Mock, Transaction},
    };

    fn stated(at: [u16; 2]) -> Outputs {
        let mut o = Outputs::SAFE;
        for (slot, at) in o.analogs.iter_mut().zip(at) {
            slot.at = Permille::new(at);
        }
        o
    }

    #[test]
    fn a_share_is_a_share_of_the_pins_own_full_scale() {
        let duty = |max, duty| [Transaction::max_duty_cycle(max), Transaction::set_duty_cycle(duty)];
        let a = Mock::new(&[duty(1000, 733), duty(1000, 0)].concat());
        let b = Mock::new(&[duty(4096, 4096), duty(4096, 2048)].concat());
        let mut signals = Signals::<_, 2>::new([a, b].into_iter().collect());
        signals.apply(&stated([733, 1000])).unwrap();
        signals.apply(&stated([0, 500])).unwrap();
        signals.free().iter_mut().for_each(Mock::done);
    }

    #[test]
    fn a_broken_pin_does_not_keep_the_others_from_being_set() {
        let error = MockError::Io(std::io::ErrorKind::Other);
        let a =
            Mock::new(&[Transaction::max_duty_cycle(1000), Transaction::set_duty_cycle(500).with_error(error.clone())]);
        let b = Mock::new(&[Transaction::max_duty_cycle(1000), Transaction::set_duty_cycle(100)]);
        let mut signals = Signals::<_, 2>::new([a, b].into_iter().collect());
        assert_eq!(signals.apply(&stated([500, 100])), Err(SignalFault { signal: AnalogId(0), error }));
        signals.free().iter_mut().for_each(Mock::done);
    }
}
