//! A board on a serial port: 115200 baud, eight bits, no parity, nothing of the terminal's own between. The board holds its
//! configuration in flash; it must be this plant's.

use super::{Linked, Refused};
use heatwright_core::Config;
use rustix::{
    fs::{Mode, OFlags, open},
    termios::{OptionalActions, QueueSelector, tcflush, tcgetattr, tcsetattr},
};
use std::{fs::File, io, path::Path};

/// Bits a second.
const BAUD: u32 = 115_200;

/// Opens the port and greets the board.
pub fn open_port(port: &Path, config: &Config) -> Result<Linked, Refused> {
    let opened = || -> io::Result<(File, File)> {
        let fd = open(port, OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC, Mode::empty())?;
        let mut how = tcgetattr(&fd)?;
        how.make_raw();
        how.set_speed(BAUD)?;
        tcsetattr(&fd, OptionalActions::Now, &how)?;
        // What a board said before it was asked is no answer.
        tcflush(&fd, QueueSelector::IOFlush)?;
        let to = File::from(fd);
        let from = to.try_clone()?;
        Ok((to, from))
    };
    let (to, from) =
        opened().map_err(|e| Refused::Unopened { what: port.display().to_string(), why: crate::files::why(&e) })?;
    Linked::greet(to, from, config, None)
}
