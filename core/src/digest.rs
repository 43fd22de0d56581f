//! One number that stands for a state: two runs that end in the same state end in the same number.
//!
//! FNV-1a, 64 bits, `h = (h xor byte) * 0x100000001b3` from 0xcbf29ce484222325 (published by its authors), over the state as
//! `Debug` writes it. That form takes in every field, however many there will be, and has no byte order, no padding and no
//! width of a pointer in it, so a board and a host agree. It is for comparison, not for security, and it is slow: a host or a
//! test asks for it, no tick does.

use crate::state::State;
use core::fmt::{self, Write};

struct Fnv(u64);

impl Write for Fnv {
    fn write_str(&mut self, s: &str) -> fmt::Result {
        for b in s.bytes() {
            self.0 = (self.0 ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3);
        }
        Ok(())
    }
}

impl State {
    /// The number that stands for this state.
    pub fn digest(&self) -> u64 {
        let mut h = Fnv(0xcbf2_9ce4_8422_2325);
        // Writing into a number cannot fail.
        let _ = write!(h, "{self:?}");
        h.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blob;

    #[test]
    fn published_values() {
        // Test vectors of the authors of FNV for the 64-bit FNV-1a: "", "a", "foobar".
        for (text, value) in
            [("", 0xcbf2_9ce4_8422_2325), ("a", 0xaf63_dc4c_8601_ec8c), ("foobar", 0x8594_4171_f739_67e8)]
        {
            let mut h = Fnv(0xcbf2_9ce4_8422_2325);
            h.write_str(text).unwrap();
            assert_eq!(h.0, value, "{text}");
        }
    }

    #[test]
    fn another_state_has_another_number() {
        let a = State::new(&blob::blank(), None);
        let mut b = a.clone();
        assert_eq!(a.digest(), b.digest());
        b.held.contacts = 1;
        assert_ne!(a.digest(), b.digest());
    }
}
