//! The only ids that cross a crate, and what a finding can be about.
//!
//! Each id is an index given once, in the order of the plant file. Names belong to the host: nothing here prints one.

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident,)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(transparent))]
        #[cfg_attr(feature = "defmt", derive(defmt::Format))]
        pub struct $name(pub u8);

        impl $name {
            /// The index, for a slice.
            pub const fn index(self) -> usize {
                self.0 as usize
            }
            /// The bit of this id in a mask; no bit at all past the 64th.
            pub const fn bit(self) -> u64 {
                if self.0 < 64 { 1 << self.0 } else { 0 }
            }
        }
    )*};
}

ids! {
    /// A heating zone.
    ZoneId,
    /// A circulator, whatever it serves.
    PumpId,
    /// A boiler.
    BoilerId,
    /// A safety device: limit, low-water cutoff, pressure switch, door switch.
    SafetyId,
    /// A temperature sensor input of the controller.
    SensorId,
    /// A relay output of the controller.
    RelayId,
    /// A contact input of the controller.
    ContactId,
    /// A 0-10 V output of the controller.
    AnalogId,
    /// A weekly schedule.
    ScheduleId,
}

/// What a fault, an event or a finding is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Subject {
    /// The plant as a whole.
    Plant,
    /// The header: closely spaced tees or low-loss header.
    Header,
    /// The domestic-hot-water tank.
    Tank,
    /// The combustion-air damper.
    Damper,
    /// A heating zone.
    Zone(ZoneId),
    /// A circulator.
    Pump(PumpId),
    /// A boiler.
    Boiler(BoilerId),
    /// A safety device.
    Safety(SafetyId),
    /// A sensor input.
    Sensor(SensorId),
    /// A relay output.
    Relay(RelayId),
    /// A contact input.
    Contact(ContactId),
    /// A 0-10 V output.
    Analog(AnalogId),
    /// A weekly schedule.
    Schedule(ScheduleId),
}

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Severity {
    /// Worth knowing; nothing is wrong.
    Note,
    /// The plant will work, but someone should decide on it.
    Warning,
    /// Do not build or run it like this.
    Error,
}
