//! How boilers side by side share a flow, by direct and by reverse return.
//!
//! Boilers 1 to n stand along two mains; the supply leaves at boiler 1. By *direct return* the return comes in at boiler 1 too:
//! the first boiler has the shortest way. By *reverse return* it comes in at boiler n: first returned, last supplied, and every way
//! is equally long. Between the ends every way loses the same pressure:
//!
//! `K_k q_k^2 + sum over its main pieces of r(Q)`, with
//!
//! * `K_k = dp_k / q_k,rated^2` of boiler and its valves, in kPa for each (kg/s)^2;
//! * `r(Q) = (1 + a) f L / D rho v^2 / 2` of one piece of main that carries `Q`: Darcy and Weisbach with Haaland's friction factor
//!   (laminar `64 / Re` below 2300), `a` for its tees and elbows.
//!
//! The flows are found by sharing the whole in proportion to `1 / sqrt(loss / q^2)`, half of each correction at a time. Two equal
//! boilers by reverse return get exactly equal flow. With three or more the middle ones get a little less: their ways share the
//! busiest pieces of both mains. Source: "first in, last out" is common practice, no source; the friction laws are textbook.
//!
//! Viscosity is that of water at 60 degrees Celsius; a glycol's would raise the mains' loss somewhat. A pump of its own
//! for each boiler evens out what is found here; with flat pump curves the sharing is as computed.

use super::{Given, Pipe};
use crate::{fluid::RUN_C, plant::Plant};
use serde::Serialize;

/// Viscosity of water at 60 degrees Celsius, in pascal seconds (IAPWS).
const VISCOSITY_PA_S: f64 = 0.4661e-3;
/// Tees and elbows of a piece of main add this share of its friction; our choice.
const FITTINGS_SHARE: f64 = 0.5;

/// The mains that join the boilers.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Mains {
    /// Length of each main from one boiler to the next, in metres.
    pub spacing_m: f64,
    /// Bore, in metres.
    pub bore_m: f64,
}

/// How the boilers' mains run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Layout {
    /// Supply and return at the same end.
    Direct,
    /// Supply at one end, return at the other.
    Reverse,
}

/// Flow of each boiler by both layouts.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Both {
    /// Whole flow, in kilograms per second.
    pub total_kg_s: f64,
    /// Velocity in the busiest piece of main, in metres per second.
    pub velocity_m_s: f64,
    /// By direct return, in kilograms per second.
    pub direct_kg_s: Vec<f64>,
    /// By reverse return, in kilograms per second.
    pub reverse_kg_s: Vec<f64>,
}

/// Friction factor of a pipe (Darcy), by Haaland; laminar below a Reynolds number of 2300.
pub fn friction_factor(reynolds: f64, roughness_m: f64, bore_m: f64) -> f64 {
    if reynolds < 2300.0 {
        return 64.0 / reynolds.max(1e-9);
    }
    let inside = 6.9 / reynolds + (roughness_m / bore_m / 3.7).powf(1.11);
    (-1.8 * inside.log10()).powi(-2)
}

/// Loss of a straight pipe, in kilopascals: flow in kilograms per second, density in kilograms per cubic metre, viscosity in pascal
/// seconds, lengths in metres.
pub fn pipe_kpa(flow_kg_s: f64, length_m: f64, bore_m: f64, roughness_m: f64, density: f64, viscosity: f64) -> f64 {
    if flow_kg_s <= 0.0 {
        return 0.0;
    }
    let velocity = flow_kg_s / density / (std::f64::consts::FRAC_PI_4 * bore_m * bore_m);
    let reynolds = density * velocity * bore_m / viscosity;
    friction_factor(reynolds, roughness_m, bore_m) * length_m / bore_m * density * velocity * velocity / 2.0 / 1000.0
}

/// How boilers share a flow in kilograms per second. Each boiler is `(flow, loss)` at its rating, in kilograms per second and
/// kilopascals. `piece` gives the loss of one piece of main in kilopascals for its flow. `None` where no answer settles.
pub fn shares(total_kg_s: f64, boilers: &[(f64, f64)], layout: Layout, piece: impl Fn(f64) -> f64) -> Option<Vec<f64>> {
    let n = boilers.len();
    let rated: f64 = boilers.iter().map(|b| b.0).sum();
    if n == 0 || !(rated > 0.0 && total_kg_s > 0.0) || boilers.iter().any(|b| !(b.0 > 0.0 && b.1 > 0.0)) {
        return None;
    }
    let mut flows: Vec<f64> = boilers.iter().map(|b| total_kg_s * b.0 / rated).collect();
    for _ in 0..500 {
        // Piece j of the supply joins boiler j to boiler j + 1 and carries all that the boilers beyond it give.
        let beyond: Vec<f64> = (0..n).map(|j| flows.iter().skip(j + 1).sum()).collect();
        let before: Vec<f64> = (0..n).map(|j| flows.iter().take(j + 1).sum()).collect();
        let pieces = n.saturating_sub(1);
        let supply: Vec<f64> = beyond.iter().take(pieces).map(|q| piece(*q)).collect();
        let back: Vec<f64> = match layout {
            Layout::Direct => supply.clone(),
            Layout::Reverse => before.iter().take(pieces).map(|q| piece(*q)).collect(),
        };
        let loss = |k: usize, q: f64| {
            let own = boilers.get(k).map_or(0.0, |b| b.1 * (q / b.0).powi(2));
            let there: f64 = supply.iter().take(k).sum();
            let home: f64 = match layout {
                Layout::Direct => back.iter().take(k).sum(),
                Layout::Reverse => back.iter().skip(k).sum(),
            };
            own + there + home
        };
        let ease: Vec<f64> = flows.iter().enumerate().map(|(k, q)| q / loss(k, *q).sqrt()).collect();
        let all: f64 = ease.iter().sum();
        let mut moved = 0.0_f64;
        for (q, e) in flows.iter_mut().zip(&ease) {
            let next = 0.5 * (*q + total_kg_s * e / all);
            moved = moved.max((next - *q).abs());
            *q = next;
        }
        if !moved.is_finite() {
            return None;
        }
        if moved < 1e-10 * total_kg_s {
            return Some(flows);
        }
    }
    None
}

/// Largest over smallest share of what each would get by its rating, less one: how far from even.
pub fn uneven(flows: &[f64], rated: &[f64]) -> f64 {
    let each = || flows.iter().zip(rated).map(|(q, r)| q / r);
    each().fold(0.0, f64::max) / each().fold(f64::INFINITY, f64::min) - 1.0
}

/// Both layouts of a plant; `None` for fewer than two boilers.
pub fn both(plant: &Plant, given: &Given) -> Option<Both> {
    if plant.boilers.len() < 2 {
        return None;
    }
    let total_kg_s: f64 = plant.boilers.iter().map(|b| b.flow_kg_s).sum();
    let boilers: Vec<(f64, f64)> =
        plant.boilers.iter().zip(&given.boilers).map(|(b, g)| (b.flow_kg_s, g.drop_kpa)).collect();
    let density = plant.fluid.density_kg_m3(RUN_C);
    let (Mains { spacing_m, bore_m }, pipe): (Mains, Pipe) = (given.mains, given.pipe);
    let piece =
        |q: f64| (1.0 + FITTINGS_SHARE) * pipe_kpa(q, spacing_m, bore_m, pipe.roughness_m(), density, VISCOSITY_PA_S);
    Some(Both {
        total_kg_s,
        velocity_m_s: total_kg_s / density / (std::f64::consts::FRAC_PI_4 * bore_m * bore_m),
        direct_kg_s: shares(total_kg_s, &boilers, Layout::Direct, piece)?,
        reverse_kg_s: shares(total_kg_s, &boilers, Layout::Reverse, piece)?,
    })
}
