//! Plant to controller: the same facts in the controller's integers.
//!
//! Temperatures round to 0.01 K, times to 0.1 s, shares to a thousandth. The reset curve comes in from outside, since it may
//! have been computed from the emitters by the simulator's law.

use crate::{
    finding::Finding,
    names::Names,
    plant::{
        carrier,
        checked::{self, Drive, Plant},
        quantity::{Flow, Temp},
    },
};
use heatwright_core::{
    self as hc, Points, Severity, Span,
    config::{
        BoilerConfig, BoilerDrive, Config, CurvePoint, Firing, GuardConfig, LowLoadConfig, MixConfig, PumpConfig,
        PurgeConfig, ResetConfig, RotationConfig, SafetyConfig, StagingConfig, TankConfig, ZoneConfig,
    },
};
use heatwright_sim::plant::Fluid;

/// No circulator starts within this time of another: several together would dip the control voltage. Our choice.
const PUMP_STAGGER: Span = Span::from_s(2);
/// A zone valve's end switch must follow its relay this soon. Our choice: a heat motor takes three to five minutes.
const VALVE_TRAVEL: Span = Span::from_min(10);
/// The damper is asked once more this long after it failed to prove open. Our choice: a spring return and a full stroke.
const DAMPER_RETRY: Span = Span::from_min(3);

/// The controller's configuration of a plant. `curve` is the reset curve, typed or computed, in degrees Celsius
/// (outdoor, supply), rising in outdoor temperature.
pub fn config(plant: &Plant, points: &Points, curve: &[(f64, f64)], names: &Names) -> Result<Config, Vec<Finding>> {
    let c = |v: f64| Temp::from_c(v).to_core();
    let r = &plant.reset;
    let s = &plant.staging;
    let g = &plant.guard;
    let fluid = super::sim::fluid(&plant.fluid);
    let mut faults = Vec::new();
    let mut full = |what: &str| {
        faults.push(
            Finding::new(
                "L04",
                Severity::Error,
                hc::Subject::Plant,
                format!("the plant has more {what} than the controller holds"),
            )
            .hint("split the plant between two controllers"),
        );
    };

    let config = Config {
        points: points.clone(),
        reset: ResetConfig {
            points: collect(
                curve.iter().map(|&(outdoor, supply)| CurvePoint { outdoor: c(outdoor), supply: c(supply) }),
            )
            .unwrap_or_else(|| {
                full("points on the reset curve");
                Default::default()
            }),
            supply_min: r.supply_min.to_core(),
            supply_max: r.supply_max.to_core(),
            outdoor_filter: r.outdoor_filter.to_core(),
            warm_weather_off: r.warm_weather_off.to_core(),
            warm_weather_differential: r.warm_weather_differential.to_core(),
            setback: r.setback.to_core(),
            boost: r.boost.to_core(),
            boost_for: r.boost_for.to_core(),
            schedule: r.schedule,
            outdoor_fallback: r.outdoor_fallback.to_core(),
            header_trim_max: r.header_trim_max.to_core(),
            demand_trim_max: r.demand_trim_max.to_core(),
        },
        zones: collect(plant.zones.iter().map(|z| zone(z, &fluid))).unwrap_or_else(|| {
            full("zones");
            Default::default()
        }),
        pumps: collect(plant.pumps.iter().map(pump)).unwrap_or_else(|| {
            full("pumps");
            Default::default()
        }),
        pump_stagger: PUMP_STAGGER,
        boilers: collect(plant.boilers.iter().map(boiler)).unwrap_or_else(|| {
            full("boilers");
            Default::default()
        }),
        safeties: collect(plant.safeties.iter().map(|s| SafetyConfig {
            kind: s.kind,
            scope: s.scope,
            circuit: s.circuit,
            reset: s.reset,
        }))
        .unwrap_or_else(|| {
            full("safeties");
            Default::default()
        }),
        staging: StagingConfig {
            band: s.band.to_core(),
            up_error_k_s: kelvin_seconds(s.up_error.k_min),
            down_error_k_s: kelvin_seconds(s.down_error.k_min),
            up_rate: s.up_rate.to_core(),
            down_rate: s.down_rate.to_core(),
            rate_hold: s.rate_hold.to_core(),
            start_spacing: s.start_spacing.to_core(),
            band_pi: s.band_pi.to_core(),
            integral: s.integral.to_core(),
            modulation: s.modulation,
            stage_by: s.stage_by,
            low_load: LowLoadConfig { run_min: s.low_load_run.to_core(), band: s.low_load_band.to_core() },
        },
        rotation: RotationConfig { policy: plant.rotation.policy, off_order: plant.rotation.off_order },
        purge: PurgeConfig {
            to: plant.purge.to,
            otherwise: plant.purge.otherwise,
            time_max: plant.purge.time_max.to_core(),
            until: plant.purge.until.to_core(),
        },
        tank: plant.tank.as_ref().map(|t| TankConfig {
            pump: t.pump,
            target: t.target.to_core(),
            debounce: t.debounce.to_core(),
            purge_max: t.purge_max.to_core(),
            priority_max: t.priority_max.to_core(),
            priority_above: t.priority_above.to_core(),
            overrun: t.overrun.to_core(),
            flow_w_per_k: plant.pumps.get(t.pump.index()).map_or(0, |p| heat_per_kelvin(p.flow, &fluid)),
        }),
        guard: GuardConfig {
            frost_outdoor: g.frost_outdoor.to_core(),
            frost_water: g.frost_water.to_core(),
            frozen_after: g.frozen_after.to_core(),
            damper_proof_max: plant.damper.as_ref().map_or(Span::ZERO, |d| d.proof_max.to_core()),
            damper_retry_after: DAMPER_RETRY,
            low_water_stops_pumps: g.low_water_stops_pumps,
            valve_travel_max: VALVE_TRAVEL,
            hot_cuts: g.hot_cuts,
            hot_cuts_within: g.hot_cuts_within.to_core(),
        },
        schedules: collect(plant.schedules.iter().cloned()).unwrap_or_else(|| {
            full("schedules");
            Default::default()
        }),
        enable: s.enable,
    };
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut faults = Vec::new();
    config.check(|f| faults.push(super::findings::config(f, names)));
    if faults.is_empty() { Ok(config) } else { Err(faults) }
}

/// A fixed-capacity list, or nothing when it overflows.
fn collect<T, const N: usize>(items: impl Iterator<Item = T>) -> Option<heapless::Vec<T, N>> {
    let mut out = heapless::Vec::new();
    for i in items {
        out.push(i).ok()?;
    }
    Some(out)
}

fn kelvin_seconds(k_min: f64) -> u32 {
    (k_min * 60.0).round().clamp(0.0, f64::from(u32::MAX)) as u32
}

/// Heat that a design flow of the plant's fluid carries for each kelvin, in watts.
fn heat_per_kelvin(flow: Flow, fluid: &Fluid) -> u32 {
    (flow.l_s * carrier::j_l_k(fluid)).round().clamp(0.0, f64::from(u32::MAX)) as u32
}

fn zone(z: &checked::Zone, fluid: &Fluid) -> ZoneConfig {
    ZoneConfig {
        drive: z.drive,
        circulation: z.circulation,
        debounce: z.debounce.to_core(),
        call_min: z.call_min.to_core(),
        overrun: z.overrun.to_core(),
        sheddable: z.sheddable,
        mix: z.mixing.as_ref().map(|m| MixConfig {
            mixed_max: m.mixed_max.to_core(),
            mixed_design: m.mixed_design.to_core(),
            room: z.room.to_core(),
            band: m.band.to_core(),
            integral: m.integral.to_core(),
            stroke: m.stroke.to_core(),
        }),
        flow_w_per_k: heat_per_kelvin(z.flow, fluid),
    }
}

fn pump(p: &checked::Pump) -> PumpConfig {
    PumpConfig {
        role: p.role,
        on_min: p.on_min.to_core(),
        off_min: p.off_min.to_core(),
        exercise_every: p.exercise_every.to_core(),
        exercise_for: p.exercise_for.to_core(),
    }
}

fn boiler(b: &checked::Boiler) -> BoilerConfig {
    BoilerConfig {
        firing: match b.firing {
            checked::Firing::OnOff => Firing::OnOff,
            checked::Firing::Modulating { minimum } => Firing::Modulating { minimum: minimum.to_core() },
        },
        drive: match b.drive {
            Drive::DemandOnly => BoilerDrive::DemandOnly,
            Drive::Target { low, high } => BoilerDrive::Target { low: low.to_core(), high: high.to_core() },
            Drive::Rate => BoilerDrive::Rate,
        },
        pump: b.pump,
        input_w: b.input.w.round().clamp(0.0, f64::from(u32::MAX)) as u32,
        on_min: b.on_min.to_core(),
        off_min: b.off_min.to_core(),
        flow_proof_max: b.flow_proof_max.to_core(),
        flame_proof_max: b.flame_proof_max.to_core(),
        post_purge: b.burner.post_purge.to_core(),
        pump_overrun: b.pump_overrun.to_core(),
        retry_after: b.retry_after.to_core(),
        outlet_max: b.outlet_max.to_core(),
        fixed_target: b.fixed_target.to_core(),
    }
}
