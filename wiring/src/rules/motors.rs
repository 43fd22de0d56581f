//! What the rules need to know of a motor: its sizing current, recomputed from the job by the tables.

use crate::{
    job::{Fan, Job, Pump, PumpMotor, Supply},
    part::LoadUse,
    tables::motor::{MotorVolts, Phases, full_load_amps},
};

/// A motor of the job.
pub(super) struct Motor {
    /// Horsepower, when it is rated in horsepower.
    pub(super) hp: Option<f64>,
    /// Current for conductors, protection and disconnect, amperes; the nameplate's where the tables do not apply.
    pub(super) amps: f64,
    /// Its supply.
    pub(super) supply: Supply,
}

/// The motor behind a load.
pub(super) fn of(job: &Job, what: LoadUse) -> Option<Motor> {
    match what {
        LoadUse::Pump(p) | LoadUse::PumpSupply(p) => job.pumps.get(p.index()).map(of_pump),
        LoadUse::Fan(z, _) => job.zones.get(z.index())?.fan.as_ref().map(of_fan),
        LoadUse::CondensatePump(i) => job.condensate_pumps.get(usize::from(i)).map(|c| Motor {
            hp: None,
            amps: c.amps,
            supply: Supply { volts: 120.0, phases: 1 },
        }),
        _ => None,
    }
}

fn of_pump(p: &Pump) -> Motor {
    match p.motor {
        PumpMotor::Induction { hp } => {
            Motor { hp: Some(hp), amps: table(hp, p.supply).unwrap_or(p.nameplate_a), supply: p.supply }
        }
        PumpMotor::WetRotor | PumpMotor::ElectronicallyCommutated { .. } => {
            Motor { hp: None, amps: p.nameplate_a, supply: p.supply }
        }
    }
}

fn of_fan(f: &Fan) -> Motor {
    if f.hp > 0.0 {
        Motor { hp: Some(f.hp), amps: table(f.hp, f.supply).unwrap_or(f.amps), supply: f.supply }
    } else {
        Motor { hp: None, amps: f.amps, supply: f.supply }
    }
}

fn table(hp: f64, s: Supply) -> Option<f64> {
    let phases = if s.phases == 3 { Phases::Three } else { Phases::One };
    full_load_amps(hp, MotorVolts::of_system(s.volts)?, phases)
}
