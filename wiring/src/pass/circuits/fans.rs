//! Fans behind their aquastats, and three-phase fans behind a starter that their aquastat holds in.
//!
//! A single-phase fan is carried by its aquastat, of two poles between two ungrounded conductors: breaker, disconnect at the fan, aquastat, fan; several on one circuit are fed from
//! a junction box at the first. Three-phase fans share branch circuits likewise; each has in the relay or starter
//! panel a disconnect and a contactor or starter, then its disconnect and the motor; the aquastat at the fan stands in the coil circuit, with the
//! overload behind it. That circuit is the fan's alone: a control transformer behind the fan's disconnect in the panel feeds it, so
//! that this one disconnect makes motor and coil circuit dead (NEC 430.75(B), from memory) and no other machine stops with it. The two
//! conductors to the aquastat run in the raceway of the fan's power: power and control of one machine are functionally associated (NEC
//! 300.3(C)(1); 725.48(B)(1) of 2020, from memory), and all of it is insulated for 600 V. They are spliced on in the box of the disconnect.
//! Fans start by themselves when the water is hot.
//!
//! Where the job puts contactor and starter at the fans (`switch_at_fan`), the branch circuit runs straight to them, by way of a junction box where they share
//! it: disconnect, then a box with starter and control transformer, then the motor; the aquastat beside it has a short raceway of its own. The
//! coil circuit comes from behind the same disconnect, so that no conductor of the fan goes to a panel and none stays live.

use super::{Circuits, WHIP_FT, branch::Branch, string, texts};
use crate::{
    job::{Fan, Fed},
    kinds::{
        control_transformer, disconnect, primary_marks, pump as marks_of,
        relay::{CONTACTOR_COIL_VA, main_pole},
        strip,
        thermostat::{AQUASTAT, AQUASTAT_SECOND},
    },
    pass::{
        boards::{self, Enclosure, enclosure_of, to_neutral},
        choose::{fan_groups, fan_switch, switched_at_fan},
        devices::{Role, fan_name},
        loom::{At, Carries, Group, Hub, Lost, Pt, RunKey, Way},
        protection,
    },
    plan::{Circuit, Duty, Feed, MotorSwitch},
    row::Class,
};
use heatwright_core::{Subject, ZoneId};

impl Circuits<'_> {
    pub(super) fn fans(&mut self, z: ZoneId) -> Result<(), Lost> {
        let Some(f) = self.job.zones[z.index()].fan else { return Ok(()) };
        let amps = protection::fan_amps(&f);
        let subject = Some(Subject::Zone(z));
        let mut first = 0u8;
        for (g, size) in fan_groups(&f).into_iter().enumerate() {
            let last = first + size.saturating_sub(1);
            let name = if size > 1 {
                format!("fans {} to {} of {}", first + 1, last + 1, self.job.names.of(Subject::Zone(z)))
            } else {
                fan_name(self.job, z, first).1
            };
            let all = amps * f64::from(size);
            let branch = self.branch(f.supply, all, Duty::Motor, &name, subject, true, Fed::Fans(z, g as u8))?;
            let to_group_ft = f.run_ft + f64::from(first) * f.spacing_ft;
            if size > 1 {
                self.loom.groups.insert(self.loom.legs[branch.leg].circuit, vec![amps; usize::from(size)]);
            }
            if fan_switch(&f) != MotorSwitch::Aquastat && !switched_at_fan(&f) {
                self.started_fans(z, first..=last, &f, &branch)?;
            } else if size > 1 {
                self.fan_group(z, &f, &branch, g as u8, first..=last, to_group_ft)?;
            } else {
                self.loom.legs[branch.leg].length_ft = to_group_ft + 2.0 * WHIP_FT;
                let from: Vec<At> = branch.hots.iter().copied().chain(branch.neutral).collect();
                self.one_fan(z, first, &f, &branch, branch.leg, &from, to_group_ft)?;
            }
            first = last.saturating_add(1);
        }
        Ok(())
    }

    /// The box, and each fan from it.
    fn fan_group(
        &mut self,
        z: ZoneId,
        f: &Fan,
        branch: &Branch,
        group: u8,
        fans: std::ops::RangeInclusive<u8>,
        ft: f64,
    ) -> Result<(), Lost> {
        let lost = |mark: &str| Lost { device: "XF".into(), mark: mark.to_owned() };
        let device = self.loom.inventory.id(Role::FanBox(z, group)).ok_or_else(|| lost("box"))?;
        let n = fans.clone().count();
        let own = protection::fan_amps(f);
        let all = own * n as f64;
        // The trunk carries all, a tap its own fan: as ways of equal drop, so that both are sized for the farthest fan.
        let far_ft = f.spacing_ft * n.saturating_sub(1) as f64 + 3.0 * WHIP_FT;
        self.loom.legs[branch.leg].length_ft = ft + far_ft / n as f64;
        let (volts, phases) = (self.loom.legs[branch.leg].volts, branch.phases.clone());
        let tap = self.leg_on(branch.leg, Class::Power, Duty::Motor, volts, own, ft * all / own + far_ft);
        let name = self.loom.circuits[self.loom.legs[branch.leg].circuit].label.clone();
        let hots = branch.hots.iter().zip(&phases).map(|(hot, phase)| (*hot, Carries::Phase(*phase)));
        let sides = hots.chain(branch.neutral.map(|n| (n, Carries::Neutral)));
        let mut taps: Vec<Vec<At>> = vec![Vec::new(); n];
        for (from, carries) in sides {
            // One splice: the feed and every fan.
            let splice = strip::add_splice(&mut self.loom.inventory.devices[usize::from(device.0)], n + 1);
            let here = At { device, t: splice };
            let net = self.net(branch.leg, carries, &name);
            self.loom.straight(&net, from, here, Group::Power, ft);
            for tap in &mut taps {
                tap.push(here);
            }
        }
        for (i, (fan, from)) in fans.zip(taps).enumerate() {
            self.one_fan(z, fan, f, branch, tap, &from, WHIP_FT + f.spacing_ft * i as f64)?;
        }
        Ok(())
    }

    /// Disconnect, then aquastat or the starter in its box, and fan, from the terminals of its lines and of its neutral.
    #[allow(clippy::too_many_arguments, reason = "a fan, where it is fed from, and how far")]
    fn one_fan(
        &mut self,
        z: ZoneId,
        fan: u8,
        f: &Fan,
        branch: &Branch,
        leg: usize,
        from: &[At],
        ft: f64,
    ) -> Result<(), Lost> {
        let (_, name) = fan_name(self.job, z, fan);
        let lines = marks_of::line_marks(f.supply.phases, to_neutral(self.job, f.supply));
        for (n, from) in from.iter().copied().enumerate() {
            let neutral = n >= branch.hots.len();
            let carries = if neutral { Carries::Neutral } else { Carries::Phase(branch.phases[n]) };
            let net = self.net(leg, carries, &name);
            let [line, load] = if neutral { ["N".to_owned(), "N".to_owned()] } else { main_pole(n as u8 + 1) };
            let at = self.loom.at(Role::FanDisconnect(z, fan), &line)?;
            self.loom.straight(&net, from, at, Group::Power, ft);
            let out = self.loom.at(Role::FanDisconnect(z, fan), &load)?;
            if switched_at_fan(f) {
                let at = self.loom.at(Role::FanSwitch(z, fan), &line)?;
                self.loom.straight(&net, out, at, Group::Power, WHIP_FT);
                let out = self.loom.at(Role::FanSwitch(z, fan), &load)?;
                let at = self.loom.at(Role::Fan(z, fan), lines[n])?;
                self.loom.straight(&net, out, at, Group::Power, WHIP_FT);
                continue;
            }
            let ends = match (n, neutral) {
                (0, _) => AQUASTAT,
                (_, true) => ["N", "N"],
                (_, false) => AQUASTAT_SECOND,
            };
            let at = self.loom.at(Role::FanAquastat(z, fan), ends[0])?;
            self.loom.straight(&net, out, at, Group::Power, WHIP_FT);
            let out = self.loom.at(Role::FanAquastat(z, fan), ends[1])?;
            let at = self.loom.at(Role::Fan(z, fan), lines[n])?;
            self.loom.straight(&net, out, at, Group::Power, WHIP_FT);
        }
        if switched_at_fan(f) { self.fan_coil(z, fan, f, branch, leg) } else { Ok(()) }
    }

    /// Fans with contactors or starters in a panel, on one branch circuit: it parts on the strip ahead of their disconnects.
    fn started_fans(
        &mut self,
        z: ZoneId,
        fans: std::ops::RangeInclusive<u8>,
        f: &Fan,
        branch: &Branch,
    ) -> Result<(), Lost> {
        let e = enclosure_of(self.job, fan_switch(f), f.supply);
        let feed_ft = boards::feed_ft(self.job, branch.board, e);
        let far_ft = f.run_ft + f64::from(*fans.end()) * f.spacing_ft + WHIP_FT;
        let (own, all) = (protection::fan_amps(f), self.loom.legs[branch.leg].amps);
        // The trunk carries all, each way to a fan its own: as ways of equal drop, so that both are sized for the farthest fan.
        self.loom.legs[branch.leg].length_ft = feed_ft + far_ft * own / all;
        let (volts, phases) = (self.loom.legs[branch.leg].volts, self.loom.legs[branch.leg].phases);
        let feed = self.feed_pts(branch, e);
        let (_, name) = fan_name(self.job, z, *fans.start());
        let circuit = self.loom.legs[branch.leg].circuit;
        let label = if fans.len() > 1 { self.loom.circuits[circuit].label.clone() } else { name };
        let mut ahead: Vec<Vec<Pt>> = feed.hots.iter().map(|h| vec![*h]).collect();
        for fan in fans {
            let tap = self.leg_on(branch.leg, Class::Power, Duty::Motor, volts, own, feed_ft * all / own + far_ft);
            self.loom.legs[tap].phases = phases;
            self.started_fan(z, fan, f, branch, tap, &mut ahead)?;
        }
        for (n, node) in ahead.iter().enumerate() {
            let net = self.net(branch.leg, Carries::Phase(branch.phases[n]), &label);
            self.loom.join(&net, node)?;
        }
        Ok(())
    }

    /// One of them, from its disconnect on; the points ahead of that are added to `ahead`, pole by pole.
    fn started_fan(
        &mut self,
        z: ZoneId,
        fan: u8,
        f: &Fan,
        branch: &Branch,
        tap: usize,
        ahead: &mut [Vec<Pt>],
    ) -> Result<(), Lost> {
        let (_, name) = fan_name(self.job, z, fan);
        let switch = fan_switch(f);
        let e = enclosure_of(self.job, switch, f.supply);
        let ft = f.run_ft + f64::from(fan) * f.spacing_ft;
        let hub = if e == Enclosure::Starter { Hub::Starters } else { Hub::Panel };
        let lines = marks_of::line_marks(f.supply.phases, false);
        for (n, ahead) in ahead.iter_mut().enumerate() {
            let pole = main_pole(n as u8 + 1);
            let elements = [
                self.pair(Role::FanLineDisconnect(z, fan), texts(&pole))?,
                self.pair(Role::FanSwitch(z, fan), texts(&pole))?,
            ];
            let net = self.net(tap, Carries::Phase(branch.phases[n]), &name);
            let far = self.loom.field_from(hub, Role::FanDisconnect(z, fan), &pole[0], Group::Power, ft)?;
            let mut nodes = string(Vec::new(), &elements, vec![far]).into_iter();
            ahead.extend(nodes.next().into_iter().flatten().map(|p| p.on(tap)));
            for node in nodes {
                self.loom.join(&net, &node)?;
            }
            let out = self.loom.at(Role::FanDisconnect(z, fan), &pole[1])?;
            let motor = self.loom.at(Role::Fan(z, fan), lines[n])?;
            self.loom.straight(&net, out, motor, Group::Power, WHIP_FT);
        }
        self.fan_coil(z, fan, f, branch, tap)
    }

    /// The coil circuit: its transformer on the line side of the starter, the aquastat at the fan, then the overload.
    fn fan_coil(&mut self, z: ZoneId, fan: u8, f: &Fan, branch: &Branch, tap: usize) -> Result<(), Lost> {
        let (ending, name) = fan_name(self.job, z, fan);
        let switch = fan_switch(f);
        let e = enclosure_of(self.job, switch, f.supply);
        let hub = if e == Enclosure::Starter { Hub::Starters } else { Hub::Panel };
        let ft = f.run_ft + f64::from(fan) * f.spacing_ft;
        let primary = primary_marks(boards::line_volts(self.job, f.supply));
        for (n, mark) in primary.into_iter().enumerate() {
            let line = self.loom.inside(Role::FanSwitch(z, fan), &main_pole(n as u8 + 1)[0])?;
            let at = self.loom.inside(Role::FanTransformer(z, fan), mark)?;
            let net = self.net(tap, Carries::Phase(branch.phases[n]), &format!("primary of TF{ending}"));
            self.loom.join(&net, &[line, at])?;
        }
        let circuit = Circuit {
            name: format!("TF{ending}"),
            label: format!("coil circuit of {name}"),
            subject: Some(Subject::Zone(z)),
            duty: Duty::Control,
            class: Class::Control,
            feed: Feed::Transformer(format!("TF{ending}")),
            volts: control_transformer::SECONDARY_V,
            volts_to_ground: control_transformer::SECONDARY_V,
            phases: 1,
            amps: CONTACTOR_COIL_VA / control_transformer::SECONDARY_V,
            va: CONTACTOR_COIL_VA,
            continuous: true,
        };
        let beside = switched_at_fan(f);
        let leg = self.circuit_with_leg(circuit, if beside { WHIP_FT } else { ft + WHIP_FT });
        let of_branch = self.loom.legs[branch.leg].circuit;
        self.loom.circuits[of_branch].va += CONTACTOR_COIL_VA;
        let [x1, x2] = self.pair(Role::FanTransformer(z, fan), ["X1", "X2"])?;
        let [warm_in, warm_out] = AQUASTAT;
        let (warm_in, warm_out) =
            (self.loom.at(Role::FanAquastat(z, fan), warm_in)?, self.loom.at(Role::FanAquastat(z, fan), warm_out)?);
        let [a1, a2] = self.pair(Role::FanSwitch(z, fan), ["A1", "A2"])?;
        let tail = match switch {
            MotorSwitch::Starter => vec![self.pair(Role::FanSwitch(z, fan), ["95", "96"])?],
            _ => Vec::new(),
        };
        let words = format!("coil circuit of {name}");
        if beside {
            // All of it behind the fan's own disconnect: nothing of it stays live, nothing of it comes from a panel.
            let net = self.net(leg, Carries::Control, &words);
            let key = RunKey { from: a1.at.device, to: warm_in.device, group: Group::Control };
            self.loom.lay(&net, leg, x1.at, warm_in, Way::Run(key, WHIP_FT));
            let first = tail.first().map_or(a1, |[first, _]| *first);
            self.loom.lay(&net, leg, first.at, warm_out, Way::Run(key, WHIP_FT));
            if let Some([_, last]) = tail.first() {
                self.loom.join(&net, &[*last, a1])?;
            }
            let net = self.net(leg, Carries::ControlNeutral, &format!("{words}, grounded side"));
            return self.loom.join(&net, &[x2, a2]);
        }
        let [there, back] = disconnect::THROUGH;
        let box_of = Role::FanDisconnect(z, fan);
        let live = self.loom.field_from(hub, box_of, there, Group::Power, ft)?;
        let out = self.loom.field_from(hub, box_of, back, Group::Power, ft)?;
        // It stays live with the relay panel's control disconnect open, as a boiler's own circuit does.
        let (hot, grounded) = (Carries::Foreign, Carries::ForeignNeutral);
        let net = self.net(leg, hot, &words);
        self.loom.join(&net, &[x1, live])?;
        self.loom.straight(&net, live.at, warm_in, Group::Control, WHIP_FT);
        self.loom.straight(&net, out.at, warm_out, Group::Control, WHIP_FT);
        for node in string(vec![out], &tail, vec![a1]) {
            self.loom.join(&net, &node)?;
        }
        let net = self.net(leg, grounded, &format!("{words}, grounded side"));
        self.loom.join(&net, &[x2, a2])
    }
}
