//! Replays recorded inputs through the control logic and writes what it states, through the emulator's files.
//!
//! Reads `plant.blob` and `seen.bin` in the emulator's working folder, writes `stated.bin`, and says at the end how many ticks
//! it made, the digest of the state and the deepest stack of a tick that painting saw.
#![no_std]
#![no_main]

use heatwright_core::{Outputs, blob::BYTES_MAX};
use heatwright_firmware::{
    Controller, TICK_BYTES, entry, files::read_full, heatwright_tick, paint, power_up, recorded, stack_pointer, used,
};
use semihosting::{
    fs::File,
    io::Write,
    println, process,
};

#[panic_handler]
fn panic(info: &core::panic::PanicInfo<'_>) -> ! {
    semihosting::eprintln!("{info}");
    process::exit(101)
}

/// Ticks that one transfer carries.
const BLOCK: usize = 16;
/// Stack that is painted below a tick.
const PAINTED_BYTES: usize = 2048;

static mut PLANT: [u8; BYTES_MAX] = [0; BYTES_MAX];
static mut SEEN: [[u8; TICK_BYTES]; BLOCK] = [[0; TICK_BYTES]; BLOCK];
static mut STATED: [[u8; Outputs::RECORD_BYTES]; BLOCK] = [[0; Outputs::RECORD_BYTES]; BLOCK];

/// Ticks through one block. Everything outside `heatwright_tick` runs in this function, so that a tick ends where this goes on.
#[inline(never)]
#[unsafe(no_mangle)]
fn heatwright_block(
    c: &mut Controller,
    seen: &[[u8; TICK_BYTES]],
    stated: &mut [[u8; Outputs::RECORD_BYTES]],
    deepest: &mut usize,
) {
    for (s, o) in seen.iter().zip(stated) {
        let (now, inputs) = recorded(s);
        // Painting costs more than a tick: one in a few is enough to see the deepest.
        let painted = now.tenths() % 170 == 0;
        let base = stack_pointer();
        if painted {
            paint(base, PAINTED_BYTES);
        }
        heatwright_tick(c.config, c.state, now, &inputs, c.outputs);
        if painted {
            *deepest = (*deepest).max(used(base, PAINTED_BYTES));
        }
        *o = c.outputs.encode();
    }
}

#[entry]
fn main() -> ! {
    let (plant, seen, stated) = unsafe { (&mut *(&raw mut PLANT), &mut *(&raw mut SEEN), &mut *(&raw mut STATED)) };
    let length = read_full(&mut File::open(c"plant.blob").expect("plant.blob"), plant);
    let mut c = match unsafe { power_up(&plant[..length], None) } {
        Ok(c) => c,
        Err(fault) => {
            println!("refused {fault:?}");
            process::exit(2)
        }
    };
    let mut from = File::open(c"seen.bin").expect("seen.bin");
    let mut to = File::create(c"stated.bin").expect("stated.bin");
    let (mut ticks, mut deepest) = (0, 0);
    loop {
        let n = read_full(&mut from, seen.as_flattened_mut()) / TICK_BYTES;
        if n == 0 {
            break;
        }
        heatwright_block(&mut c, &seen[..n], &mut stated[..n], &mut deepest);
        to.write_all(stated[..n].as_flattened()).expect("stated.bin");
        ticks += n;
    }
    println!("ticks {ticks} digest {:016x} stack {deepest}", c.state.digest());
    process::exit(0)
}
