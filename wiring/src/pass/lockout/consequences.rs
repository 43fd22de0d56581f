//! What else stops when switches are opened: which boilers cannot fire, which pumps and fans cannot run, what loses its supply.
//!
//! Everything that can close is taken as closed, except what can no longer act: contacts of a coil without power, of the
//! controller's relays without its supply, end switches behind an actuator without power, a flow switch behind a pump that
//! cannot run. That is repeated until nothing changes. What could be live before and cannot now is lost. A boiler fires only
//! with its line, its limit pair, its proving pair and its demand pair live, as far as the plan has them.
//!
//! A zone is without heat when its pump or its valve cannot run, or none of its fans can. Another system that watches a relay of ours
//! is told of when the coil drops.
//!
//! It errs on neither side knowingly; not followed: water that a pump elsewhere moves through a boiler without a pump of its own,
//! and what a person does in HAND at another place.

use super::{
    Item, Stops,
    items::Group,
    reach::{Isolator, Map},
};
use crate::{
    job::Job,
    part::{Actuator, LoadUse, Part, Rest},
    plan::{Feed, Plan},
};
use heatwright_core::{
    BoilerId, PumpId, SafetyId, Subject, ZoneId,
    config::{BoilerPump, SafetyKind, SafetyScope, ZoneDrive},
};
use std::collections::BTreeSet;

/// What can have power in a plan.
pub(in crate::pass) struct Alive {
    loads: BTreeSet<LoadUse>,
    /// Coils by device and number.
    coils: BTreeSet<(usize, u8)>,
}

/// One load of a boiler.
type Need = fn(BoilerId) -> LoadUse;

/// What each boiler needs, with what is said where it is missing.
const NEEDS: [(Need, &str); 4] = [
    (LoadUse::BoilerLine, "no line supply"),
    (LoadUse::Limit, "limit pair open"),
    (LoadUse::Proving, "proving pair open"),
    (LoadUse::Demand, "demand pair open"),
];

/// All that can have power with these switches open.
pub(super) fn alive(job: &Job, map: &Map<'_>, open: &BTreeSet<Isolator>) -> Alive {
    alive_without(job, map, open, &BTreeSet::new())
}

/// The same with these contacts (places among [`Map::edges`]) held open.
pub(in crate::pass) fn alive_without(
    job: &Job,
    map: &Map<'_>,
    open: &BTreeSet<Isolator>,
    held: &BTreeSet<usize>,
) -> Alive {
    let has: BTreeSet<LoadUse> = map.trace.parts().filter_map(|(_, p)| use_of(p)).collect();
    let mut dead: BTreeSet<usize> = held.clone();
    // Contacts are only ever added to the dead ones, so this ends.
    loop {
        let alive = with(map, open, &dead);
        let before = dead.len();
        for (n, e) in map.edges.iter().enumerate() {
            if e.rest == Rest::Open && !can_act(job, &has, &alive, e.device, e.by) {
                dead.insert(n);
            }
        }
        if dead.len() == before {
            return alive;
        }
    }
}

fn use_of(p: &Part) -> Option<LoadUse> {
    match p {
        Part::Load { what, .. } | Part::Load3 { what, .. } => Some(*what),
        _ => None,
    }
}

fn with(map: &Map<'_>, open: &BTreeSet<Isolator>, dead: &BTreeSet<usize>) -> Alive {
    let lit = map.flood(open, dead);
    let mut alive = Alive { loads: BTreeSet::new(), coils: BTreeSet::new() };
    for (d, p) in map.trace.parts() {
        let between = |a, b| match (map.trace.group_of(d, a), map.trace.group_of(d, b)) {
            (Some(a), Some(b)) => map.powered(&lit, a, b),
            _ => false,
        };
        match p {
            Part::Load { a, b, what, .. } if between(*a, *b) => {
                alive.loads.insert(*what);
            }
            // A motor that has lost one phase does not start.
            Part::Load3 { lines: [a, b, c], what, .. } if between(*a, *b) && between(*b, *c) && between(*a, *c) => {
                alive.loads.insert(*what);
            }
            Part::Coil { a, b, number, .. } if between(*a, *b) => {
                alive.coils.insert((d, *number));
            }
            _ => {}
        }
    }
    alive
}

/// Whether a contact that is open at rest may still be closed.
fn can_act(job: &Job, has: &BTreeSet<LoadUse>, alive: &Alive, device: usize, by: Actuator) -> bool {
    let live = |what: LoadUse| !has.contains(&what) || alive.loads.contains(&what);
    match by {
        Actuator::Coil(n) => alive.coils.contains(&(device, n)),
        Actuator::Relay(_) => live(LoadUse::Controller),
        Actuator::Call(z) => live(LoadUse::Thermostat(z)),
        Actuator::ValveOpen(z) => live(LoadUse::Valve(z)),
        Actuator::DamperOpen => live(LoadUse::Damper),
        Actuator::Flame(b) | Actuator::BoilerPump(b) | Actuator::BoilerFault(b) => live(LoadUse::BoilerLine(b)),
        Actuator::Flow(b) => pump_of(job, b).is_none_or(|p| runs(has, alive, p)),
        _ => true,
    }
}

fn pump_of(job: &Job, b: BoilerId) -> Option<PumpId> {
    match job.boilers.get(b.index())?.pump {
        BoilerPump::Controller(p) | BoilerPump::Boiler(p) | BoilerPump::Either(p) => Some(p),
        BoilerPump::None => None,
    }
}

fn runs(has: &BTreeSet<LoadUse>, alive: &Alive, p: PumpId) -> bool {
    let wants = [LoadUse::Pump(p), LoadUse::PumpSupply(p), LoadUse::PumpStart(p)];
    wants.iter().filter(|w| has.contains(w)).all(|w| alive.loads.contains(w))
}

/// The first thing that keeps a boiler from firing.
fn lacks(has: &BTreeSet<LoadUse>, alive: &Alive, b: BoilerId) -> Option<&'static str> {
    NEEDS.iter().find(|(what, _)| has.contains(&what(b)) && !alive.loads.contains(&what(b))).map(|(_, why)| *why)
}

/// What stops with these switches that ran before, the item itself left out.
pub(super) fn stops(
    job: &Job,
    plan: &Plan,
    map: &Map<'_>,
    g: &Group,
    before: &Alive,
    open: &BTreeSet<Isolator>,
) -> Stops {
    lost(job, plan, map, g, before, &alive(job, map, open))
}

/// What was alive before and is not after, the item itself left out.
pub(in crate::pass) fn lost(job: &Job, plan: &Plan, map: &Map<'_>, g: &Group, before: &Alive, after: &Alive) -> Stops {
    let has: BTreeSet<LoadUse> = map.trace.parts().filter_map(|(_, p)| use_of(p)).collect();
    let mut out = Stops::default();
    let (mut fired, mut fires) = (0, 0);
    for i in 0..job.boilers.len() {
        let b = BoilerId(i as u8);
        if lacks(&has, before, b).is_some() {
            continue;
        }
        fired += 1;
        match lacks(&has, after, b) {
            None => fires += 1,
            Some(why) if g.item != Item::Boiler || g.subject != Subject::Boiler(b) => {
                out.boilers.push(format!("{} ({why})", job.names.of(Subject::Boiler(b))));
            }
            Some(_) => {}
        }
    }
    out.no_heat = fired > 0 && fires == 0;
    for i in 0..job.pumps.len() {
        let p = PumpId(i as u8);
        if (g.item != Item::Pump || g.subject != Subject::Pump(p)) && runs(&has, before, p) && !runs(&has, after, p) {
            out.pumps.push(job.names.of(Subject::Pump(p)));
        }
    }
    // Whatever else has a supply of its own, by its label.
    for (d, p) in map.trace.parts().filter(|(d, _)| !g.devices.contains(d)) {
        let Some(what) = use_of(p) else { continue };
        let told = matches!(
            what,
            LoadUse::BoilerLine(_)
                | LoadUse::Limit(_)
                | LoadUse::Proving(_)
                | LoadUse::Demand(_)
                | LoadUse::Pump(_)
                | LoadUse::PumpSupply(_)
                | LoadUse::PumpStart(_)
        );
        if !told && before.loads.contains(&what) && !after.loads.contains(&what) {
            let device = &plan.devices[d];
            out.others.push(format!("{} ({})", device.label, device.tag));
        }
    }
    if !out.no_heat {
        let cold = (0..job.zones.len()).map(|i| ZoneId(i as u8));
        let cold = cold.filter(|z| heats(job, &has, before, *z) && !heats(job, &has, after, *z));
        out.zones = cold.map(|z| job.names.of(Subject::Zone(z))).collect();
    }
    out.watchers = watchers(job, plan, map, before, after);
    for (i, c) in job.condensate_pumps.iter().enumerate() {
        let what = LoadUse::CondensatePump(i as u8);
        if before.loads.contains(&what) && !after.loads.contains(&what) {
            out.later.extend(flooded(job, plan, g, c.boiler));
        }
    }
    out
}

/// Whether heat can come to a zone: its pump and its valve run, and one of its fans where it has any.
fn heats(job: &Job, has: &BTreeSet<LoadUse>, alive: &Alive, z: ZoneId) -> bool {
    let Some(zone) = job.zones.get(z.index()) else { return false };
    let live = |what: LoadUse| !has.contains(&what) || alive.loads.contains(&what);
    let water = match zone.drive {
        ZoneDrive::Pump(p) => runs(has, alive, p),
        ZoneDrive::Valve { pump } => live(LoadUse::Valve(z)) && pump.is_none_or(|p| runs(has, alive, p)),
    };
    let mut fans = has.iter().filter(|l| matches!(l, LoadUse::Fan(of, _) if *of == z)).peekable();
    water && (fans.peek().is_none() || fans.any(|f| alive.loads.contains(f)))
}

/// Contacts of other systems whose relay of ours has lost its coil, each with the relay's tag.
fn watchers(job: &Job, plan: &Plan, map: &Map<'_>, before: &Alive, after: &Alive) -> Vec<String> {
    let dropped: BTreeSet<&str> = before
        .coils
        .difference(&after.coils)
        .filter_map(|(d, _)| map.trace.devices().get(*d))
        .map(|d| d.tag.as_str())
        .collect();
    let mut list = Vec::new();
    for c in &plan.circuits {
        let Feed::Automation(n) = c.feed else { continue };
        let rows = plan.rows.iter().filter(|r| r.circuit == c.name);
        let tag = rows.flat_map(|r| [&r.from.device, &r.to.device]).find(|t| dropped.contains(t.as_str()));
        if let (Some(tag), Some(a)) = (tag, job.automation.get(usize::from(n))) {
            list.push(format!("{} ({tag} drops)", a.name));
        }
    }
    list
}

/// What a full condensate sump trips: by the drain switch of the boiler served, of all where it serves all.
fn flooded(job: &Job, plan: &Plan, g: &Group, served: Option<BoilerId>) -> Vec<String> {
    let mut list = Vec::new();
    for (i, s) in job.safeties.iter().enumerate().filter(|(_, s)| s.config.kind == SafetyKind::Condensate) {
        let SafetyScope::Boiler(b) = s.config.scope else { continue };
        let itself = g.item == Item::Boiler && g.subject == Subject::Boiler(b);
        if itself || served.is_some_and(|served| served != b) {
            continue;
        }
        let subject = Subject::Safety(SafetyId(i as u8));
        let tag = plan.devices.iter().find(|d| d.subject == Some(subject)).map_or("", |d| d.tag.as_str());
        let boiler = job.names.of(Subject::Boiler(b));
        list.push(format!("{boiler} trips by {tag} ({}) once the sump is full.", job.names.of(subject)));
    }
    if list.is_empty() && g.item != Item::Boiler {
        let boiler = served.map_or("every condensing boiler".to_owned(), |b| job.names.of(Subject::Boiler(b)));
        list.push(format!(
            "The sump of {boiler} overflows: no condensate switch of this plan trips. Shut it down first."
        ));
    }
    list
}
