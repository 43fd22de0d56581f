//! What moves slowly: zone valves, dampers, mixing valves, thermostatic elements.
//!
//! A motor runs at constant speed over its stroke; a thermostatic element follows its wanted opening with a time constant.
//! Flow goes in proportion to opening (our choice: real valves open faster at first). Openings are shares, 0 to 1.

use crate::plant::Mix;

/// Opening at which a switch on a fully open valve or damper is made: rounding of many steps stays far above it.
const OPEN: f64 = 0.999;

/// True when an end switch at full opening is made.
pub(crate) fn fully_open(opening: f64) -> bool {
    opening >= OPEN
}

/// A motor's opening one step later.
pub(crate) fn driven(opening: f64, toward: f64, stroke_s: f64, dt_s: f64) -> f64 {
    if stroke_s <= 0.0 {
        return toward;
    }
    let most = dt_s / stroke_s;
    opening + (toward - opening).clamp(-most, most)
}

/// A mixing valve's opening one step later; `signal` is its 0-10 V as a share, `lag_share` the share of the way that a
/// thermostatic element goes in one step.
pub(crate) fn mixed(mix: &Mix, opening: f64, mixed_c: f64, signal: f64, lag_share: f64, dt_s: f64) -> f64 {
    match mix {
        Mix::Modulated { stroke_s, .. } => driven(opening, signal, *stroke_s, dt_s),
        Mix::SelfActing { set_c, band_k, .. } => {
            let wanted = (0.5 + (set_c - mixed_c) / band_k).clamp(0.0, 1.0);
            opening + lag_share * (wanted - opening)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_motor_takes_its_stroke_both_ways() {
        let mut at = 0.0;
        for step in 1..=60 {
            at = driven(at, 1.0, 60.0, 1.0);
            assert_eq!(fully_open(at), step == 60, "step {step}");
        }
        assert!((driven(at, 0.0, 60.0, 15.0) - 0.75).abs() < 1e-9);
        assert_eq!(driven(0.3, 1.0, 0.0, 1.0), 1.0);
    }

    #[test]
    fn an_element_opens_when_the_mix_is_cold() {
        let mix = Mix::SelfActing { set_c: 40.0, band_k: 10.0, lag_s: 0.0 };
        assert!((mixed(&mix, 0.0, 40.0, 0.0, 1.0, 1.0) - 0.5).abs() < 1e-12);
        assert_eq!(mixed(&mix, 0.0, 30.0, 0.0, 1.0, 1.0), 1.0);
        assert_eq!(mixed(&mix, 0.0, 50.0, 0.0, 1.0, 1.0), 0.0);
    }
}
