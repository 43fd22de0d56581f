//! Boilers against what they carry at design: too much of them, too little air for their plates, a tank beside the zones.
//!
//! At design the zones need what they lose, and the tank's coil takes what its law gives between the tank's target and a tank that has
//! just called, by the law of [`tank`](crate::tank). A boiler gives its full
//! input by its efficiency at the return of the design row.
//!
//! What a site's altitude takes stands in [`altitude`](crate::boiler::altitude). A boiler whose plant file says what its input holds for is
//! not asked again.

use super::{CurveStudy, Row, boilers::EFFICIENCY_FOR_COUNT, need};
use crate::{
    boiler::altitude,
    fluid::RUN_C,
    plant::Plant,
    study::{Finding, Issue},
    tank,
};
use heatwright_core::{BoilerId, Config, Severity, Span, Subject};

/// A boiler that gives more than this many times what zones and tank take at design is large: our choice.
const LARGE_TIMES: f64 = 2.0;
/// All boilers but the largest give more than this many times what zones and tank take: too much of them, a spare counted off. Our choice.
const PLANT_LARGE_TIMES: f64 = 1.5;
/// Without the boiler that gives most the others cover less than this share of what the zones lose at design: our choice, a little less
/// than the two thirds at which each of two boilers is commonly sized (common practice, no source).
const SPARE_SHARE: f64 = 0.6;

/// What there is at design, in watts.
struct Design<'a> {
    row: &'a Row,
    zones_w: f64,
    /// A tank's coil; 0 without one.
    coil_w: f64,
}

impl<'a> Design<'a> {
    fn of(plant: &Plant, config: &Config, study: &'a CurveStudy) -> Option<Self> {
        let row = study.rows.first().filter(|r| r.water.is_some())?;
        let zones_w = row.zones.iter().map(|z| z.load_w).sum();
        Some(Self { row, zones_w, coil_w: coil_w(plant, config) })
    }
}

fn coil_w(plant: &Plant, config: &Config) -> f64 {
    let Some((t, tank)) = plant.tank.as_ref().zip(config.tank.as_ref()) else { return 0.0 };
    let flow_w_k = t.flow_kg_s * plant.fluid.specific_heat_j_kgk(RUN_C);
    let target_c = f64::from(tank.target.centi_c()) / 100.0;
    let over_k = (target_c - (t.set_c - t.differential_k)).max(0.0);
    flow_w_k * tank::effectiveness(t.coil_w_k, flow_w_k) * over_k
}

/// What the zones lose at an outdoor temperature, and about what all boilers give at full fire, in watts; the tank is not in it.
pub fn load_and_output_w(plant: &Plant, outdoor_c: f64) -> (f64, f64) {
    let load_w = need::needs(plant, outdoor_c).iter().map(|n| n.load_w).sum();
    (load_w, EFFICIENCY_FOR_COUNT * plant.boilers.iter().map(|b| b.input_w).sum::<f64>())
}

/// Where the tank has no priority at design, its coil is fed beside the zones: together more than the boilers give.
pub fn tank_beside(plant: &Plant, config: &Config, study: &CurveStudy) -> Option<Finding> {
    let (tank, d) = (config.tank.as_ref()?, Design::of(plant, config, study)?);
    let above_c = f64::from(tank.priority_above.centi_c()) / 100.0;
    let shed = tank.priority_max != Span::ZERO && d.row.outdoor_c >= above_c;
    let (zones_w, coil_w, output_w) = (d.zones_w, d.coil_w, d.row.output_w());
    let issue = Issue::TankBeside { outdoor_c: d.row.outdoor_c, zones_w, coil_w, output_w };
    (!shed && zones_w <= output_w && zones_w + coil_w > output_w)
        .then(|| Finding::new(Subject::Tank, Severity::Warning, issue))
}

/// A boiler far larger than all that it ever carries, and plates that may not hold at the site's altitude: those of the boilers in
/// `unsaid`, which do not say what their input holds for.
pub fn sizes(plant: &Plant, config: &Config, study: &CurveStudy, unsaid: &[BoilerId]) -> Vec<Finding> {
    let Some(d) = Design::of(plant, config, study) else { return Vec::new() };
    let mut out = Vec::new();
    let need_w = d.zones_w + d.coil_w;
    if let Some((boiler, output_w)) = d.row.largest()
        && need_w > 0.0
        && output_w > LARGE_TIMES * need_w
    {
        let issue = Issue::BoilerLarge { outdoor_c: d.row.outdoor_c, output_w, need_w, times: output_w / need_w };
        out.push(Finding::new(Subject::Boiler(boiler), Severity::Note, issue));
    }
    if d.row.outputs_w.len() > 1
        && need_w > 0.0
        && let Some((largest, largest_w)) = d.row.largest()
    {
        let (outdoor_c, output_w, zones_w) = (d.row.outdoor_c, d.row.output_w(), d.zones_w);
        let others_w = output_w - largest_w;
        let enough = largest_w <= LARGE_TIMES * need_w;
        if enough && others_w > PLANT_LARGE_TIMES * need_w {
            let times = output_w / need_w;
            let issue = Issue::PlantLarge { outdoor_c, output_w, others_w, need_w, times };
            out.push(Finding::new(Subject::Plant, Severity::Note, issue));
        }
        if others_w < SPARE_SHARE * zones_w {
            let issue = Issue::SpareShort { outdoor_c, others_w, zones_w };
            out.push(Finding::new(Subject::Boiler(largest), Severity::Note, issue));
        }
    }
    let (altitude_m, less) = (plant.site.altitude_m, altitude::lost_share(plant.site.altitude_m));
    if less > 0.0 && !unsaid.is_empty() {
        let full_w = d.row.output_w();
        let lost_w: f64 = unsaid.iter().filter_map(|b| d.row.outputs_w.get(b.index())).map(|w| less * w).sum();
        let output_w = full_w - lost_w;
        let short = d.zones_w > output_w && d.zones_w <= full_w;
        let issue = Issue::AltitudeHigh { altitude_m, less_percent: 100.0 * less, output_w, zones_w: d.zones_w };
        out.push(Finding::new(Subject::Plant, if short { Severity::Warning } else { Severity::Note }, issue));
    }
    out
}
