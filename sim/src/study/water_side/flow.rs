//! Each boiler's flow at design against what its instructions allow.
//!
//! `Q = q rho c dT`: output `Q` in W, flow `q rho` in kg/s, specific heat `c` in J/(kg K). In the trade's units the factor `60 rho c`
//! is near 500 Btu/h for each gal/min and degree of cold water, 490 at 160 degF, less with glycol; it is computed for the
//! plant's own fluid at the temperature that runs are made at.
//!
//! A boiler with a pump of its own has that pump's flow whatever the zones do. Boilers without one share what the zones draw:
//! most with all zones calling, least with the smallest zone alone, each in proportion to its own flow.
//!
//! The rise `dT` at full fire, added to what enters the boiler, must not pass the hottest that its water may be, `T_most`: else it can
//! give the share `(T_most - t_in) / dT` of its full fire. `t_in` is what the zones send back on the design day, or its return valve's
//! setting where that is higher: no colder water enters it in that weather, and hotter water leaves less.
//!
//! Source: heat balance. More than 40 degF (22 K) of rise is worth a warning where its instructions do not say: common practice, no
//! source. Less than 5 degF (2.8 K) looks like a slip: our choice.

use super::Given;
use crate::{
    boiler::efficiency::EfficiencyTable,
    fluid::RUN_C,
    plant::{Plant, Zone},
    study::curve,
};
use heatwright_core::{
    BoilerId,
    config::{BoilerPump, ResetConfig},
};
use serde::Serialize;

/// A rise above this over a boiler is worth a warning where its instructions say nothing, in kelvin: 40 degF.
pub const RISE_MAX_K: f64 = 40.0 / 1.8;
/// A rise below this looks like a slip, in kelvin: 5 degF.
pub const RISE_LEAST_K: f64 = 5.0 / 1.8;

/// One boiler's flow.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BoilerFlow {
    /// Which boiler.
    pub boiler: BoilerId,
    /// Output at full fire with the return of the design day, in watts.
    pub output_w: f64,
    /// Flow at design, in kilograms per second.
    pub design_kg_s: f64,
    /// Least flow while it may fire, in kilograms per second.
    pub least_kg_s: f64,
    /// Rise of the water at full fire and design flow, in kelvin.
    pub rise_k: f64,
    /// Coldest water that enters it on the design day, in degrees Celsius.
    pub entering_c: f64,
    /// Share of its full fire that it can give there before its water is as hot as it may be, 0 to 1.
    pub carried_share: f64,
    /// Smallest flow that it wants, in kilograms per second.
    pub min_kg_s: f64,
    /// Largest flow that it stands, in kilograms per second; `None`: not said.
    pub max_kg_s: Option<f64>,
    /// True where it has no pump and takes what the zones draw.
    pub by_zones: bool,
}

/// Heat that a cubic metre a second carries for each kelvin, in watts, as a run takes the plant's fluid.
pub fn factor_w_m3s_k(plant: &Plant) -> f64 {
    plant.fluid.density_kg_m3(RUN_C) * plant.fluid.specific_heat_j_kgk(RUN_C)
}

/// Each boiler's flow.
pub fn flows(plant: &Plant, given: &Given, reset: &ResetConfig) -> Vec<BoilerFlow> {
    let design_c = plant.site.design_outdoor_c;
    let water = curve::water::Waters::new(plant, curve::Reach::own()).at(design_c, curve::target_c(reset, design_c));
    let return_c = water.map_or(given.hottest_c, |w| w.boiler_return_c);
    let all: f64 = plant.zones.iter().map(|z| z.flow_kg_s).sum();
    let smallest = plant.zones.iter().map(|z: &Zone| z.flow_kg_s).fold(f64::INFINITY, f64::min);
    let own: f64 = plant.boilers.iter().map(|b| b.flow_kg_s).sum();
    let one = |(k, b): (usize, &crate::plant::Boiler)| {
        let table = EfficiencyTable::new(&b.efficiency, b.minimum_share, plant.site.altitude_m);
        let output_w = b.input_w * table.at(return_c, 1.0).0;
        let by_zones = matches!(b.pump, BoilerPump::None);
        let share = if own > 0.0 { b.flow_kg_s / own } else { 0.0 };
        let (design_kg_s, least_kg_s) =
            if by_zones { (all * share, smallest.min(all) * share) } else { (b.flow_kg_s, b.flow_kg_s) };
        let rise_k = output_w / (design_kg_s * plant.fluid.specific_heat_j_kgk(RUN_C)).max(f64::MIN_POSITIVE);
        let back_c = water.map_or(return_c, |w| w.return_c);
        let entering_c = b.return_valve_c.map_or(back_c, |setting_c| setting_c.max(back_c));
        let outlet_max_c = given.boilers.get(k).map_or(f64::INFINITY, |g| g.outlet_max_c);
        BoilerFlow {
            boiler: BoilerId(k as u8),
            output_w,
            design_kg_s,
            least_kg_s,
            rise_k,
            entering_c,
            carried_share: ((outlet_max_c - entering_c) / rise_k.max(f64::MIN_POSITIVE)).clamp(0.0, 1.0),
            min_kg_s: b.flow_min_kg_s,
            max_kg_s: given.boilers.get(k).and_then(|g| g.flow_max_kg_s),
            by_zones,
        }
    };
    plant.boilers.iter().enumerate().map(one).collect()
}
