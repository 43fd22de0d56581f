//! Labels: nameplates, wire numbers (both ends), device tags, runs, disconnects, the two-source warning.
//!
//! An enclosure that more than one source enters says so (common practice; NEC 110.22(A) and 430.113 ask for identification,
//! from memory). Which sources those are follows from the network, by the same walk as the lockout sheets: every contact taken
//! as one that may close, every transformer traced back to the branch circuits that feed it. The relay panel with all in it
//! is one enclosure, every other device one of its own. What is fed through another of the same sources (a boiler's own
//! control circuit behind its line supply) is no further source.
//!
//! What it deliberately does not count: the few volts that the controller puts on its own inputs.

use crate::{
    device::{Device, Kind, Reach},
    job::Job,
    natural,
    part::{Actuator, LoadUse, Part},
    pass::lockout::{disconnects_ahead, in_panels, roots},
    plan::{Feed, Label, Plan},
    row::{Class, Colour, Landing, Row},
};
use std::collections::BTreeMap;

/// All labels.
pub fn labels(job: &Job, plan: &Plan) -> Vec<Label> {
    let mut out = nameplates(job, plan);
    let ahead = disconnects_ahead(plan);
    out.extend(plan.devices.iter().enumerate().map(|(i, d)| {
        let switch = ahead.get(&i).and_then(|d| plan.devices.get(*d));
        Label { on: d.tag.clone(), text: format!("{}\n{}{}", d.tag, d.label, fed(plan, d, switch)), count: 1 }
    }));
    out.extend(markers(plan));
    out.extend(warnings(plan));
    out.extend(left_live(plan));
    let mut ends: BTreeMap<&str, u16> = BTreeMap::new();
    for r in &plan.rows {
        let n = ends.entry(r.wire.as_str()).or_insert(0);
        *n = n.saturating_add(2);
    }
    let mut wires: Vec<Label> =
        ends.into_iter().map(|(w, count)| Label { on: w.into(), text: w.into(), count }).collect();
    wires.sort_by(|a, b| natural::cmp(&a.on, &b.on));
    out.extend(wires);
    out.extend(plan.runs.iter().map(|r| Label {
        on: r.name.clone(),
        text: format!("{}\n{} to {}", r.name, r.from, r.to),
        count: 2,
    }));
    out
}

/// For a disconnect, the breaker that feeds it and where that is (110.22(A) of 2020, from memory), the volts that stay on its line side
/// while it is open, and the disconnect ahead of it that takes these away.
fn fed(plan: &Plan, d: &Device, ahead: Option<&Device>) -> String {
    if d.kind != Kind::Disconnect {
        return String::new();
    }
    // What feeds its poles: an auxiliary contact beside them may belong to another circuit.
    let pole = |l: &Landing| l.device == d.tag && l.terminal.contains('/');
    let here = |r: &&Row| r.class != Class::Ground && (pole(&r.from) || pole(&r.to));
    let circuit = |r: &Row| plan.circuits.iter().find(|c| c.name == r.circuit);
    let mut circuits = plan.rows.iter().filter(here).filter_map(circuit);
    let found = circuits.find_map(|c| match &c.feed {
        Feed::Panelboard { panel, spaces } => Some((panel, spaces, c.volts)),
        _ => None,
    });
    let Some((panel, spaces, volts)) = found else { return String::new() };
    let spaces: Vec<String> = spaces.iter().map(u8::to_string).collect();
    let board = plan.devices.iter().find(|d| d.tag == *panel);
    let place = board.and_then(|b| plan.places.get(usize::from(b.place.0)));
    let at = place.map_or_else(String::new, |p| format!(", {p}"));
    let board = crate::pass::lockout::board_name(plan, panel);
    let off = ahead.map_or_else(String::new, |d| format!(", off by {}{}", d.tag, at_place(plan, d)));
    format!("\nfed from breaker {} of {board}{at}\n{volts:.0} V AT ITS LINE SIDE{off}", spaces.join("-"))
}

/// ", boiler room", where the place has a name.
fn at_place(plan: &Plan, d: &Device) -> String {
    plan.places.get(usize::from(d.place.0)).map_or_else(String::new, |p| format!(", {p}"))
}

/// A marker for each terminal of a strip, in the order in which they stand.
fn markers(plan: &Plan) -> Vec<Label> {
    let strips = plan.devices.iter().filter(|d| d.kind == Kind::Strip && !super::materials::is_splice_box(d));
    let marks = strips.flat_map(|d| {
        let field = d.terminals.iter().filter(|t| t.reach == Reach::Field);
        field.map(|t| Label { on: format!("{}:{}", d.tag, t.mark), text: t.mark.clone(), count: 1 })
    });
    marks.collect()
}

/// What stands on the doors of panelboards and relay panel, where they have a name: what a lockout sheet sends a person to. A
/// panelboard behind a transformer says what feeds it; each shows its colour code, and the transformer where its disconnect is.
fn nameplates(job: &Job, plan: &Plan) -> Vec<Label> {
    let boards: Vec<&Device> = plan.devices.iter().filter(|d| d.kind == Kind::Panelboard).collect();
    let mut out = Vec::new();
    for (i, d) in boards.iter().enumerate() {
        let on = if i == 0 { "door of panelboard".to_owned() } else { format!("door of panelboard {}", d.tag) };
        if i > 0 {
            let text = format!("{}\npanelboard, {}", d.tag, super::materials::system(plan, &d.tag).text);
            let from = fed_from(plan, &d.tag).map_or_else(String::new, |t| format!("\nfed from {t}"));
            out.push(Label { on: on.clone(), text: text + &from, count: 1 });
        } else if !plan.panelboard.is_empty() {
            let text = format!("{}\npanelboard, {} in the schedule", plan.panelboard, d.tag);
            out.push(Label { on: on.clone(), text, count: 1 });
        }
        let code = colour_code(plan, &d.tag);
        if !code.is_empty() {
            out.push(Label { on, text: format!("COLOR CODE (210.5(C))\n{code}"), count: 1 });
        }
    }
    if !plan.relay_panel.is_empty() && !plan.relay_panel.eq_ignore_ascii_case("relay panel") {
        out.push(Label {
            on: "door of relay panel".into(),
            text: format!("{}\nrelay panel", plan.relay_panel),
            count: 1,
        });
    }
    if let Some(name) = job.starter_panel.as_ref().map(|p| &p.name).filter(|n| !n.is_empty()) {
        out.push(Label { on: "door of starter panel".into(), text: format!("{name}\nstarter panel"), count: 1 });
    }
    out.extend(super::shutoff::labels(job, plan));
    for d in plan.devices.iter().filter(|d| d.kind == Kind::ControlTransformer) {
        let volts = d.parts.iter().find_map(|p| match p {
            Part::Transformer { primary_volts, .. } => Some(*primary_volts),
            _ => None,
        });
        let [primary, secondary] = crate::kinds::control_transformer::fuses_a(volts.unwrap_or(0.0));
        let text = format!("FUSES\nprimary 2 x {primary} A\nsecondary {secondary} A");
        out.push(Label { on: d.tag.clone(), text, count: 1 });
    }
    for d in plan.devices.iter().filter(|d| d.kind == Kind::DryTransformer) {
        let feeds = |r: &&Row| r.to.device == d.tag && boards.iter().any(|b| b.tag == r.from.device);
        let Some(row) = plan.rows.iter().find(feeds) else { continue };
        let place =
            boards.iter().find(|b| b.tag == row.from.device).and_then(|b| plan.places.get(usize::from(b.place.0)));
        let board = crate::pass::lockout::board_name(plan, &row.from.device);
        let at = place.map_or_else(String::new, |p| format!(", {p}"));
        let text = format!("DISCONNECT (450.14)\nbreaker {} of {board}{at}", row.from.terminal);
        out.push(Label { on: d.tag.clone(), text, count: 1 });
    }
    out
}

/// The device that feeds a panelboard's main.
fn fed_from<'a>(plan: &'a Plan, board: &str) -> Option<&'a str> {
    let row = plan.rows.iter().find(|r| r.to.device == board && r.class == Class::Power)?;
    Some(row.from.device.as_str())
}

/// The colours of a panelboard's phases and neutral, and of control circuits that stay live from elsewhere, read from the rows.
pub fn colour_code(plan: &Plan, board: &str) -> String {
    let mut phases: BTreeMap<u8, String> = BTreeMap::new();
    let mut neutral = None;
    let name = |r: &Row| format!("{:?}", r.colour).to_lowercase();
    for r in plan.rows.iter().filter(|r| r.from.device == board && r.class != Class::Ground) {
        match r.from.terminal.parse::<u8>() {
            Ok(space) => {
                let phase = plan.directory.iter().find(|e| e.panel == board && e.space == space).map(|e| e.phase);
                phases.extend(phase.map(|p| (p, name(r))));
            }
            Err(_) if r.from.terminal.starts_with('N') => neutral = Some(name(r)),
            Err(_) => {}
        }
    }
    let letters = ["A", "B", "C"];
    let mut list: Vec<String> = phases
        .iter()
        .filter_map(|(p, c)| Some(format!("phase {} {c}", letters.get(usize::from(*p).checked_sub(1)?)?)))
        .collect();
    list.extend(neutral.map(|c| format!("neutral {c}")));
    if list.is_empty() {
        return String::new();
    }
    format!("{}: {}", super::materials::system(plan, board).text, list.join(", "))
}

/// The colour of control conductors that a boiler or another system keeps live; `None` where there are none.
pub fn foreign_colour(plan: &Plan) -> Option<String> {
    let foreign = |name: &str| {
        let c = plan.circuits.iter().find(|c| c.name == name);
        c.is_some_and(|c| matches!(c.feed, Feed::Boiler(_) | Feed::Pump(_) | Feed::Automation(_)))
    };
    let row = plan.rows.iter().find(|r| {
        r.class == Class::Control
            && !matches!(r.colour, Colour::White | Colour::Gray | Colour::Green)
            && foreign(&r.circuit)
    })?;
    Some(format!("{:?}", row.colour).to_lowercase())
}

/// A fan whose own disconnect leaves its aquastat live: said at both, with the switch that opens the aquastat's circuit. Each device
/// has one source, the machine has two (430.75(A), 430.113, from memory).
fn left_live(plan: &Plan) -> Vec<Label> {
    let mut out = Vec::new();
    for m in &plan.motors {
        let LoadUse::Fan(z, k) = m.what else { continue };
        let here = |p: &Part| matches!(p, Part::Contact { by: Actuator::FanAquastat(y, n), .. } if (*y, *n) == (z, k));
        let Some(stat) = plan.devices.iter().find(|d| d.kind == Kind::Aquastat && d.parts.iter().any(here)) else {
            continue;
        };
        let lands = |r: &&Row| r.class != Class::Ground && (r.from.device == stat.tag || r.to.device == stat.tag);
        let other = plan.rows.iter().filter(lands).find(|r| r.circuit != m.circuit);
        // Where the starter stands at the fan, one disconnect opens both.
        if m.controller_disconnect == m.disconnect {
            continue;
        }
        let at_fan = plan.devices.iter().any(|d| d.tag == m.disconnect && d.kind == Kind::Disconnect);
        let Some(row) = other.filter(|_| at_fan) else { continue };
        let of_breaker = || {
            let b = plan.breakers.iter().find(|b| b.circuit == m.circuit)?;
            Some(format!("breaker of {}", b.circuit))
        };
        let switch = if plan.devices.iter().any(|d| d.tag == m.controller_disconnect && d.kind == Kind::Disconnect) {
            m.controller_disconnect.clone()
        } else {
            of_breaker().unwrap_or_default()
        };
        let box_of = |r: &&Row| r.from.device == m.disconnect || r.to.device == m.disconnect;
        let through =
            plan.rows.iter().filter(|r| r.class != Class::Ground && r.circuit == row.circuit).any(|r| box_of(&r));
        let here = if through { " AND IN THIS BOX" } else { "" };
        let line = plan.circuits.iter().find(|c| c.name == m.circuit).map_or(0.0, |c| c.volts);
        let at = plan.devices.iter().find(|d| d.tag == switch).map_or_else(String::new, |d| at_place(plan, d));
        let text = format!(
            "LEAVES {:.0} V AT {}{here} LIVE\nand {line:.0} V at its own line side\nopen {switch} too{at}",
            row.volts, stat.tag
        );
        out.push(Label { on: m.disconnect.clone(), text, count: 1 });
        let text = format!("{:.0} V FROM {switch}\n{} does not make it dead", row.volts, m.disconnect);
        out.push(Label { on: stat.tag.clone(), text, count: 1 });
    }
    out
}

/// The warning on every enclosure that more than one source enters.
fn warnings(plan: &Plan) -> Vec<Label> {
    let [panel, starters] = in_panels(plan);
    let mut boxes: Vec<(String, Vec<usize>)> = plan
        .devices
        .iter()
        .enumerate()
        .filter(|(d, device)| !panel.contains(d) && !starters.contains(d) && device.kind != Kind::Panelboard)
        .map(|(d, device)| (device.tag.clone(), vec![d]))
        .collect();
    boxes.push(("relay panel".into(), panel));
    if !starters.is_empty() {
        boxes.push(("starter panel".into(), starters));
    }
    roots(plan, &boxes.iter().map(|b| b.1.clone()).collect::<Vec<_>>())
        .into_iter()
        .zip(boxes)
        .filter(|(sources, _)| counted(sources) > 1)
        .map(|(sources, (on, _))| warning(on, &sources))
        .collect()
}

fn warning(on: String, sources: &[String]) -> Label {
    Label { on, text: format!("MORE THAN ONE SOURCE\n{}", sources.join("\n")), count: 1 }
}

/// Sources in these lines: a panelboard's line holds as many as it names circuits.
fn counted(lines: &[String]) -> usize {
    lines.iter().map(|l| l.split_once(": circuits ").map_or(1, |(_, list)| list.split(", ").count())).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        fixtures::{library, mill},
        plan::plan,
    };
    use heatwright_core::{Subject, config::SafetyKind};
    use std::collections::BTreeSet;

    fn warned(job: &Job, plan: &Plan) -> BTreeMap<String, usize> {
        let list = labels(job, plan).into_iter().filter(|l| l.text.starts_with("MORE THAN ONE SOURCE"));
        list.map(|l| (l.on, counted(&l.text.lines().skip(1).map(str::to_owned).collect::<Vec<_>>()))).collect()
    }

    /// What a device alone shows, found apart from the walk: circuits of its rows by the breaker that feeds each.
    fn feeds(plan: &Plan, tag: &str) -> BTreeSet<String> {
        use crate::plan::Feed;
        let root = |name: &str| -> Option<String> {
            let c = plan.circuits.iter().find(|c| c.name == name)?;
            match &c.feed {
                Feed::Panelboard { .. } => Some(c.name.clone()),
                Feed::Transformer(_) => Some("A2-1".into()),
                Feed::Boiler(b) => plan
                    .circuits
                    .iter()
                    .find(|l| l.subject == c.subject && matches!(l.feed, Feed::Panelboard { .. }))
                    .map(|l| l.name.clone())
                    .or_else(|| Some(format!("boiler {}", b.0))),
                Feed::Automation(n) => Some(format!("automation {n}")),
                _ => None,
            }
        };
        let rows = plan.rows.iter().filter(|r| r.wire != "PE" && (r.from.device == tag || r.to.device == tag));
        rows.filter_map(|r| root(&r.circuit)).collect()
    }

    #[test]
    fn the_warning_follows_from_what_can_be_live_inside() {
        let job = library();
        let p = plan(&job).unwrap();
        let warned = warned(&job, &p);
        assert!(warned.get("relay panel").is_some_and(|n| *n > 10), "{warned:?}");
        for tag in ["E1", "M1", "QB1", "BR1"] {
            assert!(feeds(&p, tag).len() < 2 && !warned.contains_key(tag), "{tag} has one source: {warned:?}");
        }
        // The relay panel's label is one line for all circuits of the panelboard, in order.
        let label = labels(&job, &p).into_iter().find(|l| l.on == "relay panel" && l.text.starts_with("MORE")).unwrap();
        let line = label.text.lines().nth(1).unwrap();
        let spaces: Vec<u8> = line.split("circuits ").nth(1).unwrap().split(", ").map(|n| n.parse().unwrap()).collect();
        assert!(spaces.len() > 8 && spaces.is_sorted(), "{line}");
        // Every box with conductors of two branch circuits is warned of.
        for d in p.devices.iter().filter(|d| matches!(d.kind, Kind::Safety | Kind::Strip) && d.tag != "X1") {
            if !d.tag.starts_with("X2") && !d.tag.starts_with("XG") {
                assert_eq!(
                    warned.contains_key(&d.tag),
                    feeds(&p, &d.tag).len() > 1,
                    "{}: {:?}",
                    d.tag,
                    feeds(&p, &d.tag)
                );
            }
        }
    }

    #[test]
    fn the_names_on_the_doors_are_printed() {
        let mut job = library();
        let plate = |job: &crate::job::Job| -> Vec<String> {
            let list = plan(job).unwrap().labels.into_iter();
            list.filter(|l| l.on.starts_with("door of")).map(|l| l.text).collect()
        };
        assert_eq!(plate(&job)[0], "DP-2\npanelboard, A2 in the schedule");
        job.service.name.clear();
        assert!(!plate(&job).iter().any(|t| t.contains("panelboard,")), "no name, no plate");
    }

    /// A line disconnect in the starter panel is fed at 480 V; its auxiliary contact alone hangs on the control panelboard.
    #[test]
    fn a_disconnect_is_fed_by_what_its_poles_hang_on() {
        let p = plan(&mill()).unwrap();
        let fed: Vec<String> = p
            .devices
            .iter()
            .filter(|d| d.kind == Kind::Disconnect && d.tag.starts_with("QL"))
            .map(|d| fed(&p, d, None))
            .collect();
        let from_a2 = fed.iter().filter(|f| f.contains("of DP-2 (A2)")).count();
        assert_eq!((fed.len(), from_a2), (6, 6), "{fed:?}");
    }

    /// A disconnect says what volts stay on its line side, and where the switch ahead of it is. The volts are those of its circuit, found
    /// apart from the walk; a fan on a starter has a line disconnect of its own number, a fan on its aquastat has none.
    #[test]
    fn a_disconnect_names_the_volts_at_its_line_side_and_the_switch_ahead() {
        let job = mill();
        let p = plan(&job).unwrap();
        let own = |d: &&Device| d.kind == Kind::Disconnect && d.tag.starts_with("QF");
        let mut seen = [0, 0];
        for d in p.devices.iter().filter(own) {
            let text = &p.labels.iter().find(|l| l.on == d.tag && l.text.starts_with(&d.tag)).unwrap().text;
            let m = p.motors.iter().find(|m| m.disconnect == d.tag).unwrap();
            let volts = p.circuits.iter().find(|c| c.name == m.circuit).unwrap().volts;
            assert!(text.contains(&format!("{volts:.0} V AT ITS LINE SIDE")), "{text}");
            let started = m.switch == crate::plan::MotorSwitch::Starter;
            let ahead = d.tag.replace("QF", "QLF");
            assert_eq!(started, text.contains(&format!(", off by {ahead}, ")), "{text}");
            assert_eq!(started, text.contains("off by"), "{text}");
            assert_eq!(started, text.contains("480 V"), "{text}");
            seen[usize::from(started)] += 1;
        }
        assert!(seen[0] > 0 && seen[1] > 0, "{seen:?}");
    }

    /// Seen to fail: a wire from a foreign circuit into a pump's box brings the warning.
    #[test]
    fn a_foreign_wire_brings_the_warning() {
        let job = library();
        let mut p = plan(&job).unwrap();
        let mut row = p.rows.iter().find(|r| r.to.device == "M2" && r.to.terminal == "L").unwrap().clone();
        assert!(!warned(&job, &p).contains_key("M2"));
        row.from = p.rows.iter().find(|r| r.to.device == "M3" && r.to.terminal == "L").unwrap().from.clone();
        p.rows.push(row);
        assert_eq!(warned(&job, &p).get("M2"), Some(&2));
    }

    /// The second panelboard, its transformer's disconnect and the colours of both systems are on the labels.
    #[test]
    fn two_systems_are_told_apart_on_the_labels() {
        let job = crate::fixtures::mill();
        let p = plan(&job).unwrap();
        let all = labels(&job, &p);
        let on = |on: &str| all.iter().filter(|l| l.on == on).map(|l| l.text.as_str()).collect::<Vec<_>>().join("|");
        let (a2, a3, tp1) = (on("door of panelboard"), on("door of panelboard A3"), on("TP1"));
        assert!(a2.contains("phase A brown, phase B orange, phase C yellow"), "{a2}");
        assert!(a3.contains("fed from TP1") && a3.contains("phase A black") && a3.contains("neutral white"), "{a3}");
        assert!(tp1.contains("DISCONNECT (450.14)\nbreaker 1 of "), "{tp1}");
        assert!(all.iter().any(|l| l.on == "relay panel" && l.text.starts_with("MORE THAN ONE SOURCE")));
        // No colour means two things: control that stays live from a boiler is not the colour of a phase.
        let foreign = foreign_colour(&p).unwrap();
        assert!(!a2.contains(&foreign) && !a3.contains(&foreign), "{foreign}: {a2} {a3}");
        assert_eq!(foreign_colour(&plan(&library()).unwrap()).as_deref(), Some("yellow"), "208 V has no yellow phase");
    }

    /// The starter panel has its name on its door, and the emergency switch says what it does.
    #[test]
    fn the_starter_panel_and_the_emergency_switch_are_marked() {
        let mut job = crate::fixtures::mill();
        if let Some(s) = &mut job.starter_panel {
            s.name = "MP-9".into();
        }
        let all = plan(&job).unwrap().labels;
        assert!(all.iter().any(|l| l.on == "door of starter panel" && l.text == "MP-9\nstarter panel"));
        let p = plan(&job).unwrap();
        let doors = job.safeties.iter().enumerate().filter(|(_, s)| s.config.kind == SafetyKind::DoorSwitch);
        let tags: Vec<&str> = doors
            .map(|(i, _)| {
                let about = Some(Subject::Safety(heatwright_core::SafetyId(i as u8)));
                let d = p.devices.iter().find(|d| d.kind == Kind::Safety && d.subject == about).unwrap();
                d.tag.as_str()
            })
            .collect();
        let shutoff = |l: &&Label| l.text.starts_with("EMERGENCY BOILER SHUTOFF");
        assert!(!tags.is_empty());
        assert_eq!(all.iter().filter(shutoff).map(|l| l.on.as_str()).collect::<Vec<_>>(), tags);
        // Seen to move: no such switch, no such label; no starter panel, no plate.
        let mut job = library();
        job.safeties.iter_mut().for_each(|s| {
            if s.config.kind == SafetyKind::DoorSwitch {
                s.config.kind = SafetyKind::LowWater;
            }
        });
        let p = plan(&job).unwrap();
        assert!(!p.labels.iter().any(|l| shutoff(&l) || l.on == "door of starter panel"));
    }

    /// Fans on starters: their own switch opens the line alone. Fans whose aquastat carries the line have nothing left.
    #[test]
    fn a_fan_with_a_second_source_says_so_at_its_switch_and_its_aquastat() {
        let job = crate::fixtures::mill();
        let p = plan(&job).unwrap();
        let fans = |switch| {
            let all = p.motors.iter().filter(move |m| matches!(m.what, LoadUse::Fan(..)) && m.switch == switch);
            all.map(|m| m.disconnect.as_str()).collect::<BTreeSet<_>>()
        };
        let told = |start: &str| {
            p.labels.iter().filter(|l| l.text.starts_with(start)).map(|l| l.on.as_str()).collect::<BTreeSet<_>>()
        };
        let (starters, direct) = (fans(crate::plan::MotorSwitch::Starter), fans(crate::plan::MotorSwitch::Aquastat));
        let left = told("LEAVES 120 V AT ");
        assert!(!starters.is_empty() && left.is_superset(&starters), "{left:?}");
        assert!(left.is_disjoint(&direct), "{left:?}");
        // Its control conductors pass through that box.
        let all = p.labels.iter().filter(|l| l.text.starts_with("LEAVES 120 V AT ")).collect::<Vec<_>>();
        assert!(all.iter().all(|l| l.text.contains("IN THIS BOX")));
        // The line side of that switch stays live too, and the switch that takes both away stands in another room.
        assert!(all.iter().all(|l| l.text.contains("and 480 V at its own line side\nopen QLF")), "{all:?}");
        let far = &p.places[usize::from(p.devices.iter().find(|d| d.tag == "QLF6.1").unwrap().place.0)];
        assert!(all.iter().all(|l| l.text.ends_with(&format!(", {far}"))), "{far}: {all:?}");
        let stat = p.labels.iter().find(|l| l.text.contains("does not make it dead")).unwrap();
        let fan = stat.on.strip_prefix("BF").unwrap();
        assert_eq!(stat.text, format!("120 V FROM QLF{fan}\nQF{fan} does not make it dead"));
    }
}
