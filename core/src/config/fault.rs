//! What can be wrong with a configuration, and its number.
//!
//! A board that refuses its block has a display of a few digits or a frame of a few bytes: the number says which fault and what
//! about. The numbers of faults never change and are never used again.

use crate::ids::{AnalogId, BoilerId, ContactId, PumpId, RelayId, SafetyId, ScheduleId, SensorId, Subject, ZoneId};

macro_rules! faults {
    ($(#[$meta:meta])* pub enum $name:ident { $($(#[$doc:meta])* $fault:ident = $n:literal,)* }) => {
        $(#[$meta])*
        pub enum $name {
            $($(#[$doc])* $fault = $n,)*
        }

        impl $name {
            const fn from_number(n: u16) -> Option<Self> {
                match n {
                    $($n => Some($name::$fault),)*
                    _ => None,
                }
            }
        }
    };
}

faults! {
    /// What is wrong.
    #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
    #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum Fault {
        /// The plant has no zones and no tank: there is nothing to heat.
        NothingToHeat = 0,
        /// The plant has no boiler.
        NoBoiler = 1,
        /// It refers to a zone that does not exist.
        NoSuchZone = 2,
        /// It refers to a pump that does not exist.
        NoSuchPump = 3,
        /// It refers to a boiler that does not exist.
        NoSuchBoiler = 4,
        /// It refers to a safety that does not exist.
        NoSuchSafety = 5,
        /// It refers to a schedule that does not exist.
        NoSuchSchedule = 6,
        /// It refers to the tank of a plant without one.
        NoTank = 7,
        /// Another point has the same use.
        SameUse = 8,
        /// The pump has another role than the part that uses it.
        PumpRole = 9,
        /// Nothing switches the pump: no relay, and no boiler of its own.
        NoPumpRelay = 10,
        /// The boiler has no demand relay.
        NoDemandRelay = 11,
        /// The zone has a valve without a relay.
        NoValveRelay = 12,
        /// Nothing tells when the zone or the tank calls.
        NoCall = 13,
        /// The boiler is driven by 0-10 V and no output drives it.
        NoSignal = 14,
        /// An output drives a boiler that is driven otherwise.
        WrongSignal = 15,
        /// The boiler is driven by its firing rate and fires on or off.
        RateOfOnOff = 16,
        /// The mixed zone has no output for its valve.
        NoMixingSignal = 17,
        /// The mixed zone has no sensor of its mixed water.
        NoMixedSensor = 18,
        /// The header has no supply sensor.
        NoSupplySensor = 19,
        /// Nothing measures the outdoor temperature.
        NoOutdoorSensor = 20,
        /// The curve needs two points.
        CurveTooShort = 21,
        /// The curve's outdoor temperatures do not rise.
        CurveNotRising = 22,
        /// The curve's supply temperature rises with the outdoor temperature.
        CurveSupplyRises = 23,
        /// The lower bound lies above the upper.
        BoundsCrossed = 24,
        /// The 0-10 V range is empty or falls.
        RangeEmpty = 25,
        /// It must not be negative.
        Negative = 26,
        /// It must be more than zero.
        NotPositive = 27,
        /// The target lies above what the boilers may give.
        TargetAboveOutlet = 28,
        /// Heat is purged into a zone whose water is mixed down.
        PurgeIntoMixed = 29,
        /// The period of the calendar is not a whole number of days.
        CalendarPeriod = 30,
        /// There is no such minute of a day.
        MinuteOfDay = 31,
        /// The schedule's steps do not rise, or lie past the end of the week.
        ScheduleOrder = 32,
        /// The safety's circuit does not fit whom it stops.
        SafetyCircuit = 33,
        /// Boilers are staged by load, and nobody knows the flow of the zone or the tank.
        NoFlowKnown = 34,
        /// Boilers are staged by load, and the header has no return sensor.
        NoReturnSensor = 35,
        /// The number is greater than it can be here.
        TooMany = 36,
        /// A contact looks at AUTO of a pump's hand switch and none at HAND: at HAND it would count as OFF.
        NoHand = 37,
    }
}

/// A fault and what it is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ConfigFault {
    /// What is wrong.
    pub fault: Fault,
    /// What it is about.
    pub about: Subject,
}

/// Bits of the code that hold the index, and those that hold index and kind.
const INDEX_BITS: u16 = 6;
const ABOUT_BITS: u16 = 10;

impl ConfigFault {
    /// The fault as one number: fault, kind of what it is about, and its index, which stops at 63.
    pub const fn code(self) -> u16 {
        let (kind, index) = match self.about {
            Subject::Plant => (0, 0),
            Subject::Header => (1, 0),
            Subject::Tank => (2, 0),
            Subject::Damper => (3, 0),
            Subject::Zone(i) => (4, i.0),
            Subject::Pump(i) => (5, i.0),
            Subject::Boiler(i) => (6, i.0),
            Subject::Safety(i) => (7, i.0),
            Subject::Sensor(i) => (8, i.0),
            Subject::Relay(i) => (9, i.0),
            Subject::Contact(i) => (10, i.0),
            Subject::Analog(i) => (11, i.0),
            Subject::Schedule(i) => (12, i.0),
        };
        let index = if index < 63 { index as u16 } else { 63 };
        (self.fault as u16) << ABOUT_BITS | kind << INDEX_BITS | index
    }

    /// The fault with this number; nothing for a number that was never given.
    pub const fn from_code(code: u16) -> Option<Self> {
        let Some(fault) = Fault::from_number(code >> ABOUT_BITS) else { return None };
        let index = (code & ((1 << INDEX_BITS) - 1)) as u8;
        let about = match (code >> INDEX_BITS & 0xF, index) {
            (0, 0) => Subject::Plant,
            (1, 0) => Subject::Header,
            (2, 0) => Subject::Tank,
            (3, 0) => Subject::Damper,
            (4, i) => Subject::Zone(ZoneId(i)),
            (5, i) => Subject::Pump(PumpId(i)),
            (6, i) => Subject::Boiler(BoilerId(i)),
            (7, i) => Subject::Safety(SafetyId(i)),
            (8, i) => Subject::Sensor(SensorId(i)),
            (9, i) => Subject::Relay(RelayId(i)),
            (10, i) => Subject::Contact(ContactId(i)),
            (11, i) => Subject::Analog(AnalogId(i)),
            (12, i) => Subject::Schedule(ScheduleId(i)),
            _ => return None,
        };
        Some(Self { fault, about })
    }
}
