//! The fewest curve points that follow what the zones need and do not fall below it.
//!
//! The envelope `E(t_o)` is the highest need of all zones at each outdoor temperature. A broken line with its corners on `E`
//! sags below it where `E` is hollow downwards and stands above where two zones' laws cross. The corners are chosen on a grid of
//! 0.25 K by dynamic programming (smallest worst sag plus hump), then the whole line is lifted by its worst sag and rounded up to
//! 0.01 K. `E` is taken as it is nowhere lower than on any warmer day, as a controller's curve must be. The first number of points whose line stays within the tolerance is taken; with none, the most points allowed.
//!
//! Method: our choice; exact on the grid. What is reported is measured afterwards on a grid of 0.05 K, against the laws
//! themselves. Range: from the site's design outdoor temperature to the warm end given; outside the controller holds the end
//! points, so weather colder than design gets the design supply.

use super::need::governing;
use crate::plant::Plant;
use heatwright_core::limits::CURVE_POINTS;

/// Widest miss that is aimed at, in kelvin: 0.5 degrees Fahrenheit, a tenth of a room thermostat's differential on the water.
pub const TOLERANCE_K: f64 = 0.5 / 1.8;
const GRID_K: f64 = 0.25;
const CHECK_K: f64 = 0.05;
/// A range of outdoor temperatures longer than this is refused: no site has it.
const RANGE_MAX_K: f64 = 120.0;

/// A curve fitted to the zones' needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Points of outdoor and supply temperature, in degrees Celsius, outdoors rising; two to eight.
    pub points: Vec<(f64, f64)>,
    /// Most that the curve stands above the envelope, in kelvin.
    pub above_max_k: f64,
    /// Most that it falls below, in kelvin; zero or the rounding of a check grid.
    pub below_max_k: f64,
}

/// Why no curve can be fitted.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum FitError {
    /// No zone can be served at the design outdoor temperature.
    #[error("no zone's flow can carry its heat loss at {outdoor_c:.1} °C outdoors: raise the flows")]
    NothingToServe {
        /// Outdoor temperature, in degrees Celsius.
        outdoor_c: f64,
    },
    /// The two ends are the wrong way round or too far apart.
    #[error(
        "the curve must run from the design outdoor temperature ({cold_c:.1} °C) to a warmer one, at most {RANGE_MAX_K} K away; \
         {warm_c:.1} °C was given"
    )]
    Range {
        /// Cold end, in degrees Celsius.
        cold_c: f64,
        /// Warm end, in degrees Celsius.
        warm_c: f64,
    },
}

/// Fits up to `points_max` points (held to 2 to 8) from the site's design outdoor temperature to `warm_end_c`, usually the
/// temperature of warm-weather shutdown. The warm end is held 1 K below the warmest room, past which nothing is needed.
pub fn fit(plant: &Plant, warm_end_c: f64, points_max: usize) -> Result<Fit, FitError> {
    let cold_c = hundredth(plant.site.design_outdoor_c);
    let warmest_room_c = plant.zones.iter().map(|z| z.thermostat.set_c).fold(f64::NEG_INFINITY, f64::max);
    let warm_c = hundredth(warm_end_c.min(warmest_room_c - 1.0));
    let long_k = warm_c - cold_c;
    if !warm_end_c.is_finite() || !(GRID_K..=RANGE_MAX_K).contains(&long_k) {
        return Err(FitError::Range { cold_c, warm_c: warm_end_c });
    }
    let need = |t: f64| governing(plant, t).map(|g| g.1).ok_or(FitError::NothingToServe { outdoor_c: t });
    let count = (long_k / GRID_K).ceil() as usize;
    let at = |k: usize| if k == count { warm_c } else { cold_c + k as f64 * GRID_K };
    let mut grid = (0..=count).map(|k| Ok((at(k), need(at(k))?))).collect::<Result<Vec<_>, _>>()?;
    for k in (0..count).rev() {
        grid[k].1 = grid[k].1.max(grid[k + 1].1);
    }

    let segments = segments(&grid);
    let most = points_max.clamp(2, CURVE_POINTS);
    let lines = (2..=most).map(|n| corners(&segments, grid.len(), n));
    let (chosen, sag) = lines.fold((Vec::new(), f64::INFINITY), |best: (Vec<usize>, f64), (line, worst)| {
        // Fewer points win as soon as they are good enough; else the better line does.
        let good = worst <= TOLERANCE_K;
        let best_good = best.1 <= TOLERANCE_K;
        if best_good || (!good && worst >= best.1) { best } else { (line, worst) }
    });
    let sag = chosen.windows(2).map(|w| segments[w[0]][w[1] - w[0] - 1].sag_k).fold(0.0, f64::max).min(sag);
    let points: Vec<(f64, f64)> =
        chosen.iter().map(|&k| (grid[k].0, ((grid[k].1 + sag) * 100.0).ceil() / 100.0)).collect();

    let mut fit = Fit { points, above_max_k: 0.0, below_max_k: 0.0 };
    for k in 0..=(long_k / CHECK_K) as usize {
        let t = (cold_c + k as f64 * CHECK_K).min(warm_c);
        let over_k = line_c(&fit.points, t) - need(t)?;
        fit.above_max_k = fit.above_max_k.max(over_k);
        fit.below_max_k = fit.below_max_k.max(-over_k);
    }
    Ok(fit)
}

/// Supply temperature on a broken line, level past both ends; all in degrees Celsius.
pub fn line_c(points: &[(f64, f64)], outdoor_c: f64) -> f64 {
    let upper = points.partition_point(|p| p.0 < outdoor_c);
    match (upper.checked_sub(1).and_then(|k| points.get(k)), points.get(upper)) {
        (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (outdoor_c - a.0) / (b.0 - a.0),
        (Some(p), None) | (None, Some(p)) => p.1,
        (None, None) => f64::NAN,
    }
}

fn hundredth(c: f64) -> f64 {
    (c * 100.0).round() / 100.0
}

/// How far a chord between two grid points lies below and above the envelope, in kelvin.
#[derive(Clone, Copy)]
struct Chord {
    sag_k: f64,
    hump_k: f64,
}

/// `segments[i][j - i - 1]`: the chord from grid point `i` to `j`.
fn segments(grid: &[(f64, f64)]) -> Vec<Vec<Chord>> {
    let chord = |i: usize, j: usize| {
        let ends = [grid[i], grid[j]];
        grid[i..=j].iter().fold(Chord { sag_k: 0.0, hump_k: 0.0 }, |c, &(t, need)| {
            let over = line_c(&ends, t) - need;
            Chord { sag_k: c.sag_k.max(-over), hump_k: c.hump_k.max(over) }
        })
    };
    (0..grid.len()).map(|i| (i + 1..grid.len()).map(|j| chord(i, j)).collect()).collect()
}

/// The best choice of `n` corners, both ends among them, and its worst sag plus hump.
fn corners(segments: &[Vec<Chord>], len: usize, n: usize) -> (Vec<usize>, f64) {
    // best[j]: worst chord so far of the best line of m corners that ends at j, and its corners.
    let mut best: Vec<(f64, Vec<usize>)> =
        (0..len).map(|j| (if j == 0 { 0.0 } else { f64::INFINITY }, vec![j])).collect();
    for _ in 1..n {
        best = (0..len)
            .map(|j| {
                let via = |i: usize| {
                    let c = segments[i][j - i - 1];
                    best[i].0.max(c.sag_k + c.hump_k)
                };
                match (0..j).min_by(|a, b| via(*a).total_cmp(&via(*b))) {
                    Some(i) => (via(i), [best[i].1.as_slice(), &[j]].concat()),
                    None => (f64::INFINITY, vec![j]),
                }
            })
            .collect();
    }
    let (worst, line) = best.swap_remove(len - 1);
    (line, worst)
}
