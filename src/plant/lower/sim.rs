//! Plant to physics: the same facts in the simulator's SI numbers, and what a plant file does not ask for.
//!
//! What the file does not hold is taken here, in one place, each figure with its reason:
//!
//! * **Building mass.** A zone's heat capacity is its loss coefficient times a time constant: light 20 h, medium 50 h,
//!   heavy 120 h (ranges 10 to 30, 40 to 80 and 100 to 200 h; from memory, building-physics texts). Room air and
//!   furnishings alone have 0.75 h (range 0.2 to 1 h, from memory); air and mass are joined by ten times the loss
//!   coefficient (ISO 13790: 3.45 W/m2K over 4.5 m2 of surface a m2 of floor, against 1.5 W/K a m2 of a heated building).
//! * **Thermostat.** Sensing lag 5 min (common practice, no source); differential and cycle rate are keys of the file.
//! * **Finned tube** ratings carry the 15 % heating effect of their rating standard (ASHRAE HVAC Systems and Equipment);
//!   physics takes it off.
//! * **Mean water temperature** of an emitter is the arithmetic one, as ratings have it; where the zone's own loss and flow let
//!   its water cool to less than 0.7 of the supply's excess over the room, it is the logarithmic one (European practice with EN 442
//!   ratings, from memory). It holds for curve and run alike.
//! * **Floor.** Tubes of 20 mm outside and 2 mm wall, 0.35 W/mK, in screed of 1.2 W/mK: EN 1264-2's characteristic for tubes
//!   in screed, in `sim/src/emitter/screed.rs`.
//! * **Boiler control.** Starts 5 K below and stops 4 K above its target, band 12 K, integral time 120 s (our choice).
//! * **Flue gas** leaves 3 K (low fire) to 8 K (full) above the return water in a condensing boiler (range 5 to 15 degF,
//!   from memory), 70 to 110 K above it in a boiler that must not condense (our choice, near 84 % at design).
//! * **Pump input** is volts times amps times a power factor of 0.7 (single phase) or 0.8 (three phases) (our choice).

use crate::plant::{
    carrier::{j_l_k, kg_l},
    checked::{self, Drive, Efficiency, Emitter, Glycol, Mass, Motor, Plant},
};
use heatwright_core::{
    BoilerId, Points, SensorUse,
    config::{BoilerDrive, SafetyKind, SafetyScope, ZoneDrive},
};
use heatwright_sim::{
    emitter::{self as em, MeanRule},
    plant as sp,
};

/// Heat capacity of a litre of water, joules per kelvin, at 20 °C: for metal given as water of equal capacity.
const J_L_K: f64 = 4.1834e3 * 0.9983;

/// The physical plant.
pub fn plant(p: &Plant, points: &Points) -> sp::Plant {
    let fluid = fluid(&p.fluid);
    sp::Plant {
        site: sp::Site {
            altitude_m: p.site.altitude.m,
            design_outdoor_c: p.site.outdoor_design.c,
            // 140 °F is 60 °C and a hair: a bound must not turn on the last bit of a unit factor.
            boiler_room_c: (p.site.boiler_room.c * 1e6).round() / 1e6,
        },
        fluid,
        zones: p.zones.iter().map(|z| zone(p, z, &fluid)).collect(),
        pumps: p.pumps.iter().map(|u| sp::Pump { role: u.role, power_w: pump_w(u) }).collect(),
        boilers: p.boilers.iter().map(|b| boiler(b, &fluid)).collect(),
        header: header(&p.header, p.site.boiler_room.c),
        tank: p.tank.as_ref().map(|t| tank(p, t, &fluid)),
        damper: p.damper.as_ref().map(|d| sp::Damper { stroke_s: d.stroke.s }),
        safeties: p.safeties.iter().map(|s| safety(p, s)).collect(),
        sensors: points.sensors.iter().map(|u| sensor(*u)).collect(),
        schedules: p.schedules.clone(),
        points: points.clone(),
    }
}

/// What is in the pipes.
pub fn fluid(f: &checked::Fluid) -> sp::Fluid {
    sp::Fluid {
        glycol_percent: match f.glycol {
            Glycol::None => 0.0,
            Glycol::Propylene | Glycol::Ethylene => f.share.of_one * 100.0,
        },
        glycol: match f.glycol {
            Glycol::None | Glycol::Propylene => sp::Glycol::Propylene,
            Glycol::Ethylene => sp::Glycol::Ethylene,
        },
    }
}

fn pump_w(p: &checked::Pump) -> f64 {
    let factor = match (p.phases, p.motor) {
        (3, _) => 3f64.sqrt() * 0.8,
        (_, Motor::WetRotor | Motor::Standard | Motor::ElectronicallyCommutated) => 0.7,
    };
    p.volts.v * p.amps.a * factor
}

fn zone(p: &Plant, z: &checked::Zone, fluid: &sp::Fluid) -> sp::Zone {
    let loss_w = z.design_loss.w;
    let (indoor, outdoor) = (z.room.c, p.site.outdoor_design.c);
    let ua = loss_w / (indoor - outdoor);
    let tau_h = match z.mass {
        Mass::Light => 20.0,
        Mass::Medium => 50.0,
        Mass::Heavy => 120.0,
    };
    let flow_w_k = z.flow.l_s * j_l_k(fluid);
    let (emitter, water_l) = emitter(&z.emitter, flow_w_k);
    let emitter = taken_at(emitter, &z.emitter, loss_w, flow_w_k);
    sp::Zone {
        loss_w,
        loss_indoor_c: indoor,
        loss_outdoor_c: outdoor,
        air_j_k: ua * 0.75 * 3600.0,
        mass_j_k: ua * tau_h * 3600.0,
        air_mass_w_k: ua * 10.0,
        radiant_share: match z.emitter {
            Emitter::PanelRadiator(_) | Emitter::CastIron(_) => 0.3,
            Emitter::Floor(_) => 0.5,
            Emitter::FinnedTube(_) | Emitter::FanCoil(_) | Emitter::UnitHeater(_) | Emitter::Points { .. } => 0.0,
        },
        // Metal of an emitter stores about as much as a third of its water (our choice; cast iron as much again).
        metal_j_k: water_l * J_L_K * if matches!(z.emitter, Emitter::CastIron(_)) { 1.0 } else { 0.33 },
        emitter,
        water_l,
        flow_kg_s: z.flow.l_s * kg_l(fluid),
        drive: match z.drive {
            ZoneDrive::Pump(pump) => sp::Drive::Pump(pump),
            ZoneDrive::Valve { pump } => sp::Drive::Valve {
                pump,
                stroke_s: z.valve.as_ref().map_or(0.0, |v| v.stroke.s),
                end_switch: z.valve.as_ref().is_some_and(|v| v.end_switch),
            },
        },
        thermostat: sp::Thermostat {
            set_c: indoor,
            setback_c: z.room_setback.c,
            differential_k: z.thermostat_differential.k,
            cycles_per_h: z.thermostat_cycles,
            lag_s: 300.0,
            schedule: z.schedule,
        },
        gains: sp::Gains { occupied_w: z.gains.w, setback_w: z.gains_setback.w, schedule: z.schedule },
        mix: z
            .mixing
            .as_ref()
            .map(|m| sp::Mix::Modulated { stroke_s: m.stroke.s, max_c: m.mixed_design.c.min(m.mixed_max.c) }),
        fan: z.fans.map(|f| sp::Fan {
            aquastat_c: Some(f.aquastat.c),
            differential_k: 5.0,
            still_share: 0.1,
            power_w: f.power.w * f64::from(f.count),
        }),
    }
}

/// The emitter's law and the water in it, litres; its flow as a capacity rate in watts per kelvin.
fn emitter(e: &Emitter, flow_w_k: f64) -> (em::Emitter, f64) {
    match e {
        Emitter::PanelRadiator(r) | Emitter::CastIron(r) => (power(r, flow_w_k, 1.0), r.water.l),
        Emitter::FinnedTube(r) => (power(r, flow_w_k, r.heating_effect), r.water.l),
        Emitter::FanCoil(r) | Emitter::UnitHeater(r) => (power(r, flow_w_k, 1.0), r.water.l),
        Emitter::Floor(f) => (floor(f), f.water.l),
        Emitter::Points { points, water } => (
            em::Emitter::Points {
                points: points.iter().map(|p| (p.excess.k, p.output.w)).collect(),
                mean: MeanRule::Arithmetic,
            },
            water.l,
        ),
    }
}

/// An emitter with the mean that the zone's design asks for: loss in watts, flow as a capacity rate in watts per kelvin.
fn taken_at(mut e: em::Emitter, checked: &Emitter, loss_w: f64, flow_w_k: f64) -> em::Emitter {
    let rule = e.mean_at_design(loss_w, flow_w_k);
    match &mut e {
        em::Emitter::Power { rating, mean, .. } if *mean != rule => {
            *mean = rule;
            // A rating by mean water alone was made with hardly any drop; both means are that water.
            if let Emitter::PanelRadiator(r)
            | Emitter::CastIron(r)
            | Emitter::FinnedTube(r)
            | Emitter::FanCoil(r)
            | Emitter::UnitHeater(r) = checked
                && r.supply_return.is_none()
                && r.entering.is_none()
            {
                (rating.supply_c, rating.return_c) = (r.mean_water.c, r.mean_water.c);
            }
        }
        em::Emitter::Points { mean, .. } => *mean = rule,
        em::Emitter::Power { .. } | em::Emitter::Floor { .. } => {}
    }
    e
}

fn power(r: &checked::Rating, flow_w_k: f64, heating_effect: f64) -> em::Emitter {
    let heat_w = r.output.w;
    let drop_k = heat_w / flow_w_k.max(1e-6);
    let (supply_c, return_c) = match (r.supply_return, r.entering) {
        (Some((s, b)), _) => (s.c, b.c),
        // By entering water at the zone's own flow: there the output goes with entering water over entering air, as catalogues
        // of fan units have it.
        (None, Some(e)) => (e.c, e.c - drop_k.min((e.c - r.room.c) * 0.9)),
        // A rating by mean water alone is a rating at any flow: take the supply and return of the zone's own flow.
        (None, None) => {
            let half = (0.5 * drop_k).min((r.mean_water.c - r.room.c) * 0.5);
            (r.mean_water.c + half, r.mean_water.c - half)
        }
    };
    em::Emitter::Power {
        rating: em::Rating { heat_w, supply_c, return_c, room_c: r.room.c },
        exponent: r.exponent,
        mean: MeanRule::Arithmetic,
        heating_effect,
    }
}

fn floor(f: &checked::Floor) -> em::Emitter {
    let screed = em::screed::Screed { spacing_m: f.spacing.m, over_m: f.screed.m, covering_m2k_w: f.covering.m2_k_w };
    let (water_to_slab_m2k_w, slab_to_surface_m2k_w) = screed.resistances_m2k_w();
    em::Emitter::Floor {
        area_m2: f.area.m2,
        water_to_slab_m2k_w,
        slab_to_surface_m2k_w,
        // Screed over and round the tubes: 2000 kg/m3, 1000 J/kgK (EN 1264 practice, from memory).
        slab_j_k: f.area.m2 * screed.depth_m() * 2.0e6,
    }
}

fn boiler(b: &checked::Boiler, fluid: &sp::Fluid) -> sp::Boiler {
    let input_w = b.input.w;
    let minimum_share = match b.firing {
        checked::Firing::OnOff => 1.0,
        checked::Firing::Modulating { minimum } => minimum.of_one,
    };
    sp::Boiler {
        input_w,
        minimum_share,
        drive: match b.drive {
            Drive::DemandOnly => BoilerDrive::DemandOnly,
            Drive::Target { low, high } => BoilerDrive::Target { low: low.to_core(), high: high.to_core() },
            Drive::Rate => BoilerDrive::Rate,
        },
        pump: b.pump,
        flow_kg_s: b.flow.l_s * kg_l(fluid),
        flow_min_kg_s: b.flow_min.l_s * kg_l(fluid),
        return_min_c: b.return_min.map(|t| t.c),
        return_valve_c: b.return_valve.map(|t| t.c),
        water_l: b.water.l,
        metal_j_k: b.metal.l * J_L_K,
        burner: sp::Burner {
            pre_purge_s: b.burner.pre_purge.s,
            ignition_s: b.burner.ignition.s,
            trials: b.burner.trials,
            flame_proof_s: b.burner.proof.s,
            post_purge_s: b.burner.post_purge.s,
            // A first-order lag is within 5 % of full fire after three time constants.
            modulation_lag_s: b.burner.modulation.s / 3.0,
        },
        efficiency: match &b.efficiency {
            Efficiency::Condensing => {
                sp::Efficiency::Combustion { excess_air: 0.25, approach_low_k: 3.0, approach_full_k: 8.0 }
            }
            Efficiency::NonCondensing => {
                sp::Efficiency::Combustion { excess_air: 0.4, approach_low_k: 70.0, approach_full_k: 110.0 }
            }
            Efficiency::Points(points) => sp::Efficiency::Points(
                points
                    .iter()
                    .map(|p| sp::EfficiencyPoint {
                        return_c: p.return_water.c,
                        rate: 1.0,
                        efficiency: p.efficiency.of_one,
                    })
                    .collect(),
            ),
        },
        // Stated at design: water about 50 K above the boiler room.
        jacket_w_k: b.jacket_loss.of_one * input_w / 50.0,
        control: sp::BoilerControl {
            fixed_target_c: b.fixed_target.c,
            on_below_k: 5.0,
            off_above_k: 4.0,
            band_k: 12.0,
            integral_s: 120.0,
            limit_c: b.limit.c,
            limit_reset_k: 8.0,
            frost_c: b.own_frost.map(|t| t.c),
        },
    }
}

/// Water at which the loss of the mains is rated, in degrees Celsius: 180 °F.
const MAINS_RATED_C: f64 = 82.22;

fn header(h: &checked::Header, boiler_room_c: f64) -> sp::Header {
    let boiler_side = h.boiler_side.l;
    sp::Header {
        water_l: boiler_side * 0.2,
        secondary_supply_l: h.zone_side.l / 2.0,
        secondary_return_l: h.zone_side.l / 2.0,
        primary_supply_l: boiler_side * 0.4,
        primary_return_l: boiler_side * 0.4,
        loss_w_k: h.loss.w / (MAINS_RATED_C - boiler_room_c).max(5.0),
        check_valves: true,
    }
}

fn tank(p: &Plant, t: &checked::Tank, fluid: &sp::Fluid) -> sp::Tank {
    let flow_kg_s = p.pumps.get(t.pump.index()).map_or(0.1, |u| u.flow.l_s * kg_l(fluid));
    let stream_w_k = flow_kg_s / kg_l(fluid) * j_l_k(fluid);
    let spread = (t.coil_supply.c - t.cold.c).max(1.0);
    // A coil in well-mixed water: heat = stream * (1 - exp(-UA / stream)) * spread; solved for UA, short of a perfect coil.
    let effectiveness = (t.coil.w / (stream_w_k * spread)).clamp(0.01, 0.98);
    let drawn = |d: &checked::Draw| sp::Drawn {
        at_s: f64::from(d.minute_of_day) * 60.0,
        lasts_s: d.lasts.s,
        flow_l_s: d.flow.l_s,
    };
    sp::Tank {
        volume_l: t.volume.l,
        loss_w_k: t.standing_loss.w / (t.aquastat.c - p.site.boiler_room.c).max(5.0),
        coil_w_k: -stream_w_k * (1.0 - effectiveness).ln(),
        flow_kg_s,
        pump: t.pump,
        set_c: t.aquastat.c,
        differential_k: t.differential.k,
        draw: sp::Draw { times: t.draws.iter().map(drawn).collect(), use_c: t.tap.c, cold_c: t.cold.c },
    }
}

fn safety(p: &Plant, s: &checked::Safety) -> sp::Safety {
    // Limits close again 8 K below where they open (common practice, no source).
    const BACK_K: f64 = 8.0;
    let trip = match (s.kind, s.scope) {
        (SafetyKind::HighLimit | SafetyKind::HighLimitManual, SafetyScope::Boiler(boiler)) => {
            let open_c = s.opens_at.map_or_else(|| own_limit(p, boiler), |t| t.c);
            sp::Trip::BoilerAbove { boiler, open_c, close_c: open_c - BACK_K }
        }
        (SafetyKind::FlowSwitch, SafetyScope::Boiler(boiler)) => sp::Trip::BoilerFlow(boiler),
        (SafetyKind::DamperSwitch, _) => sp::Trip::DamperClosed,
        (SafetyKind::FloorLimit, SafetyScope::Zone(zone)) => match s.opens_at {
            Some(t) => sp::Trip::ZoneSupplyAbove { zone, open_c: t.c, close_c: t.c - BACK_K },
            None => sp::Trip::Event,
        },
        (SafetyKind::TankLimit, _) => match s.opens_at {
            Some(t) => sp::Trip::TankAbove { open_c: t.c, close_c: t.c - BACK_K },
            None => sp::Trip::Event,
        },
        _ => sp::Trip::Event,
    };
    sp::Safety { kind: s.kind, circuit: s.circuit, scope: s.scope, reset: s.reset, trip }
}

fn own_limit(p: &Plant, b: BoilerId) -> f64 {
    p.boilers.get(b.index()).map_or(93.0, |b| b.limit.c)
}

fn sensor(u: SensorUse) -> sp::Sensor {
    match u {
        // In free air behind a shield.
        SensorUse::Outdoor => sp::Sensor { lag_s: 300.0, ..Default::default() },
        SensorUse::Spare
        | SensorUse::Supply
        | SensorUse::Return
        | SensorUse::BoilerOutlet(_)
        | SensorUse::Tank
        | SensorUse::Mixed(_) => sp::Sensor::default(),
    }
}
