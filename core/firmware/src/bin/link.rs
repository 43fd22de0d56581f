//! The controller at the other end of a link: questions on the emulator's standard input, answers on its standard output.
//!
//! The configuration block is read from `plant.blob` in the emulator's working folder. One that is refused is answered for with
//! its fault, and no tick is made on it.
#![no_std]
#![no_main]

use heatwright_core::{
    blob,
    blob::BYTES_MAX,
    link::{Answer, Ask, Receiver, serve},
};
use heatwright_firmware::{entry, power_up};
use semihosting::{
    fs::File,
    io::{self, Read, Write},
    process,
};

#[panic_handler]
fn panic(info: &core::panic::PanicInfo<'_>) -> ! {
    semihosting::eprintln!("{info}");
    process::exit(101)
}

static mut PLANT: [u8; BYTES_MAX] = [0; BYTES_MAX];

#[entry]
fn main() -> ! {
    let plant = unsafe { &mut *(&raw mut PLANT) };
    let mut file = File::open(c"plant.blob").expect("plant.blob");
    let mut length = 0;
    while let Ok(n @ 1..) = file.read(&mut plant[length..]) {
        length += n;
    }
    let block = &plant[..length];
    let mut c = unsafe { power_up(block, None) };
    let (mut stdin, mut stdout) = (io::stdin().expect("stdin"), io::stdout().expect("stdout"));
    let mut receiver = Receiver::default();
    let mut bytes = [0; 64];
    loop {
        let n = stdin.read(&mut bytes).unwrap_or(0);
        if n == 0 {
            process::exit(0)
        }
        for byte in &bytes[..n] {
            let Some(m) = receiver.take(*byte) else { continue };
            let frame = match &mut c {
                Ok(c) => serve(&m, blob::fingerprint(block), c.config, c.state, c.outputs),
                Err(fault) => match m {
                    Ok(m) if Ask::read(&m) == Some(Ask::Hello) => {
                        Answer::Hello { version: blob::VERSION, fingerprint: 0, fault: fault.code() }.frame(m.sequence)
                    }
                    Ok(m) => Answer::Unclear.frame(m.sequence),
                    Err(_) => Answer::Unclear.frame(0),
                },
            };
            stdout.write_all(&frame).expect("stdout");
        }
    }
}
