//! Job and choices to devices: every device with its terminals and parts, each in one role.
//!
//! Tags are made from what a device serves, never from a running count: pump 3 is M3, its disconnect QB3, the one ahead of its
//! contactor QL3, its selector S3, so a new zone renames nothing. Letters follow IEC 81346-2 (see [`crate::device`]): A1
//! controller, A2 panelboard, A3 panelboard behind transformer TP1, GE1 its grounding electrode, E boilers,
//! M motors and actuators, Q switches and contactors, K relays, F safeties, B sensors and thermostats, T transformers, S
//! selectors and buttons, P beacon, X strips, boxes and outlets.

mod relays;

use crate::{
    device::{Device, DeviceId, Kind, PlaceId},
    job::{CondensatePump, Control, Fan, Job, Selector, Shown, Supply, ThermostatKind},
    kinds::{
        appliance, automation, boiler, control_transformer, controller, derived, disconnect, panelboard, pump, relay,
        safety, selector, sensor, strip, thermostat, transformer, valve,
    },
    part::{Actuator, LoadUse},
    pass::{
        boards::{self, Board, Enclosure, enclosure_of, place_of, to_neutral},
        choose::{
            ChainOf, Choices, Load24, PumpDisconnect, calls::Caller, fan_groups, fan_switch, limits_of_valve,
            line_disconnect, pump_disconnect, switched_at_fan,
        },
    },
    plan::MotorSwitch,
};
use heatwright_core::{AnalogUse, BoilerId, ContactUse, PumpId, SafetyId, SensorId, Subject, ZoneId, config::PumpRole};
use std::collections::{BTreeMap, BTreeSet};

/// Which of the two relays that end a chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Twin {
    /// The first.
    First,
    /// The second, in series.
    Second,
}

/// Both, in order.
pub const TWINS: [Twin; 2] = [Twin::First, Twin::Second];

/// What a device is there for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs, reason = "each name is the thing it stands for")]
pub enum Role {
    Panelboard(Board),
    DryTransformer,
    Electrode,
    Controller,
    PanelDisconnect,
    PowerStrip,
    Class2Strip,
    GroundBar,
    StarterStrip,
    StarterGroundBar,
    Transformer(u8),
    ChainEnd(ChainOf, Twin),
    ChainTap(SafetyId),
    CallRelay(Caller),
    CallLineRelay(Caller),
    AnyCall(u8),
    AnyCall24(u8),
    HandOver(u8),
    HandOver24(u8),
    TankFirst(u8),
    TankFirst24(u8),
    EndSwitchRelay(ZoneId),
    FlameRelay(BoilerId),
    FaultRelay(BoilerId),
    PumpRequestRelay(BoilerId),
    PumpSwitch(PumpId),
    Selector(PumpId),
    Acknowledge,
    BoilerSwitch(BoilerId),
    BoilerBox(BoilerId),
    Boiler(BoilerId),
    PumpDisconnect(PumpId),
    LineDisconnect(PumpId),
    Pump(PumpId),
    Thermostat(ZoneId),
    Valve(ZoneId),
    Mixing(ZoneId),
    FanBox(ZoneId, u8),
    FanDisconnect(ZoneId, u8),
    FanLineDisconnect(ZoneId, u8),
    FanSwitch(ZoneId, u8),
    FanTransformer(ZoneId, u8),
    FanAquastat(ZoneId, u8),
    Fan(ZoneId, u8),
    Safety(SafetyId),
    Sensor(SensorId),
    TankAquastat,
    Damper,
    CondensateDisconnect(u8),
    CondensatePump(u8),
    StatusRelay(Shown),
    Automation(u8),
    Beacon,
    Receptacle(u8),
}

/// Devices, each with the role it plays.
#[derive(Clone, Debug, Default)]
pub struct Inventory {
    /// Devices in schedule order; strips are filled later.
    pub devices: Vec<Device>,
    /// Who plays which role.
    pub roles: BTreeMap<Role, DeviceId>,
    /// Roles of devices that stand inside the starter panel.
    pub starters: BTreeSet<Role>,
}

impl Inventory {
    /// The device in this role.
    pub fn id(&self, role: Role) -> Option<DeviceId> {
        self.roles.get(&role).copied()
    }

    fn add(&mut self, role: Role, subject: Option<Subject>, mut d: Device) {
        d.subject = subject;
        self.roles.insert(role, DeviceId(self.devices.len() as u16));
        self.devices.push(d);
    }

    /// Adds a device inside an enclosure.
    fn add_in(&mut self, e: Enclosure, role: Role, subject: Option<Subject>, d: Device) {
        if e == Enclosure::Starter {
            self.starters.insert(role);
        }
        self.add(role, subject, d);
    }
}

/// Rated voltage of coils in our control circuit.
pub const CONTROL_V: f64 = 120.0;

/// All devices of the job.
pub fn devices(job: &Job, choices: &Choices) -> Inventory {
    let mut inv = Inventory::default();
    panel(&mut inv, job, choices);
    relays::relays(&mut inv, job, choices);
    boilers(&mut inv, job);
    pumps(&mut inv, job, choices);
    zones(&mut inv, job);
    safeties(&mut inv, job, choices);
    others(&mut inv, job);
    inv
}

fn poles(job: &Job, s: Supply) -> u8 {
    if s.phases == 3 {
        3
    } else if to_neutral(job, s) {
        1
    } else {
        2
    }
}

fn panel(inv: &mut Inventory, job: &Job, choices: &Choices) {
    let here = job.panel.place;
    let board = panelboard::panelboard(Board::Main.tag(), job.service.panelboard, job.service.volts);
    inv.add(Role::Panelboard(Board::Main), None, board);
    derived_system(inv, job);
    if job.control == Control::Controller {
        inv.add(Role::Controller, None, controller::controller("A1", here, &job.points, job.panel.controller_va));
    }
    let off = "relay panel control disconnect, lockable";
    inv.add(Role::PanelDisconnect, None, disconnect::open_style("QR1", here, off, 1, Actuator::Opened));
    inv.add(Role::PowerStrip, None, strip::strip("X1", here, "relay panel strip, power and control"));
    inv.add(Role::Class2Strip, None, strip::strip("X2", here, "relay panel strip, Class 2"));
    inv.add(Role::GroundBar, None, strip::ground_bar("XG", here, "relay panel ground bar"));
    if let Some(p) = &job.starter_panel {
        inv.add(Role::StarterStrip, None, strip::strip("X3", p.place, "starter panel strip"));
        inv.add(Role::StarterGroundBar, None, strip::ground_bar("XH", p.place, "starter panel ground bar"));
    }
    for (i, s) in choices.supplies.iter().enumerate() {
        let n = i as u8;
        let controller = s.loads.iter().any(|l| l.0 == Load24::Controller);
        let label = if controller { "24 V supply of the controller" } else { "24 V supply of field devices" };
        let t = transformer::transformer(&format!("T{}", n + 1), here, label, CONTROL_V, s.va);
        inv.add(Role::Transformer(n), None, t);
    }
}

/// Transformer, electrode and second panelboard.
fn derived_system(inv: &mut Inventory, job: &Job) {
    let Some(s) = job.service.step_down else { return };
    let primary = job.service.volts.line_volts();
    let label = format!("dry-type transformer {primary:.0} V to 120/240 V, {:.0} VA", s.va);
    inv.add(Role::DryTransformer, None, derived::transformer("TP1", s.place, &label, primary, s.va));
    let label = "grounding electrode: building steel or metal water pipe";
    inv.add(Role::Electrode, None, derived::electrode("GE1", s.place, label));
    inv.add(Role::Panelboard(Board::Second), None, panelboard::second(Board::Second.tag(), s.panelboard));
}

fn boilers(inv: &mut Inventory, job: &Job) {
    for (i, b) in job.boilers.iter().enumerate() {
        let id = BoilerId(i as u8);
        let subject = Some(Subject::Boiler(id));
        let name = name(job, Subject::Boiler(id));
        let n = i + 1;
        let by = Actuator::BoilerSwitchOff(id);
        let neutral = to_neutral(job, b.supply);
        let label = format!("service switch of {name}");
        let mut switch = disconnect::disconnect(&format!("QC{n}"), b.place, &label, poles(job, b.supply), neutral, by);
        if b.switch.aux {
            disconnect::add_aux(&mut switch, by);
        }
        inv.add(Role::BoilerSwitch(id), subject, switch);
        let label = format!("junction box at {name}");
        inv.add(Role::BoilerBox(id), subject, strip::ground_bar(&format!("XB{n}"), b.place, &label));
        let analog = job.points.analog(AnalogUse::Target(id)).or_else(|| job.points.analog(AnalogUse::Rate(id)));
        inv.add(Role::Boiler(id), subject, boiler::boiler(&format!("E{n}"), id, &name, b, b.place, analog));
    }
}

fn pumps(inv: &mut Inventory, job: &Job, choices: &Choices) {
    for (i, p) in job.pumps.iter().enumerate() {
        let id = PumpId(i as u8);
        let subject = Some(Subject::Pump(id));
        let name = name(job, Subject::Pump(id));
        let n = i + 1;
        let poles = poles(job, p.supply);
        let neutral = to_neutral(job, p.supply);
        let switch = choices.pumps.get(i).copied().unwrap_or(MotorSwitch::Contactor);
        let ahead = line_disconnect(job, switch, p.supply);
        let stand = Stand {
            job,
            switch,
            supply: p.supply,
            subject,
            coil_from_elsewhere: true,
            line_disconnect: ahead,
            beside: None,
        };
        let roles = [Role::LineDisconnect(id), Role::PumpSwitch(id)];
        controllers(inv, &stand, roles, &n.to_string(), &name, Actuator::Overload(id));
        let here = job.panel.place;
        if p.selector == Selector::HandOffAuto {
            let seen = [ContactUse::Hand(id), ContactUse::Auto(id)].map(|u| job.points.contact(u).is_some());
            let label = format!("HAND-OFF-AUTO of {name}");
            inv.add(Role::Selector(id), subject, selector::selector(&format!("S{n}"), here, &label, id, seen));
        }
        if pump_disconnect(job, id, switch, choices.alone(id)) == PumpDisconnect::Own {
            let label = format!("disconnect of {name}, lockable");
            let d = disconnect::disconnect(&format!("QB{n}"), p.place, &label, poles, neutral, Actuator::Opened);
            inv.add(Role::PumpDisconnect(id), subject, d);
        }
        let tag = format!("M{n}");
        let d = if switch == MotorSwitch::StartInput {
            pump::with_start(&tag, p.place, &name, p.supply, neutral, p.nameplate_a, id)
        } else {
            pump::plain(&tag, p.place, &name, p.supply, neutral, p.nameplate_a, LoadUse::Pump(id))
        };
        inv.add(Role::Pump(id), subject, d);
    }
}

/// A motor to be switched.
struct Stand<'a> {
    job: &'a Job,
    switch: MotorSwitch,
    supply: Supply,
    subject: Option<Subject>,
    /// False where a control transformer behind its own disconnect feeds the coil.
    coil_from_elsewhere: bool,
    /// Whether a disconnect stands ahead of it in its enclosure.
    line_disconnect: bool,
    /// Where it stands in a box of its own beside its machine; `None` in a panel.
    beside: Option<PlaceId>,
}

/// The control transformer of a fan's starter; two terminals of the starter's line side take its primary too.
fn coil_supply(inv: &mut Inventory, s: &Stand<'_>, z: ZoneId, fan: u8, (ending, name): (&str, &str)) {
    let e = enclosure_of(s.job, s.switch, s.supply);
    let switch = inv.id(Role::FanSwitch(z, fan)).and_then(|d| inv.devices.get_mut(usize::from(d.0)));
    for t in switch.into_iter().flat_map(|d| &mut d.terminals) {
        if (1..=2).any(|pole| t.mark == relay::main_pole(pole)[0]) {
            t.holds = 2;
        }
    }
    let volts = boards::line_volts(s.job, s.supply);
    let label = format!("control transformer of {name}, {volts:.0}/120 V");
    let here = s.beside.unwrap_or_else(|| place_of(s.job, e));
    let d = control_transformer::control_transformer(&format!("TF{ending}"), here, &label, volts);
    if s.beside.is_some() {
        inv.add(Role::FanTransformer(z, fan), s.subject, d);
    } else {
        inv.add_in(e, Role::FanTransformer(z, fan), s.subject, d);
    }
}

/// The disconnect ahead of a motor's contactor or starter, and that itself, in the enclosure where they stand.
fn controllers(inv: &mut Inventory, s: &Stand<'_>, roles: [Role; 2], ending: &str, name: &str, trips: Actuator) {
    let [line, switch] = roles;
    let poles = poles(s.job, s.supply);
    let e = enclosure_of(s.job, s.switch, s.supply);
    let here = s.beside.unwrap_or_else(|| place_of(s.job, e));
    let words = if e == Enclosure::Starter { "starter panel" } else { "relay panel" };
    if s.line_disconnect {
        let label = format!("line disconnect of {name} in the {words}, lockable");
        let mut d = disconnect::open_style(&format!("QL{ending}"), here, &label, poles, Actuator::Opened);
        if e == Enclosure::Starter && s.coil_from_elsewhere {
            // The relay panel's control disconnect is not beside it: its auxiliary contact opens the coil circuit (430.75(A)).
            disconnect::add_aux(&mut d, Actuator::Opened);
        }
        inv.add_in(e, line, s.subject, d);
    }
    let tag = format!("QA{ending}");
    let mut d = match s.switch {
        MotorSwitch::Contactor => relay::contactor(&tag, here, &format!("contactor of {name}"), CONTROL_V, poles),
        MotorSwitch::Starter => relay::starter(&tag, here, &format!("starter of {name}"), CONTROL_V, trips),
        _ => return,
    };
    if s.beside.is_some() {
        d.label += ", in its box at the fan";
        relay::in_own_box(&mut d);
        inv.add(switch, s.subject, d);
        return;
    }
    inv.add_in(e, switch, s.subject, d);
}

fn zones(inv: &mut Inventory, job: &Job) {
    for (i, zone) in job.zones.iter().enumerate() {
        let z = ZoneId(i as u8);
        let subject = Some(Subject::Zone(z));
        let name = name(job, Subject::Zone(z));
        let n = i + 1;
        let t = zone.thermostat;
        let label = format!("thermostat of {name}");
        let d = match t.kind {
            ThermostatKind::TwoWire => thermostat::two_wire(&format!("BR{n}"), t.place, &label, z),
            ThermostatKind::Powered => thermostat::powered(&format!("BR{n}"), t.place, &label, z, t.va),
        };
        inv.add(Role::Thermostat(z), subject, d);
        if let Some(v) = &zone.valve {
            let label = format!("zone valve of {name}");
            inv.add(Role::Valve(z), subject, valve::zone_valve(&format!("MV{n}"), v.place, &label, z, v));
        }
        if let Some(m) = &zone.mixing {
            let label = format!("mixing valve of {name}");
            let analog = job.points.analog(AnalogUse::Mixing(z));
            inv.add(Role::Mixing(z), subject, valve::mixing(&format!("MX{n}"), m.place, &label, z, m, analog));
        }
        if let Some(f) = zone.fan {
            fans(inv, job, z, f);
        }
    }
}

/// Tag ending and name of a zone's fan (from 0): "5" and "fan of the hall", or "5.2" and "fan 2 of the hall".
pub fn fan_name(job: &Job, z: ZoneId, fan: u8) -> (String, String) {
    let of = name(job, Subject::Zone(z));
    let count = job.zones.get(z.index()).and_then(|z| z.fan).map_or(1, |f| f.count);
    let (n, k) = (u16::from(z.0) + 1, u16::from(fan) + 1);
    if count > 1 { (format!("{n}.{k}"), format!("fan {k} of {of}")) } else { (n.to_string(), format!("fan of {of}")) }
}

/// Each fan with its disconnect and its aquastat; a junction box where several share a circuit.
fn fans(inv: &mut Inventory, job: &Job, z: ZoneId, f: Fan) {
    let subject = Some(Subject::Zone(z));
    let neutral = to_neutral(job, f.supply);
    let poles = poles(job, f.supply);
    let groups = fan_groups(&f);
    let mut next = 0u8;
    for (g, size) in groups.iter().enumerate() {
        if *size > 1 && (fan_switch(&f) == MotorSwitch::Aquastat || switched_at_fan(&f)) {
            let part = if groups.len() > 1 { format!(".{}", g + 1) } else { String::new() };
            let label = format!("junction box at the fans of {}", name(job, Subject::Zone(z)));
            let d = strip::ground_bar(&format!("XF{}{part}", u16::from(z.0) + 1), f.place, &label);
            inv.add(Role::FanBox(z, g as u8), subject, d);
        }
        for _ in 0..*size {
            let (n, label) = fan_name(job, z, next);
            let off = format!("disconnect of {label}, lockable");
            let mut d = disconnect::disconnect(&format!("QF{n}"), f.place, &off, poles, neutral, Actuator::Opened);
            if fan_switch(&f) != MotorSwitch::Aquastat && !switched_at_fan(&f) {
                disconnect::add_through(&mut d);
            }
            inv.add(Role::FanDisconnect(z, next), subject, d);
            let by = Actuator::FanAquastat(z, next);
            let warm = format!("aquastat of {label}");
            let (tag, switch) = (format!("BF{n}"), fan_switch(&f));
            let d = if switch == MotorSwitch::Aquastat && neutral {
                thermostat::aquastat(&tag, f.place, &warm, by, Some("N"))
            } else if switch == MotorSwitch::Aquastat {
                thermostat::aquastat_two_pole(&tag, f.place, &format!("{warm}, two poles"), by)
            } else {
                let stand = Stand {
                    job,
                    switch,
                    supply: f.supply,
                    subject,
                    coil_from_elsewhere: false,
                    // In a panel always: it makes this fan's control transformer dead, and no other fan of the circuit. At the fan its own
                    // disconnect does both.
                    line_disconnect: !switched_at_fan(&f),
                    beside: switched_at_fan(&f).then_some(f.place),
                };
                let roles = [Role::FanLineDisconnect(z, next), Role::FanSwitch(z, next)];
                controllers(inv, &stand, roles, &format!("F{n}"), &label, Actuator::FanOverload(z, next));
                coil_supply(inv, &stand, z, next, (&n, &label));
                thermostat::aquastat_in_control(&tag, f.place, &warm, by)
            };
            inv.add(Role::FanAquastat(z, next), subject, d);
            let d = pump::fan(&format!("MF{n}"), f.place, &label, f.supply, neutral, f.amps, LoadUse::Fan(z, next));
            inv.add(Role::Fan(z, next), subject, d);
            next = next.saturating_add(1);
        }
    }
}

fn safeties(inv: &mut Inventory, job: &Job, choices: &Choices) {
    for (i, s) in job.safeties.iter().enumerate() {
        let id = SafetyId(i as u8);
        let subject = Subject::Safety(id);
        let mut d = safety::safety(&format!("F{}", i + 1), id, &name(job, subject), s, s.place);
        if in_valve_circuit(job, choices, id) {
            d = safety::on_class2_alone(d);
        }
        inv.add(Role::Safety(id), Some(subject), d);
    }
}

/// True for a limit that stands in a zone valve's 24 V and has no 120 V of its own.
fn in_valve_circuit(job: &Job, choices: &Choices, s: SafetyId) -> bool {
    let direct = choices.chain(ChainOf::Own(s)).is_some_and(|c| !c.relayed);
    let at_120 = job.safeties.get(s.index()).and_then(|s| s.supply).is_some_and(|own| own.volts > 60.0);
    let valve = (0..job.zones.len()).any(|z| limits_of_valve(job, ZoneId(z as u8)).contains(&s));
    direct && valve && !at_120
}

fn others(inv: &mut Inventory, job: &Job) {
    for (i, s) in job.sensors.iter().enumerate() {
        if let Some(s) = s {
            let id = SensorId(i as u8);
            let d = sensor::sensor(&format!("BT{}", i + 1), s.place, &name(job, Subject::Sensor(id)), id);
            inv.add(Role::Sensor(id), Some(Subject::Sensor(id)), d);
        }
    }
    if let Some(t) = job.tank {
        let label = format!("aquastat of {}", name(job, Subject::Tank));
        let d = thermostat::aquastat("BA1", t.place, &label, Actuator::TankCall, None);
        inv.add(Role::TankAquastat, Some(Subject::Tank), d);
    }
    if let Some(d) = &job.damper {
        let label = format!("actuator of {}", name(job, Subject::Damper));
        inv.add(Role::Damper, Some(Subject::Damper), valve::damper("MD1", d.place, &label, d));
    }
    if job.points.contact(ContactUse::Acknowledge).is_some() {
        let d = selector::acknowledge("SA1", job.panel.place, "alarm acknowledge button");
        inv.add(Role::Acknowledge, None, d);
    }
    for (i, c) in job.condensate_pumps.iter().enumerate() {
        let (n, i) = (i + 1, i as u8);
        let pump = condensate_pump_name(job, c);
        let label = format!("disconnect of the {pump}, lockable");
        let d = disconnect::disconnect(&format!("QE{n}"), c.place, &label, 1, true, Actuator::Opened);
        inv.add(Role::CondensateDisconnect(i), None, d);
        let va = CONTROL_V * c.amps;
        let what = LoadUse::CondensatePump(i);
        let d = appliance::appliance(&format!("ME{n}"), Kind::CondensatePump, c.place, &pump, what, va);
        inv.add(Role::CondensatePump(i), None, d);
    }
    if let Some(b) = job.beacon {
        let d = appliance::appliance("PA1", Kind::Beacon, b.place, "alarm beacon", LoadUse::Beacon, b.va);
        inv.add(Role::Beacon, None, d);
    }
    for (i, a) in job.automation.iter().enumerate() {
        let label = format!("building-automation input: {}", a.name);
        let d = automation::input(&format!("XA{}", i + 1), a.place, &label, i as u8, a.volts);
        inv.add(Role::Automation(i as u8), None, d);
    }
    for (i, r) in job.receptacles.iter().enumerate() {
        let sort = if r.ground_fault_protected { "ground-fault (GFCI) receptacle" } else { "receptacle" };
        let label = format!("{sort}, {}", place(job, r.place));
        // 180 VA an outlet: NEC 220.14(I), from memory.
        let tag = format!("XR{}", i + 1);
        let d = appliance::receptacle(&tag, r.place, &label, 180.0, r.ground_fault_protected);
        inv.add(Role::Receptacle(i as u8), None, d);
    }
}

fn name(job: &Job, s: Subject) -> String {
    job.names.of(s)
}

fn place(job: &Job, p: PlaceId) -> &str {
    job.places.get(usize::from(p.0)).map_or("", |p| p.name.as_str())
}

/// What a condensate pump is called: with its boiler, where it serves one.
pub fn condensate_pump_name(job: &Job, c: &CondensatePump) -> String {
    c.boiler.map_or_else(
        || "condensate pump".to_owned(),
        |b| format!("condensate pump of {}", job.names.of(Subject::Boiler(b))),
    )
}

/// What a pump is for, in words.
pub fn pump_role(job: &Job, p: PumpId) -> &'static str {
    match job.pumps.get(p.index()).map(|p| p.role) {
        Some(PumpRole::Boiler(_)) => "boiler pump",
        Some(PumpRole::Tank) => "tank pump",
        _ => "zone pump",
    }
}
