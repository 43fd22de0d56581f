//! Each boiler's relief valve against what its boiler can give.
//!
//! `Q_relief >= eta_max F`: rated capacity against full input `F` times the best efficiency that the boiler reaches at full fire with
//! any return from 10 degrees Celsius on, both in W. As steam: 1000 Btu/h for each lb/h (ASME Section IV, from memory).
//!
//! Its setting lies no higher than the working pressure on the boiler's plate (ASME Section IV), and hot-water boilers of that
//! section end at 160 psi (1103 kPa) and 250 degF (121 degC), from memory.
//!
//! Deliberately not done: no valve is chosen, and nothing is said of inlet, discharge pipe or drain except as a caution.

use super::Given;
use crate::{boiler::efficiency::EfficiencyTable, plant::Plant};
use heatwright_core::BoilerId;
use serde::Serialize;

/// Highest pressure of a hot-water boiler of ASME Section IV, in kilopascals: 160 psi.
pub const SECTION_IV_KPA: f64 = 160.0 * 6.894_757;
/// Hottest water of a hot-water boiler of ASME Section IV, in degrees Celsius: 250 degF.
pub const SECTION_IV_C: f64 = (250.0 - 32.0) / 1.8;
/// Heat of a kilogram of steam as relief valves are rated, in joules: 1000 Btu a pound.
pub const STEAM_J_KG: f64 = 1000.0 * 1_055.055_852_62 / 0.453_592_37;

/// One boiler's relief valve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Relief {
    /// Which boiler.
    pub boiler: BoilerId,
    /// Its setting, in kilopascals.
    pub set_kpa: f64,
    /// The most that the boiler can give, in watts.
    pub needed_w: f64,
    /// The same as steam, in kilograms an hour.
    pub needed_steam_kg_h: f64,
    /// Rated capacity, in watts; `None`: not said.
    pub rated_w: Option<f64>,
    /// Working pressure on the boiler's plate, in kilopascals; `None`: not said.
    pub working_kpa: Option<f64>,
}

/// Each boiler's relief valve.
pub fn reliefs(plant: &Plant, given: &Given) -> Vec<Relief> {
    let one = |(k, (b, g)): (usize, (&crate::plant::Boiler, &super::GivenBoiler))| {
        let table = EfficiencyTable::new(&b.efficiency, b.minimum_share, plant.site.altitude_m);
        let best = (5..=60).map(|k| table.at(f64::from(k) * 2.0, 1.0).0).fold(0.0, f64::max);
        let needed_w = g.plate_input_w * best;
        Relief {
            boiler: BoilerId(k as u8),
            set_kpa: g.relief_kpa,
            needed_w,
            needed_steam_kg_h: needed_w / STEAM_J_KG * 3600.0,
            rated_w: g.relief_w,
            working_kpa: g.working_kpa,
        }
    };
    plant.boilers.iter().zip(&given.boilers).enumerate().map(one).collect()
}
