//! What boilers are told and what tells the controller: a 0-10 V scale that ends too low, staging without a return sensor, a curve
//! that setback takes too low, fan units without fans.

use crate::{
    finding::Finding,
    plant::{
        Loaded,
        checked::{Drive, Emitter},
        quantity::{Quantity as _, Temp},
    },
};
use heatwright_core::{BoilerId, SensorUse, Severity, Subject, ZoneId, boilers::OUTLET_BACK, config::StageBy};
use heatwright_sim::study::curve::{
    fit::line_c,
    need::{Carry, needed_c},
};

/// All of it.
pub(crate) fn all(l: &Loaded) -> Vec<Finding> {
    let mut out = Vec::new();
    if l.controlled() {
        out.extend(scale_short(l));
        out.extend(return_missing(l));
        out.extend(setback_deep(l));
    }
    out.extend(fans_missing(l));
    out.extend(fans_never(l));
    out
}

/// Water this much too cool in setback is worth telling, in kelvins: one degree Fahrenheit. Our choice.
const SHORT_K: f64 = 1.0 / 1.8;
/// Below this a difference is that of rounded units, in kelvins. Our choice.
const SLACK_K: f64 = 0.05;

/// Boilers whose 10 V means cooler water than they will be told to make.
fn scale_short(l: &Loaded) -> Vec<Finding> {
    let r = &l.plant.reset;
    let curve_c = l.curve.points.iter().map(|p| p.1).fold(r.supply_min.c, f64::max) + r.boost.k;
    let tank_c = l.plant.tank.as_ref().map_or(f64::NEG_INFINITY, |t| t.target.c);
    let target_c = curve_c.min(r.supply_max.c).max(tank_c);
    let wanted_c = target_c + r.header_trim_max.k;
    let back_k = f64::from(OUTLET_BACK.centi_k()) / 100.0;
    let short = |(i, b): (usize, &crate::plant::checked::Boiler)| {
        let Drive::Target { high, .. } = b.drive else { return None };
        // The trim takes none nearer to its bound than that.
        let told_c = wanted_c.min((b.outlet_max.c - back_k).max(target_c)).min(b.outlet_max.c);
        (high.c < told_c - SLACK_K).then(|| {
            Finding::new(
                "C10",
                Severity::Warning,
                Subject::Boiler(BoilerId(i as u8)),
                format!(
                    "10 V asks it for {} and it will be told up to {}: hotter water than its scale cannot be asked for",
                    high.show_both(),
                    Temp { c: told_c }.show_both()
                ),
            )
            .field("signal-high")
            .hint("read the scale of the signal in the boiler's instructions, and set boiler and file alike")
        })
    };
    l.plant.boilers.iter().enumerate().filter_map(short).collect()
}

/// Several boilers that hold their target by themselves are dropped by the heat required, which needs the return.
fn return_missing(l: &Loaded) -> Option<Finding> {
    let several = l.plant.boilers.iter().filter(|b| matches!(b.drive, Drive::Target { .. })).count() > 1;
    let there = l.plant.sensors.iter().any(|s| s.measures == SensorUse::Return);
    (several && !there && matches!(l.plant.staging.stage_by, StageBy::Error)).then(|| {
        Finding::new(
            "C11",
            Severity::Warning,
            Subject::Plant,
            "no sensor measures the return: boilers that hold their target by themselves are dropped by the heat that is required, \
             which is not known without it",
        )
        .hint("add a sensor under a heading like [sensor.return] with measures = \"return\"")
    })
}

/// A curve that is lowered in setback below what the rooms then need at the design temperature. Zones that do not follow the
/// curve's own schedule may be occupied then.
fn setback_deep(l: &Loaded) -> Option<Finding> {
    let r = &l.plant.reset;
    let schedule = r.schedule.filter(|_| r.setback.k > 0.0)?;
    let outdoor_c = l.physics.site.design_outdoor_c;
    let lowered_c = (line_c(&l.curve.points, outdoor_c).min(r.supply_max.c) - r.setback.k).max(r.supply_min.c);
    let need = |(i, z): (usize, &crate::plant::checked::Zone)| {
        let room_c = if z.schedule == Some(schedule) { z.room_setback.c } else { z.room.c };
        match needed_c(&l.physics, i, outdoor_c, room_c, 0.0) {
            Carry::Supply(c) => Some((ZoneId(i as u8), c)),
            // Told elsewhere: no setback is to blame.
            Carry::PastMixing(_) | Carry::Never => None,
        }
    };
    let most = l.plant.zones.iter().enumerate().filter_map(need).max_by(|a, b| a.1.total_cmp(&b.1));
    most.filter(|(_, c)| *c > lowered_c + SHORT_K).map(|(zone, c)| {
        Finding::new(
            "C14",
            Severity::Warning,
            Subject::Plant,
            format!(
                "setback lowers the curve to {} at the design temperature and {} then needs {}: it goes on cooling past its setting",
                Temp { c: lowered_c }.show_both(),
                l.names.title(Subject::Zone(zone)),
                Temp { c }.show_both()
            ),
        )
        .field("setback")
        .hint("lower the curve by less in setback, or by nothing: the thermostats set back by themselves")
    })
}

/// Fans whose aquastat waits for hotter water than the curve ever asks for.
fn fans_never(l: &Loaded) -> Vec<Finding> {
    let r = &l.plant.reset;
    let curve_c = l.curve.points.iter().map(|p| p.1).fold(r.supply_min.c, f64::max);
    let hottest_c = (curve_c + r.boost.k).min(r.supply_max.c);
    let never = |(i, z): (usize, &crate::plant::checked::Zone)| {
        let aquastat = z.fans.as_ref()?.aquastat;
        (aquastat.c > hottest_c + SLACK_K).then(|| {
            Finding::new(
                "C13",
                Severity::Error,
                Subject::Zone(ZoneId(i as u8)),
                format!(
                    "its fans wait for water of {} and the curve asks for {} at most: they never run",
                    aquastat.show_both(),
                    Temp { c: hottest_c }.show_both()
                ),
            )
            .field("fans.aquastat")
            .hint("lower the aquastat below the coolest water that is to heat: 100 °F is taken where it is left out")
        })
    };
    l.plant.zones.iter().enumerate().filter_map(never).collect()
}

/// Unit heaters and fan coils without a fan in the file.
fn fans_missing(l: &Loaded) -> Vec<Finding> {
    let missing = |(i, z): (usize, &crate::plant::checked::Zone)| {
        let driven = matches!(z.emitter, Emitter::UnitHeater(_) | Emitter::FanCoil(_));
        let about = Subject::Zone(ZoneId(i as u8));
        (driven && z.fans.is_none()).then(|| {
            Finding::new(
                "C12",
                Severity::Warning,
                about,
                format!(
                    "{} is heated by units with fans and no fans are planned: without them they give next to nothing, and full output is \
                     counted",
                    l.names.title(about)
                ),
            )
            .field("emitter")
            .hint("write the fans under its heading .fans; where others feed them, see that they run with the heat")
        })
    };
    l.plant.zones.iter().enumerate().filter_map(missing).collect()
}
