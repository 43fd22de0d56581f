//! Pumps: their branch circuits, what switches them, what may start them, what must stop them.
//!
//! Line: breaker, feed (of one pump, or of several small ones that part on the strip), relay panel (a lockable disconnect where the breaker is not in sight of it, then the controller's
//! contact or the contactor's poles), limits where the line itself is switched
//! directly, disconnect, motor. Request: live side, then HAND on one path, AUTO with the controller's relay and the boiler's
//! request in parallel on the other, then what HAND may not bypass: limits, overload, coil. A start input has the same
//! request between its two terminals, and its limits in the pump's supply.

use super::{Circuits, WHIP_FT, branch::Branch, string, texts};
use crate::{
    job::{Fed, Pump, Selector},
    kinds::{
        controller, disconnect, pump as marks_of,
        relay::{CONTACTOR_COIL_VA, main_pole, pole_open, starter_poles},
        selector,
    },
    pass::{
        boards::{self, Enclosure, enclosure_of, to_neutral},
        choose::{PumpDisconnect, limits_of_pump, line_disconnect, pump_asked_by, pump_disconnect},
        devices::{Role, pump_role},
        loom::{Carries, Group, Hub, Lost, Net, Pt},
        protection,
    },
    plan::{Circuit, Duty, Feed, MotorSwitch},
    row::Class,
};
use heatwright_core::{ContactUse, PumpId, RelayUse, Subject};

/// True where the limits of a pump stand in its line, for want of a coil circuit.
fn in_line(switch: MotorSwitch) -> bool {
    matches!(switch, MotorSwitch::ControllerRelay | MotorSwitch::CallRelay | MotorSwitch::StartInput)
}

impl Circuits<'_> {
    pub(super) fn pumps(&mut self) -> Result<(), Lost> {
        for circuit in &self.choices.pump_circuits {
            self.pump_circuit(circuit)?;
        }
        for (i, p) in self.job.pumps.iter().enumerate() {
            let id = PumpId(i as u8);
            let switch = self.switch_of(id);
            match switch {
                MotorSwitch::Contactor | MotorSwitch::Starter => self.coil_circuit(id, p, switch)?,
                MotorSwitch::StartInput => self.start_circuit(id, p)?,
                _ => {}
            }
            self.selector_seen(id)?;
        }
        Ok(())
    }

    fn switch_of(&self, id: PumpId) -> MotorSwitch {
        self.choices.pumps.get(id.index()).copied().unwrap_or(MotorSwitch::Contactor)
    }

    /// What the directory calls a pump.
    fn pump_label(&self, id: PumpId) -> String {
        let name = self.job.names.of(Subject::Pump(id));
        let role = pump_role(self.job, id);
        if name.to_lowercase().contains("pump") { name } else { format!("{name} ({role})") }
    }

    /// One branch circuit with its pumps: it parts on the strip, ahead of their disconnects and of what switches them.
    fn pump_circuit(&mut self, pumps: &[PumpId]) -> Result<(), Lost> {
        let job = self.job;
        let known = |id: &PumpId| job.pumps.get(id.index()).map(|p| (*id, p));
        let list: Vec<(PumpId, &Pump)> = pumps.iter().filter_map(known).collect();
        let Some((first, p)) = list.first().copied() else { return Ok(()) };
        let each: Vec<f64> = list.iter().map(|(_, p)| protection::motor_amps(p)).collect();
        let all: f64 = each.iter().sum();
        let labels: Vec<String> = list.iter().map(|(id, _)| self.pump_label(*id)).collect();
        let label = labels.join(", ");
        let subject = Some(Subject::Pump(first));
        let branch = self.branch(p.supply, all, Duty::Motor, &label, subject, true, Fed::Pump(first))?;
        let e = enclosure_of(job, self.switch_of(first), p.supply);
        let feed_ft = boards::feed_ft(job, branch.board, e);
        let feed = self.feed_pts(&branch, e);
        let mut ahead: Vec<Vec<Pt>> = feed.hots.iter().chain(&feed.neutral).map(|p| vec![*p]).collect();
        if let [(id, p)] = list[..] {
            self.loom.legs[branch.leg].length_ft = feed_ft + self.pump_way_ft(id, p);
            self.pump_line(id, p, &branch, branch.leg, &mut ahead)?;
            return self.close_pump_line(&branch, &format!("line of {}", job.names.of(Subject::Pump(id))), &ahead);
        }
        // The trunk carries all, the way to each pump its own: as ways of equal drop, so that both are sized for the worst of them.
        let moment = |(i, (id, p)): (usize, &(PumpId, &Pump))| self.pump_way_ft(*id, p) * each[i];
        let worst = list.iter().enumerate().map(moment).fold(0.0, f64::max);
        self.loom.legs[branch.leg].length_ft = feed_ft + worst / all;
        self.loom.groups.insert(self.loom.legs[branch.leg].circuit, each.clone());
        let volts = self.loom.legs[branch.leg].volts;
        for ((id, p), own) in list.iter().zip(&each) {
            let ft = feed_ft * all / own + self.pump_way_ft(*id, p);
            let tap = self.leg_on(branch.leg, Class::Power, Duty::Motor, volts, *own, ft);
            self.pump_line(*id, p, &branch, tap, &mut ahead)?;
        }
        self.close_pump_line(&branch, "feed of the pumps of this circuit", &ahead)
    }

    /// From the enclosure to the motor, with the way out to limits that stand in the line, feet.
    fn pump_way_ft(&self, id: PumpId, p: &Pump) -> f64 {
        let detour: f64 = if in_line(self.switch_of(id)) {
            limits_of_pump(self.job, id).iter().map(|s| self.far_ft(*s)).sum()
        } else {
            0.0
        };
        p.run_ft + WHIP_FT + detour
    }

    /// Joins the feed of a circuit with what it feeds, pole by pole and then the neutral.
    fn close_pump_line(&mut self, branch: &Branch, purpose: &str, ahead: &[Vec<Pt>]) -> Result<(), Lost> {
        for (n, node) in ahead.iter().enumerate() {
            let carries = branch.phases.get(n).map_or(Carries::Neutral, |p| Carries::Phase(*p));
            let net = Net { by_leg: true, ..self.net(branch.leg, carries, purpose) };
            self.loom.join(&net, node)?;
        }
        Ok(())
    }

    /// The line of one pump; what meets the feed is added to `ahead`, pole by pole and then the neutral.
    fn pump_line(
        &mut self,
        id: PumpId,
        p: &Pump,
        branch: &Branch,
        leg: usize,
        ahead: &mut [Vec<Pt>],
    ) -> Result<(), Lost> {
        let name = self.job.names.of(Subject::Pump(id));
        let switch = self.switch_of(id);
        let own = pump_disconnect(self.job, id, switch, self.choices.alone(id)) == PumpDisconnect::Own;
        let limits = limits_of_pump(self.job, id);
        let e = enclosure_of(self.job, switch, p.supply);
        let hub = if e == Enclosure::Starter { Hub::Starters } else { Hub::Panel };
        let neutral = to_neutral(self.job, p.supply);
        let lines = marks_of::line_marks(p.supply.phases, neutral);
        let purpose = format!("line of {name}");
        for (n, phase) in branch.phases.iter().enumerate() {
            let pole = n as u8 + 1;
            let mut elements = Vec::new();
            if line_disconnect(self.job, switch, p.supply) {
                elements.push(self.pair(Role::LineDisconnect(id), texts(&main_pole(pole)))?);
            }
            match switch {
                MotorSwitch::ControllerRelay => {
                    if let Some(relay) = self.job.points.relay(RelayUse::Pump(id)) {
                        elements.push(self.pair(Role::Controller, texts(&controller::relay_open(relay)))?);
                    }
                }
                MotorSwitch::CallRelay => elements.extend(self.line_by_call(id)?),
                MotorSwitch::Contactor => elements.push(self.pair(Role::PumpSwitch(id), texts(&main_pole(pole)))?),
                MotorSwitch::Starter => {
                    for pole in starter_poles(branch.phases.len(), n) {
                        elements.push(self.pair(Role::PumpSwitch(id), texts(&main_pole(pole)))?);
                    }
                }
                _ => {}
            }
            if in_line(switch) && n == 0 {
                for s in &limits {
                    elements.extend(self.own_limit(*s, Group::Power)?);
                }
            }
            let net = self.net(leg, Carries::Phase(*phase), &purpose);
            let far = self.toward_pump(id, p, hub, own, pole, lines[n])?;
            let mut nodes = string(Vec::new(), &elements, vec![far]).into_iter();
            ahead[n].extend(nodes.next().into_iter().flatten().map(|p| p.on(leg)));
            for node in nodes {
                self.loom.join(&net, &node)?;
            }
            if own {
                let out = self.loom.at(Role::PumpDisconnect(id), &main_pole(pole)[1])?;
                let motor = self.loom.at(Role::Pump(id), lines[n])?;
                self.loom.straight(&net, out, motor, Group::Power, WHIP_FT);
            }
        }
        if let Some(ahead) = ahead.get_mut(branch.phases.len()) {
            let net = self.net(leg, Carries::Neutral, &purpose);
            let role = if own { Role::PumpDisconnect(id) } else { Role::Pump(id) };
            let far = self.loom.field_from(hub, role, "N", Group::Power, p.run_ft)?;
            ahead.push(far.on(leg));
            if own {
                let motor = self.loom.at(Role::Pump(id), "N")?;
                self.loom.straight(&net, far.at, motor, Group::Power, WHIP_FT);
            }
        }
        Ok(())
    }

    /// Where the line leaves the relay panel for: the disconnect, or the motor where breaker or relay panel is in sight.
    fn toward_pump(&self, id: PumpId, p: &Pump, hub: Hub, own: bool, pole: u8, mark: &str) -> Result<Pt, Lost> {
        if !own {
            self.loom.field_from(hub, Role::Pump(id), mark, Group::Power, p.run_ft)
        } else {
            self.loom.field_from(hub, Role::PumpDisconnect(id), &main_pole(pole)[0], Group::Power, p.run_ft)
        }
    }

    fn coil_circuit(&mut self, id: PumpId, p: &Pump, switch: MotorSwitch) -> Result<(), Lost> {
        let limits = limits_of_pump(self.job, id);
        let length: f64 = limits.iter().map(|s| self.far_ft(*s)).sum();
        let apart = enclosure_of(self.job, switch, p.supply) == Enclosure::Starter;
        let length = length + if apart { self.loom.starters_ft } else { 0.0 };
        let leg = self.control_leg(Duty::Control, CONTACTOR_COIL_VA, length);
        let net = self.net(leg, Carries::Control, &format!("coil circuit of {}", self.job.names.of(Subject::Pump(id))));
        let mut tail = Vec::new();
        for s in &limits {
            tail.extend(self.own_limit(*s, Group::Control)?);
        }
        if apart && line_disconnect(self.job, switch, p.supply) {
            tail.push(self.pair(Role::LineDisconnect(id), disconnect::AUX)?);
        }
        if switch == MotorSwitch::Starter {
            tail.push(self.pair(Role::PumpSwitch(id), ["95", "96"])?);
        }
        let [a1, a2] = self.pair(Role::PumpSwitch(id), ["A1", "A2"])?;
        let (hot, out) = self.request(&net, id, p)?;
        self.control.hot.extend(hot.into_iter().map(|h| h.on(leg)));
        self.control.ret.push(a2.on(if apart { self.starters_return.unwrap_or(leg) } else { leg }));
        for node in string(out, &tail, vec![a1]) {
            self.loom.join(&net, &node)?;
        }
        Ok(())
    }

    fn start_circuit(&mut self, id: PumpId, p: &Pump) -> Result<(), Lost> {
        let name = self.job.names.of(Subject::Pump(id));
        let circuit = Circuit {
            name: format!("M{}", id.0 + 1),
            label: format!("start input of {name}, fed by the pump"),
            subject: Some(Subject::Pump(id)),
            duty: Duty::Control,
            class: Class::Control,
            feed: Feed::Pump(id),
            volts: 24.0,
            volts_to_ground: 24.0,
            phases: 1,
            amps: 0.05,
            va: 1.0,
            continuous: true,
        };
        let leg = self.circuit_with_leg(circuit, p.run_ft);
        let net = self.net(leg, Carries::Foreign, &format!("start input of {name}"));
        let [s1, s2] = self.field_pair(Role::Pump(id), marks_of::START, Group::Control, p.run_ft)?;
        let (mut hot, mut out) = self.request(&net, id, p)?;
        hot.push(s1);
        out.push(s2);
        self.loom.join(&net, &hot)?;
        self.loom.join(&net, &out)
    }

    /// What may start a pump: the points on the live side and those that it makes live.
    fn request(&mut self, net: &Net, id: PumpId, p: &Pump) -> Result<(Vec<Pt>, Vec<Pt>), Lost> {
        let (ours, boiler) = pump_asked_by(self.job, id);
        let mut paths = Vec::new();
        if let (true, Some(relay)) = (ours, self.job.points.relay(RelayUse::Pump(id))) {
            paths.push(self.pair(Role::Controller, texts(&controller::relay_open(relay)))?);
        }
        if let Some(b) = boiler {
            paths.push(self.pair(Role::PumpRequestRelay(b), texts(&pole_open(1)))?);
        }
        let (mut starts, mut out): (Vec<Pt>, Vec<Pt>) = paths.into_iter().map(|[a, b]| (a, b)).unzip();
        let mut by_calls = if ours { self.pump_by_calls(id, net)? } else { Vec::new() };
        if let (Some(last), true) = (by_calls.pop(), !by_calls.is_empty()) {
            out.extend(last);
            starts.extend(by_calls.remove(0));
            for between in by_calls {
                self.loom.join(net, &between)?;
            }
        }
        if p.selector == Selector::None {
            return Ok((starts, out));
        }
        let hand = self.pair(Role::Selector(id), selector::HAND)?;
        let auto = self.pair(Role::Selector(id), selector::AUTO)?;
        let node: Vec<Pt> = starts.into_iter().chain([auto[1]]).collect();
        self.loom.join(net, &node)?;
        out.push(hand[1]);
        Ok((vec![hand[0], auto[0]], out))
    }

    fn selector_seen(&mut self, id: PumpId) -> Result<(), Lost> {
        let list =
            [(ContactUse::Hand(id), selector::HAND_SEEN, "HAND"), (ContactUse::Auto(id), selector::AUTO_SEEN, "AUTO")];
        for (what, marks, word) in list {
            if let Some(contact) = self.job.points.contact(what)
                && self.loom.inventory.id(Role::Selector(id)).is_some()
            {
                let ends = self.pair(Role::Selector(id), marks)?;
                let name = self.job.names.of(Subject::Pump(id));
                self.input(contact, ends, 0.0, &format!("{word} of {name} to the controller"))?;
            }
        }
        Ok(())
    }
}
