//! Standard ratings of breakers and fuses, amperes.
//!
//! Source: NFPA 70, 240.6(A), checked from 15 A up. 10 A joined the general list, breakers included, in 2023 (checked); the
//! further fuse sizes 1, 3, 6, 10 and 601 A are from memory.
//! Edges: past 6000 A, for zero, for negative and for non-numbers the answer is `None`.

use super::{Edition, Source, Status};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "240.6(A)",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "extra fuse sizes 1, 3, 6, 10, 601 A from memory",
};

/// Ratings common to breakers and fuses in both editions.
const COMMON: [u16; 37] = [
    15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500,
    600, 700, 800, 1000, 1200, 1600, 2000, 2500, 3000, 4000, 5000, 6000,
];
const EXTRA_FUSES: [u16; 5] = [1, 3, 6, 10, 601];

/// Rounding guard: 125 % of a table figure must not slip over a standard size by a last binary digit.
const GUARD: f64 = 1e-9;

fn ratings(edition: Edition, fuse: bool) -> impl Iterator<Item = f64> {
    let ten: &[u16] = if edition >= Edition::Nec2023 { &[10] } else { &[] };
    let extra: &[u16] = if fuse { &EXTRA_FUSES } else { ten };
    COMMON.iter().chain(extra).map(|a| f64::from(*a))
}

fn up(list: impl Iterator<Item = f64>, amps: f64) -> Option<f64> {
    if !(amps.is_finite() && amps > 0.0) {
        return None;
    }
    list.filter(|r| *r >= amps - GUARD).min_by(f64::total_cmp)
}

fn down(list: impl Iterator<Item = f64>, amps: f64) -> Option<f64> {
    list.filter(|r| *r <= amps + GUARD).max_by(f64::total_cmp)
}

/// The smallest standard breaker of at least so many amperes.
pub fn breaker_at_least(amps: f64, edition: Edition) -> Option<f64> {
    up(ratings(edition, false), amps)
}

/// The largest standard breaker of at most so many amperes.
pub fn breaker_at_most(amps: f64, edition: Edition) -> Option<f64> {
    down(ratings(edition, false), amps)
}

/// The smallest standard fuse of at least so many amperes.
pub fn fuse_at_least(amps: f64, edition: Edition) -> Option<f64> {
    up(ratings(edition, true), amps)
}

/// The largest standard fuse of at most so many amperes.
pub fn fuse_at_most(amps: f64, edition: Edition) -> Option<f64> {
    down(ratings(edition, true), amps)
}

/// Whether this is a standard breaker rating.
pub fn is_breaker(amps: f64, edition: Edition) -> bool {
    ratings(edition, false).any(|r| r == amps)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges() {
        assert_eq!(breaker_at_least(0.0, Edition::Nec2023), None);
        assert_eq!(breaker_at_least(f64::NAN, Edition::Nec2023), None);
        assert_eq!(breaker_at_least(6001.0, Edition::Nec2023), None);
        assert_eq!(breaker_at_most(9.0, Edition::Nec2023), None);
        assert_eq!(fuse_at_most(9.0, Edition::Nec2023), Some(6.0));
        // 1.25 * 8 is exact, 2.5 * 18 too; 1.1 * 100 is not.
        assert_eq!(breaker_at_least(1.1 * 100.0, Edition::Nec2023), Some(110.0));
    }
}
