//! How motors are switched, which disconnects they have, which fans share a circuit.

use super::{
    Chain, ChainOf,
    calls::{self, Gate},
    limits_of_pump,
};
use crate::{
    job::{Fan, Job, PumpMotor, Selector, Supply},
    pass::boards::{self, board_of, enclosure_of, in_sight, place_of, to_neutral},
    plan::MotorSwitch,
    tables::{
        conductor,
        motor::{self, Phases},
        shared,
    },
};
use heatwright_core::{BoilerId, PumpId, RelayUse, config::BoilerPump};

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

/// The disconnect of a pump's motor. In sight is taken as one place and the user's word for it.
pub fn pump_disconnect(job: &Job, p: PumpId, switch: MotorSwitch) -> PumpDisconnect {
    let Some(pump) = job.pumps.get(p.index()).filter(|p| p.in_sight_of_panel) else { return PumpDisconnect::Own };
    let Some(board) = board_of(job, pump.supply) else { return PumpDisconnect::Own };
    let enclosure = enclosure_of(job, switch, pump.supply);
    if in_sight(job, board, enclosure) && pump.place == boards::place(job, board) {
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

/// How many of a zone's fans hang on each of their branch circuits: as many as small motors may share one (430.53(A): 1 hp and
/// 6 A each, 20 A at 120 V, 15 A above) and as 430.24 lets that device carry, spread evenly; a larger fan has its own.
pub fn fan_groups(f: &Fan) -> Vec<u8> {
    let amps = table_a(f.hp, f.supply).unwrap_or(f.amps);
    let volts = f.supply.volts;
    let most = shared::largest_device_amps(volts);
    let one = [shared::Motor { hp: f.hp, full_load_amps: amps }];
    let fits = |n: u8| conductor::group_amps(&vec![amps; usize::from(n)], 0.0, 0.0) <= most + 1e-9;
    let small = shared::small_motors_may_share(&one, volts, most);
    let each = (1..=f.count.max(1)).rev().find(|n| *n == 1 || (small && fits(*n))).unwrap_or(1);
    let circuits = f.count.div_ceil(each);
    (0..circuits).map(|i| f.count / circuits + u8::from(i < f.count % circuits)).collect()
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

    /// NFPA 70 430.53(A): 1 hp, 6 A, 20 A at 120 V; 430.24: 125 % of the largest and the rest.
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
            })
        };
        assert_eq!(with(1, 2.0, 0.0, 120.0), [1]);
        assert_eq!(with(4, 1.2, 0.0, 120.0), [4]);
        // 8 x 2.4 + 0.25 x 2.4 = 19.8 A; a ninth would make 22.2 A, so nine part into five and four.
        assert_eq!(with(8, 2.4, 0.0, 120.0), [8]);
        assert_eq!(with(9, 2.4, 0.0, 120.0), [5, 4]);
        // At 208 V 15 A is the largest: 6 x 2.4 + 0.6 = 15.0 A.
        assert_eq!(with(7, 2.4, 0.0, 208.0), [4, 3]);
        // Over 6 A (1/3 hp at 115 V: 7.2 A) or over 1 hp: each its own.
        assert_eq!(with(2, 6.1, 0.0, 120.0), [1, 1]);
        assert_eq!(with(2, 6.0, 1.0 / 3.0, 120.0), [1, 1]);
        assert_eq!(with(2, 3.0, 1.5, 208.0), [1, 1]);
    }
}
