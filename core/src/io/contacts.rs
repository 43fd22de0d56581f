//! Contacts on input pins, without their bounce.
//!
//! Every contact is sampled every few milliseconds; a change counts once four samples in a row show it (two counters of one bit
//! each, for all contacts at once). At 5 ms a sample that is 20 ms: longer than a contact bounces, shorter than anything the
//! controller waits for. Both are our choice. This takes out the bounce of the contact; whether a *call* has lasted long enough
//! is the controller's question. Until four samples agree after power-up every contact reads open: the safe reading of a safety,
//! a proof and a call. A pin that cannot be read is a contact that is seen open.

use crate::{ids::ContactId, limits::CONTACTS};
use embedded_hal::digital::{InputPin, PinState};
use heapless::Vec;

/// Contacts of a board.
#[derive(Debug)]
pub struct Contacts<P, const N: usize> {
    pins: Vec<P, N>,
    closed: PinState,
    state: u64,
    count: [u64; 2],
}

const _: () = assert!(CONTACTS <= 64);

impl<P: InputPin, const N: usize> Contacts<P, N> {
    /// Contacts that are closed while their pin is at `closed`, in the order of the points.
    pub const fn new(pins: Vec<P, N>, closed: PinState) -> Self {
        Self { pins, closed, state: 0, count: [0; 2] }
    }

    /// Samples every pin once and gives the contacts that count as closed, one bit each. A pin that cannot be read is named; its
    /// contact counts as open in this sample.
    pub fn sample(&mut self) -> (u64, Option<ContactId>) {
        let (mut raw, mut broken) = (0, None);
        for (i, pin) in (0u8..).zip(&mut self.pins) {
            let id = ContactId(i);
            let level = match self.closed {
                PinState::High => pin.is_high(),
                PinState::Low => pin.is_low(),
            };
            match level {
                Ok(true) => raw |= id.bit(),
                Ok(false) => {}
                Err(_) => broken = broken.or(Some(id)),
            }
        }
        // Counts 1, 2, 3 in samples that differ; the fourth turns the contact. A sample that agrees starts over.
        let differs = raw ^ self.state;
        let [low, high] = self.count;
        let turns = differs & low & high;
        self.count = [!low & differs & !turns, (high ^ low) & differs & !turns];
        self.state ^= turns;
        (self.state, broken)
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

    /// Samples one contact, closed on a low level, through these levels.
    fn seen(levels: &[bool]) -> std::vec::Vec<bool> {
        let wanted: std::vec::Vec<_> =
            levels.iter().map(|low| Transaction::get(if *low { State::Low } else { State::High })).collect();
        let mut contacts = Contacts::<_, 1>::new([Mock::new(&wanted)].into_iter().collect(), PinState::Low);
        let out = levels.iter().map(|_| contacts.sample().0 == 1).collect();
        contacts.free().iter_mut().for_each(Mock::done);
        out
    }

    #[test]
    fn a_change_counts_at_the_fourth_sample_that_shows_it() {
        assert_eq!(seen(&[true; 5]), [false, false, false, true, true]);
        let opened = seen(&[true, true, true, true, false, false, false, false, false]);
        assert_eq!(opened, [false, false, false, true, true, true, true, false, false]);
    }

    #[test]
    fn bounce_and_single_spikes_do_not_count() {
        let bouncing: std::vec::Vec<bool> = (0..40).map(|i| i % 4 != 3).collect();
        assert!(seen(&bouncing).iter().all(|c| !c), "three in a row are not four");
    }

    #[test]
    fn any_sequence_counts_as_a_plain_counter_would() {
        for pattern in 0u32..4096 {
            let levels: std::vec::Vec<bool> = (0..12).map(|i| pattern >> i & 1 == 1).collect();
            let (mut state, mut run) = (false, 0);
            let plain: std::vec::Vec<bool> = levels
                .iter()
                .map(|l| {
                    run = if *l == state { 0 } else { run + 1 };
                    if run == 4 {
                        (state, run) = (*l, 0);
                    }
                    state
                })
                .collect();
            assert_eq!(seen(&levels), plain, "{pattern:012b}");
        }
    }

    #[test]
    fn a_pin_that_cannot_be_read_is_an_open_contact() {
        let error = || Transaction::get(State::High).with_error(MockError::Io(std::io::ErrorKind::Other));
        let close = [Transaction::get(State::High), Transaction::get(State::High), Transaction::get(State::High)];
        let mut wanted = close.to_vec();
        wanted.push(Transaction::get(State::High));
        wanted.extend((0..4).map(|_| error()));
        let mut contacts = Contacts::<_, 1>::new([Mock::new(&wanted)].into_iter().collect(), PinState::High);
        for _ in 0..4 {
            assert_eq!(contacts.sample().1, None);
        }
        assert_eq!(contacts.sample(), (1, Some(ContactId(0))));
        for _ in 0..2 {
            contacts.sample();
        }
        assert_eq!(contacts.sample(), (0, Some(ContactId(0))));
        contacts.free().iter_mut().for_each(Mock::done);
    }
}
