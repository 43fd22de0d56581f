//! What must stop when a safety trips, and when a safety relay drops alone: from the network, everything else that can close closed.

use super::super::lockout::{
    Isolator, Stops,
    consequences::{self, Alive},
    items::Group,
    reach::Map,
    sources,
};
use crate::{
    device::{Device, Kind},
    job::Job,
    part::{Actuator, LoadUse, Part, Rest},
    pass::lockout::Item,
    plan::Plan,
};
use heatwright_core::{
    ContactUse, SafetyId, Subject,
    config::{BoilerPump, Reset, SafetyKind, SafetyScope},
};
use serde::Serialize;
use std::collections::BTreeSet;

/// The trip test of one safety.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Trip {
    /// Its tag.
    pub tag: String,
    /// Its name.
    pub name: String,
    /// How its condition is made.
    pub how: String,
    /// What must stop; nothing for an alarm.
    pub stops: Stops,
    /// The controller's input that must see it, counted from 1.
    pub input: Option<u8>,
    /// What must happen when the condition goes.
    pub after: &'static str,
}

/// One relay of a safety circuit, dropped alone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Series {
    /// Its tag.
    pub tag: String,
    /// What it is.
    pub label: String,
    /// Terminal of its coil at which the wire is lifted, and the wire.
    pub coil: String,
    /// The switch that takes its coil's supply away, by tag; empty where there is none.
    pub switch: String,
    /// What still stands on its terminals with that switch open: each source with its volts.
    pub still_live: Vec<String>,
    /// What must stop; nothing means that this relay alone opens no burner.
    pub stops: Stops,
}

/// No item is left out of what stops.
fn nobody() -> Group {
    Group { item: Item::Other, subject: Subject::Plant, devices: Vec::new(), switches: Vec::new() }
}

fn stops(job: &Job, plan: &Plan, map: &Map<'_>, before: &Alive, dead: &BTreeSet<usize>) -> Stops {
    let after = consequences::alive_without(job, map, &BTreeSet::new(), dead);
    consequences::lost(job, plan, map, &nobody(), before, &after)
}

/// How its own condition is made.
fn how(job: &Job, plan: &Plan, s: &crate::job::Safety) -> String {
    match (s.config.kind, s.config.scope) {
        (SafetyKind::FlowSwitch, SafetyScope::Boiler(b)) => no_flow(job, plan, b),
        (kind, _) => by_kind(kind).to_owned(),
    }
}

/// How the flow through a boiler is stopped: at its pump's selector, else at the disconnect nearest the pump.
fn no_flow(job: &Job, plan: &Plan, b: heatwright_core::BoilerId) -> String {
    let pump = job.boilers.get(b.index()).and_then(|b| match b.pump {
        BoilerPump::Controller(p) | BoilerPump::Boiler(p) | BoilerPump::Either(p) => Some(p),
        BoilerPump::None => None,
    });
    let Some(p) = pump else { return "Close the boiler's supply valve slowly; open it again at once.".into() };
    let turns =
        |part: &Part| matches!(part, Part::Contact { by: Actuator::Hand(q) | Actuator::Auto(q), .. } if *q == p);
    if let Some(s) = plan.devices.iter().find(|d| d.kind == Kind::Selector && d.parts.iter().any(turns)) {
        return format!("Turn {} to OFF; back to AUTO at once.", s.tag);
    }
    let drives = |what: LoadUse| matches!(what, LoadUse::Pump(q) | LoadUse::PumpSupply(q) if q == p);
    match plan.motors.iter().find(|m| drives(m.what)) {
        Some(m) if plan.devices.iter().any(|d| d.kind == Kind::Disconnect && d.tag == m.disconnect) => {
            format!("Open {}: the boiler's pump stops; close it again at once.", m.disconnect)
        }
        _ => "Stop the boiler's pump; start it again at once.".into(),
    }
}

fn by_kind(kind: SafetyKind) -> &'static str {
    match kind {
        SafetyKind::DoorSwitch => "Press it, or turn it off: as it is made.",
        SafetyKind::LowWater => {
            "Blow the float chamber down or drain to below the probe, valves as its instructions say; a test button alone does not \
             show that it senses water."
        }
        SafetyKind::HighLimit | SafetyKind::HighLimitManual | SafetyKind::FloorLimit | SafetyKind::TankLimit => {
            "Turn its setting down below the water's temperature, then back to the setting of the plan."
        }
        SafetyKind::GasLow => "Close the manual gas valve ahead of it slowly.",
        SafetyKind::GasHigh => "Turn its setting down below the pressure, then back.",
        SafetyKind::Condensate => "Lift its float, or fill its trap.",
        SafetyKind::FlowSwitch => "Stop the flow through it.",
        SafetyKind::DamperSwitch => "Unhook the blade's linkage, the damper open.",
        SafetyKind::PressureLow => "Turn its setting up above the pressure, then back.",
        SafetyKind::GasDetector => "Put test gas to it as its instructions say.",
    }
}

/// The test of every safety.
pub(super) fn trips(job: &Job, plan: &Plan, map: &Map<'_>) -> Vec<Trip> {
    let before = consequences::alive_without(job, map, &BTreeSet::new(), &BTreeSet::new());
    let mut list = Vec::new();
    for (i, s) in job.safeties.iter().enumerate() {
        let id = SafetyId(i as u8);
        let about = Subject::Safety(id);
        let Some(device) = plan.devices.iter().find(|d| d.kind == Kind::Safety && d.subject == Some(about)) else {
            continue;
        };
        let tag = device.tag.clone();
        let at = map.trace.device(&tag);
        let all = map.edges.iter().enumerate();
        let dead: BTreeSet<usize> = all.filter(|(_, e)| Some(e.device) == at).map(|(n, _)| n).collect();
        let input = job.points.contacts.iter().position(|c| matches!(c, ContactUse::Safety(x, _) if *x == id));
        let flow = job.points.contacts.iter().position(|c| match (c, s.config.scope) {
            (ContactUse::Flow(b), SafetyScope::Boiler(of)) => s.config.kind == SafetyKind::FlowSwitch && *b == of,
            (ContactUse::DamperOpen, _) => s.config.kind == SafetyKind::DamperSwitch,
            _ => false,
        });
        list.push(Trip {
            tag,
            name: job.names.of(about),
            how: how(job, plan, s),
            stops: stops(job, plan, map, &before, &dead),
            input: input.or(flow).map(|n| n as u8 + 1),
            after: match s.config.reset {
                // A maintained switch has no button of its own.
                _ if s.config.kind == SafetyKind::DoorSwitch => {
                    "It stays off until somebody turns it back or pulls it out."
                }
                Reset::Manual => "It stays tripped until its own button is pressed.",
                Reset::Automatic => "It makes again by itself.",
            },
        });
    }
    list
}

/// Every relay that stands for a safety: its coil behind a chain, each that with its contacts open takes away the burner of a
/// boiler. Relays of calls and of pump requests do so too and are no safety: the run through all calls tries them.
pub(super) fn series(job: &Job, plan: &Plan, map: &Map<'_>) -> Vec<Series> {
    let before = consequences::alive_without(job, map, &BTreeSet::new(), &BTreeSet::new());
    let mut list = Vec::new();
    for (d, device) in plan.devices.iter().enumerate().filter(|(_, d)| d.kind == Kind::Relay && for_a_safety(d)) {
        let open = |n: &usize| {
            let e = &map.edges[*n];
            e.device == d && e.rest == Rest::Open && matches!(e.by, Actuator::Coil(_))
        };
        let dead: BTreeSet<usize> = (0..map.edges.len()).filter(open).collect();
        let stops = stops(job, plan, map, &before, &dead);
        if stops.boilers.is_empty() {
            continue;
        }
        let coil = device.parts.iter().find_map(|p| if let Part::Coil { a, .. } = p { Some(*a) } else { None });
        let Some(mark) = coil.and_then(|a| device.terminals.get(usize::from(a.0))).map(|t| t.mark.clone()) else {
            continue;
        };
        let lands = |l: &crate::row::Landing| l.device == device.tag && l.terminal == mark;
        let wires: Vec<&str> =
            plan.rows.iter().filter(|r| lands(&r.from) || lands(&r.to)).map(|r| r.wire.as_str()).collect();
        let at = format!("{}:{mark}", device.tag);
        let relay = Group { item: Item::Other, subject: Subject::Plant, devices: vec![d], switches: Vec::new() };
        let sources = sources::sources(plan, map, &relay);
        let own = sources.iter().filter(|s| s.terminals.contains(&at)).flat_map(|s| &s.isolators);
        let switch = own.clone().find(|i| matches!(i, Isolator::Disconnect { .. })).or_else(|| own.clone().next());
        let still_live = sources
            .iter()
            .filter(|s| switch.is_none_or(|i| !s.isolators.contains(i)))
            .map(|s| format!("{}, {:.0} V", s.what, s.volts))
            .collect();
        let switch = switch.map_or_else(String::new, |i| match i {
            Isolator::Disconnect { tag } => tag.clone(),
            Isolator::Breaker { panel, space } => format!("breaker {space} of {panel}"),
        });
        let coil = format!("{at}, wire {}", wires.join(" and "));
        list.push(Series { tag: device.tag.clone(), label: device.label.clone(), coil, switch, still_live, stops });
    }
    list
}

/// KS and KD of the common chains, KL and KW of a boiler's, KZ of a zone's or the tank's limit.
fn for_a_safety(d: &Device) -> bool {
    ["KS", "KD", "KL", "KW", "KZ"]
        .iter()
        .any(|letters| d.tag.strip_prefix(letters).is_some_and(|n| n.starts_with(|c: char| c.is_ascii_digit())))
}
