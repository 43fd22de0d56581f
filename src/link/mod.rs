//! A controller at the other end of a link: an emulated board or a real one.
//!
//! A run asks for a tick and waits for the answer, one question at a time; the messages are the core's. Beside it the same logic
//! ticks in this process on the same inputs, and every answer must state the same outputs: a link is used to show that a board
//! does what was simulated, so a board that does otherwise ends the run. No question is asked twice: whether a lost one was
//! ticked on cannot be known.

pub mod emulator;
#[cfg(unix)]
pub mod serial;

use crate::{names::Names, plant::lower::findings};
use heatwright_core::{
    Config, ConfigFault, Inputs, Instant, Outputs, State, Temp, ZoneId, blob,
    link::{Answer, Ask, Receiver},
};
use heatwright_sim::control::{Control, LinkError, mixed_target};
use std::{
    io::{Read, Write},
    sync::mpsc,
    thread,
    time::{Duration, Instant as Clock},
};

/// An answer takes well under a millisecond in an emulator and some 25 ms over a serial port; a board that has not answered by
/// then is lost, however much else it says.
const PATIENCE: Duration = Duration::from_secs(5);
/// Pieces of up to 512 bytes that wait to be read: what a board says without being asked is not heaped up.
const PIECES: usize = 64;

/// Why a link cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum Refused {
    /// It could not be opened.
    #[error("{what}: {why}")]
    Unopened {
        /// What could not be opened.
        what: String,
        /// Why.
        why: String,
    },
    /// The first question had no good answer.
    #[error("{0}")]
    Link(#[from] LinkError),
    /// The board refuses its configuration block.
    #[error("the board refuses its configuration block: {}", fault(*.code, *.detail))]
    Block {
        /// Number of the fault.
        code: u8,
        /// Its detail.
        detail: u16,
    },
    /// The board runs another configuration.
    #[error("the board runs the configuration {found:08x}; this plant's is {wanted:08x}")]
    Other {
        /// Its fingerprint.
        found: u32,
        /// Ours.
        wanted: u32,
    },
}

/// A fault of a block in words, from its number.
fn fault(code: u8, detail: u16) -> String {
    match code {
        1 | 2 => "none is written there".into(),
        3 => format!("it is of version {detail}, the board reads version {}", blob::VERSION),
        4 => "it is shorter or longer than it says".into(),
        5 => "a bit of it has changed since it was written".into(),
        6 => format!("byte {detail} of its body is no value that can stand there"),
        7 => "bytes are left over behind its end".into(),
        8 => match ConfigFault::from_code(detail) {
            Some(f) => findings::config(f, &Names::default()).sentence,
            None => "the configuration is not sound".into(),
        },
        _ => format!("fault {code}"),
    }
}

/// What keeps the other end alive; let go of last.
type Keep = Box<dyn Send>;

/// A controller behind a link.
pub struct Linked {
    to: Box<dyn Write + Send>,
    from: mpsc::Receiver<Vec<u8>>,
    unread: std::vec::IntoIter<u8>,
    receiver: Receiver,
    sequence: u8,
    due: Option<Instant>,
    ticks: u64,
    config: Config,
    twin: State,
    stated: Outputs,
    _keep: Option<Keep>,
}

impl Linked {
    /// Greets the controller at the other end of two streams, which must run `config`.
    pub fn greet(
        to: impl Write + Send + 'static,
        mut from: impl Read + Send + 'static,
        config: &Config,
        keep: Option<Keep>,
    ) -> Result<Self, Refused> {
        let (tell, told) = mpsc::sync_channel(PIECES);
        // A thread of its own, so that silence can be told from a slow answer.
        thread::spawn(move || {
            let mut bytes = [0; 512];
            while let Ok(n @ 1..) = from.read(&mut bytes) {
                if tell.send(bytes.get(..n).unwrap_or_default().to_vec()).is_err() {
                    break;
                }
            }
        });
        let mut linked = Self {
            to: Box::new(to),
            from: told,
            unread: Vec::new().into_iter(),
            receiver: Receiver::default(),
            sequence: 0,
            due: None,
            ticks: 0,
            config: config.clone(),
            twin: State::new(config, None),
            stated: Outputs::SAFE,
            _keep: keep,
        };
        let wanted = blob::fingerprint(&block(config));
        // Ends what another host may have left half sent.
        linked.to.write_all(&[0]).map_err(|_| LinkError::Closed)?;
        match linked.ask_first(&Ask::Hello, true)? {
            Answer::Hello { fault: (0, _), fingerprint, .. } if fingerprint == wanted => {}
            Answer::Hello { fault: (0, _), fingerprint, .. } => {
                return Err(Refused::Other { found: fingerprint, wanted });
            }
            Answer::Hello { fault: (code, detail), .. } => return Err(Refused::Block { code, detail }),
            Answer::Stated { .. } | Answer::Digest(_) | Answer::Unclear => return Err(LinkError::Garbled.into()),
        }
        match linked.ask(&Ask::Begin)? {
            Answer::Hello { .. } => Ok(linked),
            Answer::Stated { .. } | Answer::Digest(_) | Answer::Unclear => Err(LinkError::Garbled.into()),
        }
    }

    fn ask(&mut self, ask: &Ask) -> Result<Answer, LinkError> {
        self.ask_first(ask, false)
    }

    /// Asks; ahead of the `first` answer the other end may still be saying other things, which are passed over.
    fn ask_first(&mut self, ask: &Ask, first: bool) -> Result<Answer, LinkError> {
        self.sequence = self.sequence.wrapping_add(1);
        let frame = ask.frame(self.sequence);
        self.to.write_all(&frame).and_then(|()| self.to.flush()).map_err(|_| LinkError::Closed)?;
        let until = Clock::now() + PATIENCE;
        let mut heard = false;
        loop {
            for byte in self.unread.by_ref() {
                heard = true;
                match self.receiver.take(byte) {
                    None => {}
                    Some(Ok(m)) if m.sequence == self.sequence => return Answer::read(&m).ok_or(LinkError::Garbled),
                    Some(_) if first => {}
                    Some(_) => return Err(LinkError::Garbled),
                }
            }
            let lost = if heard { LinkError::Garbled } else { LinkError::Silent };
            let left = until.saturating_duration_since(Clock::now());
            if left.is_zero() {
                return Err(lost);
            }
            self.unread = match self.from.recv_timeout(left) {
                Ok(bytes) => bytes.into_iter(),
                Err(mpsc::RecvTimeoutError::Timeout) => return Err(lost),
                Err(mpsc::RecvTimeoutError::Disconnected) => return Err(LinkError::Closed),
            };
        }
    }

    /// The digest of the state at the other end, which must be that of the same logic here.
    pub fn digest(&mut self) -> Result<u64, LinkError> {
        match self.ask(&Ask::Digest)? {
            Answer::Digest(d) if d == self.twin.digest() => Ok(d),
            Answer::Digest(_) => Err(LinkError::Differs),
            Answer::Hello { .. } | Answer::Stated { .. } | Answer::Unclear => Err(LinkError::Garbled),
        }
    }

    /// Ticks made at the other end.
    pub fn ticks(&self) -> u64 {
        self.ticks
    }
}

impl Control for Linked {
    fn tick(&mut self, now: Instant, inputs: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        let Answer::Stated { outputs: stated, due } = self.ask(&Ask::Tick { now, inputs: *inputs })? else {
            return Err(LinkError::Garbled);
        };
        heatwright_core::tick(&self.config, &mut self.twin, now, inputs, &mut self.stated);
        if stated != self.stated || due != heatwright_core::next_due(&self.twin) {
            return Err(LinkError::Differs);
        }
        self.ticks += 1;
        self.due = due;
        *outputs = stated;
        Ok(())
    }

    fn next_due(&self) -> Option<Instant> {
        self.due
    }

    fn mixed_target(&self, zone: ZoneId) -> Option<Temp> {
        mixed_target(&self.config, &self.twin, zone)
    }
}

/// The configuration block of a plant.
fn block(config: &Config) -> Vec<u8> {
    let mut room = [0; blob::BYTES_MAX];
    // A configuration that a plant file makes fits: 'firmware' says so where it does not.
    let length = blob::encode(config, &mut room).unwrap_or_default();
    room.get(..length).unwrap_or_default().to_vec()
}
