//! Injected faults and the acts of people, by a script of times; never inside the model.
//!
//! A fault sits where the real one does: on a sensor's leads, in a contact, at a load, at the gas cock, on the panel. The
//! wrappers [`FaultyWires`], [`FaultyControl`] and [`Acting`] lay a [`Script`] over any wires, controller and watch. Plant and
//! controller never learn that a fault is injected.
//!
//! A safety that is opened by the script and has a hand reset stays open after its fault until the script resets it; flow and
//! damper switches stand open at rest and have none. All contacts of one device act together: a flow switch that is forced
//! takes the boiler's flow contact with it, the switch on the damper's blade every contact that it has, whichever of them the
//! script names. Times are seconds of the counted part of a run; a fault acts from its first moment up to but not at its last.

use crate::{
    control::{Control, LinkError},
    plant::{Plant, Trip},
    run::{Sample, Watch},
    step::Conditions,
    wires::{Field, Powered, Wires},
};
use heatwright_core::{
    BoilerId, Inputs, Instant, Outputs, PumpId, Reading, SafetyId, SensorId, Temp, TempDelta, ZoneId, config::Reset,
    limits::SENSORS,
};

/// How a contact is stuck.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stuck {
    /// Open whatever happens.
    Open,
    /// Closed whatever happens.
    Closed,
}

/// Where a hand switch is put.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Position {
    /// Runs whatever the controller says.
    Hand,
    /// Stands.
    Off,
}

/// One fault, or one act.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// A sensor's lead is broken.
    SensorOpen(SensorId),
    /// A sensor's leads touch.
    SensorShort(SensorId),
    /// A sensor keeps the reading it had.
    SensorFrozen(SensorId),
    /// A sensor reads wrong by this much, in kelvin.
    SensorOff(SensorId, f64),
    /// A sensor drifts away by this much an hour, in kelvin.
    SensorDrifts(SensorId, f64),
    /// A thermostat's contact.
    Thermostat(ZoneId, Stuck),
    /// The tank's aquastat.
    TankAquastat(Stuck),
    /// A zone valve's end switch.
    EndSwitch(ZoneId, Stuck),
    /// The end switch on the damper's blade.
    DamperSwitch(Stuck),
    /// A boiler's flame contact.
    FlameContact(BoilerId, Stuck),
    /// A safety's switch: open as if its cause were there, or closed whatever happens.
    Safety(SafetyId, Stuck),
    /// A pump's motor does not turn.
    PumpDead(PumpId),
    /// A pump's contact is welded.
    PumpWelded(PumpId),
    /// A pump's overload has tripped.
    Overload(PumpId),
    /// A zone valve's actuator.
    Valve(ZoneId, Stuck),
    /// The damper's actuator does not move it open.
    DamperDead,
    /// A demand contact is welded.
    DemandWelded(BoilerId),
    /// No gas at a boiler.
    NoGas(BoilerId),
    /// The controller's wall clock is not set.
    ClockLost,
    /// The controller is silent: the run ends with an error.
    ControllerSilent,
    /// The controller hangs: its outputs stay as they are.
    ControllerHangs,
    /// The controller's power is off: every relay drops.
    ControllerDead,
    /// Someone puts a pump's switch to HAND or OFF.
    PumpSwitch(PumpId, Position),
    /// Someone turns a boiler's service switch off.
    BoilerSwitchOff(BoilerId),
    /// Someone presses acknowledge.
    Acknowledge,
    /// Someone presses a boiler's lockout reset.
    BoilerReset(BoilerId),
    /// Someone presses a safety's reset.
    SafetyReset(SafetyId),
}

/// A fault and when it acts, in seconds of the counted part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timed {
    /// From this moment.
    pub from_s: f64,
    /// Up to this moment; infinity for ever.
    pub to_s: f64,
    /// The fault.
    pub fault: Fault,
}

/// Faults over a run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Script {
    items: Vec<Timed>,
    warm_up_s: f64,
}

impl Script {
    /// A script for a run that warms up this long, in seconds.
    pub fn new(items: impl IntoIterator<Item = Timed>, warm_up_s: f64) -> Self {
        Self { items: items.into_iter().collect(), warm_up_s }
    }

    /// True where gas or resets are in it: what no wire carries.
    fn acts_beside_wires(&self) -> bool {
        let beside = |f: &Fault| matches!(f, Fault::NoGas(_) | Fault::BoilerReset(_) | Fault::SafetyReset(_));
        self.items.iter().any(|i| beside(&i.fault))
    }

    fn at_s(&self, at: Instant) -> f64 {
        f64::from(at.tenths()) * 0.1 - self.warm_up_s
    }

    fn acting(&self, at_s: f64) -> impl Iterator<Item = &Timed> {
        self.items.iter().filter(move |i| (i.from_s..i.to_s).contains(&at_s))
    }

    /// Gas and resets at this moment, in seconds of the counted part.
    pub fn conditions(&self, at_s: f64) -> Conditions {
        let mut c = Conditions::default();
        for i in self.acting(at_s) {
            match i.fault {
                Fault::NoGas(b) => c.gas &= !b.bit(),
                Fault::BoilerReset(b) => c.boiler_reset |= b.bit(),
                Fault::SafetyReset(s) => c.safety_reset |= s.bit(),
                _ => {}
            }
        }
        c
    }
}

fn stick(mask: &mut u64, bit: u64, stuck: Stuck) {
    match stuck {
        Stuck::Open => *mask &= !bit,
        Stuck::Closed => *mask |= bit,
    }
}

/// All contacts of one device.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Device {
    /// As bits of `Field::safeties`.
    safeties: u64,
    /// As bits of `Field::flow`.
    flow: u64,
    /// `Field::damper_open` is one of them.
    damper: bool,
}

impl Device {
    fn of(plant: &Plant, trip: Trip) -> Self {
        let same = plant.safeties.iter().enumerate().filter(|(_, s)| s.trip == trip);
        Self {
            safeties: same.fold(0, |m, (i, _)| m | SafetyId(i as u8).bit()),
            flow: if let Trip::BoilerFlow(b) = trip { b.bit() } else { 0 },
            damper: trip == Trip::DamperClosed,
        }
    }

    fn stick(&self, f: &mut Field, stuck: Stuck) {
        stick(&mut f.safeties, self.safeties, stuck);
        stick(&mut f.flow, self.flow, stuck);
        if self.damper {
            f.damper_open = stuck == Stuck::Closed;
        }
    }
}

/// Wires with faults laid over them.
#[derive(Clone, Debug)]
pub struct FaultyWires<W> {
    inner: W,
    script: Script,
    /// Safeties with a hand reset.
    manual: u64,
    /// All contacts of the device that a safety is, by `SafetyId`.
    devices: Vec<Device>,
    /// Those of the switch on the damper's blade.
    blade: Device,
    latched: u64,
    kept: [Option<Reading>; SENSORS],
}

impl<W: Wires> FaultyWires<W> {
    /// Lays a script over wires.
    pub fn new(inner: W, plant: &Plant, script: Script) -> Self {
        let at_rest_open = |t: Trip| matches!(t, Trip::BoilerFlow(_) | Trip::DamperClosed);
        let devices = plant.safeties.iter().enumerate().map(|(i, s)| {
            if at_rest_open(s.trip) {
                Device::of(plant, s.trip)
            } else {
                Device { safeties: SafetyId(i as u8).bit(), ..Device::default() }
            }
        });
        let manual =
            plant.safeties.iter().enumerate().filter(|(_, s)| s.reset == Reset::Manual && !at_rest_open(s.trip));
        Self {
            inner,
            script,
            manual: manual.fold(0, |m, (i, _)| m | SafetyId(i as u8).bit()),
            devices: devices.collect(),
            blade: Device::of(plant, Trip::DamperClosed),
            latched: 0,
            kept: [None; SENSORS],
        }
    }

    /// The field as the faults leave it.
    fn touched(&mut self, field: &Field) -> Field {
        let mut f = *field;
        let at_s = self.script.at_s(field.at);
        let mut frozen = 0;
        let (mut opened, mut reset) = (0, 0);
        for i in self.script.acting(at_s) {
            match i.fault {
                Fault::SensorOpen(s) => set(&mut f, s, |_| Reading::Open),
                Fault::SensorShort(s) => set(&mut f, s, |_| Reading::Short),
                Fault::SensorOff(s, k) => set(&mut f, s, |r| moved(r, k)),
                Fault::SensorDrifts(s, k_h) => set(&mut f, s, |r| moved(r, k_h * (at_s - i.from_s) / 3600.0)),
                Fault::SensorFrozen(s) => {
                    frozen |= s.bit();
                    if let Some(kept) = self.kept.get_mut(s.index()) {
                        let first = field.sensors.get(s.index()).copied().unwrap_or_default();
                        let value = *kept.get_or_insert(first);
                        set(&mut f, s, |_| value);
                    }
                }
                Fault::Thermostat(z, stuck) => stick(&mut f.calls, z.bit(), stuck),
                Fault::TankAquastat(stuck) => f.tank_call = stuck == Stuck::Closed,
                Fault::EndSwitch(z, stuck) => stick(&mut f.end_switches, z.bit(), stuck),
                Fault::DamperSwitch(stuck) => self.blade.stick(&mut f, stuck),
                Fault::FlameContact(b, stuck) => stick(&mut f.flame, b.bit(), stuck),
                Fault::Safety(s, stuck) => {
                    if let Some(device) = self.devices.get(s.index()) {
                        device.stick(&mut f, stuck);
                    }
                    if stuck == Stuck::Open {
                        opened |= s.bit();
                    }
                }
                Fault::Overload(p) => f.overloads &= !p.bit(),
                Fault::ClockLost => f.civil = None,
                Fault::PumpSwitch(p, position) => {
                    f.pump_auto &= !p.bit();
                    if position == Position::Hand {
                        f.pump_hand |= p.bit();
                    }
                }
                Fault::BoilerSwitchOff(b) => f.boiler_switch &= !b.bit(),
                Fault::Acknowledge => f.acknowledge = true,
                Fault::SafetyReset(s) => reset |= s.bit(),
                Fault::PumpDead(_)
                | Fault::PumpWelded(_)
                | Fault::Valve(..)
                | Fault::DamperDead
                | Fault::DemandWelded(_)
                | Fault::NoGas(_)
                | Fault::BoilerReset(_)
                | Fault::ControllerSilent
                | Fault::ControllerHangs
                | Fault::ControllerDead => {}
            }
        }
        self.latched = (self.latched & !(reset & !opened)) | (opened & self.manual);
        f.safeties &= !self.latched;
        for (i, kept) in self.kept.iter_mut().enumerate() {
            if frozen & SensorId(i as u8).bit() == 0 {
                *kept = None;
            }
        }
        f
    }
}

fn set(f: &mut Field, s: SensorId, to: impl Fn(Reading) -> Reading) {
    if let Some(slot) = f.sensors.get_mut(s.index()) {
        *slot = to(*slot);
    }
}

fn moved(r: Reading, by_k: f64) -> Reading {
    match r {
        Reading::At(t) => {
            // The cast saturates, and so does the sum.
            Reading::At(Temp::plus(t, TempDelta::from_centi_k((by_k * 100.0).round() as i16)))
        }
        Reading::NeverRead | Reading::Open | Reading::Short => r,
    }
}

impl<W: Wires> Wires for FaultyWires<W> {
    fn powered(&mut self, outputs: &Outputs, field: &Field) -> Powered {
        let touched = self.touched(field);
        let mut p = self.inner.powered(outputs, &touched);
        for i in self.script.acting(self.script.at_s(field.at)) {
            match i.fault {
                Fault::PumpDead(q) => p.pumps &= !q.bit(),
                Fault::PumpWelded(q) => p.pumps |= q.bit(),
                Fault::Valve(z, stuck) => stick(&mut p.valves, z.bit(), stuck),
                Fault::DamperDead => p.damper = false,
                Fault::DemandWelded(b) => p.demand |= b.bit(),
                _ => {}
            }
        }
        p
    }

    fn seen(&mut self, outputs: &Outputs, field: &Field) -> Inputs {
        let touched = self.touched(field);
        self.inner.seen(outputs, &touched)
    }
}

/// A controller with faults laid over it. When its power comes back it starts like new, without memory.
#[derive(Clone, Debug)]
pub struct FaultyControl<C> {
    inner: C,
    pristine: C,
    script: Script,
    /// What the controller last stated, whatever its relays were made to do.
    stated: Outputs,
    dead: bool,
}

impl<C: Control + Clone> FaultyControl<C> {
    /// Lays a script over a controller.
    pub fn new(inner: C, script: Script) -> Self {
        Self { pristine: inner.clone(), inner, script, stated: Outputs::default(), dead: false }
    }
}

impl<C: Control + Clone> Control for FaultyControl<C> {
    fn tick(&mut self, now: Instant, inputs: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        for i in self.script.acting(self.script.at_s(now)) {
            match i.fault {
                Fault::ControllerSilent => return Err(LinkError::Silent),
                Fault::ControllerHangs => return Ok(()),
                Fault::ControllerDead => {
                    self.dead = true;
                    *outputs = Outputs::default();
                    return Ok(());
                }
                _ => {}
            }
        }
        if self.dead {
            self.dead = false;
            self.inner = self.pristine.clone();
        }
        self.inner.tick(now, inputs, &mut self.stated)?;
        outputs.clone_from(&self.stated);
        Ok(())
    }

    fn next_due(&self) -> Option<Instant> {
        self.inner.next_due()
    }
}

/// A watch whose gas and resets come from a script.
pub struct Acting<'a> {
    /// The script.
    pub script: &'a Script,
    /// Who looks on.
    pub inner: &'a mut (dyn Watch + Send),
}

impl Watch for Acting<'_> {
    fn sample(&mut self, sample: &Sample<'_>) {
        self.inner.sample(sample);
    }

    fn progress(&mut self, done: f64) {
        self.inner.progress(done);
    }

    fn conditions(&mut self, at_s: f64) -> Conditions {
        self.script.conditions(at_s)
    }

    fn acts(&self) -> bool {
        self.script.acts_beside_wires() || self.inner.acts()
    }

    fn beside(&self) -> Box<dyn Watch + Send> {
        Box::new(Alone(self.script.clone()))
    }
}

/// The script's gas and resets, and nobody who looks.
struct Alone(Script);

impl Watch for Alone {
    fn conditions(&mut self, at_s: f64) -> Conditions {
        self.0.conditions(at_s)
    }

    fn acts(&self) -> bool {
        self.0.acts_beside_wires()
    }
}
