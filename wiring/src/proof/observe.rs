//! What is seen, in words.
//!
//! One sentence that stands alone: what is looked at, where, what is seen there. Names are tags and marks; the plant's own
//! names belong to the caller.

use crate::{
    net::{ActuatorSet, Network, Seen, Trouble, Watch, What},
    part::Actuator,
};

/// A watch in words: what is looked at and the terminal where.
pub fn watch(net: &Network, w: &Watch) -> String {
    let at = net.name(w.terminal);
    match w.what {
        What::Load(l) => format!("load {l:?} at {at}"),
        What::Coil => format!("coil at {at}"),
        What::Input(c) => format!("input {} at {at}", u16::from(c.0) + 1),
        What::Sensor(s) => format!("sensor input {} at {at}", u16::from(s.0) + 1),
        What::Signal(a) => format!("0-10 V input for output {} at {at}", u16::from(a.0) + 1),
        What::Bonded => format!("metal part at {at}"),
        What::Shield(row) => format!("shield of row {} at {at}", row + 1),
        What::Tie => format!("supply at {at}"),
    }
}

/// What is seen, in words.
pub fn seen(s: Seen) -> String {
    match s {
        Seen::Dead => "dead".into(),
        Seen::DeadButHot => "stopped, but still at line voltage to ground".into(),
        Seen::Live => "live".into(),
        Seen::LiveReversed => "live with its sides exchanged, or turning backwards".into(),
        Seen::Odd(permille) => format!("at {:.1} % of its rated volts", f64::from(permille) / 10.0),
        Seen::Open => "open".into(),
        Seen::Closed => "closed".into(),
        Seen::Sneak => "joined through a load, coil or sensor".into(),
        Seen::Foreign => "touched by another supply's voltage".into(),
        Seen::Nothing => "nothing connected".into(),
        Seen::Id(i) => format!("number {}", u16::from(i) + 1),
        Seen::IdReversed(i) => format!("number {} with plus and minus exchanged", u16::from(i) + 1),
        Seen::Joined => "its terminals joined".into(),
        Seen::Mixed => "more than one at once".into(),
        Seen::Bonded => "on ground".into(),
        Seen::Loose => "not on ground".into(),
        Seen::Ends(n) => format!("{n} ends on ground"),
        Seen::TieNone => "no pole on ground".into(),
        Seen::TieHot => "its live pole on ground".into(),
        Seen::TieReturn => "its return pole on ground".into(),
        Seen::TieOther => "its system on ground at neither pole".into(),
    }
}

/// A trouble in words.
pub fn trouble(net: &Network, t: Trouble) -> String {
    match t {
        Trouble::Short { a, b, volts } => format!("{volts} V shorted between {} and {}", net.name(a), net.name(b)),
        Trouble::SuppliesJoined { a, b } => format!("two supplies joined at {} and {}", net.name(a), net.name(b)),
        Trouble::WeakCoil { at } => format!("coil at {} stands between drop-out and pull-in", net.name(at)),
        Trouble::Unsettled { at } => format!("coil at {} never comes to rest", net.name(at)),
        Trouble::Latching { at } => format!("coil at {} holds itself", net.name(at)),
    }
}

/// The actuators of a list that act, in words.
pub fn position(actuators: &[Actuator], set: &ActuatorSet) -> String {
    let on: Vec<String> = actuators.iter().filter(|a| set.get(**a)).map(|a| format!("{a:?}")).collect();
    if on.is_empty() { "nothing acts".into() } else { on.join(", ") }
}
