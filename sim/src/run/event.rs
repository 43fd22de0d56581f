//! Changes of the controller's outputs during a run, each with its reason.
//!
//! A relay that changes, a new lead boiler, a safety that is first out or acknowledged. Signals of 0-10 V move all the time
//! and belong to the series.

use heatwright_core::{BoilerId, Outputs, Points, Reason, RelayId, RelayUse, SafetyId, Subject};

/// One change.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Event {
    /// Seconds since the start of the counted part.
    pub at_s: f64,
    /// What it is about.
    pub subject: Subject,
    /// What changed.
    pub change: Change,
}

/// What changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// A relay.
    Relay {
        /// Which one.
        relay: RelayId,
        /// What it serves.
        what: RelayUse,
        /// Its new state.
        on: bool,
        /// Why.
        why: Reason,
    },
    /// Another boiler leads.
    Lead(Option<BoilerId>),
    /// Another safety is first out; `None` once acknowledged.
    FirstOut(Option<SafetyId>),
}

/// What a relay's change is about.
pub fn subject_of(what: RelayUse, relay: RelayId) -> Subject {
    match what {
        RelayUse::Demand(b) => Subject::Boiler(b),
        RelayUse::Pump(p) => Subject::Pump(p),
        RelayUse::Valve(z) => Subject::Zone(z),
        RelayUse::Damper => Subject::Damper,
        RelayUse::Alarm | RelayUse::Health => Subject::Plant,
        RelayUse::Spare => Subject::Relay(relay),
    }
}

/// True when a relay in use goes on or off between two statements.
pub(crate) fn relays_differ(points: &Points, before: &Outputs, after: &Outputs) -> bool {
    let pairs = before.relays.iter().zip(&after.relays).take(points.relays.len());
    pairs.fold(false, |differ, (a, b)| differ | (a.on != b.on))
}

/// Collects events up to a limit that is allocated at the start.
#[derive(Debug)]
pub(crate) struct Log {
    events: Vec<Event>,
    most: usize,
    dropped: u64,
}

impl Log {
    pub(crate) fn new(most: usize) -> Self {
        Self { events: Vec::with_capacity(most.min(100_000)), most, dropped: 0 }
    }

    fn push(&mut self, event: Event) {
        if self.events.len() < self.most {
            self.events.push(event);
        } else {
            self.dropped += 1;
        }
    }

    pub(crate) fn add(&mut self, at_s: f64, points: &Points, before: &Outputs, after: &Outputs) {
        let switched = if relays_differ(points, before, after) { &points.relays[..] } else { &[] };
        for (i, what) in switched.iter().enumerate() {
            let relay = RelayId(i as u8);
            let (was, is) = (before.relay(relay), after.relay(relay));
            if was.on != is.on {
                let change = Change::Relay { relay, what: *what, on: is.on, why: is.why };
                self.push(Event { at_s, subject: subject_of(*what, relay), change });
            }
        }
        if before.lead != after.lead {
            let subject = after.lead.map_or(Subject::Plant, Subject::Boiler);
            self.push(Event { at_s, subject, change: Change::Lead(after.lead) });
        }
        if before.first_out != after.first_out {
            let subject = after.first_out.map_or(Subject::Plant, Subject::Safety);
            self.push(Event { at_s, subject, change: Change::FirstOut(after.first_out) });
        }
    }

    pub(crate) fn end(self) -> (Vec<Event>, u64) {
        (self.events, self.dropped)
    }
}
