//! An observer of a running controller. It sees inputs and outputs only, never the state.
//!
//! What is watched has a name each, so that a planted fault can be shown to be reported by its own watcher and by no other.

use super::*;

/// What must hold whatever happens.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Invariant {
    /// No demand through an open safety, a fault, a switch or without a proof.
    NoDemandThroughAStop,
    /// No demand over the upper bound of the boiler's own water, whatever the supply sensor says.
    NoDemandOverTheOutletBound,
    /// No boiler is told a target over its upper bound.
    NoTargetOverTheOutletBound,
    /// No start inside the shortest stop or post-purge.
    BoilerRests,
    /// No ordinary stop inside the shortest run.
    BoilerRuns,
    /// A boiler's pump runs with its demand and through its overrun.
    BoilerPumpRuns,
    /// No pump starts inside its shortest stop.
    PumpRests,
    /// No pump stops inside its shortest run.
    PumpRuns,
    /// A sensor that fails raises no firing.
    FailedSensorRaisesNothing,
    /// One boiler's own fault stops no other.
    OwnFaultStopsNoOther,
    /// What is due at once comes to rest.
    ComesToRest,
    /// A tick that is not due changes nothing.
    EarlyTickChangesNothing,
    /// A rebased state does the same.
    RebasedDoesTheSame,
    /// With a call, good inputs and the button pressed, heat comes.
    HeatComes,
}

/// Watches one controller from power-up on.
#[derive(Clone, Debug)]
pub struct Observer {
    demand_on: [Option<u32>; 4],
    demand_off: [u32; 4],
    pump_on: Vec<Option<u32>>,
    pump_off: Vec<u32>,
    /// A pump that ran was found at OFF here: back within a second, its switch has only passed it.
    pump_passes: Vec<Option<u32>>,
    unlit_since: [Option<u32>; 4],
    /// The power went under a demand: its pump could not run on.
    excused: [bool; 4],
    before: Inputs,
}

/// What went wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Violation {
    /// What did not hold.
    pub invariant: Invariant,
    /// In words.
    pub what: String,
}

impl std::fmt::Display for Violation {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.what)
    }
}

/// A violation.
pub fn broken(invariant: Invariant, what: String) -> Violation {
    Violation { invariant, what }
}

impl Observer {
    pub fn new(config: &Config) -> Self {
        Self {
            demand_on: [None; 4],
            demand_off: [0; 4],
            pump_on: vec![None; config.pumps.len()],
            pump_off: vec![0; config.pumps.len()],
            pump_passes: vec![None; config.pumps.len()],
            unlit_since: [None; 4],
            excused: [false; 4],
            before: Inputs::default(),
        }
    }

    /// Every relay has dropped at this second: the power went.
    pub fn dropped(&mut self, at_s: u32) {
        self.excused = [true; 4];
        for (on, off) in self.demand_on.iter_mut().zip(&mut self.demand_off) {
            if on.take().is_some() {
                *off = at_s;
            }
        }
        for (on, off) in self.pump_on.iter_mut().zip(&mut self.pump_off) {
            if on.take().is_some() {
                *off = at_s;
            }
        }
        self.unlit_since = [None; 4];
        self.pump_passes.fill(None);
    }

    /// Looks at one second: what was seen and what was stated.
    pub fn second(&mut self, config: &Config, now_s: u32, inputs: &Inputs, outputs: &Outputs) -> Vec<Violation> {
        let mut v = Vec::new();
        let closed = |u: ContactUse| config.points.contact(u).is_none_or(|c| inputs.closed(c));
        let relay = |u: RelayUse| config.points.relay(u).is_some_and(|r| outputs.relay(r).on);
        for (i, c) in config.boilers.iter().enumerate() {
            let b = BoilerId(i as u8);
            let on = relay(RelayUse::Demand(b));
            let cut = cut(config, inputs, b);
            if on && let Some(why) = &cut {
                v.push(broken(Invariant::NoDemandThroughAStop, format!("boiler {i} has a demand although {why}")));
            }
            if on && outlet_over(config, inputs, b, c.outlet_max) {
                let what = format!("boiler {i} has a demand although its water is over its bound");
                v.push(broken(Invariant::NoDemandOverTheOutletBound, what));
            }
            if let Some(told) = told(config, outputs, b).filter(|t| *t > c.outlet_max) {
                let what = format!("boiler {i} is told {} hundredths of a degree", told.centi_c());
                v.push(broken(Invariant::NoTargetOverTheOutletBound, what));
            }
            // Starts and stops.
            match (self.demand_on[i], on) {
                (None, true) => {
                    let rest = (now_s - self.demand_off[i]) * 10;
                    if rest < c.off_min.tenths().max(c.post_purge.tenths()) {
                        v.push(broken(
                            Invariant::BoilerRests,
                            format!("boiler {i} starts after a rest of {rest} tenths"),
                        ));
                    }
                    self.demand_on[i] = Some(now_s);
                }
                (Some(since), false) => {
                    let waited = self.unlit_since[i].map_or(0, |t| now_s - t);
                    let flame = waited * 10 < c.flame_proof_max.tenths();
                    let early = (now_s - since) * 10 < c.on_min.tenths();
                    // The outlet as read now or at the last look: a reading that fails is replaced by its last.
                    let outlet = [inputs, &self.before].into_iter().any(|i| outlet_over(config, i, b, c.outlet_max));
                    if early && cut.is_none() && flame && !outlet {
                        let what = format!("boiler {i} stops after {} s without need", now_s - since);
                        v.push(broken(Invariant::BoilerRuns, what));
                    }
                    self.demand_on[i] = None;
                    self.demand_off[i] = now_s;
                }
                _ => {}
            }
            let unlit = on && !closed(ContactUse::Flame(b));
            self.unlit_since[i] = self.unlit_since[i].or(Some(now_s)).filter(|_| unlit);
            // Its pump, through its overrun.
            let dry = config.guard.low_water_stops_pumps && open_kind(config, inputs, SafetyKind::LowWater, b);
            if let BoilerPump::Controller(p) = c.pump
                && !dry
                && !relay(RelayUse::Pump(p))
            {
                let since = now_s - self.demand_off[i];
                self.excused[i] &= !on;
                if on || (self.demand_off[i] > 0 && !self.excused[i] && since * 10 < c.pump_overrun.tenths()) {
                    let what = format!("boiler {i}'s pump stands {since} s after its demand");
                    v.push(broken(Invariant::BoilerPumpRuns, what));
                }
            }
        }
        self.pumps(config, now_s, inputs, outputs, &mut v);
        self.before = *inputs;
        v
    }

    fn pumps(&mut self, config: &Config, now_s: u32, inputs: &Inputs, outputs: &Outputs, v: &mut Vec<Violation>) {
        for (i, c) in config.pumps.iter().enumerate() {
            let Some(r) = config.points.relay(RelayUse::Pump(PumpId(i as u8))) else { continue };
            let id = PumpId(i as u8);
            // A motor that its switch runs at HAND is running, whatever the relay says; when it starts there is not
            // ours to say.
            let by_hand = config.points.contact(ContactUse::Hand(id)).is_some_and(|c| inputs.closed(c));
            let on = outputs.relay(r).on || by_hand;
            let dry =
                (0..config.boilers.len() as u8).any(|b| open_kind(config, inputs, SafetyKind::LowWater, BoilerId(b)));
            let switched = config.points.contact(ContactUse::Auto(id)).is_some_and(|c| !inputs.closed(c));
            let stopped = dry || switched || zone_limit_open(config, inputs, id);
            if self.pump_on[i].is_some() && !on && switched && self.pump_passes[i].is_none() {
                self.pump_passes[i] = Some(now_s);
                continue;
            }
            if let Some(at_s) = self.pump_passes[i].take().filter(|_| !on) {
                (self.pump_on[i], self.pump_off[i]) = (None, at_s);
            }
            match (self.pump_on[i], on) {
                (None, true) => {
                    if (now_s - self.pump_off[i]) * 10 < c.off_min.tenths() && !by_hand {
                        v.push(broken(Invariant::PumpRests, format!("pump {i} starts too soon")));
                    }
                    self.pump_on[i] = Some(now_s);
                }
                (Some(since), false) => {
                    if (now_s - since) * 10 < c.on_min.tenths() && !stopped {
                        v.push(broken(Invariant::PumpRuns, format!("pump {i} stops too soon")));
                    }
                    self.pump_on[i] = None;
                    self.pump_off[i] = now_s;
                }
                _ => {}
            }
        }
    }
}

/// The target that a boiler is told by its signal, while it has a demand.
fn told(config: &Config, outputs: &Outputs, b: BoilerId) -> Option<Temp> {
    let BoilerDrive::Target { low, high } = config.boilers[b.index()].drive else { return None };
    let on = config.points.relay(RelayUse::Demand(b)).is_some_and(|r| outputs.relay(r).on);
    let at = i32::from(outputs.analog(config.points.analog(AnalogUse::Target(b))?).at.get());
    let span = i32::from(high.above(low).centi_k());
    // Rounded down: a thousandth of the range is not counted against the controller.
    on.then(|| low.plus(TempDelta::from_centi_k((span * at / 1000) as i16)))
}

fn outlet_over(config: &Config, inputs: &Inputs, b: BoilerId, max: Temp) -> bool {
    let s = config.points.sensor(SensorUse::BoilerOutlet(b));
    s.and_then(|s| inputs.reading(s).temp()).is_some_and(|t| t > max)
}

/// The own limit of a zone on this pump is open.
fn zone_limit_open(config: &Config, inputs: &Inputs, pump: PumpId) -> bool {
    config.points.contacts.iter().enumerate().any(|(i, u)| match u {
        ContactUse::Safety(s, _) => match config.safeties[s.index()].scope {
            SafetyScope::Zone(z) => {
                let own = matches!(config.zones[z.index()].drive, ZoneDrive::Pump(p) if p == pump);
                own && !inputs.closed(ContactId(i as u8))
            }
            _ => false,
        },
        _ => false,
    })
}

fn open_kind(config: &Config, inputs: &Inputs, kind: SafetyKind, b: BoilerId) -> bool {
    config.points.contacts.iter().enumerate().any(|(i, u)| match u {
        ContactUse::Safety(s, _) => {
            let c = &config.safeties[s.index()];
            c.kind == kind && config.stops(*s, b) && !inputs.closed(ContactId(i as u8))
        }
        _ => false,
    })
}

/// What forbids this boiler a demand, as the contacts show it.
pub fn cut(config: &Config, inputs: &Inputs, b: BoilerId) -> Option<String> {
    for (i, u) in config.points.contacts.iter().enumerate() {
        let closed = inputs.closed(ContactId(i as u8));
        let wrong = match *u {
            ContactUse::Safety(s, _) => config.stops(s, b) && !closed,
            ContactUse::BoilerFault(x) => x == b && closed,
            ContactUse::BoilerSwitch(x) | ContactUse::Flow(x) => x == b && !closed,
            ContactUse::DamperOpen => !closed,
            _ => false,
        };
        if wrong {
            return Some(format!("{u:?} forbids it"));
        }
    }
    None
}
