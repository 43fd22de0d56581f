//! Every state that a small plant's controller can reach, searched breadth first over the shipped `State`.
//!
//! The plant answers a step of a minute at a time: calls come and go, the water is cold, at its target or hot, flow follows
//! its pump or fails, a flame follows its demand or fails, the boiler's limit and the door switch open and close, somebody
//! presses acknowledge. After each step the controller is ticked until nothing is due at once. States are compared after
//! `rebased`; the laws are coarse (one step fills a sum, no filter, no trim) and are tested apart, beside their code. With
//! each state go the ages that the watchers need (how long each demand and pump has been on or off), so that the invariants
//! are judged from inputs and outputs alone.
//!
//! The usual run bounds the number of states of the larger plants; `HEATWRIGHT_SEARCH=full` searches all of them.

mod common;
use common::*;
use heatwright_core::{config::*, *};
use std::collections::{HashMap, VecDeque};
use std::fmt::Write as _;
use std::hash::{Hash, Hasher};

const STEP_S: u32 = 60;
/// From any state, with good inputs: heat within this many steps.
const HEAT_WITHIN: u32 = 20;
/// Ages of the watchers end here, in steps: the longest wait that they judge.
const AGE_MAX: u8 = 2;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Water {
    Cold,
    AtTarget,
    Hot,
}

/// What happens in one step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Happens {
    calls: u8,
    water: Water,
    /// Bits by boiler.
    no_flow: u8,
    no_flame: u8,
    limit_open: u8,
    door_open: bool,
    acknowledge: bool,
}

const GOOD: Happens = Happens {
    calls: 1,
    water: Water::Cold,
    no_flow: 0,
    no_flame: 0,
    limit_open: 0,
    door_open: false,
    acknowledge: false,
};

/// Steps that the watched relays have stood as they stand, by boiler then pump.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct Ages {
    on: u16,
    steps: [u8; 8],
    /// The flame has been owed and missing for so many steps, by boiler.
    unlit: [u8; 2],
}

#[derive(Clone)]
struct Node {
    state: State,
    outputs: Outputs,
    ages: Ages,
}

struct Plant {
    config: Config,
    alphabet: Vec<Happens>,
    boilers: u8,
    /// What the controller is made to see instead, for a planted fault.
    spoil: fn(&State, &Plant, &mut Inputs),
}

fn minutes(n: u32) -> Span {
    Span::from_min(n)
}

impl Plant {
    fn new(boilers: u8, zones: u8) -> Self {
        let mut c = config(Shape { boilers, zones, ..Shape::default() });
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
        (c.staging.up_error_k_s, c.staging.down_error_k_s) = (1, 1);
        c.staging.start_spacing = minutes(1);
        c.purge.to = PurgeTo::None;
        c.purge.otherwise = None;
        c.guard.frozen_after = Span::ZERO;
        c.guard.frost_outdoor = common::c(-40);
        c.guard.valve_travel_max = Span::ZERO;
        for u in c.points.sensors.iter_mut() {
            if matches!(u, SensorUse::BoilerOutlet(_) | SensorUse::Return) {
                *u = SensorUse::Spare;
            }
        }
        Self { alphabet: alphabet(boilers, zones), config: c, boilers, spoil: |_, _, _| {} }
    }

    fn start(&self) -> Node {
        let state = State::new(&self.config, None).rebased(&self.config);
        let pumps = self.config.pumps.len();
        assert!(usize::from(self.boilers) + pumps <= 8);
        // At power-up a boiler waits from there; a pump may start at once.
        let mut steps = [AGE_MAX; 8];
        steps[..usize::from(self.boilers)].fill(0);
        Node { state, outputs: Outputs::default(), ages: Ages { on: 0, steps, unlit: [0; 2] } }
    }

    fn relay(&self, o: &Outputs, u: RelayUse) -> bool {
        self.config.points.relay(u).is_some_and(|r| o.relay(r).on)
    }

    fn demand(&self, o: &Outputs, b: u8) -> bool {
        self.relay(o, RelayUse::Demand(BoilerId(b)))
    }

    /// What the contacts and the sensor show after this happens, given what was stated last.
    fn inputs(&self, h: Happens, last: &Outputs) -> Inputs {
        let c = &self.config;
        let mut i = Inputs::default();
        for (n, u) in (0u8..).zip(&c.points.contacts) {
            let closed = match *u {
                ContactUse::Call(z) => h.calls >> z.0 & 1 != 0,
                ContactUse::Safety(s, _) if s == DOOR => !h.door_open,
                ContactUse::Safety(s, _) => (0..self.boilers).all(|b| s != high_limit(b) || h.limit_open >> b & 1 == 0),
                ContactUse::BoilerSwitch(_) | ContactUse::Auto(_) => true,
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
        let mut read = |u, t| {
            if let Some(s) = c.points.sensor(u) {
                i.sensors[s.index()] = Reading::At(t);
            }
        };
        read(SensorUse::Outdoor, common::c(0));
        // The curve gives 60.7 °C at 0 °C outside.
        let supply = match h.water {
            Water::Cold => 20,
            Water::AtTarget => 61,
            Water::Hot => 75,
        };
        read(SensorUse::Supply, common::c(supply));
        i
    }

    /// One step: a minute passes, this happens, and the controller is ticked until nothing is due at once. The outputs after
    /// every tick are watched.
    fn step(&self, from: &Node, h: Happens) -> (Node, Option<String>) {
        let mut n = from.clone();
        let now = n.state.at.after(Span::from_s(STEP_S));
        let mut wrong = None;
        for age in n.ages.steps.iter_mut() {
            *age = (*age + 1).min(AGE_MAX);
        }
        for round in 0..24 {
            let real = self.inputs(h, &n.outputs);
            let mut seen = real;
            (self.spoil)(&n.state, self, &mut seen);
            tick(&self.config, &mut n.state, now, &seen, &mut n.outputs);
            wrong = wrong.or_else(|| self.watch(&mut n, &real, round == 0));
            let still = self.inputs(h, &n.outputs) == real;
            if still && next_due(&self.config, &n.state).is_none_or(|d| d > now) {
                n.state = self.settled(&n.state);
                return (n, wrong);
            }
        }
        (n, Some("the controller does not come to rest".to_owned()))
    }

    /// The state without what no machine looks at any more.
    fn settled(&self, state: &State) -> State {
        let mut s = state.rebased(&self.config);
        s.meter = meter::Meter::default();
        // Of the contacts only the button's edge is looked at again.
        let button = self.config.points.contact(ContactUse::Acknowledge).unwrap();
        let pressed = s.held.closed(button);
        s.held.contacts = 0;
        s.held.set(button, pressed);
        s
    }

    /// The invariants, from inputs, outputs and ages.
    fn watch(&self, n: &mut Node, inputs: &Inputs, first: bool) -> Option<String> {
        let mut wrong = None;
        let mut say = |what: String| wrong = wrong.take().or(Some(what));
        let step = |s: Span| (s.tenths() / 10 / STEP_S) as u8;
        for b in 0..self.boilers {
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
            let i = usize::from(self.boilers) + p;
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

    fn key(n: &Node) -> u128 {
        let mut h = Mix(0x243f_6a88_85a3_08d3, 0x1319_8a2e_0370_7344);
        (&n.state.control, &n.state.laws, &n.state.held, &n.ages).hash(&mut h);
        n.outputs.relays.iter().for_each(|r| r.on.hash(&mut h));
        u128::from(h.0) << 64 | u128::from(h.1)
    }

    /// Steps until a flame is proved: from here the call stands, all inputs are good and acknowledge is pressed once.
    fn heats(&self, n: &Node) -> Option<u32> {
        let mut n = n.clone();
        // The button is let go first, so that the press is seen.
        for step in 0..HEAT_WITHIN {
            let h = Happens { acknowledge: step == 1, ..GOOD };
            n = self.step(&n, h).0;
            let inputs = self.inputs(h, &n.outputs);
            let lit = |b: u8| {
                self.demand(&n.outputs, b)
                    && self.config.points.contact(ContactUse::Flame(BoilerId(b))).is_some_and(|c| inputs.closed(c))
            };
            if (0..self.boilers).any(lit) {
                return Some(step);
            }
        }
        None
    }
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

/// Everything that can happen in a step: any call, any water, and one fault or the button.
fn alphabet(boilers: u8, zones: u8) -> Vec<Happens> {
    let mut all = Vec::new();
    for calls in 0..1u8 << zones {
        for water in [Water::Cold, Water::AtTarget, Water::Hot] {
            let plain = Happens { calls, water, ..GOOD };
            all.push(plain);
            all.push(Happens { acknowledge: true, ..plain });
            all.push(Happens { door_open: true, ..plain });
            for b in 0..boilers {
                all.push(Happens { no_flow: 1 << b, ..plain });
                all.push(Happens { no_flame: 1 << b, ..plain });
                all.push(Happens { limit_open: 1 << b, ..plain });
            }
        }
    }
    all
}

/// What a search found.
struct Found {
    states: usize,
    steps: usize,
    all: bool,
    /// The longest way to heat, in steps.
    slowest: u32,
    /// The shortest way to the first thing that is wrong.
    wrong: Option<(String, Vec<Happens>)>,
}

fn search(plant: &Plant, most: usize, liveness: bool) -> Found {
    let start = plant.start();
    let mut seen: HashMap<u128, u32> = HashMap::new();
    let mut from: Vec<(u32, u16)> = vec![(0, 0)];
    let mut queue = VecDeque::from([(0u32, start.clone())]);
    seen.insert(Plant::key(&start), 0);
    let mut found = Found { states: 1, steps: 0, all: true, slowest: 0, wrong: None };
    let way = |from: &[(u32, u16)], mut at: u32, last: Option<Happens>| {
        let mut way: Vec<Happens> = last.into_iter().collect();
        while at != 0 {
            let (before, h) = from[at as usize];
            way.push(plant.alphabet[usize::from(h)]);
            at = before;
        }
        way.reverse();
        way
    };
    while let Some((at, node)) = queue.pop_front() {
        if liveness {
            match plant.heats(&node) {
                Some(steps) => found.slowest = found.slowest.max(steps),
                None => {
                    found.wrong = Some(("no heat within the bound".to_owned(), way(&from, at, None)));
                    return found;
                }
            }
        }
        let mut demands = Vec::with_capacity(plant.alphabet.len());
        for (i, h) in (0u16..).zip(&plant.alphabet) {
            let (next, wrong) = plant.step(&node, *h);
            found.steps += 1;
            if let Some(what) = wrong {
                found.wrong = Some((what, way(&from, at, Some(*h))));
                return found;
            }
            demands.push(next.outputs);
            let key = Plant::key(&next);
            if seen.contains_key(&key) {
                continue;
            }
            if seen.len() >= most {
                found.all = false;
                continue;
            }
            let id = from.len() as u32;
            seen.insert(key, id);
            from.push((at, i));
            queue.push_back((id, next));
        }
        if let Some((i, what)) = own_faults(plant, &node.outputs, &demands) {
            found.wrong = Some((what, way(&from, at, Some(plant.alphabet[i]))));
            return found;
        }
    }
    found.states = seen.len();
    found
}

/// One boiler's own limit takes no demand from another: the same step with and without it. Hot water is left out: there the
/// boiler that stays is the last one, and stops because it is not needed.
fn own_faults(plant: &Plant, before: &Outputs, outputs: &[Outputs]) -> Option<(usize, String)> {
    for (i, h) in plant.alphabet.iter().enumerate().filter(|(_, h)| h.limit_open != 0 && h.water != Water::Hot) {
        let good = Happens { limit_open: 0, ..*h };
        let j = plant.alphabet.iter().position(|a| *a == good)?;
        for b in (0..plant.boilers).filter(|b| h.limit_open >> b & 1 == 0) {
            if plant.demand(before, b) && plant.demand(&outputs[j], b) && !plant.demand(&outputs[i], b) {
                return Some((i, format!("the limit of another boiler stops boiler {}", b + 1)));
            }
        }
    }
    None
}

fn told(plant: &Plant, what: &str, way: &[Happens]) -> String {
    let mut text = format!("{what}\n\n min  what happens\n");
    let mut node = plant.start();
    for (i, h) in way.iter().enumerate() {
        node = plant.step(&node, *h).0;
        let mut words = Vec::new();
        for z in (0..2u8).filter(|z| h.calls >> z & 1 != 0) {
            words.push(format!("zone {} calls", z + 1));
        }
        words.push(format!("water {:?}", h.water).to_lowercase());
        for (bits, name) in [(h.no_flow, "no flow"), (h.no_flame, "no flame"), (h.limit_open, "limit open")] {
            for b in (0..2u8).filter(|b| bits >> b & 1 != 0) {
                words.push(format!("{name} in boiler {}", b + 1));
            }
        }
        if h.door_open {
            words.push("door switch open".into());
        }
        if h.acknowledge {
            words.push("acknowledge".into());
        }
        let _ = writeln!(text, "{:>4}  {}", i + 1, words.join(", "));
        for b in 0..plant.boilers {
            let r = node.outputs.relay(plant.config.points.relay(RelayUse::Demand(BoilerId(b))).unwrap());
            let _ = writeln!(text, "          boiler {} {} {:?}", b + 1, if r.on { "ON " } else { "off" }, r.why);
        }
    }
    text
}

fn full() -> bool {
    std::env::var_os("HEATWRIGHT_SEARCH").is_some_and(|v| v == "full")
}

/// Searches a plant and prints what was visited.
#[allow(clippy::print_stdout, reason = "the count of states is the result")]
fn hold(boilers: u8, zones: u8, most: usize) -> Found {
    let plant = Plant::new(boilers, zones);
    let most = if full() { usize::MAX } else { most };
    let found = search(&plant, most, true);
    if let Some((what, way)) = &found.wrong {
        panic!("{}", told(&plant, what, way));
    }
    println!(
        "{boilers} boiler(s), {zones} zone(s): {} states{}, {} steps, every invariant held; heat within {} min from each",
        found.states,
        if found.all { "" } else { " (bounded)" },
        found.steps,
        found.slowest + 1
    );
    found
}

#[test]
fn one_boiler_one_zone_whatever_happens() {
    let found = hold(1, 1, usize::MAX);
    assert!(found.all && found.states > 500, "{}", found.states);
}

#[test]
fn one_boiler_two_zones_whatever_happens() {
    assert!(hold(1, 2, 8_000).states > 1000);
}

#[test]
fn two_boilers_one_zone_whatever_happens() {
    assert!(hold(2, 1, 10_000).states > 1000);
}

#[test]
fn two_boilers_two_zones_whatever_happens() {
    assert!(hold(2, 2, 3_000).states > 1000);
}

/// A controller that does not look at the limit of a boiler that it is about to let go.
#[test]
fn a_planted_fault_is_found_by_the_shortest_way() {
    let mut plant = Plant::new(1, 1);
    plant.spoil = |state, plant, seen| {
        let leaving = state.control.boilers[0].state.firing() && state.control.staging.enlisted.is_empty();
        if leaving {
            let u = ContactUse::Safety(high_limit(0), Tap::Chain);
            seen.set(plant.config.points.contact(u).unwrap(), true);
        }
    };
    let (what, way) = search(&plant, usize::MAX, false).wrong.expect("the fault is found");
    assert!(what.contains("has a demand although"), "{what}");
    insta::assert_snapshot!(told(&plant, &what, &way));
}

/// A controller that forgets that a boiler has just stopped.
#[test]
fn a_rest_that_is_cut_short_is_found() {
    let mut plant = Plant::new(1, 1);
    plant.config.boilers[0].off_min = minutes(1);
    let honest = Plant::new(1, 1);
    // The watcher knows the plant's true rest, the controller a shorter one.
    struct Short(Plant, Plant);
    let both = Short(plant, honest);
    let mut node = both.1.start();
    let mut seen = Vec::new();
    for minute in 0..12u32 {
        let h = Happens { calls: u8::from(minute % 5 != 4), ..GOOD };
        let (next, _) = both.0.step(&node, h);
        let mut judged = Node { ages: node.ages, ..next.clone() };
        for age in judged.ages.steps.iter_mut() {
            *age = (*age + 1).min(AGE_MAX);
        }
        let inputs = both.1.inputs(h, &next.outputs);
        seen.extend(both.1.watch(&mut judged, &inputs, true));
        node = Node { ages: judged.ages, ..next };
    }
    assert!(seen.iter().any(|w| w.contains("after a rest of")), "{seen:?}");
}

/// Without a flame no heat comes: the bound is seen to fail.
#[test]
fn a_boiler_that_never_lights_breaks_the_bound() {
    let mut plant = Plant::new(1, 1);
    plant.config.boilers[0].flame_proof_max = minutes(90);
    plant.config.boilers[0].off_min = minutes(60);
    assert_eq!(plant.heats(&plant.start()), None);
}
