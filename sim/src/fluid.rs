//! Density and specific heat of water, and of propylene and ethylene glycol in water; saturation pressure of water.
//!
//! * Water: values of IAPWS-95 at 0.3 MPa every 10 K from 0 to 120 degrees Celsius, linear between; level past the ends.
//!   (Between two points the line misses density by at most 0.1 kg/m3 and specific heat by 0.02 %.)
//! * Glycols: Melinder's correlations (Properties of Secondary Working Fluids for Indirect Systems, IIR 2010) as `CoolProp`
//!   8.0.0 computes them (`INCOMP::MPG`, `INCOMP::MEG`), every 10 % by mass and 20 K, linear between, up to 60 %. Below 0 degrees Celsius the values at 0 are taken.
//! * Saturation: the equation of Wagner and Pruss, 0 to 373 degrees Celsius.
//!
//! A run takes density and specific heat once, at [`RUN_C`], for every kilogram in the plant: with both constant a step
//! conserves energy exactly. Over 30 to 80 degrees Celsius this misstates the heat of water by 0.3 % at most.

use crate::plant::{Fluid, Glycol};

/// Temperature at which a run takes its fluid's properties, in degrees Celsius.
pub const RUN_C: f64 = 60.0;

const WATER_KG_M3: [f64; 13] =
    [999.94, 999.80, 998.30, 995.74, 992.30, 988.12, 983.28, 977.85, 971.88, 965.40, 958.44, 951.02, 943.16];
const WATER_J_KGK: [f64; 13] =
    [4218.4, 4194.4, 4183.4, 4179.3, 4178.9, 4180.9, 4184.5, 4189.6, 4196.3, 4204.8, 4215.2, 4228.0, 4243.3];

/// Rows: 10, 20 ... 60 % by mass; columns: 0, 20 ... 100 degrees Celsius.
const GLYCOL_KG_M3: [[f64; 6]; 6] = [
    [1009.3, 1006.2, 999.4, 989.8, 978.2, 965.5],
    [1020.1, 1014.8, 1006.4, 995.6, 983.2, 969.9],
    [1031.6, 1023.8, 1013.4, 1001.2, 987.6, 973.4],
    [1042.4, 1032.3, 1020.1, 1006.3, 991.6, 976.6],
    [1050.9, 1039.1, 1025.4, 1010.5, 994.9, 979.3],
    [1056.0, 1043.0, 1028.4, 1012.8, 996.7, 980.8],
];
const GLYCOL_J_KGK: [[f64; 6]; 6] = [
    [4059.0, 4076.3, 4101.1, 4130.3, 4161.0, 4190.1],
    [3935.9, 3976.8, 4019.0, 4061.2, 4101.6, 4138.9],
    [3802.6, 3857.0, 3910.4, 3962.3, 4012.2, 4059.5],
    [3641.6, 3706.7, 3770.8, 3833.9, 3895.8, 3956.7],
    [3453.1, 3530.2, 3607.0, 3683.5, 3759.8, 3835.9],
    [3249.8, 3340.3, 3430.8, 3520.7, 3609.8, 3697.7],
];

/// The same for ethylene glycol.
const ETHYLENE_KG_M3: [[f64; 6]; 6] = [
    [1013.6, 1010.6, 1004.3, 995.2, 983.6, 969.6],
    [1029.1, 1024.1, 1016.4, 1006.2, 993.8, 979.3],
    [1045.0, 1038.0, 1028.8, 1017.5, 1004.3, 989.4],
    [1060.4, 1051.9, 1041.4, 1029.1, 1015.4, 1000.5],
    [1074.6, 1064.9, 1053.4, 1040.5, 1026.4, 1011.5],
    [1087.9, 1077.1, 1064.6, 1050.8, 1036.0, 1020.8],
];
const ETHYLENE_J_KGK: [[f64; 6]; 6] = [
    [4037.4, 4045.9, 4061.9, 4083.1, 4107.1, 4131.6],
    [3860.8, 3896.2, 3932.8, 3969.3, 4004.8, 4037.9],
    [3658.1, 3718.3, 3775.4, 3828.7, 3877.7, 3921.5],
    [3434.2, 3519.0, 3597.8, 3669.7, 3733.8, 3789.3],
    [3202.9, 3312.0, 3412.7, 3503.1, 3581.6, 3646.3],
    [2966.9, 3098.0, 3217.8, 3323.0, 3410.3, 3476.5],
];

/// Position of `x` in a grid of equal steps from zero: lower index and share of the step.
fn place(x: f64, step: f64, count: usize) -> (usize, f64) {
    let at = (x / step).clamp(0.0, (count - 1) as f64);
    let low = (at as usize).min(count - 2);
    (low, at - low as f64)
}

fn line(values: &[f64], (low, share): (usize, f64)) -> f64 {
    values[low] + share * (values[low + 1] - values[low])
}

impl Fluid {
    /// Plain water.
    pub const WATER: Fluid = Fluid { glycol_percent: 0.0, glycol: Glycol::Propylene };

    fn mixed(&self, at_c: f64, water: &[f64; 13], glycol: &[[f64; 6]; 6]) -> f64 {
        let water_value = line(water, place(at_c, 10.0, 13));
        if self.glycol_percent <= 0.0 {
            return water_value;
        }
        let column = place(at_c, 20.0, 6);
        let percent = self.glycol_percent.min(60.0);
        if percent < 10.0 {
            return water_value + percent / 10.0 * (line(&glycol[0], column) - water_value);
        }
        let (row, share) = place(percent - 10.0, 10.0, 6);
        let (low, high) = (line(&glycol[row], column), line(&glycol[row + 1], column));
        low + share * (high - low)
    }

    /// Density, in kilograms per cubic metre, at a temperature in degrees Celsius.
    pub fn density_kg_m3(&self, at_c: f64) -> f64 {
        let glycol = match self.glycol {
            Glycol::Propylene => &GLYCOL_KG_M3,
            Glycol::Ethylene => &ETHYLENE_KG_M3,
        };
        self.mixed(at_c, &WATER_KG_M3, glycol)
    }

    /// Specific heat, in joules per kilogram and kelvin, at a temperature in degrees Celsius.
    pub fn specific_heat_j_kgk(&self, at_c: f64) -> f64 {
        let glycol = match self.glycol {
            Glycol::Propylene => &GLYCOL_J_KGK,
            Glycol::Ethylene => &ETHYLENE_J_KGK,
        };
        self.mixed(at_c, &WATER_J_KGK, glycol)
    }

    /// Heat capacity of a volume in litres, in joules per kelvin, as a run takes it.
    pub fn capacity_j_k(&self, volume_l: f64) -> f64 {
        volume_l * 1e-3 * self.density_kg_m3(RUN_C) * self.specific_heat_j_kgk(RUN_C)
    }
}

/// Saturation pressure of water, in kilopascals, at a temperature in degrees Celsius (Wagner and Pruss).
pub fn saturation_kpa(at_c: f64) -> f64 {
    const CRITICAL_K: f64 = 647.096;
    let kelvin = (at_c + 273.15).clamp(230.0, CRITICAL_K);
    let t = 1.0 - kelvin / CRITICAL_K;
    let sum = -7.859_517_83 * t + 1.844_082_59 * t.powf(1.5) - 11.786_649_7 * t.powi(3) + 22.680_741_1 * t.powf(3.5)
        - 15.961_871_9 * t.powi(4)
        + 1.801_225_02 * t.powf(7.5);
    22_064.0 * (CRITICAL_K / kelvin * sum).exp()
}
