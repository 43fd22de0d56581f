//! Events: what changed between two `Outputs`.
//!
//! The controller reports no events and queues none. It states everything every tick, and whoever wants a log compares.

use super::{Outputs, Signal, Stated};
use crate::{
    ids::{AnalogId, BoilerId, RelayId, SafetyId},
    units::Temp,
};

/// One change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Event {
    /// A relay changed, or its reason did.
    Relay {
        /// Which.
        relay: RelayId,
        /// Before.
        before: Stated,
        /// After.
        after: Stated,
    },
    /// A signal changed, or its reason did.
    Analog {
        /// Which.
        analog: AnalogId,
        /// Before.
        before: Signal,
        /// After.
        after: Signal,
    },
    /// The supply target changed.
    Target {
        /// Before.
        before: Option<Temp>,
        /// After.
        after: Option<Temp>,
    },
    /// Another boiler leads.
    Lead {
        /// Before.
        before: Option<BoilerId>,
        /// After.
        after: Option<BoilerId>,
    },
    /// First-out changed.
    FirstOut {
        /// Before.
        before: Option<SafetyId>,
        /// After.
        after: Option<SafetyId>,
    },
}

/// Every change from `before` to `after`: relays and signals by id, then target, lead and first-out.
pub fn diff<'a>(before: &'a Outputs, after: &'a Outputs) -> impl Iterator<Item = Event> + 'a {
    let relays = (0u8..).zip(before.relays.iter().zip(&after.relays));
    let relays = relays.filter(|(_, (b, a))| b != a).map(|(i, (b, a))| Event::Relay {
        relay: RelayId(i),
        before: *b,
        after: *a,
    });
    let analogs = (0u8..).zip(before.analogs.iter().zip(&after.analogs));
    let analogs = analogs.filter(|(_, (b, a))| b != a).map(|(i, (b, a))| Event::Analog {
        analog: AnalogId(i),
        before: *b,
        after: *a,
    });
    let target =
        (before.target != after.target).then_some(Event::Target { before: before.target, after: after.target });
    let lead = (before.lead != after.lead).then_some(Event::Lead { before: before.lead, after: after.lead });
    let first_out = (before.first_out != after.first_out)
        .then_some(Event::FirstOut { before: before.first_out, after: after.first_out });
    relays.chain(analogs).chain(target).chain(lead).chain(first_out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reason::Reason;

    #[test]
    fn equal_outputs_give_no_event_and_each_change_gives_one() {
        let before = Outputs::default();
        assert_eq!(diff(&before, &before).next(), None);
        let mut after = before;
        after.relays[5] = Stated { on: true, why: Reason::Lead };
        after.lead = Some(BoilerId(1));
        assert!(diff(&before, &after).eq([
            Event::Relay { relay: RelayId(5), before: Stated::default(), after: after.relays[5] },
            Event::Lead { before: None, after: Some(BoilerId(1)) },
        ]));
    }
}
