//! The list of materials: devices by kind and rating, conductors, cables, raceways.
//!
//! Conductor lengths are those of the rows and 10 per cent, raceway and cable lengths those of the runs and 10 per cent (trade
//! allowance, no source), rounded up to whole feet. Enclosures, boxes, ground bars and jumper bars are counted from what stands
//! in them; the volume of a box and the size of an enclosure are not computed (314.16 and the layout decide them). Fittings
//! and supports are not counted. The user's own equipment (boilers, pumps, thermostats, valves, safeties, sensors) is listed so
//! that nothing is forgotten; who buys it is not said.

use crate::{
    device::{Device, Kind, Reach},
    job::{Job, PumpMotor},
    kinds::{control_transformer, disconnect},
    natural,
    part::{LoadUse, Part, T},
    pass::orders::order,
    plan::{Breaker, Duty, Feed, Material, MotorProtection, Plan, Run, RunForm},
    row::{Class, Colour, Row},
    trace::Trace,
};
use heatwright_core::Subject;
use std::collections::BTreeMap;

const ALLOWANCE: f64 = 1.10;

/// All materials.
pub fn materials(job: &Job, plan: &Plan) -> Vec<Material> {
    let mut out = Vec::new();
    enclosures(&mut out, job, plan);
    let mut volts: BTreeMap<&str, f64> = BTreeMap::new();
    for r in &plan.rows {
        for l in [&r.from, &r.to] {
            let most = volts.entry(&l.device).or_insert(0.0);
            *most = r.volts.max(*most);
        }
    }
    let of = |d: &Device| volts.get(d.tag.as_str()).copied().unwrap_or(0.0);
    let panels = crate::pass::lockout::in_panels(plan);
    let devices = plan.devices.iter().enumerate().filter(|(_, d)| !is_box(d)).map(|(n, d)| {
        let inside = panels.iter().any(|p| p.contains(&n));
        (device_item(d, inside, job, plan, of(d)), which(d))
    });
    counted(&mut out, devices);
    let branch = |b: &&Breaker| !plan.circuits.iter().any(|c| c.name == b.circuit && c.duty == Duty::Feeder);
    counted(&mut out, plan.breakers.iter().filter(branch).map(|b| (breaker_item(plan, b), "")));
    strips(&mut out, plan);
    lengths(&mut out, &plan.runs, &plan.rows);
    out
}

/// The tag by which the list says which of its kind an item is for; empty where its text says so already.
fn which(d: &Device) -> &str {
    match d.kind {
        Kind::Relay
        | Kind::Contactor
        | Kind::Starter
        | Kind::Disconnect
        | Kind::Selector
        | Kind::ControlTransformer => &d.tag,
        _ => "",
    }
}

/// Strips, ground bars and junction boxes are counted by what stands in them; the panelboard with the enclosures.
fn is_box(d: &Device) -> bool {
    matches!(d.kind, Kind::Strip | Kind::Panelboard)
}

/// True for the junction box at a zone's fans: its conductors are spliced (110.14(B)), there is no strip in it.
pub(super) fn is_splice_box(d: &Device) -> bool {
    d.tag.starts_with("XF")
}

/// True for the main breaker of a panelboard behind a transformer.
fn is_main(plan: &Plan, b: &Breaker, board: &str) -> bool {
    let feeder = plan.circuits.iter().any(|c| c.name == b.circuit && c.duty == Duty::Feeder);
    feeder && plan.rows.iter().any(|r| r.circuit == b.circuit && r.to.device == board)
}

/// Field terminals of a strip: through terminals, and those bonded to its ground bar.
fn terminals(d: &Device) -> (usize, usize) {
    let rail = |t: usize| {
        d.parts.iter().any(|p| match p {
            Part::Bond(a, b) => {
                let inside =
                    |t: crate::part::T| d.terminals.get(usize::from(t.0)).is_some_and(|t| t.reach == Reach::Inside);
                (usize::from(b.0) == t && inside(*a)) || (usize::from(a.0) == t && inside(*b))
            }
            _ => false,
        })
    };
    let field = (0..d.terminals.len()).filter(|t| d.terminals[*t].reach == Reach::Field);
    let (ground, through): (Vec<usize>, Vec<usize>) = field.partition(|t| rail(*t));
    (through.len(), ground.len())
}

fn each(item: String, quantity: usize, note: String) -> Material {
    Material { item, quantity: quantity as f64, unit: "each".into(), note }
}

fn enclosures(out: &mut Vec<Material>, job: &Job, plan: &Plan) {
    let [inside, starters] = crate::pass::lockout::in_panels(plan);
    if !inside.is_empty() {
        let strip = inside.iter().map(|d| &plan.devices[*d]).filter(|d| d.kind == Kind::Strip);
        let strips: usize = strip.map(|d| terminals(d).0).sum();
        let other = inside.iter().filter(|d| plan.devices[**d].kind != Kind::Strip).count();
        out.push(each(
            format!("relay panel enclosure with back plate, type {}", job.panel.enclosure),
            1,
            format!("for {other} devices and {strips} terminal blocks; a barrier between power and Class 2"),
        ));
    }
    if !starters.is_empty() {
        let strip = starters.iter().map(|d| &plan.devices[*d]).filter(|d| d.kind == Kind::Strip);
        let strips: usize = strip.map(|d| terminals(d).0).sum();
        let other = starters.iter().filter(|d| plan.devices[**d].kind != Kind::Strip).count();
        let note = format!("for {other} devices and {strips} terminal blocks");
        let of = job.starter_panel.as_ref().map_or(job.panel.enclosure, |s| s.enclosure);
        out.push(each(format!("starter panel enclosure with back plate, type {of}"), 1, note));
    }
    let mut boards: Vec<&str> = plan.directory.iter().map(|e| e.panel.as_str()).collect();
    boards.dedup();
    for board in boards {
        let all = plan.directory.iter().filter(|e| e.panel == board);
        let taken = all.clone().filter(|e| e.amps > 0).count();
        let spaces = all.count();
        let main = plan.breakers.iter().find(|b| is_main(plan, b, board));
        let main = main.map_or_else(String::new, |b| {
            let rating = match plan.second_fault_ka.or(plan.fault_ka).and_then(interrupting) {
                Some(ka) => format!(", {ka:.0} kAIC or more"),
                None => String::new(),
            };
            format!("; main breaker {} A, {} pole{rating}", b.amps, b.poles)
        });
        let note = format!("{board}: {taken} taken, {} spare{main}; see the directory", spaces - taken);
        let (system, bus) = (system(plan, board), bus_a(plan, board));
        out.push(each(format!("panelboard with {spaces} spaces, {}, bus {bus} A or more", system.text), 1, note));
    }
    for (d, device) in plan.devices.iter().enumerate() {
        let outside = device.kind == Kind::Strip && !inside.contains(&d) && !starters.contains(&d);
        let (through, ground) = terminals(device);
        if outside && through + ground > 0 {
            let note = if is_splice_box(device) {
                format!("{} splices, ground bar for {ground}", potentials(plan, device))
            } else {
                format!("{through} terminal blocks, ground bar for {ground}")
            };
            out.push(each(format!("{} {}", device.tag, device.label), 1, note));
        }
    }
}

/// How many potentials a box splices.
fn potentials(plan: &Plan, d: &Device) -> usize {
    let here = |r: &&Row| r.class != Class::Ground && (r.from.device == d.tag || r.to.device == d.tag);
    plan.rows.iter().filter(here).map(|r| r.wire.as_str()).collect::<std::collections::BTreeSet<_>>().len()
}

/// The system of a panelboard in words (NEC 408.30), with the volts that a breaker of it must be marked with: one pole, more poles
/// (240.83(E), 240.85, from memory: a slash rating, since the system is grounded).
pub(super) struct System {
    pub(super) text: &'static str,
    one_pole: &'static str,
    more_poles: &'static str,
}

/// Read from its circuits' volts to ground and the phases of its directory.
pub(super) fn system(plan: &Plan, board: &str) -> System {
    let here = |c: &&crate::plan::Circuit| matches!(&c.feed, Feed::Panelboard { panel, .. } if panel == board);
    let to_ground = plan.circuits.iter().filter(here).map(|c| c.volts_to_ground).fold(0.0, f64::max);
    let three = plan.directory.iter().any(|e| e.panel == board && e.phase == 3);
    match (three, to_ground > 150.0) {
        (true, true) => System { text: "480Y/277 V, 3 phase, 4 wire", one_pole: "277 V", more_poles: "480Y/277 V" },
        (true, false) => System { text: "208Y/120 V, 3 phase, 4 wire", one_pole: "120 V", more_poles: "208Y/120 V" },
        _ => System { text: "120/240 V, 1 phase, 3 wire", one_pole: "120 V", more_poles: "120/240 V" },
    }
}

/// Usual busbars, amperes (common practice, no source).
const BUS_A: [u16; 8] = [100, 125, 200, 225, 400, 600, 800, 1200];

/// The smallest usual busbar for the panelboard's own loads: its main breaker where it has one, else the heaviest phase of the directory
/// at 125 per cent, no demand factor (our choice: on the safe side of Article 220; what else hangs on it adds to this).
fn bus_a(plan: &Plan, board: &str) -> u16 {
    let main = plan.breakers.iter().find(|b| is_main(plan, b, board)).map(|b| f64::from(b.amps));
    let most = super::balance::balances(plan).into_iter().find(|b| b.panel == board);
    let heaviest = most.map_or(0.0, |b| b.amps.into_iter().fold(0.0, f64::max));
    let least = main.unwrap_or(0.0).max(1.25 * heaviest);
    BUS_A.into_iter().find(|a| f64::from(*a) >= least).unwrap_or(2000)
}

/// Strip terminals, ground bars and jumper bars.
fn strips(out: &mut Vec<Material>, plan: &Plan) {
    let all = plan.devices.iter().filter(|d| d.kind == Kind::Strip);
    let through: usize = all.clone().filter(|d| !is_splice_box(d)).map(|d| terminals(d).0).sum();
    if through > 0 {
        let note = "one conductor a side; marked as the wiring schedule says";
        out.push(each("terminal block, two sides".into(), through, note.into()));
    }
    for d in all {
        let ground = terminals(d).1;
        if ground > 0 {
            out.push(each(format!("ground bar, {ground} terminals"), 1, format!("{}, bonded to its enclosure", d.tag)));
        }
    }
    let mut bars: BTreeMap<u16, usize> = BTreeMap::new();
    for b in &plan.bars {
        *bars.entry(b.poles).or_insert(0) += 1;
    }
    for (poles, n) in bars {
        out.push(each(format!("jumper bar, {poles} poles"), n, "where it goes: the list of jumper bars".into()));
    }
}

/// Equal items as one line with their tags.
fn counted<'a>(out: &mut Vec<Material>, items: impl Iterator<Item = ((String, String), &'a str)>) {
    let mut count: BTreeMap<(String, String), (u32, Vec<&str>)> = BTreeMap::new();
    for (i, tag) in items {
        let (n, tags) = count.entry(i).or_default();
        *n += 1;
        tags.extend(Some(tag).filter(|t| !t.is_empty()));
    }
    let mut list: Vec<_> = count.into_iter().collect();
    list.sort_by(|((a, b), _), ((c, d), _)| natural::cmp(a, c).then_with(|| natural::cmp(b, d)));
    for ((item, mut note), (n, mut tags)) in list {
        tags.sort_by(|a, b| natural::cmp(a, b));
        if !tags.is_empty() {
            note = [note, tags.join(", ")].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(": ");
        }
        out.push(Material { item, quantity: f64::from(n), unit: "each".into(), note });
    }
}

/// Usual interrupting ratings of branch breakers, kA (common practice, no source).
const INTERRUPTING_KA: [f64; 7] = [10.0, 14.0, 18.0, 22.0, 42.0, 65.0, 100.0];

/// The smallest usual interrupting rating for so much available current.
fn interrupting(ka: f64) -> Option<f64> {
    INTERRUPTING_KA.into_iter().find(|r| *r >= ka - 1e-9)
}

/// A breaker with the volts of its system and the interrupting rating that the available current asks for (NEC 110.9, checked): behind the
/// transformer what its impedance lets through, where that is stated.
fn breaker_item(plan: &Plan, b: &Breaker) -> (String, String) {
    let fault = if b.ground_fault { ", ground-fault protection" } else { "" };
    let board = plan.circuits.iter().find(|c| c.name == b.circuit).and_then(|c| match &c.feed {
        Feed::Panelboard { panel, .. } => Some(panel.as_str()),
        _ => None,
    });
    let lockable = board.map_or_else(|| "lockable".into(), |p| format!("lockable, for panelboard {p}"));
    let volts = board.map_or("", |p| {
        let s = system(plan, p);
        if b.poles == 1 { s.one_pole } else { s.more_poles }
    });
    let behind = board.is_some_and(|p| p == crate::pass::boards::Board::Second.tag());
    let available = plan.fault_ka.map(|ka| if behind { plan.second_fault_ka.map_or(ka, |s| s.min(ka)) } else { ka });
    let (rating, note) = match available {
        None => (
            String::new(),
            format!("{lockable}; interrupting rating (kAIC): ask the utility for the available current first"),
        ),
        Some(ka) => match interrupting(ka) {
            Some(r) => (format!(", {r:.0} kAIC or more"), format!("{lockable}; {ka:.1} kA available (110.9)")),
            None => (
                String::new(),
                format!("{lockable}; {ka:.1} kA available, above usual breakers: have it engineered (110.9)"),
            ),
        },
    };
    (format!("breaker {} A, {} pole, {volts}{fault}{rating}", b.amps, b.poles), note)
}

/// Breaker of the circuit whose conductors land on a device's line side, amperes: what a service switch must carry.
fn breaker_ahead(plan: &Plan, d: &Device) -> Option<u16> {
    let line = crate::kinds::relay::main_pole(1)[0].clone();
    let at = |l: &crate::row::Landing| l.device == d.tag && l.terminal == line;
    let row = plan.rows.iter().find(|r| at(&r.to) || at(&r.from))?;
    plan.breakers.iter().find(|b| b.circuit == row.circuit).map(|b| b.amps)
}

/// ", 480 V": the highest volts of its conductors.
fn rated_volts(volts: f64) -> String {
    if volts > 0.0 { format!(", {volts:.0} V") } else { String::new() }
}

/// Where an emergency switch hangs, and in what: the plan does not know on which side of its door it is outdoors.
const DOOR_SWITCH: &str = "; beside a door to the outdoors inside of it, beside a door into the building outside of the boiler room (CSD-1 CE-110, \
     from memory); outdoors type 3R or 4 with raintight fittings";

/// Contacts of a relay as the trade counts them.
fn throws(poles: usize) -> String {
    match poles {
        1 => "SPDT".into(),
        2 => "DPDT".into(),
        n => format!("{n}PDT"),
    }
}

fn device_item(d: &Device, inside: bool, job: &Job, plan: &Plan, volts: f64) -> (String, String) {
    let electronic = electronic(job, plan, d);
    let high = rated_volts(volts);
    let motor = plan.motors.iter().find(|m| m.disconnect == d.tag || m.controller_disconnect == d.tag);
    let poles = d.parts.iter().filter(|p| matches!(p, Part::Contact { .. })).count();
    match d.kind {
        Kind::Relay => {
            let volts = coil_volts(d);
            let carries = motor_on(plan, d).map_or_else(String::new, |m| format!(", contacts rated for {m}"));
            (format!("control relay, {volts:.0} V coil, {}{carries}", throws(poles / 2)), "with socket".into())
        }
        Kind::Contactor => {
            let two = if d.terminals.iter().any(|t| t.holds > 1) { "line terminals for two conductors; " } else { "" };
            let carries = motor_on(plan, d).map_or_else(String::new, |m| format!(", for {m}"));
            let inrush = if electronic {
                "rated for the inrush of its capacitors (HW207)"
            } else {
                "rated in hp, or in full-load and locked-rotor amps"
            };
            let (boxed, suits) = own_box(d);
            (
                format!("contactor, {boxed}{poles} pole, {:.0} V coil{high}{carries}", coil_volts(d)),
                format!("{two}{inrush}{suits}"),
            )
        }
        Kind::Starter => {
            let motors = motors_over(plan, d);
            let motor = motors.iter().max_by(|a, b| a.sizing_a.total_cmp(&b.sizing_a));
            let size = motor.map_or_else(String::new, |m| format!(", motor {:.1} A", m.sizing_a));
            let overload = motor.and_then(|m| m.overload).map_or_else(
                || "overload to the motor schedule".to_owned(),
                |o| format!("overload range with {:.1} A in it, to the motor schedule", o.set_a),
            );
            let two = if d.terminals.iter().any(|t| t.holds > 1) { "; line terminals for two conductors" } else { "" };
            let (boxed, suits) = own_box(d);
            let item = format!("starter, {boxed}{} pole, {:.0} V coil{high}{size}", poles - 1, coil_volts(d));
            (item, format!("{overload}{two}{suits}"))
        }
        Kind::Disconnect => {
            let (poles, aux) = disconnect::poles(d);
            // One stands in an enclosure of ours, the other brings its own to a wall.
            let (switch, suits) = if inside {
                ("disconnect switch to build in", "; its handle through the door, worked and locked with the door shut")
            } else {
                ("disconnect switch, enclosed", "; its enclosure to suit the place")
            };
            let low = plan.rows.iter().any(|r| {
                let aux = |e: &crate::row::Landing| e.device == d.tag && disconnect::AUX.contains(&e.terminal.as_str());
                r.class == Class::Class2 && (aux(&r.from) || aux(&r.to))
            });
            let with = if aux > 0 { format!(" + {aux} auxiliary contact") } else { String::new() };
            // Class 2 in the box of a line switch: NEC 725.136(D) asks for a barrier or 1/4 in.
            let apart = if low {
                "; auxiliary is Class 2: behind a barrier, or 1/4 in from line conductors (725.136)"
            } else {
                ""
            };
            match motor {
                Some(m) => (
                    format!("{switch}, {poles} pole{with}, {} A{high}", switch_a(m.disconnect_min_a)),
                    format!("lockable open, motor rated{apart}{suits}"),
                ),
                None => {
                    // A burner has a blower (430.109).
                    let burner = if matches!(d.subject, Some(Subject::Boiler(_))) { ", motor rated" } else { "" };
                    let amps =
                        breaker_ahead(plan, d).map_or_else(String::new, |a| format!(", {} A", switch_a(f64::from(a))));
                    (
                        format!("{switch}, {poles} pole{with}{amps}{high}"),
                        format!("lockable open{burner}{apart}{suits}"),
                    )
                }
            }
        }
        Kind::Transformer => {
            let va = d.parts.iter().find_map(|p| if let Part::Transformer { va, .. } = p { Some(*va) } else { None });
            (format!("transformer 120/24 V, {:.0} VA", va.unwrap_or(0.0)), "listed as Class 2 supply".into())
        }
        Kind::ControlTransformer => {
            let volts = d.parts.iter().find_map(|p| match p {
                Part::Transformer { primary_volts, .. } => Some(*primary_volts),
                _ => None,
            });
            let volts = volts.unwrap_or(0.0);
            let [primary, secondary] = control_transformer::fuses_a(volts);
            (
                format!("control transformer {volts:.0}/120 V, {:.0} VA", control_transformer::VA),
                format!(
                    "{}with fuse clips; 2 time-delay fuses {primary} A, 600 V, primary (430.72(C)(4)), 1 of {secondary} A, secondary; X2 and PE for two conductors",
                    joined(volts)
                ),
            )
        }
        Kind::DryTransformer => {
            let volts = d.parts.iter().find_map(|p| match p {
                Part::Transformer { primary_volts, .. } => Some(*primary_volts),
                _ => None,
            });
            let remark = "X2 joined to X3 for 120/240 V; with its enclosure; taps 2 x 2.5 % below rated are usual";
            (d.label.clone(), format!("{}{remark}", joined(volts.unwrap_or(0.0))))
        }
        Kind::Electrode => (d.label.clone(), "clamp or lug; the nearest one (NEC 250.30(A)(4))".into()),
        Kind::Selector => (
            "HAND-OFF-AUTO selector".into(),
            format!("{poles} contact blocks: {}", crate::kinds::selector::positions(d)),
        ),
        Kind::Button => ("push button, 1 contact, open at rest".into(), d.tag.clone()),
        Kind::Controller => ("controller".into(), String::new()),
        // A limit in a pump's own line carries its motor too.
        Kind::Aquastat | Kind::Safety => {
            let carries = motor_on(plan, d).map_or_else(String::new, |m| format!("; contact rated for {m}"));
            let door = match d.subject {
                Some(Subject::Safety(s)) => {
                    let kind = job.safeties.get(s.index()).map(|s| s.config.kind);
                    if kind == Some(heatwright_core::config::SafetyKind::DoorSwitch) { DOOR_SWITCH } else { "" }
                }
                _ => "",
            };
            (d.label.clone(), format!("{}{}{carries}{door}", d.tag, order(job, plan, d)))
        }
        Kind::Thermostat
        | Kind::ZoneValve
        | Kind::MixingValve
        | Kind::Damper
        | Kind::Beacon
        | Kind::Sensor
        | Kind::Pump
        | Kind::Fan
        | Kind::CondensatePump
        | Kind::Boiler => (d.label.clone(), format!("{}{}", d.tag, order(job, plan, d))),
        _ => (d.label.clone(), d.tag.clone()),
    }
}

/// What is ordered besides with a contactor or starter that brings its own box.
fn own_box(d: &Device) -> (&'static str, &'static str) {
    if crate::kinds::relay::has_own_box(d) {
        ("enclosed, ", "; its enclosure to suit the place, with room for its control transformer")
    } else {
        ("", "")
    }
}

/// How a primary of two windings is joined, with a stop behind it.
fn joined(primary_volts: f64) -> String {
    crate::kinds::primary_links(primary_volts)
        .map_or_else(String::new, |links| format!("primary 240 x 480 V, {links} for {primary_volts:.0} V; "))
}

/// True when a motor has no way to a panelboard but over contacts of this device.
fn behind(plan: &Plan, trace: &Trace<'_>, d: &Device, m: &MotorProtection) -> bool {
    let Some(at) = plan.devices.iter().position(|x| x.tag == m.device) else { return false };
    let here = (0..plan.devices[at].terminals.len()).filter_map(|t| trace.group_of(at, T(t as u16)));
    let mut reached: Vec<usize> = here.filter(|g| !trace.is_grounded(*g)).collect();
    let mut next = 0;
    while let Some(g) = reached.get(next).copied() {
        next += 1;
        if trace.members(g).iter().any(|n| plan.devices[trace.owner(*n)].kind == Kind::Panelboard) {
            return false;
        }
        for (of, p) in trace.parts().filter(|(of, _)| plan.devices[*of].tag != d.tag) {
            let Part::Contact { a, b, .. } = *p else { continue };
            let (Some(a), Some(b)) = (trace.group_of(of, a), trace.group_of(of, b)) else { continue };
            let new = if a == g {
                b
            } else if b == g {
                a
            } else {
                continue;
            };
            if !reached.contains(&new) && !trace.is_grounded(new) {
                reached.push(new);
            }
        }
    }
    true
}

/// True where the line of an electronically commutated pump goes over a contact of this device.
fn electronic(job: &Job, plan: &Plan, d: &Device) -> bool {
    motors_over(plan, d).into_iter().any(|m| match m.what {
        LoadUse::Pump(p) | LoadUse::PumpSupply(p) => {
            job.pumps.get(p.index()).is_some_and(|p| matches!(p.motor, PumpMotor::ElectronicallyCommutated { .. }))
        }
        _ => false,
    })
}

/// The motors whose line goes over a contact of this device.
pub(super) fn motors_over<'a>(plan: &'a Plan, d: &Device) -> Vec<&'a MotorProtection> {
    let lands = |r: &&Row| r.class == Class::Power && (r.from.device == d.tag || r.to.device == d.tag);
    let circuits: Vec<&str> = plan.rows.iter().filter(lands).map(|r| r.circuit.as_str()).collect();
    let mut motors: Vec<&MotorProtection> =
        plan.motors.iter().filter(|m| circuits.contains(&m.circuit.as_str())).collect();
    let unlike = |a: &MotorProtection, b: &MotorProtection| {
        (a.sizing_a - b.sizing_a).abs() > 1e-9 || a.overload.map(|o| o.set_a) != b.overload.map(|o| o.set_a)
    };
    if motors.iter().any(|m| unlike(m, motors[0])) {
        let trace = Trace::of(plan);
        motors.retain(|m| behind(plan, &trace, d, m));
    }
    motors
}

/// The largest motor whose line goes over a contact of this device: what the contact must be rated for (NEC 430.83, from memory: a
/// controller has a horsepower rating not below the motor's, or for small ones its current).
fn motor_on(plan: &Plan, d: &Device) -> Option<String> {
    let motors = motors_over(plan, d).into_iter();
    let largest = motors.max_by(|a, b| a.sizing_a.total_cmp(&b.sizing_a))?;
    let volts = plan.circuits.iter().find(|c| c.name == largest.circuit).map_or(0.0, |c| c.volts);
    Some(format!("a motor of {:.1} A at {volts:.0} V (430.83)", (largest.sizing_a * 10.0 - 1e-9).ceil() / 10.0))
}

/// The smallest usual switch: 20, 30, 60, 100, 200 A (common practice, no source).
fn switch_a(least: f64) -> u16 {
    [20, 30, 60, 100].into_iter().find(|a| f64::from(*a) >= least).unwrap_or(200)
}

fn coil_volts(d: &Device) -> f64 {
    d.parts.iter().find_map(|p| if let Part::Coil { volts, .. } = p { Some(*volts) } else { None }).unwrap_or(0.0)
}

fn lengths(out: &mut Vec<Material>, runs: &[Run], rows: &[Row]) {
    let mut wire: BTreeMap<(String, String), f64> = BTreeMap::new();
    for r in rows {
        if matches!(r.colour, Colour::Core(_) | Colour::Shield) {
            continue;
        }
        let colour = format!("{:?}", r.colour).to_lowercase();
        *wire.entry((format!("{} {}", r.awg, r.insulation), colour)).or_insert(0.0) += r.length_ft;
    }
    for ((what, colour), ft) in wire {
        out.push(feet(
            format!("wire {what} AWG {colour}")
                .replace(" THHN AWG", " AWG THHN")
                .replace(" TFFN AWG", " AWG TFFN")
                .replace(" bare AWG green", " AWG bare copper"),
            ft,
        ));
    }
    let mut tube: BTreeMap<String, f64> = BTreeMap::new();
    for run in runs {
        let item = match &run.form {
            RunForm::Emt(size) => format!("EMT {size} in"),
            // Its metal is among the conductors.
            RunForm::Bare => continue,
            RunForm::Cable { cores, shielded } => {
                let awg = rows.iter().find(|r| r.run == run.name).map_or("18", |r| r.awg.as_str());
                let shield = if *shielded { ", shielded" } else { "" };
                format!("cable CL2 {cores} x {awg} AWG{shield}")
            }
        };
        *tube.entry(item).or_insert(0.0) += run.length_ft;
    }
    for (item, ft) in tube {
        out.push(feet(item, ft));
    }
}

fn feet(item: String, ft: f64) -> Material {
    Material { item, quantity: (ft * ALLOWANCE).ceil(), unit: "ft".into(), note: "10 % allowance in it".into() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{fixtures::library, plan::plan};

    fn count(list: &[Material], starts: &str) -> f64 {
        list.iter().filter(|m| m.item.starts_with(starts)).map(|m| m.quantity).sum()
    }

    #[test]
    fn what_holds_the_parts_is_counted() {
        let p = plan(&library()).unwrap();
        assert_eq!(count(&p.materials, "relay panel enclosure"), 1.0);
        let panel = p.materials.iter().find(|m| m.item.starts_with("relay panel enclosure")).unwrap();
        let field = |tag: &str| {
            let d = p.devices.iter().find(|d| d.tag == tag).unwrap();
            d.terminals.iter().filter(|t| t.reach == Reach::Field).count()
        };
        let strips = format!("{} terminal blocks", field("X1") + field("X2"));
        assert!(panel.note.contains(&strips), "{}, not {strips}", panel.note);
        assert_eq!(count(&p.materials, "XB"), 3.0, "a junction box at each boiler");
        let boxes = |d: &&crate::device::Device| ["XB", "XF", "XG"].iter().any(|t| d.tag.starts_with(t));
        let wanted = p.devices.iter().filter(boxes).count() as f64;
        assert_eq!(count(&p.materials, "ground bar"), wanted, "in the relay panel and in each box");
        assert!(!p.bars.iter().any(|b| b.strip.starts_with("XF")), "a box at fans has splices, no bars");
        assert_eq!(count(&p.materials, "jumper bar"), p.bars.len() as f64);
        assert_eq!(count(&p.materials, &format!("panelboard with {} spaces", p.directory.len())), 1.0);
        let poles: f64 = p.breakers.iter().map(|b| f64::from(b.poles)).sum();
        let bought: f64 = p
            .materials
            .iter()
            .filter(|m| m.item.starts_with("breaker"))
            .map(|m| m.quantity * m.item.split(", ").nth(1).unwrap().split(' ').next().unwrap().parse::<f64>().unwrap())
            .sum();
        assert_eq!(poles, bought);
    }

    /// NEC 110.9: 14 kA available asks for more than the common 10 kAIC breaker; unknown is said, not taken as 10.
    #[test]
    fn a_breaker_is_ordered_with_its_interrupting_rating() {
        let mut job = library();
        let items = |job: &crate::job::Job| -> Vec<Material> {
            plan(job).unwrap().materials.into_iter().filter(|m| m.item.starts_with("breaker")).collect()
        };
        for (ka, said) in [(9.0, "10 kAIC"), (10.0, "10 kAIC"), (14.0, "14 kAIC"), (14.1, "18 kAIC"), (30.0, "42 kAIC")]
        {
            job.service.fault_ka = Some(ka);
            assert!(items(&job).iter().all(|m| m.item.contains(said)), "{ka}: {:?}", items(&job));
        }
        job.service.fault_ka = Some(150.0);
        assert!(items(&job).iter().all(|m| m.note.contains("engineered")));
        job.service.fault_ka = None;
        assert!(items(&job).iter().all(|m| !m.item.contains("kAIC") && m.note.contains("ask the utility")));
    }

    #[test]
    fn the_enclosures_are_bought_by_type() {
        let mut job = crate::fixtures::mill();
        job.starter_panel.as_mut().unwrap().enclosure = crate::job::EnclosureType::Type3R;
        let list = plan(&job).unwrap().materials;
        for wanted in
            ["relay panel enclosure with back plate, type 1", "starter panel enclosure with back plate, type 3R"]
        {
            assert!(list.iter().any(|m| m.item == wanted), "{wanted}");
        }
    }

    /// Seen to fail: a terminal more on a ground bar is a larger bar.
    #[test]
    fn a_terminal_more_is_counted() {
        let mut p = plan(&library()).unwrap();
        let bar = p.devices.iter_mut().find(|d| d.tag == "XG").unwrap();
        let before = terminals(bar).1;
        crate::kinds::strip::add_ground(bar, "one more");
        assert_eq!(terminals(bar).1, before + 1);
        let list = materials(&library(), &p);
        assert!(list.iter().any(|m| m.item == format!("ground bar, {} terminals", before + 1)));
    }

    fn mill_items() -> Vec<Material> {
        plan(&crate::fixtures::mill()).unwrap().materials
    }

    /// Behind the transformer what it lets through, not what the service has (110.9): 10 kVA of 4 per cent at 240 V, 1.04 kA.
    #[test]
    fn breakers_behind_the_transformer_see_what_it_lets_through() {
        let list = mill_items();
        let of = |board: &str| {
            let end = format!("panelboard {board}");
            let all = list.iter().filter(|m| m.item.starts_with("breaker") && m.note.contains(&end));
            all.map(|m| m.item.clone()).collect::<Vec<_>>()
        };
        let (a2, a3) = (of("A2"), of("A3"));
        assert!(!a2.is_empty() && a2.iter().all(|i| i.contains("22 kAIC")), "{a2:?}");
        assert!(!a3.is_empty() && a3.iter().all(|i| i.contains("10 kAIC")), "{a3:?}");
        assert!(
            list.iter().any(|m| m.item.starts_with("panelboard")
                && m.note.contains("main breaker")
                && m.note.contains("kAIC"))
        );
        // Its impedance unknown, the service's current is the bound.
        let mut job = crate::fixtures::mill();
        job.service.step_down.as_mut().unwrap().impedance_percent = None;
        let list = plan(&job).unwrap().materials;
        let breakers = list.iter().filter(|m| m.item.starts_with("breaker"));
        assert!(breakers.clone().count() > 0 && breakers.clone().all(|m| m.item.contains("22 kAIC")));
    }

    #[test]
    fn panelboards_and_breakers_are_bought_by_their_system() {
        let list = mill_items();
        let board =
            |tag: &str| list.iter().find(|m| m.item.starts_with("panelboard") && m.note.starts_with(tag)).unwrap();
        assert!(board("A2:").item.contains("480Y/277 V, 3 phase, 4 wire, bus"), "{}", board("A2:").item);
        assert!(board("A3:").item.contains("120/240 V, 1 phase, 3 wire, bus"), "{}", board("A3:").item);
        for m in list.iter().filter(|m| m.item.starts_with("breaker")) {
            let volts = match (m.note.contains("panelboard A2"), m.item.contains("1 pole")) {
                (true, true) => "277 V",
                (true, false) => "480Y/277 V",
                (false, true) => "120 V",
                (false, false) => "120/240 V",
            };
            assert!(m.item.contains(&format!("pole, {volts}")), "{m:?}");
        }
        // The bus carries the heaviest phase: a boiler of 100 A more is a larger one.
        let mut job = crate::fixtures::mill();
        let bus = |job: &crate::job::Job| {
            let list = plan(job).unwrap().materials;
            let m = list.into_iter().find(|m| m.item.starts_with("panelboard") && m.note.starts_with("A2:")).unwrap();
            let text = m.item.split("bus ").nth(1).unwrap().split(' ').next().unwrap().to_owned();
            text.parse::<f64>().unwrap()
        };
        let before = bus(&job);
        job.boilers[0].amps += 90.0;
        assert!(bus(&job) >= before + 75.0, "{before} {}", bus(&job));
    }

    /// Two starters for motors of different current are two lines; every starter and disconnect is bought by its volts.
    #[test]
    fn starters_are_bought_by_motor_and_overload() {
        let mut job = crate::fixtures::mill();
        let starters = |job: &crate::job::Job| {
            let list = plan(job).unwrap().materials.into_iter();
            list.filter(|m| m.item.starts_with("starter, ")).collect::<Vec<_>>()
        };
        let before = starters(&job);
        assert!(before.iter().all(|m| m.item.contains("480 V, motor ") && m.note.contains(" A in it")), "{before:?}");
        job.pumps[1].nameplate_a += 0.8;
        assert_eq!(starters(&job).len(), before.len() + 1, "{:?}", starters(&job));
        for m in plan(&job).unwrap().materials.iter().filter(|m| m.item.starts_with("disconnect switch")) {
            assert!(m.item.contains(" A, ") && m.item.ends_with(" V"), "{m:?}");
        }
    }

    /// On a breaker that pumps share, the starter of one is bought for its own motor and not for that of the first.
    #[test]
    fn a_starter_on_a_shared_breaker_is_bought_for_its_own_motor() {
        let mut job = library();
        let p = plan(&job).unwrap();
        let pump = |m: &MotorProtection| match m.what {
            LoadUse::Pump(p) => Some(p.index()),
            _ => None,
        };
        let shared = p.motors.iter().enumerate().find_map(|(n, m)| {
            let other = p.motors[..n].iter().find(|o| o.circuit == m.circuit && pump(o).is_some())?;
            Some((pump(other)?, pump(m)?))
        });
        let (first, second) = shared.expect("pumps that share a breaker");
        job.pumps[second].motor = PumpMotor::WetRotor;
        job.pumps[second].nameplate_a = job.pumps[first].nameplate_a - 1.3;
        job.pumps[second].overload_built_in = false;
        let p = plan(&job).unwrap();
        let own = p.motors.iter().find(|m| pump(m) == Some(second)).unwrap();
        let beside = p.motors.iter().any(|m| pump(m) == Some(first) && m.circuit == own.circuit);
        assert!(beside && own.overload.is_some(), "{own:?}");
        let size = format!("motor {:.1} A", own.sizing_a);
        let range = format!("overload range with {:.1} A in it", own.nameplate_a);
        let list: Vec<_> = p.materials.iter().filter(|m| m.item.starts_with("starter, ")).collect();
        assert!(list.iter().any(|m| m.item.ends_with(&size) && m.note.starts_with(&range)), "{size}: {list:?}");
    }

    /// A contact that carries a motor's line is bought with the rating for it; one that carries a coil is not.
    #[test]
    fn a_contact_in_a_motor_line_has_a_motor_rating() {
        let mut job = crate::fixtures::workshop();
        job.control = crate::job::Control::ZoneRelays;
        job.points = heatwright_core::Points::default();
        job.sensors = Vec::new();
        job.beacon = None;
        job.boilers[0].drive = heatwright_core::config::BoilerDrive::DemandOnly;
        job.boilers[0].marks.signal = None;
        let p = plan(&job).unwrap();
        let rated = "contacts rated for a motor of 0.8 A at 120 V (430.83)";
        assert_eq!(count_with(&p.materials, "control relay", rated), 1.0, "{:?}", p.materials);
        let others = p.materials.iter().filter(|m| m.item.starts_with("control relay") && !m.item.contains("motor"));
        assert!(others.count() > 0, "relays of safeties carry no motor");
        // The office pump's own thermostat is two-wire: on its transformer hangs the coil of its relay.
        let loads: Vec<&String> = p.transformers.iter().flat_map(|t| &t.loads).collect();
        assert!(loads.iter().any(|l| *l == "relay coil of the call of office"), "{loads:?}");
        let aquastat = plan(&crate::fixtures::mill()).unwrap().materials;
        let direct = aquastat.iter().filter(|m| m.note.contains("contact rated for a motor of")).count();
        let p = plan(&crate::fixtures::mill()).unwrap();
        assert_eq!(direct > 0, p.motors.iter().any(|m| m.switch == crate::plan::MotorSwitch::Aquastat));
    }

    fn count_with(list: &[Material], starts: &str, holds: &str) -> f64 {
        list.iter().filter(|m| m.item.starts_with(starts) && m.item.contains(holds)).map(|m| m.quantity).sum()
    }
}
