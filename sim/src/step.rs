//! One step of the whole plant: from the wires' answer at its start to every switch and reading at its end.
//!
//! Order within a step: valves, damper, mixing and return valves move; flows follow from pumps and openings; burners take their
//! sequence; boilers and zones are eliminated to straight lines; the header solves; nodes are placed; thermostats,
//! aquastats, safeties and sensors look at the result. A switch acts on loads in the next step: one step is the
//! dead time of a contact.
//!
//! A step has three parts. [`prepare`](Model::prepare) takes what is live and what comes from outside, and works out anew what
//! changes by it; [`advance`](Model::advance) moves every node; [`settle`](Model::settle) sets contacts and readings by where
//! the plant then stands. Between two switchings only the middle part has anything to do: [`glide`] makes many of them.

pub(crate) mod glide;
mod held;
mod look;

use crate::{
    actuator::mixed,
    boiler::BoilerModel,
    header::{Secondary, Way},
    outdoor::Calls,
    plant::Mix,
    sensor::{OUTDOOR, OUTLETS, PIPES, RETURN, SUPPLY, TANK},
    state::{Model, State},
    tank::TankReply,
    zone::lanes::{LANES, Row, place, row},
};
use heatwright_core::{CivilMinute, PumpId};
pub(crate) use held::Scratch;

/// What comes from outside the plant in one step, besides its outdoor temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outside {
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

impl Model {
    /// Moves every node on by one step with what `scratch` holds. True when a contact may have moved: of a thermostat, of
    /// the tank, of a boiler or its flow.
    #[inline(always)]
    pub(crate) fn advance(&self, s: &mut State, scratch: &mut Scratch, outdoor_c: f64) -> bool {
        let room_c = self.plant.site.boiler_room_c;
        s.outdoor_c = outdoor_c;
        s.steps += 1;
        let mut moved = scratch.moving && self.stroke(s, scratch);
        moved |= !self.mixes.is_empty() && self.mix(s, scratch);
        if self.any_return_valve {
            self.return_valves(s, scratch);
        }
        let mut secondary = self.zones_reply(s, scratch, outdoor_c);
        let tank = match (&self.tank, &s.tank) {
            (Some(m), Some((t, _))) => {
                let reply = m.reply(t, scratch.tank_runs, scratch.minute_of_day, room_c);
                if scratch.tank_runs {
                    secondary.add(m.flow_w_k, reply.fixed_c, reply.per_supply);
                }
                Some(reply)
            }
            _ => None,
        };
        let models = self.boilers.iter().zip(&mut s.boilers);
        for ((m, b), (h, r)) in models.zip(scratch.held.iter_mut().zip(&mut scratch.boilers)) {
            let inlet_c = match r.way {
                Way::Forward => s.header.primary_return_c,
                Way::Back => s.header.primary_supply_c,
                Way::Still => b.state.water_c,
            };
            moved |= m.reply(&mut b.state, h, inlet_c, &mut b.flux, &mut r.fixed_c);
        }
        self.header.step(&mut s.header, &mut scratch.header, &scratch.boilers, &secondary, room_c);
        for (b, r) in s.boilers.iter_mut().zip(&scratch.boilers) {
            let inlet_c = match r.way {
                Way::Forward => s.header.primary_return_c,
                Way::Back => s.header.primary_supply_c,
                Way::Still => b.state.water_c,
            };
            BoilerModel::finish(&mut b.state, r, inlet_c);
        }
        moved |= self.zones_finish(s, scratch);
        if let (Some(reply), Some(m), Some((t, flux))) = (&tank, &self.tank, &mut s.tank) {
            moved |= self.tank_finish(m, t, flux, reply, s.header.supply_c);
        }
        self.feel(s, scratch);
        moved
    }

    #[inline(always)]
    fn tank_finish(
        &self,
        m: &crate::tank::TankModel,
        t: &mut crate::tank::TankState,
        flux: &mut crate::tank::TankFlux,
        reply: &TankReply,
        supply_c: f64,
    ) -> bool {
        let called = t.calls;
        *flux = m.finish(t, reply, supply_c);
        t.calls != called
    }

    /// Mixing valves move. True when the flow through a boiler has changed by it.
    #[inline(always)]
    fn mix(&self, s: &mut State, scratch: &mut Scratch) -> bool {
        let mut touched = 0_u64;
        for (m, signal) in self.mixes.iter().zip(&scratch.mix_signals) {
            let (b, l) = place(m.zone);
            let block = &mut s.zones.blocks[b];
            let was = block.mixing[l];
            if was == *signal && matches!(m.mix, Mix::Modulated { .. }) {
                continue;
            }
            block.mixing[l] = mixed(&m.mix, was, block.supply_pipe_c[l], *signal, m.share, self.dt_s);
            if block.mixing[l] != was {
                touched |= 1 << m.zone;
            }
        }
        touched != 0 && self.flow_anew(s, scratch, touched)
    }

    /// Every zone as a straight line of the header's supply; what they take and give back together.
    #[inline(always)]
    fn zones_reply(&self, s: &State, scratch: &mut Scratch, outdoor_c: f64) -> Secondary {
        let mut fixed = Row::ZERO;
        let mut anew = false;
        for b in 0..self.zones.blocks() {
            let d = &mut scratch.drive[b];
            let (r, laid_anew) = self.zones.reply(b, &s.zones.blocks[b].nodes, d, s.header.supply_c, outdoor_c);
            if !d.still {
                fixed += row(&d.taken_w_k) * r.fixed_c;
            }
            anew |= laid_anew;
            scratch.replies[b] = r;
        }
        if anew {
            let blocks = &scratch.drive[..self.zones.blocks()];
            scratch.back_w_k = sum(blocks.iter().fold(Row::ZERO, |all, d| all + d.back_w_k()));
        }
        Secondary { flow_w_k: scratch.taken_w_k, fixed_w: sum(fixed), per_supply_w_k: scratch.back_w_k }
    }

    /// Places the zones' nodes; their supply pipes and thermostats follow. True when a thermostat has turned.
    #[inline(always)]
    fn zones_finish(&self, s: &mut State, scratch: &mut Scratch) -> bool {
        let supply_c = s.header.supply_c;
        let mut turned = false;
        for (b, thermostats) in self.thermostat_blocks.iter().enumerate() {
            let (block, d) = (&mut s.zones.blocks[b], &scratch.drive[b]);
            let gave = self.zones.finish(b, &mut block.nodes, &scratch.replies[b], d, supply_c);
            let pipe_c = row(&block.supply_pipe_c);
            let mut pipe_c = pipe_c + Row::splat(self.pipe_cool_share) * (gave.air_c - pipe_c);
            if !d.still {
                let flows = row(&d.flow_w_k).simd_gt(Row::ZERO);
                pipe_c = flows.bitselect(gave.entering_c, pipe_c);
            }
            block.supply_pipe_c = pipe_c.into();
            block.heat_w = gave.heat_w.into();
            if thermostats.step(&mut block.elements, &scratch.asking[b], gave.air_c) {
                turned = true;
                s.zones.calls ^= thermostats.turned(&block.elements, &scratch.asking[b]) << (b * LANES);
                thermostats.ready(&mut scratch.asking[b], s.zones.calls >> (b * LANES));
            }
        }
        turned
    }

    /// Sensors follow what they are in.
    #[inline(always)]
    fn feel(&self, s: &mut State, scratch: &mut Scratch) {
        let m = &mut scratch.measured_c;
        (m[OUTDOOR], m[SUPPLY], m[RETURN]) = (s.outdoor_c, s.header.supply_c, s.header.return_c);
        if let Some(t) = &s.tank {
            m[TANK] = t.0.water_c;
        }
        for (slot, b) in m[OUTLETS..PIPES].iter_mut().zip(&s.boilers) {
            *slot = b.state.water_c;
        }
        for (slots, block) in m[PIPES..].chunks_exact_mut(LANES).zip(&s.zones.blocks).take(self.zones.blocks()) {
            slots.copy_from_slice(&block.supply_pipe_c.0);
        }
        // What was felt in the step before stands beside it.
        scratch.odd = !scratch.odd;
        let felt_c = &mut scratch.felt_c[usize::from(scratch.odd)];
        for (k, lags) in self.lags.iter().enumerate() {
            felt_c[k] = lags.step(&mut s.sensors.own_c[k], &scratch.measured_c).into();
        }
        for &i in &self.noisy {
            felt_c[i / LANES][i % LANES] += self.sensors[i].1.noise_k(&mut s.sensors.noise[i]);
        }
    }

    /// True while this pump ran in the last step.
    pub fn pump_ran(&self, s: &State, p: PumpId) -> bool {
        s.pumps & p.bit() != 0
    }
}

fn sum(x: Row) -> f64 {
    let x = x.to_array();
    (x[0] + x[1]) + (x[2] + x[3])
}
