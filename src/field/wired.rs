//! The wires of a run, solved from the wiring schedule: the same paper that the electrician holds.
//!
//! Positions of the plant and the controller's relays become actuators of the network; what the network shows at loads and
//! inputs becomes what runs and what the controller sees. Loads count as running from 85 % of their rated volts, turning the
//! right way or not; a sensor input that sees nothing reads open, one whose leads are joined reads short; a 0-10 V input that
//! sees no output, or two, reads nothing.
//!
//! The network is solved only when an actuator has moved. Not here: time, temperatures, and what a wrong wire would do to a
//! device that it destroys.

use heatwright_core::{
    AnalogId, BoilerId, ContactId, Inputs, Outputs, Permille, Points, PumpId, Reading, RelayId, RelayUse, SafetyId,
    SensorId, ZoneId,
    limits::{ANALOGS, BOILERS, CONTACTS, PUMPS, RELAYS, SAFETIES, SENSORS, ZONES},
};
use heatwright_sim::wires::{Field, Ideal, Powered, Wires};
use heatwright_wiring::{
    device::Device,
    net::{ActuatorSet, Changes, Network, RebuildError, Seen, Solver, What, ZONE_FANS},
    part::{Actuator, LoadUse},
    row::Row,
};

/// Solved wires behind a run.
#[derive(Clone, Debug)]
pub struct Wired {
    solver: Solver,
    looked_at: Vec<What>,
    alarm: Option<RelayId>,
    health: Option<RelayId>,
    /// Without a controller: what the boilers' own sensors and controls see, and what the calls are, for the stand-in of the
    /// relays.
    own: Option<Ideal>,
    last: Option<ActuatorSet>,
    now: Shown,
}

/// What the network shows, in the terms of a run.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Shown {
    powered: Powered,
    contacts: u64,
    sensors: [Lead; SENSORS],
    signals: [Option<u8>; ANALOGS],
}

/// What hangs on a sensor input.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
enum Lead {
    #[default]
    Unwired,
    Element(u8),
    Open,
    Short,
}

impl Wired {
    /// Rebuilds the network from devices and rows.
    pub fn new(devices: &[Device], rows: &[Row], points: &Points) -> Result<Self, Vec<RebuildError>> {
        Self::with_changes(devices, rows, points, &Changes::default())
    }

    /// The same with something changed: a wire out, a breaker open.
    pub fn with_changes(
        devices: &[Device],
        rows: &[Row],
        points: &Points,
        changes: &Changes,
    ) -> Result<Self, Vec<RebuildError>> {
        let net = Network::rebuild(devices, rows)?;
        let solver = Solver::new(&net, changes);
        Ok(Self {
            looked_at: solver.watches().iter().map(|w| w.what).collect(),
            solver,
            alarm: points.relay(RelayUse::Alarm),
            health: points.relay(RelayUse::Health),
            own: None,
            last: None,
            now: Shown::default(),
        })
    }

    /// The wires of a plant without a controller: nothing of what they carry passes it. Its stand-in in the model sees the calls and
    /// the outdoor air ideally, and each boiler its own target.
    pub fn without_controller(devices: &[Device], rows: &[Row], own: Ideal) -> Result<Self, Vec<RebuildError>> {
        Ok(Self { own: Some(own), ..Self::new(devices, rows, &Points::default())? })
    }

    fn settle(&mut self, outputs: &Outputs, field: &Field) {
        let set = actuators(outputs, field);
        if self.last == Some(set) {
            return;
        }
        self.last = Some(set);
        let seen = &self.solver.solve(&set).seen;
        self.now = show(self.looked_at.iter().copied().zip(seen.iter().copied()));
    }
}

/// Where every contact of the network stands.
pub(super) fn actuators(outputs: &Outputs, field: &Field) -> ActuatorSet {
    let mut set = ActuatorSet::default();
    let relays = (0..RELAYS as u8).filter(|i| outputs.relay(RelayId(*i)).on).fold(0, |m, i| m | RelayId(i).bit());
    set.set_relays(relays);
    for z in (0..ZONES as u8).map(ZoneId) {
        set.set(Actuator::Call(z), field.calls & z.bit() != 0);
        set.set(Actuator::ValveOpen(z), field.end_switches & z.bit() != 0);
        for fan in 0..ZONE_FANS as u8 {
            set.set(Actuator::FanAquastat(z, fan), field.fan_aquastats & z.bit() != 0);
        }
    }
    for b in (0..BOILERS as u8).map(BoilerId) {
        set.set(Actuator::Flow(b), field.flow & b.bit() != 0);
        set.set(Actuator::Flame(b), field.flame & b.bit() != 0);
        set.set(Actuator::BoilerFault(b), field.boiler_fault & b.bit() != 0);
        set.set(Actuator::BoilerPump(b), field.boiler_pump_request & b.bit() != 0);
        set.set(Actuator::BoilerSwitchOff(b), field.boiler_switch & b.bit() == 0);
    }
    for p in (0..PUMPS as u8).map(PumpId) {
        set.set(Actuator::Hand(p), field.pump_hand & p.bit() != 0);
        set.set(Actuator::Auto(p), field.pump_auto & p.bit() != 0);
        set.set(Actuator::Overload(p), field.overloads & p.bit() == 0);
    }
    for s in (0..SAFETIES as u8).map(SafetyId) {
        set.set(Actuator::Trip(s), field.safeties & s.bit() == 0);
    }
    set.set(Actuator::TankCall, field.tank_call);
    set.set(Actuator::DamperOpen, field.damper_open);
    set.set(Actuator::Acknowledge, field.acknowledge);
    set
}

fn show(seen: impl Iterator<Item = (What, Seen)>) -> Shown {
    let mut out = Shown::default();
    let (mut started, mut supplied, mut fans_dead) = (0u64, 0u64, 0u64);
    for (what, seen) in seen {
        let live = matches!(seen, Seen::Live | Seen::LiveReversed);
        match what {
            // A bit a zone: its fans count as on while every one of them is.
            What::Load(LoadUse::Fan(z, _)) if !live => fans_dead |= z.bit(),
            What::Load(load) if live => light(&mut out.powered, &mut started, &mut supplied, load),
            What::Input(ContactId(c)) if seen == Seen::Closed && usize::from(c) < CONTACTS => out.contacts |= 1 << c,
            What::Sensor(SensorId(s)) => {
                if let Some(lead) = out.sensors.get_mut(usize::from(s)) {
                    *lead = match seen {
                        Seen::Id(e) => Lead::Element(e),
                        Seen::Joined => Lead::Short,
                        _ => Lead::Open,
                    };
                }
            }
            What::Signal(AnalogId(a)) => {
                if let Some(signal) = out.signals.get_mut(usize::from(a)) {
                    *signal = match seen {
                        Seen::Id(o) => Some(o),
                        _ => None,
                    };
                }
            }
            What::Load(_)
            | What::Input(_)
            | What::Coil
            | What::Bonded
            | What::Shield(_)
            | What::Tie
            | What::Primary
            | What::Continuity
            | What::Insulation => {}
        }
    }
    out.powered.pumps |= started & supplied;
    out.powered.fans &= !fans_dead;
    out
}

/// Enters one live load.
fn light(p: &mut Powered, started: &mut u64, supplied: &mut u64, load: LoadUse) {
    match load {
        LoadUse::Pump(q) => p.pumps |= q.bit(),
        LoadUse::PumpStart(q) => *started |= q.bit(),
        LoadUse::PumpSupply(q) => *supplied |= q.bit(),
        LoadUse::Valve(z) => p.valves |= z.bit(),
        LoadUse::Fan(z, _) => p.fans |= z.bit(),
        LoadUse::Damper => p.damper = true,
        LoadUse::BoilerLine(b) => p.boiler_line |= b.bit(),
        LoadUse::Limit(b) => p.limit |= b.bit(),
        LoadUse::Proving(b) => p.proving |= b.bit(),
        LoadUse::Demand(b) => p.demand |= b.bit(),
        LoadUse::Mixing(_)
        | LoadUse::Thermostat(_)
        | LoadUse::SafetySupply(_)
        | LoadUse::Controller
        | LoadUse::CondensatePump(_)
        | LoadUse::Automation(_)
        | LoadUse::Beacon
        | LoadUse::Receptacle => {}
    }
}

impl Wires for Wired {
    fn powered(&mut self, outputs: &Outputs, field: &Field) -> Powered {
        self.settle(outputs, field);
        let mut p = self.now.powered;
        p.alarm = self.alarm.is_some_and(|r| !outputs.relay(r).on);
        p.health = self.health.is_none_or(|r| outputs.relay(r).on);
        for (slot, from) in p.analogs.iter_mut().zip(self.now.signals) {
            *slot = from.map_or(Permille::ZERO, |o| outputs.analog(AnalogId(o)).at);
        }
        if let Some(own) = &mut self.own {
            p.analogs = own.powered(outputs, field).analogs;
        }
        p
    }

    fn seen(&mut self, outputs: &Outputs, field: &Field) -> Inputs {
        if let Some(own) = &mut self.own {
            return own.seen(outputs, field);
        }
        self.settle(outputs, field);
        let mut sensors = [Reading::NeverRead; SENSORS];
        for (slot, lead) in sensors.iter_mut().zip(self.now.sensors) {
            *slot = match lead {
                Lead::Unwired => Reading::NeverRead,
                Lead::Element(e) => field.sensors.get(usize::from(e)).copied().unwrap_or_default(),
                Lead::Open => Reading::Open,
                Lead::Short => Reading::Short,
            };
        }
        Inputs { civil: field.civil, contacts: self.now.contacts, sensors }
    }
}
