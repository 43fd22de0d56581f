//! How a floor's slab takes heat from the water in its tubes.
//!
//! Along its tube the water cools, and each piece of slab stands between its own water and the room. With `K` the conductance
//! from water to slab and `U_s` from slab to room, both in W/K of the whole floor, one piece passes on `G = K U_s / (K + U_s)`
//! of the water's own excess over the room, so that the water falls towards the *room*, by `exp(-G/w)`; `w` is flow times
//! specific heat in W/K. In terms of the slab's mean temperature `b` and the entering water `s` (degrees Celsius) that is
//!
//! ```text
//! X = k (s - b)      k = 1 / (1/(w (1 - exp(-G/w))) - 1/U_s)      with flow
//! X = K (r - b)                                                   without
//! ```
//!
//! `X` heat into the slab in W, `r` the water's own temperature. In a floor at rest the heat is then that of the logarithmic
//! mean of the water's two ends over the room, as EN 1264-2 has it. (Were the slab of one temperature, `k` would be
//! `w (1 - exp(-K/w))`; a floor with a drop of 8 K then gives some 8 % less than its standard says.)
//!
//! `U_s` is the chord of the floor's law at the slab's own excess. It changes little with that excess, so `k` is laid as a
//! straight line of it between 1 and 20 K, level below: within 0.3 % of a floor's heat, and no exponential in a step.
//! Outside a rest this is our choice: the slab keeps the profile of a floor at rest while it warms and cools. Not modelled:
//! layouts of tubes, heat along the slab.

use crate::emitter::Emitter;

/// Excesses of the slab at which the line is laid, in kelvin.
const LINE_K: (f64, f64) = (1.0, 20.0);

/// What a floor's slab is like on both sides, in watts per kelvin of the whole floor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Floor {
    water_to_slab_w_k: f64,
    /// Slab to room at the two ends of the line.
    to_room_w_k: (f64, f64),
}

/// Conductance from water to slab at one flow, in watts per kelvin, as a line of the slab's conductance to the room.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct ToSlab {
    least_w_k: f64,
    per: f64,
    to_room_least_w_k: f64,
}

impl Floor {
    /// The floor of an emitter; `None` for what is none.
    pub(crate) fn of(emitter: &Emitter) -> Option<Self> {
        let (water_to_slab_w_k, _) = emitter.slab()?;
        let chord = |x: f64| emitter.law_w(x) / x;
        Some(Self { water_to_slab_w_k, to_room_w_k: (chord(LINE_K.0), chord(LINE_K.1)) })
    }

    /// What joins water and slab at this flow times specific heat, in watts per kelvin.
    pub(crate) fn to_slab(self, flow_w_k: f64) -> ToSlab {
        let (low, high) = self.to_room_w_k;
        if flow_w_k <= 0.0 {
            return ToSlab { least_w_k: self.water_to_slab_w_k, per: 0.0, to_room_least_w_k: low };
        }
        let at = |to_room_w_k: f64| {
            let both = self.water_to_slab_w_k * to_room_w_k / (self.water_to_slab_w_k + to_room_w_k);
            let taken = flow_w_k * -(-both / flow_w_k).exp_m1();
            taken / (1.0 - taken / to_room_w_k)
        };
        let least_w_k = at(low);
        ToSlab { least_w_k, per: (at(high) - least_w_k) / (high - low), to_room_least_w_k: low }
    }
}

impl ToSlab {
    /// The conductance in watts per kelvin where the slab gives so much for each kelvin over its room.
    pub(super) fn at(self, chord_w_k: f64) -> f64 {
        self.least_w_k + self.per * (chord_w_k - self.to_room_least_w_k).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn emitter(water: f64, surface: f64) -> Emitter {
        Emitter::Floor { area_m2: 50.0, water_to_slab_m2k_w: water, slab_to_surface_m2k_w: surface, slab_j_k: 1e6 }
    }

    fn at(k: ToSlab, heat_w: f64, excess_k: f64) -> f64 {
        k.at(if excess_k == 0.0 { 0.0 } else { heat_w / excess_k })
    }

    /// Heat of a floor at rest in a room of 20 degrees Celsius, by halving on the slab: what comes in is what goes out.
    fn rest_w(e: &Emitter, flow_w_k: f64, supply_c: f64) -> f64 {
        let k = Floor::of(e).unwrap().to_slab(flow_w_k);
        let (mut low, mut high) = (0.0, supply_c - 20.0);
        for _ in 0..60 {
            let b = 0.5 * (low + high);
            let out = e.law_w(b);
            if at(k, out, b) * (supply_c - 20.0 - b) > out { low = b } else { high = b }
        }
        e.law_w(0.5 * (low + high))
    }

    #[test]
    fn a_floor_at_rest_gives_what_its_steady_law_says() {
        for (water, surface) in [(0.02, 0.0), (0.05, 0.03), (0.1, 0.06), (0.2, 0.2)] {
            let e = emitter(water, surface);
            for flow_w_k in [100.0, 250.0, 800.0, 5000.0] {
                for supply_c in [25.0, 32.0, 40.0, 50.0] {
                    let law = e.at_flow(supply_c, flow_w_k, 20.0).heat_w;
                    let off = rest_w(&e, flow_w_k, supply_c) / law - 1.0;
                    assert!(off.abs() < 0.003, "{water} {surface} {flow_w_k} W/K {supply_c} C: {off:.5}");
                }
            }
        }
    }

    #[test]
    fn much_flow_and_none_are_the_plain_conductance() {
        let floor = Floor::of(&emitter(0.05, 0.06)).unwrap();
        let plain = 50.0 / 0.05;
        for (heat_w, excess_k) in [(0.0, 0.0), (600.0, 2.0), (3000.0, 9.0), (-600.0, -2.0)] {
            assert_eq!(at(floor.to_slab(0.0), heat_w, excess_k), plain);
            assert!((at(floor.to_slab(1e9), heat_w, excess_k) / plain - 1.0).abs() < 1e-5);
        }
        assert!(Floor::of(&Emitter::radiator(2000.0, 1.3)).is_none());
    }
}
