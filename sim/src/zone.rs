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
//! A step is implicit in all nodes: the law is replaced by a straight line through its value at the start of the step (`laid.rs`),
//! the nodes of the zone are eliminated, and what is left is the leaving water as a straight line of the header's supply, which
//! the header solves for all zones at once. Whatever the line's error, the heat that leaves the water is the heat that enters
//! the room.
//!
//! Sources: two-node room as in ISO 13790's simple hourly method with the surface node merged into the mass; emitter laws
//! in [`emitter`](crate::emitter). Not modelled: heat between zones, sun, infiltration by wind, water that stratifies.

mod floor;
mod laid;
mod lane;
pub(crate) mod lanes;

use crate::plant::{Fluid, Zone};
use lanes::{Drive, Lanes, Nodes, Row};

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

/// One zone by itself, ready to step: for a comparison with other reckonings. A plant steps all its zones side by side.
#[derive(Clone, Debug)]
pub struct ZoneModel(Lanes);

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

/// What a zone did in one step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ZoneFlux {
    /// Heat from the emitter into the room, in watts.
    pub heat_w: f64,
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
        Self(Lanes::new(std::slice::from_ref(z), fluid, dt_s))
    }

    /// One step, fed with `flow_w_k` (flow times specific heat) of water at `supply_c` at its end.
    pub fn step_alone(
        &self,
        s: &mut ZoneState,
        flow_w_k: f64,
        supply_c: f64,
        outdoor_c: f64,
        gains_w: f64,
    ) -> ZoneFlux {
        let mut d = Drive::default();
        d.flow_w_k[0] = flow_w_k.max(0.0);
        d.from_header[0] = if flow_w_k > 0.0 { 1.0 } else { 0.0 };
        d.gains_w[0] = gains_w;
        d.law_share[0] = 1.0;
        d.to_slab[0] = self.0.to_slab(0, flow_w_k);
        self.0.ready(0, &mut d, 1);
        let mut nodes = Nodes::default();
        nodes.put(0, s);
        let (reply, _) = self.0.reply(0, &nodes, &mut d, supply_c, outdoor_c);
        let gave = self.0.finish(0, &mut nodes, &reply, &d, supply_c);
        *s = nodes.get(0);
        let first = |x: Row| x.to_array()[0];
        ZoneFlux { heat_w: first(gave.heat_w), gains_w: 0.0, supply_c: first(gave.entering_c), flow_kg_s: 0.0 }
    }
}
