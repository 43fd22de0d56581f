//! One step of the whole plant: from the wires' answer at its start to every switch and reading at its end.
//!
//! Order within a step: valves, damper and mixing valves move; flows follow from pumps and openings; burners take their
//! sequence; boilers and zones are eliminated to straight lines; the header solves; nodes are placed; thermostats,
//! aquastats, safeties and sensors look at the result. A switch acts on loads in the next step: one step is the
//! dead time of a contact.

use crate::{
    actuator::{driven, fully_open, mixed},
    boiler::BoilerDriveNow,
    header::{BACKFLOW_SHARE, Secondary, Way},
    outdoor::Calls,
    safety,
    sensor::SensorModel,
    state::{Model, Scratch, State},
    wires::Powered,
    zone::lanes::{LANES, Lane, lane, place},
};
use heatwright_core::{
    BoilerId, CivilMinute, Level, Permille, PumpId, ScheduleId,
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

/// Levels of all schedules at one moment.
pub(crate) type Levels = [Level; SCHEDULES];

impl Model {
    /// Moves `s` on by one step. `scratch` belongs to this state and to no other.
    pub(crate) fn step(&self, s: &mut State, scratch: &mut Scratch, powered: &Powered, outside: &Outside) {
        let room_c = self.plant.site.boiler_room_c;
        s.outdoor_c = outside.outdoor_c;
        s.pumps = powered.pumps;
        if let Some(d) = &self.plant.damper {
            s.damper = driven(s.damper, f64::from(u8::from(powered.damper)), d.stroke_s, self.dt_s);
        }
        self.move_water(s, scratch, powered, outside);

        let mut secondary = self.zones_reply(s, scratch, outside.outdoor_c);
        let tank = match (&self.tank, &s.tank, &self.plant.tank) {
            (Some(m), Some((t, _)), Some(plant)) => {
                let hour = (outside.civil.get() / 60 % 24) as usize;
                let runs = powered.pumps & plant.pump.bit() != 0;
                let reply = m.reply(t, runs, hour, room_c);
                if runs {
                    secondary.add(m.flow_w_k, reply.fixed_c, reply.per_supply);
                }
                Some((m, reply))
            }
            _ => None,
        };
        self.boilers_reply(s, scratch, powered, outside, secondary.flow_w_k);
        let replies = &scratch.boilers[..s.boilers.len().min(BOILERS)];
        s.pipe_loss_w = self.header.step(&mut s.header, replies, &secondary, room_c);

        for (i, b) in s.boilers.iter_mut().enumerate().take(BOILERS) {
            let reply = &scratch.boilers[i];
            let inlet_c = match reply.way {
                Way::Forward => s.header.primary_return_c,
                Way::Back => s.header.primary_supply_c,
                Way::Still => b.state.water_c,
            };
            self.boilers[i].finish(&mut b.state, reply, inlet_c, room_c, &mut b.flux);
        }
        self.zones_finish(s, scratch, outside.outdoor_c);
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

    /// Valves and mixing valves move; flows and gains follow where something of them has changed.
    fn move_water(&self, s: &mut State, scratch: &mut Scratch, powered: &Powered, outside: &Outside) {
        let mut touched = 0_u64;
        for v in &self.valves {
            let (b, l) = place(v.zone);
            let toward = if powered.valves >> v.zone & 1 == 1 { 1.0 } else { 0.0 };
            let opening = &mut s.zones.blocks[b].valve[l];
            if *opening != toward {
                *opening = driven(*opening, toward, v.stroke_s, self.dt_s);
                touched |= 1 << v.zone;
            }
        }
        for m in &self.mixes {
            let (b, l) = place(m.zone);
            let block = &mut s.zones.blocks[b];
            let signal = m.analog.and_then(|a| powered.analogs.get(a)).copied().unwrap_or_default();
            let signal = f64::from(signal.get()) / 1000.0;
            let was = block.mixing[l];
            block.mixing[l] = mixed(&m.mix, was, block.supply_pipe_c[l], signal, m.share, self.dt_s);
            if block.mixing[l] != was {
                touched |= 1 << m.zone;
            }
        }
        if scratch.minute != Some(outside.civil) {
            scratch.minute = Some(outside.civil);
            scratch.moved_by = None;
            let levels = self.levels(outside.civil);
            for (i, (z, t)) in self.plant.zones.iter().zip(&self.thermostats).enumerate() {
                let (b, l) = place(i);
                scratch.gains_w[b][l] = z.gains.heat_w(level(&levels, z.gains.schedule));
                scratch.set_c[b][l] = t.set_c(level(&levels, z.thermostat.schedule));
            }
        }
        let moved_by = Some((powered.pumps, powered.fans));
        if scratch.moved_by != moved_by {
            scratch.moved_by = moved_by;
            touched = u64::MAX;
            s.zones.fans = 0;
            let d = &mut scratch.drive;
            for i in 0..self.branches.len() {
                let (b, l) = place(i);
                (d[b].gains_w[l], d[b].law_share[l]) = (scratch.gains_w[b][l], 1.0);
            }
            for (zone, fan) in &self.fans {
                let ((b, l), bit) = (place(*zone), 1 << zone);
                s.zones.fans |= powered.fans & bit;
                if powered.fans & bit != 0 {
                    d[b].gains_w[l] += fan.power_w;
                } else {
                    d[b].law_share[l] = fan.still_share;
                }
            }
            for (block, d) in s.zones.blocks.iter_mut().zip(&*d) {
                block.gains_w = d.gains_w;
            }
        }
        if touched == 0 {
            return;
        }
        let all = touched == u64::MAX;
        touched &= (1 << self.branches.len()) - 1;
        while touched != 0 {
            let i = touched.trailing_zeros() as usize;
            touched &= touched - 1;
            let (branch, (b, l)) = (&self.branches[i], place(i));
            let (block, d) = (&mut s.zones.blocks[b], &mut scratch.drive[b]);
            let flow_kg_s = branch.flow_kg_s(powered.pumps, block.valve[l]);
            let flow_w_k = flow_kg_s * self.specific_heat_j_kgk;
            block.flow_kg_s[l] = flow_kg_s;
            // The exponentials of a floor are the one dear thing here, and its flow seldom changes.
            if all || d.flow_w_k[l] != flow_w_k {
                d.flow_w_k[l] = flow_w_k;
                d.to_slab[l] = self.zones.to_slab(i, flow_w_k);
            }
            if flow_w_k > 0.0 {
                d.from_header[l] = block.mixing[l];
                s.zones.flowing |= 1 << i;
            } else {
                d.from_header[l] = 0.0;
                s.zones.flowing &= !(1 << i);
            }
        }
    }

    /// Every zone as a straight line of the header's supply; what they take and give back together.
    fn zones_reply(&self, s: &State, scratch: &mut Scratch, outdoor_c: f64) -> Secondary {
        let none = [0.0; LANES];
        let (mut flow, mut fixed, mut per) = (none, none, none);
        for b in 0..self.zones.blocks() {
            let d = &scratch.drive[b];
            let r = self.zones.reply(b, &s.zones.blocks[b].nodes, d, s.header.supply_c, outdoor_c);
            let taken = lane(|l| d.flow_w_k[l] * d.from_header[l]);
            flow = lane(|l| flow[l] + taken[l]);
            fixed = lane(|l| fixed[l] + taken[l] * r.fixed_c[l]);
            per = lane(|l| per[l] + taken[l] * r.per_supply[l]);
            scratch.replies[b] = r;
        }
        let sum = |x: Lane| (x[0] + x[1]) + (x[2] + x[3]);
        Secondary { flow_w_k: sum(flow), fixed_w: sum(fixed), per_supply_w_k: sum(per) }
    }

    /// Places the zones' nodes; their supply pipes and thermostats follow.
    fn zones_finish(&self, s: &mut State, scratch: &Scratch, outdoor_c: f64) {
        let supply_c = s.header.supply_c;
        let mut calls = 0;
        for (b, thermostats) in self.thermostat_blocks.iter().enumerate() {
            let (block, d) = (&mut s.zones.blocks[b], &scratch.drive[b]);
            let was_c = block.fluxes.supply_c;
            let mut flux = self.zones.finish(b, &mut block.nodes, &scratch.replies[b], d, supply_c, outdoor_c);
            let air_c = &block.nodes.air_c;
            for l in 0..LANES {
                let pipe_c = block.supply_pipe_c[l];
                let still = d.flow_w_k[l] <= 0.0;
                let cooled_c = pipe_c + self.pipe_cool_share * (air_c[l] - pipe_c);
                block.supply_pipe_c[l] = if still { cooled_c } else { flux.supply_c[l] };
                flux.supply_c[l] = if still { was_c[l] } else { flux.supply_c[l] };
            }
            block.fluxes = flux;
            let called = s.zones.calls >> (b * LANES) & 0xf;
            calls |= thermostats.step(&mut block.elements, &scratch.set_c[b], air_c, called) << (b * LANES);
        }
        s.zones.calls = calls & ((1 << s.zones.len()) - 1);
    }

    fn boilers_reply(
        &self,
        s: &mut State,
        scratch: &mut Scratch,
        powered: &Powered,
        outside: &Outside,
        zones_w_k: f64,
    ) {
        let pattern = (powered.pumps, zones_w_k.to_bits());
        if scratch.ways_for != Some(pattern) {
            scratch.ways_for = Some(pattern);
            scratch.ways = self.boiler_ways(powered.pumps, zones_w_k);
            for ((way, flow_w_k), slot) in scratch.ways.iter().zip(&mut scratch.boiler_kg_s) {
                *slot = way.sign() * flow_w_k / self.specific_heat_j_kgk;
            }
        }
        for (i, b) in s.boilers.iter_mut().enumerate().take(BOILERS) {
            let bit = BoilerId(i as u8).bit();
            let (way, flow_w_k) = scratch.ways[i];
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
                room_c: self.plant.site.boiler_room_c,
            };
            scratch.boilers[i] = self.boilers[i].reply(&mut b.state, &drive, &mut b.flux);
            b.flux.flow_kg_s = scratch.boiler_kg_s[i];
        }
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
            if matches!(b.state.burner, crate::boiler::burner::Burner::Lockout) {
                f.boiler_fault |= bit;
            }
            if model.asks_pump(&b.state, demand & bit != 0) {
                f.boiler_pump_request |= bit;
            }
        }
        s.field.safeties = self.switches.made(s.field.safeties, reset, s);
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
