//! The proof of a wiring plan against the control logic, in words.
//!
//! Parts: (a) every independent block of the network in its free positions, (b) the positions that the controller itself
//! settles in for patterns of calls (all of them where they are few, else named ones and some by chance), (c) each boiler's limit pair open; and where calls act without the controller, (d) what they alone start (`calls`). Then faults are planted one at a time, kind by kind: each
//! must be seen, or be harmless because the same terminals stay joined.

use crate::plant::Loaded;
use heatwright_core::{Inputs, Instant, Outputs, Reading, SensorUse, Temp, ZoneId};
use heatwright_sim::wires::{Field, Ideal, Wires as _};
use heatwright_wiring::{
    job::Job,
    net::{ActuatorSet, Network},
    plan::Plan,
    proof::{self, Expectation, Limits, Mutant, MutantKind, Score, observe, positions},
};

/// The proof of one plan.
#[derive(Debug)]
pub struct Proved {
    /// What was done.
    pub lines: Vec<String>,
    /// What is not as it must be.
    pub faults: Vec<String>,
    /// Planted faults, kind by kind.
    pub scores: Vec<(MutantKind, Score)>,
    /// Planted faults that nobody sees: kind and fault with its terminals.
    pub unseen: Vec<(&'static str, String)>,
    /// Planted faults that only an ohmmeter shows with the power off: kind and fault with its terminals.
    pub latent: Vec<(&'static str, String)>,
    /// How long proof and planted faults took, seconds.
    pub spent_s: [f64; 2],
}

/// Proves a plan.
pub fn prove(job: &Job, plan: &Plan, l: &Loaded) -> Proved {
    let net = match Network::rebuild(&plan.devices, &plan.rows) {
        Ok(net) => net,
        Err(errors) => {
            return Proved {
                lines: Vec::new(),
                faults: errors.iter().map(ToString::to_string).collect(),
                scores: Vec::new(),
                unseen: Vec::new(),
                latent: Vec::new(),
                spent_s: [0.0; 2],
            };
        }
    };
    let started = std::time::Instant::now();
    let limits = Limits::default();
    let acting = observe::actuators(&net);
    let words = |f: &proof::Fault| observe::fault(&net, f, &acting);
    let expectation = Expectation::new(job);
    let whole = proof::prove(&net, &expectation, limits);
    let exhaustive = whole.blocks.iter().filter(|b| b.exhaustive).count();
    let mut lines = vec![format!(
        "network: {} terminals, {} wires, {} parts; {} independent blocks",
        net.terminal_count(),
        net.wire_count(),
        net.part_count(),
        whole.blocks.len()
    )];
    let sampled = whole.blocks.len() - exhaustive;
    let most = whole.blocks.iter().map(|b| b.states).max().unwrap_or(0);
    lines.push(if sampled == 0 {
        let solved = if whole.solved < whole.states {
            format!(
                "; above {} one stands for all that contacts cannot tell apart, so that {} were solved",
                limits.listed_max, whole.solved
            )
        } else {
            String::new()
        };
        format!(
            "free positions: {} in all; each block in every one of its positions (at most {most}{solved})",
            whole.states
        )
    } else {
        format!(
            "free positions: {} in all; {exhaustive} blocks in every one of their positions, {sampled} with too many by {} samples \
             with seed {}",
            whole.states, limits.samples, limits.seed
        )
    });
    let mut faults: Vec<String> = whole.faults.iter().map(words).collect();
    let mut settled: Vec<ActuatorSet> = settled_states(l).into_iter().map(|(_, set)| set).collect();
    let by_name = settled.len();
    let (further, complete) = further_patterns(l, limits.seed);
    settled.extend(further.into_iter().map(|(calls, tank)| settle(l, calls, tank)));
    lines.push(if complete {
        format!("settled outputs of every pattern of calls ({}): the same", settled.len())
    } else {
        format!(
            "settled outputs of {by_name} patterns of calls and {} random ones with seed {}: the same",
            settled.len() - by_name,
            limits.seed
        )
    });
    faults.extend(proof::patterns(&net, &expectation, &settled).iter().map(words));
    if let Some((line, wrong)) = super::calls::prove(job, plan, l) {
        lines.push(line);
        faults.extend(wrong);
    }
    let (burns, positions) = proof::limit_pairs(&net, &expectation, job.boilers.len() as u8, limits);
    lines.push(format!("limit pairs opened one safety at a time: no burner burns in {positions} positions"));
    faults.extend(burns.iter().map(words));
    let (alone, welded) = proof::single_relays(&net, &expectation, job.boilers.len() as u8, limits);
    lines.push(match (welded, alone.len()) {
        (0, _) => "no relay stands between a safety and a burner".to_owned(),
        (_, 0) => format!(
            "relay contacts between safeties and burners welded one at a time, {welded}: none alone keeps a burner on"
        ),
        (_, n) => format!(
            "relay contacts between safeties and burners welded one at a time, {welded}: {n} alone can keep a burner on"
        ),
    });
    lines.extend(alone.iter().map(|(part, f)| format!("{} welded: {}", net.part_name(*part), words(f))));
    let proof_s = started.elapsed().as_secs_f64();
    let started = std::time::Instant::now();
    let scores = proof::mutate_all(&net, &MutantKind::ALL, limits);
    let name = |k: MutantKind, m: Mutant| (observe::mutant_kind(k), named(plan, &net, m));
    let all = |pick: &dyn Fn(&Score) -> Vec<Mutant>| {
        scores.iter().flat_map(|(k, s)| pick(s).into_iter().map(|m| name(*k, m)).collect::<Vec<_>>()).collect()
    };
    let unseen = all(&|s| s.survivors.iter().map(|(m, _)| *m).chain(s.nowhere.iter().copied()).collect());
    let latent = all(&|s| s.caught_off.clone());
    Proved { lines, faults, scores, unseen, latent, spent_s: [proof_s, started.elapsed().as_secs_f64()] }
}

/// Patterns of calls beyond the named ones that are tried at random (our choice).
const FURTHER: usize = 32;

/// Calls by zone, and of the tank, each pattern with its name: none, each zone alone, each pair of neighbours, the tank, all.
pub(super) fn named_patterns(l: &Loaded) -> Vec<(String, u64, bool)> {
    let zones = l.plant.zones.len().min(64);
    let all = every(zones);
    let name = |z: usize| l.plant.zones[z].name.clone();
    let mut out = vec![("nothing calls".to_owned(), 0, false), ("every zone calls".to_owned(), all, false)];
    if l.plant.tank.is_some() {
        out.push(("every zone and the tank call".to_owned(), all, true));
        out.push(("the tank calls".to_owned(), 0, true));
    }
    out.extend((0..zones).map(|z| (format!("{} calls", name(z)), ZoneId(z as u8).bit(), false)));
    out.extend((1..zones).map(|z| (format!("{} and {} call", name(z - 1), name(z)), 0b11 << (z - 1), false)));
    let mut seen = std::collections::HashSet::new();
    out.retain(|(_, calls, tank)| seen.insert((*calls, *tank)));
    out
}

fn every(zones: usize) -> u64 {
    if zones >= 64 { u64::MAX } else { (1u64 << zones) - 1 }
}

/// Further patterns: all that are left where they are few (true), else some by chance, always the same for the same seed.
pub(super) fn further_patterns(l: &Loaded, seed: u64) -> (Vec<(u64, bool)>, bool) {
    let zones = l.plant.zones.len().min(64);
    let tank = l.plant.tank.is_some();
    let mut seen: std::collections::HashSet<(u64, bool)> =
        named_patterns(l).into_iter().map(|(_, calls, tank)| (calls, tank)).collect();
    let bits = zones + usize::from(tank);
    if bits <= 5 {
        let all = (0..1u64 << bits).map(|p| (p & every(zones), p >> zones != 0));
        return (all.filter(|p| seen.insert(*p)).collect(), true);
    }
    let mut state = seed;
    let mut out = Vec::new();
    // Bits above hold more patterns than are wanted, so that this ends; twice as many draws as patterns are enough.
    for _ in 0..2 * FURTHER {
        let drawn = positions::next(&mut state);
        let p = (drawn & every(zones), tank && drawn >> 63 != 0);
        if out.len() < FURTHER && seen.insert(p) {
            out.push(p);
        }
    }
    (out, false)
}

/// Where the controller and an ideal plant come to rest for each named pattern of calls. Cold water, so that everything that may
/// run runs, but for fans: no aquastat is made.
pub(super) fn settled_states(l: &Loaded) -> Vec<(String, ActuatorSet)> {
    named_patterns(l).into_iter().map(|(name, calls, tank)| (name, settle(l, calls, tank))).collect()
}

/// How far above the highest aquastat of a fan the water is held, kelvin, tried in turn: the first at which the controller settles without
/// an alarm is taken (our choice: near the aquastat it may miss heat under lit burners, far above it may find the water too hot).
const ABOVE_AQUASTAT_K: [f64; 4] = [5.0, 15.0, 25.0, 35.0];

/// Every zone calls and the water is hot: the aquastats of all fans are made. `None` for a plant without such fans.
pub(super) fn hot_state(l: &Loaded) -> Option<(String, ActuatorSet)> {
    let fans = l.plant.zones.iter().enumerate().filter_map(|(z, zone)| Some((ZoneId(z as u8), zone.fans?)));
    let (mut made, mut highest) = (0, f64::MIN);
    for (z, fans) in fans {
        made |= z.bit();
        highest = highest.max(fans.aquastat.c);
    }
    if made == 0 {
        return None;
    }
    let alarm = l.points.relay(heatwright_core::RelayUse::Alarm);
    let sets = ABOVE_AQUASTAT_K.map(|k| {
        let c = (highest + k).ceil().clamp(0.0, 110.0) as i16;
        settle_at(l, every(l.plant.zones.len().min(64)), false, Water { c, aquastats: made })
    });
    let quiet = sets.iter().find(|s| alarm.is_none_or(|r| s.get(heatwright_wiring::part::Actuator::Relay(r))));
    let set = *quiet.unwrap_or(&sets[0]);
    Some(("every zone calls and the water is hot: aquastats of fans made".to_owned(), set))
}

/// How warm the water is held, and which fans' aquastats it has made.
#[derive(Clone, Copy)]
struct Water {
    c: i16,
    aquastats: u64,
}

/// Below every aquastat and every target, degrees Celsius (our choice).
const COLD_C: i16 = 30;

/// One pattern in cold water.
fn settle(l: &Loaded, calls: u64, tank_call: bool) -> ActuatorSet {
    settle_at(l, calls, tank_call, Water { c: COLD_C, aquastats: 0 })
}

/// One pattern: everything that should follow does follow, for an hour.
fn settle_at(l: &Loaded, calls: u64, tank_call: bool, water: Water) -> ActuatorSet {
    let mut wires = Ideal::new(&l.physics);
    let mut control = l.control();
    let mut outputs = Outputs::default();
    let mut field = Field { calls, tank_call, fan_aquastats: water.aquastats, ..Field::default() };
    for (slot, what) in field.sensors.iter_mut().zip(&l.config.points.sensors) {
        let c = match what {
            SensorUse::Outdoor => -5,
            // A mixed zone stays below its limit, a tank below its target.
            SensorUse::Mixed(_) | SensorUse::Tank => COLD_C,
            _ => water.c,
        };
        *slot = Reading::At(Temp::from_c(c));
    }
    for s in 0..3600u32 {
        let powered = wires.powered(&outputs, &field);
        // The plant follows at once: valves open, water flows, the damper opens, flames light.
        field.end_switches = powered.valves;
        field.damper_open = powered.damper || l.plant.damper.is_none();
        field.flow = 0;
        field.flame = powered.demand & powered.limit & powered.boiler_line;
        for b in 0..l.plant.boilers.len() {
            let id = heatwright_core::BoilerId(b as u8);
            let runs = l.config.boiler_pump(id).is_none_or(|p| powered.pumps & p.bit() != 0);
            if runs {
                field.flow |= id.bit();
            }
        }
        field.boiler_pump_request = powered.demand;
        for (i, safety) in l.plant.safeties.iter().enumerate() {
            let bit = heatwright_core::SafetyId(i as u8).bit();
            let made = match (safety.kind, safety.scope) {
                (heatwright_core::config::SafetyKind::FlowSwitch, heatwright_core::config::SafetyScope::Boiler(b)) => {
                    field.flow & b.bit() != 0
                }
                (heatwright_core::config::SafetyKind::DamperSwitch, _) => field.damper_open,
                _ => true,
            };
            if made {
                field.safeties |= bit;
            } else {
                field.safeties &= !bit;
            }
        }
        let inputs: Inputs = wires.seen(&outputs, &field);
        // Neither the logic in this process nor the stand-in for relays has a link to lose.
        let _ = control.tick(Instant::from_s(s), &inputs, &mut outputs);
    }

    super::wired::actuators(&outputs, &field)
}

/// A planted fault with its terminals, and the wire's number where it is one wire.
fn named(plan: &Plan, net: &Network, m: Mutant) -> String {
    let words = observe::mutant(net, m);
    match m {
        Mutant::Removed(row) | Mutant::Grounded(row) => match plan.rows.get(row) {
            Some(r) => format!("{} ({words})", r.wire),
            None => words,
        },
        _ => words,
    }
}
