//! Settings of the core that a technician might choose for a plant of the tests.

use heatwright_core::{Config, Span, Temp, TempDelta, ZoneId, config::*, units::Permille};
use heatwright_sim::{
    Plant,
    plant::{Drive, Mix},
};

fn c(v: i16) -> Temp {
    Temp::from_c(v)
}

fn k(v: i16) -> TempDelta {
    TempDelta::from_k(v)
}

/// Settings that a technician might choose for one of the plants.
pub fn config(plant: &Plant) -> Config {
    let s = Span::from_s;
    let zones = plant.zones.iter().map(|z| ZoneConfig {
        drive: match z.drive {
            Drive::Pump(p) => ZoneDrive::Pump(p),
            Drive::Valve { pump, .. } => ZoneDrive::Valve { pump },
        },
        circulation: Circulation::OnCall,
        debounce: s(5),
        call_min: s(60),
        overrun: s(120),
        flow_w_per_k: 0,
        sheddable: true,
        mix: match z.mix {
            Some(Mix::Modulated { .. }) => Some(MixConfig {
                mixed_max: c(45),
                mixed_design: c(40),
                room: c(20),
                band: k(20),
                integral: s(120),
                stroke: s(120),
            }),
            Some(Mix::SelfActing { .. }) | None => None,
        },
    });
    let pumps = plant.pumps.iter().map(|p| PumpConfig {
        role: p.role,
        on_min: s(30),
        off_min: s(20),
        exercise_every: Span::from_h(72),
        exercise_for: s(60),
    });
    let boilers = plant.boilers.iter().map(|b| BoilerConfig {
        firing: Firing::Modulating { minimum: Permille::new((b.minimum_share * 1000.0) as u16) },
        drive: b.drive,
        pump: b.pump,
        input_w: b.input_w as u32,
        on_min: s(180),
        off_min: s(180),
        flow_proof_max: s(30),
        flame_proof_max: s(120),
        post_purge: s(30),
        pump_overrun: s(240),
        retry_after: s(300),
        outlet_max: c(90),
        fixed_target: c(75),
    });
    let safeties = plant.safeties.iter().map(|x| SafetyConfig {
        kind: x.kind,
        scope: x.scope,
        circuit: x.circuit,
        reset: x.reset,
    });
    let points = [(-15, 75), (16, 32)].map(|(o, w)| CurvePoint { outdoor: c(o), supply: c(w) });
    Config {
        points: plant.points.clone(),
        reset: ResetConfig {
            points: heapless_vec(points),
            supply_min: c(32),
            supply_max: c(80),
            outdoor_filter: Span::from_h(1),
            warm_weather_off: c(18),
            warm_weather_differential: k(2),
            setback: k(0),
            boost: k(0),
            boost_for: Span::ZERO,
            schedule: None,
            outdoor_fallback: c(-15),
            header_trim_max: k(6),
            demand_trim_max: TempDelta::ZERO,
        },
        zones: heapless_vec(zones),
        pumps: heapless_vec(pumps),
        pump_stagger: s(2),
        boilers: heapless_vec(boilers),
        safeties: heapless_vec(safeties),
        staging: StagingConfig {
            band: k(3),
            up_error_k_s: 1500,
            down_error_k_s: 1500,
            up_rate: Permille::new(850),
            down_rate: Permille::new(400),
            rate_hold: s(300),
            start_spacing: s(120),
            band_pi: k(20),
            integral: s(600),
            modulation: Modulation::Parallel,
            stage_by: StageBy::Error,
            low_load: LowLoadConfig::NONE,
        },
        rotation: RotationConfig { policy: RotationPolicy::HoursDifference(24), off_order: OffOrder::FirstOnFirstOff },
        purge: PurgeConfig { to: PurgeTo::Zone(ZoneId(0)), otherwise: None, time_max: s(300), until: c(45) },
        tank: plant.tank.as_ref().map(|t| TankConfig {
            pump: t.pump,
            target: c(75),
            debounce: s(5),
            purge_max: c(62),
            priority_max: Span::from_min(30),
            priority_above: c(-12),
            overrun: s(60),
            flow_w_per_k: 0,
        }),
        guard: GuardConfig {
            frost_outdoor: c(-25),
            frost_water: c(4),
            frozen_after: Span::from_h(6),
            damper_proof_max: s(60),
            damper_retry_after: s(120),
            low_water_stops_pumps: false,
            valve_travel_max: Span::ZERO,
            hot_cuts: 0,
            hot_cuts_within: Span::ZERO,
        },
        schedules: heapless_vec(plant.schedules.iter().cloned()),
        enable: PlantEnable::AnyCall,
    }
}

/// Collects into any list type of the core's configuration.
fn heapless_vec<T, V: FromIterator<T>>(items: impl IntoIterator<Item = T>) -> V {
    items.into_iter().collect()
}
