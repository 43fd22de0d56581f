//! How conductors are laid between terminals: one conductor a terminal, strips and jumper bars where more meet.
//!
//! A net is a set of terminals that shall be one potential. Each terminal is wired from a *hub*: the relay panel with its
//! strips, the starter panel, or the junction box at a boiler. Inside the relay panel two terminals are joined by one wire. All else lands on
//! strip terminals: each takes one conductor from inside and one from the field; where several of a kind meet, their strip
//! terminals stand under one jumper bar. Hubs are joined by one conductor a group in the run between them.
//!
//! Strip terminals get their marks once the wire numbers are known (see [`super::strips`]). Along a bar stand first the
//! conductors to other hubs, then what a plant rarely gains (supplies, boilers, safeties), last what it often gains (pumps,
//! zones), each by number: so a new zone goes to the end of the bar and renumbers nothing.

use crate::{
    device::{Device, DeviceId, Kind},
    kinds::strip,
    natural,
    part::T,
    pass::devices::{Inventory, Role},
    plan::{Circuit, Duty},
    row::Class,
};
use heatwright_core::BoilerId;
use std::collections::BTreeMap;

/// A terminal of a device.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct At {
    /// The device.
    pub device: DeviceId,
    /// The terminal.
    pub t: T,
}

/// From where a terminal is wired.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hub {
    /// The relay panel.
    Panel,
    /// The starter panel.
    Starters,
    /// The junction box at a boiler.
    Box(BoilerId),
}

/// What shares a run: circuits of one kind between the same two devices.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Branch circuits from the panelboard to the relay panel, so many a raceway.
    Feed(u8),
    /// Branch-circuit conductors.
    Power,
    /// Safety-control conductors, alone in their raceway.
    Safety,
    /// Other control conductors at power level.
    Control,
    /// Class 2 cable.
    Class2,
    /// Shielded Class 2 cable for 0-10 V.
    Signal,
    /// A single bare conductor, fastened to the building.
    Bare,
}

/// A run: everything of one group between two devices.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct RunKey {
    /// From this device (a strip stands for its enclosure).
    pub from: DeviceId,
    /// To this device.
    pub to: DeviceId,
    /// What shares it.
    pub group: Group,
}

/// How a conductor gets to a terminal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Way {
    /// Inside one enclosure.
    Inside,
    /// In a run of so many feet.
    Run(RunKey, f64),
}

/// What a conductor carries; decides its colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Carries {
    /// A phase of the service, 1 to 3, switched or not.
    Phase(u8),
    /// The grounded conductor of a branch circuit.
    Neutral,
    /// Ungrounded control conductor at 120 V.
    Control,
    /// Grounded control conductor at 120 V.
    ControlNeutral,
    /// A boiler's or pump's own control circuit: stays live with our control circuit off.
    Foreign,
    /// The grounded side of such a circuit.
    ForeignNeutral,
    /// Class 2.
    Class2,
    /// Equipment ground.
    Ground,
    /// System bonding jumper or grounding electrode conductor.
    Bond,
    /// Shield of a cable.
    Shield,
}

/// One conductor, not sized yet.
#[derive(Clone, Debug, PartialEq)]
pub struct Wire {
    /// One end.
    pub from: At,
    /// The other.
    pub to: At,
    /// The leg it belongs to.
    pub leg: usize,
    /// What it carries.
    pub carries: Carries,
    /// How it gets there.
    pub way: Way,
    /// What it does, in words.
    pub purpose: String,
}

/// Conductors that are sized as one: same current, same way.
#[derive(Clone, Debug, PartialEq)]
pub struct Leg {
    /// The circuit, by its place in the list.
    pub circuit: usize,
    /// Its class.
    pub class: Class,
    /// What it does.
    pub duty: Duty,
    /// Volts between its conductors.
    pub volts: f64,
    /// 1 or 3.
    pub phases: u8,
    /// Design current.
    pub amps: f64,
    /// One way from its supply to its far end, feet.
    pub length_ft: f64,
}

/// A terminal of a net, with the hub it is wired from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pt {
    /// The terminal.
    pub at: At,
    /// Its hub.
    pub hub: Hub,
    /// `None` inside the hub's enclosure; else group and feet of its run from the hub.
    pub out: Option<(Group, f64)>,
    /// True when the run comes to the hub (feeds), false when it leaves it.
    pub inward: bool,
    /// Its own leg, where it is not the net's.
    pub leg: Option<usize>,
}

impl Pt {
    /// The same, sized with this leg.
    pub fn on(self, leg: usize) -> Self {
        Self { leg: Some(leg), ..self }
    }
}

/// A net to be laid.
#[derive(Clone, Debug)]
pub struct Net {
    /// The leg it belongs to.
    pub leg: usize,
    /// What it carries.
    pub carries: Carries,
    /// What it does, in words.
    pub purpose: String,
    /// True when one bar of a box takes all of it, and what comes from the relay panel comes with the control conductors.
    pub one_bar: bool,
    /// True when its terminals stand in the order of their legs, so that what is added last goes to the end of the bar.
    pub by_leg: bool,
}

/// A terminal that the planner expected and the device does not have: a fault of the planner or of the typed marks.
#[derive(Clone, Debug, PartialEq)]
pub struct Lost {
    /// The device's tag, or the role that no device plays.
    pub device: String,
    /// The mark.
    pub mark: String,
}

/// Devices with their strips filled, circuits, legs and conductors.
#[derive(Clone, Debug)]
pub struct Loom {
    /// Devices and roles.
    pub inventory: Inventory,
    /// Circuits.
    pub circuits: Vec<Circuit>,
    /// Legs.
    pub legs: Vec<Leg>,
    /// Conductors.
    pub wires: Vec<Wire>,
    /// Feet from the relay panel to the box at each boiler.
    pub box_ft: Vec<f64>,
    /// Feet from the relay panel to the starter panel.
    pub starters_ft: f64,
    /// Feet from the transformer between the panelboards to the grounding electrode.
    pub electrode_ft: f64,
    /// Full-load currents of the motors that share a circuit, by the circuit's place in the list, amperes.
    pub groups: BTreeMap<usize, Vec<f64>>,
}

impl Loom {
    /// An empty loom over these devices.
    pub fn new(inventory: Inventory, box_ft: Vec<f64>, starters_ft: f64, electrode_ft: f64) -> Self {
        let (circuits, legs, wires) = (Vec::new(), Vec::new(), Vec::new());
        Self { inventory, circuits, legs, wires, box_ft, starters_ft, electrode_ft, groups: BTreeMap::new() }
    }

    /// The terminal of a role's device.
    pub fn at(&self, role: Role, mark: &str) -> Result<At, Lost> {
        let lost = |device: String| Lost { device, mark: mark.to_owned() };
        let device = self.inventory.id(role).ok_or_else(|| lost(format!("{role:?}")))?;
        let d = self.device(device);
        match d.find(mark) {
            Some(t) => Ok(At { device, t }),
            None => Err(lost(d.tag.clone())),
        }
    }

    /// A device.
    pub fn device(&self, id: DeviceId) -> &Device {
        &self.inventory.devices[usize::from(id.0)]
    }

    /// A terminal inside the relay panel, or inside the starter panel where the device stands there.
    pub fn inside(&self, role: Role, mark: &str) -> Result<Pt, Lost> {
        let hub = if self.inventory.starters.contains(&role) { Hub::Starters } else { Hub::Panel };
        Ok(Pt { at: self.at(role, mark)?, hub, out: None, inward: false, leg: None })
    }

    /// A terminal in the field, wired from the relay panel.
    pub fn field(&self, role: Role, mark: &str, group: Group, ft: f64) -> Result<Pt, Lost> {
        Ok(Pt { at: self.at(role, mark)?, hub: Hub::Panel, out: Some((group, ft)), inward: false, leg: None })
    }

    /// A terminal in the field, wired from this hub.
    pub fn field_from(&self, hub: Hub, role: Role, mark: &str, group: Group, ft: f64) -> Result<Pt, Lost> {
        Ok(Pt { hub, ..self.field(role, mark, group, ft)? })
    }

    /// A terminal at a boiler, wired from its junction box.
    pub fn boxed(&self, b: BoilerId, role: Role, mark: &str, group: Group, ft: f64) -> Result<Pt, Lost> {
        Ok(Pt { at: self.at(role, mark)?, hub: Hub::Box(b), out: Some((group, ft)), inward: false, leg: None })
    }

    /// Lays one conductor straight from one device to another, in a run of its own key.
    pub fn straight(&mut self, net: &Net, from: At, to: At, group: Group, ft: f64) {
        let key = RunKey { from: from.device, to: to.device, group };
        self.lay(net, net.leg, from, to, Way::Run(key, ft));
    }

    /// Makes all these terminals one potential. One terminal alone needs no conductor.
    pub fn join(&mut self, net: &Net, pts: &[Pt]) -> Result<(), Lost> {
        if let [a, b] = pts
            && a.hub == b.hub
            && a.out.is_none()
            && b.out.is_none()
        {
            let leg = b.leg.or(a.leg).unwrap_or(net.leg);
            self.lay(net, leg, a.at, b.at, Way::Inside);
            return Ok(());
        }
        if pts.len() < 2 {
            return Ok(());
        }
        let over_panel = pts.iter().any(|p| p.hub == Hub::Panel);
        // In a box, what comes from the panel comes by group: safety conductors share no raceway with others.
        let heap = |p: &Pt| match (p.hub, over_panel) {
            (Hub::Panel, _) => (Hub::Panel, None),
            (hub, true) if !net.one_bar => (hub, p.out.map(|o| o.0)),
            (hub, _) => (hub, None),
        };
        let mut heaps: Vec<(Hub, Option<Group>)> = pts.iter().map(heap).collect();
        heaps.sort_unstable();
        heaps.dedup();
        let boxes = heaps.iter().filter(|h| h.0 != Hub::Panel).count();
        let field = if over_panel { boxes } else { 0 };
        let mut trunks = Vec::new().into_iter();
        for (hub, group) in heaps {
            let mine: Vec<Pt> = pts.iter().filter(|p| heap(p) == (hub, group)).copied().collect();
            let strip = self.strip_of(hub, net)?;
            let ft = match hub {
                Hub::Panel => None,
                Hub::Starters => Some(self.starters_ft),
                Hub::Box(b) => Some(self.box_ft.get(b.index()).copied().unwrap_or(0.0)),
            };
            let Some(ft) = ft else {
                trunks = self.land(net, strip, &mine, Trunks { field, inside: false }).into_iter();
                continue;
            };
            let here = self.land(net, strip, &mine, Trunks { field: 0, inside: over_panel });
            if let (true, Some(here), Some(panel)) = (over_panel, here.first(), trunks.next()) {
                let there = |p: &&Pt| !net.one_bar || p.hub == Hub::Panel;
                let list = if net.one_bar { pts } else { mine.as_slice() };
                let leg = list.iter().filter(there).find_map(|p| p.leg).unwrap_or(net.leg);
                let key = RunKey { from: panel.device, to: here.device, group: group.unwrap_or(Group::Control) };
                self.lay(net, leg, panel, *here, Way::Run(key, ft));
            }
        }
        Ok(())
    }

    fn strip_of(&self, hub: Hub, net: &Net) -> Result<DeviceId, Lost> {
        let class2 = self.legs.get(net.leg).is_some_and(|l| l.class == Class::Class2);
        let role = match (hub, class2) {
            (Hub::Panel, false) => Role::PowerStrip,
            (Hub::Panel, true) => Role::Class2Strip,
            (Hub::Starters, _) => Role::StarterStrip,
            (Hub::Box(b), _) => Role::BoilerBox(b),
        };
        self.inventory.id(role).ok_or_else(|| Lost { device: format!("{role:?}"), mark: String::new() })
    }

    /// Lands the points of one hub on strip terminals under one jumper bar; gives the terminals of the trunks.
    fn land(&mut self, net: &Net, strip: DeviceId, pts: &[Pt], trunks: Trunks) -> Vec<At> {
        let mut inner: Vec<Pt> = pts.iter().filter(|p| p.out.is_none()).copied().collect();
        let mut outer: Vec<Pt> = pts.iter().filter(|p| p.out.is_some()).copied().collect();
        let leg = |p: &Pt| if net.by_leg { p.leg } else { None };
        inner.sort_by_cached_key(|p| (leg(p), self.along_the_bar(p.at)));
        outer.sort_by_cached_key(|p| (!p.inward, leg(p), self.along_the_bar(p.at)));
        // Conductors to other hubs first, then the field.
        let field: Vec<Option<Pt>> =
            std::iter::repeat_n(None, trunks.field).chain(outer.iter().copied().map(Some)).collect();
        // Each strip terminal has two sides. Field conductors may use both where nothing comes from inside.
        let folded = inner.is_empty() && !trunks.inside;
        let sides: Vec<(Option<Pt>, Option<Pt>)> = if folded {
            field.chunks(2).map(|c| (c.first().copied().flatten(), c.get(1).copied().flatten())).collect()
        } else {
            let n = field.len().max(inner.len()).max(1);
            (0..n).map(|i| (inner.get(i).copied(), field.get(i).copied().flatten())).collect()
        };
        let terminals = strip::add_joined(&mut self.inventory.devices[usize::from(strip.0)], sides.len());
        for ((a, b), t) in sides.iter().zip(&terminals) {
            let here = At { device: strip, t: *t };
            for p in [a, b].into_iter().flatten() {
                self.lead(net, here, p);
            }
        }
        let at = |i: usize| terminals.get(i).map(|t| At { device: strip, t: *t });
        if trunks.inside {
            return at(0).into_iter().collect();
        }
        (0..trunks.field).filter_map(|i| at(if folded { i / 2 } else { i })).collect()
    }

    /// What a plant rarely gains first, what it often gains last, each by number.
    fn along_the_bar(&self, at: At) -> (u8, (Vec<natural::Piece>, String), u16) {
        let d = self.device(at.device);
        let rank = match d.kind {
            Kind::Panelboard | Kind::Disconnect | Kind::Fuse => 0,
            Kind::Transformer | Kind::DryTransformer => 0,
            Kind::Boiler | Kind::Damper | Kind::Beacon | Kind::Button => 1,
            Kind::Safety => 2,
            Kind::Relay => 3,
            _ => 4,
        };
        // By the number in the tag before its letters: all of pump 3 before anything of pump 4.
        let number = natural::key(d.tag.trim_start_matches(|c: char| !c.is_ascii_digit()));
        let (mut pieces, _) = number;
        pieces.push(natural::Piece::Word(d.tag.clone()));
        (rank, (pieces, d.tag.clone()), at.t.0)
    }

    fn lead(&mut self, net: &Net, strip: At, p: &Pt) {
        let leg = p.leg.unwrap_or(net.leg);
        match p.out {
            None => self.lay(net, leg, p.at, strip, Way::Inside),
            Some((group, ft)) if p.inward => {
                let key = RunKey { from: p.at.device, to: strip.device, group };
                self.lay(net, leg, p.at, strip, Way::Run(key, ft));
            }
            Some((group, ft)) => {
                let key = RunKey { from: strip.device, to: p.at.device, group };
                self.lay(net, leg, strip, p.at, Way::Run(key, ft));
            }
        }
    }

    /// The circuit of the first phase conductor that lands on this device.
    pub fn circuit_at(&self, device: DeviceId) -> Option<&Circuit> {
        let lands = |w: &&Wire| w.to.device == device || w.from.device == device;
        let wire = self.wires.iter().filter(lands).find(|w| matches!(w.carries, Carries::Phase(_)))?;
        self.circuits.get(self.legs.get(wire.leg)?.circuit)
    }

    /// Adds one conductor.
    pub fn lay(&mut self, net: &Net, leg: usize, from: At, to: At, way: Way) {
        // A phase that goes on as a control conductor (a boiler's own pump request) stays live with our control circuit off.
        let control = self.legs.get(leg).is_some_and(|l| l.class == Class::Control);
        let carries = match net.carries {
            Carries::Phase(_) if control => Carries::Foreign,
            other => other,
        };
        self.wires.push(Wire { from, to, leg, carries, way, purpose: net.purpose.clone() });
    }

    /// Adds a leg and gives its place.
    pub fn leg(&mut self, leg: Leg) -> usize {
        // The sum of no lengths at all is minus zero.
        self.legs.push(Leg { length_ft: leg.length_ft.max(0.0) + 0.0, ..leg });
        self.legs.len() - 1
    }
}

/// Conductors to other hubs that a net needs at this one.
#[derive(Clone, Copy)]
struct Trunks {
    /// So many on the field side.
    field: usize,
    /// One on the inner side of the first terminal.
    inside: bool,
}
