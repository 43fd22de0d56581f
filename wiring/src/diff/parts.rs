//! What a revision does beside the wires: service, breakers, panel spaces, devices, motors, transformers, raceways and cables, jumper
//! bars.
//!
//! Each is told by its id: the circuit of a breaker, the number of a space, the tag of a device, motor or transformer, the name of a
//! run, strip and first terminal of a bar. What differs is told as `what: before -> after`; of marks and contacts only those that
//! differ. An older plan may lack a list or hold it in a form that cannot be read: that list is *not compared*, and says so.
//!
//! What it deliberately does not do: what follows from these (materials, labels, fill and derating of a run, the reason of a
//! breaker's size); a strip's and a panelboard's terminals, which follow from the wires; a renamed device, which is dropped and added.

use crate::{
    device::{Device, Kind, Reach},
    part::{Part, Rest, T},
    plan::{Bar, Breaker, DirectoryEntry, MotorProtection, Plan, Run, RunForm, RunGround, TransformerLoad},
};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// The lists of a plan that are compared beside its rows; `None` for one that an older plan does not hold in a form known here.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Lists {
    /// Name on the panelboard's door.
    pub panelboard: Option<String>,
    /// Name on the relay panel's door.
    pub relay_panel: Option<String>,
    /// Short-circuit current at the panelboard, kA; the inner `None` when nobody has told.
    pub fault_ka: Option<Option<f64>>,
    /// Names of places, by number.
    pub places: Option<Vec<String>>,
    /// Breakers.
    pub breakers: Option<Vec<Breaker>>,
    /// Panel spaces.
    pub directory: Option<Vec<DirectoryEntry>>,
    /// Devices.
    pub devices: Option<Vec<Device>>,
    /// Motors.
    pub motors: Option<Vec<MotorProtection>>,
    /// Transformers.
    pub transformers: Option<Vec<TransformerLoad>>,
    /// Raceways and cables.
    pub runs: Option<Vec<Run>>,
    /// Jumper bars.
    pub bars: Option<Vec<Bar>>,
}

impl From<&Plan> for Lists {
    fn from(p: &Plan) -> Self {
        Self {
            panelboard: Some(p.panelboard.clone()),
            relay_panel: Some(p.relay_panel.clone()),
            fault_ka: Some(p.fault_ka),
            places: Some(p.places.clone()),
            breakers: Some(p.breakers.clone()),
            directory: Some(p.directory.clone()),
            devices: Some(p.devices.clone()),
            motors: Some(p.motors.clone()),
            transformers: Some(p.transformers.clone()),
            runs: Some(p.runs.clone()),
            bars: Some(p.bars.clone()),
        }
    }
}

/// A thing that is added or dropped.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Thing {
    /// Its id.
    pub id: String,
    /// What it is: "rating 15 A".
    pub what: Vec<String>,
}

/// What a revision does to one list.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct ListDiff {
    /// Name of the list: "breakers".
    pub list: String,
    /// False where the older plan does not hold the list.
    pub compared: bool,
    /// New ones, in the order of the new plan.
    pub added: Vec<Thing>,
    /// Those that stay and become another, in the order of the new plan: "rating: 15 A -> 20 A".
    pub changed: Vec<Thing>,
    /// Those that are taken out, in the order of the old plan.
    pub dropped: Vec<Thing>,
    /// How many stay as they are.
    pub same: usize,
}

/// A set of so many members is told in full of a thing that is added or dropped (our choice).
const SHORT: usize = 4;

/// One fact about a thing: a text, or a set of which only the differing members are told.
enum Fact {
    Text(String),
    Set(Vec<String>),
}

/// A thing with its facts, each under its name.
struct Item {
    id: String,
    facts: Vec<(&'static str, Fact)>,
}

/// Compares every list of two plans, in one fixed order.
pub fn lists(old: &Lists, new: &Lists) -> Vec<ListDiff> {
    let by_place = old.places.is_some() && new.places.is_some();
    let all = |l: &Lists| {
        let places = by_place.then(|| l.places.clone()).flatten();
        [
            ("service", service(l)),
            ("breakers", items(&l.breakers, breaker)),
            ("panel spaces", items(&l.directory, space)),
            ("devices", items(&l.devices, |d| device(d, places.as_deref()))),
            ("motors", items(&l.motors, motor)),
            ("transformers", items(&l.transformers, transformer)),
            ("raceways and cables", items(&l.runs, run)),
            ("jumper bars", items(&l.bars, bar)),
        ]
    };
    all(old).into_iter().zip(all(new)).map(|((name, a), (_, b))| compare(name, a, b)).collect()
}

fn items<X>(list: &Option<Vec<X>>, f: impl Fn(&X) -> Item) -> Option<Vec<Item>> {
    list.as_ref().map(|l| l.iter().map(f).collect())
}

fn compare(name: &str, old: Option<Vec<Item>>, new: Option<Vec<Item>>) -> ListDiff {
    let mut out = ListDiff { list: name.to_owned(), ..ListDiff::default() };
    let (Some(old), Some(new)) = (old, new) else { return out };
    out.compared = true;
    // Where an older file holds one id twice, the first stands against the first.
    let mut by: HashMap<&str, Vec<usize>> = HashMap::new();
    for (i, item) in old.iter().enumerate().rev() {
        by.entry(&item.id).or_default().push(i);
    }
    let mut stays = vec![false; old.len()];
    for item in &new {
        let was = by.get_mut(item.id.as_str()).and_then(Vec::pop);
        match was.and_then(|i| Some((stays.get_mut(i)?, old.get(i)?))) {
            None => out.added.push(item.alone()),
            Some((stays, was)) => {
                *stays = true;
                let what = differences(was, item);
                if what.is_empty() {
                    out.same += 1;
                } else {
                    out.changed.push(Thing { id: item.id.clone(), what });
                }
            }
        }
    }
    out.dropped = old.iter().zip(stays).filter(|(_, s)| !s).map(|(i, _)| i.alone()).collect();
    out
}

fn or_none(s: &str) -> &str {
    if s.is_empty() { "none" } else { s }
}

fn differences(a: &Item, b: &Item) -> Vec<String> {
    let mut out = Vec::new();
    for ((name, x), (_, y)) in a.facts.iter().zip(&b.facts) {
        match (x, y) {
            (Fact::Text(x), Fact::Text(y)) if x != y => out.push(format!("{name}: {} -> {}", or_none(x), or_none(y))),
            (Fact::Set(x), Fact::Set(y)) if x != y => {
                let only = |x: &[String], y: &[String]| {
                    x.iter().filter(|m| !y.contains(m)).cloned().collect::<Vec<_>>().join(", ")
                };
                let (gone, come) = (only(x, y), only(y, x));
                if gone.is_empty() && come.is_empty() {
                    out.push(format!("{name}: {} -> {}", x.join(", "), y.join(", ")));
                } else {
                    out.push(format!("{name}: {} -> {}", or_none(&gone), or_none(&come)));
                }
            }
            _ => {}
        }
    }
    out
}

impl Item {
    /// What stands in a list of what is added or dropped; a long set is left out.
    fn alone(&self) -> Thing {
        let what = self.facts.iter().filter_map(|(name, f)| match f {
            Fact::Text(t) if !t.is_empty() => Some(format!("{name} {t}")),
            Fact::Set(list) if (1..=SHORT).contains(&list.len()) => Some(format!("{name} {}", list.join(", "))),
            _ => None,
        });
        Thing { id: self.id.clone(), what: what.collect() }
    }
}

/// A figure with so many decimals. What went through a file may have lost its last bit, so that a half must not round both ways.
pub(super) fn figure(v: f64, decimals: usize) -> String {
    format!("{:.decimals$}", (v * 1e6).round() / 1e6)
}

fn text(s: impl Into<String>) -> Fact {
    Fact::Text(s.into())
}

fn yes(b: bool) -> Fact {
    text(if b { "yes" } else { "no" })
}

fn service(l: &Lists) -> Option<Vec<Item>> {
    let ka = |k: f64| format!("{} kA", figure(k, 1));
    let fact = |id: &str, what, of: Option<String>| of.map(|t| Item { id: id.into(), facts: vec![(what, text(t))] });
    let list: Vec<Item> = [
        fact("panelboard", "name", l.panelboard.clone()),
        fact("relay panel", "name", l.relay_panel.clone()),
        fact("panelboard, fault current", "available", l.fault_ka.map(|k| k.map_or("not stated".into(), ka))),
    ]
    .into_iter()
    .flatten()
    .collect();
    (list.len() == 3).then_some(list)
}

fn breaker(b: &Breaker) -> Item {
    Item {
        id: b.circuit.clone(),
        facts: vec![
            ("rating", text(format!("{} A", b.amps))),
            ("poles", text(b.poles.to_string())),
            ("at most", text(format!("{} A", b.max_a))),
            ("phase conductor", text(format!("{} AWG", b.awg))),
            ("equipment ground", text(format!("{} AWG", b.ground_awg))),
            ("ground-fault protection", yes(b.ground_fault)),
        ],
    }
}

fn space(d: &DirectoryEntry) -> Item {
    let breaker = match d.poles {
        0 => "spare".to_owned(),
        1 => format!("{} A, 1 pole", d.amps),
        n => format!("{} A, pole {} of {n}", d.amps, d.pole),
    };
    let load = if d.poles == 0 { String::new() } else { format!("{} VA", figure(d.va, 0)) };
    Item {
        id: format!("{} space {}", d.panel, d.space),
        facts: vec![
            ("breaker", text(breaker)),
            ("circuit", text(d.circuit.clone())),
            ("feeds", text(d.feeds.clone())),
            ("phase", text(d.phase.to_string())),
            ("load", text(load)),
        ],
    }
}

fn device(d: &Device, places: Option<&[String]>) -> Item {
    // What a strip, a panelboard or the controller's card holds follows from the wires.
    let derived = matches!(d.kind, Kind::Strip | Kind::Panelboard);
    let field = |t: &&crate::device::Terminal| t.reach == Reach::Field;
    let marks = if derived { Vec::new() } else { d.terminals.iter().filter(field).map(|t| t.mark.clone()).collect() };
    let mark = |t: T| d.terminals.get(usize::from(t.0)).map_or("?", |t| t.mark.as_str());
    let mut ratings = Vec::new();
    let mut contacts = Vec::new();
    for p in &d.parts {
        match p {
            Part::Load { a, b, volts, va, .. } => {
                ratings.push(format!("{}-{} {} V {} VA", mark(*a), mark(*b), figure(*volts, 0), figure(*va, 1)));
            }
            Part::Load3 { volts, va, .. } => {
                ratings.push(format!("three-phase {} V {} VA", figure(*volts, 0), figure(*va, 1)));
            }
            Part::Coil { a, b, volts, va, .. } => {
                ratings.push(format!("coil {}-{} {} V {} VA", mark(*a), mark(*b), figure(*volts, 0), figure(*va, 1)));
            }
            Part::Transformer { primary_volts, secondary_volts, va, .. } => {
                ratings.push(format!(
                    "{} V to {} V, {} VA",
                    figure(*primary_volts, 0),
                    figure(*secondary_volts, 0),
                    figure(*va, 0)
                ));
            }
            Part::Contact { a, b, rest, .. } if !derived => contacts.push(format!(
                "{}-{} {} at rest",
                mark(*a),
                mark(*b),
                if *rest == Rest::Open { "open" } else { "closed" }
            )),
            _ => {}
        }
    }
    let place = places.map(|p| p.get(usize::from(d.place.0)).cloned().unwrap_or_default()).unwrap_or_default();
    Item {
        id: d.tag.clone(),
        facts: vec![
            ("kind", text(kind(d.kind))),
            ("name", text(d.label.clone())),
            ("place", text(place)),
            ("rating", Fact::Set(ratings)),
            ("marks", Fact::Set(marks)),
            ("contacts", Fact::Set(contacts)),
        ],
    }
}

/// `DryTransformer` as `dry transformer`.
fn kind(k: Kind) -> String {
    let mut out = String::new();
    for c in format!("{k:?}").chars() {
        if c.is_uppercase() && !out.is_empty() {
            out.push(' ');
        }
        out.extend(c.to_lowercase());
    }
    out
}

fn motor(m: &MotorProtection) -> Item {
    let overload = m
        .overload
        .map_or("in motor".into(), |o| format!("set {} A, at most {} A", figure(o.set_a, 2), figure(o.max_a, 2)));
    Item {
        id: m.device.clone(),
        facts: vec![
            ("circuit", text(m.circuit.clone())),
            ("sizing current", text(format!("{} A", figure(m.sizing_a, 1)))),
            ("plate current", text(format!("{} A", figure(m.nameplate_a, 1)))),
            ("switched by", text(m.switch.text())),
            ("overload", text(overload)),
            ("disconnect", text(m.disconnect.clone())),
            ("disconnect ahead of its controller", text(m.controller_disconnect.clone())),
            ("disconnect at least", text(format!("{} A", figure(m.disconnect_min_a, 2)))),
        ],
    }
}

fn transformer(t: &TransformerLoad) -> Item {
    Item {
        id: t.tag.clone(),
        facts: vec![
            ("plate", text(format!("{} VA", figure(t.va, 0)))),
            ("sealed", text(format!("{} VA", figure(t.sealed_va, 1)))),
            ("all starting", text(format!("{} VA", figure(t.inrush_va, 1)))),
            ("loads", Fact::Set(t.loads.clone())),
        ],
    }
}

fn run(r: &Run) -> Item {
    let form = match &r.form {
        RunForm::Emt(size) => format!("EMT {size} in"),
        RunForm::Bare => "bare conductor".to_owned(),
        RunForm::Cable { cores, shielded } => {
            format!("{cores}-wire cable{}", if *shielded { ", shielded" } else { "" })
        }
    };
    let ground = match &r.ground {
        RunGround::Wire(awg) => format!("{awg} AWG"),
        RunGround::Raceway => "the tubing".to_owned(),
        RunGround::None => String::new(),
    };
    Item {
        id: r.name.clone(),
        facts: vec![
            ("form", text(form)),
            ("from", text(r.from.clone())),
            ("to", text(r.to.clone())),
            ("length", text(format!("{} ft", figure(r.length_ft, 0)))),
            ("ground", text(ground)),
            ("class", text(r.class.text())),
            ("conductors", text(r.conductors.to_string())),
        ],
    }
}

fn bar(b: &Bar) -> Item {
    Item {
        id: format!("{}:{}", b.strip, b.first),
        facts: vec![
            ("through", text(b.last.clone())),
            ("poles", text(b.poles.to_string())),
            ("wire", text(b.wire.clone())),
            ("circuit", text(b.circuit.clone())),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{fixtures, plan::plan};

    fn told(all: &[ListDiff], list: &str) -> (usize, usize, usize, Vec<String>) {
        let d = all.iter().find(|d| d.list == list).unwrap_or_else(|| panic!("{list}"));
        assert!(d.compared, "{list}");
        let what = d.changed.iter().flat_map(|t| t.what.iter().map(|w| format!("{}, {w}", t.id))).collect();
        (d.added.len(), d.changed.len(), d.dropped.len(), what)
    }

    #[test]
    fn each_list_tells_its_own_change() {
        let made = plan(&fixtures::workshop()).unwrap_or_else(|e| panic!("{e:?}"));
        let old = Lists::from(&made);
        for d in lists(&old, &old) {
            assert!(
                d.compared && d.added.is_empty() && d.changed.is_empty() && d.dropped.is_empty() && d.same > 0,
                "{d:?}"
            );
        }
        let mut new = made.clone();
        new.breakers[1].amps += 5;
        new.fault_ka = Some(22.0);
        let gone = new.directory.remove(0);
        let boiler = new.devices.iter().position(|d| d.kind == Kind::Boiler).unwrap();
        let t = new.devices[boiler].terminals.iter().position(|t| t.reach == Reach::Field).unwrap();
        let was = std::mem::replace(&mut new.devices[boiler].terminals[t].mark, "XX".into());
        let tag = new.devices[boiler].tag.clone();
        new.motors[0].nameplate_a = 9.9;
        new.runs[0].length_ft += 10.0;
        let mut more = new.bars[0].clone();
        more.first = "Z.1".into();
        new.bars.push(more);
        new.transformers[0].va *= 2.0;
        let all = lists(&old, &Lists::from(&new));
        let b = &made.breakers[1];
        assert_eq!(
            told(&all, "breakers"),
            (0, 1, 0, vec![format!("{}, rating: {} A -> {} A", b.circuit, b.amps, b.amps + 5)])
        );
        assert!(told(&all, "service").3[0].ends_with("-> 22.0 kA"), "{all:?}");
        assert_eq!(told(&all, "panel spaces"), (0, 0, 1, vec![]));
        let dropped = all.iter().find(|d| d.list == "panel spaces").unwrap().dropped[0].id.clone();
        assert_eq!(dropped, format!("{} space {}", gone.panel, gone.space));
        assert!(told(&all, "devices").3.contains(&format!("{tag}, marks: {was} -> XX")), "{:?}", told(&all, "devices"));
        assert_eq!(told(&all, "motors").3.len(), 1);
        assert!(told(&all, "motors").3[0].ends_with("-> 9.9 A"));
        assert_eq!(told(&all, "raceways and cables").1, 1);
        assert_eq!(told(&all, "jumper bars").0, 1);
        assert_eq!(told(&all, "transformers").1, 1);
        // What the older plan does not hold is told and not called the same.
        let lacking = Lists { motors: None, ..old };
        let all = lists(&lacking, &Lists::from(&made));
        let motors = all.iter().find(|d| d.list == "motors").unwrap();
        assert!(!motors.compared && motors.same == 0 && motors.added.is_empty());
    }
}
