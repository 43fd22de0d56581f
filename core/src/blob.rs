//! The configuration as a block of bytes: what the host writes into a board's flash and the board reads at power-up.
//!
//! ```text
//!   0  4 bytes  "HWcf"
//!   4  u16      version of the layout
//!   6  u16      zero
//!   8  u32      length of the body in bytes
//!  12  u32      CRC-32 (ISO-HDLC) of bytes 0 to 11 and of the body
//!  16  body     the parts of `Config` in the order of `layout`
//! ```
//!
//! All numbers are little endian. A list is its count in one byte and its elements, an `Option` is 0 or 1 and its value, an
//! enum is its tag and its values; tags are never used again. The layout is our choice; the CRC finds every burst of up to 32
//! bits, so every single flipped bit.
//!
//! The body is read *in place*: the board hands over the room for one [`Config`], so that a kilobyte and a half never lies on
//! the stack. What cannot be read, is cut short or makes no sound configuration is refused with the reason; a refused block
//! gives no configuration at all. One configuration has exactly one block: what is read writes the same bytes.
//!
//! Not here: where the block lies, and what a board does without one.

mod layout;
pub(crate) mod wire;

use crate::config::{Config, check::ConfigFault};
use wire::{Sink, Source, Wire};

/// Version of the layout. A block of another version is refused.
pub const VERSION: u16 = 4;
/// Bytes before the body.
pub const HEAD_BYTES: usize = 16;
/// No block is longer than this.
pub const BYTES_MAX: usize = 2048;

const MAGIC: [u8; 4] = *b"HWcf";
pub(crate) const CRC: crc::Crc<u32, crc::NoTable> = crc::Crc::<u32, crc::NoTable>::new(&crc::CRC_32_ISO_HDLC);

/// Why a block is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum BlobFault {
    /// It ends before its head does: nothing was written there.
    Short,
    /// It does not begin like a configuration.
    NotABlob,
    /// It was written for another layout than this firmware reads.
    Version(u16),
    /// It is shorter or longer than its head says.
    Length,
    /// A bit of it has changed since it was written.
    Crc,
    /// The value that begins at this byte of the body is none that can stand there.
    Value(u16),
    /// Bytes are left over behind the last part.
    LeftOver,
    /// It can be read and makes no sound configuration; this is the first fault.
    Unsound(ConfigFault),
    /// The room for writing is too small. Never while reading.
    NoRoom,
}

impl BlobFault {
    /// Number of the fault on a board's display or in a frame, and the detail that goes with it.
    pub const fn code(self) -> (u8, u16) {
        match self {
            BlobFault::Short => (1, 0),
            BlobFault::NotABlob => (2, 0),
            BlobFault::Version(found) => (3, found),
            BlobFault::Length => (4, 0),
            BlobFault::Crc => (5, 0),
            BlobFault::Value(at) => (6, at),
            BlobFault::LeftOver => (7, 0),
            BlobFault::Unsound(f) => (8, f.code()),
            BlobFault::NoRoom => (9, 0),
        }
    }
}

/// A configuration of nothing: the room that [`decode`] fills. It is not sound.
pub fn blank() -> Config {
    Wire::blank()
}

/// Reads a block into `room`.
pub fn decode<'a>(bytes: &[u8], room: &'a mut Config) -> Result<&'a Config, BlobFault> {
    let (version, body) = open(bytes)?;
    if version != VERSION {
        return Err(BlobFault::Version(version));
    }
    let mut source = Source::new(body);
    if room.fill(&mut source).is_err() {
        return Err(BlobFault::Value(source.began()));
    }
    if source.left() > 0 {
        return Err(BlobFault::LeftOver);
    }
    let mut first = None;
    room.check(|f| first = first.or(Some(f)));
    match first {
        Some(f) => Err(BlobFault::Unsound(f)),
        None => Ok(room),
    }
}

/// The number that stands for a configuration: the CRC of its block. Both ends of a link compare it.
pub fn fingerprint(block: &[u8]) -> u32 {
    let mut at = block.iter().skip(12).copied();
    let mut byte = || at.next().unwrap_or(0);
    u32::from_le_bytes([byte(), byte(), byte(), byte()])
}

/// Writes the block of `config` into `out` and says how long it is.
pub fn encode(config: &Config, out: &mut [u8]) -> Result<usize, BlobFault> {
    let Some((head, body)) = out.split_at_mut_checked(HEAD_BYTES) else { return Err(BlobFault::NoRoom) };
    let mut sink = Sink::new(body);
    config.put(&mut sink);
    let length = sink.written().ok_or(BlobFault::NoRoom)?;
    let length32 = u32::try_from(length).map_err(|_| BlobFault::NoRoom)?;
    let before = MAGIC.into_iter().chain(VERSION.to_le_bytes()).chain([0, 0]).chain(length32.to_le_bytes());
    for (slot, byte) in head.iter_mut().zip(before) {
        *slot = byte;
    }
    let sum = sum(head, body.get(..length).unwrap_or_default());
    for (slot, byte) in head.iter_mut().skip(12).zip(sum.to_le_bytes()) {
        *slot = byte;
    }
    Ok(HEAD_BYTES.saturating_add(length))
}

/// CRC of the first twelve bytes of the head and of the body.
fn sum(head: &[u8], body: &[u8]) -> u32 {
    let mut d = CRC.digest();
    d.update(head.get(..12).unwrap_or(head));
    d.update(body);
    d.finalize()
}

/// Version and body of a block that is whole.
fn open(bytes: &[u8]) -> Result<(u16, &[u8]), BlobFault> {
    let (head, body) = bytes.split_at_checked(HEAD_BYTES).ok_or(BlobFault::Short)?;
    let Ok([m0, m1, m2, m3, v0, v1, z0, z1, l0, l1, l2, l3, c0, c1, c2, c3]) = <[u8; HEAD_BYTES]>::try_from(head)
    else {
        return Err(BlobFault::Short);
    };
    if [m0, m1, m2, m3] != MAGIC || [z0, z1] != [0, 0] {
        return Err(BlobFault::NotABlob);
    }
    if usize::try_from(u32::from_le_bytes([l0, l1, l2, l3])) != Ok(body.len()) {
        return Err(BlobFault::Length);
    }
    if u32::from_le_bytes([c0, c1, c2, c3]) != sum(head, body) {
        return Err(BlobFault::Crc);
    }
    Ok((u16::from_le_bytes([v0, v1]), body))
}

#[cfg(test)]
mod tests;
