//! Which safeties stand in series, what their chain stops, how an input looks at each, and who feeds a boiler's own.

use super::{Chain, ChainOf, Look, Seen};
use crate::{job::Job, pass::boards::to_neutral};
use heatwright_core::{
    BoilerId, ContactId, ContactUse, PumpId, SafetyId, Tap, ZoneId,
    config::{BoilerPump, Opens, SafetyCircuit, SafetyConfig, SafetyKind, SafetyScope, opens},
};

/// Every input that looks at a safety, and how; an end relay is not known yet.
pub(super) fn looks(job: &Job) -> Vec<Seen> {
    let mut aux_taken = vec![false; job.safeties.len()];
    let mut out = Vec::new();
    for (i, what) in job.points.contacts.iter().enumerate() {
        let contact = ContactId(i as u8);
        let wanted = match *what {
            ContactUse::Safety(s, tap) => Some((s, tap)),
            ContactUse::Flow(b) => find(job, |k, scope| k == SafetyKind::FlowSwitch && scope == SafetyScope::Boiler(b))
                .map(|s| (s, Tap::Aux)),
            ContactUse::DamperOpen => find(job, |k, _| k == SafetyKind::DamperSwitch).map(|s| (s, Tap::Aux)),
            _ => None,
        };
        let Some((safety, tap)) = wanted else { continue };
        let Some(s) = job.safeties.get(safety.index()) else { continue };
        let look = if s.config.circuit == SafetyCircuit::Alarm {
            Look::Main
        } else if tap == Tap::Aux && s.aux && !aux_taken[safety.index()] {
            aux_taken[safety.index()] = true;
            Look::Aux
        } else {
            Look::Node
        };
        out.push(Seen { safety, contact, look });
    }
    out
}

/// The first safety that fits.
pub fn find(job: &Job, fits: impl Fn(SafetyKind, SafetyScope) -> bool) -> Option<SafetyId> {
    job.safeties.iter().position(|s| fits(s.config.kind, s.config.scope)).map(|i| SafetyId(i as u8))
}

/// The chain that a safety belongs to; `None` for one that only alarms.
fn place_in_chain(job: &Job, s: SafetyId) -> Option<ChainOf> {
    let c = &job.safeties.get(s.index())?.config;
    match (c.circuit, c.scope) {
        (SafetyCircuit::Alarm, _) => None,
        (SafetyCircuit::ZoneLimit | SafetyCircuit::TankLimit, _) => Some(ChainOf::Own(s)),
        (SafetyCircuit::Limit, SafetyScope::Boiler(b)) => Some(ChainOf::Limit(b)),
        (SafetyCircuit::Proving, SafetyScope::Boiler(b)) => Some(ChainOf::Proving(b)),
        (SafetyCircuit::Limit, _) => Some(ChainOf::Common),
        (SafetyCircuit::Proving, _) => Some(ChainOf::CommonProving),
    }
}

pub(super) fn chains(job: &Job, seen: &[Seen]) -> Vec<Chain> {
    let mut out: Vec<Chain> = Vec::new();
    for i in 0..job.safeties.len() {
        let id = SafetyId(i as u8);
        let Some(of) = place_in_chain(job, id) else { continue };
        match out.iter_mut().find(|c| c.of == of) {
            Some(c) => c.safeties.push(id),
            None => out.push(Chain { of, safeties: vec![id], relayed: false }),
        }
    }
    for c in &mut out {
        c.relayed = matches!(c.of, ChainOf::Common | ChainOf::CommonProving)
            || seen.iter().any(|s| s.look == Look::Node && c.safeties.contains(&s.safety));
    }
    out.sort_by_key(|c| c.of);
    out
}

/// The last of a relayed chain is seen at the relay that ends it, except in the common limit chain, whose poles serve
/// boilers only.
pub(super) fn end_of_chain(s: Seen, chains: &[Chain]) -> Seen {
    let last = chains
        .iter()
        .any(|c| c.safeties.last() == Some(&s.safety) && !matches!(c.of, ChainOf::Common | ChainOf::Limit(_)));
    if s.look == Look::Node && last { Seen { look: Look::End, ..s } } else { s }
}

/// The zone or tank limits that must open the circuit of this pump.
pub fn limits_of_pump(job: &Job, p: PumpId) -> Vec<SafetyId> {
    limits_that_open(job, Opens::Pump(p))
}

/// The limits that must open the circuit of this zone's valve.
pub fn limits_of_valve(job: &Job, z: ZoneId) -> Vec<SafetyId> {
    limits_that_open(job, Opens::Valve(z))
}

/// The limits whose contact belongs in this circuit.
pub fn limits_that_open(job: &Job, what: Opens) -> Vec<SafetyId> {
    let drive = |z: ZoneId| job.zones.get(z.index()).map(|z| z.drive);
    let tank = job.tank.map(|t| t.pump);
    let acts = |c: &SafetyConfig| opens(c.circuit, c.scope, drive, tank) == Some(what);
    (0..job.safeties.len()).filter(|i| acts(&job.safeties[*i].config)).map(|i| SafetyId(i as u8)).collect()
}

/// The boiler behind whose service switch a safety of its own gets its 120 V, so that this one switch makes boiler and safety
/// dead together. `None` for a safety without such a supply, a common one, and beside a boiler that is not 120 V itself.
pub fn fed_by_boiler(job: &Job, s: SafetyId) -> Option<BoilerId> {
    let safety = job.safeties.get(s.index())?;
    safety.supply.filter(|own| own.volts > 60.0)?;
    let SafetyScope::Boiler(b) = safety.config.scope else { return None };
    let supply = job.boilers.get(b.index())?.supply;
    (to_neutral(job, supply) && supply.volts < 130.0).then_some(b)
}

/// True where a boiler's dry pump contact gets its 120 V from the boiler's own line, behind its service switch: that switch then
/// makes the whole boiler dead, and the control circuit of the relay panel, with all other boilers, stays on. False beside a boiler
/// that is not 120 V to neutral itself, and for a contact that brings the boiler's own voltage.
pub fn asks_with_its_line(job: &Job, b: BoilerId) -> bool {
    let Some(boiler) = job.boilers.get(b.index()) else { return false };
    let asks = matches!(boiler.pump, BoilerPump::Boiler(_) | BoilerPump::Either(_));
    let dry = boiler.marks.pump.as_ref().is_some_and(|c| c.dry);
    asks && dry && to_neutral(job, boiler.supply) && boiler.supply.volts < 130.0
}
