//! The plant file, section by section: what each key means, what is allowed, what is taken where it is left out.
//!
//! One file a group of sections. Every default has a reason, and is listed as assumed when it is used. Figures without a
//! named source are common practice, no source, or our choice where the reason says so.

pub(super) mod boilers;
pub(super) mod power;
pub(super) mod pumps;
pub(super) mod safeties;
pub(super) mod schedules;
pub(super) mod settings;
pub(super) mod site;
pub(super) mod tank;
pub(super) mod water;
pub(super) mod zones;

use super::{
    cursor::{Cursor, nearest},
    quantity::Length,
};
use heatwright_core::{RelayId, Subject, limits};

/// Largest run of a conductor, in metres: 2000 ft. Our choice; longer ones are another building.
const RUN_MAX_M: f64 = 609.6;

/// A run of conductors one way.
fn run(c: &Cursor<'_>, doc: &str, default: Length) -> Length {
    c.or_by("run", doc, 0.0..=RUN_MAX_M, default, "the site's default run")
}

/// A pinned relay, counted from 1 in the file.
fn relay(c: &Cursor<'_>) -> Option<RelayId> {
    let n = c.whole(
        "relay",
        "Relay of the panel that this one is to have, counted from 1; left out: the next free one.",
        1..=limits::RELAYS as i64,
    )?;
    u8::try_from(n - 1).ok().map(RelayId)
}

/// The space of a circuit's breaker in a panelboard that is there already.
fn space(c: &Cursor<'_>, key: &'static str, of: &str) -> Option<u8> {
    let doc = format!(
        "First space of {of} in the distribution panel, further poles below it; left out: planned, and each sheet leaves \
         room for the real one."
    );
    c.whole(key, &doc, 1..=84).and_then(|n| u8::try_from(n).ok())
}

/// The id of a kind that is nearest to what was written, as a hint.
pub(super) fn near_id(c: &Cursor<'_>, given: &str, of: impl Fn(Subject) -> bool) -> Option<String> {
    let names = c.ctx.names.borrow();
    let ids = names.iter().filter(|(s, _)| of(*s)).map(|(_, n)| n.id.as_str());
    nearest(given, ids).map(|near| format!("perhaps `{near}` is meant"))
}

/// The name for people; the id where none is written.
fn name(c: &Cursor<'_>, id: &str) -> String {
    let name = c.text_or("name", "Name on drawings and sheets; left out: its id.", id);
    c.ctx.names.borrow_mut().retitle(c.subject, &name);
    name
}
