//! Hours, starts and relay operations.
//!
//! Hours count proved flame, starts count demands, operations count relay changes to on. Hours are kept in counts of 100 ms
//! (13.6 years before they stop), starts and operations as whole numbers; all stop at their end instead of starting over.
//! Time is added for the interval just past, with what stood in it, so that left-out ticks lose none.

use crate::{
    boilers::Boiler,
    limits::{BOILERS, RELAYS},
    units::Span,
};

/// What was counted since the meters were new.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Meter {
    /// Time with proved flame, by boiler.
    pub fired: [Span; BOILERS],
    /// Demands, by boiler.
    pub starts: [u32; BOILERS],
    /// Times that a relay was switched on.
    pub operations: [u32; RELAYS],
}

impl Default for Meter {
    fn default() -> Self {
        Self { fired: [Span::ZERO; BOILERS], starts: [0; BOILERS], operations: [0; RELAYS] }
    }
}

impl Meter {
    /// Adds the interval just past.
    pub(crate) fn advance(&mut self, boilers: &[Boiler; BOILERS], interval: Span) {
        for (fired, b) in self.fired.iter_mut().zip(boilers) {
            if b.state.firing() {
                *fired = fired.plus(interval);
            }
        }
    }

    /// Counts one demand.
    pub(crate) fn started(&mut self, boiler: usize) {
        if let Some(n) = self.starts.get_mut(boiler) {
            *n = n.saturating_add(1);
        }
    }

    /// Counts one relay switched on.
    pub(crate) fn operated(&mut self, relay: usize) {
        if let Some(n) = self.operations.get_mut(relay) {
            *n = n.saturating_add(1);
        }
    }
}
