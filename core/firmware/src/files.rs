//! Files of the emulator.

use semihosting::{fs::File, io::Read};

/// Fills `room` from the file; fewer bytes only at its end.
pub fn read_full(file: &mut File, room: &mut [u8]) -> usize {
    let mut n = 0;
    while n < room.len() {
        match file.read(&mut room[n..]) {
            Ok(0) | Err(_) => break,
            Ok(more) => n += more,
        }
    }
    n
}
