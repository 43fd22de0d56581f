//! The tick as messages: how a host and a board talk about one controller, whatever carries the bytes.
//!
//! ```text
//!   frame     COBS of the body, then one zero byte
//!   body      sequence (u8) | kind (u8) | payload | CRC-32 of all before (u32)
//!
//!   kind  payload                                                      from
//!     1   -                                                            host    who are you?
//!     2   moment in tenths of a second (u32), inputs (record)          host    tick
//!     3   -                                                            host    what is the digest of your state?
//!     4   -                                                            host    begin as at power-up, nothing remembered
//!   129   version of the block (u16), its fingerprint (u32), fault (u8), its detail (u16)   board
//!   130   outputs (record), next due in tenths of a second (u32, all ones: never)           board
//!   131   digest (u64)                                                 board
//!   132   -                                                            board   that frame could not be read
//! ```
//!
//! All numbers are little endian. A host asks, a board answers with the sequence number of the question; there is one question
//! at a time. A frame that is cut, spoilt or of an unknown kind is never taken for another: a tick that may or may not have
//! been made must not be asked again, so a host that gets no good answer gives up. A host sends a zero ahead of its first
//! question, which ends what another host left half sent, and begins: a state that has run would not do as its own. COBS (Cheshire and Baker 1999): no zero
//! stands inside a frame, so that a receiver finds the next one after any noise. It is written here because it is thirty
//! lines that must not panic. Not here: ports, time limits, repetition.

use crate::{blob::CRC, config::Config, controller, inputs::Inputs, outputs::Outputs, state::State, units::Instant};
use heapless::Vec;

/// Bytes of the longest body.
pub const BODY_BYTES: usize = 2 + Outputs::RECORD_BYTES + 4 + 4;
/// Bytes of the longest frame.
pub const FRAME_BYTES: usize = BODY_BYTES + 2;

// A COBS group counts to 254; with shorter bodies every group ends at a zero or at the end.
const _: () = assert!(BODY_BYTES < 254);

/// Bytes to be sent.
pub type Frame = Vec<u8, FRAME_BYTES>;
type Body = Vec<u8, BODY_BYTES>;

/// What a host asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ask {
    /// Who are you?
    Hello,
    /// Make a tick.
    Tick {
        /// The moment.
        now: Instant,
        /// What is seen.
        inputs: Inputs,
    },
    /// What is the digest of your state?
    Digest,
    /// Begin as at power-up, with nothing remembered: every output to its safe side, the time from zero. Answered like `Hello`.
    Begin,
}

/// What a board answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    /// Which configuration it runs, or why it runs none.
    Hello {
        /// Version of the block that it reads.
        version: u16,
        /// Fingerprint of the block that it runs.
        fingerprint: u32,
        /// Number and detail of the fault of the block; zero while it runs.
        fault: (u8, u16),
    },
    /// What it states after the tick.
    Stated {
        /// Every output.
        outputs: Outputs,
        /// When the next tick is due.
        due: Option<Instant>,
    },
    /// The digest of its state.
    Digest(u64),
    /// The frame could not be read, or not in this state.
    Unclear,
}

/// A body that came through whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// Sequence number.
    pub sequence: u8,
    kind: u8,
    payload: Body,
}

/// Bytes that are no message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Garbled;

const NEVER: u32 = u32::MAX;

fn frame(sequence: u8, kind: u8, payload: &[&[u8]]) -> Frame {
    let mut body = Body::new();
    // Every payload of ours fits: a test frames the longest.
    let _ = body.extend_from_slice(&[sequence, kind]);
    for part in payload {
        let _ = body.extend_from_slice(part);
    }
    let _ = body.extend_from_slice(&CRC.checksum(&body).to_le_bytes());
    stuff(&body)
}

/// COBS: each zero is replaced by the distance to the next.
fn stuff(body: &[u8]) -> Frame {
    let mut out = Frame::new();
    for group in body.split(|b| *b == 0) {
        let _ = out.push(u8::try_from(group.len()).unwrap_or(u8::MAX).saturating_add(1));
        let _ = out.extend_from_slice(group);
    }
    let _ = out.push(0);
    out
}

/// The other way; `stuffed` is without the zero at its end.
fn unstuff(stuffed: &[u8]) -> Result<Body, Garbled> {
    let mut out = Body::new();
    let mut rest = stuffed;
    while let Some((code, after)) = rest.split_first() {
        let group = usize::from(*code).checked_sub(1).ok_or(Garbled)?;
        let (group, after) = after.split_at_checked(group).ok_or(Garbled)?;
        out.extend_from_slice(group).map_err(|_| Garbled)?;
        if !after.is_empty() {
            out.push(0).map_err(|_| Garbled)?;
        }
        rest = after;
    }
    Ok(out)
}

impl Ask {
    /// The frame of the question.
    pub fn frame(&self, sequence: u8) -> Frame {
        match self {
            Ask::Hello => frame(sequence, 1, &[]),
            Ask::Tick { now, inputs } => frame(sequence, 2, &[&now.tenths().to_le_bytes(), &inputs.encode()]),
            Ask::Digest => frame(sequence, 3, &[]),
            Ask::Begin => frame(sequence, 4, &[]),
        }
    }

    /// The question of a message.
    pub fn read(m: &Message) -> Option<Self> {
        match (m.kind, m.payload.as_slice()) {
            (1, []) => Some(Ask::Hello),
            (2, p) => {
                let (now, inputs) = p.split_at_checked(4)?;
                let now = Instant::from_tenths(u32::from_le_bytes(now.try_into().ok()?));
                Some(Ask::Tick { now, inputs: Inputs::decode(inputs.try_into().ok()?) })
            }
            (3, []) => Some(Ask::Digest),
            (4, []) => Some(Ask::Begin),
            _ => None,
        }
    }
}

impl Answer {
    /// The frame of the answer.
    pub fn frame(&self, sequence: u8) -> Frame {
        match self {
            Answer::Hello { version, fingerprint, fault } => frame(
                sequence,
                129,
                &[&version.to_le_bytes(), &fingerprint.to_le_bytes(), &[fault.0], &fault.1.to_le_bytes()],
            ),
            Answer::Stated { outputs, due } => {
                let due = due.map_or(NEVER, Instant::tenths);
                frame(sequence, 130, &[&outputs.encode(), &due.to_le_bytes()])
            }
            Answer::Digest(d) => frame(sequence, 131, &[&d.to_le_bytes()]),
            Answer::Unclear => frame(sequence, 132, &[]),
        }
    }

    /// The answer of a message.
    pub fn read(m: &Message) -> Option<Self> {
        match (m.kind, m.payload.as_slice()) {
            (129, [v0, v1, f0, f1, f2, f3, code, d0, d1]) => Some(Answer::Hello {
                version: u16::from_le_bytes([*v0, *v1]),
                fingerprint: u32::from_le_bytes([*f0, *f1, *f2, *f3]),
                fault: (*code, u16::from_le_bytes([*d0, *d1])),
            }),
            (130, p) => {
                let (outputs, due) = p.split_at_checked(Outputs::RECORD_BYTES)?;
                let due = u32::from_le_bytes(due.try_into().ok()?);
                Some(Answer::Stated {
                    outputs: Outputs::decode(outputs.try_into().ok()?)?,
                    due: (due != NEVER).then_some(Instant::from_tenths(due)),
                })
            }
            (131, p) => Some(Answer::Digest(u64::from_le_bytes(p.try_into().ok()?))),
            (132, []) => Some(Answer::Unclear),
            _ => None,
        }
    }
}

/// Finds messages in a stream of bytes.
#[derive(Clone, Debug, Default)]
pub struct Receiver {
    bytes: Frame,
    too_long: bool,
}

impl Receiver {
    /// Takes the next byte; at the end of a frame gives its message. Empty frames are passed over.
    pub fn take(&mut self, byte: u8) -> Option<Result<Message, Garbled>> {
        if byte != 0 {
            self.too_long |= self.bytes.push(byte).is_err();
            return None;
        }
        let read = if self.too_long { Err(Garbled) } else { message(&self.bytes) };
        let empty = self.bytes.is_empty();
        self.bytes.clear();
        self.too_long = false;
        (!empty).then_some(read)
    }
}

fn message(stuffed: &[u8]) -> Result<Message, Garbled> {
    let body = unstuff(stuffed)?;
    let (body, sum) = body.split_last_chunk::<4>().ok_or(Garbled)?;
    if u32::from_le_bytes(*sum) != CRC.checksum(body) {
        return Err(Garbled);
    }
    let [sequence, kind, payload @ ..] = body else { return Err(Garbled) };
    Ok(Message { sequence: *sequence, kind: *kind, payload: Body::from_slice(payload).map_err(|_| Garbled)? })
}

/// The board's side: answers one message.
pub fn serve(
    m: &Result<Message, Garbled>,
    fingerprint: u32,
    config: &Config,
    state: &mut State,
    outputs: &mut Outputs,
) -> Frame {
    let Ok(m) = m else { return Answer::Unclear.frame(0) };
    let hello = Answer::Hello { version: crate::blob::VERSION, fingerprint, fault: (0, 0) };
    match Ask::read(m) {
        Some(Ask::Hello) => hello,
        Some(Ask::Begin) => {
            *state = State::new(config, None);
            *outputs = Outputs::SAFE;
            hello
        }
        Some(Ask::Tick { now, inputs }) => {
            controller::tick(config, state, now, &inputs, outputs);
            Answer::Stated { outputs: *outputs, due: controller::next_due(state) }
        }
        Some(Ask::Digest) => Answer::Digest(state.digest()),
        None => Answer::Unclear,
    }
    .frame(m.sequence)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{blob, inputs::Reading, units::Temp};
    use proptest::prelude::*;

    fn received(bytes: &[u8]) -> heapless::Vec<Result<Message, Garbled>, 8> {
        let mut r = Receiver::default();
        bytes.iter().filter_map(|b| r.take(*b)).collect()
    }

    fn tick(contacts: u64, centi_c: i16) -> Ask {
        let mut inputs = Inputs { contacts, ..Inputs::default() };
        inputs.sensors[3] = Reading::At(Temp::from_centi_c(centi_c.max(-30_000)));
        Ask::Tick { now: Instant::from_s(77), inputs }
    }

    proptest! {
        #[test]
        fn a_message_comes_through_whatever_noise_went_before(contacts: u64, t: i16, s: u8, noise in prop::collection::vec(any::<u8>(), 0..300)) {
            let mut r = Receiver::default();
            for b in noise.iter().chain(&[0]) {
                let _ = r.take(*b);
            }
            let ask = tick(contacts, t);
            let frame = ask.frame(s);
            prop_assert_eq!(frame.iter().filter(|b| **b == 0).count(), 1);
            let mut got = None;
            for b in &frame {
                prop_assert!(got.is_none());
                got = r.take(*b);
            }
            let m = got.unwrap().unwrap();
            prop_assert_eq!((m.sequence, Ask::read(&m)), (s, Some(ask)));
        }

        #[test]
        fn a_flipped_bit_is_never_another_message(contacts: u64, t: i16, at: prop::sample::Index, bit in 0u8..8) {
            let mut frame = tick(contacts, t).frame(9);
            let i = at.index(frame.len());
            frame[i] ^= 1 << bit;
            let _ = frame.push(0);
            prop_assert!(received(&frame).iter().all(Result::is_err));
        }
    }

    #[test]
    fn every_answer_comes_back_and_the_longest_fits() {
        let hello = Answer::Hello { version: 1, fingerprint: 0x0102_0304, fault: (5, 0x0607) };
        let stated = Answer::Stated { outputs: Outputs::SAFE, due: Some(Instant::from_s(3)) };
        let never = Answer::Stated { outputs: Outputs::SAFE, due: None };
        for a in [hello, stated, never, Answer::Digest(0x1122_3344_5566_7788), Answer::Unclear] {
            let frame = a.frame(200);
            let got = received(&frame);
            let m = got.first().unwrap().as_ref().unwrap();
            assert_eq!((m.sequence, Answer::read(m)), (200, Some(a)));
        }
        assert_eq!(stuff(&[0xFF; BODY_BYTES]).len(), FRAME_BYTES);
        assert_eq!(stuff(&[0; BODY_BYTES]).len(), FRAME_BYTES);
    }

    #[test]
    fn a_frame_with_a_byte_too_many_is_garbled_and_the_next_is_not() {
        let stated = Answer::Stated { outputs: Outputs::SAFE, due: Some(Instant::from_s(3)) };
        let whole = stated.frame(200);
        let (end, body) = whole.split_last().unwrap();
        // What fits is a whole message; the bytes past it are not to be overlooked.
        let mut last = None;
        let mut r = Receiver::default();
        for byte in body.iter().copied().chain(core::iter::repeat_n(1, FRAME_BYTES + 1 - body.len())).chain([*end]) {
            last = r.take(byte);
        }
        assert_eq!(last, Some(Err(Garbled)));
        for byte in &whole {
            last = r.take(*byte);
        }
        assert!(matches!(last, Some(Ok(_))));
    }

    #[test]
    fn stuffing_as_published() {
        // Cheshire and Baker, "Consistent Overhead Byte Stuffing", examples: 00 -> 01 01; 11 22 00 33 -> 03 11 22 02 33.
        assert_eq!(stuff(&[0]), [1, 1, 0]);
        assert_eq!(stuff(&[0x11, 0x22, 0, 0x33]), [3, 0x11, 0x22, 2, 0x33, 0]);
        assert_eq!(unstuff(&[3, 0x11, 0x22, 2, 0x33]).unwrap(), [0x11, 0x22, 0, 0x33]);
        assert_eq!(unstuff(&[5, 1]), Err(Garbled));
    }

    #[test]
    fn a_board_answers_with_the_number_of_the_question() {
        let (mut state, mut outputs) = (State::new(&blob::blank(), None), Outputs::SAFE);
        let mut ask = |bytes: &[u8]| {
            let m = received(bytes).first().unwrap().clone();
            let answer =
                received(&serve(&m, 42, &blob::blank(), &mut state, &mut outputs)).first().unwrap().clone().unwrap();
            (answer.sequence, Answer::read(&answer).unwrap())
        };
        let hello = Answer::Hello { version: blob::VERSION, fingerprint: 42, fault: (0, 0) };
        assert_eq!(ask(&Ask::Hello.frame(7)), (7, hello));
        assert!(matches!(ask(&tick(0, 0).frame(8)), (8, Answer::Stated { .. })));
        assert!(matches!(ask(&Ask::Digest.frame(9)), (9, Answer::Digest(_))));
        assert_eq!(ask(&Answer::Unclear.frame(10)), (10, Answer::Unclear), "an answer is no question");
        assert_eq!(ask(&[3, 1, 2, 0]), (0, Answer::Unclear));
        let (_, ran) = ask(&Ask::Digest.frame(11));
        assert_eq!(ask(&Ask::Begin.frame(12)), (12, hello));
        let (_, began) = ask(&Ask::Digest.frame(13));
        assert_eq!(began, Answer::Digest(State::new(&blob::blank(), None).digest()), "as at power-up");
        assert_ne!(ran, began);
    }
}
