//! Would the proof see it? Faults of wiring planted one at a time.
//!
//! Kinds: every wire left out; every two conductors of one raceway or cable exchanged, or touching; every wire on ground;
//! line and neutral crossed at every circuit of the panelboard, at every winding and at every load; each neutral and return
//! lost, the service's included; every contact welded or staying open; every coil open.
//!
//! Exchanging two wires at one end of their run is the same network as exchanging them at its other end, so each pair is
//! exchanged once.
//!
//! How a mutant is judged is in `bench`; the count by kind in `score`. What it deliberately does not do: two faults at once;
//! resistance of a bad joint.

use crate::{
    device::DeviceId,
    net::{Changes, Network},
    part::{Actuator, Part},
};

pub use super::{
    bench::{Bench, Verdict},
    score::{Score, mutate, mutate_all},
};

/// A planted fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Mutant {
    /// A wire is left out (row).
    Removed(usize),
    /// Two wires of one run are exchanged where both end: rows and the end (0 from, 1 to) of each.
    Swapped([usize; 2], [usize; 2]),
    /// Two wires of one run touch.
    Shorted(usize, usize),
    /// A wire touches ground.
    Grounded(usize),
    /// All wires on two terminals are exchanged.
    Crossed(u32, u32),
    /// All wires on a terminal are off.
    Lifted(u32),
    /// The return of a device's sources is lost ahead of it.
    ReturnLost(DeviceId),
    /// A contact does not open any more (part).
    Welded(usize),
    /// A contact does not close any more (part).
    StaysOpen(usize),
    /// A coil does not pull any more (part).
    CoilOpen(usize),
}

/// Kinds of mutants.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum MutantKind {
    /// Every wire left out once.
    Removed,
    /// Every two wires of one run exchanged.
    Swapped,
    /// Every two wires of one run touching.
    Shorted,
    /// Every wire touching ground.
    Grounded,
    /// The two sides crossed at every circuit, winding and load.
    Polarity,
    /// Each neutral or return lost.
    NeutralLost,
    /// Every contact welded closed.
    Welded,
    /// Every contact staying open.
    StaysOpen,
    /// Every coil open.
    CoilOpen,
}

impl MutantKind {
    /// All kinds, in the order of the score.
    pub const ALL: [Self; 9] = [
        Self::Removed,
        Self::Swapped,
        Self::Shorted,
        Self::Grounded,
        Self::Polarity,
        Self::NeutralLost,
        Self::Welded,
        Self::StaysOpen,
        Self::CoilOpen,
    ];
}

/// All mutants of a kind.
pub fn mutants(net: &Network, kind: MutantKind) -> Vec<Mutant> {
    let rows = 0..net.wire_count();
    let parts = 0..net.part_count();
    let contact = |p: &usize| matches!(net.parts[*p].part, Part::Contact { .. });
    match kind {
        MutantKind::Removed => rows.map(Mutant::Removed).collect(),
        MutantKind::Grounded => rows.filter(|r| !net.wires[*r].shield).map(Mutant::Grounded).collect(),
        MutantKind::Shorted => pairs(net).map(|(a, b)| Mutant::Shorted(a, b)).collect(),
        MutantKind::Swapped => pairs(net).map(|(a, b)| swap(net, a, b)).collect(),
        MutantKind::Polarity => crossed(net),
        MutantKind::NeutralLost => neutrals(net),
        MutantKind::Welded => parts.filter(contact).map(Mutant::Welded).collect(),
        MutantKind::StaysOpen => parts.filter(contact).map(Mutant::StaysOpen).collect(),
        MutantKind::CoilOpen => {
            parts.filter(|p| matches!(net.parts[*p].part, Part::Coil { .. })).map(Mutant::CoilOpen).collect()
        }
    }
}

fn pairs(net: &Network) -> impl Iterator<Item = (usize, usize)> + '_ {
    let n = net.wire_count();
    (0..n).flat_map(move |a| (a + 1..n).map(move |b| (a, b))).filter(|(a, b)| {
        !net.runs[*a].is_empty() && net.runs[*a] == net.runs[*b] && !net.wires[*a].shield && !net.wires[*b].shield
    })
}

/// The end of the run where both wires land: on one device, or else at one place.
fn swap(net: &Network, a: usize, b: usize) -> Mutant {
    const ENDS: [(usize, usize); 4] = [(1, 1), (0, 0), (1, 0), (0, 1)];
    let device = |row: usize, end: usize| net.device_of[net.wires[row].ends[end] as usize];
    let place = |row: usize, end: usize| net.places[usize::from(device(row, end).0)];
    let (i, j) = ENDS
        .into_iter()
        .find(|(i, j)| device(a, *i) == device(b, *j))
        .or_else(|| ENDS.into_iter().find(|(i, j)| place(a, *i) == place(b, *j)))
        .unwrap_or(ENDS[0]);
    Mutant::Swapped([a, b], [i, j])
}

/// Live and grounded side of each branch circuit, each winding and each load that has wires on both.
fn crossed(net: &Network) -> Vec<Mutant> {
    let wired = |t: u32| !net.landed_on(t).is_empty();
    let mut out = Vec::new();
    for p in &net.parts {
        let pairs: Vec<(u32, u32)> = match p.part {
            Part::Contact { a, b, by: Actuator::Breaker(_), .. } => {
                let hot = if wired(p.at(a)) { p.at(a) } else { p.at(b) };
                neutral_of(net, p.device, hot).map(|n| (hot, n)).into_iter().collect()
            }
            Part::Transformer { primary, secondary, .. } => {
                [primary, secondary].map(|[a, b]| (p.at(a), p.at(b))).to_vec()
            }
            Part::Load { a, b, .. } => vec![(p.at(a), p.at(b))],
            Part::Load3 { lines: [a, b, _], .. } => vec![(p.at(a), p.at(b))],
            _ => continue,
        };
        for (a, b) in pairs {
            let m = Mutant::Crossed(a, b);
            if wired(a) && wired(b) && !out.contains(&m) {
                out.push(m);
            }
        }
    }
    out
}

/// The terminal on the return bar of a panelboard that belongs to the circuit on this breaker's terminal.
fn neutral_of(net: &Network, panel: DeviceId, hot: u32) -> Option<u32> {
    let circuit = net.landed_on(hot).first().map(|(row, _)| &net.circuits[*row])?;
    bar(net, panel).into_iter().find(|t| net.landed_on(*t).iter().any(|(row, _)| net.circuits[*row] == *circuit))
}

/// Terminals of a device on the return of its sources.
fn bar(net: &Network, device: DeviceId) -> Vec<u32> {
    let mine = || net.parts.iter().filter(move |p| p.device == device);
    let returns: Vec<u32> =
        mine().filter_map(|p| if let Part::Source { ret, .. } = p.part { Some(p.at(ret)) } else { None }).collect();
    let earths: Vec<u32> = net.earths().collect();
    let mut out: Vec<u32> = mine()
        .filter_map(|p| match p.part {
            Part::Bond(a, b) if returns.contains(&p.at(a)) => Some(p.at(b)),
            Part::Bond(a, b) if returns.contains(&p.at(b)) => Some(p.at(a)),
            _ => None,
        })
        .filter(|t| !earths.contains(t))
        .collect();
    out.extend(returns);
    out.sort_unstable();
    out.dedup();
    out
}

fn neutrals(net: &Network) -> Vec<Mutant> {
    let mut out = Vec::new();
    for p in &net.parts {
        match p.part {
            Part::Source { .. } => {
                let lost = Mutant::ReturnLost(p.device);
                if !out.contains(&lost) {
                    out.push(lost);
                    out.extend(
                        bar(net, p.device).into_iter().filter(|t| !net.landed_on(*t).is_empty()).map(Mutant::Lifted),
                    );
                }
            }
            Part::Transformer { secondary: [_, ret], .. } if !net.landed_on(p.at(ret)).is_empty() => {
                out.push(Mutant::Lifted(p.at(ret)));
            }
            _ => {}
        }
    }
    out
}

/// The network with a mutant planted.
pub fn changes(net: &Network, m: Mutant) -> Changes {
    let mut c = Changes::default();
    match m {
        Mutant::Removed(row) => c.without.push(row),
        Mutant::Swapped([a, b], [i, j]) => {
            c.landed.push((a, i, net.wires[b].ends[j]));
            c.landed.push((b, j, net.wires[a].ends[i]));
        }
        Mutant::Shorted(a, b) => c.joined.push((net.wires[a].ends[0], net.wires[b].ends[0])),
        Mutant::Grounded(row) => c.joined.extend(net.earths().next().map(|e| (net.wires[row].ends[0], e))),
        Mutant::Crossed(a, b) => {
            for (from, to) in [(a, b), (b, a)] {
                c.landed.extend(net.landed_on(from).into_iter().map(|(row, end)| (row, end, to)));
            }
        }
        Mutant::Lifted(t) => {
            c.without.extend(net.landed_on(t).into_iter().map(|(row, _)| row));
            c.without.dedup();
        }
        // A change of the devices, see `Network::return_lost`.
        Mutant::ReturnLost(_) => {}
        Mutant::Welded(part) => c.stuck.push((part, true)),
        Mutant::StaysOpen(part) => c.stuck.push((part, false)),
        Mutant::CoilOpen(coil) => {
            let Part::Coil { number, .. } = net.parts[coil].part else { return c };
            for (i, p) in net.parts.iter().enumerate().filter(|(_, p)| p.device == net.parts[coil].device) {
                if let Part::Contact { rest, by: Actuator::Coil(n), .. } = p.part
                    && n == number
                {
                    c.stuck.push((i, rest == crate::part::Rest::Closed));
                }
            }
        }
    }
    c
}
