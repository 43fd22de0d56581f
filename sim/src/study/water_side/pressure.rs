//! Fill pressure for the building's height, and what is left of it below the relief valves.
//!
//! * `p_static = rho g h`: weight of the water above the gauge, `h` in m, cold. (1 psi carries 2.31 ft of water.)
//! * `p_fill = p_static + p_top`: `p_top` keeps air out of the highest vents (4 to 5 psi, 30 to 35 kPa).
//! * `p_max = min(0.9 p_relief, p_relief - 34.5 kPa) - p_pump`: relief valves weep before they open; the plant stays a tenth and
//!   at least 5 psi below. `p_pump` is what running pumps add at the boilers above the expansion tank's connection.
//! * Boiling: at the highest point the water has `p_fill - p_static` and the air's pressure at the site's altitude; it must lie
//!   above the saturation pressure of the hottest water, or the water flashes there.
//!
//! Source: hydronics texts, from memory; the margins are common practice. The relief valve with the lowest setting counts.
//! Left out: the gauge's own height above the expansion tank, the rise of pressure while hot (it helps against boiling).

use super::Given;
use crate::{boiler::efficiency::air_pressure_kpa, fluid::saturation_kpa, plant::Fluid};
use serde::Serialize;

/// Standard gravity, in metres per second squared.
pub const GRAVITY: f64 = 9.806_65;
/// Share of a relief valve's setting that stays unused, at least.
pub const MARGIN_SHARE: f64 = 0.1;
/// The least that stays unused below a relief valve's setting, in kilopascals: 5 psi.
pub const MARGIN_KPA: f64 = 5.0 * 6.894_757;

/// Fill pressure and its room.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Pressure {
    /// Weight of the water above the gauge, in kilopascals.
    pub static_kpa: f64,
    /// Fill pressure that is needed, in kilopascals.
    pub fill_needed_kpa: f64,
    /// Fill pressure in force: the set one, or just what is needed, in kilopascals.
    pub fill_kpa: f64,
    /// Lowest setting of the relief valves, in kilopascals.
    pub relief_kpa: f64,
    /// Largest pressure that the expansion tank may come to, in kilopascals.
    pub max_kpa: f64,
    /// Pressure of the air at the site, in kilopascals, absolute.
    pub air_kpa: f64,
    /// Pressure at the highest point while cold, in kilopascals, absolute.
    pub top_abs_kpa: f64,
    /// Saturation pressure of the hottest water, in kilopascals, absolute.
    pub boils_abs_kpa: f64,
}

/// Weight of a column of the fluid in kilopascals, its height in metres.
pub fn static_kpa(fluid: &Fluid, at_c: f64, height_m: f64) -> f64 {
    fluid.density_kg_m3(at_c) * GRAVITY * height_m / 1000.0
}

/// The most that a plant may come to behind a relief valve, both in kilopascals.
pub fn below_relief_kpa(relief_kpa: f64) -> f64 {
    (relief_kpa * (1.0 - MARGIN_SHARE)).min(relief_kpa - MARGIN_KPA)
}

/// Fill pressure and its room; altitude in metres.
pub fn pressure(fluid: &Fluid, altitude_m: f64, given: &Given) -> Pressure {
    let static_kpa = static_kpa(fluid, given.fill_c, given.height_m);
    let fill_needed_kpa = static_kpa + given.top_kpa;
    let fill_kpa = given.fill_kpa.unwrap_or(fill_needed_kpa);
    let relief_kpa = given.boilers.iter().map(|b| b.relief_kpa).fold(f64::INFINITY, f64::min);
    let air_kpa = air_pressure_kpa(altitude_m);
    Pressure {
        static_kpa,
        fill_needed_kpa,
        fill_kpa,
        relief_kpa,
        max_kpa: below_relief_kpa(relief_kpa) - given.pump_rise_kpa,
        air_kpa,
        top_abs_kpa: fill_kpa - static_kpa + air_kpa,
        boils_abs_kpa: saturation_kpa(given.hottest_c),
    }
}
