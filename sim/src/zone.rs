//! One zone: room air, building mass, emitter water, and a slab for a floor.
//!
//! ```text
//! air     C_a da/dt = (1-f) Q + G - U (a - o) - H (a - m)
//! mass    C_m dm/dt = f Q + H (a - m)
//! water   C_e dr/dt = w (s - r) - X          X = Q, or into the slab for a floor
//! slab    C_b db/dt = X - Q                  floor only; X = k (s - b) with flow, K (r - b) without
//! ```
//!
//! Temperatures in degrees Celsius: `a` air, `m` mass, `r` water leaving the emitter, `s` water entering it, `b` slab, `o`
//! outdoors. `C` heat capacities in J/K; `U` loss, `H` air to mass and `K` water to slab in W/K; `w` flow times specific
//! heat in W/K; `Q` emitter heat and `G` gains in W; `f` radiant share. `Q` is the emitter's law at the mean excess of the
//! water with flow (arithmetic or logarithmic as rated), at the water's own excess without; a floor's is that of its slab at
//! its mean temperature, and `k` in W/K is such that at rest it follows the logarithmic mean of EN 1264 (`floor.rs`). A zone that
//! is mixed down takes `s = x S + (1-x) r` from the header's supply `S` at opening `x`.
//!
//! A step is implicit in all nodes: the law is replaced by its tangent at the start of the step, the nodes of the zone are
//! eliminated, and what is left is the leaving water as a straight line of the header's supply, which the header solves for
//! all zones at once. Whatever the tangent's error, the heat that leaves the water is the heat that enters the room.
//!
//! Sources: two-node room as in ISO 13790's simple hourly method with the surface node merged into the mass; emitter laws
//! in [`emitter`](crate::emitter). Not modelled: heat between zones, sun, infiltration by wind, water that stratifies.

mod floor;

use crate::{
    emitter::{Emitter, MeanRule, log_to_arithmetic, table::Table},
    fluid::RUN_C,
    plant::{Fluid, Zone},
};
use floor::{Floor, ToSlab};

/// Building mass of ISO 13790:2008, table 12: heat capacity in J/K and area in m2 of the mass, each per m2 of floor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Construction {
    /// Very light.
    VeryLight,
    /// Light.
    Light,
    /// Medium.
    Medium,
    /// Heavy.
    Heavy,
    /// Very heavy.
    VeryHeavy,
}

/// Conductance between mass and room per m2 of mass area, in W/m2K (ISO 13790:2008, 12.2.2).
const MASS_W_M2K: f64 = 9.1;

impl Construction {
    /// Heat capacity of the mass, in joules per kelvin and square metre of floor.
    pub const fn mass_j_m2k(self) -> f64 {
        match self {
            Construction::VeryLight => 80_000.0,
            Construction::Light => 110_000.0,
            Construction::Medium => 165_000.0,
            Construction::Heavy => 260_000.0,
            Construction::VeryHeavy => 370_000.0,
        }
    }

    /// Conductance between air and mass, in watts per kelvin and square metre of floor.
    pub const fn air_mass_w_m2k(self) -> f64 {
        MASS_W_M2K
            * match self {
                Construction::VeryLight | Construction::Light | Construction::Medium => 2.5,
                Construction::Heavy => 3.0,
                Construction::VeryHeavy => 3.5,
            }
    }
}

/// A zone ready to step.
#[derive(Clone, Debug)]
pub struct ZoneModel {
    loss_w_k: f64,
    /// Heat capacities over the step, in W/K: air, mass, water, slab.
    air: f64,
    mass: f64,
    water: f64,
    slab: f64,
    air_mass_w_k: f64,
    radiant: f64,
    /// `1 / (C_m/dt + H)`.
    per_mass: f64,
    /// `1 / (C_a/dt + U + H - H^2/(C_m/dt + H))`.
    per_air: f64,
    /// Rise of the air in one step per watt of emitter heat, in K/W.
    air_per_w: f64,
    floor: Option<Floor>,
    /// Water to slab at the zone's own full flow, in W/K both.
    full: (f64, ToSlab),
    logarithmic: bool,
    law: Table,
    dt_s: f64,
    water_j_k: f64,
    slab_j_k: f64,
}

/// Node temperatures of a zone, in degrees Celsius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ZoneState {
    /// Room air.
    pub air_c: f64,
    /// Building mass.
    pub mass_c: f64,
    /// Water leaving the emitter.
    pub water_c: f64,
    /// Slab of a floor; the water's temperature elsewhere.
    pub slab_c: f64,
}

/// What acts on a zone during one step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ZoneDrive {
    /// Flow through the emitter times specific heat, in W/K.
    pub(crate) flow_w_k: f64,
    /// Share of that flow that comes from the header.
    pub(crate) from_header: f64,
    /// Header supply at the start of the step, in degrees Celsius: where the tangent is laid.
    pub(crate) supply_was_c: f64,
    /// Outdoors, in degrees Celsius.
    pub(crate) outdoor_c: f64,
    /// Gains, in watts.
    pub(crate) gains_w: f64,
    /// Share of the law's heat that is given off (a standing fan).
    pub(crate) law_share: f64,
}

/// A zone's step with its nodes eliminated.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ZoneReply {
    /// Leaving water = `fixed_c` + `per_supply` * header supply.
    pub(crate) fixed_c: f64,
    pub(crate) per_supply: f64,
    /// Heat from the water = `x0 + x1 * mean water`.
    x0: f64,
    x1: f64,
    /// Heat to the room = `q0 + q1 * (mean water, or slab)`.
    q0: f64,
    q1: f64,
    /// Air without emitter heat, in degrees Celsius.
    air_still_c: f64,
    /// Weight of the entering water in that mean.
    entering: f64,
    with_flow: bool,
    from_header: f64,
}

/// What a zone did in one step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ZoneFlux {
    /// Heat from the emitter into the room, in watts.
    pub heat_w: f64,
    /// Heat lost outdoors, in watts.
    pub loss_w: f64,
    /// Gains, fan included, in watts.
    pub gains_w: f64,
    /// Water entering the emitter, in degrees Celsius.
    pub supply_c: f64,
    /// Flow through the emitter, in kilograms per second.
    pub flow_kg_s: f64,
}

impl ZoneModel {
    /// Prepares a zone for steps of `dt_s` seconds.
    pub fn new(z: &Zone, fluid: &Fluid, dt_s: f64) -> Self {
        let slab_j_k = z.emitter.slab().map_or(0.0, |s| s.1);
        let floor = Floor::of(&z.emitter);
        let full_w_k = z.flow_kg_s * fluid.specific_heat_j_kgk(RUN_C);
        let (air, mass) = (z.air_j_k / dt_s, z.mass_j_k / dt_s);
        let h = z.air_mass_w_k;
        let per_mass = if mass + h > 0.0 { 1.0 / (mass + h) } else { 0.0 };
        let per_air = 1.0 / (air + z.loss_w_k() + h - h * h * per_mass);
        let water_j_k = fluid.capacity_j_k(z.water_l) + z.metal_j_k;
        let emitter: &Emitter = &z.emitter;
        Self {
            loss_w_k: z.loss_w_k(),
            air,
            mass,
            water: water_j_k / dt_s,
            slab: slab_j_k / dt_s,
            air_mass_w_k: h,
            radiant: z.radiant_share,
            per_mass,
            per_air,
            air_per_w: per_air * ((1.0 - z.radiant_share) + z.radiant_share * h * per_mass),
            floor,
            full: (full_w_k, floor.map_or(ToSlab::default(), |f| f.to_slab(full_w_k))),
            logarithmic: floor.is_none() && emitter.mean_rule() == MeanRule::Logarithmic,
            law: Table::new(|x| emitter.law_w(x)),
            dt_s,
            water_j_k,
            slab_j_k,
        }
    }

    /// Heat in water, metal and slab, in joules above 0 degrees Celsius.
    pub fn stored_j(&self, s: &ZoneState) -> f64 {
        self.water_j_k * s.water_c + self.slab_j_k * s.slab_c
    }

    /// Heat in air and mass, in joules above 0 degrees Celsius.
    pub fn room_j(&self, s: &ZoneState) -> f64 {
        self.dt_s * (self.air * s.air_c + self.mass * s.mass_c)
    }

    /// One step of a zone by itself, fed with `flow_w_k` (flow times specific heat) of water at `supply_c` at its end.
    pub fn step_alone(
        &self,
        s: &mut ZoneState,
        flow_w_k: f64,
        supply_c: f64,
        outdoor_c: f64,
        gains_w: f64,
    ) -> ZoneFlux {
        let d = ZoneDrive { flow_w_k, from_header: 1.0, supply_was_c: supply_c, outdoor_c, gains_w, law_share: 1.0 };
        let reply = self.reply(s, &d);
        self.finish(s, &reply, supply_c, outdoor_c)
    }

    /// First half of a step: eliminates the zone's nodes.
    #[inline]
    pub(crate) fn reply(&self, s: &ZoneState, d: &ZoneDrive) -> ZoneReply {
        let with_flow = d.flow_w_k > 0.0;
        let h = self.air_mass_w_k;
        let air_still_c = self.per_air
            * (self.air * s.air_c + d.gains_w + self.loss_w_k * d.outdoor_c + h * self.mass * s.mass_c * self.per_mass);
        let (mean_was_c, weight) = if with_flow {
            let entering_c = d.from_header * d.supply_was_c + (1.0 - d.from_header) * s.water_c;
            let weight =
                if self.logarithmic { log_to_arithmetic(entering_c - s.air_c, s.water_c - s.air_c) } else { 1.0 };
            (0.5 * (entering_c + s.water_c), weight)
        } else {
            (s.water_c, 1.0)
        };
        let warm_c = if self.floor.is_some() { s.slab_c } else { mean_was_c };
        let excess_k = weight * (warm_c - s.air_c);
        let (value, slope) = self.law.at(excess_k);
        let (value, slope) = (value * d.law_share, slope * d.law_share);
        // Tangent, with the air's own answer to the heat eliminated: Q = q0 + q1 * warm.
        let tangent = slope * weight;
        let shrink = 1.0 / (1.0 + tangent * self.air_per_w);
        let q0 = (value - slope * excess_k - tangent * air_still_c) * shrink;
        let q1 = tangent * shrink;
        let (x0, x1, entering) = if let Some(floor) = &self.floor {
            let to_slab = if d.flow_w_k == self.full.0 { self.full.1 } else { floor.to_slab(d.flow_w_k) };
            let k = to_slab.at(value, excess_k);
            let per_slab = 1.0 / (self.slab + k + q1);
            (-k * per_slab * (self.slab * s.slab_c - q0), k * (1.0 - k * per_slab), 1.0)
        } else {
            (q0, q1, 0.5)
        };
        let (fixed_c, per_supply) = if with_flow {
            let (w, x) = (d.flow_w_k, d.from_header);
            let den = 1.0 / (self.water + w * x + x1 * (1.0 - entering * x));
            ((self.water * s.water_c - x0) * den, x * (w - entering * x1) * den)
        } else {
            ((self.water * s.water_c - x0) / (self.water + x1), 0.0)
        };
        ZoneReply { fixed_c, per_supply, x0, x1, q0, q1, air_still_c, entering, with_flow, from_header: d.from_header }
    }

    /// Second half of a step: places the nodes once the header's supply is known.
    #[inline]
    pub(crate) fn finish(&self, s: &mut ZoneState, r: &ZoneReply, supply_c: f64, outdoor_c: f64) -> ZoneFlux {
        let water_c = r.fixed_c + r.per_supply * supply_c;
        let entering_c = if r.with_flow { r.from_header * supply_c + (1.0 - r.from_header) * water_c } else { water_c };
        let mean_c = r.entering * entering_c + (1.0 - r.entering) * water_c;
        let heat_w = if self.floor.is_some() {
            let from_water_w = r.x0 + r.x1 * mean_c;
            let slab_c = (self.slab * s.slab_c + from_water_w - r.q0) / (self.slab + r.q1);
            s.slab_c = slab_c;
            r.q0 + r.q1 * slab_c
        } else {
            s.slab_c = water_c;
            r.q0 + r.q1 * mean_c
        };
        s.water_c = water_c;
        s.air_c = r.air_still_c + self.air_per_w * heat_w;
        s.mass_c = self.per_mass * (self.mass * s.mass_c + self.radiant * heat_w + self.air_mass_w_k * s.air_c);
        ZoneFlux { heat_w, loss_w: self.loss_w_k * (s.air_c - outdoor_c), supply_c: entering_c, ..ZoneFlux::default() }
    }
}
