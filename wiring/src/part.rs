//! What is inside a device, between its terminals.
//!
//! Planner, proof, meter readings and drawings all read these parts; none has a second idea of how a device works. A part
//! names terminals by their place in the device's list. Parts join terminals only while they conduct: a coil, a load and a
//! winding do not, a bond always does, a contact does by its actuator.
//!
//! Units: volts rms, ohm, volt-amperes, degrees of phase.

use heatwright_core::{AnalogId, BoilerId, ContactId, PumpId, RelayId, SafetyId, SensorId, ZoneId};
use serde::{Deserialize, Serialize};
use std::fmt;

/// A terminal of one device: its place in the device's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct T(pub u16);

/// How a contact stands while nothing acts on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rest {
    /// Open at rest: closes when its actuator acts.
    Open,
    /// Closed at rest: opens when its actuator acts.
    Closed,
}

/// What moves a contact. Each is one free boolean of the proof, except a coil, which follows the network.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Actuator {
    /// The coil of that number in the same device.
    Coil(u8),
    /// A relay output of the controller.
    Relay(RelayId),
    /// The room thermostat of a zone calls.
    Call(ZoneId),
    /// The tank's aquastat calls.
    TankCall,
    /// A zone valve is open.
    ValveOpen(ZoneId),
    /// Water flows through a boiler.
    Flow(BoilerId),
    /// The combustion-air damper stands open.
    DamperOpen,
    /// A boiler's burner is lit.
    Flame(BoilerId),
    /// A boiler is in fault.
    BoilerFault(BoilerId),
    /// A boiler asks for its pump.
    BoilerPump(BoilerId),
    /// A safety trips: away from its healthy position.
    Trip(SafetyId),
    /// A pump's selector stands at HAND.
    Hand(PumpId),
    /// A pump's selector stands at AUTO.
    Auto(PumpId),
    /// The overload of a pump's starter trips.
    Overload(PumpId),
    /// The overload of the starter of one of a zone's fans trips: the zone, and which of its fans from 0.
    FanOverload(ZoneId, u8),
    /// A boiler's service switch is turned off.
    BoilerSwitchOff(BoilerId),
    /// The water at one of a zone's fans is hot: the zone, and which of its fans from 0.
    FanAquastat(ZoneId, u8),
    /// The acknowledge button is pressed.
    Acknowledge,
    /// A fuse or disconnect is opened: by the device that carries it.
    Opened,
    /// A breaker of a panelboard is opened: by its first space; [`MAIN_BREAKER`] for its main breaker.
    Breaker(u8),
    /// The ground-fault protection of the device that carries it has tripped, or its test button was pressed.
    GroundFault,
}

/// What a load is, so that it can be told whether the right one is live.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LoadUse {
    /// A pump's motor.
    Pump(PumpId),
    /// A pump's own electronics: constant power behind its start input.
    PumpSupply(PumpId),
    /// A pump's start input.
    PumpStart(PumpId),
    /// A zone valve's actuator.
    Valve(ZoneId),
    /// A mixing valve's actuator supply.
    Mixing(ZoneId),
    /// A fan.
    Fan(ZoneId, u8),
    /// A thermostat's own supply.
    Thermostat(ZoneId),
    /// The combustion-air damper's actuator.
    Damper,
    /// A boiler's line supply.
    BoilerLine(BoilerId),
    /// A boiler's burner power behind its limit pair.
    Limit(BoilerId),
    /// A boiler's proving pair.
    Proving(BoilerId),
    /// A boiler's demand pair.
    Demand(BoilerId),
    /// A safety device's own supply.
    SafetySupply(SafetyId),
    /// The controller's supply.
    Controller,
    /// A condensate pump, by its place in the job's list.
    CondensatePump(u8),
    /// The alarm beacon or horn.
    Beacon,
    /// The other system's input behind a contact handed to it, by its place in the job's list.
    Automation(u8),
    /// A receptacle.
    Receptacle,
}

/// What stands for the space of a panelboard's main breaker.
pub const MAIN_BREAKER: u8 = 0;

/// A number as people count.
fn nth(i: u8) -> u16 {
    u16::from(i) + 1
}

impl fmt::Display for Actuator {
    /// What acts, as a person in front of it would say.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Coil(n) => write!(f, "coil {} pulls", nth(n)),
            Self::Relay(r) => write!(f, "controller relay {} is on", nth(r.0)),
            Self::Call(z) => write!(f, "zone {} calls", nth(z.0)),
            Self::TankCall => f.write_str("the tank calls"),
            Self::ValveOpen(z) => write!(f, "the valve of zone {} is open", nth(z.0)),
            Self::Flow(b) => write!(f, "boiler {} has flow", nth(b.0)),
            Self::DamperOpen => f.write_str("the damper is open"),
            Self::Flame(b) => write!(f, "boiler {} burns", nth(b.0)),
            Self::BoilerFault(b) => write!(f, "boiler {} is in fault", nth(b.0)),
            Self::BoilerPump(b) => write!(f, "boiler {} asks for its pump", nth(b.0)),
            Self::Trip(s) => write!(f, "safety {} has tripped", nth(s.0)),
            Self::Hand(p) => write!(f, "pump {} is at HAND", nth(p.0)),
            Self::Auto(p) => write!(f, "pump {} is at AUTO", nth(p.0)),
            Self::Overload(p) => write!(f, "the overload of pump {} has tripped", nth(p.0)),
            Self::BoilerSwitchOff(b) => write!(f, "the switch of boiler {} is off", nth(b.0)),
            Self::FanAquastat(z, k) => write!(f, "the water at fan {} of zone {} is hot", nth(k), nth(z.0)),
            Self::Acknowledge => f.write_str("the acknowledge button is pressed"),
            Self::Opened => f.write_str("a disconnect is open"),
            Self::FanOverload(z, k) => write!(f, "the overload of fan {} of zone {} has tripped", nth(k), nth(z.0)),
            Self::Breaker(MAIN_BREAKER) => f.write_str("the main breaker is open"),
            Self::Breaker(space) => write!(f, "the breaker in space {space} is open"),
            Self::GroundFault => write!(f, "its ground-fault protection has tripped"),
        }
    }
}

impl fmt::Display for LoadUse {
    /// What it is, counted in the order of the file.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Pump(p) => write!(f, "pump {}", nth(p.0)),
            Self::PumpSupply(p) => write!(f, "supply of pump {}", nth(p.0)),
            Self::PumpStart(p) => write!(f, "start input of pump {}", nth(p.0)),
            Self::Valve(z) => write!(f, "zone valve of zone {}", nth(z.0)),
            Self::Mixing(z) => write!(f, "mixing valve of zone {}", nth(z.0)),
            Self::Fan(z, k) => write!(f, "fan {} of zone {}", nth(k), nth(z.0)),
            Self::Thermostat(z) => write!(f, "thermostat supply of zone {}", nth(z.0)),
            Self::Damper => f.write_str("damper actuator"),
            Self::BoilerLine(b) => write!(f, "line of boiler {}", nth(b.0)),
            Self::Limit(b) => write!(f, "limit pair of boiler {}", nth(b.0)),
            Self::Proving(b) => write!(f, "proving pair of boiler {}", nth(b.0)),
            Self::Demand(b) => write!(f, "demand pair of boiler {}", nth(b.0)),
            Self::SafetySupply(s) => write!(f, "supply of safety {}", nth(s.0)),
            Self::Controller => f.write_str("controller"),
            Self::CondensatePump(n) => write!(f, "condensate pump {}", nth(n)),
            Self::Beacon => f.write_str("alarm beacon"),
            Self::Automation(n) => write!(f, "building-automation input {}", nth(n)),
            Self::Receptacle => f.write_str("receptacle"),
        }
    }
}

/// One part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// A source of power that is always there: one phase of the service.
    Source {
        /// Live pole.
        hot: T,
        /// Other pole.
        ret: T,
        /// Open-circuit voltage.
        volts: f64,
        /// Phase against the first phase, degrees.
        angle_deg: f64,
        /// Inner resistance.
        ohm: f64,
    },
    /// A transformer: the secondary follows the primary's voltage and phase.
    Transformer {
        /// Primary terminals.
        primary: [T; 2],
        /// Secondary terminals.
        secondary: [T; 2],
        /// Rated primary voltage.
        primary_volts: f64,
        /// Rated secondary voltage.
        secondary_volts: f64,
        /// Inner resistance seen at the secondary.
        ohm: f64,
        /// Nameplate.
        va: f64,
    },
    /// A permanent joint inside the device: jumper bar, strip, internal wiring.
    Bond(T, T),
    /// A contact.
    Contact {
        /// One side.
        a: T,
        /// Other side.
        b: T,
        /// Position at rest.
        rest: Rest,
        /// What moves it.
        by: Actuator,
    },
    /// A coil that moves contacts of the same device.
    Coil {
        /// One side.
        a: T,
        /// Other side.
        b: T,
        /// Its number among the device's coils.
        number: u8,
        /// Rated voltage.
        volts: f64,
        /// Sealed volt-amperes.
        va: f64,
    },
    /// A single-phase load.
    Load {
        /// One side.
        a: T,
        /// Other side.
        b: T,
        /// What it is.
        what: LoadUse,
        /// Rated voltage.
        volts: f64,
        /// Volt-amperes at rated voltage.
        va: f64,
    },
    /// A three-phase load, taken as a delta.
    Load3 {
        /// The three line terminals.
        lines: [T; 3],
        /// What it is.
        what: LoadUse,
        /// Rated line-to-line voltage.
        volts: f64,
        /// Volt-amperes at rated voltage, all three phases together.
        va: f64,
    },
    /// A contact input of the controller with its own wetting supply: reads closed while its terminals are joined.
    Input {
        /// One side.
        a: T,
        /// Other side.
        b: T,
        /// Which input.
        contact: ContactId,
    },
    /// A temperature element in the field.
    Element {
        /// One side.
        a: T,
        /// Other side.
        b: T,
        /// Which sensor.
        sensor: SensorId,
    },
    /// A sensor input of the controller.
    SensorInput {
        /// One side.
        a: T,
        /// Other side.
        b: T,
        /// Which sensor it expects.
        sensor: SensorId,
    },
    /// A 0-10 V output of the controller.
    SignalOut {
        /// Signal.
        plus: T,
        /// Common.
        minus: T,
        /// Which output.
        analog: AnalogId,
    },
    /// A 0-10 V input in the field.
    SignalIn {
        /// Signal.
        plus: T,
        /// Common.
        minus: T,
        /// Which output it expects.
        analog: AnalogId,
    },
    /// A metal part that must be bonded to ground through this terminal.
    Chassis(T),
    /// The grounding electrode's bar.
    Earth(T),
}
