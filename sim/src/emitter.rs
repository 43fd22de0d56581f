//! What an emitter gives off at a water temperature, by its published law, and the water temperature a heat needs.
//!
//! | emitter | law | source |
//! |---|---|---|
//! | radiator, convector, finned tube, cast iron, fan coil | `Q = Q_r / h * (x / x_r)^n` | EN 442-2 characteristic; exponent an input |
//! | floor | `q = 8.92 (t_F - t_i)^1.1` in W/m2 behind `R` in m2 K/W | EN 1264-2 basic characteristic; `R` by its annex A ([`screed`]) |
//! | table of points | straight lines in log-log coordinates between the points | our choice |
//!
//! `Q` heat in W, `x` mean excess temperature of the water over the room in K, index r at the rating, `n` exponent, `h`
//! heating effect of the rating (1.15 where a finned-tube rating carries the 15 % allowance of ASHRAE HVAC Systems and
//! Equipment, 1 elsewhere). The mean is arithmetic, `(t_s + t_r)/2 - t_i`, or logarithmic,
//! `(t_s - t_r) / ln((t_s - t_i)/(t_r - t_i))`, as the rating was made. The arithmetic mean flatters an emitter whose water cools
//! far: where the return's excess is less than 0.7 of the supply's at the zone's own design, the logarithmic one is to be taken
//! ([`Emitter::mean_at_design`]; European practice with EN 442 ratings, from memory).
//!
//! Typical exponents: panel radiator 1.3, cast iron 1.3 (1.2 in ASHRAE practice), commercial finned tube 1.4, convector
//! 1.4, fan coil and unit heater with fixed fan 1.0.
//!
//! Edges: the laws are odd, so water colder than the room takes heat from it; where one end of the water is at or below
//! the room the logarithmic mean is taken at a hundredth of the other end's excess. Not modelled: the effect of flow
//! inside the tubes, altitude on convection, and heat that a floor loses downwards.

pub mod screed;
pub mod table;

/// Heat of one square metre of floor, in watts, at one kelvin of surface over room (EN 1264-2).
pub const FLOOR_W_M2: f64 = 8.92;
/// Exponent of a floor's surface (EN 1264-2).
pub const FLOOR_EXPONENT: f64 = 1.1;
/// One square foot of equivalent direct radiation, in watts: 240 Btu/h.
pub const EDR_W: f64 = 240.0 * 0.293_071_07;
/// Lowest ratio of the two end excesses that a logarithmic mean is taken at.
pub const MEAN_RATIO_MIN: f64 = 0.01;

/// Lowest ratio of the return's excess to the supply's at which the arithmetic mean may stand for the logarithmic one.
pub const ARITHMETIC_RATIO_MIN: f64 = 0.7;

/// How the water's mean excess temperature is formed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeanRule {
    /// Half the sum of supply and return.
    Arithmetic,
    /// Logarithmic mean of the two end differences.
    Logarithmic,
}

/// The point at which an emitter was rated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rating {
    /// Heat, in watts.
    pub heat_w: f64,
    /// Supply water, in degrees Celsius.
    pub supply_c: f64,
    /// Return water, in degrees Celsius.
    pub return_c: f64,
    /// Room or entering air, in degrees Celsius.
    pub room_c: f64,
}

/// What gives a zone's heat off.
#[derive(Clone, Debug, PartialEq)]
pub enum Emitter {
    /// A power law of the mean excess temperature.
    Power {
        /// Its rating.
        rating: Rating,
        /// Its exponent.
        exponent: f64,
        /// How the mean was formed in the rating.
        mean: MeanRule,
        /// Heating effect in the rating: the rating is divided by it. 1 for none.
        heating_effect: f64,
    },
    /// A heated floor.
    Floor {
        /// Heated area, in square metres.
        area_m2: f64,
        /// Resistance from the water to the plane of the pipes, in square metre kelvin per watt.
        water_to_slab_m2k_w: f64,
        /// Resistance from there to the surface, covering included, in square metre kelvin per watt.
        slab_to_surface_m2k_w: f64,
        /// Heat capacity of the slab, in joules per kelvin.
        slab_j_k: f64,
    },
    /// Points of mean excess temperature (kelvin) and heat (watts), both strictly rising and above zero; two or more.
    Points {
        /// `(excess_k, heat_w)`.
        points: Vec<(f64, f64)>,
        /// How the mean is formed.
        mean: MeanRule,
    },
}

/// What an emitter does at a given supply and flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtFlow {
    /// Heat given off, in watts.
    pub heat_w: f64,
    /// Return water, in degrees Celsius.
    pub return_c: f64,
}

/// Mean excess temperature of water over room, in kelvin.
pub fn mean_excess_k(rule: MeanRule, supply_c: f64, return_c: f64, room_c: f64) -> f64 {
    let (hot, cold) = (supply_c - room_c, return_c - room_c);
    let half = 0.5 * (hot + cold);
    match rule {
        MeanRule::Arithmetic => half,
        MeanRule::Logarithmic => half * log_to_arithmetic(hot, cold),
    }
}

/// Logarithmic over arithmetic mean of two end differences, 0 to 1.
pub fn log_to_arithmetic(a_k: f64, b_k: f64) -> f64 {
    let (large, small) = if a_k.abs() >= b_k.abs() { (a_k, b_k) } else { (b_k, a_k) };
    if large == 0.0 {
        return 1.0;
    }
    let ratio = (small / large).max(MEAN_RATIO_MIN);
    let gap = 1.0 - ratio;
    if gap < 1e-3 {
        // Series of the quotient at equal ends, where both mean and logarithm go to zero: 1 - gap^2 / 12 - gap^3 / 12.
        return 1.0 - gap * gap * (1.0 + gap) / 12.0;
    }
    2.0 * gap / (-ratio.ln() * (1.0 + ratio))
}

impl Emitter {
    /// A panel or column radiator rated to EN 442 at 75/65/20 degrees Celsius.
    pub fn radiator(heat_w: f64, exponent: f64) -> Self {
        let rating = Rating { heat_w, supply_c: 75.0, return_c: 65.0, room_c: 20.0 };
        Emitter::Power { rating, exponent, mean: MeanRule::Arithmetic, heating_effect: 1.0 }
    }

    /// Cast-iron radiators by their equivalent direct radiation in square feet: 240 Btu/h each with steam at 215 degrees
    /// Fahrenheit in a room of 70.
    pub fn cast_iron(edr_ft2: f64, exponent: f64) -> Self {
        let (water, room_c) = ((215.0 - 32.0) / 1.8, (70.0 - 32.0) / 1.8);
        let rating = Rating { heat_w: edr_ft2 * EDR_W, supply_c: water, return_c: water, room_c };
        Emitter::Power { rating, exponent, mean: MeanRule::Arithmetic, heating_effect: 1.0 }
    }

    /// Commercial finned tube rated at 215 degrees Fahrenheit mean water and 65 entering air, the rating with the 15 %
    /// heating effect in it or not.
    pub fn finned_tube(heat_w: f64, exponent: f64, with_heating_effect: bool) -> Self {
        let (water, room_c) = ((215.0 - 32.0) / 1.8, (65.0 - 32.0) / 1.8);
        let rating = Rating { heat_w, supply_c: water, return_c: water, room_c };
        let heating_effect = if with_heating_effect { 1.15 } else { 1.0 };
        Emitter::Power { rating, exponent, mean: MeanRule::Arithmetic, heating_effect }
    }

    /// A fan coil or unit heater with fixed fan: heat in proportion to water over entering air. With the flow of the
    /// rating this is the same as proportion to *entering* water over entering air.
    pub fn fan_coil(rating: Rating) -> Self {
        Emitter::Power { rating, exponent: 1.0, mean: MeanRule::Arithmetic, heating_effect: 1.0 }
    }

    /// How this emitter's mean is formed.
    pub fn mean_rule(&self) -> MeanRule {
        match self {
            Emitter::Power { mean, .. } | Emitter::Points { mean, .. } => *mean,
            Emitter::Floor { .. } => MeanRule::Logarithmic,
        }
    }

    /// Steady heat in watts at a mean excess temperature of the water in kelvin.
    pub fn heat_at_excess_w(&self, excess_k: f64) -> f64 {
        if excess_k < 0.0 {
            return -self.heat_at_excess_w(-excess_k);
        }
        match self {
            Emitter::Power { .. } | Emitter::Points { .. } => self.law_w(excess_k),
            Emitter::Floor { area_m2, water_to_slab_m2k_w, slab_to_surface_m2k_w, .. } => {
                area_m2 * floor_flux_w_m2(excess_k, water_to_slab_m2k_w + slab_to_surface_m2k_w)
            }
        }
    }

    /// Mean excess temperature in kelvin that gives this heat in watts: the inverse of [`heat_at_excess_w`](Self::heat_at_excess_w).
    pub fn excess_for_heat_k(&self, heat_w: f64) -> f64 {
        if heat_w <= 0.0 {
            return 0.0;
        }
        match self {
            Emitter::Power { rating, exponent, mean, heating_effect } => {
                let rated_k = mean_excess_k(*mean, rating.supply_c, rating.return_c, rating.room_c);
                rated_k * (heat_w * heating_effect / rating.heat_w).powf(1.0 / exponent)
            }
            Emitter::Floor { area_m2, water_to_slab_m2k_w, slab_to_surface_m2k_w, .. } => {
                let flux = heat_w / area_m2;
                (flux / FLOOR_W_M2).powf(1.0 / FLOOR_EXPONENT) + flux * (water_to_slab_m2k_w + slab_to_surface_m2k_w)
            }
            Emitter::Points { points, .. } => between(points, heat_w, |p| (p.1, p.0)),
        }
    }

    /// Steady heat in watts with these water and room temperatures, in degrees Celsius.
    pub fn heat_w(&self, supply_c: f64, return_c: f64, room_c: f64) -> f64 {
        self.heat_at_excess_w(mean_excess_k(self.mean_rule(), supply_c, return_c, room_c))
    }

    /// Steady heat and return temperature at a supply temperature and a flow, the flow as capacity rate (flow times
    /// specific heat) in watts per kelvin. The water never leaves colder than the room; without flow there is no heat.
    pub fn at_flow(&self, supply_c: f64, flow_w_k: f64, room_c: f64) -> AtFlow {
        if flow_w_k <= 0.0 || supply_c <= room_c {
            return AtFlow { heat_w: 0.0, return_c: room_c.min(supply_c) };
        }
        let (mut low, mut high) = (room_c, supply_c);
        // Sixty halvings bring any span of temperatures below the resolution of an f64.
        for _ in 0..60 {
            let mid = 0.5 * (low + high);
            if flow_w_k * (supply_c - mid) > self.heat_w(supply_c, mid, room_c) {
                low = mid;
            } else {
                high = mid;
            }
        }
        let return_c = 0.5 * (low + high);
        AtFlow { heat_w: flow_w_k * (supply_c - return_c), return_c }
    }

    /// Supply temperature in degrees Celsius that gives this heat at this flow (capacity rate in watts per kelvin);
    /// `None` where the flow cannot carry it without the return falling to the room.
    pub fn supply_needed_c(&self, heat_w: f64, flow_w_k: f64, room_c: f64) -> Option<f64> {
        if heat_w <= 0.0 {
            return Some(room_c);
        }
        if flow_w_k <= 0.0 {
            return None;
        }
        let drop_k = heat_w / flow_w_k;
        let mean_k = self.excess_for_heat_k(heat_w);
        let excess_k = match self.mean_rule() {
            MeanRule::Arithmetic => mean_k + 0.5 * drop_k,
            MeanRule::Logarithmic => drop_k / -(-drop_k / mean_k).exp_m1(),
        };
        (excess_k - drop_k > MEAN_RATIO_MIN * excess_k).then_some(room_c + excess_k)
    }

    /// The mean that this emitter's law is to be taken with where it gives this heat in watts at this flow (capacity rate in
    /// watts per kelvin): its own, or the logarithmic one where the water cools so far that the arithmetic one would flatter it.
    pub fn mean_at_design(&self, heat_w: f64, flow_w_k: f64) -> MeanRule {
        let drop_k = heat_w / flow_w_k;
        let supply_k = self.excess_for_heat_k(heat_w) + 0.5 * drop_k;
        if supply_k - drop_k < ARITHMETIC_RATIO_MIN * supply_k { MeanRule::Logarithmic } else { self.mean_rule() }
    }

    /// Excess in kelvin of a floor's surface over its room that gives this heat in watts: the inverse of EN 1264-2's basic
    /// characteristic; `None` for what is no floor.
    pub fn floor_surface_k(&self, heat_w: f64) -> Option<f64> {
        match self {
            Emitter::Floor { area_m2, .. } => {
                Some((heat_w.max(0.0) / (area_m2 * FLOOR_W_M2)).powf(1.0 / FLOOR_EXPONENT))
            }
            Emitter::Power { .. } | Emitter::Points { .. } => None,
        }
    }

    /// The law that stepping uses: heat to the room in watts at an excess in kelvin that is not negative. It is the
    /// mean excess of the water for all but floors, and that of the slab for a floor.
    pub(crate) fn law_w(&self, excess_k: f64) -> f64 {
        match self {
            Emitter::Power { rating, exponent, mean, heating_effect } => {
                let rated_k = mean_excess_k(*mean, rating.supply_c, rating.return_c, rating.room_c);
                rating.heat_w / heating_effect * (excess_k / rated_k).powf(*exponent)
            }
            Emitter::Floor { area_m2, slab_to_surface_m2k_w, .. } => {
                area_m2 * floor_flux_w_m2(excess_k, *slab_to_surface_m2k_w)
            }
            Emitter::Points { points, .. } => between(points, excess_k, |p| *p),
        }
    }

    /// Conductance from water to slab in watts per kelvin and the slab's heat capacity in joules per kelvin, for a floor.
    pub(crate) fn slab(&self) -> Option<(f64, f64)> {
        match self {
            Emitter::Floor { area_m2, water_to_slab_m2k_w, slab_j_k, .. } => {
                Some((area_m2 / water_to_slab_m2k_w, *slab_j_k))
            }
            Emitter::Power { .. } | Emitter::Points { .. } => None,
        }
    }
}

/// Flux in W/m2 of a floor whose surface law stands behind a resistance: solves `x = (q/8.92)^(1/1.1) + q R`.
fn floor_flux_w_m2(excess_k: f64, resistance_m2k_w: f64) -> f64 {
    if excess_k <= 0.0 {
        return 0.0;
    }
    // Newton on the surface's excess; the function is convex and starts above its root, so it falls onto it.
    let mut surface_k = excess_k;
    for _ in 0..50 {
        let flux = FLOOR_W_M2 * surface_k.powf(FLOOR_EXPONENT);
        let miss = surface_k + resistance_m2k_w * flux - excess_k;
        let slope = 1.0 + resistance_m2k_w * FLOOR_EXPONENT * flux / surface_k;
        let next = (surface_k - miss / slope).max(1e-12);
        if (next - surface_k).abs() <= 1e-13 * excess_k {
            surface_k = next;
            break;
        }
        surface_k = next;
    }
    FLOOR_W_M2 * surface_k.powf(FLOOR_EXPONENT)
}

/// Straight line in log-log coordinates through the two points next to `x`; past the ends the end piece goes on.
fn between(points: &[(f64, f64)], x: f64, pick: impl Fn(&(f64, f64)) -> (f64, f64)) -> f64 {
    if x <= 0.0 || points.len() < 2 {
        return 0.0;
    }
    let upper = points.partition_point(|p| pick(p).0 < x).clamp(1, points.len() - 1);
    let ((x0, y0), (x1, y1)) = (pick(&points[upper - 1]), pick(&points[upper]));
    y0 * (x / x0).powf((y1 / y0).ln() / (x1 / x0).ln())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all() -> Vec<Emitter> {
        let coil = Rating { heat_w: 8000.0, supply_c: 82.0, return_c: 71.0, room_c: 18.0 };
        vec![
            Emitter::radiator(2000.0, 1.3),
            Emitter::cast_iron(50.0, 1.3),
            Emitter::finned_tube(3000.0, 1.4, true),
            Emitter::fan_coil(coil),
            Emitter::Floor { area_m2: 60.0, water_to_slab_m2k_w: 0.03, slab_to_surface_m2k_w: 0.08, slab_j_k: 9e6 },
            Emitter::Points {
                points: vec![(20.0, 500.0), (50.0, 1700.0), (60.0, 2200.0)],
                mean: MeanRule::Logarithmic,
            },
        ]
    }

    #[test]
    fn supply_needed_and_at_flow_are_each_others_inverse() {
        for e in all() {
            for heat_w in [50.0, 400.0, 1500.0] {
                let supply_c = e.supply_needed_c(heat_w, 120.0, 20.0).unwrap();
                let back = e.at_flow(supply_c, 120.0, 20.0);
                assert!((back.heat_w - heat_w).abs() < 1e-6 * heat_w, "{e:?}: {heat_w} W came back as {back:?}");
            }
        }
    }

    #[test]
    fn a_flow_that_cannot_carry_the_heat_has_no_supply_temperature() {
        let e = Emitter::radiator(2000.0, 1.3);
        assert_eq!(e.supply_needed_c(2000.0, 10.0, 20.0), None);
        assert_eq!(e.supply_needed_c(2000.0, 0.0, 20.0), None);
        assert_eq!(e.supply_needed_c(0.0, 0.0, 20.0), Some(20.0));
    }

    #[test]
    fn water_that_cools_far_is_taken_at_the_logarithmic_mean() {
        // 70/55/20 has the ratio 35/50 = 0.7, 90/70/20 has 0.714, 45/35/20 has 0.6: the column `c` of the EN 442 table.
        let c = 1000.0 / 10.0;
        for (supply_c, return_c, rule) in [
            (90.0, 70.0, MeanRule::Arithmetic),
            (70.0, 55.0 + 1e-9, MeanRule::Arithmetic),
            (70.0, 54.9, MeanRule::Logarithmic),
            (45.0, 35.0, MeanRule::Logarithmic),
        ] {
            let heat_w = c * (supply_c - return_c);
            let rating = Rating { heat_w, supply_c, return_c, room_c: 20.0 };
            let e = Emitter::Power { rating, exponent: 1.3, mean: MeanRule::Arithmetic, heating_effect: 1.0 };
            assert_eq!(e.mean_at_design(heat_w, c), rule, "{supply_c}/{return_c}");
        }
    }

    #[test]
    fn the_water_never_leaves_colder_than_the_room() {
        for e in all() {
            let at = e.at_flow(80.0, 1.0, 20.0);
            assert!(at.return_c >= 20.0 && at.return_c < 35.0, "{e:?}: {at:?}");
        }
    }

    #[test]
    fn equal_ends_give_their_common_excess() {
        for rule in [MeanRule::Arithmetic, MeanRule::Logarithmic] {
            assert!((mean_excess_k(rule, 70.0, 70.0, 20.0) - 50.0).abs() < 1e-12);
        }
        // Both sides of the switch to the series agree.
        let (a, b) = (log_to_arithmetic(1.0, 1.0 - 0.999e-3), log_to_arithmetic(1.0, 1.0 - 1.001e-3));
        assert!((a - b).abs() < 1e-9, "{a} {b}");
    }
}
