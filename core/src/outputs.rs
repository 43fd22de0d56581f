//! Everything the controller states, every tick: each relay, each signal, and why.
//!
//! Nothing is toggled. An event is the host's difference of two `Outputs`.

mod event;
mod record;

pub use event::{Event, diff};

use crate::{
    ids::{AnalogId, BoilerId, RelayId, SafetyId},
    limits::{ANALOGS, RELAYS},
    mask::Mask,
    reason::Reason,
    units::{Permille, Temp},
};

/// A relay and why.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Stated {
    /// Energised.
    pub on: bool,
    /// Why.
    pub why: Reason,
}

/// Whether each of a kind is on, and why.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Row<const N: usize> {
    /// Those that are on.
    pub(crate) on: Mask,
    /// Why each is or is not.
    pub(crate) why: [Reason; N],
}

impl<const N: usize> Default for Row<N> {
    fn default() -> Self {
        Self { on: Mask::NONE, why: [Reason::Unused; N] }
    }
}

impl<const N: usize> Row<N> {
    /// States one.
    pub(crate) fn set(&mut self, i: u8, on: bool, why: Reason) {
        self.on = self.on.without(Mask::of(i)).or(Mask::of(i).only_if(on));
        if let Some(slot) = self.why.get_mut(usize::from(i)) {
            *slot = why;
        }
    }

    /// One of them; off past the last.
    #[inline(always)]
    pub(crate) fn get(&self, i: u8) -> Stated {
        let Some(why) = self.why.get(usize::from(i)) else { return Stated::default() };
        Stated { on: self.on.has(i), why: *why }
    }
}

/// A 0-10 V signal and why.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Signal {
    /// Share of 10 V.
    pub at: Permille,
    /// Why.
    pub why: Reason,
}

/// What the controller states at one tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Outputs {
    /// Relays, by [`RelayId`].
    pub relays: [Stated; RELAYS],
    /// 0-10 V signals, by [`AnalogId`].
    pub analogs: [Signal; ANALOGS],
    /// Supply target; `None` while no heat is wanted.
    pub target: Option<Temp>,
    /// The boiler that leads.
    pub lead: Option<BoilerId>,
    /// The safety that opened first and is not acknowledged yet.
    pub first_out: Option<SafetyId>,
}

impl Default for Outputs {
    fn default() -> Self {
        Self::SAFE
    }
}

impl Outputs {
    /// Every output at its safe side: no demand, the health relay dropped, so that the plant is in its stated fallback.
    pub const SAFE: Self = Self {
        relays: [Stated { on: false, why: Reason::Unused }; RELAYS],
        analogs: [Signal { at: Permille::ZERO, why: Reason::Unused }; ANALOGS],
        target: None,
        lead: None,
        first_out: None,
    };

    /// The state of one relay; off past the last.
    pub fn relay(&self, r: RelayId) -> Stated {
        self.relays.get(r.index()).copied().unwrap_or_default()
    }

    /// The state of one signal; zero past the last.
    pub fn analog(&self, a: AnalogId) -> Signal {
        self.analogs.get(a.index()).copied().unwrap_or_default()
    }
}
