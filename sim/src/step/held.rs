//! What a step keeps of the one before because it seldom changes, and how it is worked out when it does.

use super::Outside;
use crate::{
    actuator::{driven, fully_open},
    boiler::{BoilerDriveNow, BoilerHeld, BoilerModel},
    header::{BACKFLOW_SHARE, BoilerReply, HeaderHeld, Way},
    sensor::{Felt, Measured},
    state::{Model, State},
    step::Conditions,
    thermostat::Asking,
    wires::Powered,
    zone::lanes::{BLOCKS, Drive, LANES, Reply, place},
};
use heatwright_core::{
    BoilerId, CivilMinute, Level, Permille, ScheduleId,
    limits::{BOILERS, SCHEDULES, ZONES},
};

/// Levels of all schedules at one moment.
pub(crate) type Levels = [Level; SCHEDULES];

/// Intermediate results of a step, and what is kept of the last one. It belongs to one run.
#[derive(Clone, Debug, Default)]
pub(crate) struct Scratch {
    pub(super) replies: [Reply; BLOCKS],
    pub(super) drive: [Drive; BLOCKS],
    pub(crate) asking: [Asking; BLOCKS],
    pub(super) boilers: [BoilerReply; BOILERS],
    pub(super) held: [BoilerHeld; BOILERS],
    pub(super) header: HeaderHeld,
    /// Pumps and flow of the zones (as bits) for which the ways of the boilers' water were made.
    ways_for: Option<(u64, u64)>,
    ways: [(Way, f64); BOILERS],
    /// What all zones take from the header, in W/K.
    pub(super) taken_w_k: f64,
    /// What they give back per kelvin of its supply, in W/K.
    pub(super) back_w_k: f64,
    pub(super) tank_runs: bool,
    /// A valve or the damper is on its way.
    pub(super) moving: bool,
    /// Minute of the day.
    pub(super) minute_of_day: usize,
    /// Where each mixing valve is told to go, as a share.
    pub(super) mix_signals: [f64; ZONES],
    /// What sensors can measure.
    pub(super) measured_c: Measured,
    /// What each sensor has at its element, error and noise with it, in degrees Celsius, after an even step and after an odd one;
    /// and which of them was the last.
    pub(super) felt_c: [Felt; 2],
    pub(super) odd: bool,
    /// What all of this was made for.
    powered: Option<Powered>,
    conditions: Conditions,
    minute: Option<CivilMinute>,
    levels: Option<Levels>,
}

impl Scratch {
    /// What each sensor has at its element since the last step, in degrees Celsius.
    #[inline(always)]
    pub(super) fn felt_c(&self) -> &Felt {
        &self.felt_c[usize::from(self.odd)]
    }

    /// What it had in the step before.
    pub(super) fn felt_before_c(&self) -> &Felt {
        &self.felt_c[usize::from(!self.odd)]
    }
}

impl Model {
    /// Takes what is live and what comes from outside. True when nothing has changed by it that has a contact.
    pub(crate) fn prepare(&self, s: &mut State, scratch: &mut Scratch, powered: &Powered, outside: &Outside) -> bool {
        let anew = self.look_at_the_clock(s, scratch, outside.civil);
        let was = scratch.powered;
        let asked_anew = scratch.conditions != outside.conditions;
        if was.as_ref() == Some(powered) && !asked_anew && !anew {
            return true;
        }
        (scratch.powered, scratch.conditions) = (Some(*powered), outside.conditions);
        // Signals have no contact.
        let still = !asked_anew && was.is_some_and(|was| Powered { analogs: powered.analogs, ..was } == *powered);
        for (m, slot) in self.mixes.iter().zip(&mut scratch.mix_signals) {
            let signal = m.analog.and_then(|a| powered.analogs.get(a)).copied().unwrap_or_default();
            *slot = f64::from(signal.get()) / 1000.0;
        }
        s.pumps = powered.pumps;
        scratch.tank_runs = self.plant.tank.as_ref().is_some_and(|t| powered.pumps & t.pump.bit() != 0);
        scratch.moving = self.toward(s, powered);
        if anew || was.is_none_or(|was| (was.pumps, was.fans) != (powered.pumps, powered.fans)) {
            self.gains_and_fans(s, scratch, powered.fans);
            self.move_water(s, scratch, u64::MAX);
        }
        self.hold_boilers(s, scratch);
        still
    }

    /// True while a valve or the damper is not where it is driven to.
    fn toward(&self, s: &State, powered: &Powered) -> bool {
        let damper = self.plant.damper.is_some() && s.damper != f64::from(u8::from(powered.damper));
        damper
            || self.valves.iter().any(|v| {
                let (b, l) = place(v.zone);
                s.zones.blocks[b].valve[l] != f64::from((powered.valves >> v.zone & 1) as u8)
            })
    }

    /// Valves and damper go on. True when an end switch has moved by it, or the flow through a boiler.
    #[inline(never)]
    pub(super) fn stroke(&self, s: &mut State, scratch: &mut Scratch) -> bool {
        let Some(powered) = &scratch.powered else { return true };
        let (damper, valves) = (powered.damper, powered.valves);
        scratch.moving = false;
        let mut moved = false;
        let mut go = |opening: &mut f64, on: bool, stroke_s: f64| {
            let (was, toward) = (*opening, f64::from(u8::from(on)));
            if was != toward {
                *opening = driven(was, toward, stroke_s, self.dt_s);
                scratch.moving |= *opening != toward;
                moved |= fully_open(*opening) != fully_open(was);
            }
            *opening != was
        };
        if let Some(d) = &self.plant.damper {
            go(&mut s.damper, damper, d.stroke_s);
        }
        let mut touched = 0;
        for v in &self.valves {
            let (b, l) = place(v.zone);
            let changed = go(&mut s.zones.blocks[b].valve[l], valves >> v.zone & 1 == 1, v.stroke_s);
            touched |= u64::from(changed) << v.zone;
        }
        moved | (touched != 0 && self.flow_anew(s, scratch, touched))
    }

    /// Schedules follow the minute. True when a level has changed.
    fn look_at_the_clock(&self, s: &State, scratch: &mut Scratch, civil: CivilMinute) -> bool {
        if scratch.minute == Some(civil) {
            return false;
        }
        scratch.minute = Some(civil);
        scratch.minute_of_day = (civil.get() % 1440) as usize;
        let levels = self.levels(civil);
        if scratch.levels == Some(levels) {
            return false;
        }
        for (i, (z, t)) in self.plant.zones.iter().zip(&self.thermostats).enumerate() {
            let (b, l) = place(i);
            scratch.asking[b].set_c[l] = t.set_c(level(&levels, z.thermostat.schedule));
        }
        if scratch.levels.is_none() {
            for (b, thermostats) in self.thermostat_blocks.iter().enumerate() {
                thermostats.ready(&mut scratch.asking[b], s.zones.calls >> (b * LANES));
            }
        }
        scratch.levels = Some(levels);
        true
    }

    /// Gains by schedule, and what fans add and share.
    fn gains_and_fans(&self, s: &mut State, scratch: &mut Scratch, fans: u64) {
        let levels = scratch.levels.unwrap_or([Level::Occupied; SCHEDULES]);
        let d = &mut scratch.drive;
        for (i, z) in self.plant.zones.iter().enumerate() {
            let (b, l) = place(i);
            let gains_w = z.gains.heat_w(level(&levels, z.gains.schedule));
            (d[b].gains_w[l], d[b].law_share[l]) = (gains_w, 1.0);
        }
        s.zones.fans = 0;
        for (zone, fan) in &self.fans {
            let ((b, l), bit) = (place(*zone), 1 << zone);
            s.zones.fans |= fans & bit;
            if fans & bit != 0 {
                d[b].gains_w[l] += fan.power_w;
            } else {
                d[b].law_share[l] = fan.still_share;
            }
        }
        for (block, d) in s.zones.blocks.iter_mut().zip(&*d) {
            block.gains_w = d.gains_w;
        }
    }

    /// Flows follow where pumps, valves or mixing valves have changed them.
    fn move_water(&self, s: &mut State, scratch: &mut Scratch, touched: u64) {
        let all = touched == u64::MAX;
        let mut left = touched & ((1 << self.branches.len()) - 1);
        while left != 0 {
            let i = left.trailing_zeros() as usize;
            left &= left - 1;
            let (branch, (b, l)) = (&self.branches[i], place(i));
            let (block, d) = (&mut s.zones.blocks[b], &mut scratch.drive[b]);
            let flow_kg_s = branch.flow_kg_s(s.pumps, block.valve[l]);
            let flow_w_k = flow_kg_s * self.specific_heat_j_kgk;
            if flow_kg_s <= 0.0 && block.flow_kg_s[l] > 0.0 {
                block.entered_c[l] = block.supply_pipe_c[l];
            }
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
        let mut taken_w_k = 0.0;
        for (b, d) in scratch.drive.iter_mut().enumerate().take(self.zones.blocks()) {
            let places = touched >> (b * LANES) & 0xf;
            if places != 0 {
                self.zones.ready(b, d, places);
            }
            let t = &d.taken_w_k;
            taken_w_k += (t[0] + t[1]) + (t[2] + t[3]);
        }
        scratch.taken_w_k = taken_w_k;
    }

    /// Valves or mixing valves have moved in these zones. True when the flow through a boiler has changed by it, or water
    /// has begun or ceased to flow.
    #[inline(never)]
    pub(super) fn flow_anew(&self, s: &mut State, scratch: &mut Scratch, touched: u64) -> bool {
        let flowing = s.zones.flowing;
        self.move_water(s, scratch, touched);
        if self.any_through {
            self.hold_boilers(s, scratch);
        } else {
            let zones_w_k = scratch.taken_w_k + self.tank_w_k(scratch);
            self.header.hold_zones(&mut scratch.header, zones_w_k);
        }
        self.any_through || s.zones.flowing != flowing
    }

    /// The tank's flow, in W/K.
    fn tank_w_k(&self, scratch: &Scratch) -> f64 {
        self.tank.as_ref().filter(|_| scratch.tank_runs).map_or(0.0, |t| t.flow_w_k)
    }

    /// Boilers and header take what is live and which water moves.
    fn hold_boilers(&self, s: &mut State, scratch: &mut Scratch) {
        let Some(powered) = &scratch.powered else { return };
        let zones_w_k = scratch.taken_w_k + self.tank_w_k(scratch);
        // Their flow matters to boilers without pumps only.
        let pattern = (powered.pumps, if self.any_through { zones_w_k.to_bits() } else { 0 });
        let anew = scratch.ways_for != Some(pattern);
        if anew {
            scratch.ways_for = Some(pattern);
            scratch.ways = self.boiler_ways(powered.pumps, zones_w_k);
        }
        let conditions = &scratch.conditions;
        for (i, m) in self.boilers.iter().enumerate().take(BOILERS) {
            let bit = BoilerId(i as u8).bit();
            let (way, flow_w_k) = scratch.ways[i];
            let opening = if way == Way::Forward { s.boilers[i].state.opening } else { 1.0 };
            let signal = self.boiler_analog[i].and_then(|a| powered.analogs.get(a)).copied();
            let drive = BoilerDriveNow {
                line: powered.boiler_line & bit != 0,
                limit: powered.limit & bit != 0,
                proving: powered.proving & bit != 0,
                demand: powered.demand & bit != 0,
                signal: signal.unwrap_or(Permille::ZERO),
                fuel: conditions.gas & bit != 0,
                reset: conditions.boiler_reset & bit != 0,
                way,
                flow_w_k: opening * flow_w_k,
                round_share: 1.0 - opening,
                room_c: self.plant.site.boiler_room_c,
            };
            if !scratch.held[i].holds(&drive) {
                scratch.held[i] = m.hold(drive);
            }
        }
        if anew {
            let all = scratch.ways.iter().zip(&scratch.held).zip(&mut scratch.boilers).zip(&mut s.boilers);
            for ((((way, flow_w_k), held), joined), b) in all {
                *joined = BoilerModel::joined(held);
                b.flux.flow_kg_s = way.sign() * flow_w_k / self.specific_heat_j_kgk;
            }
            scratch.header = self.header.hold(&scratch.boilers, zones_w_k);
        } else if scratch.header.ws != zones_w_k {
            self.header.hold_zones(&mut scratch.header, zones_w_k);
        }
    }

    /// Return valves go where the water of the step's start drives them; boilers and header follow.
    #[inline(never)]
    pub(super) fn return_valves(&self, s: &mut State, scratch: &mut Scratch) {
        let mut moved = false;
        for (i, (m, b)) in self.boilers.iter().zip(&mut s.boilers).enumerate().take(BOILERS) {
            let (way, flow_w_k) = scratch.ways[i];
            if way != Way::Forward || !m.valve.fitted() {
                continue;
            }
            let opening = m.valve.opening(b.state.water_c, s.header.primary_return_c);
            if opening != b.state.opening {
                b.state.opening = opening;
                m.exchange(&mut scratch.held[i], opening * flow_w_k, 1.0 - opening);
                scratch.boilers[i] = BoilerModel::joined(&scratch.held[i]);
                moved = true;
            }
        }
        if moved {
            scratch.header = self.header.hold(&scratch.boilers, scratch.header.ws);
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
}

fn level(levels: &Levels, schedule: Option<ScheduleId>) -> Level {
    schedule.and_then(|s| levels.get(s.index()).copied()).unwrap_or(Level::Occupied)
}
