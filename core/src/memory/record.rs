//! The record form of [`Memory`]: what a store keeps through a power cut.
//!
//! Little endian, the fields in the order below, an `Option` as 0 or 1 and its value, the rest of the record zero. The first
//! byte is [`Memory::VERSION`], the next four are the fingerprint of the configuration block
//! ([`fingerprint`](crate::blob::fingerprint)). A record of another version, or with a value that cannot stand there, gives
//! nothing: counting begins anew rather than with numbers of another meaning.

#[cfg(test)]
use crate::blob::wire::Dice;
use crate::{
    blob::wire::{Refused, Sink, Source, Wire, choice, record},
    boilers::Failure,
    guard::Guard,
    memory::{Found, Memory},
    meter::Meter,
    rotation::Rotation,
};

record! {
    Memory { meter, rotation, guard, tried, lockouts, damper_failed, damper_missed, damper_stuck, damper_lost, hot_cuts }
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

    /// The record form; `plant` is the fingerprint of the configuration block that the state belongs to.
    pub fn encode(&self, plant: u32) -> [u8; Self::RECORD_BYTES] {
        let mut out = [0; Self::RECORD_BYTES];
        let mut sink = Sink::new(&mut out);
        Self::VERSION.put(&mut sink);
        plant.put(&mut sink);
        self.put(&mut sink);
        out
    }

    /// Reads the record form back for the configuration block with this fingerprint.
    pub fn decode(bytes: &[u8; Self::RECORD_BYTES], plant: u32) -> Found {
        let mut source = Source::new(bytes);
        let (mut version, mut of, mut memory) = (0u8, 0u32, Self::blank());
        if version.fill(&mut source).is_err() || version != Self::VERSION {
            return Found::Unread;
        }
        match of.fill(&mut source).and_then(|()| memory.fill(&mut source)) {
            Err(Refused) => Found::Unread,
            Ok(()) if of == plant => Found::Whole(memory),
            Ok(()) => Found::OtherPlant(memory.for_another_plant()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mask::Mask;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_is_remembered_comes_back(seed: u64) {
            let m = Memory::any(&mut Dice { state: seed | 1, full: false });
            prop_assert_eq!(Memory::decode(&m.encode(7), 7), Found::Whole(m));
            let mut sink_room = [0; Memory::RECORD_BYTES - 5];
            let mut sink = Sink::new(&mut sink_room);
            m.put(&mut sink);
            prop_assert!(sink.written().is_some(), "the record has room for every memory");
        }
    }

    #[test]
    fn another_version_is_not_read() {
        let mut bytes = Memory::blank().encode(7);
        assert_eq!(Memory::decode(&bytes, 7), Found::Whole(Memory::blank()));
        bytes[0] = Memory::VERSION.wrapping_add(1);
        assert_eq!(Memory::decode(&bytes, 7), Found::Unread);
    }

    #[test]
    fn what_another_configuration_remembered_is_not_taken_by_number() {
        let mut m = Memory::blank();
        m.meter.starts = [5, 6, 7, 8];
        m.damper_stuck = true;
        let read = |m: &Memory| Memory::decode(&m.encode(7), 8);
        let kept = Memory { damper_stuck: true, ..Memory::blank() };
        assert_eq!(read(&m), Found::OtherPlant(kept), "the damper is the plant's");
        // Boiler 2 is locked out: in the other plant any may be it.
        m.lockouts[2] = Some(Failure::Flame);
        m.tried.add(2);
        let all = Mask::of(0).or(Mask::of(1)).or(Mask::of(2)).or(Mask::of(3));
        let kept = Memory { lockouts: [Some(Failure::Flame); 4], tried: all, ..kept };
        assert_eq!(read(&m), Found::OtherPlant(kept));
        assert_eq!(Found::OtherPlant(kept).memory(), Some(&kept));
    }
}
