//! Breadth first through everything that can happen, until something is wrong or nothing is new.

#![allow(unreachable_pub)]

use crate::plant::*;
use heatwright_core::*;
use std::collections::{HashMap, VecDeque};
use std::fmt::Write as _;

/// What a search found.
pub struct Found {
    pub states: usize,
    pub steps: usize,
    pub all: bool,
    /// The longest way to heat, in steps.
    pub slowest: u32,
    /// The shortest way to the first thing that is wrong.
    pub wrong: Option<(String, Vec<Happens>)>,
}

pub fn search(plant: &Plant, most: usize, liveness: bool) -> Found {
    let start = plant.start();
    let mut seen: HashMap<u128, u32> = HashMap::new();
    let mut from: Vec<(u32, u16)> = vec![(0, 0)];
    let mut queue = VecDeque::from([(0u32, start.clone())]);
    seen.insert(plant.key(&start), 0);
    let mut found = Found { states: 1, steps: 0, all: true, slowest: 0, wrong: None };
    let way = |from: &[(u32, u16)], mut at: u32, last: Option<Happens>| {
        let mut way: Vec<Happens> = last.into_iter().collect();
        while at != 0 {
            let (before, h) = from[at as usize];
            way.push(plant.alphabet[usize::from(h)]);
            at = before;
        }
        way.reverse();
        way
    };
    while let Some((at, node)) = queue.pop_front() {
        if liveness {
            // A node stands for its mirror image too: each zone calls in turn.
            for calls in (0..plant.kind.zones).map(|z| 1 << z) {
                match plant.heats(&node, calls) {
                    Some(steps) => found.slowest = found.slowest.max(steps),
                    None => {
                        found.wrong = Some(("no heat within the bound".to_owned(), way(&from, at, None)));
                        return found;
                    }
                }
            }
        }
        let mut demands = Vec::with_capacity(plant.alphabet.len());
        for (i, h) in (0u16..).zip(&plant.alphabet) {
            let (next, wrong) = plant.step(&node, *h);
            found.steps += 1;
            if let Some(what) = wrong {
                found.wrong = Some((what, way(&from, at, Some(*h))));
                return found;
            }
            demands.push(next.outputs);
            let key = plant.key(&next);
            if seen.contains_key(&key) {
                continue;
            }
            if seen.len() >= most {
                found.all = false;
                continue;
            }
            let id = from.len() as u32;
            seen.insert(key, id);
            from.push((at, i));
            queue.push_back((id, next));
        }
        let siblings = own_faults(plant, &node.outputs, &demands).or_else(|| lost_raises(plant, &node, &demands));
        if let Some((i, what)) = siblings {
            found.wrong = Some((what, way(&from, at, Some(plant.alphabet[i]))));
            return found;
        }
    }
    found.states = seen.len();
    found
}

/// One boiler's own limit takes no demand from another: the same step with and without it. Hot water is left out: there the
/// boiler that stays is the last one, and stops because it is not needed.
fn own_faults(plant: &Plant, before: &Outputs, outputs: &[Outputs]) -> Option<(usize, String)> {
    for (i, h) in plant.alphabet.iter().enumerate().filter(|(_, h)| h.limit_open != 0 && h.water != Water::Hot) {
        let good = Happens { limit_open: 0, ..*h };
        let j = plant.alphabet.iter().position(|a| *a == good)?;
        for b in (0..plant.kind.boilers).filter(|b| h.limit_open >> b & 1 == 0) {
            if plant.demand(before, b) && plant.demand(&outputs[j], b) && !plant.demand(&outputs[i], b) {
                return Some((i, format!("the limit of another boiler stops boiler {}", b + 1)));
            }
        }
    }
    None
}

/// A supply sensor that fails now brings no demand that its last reading would not have brought.
fn lost_raises(plant: &Plant, before: &Node, outputs: &[Outputs]) -> Option<(usize, String)> {
    let last = before.state.held.reading(plant.config.supply_sensor().unwrap());
    for (i, h) in plant.alphabet.iter().enumerate().filter(|(_, h)| h.water == Water::Lost) {
        let good =
            plant.alphabet.iter().position(|a| a.water.reading() == last && Happens { water: h.water, ..*a } == *h);
        let Some(j) = good.filter(|j| *j != i) else { continue };
        for b in 0..plant.kind.boilers {
            if plant.demand(&outputs[i], b) && !plant.demand(&outputs[j], b) {
                return Some((i, format!("a failed sensor starts boiler {}", b + 1)));
            }
        }
    }
    None
}

/// The way to what is wrong, step by step.
pub fn told(plant: &Plant, what: &str, way: &[Happens]) -> String {
    let mut text = format!("{what}\n\n min  what happens\n");
    let mut node = plant.start();
    for (i, h) in way.iter().enumerate() {
        node = plant.step(&node, *h).0;
        let mut words = Vec::new();
        for z in (0..2u8).filter(|z| h.calls >> z & 1 != 0) {
            words.push(format!("zone {} calls", z + 1));
        }
        if h.tank {
            words.push("the tank calls".into());
        }
        words.push(format!("water {:?}", h.water).to_lowercase());
        for (bits, name) in [(h.no_flow, "no flow"), (h.no_flame, "no flame"), (h.limit_open, "limit open")] {
            for b in (0..2u8).filter(|b| bits >> b & 1 != 0) {
                words.push(format!("{name} in boiler {}", b + 1));
            }
        }
        if h.door_open {
            words.push("door switch open".into());
        }
        if h.no_air {
            words.push("damper not open".into());
        }
        if h.acknowledge {
            words.push("acknowledge".into());
        }
        let _ = writeln!(text, "{:>4}  {}", i + 1, words.join(", "));
        for b in 0..plant.kind.boilers {
            let r = node.outputs.relay(plant.config.points.relay(RelayUse::Demand(BoilerId(b))).unwrap());
            let _ = writeln!(text, "          boiler {} {} {:?}", b + 1, if r.on { "ON " } else { "off" }, r.why);
        }
    }
    text
}
