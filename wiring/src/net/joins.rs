//! Which terminals are one node while no switch moves, and which nodes are rails.
//!
//! Joined for good: wires, bonds, breakers and disconnects that are closed, contacts that are stuck closed.
//! A *rail* is a node whose potential inside its system does not depend on any switch: the poles of the service, the poles of
//! a transformer whose primary stands on rails, ground, and the shared common of several inputs. Rails are where the network
//! may be cut into independent pieces: what hangs on one side of a rail cannot move it.
//!
//! A supply counts as stiff, and its poles as rails, while its own resistance drops less than [`STIFF_DROP`] of its volts
//! with every load that can hang on it at once (our choice; inside the 15 % between full volts and pull-in). The service
//! always counts as stiff. A supply that is not stiff is solved with all that hangs on it.
//!
//! In exact mode nothing is a rail: every supply keeps its inner resistance. That is for readings, not for the proof.

use super::{
    components::{Groups, Potentials},
    rebuild::{Changes, Network, terminals},
    watch::Trouble,
};
use crate::part::{Actuator, Part, Rest};
use num_complex::Complex64;

/// Share of a supply's volts that its own resistance may drop for its poles to count as rails.
pub(crate) const STIFF_DROP: f64 = 0.10;
/// Least volts at a transformer's primary for it to count as fed, as a share of its rating.
pub(crate) const FED: f64 = 0.01;

/// The network with its fixed joints made.
#[derive(Clone, Debug)]
pub(crate) struct Joined {
    /// Node of each terminal.
    pub(crate) node: Vec<u32>,
    pub(crate) nodes: usize,
    /// The same through wires and bonds only.
    pub(crate) bonded: Vec<u32>,
    /// Potentials of rails, by node.
    pub(crate) rails: Potentials,
    /// True for a rail.
    pub(crate) is_rail: Vec<bool>,
    /// True for nodes whose system has a supply in it, by the root of the system.
    pub(crate) live: Vec<bool>,
    /// A node that stands at a supply's return pole, by the root of the system.
    pub(crate) ret: Vec<Option<u32>>,
    /// Nodes of ground.
    pub(crate) earth: Option<u32>,
    /// Parts that are settled here: stiff supplies, fixed contacts.
    pub(crate) settled: Vec<bool>,
    pub(crate) troubles: Vec<Trouble>,
}

/// Where a contact stands if it cannot move in this network.
pub(crate) fn fixed_position(net: &Network, part: usize, changes: &Changes) -> Option<bool> {
    let placed = &net.parts[part];
    let Part::Contact { rest, by, .. } = placed.part else { return None };
    if let Some((_, closed)) = changes.stuck.iter().find(|(p, _)| *p == part) {
        return Some(*closed);
    }
    let opened = match by {
        Actuator::Opened | Actuator::GroundFault => changes.opened.contains(&placed.device),
        Actuator::Breaker(space) => changes.breakers.contains(&(placed.device, space)),
        _ => return None,
    };
    Some((rest == Rest::Closed) != opened)
}

/// Phasor of so many volts at so many degrees.
pub(crate) fn phasor(volts: f64, angle_deg: f64) -> Complex64 {
    Complex64::from_polar(volts, angle_deg.to_radians())
}

/// Makes the fixed joints. `weak` lists transformers that may not count as stiff.
pub(crate) fn join(net: &Network, changes: &Changes, weak: &[usize], exact: bool) -> Joined {
    let n = net.terminal_count();
    let mut hard = Groups::new(n);
    for w in net.wires_with(changes) {
        hard.join(w.ends[0], w.ends[1]);
    }
    for (a, b) in &changes.joined {
        hard.join(*a, *b);
    }
    for p in &net.parts {
        if let Part::Bond(a, b) = p.part {
            hard.join(p.at(a), p.at(b));
        }
    }
    let earths: Vec<u32> = net.earths().collect();
    for pair in earths.windows(2) {
        hard.join(pair[0], pair[1]);
    }
    let mut soft = hard.clone();
    let mut settled = vec![false; net.parts.len()];
    for (i, p) in net.parts.iter().enumerate() {
        if let Some(closed) = fixed_position(net, i, changes) {
            settled[i] = true;
            if let (Part::Contact { a, b, .. }, true) = (&p.part, closed) {
                soft.join(p.at(*a), p.at(*b));
            }
        }
    }
    let (bonded, _) = hard.numbered();
    let (node, nodes) = soft.numbered();
    let earth = earths.first().map(|t| node[*t as usize]);
    let mut out = Joined {
        node,
        nodes,
        bonded,
        rails: Potentials::new(nodes),
        is_rail: vec![false; nodes],
        live: vec![false; nodes],
        ret: vec![None; nodes],
        earth,
        settled,
        troubles: Vec::new(),
    };
    let mut supplies = Vec::new();
    if !exact {
        if let Some(e) = earth {
            out.is_rail[e as usize] = true;
        }
        stiff_supplies(net, weak, &mut out, &mut supplies);
        shared_commons(net, &mut out);
    }
    apart(net, &mut out);
    out
}

/// States the potentials of service and transformers, as far as they do not depend on a switch.
fn stiff_supplies(net: &Network, weak: &[usize], out: &mut Joined, supplies: &mut Vec<(u32, u32)>) {
    for (i, p) in net.parts.iter().enumerate() {
        if let Part::Source { hot, ret, volts, angle_deg, .. } = p.part {
            take(out, i, (p.at(hot), p.at(ret)), phasor(volts, angle_deg));
            supplies.push((p.at(hot), p.at(ret)));
        }
    }
    // A transformer may feed another, so this runs until nothing more is fed; at most once a transformer.
    loop {
        let mut moved = false;
        for (i, p) in net.parts.iter().enumerate() {
            let Part::Transformer { primary, secondary, primary_volts, secondary_volts, .. } = p.part else { continue };
            if out.settled[i] || weak.contains(&i) {
                continue;
            }
            let [pa, pb] = primary.map(|t| out.node[p.at(t) as usize]);
            if !out.is_rail[pa as usize] || !out.is_rail[pb as usize] {
                continue;
            }
            if let Some(v) = out.rails.between(pa, pb).filter(|v| v.norm() > FED * primary_volts) {
                take(out, i, (p.at(secondary[0]), p.at(secondary[1])), v * (secondary_volts / primary_volts));
                supplies.push((p.at(secondary[0]), p.at(secondary[1])));
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    for (hot, ret) in supplies.iter() {
        let (h, r) = (out.node[*hot as usize], out.node[*ret as usize]);
        let (root, _) = out.rails.find(h);
        out.live[root as usize] = true;
        out.ret[root as usize].get_or_insert(r);
    }
}

fn take(out: &mut Joined, part: usize, (hot, ret): (u32, u32), e: Complex64) {
    let (h, r) = (out.node[hot as usize], out.node[ret as usize]);
    out.settled[part] = true;
    out.is_rail[h as usize] = true;
    out.is_rail[r as usize] = true;
    let bad = if h == r { Err(e.norm()) } else { out.rails.join(h, r, e) };
    if let Err(volts) = bad {
        out.troubles.push(Trouble::Short { a: hot, b: ret, volts: volts.round() as u16 });
    }
}

/// The common of several inputs, sensors or signals is a rail of its own: nothing of one input reaches another over it.
fn shared_commons(net: &Network, out: &mut Joined) {
    let mut count = vec![0_u8; out.nodes];
    for p in &net.parts {
        if matches!(p.part, Part::Input { .. } | Part::SensorInput { .. } | Part::SignalOut { .. }) {
            let (ts, n) = terminals(&p.part);
            for t in &ts[..n] {
                let c = &mut count[out.node[p.at(*t) as usize] as usize];
                *c = c.saturating_add(1);
            }
        }
    }
    for (node, c) in count.into_iter().enumerate() {
        out.is_rail[node] |= c > 1;
    }
}

/// Supplies that are joined anywhere but at ground. The phases of one service are one supply.
fn apart(net: &Network, out: &mut Joined) {
    let mut touching = Groups::new(out.nodes);
    let mut poles = Vec::new();
    for p in &net.parts {
        let (hot, ret, own) = match p.part {
            // The phases of one service share their return.
            Part::Source { hot, ret, .. } => (hot, ret, 1 + p.at(ret)),
            // So do the two halves of a winding with a middle.
            Part::Transformer { secondary: [hot, ret], .. } => (hot, ret, 1 + p.at(ret)),
            _ => continue,
        };
        let ends = [p.at(hot), p.at(ret)];
        let nodes = ends.map(|t| out.node[t as usize]);
        if !nodes.contains(&out.earth.unwrap_or(u32::MAX)) {
            touching.join(nodes[0], nodes[1]);
        }
        for (t, node) in ends.into_iter().zip(nodes) {
            if Some(node) != out.earth {
                poles.push((t, node, own));
            }
        }
    }
    let mut told = Vec::new();
    let mut first: Vec<Option<(u32, u32)>> = vec![None; out.nodes];
    for (t, node, own) in poles {
        let root = touching.find(node) as usize;
        match first[root] {
            None => first[root] = Some((t, own)),
            Some((other, o)) if o != own => {
                if !told.contains(&(o, own)) {
                    told.push((o, own));
                    out.troubles.push(Trouble::SuppliesJoined { a: other, b: t });
                }
            }
            Some(_) => {}
        }
    }
}
