//! Contacts on input pins, without their bounce.
//!
//! Every contact is sampled every few milliseconds; a change counts once four samples in a row show it (two counters of one bit
//! each, for all contacts at once). At 5 ms a sample that is 20 ms: longer than a contact bounces, shorter than anything the
//! controller waits for. Both are our choice. This takes out the bounce of the contact; whether a *call* has lasted long enough
//! is the controller's question. A pin that cannot be read is a contact that is seen open.
//!
//! At power-up nothing is known: no contact has turned yet, and to read them as open would latch every safety that is reset by
//! hand, and take a button that sticks for one that is pressed later. So there are no contacts to make a tick with until none
//! differs from what counts in four samples in a row. One that never comes to rest counts as open after a second or so and no
//! longer holds up the others.

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
    settling: u8,
    steady: u8,
}

/// Samples in a row that show a change or, at power-up, none.
const STEADY: u8 = 4;
/// At power-up no more samples than this are waited for.
const SETTLING: u8 = 200;

const _: () = assert!(CONTACTS <= 64);

impl<P: InputPin, const N: usize> Contacts<P, N> {
    /// Contacts that are closed while their pin is at `closed`, in the order of the points.
    pub const fn new(pins: Vec<P, N>, closed: PinState) -> Self {
        Self { pins, closed, state: 0, count: [0; 2], settling: SETTLING, steady: STEADY }
    }

    /// Samples every pin once and gives the contacts that count as closed, one bit each; nothing while they settle after power-up,
    /// and until then a board makes no tick and keeps its outputs at their safe side. A pin that cannot be read is named; its
    /// contact counts as open in this sample.
    pub fn sample(&mut self) -> (Option<u64>, Option<ContactId>) {
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
        self.settling = self.settling.saturating_sub(1);
        self.steady = if differs == 0 { self.steady.saturating_sub(1) } else { STEADY };
        if self.steady == 0 {
            self.settling = 0;
        }
        ((self.settling == 0).then_some(self.state), broken)
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

    /// Samples one contact, closed on a low level, through these levels; `None` while it settles.
    fn settled(levels: &[bool]) -> std::vec::Vec<Option<bool>> {
        let wanted: std::vec::Vec<_> =
            levels.iter().map(|low| Transaction::get(if *low { State::Low } else { State::High })).collect();
        let mut contacts = Contacts::<_, 1>::new([Mock::new(&wanted)].into_iter().collect(), PinState::Low);
        let out = levels.iter().map(|_| contacts.sample().0.map(|closed| closed == 1)).collect();
        contacts.free().iter_mut().for_each(Mock::done);
        out
    }

    /// What a contact that was open at power-up is seen as, sample by sample, from there on.
    fn seen(levels: &[bool]) -> std::vec::Vec<bool> {
        let all: std::vec::Vec<bool> = [false; 4].iter().chain(levels).copied().collect();
        settled(&all).into_iter().skip(4).map(|closed| closed.expect("it has settled")).collect()
    }

    #[test]
    fn at_power_up_nothing_is_known_until_every_contact_has_come_to_rest() {
        let (no, open, closed) = (None, Some(false), Some(true));
        assert_eq!(settled(&[false; 5]), [no, no, no, open, open]);
        assert_eq!(settled(&[true; 9]), [no, no, no, no, no, no, no, closed, closed]);
        let bounces = [true, false, true, true, false, true, true, true, true, true, true, true, true];
        assert_eq!(settled(&bounces), [[no; 12].as_slice(), &[closed]].concat());
        let never: std::vec::Vec<bool> = (0..220).map(|i| i % 3 != 0).collect();
        let seen = settled(&never);
        assert_eq!(seen.iter().position(Option::is_some), Some(usize::from(SETTLING) - 1));
        assert!(seen.iter().flatten().all(|c| !c), "one that never comes to rest is open");
    }

    /// Safeties closed, the acknowledge button stuck closed, a boiler locked out before the power cut. A tick at every sample, as a
    /// board with short ticks makes them.
    #[test]
    fn ticks_from_power_up_latch_no_closed_safety_and_press_no_button_that_sticks() {
        use crate::{
            Inputs, Instant, Outputs, SafetyId, State as Controller,
            boilers::Failure,
            config::{Reset, SafetyCircuit, SafetyConfig, SafetyKind, SafetyScope},
            points::{ContactUse, Tap},
            tests::plant,
        };
        let mut c = plant();
        c.points.contacts.clear();
        c.points.contacts.extend([ContactUse::Acknowledge, ContactUse::Safety(SafetyId(0), Tap::Aux)]);
        let (kind, scope, reset) = (SafetyKind::HighLimitManual, SafetyScope::Plant, Reset::Manual);
        c.safeties.push(SafetyConfig { kind, scope, circuit: SafetyCircuit::Limit, reset }).unwrap();
        let mut memory = Controller::new(&c, None).memory();
        memory.lockouts[0] = Some(Failure::Flame);
        let mut state = Controller::new(&c, Some(&memory));
        let levels: std::vec::Vec<_> = (0..20).map(|_| Transaction::get(State::Low)).collect();
        let pins = [Mock::new(&levels), Mock::new(&levels)].into_iter().collect();
        let mut contacts = Contacts::<_, 2>::new(pins, PinState::Low);
        let mut ticks = 0;
        for now in 0..20 {
            let Some(contacts) = contacts.sample().0 else { continue };
            let inputs = Inputs { contacts, ..Inputs::default() };
            crate::tick(&c, &mut state, Instant::from_tenths(now), &inputs, &mut Outputs::default());
            ticks += 1;
        }
        let after = state.memory();
        assert_eq!((ticks, after.lockouts, after.guard), (13, memory.lockouts, memory.guard));
        contacts.free().iter_mut().for_each(Mock::done);
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
        let mut wanted: std::vec::Vec<_> = (0..8).map(|_| Transaction::get(State::High)).collect();
        wanted.extend((0..4).map(|_| error()));
        let mut contacts = Contacts::<_, 1>::new([Mock::new(&wanted)].into_iter().collect(), PinState::High);
        for _ in 0..8 {
            assert_eq!(contacts.sample().1, None);
        }
        assert_eq!(contacts.sample(), (Some(1), Some(ContactId(0))));
        for _ in 0..2 {
            contacts.sample();
        }
        assert_eq!(contacts.sample(), (Some(0), Some(ContactId(0))));
        contacts.free().iter_mut().for_each(Mock::done);
    }
}
