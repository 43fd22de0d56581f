//! Fans behind their aquastats, alarm beacon, acknowledge button, condensate pump, receptacles.

use super::{Circuits, WHIP_FT, branch::Side, texts};
use crate::{
    job::Supply,
    kinds::{controller, pump as marks_of, relay::main_pole, thermostat::AQUASTAT},
    pass::{
        devices::{CONTROL_V, Role, to_neutral},
        loom::{At, Carries, Group, Lost, Net},
        protection,
    },
    plan::Duty,
};
use heatwright_core::{ContactUse, RelayUse, Subject, ZoneId};

impl Circuits<'_> {
    pub(super) fn others(&mut self) -> Result<(), Lost> {
        self.beacon()?;
        self.receptacles()?;
        self.condensate()?;
        for i in 0..self.job.zones.len() {
            self.fan(ZoneId(i as u8))?;
        }
        if let Some(contact) = self.job.points.contact(ContactUse::Acknowledge) {
            let ends = self.pair(Role::Acknowledge, ["13", "14"])?;
            self.input(contact, ends, 0.0, "acknowledge button to the controller")?;
        }
        Ok(())
    }

    /// Live through the alarm relay or the health relay, whichever drops.
    fn beacon(&mut self) -> Result<(), Lost> {
        let Some(b) = self.job.beacon else { return Ok(()) };
        let supply = Supply { volts: CONTROL_V, phases: 1 };
        let amps = b.va / CONTROL_V;
        let branch = self.branch(supply, amps, Duty::Alarm, "alarm beacon", None, false, Side::Right)?;
        self.loom.legs[branch.leg].length_ft = self.job.service.to_relay_panel_ft + b.run_ft;
        let feed = self.feed_pts(&branch);
        let mut hot = vec![feed.hots[0]];
        let mut out = vec![self.loom.field(Role::Beacon, "L", Group::Power, b.run_ft)?];
        for what in [RelayUse::Alarm, RelayUse::Health] {
            if let Some(relay) = self.job.points.relay(what) {
                let [common, closed] = self.pair(Role::Controller, texts(&controller::relay_closed(relay)))?;
                hot.push(common);
                out.push(closed);
            }
        }
        let net = self.net(branch.leg, Carries::Phase(branch.phases[0]), "alarm beacon");
        self.loom.join(&net, &hot)?;
        self.loom.join(&net, &out)?;
        if let Some(n) = feed.neutral {
            let net = self.net(branch.leg, Carries::Neutral, "alarm beacon");
            let far = self.loom.field(Role::Beacon, "N", Group::Power, b.run_ft)?;
            self.loom.join(&net, &[n, far])?;
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
        let branch = self.branch(supply, amps, Duty::Receptacle, "service receptacles", None, false, Side::Right)?;
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
        let Some(c) = self.job.condensate_pump else { return Ok(()) };
        let supply = Supply { volts: CONTROL_V, phases: 1 };
        let branch = self.branch(supply, c.amps, Duty::Motor, "condensate pump", None, false, Side::Right)?;
        self.loom.legs[branch.leg].length_ft = c.run_ft + WHIP_FT;
        let net = self.net(branch.leg, Carries::Phase(branch.phases[0]), "condensate pump");
        let [line, load] = main_pole(1);
        let at = self.loom.at(Role::CondensateDisconnect, &line)?;
        self.loom.straight(&net, branch.hots[0], at, Group::Power, c.run_ft);
        let out = self.loom.at(Role::CondensateDisconnect, &load)?;
        let at = self.loom.at(Role::CondensatePump, "L")?;
        self.loom.straight(&net, out, at, Group::Power, WHIP_FT);
        if let Some(n) = branch.neutral {
            let net = self.net(branch.leg, Carries::Neutral, "condensate pump");
            let through = self.loom.at(Role::CondensateDisconnect, "N")?;
            self.loom.straight(&net, n, through, Group::Power, c.run_ft);
            let at = self.loom.at(Role::CondensatePump, "N")?;
            self.loom.straight(&net, through, at, Group::Power, WHIP_FT);
        }
        Ok(())
    }

    /// Breaker, disconnect at the fan, aquastat, fan. It starts by itself when the water is hot.
    fn fan(&mut self, z: ZoneId) -> Result<(), Lost> {
        let Some(f) = self.job.zones[z.index()].fan else { return Ok(()) };
        let name = format!("fan of {}", self.job.names.of(Subject::Zone(z)));
        let amps = protection::fan_amps(&f);
        let subject = Some(Subject::Zone(z));
        let branch = self.branch(f.supply, amps, Duty::Motor, &name, subject, true, Side::Right)?;
        self.loom.legs[branch.leg].length_ft = f.run_ft + 2.0 * WHIP_FT;
        let lines = marks_of::line_marks(f.supply.phases, to_neutral(self.job, f.supply));
        for (n, hot) in branch.hots.iter().enumerate() {
            let net = self.net(branch.leg, Carries::Phase(branch.phases[n]), &name);
            let [line, load] = main_pole(n as u8 + 1);
            let at = self.loom.at(Role::FanDisconnect(z), &line)?;
            self.loom.straight(&net, *hot, at, Group::Power, f.run_ft);
            let out = self.loom.at(Role::FanDisconnect(z), &load)?;
            let ends = if n == 0 { AQUASTAT } else { ["L2", "L2"] };
            self.through_aquastat(&net, z, out, ends, lines[n])?;
        }
        if let Some(neutral) = branch.neutral {
            let net = self.net(branch.leg, Carries::Neutral, &name);
            let through = self.loom.at(Role::FanDisconnect(z), "N")?;
            self.loom.straight(&net, neutral, through, Group::Power, f.run_ft);
            self.through_aquastat(&net, z, through, ["N", "N"], "N")?;
        }
        Ok(())
    }

    fn through_aquastat(&mut self, net: &Net, z: ZoneId, from: At, ends: [&str; 2], mark: &str) -> Result<(), Lost> {
        let at = self.loom.at(Role::FanAquastat(z), ends[0])?;
        self.loom.straight(net, from, at, Group::Power, WHIP_FT);
        let out = self.loom.at(Role::FanAquastat(z), ends[1])?;
        let at = self.loom.at(Role::Fan(z), mark)?;
        self.loom.straight(net, out, at, Group::Power, WHIP_FT);
        Ok(())
    }
}
