//! The ring-out list: every conductor end to end, and what it shows against ground before any power.
//!
//! One position for the whole list ([`POSITION`]): all breakers open, all disconnects closed, selectors at OFF, no coil pulled, all loads
//! joined. A conductor whose metal lies on ground reads zero; one from which a load, coil or motor leads to ground reads that
//! load; any other reads open. Contacts that are closed at rest (limits, an overload, a disconnect) are passed; breakers are not.
//!
//! A winding of less than [`WINDING_OHM`] reads like a short: half of a dry-type secondary has some tenths of an ohm. Only with its
//! bonding jumper lifted do the two differ. The secondary of a small control transformer that is grounded on its other side reads
//! some ohms (its regulation at the plate: 8 per cent of 24 V x 24 V / 40 VA are 1.2 ohm); that is told from a load.
//!
//! A receptacle with nothing in it leads nowhere. A safety with a supply of its own stands open while that is dead.
//!
//! A shield is rung out too: it lies on ground at the controller's end and is taped back at the other.

use crate::{
    device::Device,
    part::{Actuator, LoadUse, Part, Rest},
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
    /// The winding of a transformer that is grounded on its other side: next to nothing too.
    Winding,
    /// The same of a small transformer: some ohms.
    SmallWinding,
    /// The resistance of a coil, motor, heater or transformer.
    Load,
    /// Nothing.
    Open,
}

/// The position of everything while conductors are rung out: contacts as they rest.
pub const POSITION: &str = "every breaker open (mains too) and locked; every disconnect QR, QL, QB, QC, QE, QF closed; selectors at OFF; \
     no call, no relay pulled, nothing plugged in; limits and overloads made; a safety with a supply of its own is dead and open";

/// A winding below this is told from a short by no ordinary meter, ohm (our choice: five times the 0.2 ohm of test leads and clips).
pub(super) const WINDING_OHM: f64 = 1.0;

/// Every conductor.
pub(super) fn ring(plan: &Plan, trace: &Trace<'_>) -> Vec<Ring> {
    let next = Next::of(trace);
    plan.rows.iter().map(|r| one(trace, &next, r)).collect()
}

fn one(trace: &Trace<'_>, next: &Next, r: &Row) -> Ring {
    let shield = r.colour == Colour::Shield;
    let group = trace.landing(&r.from).map(|n| trace.group(n));
    let to_ground = match group {
        _ if r.class == Class::Ground => ToGround::Joined,
        Some(g) => next.to_ground(trace, g),
        None => ToGround::Open,
    };
    Ring {
        wire: r.wire.clone(),
        from: format!("{}:{}", r.from.device, r.from.terminal),
        // The far end of a shield lands nowhere.
        to: if shield { format!("{}, taped", r.to.device) } else { format!("{}:{}", r.to.device, r.to.terminal) },
        run: r.run.clone(),
        to_ground,
    }
}

/// Groups beside each other: through a contact that rests closed, or through a load.
struct Next {
    contacts: BTreeMap<usize, Vec<usize>>,
    windings: BTreeMap<usize, Vec<usize>>,
    small_windings: BTreeMap<usize, Vec<usize>>,
    loads: BTreeMap<usize, Vec<usize>>,
}

impl Next {
    fn of(trace: &Trace<'_>) -> Self {
        let mut all = Self {
            contacts: BTreeMap::new(),
            windings: BTreeMap::new(),
            small_windings: BTreeMap::new(),
            loads: BTreeMap::new(),
        };
        let powered =
            |d: &Device| d.parts.iter().any(|p| matches!(p, Part::Load { what: LoadUse::SafetySupply(_), .. }));
        let join = |map: &mut BTreeMap<usize, Vec<usize>>, a: Option<usize>, b: Option<usize>| {
            if let (Some(a), Some(b)) = (a, b) {
                map.entry(a).or_default().push(b);
                map.entry(b).or_default().push(a);
            }
        };
        for (d, part) in trace.parts() {
            let of = |t| trace.group_of(d, t);
            match part {
                Part::Contact { by: Actuator::Trip(_), .. } if trace.devices().get(d).is_some_and(powered) => {}
                Part::Load { what: LoadUse::Receptacle, .. } => {}
                Part::Contact { a, b, rest: Rest::Closed, by } if !matches!(by, Actuator::Breaker(_)) => {
                    join(&mut all.contacts, of(*a), of(*b));
                }
                Part::Load { a, b, .. } | Part::Coil { a, b, .. } => join(&mut all.loads, of(*a), of(*b)),
                Part::Load3 { lines: [a, b, c], .. } => {
                    join(&mut all.loads, of(*a), of(*b));
                    join(&mut all.loads, of(*b), of(*c));
                }
                Part::Transformer { primary, secondary, ohm, .. } => {
                    join(&mut all.loads, of(primary[0]), of(primary[1]));
                    let map = if *ohm < WINDING_OHM { &mut all.windings } else { &mut all.small_windings };
                    join(map, of(secondary[0]), of(secondary[1]));
                }
                _ => {}
            }
        }
        all
    }

    fn to_ground(&self, trace: &Trace<'_>, start: usize) -> ToGround {
        let mut best = ToGround::Open;
        let mut seen = BTreeSet::from([(start, ToGround::Joined)]);
        let mut queue = vec![(start, ToGround::Joined)];
        while let Some((g, so_far)) = queue.pop() {
            if trace.is_grounded(g) {
                best = best.min(so_far);
                continue;
            }
            let ways = [
                (&self.contacts, ToGround::Joined),
                (&self.windings, ToGround::Winding),
                (&self.small_windings, ToGround::SmallWinding),
                (&self.loads, ToGround::Load),
            ];
            let next = ways.into_iter().flat_map(|(map, by)| map.get(&g).into_iter().flatten().map(move |n| (*n, by)));
            for step in next.map(|(n, by)| (n, so_far.max(by))) {
                if seen.insert(step) {
                    queue.push(step);
                }
            }
        }
        best
    }
}
