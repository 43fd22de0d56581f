//! How each thing is switched, before any device exists.
//!
//! * A pump is carried by the controller's relay contact alone where it has no hand switch, runs on one phase to neutral,
//!   carries its own overload, belongs to the controller alone and is within the contact's motor rating (compared in
//!   amperes: nameplate against the table current of the rated horsepower, NEC Table 430.248). Else a contactor, and a
//!   starter where the overload is not built in. Hand switches and boilers' pump contacts are control-rated, so they act in a
//!   coil circuit; so do limits that end in relays of ours. An electronically commutated pump with a start input keeps its power and is started by a dry contact.
//! * Safeties form chains in file order. Those of the whole plant always end in two relays in series, so that one welded
//!   contact is not a latent fault. A boiler's own stand in its pair directly, unless an input must see the chain or a
//!   proof without an auxiliary contact: a pair has no common to feed a coil from, so the chain then runs in our control
//!   circuit and ends in two relays.
//! * A boiler's own safety that needs 120 V gets it behind the boiler's service switch, where the boiler is 120 V too.
//! * Fans of a zone share branch circuits as far as small motors may (430.53(A), 430.24).
//! * 24 V loads are dealt out in order to listed Class 2 transformers, by sealed and inrush volt-amperes. A mixing valve whose commons are joined gets a transformer of its own: two supplies are never joined.
//!
//! It decides nothing about sizes.

use crate::{
    job::{EndSwitch, Fan, Job, PumpMotor, Selector, Supply, ThermostatKind},
    pass::devices::to_neutral,
    plan::MotorSwitch,
    tables::{
        class2, conductor,
        motor::{self, Phases},
        shared, transformer,
    },
};
use heatwright_core::{
    BoilerId, ContactId, ContactUse, PumpId, RelayUse, SafetyId, Tap, ZoneId,
    config::{BoilerPump, PumpRole, SafetyCircuit, SafetyConfig, SafetyKind, SafetyScope, ZoneDrive},
};

/// What a chain of safeties stops.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ChainOf {
    /// All boilers, through their limit pairs.
    Common,
    /// All boilers, through their proving pairs.
    CommonProving,
    /// One boiler's limit pair.
    Limit(BoilerId),
    /// One boiler's proving pair.
    Proving(BoilerId),
    /// The circuit of a zone's or the tank's pump or valve.
    Own(SafetyId),
}

/// How an input looks at a safety.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// At its auxiliary contact.
    Aux,
    /// At its main contact: it does nothing else.
    Main,
    /// At the chain behind it, through a relay of its own.
    Node,
    /// At the relay that ends its chain.
    End,
}

/// A chain of safeties.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain {
    /// What it stops.
    pub of: ChainOf,
    /// Its members, in series.
    pub safeties: Vec<SafetyId>,
    /// True when it runs in our control circuit and ends in two relays.
    pub relayed: bool,
}

/// An input that looks at a safety.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// The safety.
    pub safety: SafetyId,
    /// The input.
    pub contact: ContactId,
    /// How.
    pub look: Look,
}

/// A load on a 24 V transformer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Load24 {
    /// The controller.
    Controller,
    /// A powered thermostat with its relay.
    Thermostat(ZoneId),
    /// A zone valve.
    Valve(ZoneId),
    /// A mixing valve.
    Mixing(ZoneId),
    /// The damper.
    Damper,
    /// A safety's own supply.
    Safety(SafetyId),
}

/// One transformer to be.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply24 {
    /// Nameplate, volt-amperes.
    pub va: f64,
    /// What hangs on it, with sealed and inrush volt-amperes.
    pub loads: Vec<(Load24, f64, f64)>,
}

/// Everything that is chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Choices {
    /// By `PumpId`.
    pub pumps: Vec<MotorSwitch>,
    /// Chains, in order.
    pub chains: Vec<Chain>,
    /// Inputs that look at safeties.
    pub seen: Vec<Seen>,
    /// Transformers; the first feeds the controller alone.
    pub supplies: Vec<Supply24>,
}

impl Choices {
    /// The chain that a safety stands in.
    pub fn chain_of(&self, s: SafetyId) -> Option<&Chain> {
        self.chains.iter().find(|c| c.safeties.contains(&s))
    }

    /// The chain that stops `of`.
    pub fn chain(&self, of: ChainOf) -> Option<&Chain> {
        self.chains.iter().find(|c| c.of == of)
    }

    /// The number (from 0) of the transformer that feeds a load.
    pub fn supply_of(&self, load: Load24) -> Option<usize> {
        self.supplies.iter().position(|s| s.loads.iter().any(|(l, ..)| *l == load))
    }
}

/// Chooses for the whole job.
pub fn choose(job: &Job) -> Choices {
    let seen = looks(job);
    let chains = chains(job, &seen);
    let pumps = (0..job.pumps.len()).map(|i| pump_switch(job, PumpId(i as u8), &chains)).collect();
    let seen = seen.into_iter().map(|s| end_of_chain(s, &chains)).collect();
    Choices { pumps, chains, seen, supplies: supplies(job) }
}

/// Who asks for a pump besides its hand switch: our relay, a boiler, or both.
pub fn pump_asked_by(job: &Job, p: PumpId) -> (bool, Option<BoilerId>) {
    let boiler = job.boilers.iter().enumerate().find_map(|(i, b)| match b.pump {
        BoilerPump::Boiler(q) if q == p => Some((false, BoilerId(i as u8))),
        BoilerPump::Either(q) if q == p => Some((true, BoilerId(i as u8))),
        _ => None,
    });
    match boiler {
        Some((ours, b)) => (ours, Some(b)),
        None => (true, None),
    }
}

/// True when a pump's circuit passes a disconnect of its own in the relay panel, ahead of what switches it there: each
/// controller needs one in sight (NEC 430.102(A)), and the breaker is that only where its panelboard is in sight.
pub fn line_disconnect(job: &Job, switch: MotorSwitch) -> bool {
    let here = matches!(switch, MotorSwitch::ControllerRelay | MotorSwitch::Contactor | MotorSwitch::Starter);
    here && !job.service.in_sight_of_relay_panel
}

/// Which disconnect serves the motor itself (430.102(B)).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PumpDisconnect {
    /// One of its own beside it.
    Own,
    /// The one ahead of its controller in the relay panel, in sight of it.
    RelayPanel,
    /// Its breaker: panelboard, relay panel and pump are in sight of each other.
    Breaker,
}

/// The disconnect of a pump's motor. In sight is taken as one place and the user's word for it.
pub fn pump_disconnect(job: &Job, p: PumpId, switch: MotorSwitch) -> PumpDisconnect {
    let Some(pump) = job.pumps.get(p.index()).filter(|p| p.in_sight_of_panel) else { return PumpDisconnect::Own };
    if job.service.in_sight_of_relay_panel && pump.place == job.service.panelboard {
        PumpDisconnect::Breaker
    } else if line_disconnect(job, switch) && pump.place == job.panel.place {
        PumpDisconnect::RelayPanel
    } else {
        PumpDisconnect::Own
    }
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

/// How many of a zone's fans hang on each of their branch circuits: as many as small motors may share one (430.53(A): 1 hp and
/// 6 A each, 20 A at 120 V, 15 A above) and as 430.24 lets that device carry, spread evenly; a larger fan has its own.
pub fn fan_groups(job: &Job, f: &Fan) -> Vec<u8> {
    let amps = table_a(f.hp, f.supply).unwrap_or(f.amps);
    let volts =
        if to_neutral(job, f.supply) { job.service.volts.phase_volts() } else { job.service.volts.line_volts() };
    let most = shared::largest_device_amps(volts);
    let one = [shared::Motor { hp: f.hp, full_load_amps: amps }];
    let fits = |n: u8| conductor::group_amps(&vec![amps; usize::from(n)], 0.0, 0.0) <= most + 1e-9;
    let small = shared::small_motors_may_share(&one, volts, most);
    let each = (1..=f.count.max(1)).rev().find(|n| *n == 1 || (small && fits(*n))).unwrap_or(1);
    let circuits = f.count.div_ceil(each);
    (0..circuits).map(|i| f.count / circuits + u8::from(i < f.count % circuits)).collect()
}

fn pump_switch(job: &Job, id: PumpId, chains: &[Chain]) -> MotorSwitch {
    let Some(p) = job.pumps.get(id.index()) else { return MotorSwitch::Contactor };
    if let PumpMotor::ElectronicallyCommutated { start_input: true } = p.motor {
        return MotorSwitch::StartInput;
    }
    let by_boiler = pump_asked_by(job, id).1.is_some();
    let limit_in_relays =
        limits_of_pump(job, id).iter().any(|s| chains.iter().any(|c| c.of == ChainOf::Own(*s) && c.relayed));
    let one_pole = p.supply.phases == 1 && (p.supply.volts - job.service.volts.phase_volts()).abs() < 10.0;
    let commutated = matches!(p.motor, PumpMotor::ElectronicallyCommutated { .. });
    if !p.overload_built_in && !commutated {
        return MotorSwitch::Starter;
    }
    let rating_hp = if p.supply.volts < 130.0 { job.panel.relay.motor_120_v_hp } else { 0.0 };
    let within = match p.motor {
        PumpMotor::Induction { hp } => hp <= rating_hp + 1e-9,
        PumpMotor::WetRotor => table_a(rating_hp, p.supply).is_some_and(|rated_a| p.nameplate_a <= rated_a),
        PumpMotor::ElectronicallyCommutated { .. } => false,
    };
    if p.selector == Selector::None && one_pole && !by_boiler && !limit_in_relays && within {
        MotorSwitch::ControllerRelay
    } else {
        MotorSwitch::Contactor
    }
}

/// Every input that looks at a safety, and how; an end relay is not known yet.
fn looks(job: &Job) -> Vec<Seen> {
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

fn chains(job: &Job, seen: &[Seen]) -> Vec<Chain> {
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
fn end_of_chain(s: Seen, chains: &[Chain]) -> Seen {
    let last = chains
        .iter()
        .any(|c| c.safeties.last() == Some(&s.safety) && !matches!(c.of, ChainOf::Common | ChainOf::Limit(_)));
    if s.look == Look::Node && last { Seen { look: Look::End, ..s } } else { s }
}

/// The zone or tank limits that must open the circuit of this pump, and of a valve zone without a pump of its own.
pub fn limits_of_pump(job: &Job, p: PumpId) -> Vec<SafetyId> {
    let acts = |c: &SafetyConfig| match (c.circuit, c.scope) {
        (SafetyCircuit::TankLimit, _) => job.pumps.get(p.index()).is_some_and(|q| q.role == PumpRole::Tank),
        (SafetyCircuit::ZoneLimit, SafetyScope::Zone(z)) => {
            job.zones.get(z.index()).is_some_and(|zone| zone.drive == ZoneDrive::Pump(p))
        }
        _ => false,
    };
    ids(job, acts)
}

/// The limits that must open the circuit of this zone's valve.
pub fn limits_of_valve(job: &Job, z: ZoneId) -> Vec<SafetyId> {
    let is_valve = job.zones.get(z.index()).is_some_and(|zone| matches!(zone.drive, ZoneDrive::Valve { .. }));
    ids(job, |c| is_valve && c.circuit == SafetyCircuit::ZoneLimit && c.scope == SafetyScope::Zone(z))
}

fn ids(job: &Job, acts: impl Fn(&SafetyConfig) -> bool) -> Vec<SafetyId> {
    (0..job.safeties.len()).filter(|i| acts(&job.safeties[*i].config)).map(|i| SafetyId(i as u8)).collect()
}

fn supplies(job: &Job) -> Vec<Supply24> {
    let controller = (Load24::Controller, job.panel.controller_va, 0.0);
    let mut out = vec![sized(vec![controller])];
    let mut group: Vec<(Load24, f64, f64)> = Vec::new();
    for load in loads24(job) {
        let alone = match load.0 {
            Load24::Mixing(z) => job.zones.get(z.index()).and_then(|z| z.mixing).is_some_and(|m| !m.signal_isolated),
            _ => false,
        };
        if alone {
            out.push(sized(vec![load]));
            continue;
        }
        let with: Vec<_> = group.iter().copied().chain([load]).collect();
        if !group.is_empty() && class2_va(&with).is_none() {
            out.push(sized(std::mem::take(&mut group)));
        }
        group.push(load);
    }
    if !group.is_empty() {
        out.push(sized(group));
    }
    out
}

/// 24 V loads in the order of zones, then damper, then safeties.
fn loads24(job: &Job) -> Vec<(Load24, f64, f64)> {
    use crate::kinds::relay::RELAY_COIL_VA;
    let mut out = Vec::new();
    for (i, zone) in job.zones.iter().enumerate() {
        let z = ZoneId(i as u8);
        if zone.thermostat.kind == ThermostatKind::Powered {
            out.push((Load24::Thermostat(z), zone.thermostat.va + RELAY_COIL_VA, 0.0));
        }
        if let Some(v) = zone.valve {
            let relay = if v.end_switch == EndSwitch::Joined { RELAY_COIL_VA } else { 0.0 };
            out.push((Load24::Valve(z), v.va + relay, v.inrush_va));
        }
        if let Some(m) = zone.mixing {
            out.push((Load24::Mixing(z), m.va, 0.0));
        }
    }
    if let Some(d) = job.damper.filter(|d| d.volts < 60.0) {
        out.push((Load24::Damper, d.va, 0.0));
    }
    for (i, s) in job.safeties.iter().enumerate() {
        if let Some(own) = s.supply.filter(|s| s.volts < 60.0) {
            out.push((Load24::Safety(SafetyId(i as u8)), own.va, 0.0));
        }
    }
    out
}

/// The smallest Class 2 nameplate for these loads, with every valve pulling in at once.
fn class2_va(loads: &[(Load24, f64, f64)]) -> Option<f64> {
    let (sealed, inrush) = loads.iter().fold((0.0, 0.0), |(s, i), l| (s + l.1, i + l.2));
    transformer::smallest_class2_va(sealed, inrush)
}

/// One transformer; the Class 2 bound where a single load is past it, which a rule reports.
fn sized(loads: Vec<(Load24, f64, f64)>) -> Supply24 {
    Supply24 { va: class2_va(&loads).unwrap_or(class2::VA_MAX), loads }
}

/// True when the points give the pump a relay.
pub fn has_relay(job: &Job, p: PumpId) -> bool {
    job.points.relay(RelayUse::Pump(p)).is_some()
}

/// Table current of a motor, amperes; `None` where the tables have no such row.
pub fn table_a(hp: f64, supply: Supply) -> Option<f64> {
    let phases = if supply.phases == 3 { Phases::Three } else { Phases::One };
    motor::full_load_amps(hp, motor::MotorVolts::of_system(supply.volts)?, phases)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{device::PlaceId, fixtures::library};

    /// NFPA 70 430.53(A): 1 hp, 6 A, 20 A at 120 V; 430.24: 125 % of the largest and the rest.
    #[test]
    fn fans_share_a_circuit_as_far_as_small_motors_may() {
        let job = library();
        let with = |count, amps, hp, volts| {
            let supply = Supply { volts, phases: 1 };
            fan_groups(&job, &Fan { place: PlaceId(0), count, run_ft: 1.0, spacing_ft: 1.0, supply, amps, hp })
        };
        assert_eq!(with(1, 2.0, 0.0, 120.0), [1]);
        assert_eq!(with(4, 1.2, 0.0, 120.0), [4]);
        // 8 x 2.4 + 0.25 x 2.4 = 19.8 A; a ninth would make 22.2 A, so nine part into five and four.
        assert_eq!(with(8, 2.4, 0.0, 120.0), [8]);
        assert_eq!(with(9, 2.4, 0.0, 120.0), [5, 4]);
        // At 208 V 15 A is the largest: 6 x 2.4 + 0.6 = 15.0 A.
        assert_eq!(with(7, 2.4, 0.0, 208.0), [4, 3]);
        // Over 6 A (1/3 hp at 115 V: 7.2 A) or over 1 hp: each its own.
        assert_eq!(with(2, 6.1, 0.0, 120.0), [1, 1]);
        assert_eq!(with(2, 6.0, 1.0 / 3.0, 120.0), [1, 1]);
        assert_eq!(with(2, 3.0, 1.5, 208.0), [1, 1]);
    }
}
