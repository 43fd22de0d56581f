//! A board on a serial port: 115200 baud, eight bits, no parity, nothing of the terminal's own between. The board holds its
//! configuration in flash; it must be this plant's.

use super::{Linked, Refused};
use heatwright_core::Config;
use rustix::{
    event::{PollFd, PollFlags, Timespec, poll},
    fs::{Mode, OFlags, open},
    termios::{OptionalActions, QueueSelector, tcflush, tcgetattr, tcsetattr},
};
use std::{
    fs::File,
    io::{self, Read},
    path::Path,
    sync::{
        Arc,
        atomic::{AtomicBool, Ordering},
    },
};

/// Bits a second.
const BAUD: u32 = 115_200;
/// How long a reader waits before it looks whether it is still wanted.
const LOOK: Timespec = Timespec { tv_sec: 0, tv_nsec: 100_000_000 };

/// The reading end. It lets go of the port when the link has ended: one that kept reading would take the answers from the next.
struct Reading {
    port: File,
    ended: Arc<AtomicBool>,
}

impl Read for Reading {
    fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        loop {
            let ready = poll(&mut [PollFd::new(&self.port, PollFlags::IN)], Some(&LOOK))?;
            if self.ended.load(Ordering::Acquire) {
                return Ok(0);
            }
            if ready > 0 {
                return self.port.read(bytes);
            }
        }
    }
}

/// Tells the reader when the link is let go of.
struct Ends(Arc<AtomicBool>);

impl Drop for Ends {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Release);
    }
}

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
    let ended = Arc::new(AtomicBool::new(false));
    Linked::greet(to, Reading { port: from, ended: ended.clone() }, config, Some(Box::new(Ends(ended))))
}
