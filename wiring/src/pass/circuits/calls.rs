//! The paths by which calls act without the controller (see [`crate::pass::choose::calls`]).
//!
//! Path of a pump: live side, hand-over contact (closed while the health relay is dropped), the contacts of its zones' calls in
//! parallel, each behind it the contact that the tank's call opens, coil. Path of "any call": live side, its own hand-over contact,
//! one contact of every call in parallel, the coils of KX and KXV. Path of a valve: 24 V, hand-over contact, its own call's
//! contact, the tank's, valve. Without a controller there is no hand-over contact, with one nobody waits for the tank.

use super::{Circuits, texts};
use crate::{
    kinds::relay::{RELAY_COIL_VA, pole_open},
    pass::{
        choose::calls::{self, Asks, Caller, Gate, Path},
        devices::Role,
        loom::{Carries, Lost, Net, Pt},
    },
    plan::Duty,
};
use heatwright_core::{PumpId, ZoneId};

/// Relays alike, by their number.
type Bank = fn(u8) -> Role;

/// Common and the contact that is closed at rest of a pole.
fn pole_closed(n: u8) -> [String; 2] {
    [format!("{n}1"), format!("{n}2")]
}

impl Circuits<'_> {
    /// The hand-over contact of a path; `None` where nothing hands over.
    pub(super) fn hand_over(&self, path: Path) -> Result<Option<[Pt; 2]>, Lost> {
        if calls::gate(self.job) != Some(Gate::Health) {
            return Ok(None);
        }
        let low = matches!(path, Path::Valve(_));
        let list = if low { calls::paths_24(self.job) } else { calls::paths(self.job) };
        let Some(n) = list.iter().position(|p| *p == path) else { return Ok(None) };
        let (relay, pole) = calls::place(n);
        let role = if low { Role::HandOver24(relay) } else { Role::HandOver(relay) };
        self.pair(role, texts(&pole_closed(pole))).map(Some)
    }

    /// A call's contact, with the tank's behind it where the zone waits for the tank.
    fn own_and_tank(&mut self, net: &Net, own: [Pt; 2], z: ZoneId, at_24: bool) -> Result<[Pt; 2], Lost> {
        let list = if at_24 { calls::waiting_24(self.job) } else { calls::waiting(self.job) };
        let Some(n) = list.iter().position(|w| *w == z) else { return Ok(own) };
        let (relay, pole) = calls::place(n);
        let role = if at_24 { Role::TankFirst24(relay) } else { Role::TankFirst(relay) };
        let tank = self.pair(role, texts(&pole_closed(pole)))?;
        self.loom.join(net, &[own[1], tank[0]])?;
        Ok([own[0], tank[1]])
    }

    fn pump_contact(&mut self, net: &Net, c: Caller) -> Result<[Pt; 2], Lost> {
        let own = self.pair(Role::CallLineRelay(c), texts(&pole_open(2)))?;
        match c {
            Caller::Zone(z) => self.own_and_tank(net, own, z, false),
            Caller::Tank => Ok(own),
        }
    }

    /// The contacts of its only caller that carry a pump's line, in series.
    pub(super) fn line_by_call(&self, p: PumpId) -> Result<Vec<[Pt; 2]>, Lost> {
        let mut out = Vec::new();
        for c in calls::callers_of(self.job, p).into_iter().take(1) {
            out.push(self.pair(Role::CallLineRelay(c), texts(&pole_open(2)))?);
            if let Caller::Zone(z) = c
                && let Some(n) = calls::waiting(self.job).iter().position(|w| *w == z)
            {
                let (relay, pole) = calls::place(n);
                out.push(self.pair(Role::TankFirst(relay), texts(&pole_closed(pole)))?);
            }
        }
        Ok(out)
    }

    /// What starts a pump without the controller: points on the live side, points between, points that it makes live.
    pub(super) fn pump_by_calls(&mut self, p: PumpId, net: &Net) -> Result<Vec<Vec<Pt>>, Lost> {
        if calls::gate(self.job).is_none() {
            return Ok(Vec::new());
        }
        if calls::by_any_call(self.job, p) {
            let contact = self.asks_contact(Asks::Pump(p))?;
            return Ok(contact.map(|[a, b]| vec![vec![a], vec![b]]).unwrap_or_default());
        }
        let mut contacts = Vec::new();
        for c in calls::callers_of(self.job, p) {
            contacts.push(self.pump_contact(net, c)?);
        }
        Ok(behind(self.hand_over(Path::Pump(p))?, contacts))
    }

    /// What opens a valve without the controller, likewise.
    pub(super) fn valve_by_call(&mut self, z: ZoneId, net: &Net) -> Result<Vec<Vec<Pt>>, Lost> {
        if calls::gate(self.job).is_none() {
            return Ok(Vec::new());
        }
        let own = self.pair(Role::CallRelay(Caller::Zone(z)), texts(&pole_open(calls::valve_pole(self.job))))?;
        let contact = self.own_and_tank(net, own, z, true)?;
        Ok(behind(self.hand_over(Path::Valve(z))?, vec![contact]))
    }

    /// The contact of "any call" that does this.
    pub(super) fn asks_contact(&self, what: Asks) -> Result<Option<[Pt; 2]>, Lost> {
        if calls::gate(self.job).is_none() {
            return Ok(None);
        }
        let lists: [(Vec<Asks>, Bank); 2] =
            [(calls::asks(self.job), Role::AnyCall), (calls::asks_24(self.job), Role::AnyCall24)];
        for (list, role) in lists {
            if let Some(n) = list.iter().position(|a| *a == what) {
                let (relay, pole) = calls::place(n);
                return self.pair(role(relay), texts(&pole_open(pole))).map(Some);
            }
        }
        Ok(None)
    }

    /// The coils of a bank of relays.
    fn coils(&self, bank: &[(usize, Bank)]) -> Result<Vec<[Pt; 2]>, Lost> {
        let mut out = Vec::new();
        for (contacts, role) in bank {
            for i in 0..calls::relays(*contacts) {
                out.push(self.pair(role(i as u8), ["A1", "A2"])?);
            }
        }
        Ok(out)
    }

    /// The path of "any call".
    pub(super) fn any_call(&mut self) -> Result<(), Lost> {
        if calls::gate(self.job).is_none() {
            return Ok(());
        }
        let job = self.job;
        let coils =
            self.coils(&[(calls::asks(job).len(), Role::AnyCall), (calls::asks_24(job).len(), Role::AnyCall24)])?;
        let contacts = calls::callers(job)
            .into_iter()
            .map(|c| self.pair(Role::CallLineRelay(c), texts(&pole_open(1))))
            .collect::<Result<Vec<_>, _>>()?;
        let leg = self.control_leg(Duty::Control, RELAY_COIL_VA * coils.len() as f64, 0.0);
        let mut nodes = behind(self.hand_over(Path::AnyCall)?, contacts);
        for [a1, a2] in coils {
            if let Some(last) = nodes.last_mut() {
                last.push(a1);
            }
            self.control.ret.push(a2.on(leg));
        }
        let net = self.net(leg, Carries::Control, "any call");
        let mut nodes = nodes.into_iter();
        self.control.hot.extend(nodes.next().into_iter().flatten().map(|p| p.on(leg)));
        for node in nodes {
            self.loom.join(&net, &node)?;
        }
        Ok(())
    }

    /// Coils of the hand-over relays, held in by the health relay.
    pub(super) fn hand_over_coils(&self) -> Result<Vec<[Pt; 2]>, Lost> {
        if calls::gate(self.job) != Some(Gate::Health) {
            return Ok(Vec::new());
        }
        let job = self.job;
        self.coils(&[(calls::paths(job).len(), Role::HandOver), (calls::paths_24(job).len(), Role::HandOver24)])
    }

    /// Coils that the tank's call pulls beside its own relays.
    pub(super) fn tank_first_coils(&self) -> Result<Vec<[Pt; 2]>, Lost> {
        let job = self.job;
        self.coils(&[(calls::waiting(job).len(), Role::TankFirst), (calls::waiting_24(job).len(), Role::TankFirst24)])
    }
}

/// The nodes of contacts in parallel behind a gate: live side, between gate and contacts, behind the contacts.
fn behind(gate: Option<[Pt; 2]>, contacts: Vec<[Pt; 2]>) -> Vec<Vec<Pt>> {
    let (near, far): (Vec<Pt>, Vec<Pt>) = contacts.into_iter().map(|[a, b]| (a, b)).unzip();
    match gate {
        _ if near.is_empty() => Vec::new(),
        None => vec![near, far],
        Some([a, b]) => vec![vec![a], [vec![b], near].concat(), far],
    }
}
