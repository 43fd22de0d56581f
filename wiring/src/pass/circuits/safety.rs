//! Safety chains, the relays that end them, the inputs that look at them, the devices' own supplies.

use super::{Circuits, WHIP_FT, string, texts};
use crate::{
    kinds::{
        relay::{RELAY_COIL_VA, pole_open},
        safety::{AUX, MAIN, supply_marks},
    },
    pass::{
        choose::{Chain, ChainOf, Load24, Look, fed_by_boiler},
        devices::{Role, TWINS, Twin},
        loom::{Carries, Group, Lost, Pt},
    },
    plan::Duty,
};
use heatwright_core::{BoilerId, SafetyId, Subject, config::SafetyScope};

impl Circuits<'_> {
    pub(super) fn safeties(&mut self) -> Result<(), Lost> {
        for chain in self.choices.chains.iter().filter(|c| c.relayed) {
            self.chain(chain)?;
        }
        self.looks()?;
        for i in 0..self.job.safeties.len() {
            self.own_supply(SafetyId(i as u8))?;
        }
        Ok(())
    }

    /// 120 V live, every switch in series, both coils, grounded side; a tap relay behind each switch that an input sees.
    fn chain(&mut self, chain: &Chain) -> Result<(), Lost> {
        let taps =
            self.choices.seen.iter().filter(|s| s.look == Look::Node && chain.safeties.contains(&s.safety)).count();
        let length: f64 = chain.safeties.iter().map(|s| self.way_ft(*s)).sum();
        let leg = self.control_leg(Duty::SafetyControl, (2 + taps) as f64 * RELAY_COIL_VA, length);
        let elements =
            chain.safeties.iter().map(|s| self.safety_pts(*s, MAIN, Group::Safety)).collect::<Result<Vec<_>, _>>()?;
        let mut end = Vec::new();
        for twin in TWINS {
            end.push(self.loom.inside(Role::ChainEnd(chain.of, twin), "A1")?);
            self.control.ret.push(self.loom.inside(Role::ChainEnd(chain.of, twin), "A2")?.on(leg));
        }
        let mut nodes = string(Vec::new(), &elements, end);
        for (i, s) in chain.safeties.iter().enumerate() {
            if self.loom.inventory.id(Role::ChainTap(*s)).is_some() {
                nodes[i + 1].push(self.loom.inside(Role::ChainTap(*s), "A1")?);
                self.control.ret.push(self.loom.inside(Role::ChainTap(*s), "A2")?.on(leg));
            }
        }
        let mut nodes = nodes.into_iter();
        self.control.hot.extend(nodes.next().into_iter().flatten().map(|p| p.on(leg)));
        for (node, s) in nodes.zip(&chain.safeties) {
            let name = self.job.names.of(Subject::Safety(*s));
            let net = self.net(leg, Carries::Control, &format!("safety chain behind {name}"));
            self.loom.join(&net, &node)?;
        }
        Ok(())
    }

    /// Contacts on the controller's inputs, by the way each looks.
    fn looks(&mut self) -> Result<(), Lost> {
        let mut node_pole = vec![0u8; self.job.safeties.len()];
        let mut end_pole: Vec<(ChainOf, u8)> = Vec::new();
        for seen in &self.choices.seen {
            let s = seen.safety;
            let name = self.job.names.of(Subject::Safety(s));
            let far = self.far_ft(s);
            match seen.look {
                Look::Aux | Look::Main => {
                    let marks = if seen.look == Look::Aux { AUX } else { MAIN };
                    let ends = self.field_pair(Role::Safety(s), marks, Group::Class2, far)?;
                    self.input(seen.contact, ends, far, &format!("{name} to the controller"))?;
                }
                Look::Node => {
                    node_pole[s.index()] += 1;
                    let ends = self.pair(Role::ChainTap(s), texts(&pole_open(node_pole[s.index()])))?;
                    self.input(seen.contact, ends, 0.0, &format!("chain at {name} to the controller"))?;
                }
                Look::End => {
                    let Some(chain) = self.choices.chain_of(s) else { continue };
                    let first =
                        if matches!(chain.of, ChainOf::CommonProving) { self.job.boilers.len() as u8 } else { 1 };
                    let taken = end_pole.iter().filter(|(of, _)| *of == chain.of).count() as u8;
                    let pole = first + taken + 1;
                    end_pole.push((chain.of, pole));
                    let ends = self.pair(Role::ChainEnd(chain.of, Twin::First), texts(&pole_open(pole)))?;
                    self.input(seen.contact, ends, 0.0, &format!("{name} to the controller"))?;
                }
            }
        }
        Ok(())
    }

    fn own_supply(&mut self, s: SafetyId) -> Result<(), Lost> {
        let Some(own) = self.job.safeties[s.index()].supply else { return Ok(()) };
        let marks = supply_marks(own.volts);
        let far = self.far_ft(s);
        if fed_by_boiler(self.job, s).is_some() {
            return Ok(());
        }
        if own.volts > 60.0 {
            let leg = self.control_leg(Duty::Control, own.va, far);
            let [live, ret] = self.safety_pts(s, marks, Group::Control)?;
            self.control.hot.push(live.on(leg));
            self.control.ret.push(ret.on(leg));
        } else {
            let supply = self.supply_of(Load24::Safety(s));
            let leg = self.low_leg(supply, own.va, far);
            let [live, ret] = self.field_pair(Role::Safety(s), marks, Group::Class2, far)?;
            self.low[supply].hot.push(live.on(leg));
            self.low[supply].ret.push(ret.on(leg));
        }
        Ok(())
    }

    /// The two poles that a chain gives to a boiler's pair or to a circuit: one a relay, in series.
    pub(super) fn chain_poles(&self, of: ChainOf, pole: u8) -> Result<Vec<[Pt; 2]>, Lost> {
        TWINS.iter().map(|t| self.pair(Role::ChainEnd(of, *t), texts(&pole_open(pole)))).collect()
    }

    /// What stands in a boiler's pair: the common chain's poles, then its own chain.
    pub(super) fn pair_elements(&self, b: BoilerId, common: ChainOf, own: ChainOf) -> Result<Vec<[Pt; 2]>, Lost> {
        let mut out = Vec::new();
        if self.choices.chain(common).is_some() {
            out.extend(self.chain_poles(common, b.0 + 1)?);
        }
        match self.choices.chain(own) {
            Some(chain) if chain.relayed => out.extend(self.chain_poles(own, 1)?),
            Some(chain) => {
                for s in &chain.safeties {
                    out.push(self.safety_pts(*s, MAIN, Group::Safety)?);
                }
            }
            None => {}
        }
        Ok(out)
    }

    /// What a zone's or the tank's limit puts into the circuit that it must open.
    pub(super) fn own_limit(&self, s: SafetyId, group: Group) -> Result<Vec<[Pt; 2]>, Lost> {
        match self.choices.chain(ChainOf::Own(s)) {
            Some(chain) if chain.relayed => self.chain_poles(ChainOf::Own(s), 1),
            _ => Ok(vec![self.safety_pts(s, MAIN, group)?]),
        }
    }

    /// Terminals of a safety: from its boiler's box for a boiler's own, else from the relay panel.
    pub(super) fn safety_pts(&self, s: SafetyId, marks: [&str; 2], group: Group) -> Result<[Pt; 2], Lost> {
        let ft = self.job.safeties[s.index()].run_ft;
        match self.box_of(s) {
            Some(b) => Ok([
                self.loom.boxed(b, Role::Safety(s), marks[0], group, ft)?,
                self.loom.boxed(b, Role::Safety(s), marks[1], group, ft)?,
            ]),
            None => self.field_pair(Role::Safety(s), marks, group, ft),
        }
    }

    fn box_of(&self, s: SafetyId) -> Option<BoilerId> {
        match self.job.safeties.get(s.index())?.config.scope {
            SafetyScope::Boiler(b) => Some(b),
            _ => None,
        }
    }

    /// From the relay panel straight to a safety, feet.
    pub(super) fn far_ft(&self, s: SafetyId) -> f64 {
        let own = self.job.safeties.get(s.index()).map_or(0.0, |s| s.run_ft);
        let to_box = self.box_of(s).and_then(|b| self.job.boilers.get(b.index())).map_or(0.0, |b| b.control_run_ft);
        own + to_box
    }

    /// What a safety adds to the way of its chain, one way: its run is walked there and back, so as much as its run.
    fn way_ft(&self, s: SafetyId) -> f64 {
        self.far_ft(s)
    }

    /// One way through a boiler's pair: to the box, on to the boiler, and to each of its own safeties.
    pub(super) fn pair_ft(&self, b: BoilerId, own: ChainOf) -> f64 {
        let to_box = self.job.boilers.get(b.index()).map_or(0.0, |b| b.control_run_ft);
        let safeties: f64 = match self.choices.chain(own) {
            Some(c) if !c.relayed => {
                c.safeties.iter().filter_map(|s| self.job.safeties.get(s.index())).map(|s| s.run_ft).sum()
            }
            _ => 0.0,
        };
        to_box + WHIP_FT + safeties
    }
}
