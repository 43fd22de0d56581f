//! How much of the fuel's heat reaches the water, and how much water condenses.
//!
//! Combustion of methane (standing in for natural gas) with dry air of 1 part oxygen to 3.76 parts nitrogen:
//!
//! `CH4 + 2(1+e)(O2 + 3.76 N2) -> CO2 + 2 H2O + 2e O2 + 7.52(1+e) N2`
//!
//! * `e` excess air, a share. Higher heating value 890.36 kJ/mol, reference 25 degrees Celsius.
//! * Flue gas leaves at return water plus an approach that goes linearly with the firing rate. Below its dew point the gas
//!   is saturated: `n_vapour = n_dry p_sat(t) / (p - p_sat(t))`; the rest has condensed and leaves at the gas's temperature.
//! * `efficiency = 1 - (sum n_i c_i (t - 25) + n_vapour 44.0 kJ/mol + n_liquid c_l (t - 25)) / HHV`.
//! * Air pressure by altitude from the standard atmosphere.
//!
//! Sources: stoichiometry; heats of formation for the heating value; mean molar heats and the heat of vaporisation at 25
//! degrees (44.0 kJ/mol) from common tables. The approach (5 to 15 K in condensing boilers) is common practice; a
//! non-condensing boiler is given a large one.
//!
//! During a run the curve is a table, 2 K by a twentieth of the rate, linear between; the efficiency lies within 0 and 1.
//! Return water is taken between 0 and 120 degrees Celsius. Not modelled: incomplete combustion, humidity of the air,
//! condensing that falls short of equilibrium, warming of the combustion air.

use crate::{
    fluid::saturation_kpa,
    plant::{Efficiency, EfficiencyPoint},
};

/// Higher heating value of methane, in kilojoules per mole.
const HHV_KJ_MOL: f64 = 890.36;
/// Heat of vaporisation of water at 25 degrees Celsius, in kilojoules per mole.
const VAPORISATION_KJ_MOL: f64 = 44.0;
/// Molar heats in kilojoules per mole and kelvin: carbon dioxide, nitrogen, oxygen, water vapour, liquid water.
const CO2: f64 = 0.0385;
const N2: f64 = 0.029_15;
const O2: f64 = 0.0296;
const VAPOUR: f64 = 0.0337;
const LIQUID: f64 = 0.0753;
/// Molar mass of water, in kilograms per mole.
const WATER_KG_MOL: f64 = 0.018_015;
/// Parts of nitrogen to one of oxygen in air.
const NITROGEN: f64 = 3.76;

/// Flue gas of one mole of methane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlueGas {
    /// Excess air, as a share.
    pub excess_air: f64,
    /// Air pressure, in kilopascals.
    pub pressure_kpa: f64,
    /// Water vapour that comes in with each mole of dry air, in moles.
    pub air_water_mol: f64,
}

/// What leaves the water side and the condensate drain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Yield {
    /// Heat to the water by higher heating value, a share.
    pub efficiency: f64,
    /// Share of the combustion water that condenses.
    pub condensed: f64,
    /// Condensate, in kilograms per joule of fuel.
    pub condensate_kg_j: f64,
}

/// All water that combustion makes, in kilograms per joule of fuel: two moles for each mole of methane.
pub const WATER_KG_J: f64 = 2.0 * WATER_KG_MOL / (HHV_KJ_MOL * 1000.0);

/// Pressure of the standard atmosphere, in kilopascals, at an altitude in metres.
pub fn air_pressure_kpa(altitude_m: f64) -> f64 {
    101.325 * (1.0 - 2.255_77e-5 * altitude_m).max(0.1).powf(5.255_88)
}

impl FlueGas {
    /// Flue gas of dry air at an altitude in metres.
    pub fn dry(excess_air: f64, altitude_m: f64) -> Self {
        Self { excess_air, pressure_kpa: air_pressure_kpa(altitude_m), air_water_mol: 0.0 }
    }

    fn air_mol(&self) -> f64 {
        2.0 * (1.0 + self.excess_air) * (1.0 + NITROGEN)
    }

    fn dry_mol(&self) -> f64 {
        1.0 + 2.0 * self.excess_air + 2.0 * NITROGEN * (1.0 + self.excess_air)
    }

    fn water_mol(&self) -> f64 {
        2.0 + self.air_mol() * self.air_water_mol
    }

    /// Carbon dioxide in the dry flue gas, a share.
    pub fn co2_dry(&self) -> f64 {
        1.0 / self.dry_mol()
    }

    /// Oxygen in the dry flue gas, a share.
    pub fn o2_dry(&self) -> f64 {
        2.0 * self.excess_air / self.dry_mol()
    }

    /// Dew point, in degrees Celsius.
    pub fn dew_point_c(&self) -> f64 {
        let vapour_kpa = self.pressure_kpa * self.water_mol() / (self.water_mol() + self.dry_mol());
        let (mut low, mut high) = (0.0, 100.0);
        for _ in 0..60 {
            let mid = 0.5 * (low + high);
            if saturation_kpa(mid) < vapour_kpa {
                low = mid;
            } else {
                high = mid;
            }
        }
        0.5 * (low + high)
    }

    /// What flue gas at a temperature in degrees Celsius has given up.
    pub fn at(&self, flue_c: f64) -> Yield {
        let saturation = saturation_kpa(flue_c);
        let most = if saturation < self.pressure_kpa {
            self.dry_mol() * saturation / (self.pressure_kpa - saturation)
        } else {
            f64::INFINITY
        };
        let vapour = self.water_mol().min(most);
        let liquid = self.water_mol() - vapour;
        let over_k = flue_c - 25.0;
        let nitrogen = 2.0 * NITROGEN * (1.0 + self.excess_air);
        let gas_kj_k = CO2 + N2 * nitrogen + O2 * 2.0 * self.excess_air + VAPOUR * vapour + LIQUID * liquid;
        // Vapour that came in with the air was never paid for by the fuel.
        let latent = (vapour - (self.water_mol() - 2.0)) * VAPORISATION_KJ_MOL;
        Yield {
            efficiency: 1.0 - (gas_kj_k * over_k + latent) / HHV_KJ_MOL,
            condensed: liquid / self.water_mol(),
            condensate_kg_j: liquid * WATER_KG_MOL / (HHV_KJ_MOL * 1000.0),
        }
    }
}

const RETURN_STEP_K: f64 = 2.0;
const RETURNS: usize = 61;
const RATES: usize = 21;

/// One cell of the table: `k0 + k1 v + (k2 + k3 v) u` with `u` and `v` from its corner.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Cell {
    from: (f64, f64),
    /// Its width: one; a trifle more at the table's edge, which belongs to it; nothing before it was looked up.
    below: (f64, f64),
    k: [[f64; 2]; 4],
}

/// A boiler's efficiency as a table over return water and firing rate.
#[derive(Clone, Debug)]
pub struct EfficiencyTable {
    /// `(efficiency, condensate_kg_j)`, return water first.
    cells: Vec<[f64; 2]>,
}

impl EfficiencyTable {
    /// Tabulates a curve for a boiler with this smallest firing rate at this altitude in metres.
    pub fn new(curve: &Efficiency, minimum_share: f64, altitude_m: f64) -> Self {
        let mut cells = Vec::with_capacity(RETURNS * RATES);
        for i in 0..RETURNS {
            for j in 0..RATES {
                let (return_c, rate) = (i as f64 * RETURN_STEP_K, j as f64 / (RATES - 1) as f64);
                cells.push(match curve {
                    Efficiency::Combustion { excess_air, approach_low_k, approach_full_k } => {
                        let share = if minimum_share < 1.0 {
                            ((rate - minimum_share) / (1.0 - minimum_share)).clamp(0.0, 1.0)
                        } else {
                            1.0
                        };
                        let approach_k = approach_low_k + share * (approach_full_k - approach_low_k);
                        let y = FlueGas::dry(*excess_air, altitude_m).at(return_c + approach_k);
                        [y.efficiency.clamp(0.0, 1.0), y.condensate_kg_j]
                    }
                    Efficiency::Points(points) => {
                        // Typed points say nothing about condensate: none is counted.
                        [typed(points, return_c, rate).clamp(0.0, 1.0), 0.0]
                    }
                });
            }
        }
        Self { cells }
    }

    /// `(efficiency, condensate_kg_j)` at return water in degrees Celsius and a firing rate as a share.
    pub fn at(&self, return_c: f64, rate: f64) -> (f64, f64) {
        let [efficiency, condensate_kg_j] = self.within(&mut Cell::default(), return_c, rate);
        (efficiency, condensate_kg_j)
    }

    /// The same, with the cell of the table in which it lay last.
    #[inline(always)]
    pub(crate) fn within(&self, cell: &mut Cell, return_c: f64, rate: f64) -> [f64; 2] {
        let (x, y) = (return_c * (1.0 / RETURN_STEP_K), rate * (RATES - 1) as f64);
        let (mut u, mut v) = (x - cell.from.0, y - cell.from.1);
        if !((u >= 0.0) & (u < cell.below.0) & (v >= 0.0) & (v < cell.below.1)) {
            (u, v) = self.look_up(cell, x, y);
        }
        let [a, b, c, d] = &cell.k;
        let mix = |k: usize| a[k] + v * b[k] + u * (c[k] + v * d[k]);
        [mix(0), mix(1)]
    }

    /// Finds the cell of a point, and gives its place therein. The table's edge holds outside it.
    #[inline(never)]
    fn look_up(&self, cell: &mut Cell, x: f64, y: f64) -> (f64, f64) {
        let (x, y) = (x.clamp(0.0, (RETURNS - 1) as f64), y.clamp(0.0, (RATES - 1) as f64));
        let (i, j) = ((x as usize).min(RETURNS - 2), (y as usize).min(RATES - 2));
        let below = |i: usize, of: usize| if i + 2 == of { 1.0_f64.next_up() } else { 1.0 };
        let at = i * RATES + j;
        let [a, b, c, d] = [self.cells[at], self.cells[at + 1], self.cells[at + RATES], self.cells[at + RATES + 1]];
        let each = |f: &dyn Fn(usize) -> f64| [f(0), f(1)];
        *cell = Cell {
            from: (i as f64, j as f64),
            below: (below(i, RETURNS), below(j, RATES)),
            k: [a, each(&|k| b[k] - a[k]), each(&|k| c[k] - a[k]), each(&|k| d[k] - c[k] - b[k] + a[k])],
        };
        (x - i as f64, y - j as f64)
    }
}

/// Linear between typed points: first along return water within the two nearest rates, then between those.
fn typed(points: &[EfficiencyPoint], return_c: f64, rate: f64) -> f64 {
    let below = points.iter().map(|p| p.rate).filter(|r| *r <= rate).fold(f64::NEG_INFINITY, f64::max);
    let above = points.iter().map(|p| p.rate).filter(|r| *r >= rate).fold(f64::INFINITY, f64::min);
    let along = |at: f64| -> Option<f64> {
        let row = || points.iter().filter(move |p| p.rate == at);
        let left = row().filter(|p| p.return_c <= return_c).max_by(|a, b| a.return_c.total_cmp(&b.return_c));
        let right = row().filter(|p| p.return_c >= return_c).min_by(|a, b| a.return_c.total_cmp(&b.return_c));
        match (left, right) {
            (Some(l), Some(r)) if r.return_c > l.return_c => {
                let share = (return_c - l.return_c) / (r.return_c - l.return_c);
                Some(l.efficiency + share * (r.efficiency - l.efficiency))
            }
            (Some(p), _) | (_, Some(p)) => Some(p.efficiency),
            (None, None) => None,
        }
    };
    match (along(below), along(above)) {
        (Some(l), Some(h)) if above > below => l + (h - l) * (rate - below) / (above - below),
        (Some(e), _) | (_, Some(e)) => e,
        (None, None) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn typed_points_are_met_and_held_past_the_ends() {
        let p = |return_c, rate, efficiency| EfficiencyPoint { return_c, rate, efficiency };
        let curve = Efficiency::Points(vec![p(30.0, 1.0, 0.96), p(60.0, 1.0, 0.88), p(30.0, 0.2, 0.98)]);
        let table = EfficiencyTable::new(&curve, 0.2, 0.0);
        assert!((table.at(30.0, 1.0).0 - 0.96).abs() < 1e-6);
        assert!((table.at(45.0, 1.0).0 - 0.92).abs() < 2e-3);
        assert!((table.at(90.0, 1.0).0 - 0.88).abs() < 1e-6);
        assert!((table.at(10.0, 0.1).0 - 0.98).abs() < 1e-6);
        assert!((table.at(30.0, 0.6).0 - 0.97).abs() < 1e-6);
    }

    #[test]
    fn the_table_follows_the_curve() {
        let curve = Efficiency::Combustion { excess_air: 0.25, approach_low_k: 5.0, approach_full_k: 12.0 };
        let table = EfficiencyTable::new(&curve, 0.2, 0.0);
        let gas = FlueGas::dry(0.25, 0.0);
        for (return_c, rate, approach_k) in [(31.0, 1.0, 12.0), (47.0, 0.2, 5.0), (70.0, 0.6, 8.5)] {
            let (table, law) = (table.at(return_c, rate).0, gas.at(return_c + approach_k).efficiency);
            assert!((table - law).abs() < 1e-3, "{return_c} degC at {rate}: {table} against {law}");
        }
    }
}
