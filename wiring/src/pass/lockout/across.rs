//! Supplies that are no branch circuit: transformers, a machine's own control supply, another system's contact.
//!
//! Where nothing grounds such a supply, a live one shows about 0 V against ground: only its two sides against each other prove it
//! dead. Its second side may have no terminal of its own: then it lies behind a load, a coil or an input, on the far side of the contact
//! that makes that load live, and shows there only while that contact is open. Of another system's supply the plan does not know
//! which leg is live nor whether one is grounded: both legs are measured, against each other and against ground.

use super::{
    Between, Source, Test,
    measure::{Pairs, Spot},
    reach::{Origin, origin},
};
use crate::{
    device::{Device, Kind},
    part::{Part, T},
    trace::Trace,
};
use std::collections::{BTreeMap, BTreeSet};

/// Both ends of every such supply.
pub(in crate::pass) struct Ends {
    behind: BTreeMap<usize, BTreeSet<(Origin, String)>>,
    grounded: BTreeSet<Origin>,
    foreign: BTreeSet<Origin>,
}

impl Ends {
    /// Reads windings, sources and what hangs on them.
    pub(in crate::pass) fn of(trace: &Trace<'_>) -> Self {
        let mut at: BTreeMap<usize, BTreeSet<(Origin, String)>> = BTreeMap::new();
        let (mut grounded, mut foreign) = (BTreeSet::new(), BTreeSet::new());
        for (d, part) in trace.parts() {
            let device = &trace.devices()[d];
            let ends = match part {
                Part::Transformer { secondary, .. } => *secondary,
                Part::Source { hot, ret, .. } if device.kind == Kind::Automation => {
                    foreign.insert(origin(device));
                    [*hot, *ret]
                }
                _ => continue,
            };
            for t in ends {
                let (Some(g), Some(mark)) = (trace.group_of(d, t), device.terminals.get(usize::from(t.0))) else {
                    continue;
                };
                if trace.is_grounded(g) {
                    grounded.insert(origin(device));
                }
                at.entry(g).or_default().insert((origin(device), mark.mark.clone()));
            }
        }
        let mut behind: BTreeMap<usize, BTreeSet<(Origin, String)>> = BTreeMap::new();
        for (d, part) in trace.parts() {
            let (Part::Load { a, b, .. } | Part::Coil { a, b, .. } | Part::Transformer { primary: [a, b], .. }) = part
            else {
                continue;
            };
            let (Some(a), Some(b)) = (trace.group_of(d, *a), trace.group_of(d, *b)) else { continue };
            for (near, far) in [(a, b), (b, a)] {
                // A grounded side is the side of every load to ground, and ground is measured anyway.
                if !trace.is_grounded(near) && !trace.is_grounded(far) && near != far {
                    behind.entry(near).or_default().extend(at.get(&far).cloned().unwrap_or_default());
                }
            }
        }
        Self { behind, grounded, foreign }
    }

    /// What lies behind a load from this group.
    pub(super) fn behind(&self, group: usize) -> impl Iterator<Item = &(Origin, String)> {
        self.behind.get(&group).into_iter().flatten()
    }

    /// True for a supply on which nothing of the plan makes one side ground.
    pub(super) fn floats(&self, origin: &Origin) -> bool {
        is_supply(origin) && !self.grounded.contains(origin)
    }

    /// What the sources of a sheet want from whoever measures.
    pub(super) fn words(&self, sources: &[Source], tests: &[Test]) -> Vec<String> {
        let list = |wanted: &dyn Fn(&Origin) -> bool| {
            let found = sources.iter().enumerate().filter(|(_, s)| wanted(&s.origin));
            found.map(|(i, _)| format!("V{}", i + 1)).collect::<Vec<_>>()
        };
        let mut out = Vec::new();
        // How such a supply shows between its two sides here.
        let shows = |o: &Origin| {
            let at = sources.iter().position(|s| s.origin == *o);
            let open =
                tests.iter().any(|t| t.between == Between::AcrossOpen && t.sources.iter().any(|s| Some(*s) == at));
            match at.and_then(|s| sources.get(s)) {
                _ if open => ", with the call ended that closes its contact",
                Some(s) if s.through.is_empty() => "",
                _ => {
                    ", and only while a call closes the contact ahead: measure them once with that call on and every point closed, to have seen it, and \
                     again with the points open"
                }
            }
        };
        let mut told: Vec<&str> = sources.iter().map(|s| shows(&s.origin)).collect();
        told.sort_unstable();
        told.dedup();
        for how in told {
            match list(&|o| self.floats(o) && !self.foreign.contains(o) && shows(o) == how).as_slice() {
                [] => {}
                [one] => out.push(format!(
                    "{one} is not grounded: while it is live it still reads about 0 V to ground. Only the pairs across it prove it dead{how}; \
                     to ground it is measured for a fault."
                )),
                all => out.push(format!(
                    "{} are not grounded: while they are live they still read about 0 V to ground. Only the pairs across each prove it dead{how}; \
                     to ground they are measured for a fault.",
                    all.join(", ")
                )),
            }
        }
        let foreign = list(&|o| self.foreign.contains(o));
        if !foreign.is_empty() {
            out.push(format!(
                "{}: another system's. The plan does not know which leg is live nor whether one is grounded: measure both legs to \
                 ground and across the contact while that is open.",
                foreign.join(", ")
            ));
        }
        out
    }
}

/// True for what is no branch circuit and no busbar.
fn is_supply(origin: &Origin) -> bool {
    matches!(origin, Origin::Transformer { .. } | Origin::Equipment { .. })
}

/// Sources of which two sides stand on terminals of one device without a contact between.
pub(super) fn shown_whole(all: &[(usize, Vec<Spot>)]) -> BTreeSet<usize> {
    let mut whole = BTreeSet::new();
    for (_, spots) in all {
        let mut poles: BTreeMap<usize, BTreeSet<&str>> = BTreeMap::new();
        for (s, pole, _) in spots.iter().flat_map(|s| &s.hot).filter(|h| h.2.is_empty()) {
            poles.entry(*s).or_default().insert(pole);
        }
        whole.extend(poles.into_iter().filter(|p| p.1.len() > 1).map(|p| p.0));
    }
    whole
}

/// On one device: where a side of a supply comes in against what lies on its other side behind a load. At a contact these are the two
/// ends of that contact.
pub(super) fn open(pairs: &mut Pairs, device: &Device, spots: &[Spot], whole: &BTreeSet<usize>) {
    for b in spots {
        let of_contact = |p: &Part| match p {
            Part::Contact { a, b: other, .. } if *other == b.t => Some(*a),
            Part::Contact { a, b: other, .. } if *a == b.t => Some(*other),
            _ => None,
        };
        let ends: Vec<T> = device.parts.iter().filter_map(of_contact).collect();
        for (s, q) in b.behind.iter().filter(|x| !whole.contains(&x.0)) {
            let across = spots.iter().filter(|a| ends.is_empty() || ends.contains(&a.t));
            if let Some((a, _)) = nearest(across, *s, q, b.group) {
                pairs.add(&a.name, &b.name, Between::AcrossOpen, vec![*s]);
            }
        }
    }
}

/// The terminal that another side of the source reaches over the fewest contacts, and how many these are.
fn nearest<'a>(spots: impl Iterator<Item = &'a Spot>, s: usize, not: &str, group: usize) -> Option<(&'a Spot, usize)> {
    let far = |x: &Spot| {
        let ways = x.hot.iter().filter(|h| h.0 == s && h.1 != not);
        ways.map(|h| h.2.len()).min()
    };
    spots.filter(|x| x.group != group).filter_map(|x| Some((x, far(x)?))).min_by_key(|x| x.1)
}

fn is_across(t: &Test, s: usize) -> bool {
    matches!(t.between, Between::AcrossSupply | Between::AcrossOpen) && t.sources.contains(&s)
}

/// A supply whose two sides stand on no device together: one pair from device to device.
pub(super) fn far_apart(pairs: &mut Pairs, all: &[(usize, Vec<Spot>)], sources: &[Source]) {
    for s in (0..sources.len()).filter(|s| is_supply(&sources[*s].origin)) {
        if pairs.list.iter().any(|t| is_across(t, s)) {
            continue;
        }
        let spots = || all.iter().flat_map(|x| &x.1);
        let mut best: Option<(usize, &Spot, &Spot, Between)> = None;
        for b in spots() {
            let direct = b.hot.iter().filter(|h| h.0 == s).map(|h| (&h.1, h.2.len(), Between::AcrossSupply));
            let behind = b.behind.iter().filter(|h| h.0 == s).map(|h| (&h.1, 0, Between::AcrossOpen));
            for (pole, way, between) in direct.chain(behind) {
                let Some((a, more)) = nearest(spots(), s, pole, b.group) else { continue };
                if best.as_ref().is_none_or(|x| way + more < x.0) {
                    best = Some((way + more, a, b, between));
                }
            }
        }
        if let Some((_, a, b, between)) = best {
            pairs.add(&a.name, &b.name, between, vec![s]);
        }
    }
}

/// Marks for each supply the pairs across it where it comes in, and the ends of these against ground.
pub(super) fn mark(list: &mut [Test], all: &[(usize, Vec<Spot>)], sources: &[Source]) {
    let spot = |name: &str| all.iter().flat_map(|x| &x.1).find(|x| x.name == name);
    for s in (0..sources.len()).filter(|s| is_supply(&sources[*s].origin)) {
        let way = |name: &str| {
            let ways = spot(name).map(|x| {
                let behind = x.behind.iter().filter(|b| b.0 == s).map(|_| 0);
                x.hot.iter().filter(|h| h.0 == s).map(|h| h.2.len()).chain(behind).min().unwrap_or(0)
            });
            ways.unwrap_or(0)
        };
        if !list.iter().any(|t| t.incoming && is_across(t, s)) {
            let across = list.iter().enumerate().filter(|(_, t)| is_across(t, s));
            let Some(best) = across.min_by_key(|(_, t)| way(&t.at) + way(&t.against)).map(|(i, _)| i) else { continue };
            let (tag, between) = (tag(&list[best].at).to_owned(), list[best].between);
            for (i, t) in list.iter_mut().enumerate() {
                // Which contact is open is not known: of these all are measured.
                let alike = between == Between::AcrossOpen && t.between == between && self::tag(&t.at) == tag;
                t.incoming |= i == best || alike && is_across(t, s);
            }
        }
        let marked = list.iter().filter(|t| t.incoming && is_across(t, s));
        let ends: BTreeSet<String> = marked.flat_map(|t| [t.at.clone(), t.against.clone()]).collect();
        for t in list.iter_mut().filter(|t| t.between == Between::PhaseToGround) {
            t.incoming |= ends.contains(&t.at);
        }
    }
}

fn tag(name: &str) -> &str {
    name.split_once(':').map_or(name, |n| n.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{device::PlaceId, kinds::relay::relay};

    /// A relay of two poles, both fed from one side of one supply, each with a load of its own behind: each open contact is measured across
    /// itself, and not from the feed of one pole to the load of the other.
    #[test]
    fn an_open_contact_is_measured_across_itself() {
        let device = relay("KD1", PlaceId(0), "relay", 24.0, 2);
        let spot = |mark: &str, group: usize, hot: bool| Spot {
            t: device.find(mark).unwrap(),
            group,
            name: format!("KD1:{mark}"),
            hot: if hot { vec![(0, "X1".to_owned(), Vec::new())] } else { Vec::new() },
            behind: if hot { Vec::new() } else { vec![(0, "X2".to_owned())] },
            neutral: None,
        };
        let spots = [spot("11", 1, true), spot("21", 2, true), spot("14", 3, false), spot("24", 4, false)];
        let mut pairs = Pairs { list: Vec::new(), seen: BTreeSet::new() };
        open(&mut pairs, &device, &spots, &BTreeSet::new());
        let found: Vec<(&str, &str)> = pairs.list.iter().map(|t| (t.at.as_str(), t.against.as_str())).collect();
        assert_eq!(found, [("KD1:11", "KD1:14"), ("KD1:21", "KD1:24")]);
        assert!(pairs.list.iter().all(|t| t.between == Between::AcrossOpen && t.sources == [0]));
    }
}
