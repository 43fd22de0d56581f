//! The outdoor-reset curve: supply target against outdoor temperature.
//!
//! Between two neighbouring points `(o0, s0)` and `(o1, s1)`, all in hundredths of a degree:
//! `s = s0 + (s1 - s0) * (o - o0) / (o1 - o0)`, rounded to the nearest hundredth; flat past both ends.
//! Source: piecewise linear interpolation; the shape of a reset curve is the designer's. Range: any; an empty curve gives
//! nothing, and two points at one outdoor temperature (refused by the check) give the warmer supply.
//! What it does not do: setback, bounds and season belong to `reset`.

use crate::{
    config::CurvePoint,
    units::{Temp, TempDelta},
};

/// The supply temperature at an outdoor temperature.
pub fn supply(points: &[CurvePoint], outdoor: Temp) -> Option<Temp> {
    let mut before: Option<CurvePoint> = None;
    for &p in points {
        if outdoor <= p.outdoor {
            return Some(before.map_or(p.supply, |b| between(b, p, outdoor)));
        }
        before = Some(p);
    }
    before.map(|b| b.supply)
}

fn between(a: CurvePoint, b: CurvePoint, outdoor: Temp) -> Temp {
    let run = i32::from(b.outdoor.above(a.outdoor).centi_k());
    let rise = i32::from(b.supply.above(a.supply).centi_k());
    let part = i32::from(outdoor.above(a.outdoor).centi_k());
    match divide_nearest(rise.saturating_mul(part), run) {
        Some(d) => a.supply.plus(TempDelta::from_centi_k_saturating(d)),
        None => a.supply.max(b.supply),
    }
}

/// Quotient rounded to the nearest, halves away from zero; nothing unless the divisor is positive.
pub(crate) const fn divide_nearest(a: i32, b: i32) -> Option<i32> {
    if b <= 0 {
        return None;
    }
    // Half a divisor more, rounded down: 2^31 and 2^30 at most, which fit.
    let half_up = a.unsigned_abs().saturating_add(b.unsigned_abs() / 2);
    let Some(q) = half_up.checked_div(b.unsigned_abs()) else { return None };
    Some(if a < 0 { (q as i32).wrapping_neg() } else { q as i32 })
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn point(outdoor_centi_c: i16, supply_centi_c: i16) -> CurvePoint {
        CurvePoint { outdoor: Temp::from_centi_c(outdoor_centi_c), supply: Temp::from_centi_c(supply_centi_c) }
    }

    /// Degrees Fahrenheit to hundredths of a degree Celsius, to the nearest.
    fn f(deg: i32) -> i16 {
        divide_nearest((deg - 32) * 500, 9).unwrap() as i16
    }

    #[test]
    fn a_quotient_goes_to_the_nearest_and_asks_for_a_positive_divisor() {
        let most = i32::MAX;
        for (a, b, want) in [(7, 2, 4), (-7, 2, -4), (5, 3, 2), (4, 3, 1), (0, 3, 0), (1, most, 0), (most, 1, most)]
            .into_iter()
            .chain([(i32::MIN, 1, i32::MIN), (i32::MIN, most, -1), (-most, 2, -(1 << 30))])
        {
            assert_eq!(divide_nearest(a, b), Some(want), "{a} / {b}");
        }
        assert_eq!((divide_nearest(6, 0), divide_nearest(6, -2)), (None, None));
    }

    #[test]
    fn the_baseline_reset_of_a_published_standard() {
        // ANSI/ASHRAE/IES 90.1-2019 G3.1.3.4: 180 °F at 20 °F and below, 150 °F at 50 °F and above, linear between.
        let curve = [point(f(20), f(180)), point(f(50), f(150))];
        for (outdoor, want) in [(-40, 180), (20, 180), (25, 175), (35, 165), (45, 155), (50, 150), (90, 150)] {
            let got = supply(&curve, Temp::from_centi_c(f(outdoor))).unwrap().centi_c();
            assert!((got - f(want)).abs() <= 1, "{outdoor} °F: {got} for {}", f(want));
        }
    }

    #[test]
    fn a_curve_that_is_no_curve_gives_a_value_or_nothing() {
        assert_eq!(supply(&[], Temp::from_c(0)), None);
        assert_eq!(supply(&[point(0, 5000)], Temp::from_c(9)), Some(Temp::from_c(50)));
        let flat = [point(0, 5000), point(0, 4000)];
        assert_eq!(supply(&flat, Temp::from_c(0)), Some(Temp::from_c(50)));
        assert_eq!(supply(&flat, Temp::from_c(1)), Some(Temp::from_c(40)));
    }

    #[test]
    fn halves_round_away_from_zero() {
        for (a, b, want) in [(5, 10, 1), (-5, 10, -1), (4, 10, 0), (-4, 10, 0), (15, 10, 2), (-15, 10, -2), (6, 9, 1)] {
            assert_eq!(divide_nearest(a, b), Some(want), "{a}/{b}");
        }
        assert_eq!(divide_nearest(1, 0), None);
    }
}
