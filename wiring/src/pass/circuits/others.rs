//! Alarm beacon, contacts for building automation, acknowledge button, condensate
//! pumps, receptacles.

use super::{Circuits, WHIP_FT, texts};
use crate::{
    job::{Fed, Shown, Supply},
    kinds::{
        automation, controller,
        relay::{RELAY_COIL_VA, main_pole, pole_open},
    },
    pass::{
        boards::{self, Enclosure},
        choose::calls::Path,
        devices::{CONTROL_V, Role, condensate_pump_name},
        loom::{Carries, Group, Lost, Pt},
    },
    plan::{Circuit, Duty, Feed},
    row::Class,
};
use heatwright_core::{ContactUse, RelayUse, ZoneId};

impl Circuits<'_> {
    pub(super) fn others(&mut self) -> Result<(), Lost> {
        self.beacon()?;
        self.automation()?;
        self.receptacles()?;
        self.condensate()?;
        for i in 0..self.job.zones.len() {
            self.fans(ZoneId(i as u8))?;
        }
        if let Some(contact) = self.job.points.contact(ContactUse::Acknowledge) {
            let ends = self.pair(Role::Acknowledge, ["13", "14"])?;
            self.input(contact, ends, 0.0, "acknowledge button to the controller")?;
        }
        Ok(())
    }

    /// Live through the alarm relay or the health relay, whichever drops; where that one holds hand-over relays in, through one of
    /// these, since the health relay's common then stands on the control circuit.
    fn beacon(&mut self) -> Result<(), Lost> {
        let Some(b) = self.job.beacon else { return self.status_relays(None) };
        let supply = Supply { volts: CONTROL_V, phases: 1 };
        let amps = b.va / CONTROL_V;
        let branch = self.branch(supply, amps, Duty::Alarm, "alarm beacon", None, false, Fed::Beacon)?;
        self.loom.legs[branch.leg].length_ft = boards::feed_ft(self.job, branch.board, Enclosure::Relay) + b.run_ft;
        let feed = self.feed_pts(&branch, Enclosure::Relay);
        let mut hot = vec![feed.hots[0]];
        let mut out = vec![self.loom.field(Role::Beacon, "L", Group::Power, b.run_ft)?];
        let by_hand_over = self.hand_over(Path::Beacon)?;
        if let Some([common, closed]) = by_hand_over {
            hot.push(common);
            out.push(closed);
        }
        let all = [RelayUse::Alarm, RelayUse::Health];
        for what in all.into_iter().filter(|w| *w == RelayUse::Alarm || by_hand_over.is_none()) {
            if let Some(relay) = self.job.points.relay(what) {
                let [common, closed] = self.pair(Role::Controller, texts(&controller::relay_closed(relay)))?;
                hot.push(common);
                out.push(closed);
            }
        }
        let net = self.net(branch.leg, Carries::Phase(branch.phases[0]), "alarm beacon");
        self.loom.join(&net, &hot)?;
        self.loom.join(&net, &out)?;
        let Some(n) = feed.neutral else { return Ok(()) };
        let net = self.net(branch.leg, Carries::Neutral, "alarm beacon");
        let mut back = vec![n, self.loom.field(Role::Beacon, "N", Group::Power, b.run_ft)?];
        for shows in self.shown().into_iter().filter(|s| *s == Shown::Alarm || by_hand_over.is_none()) {
            back.push(self.pair(Role::StatusRelay(shows), ["A1", "A2"])?[1]);
        }
        self.loom.join(&net, &back)?;
        self.status_relays(Some((branch.leg, branch.phases[0])))
    }

    /// What building automation is shown.
    fn shown(&self) -> Vec<Shown> {
        let all = [Shown::Alarm, Shown::Health];
        all.into_iter().filter(|s| self.job.automation.iter().any(|a| a.shows == *s)).collect()
    }

    /// A relay of ours between the controller's relay and the other system: energised with it, and fed by what stands on its
    /// common already: the beacon's circuit, or else the control circuit. Hand-over relays hang on the control circuit always.
    fn status_relays(&mut self, beacon: Option<(usize, u8)>) -> Result<(), Lost> {
        let hand_over = self.hand_over_coils()?;
        let mut list = self.shown();
        if !hand_over.is_empty() && !list.contains(&Shown::Health) {
            list.push(Shown::Health);
        }
        for shows in list {
            let (what, purpose) = match shows {
                Shown::Alarm => (RelayUse::Alarm, "alarm relay to building automation"),
                Shown::Health if hand_over.is_empty() => (RelayUse::Health, "health relay to building automation"),
                Shown::Health => (RelayUse::Health, "health relay: holds the hand-over relays in"),
            };
            let mut coils = Vec::new();
            if self.loom.inventory.id(Role::StatusRelay(shows)).is_some() {
                coils.push(self.pair(Role::StatusRelay(shows), ["A1", "A2"])?);
            }
            if shows == Shown::Health {
                coils.extend(hand_over.iter().copied());
            }
            let Some(relay) = self.job.points.relay(what) else { continue };
            let [common, open] = self.pair(Role::Controller, texts(&controller::relay_open(relay)))?;
            let net = match beacon.filter(|_| shows == Shown::Alarm || hand_over.is_empty()) {
                Some((leg, phase)) => self.net(leg, Carries::Phase(phase), purpose),
                None => {
                    let leg = self.control_leg(Duty::Control, RELAY_COIL_VA * coils.len() as f64, 0.0);
                    self.control.hot.push(common.on(leg));
                    self.control.ret.extend(coils.iter().map(|[_, a2]| a2.on(leg)));
                    self.net(leg, Carries::Control, purpose)
                }
            };
            let node: Vec<Pt> = std::iter::once(open).chain(coils.iter().map(|[a1, _]| *a1)).collect();
            self.loom.join(&net, &node)?;
        }
        Ok(())
    }

    /// One isolated pole a contact; its two wires are the other system's circuit.
    fn automation(&mut self) -> Result<(), Lost> {
        let mut poles = [0u8; 2];
        for (i, a) in self.job.automation.iter().enumerate() {
            let n = i as u8;
            let low = a.volts < 60.0;
            let class = if low { Class::Class2 } else { Class::Control };
            let amps = automation::INPUT_VA / a.volts;
            let purpose = format!("{}, fed by building automation", a.name);
            let circuit = Circuit {
                name: format!("XA{}", i + 1),
                label: purpose.clone(),
                subject: None,
                duty: Duty::Control,
                class,
                feed: Feed::Automation(n),
                volts: a.volts,
                volts_to_ground: a.volts,
                phases: 1,
                amps,
                va: automation::INPUT_VA,
                continuous: true,
            };
            let leg = self.circuit_with_leg(circuit, a.run_ft);
            let (group, carries) =
                if low { (Group::Class2, Carries::Class2) } else { (Group::Control, Carries::Foreign) };
            let pole = &mut poles[usize::from(a.shows == Shown::Health)];
            *pole = pole.saturating_add(1);
            let marks = pole_open(*pole);
            let ours: [Pt; 2] = self.pair(Role::StatusRelay(a.shows), texts(&marks))?;
            let theirs = self.field_pair(Role::Automation(n), automation::MARKS, group, a.run_ft)?;
            for (here, far) in ours.into_iter().zip(theirs) {
                let net = self.net(leg, carries, &purpose);
                self.loom.join(&net, &[here, far])?;
            }
        }
        Ok(())
    }

    /// All receptacles on one circuit, fed through from one to the next.
    fn receptacles(&mut self) -> Result<(), Lost> {
        if self.job.receptacles.is_empty() {
            return Ok(());
        }
        let supply = Supply { volts: CONTROL_V, phases: 1 };
        let amps = 180.0 / CONTROL_V * self.job.receptacles.len() as f64;
        let branch =
            self.branch(supply, amps, Duty::Receptacle, "service receptacles", None, false, Fed::Receptacles)?;
        self.loom.legs[branch.leg].length_ft = self.job.receptacles.iter().map(|r| r.run_ft).sum();
        let sides = [
            (branch.hots.first().copied(), "L", Carries::Phase(branch.phases[0])),
            (branch.neutral, "N", Carries::Neutral),
        ];
        for (from, mark, carries) in sides {
            let Some(mut from) = from else { continue };
            let net = self.net(branch.leg, carries, "service receptacles");
            for (i, r) in self.job.receptacles.iter().enumerate() {
                let at = self.loom.at(Role::Receptacle(i as u8), mark)?;
                self.loom.straight(&net, from, at, Group::Power, r.run_ft);
                from = at;
            }
        }
        Ok(())
    }

    fn condensate(&mut self) -> Result<(), Lost> {
        for (i, c) in self.job.condensate_pumps.iter().enumerate() {
            self.condensate_pump(i as u8, c)?;
        }
        Ok(())
    }

    fn condensate_pump(&mut self, i: u8, c: &crate::job::CondensatePump) -> Result<(), Lost> {
        let name = condensate_pump_name(self.job, c);
        let supply = Supply { volts: CONTROL_V, phases: 1 };
        let branch = self.branch(supply, c.amps, Duty::Motor, &name, None, false, Fed::CondensatePump(i))?;
        self.loom.legs[branch.leg].length_ft = c.run_ft + WHIP_FT;
        let net = self.net(branch.leg, Carries::Phase(branch.phases[0]), &name);
        let [line, load] = main_pole(1);
        let at = self.loom.at(Role::CondensateDisconnect(i), &line)?;
        self.loom.straight(&net, branch.hots[0], at, Group::Power, c.run_ft);
        let out = self.loom.at(Role::CondensateDisconnect(i), &load)?;
        let at = self.loom.at(Role::CondensatePump(i), "L")?;
        self.loom.straight(&net, out, at, Group::Power, WHIP_FT);
        if let Some(n) = branch.neutral {
            let net = self.net(branch.leg, Carries::Neutral, &name);
            let through = self.loom.at(Role::CondensateDisconnect(i), "N")?;
            self.loom.straight(&net, n, through, Group::Power, c.run_ft);
            let at = self.loom.at(Role::CondensatePump(i), "N")?;
            self.loom.straight(&net, through, at, Group::Power, WHIP_FT);
        }
        Ok(())
    }
}
