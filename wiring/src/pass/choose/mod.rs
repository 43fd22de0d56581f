//! How each thing is switched, before any device exists: motors in `motors`, safeties in `chains`, 24 V in `supplies`.
//!
//! * A pump is carried by the controller's relay contact alone where it has no hand switch, runs on one phase to neutral,
//!   carries its own overload, belongs to the controller alone and is within the contact's motor rating (compared in
//!   amperes: nameplate against the table current of the rated horsepower, NEC Table 430.248). Else a contactor, and a
//!   starter where the overload is not built in. Hand switches and boilers' pump contacts are control-rated, so they act in a
//!   coil circuit; so do limits that end in relays of ours. An electronically commutated pump with a start input keeps its power and is started by a dry contact.
//! * Safeties form chains in file order. Those of the whole plant always end in two relays in series, so that one welded
//!   contact is not a latent fault. A boiler's own stand in its pair directly, unless an input must see the chain or a
//!   proof without an auxiliary contact: a pair has no common to feed a coil from, so the chain then runs in our control
//!   circuit and ends in two relays.
//! * A boiler's own safety that needs 120 V gets it behind the boiler's service switch, where the boiler is 120 V too.
//! * A boiler's dry pump contact gets its 120 V there too, so that work on one boiler leaves the others' control circuit on.
//! * A three-phase fan has a contactor or starter, whose coil its aquastat holds; others are carried by their aquastat.
//! * Fans of a zone share branch circuits as far as small motors may (430.53(A), 430.24); so do small single-phase pumps of zones.
//! * 24 V loads are dealt out in order to listed Class 2 transformers, by sealed and inrush volt-amperes. A mixing valve whose commons are joined gets a transformer of its own: two supplies are never joined.
//!
//! * Where calls act without the controller (`calls`), every call has relays and no pump hangs on the controller's contact alone.
//!
//! It decides nothing about sizes.

pub mod calls;
mod chains;
mod motors;
mod supplies;

pub use chains::{asks_with_its_line, fed_by_boiler, find, limits_of_pump, limits_of_valve, limits_that_open};
pub use motors::{
    PumpDisconnect, fan_groups, fan_switch, has_relay, line_disconnect, pump_asked_by, pump_disconnect,
    switched_at_fan, table_a,
};
pub use supplies::call_va;

use crate::{job::Job, plan::MotorSwitch};
use heatwright_core::{BoilerId, ContactId, PumpId, SafetyId, ZoneId};

/// What a chain of safeties stops.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ChainOf {
    /// All boilers, through their limit pairs.
    Common,
    /// All boilers, through their proving pairs.
    CommonProving,
    /// One boiler's limit pair.
    Limit(BoilerId),
    /// One boiler's proving pair.
    Proving(BoilerId),
    /// The circuit of a zone's or the tank's pump or valve.
    Own(SafetyId),
}

/// How an input looks at a safety.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// At its auxiliary contact.
    Aux,
    /// At its main contact: it does nothing else.
    Main,
    /// At the chain behind it, through a relay of its own.
    Node,
    /// At the relay that ends its chain.
    End,
}

/// A chain of safeties.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain {
    /// What it stops.
    pub of: ChainOf,
    /// Its members, in series.
    pub safeties: Vec<SafetyId>,
    /// True when it runs in our control circuit and ends in two relays.
    pub relayed: bool,
}

/// An input that looks at a safety.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// The safety.
    pub safety: SafetyId,
    /// The input.
    pub contact: ContactId,
    /// How.
    pub look: Look,
}

/// A load on a 24 V transformer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Load24 {
    /// The controller.
    Controller,
    /// A powered thermostat with its relays, or the relays of a two-wire one.
    Thermostat(ZoneId),
    /// The relays of the tank's aquastat.
    Tank,
    /// A zone valve.
    Valve(ZoneId),
    /// A mixing valve.
    Mixing(ZoneId),
    /// The damper.
    Damper,
    /// A safety's own supply.
    Safety(SafetyId),
}

/// One transformer to be.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply24 {
    /// Nameplate, volt-amperes.
    pub va: f64,
    /// What hangs on it, with sealed and inrush volt-amperes.
    pub loads: Vec<(Load24, f64, f64)>,
}

/// Everything that is chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Choices {
    /// By `PumpId`.
    pub pumps: Vec<MotorSwitch>,
    /// Pumps by branch circuit.
    pub pump_circuits: Vec<Vec<PumpId>>,
    /// Chains, in order.
    pub chains: Vec<Chain>,
    /// Inputs that look at safeties.
    pub seen: Vec<Seen>,
    /// Transformers; the first feeds the controller alone, where there is one.
    pub supplies: Vec<Supply24>,
}

impl Choices {
    /// True when no other pump hangs on its branch circuit.
    pub fn alone(&self, p: PumpId) -> bool {
        self.pump_circuits.iter().any(|c| c.as_slice() == [p])
    }

    /// The chain that a safety stands in.
    pub fn chain_of(&self, s: SafetyId) -> Option<&Chain> {
        self.chains.iter().find(|c| c.safeties.contains(&s))
    }

    /// The chain that stops `of`.
    pub fn chain(&self, of: ChainOf) -> Option<&Chain> {
        self.chains.iter().find(|c| c.of == of)
    }

    /// The number (from 0) of the transformer that feeds a load.
    pub fn supply_of(&self, load: Load24) -> Option<usize> {
        self.supplies.iter().position(|s| s.loads.iter().any(|(l, ..)| *l == load))
    }
}

/// Chooses for the whole job.
pub fn choose(job: &Job) -> Choices {
    let seen = chains::looks(job);
    let chains = chains::chains(job, &seen);
    let pumps: Vec<MotorSwitch> =
        (0..job.pumps.len()).map(|i| motors::pump_switch(job, PumpId(i as u8), &chains)).collect();
    let pump_circuits = motors::pump_circuits(job, &pumps);
    let seen = seen.into_iter().map(|s| chains::end_of_chain(s, &chains)).collect();
    Choices { pumps, pump_circuits, chains, seen, supplies: supplies::supplies(job) }
}
