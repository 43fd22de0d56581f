//! What an electrician buys or asks for besides devices, wire and tube: the controller's points, splices and ground bars in boxes
//! that are no strips, flexible ends, the door's bonding jumper and loom, separations of Class 2.
//!
//! * A terminal outside the strips on which two conductors land is no terminal in the shop: a grounded or line conductor that
//!   goes on is spliced in the box (NEC 110.14(B)), grounds go on a bar or pigtail (250.148, from memory).
//! * The last feet to a motor, a boiler or a strapped control are flexible, with a ground of their own (common practice; 250.118
//!   and 348.60, from memory). One whip a raceway that ends there.
//! * A door that carries devices is bonded by a jumper, since hinges are no ground path (common practice, no source), and its
//!   conductors run in a loom.
//! * Where Class 2 and other conductors enter one box: a barrier, 1/4 in, or the Class 2 conductors reclassified and pulled with the
//!   rest (NEC 725.136, and 725.130(A) exception 2, from memory).
//!
//! Read from rows and devices, so that an added wire shows. What it deliberately does not do: boxes, straps, connectors by piece.

use crate::{
    device::{Kind, Reach},
    job::{Control, Job},
    kinds::derived,
    part::{Actuator, Part},
    pass::reduced::{LARGEST_30_A, reduced},
    plan::{Material, Plan, RunForm},
    row::{Class, Colour, Landing, Row},
    tables::Awg,
};
use std::collections::{BTreeMap, BTreeSet};

/// All of it, in the order of the head.
pub fn sundries(job: &Job, plan: &Plan) -> Vec<Material> {
    let mut out = Vec::new();
    controller(&mut out, job, plan);
    splices(&mut out, plan);
    whips(&mut out, plan);
    door(&mut out, plan);
    large(&mut out, plan);
    reductions(&mut out, plan);
    mixed(&mut out, plan);
    own_sensors(&mut out, job);
    out
}

/// What boilers on a reset of their own bring along and the schedule does not know.
fn own_sensors(out: &mut Vec<Material>, job: &Job) {
    if job.control == Control::ZoneRelays {
        let note = "what the boiler's own reset goes by, with its cable: not in this schedule; which, where and by what cable its \
             instructions say. Class 2 there: in no raceway of this plan";
        out.push(each("outdoor sensor of a boiler", job.boilers.len(), note));
    }
}

fn each(item: impl Into<String>, quantity: usize, note: impl Into<String>) -> Material {
    Material { item: item.into(), quantity: quantity as f64, unit: "each".into(), note: note.into() }
}

/// "F2, F4": all of them, since a list of materials is also a list of places.
fn named(tags: &BTreeSet<String>) -> String {
    let mut list: Vec<&str> = tags.iter().map(String::as_str).collect();
    list.sort_by_cached_key(|t| crate::natural::key(t));
    list.join(", ")
}

/// Points of the controller with those on which no conductor lands.
fn controller(out: &mut Vec<Material>, job: &Job, plan: &Plan) {
    let Some(d) = plan.devices.iter().find(|d| d.kind == Kind::Controller) else { return };
    let wired = |t: crate::part::T| {
        let mark = d.terminals.get(usize::from(t.0)).map_or("", |t| t.mark.as_str());
        let on = |l: &Landing| l.device == d.tag && l.terminal == mark;
        plan.rows.iter().any(|r| on(&r.from) || on(&r.to))
    };
    let mut points: [(&str, BTreeMap<usize, bool>); 4] =
        ["relay", "contact input", "sensor input", "0-10 V output"].map(|what| (what, BTreeMap::new()));
    for p in &d.parts {
        let (kind, number, used) = match p {
            Part::Contact { a, b, by: Actuator::Relay(r), .. } => (0, r.index(), wired(*a) || wired(*b)),
            Part::Input { a, b, contact } => (1, contact.index(), wired(*a) || wired(*b)),
            Part::SensorInput { a, b, sensor } => (2, sensor.index(), wired(*a) || wired(*b)),
            Part::SignalOut { plus, minus, analog } => (3, analog.index(), wired(*plus) || wired(*minus)),
            _ => continue,
        };
        *points[kind].1.entry(number + 1).or_insert(false) |= used;
    }
    for (what, list) in points.iter().filter(|(_, list)| !list.is_empty()) {
        let free: Vec<String> = list.iter().filter(|(_, used)| !**used).map(|(n, _)| n.to_string()).collect();
        let free = if free.is_empty() { "none spare".to_owned() } else { format!("spare: {}", free.join(", ")) };
        let rating = if *what == "relay" {
            let r = job.panel.relay;
            let duty = format!("{:?}", r.pilot);
            format!(
                "form C (SPDT), {duty}, {:.0} A resistive, motors to {:.2} hp at 120 V; ",
                r.resistive_a, r.motor_120_v_hp
            )
        } else {
            String::new()
        };
        out.push(each(format!("of the controller: {what}"), list.len(), format!("{rating}{free}")));
    }
}

/// Most grounds under one fitting or pigtail.
const PIGTAIL_MAX: usize = 3;

/// Conductors on terminals that are splices or ground bars in a shop.
fn splices(out: &mut Vec<Material>, plan: &Plan) {
    let mut on: BTreeMap<(&str, &str), (usize, bool)> = BTreeMap::new();
    for r in plan.rows.iter().filter(|r| r.colour != Colour::Shield) {
        for l in [&r.from, &r.to] {
            let at = on.entry((&l.device, &l.terminal)).or_insert((0, true));
            at.0 += 1;
            at.1 &= r.class == Class::Ground;
        }
    }
    let dry = |tag: &str| plan.devices.iter().any(|d| d.tag == tag && d.kind == Kind::DryTransformer);
    let mut rails: Vec<(&str, usize)> = Vec::new();
    // A box without a strip: each of its potentials is one splice.
    let mut boxed: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let boxes = plan.devices.iter().filter(|d| super::materials::is_splice_box(d));
    let boxes: BTreeSet<&str> = boxes.map(|d| d.tag.as_str()).collect();
    for r in plan.rows.iter().filter(|r| r.class != Class::Ground && !boxes.is_empty()) {
        for l in [&r.from, &r.to] {
            if boxes.contains(l.device.as_str()) {
                *boxed.entry((&l.device, &r.wire)).or_default() += 1;
            }
        }
    }
    let mut splices = (0, BTreeSet::new());
    let mut bars = (0, BTreeSet::new());
    let mut spliced: BTreeMap<usize, BTreeSet<String>> = BTreeMap::new();
    for ((tag, mark), (conductors, ground)) in on.into_iter().filter(|(_, (n, _))| *n > 1) {
        let kind = plan.devices.iter().find(|d| d.tag == tag).map(|d| d.kind);
        // Strips, and terminals of starters that are identified for two.
        if matches!(kind, None | Some(Kind::Strip | Kind::Panelboard | Kind::Receptacle))
            || matches!(kind, Some(Kind::ControlTransformer))
            // Not the grounds in the box of one that stands at its machine.
            || (matches!(kind, Some(Kind::Contactor | Kind::Starter)) && !ground)
        {
            continue;
        }
        if super::grounding::is_splice(mark) {
            let _ = spliced.entry(conductors).or_default().insert(tag.to_owned());
            continue;
        }
        // The middle of its secondary takes two leads of its windings besides.
        if dry(tag) && mark == derived::MIDDLE {
            let note = format!("{tag}: X2, X3, the neutral and the system bonding jumper, each on a screw of its own");
            out.push(each(format!("neutral terminal bar for {} conductors", conductors + 2), 1, note));
            continue;
        }
        // More than a pigtail holds, or the transformer between two panelboards: a bar with a terminal each.
        if ground && (conductors > PIGTAIL_MAX || dry(tag)) {
            rails.push((tag, conductors));
            continue;
        }
        let list = if ground { &mut bars } else { &mut splices };
        list.0 += usize::from(conductors > 1);
        list.1.insert(tag.to_owned());
    }
    if splices.0 > 0 {
        let note = format!("for what goes on through a box: {}", named(&splices.1));
        out.push(each("wire connector for a splice of 2 or 3", splices.0, note));
    }
    if bars.0 > 0 {
        out.push(each(
            "box ground bar or pigtail, 2 or 3 conductors",
            bars.0,
            format!("in the box of {}", named(&bars.1)),
        ));
    }
    for (n, tags) in spliced {
        let note = format!("one of them the pigtail to the ground terminal; in the wiring box of {}", named(&tags));
        out.push(each(format!("wire connector for a splice of {n} grounds"), tags.len(), note));
    }
    for (tag, n) in rails {
        let rule = if dry(tag) { "in the transformer's enclosure, no fitting (450.10(A))" } else { "in its box" };
        out.push(each(format!("terminal bar for {n} grounds"), 1, format!("{tag}: {rule}")));
    }
    for d in plan.devices.iter().filter(|d| d.find(derived::PRIMARY_JOINT).is_some()) {
        let note = format!(
            "{}: joins H2 to H3 where its plate joins them by leads and not by a link; live with the primary",
            d.tag
        );
        out.push(each("insulated terminal block, 1 pole, 600 V", 1, note));
    }
    for ((tag, wire), n) in boxed {
        out.push(each(format!("wire connector for a splice of {n}"), 1, format!("wire {wire} in {tag}")));
    }
}

/// Flexible ends at what shakes or is strapped on.
fn whips(out: &mut Vec<Material>, plan: &Plan) {
    let kind = |tag: &str| plan.devices.iter().find(|d| d.tag == tag).map(|d| d.kind);
    let flexible = |tag: &str| kind(tag).is_some_and(super::grounding::ends_flexible);
    let mut sizes: BTreeMap<&str, usize> = BTreeMap::new();
    for run in &plan.runs {
        if let RunForm::Emt(size) = &run.form {
            *sizes.entry(size).or_insert(0) += [&run.from, &run.to].into_iter().filter(|t| flexible(t)).count();
        }
    }
    for (size, n) in sizes.into_iter().filter(|(_, n)| *n > 0) {
        let note =
            "last 2 to 3 ft to motor, boiler or strapped control; a green wire of its own; liquidtight where wet";
        out.push(each(format!("flexible conduit {size} in, 3 ft, 2 connectors"), n, note));
    }
}

/// Bonding and loom of the relay panel's door.
fn door(out: &mut Vec<Material>, plan: &Plan) {
    let tags: BTreeSet<String> = plan
        .devices
        .iter()
        .filter(|d| matches!(d.kind, Kind::Selector | Kind::Button))
        .map(|d| d.tag.clone())
        .collect();
    if tags.is_empty() {
        return;
    }
    out.push(each("bonding jumper to the door, 12 AWG green, with lugs", 1, "hinges are no ground path"));
    // Class 2 lies apart from the rest, over the hinge too (725.136(A)).
    let over = plan.rows.iter().filter(|r| tags.contains(&r.from.device) != tags.contains(&r.to.device));
    let (low, line): (Vec<&Row>, Vec<&Row>) = over.partition(|r| r.class == Class::Class2);
    let to = |rows: &[&Row]| {
        let ends = rows.iter().flat_map(|r| [&r.from.device, &r.to.device]);
        named(&ends.filter(|t| tags.contains(*t)).cloned().collect())
    };
    for (what, rows) in [("line voltage and Class 1", line), ("Class 2", low)] {
        if !rows.is_empty() {
            let note = format!("{} conductors of {what} to {}; 1/4 in from the other (725.136)", rows.len(), to(&rows));
            out.push(each(format!("wire harness over the door's hinge, {what}"), 1, note));
        }
    }
}

/// Conductors that devices of up to 20 A and usual strip terminals take; those of 30 A take 8 AWG, too (common practice, no source).
const BREAKER_LUG: [&str; 4] = ["14", "12", "10", "8"];

/// Conductors too large for the lugs that they come to: upsized against voltage drop (NEC 110.14, 110.3(B)). In a box of splices any
/// size is spliced.
fn large(out: &mut Vec<Material>, plan: &Plan) {
    let mut ends = 0;
    let mut tags = BTreeSet::new();
    let mut strips = BTreeSet::new();
    for b in plan.breakers.iter().filter(|b| b.amps <= 30) {
        let taken = &BREAKER_LUG[..if b.amps <= 20 { 3 } else { 4 }];
        for r in plan.rows.iter().filter(|r| r.circuit == b.circuit && r.class == Class::Power) {
            // What is larger than any of them is spliced down for certain, and listed for itself.
            let certain = r.awg.parse::<Awg>().is_ok_and(|a| a > LARGEST_30_A);
            if taken.contains(&r.awg.as_str()) {
                continue;
            }
            for l in [&r.from, &r.to] {
                let Some(d) = plan.devices.iter().find(|d| d.tag == l.device) else { continue };
                match d.kind {
                    Kind::Strip if super::materials::is_splice_box(d) => {}
                    Kind::Strip => {
                        strips.insert(l.device.clone());
                    }
                    _ if certain => {}
                    // Which breaker and which terminal of the neutral bar it is.
                    Kind::Panelboard => {
                        ends += 1;
                        tags.insert(format!("{}:{}", l.device, l.terminal));
                    }
                    _ => {
                        ends += 1;
                        tags.insert(l.device.clone());
                    }
                }
            }
        }
    }
    if ends > 0 {
        let note = format!(
            "upsized against voltage drop; check the lugs of {}, and splice down where they do not take it (110.14)",
            named(&tags)
        );
        out.push(each("splice down to 12 AWG at the device", ends, note));
    }
    if !strips.is_empty() {
        let note =
            format!("conductors larger than 10 AWG land on {}: terminal blocks marked for that size", named(&strips));
        out.push(each("terminal blocks for large conductors", strips.len(), note));
    }
}

/// Splices at the ends of runs that were made larger than the terminals take.
fn reductions(out: &mut Vec<Material>, plan: &Plan) {
    let mut sizes: BTreeMap<(String, String), (usize, BTreeSet<String>)> = BTreeMap::new();
    for r in reduced(plan) {
        let at = sizes.entry((r.awg, r.to_awg)).or_default();
        at.0 += 1;
        // Which breaker and which terminal of the neutral bar it is.
        let board = plan.devices.iter().any(|d| d.tag == r.at.device && d.kind == Kind::Panelboard);
        at.1.insert(if board { format!("{}:{}", r.at.device, r.at.terminal) } else { r.at.device });
    }
    for ((awg, to), (n, tags)) in sizes {
        let note = format!(
            "insulated, listed for both sizes (110.14); in a box with room for them (314.16) at each of {}",
            named(&tags)
        );
        out.push(each(format!("splice connector {awg} to {to} AWG"), n, note));
    }
}

/// Where relays of the controller that carry Class 2 stand beside those that carry line or Class 1: "A1 between K11 and K12".
fn controller_borders(plan: &Plan) -> Vec<String> {
    let mut out = Vec::new();
    for d in plan.devices.iter().filter(|d| d.kind == Kind::Controller) {
        let mut low: BTreeMap<usize, bool> = BTreeMap::new();
        for r in plan.rows.iter().filter(|r| r.class != Class::Ground) {
            for l in [&r.from, &r.to].into_iter().filter(|l| l.device == d.tag) {
                let number = l.terminal.strip_prefix('K').and_then(|t| t.split('.').next());
                if let Some(n) = number.and_then(|n| n.parse().ok()) {
                    low.insert(n, r.class == Class::Class2);
                }
            }
        }
        let list: Vec<(usize, bool)> = low.into_iter().collect();
        for pair in list.windows(2) {
            if let [(a, one), (b, other)] = pair
                && one != other
            {
                out.push(format!("{} between K{a} and K{b}", d.tag));
            }
        }
    }
    out
}

/// Boxes in which Class 2 and other conductors meet.
fn mixed(out: &mut Vec<Material>, plan: &Plan) {
    let mut classes: BTreeMap<&str, (bool, bool)> = BTreeMap::new();
    for r in plan.rows.iter().filter(|r| r.class != Class::Ground) {
        for l in [&r.from, &r.to] {
            let seen = classes.entry(&l.device).or_default();
            if r.class == Class::Class2 { seen.0 = true } else { seen.1 = true }
        }
    }
    let field = |tag: &str| {
        let d = plan.devices.iter().find(|d| d.tag == tag);
        d.is_some_and(|d| d.kind != Kind::Controller && d.terminals.iter().any(|t| t.reach == Reach::Field))
    };
    let tags: BTreeSet<String> = classes
        .into_iter()
        .filter(|(tag, (low, other))| *low && *other && field(tag))
        .map(|(tag, _)| tag.to_owned())
        .collect();
    let mut tags = tags;
    tags.extend(controller_borders(plan));
    if !tags.is_empty() {
        let note = format!(
            "barrier or 1/4 in between Class 2 and the rest (725.136), or a device listed for both; a switch's auxiliary contact \
             may be pulled as Class 1 with the rest: {}",
            named(&tags)
        );
        out.push(each("separation of Class 2 inside a device", tags.len(), note));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        fixtures::{library, workshop},
        plan::plan,
    };

    fn quantity(list: &[Material], starts: &str) -> f64 {
        list.iter().filter(|m| m.item.starts_with(starts)).map(|m| m.quantity).sum()
    }

    /// Boilers on a reset of their own bring an outdoor sensor each, which no schedule of ours names.
    #[test]
    fn sensors_of_the_boilers_own_are_not_forgotten() {
        let mut job = workshop();
        job.control = Control::ZoneRelays;
        job.points = heatwright_core::Points::default();
        (job.sensors, job.beacon) = (Vec::new(), None);
        job.boilers[0].drive = heatwright_core::config::BoilerDrive::DemandOnly;
        job.boilers[0].marks.signal = None;
        let p = plan(&job).unwrap();
        assert_eq!(quantity(&sundries(&job, &p), "outdoor sensor of a boiler"), 1.0);
        let job = workshop();
        assert_eq!(quantity(&sundries(&job, &plan(&job).unwrap()), "outdoor sensor of a boiler"), 0.0);
    }

    #[test]
    fn what_the_box_needs_is_listed() {
        let job = library();
        let p = plan(&job).unwrap();
        let list = sundries(&job, &p);
        for item in
            ["of the controller: relay", "wire connector", "box ground bar", "flexible conduit", "bonding jumper"]
        {
            assert!(quantity(&list, item) > 0.0, "{item}: {list:?}");
        }
        assert_eq!(quantity(&list, "of the controller: relay"), job.points.relays.len() as f64);
        let relays = list.iter().find(|m| m.item == "of the controller: relay").unwrap();
        let spare = job.points.relays.iter().position(|r| *r == heatwright_core::RelayUse::Spare).unwrap() + 1;
        assert!(relays.note.contains("spare: ") && relays.note.contains(&spare.to_string()), "{}", relays.note);
        let parted = list.iter().find(|m| m.item.starts_with("separation")).unwrap();
        assert!(parted.note.contains("QC1"), "its auxiliary contact is Class 2: {}", parted.note);
    }

    /// Seen to move: one conductor more on a switch's neutral is one splice more; no selector, no door.
    #[test]
    fn a_conductor_more_is_a_splice_more() {
        let job = workshop();
        let mut p = plan(&job).unwrap();
        let before = quantity(&sundries(&job, &p), "wire connector");
        let row = p.rows.iter().find(|r| r.to.device == "M1" && r.to.terminal == "N").unwrap().clone();
        p.rows.push(row);
        assert_eq!(quantity(&sundries(&job, &p), "wire connector"), before + 1.0);
        p.devices.retain(|d| !matches!(d.kind, Kind::Selector | Kind::Button));
        assert_eq!(quantity(&sundries(&job, &p), "bonding jumper"), 0.0);
    }

    /// A long run upsizes a pump's conductors past what a 20 A switch takes.
    #[test]
    fn a_wire_past_the_lug_is_said() {
        let mut job = library();
        let said = |job: &Job| quantity(&sundries(job, &plan(job).unwrap()), "splice");
        let before = said(&job);
        job.pumps[1].run_ft = 2000.0;
        assert!(said(&job) > before, "{before}");
    }

    /// NEC 450.10(A): the transformer's grounds land on a bar, whatever their number; four under one fitting is none.
    #[test]
    fn a_transformers_grounds_land_on_a_bar() {
        let job = crate::fixtures::mill();
        let p = plan(&job).unwrap();
        let list = sundries(&job, &p);
        let bar = list.iter().find(|m| m.item.starts_with("terminal bar for") && m.note.starts_with("TP1:")).unwrap();
        let on = |l: &Landing| l.device == "TP1" && l.terminal == "PE";
        let grounds = p.rows.iter().filter(|r| on(&r.from) || on(&r.to)).count();
        assert_eq!(bar.item, format!("terminal bar for {grounds} grounds"));
        assert!(!list.iter().any(|m| m.item.starts_with("box ground bar") && m.note.contains("TP1")));
    }

    /// A box at fans: a splice a potential, of all its conductors, and nothing on a bar or strip.
    #[test]
    fn a_box_at_fans_is_spliced() {
        let job = crate::fixtures::mill();
        let p = plan(&job).unwrap();
        let list = sundries(&job, &p);
        let tag = &p.devices.iter().find(|d| d.tag.starts_with("XF")).unwrap().tag;
        let spliced: Vec<_> =
            list.iter().filter(|m| m.item.starts_with("wire connector") && m.note.ends_with(tag.as_str())).collect();
        assert!(!spliced.is_empty(), "{list:?}");
        let ends: usize = p
            .rows
            .iter()
            .filter(|r| r.class != Class::Ground)
            .map(|r| usize::from(r.from.device == *tag) + usize::from(r.to.device == *tag))
            .sum();
        let held: usize = spliced.iter().map(|m| m.item.rsplit(' ').next().unwrap().parse::<usize>().unwrap()).sum();
        assert_eq!(held, ends);
        assert!(!p.bars.iter().any(|b| b.strip == *tag));
    }
}
