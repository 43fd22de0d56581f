//! What an ohmmeter shows with the power off and everything at rest.
//!
//! Two tests that a technician makes before power is put on, and that show what no voltage does:
//! * *Continuity* across each contact: open or closed as it must be at rest. It tells a welded contact that a twin in series
//!   covers, and a jumper across a safety or a relay.
//! * *Insulation* of each circuit to ground and to all others, with the main bonding jumper lifted. It tells a first ground
//!   fault of a circuit that floats, two floating circuits that touch, and a neutral grounded a second time
//!   (NEC 250.24(A)(5), from memory: the neutral is bonded at the service only).
//!
//! A circuit here is a supply, a contact input, a sensor input or a 0-10 V output with everything that conducts from it: wires,
//! bonds, contacts that are closed at rest, loads, coils, elements and windings; not from one winding of a transformer to
//! the other. An actuator whose 0-10 V common is its supply's common inside has its signal leads off for the test. Contacts
//! of one device in series without a terminal between them are tested as one.
//!
//! What it deliberately does not do: resistance in numbers, capacitance, the controller's own inner joints.

use super::{
    components::Groups,
    joins::fixed_position,
    rebuild::{Changes, Network, terminals},
    watch::{Seen, Watch, What},
};
use crate::{
    device::DeviceId,
    part::{Part, Rest},
};
use std::collections::HashMap;

/// What a circuit is.
#[derive(Clone, Copy, PartialEq)]
enum Sort {
    Supply,
    Input,
    Sensor,
    Signal,
}

/// Adds the watches of both tests with what they show.
pub(super) fn watches(net: &Network, changes: &Changes, out: &mut Vec<(Watch, Option<usize>)>, seen: &mut Vec<Seen>) {
    let mut at_rest = at_rest(net, changes);
    for (t, s) in continuity(net, &mut at_rest) {
        out.push((Watch { what: What::Continuity, terminal: t, volts: 0 }, None));
        seen.push(s);
    }
    let first = out.len();
    for (t, volts, s) in insulation(net, at_rest, first) {
        out.push((Watch { what: What::Insulation, terminal: t, volts }, None));
        seen.push(s);
    }
}

/// Terminals joined by metal at rest, the main bonding jumper and signal leads on a shared common left out.
fn at_rest(net: &Network, changes: &Changes) -> Groups {
    let mut g = Groups::new(net.terminal_count());
    for w in net.wires_with(changes).filter(|w| !w.shield) {
        g.join(w.ends[0], w.ends[1]);
    }
    for (a, b) in &changes.joined {
        g.join(*a, *b);
    }
    let mut lifted = main_jumpers(net);
    lifted.extend(signal_commons(net));
    for (i, p) in net.parts.iter().enumerate() {
        match p.part {
            Part::Bond(a, b) if !lifted.contains(&i) => g.join(p.at(a), p.at(b)),
            Part::Contact { a, b, rest, .. } if fixed_position(net, i, changes).unwrap_or(rest == Rest::Closed) => {
                g.join(p.at(a), p.at(b));
            }
            _ => {}
        }
    }
    g
}

/// Bonds from the return of a source to the ground bar of the same device.
fn main_jumpers(net: &Network) -> Vec<usize> {
    let returns: Vec<u32> = net
        .parts
        .iter()
        .filter_map(|p| if let Part::Source { ret, .. } = p.part { Some(p.at(ret)) } else { None })
        .collect();
    let earths: Vec<u32> = net.earths().collect();
    let joins = |a: u32, b: u32| returns.contains(&a) && earths.contains(&b);
    let bond = |(i, p): (usize, &super::rebuild::Placed)| match p.part {
        Part::Bond(a, b) if joins(p.at(a), p.at(b)) || joins(p.at(b), p.at(a)) => Some(i),
        _ => None,
    };
    net.parts.iter().enumerate().filter_map(bond).collect()
}

/// Bonds inside an actuator between its signal's common and its supply.
fn signal_commons(net: &Network) -> Vec<usize> {
    let mut out = Vec::new();
    for s in &net.parts {
        let Part::SignalIn { minus, .. } = s.part else { continue };
        for (i, p) in net.parts.iter().enumerate().filter(|(_, p)| p.device == s.device) {
            if let Part::Bond(a, b) = p.part
                && (a == minus || b == minus)
            {
                out.push(i);
            }
        }
    }
    out
}

/// Each contact: the terminal where it is tested and what shows.
fn continuity(net: &Network, g: &mut Groups) -> Vec<(u32, Seen)> {
    // Ends of parts at each terminal, and whether a wire lands there.
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); net.terminal_count()];
    for (i, p) in net.parts.iter().enumerate() {
        let (ts, n) = terminals(&p.part);
        for t in &ts[..n] {
            at[p.at(*t) as usize].push(i);
        }
    }
    let mut wired = vec![false; net.terminal_count()];
    for w in &net.wires {
        for t in w.ends {
            wired[t as usize] = true;
        }
    }
    let ends = |i: usize| match net.parts[i].part {
        Part::Contact { a, b, rest, .. } => Some((net.parts[i].at(a), net.parts[i].at(b), rest == Rest::Closed)),
        _ => None,
    };
    let mut out = Vec::new();
    for i in 0..net.parts.len() {
        let Some((a, b, mut closed)) = ends(i) else { continue };
        // Past a joint that only this contact and one more stand on: the two are one between their terminals.
        let mut past = |t: u32| match at[t as usize][..] {
            [x, y] if !wired[t as usize] => match ends(if x == i { y } else { x }) {
                Some((c, d, also)) => {
                    closed &= also;
                    if c == t { d } else { c }
                }
                None => t,
            },
            _ => t,
        };
        let (a_far, b_far) = (past(a), past(b));
        out.push((
            a,
            match (closed, g.find(a_far) == g.find(b_far)) {
                (true, true) | (false, false) => Seen::AtRest,
                (false, true) => Seen::Bypassed,
                (true, false) => Seen::Parted,
            },
        ));
    }
    out
}

/// Each circuit: the terminal where it is tested and what shows. `first` is the place of the first among all watches.
fn insulation(net: &Network, mut g: Groups, first: usize) -> Vec<(u32, u16, Seen)> {
    let mut circuits: Vec<(u32, u32, Sort, DeviceId)> = Vec::new();
    // Rated volts of a transformer's secondary, which alone may stand on ground.
    let mut volts: HashMap<u32, u16> = HashMap::new();
    for p in &net.parts {
        let (ts, n) = terminals(&p.part);
        let (a, b) = (p.at(ts[0]), p.at(ts[1]));
        let sort = match p.part {
            // The phases of one service are one supply.
            Part::Source { .. } if circuits.iter().any(|c| c.2 == Sort::Supply && c.1 == b) => None,
            Part::Source { .. } => Some((a, b, Sort::Supply)),
            Part::Transformer { .. } => Some((p.at(ts[2]), p.at(ts[3]), Sort::Supply)),
            Part::Input { .. } => Some((a, b, Sort::Input)),
            Part::SensorInput { .. } => Some((a, b, Sort::Sensor)),
            Part::SignalOut { .. } => Some((a, b, Sort::Signal)),
            _ => None,
        };
        if let Some((a, b, s)) = sort {
            let rated = if let Part::Transformer { secondary_volts, .. } = p.part { secondary_volts } else { 0.0 };
            volts.insert(a, rated.round().min(60_000.0) as u16);
            circuits.push((a, b, s, p.device));
        }
        match p.part {
            Part::Bond(..) | Part::Contact { .. } | Part::Chassis(_) | Part::Earth(_) => {}
            Part::Transformer { .. } => {
                g.join(a, b);
                g.join(p.at(ts[2]), p.at(ts[3]));
            }
            _ => ts[1..n].iter().for_each(|t| g.join(a, p.at(*t))),
        }
    }
    let earths: Vec<u32> = net.earths().map(|e| g.find(e)).collect();
    let mut members: HashMap<u32, Vec<usize>> = HashMap::new();
    for (i, (a, ..)) in circuits.iter().enumerate() {
        members.entry(g.find(*a)).or_default().push(i);
    }
    circuits
        .iter()
        .map(|(a, _, sort, device)| {
            let island = g.find(*a);
            let all = &members[&island];
            let place = all.first().map_or(0, |i| (first + i).min(usize::from(u16::MAX)) as u16);
            let alike =
                *sort != Sort::Supply && all.iter().all(|i| circuits[*i].2 == *sort && circuits[*i].3 == *device);
            let s = if earths.contains(&island) {
                Seen::OnGround
            } else if all.len() == 1 {
                Seen::Clear
            } else if alike {
                Seen::Among(place)
            } else {
                Seen::Touches(place)
            };
            (*a, volts[a], s)
        })
        .collect()
}
