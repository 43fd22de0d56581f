//! The controller on real kinds of pins and flash: relays go out through `core::io` to the pins of an nRF51, and what must
//! survive a power cut lies in two pages of its flash.
//!
//! Reads `plant.blob` and `seen.bin`. After every tick the pins are read back and written to `pins.bin`, a word a tick. Half an
//! hour apart the memory is stored. At the end of its first life the board says what it stored and resets itself; in the second
//! it says what it found. A configuration that is refused drives every relay to its safe side, whatever the pins stood at, and
//! the board says why.
#![no_std]
#![no_main]

use embedded_hal::digital::PinState;
use heatwright_core::{
    Memory, Outputs,
    blob::{BYTES_MAX, fingerprint},
    io::{relays::Relays, store::Store},
};
use heatwright_firmware::{
    TICK_BYTES, entry,
    files::read_full,
    heatwright_tick,
    nrf51::{Flash, PINS, Pin, pins},
    power_up, recorded,
};
use semihosting::{fs::File, io::Write, println, process};

#[panic_handler]
fn panic(info: &core::panic::PanicInfo<'_>) -> ! {
    semihosting::eprintln!("{info}");
    process::exit(101)
}

/// Where the store lies: the last two of 256 pages.
const STORE_AT: usize = 254 * 1024;
/// Ticks between two writes of the memory.
const STORE_EVERY: u32 = 1800;

static mut PLANT: [u8; BYTES_MAX] = [0; BYTES_MAX];

fn say(what: &str, memory: &Memory) {
    println!("{what} starts {:?} fired {:?} lead {:?}", memory.meter.starts, memory.meter.fired, memory.rotation.lead);
}

#[entry]
fn main() -> ! {
    let plant = unsafe { &mut *(&raw mut PLANT) };
    let length = read_full(&mut File::open(c"plant.blob").expect("plant.blob"), plant);
    let (mut store, found) = Store::open(Flash::new(STORE_AT), fingerprint(&plant[..length])).expect("store");
    // Every relay is de-energised before its pin drives it. A test says by a file that whatever ran before left them energised.
    let left = if File::open(c"left-on").is_ok() { PinState::High } else { PinState::Low };
    let all: heapless::Vec<Pin, PINS> = (0..PINS as u8).map(|n| Pin::output(n, left)).collect();
    let mut relays = Relays::new(all, PinState::High);
    let c = match unsafe { power_up(&plant[..length], found.memory()) } {
        Ok(c) => c,
        Err(fault) => {
            relays.apply(&Outputs::SAFE).expect("pins");
            println!("refused {fault:?} pins {:08x}", pins());
            process::exit(2)
        }
    };
    if let Some(memory) = found.memory() {
        say("found", memory);
        process::exit(0)
    }
    let mut from = File::open(c"seen.bin").expect("seen.bin");
    let mut to = File::create(c"pins.bin").expect("pins.bin");
    let mut seen = [0; TICK_BYTES];
    let mut ticks = 0u32;
    while read_full(&mut from, &mut seen) == TICK_BYTES {
        let (now, inputs) = recorded(&seen);
        heatwright_tick(c.config, c.state, now, &inputs, c.outputs);
        relays.apply(c.outputs).expect("pins");
        to.write_all(&pins().to_le_bytes()).expect("pins.bin");
        ticks += 1;
        if ticks % STORE_EVERY == 0 {
            store.store(&c.state.memory()).expect("store");
        }
    }
    store.store(&c.state.memory()).expect("store");
    say("stored", &c.state.memory());
    drop(to);
    cortex_m::peripheral::SCB::sys_reset()
}
