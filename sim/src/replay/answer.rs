//! How the field devices answer in an open loop: as they are meant to.
//!
//! * flow of a boiler: while its pump is live; without a pump, while any zone's pump is;
//! * damper: open after its stroke, closed at once when it is not driven; end switches of zone valves alike;
//! * flame: pre-purge, ignition and proof after demand, limit pair, proving pair and line power are all there; gone when one is;
//! * flow and damper switches in the safety circuits follow flow and damper; every other safety is made;
//! * the tank's aquastat and the fans' follow a recorded tank and supply temperature; without one they rest.
//!
//! Times are those of the plant. Left out: faults, trials that fail, a boiler's own limit.

use crate::{
    plant::{Drive, Plant, Trip},
    wires::{Field, Powered},
};
use heatwright_core::{BoilerId, PumpId, Reading, SafetyId, SensorUse, ZoneId, config::PumpRole};

/// Where the field devices stand, second by second.
#[derive(Clone, Debug)]
pub struct Answers {
    field: Field,
    damper_s: f64,
    valves_s: Vec<f64>,
    asked_s: Vec<f64>,
}

impl Answers {
    /// Everything at rest.
    pub fn new(plant: &Plant) -> Self {
        Self {
            field: Field::default(),
            damper_s: 0.0,
            valves_s: vec![0.0; plant.zones.len()],
            asked_s: vec![0.0; plant.boilers.len()],
        }
    }

    /// The positions as they stand.
    pub fn field(&self) -> &Field {
        &self.field
    }

    /// One second with these loads live; `read` puts a recorded temperature at a sensor, and leaves one that is not recorded.
    pub fn step(
        &mut self,
        plant: &Plant,
        powered: &Powered,
        mut read: impl FnMut(SensorUse, &mut Reading),
    ) -> &mut Field {
        let f = &mut self.field;
        for (use_, slot) in plant.points.sensors.iter().zip(&mut f.sensors) {
            read(*use_, slot);
        }
        let temp = |use_: SensorUse| {
            let at = plant.points.sensors.iter().position(|u| *u == use_)?;
            f.sensors.get(at)?.temp().map(|t| f64::from(t.centi_c()) / 100.0)
        };
        let (supply_c, tank_c) = (temp(SensorUse::Supply), temp(SensorUse::Tank));
        let zone_flow = plant
            .pumps
            .iter()
            .enumerate()
            .any(|(k, p)| p.role == PumpRole::Zone && powered.pumps & PumpId(k as u8).bit() != 0);
        self.damper_s = if powered.damper { self.damper_s + 1.0 } else { 0.0 };
        f.damper_open = plant.damper.as_ref().is_some_and(|d| self.damper_s > d.stroke_s);
        f.end_switches = 0;
        f.fan_aquastats = 0;
        for (k, (z, open_s)) in plant.zones.iter().zip(&mut self.valves_s).enumerate() {
            let bit = ZoneId(k as u8).bit();
            *open_s = if powered.valves & bit != 0 { *open_s + 1.0 } else { 0.0 };
            if let Drive::Valve { stroke_s, end_switch: true, .. } = z.drive
                && *open_s > stroke_s
            {
                f.end_switches |= bit;
            }
            let warm = z.fan.and_then(|fan| fan.aquastat_c).zip(supply_c).is_some_and(|(at, c)| c > at);
            f.fan_aquastats |= if warm { bit } else { 0 };
        }
        (f.flow, f.flame, f.boiler_pump_request) = (0, 0, 0);
        for (k, (b, asked_s)) in plant.boilers.iter().zip(&mut self.asked_s).enumerate() {
            let bit = BoilerId(k as u8).bit();
            let flows = plant.boiler_pump(BoilerId(k as u8)).map_or(zone_flow, |p| powered.pumps & p.bit() != 0);
            f.flow |= if flows { bit } else { 0 };
            f.boiler_pump_request |= powered.demand & bit;
            let all = powered.demand & powered.limit & powered.proving & powered.boiler_line & bit != 0;
            *asked_s = if all { *asked_s + 1.0 } else { 0.0 };
            let burner = &b.burner;
            if *asked_s > burner.pre_purge_s + burner.ignition_s + burner.flame_proof_s {
                f.flame |= bit;
            }
        }
        f.safeties = u64::MAX;
        for (k, s) in plant.safeties.iter().enumerate() {
            let made = match s.trip {
                Trip::BoilerFlow(b) => f.flow & b.bit() != 0,
                Trip::DamperClosed => f.damper_open,
                Trip::Event | Trip::BoilerAbove { .. } | Trip::ZoneSupplyAbove { .. } | Trip::TankAbove { .. } => true,
            };
            if !made {
                f.safeties &= !SafetyId(k as u8).bit();
            }
        }
        if let Some((t, c)) = plant.tank.as_ref().zip(tank_c) {
            if c < t.set_c - t.differential_k {
                f.tank_call = true;
            } else if c >= t.set_c {
                f.tank_call = false;
            }
        }
        f
    }
}
