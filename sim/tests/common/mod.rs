//! Two hand-made plants and a controller double for tests of the physics. The double has no state machine: it starts the
//! pump of every zone that calls, and all boilers while any does, with their target by a straight reset line.
#![allow(dead_code, unreachable_pub, unused_imports, reason = "each test file uses its own part")]

mod settings;

use heatwright_core::{
    AnalogUse, BoilerId, ContactUse, Inputs, Instant, Level, Outputs, Permille, Points, PumpId, Reason, RelayUse,
    SafetyId, Schedule, ScheduleId, Temp, ZoneId,
    config::{BoilerDrive, BoilerPump, PumpRole, Reset, SafetyCircuit, SafetyKind, SafetyScope},
    outputs::{Signal, Stated},
    points::{SensorUse, Tap},
    schedule::Step,
};
use heatwright_sim::{Control, Emitter, LinkError, Outdoor, Plant, emitter::Rating, plant::*, zone::Construction};

pub use settings::config;

/// A cold week of our own making: a mean that sinks and rises, and a daily swing.
pub struct ColdWeek;

impl Outdoor for ColdWeek {
    fn outdoor_c(&self, at_s: f64) -> f64 {
        let days = at_s / 86_400.0;
        -4.0 - 6.0 * (std::f64::consts::TAU * days / 7.0).sin() + 5.0 * (std::f64::consts::TAU * (days - 0.4)).sin()
    }
    fn civil_start(&self) -> heatwright_core::CivilMinute {
        // Monday 2024-01-01 00:00: 8766 days after 2000-01-01.
        heatwright_core::CivilMinute::new(8766 * 1440)
    }
}

pub fn boiler(kw: f64, minimum_share: f64, pump: BoilerPump) -> Boiler {
    Boiler {
        input_w: kw * 1000.0,
        minimum_share,
        drive: BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) },
        pump,
        flow_kg_s: kw * 1000.0 / (4180.0 * 20.0),
        flow_min_kg_s: kw * 1000.0 / (4180.0 * 40.0),
        return_min_c: None,
        return_valve_c: None,
        water_l: 0.2 * kw + 5.0,
        metal_j_k: 500.0 * kw,
        burner: Burner {
            pre_purge_s: 20.0,
            ignition_s: 4.0,
            trials: 3,
            flame_proof_s: 3.0,
            post_purge_s: 30.0,
            modulation_lag_s: 20.0,
        },
        efficiency: Efficiency::Combustion { excess_air: 0.25, approach_low_k: 4.0, approach_full_k: 12.0 },
        jacket_w_k: 0.02 * kw,
        control: BoilerControl {
            fixed_target_c: 70.0,
            on_below_k: 4.0,
            off_above_k: 5.0,
            band_k: 20.0,
            integral_s: 120.0,
            limit_c: 93.0,
            limit_reset_k: 8.0,
            frost_c: Some(5.0),
        },
    }
}

pub fn zone(loss_w: f64, area_m2: f64, class: Construction, emitter: Emitter, flow_kg_s: f64, drive: Drive) -> Zone {
    Zone {
        loss_w,
        loss_indoor_c: 20.0,
        loss_outdoor_c: -15.0,
        air_j_k: 30_000.0 * area_m2,
        mass_j_k: class.mass_j_m2k() * area_m2,
        air_mass_w_k: class.air_mass_w_m2k() * area_m2,
        radiant_share: 0.3,
        emitter,
        water_l: 8.0 * loss_w / 1000.0,
        metal_j_k: 5000.0 * loss_w / 1000.0,
        flow_kg_s,
        drive,
        thermostat: Thermostat {
            set_c: 20.0,
            setback_c: 17.0,
            differential_k: 0.5,
            cycles_per_h: 4.0,
            lag_s: 120.0,
            schedule: None,
        },
        gains: Gains { occupied_w: 0.05 * loss_w, setback_w: 0.01 * loss_w, schedule: None },
        mix: None,
        fan: None,
    }
}

pub fn header(litres: f64) -> Header {
    Header {
        water_l: 0.1 * litres,
        secondary_supply_l: 0.3 * litres,
        secondary_return_l: 0.3 * litres,
        primary_supply_l: 0.15 * litres,
        primary_return_l: 0.15 * litres,
        loss_w_k: 0.05 * litres,
        check_valves: true,
    }
}

fn sensor(noise_k: f64) -> Sensor {
    Sensor { noise_k, ..Sensor::default() }
}

fn workdays() -> Schedule {
    let mut s = Schedule::default();
    for day in 0..7u16 {
        s.steps.push(Step::new(day * 1440 + 360, Level::Occupied)).unwrap();
        s.steps.push(Step::new(day * 1440 + 1320, Level::Setback)).unwrap();
    }
    s
}

/// One boiler, two radiator zones on pumps of their own, closely spaced tees.
pub fn small() -> Plant {
    let pumps: [PumpId; 3] = [PumpId(0), PumpId(1), PumpId(2)];
    let flow = |w: f64| w / (4180.0 * 10.0);
    let zones = vec![
        zone(
            9000.0,
            150.0,
            Construction::Light,
            Emitter::radiator(10_500.0, 1.3),
            flow(10_500.0),
            Drive::Pump(pumps[0]),
        ),
        zone(6000.0, 110.0, Construction::Medium, Emitter::cast_iron(190.0, 1.3), flow(6500.0), Drive::Pump(pumps[1])),
    ];
    let mut points = Points::default();
    points.relays.extend([
        RelayUse::Pump(pumps[0]),
        RelayUse::Pump(pumps[1]),
        RelayUse::Pump(pumps[2]),
        RelayUse::Demand(BoilerId(0)),
    ]);
    points.contacts.extend([
        ContactUse::Call(ZoneId(0)),
        ContactUse::Call(ZoneId(1)),
        ContactUse::Flow(BoilerId(0)),
        ContactUse::Flame(BoilerId(0)),
        ContactUse::BoilerFault(BoilerId(0)),
        ContactUse::Safety(SafetyId(0), Tap::Chain),
        ContactUse::Safety(SafetyId(1), Tap::Chain),
    ]);
    points.sensors.extend([
        SensorUse::Outdoor,
        SensorUse::Supply,
        SensorUse::Return,
        SensorUse::BoilerOutlet(BoilerId(0)),
    ]);
    points.analogs.push(AnalogUse::Target(BoilerId(0))).unwrap();
    let b = SafetyScope::Boiler(BoilerId(0));
    Plant {
        site: Site { altitude_m: 200.0, design_outdoor_c: -15.0, boiler_room_c: 18.0 },
        fluid: Fluid::WATER,
        zones,
        pumps: vec![
            Pump { role: PumpRole::Zone, power_w: 45.0 },
            Pump { role: PumpRole::Zone, power_w: 45.0 },
            Pump { role: PumpRole::Boiler(BoilerId(0)), power_w: 60.0 },
        ],
        boilers: vec![boiler(24.0, 0.25, BoilerPump::Controller(pumps[2]))],
        header: header(40.0),
        tank: None,
        damper: None,
        safeties: vec![
            Safety {
                kind: SafetyKind::HighLimitManual,
                circuit: SafetyCircuit::Limit,
                scope: b,
                reset: Reset::Manual,
                trip: Trip::BoilerAbove { boiler: BoilerId(0), open_c: 98.0, close_c: 90.0 },
            },
            Safety {
                kind: SafetyKind::FlowSwitch,
                circuit: SafetyCircuit::Proving,
                scope: b,
                reset: Reset::Automatic,
                trip: Trip::BoilerFlow(BoilerId(0)),
            },
        ],
        sensors: vec![sensor(0.02); 4],
        schedules: vec![workdays()],
        points,
    }
}

/// Two boilers, five zones of different emitters, a tank, a damper, glycol, altitude.
pub fn large() -> Plant {
    let flow = |w: f64, dt_k: f64| w / (3900.0 * dt_k);
    let own = |i: u8| Drive::Pump(PumpId(i));
    let coil = Rating { heat_w: 32_000.0, supply_c: 80.0, return_c: 70.0, room_c: 16.0 };
    let mut zones = vec![
        zone(
            30_000.0,
            400.0,
            Construction::Medium,
            Emitter::finned_tube(75_000.0, 1.4, true),
            flow(30_000.0, 10.0),
            own(0),
        ),
        zone(20_000.0, 300.0, Construction::Heavy, Emitter::cast_iron(620.0, 1.3), flow(20_000.0, 10.0), own(1)),
        zone(
            15_000.0,
            250.0,
            Construction::Heavy,
            Emitter::Floor {
                area_m2: 240.0,
                water_to_slab_m2k_w: 0.04,
                slab_to_surface_m2k_w: 0.06,
                slab_j_k: 240.0 * 130_000.0,
            },
            flow(15_000.0, 6.0),
            own(2),
        ),
        zone(25_000.0, 300.0, Construction::Light, Emitter::fan_coil(coil), flow(32_000.0, 10.0), own(3)),
        zone(
            8000.0,
            100.0,
            Construction::Light,
            Emitter::radiator(9500.0, 1.3),
            flow(9500.0, 10.0),
            Drive::Valve { pump: Some(PumpId(4)), stroke_s: 60.0, end_switch: true },
        ),
    ];
    zones[0].thermostat.schedule = Some(ScheduleId(0));
    zones[0].gains.schedule = Some(ScheduleId(0));
    zones[2].mix = Some(Mix::SelfActing { set_c: 38.0, band_k: 10.0, lag_s: 60.0 });
    zones[2].thermostat.cycles_per_h = 1.0;
    zones[3].fan = Some(Fan { aquastat_c: Some(40.0), differential_k: 5.0, still_share: 0.08, power_w: 250.0 });
    let mut points = Points::default();
    points.relays.extend((0..8).map(|i| RelayUse::Pump(PumpId(i))));
    points.relays.extend([
        RelayUse::Valve(ZoneId(4)),
        RelayUse::Demand(BoilerId(0)),
        RelayUse::Demand(BoilerId(1)),
        RelayUse::Damper,
    ]);
    points.contacts.extend((0..5).map(|i| ContactUse::Call(ZoneId(i))));
    points.contacts.extend([
        ContactUse::TankCall,
        ContactUse::EndSwitch(ZoneId(4)),
        ContactUse::Flame(BoilerId(0)),
        ContactUse::Flame(BoilerId(1)),
        ContactUse::DamperOpen,
    ]);
    points.sensors.extend([
        SensorUse::Outdoor,
        SensorUse::Supply,
        SensorUse::Return,
        SensorUse::BoilerOutlet(BoilerId(0)),
        SensorUse::BoilerOutlet(BoilerId(1)),
        SensorUse::Tank,
        SensorUse::Mixed(ZoneId(2)),
    ]);
    points.analogs.extend([AnalogUse::Target(BoilerId(0)), AnalogUse::Target(BoilerId(1))]);
    let drawn = |from_h: f64, to_h: f64, litres_an_hour: f64| Drawn {
        at_s: from_h * 3600.0,
        lasts_s: (to_h - from_h) * 3600.0,
        flow_l_s: litres_an_hour / 3600.0,
    };
    let times = vec![drawn(5.0, 24.0, 10.0), drawn(6.0, 9.0, 110.0), drawn(18.0, 22.0, 70.0)];
    let zone_pump = Pump { role: PumpRole::Zone, power_w: 90.0 };
    let b0 = SafetyScope::Boiler(BoilerId(0));
    let flow_switch = |b: u8| Safety {
        kind: SafetyKind::FlowSwitch,
        circuit: SafetyCircuit::Proving,
        scope: SafetyScope::Boiler(BoilerId(b)),
        reset: Reset::Automatic,
        trip: Trip::BoilerFlow(BoilerId(b)),
    };
    Plant {
        site: Site { altitude_m: 1600.0, design_outdoor_c: -15.0, boiler_room_c: 18.0 },
        fluid: Fluid { glycol_percent: 30.0, ..Fluid::WATER },
        zones,
        pumps: vec![
            zone_pump,
            zone_pump,
            zone_pump,
            zone_pump,
            zone_pump,
            Pump { role: PumpRole::Tank, power_w: 120.0 },
            Pump { role: PumpRole::Boiler(BoilerId(0)), power_w: 180.0 },
            Pump { role: PumpRole::Boiler(BoilerId(1)), power_w: 180.0 },
        ],
        boilers: vec![
            boiler(80.0, 0.2, BoilerPump::Controller(PumpId(6))),
            boiler(80.0, 0.2, BoilerPump::Either(PumpId(7))),
        ],
        header: header(200.0),
        tank: Some(Tank {
            volume_l: 400.0,
            loss_w_k: 2.5,
            coil_w_k: 2500.0,
            flow_kg_s: 0.9,
            pump: PumpId(5),
            set_c: 60.0,
            differential_k: 5.0,
            draw: Draw { times, use_c: 45.0, cold_c: 10.0 },
        }),
        damper: Some(Damper { stroke_s: 30.0 }),
        safeties: vec![
            Safety {
                kind: SafetyKind::DamperSwitch,
                circuit: SafetyCircuit::Proving,
                scope: SafetyScope::Plant,
                reset: Reset::Automatic,
                trip: Trip::DamperClosed,
            },
            flow_switch(0),
            flow_switch(1),
            Safety {
                kind: SafetyKind::HighLimit,
                circuit: SafetyCircuit::Limit,
                scope: b0,
                reset: Reset::Automatic,
                trip: Trip::BoilerAbove { boiler: BoilerId(0), open_c: 96.0, close_c: 86.0 },
            },
            Safety {
                kind: SafetyKind::DoorSwitch,
                circuit: SafetyCircuit::Limit,
                scope: SafetyScope::Plant,
                reset: Reset::Automatic,
                trip: Trip::Event,
            },
            Safety {
                kind: SafetyKind::FloorLimit,
                circuit: SafetyCircuit::ZoneLimit,
                scope: SafetyScope::Zone(ZoneId(2)),
                reset: Reset::Automatic,
                trip: Trip::ZoneSupplyAbove { zone: ZoneId(2), open_c: 55.0, close_c: 45.0 },
            },
        ],
        sensors: vec![sensor(0.02); 7],
        schedules: vec![workdays()],
        points,
    }
}

/// A plant of any size: `zones` zones of changing emitters, each with its own pump, under `boilers` condensing boilers with
/// pumps of their own; flow switch, low-water cutoff and two high limits on each boiler.
pub fn sized(zones: u8, boilers: u8) -> Plant {
    let flow = |w: f64| w / (4180.0 * 10.0);
    let coil = |w: f64| Emitter::fan_coil(Rating { heat_w: w, supply_c: 80.0, return_c: 70.0, room_c: 20.0 });
    let mut points = Points::default();
    let (mut all_zones, mut pumps, mut all_boilers, mut safeties) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for i in 0..zones {
        let w = 20_000.0 + 1000.0 * f64::from(i);
        let emitter = match i % 5 {
            0 => Emitter::finned_tube(2.2 * w, 1.4, true),
            1 => Emitter::cast_iron(w / 32.0, 1.3),
            2 => Emitter::radiator(1.2 * w, 1.3),
            3 => Emitter::Floor {
                area_m2: w / 60.0,
                water_to_slab_m2k_w: 0.04,
                slab_to_surface_m2k_w: 0.06,
                slab_j_k: w / 60.0 * 130_000.0,
            },
            _ => coil(1.1 * w),
        };
        let mut z = zone(w, w / 50.0, Construction::Medium, emitter, flow(w), Drive::Pump(PumpId(i)));
        if i % 5 == 3 {
            z.mix = Some(Mix::SelfActing { set_c: 38.0, band_k: 10.0, lag_s: 60.0 });
        }
        all_zones.push(z);
        pumps.push(Pump { role: PumpRole::Zone, power_w: 90.0 });
        points.relays.push(RelayUse::Pump(PumpId(i))).unwrap();
        points.contacts.push(ContactUse::Call(ZoneId(i))).unwrap();
    }
    points.sensors.extend([SensorUse::Outdoor, SensorUse::Supply, SensorUse::Return]);
    let kw = 26.0 * f64::from(zones) / f64::from(boilers);
    for i in 0..boilers {
        let (b, p) = (BoilerId(i), PumpId(zones + i));
        let mut watch = |kind, circuit, reset, trip| {
            let s = SafetyId(safeties.len() as u8);
            points.contacts.push(ContactUse::Safety(s, Tap::Chain)).unwrap();
            safeties.push(Safety { kind, circuit, scope: SafetyScope::Boiler(b), reset, trip });
        };
        let over = |open_c| Trip::BoilerAbove { boiler: b, open_c, close_c: open_c - 8.0 };
        watch(SafetyKind::HighLimit, SafetyCircuit::Limit, Reset::Automatic, over(94.0));
        watch(SafetyKind::HighLimitManual, SafetyCircuit::Limit, Reset::Manual, over(98.0));
        watch(SafetyKind::FlowSwitch, SafetyCircuit::Proving, Reset::Automatic, Trip::BoilerFlow(b));
        all_boilers.push(boiler(kw, 0.2, BoilerPump::Controller(p)));
        pumps.push(Pump { role: PumpRole::Boiler(b), power_w: 180.0 });
        points.relays.extend([RelayUse::Pump(p), RelayUse::Demand(b)]);
        points.contacts.push(ContactUse::Flame(b)).unwrap();
        points.sensors.push(SensorUse::BoilerOutlet(b)).unwrap();
        points.analogs.push(AnalogUse::Target(b)).unwrap();
    }
    Plant {
        zones: all_zones,
        pumps,
        boilers: all_boilers,
        header: header(25.0 * f64::from(zones)),
        safeties,
        sensors: vec![sensor(0.0); points.sensors.len()],
        points,
        ..small()
    }
}

/// The controller double.
#[derive(Clone)]
pub struct Double {
    points: Points,
    zone_pumps: Vec<Option<PumpId>>,
    tank_pump: Option<PumpId>,
    boiler_pumps: u64,
    warm: (f64, f64),
    cold: (f64, f64),
    pub ticks: u64,
}

impl Double {
    pub fn new(plant: &Plant) -> Self {
        let boilers = (0..plant.boilers.len()).filter_map(|i| plant.boiler_pump(BoilerId(i as u8)));
        Self {
            points: plant.points.clone(),
            zone_pumps: (0..plant.zones.len()).map(|i| plant.zone_pump(ZoneId(i as u8))).collect(),
            tank_pump: plant.tank.as_ref().map(|t| t.pump),
            boiler_pumps: boilers.fold(0, |m, p| m | p.bit()),
            warm: (16.0, 30.0),
            cold: (-15.0, 75.0),
            ticks: 0,
        }
    }
}

impl Control for Double {
    fn tick(&mut self, _now: Instant, inputs: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        self.ticks += 1;
        *outputs = Outputs::default();
        let (mut calls, mut pumps, mut valves) = (0u64, 0u64, 0u64);
        for (i, what) in self.points.contacts.iter().enumerate() {
            if inputs.contacts >> i & 1 == 0 {
                continue;
            }
            match what {
                ContactUse::Call(z) => {
                    calls |= z.bit();
                    valves |= z.bit();
                    pumps |= self.zone_pumps[z.index()].map_or(0, |p| p.bit());
                }
                ContactUse::TankCall => {
                    calls |= 1 << 63;
                    pumps |= self.tank_pump.map_or(0, |p| p.bit());
                }
                _ => {}
            }
        }
        let heat = calls != 0;
        if heat {
            pumps |= self.boiler_pumps;
        }
        let outdoor = self.points.sensor(SensorUse::Outdoor).and_then(|s| inputs.reading(s).temp());
        let outdoor_c = outdoor.map_or(self.cold.0, |t| f64::from(t.centi_c()) / 100.0);
        let share = ((outdoor_c - self.warm.0) / (self.cold.0 - self.warm.0)).clamp(0.0, 1.0);
        let mut target_c = self.warm.1 + share * (self.cold.1 - self.warm.1);
        if calls >> 63 != 0 {
            target_c = target_c.max(75.0);
        }
        for (slot, what) in outputs.relays.iter_mut().zip(&self.points.relays) {
            let on = match what {
                RelayUse::Pump(p) => pumps & p.bit() != 0,
                RelayUse::Valve(z) => valves & z.bit() != 0,
                RelayUse::Demand(_) | RelayUse::Damper => heat,
                _ => false,
            };
            *slot = Stated { on, why: if on { Reason::Lead } else { Reason::NoCall } };
        }
        for (slot, what) in outputs.analogs.iter_mut().zip(&self.points.analogs) {
            if matches!(what, AnalogUse::Target(_)) {
                let at = Permille::new(((target_c - 20.0) / 70.0 * 1000.0).clamp(0.0, 1000.0) as u16);
                *slot = Signal { at, why: Reason::Law };
            }
        }
        Ok(())
    }

    fn next_due(&self) -> Option<Instant> {
        None
    }
}
