//! Boilers: line supply through the service switch, limit, proving and demand pairs, 0-10 V, status.
//!
//! A boiler's own safety that needs 120 V hangs on the boiler's line behind the service switch, joined in the junction box; so does
//! its dry pump contact with the coil of the relay that it pulls, where the boiler is 120 V.
//! Limit pair: first mark, two poles of the common chain, the boiler's own limits, second mark. Proving pair likewise with
//! the common proofs and the boiler's flow switch. Our relay's contact stands alone in the demand pair. The pairs are fed by
//! the boiler and stay live with our control circuit off.

use super::{Circuits, WHIP_FT, string, texts};
use crate::{
    job::{Boiler, BoilerContact, Fed},
    kinds::{
        boiler::SHIELD,
        controller, disconnect,
        relay::{RELAY_COIL_VA, main_pole, pole_open},
        safety::supply_marks,
    },
    pass::{
        choose::{ChainOf, asks_with_its_line, calls::Asks, fed_by_boiler},
        devices::{CONTROL_V, Role},
        loom::{At, Carries, Group, Hub, Lost, Net, Pt, RunKey, Way},
    },
    plan::{Circuit, Duty, Feed},
    row::Class,
};
use heatwright_core::{AnalogId, AnalogUse, BoilerId, ContactUse, RelayUse, SafetyId, Subject, config::BoilerPump};

fn request_words(name: &str) -> String {
    format!("pump request of {name}")
}

impl Circuits<'_> {
    pub(super) fn boilers(&mut self) -> Result<(), Lost> {
        for (i, b) in self.job.boilers.iter().enumerate() {
            let id = BoilerId(i as u8);
            self.line(id, b)?;
            self.pairs(id, b)?;
            self.signal_of(id, b)?;
            self.status(id, b)?;
        }
        Ok(())
    }

    fn line(&mut self, id: BoilerId, b: &Boiler) -> Result<(), Lost> {
        let name = self.job.names.of(Subject::Boiler(id));
        let subject = Some(Subject::Boiler(id));
        let ids = (0..self.job.safeties.len()).map(|i| SafetyId(i as u8));
        let behind: Vec<SafetyId> = ids.filter(|s| fed_by_boiler(self.job, *s) == Some(id)).collect();
        let (mut label, mut amps) = (name.clone(), b.amps);
        for s in &behind {
            label.push_str(&format!(", {}", self.job.names.of(Subject::Safety(*s))));
            amps += self.job.safeties[s.index()].supply.map_or(0.0, |own| own.va / own.volts);
        }
        let own_request = asks_with_its_line(self.job, id);
        let coil_a = RELAY_COIL_VA / CONTROL_V;
        if own_request {
            amps += coil_a;
        }
        let branch = self.branch(b.supply, amps, Duty::BoilerLine, &label, subject, true, Fed::Boiler(id))?;
        // By way of the junction box where something hangs on it: a whip to the box and one on to the boiler.
        let whips = if behind.is_empty() && !own_request { 1.0 } else { 2.0 };
        self.loom.legs[branch.leg].length_ft = b.power_run_ft + whips * WHIP_FT;
        let asks = if own_request { Some(self.request_ends(id, b, branch.leg, coil_a)?) } else { None };
        let purpose = format!("line supply of {name}");
        for (n, (hot, phase)) in branch.hots.iter().zip(&branch.phases).enumerate() {
            let [line, load] = main_pole(n as u8 + 1);
            let net = self.net(branch.leg, Carries::Phase(*phase), &purpose);
            let at = self.loom.at(Role::BoilerSwitch(id), &line)?;
            self.loom.straight(&net, *hot, at, Group::Power, b.power_run_ft);
            let mark = b.marks.line.get(n).map_or("", String::as_str);
            self.past_switch(id, b, &net, [&load, mark], &behind, (0, asks))?;
        }
        if let Some(neutral) = branch.neutral {
            let net = self.net(branch.leg, Carries::Neutral, &purpose);
            let through = self.loom.at(Role::BoilerSwitch(id), "N")?;
            self.loom.straight(&net, neutral, through, Group::Power, b.power_run_ft);
            let mark = b.marks.line.last().map_or("", String::as_str);
            self.past_switch(id, b, &net, ["N", mark], &behind, (1, asks))?;
        }
        if let Some(contact) = self.job.points.contact(ContactUse::BoilerSwitch(id)) {
            let ends = self.field_pair(Role::BoilerSwitch(id), disconnect::AUX, Group::Class2, b.control_run_ft)?;
            // NEC 725.136(D): in the switch's box Class 2 stays 1/4 in from the line or behind a barrier.
            let purpose =
                format!("service switch of {name} to the controller; Class 2: 1/4 in from line or a barrier (725.136)");
            self.input(contact, ends, b.control_run_ft, &purpose)?;
        }
        Ok(())
    }

    /// From a terminal of the switch to the boiler; by way of the junction box where safeties hang on it too.
    fn past_switch(
        &mut self,
        id: BoilerId,
        b: &Boiler,
        net: &Net,
        [from, to]: [&str; 2],
        behind: &[SafetyId],
        (side, asks): (usize, Option<[Pt; 2]>),
    ) -> Result<(), Lost> {
        let out = self.loom.at(Role::BoilerSwitch(id), from)?;
        if behind.is_empty() && asks.is_none() {
            let at = self.loom.at(Role::Boiler(id), to)?;
            self.loom.straight(net, out, at, Group::Power, WHIP_FT);
            return Ok(());
        }
        let feed = Pt { at: out, hub: Hub::Box(id), out: Some((Group::Power, WHIP_FT)), inward: true, leg: None };
        let mut node = vec![feed, self.loom.boxed(id, Role::Boiler(id), to, Group::Power, WHIP_FT)?];
        for s in behind {
            let Some(own) = self.job.safeties[s.index()].supply else { continue };
            let ft = b.power_run_ft + WHIP_FT + self.job.safeties[s.index()].run_ft;
            let leg = self.leg_on(net.leg, Class::Power, Duty::BoilerLine, own.volts, own.va / own.volts, ft);
            node.push(self.safety_pts(*s, supply_marks(own.volts), Group::Power)?[side].on(leg));
        }
        node.extend(asks.map(|ends| ends[side]));
        self.loom.join(&Net { one_bar: asks.is_some(), ..net.clone() }, &node)
    }

    /// The boiler's pump contact and its relay, fed by the boiler's line: where its live side and where its return are taken.
    fn request_ends(&mut self, id: BoilerId, b: &Boiler, of: usize, amps: f64) -> Result<[Pt; 2], Lost> {
        let ft = b.power_run_ft + b.control_run_ft + 2.0 * WHIP_FT;
        let leg = self.leg_on(of, Class::Control, Duty::Control, CONTROL_V, amps, ft);
        let [a1, a2] = self.pair(Role::PumpRequestRelay(id), ["A1", "A2"])?;
        let [a, c] = match &b.marks.pump {
            Some(contact) => texts(&contact.marks),
            None => ["", ""],
        };
        let live = self.loom.boxed(id, Role::Boiler(id), a, Group::Control, WHIP_FT)?;
        let out = self.loom.boxed(id, Role::Boiler(id), c, Group::Control, WHIP_FT)?;
        let net = self.net(leg, Carries::Foreign, &request_words(&self.job.names.of(Subject::Boiler(id))));
        self.loom.join(&net, &[out, a1])?;
        Ok([live.on(leg), a2.on(leg)])
    }

    fn pairs(&mut self, id: BoilerId, b: &Boiler) -> Result<(), Lost> {
        let name = self.job.names.of(Subject::Boiler(id));
        let circuit = Circuit {
            name: format!("E{}", id.0 + 1),
            label: format!("control circuit of {name}, fed by the boiler"),
            subject: Some(Subject::Boiler(id)),
            duty: Duty::Control,
            class: Class::Control,
            feed: Feed::Boiler(id),
            volts: b.control_volts,
            volts_to_ground: b.control_volts,
            phases: 1,
            amps: b.pair_va / b.control_volts,
            va: 3.0 * b.pair_va,
            continuous: true,
        };
        let amps = circuit.amps;
        let of = self.circuit_with_leg(circuit, b.control_run_ft + WHIP_FT);
        let limit = self.pair_elements(id, ChainOf::Common, ChainOf::Limit(id))?;
        let proving = self.pair_elements(id, ChainOf::CommonProving, ChainOf::Proving(id))?;
        let mut demand = Vec::new();
        if let Some(relay) = self.job.points.relay(RelayUse::Demand(id)) {
            demand.push(self.pair(Role::Controller, texts(&controller::relay_open(relay)))?);
        }
        let by_call = self.asks_contact(Asks::Demand(id))?;
        let by_call = match (by_call, demand.is_empty()) {
            (Some(contact), true) => {
                demand.push(contact);
                None
            }
            (by_call, _) => by_call,
        };
        let list = [
            ("limit pair", &b.marks.limit, limit, Group::Safety, Duty::SafetyControl, ChainOf::Limit(id)),
            ("proving pair", &b.marks.proving, proving, Group::Safety, Duty::SafetyControl, ChainOf::Proving(id)),
            ("demand pair", &b.marks.demand, demand, Group::Control, Duty::Control, ChainOf::Limit(id)),
        ];
        for (what, marks, elements, group, duty, own) in list {
            let ft = if duty == Duty::Control { b.control_run_ft + WHIP_FT } else { self.pair_ft(id, own) };
            let leg = self.leg_on(of, Class::Control, duty, b.control_volts, amps, ft);
            let start = self.loom.boxed(id, Role::Boiler(id), &marks[0], group, WHIP_FT)?;
            let end = self.loom.boxed(id, Role::Boiler(id), &marks[1], group, WHIP_FT)?;
            if duty == Duty::Control && elements.is_empty() {
                continue;
            }
            let jumper = if elements.is_empty() { ": JUMPER, nothing stands in it" } else { "" };
            let mut nodes = string(vec![start], &elements, vec![end]);
            if let (Duty::Control, Some([a, b]), [first, .., last]) = (duty, by_call, nodes.as_mut_slice())
                && !elements.is_empty()
            {
                // Any call, beside our relay.
                first.push(a);
                last.push(b);
            }
            for node in nodes {
                let net = self.net(leg, Carries::Foreign, &format!("{what} of {name}{jumper}"));
                self.loom.join(&net, &node)?;
            }
        }
        self.pump_request(id, b, of)
    }

    /// The boiler asks for its pump through a relay of ours.
    fn pump_request(&mut self, id: BoilerId, b: &Boiler, own: usize) -> Result<(), Lost> {
        if !matches!(b.pump, BoilerPump::Boiler(_) | BoilerPump::Either(_)) {
            return Ok(());
        }
        let Some(contact) = &b.marks.pump else { return Ok(()) };
        if asks_with_its_line(self.job, id) {
            return Ok(());
        }
        let purpose = request_words(&self.job.names.of(Subject::Boiler(id)));
        let [a, c] = texts(&contact.marks);
        let a = self.loom.boxed(id, Role::Boiler(id), a, Group::Control, WHIP_FT)?;
        let c = self.loom.boxed(id, Role::Boiler(id), c, Group::Control, WHIP_FT)?;
        let coil = self.pair(Role::PumpRequestRelay(id), ["A1", "A2"])?;
        if contact.dry {
            let va = crate::kinds::relay::RELAY_COIL_VA;
            let leg = self.control_leg(Duty::Control, va, b.control_run_ft + WHIP_FT);
            self.control.hot.push(a.on(leg));
            let net = self.net(leg, Carries::Control, &purpose);
            self.loom.join(&net, &[c, coil[0]])?;
            self.control.ret.push(coil[1].on(leg));
        } else {
            self.wet(own, b, coil, [a, c], &purpose)?;
        }
        Ok(())
    }

    /// A relay coil on a contact that brings the boiler's own voltage.
    fn wet(&mut self, own: usize, b: &Boiler, coil: [Pt; 2], ends: [Pt; 2], purpose: &str) -> Result<(), Lost> {
        let amps = crate::kinds::relay::RELAY_COIL_VA / b.control_volts;
        let leg = self.leg_on(own, Class::Control, Duty::Control, b.control_volts, amps, b.control_run_ft + WHIP_FT);
        let grounded = b.control_grounded;
        let common = if grounded { Carries::ForeignNeutral } else { Carries::Foreign };
        for ((coil, end), carries) in coil.into_iter().zip(ends).zip([Carries::Foreign, common]) {
            let net = self.net(leg, carries, purpose);
            self.loom.join(&net, &[coil, end])?;
        }
        Ok(())
    }

    fn signal_of(&mut self, id: BoilerId, b: &Boiler) -> Result<(), Lost> {
        let analog =
            self.job.points.analog(AnalogUse::Target(id)).or_else(|| self.job.points.analog(AnalogUse::Rate(id)));
        let (Some(analog), Some(marks)) = (analog, &b.marks.signal) else { return Ok(()) };
        let purpose = format!("0-10 V of {}", self.job.names.of(Subject::Boiler(id)));
        self.signal(analog, Role::Boiler(id), texts(marks), b.control_run_ft, &purpose)
    }

    /// A shielded pair from a 0-10 V output; the shield is grounded at the panel and taped back at the far end.
    pub(super) fn signal(
        &mut self,
        analog: AnalogId,
        role: Role,
        marks: [&str; 2],
        ft: f64,
        purpose: &str,
    ) -> Result<(), Lost> {
        let leg = self.leg_on(self.board[2], Class::Class2, Duty::Signal, 10.0, 0.002, ft);
        let out = controller::analog(analog);
        for (ours, theirs) in out.iter().zip(marks) {
            let net = self.net(leg, Carries::Class2, purpose);
            let here = self.loom.inside(Role::Controller, ours)?;
            let far = self.loom.field(role, theirs, Group::Signal, ft)?;
            self.loom.join(&net, &[here, far])?;
        }
        let shield = self.loom.at(role, SHIELD)?;
        let lost = |what: &str| Lost { device: what.into(), mark: SHIELD.into() };
        let bar = self.loom.inventory.id(Role::GroundBar).ok_or_else(|| lost("XG"))?;
        let strip = self.loom.inventory.id(Role::Class2Strip).ok_or_else(|| lost("X2"))?;
        let mark = format!("{}.shield", self.loom.device(shield.device).tag);
        let t = crate::kinds::strip::add_ground(&mut self.loom.inventory.devices[usize::from(bar.0)], &mark);
        let key = RunKey { from: strip, to: shield.device, group: Group::Signal };
        let net = self.net(leg, Carries::Shield, &format!("{purpose}: shield, grounded at this end only"));
        self.loom.lay(&net, leg, At { device: bar, t }, shield, Way::Run(key, ft));
        Ok(())
    }

    fn status(&mut self, id: BoilerId, b: &Boiler) -> Result<(), Lost> {
        let list = [
            (ContactUse::Flame(id), &b.marks.flame, Role::FlameRelay(id), "flame"),
            (ContactUse::BoilerFault(id), &b.marks.fault, Role::FaultRelay(id), "fault"),
        ];
        for (what, contact, relay, word) in list {
            let (Some(input), Some(c)) = (self.job.points.contact(what), contact) else { continue };
            let name = self.job.names.of(Subject::Boiler(id));
            let purpose = format!("{word} of {name} to the controller");
            self.status_contact(id, b, c, input, relay, &purpose)?;
        }
        Ok(())
    }

    fn status_contact(
        &mut self,
        id: BoilerId,
        b: &Boiler,
        c: &BoilerContact,
        input: heatwright_core::ContactId,
        relay: Role,
        purpose: &str,
    ) -> Result<(), Lost> {
        let marks = texts(&c.marks);
        if c.dry {
            let ends = self.field_pair(Role::Boiler(id), marks, Group::Class2, b.control_run_ft)?;
            return self.input(input, ends, b.control_run_ft, purpose);
        }
        let name = format!("E{}", id.0 + 1);
        let own = self.loom.legs.iter().position(|l| self.loom.circuits[l.circuit].name == name);
        let own = own.ok_or_else(|| Lost { device: name, mark: marks[0].into() })?;
        let coil = self.pair(relay, ["A1", "A2"])?;
        let ends = [
            self.loom.boxed(id, Role::Boiler(id), marks[0], Group::Control, WHIP_FT)?,
            self.loom.boxed(id, Role::Boiler(id), marks[1], Group::Control, WHIP_FT)?,
        ];
        self.wet(own, b, coil, ends, purpose)?;
        let ends = self.pair(relay, texts(&pole_open(1)))?;
        self.input(input, ends, 0.0, purpose)
    }
}
