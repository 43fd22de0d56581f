//! Events of the outputs as `defmt` frames on the emulator's standard output, for a decoder on the host.
//!
//! Reads `plant.blob` and `seen.bin`; one frame a change: the tick, counted from zero, and the event. Nothing else is written
//! there, since frames have no marks between them but their own.
#![no_std]
#![no_main]

use heatwright_core::{blob::BYTES_MAX, diff};
use heatwright_firmware::{TICK_BYTES, entry, files::read_full, heatwright_tick, power_up, recorded};
use semihosting::{
    fs::File,
    io::{Stdout, Write, stdout},
    process,
};

#[panic_handler]
fn panic(info: &core::panic::PanicInfo<'_>) -> ! {
    semihosting::eprintln!("{info}");
    process::exit(101)
}

/// Frames on their way out. One thread, no interrupts: nobody can come between.
struct Frames {
    encoder: defmt::Encoder,
    room: [u8; 1024],
    filled: usize,
    out: Option<Stdout>,
}

static mut FRAMES: Frames = Frames { encoder: defmt::Encoder::new(), room: [0; 1024], filled: 0, out: None };

fn frames() -> &'static mut Frames {
    unsafe { &mut *(&raw mut FRAMES) }
}

impl Frames {
    fn flush(&mut self) {
        if let Some(out) = &mut self.out {
            out.write_all(&self.room[..self.filled]).expect("stdout");
        }
        self.filled = 0;
    }
}

fn collect(bytes: &[u8]) {
    let f = frames();
    for b in bytes {
        if f.filled == f.room.len() {
            f.flush();
        }
        f.room[f.filled] = *b;
        f.filled += 1;
    }
}

#[defmt::global_logger]
struct Logger;

unsafe impl defmt::Logger for Logger {
    fn acquire() {
        unsafe { (*(&raw mut FRAMES.encoder)).start_frame(collect) }
    }
    unsafe fn flush() {
        frames().flush();
    }
    unsafe fn release() {
        unsafe { (*(&raw mut FRAMES.encoder)).end_frame(collect) }
    }
    unsafe fn write(bytes: &[u8]) {
        unsafe { (*(&raw mut FRAMES.encoder)).write(bytes, collect) }
    }
}

static mut PLANT: [u8; BYTES_MAX] = [0; BYTES_MAX];

#[entry]
fn main() -> ! {
    let plant = unsafe { &mut *(&raw mut PLANT) };
    let length = read_full(&mut File::open(c"plant.blob").expect("plant.blob"), plant);
    let Ok(c) = (unsafe { power_up(&plant[..length], None) }) else { process::exit(2) };
    frames().out = Some(stdout().expect("stdout"));
    let mut from = File::open(c"seen.bin").expect("seen.bin");
    let mut seen = [0; TICK_BYTES];
    let mut ticks = 0u32;
    while read_full(&mut from, &mut seen) == TICK_BYTES {
        let before = *c.outputs;
        let (now, inputs) = recorded(&seen);
        heatwright_tick(c.config, c.state, now, &inputs, c.outputs);
        for event in diff(&before, c.outputs) {
            defmt::info!("{=u32} {}", ticks, event);
        }
        ticks += 1;
    }
    defmt::flush();
    process::exit(0)
}
