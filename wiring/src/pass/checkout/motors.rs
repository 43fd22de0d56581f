//! Motors, fans and receptacles once the supplies stand: direction of three-phase motors, overloads as printed, current against the
//! nameplate; each aquastat both ways; the test button of ground-fault protection.
//!
//! A motor that turns the wrong way pumps too, only less: it is seen at the shaft, not at the gauge (common practice). Two phases are
//! changed at the motor's own disconnect, never ahead of it, where others hang.

use super::super::lockout::{Isolator, Item, items::Group, reach::Map, sources};
use super::starts;
use crate::{
    device::Kind,
    job::{Job, PumpMotor},
    kinds::disconnect,
    part::{Actuator, LoadUse, Part},
    pass::{materials::motors_over, movers::Movers},
    plan::Plan,
};
use heatwright_core::Subject;
use serde::Serialize;

/// One motor.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Motor {
    /// Its tag.
    pub tag: String,
    /// What it drives.
    pub name: String,
    /// Its disconnects, in the order in which they are closed: farthest first.
    pub close: Vec<String>,
    /// How it is started while the gas is shut.
    pub start: String,
    /// True where its direction must be seen: three phases.
    pub direction: bool,
    /// Setting of its overload, amperes; `None` where it carries its own protection.
    pub set_a: Option<f64>,
    /// Never above this, amperes.
    pub max_a: Option<f64>,
    /// Nameplate current, amperes; 0 when it is not known.
    pub nameplate_a: f64,
    /// Volts of its supply: a motor with more leads than three is joined for them.
    pub volts: f64,
    /// True for an electronically commutated pump: its speed is set on it, no wire of the plan does.
    pub speed_set_on_it: bool,
}

/// True for a pump whose electronics set its speed.
fn electronic(job: &Job, what: LoadUse) -> bool {
    let (LoadUse::Pump(p) | LoadUse::PumpSupply(p)) = what else { return false };
    job.pumps.get(p.index()).is_some_and(|p| matches!(p.motor, PumpMotor::ElectronicallyCommutated { .. }))
}

/// The aquastat of one fan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Aquastat {
    /// Its tag.
    pub tag: String,
    /// The fan's tag and name.
    pub fan: String,
}

/// The overload of one starter, and the auxiliary contact of its line disconnect.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Overload {
    /// The starter's tag.
    pub tag: String,
    /// What it is.
    pub name: String,
    /// The motor's tag; more than one where they hang on it together.
    pub motors: Vec<String>,
    /// How each is started while the gas is shut.
    pub start: String,
    /// The disconnect whose auxiliary contact opens the coil circuit, by tag; empty where none does.
    pub aux_of: String,
}

/// One receptacle with ground-fault protection.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Receptacle {
    /// Its tag.
    pub tag: String,
    /// What it is.
    pub name: String,
}

/// Every motor of the plan, those on a float of their own too: their disconnects are closed nowhere else.
pub(super) fn motors(job: &Job, plan: &Plan, map: &Map<'_>) -> Vec<Motor> {
    let movers = Movers::of(map.trace);
    let mut list = Vec::new();
    for m in &plan.motors {
        let Some(d) = plan.devices.iter().position(|d| d.tag == m.device) else { continue };
        let device = &plan.devices[d];
        let g = Group { item: Item::Other, subject: Subject::Plant, devices: vec![d], switches: Vec::new() };
        let line = plan.circuits.iter().find(|c| c.name == m.circuit).map_or(0.0, |c| c.volts);
        let mut close: Vec<String> = Vec::new();
        for s in sources::sources(plan, map, &g).iter().filter(|s| (s.volts - line).abs() < 1.0) {
            for i in &s.isolators {
                if let Isolator::Disconnect { tag } = i
                    && !close.contains(tag)
                {
                    close.insert(0, tag.clone());
                }
            }
        }
        list.push(Motor {
            tag: m.device.clone(),
            name: device.label.clone(),
            close,
            start: starts::start(job, &movers, m),
            direction: device.parts.iter().any(|p| matches!(p, Part::Load3 { .. })),
            set_a: m.overload.map(|o| o.set_a),
            max_a: m.overload.map(|o| o.max_a),
            nameplate_a: m.nameplate_a,
            volts: line,
            speed_set_on_it: electronic(job, m.what),
        });
    }
    list
}

/// Every starter: nothing else in the procedure shows that its overload stops it, nor that its disconnect takes its coil off.
pub(super) fn overloads(job: &Job, plan: &Plan, map: &Map<'_>) -> Vec<Overload> {
    let movers = Movers::of(map.trace);
    let starters = plan.devices.iter().filter(|d| d.kind == Kind::Starter);
    let all = starters.map(|d| {
        let own: Vec<_> = motors_over(plan, d).into_iter().filter(|m| m.overload.is_some()).collect();
        let disconnect = own.iter().find_map(|m| {
            let d = plan.devices.iter().find(|d| d.tag == m.controller_disconnect)?;
            (disconnect::poles(d).1 > 0).then(|| d.tag.clone())
        });
        Overload {
            tag: d.tag.clone(),
            name: d.label.clone(),
            motors: own.iter().map(|m| m.device.clone()).collect(),
            start: own.first().map_or_else(String::new, |m| starts::start(job, &movers, m)),
            aux_of: disconnect.unwrap_or_default(),
        }
    });
    all.collect()
}

/// Every aquastat of a fan.
pub(super) fn aquastats(plan: &Plan) -> Vec<Aquastat> {
    let by = |d: &crate::device::Device| {
        d.parts.iter().find_map(|p| match p {
            Part::Contact { by: Actuator::FanAquastat(z, k), .. } => Some(LoadUse::Fan(*z, *k)),
            _ => None,
        })
    };
    let fan = |what: LoadUse| {
        plan.devices.iter().find(|d| {
            let load = |p: &Part| matches!(p, Part::Load { what: w, .. } | Part::Load3 { what: w, .. } if *w == what);
            d.kind == Kind::Fan && d.parts.iter().any(load)
        })
    };
    let aquastats = plan.devices.iter().filter(|d| d.kind == Kind::Aquastat);
    aquastats
        .filter_map(|d| Some((d, fan(by(d)?)?)))
        .map(|(d, f)| Aquastat { tag: d.tag.clone(), fan: format!("{} {}", f.tag, f.label) })
        .collect()
}

/// Every receptacle: a service receptacle in a boiler room has ground-fault protection (NEC 210.8(B), from memory).
pub(super) fn receptacles(plan: &Plan) -> Vec<Receptacle> {
    plan.devices
        .iter()
        .filter(|d| d.kind == Kind::Receptacle)
        .map(|d| Receptacle { tag: d.tag.clone(), name: d.label.clone() })
        .collect()
}
