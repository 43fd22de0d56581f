//! What of the curve is worth telling: water that is too cool, flow and emitters that fit no loss, boilers that are too small, too
//! hot or too cold, weather that is not the design's.
//!
//! Bounds are our choice where no source is named. A zone's drop at design outside 1 to 33 K (2 to 60 °F) and emitters that give
//! less than 0.3 or more than 5 times the loss with the hottest water of the curve are more often a slip of the pen than a plant.

use super::{CurveStudy, ROW_STEP_K, Row, Year, need, water::Waters};
use crate::{
    plant::Plant,
    study::{Finding, Issue},
};
use heatwright_core::{
    BoilerId, Config, Severity, Subject, Temp, ZoneId,
    config::{BoilerDrive, ResetConfig},
};

/// A shortfall below this share of a zone's load is rounding, not a finding.
const SHORT_SHARE: f64 = 0.002;
/// More than this share missing at the worst outdoor temperature is an error, not a warning: the plant does not heat. Our choice.
pub const FAILS_SHARE: f64 = 0.2;
/// A plant whose return valve leaves less than this share of the need does not heat: our choice.
const HALF_SHARE: f64 = 0.5;
/// Mixed water that is colder than needed by no more than this in milder weather than the design is no finding, in kelvin: our choice. The
/// straight line of the target lies 0.2 K below a floor whose surface follows the exponent 1.1: its room is as much colder.
const MIXED_MILD_K: f64 = 0.5;
/// A curve with more spare than this everywhere is worth lowering, in kelvin: our choice, 5 degrees Fahrenheit.
const GENEROUS_K: f64 = ROW_STEP_K;
/// Dilution above this is a finding, in kelvin: our choice.
const DILUTION_K: f64 = 1.0;
/// Warmest surface of a floor that people stand on, above its room, in kelvin (EN 1264-2, occupied area: 29 degrees Celsius at 20).
const FLOOR_OVER_ROOM_K: f64 = 9.0;
/// And in no room more than this, in degrees Celsius: the standard's figure for bathrooms at 24.
const FLOOR_SURFACE_MAX_C: f64 = 33.0;
/// A year with more of its hours colder than the design temperature has a design temperature that is too warm: our choice,
/// ten times the 0.4 % of a design condition.
const COLDER_SHARE: f64 = 0.04;
/// Drops of a zone's water at design that a flow is meant to have, in kelvin: 2 to 60 degrees Fahrenheit, our choice.
const DROP_K: (f64, f64) = (2.0 / 1.8, 60.0 / 1.8);
/// Emitter output with the hottest water of the curve, in times the loss, that a zone is meant to have: our choice.
const OUTPUT_TIMES: (f64, f64) = (0.3, 5.0);

fn c(t: Temp) -> f64 {
    f64::from(t.centi_c()) / 100.0
}

pub(super) fn findings(
    plant: &Plant,
    waters: &Waters<'_>,
    reset: &ResetConfig,
    rows: &[Row],
    year: &Year,
) -> Vec<Finding> {
    let mut out = Vec::new();
    for (k, z) in plant.zones.iter().enumerate() {
        let subject = Subject::Zone(ZoneId(k as u8));
        let at = || rows.iter().filter_map(|r| Some((r, r.zones.get(k)?)));
        if let Some((r, s)) = at().find(|(_, s)| s.needed_c.is_none()) {
            let drop_k = s.load_w / need::flow_w_k(plant, z.flow_kg_s);
            let issue = Issue::FlowShort { outdoor_c: r.outdoor_c, load_w: s.load_w, drop_k };
            out.push(Finding::new(subject, Severity::Error, issue));
        } else if let Some(mixed) = mixed_short(waters, k, rows) {
            out.push(mixed);
        } else if let Some((r, s, short_w)) = at()
            .map(|(r, s)| (r, s, s.load_w - waters.full(k, r.outdoor_c, r.supply_c).heat_w))
            .max_by(|a, b| a.2.total_cmp(&b.2))
            && short_w > SHORT_SHARE * s.load_w
        {
            let short_k = s.needed_c.map_or(0.0, |needed_c| needed_c - waters.given_c(k, r.outdoor_c, r.supply_c));
            let issue =
                Issue::CurveShort { outdoor_c: r.outdoor_c, supply_c: r.supply_c, short_k, short_w, load_w: s.load_w };
            let fails = short_w > FAILS_SHARE * s.load_w;
            out.push(Finding::new(subject, if fails { Severity::Error } else { Severity::Warning }, issue));
        }
    }
    out.extend(odd(plant, c(reset.supply_max)));
    out.extend(super::fans::waiting(plant, waters, reset));
    if let Some(design) = rows.first() {
        out.extend(design.zones.iter().filter_map(|s| {
            let z = plant.zones.get(s.zone.index())?;
            let surface_c = z.thermostat.set_c + z.emitter.floor_surface_k(s.load_w)?;
            let most_c = (z.thermostat.set_c + FLOOR_OVER_ROOM_K).min(FLOOR_SURFACE_MAX_C);
            let issue = Issue::FloorHot { outdoor_c: design.outdoor_c, surface_c, most_c };
            (surface_c > most_c + 0.05).then(|| Finding::new(Subject::Zone(s.zone), Severity::Warning, issue))
        }));
    }
    let (hours, coldest_c) = year.colder_than_design;
    if hours > COLDER_SHARE * year.hours {
        let issue = Issue::DesignWarm { hours, of_hours: year.hours, coldest_c, design_c: plant.site.design_outdoor_c };
        out.push(Finding::new(Subject::Plant, Severity::Warning, issue));
    }
    if let Some((return_c, least_c)) = year.return_cold_c {
        let issue =
            Issue::ReturnCold { hours: year.hours_return_cold, hours_heating: year.hours_heating, return_c, least_c };
        out.push(Finding::new(Subject::Plant, Severity::Warning, issue));
    }
    let missing = |r: &Row| {
        let w = r.water?;
        Some((r.outdoor_c, w.held_back?, w.heat_w, w.load_w))
    };
    let most_missing = |fails: bool| {
        let rows = rows.iter().filter_map(missing).filter(|r| !fails || r.2 < HALF_SHARE * r.3);
        rows.max_by(|a, b| (a.3 - a.2).total_cmp(&(b.3 - b.2)))
    };
    if let Some((outdoor_c, h, heat_w, load_w)) = most_missing(true).or_else(|| most_missing(false))
        && load_w - heat_w > SHORT_SHARE * load_w
    {
        let issue = Issue::ReturnValveShort { outdoor_c, held: h, heat_w, load_w };
        let weight = if heat_w < HALF_SHARE * load_w { Severity::Error } else { Severity::Warning };
        out.push(Finding::new(Subject::Boiler(h.boiler), weight, issue));
    }
    let spare = |r: &Row| r.governing.map(|g| r.supply_c - g.1);
    if let Some(spare_k) = rows.iter().filter_map(spare).min_by(f64::total_cmp)
        && spare_k > GENEROUS_K
    {
        out.push(Finding::new(Subject::Plant, Severity::Note, Issue::CurveGenerous { spare_k }));
    }
    if let Some(r) = rows.first().filter(|r| r.water.is_some()) {
        let need_w: f64 = r.zones.iter().map(|z| z.load_w).sum();
        let over_w = waters.over_w(r.outdoor_c, r.supply_c);
        let (load_w, output_w) = (need_w + over_w, r.output_w());
        if load_w > output_w {
            let issue = Issue::BoilersShort { outdoor_c: r.outdoor_c, load_w, over_w, output_w };
            let fails = need_w - output_w > FAILS_SHARE * need_w;
            out.push(Finding::new(Subject::Plant, if fails { Severity::Error } else { Severity::Warning }, issue));
        }
    }
    let lift = |r: &Row| r.water.map(|w| (r.outdoor_c, w.asked_outlet_c - r.supply_c));
    if let Some((outdoor_c, lift_k)) = rows.iter().filter_map(lift).max_by(|a, b| a.1.total_cmp(&b.1))
        && lift_k > DILUTION_K
    {
        out.push(Finding::new(Subject::Header, Severity::Note, Issue::HeaderDilutes { outdoor_c, lift_k }));
    }
    if plant.boilers.iter().any(|b| b.efficiency.can_condense())
        && year.hours_condensing < 0.5 * year.hours_heating
        && let Some((return_min_c, _)) = year.boiler_return_c
    {
        let issue =
            Issue::SeldomCondensing { hours: year.hours_condensing, hours_heating: year.hours_heating, return_min_c };
        out.push(Finding::new(Subject::Plant, Severity::Note, issue));
    }
    out
}

/// Where a zone's mixing valve lets no water through that is hot enough, whatever the header has: at design, or where most heat is
/// missing. And whether the zone is not heated so: at design, or by [`FAILS_SHARE`].
fn mixed_short(waters: &Waters<'_>, zone: usize, rows: &[Row]) -> Option<Finding> {
    let short = |r: &Row, slack_k: f64| {
        let s = r.zones.get(zone).filter(|s| s.load_w > 0.0)?;
        let (needed_c, most_c) = (s.needed_c?, waters.given_c(zone, r.outdoor_c, f64::INFINITY));
        // Where nothing mixes, the most is without bound.
        (needed_c > most_c + slack_k).then(|| {
            let most_w = waters.full(zone, r.outdoor_c, most_c).heat_w;
            let issue = Issue::MixedShort { outdoor_c: r.outdoor_c, most_c, needed_c, most_w, load_w: s.load_w };
            (issue, s.load_w - most_w, s.load_w)
        })
    };
    let (design, mild) = rows.split_first()?;
    let worst = short(design, 0.05).map(|(issue, ..)| (issue, true)).or_else(|| {
        let worst = mild.iter().filter_map(|r| short(r, MIXED_MILD_K)).max_by(|a, b| a.1.total_cmp(&b.1));
        worst.map(|(issue, short_w, load_w)| (issue, short_w > FAILS_SHARE * load_w))
    });
    let about = Subject::Zone(ZoneId(zone as u8));
    worst.map(|(issue, fails)| Finding::new(about, if fails { Severity::Error } else { Severity::Warning }, issue))
}

/// Flows and emitters that hardly belong to their zone's loss. Where the flow carries nothing, that is told elsewhere.
fn odd(plant: &Plant, supply_max_c: f64) -> Vec<Finding> {
    let mut out = Vec::new();
    for (n, z) in need::needs(plant, plant.site.design_outdoor_c).into_iter().zip(&plant.zones) {
        let mut warn = |issue| out.push(Finding::new(Subject::Zone(n.zone), Severity::Warning, issue));
        if n.load_w <= 0.0 {
            continue;
        }
        let drop_k = n.load_w / need::flow_w_k(plant, z.flow_kg_s);
        if n.supply_c.is_some() && !(DROP_K.0..=DROP_K.1).contains(&drop_k) {
            warn(Issue::FlowOdd { flow_kg_s: z.flow_kg_s, load_w: n.load_w, drop_k, small: drop_k > DROP_K.1 });
        }
        let supply_c = need::emitter_supply_c(z, supply_max_c);
        let output_w = z.emitter.heat_at_excess_w(supply_c - z.thermostat.set_c);
        if !(OUTPUT_TIMES.0..=OUTPUT_TIMES.1).contains(&(output_w / n.load_w)) {
            warn(Issue::EmitterOdd { output_w, load_w: n.load_w, supply_c });
        }
    }
    out
}

/// The hottest outlet that the curve needs of the boilers.
fn asked_c(study: &CurveStudy) -> Option<f64> {
    study.rows.iter().filter_map(|r| r.water.map(|w| w.asked_outlet_c)).max_by(f64::total_cmp)
}

/// Water behind the header that the boilers cannot be made to give: more dilution than the controller adds to the target of boilers
/// that are told one, or an outlet hotter than a boiler may be. The rows of the study are those of the water that can be made.
pub fn out_of_reach(config: &Config, study: &CurveStudy) -> Vec<Finding> {
    let mut out = Vec::new();
    let trim_k = f64::from(config.reset.header_trim_max.centi_k()) / 100.0;
    let lift = |r: &Row| r.water.map(|w| (r.outdoor_c, w.asked_outlet_c - r.supply_c));
    let worst = study.rows.iter().filter_map(lift).max_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((outdoor_c, lift_k)) = worst
        && lift_k > trim_k + DILUTION_K
        && config.boilers.iter().any(|b| matches!(b.drive, BoilerDrive::Target { .. }))
    {
        out.push(Finding::new(Subject::Header, Severity::Warning, Issue::TrimShort { outdoor_c, lift_k, trim_k }));
    }
    let Some(outlet_c) = asked_c(study) else { return out };
    for (k, b) in config.boilers.iter().enumerate() {
        let most_c = c(b.outlet_max);
        if outlet_c > most_c + DILUTION_K {
            let about = Subject::Boiler(BoilerId(k as u8));
            out.push(Finding::new(about, Severity::Warning, Issue::OutletOver { outlet_c, most_c }));
        }
    }
    out
}

/// The highest target of the reset in the hours after a setback, where the target is raised then.
fn boosted_c(config: &Config, study: &CurveStudy) -> Option<f64> {
    let r = &config.reset;
    if r.schedule.is_none() || r.boost_for.is_zero() {
        return None;
    }
    let curve_c = study.rows.iter().map(|row| row.supply_c).max_by(f64::total_cmp)?;
    Some((curve_c + f64::from(r.boost.centi_k()) / 100.0).min(c(r.supply_max)))
}

/// Boilers whose highest target lies within their own differential of the most that the controller lets their water be: they
/// would be cut off by it in ordinary work. One without a signal holds its own fixed target.
pub fn outlets_near(plant: &Plant, config: &Config, study: &CurveStudy) -> Vec<Finding> {
    let asked_c = asked_c(study);
    let tank_c = config.tank.as_ref().map(|t| c(t.target));
    let told_c = asked_c.into_iter().chain(boosted_c(config, study)).chain(tank_c).max_by(f64::total_cmp);
    let near = |(k, (b, settings)): (usize, (&crate::plant::Boiler, &heatwright_core::config::BoilerConfig))| {
        let most_c = c(settings.outlet_max);
        let (target_c, above_k) = match settings.drive {
            BoilerDrive::DemandOnly => (c(settings.fixed_target), b.control.off_above_k),
            BoilerDrive::Target { .. } => (told_c?, b.control.off_above_k),
            BoilerDrive::Rate => (told_c?, f64::from(config.staging.band.centi_k()) / 100.0),
        };
        // The controller asks for no more than the bound itself.
        let target_c = target_c.min(most_c);
        let issue = Issue::OutletNear { target_c, above_k, most_c };
        (target_c + above_k > most_c + 0.05)
            .then(|| Finding::new(Subject::Boiler(BoilerId(k as u8)), Severity::Warning, issue))
    };
    plant.boilers.iter().zip(&config.boilers).enumerate().filter_map(near).collect()
}
