//! What contacts and sensors see of the plant where it stands.

use super::{Outside, Scratch};
use crate::{
    actuator::fully_open,
    safety,
    sensor::Felt,
    state::{Model, State},
    wires::Powered,
    zone::lanes::{LANES, place},
};
use heatwright_core::{BoilerId, Reading, SensorUse, limits::SENSORS};

impl safety::Look for State {
    #[inline]
    fn boiler_c(&self, boiler: usize) -> f64 {
        self.boilers.get(boiler).map_or(0.0, |b| b.state.water_c)
    }
    #[inline]
    fn boiler_flow(&self, boiler: usize) -> bool {
        self.field.flow & BoilerId(boiler as u8).bit() != 0
    }
    #[inline]
    fn damper_open(&self) -> bool {
        self.field.damper_open
    }
    #[inline]
    fn zone_supply_c(&self, zone: usize) -> f64 {
        self.zones.supply_pipe_c(zone)
    }
    #[inline]
    fn tank_c(&self) -> f64 {
        self.tank.as_ref().map_or(0.0, |t| t.0.water_c)
    }
}

impl Model {
    /// Sets contacts and readings.
    pub(crate) fn settle(&self, s: &mut State, scratch: &Scratch, powered: &Powered, outside: &Outside) {
        self.settle_at_rest(s, scratch);
        self.look(s, powered.demand & powered.boiler_line, outside.conditions.safety_reset);
        let calls = outside.calls;
        s.field.calls = s.field.calls & !calls.zones | calls.closed & calls.zones;
        s.field.tank_call = calls.tank.unwrap_or(s.field.tank_call);
    }

    /// The same where no contact has moved.
    pub(crate) fn settle_at_rest(&self, s: &mut State, scratch: &Scratch) {
        s.field.sensors = self.readings(scratch.felt_c());
    }

    /// Sets every contact of the field by where the plant stands.
    pub(crate) fn look(&self, s: &mut State, demand: u64, reset: u64) {
        let f = &mut s.field;
        f.calls = s.zones.calls;
        f.end_switches = 0;
        for v in &self.valves {
            let (b, l) = place(v.zone);
            if v.end_switch && fully_open(s.zones.blocks[b].valve[l]) {
                f.end_switches |= 1 << v.zone;
            }
        }
        for (zone, fan) in &self.fans {
            let Some(at_c) = fan.aquastat_c else { continue };
            let ((b, l), bit) = (place(*zone), 1 << zone);
            let pipe_c = s.zones.blocks[b].supply_pipe_c[l];
            if pipe_c > at_c {
                f.fan_aquastats |= bit;
            } else if pipe_c < at_c - fan.differential_k {
                f.fan_aquastats &= !bit;
            }
        }
        f.tank_call = s.tank.as_ref().is_some_and(|t| t.0.calls);
        f.damper_open = self.plant.damper.is_some() && fully_open(s.damper);
        (f.flow, f.flame, f.boiler_fault, f.boiler_pump_request) = (0, 0, 0, 0);
        for (i, b) in s.boilers.iter().enumerate() {
            let bit = BoilerId(i as u8).bit();
            let (model, plant) = (&self.boilers[i], &self.plant.boilers[i]);
            if b.flux.flow_kg_s > 0.0 && b.flux.flow_kg_s >= plant.flow_min_kg_s {
                f.flow |= bit;
            }
            if model.flame_contact(&b.state) {
                f.flame |= bit;
            }
            if b.state.burner.locked() {
                f.boiler_fault |= bit;
            }
            if model.asks_pump(&b.state, demand & bit != 0) {
                f.boiler_pump_request |= bit;
            }
        }
        s.field.safeties = self.switches.made(s.field.safeties, reset, s);
    }

    /// What the sensors read with this at their elements, in degrees Celsius.
    pub(super) fn readings(&self, felt_c: &Felt) -> [Reading; SENSORS] {
        let mut readings = [Reading::NeverRead; SENSORS];
        for (i, (what, m)) in self.sensors.iter().enumerate().take(SENSORS) {
            if *what != SensorUse::Spare {
                readings[i] = m.reading(felt_c[i / LANES][i % LANES]);
            }
        }
        readings
    }
}
