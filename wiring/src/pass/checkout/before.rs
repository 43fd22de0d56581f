//! Before power: terminals to tighten, and insulation to test.
//!
//! * Torque: every terminal of power and control conductors, by device and by enclosure, to the value printed on it or on its
//!   device (NEC 110.14(D), checked: a calibrated tool where a value is given). Counted from the landings of rows.
//! * Insulation, each branch circuit, conductor to conductor and to ground: 500 V dc for 300 V cable, 1000 V dc for the 600 V
//!   conductors of a plan (from memory: what acceptance tests use); 500 V is taken for all, since lamps, coils and motors of
//!   120 V stay joined (our choice). 1 megohm or more passes, the usual bound for a motor circuit of such volts plus one
//!   megohm per kilovolt (from memory).
//!   What holds electronics comes off first: it is named, found from the parts on the circuit's conductors. The neutral is lifted from
//!   its bar, since it lies on ground there.

use crate::{
    device::{Device, Kind},
    natural,
    part::{Actuator, LoadUse, Part},
    pass::lockout::{in_relay_panel, in_starter_panel},
    plan::{Feed, Plan},
    row::Class,
};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Terminals of one device or enclosure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Torque {
    /// Enclosure, or the tags of devices of one sort.
    pub at: String,
    /// How many terminals with power, control or ground conductors.
    pub terminals: usize,
}

/// The insulation of one branch circuit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Insulation {
    /// The circuit.
    pub circuit: String,
    /// What it feeds.
    pub feeds: String,
    /// Test voltage, dc.
    pub volts_dc: f64,
    /// Least insulation, megohm.
    pub least_megohm: f64,
    /// Tags of the devices to take off first.
    pub take_off: Vec<String>,
    /// Its terminal on the neutral bar, lifted for the test; empty for none.
    pub lift: String,
}

/// Test voltage, dc (see the head).
const TEST_V: f64 = 500.0;
/// Least insulation, megohm.
const LEAST_MEGOHM: f64 = 1.0;

/// All terminals that carry power, control or ground conductors.
pub(super) fn torque(plan: &Plan) -> Vec<Torque> {
    let (panel, starters) = (in_relay_panel(plan), in_starter_panel(plan));
    let mut terminals: BTreeSet<(&str, &str)> = BTreeSet::new();
    for r in plan.rows.iter().filter(|r| r.class != Class::Class2) {
        terminals.extend([&r.from, &r.to].map(|l| (l.device.as_str(), l.terminal.as_str())));
    }
    let mut order: Vec<String> = Vec::new();
    let mut found: BTreeMap<String, (Vec<&str>, usize)> = BTreeMap::new();
    for (i, d) in plan.devices.iter().enumerate() {
        let n = terminals.iter().filter(|(tag, _)| *tag == d.tag).count();
        if n == 0 {
            continue;
        }
        let key = if panel.contains(&i) {
            "inside the relay panel".to_owned()
        } else if starters.contains(&i) {
            "inside the starter panel".to_owned()
        } else {
            sort(d).to_owned()
        };
        if !order.contains(&key) {
            order.push(key.clone());
        }
        let at = found.entry(key).or_default();
        at.0.push(&d.tag);
        at.1 += n;
    }
    let mut list = Vec::new();
    for key in order {
        let Some((mut tags, terminals)) = found.remove(&key) else { continue };
        tags.sort_by_cached_key(|t| natural::key(t));
        let at = if key.starts_with("inside") { key } else { format!("{key} {}", tags.join(", ")) };
        list.push(Torque { at, terminals });
    }
    list
}

fn sort(d: &Device) -> &'static str {
    match d.kind {
        Kind::Panelboard => "panelboards",
        Kind::DryTransformer => "transformer",
        Kind::Disconnect => "disconnects",
        Kind::Boiler => "boilers",
        Kind::Pump => "pumps",
        Kind::Fan => "fans",
        Kind::Strip => "boxes",
        _ => "other",
    }
}

/// The insulation of every branch circuit.
pub(super) fn insulation(plan: &Plan) -> Vec<Insulation> {
    let mut list = Vec::new();
    for c in &plan.circuits {
        let Feed::Panelboard { panel, .. } = &c.feed else { continue };
        let rows: Vec<_> = plan.rows.iter().filter(|r| r.circuit == c.name).collect();
        let on: BTreeSet<&str> = rows.iter().flat_map(|r| [r.from.device.as_str(), r.to.device.as_str()]).collect();
        let mut take_off: Vec<String> = plan
            .devices
            .iter()
            .filter(|d| on.contains(d.tag.as_str()) && electronic(d))
            .map(|d| d.tag.clone())
            .collect();
        take_off.sort_by_cached_key(|t| natural::key(t));
        let lift = rows.iter().find(|r| r.from.device == *panel && r.from.terminal.starts_with('N'));
        let lift = lift.map_or_else(String::new, |r| format!("{panel}:{}", r.from.terminal));
        list.push(Insulation {
            circuit: c.name.clone(),
            feeds: c.label.clone(),
            volts_dc: TEST_V,
            least_megohm: LEAST_MEGOHM,
            take_off,
            lift,
        });
    }
    list
}

/// True for what a test voltage would harm, or what would spoil its reading: electronics, and windings between systems.
fn electronic(d: &Device) -> bool {
    d.parts.iter().any(|p| match p {
        Part::Transformer { .. } | Part::Input { .. } => true,
        Part::Contact { by: Actuator::GroundFault, .. } => true,
        Part::Load { what, .. } | Part::Load3 { what, .. } => matches!(
            what,
            LoadUse::PumpSupply(_)
                | LoadUse::BoilerLine(_)
                | LoadUse::Controller
                | LoadUse::Beacon
                | LoadUse::Damper
                | LoadUse::Mixing(_)
                | LoadUse::Thermostat(_)
                | LoadUse::SafetySupply(_)
        ),
        _ => false,
    })
}
