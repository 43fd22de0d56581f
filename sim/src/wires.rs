//! What the wires do between controller and plant: which load is live, and what each contact input sees.
//!
//! [`Field`] is the physical position of everything that switches by itself or by hand; [`Powered`] is what the
//! wires make of it and of the relays. Both are small and `Copy`, one bit an id, so that a run over the ideal wires and one
//! over a solved network of conductors can be compared bit by bit.
//!
//! [`Ideal`] is the wiring as meant:
//!
//! | load | live when |
//! |---|---|
//! | a pump | its switch is at HAND, or at AUTO with its relay on (or its boiler asking, where the boiler owns it); its overload is made; the zone and tank limits that open its circuit are made |
//! | a valve | its relay is on; the limits of its zone are made |
//! | the damper | its relay is on |
//! | a fan | its aquastat is made; without one, its zone calls |
//! | a boiler's line power | its service switch is on |
//! | a boiler's limit pair | every safety of the limit circuit with plant scope or this boiler's is made |
//! | a boiler's proving pair | every safety of the proving circuit with plant scope or this boiler's is made |
//! | a boiler's demand pair | its demand relay is on |
//!
//! What a limit opens is said by [`opens`]. HAND bypasses the controller only, never an overload or a limit. A chain tap of a safety sees the plant-wide safeties of
//! its circuit first, then those of its own scope, each in the order of the file, up to and including itself.
//!
//! Not here: voltages, conductors, the fallback plan when the health relay drops.

use crate::plant::{Drive, Plant};
use heatwright_core::{
    BoilerId, CivilMinute, ContactUse, Inputs, Instant, Outputs, Permille, PumpId, Reading, RelayId, RelayUse,
    SafetyId, Tap, ZoneId,
    config::{BoilerPump, Opens, SafetyCircuit, SafetyScope, ZoneDrive, opens},
    limits::{ANALOGS, BOILERS, CONTACTS, PUMPS, RELAYS, SENSORS, ZONES},
};

/// Physical positions in the plant, one bit an id; a set bit is a closed contact unless it says otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Field {
    /// The controller's own clock: what acts at a time (an injected fault) reads it here.
    pub at: Instant,
    /// Wall-clock time; `None` while the clock is not set.
    pub civil: Option<CivilMinute>,
    /// Zone thermostats that call, by `ZoneId`.
    pub calls: u64,
    /// The tank's aquastat calls.
    pub tank_call: bool,
    /// Made end switches of zone valves, by `ZoneId`.
    pub end_switches: u64,
    /// Made aquastats of fans, by `ZoneId`.
    pub fan_aquastats: u64,
    /// Boilers with their minimum flow, by `BoilerId`.
    pub flow: u64,
    /// The damper is fully open.
    pub damper_open: bool,
    /// Boilers whose flame contact is made, by `BoilerId`.
    pub flame: u64,
    /// Boilers whose fault contact is closed, by `BoilerId`: closed in fault.
    pub boiler_fault: u64,
    /// Boilers that ask for the pump they own, by `BoilerId`.
    pub boiler_pump_request: u64,
    /// Made safeties, by `SafetyId`.
    pub safeties: u64,
    /// Pumps whose hand switch stands at HAND, by `PumpId`.
    pub pump_hand: u64,
    /// Pumps whose hand switch stands at AUTO, by `PumpId`. Neither bit: OFF.
    pub pump_auto: u64,
    /// Pumps whose motor overload is made, by `PumpId`.
    pub overloads: u64,
    /// Boilers whose service switch is on, by `BoilerId`.
    pub boiler_switch: u64,
    /// The acknowledge button is pressed.
    pub acknowledge: bool,
    /// What each sensor's two leads carry, by `SensorId`.
    pub sensors: [Reading; SENSORS],
}

impl Default for Field {
    /// Everything at rest and healthy: safeties and overloads made, switches at AUTO and on, nobody calls.
    fn default() -> Self {
        Self {
            at: Instant::ZERO,
            civil: None,
            calls: 0,
            tank_call: false,
            end_switches: 0,
            fan_aquastats: 0,
            flow: 0,
            damper_open: false,
            flame: 0,
            boiler_fault: 0,
            boiler_pump_request: 0,
            safeties: u64::MAX,
            pump_hand: 0,
            pump_auto: u64::MAX,
            overloads: u64::MAX,
            boiler_switch: u64::MAX,
            acknowledge: false,
            sensors: [Reading::NeverRead; SENSORS],
        }
    }
}

impl Field {
    /// True when every contact and switch stands as in `other`; times and readings may differ.
    #[inline]
    pub fn same_contacts(&self, other: &Self) -> bool {
        let words = |f: &Self| {
            [
                f.calls,
                f.end_switches,
                f.fan_aquastats,
                f.flow,
                f.flame,
                f.boiler_fault,
                f.boiler_pump_request,
                f.safeties,
                f.pump_hand,
                f.pump_auto,
                f.overloads,
                f.boiler_switch,
            ]
        };
        let switches = |f: &Self| [f.tank_call, f.damper_open, f.acknowledge];
        // Without a branch for each: nearly always all of them are equal.
        let differ = words(self).iter().zip(words(other)).fold(0, |d, (a, b)| d | (a ^ b));
        differ == 0 && switches(self) == switches(other)
    }
}

/// What is live, one bit an id.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Powered {
    /// Pumps that run, by `PumpId`.
    pub pumps: u64,
    /// Zone valves that are driven open, by `ZoneId`.
    pub valves: u64,
    /// Fans that run, by `ZoneId`.
    pub fans: u64,
    /// The damper's actuator is driven open.
    pub damper: bool,
    /// Boilers whose demand pair is closed, by `BoilerId`.
    pub demand: u64,
    /// Boilers whose limit pair is closed, by `BoilerId`.
    pub limit: u64,
    /// Boilers whose proving pair is closed, by `BoilerId`.
    pub proving: u64,
    /// Boilers that have line power, by `BoilerId`.
    pub boiler_line: u64,
    /// The alarm sounds.
    pub alarm: bool,
    /// The health relay is energised.
    pub health: bool,
    /// 0-10 V as it arrives at its load, by `AnalogId`.
    pub analogs: [Permille; ANALOGS],
}

/// The wires between controller and plant. Both directions see the same moment: contacts act on loads without a controller.
pub trait Wires {
    /// What is live with these outputs and positions.
    fn powered(&mut self, outputs: &Outputs, field: &Field) -> Powered;

    /// What the controller's inputs see with these outputs and positions. Every field of the result is set.
    fn seen(&mut self, outputs: &Outputs, field: &Field) -> Inputs;

    /// True for wires that only depend on what the relays state and on the contacts of the field, and hand readings and
    /// wall-clock time through as they are: a run then asks them again only when one of those has changed.
    fn steady(&self) -> bool {
        false
    }
}

impl<W: Wires + ?Sized> Wires for Box<W> {
    fn powered(&mut self, outputs: &Outputs, field: &Field) -> Powered {
        (**self).powered(outputs, field)
    }

    fn seen(&mut self, outputs: &Outputs, field: &Field) -> Inputs {
        (**self).seen(outputs, field)
    }

    fn steady(&self) -> bool {
        (**self).steady()
    }
}

/// A contact input whose state is a copy of bits of the field.
#[derive(Clone, Copy, Debug)]
struct Look {
    contact: u8,
    what: Seen,
}

#[derive(Clone, Copy, Debug)]
enum Seen {
    Call(u64),
    TankCall,
    EndSwitch(u64),
    Flow(u64),
    DamperOpen,
    Flame(u64),
    BoilerFault(u64),
    /// All of these safeties made.
    Safeties(u64),
    Hand(u64),
    Auto(u64),
    BoilerSwitch(u64),
    Acknowledge,
}

/// The wiring as meant: a point is its load.
#[derive(Clone, Debug)]
pub struct Ideal {
    looks: Vec<Look>,
    relays: Vec<(RelayId, RelayUse)>,
    /// Boiler-owned pumps: pump bit by boiler, and whether the pump's relay counts too.
    own_pump: [u64; BOILERS],
    boilers: usize,
    /// Safeties that must be made for each pump that needs any, by its bit.
    pump_needs: Vec<(u64, u64)>,
    /// Safeties that must be made for each zone valve.
    valve_needs: [u64; ZONES],
    limit_needs: [u64; BOILERS],
    proving_needs: [u64; BOILERS],
    /// Zones whose fan runs with the call.
    fans_on_call: u64,
    fans: u64,
    analogs: usize,
}

impl Ideal {
    /// The ideal wires of a plant.
    pub fn new(plant: &Plant) -> Self {
        let relays = plant.points.relays.iter().enumerate().map(|(i, u)| (RelayId(i as u8), *u)).collect();
        let looks = plant.points.contacts.iter().enumerate().take(CONTACTS).filter_map(|(i, u)| {
            let what = look(plant, *u)?;
            Some(Look { contact: i as u8, what })
        });
        let mut own_pump = [0; BOILERS];
        for (slot, b) in own_pump.iter_mut().zip(&plant.boilers) {
            *slot = match b.pump {
                BoilerPump::Boiler(p) | BoilerPump::Either(p) => p.bit(),
                BoilerPump::None | BoilerPump::Controller(_) => 0,
            };
        }
        let opened_by = |what| mask(plant, |s| opened(plant, s) == Some(what));
        let pump_needs = (0..PUMPS).map(|i| PumpId(i as u8)).map(|p| (p.bit(), opened_by(Opens::Pump(p))));
        let pump_needs = pump_needs.filter(|(_, needs)| *needs != 0).collect();
        let valve_needs = std::array::from_fn(|i| opened_by(Opens::Valve(ZoneId(i as u8))));
        let needs = |circuit| {
            let mut all = [0; BOILERS];
            for (i, slot) in all.iter_mut().enumerate() {
                let b = BoilerId(i as u8);
                *slot = mask(plant, |s| plant.safety_stops(s, b, circuit));
            }
            all
        };
        let fan_mask = |on_call_only: bool| {
            plant.zones.iter().take(ZONES).enumerate().fold(0, |m, (i, z)| match z.fan {
                Some(f) if !on_call_only || f.aquastat_c.is_none() => m | ZoneId(i as u8).bit(),
                _ => m,
            })
        };
        Self {
            looks: looks.collect(),
            relays,
            own_pump,
            boilers: plant.boilers.len().min(BOILERS),
            pump_needs,
            valve_needs,
            limit_needs: needs(SafetyCircuit::Limit),
            proving_needs: needs(SafetyCircuit::Proving),
            fans_on_call: fan_mask(true),
            fans: fan_mask(false),
            analogs: plant.points.analogs.len().min(ANALOGS),
        }
    }
}

/// Bits of all safeties for which `keep` holds.
fn mask(plant: &Plant, keep: impl Fn(SafetyId) -> bool) -> u64 {
    (0..plant.safeties.len()).map(|i| SafetyId(i as u8)).filter(|s| keep(*s)).fold(0, |m, s| m | s.bit())
}

/// The pump's or valve's circuit that a safety opens.
fn opened(plant: &Plant, s: SafetyId) -> Option<Opens> {
    let safety = plant.safeties.get(s.index())?;
    let drive = |z: ZoneId| {
        Some(match plant.zones.get(z.index())?.drive {
            Drive::Pump(p) => ZoneDrive::Pump(p),
            Drive::Valve { pump, .. } => ZoneDrive::Valve { pump },
        })
    };
    opens(safety.circuit, safety.scope, drive, plant.tank.as_ref().map(|t| t.pump))
}

/// Safeties that a chain tap of `s` looks through.
fn chain(plant: &Plant, s: SafetyId) -> u64 {
    let Some(own) = plant.safeties.get(s.index()) else { return s.bit() };
    let upstream = mask(plant, |o| {
        let other = &plant.safeties[o.index()];
        let before = o <= s;
        let common = other.scope == SafetyScope::Plant;
        other.circuit == own.circuit
            && if own.scope == SafetyScope::Plant {
                common && before
            } else {
                common || (other.scope == own.scope && before)
            }
    });
    upstream | s.bit()
}

fn look(plant: &Plant, what: ContactUse) -> Option<Seen> {
    Some(match what {
        ContactUse::Spare => return None,
        ContactUse::Call(z) => Seen::Call(z.bit()),
        ContactUse::TankCall => Seen::TankCall,
        ContactUse::EndSwitch(z) => Seen::EndSwitch(z.bit()),
        ContactUse::Flow(b) => Seen::Flow(b.bit()),
        ContactUse::DamperOpen => Seen::DamperOpen,
        ContactUse::Flame(b) => Seen::Flame(b.bit()),
        ContactUse::BoilerFault(b) => Seen::BoilerFault(b.bit()),
        ContactUse::Safety(s, Tap::Aux) => Seen::Safeties(s.bit()),
        ContactUse::Safety(s, Tap::Chain) => Seen::Safeties(chain(plant, s)),
        ContactUse::Hand(p) => Seen::Hand(p.bit()),
        ContactUse::Auto(p) => Seen::Auto(p.bit()),
        ContactUse::BoilerSwitch(b) => Seen::BoilerSwitch(b.bit()),
        ContactUse::Acknowledge => Seen::Acknowledge,
    })
}

impl Wires for Ideal {
    fn powered(&mut self, outputs: &Outputs, field: &Field) -> Powered {
        // Without its alarm relay a panel has no alarm to sound; the relay, where it is, drops on alarm.
        let mut p = Powered { health: true, ..Powered::default() };
        let mut asked = 0;
        for (r, what) in &self.relays {
            let on = outputs.relay(*r).on;
            match what {
                RelayUse::Spare => {}
                RelayUse::Demand(b) if on => p.demand |= b.bit(),
                RelayUse::Pump(q) if on => asked |= q.bit(),
                RelayUse::Valve(z) if on => {
                    let needs = self.valve_needs.get(z.index()).copied().unwrap_or(0);
                    if field.safeties & needs == needs {
                        p.valves |= z.bit();
                    }
                }
                RelayUse::Demand(_) | RelayUse::Pump(_) | RelayUse::Valve(_) => {}
                RelayUse::Damper => p.damper = on,
                RelayUse::Alarm => p.alarm = !on,
                RelayUse::Health => p.health = on,
            }
        }
        for b in 0..self.boilers {
            let bit = BoilerId(b as u8).bit();
            if field.boiler_pump_request & bit != 0 {
                asked |= self.own_pump[b];
            }
            if field.safeties & self.limit_needs[b] == self.limit_needs[b] {
                p.limit |= bit;
            }
            if field.safeties & self.proving_needs[b] == self.proving_needs[b] {
                p.proving |= bit;
            }
            p.boiler_line |= field.boiler_switch & bit;
        }
        let mut live = (field.pump_hand | (field.pump_auto & asked)) & field.overloads;
        for (pump, needs) in &self.pump_needs {
            if field.safeties & needs != *needs {
                live &= !pump;
            }
        }
        p.pumps = live & ((1 << PUMPS) - 1);
        p.fans = self.fans & ((field.calls & self.fans_on_call) | (field.fan_aquastats & !self.fans_on_call));
        for (slot, s) in p.analogs.iter_mut().zip(&outputs.analogs).take(self.analogs) {
            *slot = s.at;
        }
        p
    }

    fn seen(&mut self, _outputs: &Outputs, field: &Field) -> Inputs {
        let mut contacts = 0;
        for l in &self.looks {
            let closed = match l.what {
                Seen::Call(m) => field.calls & m != 0,
                Seen::TankCall => field.tank_call,
                Seen::EndSwitch(m) => field.end_switches & m != 0,
                Seen::Flow(m) => field.flow & m != 0,
                Seen::DamperOpen => field.damper_open,
                Seen::Flame(m) => field.flame & m != 0,
                Seen::BoilerFault(m) => field.boiler_fault & m != 0,
                Seen::Safeties(m) => field.safeties & m == m,
                Seen::Hand(m) => field.pump_hand & m != 0,
                Seen::Auto(m) => field.pump_auto & m != 0,
                Seen::BoilerSwitch(m) => field.boiler_switch & m != 0,
                Seen::Acknowledge => field.acknowledge,
            };
            contacts |= u64::from(closed) << l.contact;
        }
        Inputs { civil: field.civil, contacts, sensors: field.sensors }
    }

    fn steady(&self) -> bool {
        true
    }
}

const _: () = assert!(RELAYS <= 64 && CONTACTS <= 64 && PUMPS < 64 && ZONES <= 64 && BOILERS <= 64);
