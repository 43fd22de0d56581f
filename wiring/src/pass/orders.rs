//! What a piece of the user's equipment is ordered by: element, range, set point, supply, contacts with volts and load.
//!
//! Loads of contacts are read from the rows that land on them, so that a contact is ordered for what the plan puts on it: a controller's input is
//! a *low level* (24 V, 10 mA: gold-plated or bifurcated contacts, common practice, no source), a coil circuit at 120 V is *pilot duty* by its
//! volt-amperes, a motor's line by its current (NEC 430.83; [`super::materials`] says that). Set points and travel times come from the job
//! ([`crate::job::Orders`]); what nobody told is said to be set by the boiler's instructions, never invented.
//!
//! Resistance of thermistors at 77 °F and of platinum at 32 °F, and the two thermistor curves: common in the trade, from memory. Ranges: what such a
//! spot may see, our choice. What it deliberately does not name: pipe sizes of valves, wells and flow switches, flow coefficients.

use crate::{
    device::{Device, Kind},
    job::{EndSwitch, Job, PumpMotor, SensorElement},
    part::{Actuator, Part, Rest, T},
    plan::Plan,
    row::{Class, Row},
};
use heatwright_core::{
    SensorUse, Subject,
    config::{Reset, SafetyKind},
};

/// Everything but the tag, each piece with a semicolon ahead.
pub(super) fn order(job: &Job, plan: &Plan, d: &Device) -> String {
    let mut out: Vec<String> = Vec::new();
    out.extend(what(job, d));
    for p in &d.parts {
        if let Part::Load { volts, va, .. } | Part::Load3 { volts, va, .. } = p
            && !matches!(d.kind, Kind::Pump | Kind::Fan | Kind::Boiler)
        {
            let load = if *va > 0.0 { format!(", {va:.0} VA") } else { String::new() };
            out.push(format!("{volts:.0} V{load}"));
        }
    }
    out.extend(set_point(job, d));
    out.extend(contacts(plan, d));
    if let Some(Subject::Safety(id)) = d.subject
        && job.safeties.get(id.index()).is_some_and(|s| s.config.reset == Reset::Manual)
    {
        out.push("hand reset".into());
    }
    out.iter().map(|s| format!("; {s}")).collect()
}

/// "205 °F (96.1 °C)".
fn degrees(c: f64) -> String {
    format!("{:.0} °F ({c:.1} °C)", c * 1.8 + 32.0)
}

/// What it is, where its name does not say so.
fn what(job: &Job, d: &Device) -> Option<String> {
    match (d.kind, d.subject) {
        (Kind::Sensor, Some(Subject::Sensor(id))) => {
            let element = match job.orders.elements.get(id.index())? {
                SensorElement::Thermistor10k2 => "thermistor of 10 kilohm at 77 °F, curve type II",
                SensorElement::Thermistor10k3 => "thermistor of 10 kilohm at 77 °F, curve type III",
                SensorElement::Platinum1000 => "platinum, 1000 ohm at 32 °F, 0.385 % per degree C",
            };
            let spot = match job.points.sensors.get(id.index())? {
                SensorUse::Outdoor => "-40 to 120 °F, in a sunshade for a wall, weatherproof",
                SensorUse::Tank => "32 to 250 °F, with the tank's well",
                _ => "32 to 250 °F, with a well for its pipe",
            };
            Some(format!("temperature sensor, {element}; {spot}"))
        }
        (Kind::ZoneValve, Some(Subject::Zone(z))) => {
            let v = job.zones.get(z.index())?.valve?;
            let end = match v.end_switch {
                EndSwitch::None => "no end switch",
                EndSwitch::Isolated => "end switch with two terminals of its own, makes when open",
                EndSwitch::Joined => "end switch joined to its supply, makes when open",
            };
            let stroke = job.orders.valves_s.get(z.index()).copied().flatten();
            let opens = stroke.map_or_else(String::new, |s| format!(" in {s:.0} s"));
            Some(format!("opens on power{opens}, closes without it; {end}"))
        }
        (Kind::MixingValve, Some(Subject::Zone(z))) => {
            let m = job.zones.get(z.index())?.mixing?;
            let common = if m.signal_isolated { "isolated from its supply" } else { "its minus joined to its supply" };
            let stroke = job.orders.mixing_s.get(z.index()).copied().flatten();
            let stroke = stroke.map_or_else(String::new, |s| format!(", {s:.0} s from end to end"));
            Some(format!("three-way mixing valve with motor, input 0-10 V, {common}{stroke}"))
        }
        (Kind::Damper, _) => {
            let stroke = job.orders.damper_s.map_or_else(String::new, |s| format!(" in {s:.0} s"));
            Some(format!("opens on power{stroke}, closes without it by a spring"))
        }
        (Kind::Thermostat, _) => {
            let powered = d.parts.iter().any(|p| matches!(p, Part::Load { .. }));
            Some(if powered { "heating only, R W C".into() } else { "heating only, two wires, no supply".into() })
        }
        (Kind::Pump, Some(Subject::Pump(id))) => {
            let p = job.pumps.get(id.index())?;
            let motor = match p.motor {
                PumpMotor::Induction { hp } => format!("{}, ", horsepower(hp)),
                PumpMotor::WetRotor => String::new(),
                PumpMotor::ElectronicallyCommutated { start_input: true } => {
                    "electronically commutated with a start input for a dry contact, ".into()
                }
                PumpMotor::ElectronicallyCommutated { start_input: false } => "electronically commutated, ".into(),
            };
            Some(format!("{motor}{}", supply(p.supply, p.nameplate_a)))
        }
        (Kind::Fan, Some(Subject::Zone(z))) => {
            let f = job.zones.get(z.index())?.fan?;
            let hp = if f.hp > 0.0 { format!("{}, ", horsepower(f.hp)) } else { String::new() };
            Some(format!("{hp}{}", supply(f.supply, f.amps)))
        }
        (Kind::Boiler, Some(Subject::Boiler(b))) => {
            let b = job.boilers.get(b.index())?;
            Some(format!("input {:.0} MBH, {}", b.input_btu_h / 1000.0, supply(b.supply, b.amps)))
        }
        _ => None,
    }
}

fn supply(s: crate::job::Supply, amps: f64) -> String {
    let phases = if s.phases == 3 { ", 3 phase" } else { "" };
    format!("{:.0} V{phases}, {amps:.1} A", s.volts)
}

/// "1/3 hp", as plates have it.
fn horsepower(hp: f64) -> String {
    let near = |part: f64| (hp - part).abs() < 0.003;
    let fractions = [
        (12.0, "1/12"),
        (8.0, "1/8"),
        (6.0, "1/6"),
        (4.0, "1/4"),
        (3.0, "1/3"),
        (2.0, "1/2"),
        (4.0 / 3.0, "3/4"),
        (2.0 / 3.0, "1-1/2"),
    ];
    match fractions.iter().find(|(n, _)| near(1.0 / n)) {
        Some((_, text)) => format!("{text} hp"),
        None => format!("{hp} hp"),
    }
}

/// What it is set to.
fn set_point(job: &Job, d: &Device) -> Option<String> {
    match (d.kind, d.subject) {
        (Kind::Safety, Some(Subject::Safety(id))) => {
            let kind = job.safeties.get(id.index())?.config.kind;
            let at = job.orders.opens_at_c.get(id.index()).copied().flatten();
            Some(match (kind, at) {
                (_, Some(c)) => format!("opens on rise at {}", degrees(c)),
                (
                    SafetyKind::HighLimit
                    | SafetyKind::HighLimitManual
                    | SafetyKind::FloorLimit
                    | SafetyKind::TankLimit,
                    None,
                ) => "opens on rise; where: not in the plan".into(),
                (SafetyKind::GasLow, None) => {
                    "opens on falling gas pressure; range and setting by the burner's instructions".into()
                }
                (SafetyKind::GasHigh, None) => {
                    "opens on rising gas pressure; range and setting by the burner's instructions".into()
                }
                (SafetyKind::PressureLow, None) => "opens on falling water pressure; range by the cold fill".into(),
                (SafetyKind::LowWater, None) => "opens on low water".into(),
                (SafetyKind::FlowSwitch, None) => {
                    "closes on flow; size by its pipe, setting by the boiler's least flow".into()
                }
                (SafetyKind::Condensate, None) => "opens on rising condensate".into(),
                (SafetyKind::DamperSwitch, None) => "closes when the blade is open".into(),
                _ => return None,
            })
        }
        (Kind::Aquastat, Some(Subject::Tank)) => {
            let (c, k) = job.orders.tank_c?;
            Some(format!("opens on rise at {}, closes {:.0} °F ({k:.1} K) below", degrees(c), k * 1.8))
        }
        (Kind::Aquastat, Some(Subject::Zone(z))) => {
            let c = job.orders.fans_c.get(z.index()).copied().flatten()?;
            Some(format!("closes on rise at {}, for a pipe", degrees(c)))
        }
        _ => None,
    }
}

/// Each contact with what lands on it, alike ones together.
fn contacts(plan: &Plan, d: &Device) -> Vec<String> {
    let mark = |t: T| d.terminals.get(usize::from(t.0)).map_or("", |t| t.mark.as_str());
    let mut list: Vec<(String, Vec<String>)> = Vec::new();
    for p in &d.parts {
        let Part::Contact { a, b, rest, by } = p else { continue };
        if matches!(by, Actuator::Coil(_)) {
            continue;
        }
        let (from, to) = (mark(*a), mark(*b));
        let name = from.strip_suffix(" joint").map_or_else(|| format!("{from}-{to}"), str::to_owned);
        let how = if *rest == Rest::Closed { "closed" } else { "open" };
        let lands = |r: &&Row| {
            let here = |l: &crate::row::Landing| l.device == d.tag && (l.terminal == from || l.terminal == to);
            r.class != Class::Ground && (here(&r.from) || here(&r.to))
        };
        let load = plan.rows.iter().filter(lands).max_by(|a, b| a.amps.total_cmp(&b.amps)).map(|r| load(plan, r));
        let text = format!("{how} at rest, {}", load.unwrap_or_else(|| "not used here".into()));
        match list.iter_mut().find(|(t, _)| *t == text) {
            Some((_, names)) => names.push(name),
            None => list.push((text, vec![name])),
        }
    }
    let words = |(text, names): (String, Vec<String>)| match names.len() {
        1 => format!("contact {} {text}", names[0]),
        _ => format!("separate contacts {} {text}", names.join(", ")),
    };
    list.into_iter().map(words).collect()
}

/// What a contact carries, as contacts are rated.
fn load(plan: &Plan, r: &Row) -> String {
    let va = r.volts * r.amps;
    let motor = plan.circuits.iter().any(|c| c.name == r.circuit && c.duty == crate::plan::Duty::Motor);
    match r.class {
        Class::Class2 if va < 1.0 => "low level: 24 V, 10 mA".into(),
        Class::Class2 => format!("{:.0} V, {:.0} VA, Class 2", r.volts, va.ceil()),
        _ if motor => "in the motor's line".into(),
        _ => format!("pilot duty {:.0} V, {:.0} VA", r.volts, va.ceil()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{fixtures::library, plan::plan};

    fn note(job: &Job, tag: &str) -> String {
        let p = plan(job).unwrap();
        let d = p.devices.iter().find(|d| d.tag == tag).unwrap();
        order(job, &p, d)
    }

    /// What stands on the order moves with the job: element, set point, load.
    #[test]
    fn a_line_says_what_to_order() {
        let mut job = library();
        assert!(
            note(&job, "BT1").contains("10 kilohm at 77 °F, curve type II; -40 to 120 °F"),
            "{}",
            note(&job, "BT1")
        );
        job.orders.elements[0] = SensorElement::Platinum1000;
        assert!(note(&job, "BT1").contains("platinum, 1000 ohm"));
        let limit = job.safeties.iter().position(|s| s.config.kind == SafetyKind::HighLimit).unwrap();
        let tag = format!("F{}", limit + 1);
        assert!(note(&job, &tag).contains("where: not in the plan"), "{}", note(&job, &tag));
        job.orders.opens_at_c = vec![None; job.safeties.len()];
        job.orders.opens_at_c[limit] = Some(96.111);
        assert!(note(&job, &tag).contains("opens on rise at 205 °F (96.1 °C)"), "{}", note(&job, &tag));
        job.orders.tank_c = Some((60.0, 5.6));
        assert!(note(&job, "BA1").contains("opens on rise at 140 °F (60.0 °C), closes 10 °F (5.6 K) below"));
    }

    /// A limit in a boiler's own pair carries that pair's volt-amperes, its auxiliary contact a low level.
    #[test]
    fn a_contact_is_ordered_for_what_lands_on_it() {
        let mut job = library();
        let of = job.safeties.iter().position(|s| s.config.kind == SafetyKind::LowWater && s.aux).unwrap();
        let tag = format!("F{}", of + 1);
        let b = match job.safeties[of].config.scope {
            heatwright_core::config::SafetyScope::Boiler(b) => b,
            other => panic!("{other:?}"),
        };
        let volts = job.boilers[b.index()].control_volts;
        for va in [9.0, 30.0] {
            job.boilers[b.index()].pair_va = va;
            let n = note(&job, &tag);
            assert!(n.contains(&format!("contact 11-12 closed at rest, pilot duty {volts:.0} V, {va:.0} VA")), "{n}");
            assert!(n.contains("contact 23-24 closed at rest, low level"), "{n}");
        }
        // A float that carries its own relay is named by its terminals, too.
        assert!(!note(&job, &tag).contains("joint"));
    }

    /// An end switch that is joined to the valve is another part than one with terminals of its own.
    #[test]
    fn an_end_switch_is_ordered_by_its_kind() {
        let mut job = library();
        let z = job.zones.iter().position(|z| z.valve.is_some()).unwrap();
        let tag = format!("MV{}", z + 1);
        for (end, says) in
            [(EndSwitch::Isolated, "two terminals of its own"), (EndSwitch::Joined, "joined to its supply")]
        {
            if let Some(v) = &mut job.zones[z].valve {
                v.end_switch = end;
            }
            job.orders.valves_s = vec![Some(45.0); job.zones.len()];
            let n = note(&job, &tag);
            assert!(n.contains(says) && n.contains("opens on power in 45 s"), "{n}");
        }
    }

    #[test]
    fn plates_have_fractions_of_a_horsepower() {
        let all = [1.0 / 12.0, 1.0 / 3.0, 0.5, 0.75, 1.0, 1.5, 2.0].map(horsepower);
        assert_eq!(all, ["1/12 hp", "1/3 hp", "1/2 hp", "3/4 hp", "1 hp", "1-1/2 hp", "2 hp"]);
    }
}
