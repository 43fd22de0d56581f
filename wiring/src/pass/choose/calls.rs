//! Relays by which calls act without the controller: the hand-over while it is dead, and control by zone relays alone.
//!
//! * Each call pulls 24 V relays of its own: KT with Class 2 contacts (the controller's input, a 24 V valve), KU with line-voltage
//!   contacts: one for "any call", one for its pump, in parallel with those of the other zones on a shared pump. The contacts of
//!   one relay are of one class (NEC 725.136).
//! * "Any call" pulls KX, whose contacts ask every boiler over its demand pair, start the boilers' pumps that we switch, and
//!   open the damper (KXV, where that is a 24 V one). Limits and proofs stand in pairs of their own and stay what they are.
//! * Hand-over: each path passes a contact of KH (KHV at 24 V) that is closed at rest; one contact a path, so that no path feeds another. The
//!   health relay holds KH in on the control circuit: a dead controller and a cut wire hand over, and without that circuit nothing
//!   runs. The beacon is lit by a contact of KH in its own circuit: whoever opens the beacon's breaker hands nothing over.
//! * Zone relays alone: no hand-over contact, the paths are live for good. A valve with an end switch pulls KU by that switch, so
//!   that pump and boilers wait for it (common practice). Where zones wait for the tank, its call pulls KQ (KQV at 24 V), whose
//!   contacts, closed at rest, stand in their paths. A relay knows no time limit: such zones stay cold as long as the tank calls.
//!
//! While handed over, a pump starts with its call, not behind its valve's end switch, and nobody waits for the tank (our choice:
//! fewest parts between a call and heat). A mixing valve gets no signal then and shuts.
//!
//! Four poles a relay (common practice: the usual plug-in relay).

use crate::{
    job::{Boiler, Control, EndSwitch, Fallback, Job},
    kinds::relay::RELAY_COIL_VA,
};
use heatwright_core::{
    BoilerId, PumpId, RelayUse, ZoneId,
    config::{BoilerPump, PumpRole, ZoneDrive},
};

/// Poles of one plug-in relay.
pub const POLES: usize = 4;

/// When calls act by themselves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gate {
    /// While the health relay is dropped.
    Health,
    /// Always: there is no controller.
    Always,
}

/// Who calls.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Caller {
    /// A zone's thermostat.
    Zone(ZoneId),
    /// The tank's aquastat.
    Tank,
}

/// A path from the live side, over a contact of the hand-over relays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Path {
    /// To the relays of "any call".
    AnyCall,
    /// To a pump's coil or start input.
    Pump(PumpId),
    /// To a 24 V valve.
    Valve(ZoneId),
    /// Not a call's: lights the beacon.
    Beacon,
}

/// What a relay of "any call" does with one contact.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asks {
    /// Closes a boiler's demand pair.
    Demand(BoilerId),
    /// Starts a boiler's pump.
    Pump(PumpId),
    /// Opens the damper.
    Damper,
}

/// When calls act by themselves; `None` where they never do.
pub fn gate(job: &Job) -> Option<Gate> {
    let health = job.points.relay(RelayUse::Health).is_some();
    match (job.control, job.fallback) {
        (Control::ZoneRelays, _) => Some(Gate::Always),
        (Control::Controller, Fallback::FixedTarget) if job.panel.hand_over && health => Some(Gate::Health),
        (Control::Controller, _) => None,
    }
}

/// Everybody who calls, in file order.
pub fn callers(job: &Job) -> Vec<Caller> {
    let zones = (0..job.zones.len()).map(|z| Caller::Zone(ZoneId(z as u8)));
    zones.chain(job.tank.map(|_| Caller::Tank)).collect()
}

/// The ending of the tags of a caller's relays.
pub fn ending(c: Caller) -> String {
    match c {
        Caller::Zone(z) => (u16::from(z.0) + 1).to_string(),
        Caller::Tank => "W".to_owned(),
    }
}

/// Whose calls start a pump: none for a boiler's.
pub fn callers_of(job: &Job, p: PumpId) -> Vec<Caller> {
    let tank = job.tank.is_some_and(|t| t.pump == p);
    let zones = job.zones.iter().enumerate().filter(|(_, z)| match z.drive {
        ZoneDrive::Pump(q) | ZoneDrive::Valve { pump: Some(q) } => q == p,
        ZoneDrive::Valve { pump: None } => false,
    });
    zones.map(|(z, _)| Caller::Zone(ZoneId(z as u8))).chain(tank.then_some(Caller::Tank)).collect()
}

fn pumps_by_calls(job: &Job) -> impl Iterator<Item = PumpId> + '_ {
    (0..job.pumps.len()).map(|p| PumpId(p as u8)).filter(|p| !callers_of(job, *p).is_empty())
}

/// The pump that a caller starts, if any.
pub fn pump_of(job: &Job, c: Caller) -> Option<PumpId> {
    pumps_by_calls(job).find(|p| callers_of(job, *p).contains(&c))
}

/// Paths at line voltage, each over its own contact of KH; last that of the beacon.
pub fn paths(job: &Job) -> Vec<Path> {
    let beacon = job.beacon.map(|_| Path::Beacon);
    std::iter::once(Path::AnyCall).chain(pumps_by_calls(job).map(Path::Pump)).chain(beacon).collect()
}

/// Paths at 24 V, each over its own contact of KHV.
pub fn paths_24(job: &Job) -> Vec<Path> {
    valves(job).into_iter().map(Path::Valve).collect()
}

fn valves(job: &Job) -> Vec<ZoneId> {
    let valves = job.zones.iter().enumerate().filter(|(_, z)| z.valve.is_some());
    valves.map(|(z, _)| ZoneId(z as u8)).collect()
}

/// The end switch that pulls a zone's KU in place of its thermostat.
pub fn pulled_by_end_switch(job: &Job, z: ZoneId) -> Option<EndSwitch> {
    let end = job.zones.get(z.index())?.valve?.end_switch;
    (gate(job) == Some(Gate::Always) && end != EndSwitch::None).then_some(end)
}

fn waits(job: &Job, z: ZoneId) -> bool {
    gate(job) == Some(Gate::Always) && job.tank.is_some() && job.wait_for_tank.contains(&z)
}

/// Zones whose pump's path the tank's call opens: those whose pump does not already wait for the end switch of their valve.
pub fn waiting(job: &Job) -> Vec<ZoneId> {
    let zones = (0..job.zones.len()).map(|z| ZoneId(z as u8));
    zones
        .filter(|z| {
            waits(job, *z) && pump_of(job, Caller::Zone(*z)).is_some() && pulled_by_end_switch(job, *z).is_none()
        })
        .collect()
}

/// Zones whose valve's path the tank's call opens.
pub fn waiting_24(job: &Job) -> Vec<ZoneId> {
    valves(job).into_iter().filter(|z| waits(job, *z)).collect()
}

/// Contacts of "any call" at line voltage and in the boilers' own circuits.
pub fn asks(job: &Job) -> Vec<Asks> {
    let boilers = || job.boilers.iter().enumerate().map(|(i, b)| (BoilerId(i as u8), b));
    let ours = |b: &Boiler| match b.pump {
        BoilerPump::Controller(p) | BoilerPump::Either(p) => Some(p),
        BoilerPump::Boiler(_) | BoilerPump::None => None,
    };
    let mut out: Vec<Asks> = boilers().map(|(id, _)| Asks::Demand(id)).collect();
    for (_, b) in boilers() {
        if let Some(p) = ours(b).filter(|p| callers_of(job, *p).is_empty() && !out.contains(&Asks::Pump(*p))) {
            out.push(Asks::Pump(p));
        }
    }
    out.extend(job.damper.filter(|d| d.volts > 60.0).map(|_| Asks::Damper));
    out
}

/// Contacts of "any call" at 24 V.
pub fn asks_24(job: &Job) -> Vec<Asks> {
    job.damper.filter(|d| d.volts < 60.0).map(|_| Asks::Damper).into_iter().collect()
}

/// Relay (from 0) and pole (from 1) of the n-th contact.
pub fn place(n: usize) -> (u8, u8) {
    ((n / POLES) as u8, (n % POLES) as u8 + 1)
}

/// Poles of relay `relay` when so many contacts are wanted in all.
pub fn poles_of(relay: usize, contacts: usize) -> u8 {
    contacts.saturating_sub(relay * POLES).min(POLES) as u8
}

/// How many relays so many contacts need.
pub fn relays(contacts: usize) -> usize {
    contacts.div_ceil(POLES)
}

/// Poles of a caller's relay with Class 2 contacts: the controller's input, its valve. 0: it has none.
pub fn class2_poles(job: &Job, c: Caller) -> u8 {
    let valve = matches!(c, Caller::Zone(z) if job.zones.get(z.index()).is_some_and(|z| z.valve.is_some()));
    u8::from(job.control == Control::Controller) + u8::from(valve && gate(job).is_some())
}

/// The Class 2 pole of a caller's valve.
pub fn valve_pole(job: &Job) -> u8 {
    1 + u8::from(job.control == Control::Controller)
}

/// Poles of a caller's relay with line-voltage contacts: any call, its pump.
pub fn line_poles(job: &Job, c: Caller) -> u8 {
    1 + u8::from(pump_of(job, c).is_some())
}

/// Volt-amperes of the 24 V coils that a caller's own contact pulls.
pub fn coils_va(job: &Job, c: Caller) -> f64 {
    let line = match c {
        Caller::Zone(z) => usize::from(pulled_by_end_switch(job, z).is_none()),
        Caller::Tank => 1 + relays(waiting(job).len()) + relays(waiting_24(job).len()),
    };
    (usize::from(class2_poles(job, c) > 0) + line) as f64 * RELAY_COIL_VA
}

/// True for a boiler's pump that we switch: any call starts it.
pub fn by_any_call(job: &Job, p: PumpId) -> bool {
    matches!(job.pumps.get(p.index()).map(|p| p.role), Some(PumpRole::Boiler(_))) && asks(job).contains(&Asks::Pump(p))
}
