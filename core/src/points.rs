//! Which physical point of the controller serves what.
//!
//! This is the border that everything hangs on: the controller reads its contacts and states its relays by it, the
//! simulator closes the loop over it, the wiring compiler lands a wire on every point of it, and the board binds its pins
//! by it. A point's id is its place in the list. Nothing else says what a relay is for.

use crate::{
    ids::{AnalogId, BoilerId, ContactId, PumpId, RelayId, SafetyId, SensorId, ZoneId},
    limits::{ANALOGS, CONTACTS, RELAYS, SENSORS},
};
use heapless::Vec;

/// What a relay output switches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum RelayUse {
    /// Nothing yet.
    Spare,
    /// The demand contact of a boiler. It asks for heat; it is not a shutdown.
    Demand(BoilerId),
    /// A circulator, in its AUTO position.
    Pump(PumpId),
    /// A zone valve.
    Valve(ZoneId),
    /// The combustion-air damper, open while energised.
    Damper,
    /// The alarm relay: energised while all is well, so that a dead panel alarms too.
    Alarm,
    /// The health relay: energised while the controller runs; when it drops, the plant goes to its stated fallback.
    Health,
}

/// How a contact looks at a safety. First-out depends on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Tap {
    /// Sees the series chain up to and including this safety: open when this one or any before it is open.
    Chain,
    /// Sees this safety's own auxiliary switch.
    Aux,
}

/// What a contact input looks at. All read closed as "true".
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ContactUse {
    /// Nothing yet.
    Spare,
    /// The thermostat of a zone calls for heat.
    Call(ZoneId),
    /// The tank's aquastat calls for heat.
    TankCall,
    /// The end switch of a zone valve: open far enough to pump.
    EndSwitch(ZoneId),
    /// Water flows through a boiler.
    Flow(BoilerId),
    /// The combustion-air damper is proved open, on its driven blade.
    DamperOpen,
    /// A boiler says that its burner is lit.
    Flame(BoilerId),
    /// A boiler says that it is in fault: closed in fault.
    BoilerFault(BoilerId),
    /// A safety device: closed while made.
    Safety(SafetyId, Tap),
    /// The pump's HAND-OFF-AUTO switch stands at HAND.
    Hand(PumpId),
    /// The pump's HAND-OFF-AUTO switch stands at AUTO.
    Auto(PumpId),
    /// A boiler's service switch is on.
    BoilerSwitch(BoilerId),
    /// The acknowledge button on the panel.
    Acknowledge,
}

/// What a temperature sensor measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SensorUse {
    /// Nothing yet.
    Spare,
    /// Outdoor air.
    Outdoor,
    /// Supply to the zones, past the header.
    Supply,
    /// Return from the zones.
    Return,
    /// Water leaving a boiler.
    BoilerOutlet(BoilerId),
    /// The domestic-hot-water tank.
    Tank,
    /// Mixed supply of a low-temperature zone.
    Mixed(ZoneId),
}

/// What a 0-10 V output drives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum AnalogUse {
    /// Nothing yet.
    Spare,
    /// Target water temperature of a boiler.
    Target(BoilerId),
    /// Firing rate of a boiler.
    Rate(BoilerId),
    /// Position of a zone's mixing valve: 0 all return, full all supply.
    Mixing(ZoneId),
}

/// All points of the controller; the place in each list is the id.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Points {
    /// Relay outputs, by [`RelayId`].
    pub relays: Vec<RelayUse, RELAYS, u8>,
    /// Contact inputs, by [`ContactId`].
    pub contacts: Vec<ContactUse, CONTACTS, u8>,
    /// Temperature sensors, by [`SensorId`].
    pub sensors: Vec<SensorUse, SENSORS, u8>,
    /// 0-10 V outputs, by [`AnalogId`].
    pub analogs: Vec<AnalogUse, ANALOGS, u8>,
}

macro_rules! find {
    ($(#[$doc:meta])* $name:ident, $list:ident, $use:ty, $id:ident) => {
        $(#[$doc])*
        pub fn $name(&self, what: $use) -> Option<$id> {
            self.$list.iter().position(|u| *u == what).map(|i| $id(i as u8))
        }
    };
}

impl Points {
    find!(
        /// The relay that serves `what`.
        relay, relays, RelayUse, RelayId
    );
    find!(
        /// The contact input that looks at `what`.
        contact, contacts, ContactUse, ContactId
    );
    find!(
        /// The sensor that measures `what`.
        sensor, sensors, SensorUse, SensorId
    );
    find!(
        /// The 0-10 V output that drives `what`.
        analog, analogs, AnalogUse, AnalogId
    );
}
