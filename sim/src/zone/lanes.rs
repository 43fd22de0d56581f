//! All zones of a plant stepped side by side, four in a block.
//!
//! The equations stand in [`zone`](super). Here each symbol of them is a row of four zones, which the processor takes two at
//! a time; what differs from zone to zone (flow or none, floor or not) is a number and no branch. With the constants of a
//! step collected beforehand,
//!
//! ```text
//! a'      = A_a a + A_m m + A_h (G + U o)              air without emitter heat
//! Q       = q0 + q1 mean                               piece of the law, the air's own answer eliminated
//! r       = fixed + per_supply S                       leaving water
//! a       = a' + P Q         m = M_m m + M_q Q + M_a a
//! ```
//!
//! A block's unused places hold zones without heat capacity that stay at zero. What a [`Drive`] leaves as it is from step to
//! step is worked out when it changes, and so is what follows from a law while its argument stays in one of its
//! pieces: see [`laid`](super::laid).

pub(crate) use super::lane::Lane;
use super::{
    ZoneState,
    floor::{Floor, ToSlab},
    laid::Laid,
};
use crate::{
    emitter::{MeanRule, table::Table},
    plant::{Fluid, Zone},
};
use heatwright_core::limits::ZONES;

/// Zones in a block.
pub(crate) const LANES: usize = 4;
/// Blocks of a full plant.
pub(crate) const BLOCKS: usize = ZONES.div_ceil(LANES);
/// Such figures while they are reckoned with, all four at once.
pub(crate) type Row = wide::f64x4;
/// Every place of a row in a mask of bits.
pub(crate) const ALL: u32 = (1 << LANES) - 1;

/// Takes a row up.
#[inline(always)]
pub(crate) fn row(x: &Lane) -> Row {
    Row::new(x.0)
}

/// Block and place of a zone.
#[inline]
pub(crate) const fn place(zone: usize) -> (usize, usize) {
    (zone / LANES % BLOCKS, zone % LANES)
}

/// A row by a rule for each place.
#[inline(always)]
pub(crate) fn lane(f: impl Fn(usize) -> f64) -> Lane {
    Lane([f(0), f(1), f(2), f(3)])
}

/// Node temperatures of a block, in degrees Celsius.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Nodes {
    pub(crate) air_c: Lane,
    pub(crate) mass_c: Lane,
    pub(crate) water_c: Lane,
    pub(crate) slab_c: Lane,
}

/// What a block did in the step that is being finished.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Gave {
    /// Heat to the rooms, in watts.
    pub(crate) heat_w: Row,
    /// Water entering the emitters, in degrees Celsius.
    pub(crate) entering_c: Row,
    /// Air at the end of the step, in degrees Celsius.
    pub(crate) air_c: Row,
}

/// What acts on a block, and what follows from it for every step until it changes ([`Lanes::ready`]).
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Drive {
    /// Flow through the emitter times specific heat, in W/K.
    pub(crate) flow_w_k: Lane,
    /// Share of that flow that comes from the header; 0 without flow.
    pub(crate) from_header: Lane,
    /// Gains, in watts.
    pub(crate) gains_w: Lane,
    /// Share of the law's heat that is given off (a standing fan).
    pub(crate) law_share: Lane,
    /// What joins water and slab at this flow. Floors only.
    pub(crate) to_slab: [ToSlab; LANES],
    /// Flow from the header, in W/K.
    pub(crate) taken_w_k: Lane,
    /// Rise of the air in one step by the gains, in kelvin.
    gains_k: Lane,
    /// Share of the way from the water to the header's supply that the entering water stands for, where the piece of the law
    /// is chosen and where the step ends.
    pub(super) chosen: Lane,
    pub(super) pull: Lane,
    /// What is under the leaving water's fraction besides the emitter, in W/K; what of the emitter is, a share.
    pub(super) base: Lane,
    pub(super) rest: Lane,
    /// No water moves in any of these zones.
    pub(crate) still: bool,
    pub(super) laid: Laid,
}

impl Drive {
    /// Water given back per header supply, in W/K, as it was laid last.
    #[inline(always)]
    pub(crate) fn back_w_k(&self) -> Row {
        row(&self.laid.back_w_k)
    }
}

/// A block's step with its nodes eliminated; the slopes of its straight lines are in what is [`Laid`].
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Reply {
    /// Leaving water = `fixed_c` + `per_supply` * header supply.
    pub(crate) fixed_c: Row,
    /// Heat from the water = `x0` + `x1` * mean water. Floors only.
    x0: Row,
    /// Heat to the room = `q0` + `q1` * (mean water, or slab).
    q0: Row,
    air_still_c: Row,
}

/// Constants of a block.
#[derive(Clone, Debug, Default)]
pub(super) struct Block {
    air_per_air: Lane,
    air_per_mass: Lane,
    air_per_gain: Lane,
    air_per_outdoor: Lane,
    /// Rise of the air in one step per watt of emitter heat, in K/W.
    pub(super) air_per_w: Lane,
    mass_per_mass: Lane,
    mass_per_w: Lane,
    mass_per_air: Lane,
    /// Heat capacities over the step, in W/K.
    pub(super) water: Lane,
    pub(super) slab: Lane,
    /// Weight of the entering water in the mean that counts.
    pub(super) entering: Lane,
    /// 1 for a floor, whose slab is what is warm.
    pub(super) floor: Lane,
    /// Heat capacities in J/K: air, mass, water and metal, slab.
    j_k: [Lane; 4],
    /// Floors by their place, and places of emitters rated by the logarithmic mean, one bit each.
    floors: Vec<(usize, Floor)>,
    pub(super) logarithmic: u32,
}

/// All zones ready to step.
#[derive(Clone, Debug)]
pub(crate) struct Lanes {
    pub(super) blocks: Vec<Block>,
    pub(super) laws: Vec<[Table; LANES]>,
}

impl Lanes {
    /// Prepares zones for steps of `dt_s` seconds.
    pub(crate) fn new(zones: &[Zone], fluid: &Fluid, dt_s: f64) -> Self {
        let blocks = zones.len().div_ceil(LANES).min(BLOCKS);
        let mut all = Self {
            blocks: vec![Block { water: Lane([1.0; LANES]), ..Block::default() }; blocks],
            laws: (0..blocks).map(|_| std::array::from_fn(|_| Table::zero())).collect(),
        };
        for (i, z) in zones.iter().enumerate().take(BLOCKS * LANES) {
            let (b, l) = place(i);
            all.blocks[b].put(l, z, fluid, dt_s);
            all.laws[b][l] = Table::new(|x| z.emitter.law_w(x));
        }
        all
    }

    /// Blocks in use.
    pub(crate) fn blocks(&self) -> usize {
        self.blocks.len()
    }

    /// Works out what a drive leaves as it is until it changes, for these places of the block, one bit each.
    pub(crate) fn ready(&self, block: usize, d: &mut Drive, places: u64) {
        let c = &self.blocks[block];
        let x = d.from_header;
        d.taken_w_k = lane(|l| d.flow_w_k[l] * x[l]);
        d.gains_k = lane(|l| c.air_per_gain[l] * d.gains_w[l]);
        d.chosen = lane(|l| if c.floor[l] > 0.0 { 0.0 } else { 0.5 * x[l] });
        d.pull = lane(|l| c.entering[l] * x[l]);
        d.base = lane(|l| c.water[l] + d.flow_w_k[l] * x[l]);
        d.rest = lane(|l| 1.0 - c.entering[l] * x[l]);
        d.still = d.flow_w_k.iter().all(|w| *w == 0.0);
        d.laid.forget(places);
    }

    /// What joins water and slab of a floor at a flow times specific heat in W/K; nothing for what is no floor.
    pub(crate) fn to_slab(&self, zone: usize, flow_w_k: f64) -> ToSlab {
        let (b, l) = place(zone);
        let floor = self.blocks[b].floors.iter().find(|f| f.0 == l);
        floor.map_or(ToSlab::default(), |f| f.1.to_slab(flow_w_k))
    }

    /// Heat in water, metal and slab of a zone, in joules above 0 degrees Celsius.
    pub(crate) fn stored_j(&self, zone: usize, s: &ZoneState) -> f64 {
        let (b, l) = place(zone);
        let j_k = &self.blocks[b].j_k;
        j_k[2][l] * s.water_c + j_k[3][l] * s.slab_c
    }

    /// Heat in air and mass of a zone, in joules above 0 degrees Celsius.
    pub(crate) fn room_j(&self, zone: usize, s: &ZoneState) -> f64 {
        let (b, l) = place(zone);
        let j_k = &self.blocks[b].j_k;
        j_k[0][l] * s.air_c + j_k[1][l] * s.mass_c
    }

    /// First half of a block's step: eliminates its nodes. `supply_was_c` is the header's supply at the start of the step,
    /// where the pieces of the laws are chosen. True when what they leave as it is was laid anew.
    #[inline(always)]
    pub(crate) fn reply(
        &self,
        block: usize,
        s: &Nodes,
        d: &mut Drive,
        supply_was_c: f64,
        outdoor_c: f64,
    ) -> (Reply, bool) {
        let c = &self.blocks[block];
        let (air_c, water_c, slab_c) = (row(&s.air_c), row(&s.water_c), row(&s.slab_c));
        let (supply_was, outdoor) = (Row::splat(supply_was_c), Row::splat(outdoor_c));
        let air_still_c = row(&c.air_per_air) * air_c
            + row(&c.air_per_mass) * row(&s.mass_c)
            + (row(&d.gains_k) + row(&c.air_per_outdoor) * outdoor);
        // Elsewhere than in a floor the slab is the water.
        let excess_k = slab_c + row(&d.chosen) * (supply_was - slab_c) - air_c;
        // What is no number is in no piece, and looks for one in each step.
        let within = excess_k.simd_ge(row(&d.laid.low_k)) & excess_k.simd_lt(row(&d.laid.high_k));
        let past = ALL & !within.to_bitmask() | c.logarithmic;
        let anew = past != 0;
        if anew {
            self.lay(block, s, d, &excess_k.into(), supply_was_c, past);
        }
        let p = &d.laid;
        let off_k = excess_k - row(&p.middle_k);
        let q0 = row(&p.q_zero_w) + row(&p.q_bend) * (off_k * off_k) - row(&p.q1) * air_still_c;
        let x0 = if c.floors() { row(&p.x_of_slab) * slab_c + row(&p.x_of_q) * q0 } else { q0 };
        let fixed_c = (row(&c.water) * water_c - x0) * row(&p.den);
        (Reply { fixed_c, x0, q0, air_still_c }, anew)
    }

    /// Second half of a block's step: places its nodes once the header's supply is known.
    #[inline(always)]
    pub(crate) fn finish(&self, block: usize, s: &mut Nodes, r: &Reply, d: &Drive, supply_c: f64) -> Gave {
        let (c, p) = (&self.blocks[block], &d.laid);
        // Without flow the rest would come to the same.
        let (mut water_c, mut entering_c, mut mean_c) = (r.fixed_c, r.fixed_c, r.fixed_c);
        if !d.still {
            let supply = Row::splat(supply_c);
            water_c = r.fixed_c + row(&p.per_supply) * supply;
            let below_k = supply - water_c;
            entering_c = water_c + row(&d.from_header) * below_k;
            mean_c = water_c + row(&d.pull) * below_k;
        }
        let mut heat_w = r.q0 + row(&p.q1) * mean_c;
        let mut slab_c = water_c;
        if c.floors() {
            let floor = c.floor();
            let from_water_w = r.x0 + row(&p.x1) * mean_c;
            let placed_c = (row(&c.slab) * row(&s.slab_c) + from_water_w - r.q0) * row(&p.slab_den);
            heat_w = floor.bitselect(r.q0 + row(&p.q1) * placed_c, heat_w);
            slab_c = floor.bitselect(placed_c, water_c);
        }
        let air_c = r.air_still_c + row(&c.air_per_w) * heat_w;
        let mass_c =
            row(&c.mass_per_mass) * row(&s.mass_c) + row(&c.mass_per_w) * heat_w + row(&c.mass_per_air) * air_c;
        s.water_c = water_c.into();
        s.slab_c = slab_c.into();
        s.mass_c = mass_c.into();
        s.air_c = air_c.into();
        Gave { heat_w, entering_c, air_c }
    }
}

impl Block {
    /// A floor is among these zones.
    #[inline(always)]
    fn floors(&self) -> bool {
        !self.floors.is_empty()
    }

    /// Where they are, as a mask.
    #[inline(always)]
    fn floor(&self) -> Row {
        row(&self.floor).simd_gt(Row::ZERO)
    }

    fn put(&mut self, l: usize, z: &Zone, fluid: &Fluid, dt_s: f64) {
        let slab_j_k = z.emitter.slab().map_or(0.0, |s| s.1);
        let floor = Floor::of(&z.emitter);
        let (air, mass, h, u) = (z.air_j_k / dt_s, z.mass_j_k / dt_s, z.air_mass_w_k, z.loss_w_k());
        let per_mass = if mass + h > 0.0 { 1.0 / (mass + h) } else { 0.0 };
        let per_air = 1.0 / (air + u + h - h * h * per_mass);
        let water_j_k = fluid.capacity_j_k(z.water_l) + z.metal_j_k;
        self.air_per_air[l] = per_air * air;
        self.air_per_mass[l] = per_air * h * mass * per_mass;
        self.air_per_gain[l] = per_air;
        self.air_per_outdoor[l] = per_air * u;
        self.air_per_w[l] = per_air * ((1.0 - z.radiant_share) + z.radiant_share * h * per_mass);
        self.mass_per_mass[l] = per_mass * mass;
        self.mass_per_w[l] = per_mass * z.radiant_share;
        self.mass_per_air[l] = per_mass * h;
        self.water[l] = water_j_k / dt_s;
        self.slab[l] = slab_j_k / dt_s;
        self.entering[l] = if floor.is_some() { 1.0 } else { 0.5 };
        self.floor[l] = if floor.is_some() { 1.0 } else { 0.0 };
        for (row, j_k) in self.j_k.iter_mut().zip([z.air_j_k, z.mass_j_k, water_j_k, slab_j_k]) {
            row[l] = j_k;
        }
        if let Some(floor) = floor {
            self.floors.push((l, floor));
        } else if z.emitter.mean_rule() == MeanRule::Logarithmic {
            self.logarithmic |= 1 << l;
        }
    }
}

impl Nodes {
    pub(crate) fn get(&self, l: usize) -> ZoneState {
        ZoneState { air_c: self.air_c[l], mass_c: self.mass_c[l], water_c: self.water_c[l], slab_c: self.slab_c[l] }
    }

    pub(crate) fn put(&mut self, l: usize, s: &ZoneState) {
        (self.air_c[l], self.mass_c[l], self.water_c[l], self.slab_c[l]) = (s.air_c, s.mass_c, s.water_c, s.slab_c);
    }
}
