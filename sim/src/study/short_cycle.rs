//! Short cycling: the smallest zone, alone, against the smallest fire of a boiler that leads.
//!
//! While only zone `z` calls it takes `q` (W), what its emitter gives at the curve's supply. The lead's smallest fire gives `p` (W). A
//! lone zone is the lead's: with an order that is fixed that is the first boiler, with any other each in its turn, and the worst
//! of them counts.
//! With `q < p` the burner must cycle over its band `d` (K) on the water and metal that take part, `K` (J/K):
//!
//! * burn `t_on = K d / (p - q)`, rest `t_off = K d / q`, both in s; the burn is shortest at the smallest `q`;
//! * starts an hour `n = 3600 / (t_on + t_off)`; for a given `p` they are most at `q = p/2`, where `n = 900 p / (K d)`;
//! * water for a wanted burn `t`: `V = t (p - q) / (c d)`, with `c` the heat capacity of a litre in J/K; what is there is taken off.
//!
//! Source: the last line is the buffer-tank formula of hydronics texts, `V = t (Q_source - Q_load) / (500 dT)` in US units; the
//! rest follows from the same balance. The band is the boiler's own where it controls its temperature, and twice the
//! controller's staging band where the controller sets the rate.
//!
//! What takes part: the boiler, the header and pipes, the zone, all of it as warm as the boiler's outlet. So `t_on` is the longest that a
//! burn can be: a boiler that starts below its target begins on more than its smallest fire, and what comes back is colder than the outlet
//! that its control looks at, by the rise through the boiler and by the time that the water is under way, so that the
//! band is passed before all of the water has warmed by it. Left out are also losses while off, minimum off times and purge, which lengthen
//! the rest. So the starts are no bound but a measure. The efficiency of the smallest fire is taken at the curve's own supply as return, on
//! the low side of `p`.
//!
//! A burn ends with its call as well. A thermostat that cycles `N` times an hour at half load calls for `t = 3600 / (4 N (1 - x))` s at the
//! share `x` of its emitter's heat: the parabola `n = 4 N x (1 - x)` of its cycles, of which a call is the share `x` (common practice, no
//! source).

use super::{
    Finding, Issue,
    curve::{need::given_c, target_c},
};
use crate::{boiler::efficiency::EfficiencyTable, fluid::RUN_C, plant::Plant};
use heatwright_core::{
    BoilerId, Severity, Subject, ZoneId,
    config::{BoilerDrive, ResetConfig, RotationPolicy},
};

/// A burn shorter than this is worth a finding, in seconds: ten minutes, as in the textbook's buffer example; our choice.
pub const WANTED_BURN_S: f64 = 600.0;
/// More starts an hour than this are worth a finding; common practice, no source.
pub const CYCLES_PER_H_MAX: f64 = 6.0;

/// Lengths of a burner's cycle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cycle {
    /// Burn, in seconds; infinite where the load takes all.
    pub burn_s: f64,
    /// Starts an hour; zero where the load takes all.
    pub cycles_per_h: f64,
}

/// The cycle of a source on a load, both in watts, over a band in kelvin of a heat capacity in joules per kelvin.
pub fn cycle(source_w: f64, load_w: f64, band_k: f64, capacity_j_k: f64) -> Cycle {
    let burn_s = if load_w >= source_w { f64::INFINITY } else { capacity_j_k * band_k / (source_w - load_w) };
    let rest_s = capacity_j_k * band_k / load_w.max(f64::MIN_POSITIVE);
    Cycle { burn_s, cycles_per_h: if burn_s.is_finite() { 3600.0 / (burn_s + rest_s) } else { 0.0 } }
}

/// Water in litres that makes a burn last, with a litre's heat capacity in joules per kelvin.
pub fn buffer_l(burn_s: f64, source_w: f64, load_w: f64, band_k: f64, litre_j_k: f64) -> f64 {
    burn_s * (source_w - load_w).max(0.0) / (litre_j_k * band_k)
}

/// How long a thermostat of so many cycles an hour at half load calls at a share of its emitter's heat, in seconds; infinite where it
/// calls all the time or has no cycle rate.
pub fn call_s(cycles_per_h: f64, share: f64) -> f64 {
    let calls = cycles_per_h > 0.0 && share < 1.0;
    if calls { 3600.0 / (4.0 * cycles_per_h * (1.0 - share.max(0.0))) } else { f64::INFINITY }
}

/// The smallest zone on one boiler's smallest fire, at one outdoor temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShortCycle {
    /// Outdoor temperature, in degrees Celsius.
    pub outdoor_c: f64,
    /// Supply of the curve there, in degrees Celsius.
    pub supply_c: f64,
    /// The zone that takes least.
    pub zone: ZoneId,
    /// What it takes, in watts.
    pub draw_w: f64,
    /// The boiler that leads.
    pub boiler: BoilerId,
    /// What its smallest fire gives, in watts.
    pub source_w: f64,
    /// The band, in kelvin.
    pub band_k: f64,
    /// Water and metal that take part, in joules per kelvin.
    pub capacity_j_k: f64,
    /// The cycle that follows, while its call lasts.
    pub cycle: Cycle,
    /// How long its thermostat calls, in seconds; infinite where it calls all the time or has no cycle rate.
    pub call_s: f64,
    /// Water to add for [`WANTED_BURN_S`], in litres.
    pub extra_l: f64,
}

/// The boilers that may have a lone zone to themselves: the first where the order is fixed, else every one.
pub fn leads(plant: &Plant, policy: RotationPolicy) -> Vec<BoilerId> {
    let count = if policy == RotationPolicy::Fixed { plant.boilers.len().min(1) } else { plant.boilers.len() };
    (0..count).map(|i| BoilerId(i as u8)).collect()
}

/// The smallest zone against the smallest fire of a boiler that leads, at an outdoor temperature in degrees Celsius; `None` without
/// zones or without that boiler. `staging_band_k` is the controller's staging band, in kelvin.
pub fn at(
    plant: &Plant,
    reset: &ResetConfig,
    staging_band_k: f64,
    (outdoor_c, boiler): (f64, BoilerId),
) -> Option<ShortCycle> {
    let supply_c = target_c(reset, outdoor_c);
    let specific = plant.fluid.specific_heat_j_kgk(RUN_C);
    let draw = |z: &crate::plant::Zone| {
        let given_c = given_c(z, reset, outdoor_c, supply_c);
        z.emitter.at_flow(given_c, z.flow_kg_s * specific, z.thermostat.set_c).heat_w
    };
    let smallest = |values: Vec<f64>| values.into_iter().enumerate().min_by(|a, b| a.1.total_cmp(&b.1));
    let (zone, draw_w) = smallest(plant.zones.iter().map(draw).collect())?;
    let fire = |b: &crate::plant::Boiler| {
        let table = EfficiencyTable::new(&b.efficiency, b.minimum_share, plant.site.altitude_m);
        b.input_w * b.minimum_share * table.at(supply_c, b.minimum_share).0
    };
    let (z, b) = (plant.zones.get(zone)?, plant.boilers.get(boiler.index())?);
    let source_w = fire(b);
    let band_k = match b.drive {
        BoilerDrive::DemandOnly | BoilerDrive::Target { .. } => b.control.on_below_k + b.control.off_above_k,
        BoilerDrive::Rate => 2.0 * staging_band_k,
    };
    let h = &plant.header;
    let pipes_l = h.water_l + h.secondary_supply_l + h.secondary_return_l + h.primary_supply_l + h.primary_return_l;
    let litre_j_k = plant.fluid.capacity_j_k(1.0);
    let capacity_j_k = (pipes_l + b.water_l + z.water_l) * litre_j_k + b.metal_j_k + z.metal_j_k;
    let extra_l = buffer_l(WANTED_BURN_S, source_w, draw_w, band_k, litre_j_k) - capacity_j_k / litre_j_k;
    Some(ShortCycle {
        outdoor_c,
        supply_c,
        zone: ZoneId(zone as u8),
        draw_w,
        boiler,
        source_w,
        band_k,
        capacity_j_k,
        cycle: cycle(source_w, draw_w, band_k, capacity_j_k),
        call_s: call_s(z.thermostat.cycles_per_h, z.loss_w_k() * (z.thermostat.set_c - outdoor_c) / draw_w),
        extra_l: extra_l.max(0.0),
    })
}

/// The worst of the outdoor temperatures from design to warm-weather shutdown. The two seldom coincide: starts are most at half
/// the fire, a burn is shortest at the smallest draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worst {
    /// Where the burner starts most often.
    pub most_starts: ShortCycle,
    /// Where its burn is shortest; the first of equals.
    pub shortest_burn: ShortCycle,
}

/// The worst cycles of these leads, looked for in steps of 1 K, and what is worth telling of them.
pub fn study(
    plant: &Plant,
    reset: &ResetConfig,
    staging_band_k: f64,
    leads: &[BoilerId],
) -> (Option<Worst>, Vec<Finding>) {
    let warm_c = f64::from(reset.warm_weather_off.centi_c()) / 100.0;
    let steps = (warm_c - plant.site.design_outdoor_c).clamp(0.0, 150.0) as usize;
    let outdoors = (0..=steps).map(|k| plant.site.design_outdoor_c + k as f64);
    let all = outdoors.flat_map(|outdoor_c| {
        leads.iter().filter_map(move |lead| at(plant, reset, staging_band_k, (outdoor_c, *lead)))
    });
    let worst = all.fold(None, |worst: Option<Worst>, c| {
        let mut w = worst.unwrap_or(Worst { most_starts: c, shortest_burn: c });
        if c.cycle.cycles_per_h >= w.most_starts.cycle.cycles_per_h {
            w.most_starts = c;
        }
        if c.cycle.burn_s < w.shortest_burn.cycle.burn_s {
            w.shortest_burn = c;
        }
        Some(w)
    });
    (worst, worst.map(findings).unwrap_or_default())
}

fn findings(w: Worst) -> Vec<Finding> {
    let warn = |c: ShortCycle, issue| Finding::new(Subject::Zone(c.zone), Severity::Warning, issue);
    let (most, short) = (w.most_starts, w.shortest_burn);
    let mut out = Vec::new();
    if most.cycle.cycles_per_h > CYCLES_PER_H_MAX {
        let issue = Issue::ShortCycle {
            boiler: most.boiler,
            draw_w: most.draw_w,
            source_w: most.source_w,
            cycles_per_h: most.cycle.cycles_per_h,
            burn_s: most.cycle.burn_s,
            outdoor_c: most.outdoor_c,
            wanted_s: WANTED_BURN_S,
            // What the shortest burn needs is enough for every other.
            extra_l: short.extra_l,
        };
        out.push(warn(most, issue));
    }
    if short.cycle.burn_s < WANTED_BURN_S / 2.0 {
        let issue = Issue::ShortBurn {
            boiler: short.boiler,
            draw_w: short.draw_w,
            source_w: short.source_w,
            burn_s: short.cycle.burn_s,
            outdoor_c: short.outdoor_c,
            wanted_s: WANTED_BURN_S,
            extra_l: short.extra_l,
        };
        out.push(warn(short, issue));
    }
    out
}
