//! Which point of the controller serves what: the first lowering, since the other three read it.
//!
//! Points are dealt out in the order of the file, so that a technician finds neighbours side by side; a relay that the
//! file pins keeps its number, and the rest fill the gaps. Order of relays: demand and pump of each boiler, a
//! 120 V damper, tank pump, zone pumps, alarm, health; then those that switch Class 2, zone valves and a 24 V damper, so that
//! the two kinds of circuit stand apart on the card (NEC 725.136). Our choice.

use crate::{
    finding::Finding,
    plant::checked::{Plant, Rest},
};
use heatwright_core::{
    AnalogUse, BoilerId, ContactUse, Points, PumpId, RelayId, RelayUse, SafetyId, SensorUse, Severity, Subject, Tap,
    ZoneId,
    config::{BoilerPump, PumpRole, SafetyCircuit, SafetyKind, SafetyScope, ZoneDrive},
    limits,
};

use crate::plant::checked::Drive;

/// Deals out the points of a plant; every kind that overflows is one finding.
pub fn points(plant: &Plant) -> Result<Points, Vec<Finding>> {
    let mut out = Points::default();
    let mut faults = Vec::new();

    fill(&mut out.relays, relays(plant, &mut faults), "relay outputs", limits::RELAYS, &mut faults);
    fill(&mut out.contacts, contacts(plant), "contact inputs", limits::CONTACTS, &mut faults);
    fill(&mut out.sensors, sensors(plant), "sensor inputs", limits::SENSORS, &mut faults);
    fill(&mut out.analogs, analogs(plant), "0-10 V outputs", limits::ANALOGS, &mut faults);
    if faults.is_empty() { Ok(out) } else { Err(faults) }
}

fn fill<U: Copy, const N: usize>(
    list: &mut heapless::Vec<U, N, u8>,
    uses: Vec<U>,
    what: &str,
    room: usize,
    faults: &mut Vec<Finding>,
) {
    if list.extend_from_slice(&uses).is_err() {
        faults.push(
            Finding::new(
                "L01",
                Severity::Error,
                Subject::Plant,
                format!("the plant needs {} {what}; the controller has {room}", uses.len()),
            )
            .hint("share pumps between zones, leave out spares, or split the plant between two controllers"),
        );
    }
}

/// Boilers in the order of the file.
fn boilers(plant: &Plant) -> impl Iterator<Item = (BoilerId, &crate::plant::checked::Boiler)> {
    plant.boilers.iter().enumerate().map(|(i, b)| (BoilerId(i as u8), b))
}

fn relays(plant: &Plant, faults: &mut Vec<Finding>) -> Vec<RelayUse> {
    let mut wanted: Vec<(RelayUse, Option<RelayId>)> = Vec::new();
    let pin_of = |p: PumpId| plant.pumps.get(p.index()).and_then(|p| p.relay);
    for (id, b) in boilers(plant) {
        wanted.push((RelayUse::Demand(id), b.relay));
        if let BoilerPump::Controller(p) | BoilerPump::Either(p) = b.pump {
            wanted.push((RelayUse::Pump(p), pin_of(p)));
        }
    }
    if let Some(d) = &plant.damper {
        wanted.push((RelayUse::Damper, d.relay));
    }
    if let Some(t) = &plant.tank {
        wanted.push((RelayUse::Pump(t.pump), pin_of(t.pump)));
    }
    for (i, z) in plant.zones.iter().enumerate() {
        if let ZoneDrive::Valve { .. } = z.drive {
            wanted.push((RelayUse::Valve(ZoneId(i as u8)), z.relay));
        }
        if let ZoneDrive::Pump(p) | ZoneDrive::Valve { pump: Some(p) } = z.drive {
            wanted.push((RelayUse::Pump(p), pin_of(p)));
        }
    }
    wanted.push((RelayUse::Alarm, plant.panel.alarm_relay));
    wanted.push((RelayUse::Health, plant.panel.health_relay));
    // A pump that several zones share is wanted once.
    let mut seen = Vec::new();
    wanted.retain(|(u, _)| {
        !seen.contains(u) && {
            seen.push(*u);
            true
        }
    });

    // Class 2 outputs stand together at the end: NEC 725.136 wants them apart from line-voltage ones.
    wanted.sort_by_key(|(u, _)| is_class2(plant, *u));

    let mut places: Vec<Option<RelayUse>> = vec![None; limits::RELAYS];
    for (u, pin) in &wanted {
        let Some(pin) = pin else { continue };
        match places.get_mut(pin.index()) {
            Some(place @ None) => *place = Some(*u),
            Some(Some(_)) => faults.push(
                Finding::new(
                    "L02",
                    Severity::Error,
                    subject_of(*u),
                    format!("relay {} is pinned twice", u16::from(pin.0) + 1),
                )
                .hint("give each its own relay, or leave one of the pins out"),
            ),
            None => faults.push(
                Finding::new(
                    "L03",
                    Severity::Error,
                    subject_of(*u),
                    format!("relay {} does not exist; the controller has {}", u16::from(pin.0) + 1, limits::RELAYS),
                )
                .hint(format!("pin a relay from 1 to {}", limits::RELAYS)),
            ),
        }
    }
    let mut rest = wanted.iter().filter(|(_, pin)| pin.is_none()).map(|(u, _)| *u).collect::<Vec<_>>().into_iter();
    let mut out = Vec::new();
    for place in &places {
        match place {
            Some(u) => out.push(*u),
            None => match rest.next() {
                Some(u) => out.push(u),
                None => out.push(RelayUse::Spare),
            },
        }
    }
    let used = out.iter().rposition(|u| *u != RelayUse::Spare).map_or(0, |i| i + 1);
    out.truncate(used);
    out.extend(rest);
    out.extend(std::iter::repeat_n(RelayUse::Spare, usize::from(plant.panel.spare_relays)));
    out
}

/// Whether a relay switches a Class 2 circuit: 24 V valves and dampers. Demand pairs, pumps, alarm and health are Class 1.
fn is_class2(plant: &Plant, u: RelayUse) -> bool {
    match u {
        RelayUse::Valve(_) => true,
        RelayUse::Damper => plant.damper.as_ref().is_some_and(|d| d.volts.v < 60.0),
        RelayUse::Spare | RelayUse::Demand(_) | RelayUse::Pump(_) | RelayUse::Alarm | RelayUse::Health => false,
    }
}

/// What a relay use is about, for a finding.
fn subject_of(u: RelayUse) -> Subject {
    match u {
        RelayUse::Demand(b) => Subject::Boiler(b),
        RelayUse::Pump(p) => Subject::Pump(p),
        RelayUse::Valve(z) => Subject::Zone(z),
        RelayUse::Damper => Subject::Damper,
        RelayUse::Spare | RelayUse::Alarm | RelayUse::Health => Subject::Plant,
    }
}

fn contacts(plant: &Plant) -> Vec<ContactUse> {
    let mut out: Vec<ContactUse> = (0..plant.zones.len()).map(|i| ContactUse::Call(ZoneId(i as u8))).collect();
    if plant.tank.is_some() {
        out.push(ContactUse::TankCall);
    }
    for (i, z) in plant.zones.iter().enumerate() {
        if z.valve.as_ref().is_some_and(|v| v.end_switch) {
            out.push(ContactUse::EndSwitch(ZoneId(i as u8)));
        }
    }
    for (id, b) in boilers(plant) {
        if b.status_contact {
            out.push(ContactUse::Flame(id));
        }
        if b.alarm_contact {
            out.push(ContactUse::BoilerFault(id));
        }
        if b.service_switch {
            out.push(ContactUse::BoilerSwitch(id));
        }
    }
    for (i, s) in plant.safeties.iter().enumerate() {
        let id = SafetyId(i as u8);
        // One that only alarms opens nothing: its contact is the controller's alone.
        let own = s.aux || s.circuit == SafetyCircuit::Alarm;
        match (s.kind, s.scope, s.rest) {
            // A proof is read as the proof that it is, once, by its own second contact.
            (SafetyKind::FlowSwitch, SafetyScope::Boiler(b), Rest::Open) if own => out.push(ContactUse::Flow(b)),
            (SafetyKind::DamperSwitch, _, Rest::Open) if own => out.push(ContactUse::DamperOpen),
            _ if own => out.push(ContactUse::Safety(id, Tap::Aux)),
            // A common limit without a second contact is read where its chain passes through the control panel.
            (_, SafetyScope::Plant, Rest::Closed) if s.circuit == SafetyCircuit::Limit => {
                out.push(ContactUse::Safety(id, Tap::Chain));
            }
            _ => {}
        }
    }
    for (i, p) in plant.pumps.iter().enumerate() {
        let id = PumpId(i as u8);
        let ours = match p.role {
            PumpRole::Boiler(b) => {
                !matches!(plant.boilers.get(b.index()).map(|b| b.pump), Some(BoilerPump::Boiler(_) | BoilerPump::None))
            }
            PumpRole::Zone | PumpRole::Tank => true,
        };
        if p.hand_switch && ours {
            out.push(ContactUse::Hand(id));
            out.push(ContactUse::Auto(id));
        }
    }
    out.push(ContactUse::Acknowledge);
    out.extend(std::iter::repeat_n(ContactUse::Spare, usize::from(plant.panel.spare_contacts)));
    out
}

fn sensors(plant: &Plant) -> Vec<SensorUse> {
    let mut out: Vec<SensorUse> = plant.sensors.iter().map(|s| s.measures).collect();
    out.extend(std::iter::repeat_n(SensorUse::Spare, usize::from(plant.panel.spare_sensors)));
    out
}

fn analogs(plant: &Plant) -> Vec<AnalogUse> {
    let mut out = Vec::new();
    for (id, b) in boilers(plant) {
        match b.drive {
            Drive::DemandOnly => {}
            Drive::Target { .. } => out.push(AnalogUse::Target(id)),
            Drive::Rate => out.push(AnalogUse::Rate(id)),
        }
    }
    for (i, z) in plant.zones.iter().enumerate() {
        if z.mixing.is_some() {
            out.push(AnalogUse::Mixing(ZoneId(i as u8)));
        }
    }
    out.extend(std::iter::repeat_n(AnalogUse::Spare, usize::from(plant.panel.spare_analogs)));
    out
}
