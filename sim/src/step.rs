//! One step of the whole plant: from the wires' answer at its start to every switch and reading at its end.
//!
//! Order within a step: valves, damper and mixing valves move; flows follow from pumps and openings; burners take their
//! sequence; boilers and zones are eliminated to straight lines; the header solves; nodes are placed; thermostats,
//! aquastats, safeties and sensors look at the result. A switch acts on loads in the next step: one step is the
//! dead time of a contact.

use crate::{
    actuator::{driven, fully_open, mixed},
    boiler::{BoilerDriveNow, BoilerFlux},
    header::{BACKFLOW_SHARE, Secondary, Way},
    outdoor::Calls,
    plant::Drive,
    safety,
    sensor::SensorModel,
    state::{Model, Scratch, State},
    wires::Powered,
    zone::ZoneDrive,
};
use heatwright_core::{
    BoilerId, CivilMinute, Level, Permille, PumpId, SafetyId, ScheduleId, ZoneId,
    limits::{BOILERS, SCHEDULES},
};

/// What comes from outside the plant in one step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outside {
    /// Outdoor temperature, in degrees Celsius.
    pub outdoor_c: f64,
    /// Wall-clock time in the world; the controller's own clock is in the field.
    pub civil: CivilMinute,
    /// Gas, hand resets.
    pub conditions: Conditions,
    /// Calls that come from a record.
    pub calls: Calls,
}

/// What people and the street do to a plant, one bit an id.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Conditions {
    /// Boilers with gas: one without fails its ignition trials, or loses its flame.
    pub gas: u64,
    /// Boilers whose lockout reset is pressed.
    pub boiler_reset: u64,
    /// Safeties whose hand reset is pressed.
    pub safety_reset: u64,
}

impl Default for Conditions {
    /// Gas everywhere, nobody presses anything.
    fn default() -> Self {
        Self { gas: u64::MAX, boiler_reset: 0, safety_reset: 0 }
    }
}

impl safety::Look for State {
    fn boiler_c(&self, boiler: usize) -> f64 {
        self.boilers.get(boiler).map_or(0.0, |b| b.state.water_c)
    }
    fn boiler_flow(&self, boiler: usize) -> bool {
        self.field.flow & BoilerId(boiler as u8).bit() != 0
    }
    fn damper_open(&self) -> bool {
        self.field.damper_open
    }
    fn zone_supply_c(&self, zone: usize) -> f64 {
        self.zones.get(zone).map_or(0.0, |z| z.supply_pipe_c)
    }
    fn tank_c(&self) -> f64 {
        self.tank.as_ref().map_or(0.0, |t| t.0.water_c)
    }
}

/// Levels of all schedules at one moment.
pub(crate) type Levels = [Level; SCHEDULES];

impl Model {
    /// Moves `s` on by one step.
    pub(crate) fn step(&self, s: &mut State, scratch: &mut Scratch, powered: &Powered, outside: &Outside) {
        let dt_s = self.dt_s;
        let room_c = self.plant.site.boiler_room_c;
        let levels = match scratch.levels {
            Some((minute, levels)) if minute == outside.civil => levels,
            _ => {
                let levels = self.levels(outside.civil);
                scratch.levels = Some((outside.civil, levels));
                levels
            }
        };
        let outdoor_c = outside.outdoor_c;
        s.outdoor_c = outdoor_c;
        s.pumps = powered.pumps;
        if let Some(d) = &self.plant.damper {
            s.damper = driven(s.damper, f64::from(u8::from(powered.damper)), d.stroke_s, dt_s);
        }

        let mut secondary = Secondary::default();
        let supply_was_c = s.header.supply_c;
        scratch.zones.clear();
        for (i, z) in s.zones.iter_mut().enumerate() {
            let plant = &self.plant.zones[i];
            let bit = ZoneId(i as u8).bit();
            if let Drive::Valve { stroke_s, .. } = plant.drive {
                let toward = if powered.valves & bit != 0 { 1.0 } else { 0.0 };
                z.valve = driven(z.valve, toward, stroke_s, dt_s);
            }
            if let Some(mix) = &plant.mix {
                let signal = self.mixing_analog[i].and_then(|a| powered.analogs.get(a));
                let signal = f64::from(signal.copied().unwrap_or_default().get()) / 1000.0;
                z.mixing = mixed(mix, z.mixing, z.supply_pipe_c, signal, self.mixing_share[i], dt_s);
            }
            let (mut gains_w, mut law_share) = (plant.gains.heat_w(level(&levels, plant.gains.schedule)), 1.0);
            if let Some(f) = &plant.fan {
                z.fan = powered.fans & bit != 0;
                if z.fan {
                    gains_w += f.power_w;
                } else {
                    law_share = f.still_share;
                }
            }
            let flow_kg_s = self.branches[i].flow_kg_s(powered.pumps, z.valve);
            let flow_w_k = flow_kg_s * self.specific_heat_j_kgk;
            let drive = ZoneDrive { flow_w_k, from_header: z.mixing, supply_was_c, outdoor_c, gains_w, law_share };
            let reply = self.zones[i].reply(&z.nodes, &drive);
            secondary.add(flow_w_k * z.mixing, reply.fixed_c, reply.per_supply);
            z.flux.flow_kg_s = flow_kg_s;
            z.flux.gains_w = gains_w;
            scratch.zones.push(reply);
        }
        let tank = match (&self.tank, &s.tank, &self.plant.tank) {
            (Some(m), Some((t, _)), Some(plant)) => {
                let hour = (outside.civil.get() / 60 % 24) as usize;
                let reply = m.reply(t, powered.pumps & plant.pump.bit() != 0, hour, room_c);
                if powered.pumps & plant.pump.bit() != 0 {
                    secondary.add(m.flow_w_k, reply.fixed_c, reply.per_supply);
                }
                Some((m, reply))
            }
            _ => None,
        };

        let ways = self.boiler_ways(powered.pumps, secondary.flow_w_k);
        scratch.boilers.clear();
        for (i, b) in s.boilers.iter_mut().enumerate() {
            let bit = BoilerId(i as u8).bit();
            let (way, flow_w_k) = ways[i];
            let return_c = match way {
                Way::Forward => s.header.primary_return_c,
                Way::Back => s.header.primary_supply_c,
                Way::Still => b.state.water_c,
            };
            let signal = self.boiler_analog[i].and_then(|a| powered.analogs.get(a)).copied();
            let drive = BoilerDriveNow {
                line: powered.boiler_line & bit != 0,
                limit: powered.limit & bit != 0,
                proving: powered.proving & bit != 0,
                demand: powered.demand & bit != 0,
                signal: signal.unwrap_or(Permille::ZERO),
                fuel: outside.conditions.gas & bit != 0,
                reset: outside.conditions.boiler_reset & bit != 0,
                return_c,
                way,
                flow_w_k,
                room_c,
            };
            let (reply, flux) = self.boilers[i].reply(&mut b.state, &drive);
            b.flux = BoilerFlux { flow_kg_s: way.sign() * flow_w_k / self.specific_heat_j_kgk, ..flux };
            scratch.boilers.push(reply);
        }

        s.pipe_loss_w = self.header.step(&mut s.header, &scratch.boilers, &secondary, room_c);

        for (i, b) in s.boilers.iter_mut().enumerate() {
            let reply = &scratch.boilers[i];
            let inlet_c = match reply.way {
                Way::Forward => s.header.primary_return_c,
                Way::Back => s.header.primary_supply_c,
                Way::Still => b.state.water_c,
            };
            self.boilers[i].finish(&mut b.state, reply, inlet_c, room_c, &mut b.flux);
        }
        let cool = self.pipe_cool_share;
        for (i, z) in s.zones.iter_mut().enumerate() {
            let flow_kg_s = z.flux.flow_kg_s;
            let flux = self.zones[i].finish(&mut z.nodes, &scratch.zones[i], s.header.supply_c, outdoor_c);
            z.flux.heat_w = flux.heat_w;
            z.flux.loss_w = flux.loss_w;
            if flow_kg_s > 0.0 {
                z.flux.supply_c = flux.supply_c;
                z.supply_pipe_c = flux.supply_c;
            } else {
                z.supply_pipe_c += cool * (z.nodes.air_c - z.supply_pipe_c);
            }
            let thermostat = &self.thermostats[i];
            let set_c = thermostat.set_c(level(&levels, self.plant.zones[i].thermostat.schedule));
            thermostat.step(&mut z.thermostat, set_c, z.nodes.air_c);
        }
        if let (Some((m, reply)), Some((t, flux))) = (tank, &mut s.tank) {
            *flux = m.finish(t, &reply, s.header.supply_c, room_c);
        }
        s.steps += 1;
        self.look(s, powered.demand & powered.boiler_line, outside.conditions.safety_reset);
        let calls = outside.calls;
        s.field.calls = s.field.calls & !calls.zones | calls.closed & calls.zones;
        s.field.tank_call = calls.tank.unwrap_or(s.field.tank_call);
        self.read_sensors(s);
    }

    /// Level of a zone's thermostat schedule at a wall-clock time.
    pub fn zone_set_c(&self, zone: usize, civil: CivilMinute) -> f64 {
        match (self.thermostats.get(zone), self.plant.zones.get(zone)) {
            (Some(t), Some(z)) => t.set_c(level(&self.levels(civil), z.thermostat.schedule)),
            _ => f64::NAN,
        }
    }

    pub(crate) fn levels(&self, civil: CivilMinute) -> Levels {
        let mut levels = [Level::Occupied; SCHEDULES];
        for (slot, schedule) in levels.iter_mut().zip(&self.plant.schedules) {
            *slot = schedule.level(Some(civil));
        }
        levels
    }

    /// Which way and how much water goes through each boiler.
    fn boiler_ways(&self, running: u64, zones_w_k: f64) -> [(Way, f64); BOILERS] {
        let mut ways = [(Way::Still, 0.0); BOILERS];
        let (mut forward, mut back) = (0.0, 0.0);
        for (i, slot) in ways.iter_mut().enumerate().take(self.boilers.len()) {
            let full = self.boilers[i].flow_w_k;
            let through = self.through_share[i];
            *slot = if through > 0.0 && zones_w_k > 0.0 {
                (Way::Forward, through * zones_w_k)
            } else if running & self.boiler_pumps[i] != 0 {
                (Way::Forward, full)
            } else if self.header.check_valves || through > 0.0 {
                (Way::Still, 0.0)
            } else {
                (Way::Back, BACKFLOW_SHARE * full)
            };
            match slot.0 {
                Way::Forward => forward += slot.1,
                Way::Back => back += slot.1,
                Way::Still => {}
            }
        }
        if back > 0.0 {
            let scale = (0.5 * forward / back).min(1.0);
            for slot in &mut ways {
                if slot.0 == Way::Back {
                    *slot = if scale > 0.0 { (Way::Back, slot.1 * scale) } else { (Way::Still, 0.0) };
                }
            }
        }
        ways
    }

    /// Sets every contact of the field by where the plant stands.
    pub(crate) fn look(&self, s: &mut State, demand: u64, reset: u64) {
        let mut f = s.field;
        f.calls = 0;
        f.end_switches = 0;
        for (i, z) in s.zones.iter().enumerate() {
            let (bit, plant) = (ZoneId(i as u8).bit(), &self.plant.zones[i]);
            if z.thermostat.calls {
                f.calls |= bit;
            }
            if matches!(plant.drive, Drive::Valve { end_switch: true, .. }) && fully_open(z.valve) {
                f.end_switches |= bit;
            }
            if let Some((fan, at_c)) = plant.fan.and_then(|f| Some((f, f.aquastat_c?))) {
                if z.supply_pipe_c > at_c {
                    f.fan_aquastats |= bit;
                } else if z.supply_pipe_c < at_c - fan.differential_k {
                    f.fan_aquastats &= !bit;
                }
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
            if b.state.burner == crate::boiler::burner::Burner::Lockout {
                f.boiler_fault |= bit;
            }
            if model.asks_pump(&b.state, demand & bit != 0) {
                f.boiler_pump_request |= bit;
            }
        }
        s.field = f;
        let mut safeties = u64::MAX;
        for (i, safety) in self.plant.safeties.iter().enumerate() {
            let bit = SafetyId(i as u8).bit();
            if !safety::made(safety, s.field.safeties & bit != 0, reset & bit != 0, s) {
                safeties &= !bit;
            }
        }
        s.field.safeties = safeties;
    }

    pub(crate) fn read_sensors(&self, s: &mut State) {
        for (i, (what, m)) in self.sensors.iter().enumerate() {
            let true_c = self.true_c(s, *what);
            let reading = SensorModel::step(m, &mut s.sensors[i], true_c);
            if *what != heatwright_core::SensorUse::Spare
                && let Some(slot) = s.field.sensors.get_mut(i)
            {
                *slot = reading;
            }
        }
    }

    /// True while this pump ran in the last step.
    pub fn pump_ran(&self, s: &State, p: PumpId) -> bool {
        s.pumps & p.bit() != 0
    }
}

fn level(levels: &Levels, schedule: Option<ScheduleId>) -> Level {
    schedule.and_then(|s| levels.get(s.index()).copied()).unwrap_or(Level::Occupied)
}
