//! The proof: what is live and what each input sees must equal what the points say, whatever switches do.
//!
//! Read from rows and devices only (`net`); what must be seen comes from the job (`expect`). Three parts:
//! (a) every free boolean of every independent block: up to [`Limits::listed_max`] positions one by one, beyond that all of them by the
//! cases that its contacts tell apart (`cases`), and where that is too large all single and pair flips round two base positions and
//! seeded samples, with the counts told; (b) given positions of the whole plant;
//! (c) with any safety of a boiler's limit pair open, its burner has no power in any position of anything else, and no single
//! relay's welded contact alone changes that, or it is named.
//! `mutate` asks whether the proof would see a fault: every wire out, pairs swapped or shorted, each conductor to ground,
//! polarity crossed, neutrals lost, contacts welded or open, coils open. `bench` judges each, `score` counts.
//!
//! What it deliberately does not do: timing, wear, two independent faults at once, faults inside the user's equipment. It
//! proves a plan, not an installation.

mod bench;
mod cases;
pub mod expect;
pub mod mutate;
pub mod observe;
pub mod positions;
mod prove;
mod score;

pub use expect::{Expectation, Want};
pub use mutate::{Mutant, MutantKind, Score, Verdict, mutate, mutate_all};
pub use prove::{BlockProof, Fault, Limits, Proof, limit_pairs, patterns, prove, single_relays};
