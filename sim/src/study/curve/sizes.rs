//! Boilers against what they carry at design: too much of them, too little air for their plates, a tank beside the zones.
//!
//! At design the zones need what they lose, and the tank's coil takes what its law gives between the tank's target and a tank that has
//! just called: `Q = W (1 - exp(-K / W)) ΔT` with `W` the water's capacity rate and `K` the coil's conductance. A boiler gives its full
//! input by its efficiency at the return of the design row.
//!
//! Altitude: a gas burner without a rating of its own for the height gives 4 % less for each 1,000 ft (305 m) above the sea, counted
//! where the site lies above 2,000 ft (610 m): NFPA 54, from memory; local codes and the maker's instructions go before it.

use super::{CurveStudy, Reach, boilers::EFFICIENCY_FOR_COUNT, need, water::Waters};
use crate::{
    fluid::RUN_C,
    plant::Plant,
    study::{Finding, Issue},
};
use heatwright_core::{BoilerId, Config, Severity, Span, Subject};

/// A boiler that gives more than this many times what zones and tank take at design is large: our choice.
const LARGE_TIMES: f64 = 2.0;
/// Above this height a plate's input counts for less, in metres: 2,000 ft.
const HIGH_M: f64 = 609.6;
/// Share of the input that each metre above the sea takes.
const DERATE_PER_M: f64 = 0.04 / 304.8;

/// What there is at design, in watts.
struct Design {
    outdoor_c: f64,
    zones_w: f64,
    /// A tank's coil; 0 without one.
    coil_w: f64,
    /// All boilers at full fire, summed up to each.
    outputs_w: Vec<f64>,
}

impl Design {
    fn of(plant: &Plant, config: &Config, study: &CurveStudy) -> Option<Self> {
        let row = study.rows.first()?;
        let outputs_w = Waters::new(plant, Reach::own()).outputs_w(row.water?.boiler_return_c);
        let zones_w = row.zones.iter().map(|z| z.load_w).sum();
        Some(Self { outdoor_c: row.outdoor_c, zones_w, coil_w: coil_w(plant, config), outputs_w })
    }

    fn output_w(&self) -> f64 {
        self.outputs_w.last().copied().unwrap_or(0.0)
    }

    /// The boiler that gives most, and how much.
    fn largest(&self) -> Option<(BoilerId, f64)> {
        let before = std::iter::once(&0.0).chain(&self.outputs_w);
        let each = self.outputs_w.iter().zip(before).map(|(sum, before)| sum - before);
        (0u8..).map(BoilerId).zip(each).max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

fn coil_w(plant: &Plant, config: &Config) -> f64 {
    let Some((t, tank)) = plant.tank.as_ref().zip(config.tank.as_ref()) else { return 0.0 };
    let flow_w_k = t.flow_kg_s * plant.fluid.specific_heat_j_kgk(RUN_C);
    let target_c = f64::from(tank.target.centi_c()) / 100.0;
    let over_k = (target_c - (t.set_c - t.differential_k)).max(0.0);
    flow_w_k * (1.0 - (-t.coil_w_k / flow_w_k.max(f64::MIN_POSITIVE)).exp()) * over_k
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
    let shed = tank.priority_max != Span::ZERO && d.outdoor_c >= above_c;
    let (zones_w, coil_w, output_w) = (d.zones_w, d.coil_w, d.output_w());
    let issue = Issue::TankBeside { outdoor_c: d.outdoor_c, zones_w, coil_w, output_w };
    (!shed && zones_w <= output_w && zones_w + coil_w > output_w)
        .then(|| Finding::new(Subject::Tank, Severity::Warning, issue))
}

/// A boiler far larger than all that it ever carries, and plates that do not hold at the site's altitude.
pub fn sizes(plant: &Plant, config: &Config, study: &CurveStudy) -> Vec<Finding> {
    let Some(d) = Design::of(plant, config, study) else { return Vec::new() };
    let mut out = Vec::new();
    let need_w = d.zones_w + d.coil_w;
    if let Some((boiler, output_w)) = d.largest()
        && need_w > 0.0
        && output_w > LARGE_TIMES * need_w
    {
        let issue = Issue::BoilerLarge { outdoor_c: d.outdoor_c, output_w, need_w, times: output_w / need_w };
        out.push(Finding::new(Subject::Boiler(boiler), Severity::Note, issue));
    }
    let altitude_m = plant.site.altitude_m;
    if altitude_m > HIGH_M {
        let less = (DERATE_PER_M * altitude_m).min(1.0);
        let output_w = d.output_w() * (1.0 - less);
        let short = d.zones_w > output_w && d.zones_w <= d.output_w();
        let issue = Issue::AltitudeHigh { altitude_m, less_percent: 100.0 * less, output_w, zones_w: d.zones_w };
        out.push(Finding::new(Subject::Plant, if short { Severity::Warning } else { Severity::Note }, issue));
    }
    out
}
