//! How motors are switched, which disconnects they have, which fans share a circuit.

use super::{
    Chain, ChainOf,
    calls::{self, Gate},
    limits_of_pump,
};
use crate::{
    job::{Fan, Fed, Job, PumpCircuits, PumpMotor, Selector, Supply},
    pass::{
        boards::{self, board_of, enclosure_of, in_sight, place_of, to_neutral},
        protection,
    },
    plan::MotorSwitch,
    tables::{
        motor::{self, Phases},
        shared,
    },
};
use heatwright_core::{
    BoilerId, PumpId, RelayUse,
    config::{BoilerPump, PumpRole},
};

/// Most pumps on one branch circuit: a breaker that trips leaves part of the building warm, and a fault is looked for among few
/// motors (our choice).
const PUMPS_A_CIRCUIT_MAX: usize = 4;
/// Largest breaker ahead of a relay contact that carries a motor itself, amperes: such contacts are seldom marked for more
/// (our choice; 430.53(A) wants what is marked on a controller kept).
const RELAY_BREAKER_MAX_A: f64 = 15.0;

/// Who asks for a pump besides its hand switch: our relay, a boiler, or both.
pub fn pump_asked_by(job: &Job, p: PumpId) -> (bool, Option<BoilerId>) {
    let boiler = job.boilers.iter().enumerate().find_map(|(i, b)| match b.pump {
        BoilerPump::Boiler(q) if q == p => Some((false, BoilerId(i as u8))),
        BoilerPump::Either(q) if q == p => Some((true, BoilerId(i as u8))),
        _ => None,
    });
    match boiler {
        Some((ours, b)) => (ours, Some(b)),
        None => (true, None),
    }
}

/// True when a motor's circuit passes a disconnect of its own in the enclosure of what switches it, ahead of that: each
/// controller needs one in sight (NEC 430.102(A)), and the breaker is that only where its panelboard is in sight.
pub fn line_disconnect(job: &Job, switch: MotorSwitch, supply: Supply) -> bool {
    let here = matches!(
        switch,
        MotorSwitch::ControllerRelay | MotorSwitch::CallRelay | MotorSwitch::Contactor | MotorSwitch::Starter
    );
    let Some(board) = board_of(job, supply) else { return false };
    let e = enclosure_of(job, switch, supply);
    // In the starter panel its auxiliary contact also opens the coil circuit, which comes from elsewhere (430.75(A)).
    here && (e == boards::Enclosure::Starter || !in_sight(job, board, e))
}

/// Which disconnect serves the motor itself (430.102(B)).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PumpDisconnect {
    /// One of its own beside it.
    Own,
    /// The one ahead of its controller in the relay or starter panel, in sight of it.
    RelayPanel,
    /// Its breaker: panelboard, relay panel and pump are in sight of each other.
    Breaker,
}

/// The disconnect of a pump's motor. In sight is taken as one place and the user's word for it. A breaker that feeds other pumps
/// too is none: it would stop them for the work on one.
pub fn pump_disconnect(job: &Job, p: PumpId, switch: MotorSwitch, alone: bool) -> PumpDisconnect {
    let Some(pump) = job.pumps.get(p.index()).filter(|p| p.in_sight_of_panel) else { return PumpDisconnect::Own };
    let Some(board) = board_of(job, pump.supply) else { return PumpDisconnect::Own };
    let enclosure = enclosure_of(job, switch, pump.supply);
    if alone && in_sight(job, board, enclosure) && pump.place == boards::place(job, board) {
        PumpDisconnect::Breaker
    } else if line_disconnect(job, switch, pump.supply) && pump.place == place_of(job, enclosure) {
        PumpDisconnect::RelayPanel
    } else {
        PumpDisconnect::Own
    }
}

/// How a zone's fans are switched: a three-phase motor has no aquastat that carries it.
pub fn fan_switch(f: &Fan) -> MotorSwitch {
    match (f.supply.phases, f.overload_built_in) {
        (3, true) => MotorSwitch::Contactor,
        (3, false) => MotorSwitch::Starter,
        _ => MotorSwitch::Aquastat,
    }
}

/// True for fans whose contactor or starter stands beside each of them, in a box of its own behind the fan's disconnect.
pub fn switched_at_fan(f: &Fan) -> bool {
    f.switch_at_fan && fan_switch(f) != MotorSwitch::Aquastat
}

/// How many of a zone's fans hang on each of their branch circuits: as many as small motors may share one (430.53(A): 1 hp and
/// 6 A each, 20 A at 120 V, 15 A above) and as that device carries while they start ([`shared::starting_amps`], which is more than 430.24
/// asks for), spread evenly; a larger fan has its own.
pub fn fan_groups(f: &Fan) -> Vec<u8> {
    let amps = table_a(f.hp, f.supply).unwrap_or(f.amps);
    let volts = f.supply.volts;
    let most = shared::largest_device_amps(volts);
    let one = [shared::Motor { hp: f.hp, full_load_amps: amps }];
    let fits = |n: u8| shared::starting_amps(&vec![amps; usize::from(n)]) <= most + 1e-9;
    let small = shared::small_motors_may_share(&one, volts, most);
    let each = (1..=f.count.max(1)).rev().find(|n| *n == 1 || (small && fits(*n))).unwrap_or(1);
    let circuits = f.count.div_ceil(each);
    (0..circuits).map(|i| f.count / circuits + u8::from(i < f.count % circuits)).collect()
}

/// Which pumps hang on one branch circuit, in the order of their first: single-phase pumps of zones, each of 1 hp and 6 A at most,
/// as many as the device of 430.53(A) carries while the largest starts and the rest run ([`shared::starting_amps`], which is more than
/// 430.24 asks for). They are taken in the order of the file, so that a pump
/// added at its end moves no other. On their own stay the pump of a boiler (one breaker then stops one boiler), that of the tank
/// (hot water does not go with heating), every three-phase pump, and a pump whose space in the panelboard is given and no other's.
pub(super) fn pump_circuits(job: &Job, switches: &[MotorSwitch]) -> Vec<Vec<PumpId>> {
    let mut out: Vec<Vec<PumpId>> = Vec::new();
    let mut open: Vec<(Sharing, usize, Vec<f64>)> = Vec::new();
    for (i, switch) in switches.iter().enumerate() {
        let id = PumpId(i as u8);
        let Some((how, amps)) = sharing(job, id, *switch) else {
            out.push(vec![id]);
            continue;
        };
        let group = open.iter_mut().find(|g| {
            let with: Vec<f64> = g.2.iter().copied().chain([amps]).collect();
            let most = g.0.most_a.min(how.most_a);
            g.0.alike(&how) && with.len() <= PUMPS_A_CIRCUIT_MAX && shared::starting_amps(&with) <= most + 1e-9
        });
        match group {
            Some((of, at, list)) => {
                of.most_a = of.most_a.min(how.most_a);
                list.push(amps);
                out[*at].push(id);
            }
            None => {
                // The one before is full: it stays closed, so that a smaller pump further down does not go back to it.
                open.retain(|g| !g.0.alike(&how));
                open.push((how, out.len(), vec![amps]));
                out.push(vec![id]);
            }
        }
    }
    out
}

/// What pumps on one circuit have in common, and the largest breaker for them.
#[derive(Clone, Copy)]
struct Sharing {
    board: boards::Board,
    to_neutral: bool,
    enclosure: boards::Enclosure,
    space: Option<u8>,
    most_a: f64,
}

impl Sharing {
    fn alike(&self, o: &Self) -> bool {
        (self.board, self.to_neutral, self.enclosure, self.space) == (o.board, o.to_neutral, o.enclosure, o.space)
    }
}

/// How a pump may share a circuit, and its current; `None` where it may not.
fn sharing(job: &Job, id: PumpId, switch: MotorSwitch) -> Option<(Sharing, f64)> {
    let p = job.pumps.get(id.index())?;
    let board = board_of(job, p.supply)?;
    let to_neutral = to_neutral(job, p.supply);
    let volts =
        if to_neutral { boards::volts(job, board).phase_volts() } else { boards::volts(job, board).line_volts() };
    let amps = protection::motor_amps(p);
    let hp = match p.motor {
        PumpMotor::Induction { hp } => hp,
        PumpMotor::WetRotor | PumpMotor::ElectronicallyCommutated { .. } => 0.0,
    };
    let by_relay = matches!(switch, MotorSwitch::ControllerRelay | MotorSwitch::CallRelay);
    let device = shared::largest_device_amps(volts);
    let small = shared::small_motors_may_share(&[shared::Motor { hp, full_load_amps: amps }], volts, device);
    let wanted = job.settings.pump_circuits == PumpCircuits::Shared && p.role == PumpRole::Zone && p.supply.phases == 1;
    let how = Sharing {
        board,
        to_neutral,
        enclosure: enclosure_of(job, switch, p.supply),
        space: job.service.spaces.iter().find(|g| g.fed == Fed::Pump(id)).map(|g| g.space),
        most_a: if by_relay { device.min(RELAY_BREAKER_MAX_A) } else { device },
    };
    (wanted && small).then_some((how, amps))
}

pub(super) fn pump_switch(job: &Job, id: PumpId, chains: &[Chain]) -> MotorSwitch {
    let Some(p) = job.pumps.get(id.index()) else { return MotorSwitch::Contactor };
    if let PumpMotor::ElectronicallyCommutated { start_input: true } = p.motor {
        return MotorSwitch::StartInput;
    }
    let by_boiler = pump_asked_by(job, id).1.is_some();
    let limit_in_relays =
        limits_of_pump(job, id).iter().any(|s| chains.iter().any(|c| c.of == ChainOf::Own(*s) && c.relayed));
    let one_pole = to_neutral(job, p.supply);
    let commutated = matches!(p.motor, PumpMotor::ElectronicallyCommutated { .. });
    if !p.overload_built_in && !commutated {
        return MotorSwitch::Starter;
    }
    let rating_hp = if p.supply.volts < 130.0 { job.panel.relay.motor_120_v_hp } else { 0.0 };
    let within = match p.motor {
        PumpMotor::Induction { hp } => hp <= rating_hp + 1e-9,
        PumpMotor::WetRotor => table_a(rating_hp, p.supply).is_some_and(|rated_a| p.nameplate_a <= rated_a),
        PumpMotor::ElectronicallyCommutated { .. } => false,
    };
    let direct = p.selector == Selector::None && one_pole && !by_boiler && !limit_in_relays && within;
    match calls::gate(job) {
        None if direct => MotorSwitch::ControllerRelay,
        // One caller alone: its relay has the contact to spare. Several would put as many contacts into the motor's line.
        Some(Gate::Always) if direct && calls::callers_of(job, id).len() == 1 => MotorSwitch::CallRelay,
        _ => MotorSwitch::Contactor,
    }
}

/// True when the points give the pump a relay.
pub fn has_relay(job: &Job, p: PumpId) -> bool {
    job.points.relay(RelayUse::Pump(p)).is_some()
}

/// Table current of a motor, amperes; `None` where the tables have no such row.
pub fn table_a(hp: f64, supply: Supply) -> Option<f64> {
    let phases = if supply.phases == 3 { Phases::Three } else { Phases::One };
    motor::full_load_amps(hp, motor::MotorVolts::of_system(supply.volts)?, phases)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::PlaceId;

    /// NFPA 70 430.53(A): 1 hp, 6 A, 20 A at 120 V; 175 % of the largest and the rest ride through starting (our choice).
    #[test]
    fn fans_share_a_circuit_as_far_as_small_motors_may() {
        let with = |count, amps, hp, volts| {
            let supply = Supply { volts, phases: 1 };
            fan_groups(&Fan {
                place: PlaceId(0),
                count,
                run_ft: 1.0,
                spacing_ft: 1.0,
                supply,
                amps,
                hp,
                overload_built_in: true,
                service_factor: 1.0,
                switch_at_fan: false,
            })
        };
        assert_eq!(with(1, 2.0, 0.0, 120.0), [1]);
        assert_eq!(with(4, 1.2, 0.0, 120.0), [4]);
        // 7 x 2.4 + 0.75 x 2.4 = 18.6 A; an eighth would make 21 A, past 20 A while they start.
        assert_eq!(with(7, 2.4, 0.0, 120.0), [7]);
        assert_eq!(with(8, 2.4, 0.0, 120.0), [4, 4]);
        assert_eq!(with(9, 2.4, 0.0, 120.0), [5, 4]);
        // At 208 V 15 A is the largest: 5 x 2.4 + 1.8 = 13.8 A, three of 4.6 A are 17.3 A.
        assert_eq!(with(7, 2.4, 0.0, 208.0), [4, 3]);
        assert_eq!(with(3, 4.6, 0.0, 208.0), [2, 1]);
        // Over 6 A (1/3 hp at 115 V: 7.2 A) or over 1 hp: each its own.
        assert_eq!(with(2, 6.1, 0.0, 120.0), [1, 1]);
        assert_eq!(with(2, 6.0, 1.0 / 3.0, 120.0), [1, 1]);
        assert_eq!(with(2, 3.0, 1.5, 208.0), [1, 1]);
    }

    fn circuits(job: &Job) -> Vec<Vec<u8>> {
        super::super::choose(job).pump_circuits.iter().map(|c| c.iter().map(|p| p.0).collect()).collect()
    }

    /// NFPA 70 430.53(A): 1 hp, 6 A, 20 A at 120 V; 430.24: 125 % of the largest and the rest.
    #[test]
    fn pumps_of_zones_share_a_circuit_and_others_do_not() {
        // Boiler pumps (1/3 hp, 7.2 A), the three-phase one and the tank's stay alone. 5.8 + 1.1 + 0.9 A and 4.35 A make 12.15 A; with 4.4 A
        // more they would be 16.55 A on 15 A. The next three, 4.4 + 4.4 + 1.8 A and 3.3 A, are 13.9 A.
        let mut job = crate::fixtures::library();
        let own: [&[u8]; 7] = [&[0], &[1], &[2], &[3], &[4, 5, 6], &[7, 8, 9], &[10]];
        assert_eq!(circuits(&job), own);
        job.settings.pump_circuits = PumpCircuits::OneEach;
        assert_eq!(circuits(&job), (0..11).map(|p| vec![p]).collect::<Vec<_>>());
        // A relay contact in the line keeps the circuit at 15 A: 5.8 + 4.4 A and 4.35 A are 14.55 A, with 1.8 A more 16.35 A.
        let mut job = crate::fixtures::library();
        (job.pumps[7].motor, job.pumps[7].selector) = (PumpMotor::Induction { hp: 0.25 }, Selector::HandOffAuto);
        assert_eq!(circuits(&job)[4..7], [vec![4, 5, 6], vec![7, 8], vec![9]]);
        // Contactors alone may have 20 A: two of 5.8 A and 4.35 A are 15.95 A, a third is too much.
        for p in 4..8 {
            job.pumps[p].motor = PumpMotor::Induction { hp: 0.25 };
            job.pumps[p].selector = Selector::HandOffAuto;
        }
        assert_eq!(circuits(&job)[4..6], [vec![4, 5], vec![6, 7]]);
        // Over 6 A (1/3 hp: 7.2 A): alone.
        job.pumps[4].motor = PumpMotor::Induction { hp: 1.0 / 3.0 };
        assert_eq!(circuits(&job)[4..6], [vec![4], vec![5, 6]]);
    }

    /// A pump that is added at the end of the file moves no other; one space for two pumps is one circuit, two are two.
    #[test]
    fn given_spaces_say_which_pumps_share() {
        let mut job = crate::fixtures::library();
        let at = |p, space| crate::job::GivenSpace { fed: Fed::Pump(PumpId(p)), space };
        job.service.spaces = vec![at(5, 21), at(8, 21), at(6, 23)];
        assert_eq!(circuits(&job)[4..9], [vec![4, 7], vec![5, 8], vec![6], vec![9], vec![10]]);
        assert!(crate::plan::plan(&job).is_ok());
        // A pump of a boiler shares with none.
        job.service.spaces = vec![at(5, 21), at(0, 21)];
        let faults = crate::plan::plan(&job).unwrap_err();
        assert!(faults.iter().any(|f| f.subject == heatwright_core::Subject::Pump(PumpId(0))), "{faults:?}");
        job.service.spaces = vec![at(5, 21), at(8, 21)];
        job.settings.pump_circuits = PumpCircuits::OneEach;
        assert!(crate::plan::plan(&job).is_err());
    }

    /// With breakers and relay panel in sight and the pump beside them the breaker serves as its disconnect, but not one that feeds
    /// other pumps too.
    #[test]
    fn a_shared_breaker_is_no_pumps_disconnect() {
        let mut job = crate::fixtures::library();
        job.service.in_sight_of_relay_panel = true;
        for p in &mut job.pumps {
            p.in_sight_of_panel = true;
        }
        let of = |job: &Job, tag: &str| {
            let p = crate::plan::plan(job).unwrap();
            p.motors.iter().find(|m| m.device == tag).unwrap().disconnect.clone()
        };
        assert_eq!(of(&job, "M6"), "QB6");
        assert_eq!(of(&job, "M11"), "A2", "the tank's pump has its breaker to itself");
        job.settings.pump_circuits = PumpCircuits::OneEach;
        assert_eq!(of(&job, "M6"), "A2");
    }
}
