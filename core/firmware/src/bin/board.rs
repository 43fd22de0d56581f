//! The image of a board: configuration block in flash, inputs and outputs as registers, nothing else.
//!
//! Its panic handler calls a function that nobody defines, so that it links only if no panic can be reached. A block that is
//! refused leaves every output at its safe side, the health relay dropped with them, and the reason in `FAULT`.
#![no_std]
#![no_main]

use heatwright_core::{Inputs, Outputs, blob::BYTES_MAX};
use heatwright_firmware::{TICK_BYTES, entry, heatwright_tick, power_up, recorded};

unsafe extern "C" {
    fn a_panic_is_reachable() -> !;
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    unsafe { a_panic_is_reachable() }
}

/// Where the configuration block is written; as flash is after erasing.
#[unsafe(no_mangle)]
static PLANT: [u8; BYTES_MAX] = [0xFF; BYTES_MAX];
/// Bytes of it that count.
#[unsafe(no_mangle)]
static PLANT_LENGTH: u32 = u32::MAX;
/// Time and inputs, as the board's drivers write them: between two ticks, never from an interrupt, which could leave half of two
/// moments here.
#[unsafe(no_mangle)]
static mut SEEN: [u8; TICK_BYTES] = [0; TICK_BYTES];
/// Outputs, as the board's drivers read them.
#[unsafe(no_mangle)]
static mut STATED: [u8; Outputs::RECORD_BYTES] = [0; Outputs::RECORD_BYTES];
/// Why the block was refused: number and detail; zero while it runs.
#[unsafe(no_mangle)]
static mut FAULT: [u16; 2] = [0; 2];

#[entry]
fn main() -> ! {
    let length = unsafe { (&raw const PLANT_LENGTH).read_volatile() } as usize;
    let plant = unsafe { (&raw const PLANT).as_ref() }.unwrap_or(&PLANT);
    let block = core::hint::black_box(plant).get(..length).unwrap_or_default();
    match unsafe { power_up(block, None) } {
        Ok(c) => loop {
            let seen = unsafe { (&raw const SEEN).read_volatile() };
            let (now, inputs) = recorded(&seen);
            #[cfg(feature = "bad-index")]
            let inputs = Inputs { contacts: u64::from(seen[usize::from(seen[0])]), ..inputs };
            #[cfg(feature = "bad-float")]
            let inputs = Inputs { contacts: (f64::from(seen[0]) * 1.1) as u64, ..inputs };
            let inputs: Inputs = inputs;
            heatwright_tick(c.config, c.state, now, &inputs, c.outputs);
            unsafe { (&raw mut STATED).write_volatile(c.outputs.encode()) }
        },
        Err(fault) => {
            let (code, detail) = fault.code();
            unsafe { (&raw mut STATED).write_volatile(Outputs::SAFE.encode()) }
            unsafe { (&raw mut FAULT).write_volatile([u16::from(code), detail]) }
            loop {
                core::hint::spin_loop();
            }
        }
    }
}
