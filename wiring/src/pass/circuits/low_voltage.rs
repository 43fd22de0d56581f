//! 24 V circuits and low-level wiring: thermostats, valves, damper, aquastats, sensors.

use super::{Circuits, SIGNAL_A, string, texts};
use crate::{
    job::{EndSwitch, MixingValve, Thermostat, ThermostatKind, ZoneValve},
    kinds::{controller, relay::pole_open, sensor, thermostat::AQUASTAT, valve},
    pass::{
        choose::{
            Load24, call_va,
            calls::{self, Asks, Caller, gate},
            limits_of_valve,
        },
        devices::{CONTROL_V, Role},
        loom::{Carries, Group, Lost, Pt},
    },
    plan::Duty,
    row::Class,
};
use heatwright_core::{AnalogUse, ContactUse, RelayUse, SensorId, Subject, ZoneId};

impl Circuits<'_> {
    pub(super) fn low_voltage(&mut self) -> Result<(), Lost> {
        for (i, zone) in self.job.zones.iter().enumerate() {
            let z = ZoneId(i as u8);
            self.thermostat(z, zone.thermostat)?;
            if let Some(v) = &zone.valve {
                self.valve(z, v)?;
            }
            if let Some(m) = &zone.mixing {
                self.mixing(z, m)?;
            }
        }
        if let (Some(t), true) = (self.job.tank, gate(self.job).is_some()) {
            self.tank_relays(t.run_ft)?;
        } else if let (Some(t), Some(contact)) = (self.job.tank, self.job.points.contact(ContactUse::TankCall)) {
            let ends = self.field_pair(Role::TankAquastat, AQUASTAT, Group::Class2, t.run_ft)?;
            self.input(contact, ends, t.run_ft, "tank aquastat to the controller")?;
        }
        self.damper()?;
        for (i, s) in self.job.sensors.iter().enumerate() {
            if let Some(s) = s {
                self.sensor(SensorId(i as u8), s.run_ft)?;
            }
        }
        Ok(())
    }

    fn thermostat(&mut self, z: ZoneId, t: Thermostat) -> Result<(), Lost> {
        let name = self.job.names.of(Subject::Zone(z));
        let purpose = format!("call of {name} to the controller");
        let input = self.job.points.contact(ContactUse::Call(z));
        let powered = t.kind == ThermostatKind::Powered;
        let caller = Caller::Zone(z);
        if !powered && gate(self.job).is_none() {
            let Some(contact) = input else { return Ok(()) };
            let ends = self.field_pair(Role::Thermostat(z), ["R", "W"], Group::Class2, t.run_ft)?;
            return self.input(contact, ends, t.run_ft, &purpose);
        }
        let supply = self.supply_of(Load24::Thermostat(z));
        let va = if powered { t.va } else { 0.0 };
        let leg = self.low_leg(supply, va + call_va(self.job, caller), t.run_ft);
        let [r, w] = self.field_pair(Role::Thermostat(z), ["R", "W"], Group::Class2, t.run_ft)?;
        self.low[supply].hot.push(r.on(leg));
        if powered {
            let c = self.loom.field(Role::Thermostat(z), "C", Group::Class2, t.run_ft)?;
            self.low[supply].ret.push(c.on(leg));
        }
        self.call_coils(caller, supply, leg, w, &format!("W of {name}"))?;
        if let Some(contact) = input {
            let ends = self.pair(Role::CallRelay(caller), texts(&pole_open(1)))?;
            self.input(contact, ends, 0.0, &purpose)?;
        }
        Ok(())
    }

    /// The coils that a call pulls, behind its contact.
    fn call_coils(&mut self, c: Caller, supply: usize, leg: usize, from: Pt, purpose: &str) -> Result<(), Lost> {
        let mut node = vec![from];
        let by_end_switch = matches!(c, Caller::Zone(z) if calls::pulled_by_end_switch(self.job, z).is_some());
        let mut coils = Vec::new();
        for (role, pulled) in [(Role::CallRelay(c), true), (Role::CallLineRelay(c), !by_end_switch)] {
            if pulled && self.loom.inventory.id(role).is_some() {
                coils.push(self.pair(role, ["A1", "A2"])?);
            }
        }
        if c == Caller::Tank {
            coils.extend(self.tank_first_coils()?);
        }
        for [a1, a2] in coils {
            node.push(a1);
            self.low[supply].ret.push(a2.on(leg));
        }
        let net = self.net(leg, Carries::Class2, purpose);
        self.loom.join(&net, &node)
    }

    /// The tank's aquastat with relays of its own.
    fn tank_relays(&mut self, run_ft: f64) -> Result<(), Lost> {
        let supply = self.supply_of(Load24::Tank);
        let leg = self.low_leg(supply, call_va(self.job, Caller::Tank), run_ft);
        let [live, out] = self.field_pair(Role::TankAquastat, AQUASTAT, Group::Class2, run_ft)?;
        self.low[supply].hot.push(live.on(leg));
        self.call_coils(Caller::Tank, supply, leg, out, "call of the tank")?;
        if let Some(contact) = self.job.points.contact(ContactUse::TankCall) {
            let ends = self.pair(Role::CallRelay(Caller::Tank), texts(&pole_open(1)))?;
            self.input(contact, ends, 0.0, "tank aquastat to the controller")?;
        }
        Ok(())
    }

    fn valve(&mut self, z: ZoneId, v: &ZoneValve) -> Result<(), Lost> {
        let name = self.job.names.of(Subject::Zone(z));
        let supply = self.supply_of(Load24::Valve(z));
        let leg = self.low_leg(supply, v.va.max(v.inrush_va), v.run_ft);
        let [live, ret] = self.field_pair(Role::Valve(z), valve::SUPPLY, Group::Class2, v.run_ft)?;
        let mut elements = Vec::new();
        if let Some(relay) = self.job.points.relay(RelayUse::Valve(z)) {
            elements.push(self.pair(Role::Controller, texts(&controller::relay_open(relay)))?);
        }
        for s in limits_of_valve(self.job, z) {
            elements.extend(self.own_limit(s, Group::Class2)?);
        }
        let mut nodes = string(Vec::new(), &elements, vec![live]);
        let net = self.net(leg, Carries::Class2, &format!("zone valve of {name}"));
        let by_call = self.valve_by_call(z, &net)?;
        if let [first, .., last] = by_call.as_slice() {
            // Beside the controller's relay: before it and behind it; without one straight to the limits.
            let behind = usize::from(self.job.points.relay(RelayUse::Valve(z)).is_some());
            if let [_, middle, _] = by_call.as_slice() {
                self.loom.join(&net, middle)?;
            }
            if behind == 0 {
                let start = std::mem::take(&mut nodes[0]);
                nodes.insert(0, first.clone());
                nodes[1] = start;
                nodes[1].extend(last.iter().copied());
            } else {
                nodes[0].extend(first.iter().copied());
                nodes[1].extend(last.iter().copied());
            }
        }
        let mut nodes = nodes.into_iter();
        self.low[supply].hot.extend(nodes.next().into_iter().flatten().map(|p| p.on(leg)));
        self.low[supply].ret.push(ret.on(leg));
        for node in nodes {
            self.loom.join(&net, &node)?;
        }
        if let Some(end) = calls::pulled_by_end_switch(self.job, z) {
            return self.relay_by_end_switch(z, v, end, supply, leg);
        }
        let Some(contact) = self.job.points.contact(ContactUse::EndSwitch(z)) else { return Ok(()) };
        let purpose = format!("end switch of {name} to the controller");
        match v.end_switch {
            EndSwitch::None => Ok(()),
            EndSwitch::Isolated => {
                let ends = self.field_pair(Role::Valve(z), valve::END, Group::Class2, v.run_ft)?;
                self.input(contact, ends, v.run_ft, &purpose)
            }
            EndSwitch::Joined => {
                let end = self.loom.field(Role::Valve(z), valve::END[1], Group::Class2, v.run_ft)?;
                let [a1, a2] = self.pair(Role::EndSwitchRelay(z), ["A1", "A2"])?;
                self.loom.join(&net, &[a1, end])?;
                self.low[supply].ret.push(a2.on(leg));
                let ends = self.pair(Role::EndSwitchRelay(z), texts(&pole_open(1)))?;
                self.input(contact, ends, 0.0, &purpose)
            }
        }
    }

    /// The end switch pulls the zone's relay: pump and boilers wait for the valve.
    fn relay_by_end_switch(
        &mut self,
        z: ZoneId,
        v: &ZoneValve,
        end: EndSwitch,
        supply: usize,
        leg: usize,
    ) -> Result<(), Lost> {
        let [a1, a2] = self.pair(Role::CallLineRelay(Caller::Zone(z)), ["A1", "A2"])?;
        self.low[supply].ret.push(a2.on(leg));
        if end == EndSwitch::Isolated {
            let live = self.loom.field(Role::Valve(z), valve::END[0], Group::Class2, v.run_ft)?;
            self.low[supply].hot.push(live.on(leg));
        }
        let out = self.loom.field(Role::Valve(z), valve::END[1], Group::Class2, v.run_ft)?;
        let net = self.net(leg, Carries::Class2, &format!("end switch of {}", self.job.names.of(Subject::Zone(z))));
        self.loom.join(&net, &[a1, out])
    }

    fn mixing(&mut self, z: ZoneId, m: &MixingValve) -> Result<(), Lost> {
        let supply = self.supply_of(Load24::Mixing(z));
        let leg = self.low_leg(supply, m.va, m.run_ft);
        let [live, ret] = self.field_pair(Role::Mixing(z), valve::SUPPLY, Group::Class2, m.run_ft)?;
        self.low[supply].hot.push(live.on(leg));
        self.low[supply].ret.push(ret.on(leg));
        let Some(analog) = self.job.points.analog(AnalogUse::Mixing(z)) else { return Ok(()) };
        let purpose = format!("0-10 V of the mixing valve of {}", self.job.names.of(Subject::Zone(z)));
        self.signal(analog, Role::Mixing(z), valve::SIGNAL, m.run_ft, &purpose)
    }

    fn damper(&mut self) -> Result<(), Lost> {
        let Some(d) = self.job.damper else { return Ok(()) };
        let mut paths = Vec::new();
        if let Some(relay) = self.job.points.relay(RelayUse::Damper) {
            paths.push(self.pair(Role::Controller, texts(&controller::relay_open(relay)))?);
        }
        paths.extend(self.asks_contact(Asks::Damper)?);
        let (commons, opens): (Vec<Pt>, Vec<Pt>) = paths.into_iter().map(|[a, b]| (a, b)).unzip();
        let at_24 = d.volts < 60.0;
        let (leg, group, carries) = if at_24 {
            let supply = self.supply_of(Load24::Damper);
            (self.low_leg(supply, d.va, d.run_ft), Group::Class2, Carries::Class2)
        } else {
            (self.control_leg(Duty::Control, d.va * CONTROL_V / d.volts, d.run_ft), Group::Control, Carries::Control)
        };
        let [live, ret] = self.field_pair(Role::Damper, valve::SUPPLY, group, d.run_ft)?;
        let supply = self.supply_of(Load24::Damper);
        let shared = if at_24 { &mut self.low[supply] } else { &mut self.control };
        shared.hot.extend(commons.into_iter().map(|c| c.on(leg)));
        shared.ret.push(ret.on(leg));
        let net = self.net(leg, carries, "combustion-air damper, opens while live");
        self.loom.join(&net, &opens.into_iter().chain([live]).collect::<Vec<_>>())
    }

    fn sensor(&mut self, id: SensorId, ft: f64) -> Result<(), Lost> {
        let leg = self.leg_on(self.board[1], Class::Class2, Duty::Sensor, 24.0, SIGNAL_A, ft);
        let ours = controller::sensor(id);
        for (ours, theirs) in ours.iter().zip(sensor::LEADS) {
            let net = self.net(leg, Carries::Class2, &self.job.names.of(Subject::Sensor(id)));
            let here = self.loom.inside(Role::Controller, ours)?;
            let far = self.loom.field(Role::Sensor(id), theirs, Group::Class2, ft)?;
            self.loom.join(&net, &[here, far])?;
        }
        Ok(())
    }
}
