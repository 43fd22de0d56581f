//! The reset curve with each zone's need, each zone's surplus on it, and the plant's load against what its boilers give.

use super::{
    ink::{BLACK, Ink},
    panel::{Line, Panel, sheet},
};
use crate::{names::Names, show::units::In};
use heatwright_core::{Subject, ZoneId};
use heatwright_sim::study::curve::{CurveStudy, Row};

/// The chart of a study of the curve.
pub fn chart(plant: &str, names: &Names, study: &CurveStudy, u: In) -> String {
    let xs: Vec<f64> = study.rows.iter().map(|r| u.temp(r.outdoor_c)).collect();
    let zones = study.rows.first().map_or(0, |r| r.zones.len());
    let ends = (xs.iter().copied().fold(f64::INFINITY, f64::min), xs.iter().copied().fold(f64::NEG_INFINITY, f64::max));
    let ends = if ends.0 < ends.1 { ends } else { (ends.0.min(0.0), ends.0.min(0.0) + 1.0) };
    let x_name = format!("Outdoor temperature, {}", u.temp_unit());
    let at = |k: usize| study.rows.iter().zip(&xs).filter_map(move |(r, x)| Some((*x, r.zones.get(k)?)));
    let name = |k: usize| names.title(Subject::Zone(ZoneId(k as u8))).into_owned();

    let mut needs = Panel::new("Supply temperature: the curve, and what each zone needs", 430);
    (needs.x, needs.x_name) = (ends, x_name.clone());
    needs.y_name = format!("Supply, {}", u.temp_unit());
    let curve = study.rows.iter().zip(&xs).map(|(r, x)| (*x, u.temp(r.supply_c))).collect();
    needs.lines.push(Line::whole("curve in effect", Ink::solid(BLACK, 4), curve));
    for k in 0..zones {
        let points = at(k).map(|(x, z)| (x, z.needed_c.map(|c| u.temp(c))));
        needs.lines.push(Line::gaps(name(k), Ink::nth(k), points));
    }
    if needs.lines.iter().any(|l| l.runs.iter().map(Vec::len).sum::<usize>() < xs.len()) {
        needs.notes.push("A gap: no water is".into());
        needs.notes.push("enough for its flow.".into());
    }
    needs.fit_y();

    let mut surplus = Panel::new("Surplus: what each emitter gives on the curve beyond the heat loss", 330);
    (surplus.x, surplus.x_name) = (ends, x_name.clone());
    surplus.y_name = format!("Surplus, {}", u.heat_unit());
    surplus.lines.push(Line::whole("", Ink::solid(BLACK, 2), vec![(ends.0, 0.0), (ends.1, 0.0)]));
    for k in 0..zones {
        let points = at(k).map(|(x, z)| (x, u.heat(z.surplus_w))).collect();
        surplus.lines.push(Line::whole(name(k), Ink::nth(k), points));
    }
    surplus.notes.push("Below zero: too little.".into());
    surplus.fit_y();

    let mut load = Panel::new("Load of the zones that call, and what the boilers give at full fire", 300);
    (load.x, load.x_name) = (ends, x_name);
    load.y_name = format!("Heat, {}", u.heat_unit());
    let needed = study.rows.iter().zip(&xs).map(|(r, x)| (*x, u.heat(r.water.map_or(0.0, |w| w.load_w)))).collect();
    load.lines.push(Line::whole("load", Ink::solid(BLACK, 4), needed));
    load.notes.push("Load: losses less gains.".into());
    for k in 0..study.rows.first().map_or(0, |r| r.outputs_w.len()) {
        let first_w = |r: &Row| r.outputs_w.iter().take(k + 1).sum::<f64>();
        let given = study.rows.iter().zip(&xs).map(|(r, x)| (*x, u.heat(first_w(r)))).collect();
        let name = if k == 0 { "first boiler".to_owned() } else { format!("first {} boilers", k + 1) };
        load.lines.push(Line::whole(name, Ink::nth(k), given));
    }
    load.fit_y();
    sheet(&format!("Reset curve of {plant}"), "steady state at each outdoor temperature", &[needs, surplus, load])
}
