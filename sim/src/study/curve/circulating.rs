//! Zones whose water circulates all season: what they take of the curve's water, and how warm they are kept.
//!
//! The call of such a zone only asks for heat. While anybody calls, hot water flows through it, and a room that has enough warms on
//! until it loses what its emitter gives:
//!
//! * `U (T - t_o) = G + a Q(t_S, T)`, with `U` in W/K, room `T`, outdoor `t_o` and supply `t_S` in degrees Celsius, gains `G` and the
//!   emitter's heat `Q` in W;
//! * `a = max(max d_c, 1 - product (1 - d_k))` the share of the time in which the water is heated: some zone with circulation calls, or
//!   one of those without, whose calls are taken to come by chance. `d` is the share of the time that a zone has to run at its
//!   thermostat's setting.
//!
//! A plant with one zone is thus kept at its setting whatever the curve. A fan that hangs on its aquastat runs while the water is hotter than
//! that, called or not; on cooler water it stands and the zone counts as one without circulation, as does one whose fan follows the
//! thermostat. Source: heat balance; calls by chance are our picture. Left out: night setback, heat that goes to neighbouring rooms, the
//! motors' heat, and thermostatic radiator valves.

use super::{hours_at, water::Waters};
use crate::{
    emitter::AtFlow,
    plant::Plant,
    study::{Finding, Issue},
    weather::Series,
};
use heatwright_core::{Severity, Subject, ZoneId};

/// A room that is kept more than this above its setting is hot, in kelvin: our choice, the half width of category III of
/// EN 16798-1 for heating (20 to 25 degrees Celsius where people sit; from memory) and a little.
pub const HOT_K: f64 = 3.0;
/// Hot in more than this share of the hours of heating is a finding: our choice, that of a zone that is cold.
const HOT_SHARE: f64 = 0.05;
/// Halvings by which the room's temperature is found: a hundred kelvin to a hundred thousandth.
const HALVINGS: u32 = 24;

/// A zone whose water circulates, over the weather.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Kept {
    /// Which zone.
    #[serde(skip)]
    pub zone: ZoneId,
    /// Its thermostat's setting, in degrees Celsius.
    pub set_c: f64,
    /// Hours of heating in which it is kept more than [`HOT_K`] above that.
    pub hours_hot: f64,
    /// Hours of heating of the weather.
    pub hours_heating: f64,
    /// The warmest that it is kept, in degrees Celsius.
    pub warmest_c: f64,
    /// Outdoor temperature and supply there, in degrees Celsius.
    pub outdoor_c: f64,
    /// Supply there, in degrees Celsius.
    pub supply_c: f64,
    /// Heat that it takes, and what of it is beyond its need, in kilowatt-hours.
    pub heat_kwh: f64,
    /// What of it is beyond its need, in kilowatt-hours.
    pub over_kwh: f64,
}

/// A room that loses what circulating water gives it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Balance {
    /// Room, in degrees Celsius.
    pub(super) room_c: f64,
    /// Heat from the emitter on average, in watts, and what comes back while the water is hot.
    pub(super) heat_w: f64,
    /// What comes back while the water is hot, in degrees Celsius.
    pub(super) return_c: f64,
}

/// Where a room comes to rest that loses `loss_w_k` W/K to `outdoor_c` and gains `gains_w`, while for the share `heated` of the time
/// its emitter gives `at(room)`; `None` where that does not hold it above `set_c`. Temperatures in degrees Celsius.
pub(super) fn balance(
    (loss_w_k, gains_w): (f64, f64),
    (outdoor_c, set_c, supply_c): (f64, f64, f64),
    heated: f64,
    at: impl Fn(f64) -> AtFlow,
) -> Option<Balance> {
    let lost_w = |room_c: f64| loss_w_k * (room_c - outdoor_c) - gains_w;
    let warms = |room_c: f64| heated * at(room_c).heat_w > lost_w(room_c);
    if supply_c <= set_c || !warms(set_c) {
        return None;
    }
    let (mut low_c, mut high_c) = (set_c, supply_c);
    for _ in 0..HALVINGS {
        let middle_c = 0.5 * (low_c + high_c);
        if warms(middle_c) { low_c = middle_c } else { high_c = middle_c }
    }
    let rest = at(low_c);
    Some(Balance { room_c: low_c, heat_w: heated * rest.heat_w, return_c: rest.return_c })
}

/// Each zone whose water circulates, over the weather below warm-weather shutdown, on `curve`.
pub(super) fn kept(
    plant: &Plant,
    waters: &Waters<'_>,
    weather: &Series,
    warm_c: f64,
    curve: impl Fn(f64) -> f64,
) -> Vec<Kept> {
    let mut all: Vec<Kept> = (plant.zones.iter().zip(0u8..))
        .filter(|(_, k)| waters.circulates(usize::from(*k)))
        .map(|(z, k)| Kept {
            zone: ZoneId(k),
            set_c: z.thermostat.set_c,
            hours_hot: 0.0,
            hours_heating: 0.0,
            warmest_c: f64::NEG_INFINITY,
            outdoor_c: 0.0,
            supply_c: 0.0,
            heat_kwh: 0.0,
            over_kwh: 0.0,
        })
        .collect();
    if all.is_empty() {
        return all;
    }
    let mut sorted: Vec<(f64, f64)> = hours_at(weather).map(|(t, hours, _)| (t, hours)).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    for same in sorted.chunk_by(|a, b| a.0 == b.0) {
        let (outdoor_c, hours) = (same.first().map_or(0.0, |s| s.0), same.iter().map(|s| s.1).sum::<f64>());
        let Some(w) = waters.at(outdoor_c, curve(outdoor_c)).filter(|_| outdoor_c < warm_c) else { continue };
        for k in &mut all {
            let took = waters.take(k.zone.index(), outdoor_c, w.supply_c);
            k.hours_heating += hours;
            k.hours_hot += if took.room_c > k.set_c + HOT_K { hours } else { 0.0 };
            k.heat_kwh += took.heat_w * hours / 1000.0;
            k.over_kwh += took.over_w * hours / 1000.0;
            if took.room_c > k.warmest_c {
                (k.warmest_c, k.outdoor_c, k.supply_c) = (took.room_c, outdoor_c, w.supply_c);
            }
        }
    }
    all
}

/// Zones that are kept hot.
pub(super) fn hot(all: &[Kept]) -> impl Iterator<Item = Finding> {
    all.iter().filter(|k| k.hours_hot > HOT_SHARE * k.hours_heating).map(|k| {
        let issue = Issue::ZoneHot { kept: *k, hot_c: k.set_c + HOT_K };
        Finding::new(Subject::Zone(k.zone), Severity::Warning, issue)
    })
}
