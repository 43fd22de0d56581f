//! What starts a load: the free contacts (a call, a relay of the controller, HAND, a boiler's pump contact, an aquastat) that stand
//! between it and what is live at rest, followed through coils and the end switches of valves.
//!
//! Live at rest: busbars, the ends of windings, and whatever is joined to them by contacts that a healthy plant holds closed
//! (breakers, disconnects, overloads, limits). The walk goes from the load towards them and ends there, so that what hangs
//! beside it on the same supply is not told.

use crate::{
    device::Kind,
    part::{Actuator, LoadUse, Part, Rest, T},
    trace::Trace,
};
use std::collections::{BTreeMap, BTreeSet};

/// A contact between two groups: its device and what closes it; `None` where a healthy plant holds it closed.
struct Way {
    far: usize,
    device: usize,
    by: Option<Actuator>,
}

/// The plan as it is walked.
pub(in crate::pass) struct Movers<'a> {
    trace: &'a Trace<'a>,
    ways: BTreeMap<usize, Vec<Way>>,
    live: BTreeSet<usize>,
}

impl<'a> Movers<'a> {
    /// Reads contacts and supplies.
    pub(in crate::pass) fn of(trace: &'a Trace<'a>) -> Self {
        let mut ways: BTreeMap<usize, Vec<Way>> = BTreeMap::new();
        let mut live = BTreeSet::new();
        for (device, part) in trace.parts() {
            match part {
                Part::Contact { a, b, rest, by } => {
                    let (Some(a), Some(b)) = (trace.group_of(device, *a), trace.group_of(device, *b)) else { continue };
                    let by = match (by, rest) {
                        (Actuator::Coil(_), Rest::Closed) => continue,
                        (_, Rest::Closed) => None,
                        (by, Rest::Open) => Some(*by),
                    };
                    ways.entry(a).or_default().push(Way { far: b, device, by });
                    ways.entry(b).or_default().push(Way { far: a, device, by });
                }
                Part::Source { hot, .. } => live.extend(trace.group_of(device, *hot)),
                Part::Transformer { secondary, .. } => {
                    live.extend(secondary.iter().filter_map(|t| trace.group_of(device, *t)));
                }
                _ => {}
            }
        }
        let mut queue: Vec<usize> = live.iter().copied().collect();
        while let Some(g) = queue.pop() {
            for w in ways.get(&g).into_iter().flatten().filter(|w| w.by.is_none()) {
                if live.insert(w.far) {
                    queue.push(w.far);
                }
            }
        }
        Self { trace, ways, live }
    }

    /// What starts the first load of this use: each actuator with the tag of the device that carries its contact.
    pub(in crate::pass) fn load(&self, what: LoadUse) -> BTreeSet<(Actuator, &'a str)> {
        let mut found = BTreeSet::new();
        self.load_into(what, &mut BTreeSet::new(), &mut found);
        found
    }

    fn load_into(
        &self,
        what: LoadUse,
        seen: &mut BTreeSet<usize>,
        found: &mut BTreeSet<(Actuator, &'a str)>,
    ) -> Option<()> {
        let (d, ends) = self.trace.parts().find_map(|(d, p)| match p {
            Part::Load { a, b, what: w, .. } if *w == what => Some((d, vec![*a, *b])),
            Part::Load3 { lines, what: w, .. } if *w == what => Some((d, lines.to_vec())),
            _ => None,
        })?;
        self.from(d, &ends, seen, found);
        Some(())
    }

    fn from(&self, device: usize, ends: &[T], seen: &mut BTreeSet<usize>, found: &mut BTreeSet<(Actuator, &'a str)>) {
        for g in ends.iter().filter_map(|t| self.trace.group_of(device, *t)) {
            if !self.trace.is_grounded(g) && !self.live.contains(&g) && seen.insert(g) {
                for (by, at) in self.towards_live(g) {
                    self.told(by, at, seen, found);
                }
            }
        }
    }

    /// Contacts on the ways from here to what is live; those that lead nowhere are left out.
    fn towards_live(&self, start: usize) -> BTreeSet<(Actuator, usize)> {
        let mut reached = BTreeSet::from([start]);
        let mut queue = vec![start];
        while let Some(g) = queue.pop() {
            for w in self.ways.get(&g).into_iter().flatten() {
                if !self.trace.is_grounded(w.far) && !self.live.contains(&w.far) && reached.insert(w.far) {
                    queue.push(w.far);
                }
            }
        }
        // Dead ends are taken off until none is left.
        loop {
            let leads_on = |g: usize| {
                let far: BTreeSet<usize> = self.ways.get(&g).into_iter().flatten().map(|w| w.far).collect();
                g == start
                    || far.iter().any(|f| self.live.contains(f))
                    || far.iter().filter(|f| reached.contains(f)).count() > 1
            };
            let kept: BTreeSet<usize> = reached.iter().copied().filter(|g| leads_on(*g)).collect();
            if kept.len() == reached.len() {
                break;
            }
            reached = kept;
        }
        let on = |f: usize| reached.contains(&f) || self.live.contains(&f);
        let ways = reached.iter().flat_map(|g| self.ways.get(g).into_iter().flatten());
        ways.filter(|w| on(w.far)).filter_map(|w| Some((w.by?, w.device))).collect()
    }

    fn told(&self, by: Actuator, at: usize, seen: &mut BTreeSet<usize>, found: &mut BTreeSet<(Actuator, &'a str)>) {
        let device = &self.trace.devices()[at];
        match by {
            Actuator::Coil(n) => {
                let coil = device.parts.iter().find_map(|p| match p {
                    Part::Coil { a, b, number, .. } if *number == n => Some([*a, *b]),
                    _ => None,
                });
                self.from(at, coil.as_ref().map_or(&[][..], |c| &c[..]), seen, found);
            }
            Actuator::ValveOpen(z) if device.kind == Kind::ZoneValve => {
                let _ = self.load_into(LoadUse::Valve(z), seen, found);
            }
            _ => {
                found.insert((by, device.tag.as_str()));
            }
        }
    }
}
