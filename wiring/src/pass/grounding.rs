//! Equipment grounds: every metal part, once, from the ground bar of the enclosure that feeds it.
//!
//! Each feed and each power raceway carries one wire-type equipment ground, whatever number of circuits is in it
//! (NEC 250.122(C), from memory). A control raceway carries one where the device at its far end is not grounded yet, or where its last
//! feet are flexible (to a motor, a boiler, a strapped control: 250.118 and 348.60, from memory); else its metal tubing serves
//! (250.118). From the transformer to the second panelboard the same green conductor is the supply-side
//! bonding jumper (250.30(A)(2)). Inside the relay panel the metal cases are bonded to its ground bar.

use crate::{
    device::{DeviceId, Kind},
    kinds::{derived, panelboard, relay, strip},
    part::{Part, T},
    pass::{
        boards::Board,
        devices::{Inventory, Role},
        loom::{At, Carries, Group, Loom, Net, RunKey, Way, Wire},
        protection::in_raceway,
    },
    plan::Duty,
};
use std::collections::{BTreeMap, BTreeSet};

/// Adds the equipment grounds.
pub fn grounding(mut loom: Loom) -> Loom {
    let runs = runs(&loom);
    let mut grounded: BTreeSet<DeviceId> = loom.inventory.id(Role::Panelboard(Board::Main)).into_iter().collect();
    let mut done: BTreeSet<RunKey> = BTreeSet::new();
    // All power raceways first, so that a device is grounded with its supply; then the others.
    for power_alone in [true, false] {
        // Each round reaches at least one more device, or it is the last.
        for _ in 0..=runs.len() {
            let before = done.len();
            for (key, (ft, leg)) in &runs {
                let from = enclosure(&loom.inventory, key.from);
                let to = enclosure(&loom.inventory, key.to);
                let power = matches!(key.group, Group::Feed(_) | Group::Power);
                if done.contains(key) || !grounded.contains(&from) || (power_alone && !power) {
                    continue;
                }
                let flexible = [from, to].iter().any(|d| ends_flexible(loom.device(*d).kind));
                let wanted = power || flexible || !grounded.contains(&to);
                done.insert(*key);
                if !wanted || chassis(&loom, to).is_none() {
                    continue;
                }
                let start = ground_terminal(&mut loom, from, to, key.group);
                let end = landing(&mut loom, from, to, key.group);
                if let (Some(start), Some(end)) = (start, end) {
                    // What bonds the second panelboard to the transformer is no equipment ground of a circuit (250.2, 250.30(A)(2)).
                    let derived = loom.inventory.id(Role::DryTransformer) == Some(from);
                    let purpose = if derived { "supply-side bonding jumper" } else { "equipment ground" };
                    let net = ground_net(*leg, Carries::Ground, purpose);
                    loom.lay(&net, *leg, start, end, Way::Run(*key, *ft));
                    grounded.insert(to);
                }
            }
            if done.len() == before {
                break;
            }
        }
    }
    spliced(&mut loom);
    inside_panel(&mut loom);
    coil_supplies(&mut loom);
    derived_system(&mut loom);
    loom
}

/// What is added to the mark of a ground terminal for the splice ahead of it.
const SPLICE: &str = " splice";

/// True for the mark of a splice of grounds.
pub(super) fn is_splice(mark: &str) -> bool {
    mark.ends_with(SPLICE)
}

/// The ground terminal of a machine takes one conductor (NEC 110.14(A)): where several raceways bring one each, they are spliced in its
/// wiring box, and a pigtail goes on to the terminal (250.148).
fn spliced(loom: &mut Loom) {
    for d in (0..loom.inventory.devices.len()).map(|d| DeviceId(d as u16)) {
        let Some(t) = chassis(loom, d).filter(|_| ends_flexible(loom.device(d).kind)) else { continue };
        let terminal = At { device: d, t };
        let here = |w: &Wire| w.carries == Carries::Ground && [w.from, w.to].contains(&terminal);
        let ends: Vec<usize> = (0..loom.wires.len()).filter(|i| here(&loom.wires[*i])).collect();
        let (Some(first), true) = (ends.first(), ends.len() > 1) else { continue };
        let leg = loom.wires[*first].leg;
        let device = &mut loom.inventory.devices[usize::from(d.0)];
        device.terminals[usize::from(t.0)].holds = 1;
        let mark = format!("{}{SPLICE}", device.terminals[usize::from(t.0)].mark);
        let t = device.terminal_for(mark, u8::try_from(ends.len() + 1).unwrap_or(u8::MAX));
        let splice = At { device: d, t };
        for w in ends {
            let w = &mut loom.wires[w];
            for end in [&mut w.from, &mut w.to] {
                if *end == terminal {
                    *end = splice;
                }
            }
        }
        loom.lay(&ground_net(leg, Carries::Ground, "equipment ground, pigtail"), leg, splice, terminal, Way::Inside);
    }
}

fn ground_net(leg: usize, carries: Carries, purpose: &str) -> Net {
    Net { leg, carries, purpose: purpose.into(), one_bar: false, by_leg: false }
}

/// True for what shakes or is strapped on: the last feet of a raceway to it are flexible.
pub(super) fn ends_flexible(kind: Kind) -> bool {
    use Kind as K;
    matches!(
        kind,
        K::Boiler | K::Pump | K::Fan | K::CondensatePump | K::Damper | K::Safety | K::Aquastat | K::ZoneValve
    )
}

/// Runs in raceways, in the order they were made, with length and the leg of their first conductor.
fn runs(loom: &Loom) -> Vec<(RunKey, (f64, usize))> {
    let mut seen: BTreeMap<RunKey, ()> = BTreeMap::new();
    let mut out = Vec::new();
    for w in &loom.wires {
        if let Way::Run(key, ft) = w.way
            && in_raceway(key.group)
            && seen.insert(key, ()).is_none()
        {
            out.push((key, (ft, w.leg)));
        }
    }
    // Power first, so that a device is grounded with its supply.
    out.sort_by_key(|(key, _)| !matches!(key.group, Group::Feed(_) | Group::Power));
    out
}

/// The strips of the relay panel stand in one enclosure, whose metal hangs on its ground bar; so does the starter panel's.
pub(super) fn enclosure(inv: &Inventory, d: DeviceId) -> DeviceId {
    let is = |r: Role| inv.id(r) == Some(d);
    let bar = match d {
        _ if is(Role::PowerStrip) || is(Role::Class2Strip) => Role::GroundBar,
        _ if is(Role::StarterStrip) => Role::StarterGroundBar,
        _ => return boxed_with(inv, d).unwrap_or(d),
    };
    inv.id(bar).unwrap_or(d)
}

/// The starter in a box of its own with which this control transformer stands in one box.
fn boxed_with(inv: &Inventory, d: DeviceId) -> Option<DeviceId> {
    let device = inv.devices.get(usize::from(d.0)).filter(|d| d.kind == Kind::ControlTransformer)?;
    let of = |(r, _): &(&Role, &DeviceId)| matches!(r, Role::FanTransformer(..));
    let role = inv.roles.iter().filter(of).find_map(|(r, t)| (*t == d).then_some(*r))?;
    let Role::FanTransformer(z, fan) = role else { return None };
    let switch = inv.id(Role::FanSwitch(z, fan))?;
    let there = inv.devices.get(usize::from(switch.0))?;
    (relay::has_own_box(there) && there.place == device.place).then_some(switch)
}

fn chassis(loom: &Loom, d: DeviceId) -> Option<T> {
    loom.device(d).parts.iter().find_map(|p| if let Part::Chassis(t) = p { Some(*t) } else { None })
}

/// Where a ground starts.
fn ground_terminal(loom: &mut Loom, from: DeviceId, to: DeviceId, group: Group) -> Option<At> {
    let mark = mark(loom, to, group);
    terminal_on(loom, from, &mark)
}

/// Where a ground ends.
fn landing(loom: &mut Loom, from: DeviceId, to: DeviceId, group: Group) -> Option<At> {
    let mark = mark(loom, from, group);
    terminal_on(loom, to, &mark)
}

fn mark(loom: &Loom, far: DeviceId, group: Group) -> String {
    let tag = loom.device(far).tag.clone();
    match group {
        Group::Feed(n) => format!("{tag}.F{}", n + 1),
        _ => tag,
    }
}

/// A terminal of its own on a bar; the one ground terminal of anything else.
fn terminal_on(loom: &mut Loom, d: DeviceId, mark: &str) -> Option<At> {
    let board = [Board::Main, Board::Second].iter().any(|b| loom.inventory.id(Role::Panelboard(*b)) == Some(d));
    let device = loom.inventory.devices.get_mut(usize::from(d.0))?;
    let t = if board {
        panelboard::add_ground(device, mark)
    } else if device.find("PE").is_some_and(|t| device.terminals[usize::from(t.0)].holds == 0) {
        // Of two runs to one device each has its own terminal on the bar.
        let names = (1..=u8::MAX).map(|n| if n == 1 { format!("PE.{mark}") } else { format!("PE.{mark}.{n}") });
        let name = names.into_iter().find(|m| device.find(m).is_none())?;
        strip::add_ground(device, &name)
    } else {
        let t = device.parts.iter().find_map(|p| if let Part::Chassis(t) = p { Some(*t) } else { None })?;
        // The bar of a switch's or box's enclosure has a screw for each; a machine gets a splice (`spliced`).
        let landed = loom.wires.iter().filter(|w| [w.from, w.to].contains(&At { device: d, t })).count();
        let device = loom.inventory.devices.get_mut(usize::from(d.0))?;
        let terminal = device.terminals.get_mut(usize::from(t.0))?;
        terminal.holds = terminal.holds.max(u8::try_from(landed + 1).unwrap_or(u8::MAX));
        t
    };
    Some(At { device: d, t })
}

/// Metal cases in the relay panel.
fn inside_panel(loom: &mut Loom) {
    let Some(bar) = loom.inventory.id(Role::GroundBar) else { return };
    let Some(leg) = loom.legs.iter().position(|l| l.duty == Duty::PanelSupply) else { return };
    let cases: Vec<DeviceId> = (0..=u8::MAX).map_while(|i| loom.inventory.id(Role::Transformer(i))).collect();
    for d in cases {
        let mark = loom.device(d).tag.clone();
        let Some(start) = terminal_on(loom, bar, &mark) else { continue };
        let Some(end) = chassis(loom, d).map(|t| At { device: d, t }) else { continue };
        let net = ground_net(leg, Carries::Ground, "equipment ground");
        loom.lay(&net, leg, start, end, Way::Inside);
    }
}

/// Control transformers of starters: the frame on the ground bar of its enclosure or on the ground terminal of its box, the grounded side of the coil circuit on the
/// frame (250.30(A)(1) and (5), exceptions to 1000 VA, from memory: no conductor to the electrode).
fn coil_supplies(loom: &mut Loom) {
    let of = |r: &Role| matches!(r, Role::FanTransformer(..));
    let all: Vec<(Role, DeviceId)> =
        loom.inventory.roles.iter().filter(|(r, _)| of(r)).map(|(r, d)| (*r, *d)).collect();
    for (role, d) in all {
        let apart = loom.inventory.starters.contains(&role);
        let bar = if apart { Role::StarterGroundBar } else { Role::GroundBar };
        let Some(bar) = boxed_with(&loom.inventory, d).or_else(|| loom.inventory.id(bar)) else { continue };
        let find = |mark: &str| loom.device(d).find(mark).map(|t| At { device: d, t });
        let (Some(primary), Some(return_side), Some(frame)) = (find("H1"), find("X2"), find("PE")) else { continue };
        let leg_at = |at: At| loom.wires.iter().find(|w| w.from == at || w.to == at).map(|w| w.leg);
        let (Some(line), Some(coil)) = (leg_at(primary), leg_at(return_side)) else { continue };
        let mark = loom.device(d).tag.clone();
        let Some(start) = terminal_on(loom, bar, &mark) else { continue };
        loom.lay(&ground_net(line, Carries::Ground, "equipment ground"), line, start, frame, Way::Inside);
        loom.lay(&ground_net(coil, Carries::Bond, "system bonding jumper"), coil, return_side, frame, Way::Inside);
    }
}

/// The separately derived system is grounded at the transformer: one bonding jumper from the middle of its secondary to its
/// ground bar, and from there the conductor to the grounding electrode (250.30(A)(1) and (5)). A3 has no such jumper.
fn derived_system(loom: &mut Loom) {
    let inv = &loom.inventory;
    let (Some(t), Some(e)) = (inv.id(Role::DryTransformer), inv.id(Role::Electrode)) else { return };
    let find = |d: DeviceId, mark: &str| loom.device(d).find(mark).map(|t| At { device: d, t });
    let (Some(middle), Some(ground)) = (find(t, derived::MIDDLE), find(t, derived::GROUND)) else { return };
    let Some(electrode) = find(e, derived::ELECTRODE) else { return };
    let Some(leg) = loom.legs.iter().position(|l| l.duty == Duty::Feeder) else { return };
    let net = |purpose: &str| ground_net(leg, Carries::Bond, purpose);
    let (jumper, to_electrode) = (net("system bonding jumper"), net("grounding electrode conductor"));
    loom.lay(&jumper, leg, middle, ground, Way::Inside);
    let key = RunKey { from: t, to: e, group: Group::Bare };
    loom.lay(&to_electrode, leg, ground, electrode, Way::Run(key, loom.electrode_ft));
}
