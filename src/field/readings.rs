//! What a meter shows at the terminals of the finished plant, state by state of the checkout.
//!
//! A state is a pattern of calls with everything that follows it at rest again: the controller's own settled outputs, the
//! same as in part (b) of the proof. Its water is held cold for that hour, so that every burner that is asked fires and no aquastat of a fan
//! is made; a plant with fans behind aquastats has one state more, with hot water and all of them made. Read are the two terminals of every load, coil and winding, each contact that switches a
//! supply, and each pair of terminals that a boiler lets an outside contact close; only terminals that a probe can reach.
//!
//! What it deliberately does not do: circuits that the controller feeds, direct voltages, faults.

use super::prove::{hot_state, settled_states};
use crate::plant::Loaded;
use heatwright_core::{RelayUse, Subject, config::SafetyKind};
use heatwright_wiring::{
    device::{Device, Kind, Reach},
    job::Job,
    net::{ActuatorSet, Changes, Network, meter::Meter, readings::Reading},
    part::{Actuator, Part, T},
    plan::Plan,
    row::Landing,
};
use std::collections::{BTreeMap, BTreeSet};

/// What a meter shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shown {
    /// Volts rms.
    Volts(f64),
    /// Nothing holds one terminal against the other.
    Floating,
}

/// One reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Tag of the device.
    pub device: String,
    /// Its two terminals.
    pub terminals: String,
    /// What is read, in words.
    pub what: String,
    /// Between the two.
    pub reads: Shown,
    /// From the first terminal to ground.
    pub to_ground: Shown,
}

/// All readings of one state; every state has the same lines in the same order.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// What is called for.
    pub name: String,
    /// True when the controller's alarm relay has dropped in it: it settles with cold water under lit burners, and says so.
    pub alarm: bool,
    /// How selectors, switches, safeties and relays stand in it, in words.
    pub stands: Vec<String>,
    /// The readings.
    pub lines: Vec<Line>,
}

/// Where a meter is put.
struct Spot {
    device: String,
    terminals: String,
    what: String,
    ends: (u32, u32),
}

impl Line {
    /// True when a meter shows something else than there: more than a volt and two per cent apart, so that a little more drop is no
    /// news (our choice), or floating and not.
    pub fn differs(&self, other: &Line) -> bool {
        let apart = |a: Shown, b: Shown| match (a, b) {
            (Shown::Volts(a), Shown::Volts(b)) => (a - b).abs() > 1.0_f64.max(0.02 * a.max(b)),
            (a, b) => a != b,
        };
        apart(self.reads, other.reads) || apart(self.to_ground, other.to_ground)
    }
}

/// Readings of every state.
pub fn readings(l: &Loaded, job: &Job, plan: &Plan, net: &Network) -> Vec<State> {
    let wired: BTreeSet<&Landing> = plan.rows.iter().flat_map(|r| [&r.from, &r.to]).collect();
    let spots: Vec<Spot> = plan.devices.iter().flat_map(|d| spots(d, job, net, &wired)).collect();
    let earth = plan.devices.iter().find_map(|d| {
        let t = d.parts.iter().find_map(|p| if let Part::Earth(t) = p { Some(*t) } else { None })?;
        net.terminal(&d.tag, &d.terminals.get(usize::from(t.0))?.mark)
    });
    let relay = l.points.relay(RelayUse::Alarm);
    let cold = settled_states(l).into_iter().map(|s| (s, false));
    let states: Vec<(_, Meter)> = cold
        .chain(hot_state(l).map(|s| (s, true)))
        .map(|((name, set), hot)| {
            // Pulled while all is well.
            let alarm = relay.is_some_and(|r| !set.get(Actuator::Relay(r)));
            ((name, alarm, stands(job, plan, &set, hot)), Meter::take(net, &Changes::default(), &set))
        })
        .collect();
    // A spot whose circuit has no supply in any state is the controller's.
    let read: Vec<&Spot> =
        spots.iter().filter(|s| states.iter().any(|(_, m)| m.between(s.ends.0, s.ends.1).is_some())).collect();
    let shown = |m: &Meter, a: u32, b: u32| match m.between(a, b) {
        Some(Reading::Volts(v)) => Shown::Volts(v),
        // Dead, and joined: a closed contact, a winding whose two ends nothing feeds.
        None if m.joined(a, b) => Shown::Volts(0.0),
        Some(Reading::Floating) | None => Shown::Floating,
    };
    states
        .into_iter()
        .map(|((name, alarm, stands), m)| State {
            name,
            alarm,
            stands,
            lines: read
                .iter()
                .map(|s| Line {
                    device: s.device.clone(),
                    terminals: s.terminals.clone(),
                    what: s.what.clone(),
                    reads: shown(&m, s.ends.0, s.ends.1),
                    to_ground: earth.map_or(Shown::Floating, |e| shown(&m, s.ends.0, e)),
                })
                .collect(),
        })
        .collect()
}

/// The position of the state with hot water, of a plant with fans behind aquastats.
pub fn hot(l: &Loaded) -> Option<ActuatorSet> {
    hot_state(l).map(|s| s.1)
}

/// How everything stands that a hand, water, a flame or the controller moves: whoever measures sets it so first.
fn stands(job: &Job, plan: &Plan, set: &ActuatorSet, hot: bool) -> Vec<String> {
    let mut selectors: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    let (mut off, mut open, mut made, mut relays) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let (mut switches, mut tripped, mut safeties) = (Vec::new(), Vec::new(), 0);
    let (mut warm, mut cool, mut tank, mut floats, mut sumps) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let is_float = |d: &Device| {
        let Some(Subject::Safety(s)) = d.subject else { return false };
        let kind = job.safeties.get(s.index()).map(|s| s.config.kind);
        matches!(kind, Some(SafetyKind::LowWater | SafetyKind::Condensate))
    };
    for d in &plan.devices {
        let mut list: Vec<Actuator> =
            d.parts.iter().filter_map(|p| if let Part::Contact { by, .. } = p { Some(*by) } else { None }).collect();
        list.sort_unstable();
        list.dedup();
        let on = |wanted: &dyn Fn(&Actuator) -> bool| list.iter().any(|a| wanted(a) && set.get(*a));
        match d.kind {
            Kind::Selector => {
                let at = match (on(&|a| matches!(a, Actuator::Hand(_))), on(&|a| matches!(a, Actuator::Auto(_)))) {
                    (true, _) => "HAND",
                    (_, true) => "AUTO",
                    _ => "OFF",
                };
                selectors.entry(at).or_default().push(d.tag.clone());
            }
            Kind::Disconnect if list.iter().any(|a| matches!(a, Actuator::BoilerSwitchOff(_))) => {
                let is_off = on(&|a| matches!(a, Actuator::BoilerSwitchOff(_)));
                if is_off { &mut off } else { &mut switches }.push(d.tag.clone());
            }
            Kind::Safety => {
                safeties += 1;
                let flows = |a: &Actuator| matches!(a, Actuator::Flow(_) | Actuator::DamperOpen);
                if on(&|a| matches!(a, Actuator::Trip(_))) {
                    tripped.push(d.tag.clone());
                } else if is_float(d) {
                    floats.push(d.tag.clone());
                } else if list.iter().any(flows) {
                    if on(&flows) { &mut made } else { &mut open }.push(d.tag.clone());
                }
            }
            Kind::Aquastat if list.contains(&Actuator::TankCall) => {
                let calls = if set.get(Actuator::TankCall) { "calls" } else { "does not call" };
                tank.push(format!("{} {calls}", d.tag));
            }
            Kind::Aquastat => {
                let made = on(&|a| matches!(a, Actuator::FanAquastat(..)));
                if made { &mut warm } else { &mut cool }.push(d.tag.clone());
            }
            Kind::CondensatePump => sumps.push(d.tag.clone()),
            Kind::Controller => relays.extend(list.iter().filter(|a| set.get(**a)).filter_map(|a| match a {
                Actuator::Relay(r) => Some(format!("K{}", r.index() + 1)),
                _ => None,
            })),
            _ => {}
        }
    }
    let water = if hot {
        "Water held hot for an hour, above every fan's aquastat."
    } else {
        "Water held cold for an hour, below every fan's aquastat and every target: a burner that is asked fires."
    };
    let mut out = vec![water.to_owned()];
    out.extend(selectors.iter().map(|(at, tags)| format!("At {at}: {}.", tags.join(", "))));
    let on = if switches.is_empty() { String::new() } else { format!("; on: {}", switches.join(", ")) };
    out.push(format!("Every breaker and every other disconnect closed{on}."));
    if safeties > 0 && tripped.is_empty() {
        out.push("No safety tripped, no emergency switch pressed, no overload tripped.".into());
    }
    for (words, tags) in [
        ("Off", off),
        ("Tripped", tripped),
        ("Made by flow or damper", made),
        ("Not made by flow or damper", open),
        ("Low-water cutoffs and condensate floats, made", floats),
        ("Aquastats of fans, made", warm),
        ("Aquastats of fans, not made", cool),
        ("Aquastat of the tank", tank),
        ("On their supply, at rest by their own floats, which no reading shows", sumps),
    ] {
        if !tags.is_empty() {
            out.push(format!("{words}: {}.", tags.join(", ")));
        }
    }
    if plan.devices.iter().any(|d| d.kind == Kind::Controller) {
        let list = if relays.is_empty() { "none".to_owned() } else { relays.join(", ") };
        out.push(format!("Relays of the controller pulled in: {list}."));
    }
    out
}

fn spots(d: &Device, job: &Job, net: &Network, wired: &BTreeSet<&Landing>) -> Vec<Spot> {
    let lands = |mark: &str| wired.contains(&Landing { device: d.tag.clone(), terminal: mark.to_owned() });
    let mut pairs: Vec<(String, T, T)> = Vec::new();
    for p in &d.parts {
        match p {
            Part::Load { a, b, what, .. } => pairs.push((what.to_string(), *a, *b)),
            Part::Load3 { lines: [a, b, c], what, .. } => {
                pairs.extend([(*a, *b), (*b, *c), (*c, *a)].map(|(x, y)| (what.to_string(), x, y)));
            }
            Part::Coil { a, b, .. } => pairs.push(("coil".into(), *a, *b)),
            Part::Transformer { primary: [a, b], secondary: [c, e], .. } => {
                pairs.push(("primary".into(), *a, *b));
                pairs.push(("secondary".into(), *c, *e));
            }
            Part::Contact { a, b, by, .. } if !matches!(by, Actuator::Breaker(_)) => {
                pairs.push(("across the contact".into(), *a, *b));
            }
            _ => {}
        }
    }
    // What a boiler lets an outside contact close: limit, proving and demand pair.
    if let Some(Subject::Boiler(id)) = d.subject
        && let Some(b) = job.boilers.get(id.index())
    {
        let find = |mark: &str| d.terminals.iter().position(|t| t.mark == mark).map(|i| T(i as u16));
        for (what, [out, back]) in
            [("limit pair", &b.marks.limit), ("proving pair", &b.marks.proving), ("demand pair", &b.marks.demand)]
        {
            if let (Some(x), Some(y)) = (find(out), find(back)) {
                pairs.push((what.into(), x, y));
            }
        }
    }
    let reached = |t: T| d.terminals.get(usize::from(t.0)).filter(|t| t.reach == Reach::Field).map(|t| t.mark.clone());
    let mut out: Vec<Spot> = Vec::new();
    for (what, a, b) in pairs {
        let (Some(x), Some(y)) = (reached(a), reached(b)) else { continue };
        // Nobody measures a contact that nothing is wired to.
        if !lands(&x) || !lands(&y) {
            continue;
        }
        let (Some(i), Some(j)) = (net.terminal(&d.tag, &x), net.terminal(&d.tag, &y)) else { continue };
        if !out.iter().any(|s| s.ends == (i, j)) {
            out.push(Spot { device: d.tag.clone(), terminals: format!("{x} - {y}"), what, ends: (i, j) });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use heatwright_wiring::{net::Network, part::LoadUse, plan::plan};
    use std::path::Path;

    fn read(name: &str) -> (Loaded, Job, Plan, Vec<State>) {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/examples").join(format!("{name}.toml"));
        let l = crate::plant::load(name, &std::fs::read(path).unwrap()).unwrap_or_else(|_| panic!("{name} is sound"));
        let job = l.job();
        let made = plan(&job).unwrap();
        let net = Network::rebuild(&made.devices, &made.rows).unwrap();
        let states = readings(&l, &job, &made, &net);
        (l, job, made, states)
    }

    /// In cold water no aquastat is made and no fan has voltage; one state has all of them made and every fan running on its rated volts.
    #[test]
    fn fans_are_measured_running() {
        for name in ["mill", "library"] {
            let (_, _, made, states) = read(name);
            let fans: Vec<(&str, f64)> = made
                .devices
                .iter()
                .flat_map(|d| d.parts.iter().map(move |p| (d, p)))
                .filter_map(|(d, p)| match p {
                    Part::Load { what: LoadUse::Fan(..), volts, .. }
                    | Part::Load3 { what: LoadUse::Fan(..), volts, .. } => Some((d.tag.as_str(), *volts)),
                    _ => None,
                })
                .collect();
            assert!(!fans.is_empty());
            let (hot, cold) = states.split_last().unwrap();
            assert!(!hot.alarm, "{name}: {:?}", hot.stands);
            for (tag, volts) in &fans {
                let of = |s: &State| -> Vec<Shown> {
                    let mut all = s.lines.iter().filter(|x| x.device == *tag);
                    let list: Vec<Shown> = all.by_ref().map(|x| x.reads).collect();
                    assert!(!list.is_empty(), "{tag} is read");
                    list
                };
                let live = |s: &State| of(s).iter().all(|r| matches!(r, Shown::Volts(v) if *v > 0.9 * volts));
                assert!(live(hot), "{name} {tag}: {:?}", of(hot));
                assert!(cold.iter().all(|s| !live(s)), "{name} {tag} runs in cold water");
                let stat = tag.replace('M', "B");
                let told = |s: &State, words: &str| s.stands.iter().any(|x| x.starts_with(words) && x.contains(&stat));
                assert!(told(hot, "Aquastats of fans, made: "), "{:?}", hot.stands);
                assert!(cold.iter().all(|s| told(s, "Aquastats of fans, not made: ")));
            }
        }
    }

    /// Every aquastat and every float stands in the head of every state.
    #[test]
    fn switches_on_the_water_side_are_in_the_head() {
        for name in ["mill", "library", "workshop", "terrace"] {
            let (_, job, made, states) = read(name);
            for d in &made.devices {
                let float = matches!(d.subject, Some(Subject::Safety(s))
                    if matches!(job.safeties[s.index()].config.kind, SafetyKind::LowWater | SafetyKind::Condensate));
                let wanted =
                    d.kind == Kind::Aquastat || d.kind == Kind::CondensatePump || d.kind == Kind::Safety && float;
                if wanted {
                    let of = |x: &String| x.split([' ', ',', ':']).any(|w| w.trim_end_matches('.') == d.tag);
                    let told = |s: &State| s.stands.iter().any(of);
                    assert!(states.iter().all(told), "{name} {}: {:?}", d.tag, states[0].stands);
                }
            }
            let tank = states.iter().filter(|s| s.name.contains("the tank calls"));
            for s in tank {
                assert!(
                    s.stands.iter().any(|x| x.starts_with("Aquastat of the tank: ") && x.ends_with(" calls.")),
                    "{:?}",
                    s.stands
                );
            }
        }
    }

    /// At rest a starter leaves its motor dead: a meter across the closed pole of its disconnect, or from line to line of the motor, shows
    /// 0 V, and picks up nothing. Seen to fail: both read "floating".
    #[test]
    fn what_is_dead_and_joined_reads_nothing() {
        let (_, _, _, states) = read("mill");
        let zero = |x: &&Line| matches!(x.reads, Shown::Volts(v) if v < 1e-6) && x.to_ground == Shown::Floating;
        let dead: Vec<&Line> = states[0].lines.iter().filter(zero).collect();
        let poles = dead.iter().filter(|x| x.device.starts_with("QB") && x.what == "across the contact").count();
        let motors = dead.iter().filter(|x| x.device.starts_with('M')).count();
        assert!(poles >= 3 && motors >= 3, "{poles} poles, {motors} windings");
        // An open contact of a dead circuit still has nothing that holds its two sides together.
        assert!(states.iter().any(|s| s.lines.iter().any(|x| x.reads == Shown::Floating)));
    }
}
