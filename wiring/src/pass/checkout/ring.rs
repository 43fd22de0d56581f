//! The ring-out list: every conductor end to end, and what it shows against ground before any power.
//!
//! All breakers are open, all contacts as they rest, all loads joined. A conductor whose metal lies on ground reads zero; one from
//! which a load, coil or winding leads to ground reads that load; any other reads open. Contacts that are closed at rest
//! (limits, an overload) are passed; breakers are not.

use crate::{
    part::{Actuator, Part, Rest},
    plan::Plan,
    row::{Class, Colour, Row},
    trace::Trace,
};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// One conductor.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ring {
    /// Wire number.
    pub wire: String,
    /// One end.
    pub from: String,
    /// The other end.
    pub to: String,
    /// Its raceway or cable; empty inside an enclosure.
    pub run: String,
    /// What an ohmmeter shows from it to ground.
    pub to_ground: ToGround,
}

/// What an ohmmeter shows from a conductor to ground, all breakers open.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ToGround {
    /// Next to nothing: it is grounded.
    Joined,
    /// The resistance of a coil, motor, heater or transformer.
    Load,
    /// Nothing.
    Open,
}

/// Every conductor, shields left out: their far end is taped back.
pub(super) fn ring(plan: &Plan, trace: &Trace<'_>) -> Vec<Ring> {
    let next = Next::of(trace);
    plan.rows.iter().filter(|r| r.colour != Colour::Shield).map(|r| one(trace, &next, r)).collect()
}

fn one(trace: &Trace<'_>, next: &Next, r: &Row) -> Ring {
    let group = trace.landing(&r.from).map(|n| trace.group(n));
    let to_ground = match group {
        _ if r.class == Class::Ground => ToGround::Joined,
        Some(g) => next.to_ground(trace, g),
        None => ToGround::Open,
    };
    Ring {
        wire: r.wire.clone(),
        from: format!("{}:{}", r.from.device, r.from.terminal),
        to: format!("{}:{}", r.to.device, r.to.terminal),
        run: r.run.clone(),
        to_ground,
    }
}

/// Groups beside each other: through a contact that rests closed, or through a load.
struct Next {
    contacts: BTreeMap<usize, Vec<usize>>,
    loads: BTreeMap<usize, Vec<usize>>,
}

impl Next {
    fn of(trace: &Trace<'_>) -> Self {
        let mut all = Self { contacts: BTreeMap::new(), loads: BTreeMap::new() };
        let join = |map: &mut BTreeMap<usize, Vec<usize>>, a: Option<usize>, b: Option<usize>| {
            if let (Some(a), Some(b)) = (a, b) {
                map.entry(a).or_default().push(b);
                map.entry(b).or_default().push(a);
            }
        };
        for (d, part) in trace.parts() {
            let of = |t| trace.group_of(d, t);
            match part {
                Part::Contact { a, b, rest: Rest::Closed, by } if !matches!(by, Actuator::Breaker(_)) => {
                    join(&mut all.contacts, of(*a), of(*b));
                }
                Part::Load { a, b, .. } | Part::Coil { a, b, .. } => join(&mut all.loads, of(*a), of(*b)),
                Part::Load3 { lines: [a, b, c], .. } => {
                    join(&mut all.loads, of(*a), of(*b));
                    join(&mut all.loads, of(*b), of(*c));
                }
                Part::Transformer { primary, secondary, .. } => {
                    join(&mut all.loads, of(primary[0]), of(primary[1]));
                    join(&mut all.loads, of(secondary[0]), of(secondary[1]));
                }
                _ => {}
            }
        }
        all
    }

    fn to_ground(&self, trace: &Trace<'_>, start: usize) -> ToGround {
        let mut best = ToGround::Open;
        let mut seen = BTreeSet::from([(start, false)]);
        let mut queue = vec![(start, false)];
        while let Some((g, loaded)) = queue.pop() {
            if trace.is_grounded(g) {
                best = best.min(if loaded { ToGround::Load } else { ToGround::Joined });
                continue;
            }
            let plain = self.contacts.get(&g).into_iter().flatten().map(|n| (*n, loaded));
            let through = self.loads.get(&g).into_iter().flatten().map(|n| (*n, true));
            for step in plain.chain(through) {
                if seen.insert(step) {
                    queue.push(step);
                }
            }
        }
        best
    }
}
