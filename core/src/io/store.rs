//! What survives a power cut, in two pages of flash.
//!
//! ```text
//!   slot of 512 bytes:  sequence number (u32) | record of the memory (504 bytes) | CRC-32 of both (u32)
//! ```
//!
//! Slots are written one after the other; when a page is full the other one is erased and written on. The newest slot whose CRC
//! fits is the memory. So a cut at any moment, in a write or in an erase, leaves the last memory whole or has the new one
//! written: what was stored before is never lost. A slot that is not blank and does not fit, left by such a cut, is passed over. So is one
//! that cannot be read: flash with error correction answers with a fault where a word was torn.
//! A page of flash lives some ten thousand erasures (from memory; the data sheet of the part says); with 4 KiB pages one is
//! erased every eight writes, so a write every half hour lasts nine years. Source: log with a checksum, common
//! practice; sizes our choice.
//!
//! The record says which configuration it is of; what is found for another is told apart ([`Found`]).
//!
//! Not here: when to store, marginal cells whose value changes from one read to the next.

use crate::{
    blob::CRC,
    memory::{Found, Memory},
};
use embedded_storage::nor_flash::NorFlash;

/// Bytes of a slot.
pub const SLOT_BYTES: usize = Memory::RECORD_BYTES + 8;

/// Why the store cannot be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StoreFault<E> {
    /// The flash said so.
    Flash(E),
    /// The flash has no two pages, or its pages and words do not fit a slot.
    Geometry,
}

/// The store.
#[derive(Debug)]
pub struct Store<F> {
    flash: F,
    page_bytes: u32,
    next: u32,
    sequence: u32,
    plant: u32,
}

/// What was last stored, if anything, with its sequence number.
type Slot = Option<(u32, [u8; Memory::RECORD_BYTES])>;

impl<F: NorFlash> Store<F> {
    /// Opens the first two pages and gives what was stored last. `plant` is the fingerprint of the configuration block that is run.
    /// Fails only if no slot at all can be read.
    pub fn open(flash: F, plant: u32) -> Result<(Self, Found), StoreFault<F::Error>> {
        let slot = u32::try_from(SLOT_BYTES).map_err(|_| StoreFault::Geometry)?;
        let page_bytes = u32::try_from(F::ERASE_SIZE).map_err(|_| StoreFault::Geometry)?;
        let fits = |n: usize| SLOT_BYTES.checked_rem(n) == Some(0);
        let whole = page_bytes.checked_rem(slot) == Some(0) && page_bytes > 0;
        if !whole || !fits(F::WRITE_SIZE) || !fits(F::READ_SIZE) || flash.capacity() < F::ERASE_SIZE.saturating_mul(2) {
            return Err(StoreFault::Geometry);
        }
        let end = page_bytes.saturating_mul(2);
        // Before anything is stored the first write begins with an erase.
        let mut store = Self { flash, page_bytes, next: end, sequence: 0, plant };
        let mut newest: Slot = None;
        let (mut at, mut read, mut fault) = (0u32, false, None);
        while at < end {
            match store.load(at) {
                Ok(Some((sequence, record))) if newest.is_none_or(|(n, _)| sequence > n) => {
                    newest = Some((sequence, record));
                    store.sequence = sequence;
                    store.next = at.saturating_add(slot);
                    read = true;
                }
                Ok(_) => read = true,
                Err(e) => fault = Some(e),
            }
            at = at.saturating_add(slot);
        }
        if let Some(e) = fault.filter(|_| !read) {
            return Err(e);
        }
        let found = newest.map_or(Found::Nothing, |(_, record)| Memory::decode(&record, plant));
        Ok((store, found))
    }

    fn load(&mut self, at: u32) -> Result<Slot, StoreFault<F::Error>> {
        let mut bytes = [0; SLOT_BYTES];
        self.flash.read(at, &mut bytes).map_err(StoreFault::Flash)?;
        let mut it = bytes.iter().copied();
        let mut byte = || it.next().unwrap_or(0);
        let sequence = u32::from_le_bytes([byte(), byte(), byte(), byte()]);
        let record = core::array::from_fn(|_| byte());
        let sum = u32::from_le_bytes([byte(), byte(), byte(), byte()]);
        let kept = sequence != 0 && sequence != u32::MAX && sum == checksum(&bytes);
        Ok(kept.then_some((sequence, record)))
    }

    /// Stores what must survive. On a fault the last memory stands.
    pub fn store(&mut self, memory: &Memory) -> Result<(), StoreFault<F::Error>> {
        let sequence = self.sequence.saturating_add(1);
        let mut bytes = [0; SLOT_BYTES];
        let body = sequence.to_le_bytes().into_iter().chain(memory.encode(self.plant));
        for (slot, byte) in bytes.iter_mut().zip(body) {
            *slot = byte;
        }
        let sum = checksum(&bytes);
        for (slot, byte) in bytes.iter_mut().rev().zip(sum.to_be_bytes()) {
            *slot = byte;
        }
        let at = self.blank()?;
        self.flash.write(at, &bytes).map_err(StoreFault::Flash)?;
        self.next = at.saturating_add(u32::try_from(SLOT_BYTES).unwrap_or(0));
        self.sequence = sequence;
        Ok(())
    }

    /// A blank slot: the next one of this page, or the first of the other, erased.
    fn blank(&mut self) -> Result<u32, StoreFault<F::Error>> {
        let end = self.page_bytes.saturating_mul(2);
        while self.next.checked_rem(self.page_bytes).is_some_and(|past| past != 0) {
            let mut bytes = [0; SLOT_BYTES];
            let read = self.flash.read(self.next, &mut bytes);
            if read.is_ok() && bytes.iter().all(|b| *b == 0xFF) {
                return Ok(self.next);
            }
            self.next = self.next.saturating_add(u32::try_from(SLOT_BYTES).unwrap_or(self.page_bytes));
        }
        let page = if self.next >= end { 0 } else { self.next };
        self.flash.erase(page, page.saturating_add(self.page_bytes)).map_err(StoreFault::Flash)?;
        Ok(page)
    }

    /// The flash.
    pub fn free(self) -> F {
        self.flash
    }
}

/// CRC of a slot without its own last four bytes.
fn checksum(slot: &[u8; SLOT_BYTES]) -> u32 {
    CRC.checksum(slot.get(..SLOT_BYTES.saturating_sub(4)).unwrap_or(slot))
}

#[cfg(test)]
mod tests;
