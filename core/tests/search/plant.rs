//! A small plant's controller, its coarse waits, what can happen to it in a step, and what is watched.

#![allow(unreachable_pub)]

use crate::common::{self, *};
use heatwright_core::{config::*, *};
use std::hash::{Hash, Hasher};

pub const STEP_S: u32 = 60;
/// From any state, with good inputs: heat within this many steps.
pub const HEAT_WITHIN: u32 = 20;
/// Ages of the watchers end here, in steps: the longest wait that they judge.
pub const AGE_MAX: u8 = 2;

/// The header's water. A shortfall of the band of 3 K counts below 57.7 °C; the curve gives 60.7 °C at 0 °C outside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Water {
    Cold,
    AtTarget,
    Hot,
    /// The sensor's lead is open.
    Lost,
}

impl Water {
    pub fn reading(self) -> Reading {
        match self {
            Water::Cold => Reading::At(c(50)),
            Water::AtTarget => Reading::At(c(61)),
            Water::Hot => Reading::At(c(65)),
            Water::Lost => Reading::Open,
        }
    }
}

/// What happens in one step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Happens {
    pub calls: u8,
    pub tank: bool,
    pub water: Water,
    /// Bits by boiler.
    pub no_flow: u8,
    pub no_flame: u8,
    pub limit_open: u8,
    pub door_open: bool,
    pub no_air: bool,
    pub acknowledge: bool,
}

pub const GOOD: Happens = Happens {
    calls: 1,
    tank: false,
    water: Water::Cold,
    no_flow: 0,
    no_flame: 0,
    limit_open: 0,
    door_open: false,
    no_air: false,
    acknowledge: false,
};

/// Steps that the watched relays have stood as they stand, by boiler then pump.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Ages {
    on: u16,
    pub steps: [u8; 8],
    /// The flame has been owed and missing for so many steps, by boiler.
    unlit: [u8; 2],
}

impl Happens {
    /// No fault, no button.
    pub fn is_plain(&self) -> bool {
        let plain = Happens { calls: self.calls, tank: self.tank, water: self.water, ..GOOD };
        *self == plain
    }
}

/// Relays that were on at some moment of a step, as far as a contact follows them.
#[derive(Clone, Copy, Debug, Default)]
pub struct Touched {
    pumps: u8,
    demands: u8,
    damper: bool,
}

impl Touched {
    /// In a step with these relays this makes a difference: a contact that follows its relay is open while that is off, failed or not.
    pub fn by(&self, h: &Happens) -> bool {
        let others = Happens { no_flow: 0, no_flame: 0, no_air: false, ..*h };
        !others.is_plain() || self.pumps & h.no_flow != 0 || self.demands & h.no_flame != 0 || self.damper && h.no_air
    }

    fn look(&mut self, plant: &Plant, last: &Outputs) {
        for b in 0..plant.kind.boilers {
            let pump = plant.config.boiler_pump(BoilerId(b)).unwrap();
            self.pumps |= u8::from(plant.relay(last, RelayUse::Pump(pump))) << b;
            self.demands |= u8::from(plant.demand(last, b)) << b;
        }
        self.damper |= plant.relay(last, RelayUse::Damper);
    }
}

/// What a step led to.
pub struct Step {
    pub node: Node,
    pub wrong: Option<String>,
    pub touched: Touched,
}

#[derive(Clone)]
pub struct Node {
    pub state: State,
    pub outputs: Outputs,
    pub ages: Ages,
}

/// What a plant of the search has.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    pub boilers: u8,
    pub zones: u8,
    pub tank: bool,
    pub damper: bool,
    /// The supply sensor may fail.
    pub lost: bool,
    pub drive: BoilerDrive,
    /// What else happens to it than calls and water.
    pub faults: &'static [Mishap],
}

/// What can happen beside calls and water.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mishap {
    Button,
    Door,
    Air,
    Flow,
    Flame,
    Limit,
}

pub const ALL: &[Mishap] = &[Mishap::Button, Mishap::Door, Mishap::Air, Mishap::Flow, Mishap::Flame, Mishap::Limit];

pub const PLAIN: Kind =
    Kind { boilers: 1, zones: 1, tank: false, damper: false, lost: false, drive: BoilerDrive::DemandOnly, faults: ALL };

pub struct Plant {
    pub config: Config,
    pub alphabet: Vec<Happens>,
    pub kind: Kind,
    /// What the controller is made to see instead, for a planted fault.
    pub spoil: fn(&State, &Plant, &mut Inputs),
    /// What is falsified behind the controller, for a planted fault.
    pub broken: fn(&Plant, &mut State, &mut Outputs),
}

fn minutes(n: u32) -> Span {
    Span::from_min(n)
}

impl Plant {
    pub fn new(kind: Kind) -> Self {
        let Kind { boilers, zones, tank, damper, lost, drive, faults: _ } = kind;
        let mut c = config(Shape { boilers, zones, tank, damper, drive, ..Shape::default() });
        c.reset.outdoor_filter = Span::ZERO;
        c.reset.header_trim_max = TempDelta::ZERO;
        c.pump_stagger = Span::ZERO;
        for z in &mut c.zones {
            (z.debounce, z.call_min, z.overrun) = (Span::ZERO, Span::ZERO, minutes(1));
        }
        for p in &mut c.pumps {
            (p.on_min, p.off_min, p.exercise_every) = (minutes(1), Span::ZERO, Span::ZERO);
        }
        for b in &mut c.boilers {
            (b.on_min, b.off_min, b.post_purge) = (minutes(2), minutes(2), minutes(1));
            (b.flow_proof_max, b.flame_proof_max) = (minutes(1), minutes(1));
            (b.pump_overrun, b.retry_after) = (minutes(2), minutes(3));
        }
        if let Some(t) = &mut c.tank {
            (t.debounce, t.overrun, t.priority_max) = (Span::ZERO, minutes(1), minutes(2));
            // No tank wants more than the water can be.
            t.target = common::c(60);
        }
        (c.staging.up_error_k_s, c.staging.down_error_k_s) = (1, 1);
        c.staging.start_spacing = minutes(1);
        // The loop of boilers by rate is at an end of its range in a step or two.
        (c.staging.band_pi, c.staging.integral) = (TempDelta::from_centi_k(50), span(10));
        c.staging.rate_hold = minutes(1);
        c.purge.to = PurgeTo::None;
        c.purge.otherwise = None;
        c.guard.frozen_after = Span::ZERO;
        c.guard.frost_outdoor = common::c(-40);
        c.guard.valve_travel_max = Span::ZERO;
        // Counting cuts over an hour multiplies the states and changes nothing but the alarm.
        c.guard.hot_cuts = 0;
        (c.guard.damper_proof_max, c.guard.damper_retry_after) = (minutes(1), minutes(2));
        for u in c.points.sensors.iter_mut() {
            let unread = matches!(u, SensorUse::BoilerOutlet(_) | SensorUse::Tank);
            if unread || *u == SensorUse::Return && !lost {
                *u = SensorUse::Spare;
            }
        }
        Self { alphabet: alphabet(kind), config: c, kind, spoil: |_, _, _| {}, broken: |_, _, _| {} }
    }

    pub fn start(&self) -> Node {
        let state = State::new(&self.config, None).rebased(&self.config);
        let pumps = self.config.pumps.len();
        assert!(usize::from(self.kind.boilers) + pumps <= 8);
        // At power-up a boiler waits from there; a pump may start at once.
        let mut steps = [AGE_MAX; 8];
        steps[..usize::from(self.kind.boilers)].fill(0);
        Node { state, outputs: Outputs::default(), ages: Ages { on: 0, steps, unlit: [0; 2] } }
    }

    pub fn relay(&self, o: &Outputs, u: RelayUse) -> bool {
        self.config.points.relay(u).is_some_and(|r| o.relay(r).on)
    }

    pub fn demand(&self, o: &Outputs, b: u8) -> bool {
        self.relay(o, RelayUse::Demand(BoilerId(b)))
    }

    /// What the contacts and the sensors show after this happens, given what was stated last.
    pub fn inputs(&self, h: Happens, last: &Outputs) -> Inputs {
        let c = &self.config;
        let mut i = Inputs::default();
        for (n, u) in (0u8..).zip(&c.points.contacts) {
            let closed = match *u {
                ContactUse::Call(z) => h.calls >> z.0 & 1 != 0,
                ContactUse::TankCall => h.tank,
                ContactUse::Safety(s, _) if s == DOOR => !h.door_open,
                ContactUse::Safety(s, _) => {
                    (0..self.kind.boilers).all(|b| s != high_limit(b) || h.limit_open >> b & 1 == 0)
                }
                ContactUse::BoilerSwitch(_) | ContactUse::Auto(_) => true,
                ContactUse::DamperOpen => self.relay(last, RelayUse::Damper) && !h.no_air,
                ContactUse::Flow(b) => {
                    let pump = c.boiler_pump(b).unwrap();
                    self.relay(last, RelayUse::Pump(pump)) && h.no_flow >> b.0 & 1 == 0
                }
                ContactUse::Flame(b) => self.demand(last, b.0) && h.no_flame >> b.0 & 1 == 0,
                ContactUse::Acknowledge => h.acknowledge,
                _ => false,
            };
            i.set(ContactId(n), closed);
        }
        let reads = [
            (SensorUse::Outdoor, Reading::At(common::c(0))),
            (SensorUse::Supply, h.water.reading()),
            (SensorUse::Return, Reading::At(common::c(49))),
        ];
        for (u, r) in reads {
            if let Some(s) = c.points.sensor(u) {
                i.sensors[s.index()] = r;
            }
        }
        i
    }

    /// One step: a minute passes, this happens, and the controller is ticked until nothing is due at once. The outputs after
    /// every tick are watched.
    pub fn step(&self, from: &Node, h: Happens) -> Step {
        let mut n = from.clone();
        let now = n.state.at.after(Span::from_s(STEP_S));
        let (mut wrong, mut touched) = (None, Touched::default());
        for age in n.ages.steps.iter_mut() {
            *age = (*age + 1).min(AGE_MAX);
        }
        for round in 0..24 {
            touched.look(self, &n.outputs);
            let real = self.inputs(h, &n.outputs);
            let mut seen = real;
            (self.spoil)(&n.state, self, &mut seen);
            tick(&self.config, &mut n.state, now, &seen, &mut n.outputs);
            (self.broken)(self, &mut n.state, &mut n.outputs);
            wrong = wrong.or_else(|| self.watch(&mut n, &real, round == 0));
            let still = self.inputs(h, &n.outputs) == real;
            if still && next_due(&n.state).is_none_or(|d| d > now) {
                n.state = self.settled(&n.state);
                touched.look(self, &n.outputs);
                return Step { node: n, wrong, touched };
            }
        }
        Step { node: n, wrong: Some("the controller does not come to rest".to_owned()), touched }
    }

    /// The state without what no machine looks at any more, and without what nothing in the alphabet can bring to bear: a
    /// flow switch made at rest, and the last good reading of a sensor that never fails.
    fn settled(&self, state: &State) -> State {
        let mut s = state.rebased(&self.config);
        s.meter = meter::Meter::default();
        s.control.proofs.rest_since = None;
        if !self.kind.lost {
            s.control.sensors.supply.good = None;
        }
        // Of the contacts only the button's edge is looked at again.
        let button = self.config.points.contact(ContactUse::Acknowledge).unwrap();
        let pressed = s.held.closed(button);
        s.held.contacts = 0;
        s.held.set(button, pressed);
        s
    }

    /// The invariants, from inputs, outputs and ages.
    pub fn watch(&self, n: &mut Node, inputs: &Inputs, first: bool) -> Option<String> {
        let mut wrong = None;
        let mut say = |what: String| wrong = wrong.take().or(Some(what));
        let step = |s: Span| (s.tenths() / 10 / STEP_S) as u8;
        for b in 0..self.kind.boilers {
            let i = usize::from(b);
            let c = &self.config.boilers[i];
            let (was, on) = (n.ages.on >> i & 1 != 0, self.demand(&n.outputs, b));
            let cut = if was || on { common::invariants::cut(&self.config, inputs, BoilerId(b)) } else { None };
            if on && let Some(why) = &cut {
                say(format!("boiler {} has a demand although {why}", b + 1));
            }
            let age = n.ages.steps[i];
            if !was && on && age < step(c.off_min).max(step(c.post_purge)) {
                say(format!("boiler {} starts after a rest of {age} min", b + 1));
            }
            // Flame missing for its whole time ends a demand too.
            let lit = self.config.points.contact(ContactUse::Flame(BoilerId(b))).is_some_and(|c| inputs.closed(c));
            if first {
                n.ages.unlit[i] = if was && !lit { (n.ages.unlit[i] + 1).min(AGE_MAX) } else { 0 };
            }
            if was && !on && age < step(c.on_min) && cut.is_none() && n.ages.unlit[i] < step(c.flame_proof_max) {
                say(format!("boiler {} stops after {age} min without need", b + 1));
            }
            let pump = self.relay(&n.outputs, RelayUse::Pump(c.pump_id()));
            let since_off = if on || was { 0 } else { age };
            let ran = n.ages.on >> (8 + i) & 1 != 0 || on;
            if !pump && (on || ran && since_off < step(c.pump_overrun)) {
                say(format!("boiler {}'s pump stands {since_off} min after its demand", b + 1));
            }
            if on {
                n.ages.on |= 1 << (8 + i);
            }
            if was != on {
                n.ages.steps[i] = 0;
                n.ages.on ^= 1 << i;
            }
        }
        for p in 0..self.config.pumps.len() {
            let i = usize::from(self.kind.boilers) + p;
            let c = &self.config.pumps[p];
            let (was, on) = (n.ages.on >> i & 1 != 0, self.relay(&n.outputs, RelayUse::Pump(PumpId(p as u8))));
            if was && !on && n.ages.steps[i] < step(c.on_min) {
                say(format!("pump {} stops after {} min", p + 1, n.ages.steps[i]));
            }
            if was != on {
                n.ages.steps[i] = 0;
                n.ages.on ^= 1 << i;
            }
        }
        wrong
    }

    /// What stands for a node in the list of those seen: the same for two that differ by which of two alike zones is which.
    pub fn key(&self, n: &Node) -> u128 {
        let key = self.key_of(n);
        if self.kind.zones == 2 { key.min(self.key_of(&self.mirrored(n))) } else { key }
    }

    fn key_of(&self, n: &Node) -> u128 {
        let mut h = Mix(0x243f_6a88_85a3_08d3, 0x1319_8a2e_0370_7344);
        (&n.state.control, &n.state.laws, &n.state.held, &n.ages).hash(&mut h);
        n.outputs.relays.iter().for_each(|r| r.on.hash(&mut h));
        u128::from(h.0) << 64 | u128::from(h.1)
    }

    /// The node with its two zones and their pumps changed over.
    pub fn mirrored(&self, n: &Node) -> Node {
        let mut m = n.clone();
        let c = &mut m.state.control;
        for (to, from) in [(0, 1), (1, 0)] {
            c.zones.set(to, n.state.control.zones.get(from).unwrap());
            c.pumps.set(to, n.state.control.pumps.get(from).unwrap());
        }
        let (a, b) = (usize::from(self.kind.boilers), usize::from(self.kind.boilers) + 1);
        m.ages.steps.swap(a, b);
        m.ages.on = swapped(n.ages.on, a, b);
        let relay = |z: u8| self.config.points.relay(RelayUse::Pump(PumpId(z))).unwrap().index();
        m.outputs.relays.swap(relay(0), relay(1));
        let basis = &mut m.state.laws.basis;
        (basis.running, basis.mixing) = (swapped_mask(basis.running), swapped_mask(basis.mixing));
        m
    }

    /// Steps until a flame is proved: from here the call stands, all inputs are good and acknowledge is pressed once.
    pub fn heats(&self, n: &Node, calls: u8) -> Option<u32> {
        let mut n = n.clone();
        // The button is let go first, so that the press is seen.
        for step in 0..HEAT_WITHIN {
            let h = Happens { acknowledge: step == 1, calls, ..GOOD };
            n = self.step(&n, h).node;
            let inputs = self.inputs(h, &n.outputs);
            let lit = |b: u8| {
                self.demand(&n.outputs, b)
                    && self.config.points.contact(ContactUse::Flame(BoilerId(b))).is_some_and(|c| inputs.closed(c))
            };
            if (0..self.kind.boilers).any(lit) {
                return Some(step);
            }
        }
        None
    }
}

fn swapped(bits: u16, a: usize, b: usize) -> u16 {
    let differ = (bits >> a ^ bits >> b) & 1;
    bits ^ (differ << a | differ << b)
}

fn swapped_mask(m: mask::Mask) -> mask::Mask {
    let mut out = m.without(mask::Mask::of(0)).without(mask::Mask::of(1));
    out.add_if(0, m.has(1));
    out.add_if(1, m.has(0));
    out
}

/// Two multiplicative hashes side by side: 128 bits, so that no two of some millions of states meet by chance.
struct Mix(u64, u64);

impl Hasher for Mix {
    fn write(&mut self, bytes: &[u8]) {
        for b in bytes.chunks(8) {
            let mut w = [0; 8];
            w[..b.len()].copy_from_slice(b);
            self.write_u64(u64::from_le_bytes(w));
        }
    }
    fn write_u8(&mut self, v: u8) {
        self.write_u64(u64::from(v));
    }
    fn write_u16(&mut self, v: u16) {
        self.write_u64(u64::from(v));
    }
    fn write_u32(&mut self, v: u32) {
        self.write_u64(u64::from(v));
    }
    fn write_usize(&mut self, v: usize) {
        self.write_u64(v as u64);
    }
    fn write_u64(&mut self, v: u64) {
        self.0 = (self.0.rotate_left(5) ^ v).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        self.1 = (self.1.rotate_left(23) ^ v).wrapping_mul(0xc2b2_ae3d_27d4_eb4f);
    }
    fn finish(&self) -> u64 {
        self.0 ^ self.1
    }
}

trait PumpOf {
    fn pump_id(&self) -> PumpId;
}

impl PumpOf for BoilerConfig {
    fn pump_id(&self) -> PumpId {
        match self.pump {
            BoilerPump::Controller(p) => p,
            other => panic!("{other:?}"),
        }
    }
}

/// Everything that can happen in a step: any call, any water, and one fault or the button, as far as the plant has them.
fn alphabet(kind: Kind) -> Vec<Happens> {
    let mut all = Vec::new();
    let waters: &[Water] = if kind.lost {
        &[Water::Cold, Water::AtTarget, Water::Hot, Water::Lost]
    } else {
        &[Water::Cold, Water::AtTarget, Water::Hot]
    };
    for calls in 0..1u8 << (kind.zones + u8::from(kind.tank)) {
        for water in waters {
            let tank = kind.tank && calls >> kind.zones & 1 != 0;
            let plain = Happens { calls: calls & ((1 << kind.zones) - 1), tank, water: *water, ..GOOD };
            all.push(plain);
            let has = |f| kind.faults.contains(&f);
            all.extend(has(Mishap::Button).then_some(Happens { acknowledge: true, ..plain }));
            all.extend(has(Mishap::Door).then_some(Happens { door_open: true, ..plain }));
            all.extend((has(Mishap::Air) && kind.damper).then_some(Happens { no_air: true, ..plain }));
            for b in 0..kind.boilers {
                all.extend(has(Mishap::Flow).then_some(Happens { no_flow: 1 << b, ..plain }));
                all.extend(has(Mishap::Flame).then_some(Happens { no_flame: 1 << b, ..plain }));
                all.extend(has(Mishap::Limit).then_some(Happens { limit_open: 1 << b, ..plain }));
            }
        }
    }
    all
}
