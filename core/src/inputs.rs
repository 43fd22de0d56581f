//! One complete snapshot of what the controller sees.

use crate::{
    ids::{ContactId, SensorId},
    limits::SENSORS,
    units::{CivilMinute, Temp},
};

/// What a sensor input gives. A fault is its own value, never a number.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Reading {
    /// Nothing read since power-up, or no sensor there.
    #[default]
    NeverRead,
    /// Resistance above any temperature: a broken lead.
    Open,
    /// Resistance below any temperature: a shorted lead.
    Short,
    /// A temperature.
    At(Temp),
}

impl Reading {
    /// The temperature, if there is one.
    pub const fn temp(self) -> Option<Temp> {
        match self {
            Reading::At(t) => Some(t),
            Reading::NeverRead | Reading::Open | Reading::Short => None,
        }
    }
}

/// Everything the controller sees at one tick.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Inputs {
    /// Wall-clock time; `None` while the clock is not set.
    pub civil: Option<CivilMinute>,
    /// One bit a contact input, by [`ContactId`]: set while the contact is closed.
    pub contacts: u64,
    /// One reading a sensor input, by [`SensorId`].
    pub sensors: [Reading; SENSORS],
}

impl Inputs {
    /// Bytes of the fixed-size record form.
    pub const RECORD_BYTES: usize = 4 + 8 + 2 * SENSORS;

    // The four values at the bottom of a 16-bit temperature are below absolute zero, so they are free for faults.
    const NEVER_READ: i16 = i16::MIN;
    const OPEN: i16 = i16::MIN + 1;
    const SHORT: i16 = i16::MIN + 2;

    /// True while this contact is closed.
    pub const fn closed(&self, c: ContactId) -> bool {
        self.contacts & c.bit() != 0
    }

    /// Sets one contact.
    pub const fn set(&mut self, c: ContactId, closed: bool) {
        if closed {
            self.contacts |= c.bit();
        } else {
            self.contacts &= !c.bit();
        }
    }

    /// The reading of one sensor; `NeverRead` past the last.
    pub fn reading(&self, s: SensorId) -> Reading {
        self.sensors.get(s.index()).copied().unwrap_or_default()
    }

    /// The record form, little endian: civil minute plus one (0 = not set), contacts, then two bytes a sensor.
    pub fn encode(&self) -> [u8; Self::RECORD_BYTES] {
        let mut out = [0; Self::RECORD_BYTES];
        let civil = self.civil.map_or(0, |m| m.get().saturating_add(1));
        let head = civil.to_le_bytes().into_iter().chain(self.contacts.to_le_bytes());
        let tail = self.sensors.iter().flat_map(|r| {
            match *r {
                Reading::NeverRead => Self::NEVER_READ,
                Reading::Open => Self::OPEN,
                Reading::Short => Self::SHORT,
                Reading::At(t) => t.centi_c().max(Self::SHORT + 1),
            }
            .to_le_bytes()
        });
        for (slot, byte) in out.iter_mut().zip(head.chain(tail)) {
            *slot = byte;
        }
        out
    }

    /// Reads the record form back. Every pattern of bytes is a valid snapshot.
    pub fn decode(bytes: &[u8; Self::RECORD_BYTES]) -> Self {
        let mut it = bytes.iter().copied();
        let mut byte = || it.next().unwrap_or(0);
        let civil = u32::from_le_bytes([byte(), byte(), byte(), byte()]);
        let contacts = u64::from_le_bytes([byte(), byte(), byte(), byte(), byte(), byte(), byte(), byte()]);
        let mut sensors = [Reading::NeverRead; SENSORS];
        for slot in &mut sensors {
            *slot = match i16::from_le_bytes([byte(), byte()]) {
                Self::NEVER_READ => Reading::NeverRead,
                Self::OPEN => Reading::Open,
                Self::SHORT => Reading::Short,
                v => Reading::At(Temp::from_centi_c(v)),
            };
        }
        Self { civil: civil.checked_sub(1).map(CivilMinute::new), contacts, sensors }
    }
}
