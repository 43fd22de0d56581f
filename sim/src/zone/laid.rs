//! What of a block's step follows from the laws of its emitters, and stays while each of them stays in one of its pieces.
//!
//! A law is laid as a row of bows ([`Bow`](crate::emitter::table::Bow)). The tangent of a step is the slope of the bow in which
//! the excess lies at its start: with it every fraction of the elimination is the same from step to step, and is worked out when
//! the excess lies in another bow than at the last, or the flow has changed. With `x` that excess in K, `u` the bow's slope in
//! W/K, `v` its value there less `u x` in W, `P` the air's rise per watt of emitter heat in K/W,
//!
//! ```text
//! Q = q0 + q1 warm      q0 = (v - u a') / (1 + u P)      q1 = u / (1 + u P)
//! ```
//!
//! with `a'` the air without emitter heat and `warm` the mean water, or a floor's slab. `v` is the law's own in each step, so that
//! heat at rest is exact. The slope differs from the law's own by at most a fiftieth: that acts on the heat which one step
//! adds, less than the step's length does, and comes to nothing along the whole of a bow. A floor's own conductance from the
//! water to its slab (`floor.rs`) is taken in the middle of the bow.
//!
//! Which bow it is depends on where the plant stands and on nothing before it. An emitter rated by the logarithmic mean has
//! another weight in each step: its place is laid in each.

use super::lanes::{Drive, LANES, Lane, Lanes, Nodes};
use crate::emitter::log_to_arithmetic;

/// Bows of a law for each doubling of its argument, as a power of two. A slab changes so slowly that its bows can be shorter.
const BOWS_BITS: u32 = 4;
const BOWS_OF_A_FLOOR_BITS: u32 = 8;

/// The straight lines of a block's elimination.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Laid {
    /// Excess at the start of a step for which they hold, in kelvin; the upper end is outside.
    pub(super) low_k: Lane,
    pub(super) high_k: Lane,
    /// Heat to the room = `q_zero_w` + `q_bend` * (excess - `middle_k`)^2 + `q1` * (mean water, or slab, less the air without
    /// emitter heat).
    pub(super) middle_k: Lane,
    pub(super) q_zero_w: Lane,
    pub(super) q_bend: Lane,
    pub(super) q1: Lane,
    /// Heat from the water = `x_of_slab` * slab before + `x_of_q` * (heat to the room from no warmth) + `x1` * mean water.
    pub(super) x_of_slab: Lane,
    pub(super) x_of_q: Lane,
    pub(super) x1: Lane,
    /// One over the slab's own capacity and what it gives, in K/W. Floors only.
    pub(super) slab_den: Lane,
    /// One over what is under the leaving water's fraction, in K/W; leaving water per header supply.
    pub(super) den: Lane,
    pub(super) per_supply: Lane,
    /// Water given back per header supply, in W/K.
    pub(super) back_w_k: Lane,
}

impl Laid {
    /// These places are laid anew in the next step, one bit each.
    pub(super) fn forget(&mut self, places: u64) {
        for l in 0..LANES {
            if places >> l & 1 == 1 {
                self.low_k[l] = f64::INFINITY;
            }
        }
    }
}

impl Lanes {
    /// Lays these places anew at their excesses, one bit each.
    #[inline(never)]
    pub(super) fn lay(&self, block: usize, s: &Nodes, d: &mut Drive, excess_k: &Lane, supply_was_c: f64, places: u32) {
        let c = &self.blocks[block];
        let mut left = places;
        while left != 0 {
            let l = left.trailing_zeros() as usize % LANES;
            left &= left - 1;
            let logarithmic = c.logarithmic >> l & 1 == 1;
            let weight = if logarithmic && d.flow_w_k[l] > 0.0 {
                // Logarithmic over arithmetic mean.
                let entering_c = s.water_c[l] + d.from_header[l] * (supply_was_c - s.water_c[l]);
                log_to_arithmetic(entering_c - s.air_c[l], s.water_c[l] - s.air_c[l])
            } else {
                1.0
            };
            let floor = c.floor[l] > 0.0;
            let bits = if floor { BOWS_OF_A_FLOOR_BITS } else { BOWS_BITS };
            let (x, share) = (weight * excess_k[l], d.law_share[l]);
            let mut bow = self.laws[block][l].bow(x, bits);
            if logarithmic {
                bow.zero += bow.bend * (x - bow.middle) * (x - bow.middle);
                bow.bend = 0.0;
            }
            let tangent = bow.slope * share * weight;
            let shrink = 1.0 / (1.0 + tangent * c.air_per_w[l]);
            let q1 = tangent * shrink;
            let (mut x_of_slab, mut x_of_q, mut x1) = (0.0, 1.0, q1);
            if floor {
                let (k, slab) = (d.to_slab[l].at(bow.ratio * share), c.slab[l]);
                x_of_q = k / (slab + k + q1);
                x_of_slab = -x_of_q * slab;
                x1 = k - x_of_q * k;
            }
            let den = 1.0 / (d.base[l] + x1 * d.rest[l]);
            let p = &mut d.laid;
            (p.low_k[l], p.high_k[l]) = (bow.low, bow.high);
            (p.middle_k[l], p.q1[l]) = (bow.middle, q1);
            (p.q_zero_w[l], p.q_bend[l]) = (bow.zero * share * shrink, bow.bend * share * shrink);
            (p.x_of_slab[l], p.x_of_q[l], p.x1[l]) = (x_of_slab, x_of_q, x1);
            p.slab_den[l] = 1.0 / (c.slab[l] + q1);
            p.den[l] = den;
            p.per_supply[l] = (d.taken_w_k[l] - d.pull[l] * x1) * den;
            p.back_w_k[l] = d.taken_w_k[l] * p.per_supply[l];
        }
    }
}
