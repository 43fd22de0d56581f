//! Hours, starts and relay operations.
//!
//! Hours of a boiler count proved flame, those of a pump its motor: by our relay at AUTO, by the switch at HAND. A pump that its
//! boiler switches by itself is not seen and not counted. Starts count demands, operations relay changes to on. Hours are kept in counts of 100 ms
//! (13.6 years before they stop), starts and operations as whole numbers; all stop at their end instead of starting over.
//! Time is added for the interval just past, with what stood in it, so that left-out ticks lose none.

use crate::{
    boilers::Boiler,
    limits::{BOILERS, PUMPS, RELAYS},
    mask::Mask,
    units::Span,
};

/// What was counted since the meters were new.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Meter {
    /// Time with proved flame, by boiler.
    pub fired: [Span; BOILERS],
    /// Time that the motor ran, by pump.
    pub pumped: [Span; PUMPS],
    /// Demands, by boiler.
    pub starts: [u32; BOILERS],
    /// Times that a relay was switched on.
    pub operations: [u32; RELAYS],
}

impl Default for Meter {
    fn default() -> Self {
        Self {
            fired: [Span::ZERO; BOILERS],
            pumped: [Span::ZERO; PUMPS],
            starts: [0; BOILERS],
            operations: [0; RELAYS],
        }
    }
}

impl Meter {
    /// Adds the interval just past; `running` are the pumps whose motor ran in it.
    pub(crate) fn advance(&mut self, boilers: &[Boiler; BOILERS], running: Mask, interval: Span) {
        for (fired, b) in self.fired.iter_mut().zip(boilers) {
            if b.state.firing() {
                *fired = fired.plus(interval);
            }
        }
        for p in running.iter() {
            if let Some(pumped) = self.pumped.get_mut(usize::from(p)) {
                *pumped = pumped.plus(interval);
            }
        }
    }

    /// Counts one demand.
    pub(crate) fn started(&mut self, boiler: usize) {
        if let Some(n) = self.starts.get_mut(boiler) {
            *n = n.saturating_add(1);
        }
    }
}
