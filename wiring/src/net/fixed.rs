//! All watches of a network, and what is seen at those that no switch changes: bonding, shields, which pole of a supply
//! stands on ground, primaries of transformers on rails. What an ohmmeter shows with the power off is in `off`.
//!
//! A metal part is bonded through wires and bonds only; a path over a contact does not count. A shield's ends are looked at
//! without the shields themselves, so that a shield cannot prove its own far end.

use super::{
    components::Groups,
    joins::Joined,
    off,
    rebuild::{Changes, Network},
    watch::{DEAD_MAX, LIVE_MAX, LIVE_MIN, Seen, Watch, What},
};
use crate::part::Part;

/// All watches with their part, and what is seen at those that no switch changes.
pub(super) fn watches(net: &Network, joined: &Joined, changes: &Changes) -> (Vec<(Watch, Option<usize>)>, Vec<Seen>) {
    let mut out = Vec::new();
    let mut seen = Vec::new();
    let earth = net.earths().next();
    for (i, p) in net.parts.iter().enumerate() {
        let mut add = |what, t, volts: f64, part: Option<usize>, s| {
            out.push((Watch { what, terminal: p.at(t), volts: volts.round().min(60_000.0) as u16 }, part));
            seen.push(s);
        };
        match p.part {
            Part::Load { a, what, volts, .. } => add(What::Load(what), a, volts, Some(i), Seen::Dead),
            Part::Load3 { lines, what, volts, .. } => add(What::Load(what), lines[0], volts, Some(i), Seen::Dead),
            Part::Coil { a, volts, .. } => add(What::Coil, a, volts, Some(i), Seen::Dead),
            Part::Input { a, contact, .. } => add(What::Input(contact), a, 0.0, Some(i), Seen::Open),
            Part::SensorInput { a, sensor, .. } => add(What::Sensor(sensor), a, 0.0, Some(i), Seen::Nothing),
            Part::SignalIn { plus, analog, .. } => add(What::Signal(analog), plus, 0.0, Some(i), Seen::Nothing),
            Part::Chassis(t) => {
                let bonded = earth.is_some_and(|e| joined.bonded[p.at(t) as usize] == joined.bonded[e as usize]);
                add(What::Bonded, t, 0.0, None, if bonded { Seen::Bonded } else { Seen::Loose });
            }
            Part::Source { hot, ret, .. } => add(What::Tie, hot, 0.0, None, tie(joined, p.at(hot), p.at(ret))),
            Part::Transformer { primary: [a, b], primary_volts, secondary: [hot, ret], .. } => {
                add(What::Tie, hot, 0.0, None, tie(joined, p.at(hot), p.at(ret)));
                let on = primary(joined, p.at(a), p.at(b), primary_volts);
                add(What::Primary, a, primary_volts, Some(i), on);
            }
            _ => {}
        }
    }
    off::watches(net, changes, &mut out, &mut seen);
    shields(net, changes, earth, &mut out, &mut seen);
    (out, seen)
}

fn tie(joined: &Joined, hot: u32, ret: u32) -> Seen {
    let Some(earth) = joined.earth else { return Seen::TieNone };
    let at = |t: u32| {
        let node = joined.node[t as usize];
        if node == earth { Some(0.0) } else { joined.rails.between(node, earth).map(|v| v.norm()) }
    };
    match (at(hot), at(ret)) {
        (_, Some(v)) if v < 1e-6 => Seen::TieReturn,
        (Some(v), _) if v < 1e-6 => Seen::TieHot,
        (None, None) => Seen::TieNone,
        _ => Seen::TieOther,
    }
}

/// The primary of a transformer that stands on rails. One that does not is seen by its block.
fn primary(joined: &Joined, a: u32, b: u32, volts: f64) -> Seen {
    let node = |t: u32| joined.node[t as usize];
    let (a, b) = (node(a), node(b));
    let share = joined.rails.between(a, b).map_or(0.0, |v| v.norm()) / volts;
    let high = |n: u32| joined.earth.and_then(|e| joined.rails.between(n, e)).map(|v| v.norm() > 0.5 * volts);
    if share <= DEAD_MAX {
        if high(a) == Some(true) { Seen::DeadButHot } else { Seen::Dead }
    } else if !(LIVE_MIN..=LIVE_MAX).contains(&share) {
        Seen::Odd((share * 1000.0).round().min(60_000.0) as u16)
    } else if high(a) == Some(false) && high(b) == Some(true) {
        Seen::LiveReversed
    } else {
        Seen::Live
    }
}

/// Ends of each shield that stand on ground without the shield's own help.
fn shields(
    net: &Network,
    changes: &Changes,
    earth: Option<u32>,
    out: &mut Vec<(Watch, Option<usize>)>,
    seen: &mut Vec<Seen>,
) {
    if !net.wires.iter().any(|w| w.shield) {
        return;
    }
    let mut g = Groups::new(net.terminal_count());
    for w in net.wires_with(changes).filter(|w| !w.shield) {
        g.join(w.ends[0], w.ends[1]);
    }
    for (a, b) in &changes.joined {
        g.join(*a, *b);
    }
    for p in &net.parts {
        if let Part::Bond(a, b) = p.part {
            g.join(p.at(a), p.at(b));
        }
    }
    for (row, w) in net.wires.iter().enumerate().filter(|(_, w)| w.shield) {
        let mut ends = 0;
        if let Some(e) = earth.filter(|_| !changes.without.contains(&row)) {
            let e = g.find(e);
            let landed = |end: usize| {
                changes.landed.iter().rev().find(|(r, k, _)| (*r, *k) == (row, end)).map_or(w.ends[end], |l| l.2)
            };
            ends = [landed(0), landed(1)].into_iter().filter(|t| g.find(*t) == e).count() as u8;
        }
        out.push((Watch { what: What::Shield(row as u16), terminal: w.ends[0], volts: 0 }, None));
        seen.push(Seen::Ends(ends));
    }
}
