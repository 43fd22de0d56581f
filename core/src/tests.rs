//! A small plant for the tests of single machines: nothing in it waits for anything.

use crate::{
    blob::blank,
    config::{
        BoilerConfig, BoilerDrive, BoilerPump, Circulation, Config, Firing, GuardConfig, PumpConfig, PumpRole,
        TankConfig, ZoneConfig, ZoneDrive,
    },
    ids::{BoilerId, PumpId},
    units::{Permille, Span, Temp, TempDelta},
};

const NO: Span = Span::ZERO;

/// Nothing is guarded against but frost.
pub(crate) const GUARD: GuardConfig = GuardConfig {
    frost_outdoor: Temp::from_c(0),
    frost_water: Temp::from_c(5),
    frozen_after: NO,
    damper_proof_max: NO,
    damper_retry_after: NO,
    low_water_stops_pumps: false,
    valve_travel_max: NO,
    hot_cuts: 0,
    hot_cuts_within: NO,
};

/// Two zones with pumps 0 and 1, two boilers by rate with pumps 2 and 3, a tank with pump 4. No points.
pub(crate) fn plant() -> Config {
    let mut c = blank();
    let roles =
        [PumpRole::Zone, PumpRole::Zone, PumpRole::Boiler(BoilerId(0)), PumpRole::Boiler(BoilerId(1)), PumpRole::Tank];
    for role in roles {
        c.pumps.push(PumpConfig { role, on_min: NO, off_min: NO, exercise_every: NO, exercise_for: NO }).unwrap();
    }
    for i in 0..2 {
        let zone = ZoneConfig {
            drive: ZoneDrive::Pump(PumpId(i)),
            circulation: Circulation::OnCall,
            debounce: NO,
            call_min: NO,
            overrun: NO,
            sheddable: true,
            mix: None,
            flow_w_per_k: 0,
        };
        let boiler = BoilerConfig {
            firing: Firing::Modulating { minimum: Permille::new(200) },
            drive: BoilerDrive::Rate,
            pump: BoilerPump::Controller(PumpId(2 + i)),
            input_w: 1000,
            on_min: NO,
            off_min: NO,
            flow_proof_max: NO,
            flame_proof_max: NO,
            post_purge: NO,
            pump_overrun: NO,
            retry_after: NO,
            outlet_max: Temp::from_c(90),
            fixed_target: Temp::from_c(80),
        };
        c.zones.push(zone).unwrap();
        c.boilers.push(boiler).unwrap();
    }
    c.tank = Some(TankConfig {
        pump: PumpId(4),
        target: Temp::from_c(60),
        debounce: NO,
        purge_max: Temp::from_c(60),
        priority_max: NO,
        priority_above: Temp::from_c(0),
        overrun: NO,
        flow_w_per_k: 0,
    });
    c.staging.band = TempDelta::from_k(3);
    c
}
