//! Fans that stand still in mild weather: the curve has fallen below what their aquastats wait for.
//!
//! A curve falls with the load and an aquastat does not. Above the outdoor temperature where the supply of the curve meets the
//! aquastat's setting the fan never starts, however long its thermostat calls, and a heater without its fan gives next to
//! nothing. Told is the mildest end of what still matters: a zone that loses less than [`NEEDS_SHARE`] of its loss at design lives on
//! people, light and sun. Bounds are our choice.
//!
//! Left out: the swing of a burner above its target, which may start a fan now and then, and the aquastat's differential, which keeps
//! a fan that runs already.

use super::{need, target_c, water::Waters};
use crate::{
    plant::Plant,
    study::{Finding, Issue},
};
use heatwright_core::{Severity, Subject, ZoneId, config::ResetConfig};

/// Share of its design loss below which a zone needs no fan.
const NEEDS_SHARE: f64 = 0.05;
/// Water that is cooler than the setting by no more than this is rounding, in kelvin.
const SLACK_K: f64 = 0.05;
/// Halvings by which the outdoor temperature is found: a hundred kelvin to a thousandth.
const HALVINGS: u32 = 17;

/// One finding a zone whose fan waits.
pub(super) fn waiting(plant: &Plant, waters: &Waters<'_>, reset: &ResetConfig) -> Vec<Finding> {
    let design_c = plant.site.design_outdoor_c;
    let warm_c = f64::from(reset.warm_weather_off.centi_c()) / 100.0;
    let one = |(k, z): (usize, &crate::plant::Zone)| {
        let aquastat_c = z.fan?.aquastat_c?;
        let design_w = need::load_w(z, design_c);
        let supply_c = |t: f64| waters.given_c(k, t, target_c(reset, t));
        let stands = |t: f64| supply_c(t) < aquastat_c - SLACK_K;
        // The mildest weather in which its heat matters.
        let mild_c = (z.thermostat.set_c - NEEDS_SHARE * design_w / z.loss_w_k()).min(warm_c);
        if design_w <= 0.0 || mild_c <= design_c || !stands(mild_c) {
            return None;
        }
        let (mut low_c, mut high_c) = (design_c, mild_c);
        if stands(design_c) {
            high_c = design_c;
        } else {
            for _ in 0..HALVINGS {
                let middle_c = 0.5 * (low_c + high_c);
                if stands(middle_c) { high_c = middle_c } else { low_c = middle_c }
            }
        }
        let issue = Issue::FanWaits {
            outdoor_c: high_c,
            load_w: need::load_w(z, high_c),
            design_w,
            aquastat_c,
            mild_c,
            mild_supply_c: supply_c(mild_c),
        };
        Some(Finding::new(Subject::Zone(ZoneId(k as u8)), Severity::Warning, issue))
    };
    plant.zones.iter().enumerate().filter_map(one).collect()
}
