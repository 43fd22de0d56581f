//! What is seen, in words.
//!
//! One sentence that stands alone: what is looked at, where, what is seen there. Names are tags and marks; the plant's own
//! names belong to the caller.

use super::{
    expect::Want,
    mutate::{Mutant, MutantKind, Verdict},
    prove::Fault,
};
use crate::{
    net::{ActuatorSet, Network, Seen, Trouble, Watch, What},
    part::{Actuator, Part},
};

/// A watch in words: what is looked at and the terminal where.
pub fn watch(net: &Network, w: &Watch) -> String {
    let at = net.name(w.terminal);
    match w.what {
        What::Load(l) => format!("{l} at {at}"),
        What::Coil => format!("coil at {at}"),
        What::Input(c) => format!("input {} at {at}", u16::from(c.0) + 1),
        What::Sensor(s) => format!("sensor input {} at {at}", u16::from(s.0) + 1),
        What::Signal(a) => format!("0-10 V input for output {} at {at}", u16::from(a.0) + 1),
        What::Bonded => format!("metal part at {at}"),
        What::Shield(row) => format!("shield of row {} at {at}", row + 1),
        What::Tie => format!("supply at {at}"),
        What::Primary => format!("primary at {at}"),
        What::Continuity => format!("ohmmeter across the contact at {at}, power off"),
        What::Insulation => format!("ohmmeter from the circuit at {at} to ground and all others, power off"),
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
        Seen::AtRest => "as it must be at rest".into(),
        Seen::Bypassed => "joined although it is open at rest".into(),
        Seen::Parted => "not joined although it is closed at rest".into(),
        Seen::Clear => "clear".into(),
        Seen::Among(_) => "joined with others of its kind".into(),
        Seen::Touches(_) => "joined with another circuit".into(),
        Seen::OnGround => "on ground".into(),
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

/// A fault of the proof in words. `actuators` are those whose position is told.
pub fn fault(net: &Network, f: &Fault, actuators: &[Actuator]) -> String {
    let during = |set, count: u64| {
        let more = if count > 1 { format!(" (and {} more positions)", count - 1) } else { String::new() };
        format!("while {}{more}", position(actuators, set))
    };
    match f {
        Fault::Missing(What::Load(l)) => format!("the plan has no {l}, which the job asks for"),
        Fault::Missing(what) => format!("the plan has no {what:?}, which the job asks for"),
        Fault::Wrong { watch: w, want, seen: s, position: p, count } => {
            format!("{}: {}, must be {}, {}", watch(net, w), seen(*s), wanted(want, p), during(p, *count))
        }
        Fault::Trouble { trouble: t, position: p, count } => format!("{}, {}", trouble(net, *t), during(p, *count)),
        Fault::Burns { boiler, safety, position: p } => format!(
            "burner of boiler {} has power with safety {} open, {}",
            u16::from(boiler.0) + 1,
            u16::from(safety.0) + 1,
            during(p, 1)
        ),
    }
}

/// What must be seen in this position, in words.
pub fn wanted(want: &Want, set: &ActuatorSet) -> String {
    match want {
        Want::Power(r) => seen(if r.holds(set) { Seen::Live } else { Seen::Dead }),
        Want::Contact(r) => seen(if r.holds(set) { Seen::Closed } else { Seen::Open }),
        Want::Id(i) => seen(Seen::Id(*i)),
        Want::Nothing => seen(Seen::Nothing),
        Want::Bonded => seen(Seen::Bonded),
        Want::OneEnd => "one end on ground".into(),
        Want::GroundedReturn => "on ground at its return pole or not at all".into(),
        Want::AtRest => seen(Seen::AtRest),
        Want::Clear => "clear of ground and of every other circuit".into(),
        Want::Apart => "clear of every other circuit".into(),
        Want::Coil => "its live side on the ungrounded conductor".into(),
        Want::Absent => "absent: the job has no such thing".into(),
    }
}

/// A kind of planted faults in words.
pub fn mutant_kind(k: MutantKind) -> &'static str {
    match k {
        MutantKind::Removed => "wire removed",
        MutantKind::Swapped => "pair exchanged",
        MutantKind::Shorted => "pair shorted",
        MutantKind::Grounded => "wire to ground",
        MutantKind::Polarity => "line, neutral crossed",
        MutantKind::NeutralLost => "neutral lost",
        MutantKind::Welded => "contact welded",
        MutantKind::StaysOpen => "contact stays open",
        MutantKind::CoilOpen => "coil open",
    }
}

/// A planted fault in words, with its terminals.
pub fn mutant(net: &Network, m: Mutant) -> String {
    match m {
        Mutant::Removed(r) => format!("without {}", net.wire_name(r)),
        Mutant::Swapped([a, b], _) => format!("{} exchanged with {}", net.wire_name(a), net.wire_name(b)),
        Mutant::Shorted(a, b) => format!("{} touches {}", net.wire_name(a), net.wire_name(b)),
        Mutant::Grounded(r) => format!("{} on ground", net.wire_name(r)),
        Mutant::Crossed(a, b) => format!("wires of {} and {} exchanged", net.name(a), net.name(b)),
        Mutant::Lifted(t) => format!("all wires off {}", net.name(t)),
        Mutant::ReturnLost(d) => format!("return of the source of {} lost", net.tags[usize::from(d.0)]),
        Mutant::Welded(p) => format!("{} welded", net.part_name(p)),
        Mutant::StaysOpen(p) => format!("{} stays open", net.part_name(p)),
        Mutant::CoilOpen(p) => format!("coil {} open", net.part_name(p)),
    }
}

/// What kind of observation caught a mutant, in words; `None` for one that was not caught.
pub fn caught_by(v: &Verdict) -> Option<&'static str> {
    let of = |w: &Watch| match w.what {
        What::Load(_) => "power at a load",
        What::Coil => "coil in or out",
        What::Input(_) => "contact input",
        What::Sensor(_) => "sensor input",
        What::Signal(_) => "0-10 V input",
        What::Bonded => "metal part on ground",
        What::Shield(_) => "ends of a shield on ground",
        What::Tie => "pole of a supply on ground",
        What::Primary => "volts at a primary",
        What::Continuity => "continuity of a contact, power off",
        What::Insulation => "insulation of a circuit, power off",
    };
    match v {
        Verdict::Seen { watch, .. } | Verdict::SeenOpened { watch, .. } | Verdict::SeenOff { watch, .. } => {
            Some(of(watch))
        }
        Verdict::Trouble { trouble, .. } => Some(match trouble {
            Trouble::Short { .. } => "short: overcurrent device opens",
            Trouble::SuppliesJoined { .. } => "two supplies joined",
            Trouble::WeakCoil { .. } => "coil between in and out",
            Trouble::Unsettled { .. } => "coil that never rests",
            Trouble::Latching { .. } => "coil that holds itself",
        }),
        Verdict::SamePartition | Verdict::SameCircuit | Verdict::LeadsNowhere | Verdict::Survived { .. } => None,
    }
}

/// Every actuator that a network has, each once.
pub fn actuators(net: &Network) -> Vec<Actuator> {
    let mut out: Vec<Actuator> = net
        .parts
        .iter()
        .filter_map(|p| match p.part {
            Part::Contact { by, .. } if crate::net::actuators::is_free(by) => Some(by),
            _ => None,
        })
        .collect();
    out.sort_unstable();
    out.dedup();
    out
}

/// The actuators of a list that act, in words.
pub fn position(actuators: &[Actuator], set: &ActuatorSet) -> String {
    let on: Vec<String> = actuators.iter().filter(|a| set.get(**a)).map(ToString::to_string).collect();
    if on.is_empty() { "nothing acts".into() } else { on.join(", ") }
}
