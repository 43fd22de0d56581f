//! The list of materials: devices by kind and rating, conductors, cables, raceways.
//!
//! Conductor lengths are those of the rows and 10 per cent, raceway and cable lengths those of the runs and 10 per cent (trade
//! allowance, no source), rounded up to whole feet. Enclosures, boxes, ground bars and jumper bars are counted from what stands
//! in them; the volume of a box and the size of an enclosure are not computed (314.16 and the layout decide them). Fittings
//! and supports are not counted. The user's own equipment (boilers, pumps, thermostats, valves, safeties, sensors) is listed so
//! that nothing is forgotten; who buys it is not said.

use crate::{
    device::{Device, Kind, Reach},
    kinds::disconnect,
    natural,
    part::Part,
    plan::{Bar, Breaker, Duty, Feed, Material, Plan, Run, RunForm},
    row::{Class, Colour, Row},
};
use std::collections::BTreeMap;

const ALLOWANCE: f64 = 1.10;

/// All materials.
pub fn materials(plan: &Plan) -> Vec<Material> {
    let mut out = Vec::new();
    enclosures(&mut out, plan);
    counted(&mut out, plan.devices.iter().filter(|d| !is_box(d)).map(|d| device_item(d, plan)));
    let branch = |b: &&Breaker| !plan.circuits.iter().any(|c| c.name == b.circuit && c.duty == Duty::Feeder);
    counted(&mut out, plan.breakers.iter().filter(branch).map(|b| breaker_item(plan, b)));
    strips(&mut out, plan);
    lengths(&mut out, &plan.runs, &plan.rows);
    out
}

/// Strips, ground bars and junction boxes are counted by what stands in them; the panelboard with the enclosures.
fn is_box(d: &Device) -> bool {
    matches!(d.kind, Kind::Strip | Kind::Panelboard)
}

/// True for the junction box at a zone's fans: its conductors are spliced (110.14(B)), there is no strip in it.
fn is_splice_box(d: &Device) -> bool {
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

fn enclosures(out: &mut Vec<Material>, plan: &Plan) {
    let inside = crate::pass::lockout::in_relay_panel(plan);
    if !inside.is_empty() {
        let strip = inside.iter().map(|d| &plan.devices[*d]).filter(|d| d.kind == Kind::Strip);
        let strips: usize = strip.map(|d| terminals(d).0).sum();
        let other = inside.iter().filter(|d| plan.devices[**d].kind != Kind::Strip).count();
        out.push(each(
            "relay panel enclosure with back plate".into(),
            1,
            format!("for {other} devices and {strips} strip terminals; a barrier between power and Class 2"),
        ));
    }
    let starters = crate::pass::lockout::in_starter_panel(plan);
    if !starters.is_empty() {
        let strip = starters.iter().map(|d| &plan.devices[*d]).filter(|d| d.kind == Kind::Strip);
        let strips: usize = strip.map(|d| terminals(d).0).sum();
        let other = starters.iter().filter(|d| plan.devices[**d].kind != Kind::Strip).count();
        let note = format!("for {other} devices and {strips} strip terminals");
        out.push(each("starter panel enclosure with back plate".into(), 1, note));
    }
    let mut boards: Vec<&str> = plan.directory.iter().map(|e| e.panel.as_str()).collect();
    boards.dedup();
    for board in boards {
        let all = plan.directory.iter().filter(|e| e.panel == board);
        let taken = all.clone().filter(|e| e.amps > 0).count();
        let spaces = all.count();
        let main = plan.breakers.iter().find(|b| is_main(plan, b, board));
        let main = main.map_or_else(String::new, |b| format!("; main breaker {} A, {} pole", b.amps, b.poles));
        let note = format!("{board}: {taken} taken, {} spare{main}; see the directory", spaces - taken);
        out.push(each(format!("panelboard with {spaces} spaces"), 1, note));
    }
    for (d, device) in plan.devices.iter().enumerate() {
        let outside = device.kind == Kind::Strip && !inside.contains(&d) && !starters.contains(&d);
        let (through, ground) = terminals(device);
        if outside && through + ground > 0 {
            let held = if is_splice_box(device) { "splices" } else { "strip terminals" };
            let note = format!("{through} {held}, ground bar for {ground}");
            out.push(each(format!("{} {}", device.tag, device.label), 1, note));
        }
    }
}

/// Strip terminals, ground bars and jumper bars.
fn strips(out: &mut Vec<Material>, plan: &Plan) {
    let all = plan.devices.iter().filter(|d| d.kind == Kind::Strip);
    let through: usize = all.clone().filter(|d| !is_splice_box(d)).map(|d| terminals(d).0).sum();
    if through > 0 {
        let note = "one conductor a side; marked as the wiring schedule says";
        out.push(each("strip terminal, two sides".into(), through, note.into()));
    }
    for d in all {
        let ground = terminals(d).1;
        if ground > 0 {
            out.push(each(format!("ground bar, {ground} terminals"), 1, format!("{}, bonded to its enclosure", d.tag)));
        }
    }
    let mut bars: BTreeMap<u16, usize> = BTreeMap::new();
    let in_box = |b: &Bar| plan.devices.iter().any(|d| d.tag == b.strip && is_splice_box(d));
    for b in plan.bars.iter().filter(|b| !in_box(b)) {
        *bars.entry(b.poles).or_insert(0) += 1;
    }
    for (poles, n) in bars {
        out.push(each(format!("jumper bar, {poles} poles"), n, "where it goes: the list of jumper bars".into()));
    }
}

fn counted(out: &mut Vec<Material>, items: impl Iterator<Item = (String, String)>) {
    let mut count: BTreeMap<(String, String), u32> = BTreeMap::new();
    for i in items {
        *count.entry(i).or_insert(0) += 1;
    }
    let mut list: Vec<((String, String), u32)> = count.into_iter().collect();
    list.sort_by_cached_key(|((item, note), _)| (natural::key(item), natural::key(note)));
    for ((item, note), n) in list {
        out.push(Material { item, quantity: f64::from(n), unit: "each".into(), note });
    }
}

/// Usual interrupting ratings of branch breakers, kA (common practice, no source).
const INTERRUPTING_KA: [f64; 7] = [10.0, 14.0, 18.0, 22.0, 42.0, 65.0, 100.0];

/// A breaker with the interrupting rating that the available current asks for (NEC 110.9, checked). Behind the transformer the
/// service's current is taken too: a bound on the safe side.
fn breaker_item(plan: &Plan, b: &Breaker) -> (String, String) {
    let fault = if b.ground_fault { ", ground-fault protection" } else { "" };
    let board = plan.circuits.iter().find(|c| c.name == b.circuit).and_then(|c| match &c.feed {
        Feed::Panelboard { panel, .. } => Some(panel.as_str()),
        _ => None,
    });
    let lockable = board.map_or_else(|| "lockable".into(), |p| format!("lockable, for panelboard {p}"));
    let (rating, note) = match plan.fault_ka {
        None => (
            String::new(),
            format!("{lockable}; interrupting rating (kAIC): ask the utility for the available current first"),
        ),
        Some(ka) => match INTERRUPTING_KA.into_iter().find(|r| *r >= ka - 1e-9) {
            Some(r) => (format!(", {r:.0} kAIC or more"), format!("{lockable}; {ka:.1} kA available (110.9)")),
            None => (
                String::new(),
                format!("{lockable}; {ka:.1} kA available, above usual breakers: have it engineered (110.9)"),
            ),
        },
    };
    (format!("breaker {} A, {} pole{fault}{rating}", b.amps, b.poles), note)
}

/// Breaker of the circuit whose conductors land on a device's line side, amperes: what a service switch must carry.
fn breaker_ahead(plan: &Plan, d: &Device) -> Option<u16> {
    let line = crate::kinds::relay::main_pole(1)[0].clone();
    let row = plan.rows.iter().find(|r| r.to.device == d.tag && r.to.terminal == line)?;
    plan.breakers.iter().find(|b| b.circuit == row.circuit).map(|b| b.amps)
}

/// ", 480 V" for what stands above 250 V; the usual 250 V rating goes without saying.
fn high_volts(plan: &Plan, d: &Device) -> String {
    let rows = plan.rows.iter().filter(|r| r.from.device == d.tag || r.to.device == d.tag);
    let volts = rows.map(|r| r.volts).fold(0.0, f64::max);
    if volts > 250.0 { format!(", {volts:.0} V") } else { String::new() }
}

fn device_item(d: &Device, plan: &Plan) -> (String, String) {
    let high = high_volts(plan, d);
    let motor = plan.motors.iter().find(|m| m.disconnect == d.tag || m.controller_disconnect == d.tag);
    let poles = d.parts.iter().filter(|p| matches!(p, Part::Contact { .. })).count();
    match d.kind {
        Kind::Relay => {
            let volts = coil_volts(d);
            (format!("control relay, {volts:.0} V coil, {} change-over", poles / 2), "with socket".into())
        }
        Kind::Contactor => (format!("contactor, {poles} pole, {:.0} V coil{high}", coil_volts(d)), String::new()),
        Kind::Starter => (
            format!("starter, {} pole, {:.0} V coil{high}", poles - 1, coil_volts(d)),
            "overload to the motor schedule".into(),
        ),
        Kind::Disconnect => {
            let (poles, aux) = disconnect::poles(d);
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
                    format!("disconnect switch, {poles} pole{with}, {} A{high}", switch_a(m.disconnect_min_a)),
                    format!("lockable open, motor rated{apart}"),
                ),
                None => {
                    let amps =
                        breaker_ahead(plan, d).map_or_else(String::new, |a| format!(", {} A", switch_a(f64::from(a))));
                    (format!("disconnect switch, {poles} pole{with}{amps}{high}"), format!("lockable open{apart}"))
                }
            }
        }
        Kind::Transformer => {
            let va = d.parts.iter().find_map(|p| if let Part::Transformer { va, .. } = p { Some(*va) } else { None });
            (format!("transformer 120/24 V, {:.0} VA", va.unwrap_or(0.0)), "listed as Class 2 supply".into())
        }
        Kind::DryTransformer => (d.label.clone(), "with its enclosure; taps 2 x 2.5 % below rated are usual".into()),
        Kind::Electrode => (d.label.clone(), "clamp or lug; the nearest one (NEC 250.30(A)(4))".into()),
        Kind::Selector => ("HAND-OFF-AUTO selector".into(), format!("{poles} contact blocks")),
        Kind::Button => ("push button, 1 contact".into(), String::new()),
        Kind::Controller => ("controller".into(), String::new()),
        _ => (d.label.clone(), d.tag.clone()),
    }
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
        let strips = format!("{} strip terminals", field("X1") + field("X2"));
        assert!(panel.note.contains(&strips), "{}, not {strips}", panel.note);
        assert_eq!(count(&p.materials, "XB"), 3.0, "a junction box at each boiler");
        let boxes = |d: &&crate::device::Device| ["XB", "XF", "XG"].iter().any(|t| d.tag.starts_with(t));
        let wanted = p.devices.iter().filter(boxes).count() as f64;
        assert_eq!(count(&p.materials, "ground bar"), wanted, "in the relay panel and in each box");
        let bars = p.bars.iter().filter(|b| !b.strip.starts_with("XF")).count();
        assert_eq!(count(&p.materials, "jumper bar"), bars as f64);
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

    /// Seen to fail: a terminal more on a ground bar is a larger bar.
    #[test]
    fn a_terminal_more_is_counted() {
        let mut p = plan(&library()).unwrap();
        let bar = p.devices.iter_mut().find(|d| d.tag == "XG").unwrap();
        let before = terminals(bar).1;
        crate::kinds::strip::add_ground(bar, "one more");
        assert_eq!(terminals(bar).1, before + 1);
        let list = materials(&p);
        assert!(list.iter().any(|m| m.item == format!("ground bar, {} terminals", before + 1)));
    }
}
