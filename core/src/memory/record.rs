//! The record form of [`Memory`]: what a store keeps through a power cut.
//!
//! Little endian, the fields in the order below, an `Option` as 0 or 1 and its value, the rest of the record zero. The first
//! byte is [`Memory::VERSION`]; a record of another version, or with a value that cannot stand there, gives nothing: counting
//! begins anew rather than with numbers of another meaning.

#[cfg(test)]
use crate::blob::wire::Dice;
use crate::{
    blob::wire::{Refused, Sink, Source, Wire, choice, record},
    boilers::Failure,
    guard::Guard,
    memory::Memory,
    meter::Meter,
    rotation::Rotation,
};

record! {
    Memory { meter, rotation, guard, tried, lockouts, damper_failed, damper_stuck, damper_lost, hot_cuts }
    Meter { fired, pumped, starts, operations }
    Rotation { lead, period }
    Guard { first_out, latched }
}
choice! {
    Failure { 0 Flow {}, 1 Flame {} }
}

impl Memory {
    /// Bytes of the record form.
    pub const RECORD_BYTES: usize = 504;

    /// The record form.
    pub fn encode(&self) -> [u8; Self::RECORD_BYTES] {
        let mut out = [0; Self::RECORD_BYTES];
        let mut sink = Sink::new(&mut out);
        Self::VERSION.put(&mut sink);
        self.put(&mut sink);
        out
    }

    /// Reads the record form back.
    pub fn decode(bytes: &[u8; Self::RECORD_BYTES]) -> Option<Self> {
        let mut source = Source::new(bytes);
        let (mut version, mut memory) = (0u8, Self::blank());
        version.fill(&mut source).ok()?;
        if version != Self::VERSION {
            return None;
        }
        memory.fill(&mut source).ok()?;
        Some(memory)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_is_remembered_comes_back(seed: u64) {
            let m = Memory::any(&mut Dice { state: seed | 1, full: false });
            prop_assert_eq!(Memory::decode(&m.encode()), Some(m));
            let mut sink_room = [0; Memory::RECORD_BYTES - 1];
            let mut sink = Sink::new(&mut sink_room);
            m.put(&mut sink);
            prop_assert!(sink.written().is_some(), "the record has room for every memory");
        }
    }

    #[test]
    fn another_version_is_not_read() {
        let mut bytes = Memory::blank().encode();
        assert_eq!(Memory::decode(&bytes), Some(Memory::blank()));
        bytes[0] = Memory::VERSION.wrapping_add(1);
        assert_eq!(Memory::decode(&bytes), None);
    }
}
