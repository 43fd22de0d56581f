//! What a floor with tubes in its screed passes on, by EN 1264-2's characteristic for such a floor (type A).
//!
//! ```text
//! q   = K_H dT        K_H = B a_B a_T^m_T a_U^m_U a_D^m_D
//! a_B = (1/10.8 + 0.045/1) / (1/10.8 + 0.045/l_E + R)
//! m_T = 1 - T/0.075   m_U = 100 (0.045 - s)   m_D = 250 (D - 0.020)
//! ```
//!
//! `q` heat upwards in W/m2, `dT` logarithmic excess of the water over the room in K, `B` = 6.7 W/m2K for a tube of 0.35 W/mK and
//! 2 mm wall, `T` spacing and `s` screed over the tubes in m, `D` = 0.020 m the tube's outside, `l_E` = 1.2 W/mK the screed's
//! conductivity, `R` the covering's resistance in m2 K/W. `a_T`, `a_U` are tables of the standard with straight lines between
//! their entries; with this tube `m_D` is 0 and the third table is not needed.
//!
//! Source: EN 1264-2 annex A, formulas and tables as five public transcriptions give them alike. From memory: the edges. Past 375 mm
//! `K_H` falls as `0.375/T`; screed past 100 mm, or past half the spacing where that is more, is a plain resistance on top. Ours: so
//! is covering past 0.15 m2 K/W, where the tables end. Below 50 mm of spacing the floor is one of 50 mm.
//!
//! The model's own law has the surface apart (`8.92 (t_F - t_i)^1.1`), the standard's `K_H` holds it with 10.8 W/m2K, which the
//! surface law has at 73 W/m2. What lies between water and surface is therefore `1/K_H - 1/10.8`, and the floor agrees with the
//! standard there, within 4 % at 40 W/m2 and 2 % at 100, however close the tubes; a usual floor within 2 and 1 %. The slab's node
//! stands under screed and covering; what is left is the way from the water to it, never less than the tube's own wall.

/// Conductivity of screed, in W/mK (EN 1264-2).
const SCREED_W_MK: f64 = 1.2;
/// Conductivity of a plastic tube, in W/mK (EN 1264-2).
const TUBE_W_MK: f64 = 0.35;
/// Outside and bore of the tube, in metres.
const TUBE_M: (f64, f64) = (0.020, 0.016);
/// The coefficient of a floor with tubes in its screed, in W/m2K.
const B_W_M2K: f64 = 6.7;
/// What the standard's `K_H` holds for the surface, in W/m2K.
const SURFACE_W_M2K: f64 = 10.8;
/// The screed that the coefficient was set for: metres, W/mK.
const BASIS: (f64, f64) = (0.045, 1.0);

/// Coverings of the tables, in m2 K/W.
const COVERING: [f64; 4] = [0.0, 0.05, 0.10, 0.15];
/// Spacings of the tables, in metres.
const SPACING_M: [f64; 8] = [0.05, 0.075, 0.1, 0.15, 0.2, 0.225, 0.3, 0.375];
/// Factor of the spacing.
const A_T: [f64; 4] = [1.23, 1.188, 1.156, 1.134];
/// Factor of the screed over the tubes: a row a spacing.
const A_U: [[f64; 4]; 8] = [
    [1.069, 1.056, 1.043, 1.037],
    [1.066, 1.053, 1.041, 1.035],
    [1.063, 1.050, 1.039, 1.0335],
    [1.057, 1.046, 1.035, 1.0305],
    [1.051, 1.041, 1.0315, 1.0275],
    [1.048, 1.038, 1.0295, 1.026],
    [1.0395, 1.031, 1.024, 1.021],
    [1.030, 1.0221, 1.0181, 1.015],
];

/// The layers of a floor with tubes in its screed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screed {
    /// Spacing of the tubes, in metres.
    pub spacing_m: f64,
    /// Screed over the tubes, in metres.
    pub over_m: f64,
    /// Thermal resistance of the covering, in m2 K/W.
    pub covering_m2k_w: f64,
}

impl Screed {
    /// Heat upwards for each kelvin of the water's logarithmic excess over the room, in W/m2K: the standard's `K_H`.
    pub fn k_h_w_m2k(&self) -> f64 {
        let [.., widest_m] = SPACING_M;
        let [.., thickest] = COVERING;
        let spacing_m = self.spacing_m.clamp(SPACING_M[0], widest_m);
        let covering = self.covering_m2k_w.clamp(0.0, thickest);
        let over_m = self.over_m.min((0.5 * spacing_m).max(0.1));
        let surface = 1.0 / SURFACE_W_M2K;
        let a_b = (surface + BASIS.0 / BASIS.1) / (surface + BASIS.0 / SCREED_W_MK + covering);
        let a_t = along(&COVERING, &A_T, covering);
        let a_u = along(&SPACING_M, &A_U.map(|row| along(&COVERING, &row, covering)), spacing_m);
        let in_range = B_W_M2K * a_b * a_t.powf(1.0 - spacing_m / 0.075) * a_u.powf(100.0 * (BASIS.0 - over_m));
        let on_top = (self.over_m - over_m) / SCREED_W_MK + (self.covering_m2k_w - covering).max(0.0);
        widest_m / self.spacing_m.max(widest_m) / (1.0 / in_range + on_top)
    }

    /// Resistances in m2 K/W from the water to the slab's node and from there to the surface.
    pub fn resistances_m2k_w(&self) -> (f64, f64) {
        let whole = 1.0 / self.k_h_w_m2k() - 1.0 / SURFACE_W_M2K;
        let wall = self.spacing_m * (TUBE_M.0 / TUBE_M.1).ln() / (2.0 * std::f64::consts::PI * TUBE_W_MK);
        let to_slab = (whole - self.over_m / SCREED_W_MK - self.covering_m2k_w).max(wall);
        (to_slab, (whole - to_slab).max(0.0))
    }

    /// Depth of what the tubes warm, in metres: the screed over them and between them.
    pub fn depth_m(&self) -> f64 {
        self.over_m + TUBE_M.0
    }
}

/// The straight line between the two entries next to `x`, level past the ends.
fn along<const N: usize>(xs: &[f64; N], ys: &[f64; N], x: f64) -> f64 {
    let upper = xs.partition_point(|at| *at < x).clamp(1, N - 1);
    let share = ((x - xs[upper - 1]) / (xs[upper] - xs[upper - 1])).clamp(0.0, 1.0);
    ys[upper - 1] + share * (ys[upper] - ys[upper - 1])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_never_leaves_a_floor_without_resistance_and_more_of_anything_gives_less() {
        let steps = |from: f64, to: f64| (0..=20).map(move |i| from + (to - from) * f64::from(i) / 20.0);
        // The ranges of the plant file.
        for spacing_m in steps(0.05, 0.5) {
            for over_m in steps(0.01, 0.2) {
                for covering_m2k_w in steps(0.0, 0.5) {
                    let at = Screed { spacing_m, over_m, covering_m2k_w };
                    let (to_slab, to_surface) = at.resistances_m2k_w();
                    assert!(to_slab > 0.004 && to_surface >= 0.0, "{at:?}: {to_slab} {to_surface}");
                    let whole = to_slab + to_surface + 1.0 / SURFACE_W_M2K;
                    assert!((whole * at.k_h_w_m2k() - 1.0).abs() < 1e-9, "{at:?}");
                    for less in [
                        Screed { spacing_m: spacing_m + 0.01, ..at },
                        Screed { over_m: over_m + 0.005, ..at },
                        Screed { covering_m2k_w: covering_m2k_w + 0.01, ..at },
                    ] {
                        assert!(less.k_h_w_m2k() < at.k_h_w_m2k(), "{less:?} against {at:?}");
                    }
                }
            }
        }
    }
}
