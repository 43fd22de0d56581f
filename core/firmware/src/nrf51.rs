//! Output pins and flash of an nRF51, the part on the emulated Cortex-M0 board.
//!
//! Registers from the part's public reference manual, from memory and found to work in the emulator: GPIO at 0x5000_0000
//! (OUT 0x504, OUTSET 0x508, OUTCLR 0x50C, DIRSET 0x518), flash controller at 0x4001_E000 (READY 0x400, CONFIG 0x504 with
//! 0 read, 1 write, 2 erase, ERASEPAGE 0x508). Pages of 1 KiB, written in words, a bit only from one to zero. Not here: input
//! pins, the converter, interrupts.

use core::{
    convert::Infallible,
    ptr::{read_volatile, write_volatile},
};
use embedded_hal::digital::{ErrorType, OutputPin, PinState};
use embedded_storage::nor_flash::{self, NorFlash, NorFlashErrorKind, ReadNorFlash};

const GPIO: usize = 0x5000_0000;
const FLASH: usize = 0x4001_E000;

fn get(at: usize) -> u32 {
    unsafe { read_volatile(at as *const u32) }
}

fn put(at: usize, value: u32) {
    unsafe { write_volatile(at as *mut u32, value) }
}

/// Pins that there are.
pub const PINS: usize = 32;

/// One of the pins, as an output.
pub struct Pin(u32);

impl Pin {
    /// Makes pin `n` an output that stands at `level` from its first moment.
    pub fn output(n: u8, level: PinState) -> Self {
        let mut pin = Self(1u32 << (n & 31));
        let Ok(()) = pin.set_state(level);
        put(GPIO + 0x518, pin.0);
        pin
    }
}

/// What all output pins stand at, a bit a pin.
pub fn pins() -> u32 {
    get(GPIO + 0x504)
}

impl ErrorType for Pin {
    type Error = Infallible;
}

impl OutputPin for Pin {
    fn set_high(&mut self) -> Result<(), Infallible> {
        put(GPIO + 0x508, self.0);
        Ok(())
    }
    fn set_low(&mut self) -> Result<(), Infallible> {
        put(GPIO + 0x50C, self.0);
        Ok(())
    }
}

/// Two pages of flash from an address on.
pub struct Flash {
    at: usize,
}

impl Flash {
    /// The two pages at `at`, which nothing else uses.
    pub const fn new(at: usize) -> Self {
        Self { at }
    }

    fn set_mode(mode: u32) {
        put(FLASH + 0x504, mode);
        while get(FLASH + 0x400) & 1 == 0 {}
    }

    fn inside(&self, from: u32, length: usize, step: usize) -> Result<usize, NorFlashErrorKind> {
        let from = from as usize;
        if from % step != 0 || length % step != 0 {
            return Err(NorFlashErrorKind::NotAligned);
        }
        if from.saturating_add(length) > self.capacity() {
            return Err(NorFlashErrorKind::OutOfBounds);
        }
        Ok(self.at + from)
    }
}

impl nor_flash::ErrorType for Flash {
    type Error = NorFlashErrorKind;
}

impl ReadNorFlash for Flash {
    const READ_SIZE: usize = 4;
    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), NorFlashErrorKind> {
        let at = self.inside(offset, bytes.len(), Self::READ_SIZE)?;
        for (i, word) in bytes.chunks_exact_mut(4).enumerate() {
            word.copy_from_slice(&get(at + 4 * i).to_le_bytes());
        }
        Ok(())
    }
    fn capacity(&self) -> usize {
        2 * Self::ERASE_SIZE
    }
}

impl NorFlash for Flash {
    const WRITE_SIZE: usize = 4;
    const ERASE_SIZE: usize = 1024;
    fn erase(&mut self, from: u32, to: u32) -> Result<(), NorFlashErrorKind> {
        let at = self.inside(from, to.saturating_sub(from) as usize, Self::ERASE_SIZE)?;
        Self::set_mode(2);
        for page in (at..at + to.saturating_sub(from) as usize).step_by(Self::ERASE_SIZE) {
            put(FLASH + 0x508, page as u32);
        }
        Self::set_mode(0);
        Ok(())
    }
    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), NorFlashErrorKind> {
        let at = self.inside(offset, bytes.len(), Self::WRITE_SIZE)?;
        Self::set_mode(1);
        for (i, word) in bytes.chunks_exact(4).enumerate() {
            put(at + 4 * i, u32::from_le_bytes([word[0], word[1], word[2], word[3]]));
        }
        Self::set_mode(0);
        Ok(())
    }
}
