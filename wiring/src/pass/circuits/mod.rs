//! Devices to circuits: which terminals must be one potential, and the conductors that make them so.
//!
//! * Where the service has no 120 V: transformer and second panelboard, its main breaker, its grounding.
//! * Our control circuit: one 120 V branch circuit feeds the relay panel through its lockable disconnect; safety chains,
//!   coils and the primaries of the 24 V transformers hang on it. Every contact stands in its ungrounded leg, every coil's
//!   far side on its grounded leg (two-wire, one side grounded, at most 150 V to ground: common boiler rule).
//! * The alarm beacon has a branch circuit of its own, so that it works when the control circuit is dead; two relay contacts
//!   that close at rest light it.
//! * Three-phase fans: each starter's coil circuit hangs on a control transformer of its own behind its own disconnect.
//! * Every boiler, pump, fan, the condensate pump and the receptacles have their own branch circuits and neutrals.
//! * A boiler's control pairs are the boiler's own system and touch ours nowhere.
//!
//! Lengths of the last piece from disconnect or junction box to equipment are [`WHIP_FT`] (our choice).

mod boilers;
pub(crate) mod branch;
mod calls;
mod derived;
mod fans;
mod low_voltage;
mod others;
mod pumps;
mod safety;

use crate::{
    device::Kind,
    job::{Control, Job},
    kinds::{controller, relay},
    part::{LoadUse, Part},
    pass::{
        boards::{self, Board, Enclosure},
        choose::{Choices, Load24, asks_with_its_line, fed_by_boiler},
        devices::{CONTROL_V, Inventory, Role},
        loom::{Carries, Group, Leg, Loom, Lost, Net, Pt},
    },
    plan::{Circuit, Duty, Feed},
    row::Class,
};
use branch::Spaces;
use heatwright_core::ContactId;
use std::collections::BTreeSet;

/// From a disconnect or junction box to the equipment, feet.
pub const WHIP_FT: f64 = 6.0;
/// Current through a contact input, a sensor or a 0-10 V signal, amperes (our controller's).
const SIGNAL_A: f64 = 0.01;

/// Lays every circuit of the job.
pub fn circuits(job: &Job, choices: &Choices, inventory: Inventory) -> Result<Loom, Lost> {
    let box_ft = job.boilers.iter().map(|b| b.control_run_ft).collect();
    let mut c = Circuits {
        job,
        choices,
        loom: Loom::new(
            inventory,
            box_ft,
            job.starter_panel.as_ref().map_or(0.0, |p| p.from_relay_panel_ft),
            job.service.step_down.map_or(0.0, |s| s.electrode_ft),
        ),
        spaces: [Spaces::of(job, Board::Main), Spaces::of(job, Board::Second)],
        control: Shared::default(),
        starters_return: None,
        low: vec![Shared::default(); choices.supplies.len()],
        board: [0; 3],
    };
    c.derived_system()?;
    c.control_circuit()?;
    c.board_circuits();
    c.boilers()?;
    c.pumps()?;
    c.safeties()?;
    c.low_voltage()?;
    c.any_call()?;
    c.others()?;
    c.close_control()?;
    c.close_low_voltage()?;
    Ok(c.loom)
}

/// A supply that many things hang on: its two sides fill up while circuits are laid and are joined at the end.
#[derive(Clone, Debug, Default)]
struct Shared {
    leg: usize,
    hot: Vec<Pt>,
    ret: Vec<Pt>,
}

struct Circuits<'a> {
    job: &'a Job,
    choices: &'a Choices,
    loom: Loom,
    /// By panelboard.
    spaces: [Spaces; 2],
    /// The 120 V control circuit.
    control: Shared,
    /// Leg of the one grounded control conductor back from the starter panel.
    starters_return: Option<usize>,
    /// The 24 V transformers.
    low: Vec<Shared>,
    /// Legs of the controller's own circuits: inputs, sensors, signals.
    board: [usize; 3],
}

impl Circuits<'_> {
    fn control_circuit(&mut self) -> Result<(), Lost> {
        let supply = crate::job::Supply { volts: CONTROL_V, phases: 1 };
        let branch = self.branch(
            supply,
            0.0,
            Duty::PanelSupply,
            "relay panel: safety chain, coils, 24 V transformers",
            None,
            true,
            crate::job::Fed::RelayPanel,
        )?;
        let leg = branch.leg;
        self.loom.legs[leg].length_ft = boards::feed_ft(self.job, branch.board, Enclosure::Relay);
        self.loom.circuits[self.loom.legs[leg].circuit].class = Class::Power;
        let feed = self.feed_pts(&branch, Enclosure::Relay);
        let switch = self.loom.inside(Role::PanelDisconnect, "1/L1")?;
        let net = self.net(leg, Carries::Phase(branch.phases[0]), "control supply to the panel disconnect");
        self.loom.join(&net, &[feed.hots[0], switch])?;
        let control = self.leg_on(leg, Class::Control, Duty::Control, CONTROL_V, 0.0, 0.0);
        let hot = self.loom.inside(Role::PanelDisconnect, "2/T1")?;
        self.control = Shared { leg: control, hot: vec![hot], ret: feed.neutral.into_iter().collect() };
        self.starters_return = self.starter_return_leg();
        for i in 0..self.choices.supplies.len() as u8 {
            let h1 = self.loom.inside(Role::Transformer(i), "H1")?;
            let h2 = self.loom.inside(Role::Transformer(i), "H2")?;
            self.control.hot.push(h1);
            self.control.ret.push(h2);
            let tag = format!("T{}", i + 1);
            let s = &self.choices.supplies[usize::from(i)];
            let controller = s.loads.iter().any(|l| l.0 == Load24::Controller);
            let what = if controller { "24 V of the controller" } else { "24 V of field devices" };
            let va: f64 = s.loads.iter().map(|l| l.1).sum();
            let circuit = Circuit {
                name: tag.clone(),
                label: what.into(),
                subject: None,
                duty: Duty::LowVoltage,
                class: Class::Class2,
                feed: Feed::Transformer(tag),
                volts: 24.0,
                volts_to_ground: 24.0,
                phases: 1,
                amps: va / 24.0,
                va,
                continuous: true,
            };
            let leg = self.circuit_with_leg(circuit, 0.0);
            let r = self.loom.inside(Role::Transformer(i), "X1")?;
            let c = self.loom.inside(Role::Transformer(i), "X2")?;
            self.low[usize::from(i)] = Shared { leg, hot: vec![r], ret: vec![c] };
        }
        if self.job.control == Control::Controller {
            let r = self.loom.inside(Role::Controller, "24V.1")?;
            let c = self.loom.inside(Role::Controller, "24V.2")?;
            self.low[0].hot.push(r);
            self.low[0].ret.push(c);
        }
        Ok(())
    }

    /// The controller's own circuits: inputs, sensors, signals.
    fn board_circuits(&mut self) {
        if self.job.control == Control::ZoneRelays {
            return;
        }
        let list = [
            ("A1-I", "contact inputs of the controller", Duty::Input),
            ("A1-S", "temperature sensors", Duty::Sensor),
            ("A1-O", "0-10 V signals", Duty::Signal),
        ];
        for (i, (name, label, duty)) in list.into_iter().enumerate() {
            let circuit = Circuit {
                name: name.into(),
                label: label.into(),
                subject: None,
                duty,
                class: Class::Class2,
                feed: Feed::Controller,
                volts: if duty == Duty::Signal { 10.0 } else { 24.0 },
                volts_to_ground: 24.0,
                phases: 1,
                amps: SIGNAL_A,
                va: 0.0,
                continuous: true,
            };
            self.board[i] = self.circuit_with_leg(circuit, 0.0);
        }
    }

    /// All coils of pumps in the starter panel come back on one grounded conductor, sized for their sum.
    fn starter_return_leg(&mut self) -> Option<usize> {
        let coils = self.loom.inventory.starters.iter();
        let n = coils.filter(|r| matches!(r, Role::PumpSwitch(_))).count();
        let ft = self.loom.starters_ft;
        (n > 0).then(|| self.control_leg(Duty::Control, n as f64 * relay::CONTACTOR_COIL_VA, ft))
    }

    /// Everything that hangs on the control circuit's two sides.
    fn close_control(&mut self) -> Result<(), Lost> {
        let Shared { leg, hot, ret } = std::mem::take(&mut self.control);
        let va = self.control_va();
        let circuit = self.loom.legs[leg].circuit;
        self.loom.circuits[circuit].va = va;
        self.loom.circuits[circuit].amps = va / CONTROL_V;
        for l in self.loom.legs.iter_mut().filter(|l| l.circuit == circuit) {
            if l.duty == Duty::PanelSupply {
                l.amps = va / CONTROL_V;
            }
        }
        self.loom.legs[leg].amps = va / CONTROL_V;
        let net = self.net(leg, Carries::Control, "120 V control, live");
        self.loom.join(&net, &hot)?;
        let net = self.net(leg, Carries::ControlNeutral, "120 V control, grounded side");
        self.loom.join(&net, &ret)
    }

    /// All coils at 120 V sealed, transformers at their nameplate, supplies of safeties and damper.
    fn control_va(&self) -> f64 {
        // The starter of a fan has a supply of its own.
        let fans = self.loom.inventory.roles.iter().filter(|(r, _)| matches!(r, Role::FanSwitch(..)));
        // So has the relay of a boiler's pump request that hangs on the boiler's line.
        let asks = self
            .loom
            .inventory
            .roles
            .iter()
            .filter(|(r, _)| matches!(r, Role::PumpRequestRelay(b) if asks_with_its_line(self.job, *b)));
        let apart: BTreeSet<usize> = fans.chain(asks).map(|(_, d)| usize::from(d.0)).collect();
        let ours = self.loom.inventory.devices.iter().enumerate().filter(|(i, _)| !apart.contains(i));
        let parts = ours.flat_map(|(_, d)| d.parts.iter().map(move |p| (d.kind, p)));
        parts
            .map(|(kind, p)| match *p {
                Part::Coil { volts, va, .. }
                    if volts > 60.0 && matches!(kind, Kind::Relay | Kind::Contactor | Kind::Starter) =>
                {
                    va
                }
                Part::Transformer { va, .. } if kind == Kind::Transformer => va,
                Part::Load { what: LoadUse::SafetySupply(s), .. } if fed_by_boiler(self.job, s).is_some() => 0.0,
                Part::Load { what: LoadUse::SafetySupply(_) | LoadUse::Damper, volts, va, .. } if volts > 60.0 => va,
                _ => 0.0,
            })
            .sum()
    }

    fn close_low_voltage(&mut self) -> Result<(), Lost> {
        for (i, Shared { leg, hot, ret }) in std::mem::take(&mut self.low).into_iter().enumerate() {
            let net = self.net(leg, Carries::Class2, &format!("24 V of T{}, live side (R)", i + 1));
            self.loom.join(&net, &hot)?;
            let net = self.net(leg, Carries::Class2, &format!("24 V of T{}, common (C)", i + 1));
            self.loom.join(&net, &ret)?;
        }
        Ok(())
    }

    fn net(&self, leg: usize, carries: Carries, purpose: &str) -> Net {
        Net { leg, carries, purpose: purpose.into(), one_bar: false, by_leg: false }
    }

    /// A leg of the same circuit as another.
    fn leg_on(&mut self, of: usize, class: Class, duty: Duty, volts: f64, amps: f64, length_ft: f64) -> usize {
        let circuit = self.loom.legs[of].circuit;
        self.loom.leg(Leg { circuit, class, duty, volts, phases: 1, amps, length_ft })
    }

    fn circuit_with_leg(&mut self, circuit: Circuit, length_ft: f64) -> usize {
        let leg = Leg {
            circuit: self.loom.circuits.len(),
            class: circuit.class,
            duty: circuit.duty,
            volts: circuit.volts,
            phases: circuit.phases,
            amps: circuit.amps,
            length_ft,
        };
        self.loom.circuits.push(circuit);
        self.loom.leg(leg)
    }

    /// A leg on our control circuit.
    fn control_leg(&mut self, duty: Duty, va: f64, length_ft: f64) -> usize {
        self.leg_on(self.control.leg, Class::Control, duty, CONTROL_V, va / CONTROL_V, length_ft)
    }

    /// A leg on a 24 V transformer.
    fn low_leg(&mut self, supply: usize, va: f64, length_ft: f64) -> usize {
        self.leg_on(self.low[supply].leg, Class::Class2, Duty::LowVoltage, 24.0, va / 24.0, length_ft)
    }

    /// The transformer of a 24 V load; the last one where the load is unknown, which cannot be.
    fn supply_of(&self, load: Load24) -> usize {
        self.choices.supply_of(load).unwrap_or(self.low.len().saturating_sub(1))
    }

    /// A contact in the field, or in the panel, on a contact input.
    fn input(&mut self, contact: ContactId, ends: [Pt; 2], length_ft: f64, purpose: &str) -> Result<(), Lost> {
        let leg = self.leg_on(self.board[0], Class::Class2, Duty::Input, 24.0, SIGNAL_A, length_ft);
        let marks = controller::input(contact);
        for (mark, end) in marks.iter().zip(ends) {
            let net = self.net(leg, Carries::Class2, purpose);
            let here = self.loom.inside(Role::Controller, mark)?;
            self.loom.join(&net, &[here, end])?;
        }
        Ok(())
    }

    /// Two terminals of a device inside the relay panel.
    fn pair(&self, role: Role, marks: [&str; 2]) -> Result<[Pt; 2], Lost> {
        Ok([self.loom.inside(role, marks[0])?, self.loom.inside(role, marks[1])?])
    }

    /// Two terminals of a device in the field.
    fn field_pair(&self, role: Role, marks: [&str; 2], group: Group, ft: f64) -> Result<[Pt; 2], Lost> {
        Ok([self.loom.field(role, marks[0], group, ft)?, self.loom.field(role, marks[1], group, ft)?])
    }
}

/// The nodes of contacts in series: what meets before the first, between two, after the last.
fn string(start: Vec<Pt>, elements: &[[Pt; 2]], end: Vec<Pt>) -> Vec<Vec<Pt>> {
    let mut nodes = vec![start];
    for [a, b] in elements {
        if let Some(last) = nodes.last_mut() {
            last.push(*a);
        }
        nodes.push(vec![*b]);
    }
    if let Some(last) = nodes.last_mut() {
        last.extend(end);
    }
    nodes
}

/// Both marks as texts.
fn texts(marks: &[String; 2]) -> [&str; 2] {
    [marks[0].as_str(), marks[1].as_str()]
}
