//! What a meter shows at the terminals of the finished plant, state by state of the checkout.
//!
//! A state is a pattern of calls with everything that follows it at rest again: the controller's own settled outputs, the
//! same as in part (b) of the proof. Read are the two terminals of every load, coil and winding, each contact that switches a
//! supply, and each pair of terminals that a boiler lets an outside contact close; only terminals that a probe can reach.
//!
//! What it deliberately does not do: circuits that the controller feeds, direct voltages, faults.

use super::prove::settled_states;
use crate::plant::Loaded;
use heatwright_core::{RelayUse, Subject};
use heatwright_wiring::{
    device::{Device, Kind, Reach},
    job::Job,
    net::{ActuatorSet, Changes, Network, meter::Meter, readings::Reading},
    part::{Actuator, Part, T},
    plan::Plan,
    row::Landing,
};
use std::collections::{BTreeMap, BTreeSet};

/// What a meter shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shown {
    /// Volts rms.
    Volts(f64),
    /// Nothing holds one terminal against the other.
    Floating,
}

/// One reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Tag of the device.
    pub device: String,
    /// Its two terminals.
    pub terminals: String,
    /// What is read, in words.
    pub what: String,
    /// Between the two.
    pub reads: Shown,
    /// From the first terminal to ground.
    pub to_ground: Shown,
}

/// All readings of one state; every state has the same lines in the same order.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// What is called for.
    pub name: String,
    /// True when the controller's alarm relay has dropped in it: it settles with cold water under lit burners, and says so.
    pub alarm: bool,
    /// How selectors, switches, safeties and relays stand in it, in words.
    pub stands: Vec<String>,
    /// The readings.
    pub lines: Vec<Line>,
}

/// Where a meter is put.
struct Spot {
    device: String,
    terminals: String,
    what: String,
    ends: (u32, u32),
}

impl Line {
    /// True when a meter shows something else than there: more than a volt and two per cent apart, so that a little more drop is no
    /// news (our choice), or floating and not.
    pub fn differs(&self, other: &Line) -> bool {
        let apart = |a: Shown, b: Shown| match (a, b) {
            (Shown::Volts(a), Shown::Volts(b)) => (a - b).abs() > 1.0_f64.max(0.02 * a.max(b)),
            (a, b) => a != b,
        };
        apart(self.reads, other.reads) || apart(self.to_ground, other.to_ground)
    }
}

/// Readings of every state.
pub fn readings(l: &Loaded, job: &Job, plan: &Plan, net: &Network) -> Vec<State> {
    let wired: BTreeSet<&Landing> = plan.rows.iter().flat_map(|r| [&r.from, &r.to]).collect();
    let spots: Vec<Spot> = plan.devices.iter().flat_map(|d| spots(d, job, net, &wired)).collect();
    let earth = plan.devices.iter().find_map(|d| {
        let t = d.parts.iter().find_map(|p| if let Part::Earth(t) = p { Some(*t) } else { None })?;
        net.terminal(&d.tag, &d.terminals.get(usize::from(t.0))?.mark)
    });
    let relay = l.points.relay(RelayUse::Alarm);
    let states: Vec<(_, Meter)> = settled_states(l)
        .into_iter()
        .map(|(name, set)| {
            // Pulled while all is well.
            let alarm = relay.is_some_and(|r| !set.get(Actuator::Relay(r)));
            ((name, alarm, stands(plan, &set)), Meter::take(net, &Changes::default(), &set))
        })
        .collect();
    // A spot whose circuit has no supply in any state is the controller's.
    let read: Vec<&Spot> =
        spots.iter().filter(|s| states.iter().any(|(_, m)| m.between(s.ends.0, s.ends.1).is_some())).collect();
    let shown = |r: Option<Reading>| match r {
        Some(Reading::Volts(v)) => Shown::Volts(v),
        Some(Reading::Floating) | None => Shown::Floating,
    };
    states
        .into_iter()
        .map(|((name, alarm, stands), m)| State {
            name,
            alarm,
            stands,
            lines: read
                .iter()
                .map(|s| Line {
                    device: s.device.clone(),
                    terminals: s.terminals.clone(),
                    what: s.what.clone(),
                    reads: shown(m.between(s.ends.0, s.ends.1)),
                    to_ground: shown(earth.and_then(|e| m.between(s.ends.0, e))),
                })
                .collect(),
        })
        .collect()
}

/// How everything stands that a hand, water, a flame or the controller moves: whoever measures sets it so first.
fn stands(plan: &Plan, set: &ActuatorSet) -> Vec<String> {
    let mut selectors: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    let (mut off, mut open, mut made, mut relays) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let (mut switches, mut tripped, mut safeties) = (Vec::new(), Vec::new(), 0);
    for d in &plan.devices {
        let mut list: Vec<Actuator> =
            d.parts.iter().filter_map(|p| if let Part::Contact { by, .. } = p { Some(*by) } else { None }).collect();
        list.sort_unstable();
        list.dedup();
        let on = |wanted: &dyn Fn(&Actuator) -> bool| list.iter().any(|a| wanted(a) && set.get(*a));
        match d.kind {
            Kind::Selector => {
                let at = match (on(&|a| matches!(a, Actuator::Hand(_))), on(&|a| matches!(a, Actuator::Auto(_)))) {
                    (true, _) => "HAND",
                    (_, true) => "AUTO",
                    _ => "OFF",
                };
                selectors.entry(at).or_default().push(d.tag.clone());
            }
            Kind::Disconnect if list.iter().any(|a| matches!(a, Actuator::BoilerSwitchOff(_))) => {
                let is_off = on(&|a| matches!(a, Actuator::BoilerSwitchOff(_)));
                if is_off { &mut off } else { &mut switches }.push(d.tag.clone());
            }
            Kind::Safety => {
                safeties += 1;
                let flows = |a: &Actuator| matches!(a, Actuator::Flow(_) | Actuator::DamperOpen);
                if on(&|a| matches!(a, Actuator::Trip(_))) {
                    tripped.push(d.tag.clone());
                } else if list.iter().any(flows) {
                    if on(&flows) { &mut made } else { &mut open }.push(d.tag.clone());
                }
            }
            Kind::Controller => relays.extend(list.iter().filter(|a| set.get(**a)).filter_map(|a| match a {
                Actuator::Relay(r) => Some(format!("K{}", r.index() + 1)),
                _ => None,
            })),
            _ => {}
        }
    }
    let mut out: Vec<String> = selectors.iter().map(|(at, tags)| format!("At {at}: {}.", tags.join(", "))).collect();
    let on = if switches.is_empty() { String::new() } else { format!("; on: {}", switches.join(", ")) };
    out.push(format!("Every breaker and every other disconnect closed{on}."));
    if safeties > 0 && tripped.is_empty() {
        out.push("No safety tripped, no emergency switch pressed, no overload tripped.".into());
    }
    for (words, tags) in
        [("Off", off), ("Tripped", tripped), ("Made by flow or damper", made), ("Not made by flow or damper", open)]
    {
        if !tags.is_empty() {
            out.push(format!("{words}: {}.", tags.join(", ")));
        }
    }
    if plan.devices.iter().any(|d| d.kind == Kind::Controller) {
        let list = if relays.is_empty() { "none".to_owned() } else { relays.join(", ") };
        out.push(format!("Relays of the controller pulled in: {list}."));
    }
    out
}

fn spots(d: &Device, job: &Job, net: &Network, wired: &BTreeSet<&Landing>) -> Vec<Spot> {
    let lands = |mark: &str| wired.contains(&Landing { device: d.tag.clone(), terminal: mark.to_owned() });
    let mut pairs: Vec<(String, T, T)> = Vec::new();
    for p in &d.parts {
        match p {
            Part::Load { a, b, what, .. } => pairs.push((what.to_string(), *a, *b)),
            Part::Load3 { lines: [a, b, c], what, .. } => {
                pairs.extend([(*a, *b), (*b, *c), (*c, *a)].map(|(x, y)| (what.to_string(), x, y)));
            }
            Part::Coil { a, b, .. } => pairs.push(("coil".into(), *a, *b)),
            Part::Transformer { primary: [a, b], secondary: [c, e], .. } => {
                pairs.push(("primary".into(), *a, *b));
                pairs.push(("secondary".into(), *c, *e));
            }
            Part::Contact { a, b, by, .. } if !matches!(by, Actuator::Breaker(_)) => {
                pairs.push(("across the contact".into(), *a, *b));
            }
            _ => {}
        }
    }
    // What a boiler lets an outside contact close: limit, proving and demand pair.
    if let Some(Subject::Boiler(id)) = d.subject
        && let Some(b) = job.boilers.get(id.index())
    {
        let find = |mark: &str| d.terminals.iter().position(|t| t.mark == mark).map(|i| T(i as u16));
        for (what, [out, back]) in
            [("limit pair", &b.marks.limit), ("proving pair", &b.marks.proving), ("demand pair", &b.marks.demand)]
        {
            if let (Some(x), Some(y)) = (find(out), find(back)) {
                pairs.push((what.into(), x, y));
            }
        }
    }
    let reached = |t: T| d.terminals.get(usize::from(t.0)).filter(|t| t.reach == Reach::Field).map(|t| t.mark.clone());
    let mut out: Vec<Spot> = Vec::new();
    for (what, a, b) in pairs {
        let (Some(x), Some(y)) = (reached(a), reached(b)) else { continue };
        // Nobody measures a contact that nothing is wired to.
        if !lands(&x) || !lands(&y) {
            continue;
        }
        let (Some(i), Some(j)) = (net.terminal(&d.tag, &x), net.terminal(&d.tag, &y)) else { continue };
        if !out.iter().any(|s| s.ends == (i, j)) {
            out.push(Spot { device: d.tag.clone(), terminals: format!("{x} - {y}"), what, ends: (i, j) });
        }
    }
    out
}
