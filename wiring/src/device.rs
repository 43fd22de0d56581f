//! Devices and their terminals.
//!
//! Tags follow the letters of IEC 81346-2 (A assembly, F protection, K relay, M motor, Q power switching, S manual
//! command, T transformer, X terminals, B sensor). Terminal marks follow IEC 60445 and EN 50005 for our own devices; for the
//! user's equipment they are what the user typed.

use crate::part::{Part, T};
use heatwright_core::Subject;
use serde::{Deserialize, Serialize};

/// A device: its place in the plan's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct DeviceId(pub u16);

/// Where something stands: its place in the job's list of places.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct PlaceId(pub u16);

/// What sort of device it is. One file under `kinds/` builds each.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Branch-circuit panel with its breakers.
    Panelboard,
    /// The controller with its relays, inputs and outputs.
    Controller,
    /// Terminal strip.
    Strip,
    /// Control relay.
    Relay,
    /// Contactor.
    Contactor,
    /// Contactor with overload.
    Starter,
    /// Transformer.
    Transformer,
    /// Control transformer of one starter.
    ControlTransformer,
    /// Dry-type transformer between two panelboards.
    DryTransformer,
    /// Connection to the grounding electrode.
    Electrode,
    /// Fuse holder.
    Fuse,
    /// Disconnect switch, lockable open.
    Disconnect,
    /// HAND-OFF-AUTO selector.
    Selector,
    /// Push button.
    Button,
    /// Boiler.
    Boiler,
    /// Pump.
    Pump,
    /// Room thermostat.
    Thermostat,
    /// Zone valve.
    ZoneValve,
    /// Mixing valve.
    MixingValve,
    /// Fan of a fan coil or unit heater.
    Fan,
    /// Aquastat.
    Aquastat,
    /// Safety device.
    Safety,
    /// Temperature sensor.
    Sensor,
    /// Damper actuator with its end switch.
    Damper,
    /// Condensate pump.
    CondensatePump,
    /// Alarm beacon or horn.
    Beacon,
    /// Terminals of a building-automation system, with its own supply behind them.
    Automation,
    /// Receptacle.
    Receptacle,
}

/// Which terminals a person can put a wire or a probe on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reach {
    /// A terminal.
    Field,
    /// A joint inside the device.
    Inside,
}

/// One terminal.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Terminal {
    /// What is printed on it; unique in the device.
    pub mark: String,
    /// Who can reach it.
    pub reach: Reach,
    /// How many conductors it is identified for.
    pub holds: u8,
}

/// One device.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Device {
    /// Its tag, unique in the plan.
    pub tag: String,
    /// What sort it is.
    pub kind: Kind,
    /// What it belongs to.
    pub subject: Option<Subject>,
    /// Where it stands.
    pub place: PlaceId,
    /// What it is, in words, with the plant's own names.
    pub label: String,
    /// Its terminals.
    pub terminals: Vec<Terminal>,
    /// What is between them.
    pub parts: Vec<Part>,
}

impl Device {
    /// An empty device.
    pub fn new(tag: impl Into<String>, kind: Kind, place: PlaceId, label: impl Into<String>) -> Self {
        Self {
            tag: tag.into(),
            kind,
            subject: None,
            place,
            label: label.into(),
            terminals: Vec::new(),
            parts: Vec::new(),
        }
    }

    /// Adds a terminal for one conductor and gives its place.
    pub fn terminal(&mut self, mark: impl Into<String>) -> T {
        self.add(mark, Reach::Field, 1)
    }

    /// Adds a terminal that is identified for several conductors.
    pub fn terminal_for(&mut self, mark: impl Into<String>, holds: u8) -> T {
        self.add(mark, Reach::Field, holds)
    }

    /// Adds a joint inside the device.
    pub fn inside(&mut self, mark: impl Into<String>) -> T {
        self.add(mark, Reach::Inside, 0)
    }

    fn add(&mut self, mark: impl Into<String>, reach: Reach, holds: u8) -> T {
        let t = T(self.terminals.len() as u16);
        self.terminals.push(Terminal { mark: mark.into(), reach, holds });
        t
    }

    /// The terminal with this mark.
    pub fn find(&self, mark: &str) -> Option<T> {
        self.terminals.iter().position(|t| t.mark == mark).map(|i| T(i as u16))
    }
}
