//! The proof of a wiring plan against the control logic, in words.
//!
//! Three parts: (a) every independent block of the network in its free positions, (b) the positions that the controller itself
//! settles in for patterns of calls, (c) each boiler's limit pair open. Then every wire is taken out once: it must be seen, or
//! be harmless because the same terminals stay joined.

use crate::plant::Loaded;
use heatwright_core::{Inputs, Instant, Outputs, Reading, SensorUse, State, Temp, ZoneId};
use heatwright_sim::wires::{Field, Ideal, Wires as _};
use heatwright_wiring::{
    job::Job,
    net::{ActuatorSet, Network},
    plan::Plan,
    proof::{self, Expectation, Limits, Score, mutate::MutantKind},
};

/// The proof of one plan.
#[derive(Debug)]
pub struct Proved {
    /// What was done.
    pub lines: Vec<String>,
    /// What is not as it must be.
    pub faults: Vec<String>,
    /// Wires removed.
    pub score: Score,
    /// Wires whose loss nobody sees.
    pub unseen: Vec<String>,
}

/// Proves a plan.
pub fn prove(job: &Job, plan: &Plan, l: &Loaded) -> Proved {
    let net = match Network::rebuild(&plan.devices, &plan.rows) {
        Ok(net) => net,
        Err(errors) => {
            return Proved {
                lines: Vec::new(),
                faults: errors.iter().map(ToString::to_string).collect(),
                score: Score::default(),
                unseen: Vec::new(),
            };
        }
    };
    let limits = Limits::default();
    let acting = proof::observe::actuators(&net);
    let words = |f: &proof::Fault| proof::observe::fault(&net, f, &acting);
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
    lines.push(if sampled == 0 {
        format!("free positions: {} in all; each block in every one of its positions", whole.states)
    } else {
        format!(
            "free positions: {} in all; {exhaustive} blocks in every one of their positions, {sampled} with more than {} by {} samples \
             with seed {}",
            whole.states, limits.states_max, limits.samples, limits.seed
        )
    });
    let mut faults: Vec<String> = whole.faults.iter().map(words).collect();
    let settled = settled_positions(l);
    lines.push(format!("settled outputs of {} patterns of calls: the same", settled.len()));
    faults.extend(proof::patterns(&net, &expectation, &settled).iter().map(words));
    let (burns, positions) = proof::limit_pairs(&net, &expectation, job.boilers.len() as u8, limits);
    lines.push(format!("limit pairs opened one safety at a time: no burner burns in {positions} positions"));
    faults.extend(burns.iter().map(words));
    let score = proof::mutate(&net, MutantKind::Removed, limits);
    let unseen =
        score.survivors.iter().map(|(m, _)| *m).chain(score.nowhere.iter().copied()).map(|m| wire(plan, m)).collect();
    Proved { lines, faults, score, unseen }
}

/// Where the controller and an ideal plant come to rest for each pattern of calls: none, each zone alone, each pair of neighbours,
/// the tank, all. Cold water, so that everything that may run runs.
fn settled_positions(l: &Loaded) -> Vec<ActuatorSet> {
    let zones = l.plant.zones.len().min(16);
    let all = (1u64 << zones) - 1;
    let mut patterns: Vec<(u64, bool)> = vec![(0, false), (all, false), (all, true), (0, true)];
    patterns.extend((0..zones).map(|z| (ZoneId(z as u8).bit(), false)));
    patterns.extend((1..zones).map(|z| (0b11 << (z - 1), false)));
    patterns.retain(|(_, tank)| !tank || l.plant.tank.is_some());
    patterns.into_iter().map(|(calls, tank)| settle(l, calls, tank)).collect()
}

/// One pattern: everything that should follow does follow, for an hour.
fn settle(l: &Loaded, calls: u64, tank_call: bool) -> ActuatorSet {
    let mut wires = Ideal::new(&l.physics);
    let mut state = State::new(&l.config, None);
    let mut outputs = Outputs::default();
    let mut field = Field { calls, tank_call, ..Field::default() };
    for (slot, what) in field.sensors.iter_mut().zip(&l.points.sensors) {
        let c = if *what == SensorUse::Outdoor { -5 } else { 30 };
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
        heatwright_core::tick(&l.config, &mut state, Instant::from_s(s), &inputs, &mut outputs);
    }

    super::wired::actuators(&outputs, &field)
}

/// A removed wire as the schedule names it.
fn wire(plan: &Plan, m: proof::Mutant) -> String {
    let proof::Mutant::Removed(row) = m else { return format!("{m:?}") };
    plan.rows.get(row).map_or_else(
        || format!("row {}", row + 1),
        |r| format!("{} from {}:{} to {}:{}", r.wire, r.from.device, r.from.terminal, r.to.device, r.to.terminal),
    )
}
