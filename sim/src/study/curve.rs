//! The outdoor-reset curve against what the zones' emitters give, and what the boilers see come back.
//!
//! What it decides: for every outdoor temperature from design to warm-weather shutdown, the supply each zone needs
//! ([`need`]), the zone that governs, surplus or shortfall of the curve in effect in watts and kelvin, the water of the whole
//! plant ([`water`]); the best-fitting curve of up to eight points ([`fit`]); over a weather series the hours of condensing and an
//! estimate of efficiency; and what a lower design supply would take.
//!
//! Equations and sources stand in the three parts. Over the series each hour counts by the trapezoid rule; hours at or above
//! warm-weather shutdown do not heat. The estimate of fuel leaves out starting and jacket losses: a run shows those.
//!
//! What the boilers cannot give does not count: rows, hours, efficiency and surplus are those of the water that they can be made to
//! give ([`Reach`]), and what is missing is told.
//!
//! Edges: a plant without zones or boilers gives rows without water. Weather colder than design takes the curve's end point.

mod boilers;
mod circulating;
mod fans;
mod findings;
pub mod fit;
pub mod need;
mod shut;
mod sizes;
pub mod water;

use super::Finding;
use crate::{plant::Plant, weather::Series};
pub use boilers::{HeldBack, Reach};
pub use circulating::{HOT_K, Kept};
pub use findings::{FAILS_SHARE, out_of_reach, outlets_near};
use fit::{Fit, FitError, line_c};
use heatwright_core::{
    BoilerId, ZoneId,
    config::{CurvePoint, ResetConfig},
    limits::CURVE_POINTS,
};
pub use sizes::{load_and_output_w, sizes, tank_beside};
use water::{Water, Waters};

/// Outdoor temperatures of the report lie this far apart, in kelvin: 5 degrees Fahrenheit.
pub const ROW_STEP_K: f64 = 5.0 / 1.8;
/// The last row stands at least this share of a step behind the one before it.
const LAST_STEP_LEAST: f64 = 0.2;
/// The lowering that is tried, in kelvin: 10 degrees Fahrenheit.
pub const LOWERING_K: f64 = 10.0 / 1.8;
/// Water that is less hot than asked for by no more than this is the same, in kelvin.
pub const MADE_LESS_K: f64 = 0.05;

/// One zone at one outdoor temperature, on the curve in effect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ZoneAt {
    /// Which zone.
    pub zone: ZoneId,
    /// Its heat loss, in watts.
    pub load_w: f64,
    /// Header supply that covers it, in degrees Celsius; `None` where its flow cannot carry it.
    pub needed_c: Option<f64>,
    /// Heat that its emitter gives on the supply that is made beyond the loss, in watts; negative is a shortfall.
    pub surplus_w: f64,
    /// Supply that is made beyond what it needs, in kelvin; negative is a shortfall.
    pub surplus_k: Option<f64>,
    /// What it sends back while it runs, in degrees Celsius.
    pub return_c: f64,
    /// What its mixing valve is told to hold there, in degrees Celsius; `None` without one.
    pub mixed_c: Option<f64>,
}

/// One outdoor temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Outdoor temperature, in degrees Celsius.
    pub outdoor_c: f64,
    /// Supply of the curve in effect, in degrees Celsius.
    pub supply_c: f64,
    /// Supply that the boilers can be made to give on it, in degrees Celsius.
    pub made_c: f64,
    /// The zone that needs the hottest water, and how hot in degrees Celsius.
    pub governing: Option<(ZoneId, f64)>,
    /// Every zone, by `ZoneId`.
    pub zones: Vec<ZoneAt>,
    /// The plant's water; `None` where nothing heats.
    pub water: Option<Water>,
    /// Heat at full fire of each boiler with the return of this temperature, by `BoilerId`, in watts.
    pub outputs_w: Vec<f64>,
}

impl Row {
    /// Heat at full fire of all boilers, in watts.
    pub fn output_w(&self) -> f64 {
        self.outputs_w.iter().sum()
    }

    /// The boiler that gives most, the last of equals, and how much in watts.
    pub fn largest(&self) -> Option<(BoilerId, f64)> {
        (0u8..).map(BoilerId).zip(self.outputs_w.iter().copied()).max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// The curve over a weather series.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Year {
    /// Hours of the series.
    pub hours: f64,
    /// Hours below warm-weather shutdown with a zone that takes heat.
    pub hours_heating: f64,
    /// Hours in which flue gas condenses.
    pub hours_condensing: f64,
    /// Heat to the zones, in kilowatt-hours.
    pub heat_kwh: f64,
    /// Fuel by higher heating value, in kilowatt-hours.
    pub fuel_kwh: f64,
    /// Condensate, in kilograms.
    pub condensate_kg: f64,
    /// Heat that the curve did not cover, in kilowatt-hours.
    pub short_kwh: f64,
    /// Hours in which the boilers cannot make the water that the curve asks for.
    pub hours_less_made: f64,
    /// Coldest and hottest water that came back to the boilers, in degrees Celsius; `None` without heating.
    pub boiler_return_c: Option<(f64, f64)>,
    /// Hours in which water came back colder than a running boiler allows.
    pub hours_return_cold: f64,
    /// The coldest of it, and the highest limit of a running boiler that was not kept, in degrees Celsius; `None` without such
    /// hours.
    pub return_cold_c: Option<(f64, f64)>,
    /// Hours colder than the design temperature, and the coldest, in degrees Celsius.
    pub colder_than_design: (f64, f64),
}

impl Year {
    /// Heat over fuel, a share; `None` without fuel.
    pub fn efficiency(&self) -> Option<f64> {
        (self.fuel_kwh > 0.0).then(|| self.heat_kwh / self.fuel_kwh)
    }
}

/// Degree days count below this, in degrees Celsius: 65 degrees Fahrenheit, the base of the United States' tables.
pub const DEGREE_DAY_BASE_C: f64 = 33.0 / 1.8;

/// A calendar month of the weather, as far as the series has it, with the curve in effect.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Month {
    /// Year and month of the calendar.
    pub of: (i16, i8),
    /// Hours of it in the series.
    pub hours: f64,
    /// Mean outdoor temperature, in degrees Celsius.
    pub mean_c: f64,
    /// Degree days below [`DEGREE_DAY_BASE_C`], in kelvin-days.
    pub degree_days_k: f64,
    /// Hours below warm-weather shutdown with a zone that takes heat, and those in which flue gas condenses.
    pub hours_heating: f64,
    /// Those in which flue gas condenses.
    pub hours_condensing: f64,
    /// Those in which water came back colder than a running boiler allows.
    pub hours_return_cold: f64,
    /// Heat to the zones, in kilowatt-hours.
    pub heat_kwh: f64,
    /// Fuel by higher heating value, in kilowatt-hours.
    pub fuel_kwh: f64,
}

/// One zone at the design outdoor temperature with a lower supply.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lowered {
    /// Which zone.
    pub zone: ZoneId,
    /// The design supply could fall this far before it runs short, in kelvin; negative when it is short already.
    pub spare_k: Option<f64>,
    /// Heat missing after the lowering, in watts; zero where it still covers.
    pub short_w: f64,
    /// Times its emitter would have to be as large as it is, at its present flow; `None` where no size is enough.
    pub emitter_times: Option<f64>,
}

/// What the study found.
#[derive(Clone, Debug, PartialEq)]
pub struct CurveStudy {
    /// Outdoor temperatures from design to warm-weather shutdown.
    pub rows: Vec<Row>,
    /// The best-fitting curve, or why there is none.
    pub fit: Result<Fit, FitError>,
    /// The curve in effect over the weather.
    pub year: Year,
    /// The same by month.
    pub months: Vec<Month>,
    /// The fitted curve over the weather, for comparison.
    pub year_fitted: Option<Year>,
    /// The curve over the weather with its design supply lowered by [`LOWERING_K`] and the rest in proportion to the load, on today's
    /// emitters: what the boilers would gain, and the heat that would be missing. Larger emitters would send back cooler water still.
    pub year_lowered: Year,
    /// Zones whose water circulates all season, over the weather on the curve in effect.
    pub kept: Vec<Kept>,
    /// The zones at design with the supply lowered by [`LOWERING_K`]; the one that runs short first stands first.
    pub lowered: Vec<Lowered>,
    /// What is worth telling.
    pub findings: Vec<Finding>,
}

/// Supply target of a reset configuration, in degrees Celsius, without setback, boost and trim.
pub fn target_c(reset: &ResetConfig, outdoor_c: f64) -> f64 {
    let c = |t: heatwright_core::Temp| f64::from(t.centi_c()) / 100.0;
    let points: Vec<(f64, f64)> = reset.points.iter().map(|p| (c(p.outdoor), c(p.supply))).collect();
    line_c(&points, outdoor_c).min(c(reset.supply_max)).max(c(reset.supply_min))
}

/// Studies the curve in `reset` on this plant and weather, with nothing but the boilers' own limits against them.
pub fn study(plant: &Plant, reset: &ResetConfig, weather: &Series) -> CurveStudy {
    study_within(plant, reset, Reach::own(), weather)
}

/// The same within what the controller makes of its boilers.
pub fn study_within(plant: &Plant, reset: &ResetConfig, reach: Reach, weather: &Series) -> CurveStudy {
    let warm_c = f64::from(reset.warm_weather_off.centi_c()) / 100.0;
    let design_c = plant.site.design_outdoor_c;
    let waters = Waters::following(plant, reach.clone(), reset);
    let curve = |t: f64| target_c(reset, t);
    // Even steps, and the end itself: a step that falls a hair short of it would be the same row twice.
    let count = ((warm_c - design_c) / ROW_STEP_K - LAST_STEP_LEAST).clamp(0.0, 60.0).ceil() as usize;
    let outdoors = (0..=count).map(|k| if k == count && k > 0 { warm_c } else { design_c + k as f64 * ROW_STEP_K });
    let rows: Vec<Row> = outdoors.map(|t| row(plant, &waters, t, curve(t))).collect();
    let fit = fit::fit(plant, warm_c, CURVE_POINTS);
    let mut months = calendar(weather);
    let year = over(plant, &waters, weather, warm_c, curve, &mut months);
    let year_fitted = fit.as_ref().ok().map(|f| {
        let fitted = Waters::following(plant, reach, &with_points(reset, &f.points));
        over(plant, &fitted, weather, warm_c, |t| line_c(&f.points, t), &mut [])
    });
    // Nothing is lowered where no zone takes heat, all of it at design.
    let design_w = waters.load_w(design_c);
    let load_share = |t: f64| if design_w > 0.0 { (waters.load_w(t) / design_w).min(1.0) } else { 0.0 };
    let year_lowered = over(plant, &waters, weather, warm_c, |t| curve(t) - LOWERING_K * load_share(t), &mut []);
    let design_made_c = rows.first().map_or_else(|| curve(design_c), |r| r.made_c);
    let lowered = lower(plant, &waters, design_c, (design_made_c, curve(design_c) - LOWERING_K));
    let mut findings = findings::findings(plant, &waters, reset, &rows, &year);
    let kept = circulating::kept(plant, &waters, weather, warm_c, curve);
    findings.extend(circulating::hot(&kept));
    CurveStudy { rows, fit, year, months, year_fitted, year_lowered, kept, lowered, findings }
}

/// The same reset with other points, in degrees Celsius.
fn with_points(reset: &ResetConfig, points: &[(f64, f64)]) -> ResetConfig {
    let temp = |c: f64| heatwright_core::Temp::from_centi_c((c * 100.0).round() as i16);
    let of = |p: &(f64, f64)| CurvePoint { outdoor: temp(p.0), supply: temp(p.1) };
    ResetConfig { points: points.iter().take(CURVE_POINTS).map(of).collect(), ..reset.clone() }
}

fn row(plant: &Plant, waters: &Waters<'_>, outdoor_c: f64, supply_c: f64) -> Row {
    let water = waters.at(outdoor_c, supply_c);
    let made_c = water.map_or(supply_c, |w| w.supply_c);
    let zone = |n: need::Need| {
        let full = waters.full(n.zone.index(), outdoor_c, made_c);
        let given_c = waters.given_c(n.zone.index(), outdoor_c, made_c);
        ZoneAt {
            zone: n.zone,
            load_w: n.load_w,
            needed_c: n.supply_c,
            surplus_w: full.heat_w - n.load_w,
            surplus_k: n.supply_c.map(|needed| given_c - needed),
            return_c: full.return_c,
            mixed_c: plant.zones[n.zone.index()].mix.map(|_| waters.given_c(n.zone.index(), outdoor_c, f64::INFINITY)),
        }
    };
    Row {
        outputs_w: waters.outputs_w(water.map_or(supply_c, |w| w.boiler_return_c)),
        outdoor_c,
        supply_c,
        made_c,
        governing: need::governing(plant, outdoor_c),
        zones: need::needs(plant, outdoor_c).into_iter().map(zone).collect(),
        water,
    }
}

/// The months that a series has, with what they are without a plant.
fn calendar(weather: &Series) -> Vec<Month> {
    let start = weather.start();
    let each = weather.degree_days_by_month(DEGREE_DAY_BASE_C).into_iter().enumerate();
    let mut months: Vec<Month> = each
        .map(|(k, degree_days_k)| {
            let since = i32::from(start.month()) - 1 + k as i32;
            let of = (start.year() + (since / 12) as i16, (since % 12 + 1) as i8);
            Month { of, degree_days_k, ..Month::default() }
        })
        .collect();
    for (t, hours, month) in hours_at(weather) {
        if let Some(m) = months.get_mut(month) {
            m.hours += hours;
            m.mean_c += t * hours;
        }
    }
    months.retain_mut(|m| {
        m.mean_c /= m.hours;
        m.hours > 0.0
    });
    months
}

/// Temperature, hours and month of each value: by the trapezoid rule, the first and the last count for half an hour.
fn hours_at(weather: &Series) -> impl Iterator<Item = (f64, f64, usize)> {
    let values = weather.dry_bulb_c();
    let hours = |k: usize| if k == 0 || k + 1 == values.len() { 0.5 } else { 1.0 };
    values.iter().enumerate().map(move |(k, t)| (*t, hours(k), weather.month_of(k)))
}

/// `months` are filled in, as many as there are.
fn over(
    plant: &Plant,
    waters: &Waters<'_>,
    weather: &Series,
    warm_c: f64,
    curve: impl Fn(f64) -> f64,
    months: &mut [Month],
) -> Year {
    // Readings repeat: each distinct temperature is solved once and weighted by its hours.
    let mut sorted: Vec<(f64, f64, usize)> = hours_at(weather).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut year = Year { colder_than_design: (0.0, f64::INFINITY), ..Year::default() };
    for same in sorted.chunk_by(|a, b| a.0 == b.0) {
        let hours: f64 = same.iter().map(|s| s.1).sum();
        year.hours += hours;
        let outdoor_c = same.first().map_or(0.0, |s| s.0);
        year.colder_than_design.1 = year.colder_than_design.1.min(outdoor_c);
        if outdoor_c < plant.site.design_outdoor_c - 0.05 {
            year.colder_than_design.0 += hours;
        }
        if outdoor_c >= warm_c {
            continue;
        }
        let Some(w) = waters.at(outdoor_c, curve(outdoor_c)) else { continue };
        year.hours_heating += hours;
        year.hours_condensing += if w.condensing { hours } else { 0.0 };
        year.heat_kwh += w.heat_w * hours / 1000.0;
        year.fuel_kwh += w.fuel_w * hours / 1000.0;
        year.condensate_kg += w.condensate_kg_h * hours;
        for (_, hours, month) in same {
            let Some(m) = months.get_mut(*month) else { continue };
            m.hours_heating += hours;
            m.hours_condensing += if w.condensing { *hours } else { 0.0 };
            m.hours_return_cold += if w.too_cold { *hours } else { 0.0 };
            m.heat_kwh += w.heat_w * hours / 1000.0;
            m.fuel_kwh += w.fuel_w * hours / 1000.0;
        }
        year.short_kwh += (w.load_w - w.heat_w).max(0.0) * hours / 1000.0;
        year.hours_less_made += if w.supply_c < curve(outdoor_c) - MADE_LESS_K { hours } else { 0.0 };
        let back = w.boiler_return_c;
        if let Some((entering_c, least_c)) = w.cold_c {
            year.hours_return_cold += hours;
            let (coldest_c, highest_c) = year.return_cold_c.unwrap_or((entering_c, least_c));
            year.return_cold_c = Some((coldest_c.min(entering_c), highest_c.max(least_c)));
        }
        year.boiler_return_c = Some(year.boiler_return_c.map_or((back, back), |(l, h)| (l.min(back), h.max(back))));
    }
    year
}

/// `made_c` is the supply that is made now, `lowered_c` what the lowered curve asks for, in degrees Celsius.
fn lower(plant: &Plant, waters: &Waters<'_>, design_c: f64, (made_c, lowered_c): (f64, f64)) -> Vec<Lowered> {
    let supply_c = lowered_c.min(made_c);
    let zone = |n: need::Need| {
        let k = n.zone.index();
        let z = &plant.zones[k];
        let given_c = waters.given_c(k, design_c, supply_c);
        let full = waters.full(k, design_c, supply_c);
        let return_c = given_c - n.load_w / need::flow_w_k(plant, z.flow_kg_s);
        // An emitter of the same kind and flow, larger or smaller, that gives just the load between these two temperatures.
        let as_is_w =
            if return_c > z.thermostat.set_c { z.emitter.heat_w(given_c, return_c, z.thermostat.set_c) } else { 0.0 };
        Lowered {
            zone: n.zone,
            spare_k: n.supply_c.map(|needed| {
                let most_c = waters.given_c(k, design_c, f64::INFINITY);
                if needed > most_c { most_c - needed } else { made_c - needed }
            }),
            short_w: (n.load_w - full.heat_w).max(0.0),
            emitter_times: (as_is_w > 0.0).then(|| (n.load_w / as_is_w).max(1.0)),
        }
    };
    let mut all: Vec<Lowered> = need::needs(plant, design_c).into_iter().map(zone).collect();
    let spare = |l: &Lowered| l.spare_k.unwrap_or(f64::NEG_INFINITY);
    all.sort_by(|a, b| spare(a).total_cmp(&spare(b)).then(a.zone.cmp(&b.zone)));
    all
}
