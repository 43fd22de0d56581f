//! The diaphragm expansion tank.
//!
//! `V_t = V_s ((v_2 / v_1 - 1) - 3 a dT) / (1 - P_1 / P_2)`
//!
//! * `V_s` water of the plant, `v_1` and `v_2` its specific volume at the coldest fill and at its hottest (the fluid's own: a
//!   glycol expands more), `a` linear expansion of the pipes in 1/K, `dT` hottest less coldest in K;
//! * `P_1` air charge and cold fill pressure, `P_2` largest pressure, both absolute, at the tank.
//!
//! With a tank of volume `V_t` that is already there: `P_2 = P_1 / (1 - V_e / V_t)`, `V_e` the net expansion; a tank no larger
//! than `V_e` has no air left.
//!
//! Charged to `P_c` instead of the cold fill pressure `P_f` (gas law at one temperature): above it the tank is empty until the plant
//! has come up to its charge, `V_t = V_e / (1 - P_c / P_2)`; below it water stands in the tank already and its air has shrunk to
//! `V_t P_c / P_f`, so that `V_t = V_e / ((P_c / P_f) (1 - P_f / P_2))`. Both are larger than with `P_c = P_f`.
//!
//! Its diaphragm must let in `V_e`, and beside it the water that stands in it cold where it is charged below the fill,
//! `V_t (1 - P_c / P_f)`: the acceptance volume, which a maker's table has beside the whole one. A tank may be large enough and its diaphragm
//! not.
//!
//! Source: ASHRAE HVAC Systems and Equipment, hydronic heating chapter; ASME's plain formula is the same without pipes. The
//! worked examples in the tests are from there. All water is taken to be at its hottest at once: on the safe side.

use super::{Given, pressure::Pressure};
use crate::plant::Fluid;
use serde::Serialize;

/// The expansion tank.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Expansion {
    /// Water of the plant, in litres.
    pub volume_l: f64,
    /// Specific volume at the hottest over that at the coldest.
    pub ratio: f64,
    /// What the pipes take up themselves, as a share of the volume.
    pub pipes_share: f64,
    /// Water that the tank must take, in litres.
    pub net_l: f64,
    /// Air charge and fill pressure at the tank, in kilopascals, absolute.
    pub low_abs_kpa: f64,
    /// Largest pressure at the tank, in kilopascals, absolute.
    pub high_abs_kpa: f64,
    /// Volume of the smallest diaphragm tank that does it, charged to the fill pressure, in litres; `None` where no tank does.
    pub tank_l: Option<f64>,
    /// Air charge as it is given, or the fill pressure, in kilopascals, absolute.
    pub charge_abs_kpa: f64,
    /// Volume of the smallest that does it with that charge, in litres; `None` where none does.
    pub charged_l: Option<f64>,
    /// Water that stands in its diaphragm at the hottest, in the tank that is there or the smallest that does it, in litres: the acceptance
    /// volume that is needed.
    pub acceptance_l: f64,
    /// Pressure at the hottest with the tank that is there, in kilopascals, gauge; `None` where none is given or it is filled
    /// to its last litre.
    pub hot_kpa: Option<f64>,
}

/// Net expansion as a share of the plant's water: fluid less pipes. Temperatures in degrees Celsius, expansion in 1/K.
pub fn net_share(ratio: f64, pipe_1_k: f64, over_k: f64) -> f64 {
    ratio - 1.0 - 3.0 * pipe_1_k * over_k
}

/// Volume of a diaphragm tank in litres for a net expansion in litres, pressures in kilopascals absolute; `None` where the plant
/// has no room between the two.
pub fn tank_l(net_l: f64, low_abs_kpa: f64, high_abs_kpa: f64) -> Option<f64> {
    let share = 1.0 - low_abs_kpa / high_abs_kpa;
    (share > 0.0 && high_abs_kpa > 0.0).then(|| net_l.max(0.0) / share)
}

/// The same for a tank that is charged to another pressure than that of the cold fill.
pub fn charged_l(net_l: f64, charge_abs_kpa: f64, low_abs_kpa: f64, high_abs_kpa: f64) -> Option<f64> {
    let air_share = (charge_abs_kpa / low_abs_kpa).min(1.0);
    if air_share <= 0.0 {
        return None;
    }
    tank_l(net_l, charge_abs_kpa.max(low_abs_kpa), high_abs_kpa).map(|l| l / air_share)
}

/// The expansion tank of a plant.
pub fn of(fluid: &Fluid, given: &Given, p: &Pressure) -> Expansion {
    let ratio = fluid.density_kg_m3(given.fill_c) / fluid.density_kg_m3(given.hottest_c);
    let over_k = given.hottest_c - given.fill_c;
    let pipes_share = 3.0 * given.pipe.expansion_1_k() * over_k;
    let net_l = (given.volume_l * net_share(ratio, given.pipe.expansion_1_k(), over_k)).max(0.0);
    let (low, high) = (p.fill_kpa + p.air_kpa, p.max_kpa + p.air_kpa);
    let charge = given.precharge_kpa.map_or(low, |c| c + p.air_kpa);
    let hot = |tank: f64| {
        // A tank whose charge differs from the fill pressure holds this much air once the plant is filled cold.
        let air_l = tank * (charge / low).min(1.0);
        // Charged above the fill pressure it stays empty until the plant has come up to its charge.
        let begin = charge.max(low);
        (air_l > net_l).then(|| begin * air_l / (air_l - net_l) - p.air_kpa)
    };
    let charged_l = charged_l(net_l, charge, low, high);
    let cold_share = 1.0 - (charge / low).clamp(0.0, 1.0);
    Expansion {
        volume_l: given.volume_l,
        ratio,
        pipes_share,
        net_l,
        low_abs_kpa: low,
        high_abs_kpa: high,
        tank_l: tank_l(net_l, low, high),
        charge_abs_kpa: charge,
        charged_l,
        acceptance_l: net_l + cold_share * given.tank_l.or(charged_l).unwrap_or(0.0),
        hot_kpa: given.tank_l.and_then(hot),
    }
}
