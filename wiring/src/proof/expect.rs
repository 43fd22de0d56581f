//! What must be seen, from the job and its points alone.
//!
//! Each watch has a rule over free actuators: a load must be live exactly while its rule is true, an input closed exactly
//! while its rule is true. The rules:
//! * A pump: HAND, or AUTO and asked for by its relay or by its boiler; and its overload not tripped, and the limits of the
//!   zones on it or of the tank healthy. HAND passes no limit by. Without a selector it is always AUTO.
//! * A zone valve: its relay energised and the limits of its zone healthy. What a limit opens is `config::opens` of the core.
//! * A fan: its water hot, and where it has a starter the overload not tripped.
//! * While the health relay is dropped and the plant hands over, or always without a controller: a call starts its pump and opens its
//!   valve, any call makes every demand pair, starts every boiler pump of ours and opens the damper. Without a controller a
//!   valve's end switch stands for the call of its zone, and zones that wait for the tank do so while it calls.
//! * Burner power of a boiler: its line on and every limit safety of the plant and of its own healthy.
//! * Proving pair: line on and every proving safety made. Demand pair: line on and its relay energised.
//! * A tap in a chain sees the safeties before it in file order too; an auxiliary switch sees its own safety only.
//! * The alarm sounds while its relay or the health relay is *not* energised.
//! * A contact handed to building automation is closed while its relay is energised.
//! * A transformer's primary is live with its live side on the ungrounded conductor, or dead.
//! * With the power off, each contact stands as it must at rest, and each circuit is clear of ground and of every other.
//! * An end switch joined to its actuator's supply is seen only while that supply is on.
//!
//! "Healthy" for a flow or damper switch means made by flow or damper, for every other safety not tripped.
//!
//! What it deliberately does not do: it does not look at devices or rows, so that a slip of the planner cannot hide here.

use crate::{
    job::{BoilerContact, Control, EndSwitch, Fallback, Job, PumpMotor, Selector, ZoneValve},
    net::{ActuatorSet, Seen, Watch, What},
    part::{Actuator, LoadUse},
};
use heatwright_core::{
    AnalogId, AnalogUse, BoilerId, ContactId, ContactUse, PumpId, RelayUse, SafetyId, SensorId, SensorUse, Tap, ZoneId,
    config::{BoilerPump, Opens, PumpRole, SafetyCircuit, SafetyKind, SafetyScope, ZoneDrive, opens},
};

/// A rule over free actuators.
#[derive(Clone, Debug, PartialEq)]
pub enum Rule {
    /// Always or never.
    Fixed(bool),
    /// True while the actuator acts.
    On(Actuator),
    /// True while the actuator does not act.
    Off(Actuator),
    /// True while all are.
    All(Vec<Rule>),
    /// True while one is.
    Any(Vec<Rule>),
}

impl Rule {
    /// Its truth for one position.
    pub fn holds(&self, set: &ActuatorSet) -> bool {
        match self {
            Rule::Fixed(b) => *b,
            Rule::On(a) => set.get(*a),
            Rule::Off(a) => !set.get(*a),
            Rule::All(l) => l.iter().all(|r| r.holds(set)),
            Rule::Any(l) => l.iter().any(|r| r.holds(set)),
        }
    }

    /// Adds every actuator that it depends on.
    pub fn support(&self, out: &mut Vec<Actuator>) {
        match self {
            Rule::Fixed(_) => {}
            Rule::On(a) | Rule::Off(a) => out.push(*a),
            Rule::All(l) | Rule::Any(l) => l.iter().for_each(|r| r.support(out)),
        }
    }
}

/// What one watch must show.
#[derive(Clone, Debug, PartialEq)]
pub enum Want {
    /// Live exactly while the rule is true, dead otherwise.
    Power(Rule),
    /// Closed exactly while the rule is true, open otherwise.
    Contact(Rule),
    /// Exactly this element or output.
    Id(u8),
    /// Nothing connected.
    Nothing,
    /// On ground.
    Bonded,
    /// One end on ground.
    OneEnd,
    /// On ground with the return pole or not at all.
    GroundedReturn,
    /// In or out, but never with line and grounded side exchanged. Whether it must be in shows at what its contacts switch.
    Coil,
    /// As it must be at rest.
    AtRest,
    /// Clear of ground and of every other circuit but its like at the same device.
    Clear,
    /// Clear of every other circuit; on ground where its tie says so.
    Apart,
    /// The job has no such thing.
    Absent,
}

impl Want {
    /// Whether what is seen is what must be seen.
    pub fn met(&self, seen: Seen, set: &ActuatorSet) -> bool {
        match self {
            Want::Power(r) => seen == if r.holds(set) { Seen::Live } else { Seen::Dead },
            Want::Contact(r) => seen == if r.holds(set) { Seen::Closed } else { Seen::Open },
            Want::Id(i) => seen == Seen::Id(*i),
            Want::Nothing => seen == Seen::Nothing,
            Want::Bonded => seen == Seen::Bonded,
            Want::OneEnd => seen == Seen::Ends(1),
            Want::GroundedReturn => matches!(seen, Seen::TieReturn | Seen::TieNone),
            Want::Coil => matches!(seen, Seen::Live | Seen::Dead),
            Want::AtRest => seen == Seen::AtRest,
            Want::Clear => matches!(seen, Seen::Clear | Seen::Among(_)),
            Want::Apart => matches!(seen, Seen::Clear | Seen::OnGround),
            Want::Absent => false,
        }
    }

    /// The rule by which it depends on where actuators stand.
    pub(super) fn rule(&self) -> Option<&Rule> {
        match self {
            Want::Power(r) | Want::Contact(r) => Some(r),
            _ => None,
        }
    }

    /// The same where its rule is known to hold, or not to.
    pub(super) fn while_rule(&self, holds: bool) -> Self {
        match self {
            Want::Power(_) => Want::Power(Rule::Fixed(holds)),
            Want::Contact(_) => Want::Contact(Rule::Fixed(holds)),
            other => other.clone(),
        }
    }

    /// The actuators that it depends on.
    pub fn support(&self) -> Vec<Actuator> {
        let mut out = Vec::new();
        if let Some(r) = self.rule() {
            r.support(&mut out);
        }
        out
    }
}

/// What must be seen everywhere, for one job.
#[derive(Clone, Copy, Debug)]
pub struct Expectation<'a> {
    job: &'a Job,
}

impl<'a> Expectation<'a> {
    /// From a job.
    pub fn new(job: &'a Job) -> Self {
        Self { job }
    }

    /// What this watch must show.
    pub fn of(&self, watch: &Watch) -> Want {
        match watch.what {
            What::Load(l) => self.load(l).map_or(Want::Absent, Want::Power),
            What::Coil => Want::Coil,
            What::Input(c) => self.input(c),
            What::Sensor(SensorId(i)) => match self.job.points.sensors.get(usize::from(i)) {
                None => Want::Absent,
                Some(SensorUse::Spare) => Want::Nothing,
                Some(_) => Want::Id(i),
            },
            What::Signal(AnalogId(i)) => match self.job.points.analogs.get(usize::from(i)) {
                None | Some(AnalogUse::Spare) => Want::Absent,
                Some(_) => Want::Id(i),
            },
            What::Bonded => Want::Bonded,
            What::Shield(_) => Want::OneEnd,
            What::Tie => Want::GroundedReturn,
            What::Primary => Want::Coil,
            What::Continuity => Want::AtRest,
            // Only a transformer's secondary may be grounded, which its tie judges.
            What::Insulation if watch.volts > 0 => Want::Apart,
            What::Insulation => Want::Clear,
        }
    }

    /// Everything that a plan of this job must have a watch for.
    pub fn wanted(&self) -> Vec<What> {
        let job = self.job;
        let mut out = Vec::new();
        let p = &job.points;
        let ids = |n: usize| 0..n.min(256) as u16;
        out.extend(
            ids(p.contacts.len())
                .filter(|i| p.contacts[usize::from(*i)] != ContactUse::Spare)
                .map(|i| What::Input(ContactId(i as u8))),
        );
        out.extend(
            ids(p.sensors.len())
                .filter(|i| p.sensors[usize::from(*i)] != SensorUse::Spare)
                .map(|i| What::Sensor(SensorId(i as u8))),
        );
        out.extend(
            ids(p.analogs.len())
                .filter(|i| p.analogs[usize::from(*i)] != AnalogUse::Spare)
                .map(|i| What::Signal(AnalogId(i as u8))),
        );
        let mut load = |l| out.push(What::Load(l));
        if job.control == Control::Controller {
            load(LoadUse::Controller);
        }
        for b in ids(job.boilers.len()).map(|i| BoilerId(i as u8)) {
            [LoadUse::BoilerLine(b), LoadUse::Limit(b), LoadUse::Proving(b), LoadUse::Demand(b)]
                .into_iter()
                .for_each(&mut load);
        }
        for (i, pump) in job.pumps.iter().enumerate() {
            let id = PumpId(i as u8);
            if start_input(pump.motor) {
                load(LoadUse::PumpSupply(id));
                load(LoadUse::PumpStart(id));
            } else {
                load(LoadUse::Pump(id));
            }
        }
        for (i, zone) in job.zones.iter().enumerate() {
            let z = ZoneId(i as u8);
            if zone.valve.is_some() {
                load(LoadUse::Valve(z));
            }
            if zone.mixing.is_some() {
                load(LoadUse::Mixing(z));
            }
            for fan in 0..zone.fan.map_or(0, |f| f.count) {
                load(LoadUse::Fan(z, fan));
            }
            if zone.thermostat.kind == crate::job::ThermostatKind::Powered {
                load(LoadUse::Thermostat(z));
            }
        }
        for (i, s) in job.safeties.iter().enumerate() {
            if s.supply.is_some() {
                load(LoadUse::SafetySupply(SafetyId(i as u8)));
            }
        }
        if job.damper.is_some() {
            load(LoadUse::Damper);
        }
        for i in ids(job.condensate_pumps.len()) {
            load(LoadUse::CondensatePump(i as u8));
        }
        for i in ids(job.automation.len()) {
            load(LoadUse::Automation(i as u8));
        }
        if job.beacon.is_some() {
            load(LoadUse::Beacon);
        }
        if !job.receptacles.is_empty() {
            load(LoadUse::Receptacle);
        }
        out
    }

    /// The safeties in a boiler's limit pair.
    pub fn limits_of(&self, b: BoilerId) -> Vec<SafetyId> {
        self.in_circuit(SafetyCircuit::Limit, b)
    }

    fn in_circuit(&self, circuit: SafetyCircuit, b: BoilerId) -> Vec<SafetyId> {
        self.safeties(|s| s.circuit == circuit && (s.scope == SafetyScope::Plant || s.scope == SafetyScope::Boiler(b)))
    }

    /// The zone and tank limits that open this circuit.
    fn opening(&self, what: Opens) -> Vec<SafetyId> {
        let drive = |z: ZoneId| self.job.zones.get(z.index()).map(|z| z.drive);
        let tank = self.job.tank.map(|t| t.pump);
        self.safeties(|s| opens(s.circuit, s.scope, drive, tank) == Some(what))
    }

    fn safeties(&self, fits: impl Fn(&heatwright_core::config::SafetyConfig) -> bool) -> Vec<SafetyId> {
        let all = self.job.safeties.iter().enumerate();
        all.filter(|(_, s)| fits(&s.config)).map(|(i, _)| SafetyId(i as u8)).collect()
    }

    /// The actuator of a safety's contact and the rule for "healthy".
    pub fn healthy(&self, s: SafetyId) -> Rule {
        match self.job.safeties.get(s.index()).map(|s| (s.config.kind, s.config.scope)) {
            Some((SafetyKind::FlowSwitch, SafetyScope::Boiler(b))) => Rule::On(Actuator::Flow(b)),
            Some((SafetyKind::DamperSwitch, _)) => Rule::On(Actuator::DamperOpen),
            _ => Rule::Off(Actuator::Trip(s)),
        }
    }

    /// When a safety's own supply is live: with its boiler's switch on, where it hangs behind that one.
    fn supplied(&self, s: SafetyId) -> Rule {
        crate::pass::choose::fed_by_boiler(self.job, s).map_or(Rule::Fixed(true), |b| self.line(b))
    }

    /// When a safety's contact is made: healthy, and with its supply live where that is what makes it.
    fn made(&self, s: SafetyId) -> Rule {
        match self.job.safeties.get(s.index()) {
            Some(own) if own.supply.is_some() && own.rest == crate::part::Rest::Open => {
                Rule::All(vec![self.supplied(s), self.healthy(s)])
            }
            _ => self.healthy(s),
        }
    }

    fn all_healthy(&self, list: Vec<SafetyId>) -> Rule {
        Rule::All(list.into_iter().map(|s| self.healthy(s)).collect())
    }

    fn relay(&self, what: RelayUse) -> Rule {
        self.job.points.relay(what).map_or(Rule::Fixed(false), |r| Rule::On(Actuator::Relay(r)))
    }

    fn line(&self, b: BoilerId) -> Rule {
        Rule::Off(Actuator::BoilerSwitchOff(b))
    }

    /// A contact of a boiler: one that the boiler puts its own voltage on needs the boiler's line.
    fn boiler_contact(&self, b: BoilerId, contact: Option<&BoilerContact>, by: Actuator) -> Rule {
        match contact {
            None => Rule::Fixed(false),
            Some(c) if c.dry => Rule::On(by),
            Some(_) => Rule::All(vec![self.line(b), Rule::On(by)]),
        }
    }

    /// Calls that act without the controller: while the health relay is dropped, or always where there is no controller.
    fn by_calls(&self, calls: Vec<Rule>) -> Rule {
        let any = Rule::Any(calls);
        match (self.job.control, self.job.fallback, self.job.points.relay(RelayUse::Health)) {
            (Control::ZoneRelays, ..) => any,
            (Control::Controller, Fallback::FixedTarget, Some(health)) if self.job.panel.hand_over => {
                Rule::All(vec![Rule::Off(Actuator::Relay(health)), any])
            }
            _ => Rule::Fixed(false),
        }
    }

    fn by_any_call(&self) -> Rule {
        let mut calls: Vec<Rule> = (0..self.job.zones.len()).map(|z| self.asking(ZoneId(z as u8))).collect();
        calls.extend(self.job.tank.map(|_| Rule::On(Actuator::TankCall)));
        self.by_calls(calls)
    }

    /// True for a zone whose pump and boilers wait for its valve's end switch: control by zone relays.
    fn end_switch_asks(&self, zone: &crate::job::Zone) -> bool {
        let end = zone.valve.map_or(EndSwitch::None, |v| v.end_switch);
        self.job.control == Control::ZoneRelays && end != EndSwitch::None
    }

    /// When a zone asks for its pump and the boilers.
    fn asking(&self, z: ZoneId) -> Rule {
        let call = Rule::On(Actuator::Call(z));
        match self.job.zones.get(z.index()).filter(|zone| self.end_switch_asks(zone)).and_then(|zone| zone.valve) {
            None => call,
            Some(v) => self.end_switch(z, v).unwrap_or(call),
        }
    }

    /// The same for a zone that waits while the tank calls, where the plant says so.
    fn not_waiting(&self, z: ZoneId, rule: Rule) -> Rule {
        let waits =
            self.job.control == Control::ZoneRelays && self.job.tank.is_some() && self.job.wait_for_tank.contains(&z);
        if waits { Rule::All(vec![rule, Rule::Off(Actuator::TankCall)]) } else { rule }
    }

    /// When an end switch is made: one joined to its actuator's supply only while that supply is on.
    fn end_switch(&self, z: ZoneId, v: ZoneValve) -> Option<Rule> {
        let open = Rule::On(Actuator::ValveOpen(z));
        if v.end_switch == EndSwitch::Joined {
            Some(Rule::All(vec![open, self.load(LoadUse::Valve(z))?]))
        } else {
            Some(open)
        }
    }

    /// Whose calls start this pump.
    fn calls_for(&self, p: PumpId) -> Vec<Rule> {
        let takes = |z: &crate::job::Zone| match z.drive {
            ZoneDrive::Pump(q) | ZoneDrive::Valve { pump: Some(q) } => q == p,
            ZoneDrive::Valve { pump: None } => false,
        };
        let zones = self.job.zones.iter().enumerate().filter(|(_, z)| takes(z));
        let mut calls: Vec<Rule> = zones
            .map(|(z, zone)| {
                let z = ZoneId(z as u8);
                // Behind its end switch a pump waits already while the valve is shut for the tank.
                if self.end_switch_asks(zone) { self.asking(z) } else { self.not_waiting(z, self.asking(z)) }
            })
            .collect();
        calls.extend(self.job.tank.filter(|t| t.pump == p).map(|_| Rule::On(Actuator::TankCall)));
        calls
    }

    fn load(&self, l: LoadUse) -> Option<Rule> {
        let job = self.job;
        let boiler = |b: BoilerId| job.boilers.get(b.index());
        Some(match l {
            LoadUse::Pump(p) | LoadUse::PumpStart(p) => self.pump(p)?,
            // A start input is wetted by its pump, so a limit that opens the supply stops both.
            LoadUse::PumpSupply(p) => self.all_healthy(self.opening(Opens::Pump(p))),
            LoadUse::Mixing(_) | LoadUse::Thermostat(_) | LoadUse::Controller | LoadUse::Receptacle => {
                Rule::Fixed(true)
            }
            LoadUse::CondensatePump(i) => job.condensate_pumps.get(usize::from(i)).map(|_| Rule::Fixed(true))?,
            LoadUse::Automation(i) => self.relay(job.automation.get(usize::from(i))?.relay()),
            LoadUse::SafetySupply(s) => self.supplied(s),
            LoadUse::Valve(z) => {
                let own = self.opening(Opens::Valve(z));
                let by_call = self.by_calls(vec![self.not_waiting(z, Rule::On(Actuator::Call(z)))]);
                Rule::All(vec![Rule::Any(vec![self.relay(RelayUse::Valve(z)), by_call]), self.all_healthy(own)])
            }
            LoadUse::Fan(z, n) => {
                let fan = job.zones.get(z.index())?.fan?;
                let hot = Rule::On(Actuator::FanAquastat(z, n));
                if fan.supply.phases == 3 && !fan.overload_built_in {
                    Rule::All(vec![hot, Rule::Off(Actuator::FanOverload(z, n))])
                } else {
                    hot
                }
            }
            LoadUse::Damper => Rule::Any(vec![self.relay(RelayUse::Damper), self.by_any_call()]),
            LoadUse::BoilerLine(b) => boiler(b).map(|_| self.line(b))?,
            LoadUse::Limit(b) => {
                boiler(b)?;
                Rule::All(vec![self.line(b), self.all_healthy(self.in_circuit(SafetyCircuit::Limit, b))])
            }
            LoadUse::Proving(b) => {
                boiler(b)?;
                Rule::All(vec![self.line(b), self.all_healthy(self.in_circuit(SafetyCircuit::Proving, b))])
            }
            LoadUse::Demand(b) => {
                boiler(b)?;
                Rule::All(vec![self.line(b), Rule::Any(vec![self.relay(RelayUse::Demand(b)), self.by_any_call()])])
            }
            LoadUse::Beacon => {
                let drops = [RelayUse::Alarm, RelayUse::Health].map(|u| job.points.relay(u));
                Rule::Any(drops.into_iter().flatten().map(|r| Rule::Off(Actuator::Relay(r))).collect())
            }
        })
    }

    fn pump(&self, p: PumpId) -> Option<Rule> {
        let job = self.job;
        let pump = job.pumps.get(p.index())?;
        let mut asked = Vec::new();
        let mut ours = true;
        for (i, b) in job.boilers.iter().enumerate() {
            let id = BoilerId(i as u8);
            let by = || {
                let asks = self.boiler_contact(id, b.marks.pump.as_ref(), Actuator::BoilerPump(id));
                let own = crate::pass::choose::asks_with_its_line(self.job, id);
                if own { Rule::All(vec![self.line(id), asks]) } else { asks }
            };
            match b.pump {
                BoilerPump::Boiler(q) if q == p => {
                    ours = false;
                    asked.push(by());
                }
                BoilerPump::Either(q) if q == p => asked.push(by()),
                _ => {}
            }
        }
        if ours {
            asked.push(self.relay(RelayUse::Pump(p)));
            asked.push(match pump.role {
                PumpRole::Boiler(_) => self.by_any_call(),
                _ => self.by_calls(self.calls_for(p)),
            });
        }
        let automatic = Rule::Any(asked);
        let mut all = vec![match pump.selector {
            Selector::None => automatic,
            Selector::HandOffAuto => {
                Rule::Any(vec![Rule::On(Actuator::Hand(p)), Rule::All(vec![Rule::On(Actuator::Auto(p)), automatic])])
            }
        }];
        let commutated = matches!(pump.motor, PumpMotor::ElectronicallyCommutated { .. });
        if !pump.overload_built_in && !commutated {
            all.push(Rule::Off(Actuator::Overload(p)));
        }
        all.push(self.all_healthy(self.opening(Opens::Pump(p))));
        Some(Rule::All(all))
    }

    fn input(&self, c: ContactId) -> Want {
        let Some(what) = self.job.points.contacts.get(c.index()) else { return Want::Absent };
        let marks = |b: BoilerId| self.job.boilers.get(b.index()).map(|b| &b.marks);
        Want::Contact(match *what {
            ContactUse::Spare => Rule::Fixed(false),
            ContactUse::Call(z) => Rule::On(Actuator::Call(z)),
            ContactUse::TankCall => Rule::On(Actuator::TankCall),
            ContactUse::EndSwitch(z) => match self.job.zones.get(z.index()).and_then(|z| z.valve) {
                None => Rule::Fixed(false),
                Some(v) => match self.end_switch(z, v) {
                    Some(rule) => rule,
                    None => return Want::Absent,
                },
            },
            ContactUse::Flow(b) => Rule::On(Actuator::Flow(b)),
            ContactUse::DamperOpen => Rule::On(Actuator::DamperOpen),
            ContactUse::Flame(b) => self.boiler_contact(b, marks(b).and_then(|m| m.flame.as_ref()), Actuator::Flame(b)),
            ContactUse::BoilerFault(b) => {
                self.boiler_contact(b, marks(b).and_then(|m| m.fault.as_ref()), Actuator::BoilerFault(b))
            }
            ContactUse::Safety(s, Tap::Aux) => self.made(s),
            ContactUse::Safety(s, Tap::Chain) => {
                let Some(own) = self.job.safeties.get(s.index()).map(|s| &s.config) else { return Want::Absent };
                let same = |o: &heatwright_core::config::SafetyConfig| o.circuit == own.circuit && o.scope == own.scope;
                let chained = matches!(own.circuit, SafetyCircuit::Limit | SafetyCircuit::Proving);
                let before: Vec<SafetyId> =
                    self.safeties(same).into_iter().filter(|o| *o == s || (chained && *o < s)).collect();
                Rule::All(Vec::into_iter(before).map(|s| self.made(s)).collect())
            }
            ContactUse::Hand(p) => Rule::On(Actuator::Hand(p)),
            ContactUse::Auto(p) => Rule::On(Actuator::Auto(p)),
            ContactUse::BoilerSwitch(b) => self.line(b),
            ContactUse::Acknowledge => Rule::On(Actuator::Acknowledge),
        })
    }
}

fn start_input(m: PumpMotor) -> bool {
    matches!(m, PumpMotor::ElectronicallyCommutated { start_input: true })
}
