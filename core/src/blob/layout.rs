//! The order of the parts of a configuration in its block, and the tag of every choice.
//!
//! Whoever changes this raises [`VERSION`](super::VERSION). A tag that falls out of use is not given again.

#[cfg(test)]
use super::wire::Dice;
use super::wire::{Refused, Sink, Source, Wire, choice, record};
use crate::{
    config::{
        BoilerConfig, BoilerDrive, BoilerPump, Circulation, Config, CurvePoint, EnableRules, Firing, GuardConfig,
        LoadRules, LowLoadConfig, MixConfig, Modulation, OffOrder, PlantEnable, PumpConfig, PumpRole, PurgeConfig,
        PurgeTo, Reset, ResetConfig, RotationConfig, RotationPolicy, SafetyCircuit, SafetyConfig, SafetyKind,
        SafetyScope, StageBy, StagingConfig, TankConfig, UpAgainst, ZoneConfig, ZoneDrive,
    },
    points::{AnalogUse, ContactUse, Points, RelayUse, SensorUse, Tap},
    schedule::{Level, Schedule, Step},
};

record! {
    Config {
        points, reset, zones, pumps, pump_stagger, boilers, safeties, staging, rotation, purge, tank, guard, schedules,
        enable,
    }
    Points { relays, contacts, sensors, analogs }
    CurvePoint { outdoor, supply }
    ResetConfig {
        points, supply_min, supply_max, outdoor_filter, warm_weather_off, warm_weather_differential, setback, boost,
        boost_for, schedule, outdoor_fallback, header_trim_max, demand_trim_max,
    }
    MixConfig { mixed_max, mixed_design, room, band, integral, stroke }
    ZoneConfig { drive, circulation, debounce, call_min, overrun, sheddable, mix, flow_w_per_k }
    PumpConfig { role, on_min, off_min, exercise_every, exercise_for }
    BoilerConfig {
        firing, drive, pump, input_w, on_min, off_min, flow_proof_max, flame_proof_max, post_purge, pump_overrun,
        retry_after, outlet_max, fixed_target,
    }
    SafetyConfig { kind, scope, circuit, reset }
    StagingConfig {
        band, up_error_k_s, down_error_k_s, up_rate, down_rate, rate_hold, start_spacing, band_pi, integral, modulation,
        stage_by, low_load,
    }
    LoadRules {
        up_against, up_percent, up_for, down_minimum_percent, down_minimum_for, down_design_percent, down_design_for,
        failsafe_below, failsafe_for, stage_min,
    }
    LowLoadConfig { run_min, band }
    RotationConfig { policy, off_order }
    PurgeConfig { to, otherwise, time_max, until }
    TankConfig { pump, target, debounce, purge_max, priority_max, priority_above, overrun, flow_w_per_k }
    GuardConfig {
        frost_outdoor, frost_water, frozen_after, damper_proof_max, damper_retry_after, low_water_stops_pumps,
        valve_travel_max, hot_cuts, hot_cuts_within,
    }
    EnableRules { ignored, off_min, on_min, few_for }
    Schedule { steps }
}

/// Minute of the week, then the level.
impl Wire for Step {
    fn blank() -> Self {
        Step::new(0, Level::Occupied)
    }
    fn put(&self, sink: &mut Sink<'_>) {
        self.minute_of_week().put(sink);
        self.level().put(sink);
    }
    fn fill(&mut self, source: &mut Source<'_>) -> Result<(), Refused> {
        let (mut minute, mut level) = (0u16, Level::Occupied);
        minute.fill(source)?;
        // A minute that has no form of its own.
        if Step::new(minute, level).minute_of_week() != minute {
            return Err(Refused);
        }
        level.fill(source)?;
        *self = Step::new(minute, level);
        Ok(())
    }
    #[cfg(test)]
    fn any(dice: &mut Dice) -> Self {
        Step::new(u16::any(dice) & 0x3fff, Level::any(dice))
    }
}

choice! {
    RelayUse {
        0 Spare {}, 1 Demand { 0 b }, 2 Pump { 0 p }, 3 Valve { 0 z }, 4 Damper {}, 5 Alarm {}, 6 Health {},
    }
    Tap { 0 Chain {}, 1 Aux {} }
    ContactUse {
        0 Spare {}, 1 Call { 0 z }, 2 TankCall {}, 3 EndSwitch { 0 z }, 4 Flow { 0 b }, 5 DamperOpen {}, 6 Flame { 0 b },
        7 BoilerFault { 0 b }, 8 Safety { 0 s, 1 tap }, 9 Hand { 0 p }, 10 Auto { 0 p }, 11 BoilerSwitch { 0 b },
        12 Acknowledge {},
    }
    SensorUse {
        0 Spare {}, 1 Outdoor {}, 2 Supply {}, 3 Return {}, 4 BoilerOutlet { 0 b }, 5 Tank {}, 6 Mixed { 0 z },
    }
    AnalogUse { 0 Spare {}, 1 Target { 0 b }, 2 Rate { 0 b }, 3 Mixing { 0 z } }
    Circulation { 0 OnCall {}, 1 Constant {} }
    ZoneDrive { 0 Pump { 0 p }, 1 Valve { pump pump } }
    PumpRole { 0 Zone {}, 1 Boiler { 0 b }, 2 Tank {} }
    Firing { 0 OnOff {}, 1 Modulating { minimum minimum } }
    BoilerDrive { 0 DemandOnly {}, 1 Target { low low, high high }, 2 Rate {} }
    BoilerPump { 0 None {}, 1 Controller { 0 p }, 2 Boiler { 0 p }, 3 Either { 0 p } }
    SafetyCircuit { 0 Limit {}, 1 Proving {}, 2 ZoneLimit {}, 3 TankLimit {}, 4 Alarm {} }
    SafetyScope { 0 Plant {}, 1 Boiler { 0 b }, 2 Zone { 0 z }, 3 Tank {} }
    SafetyKind {
        0 DoorSwitch {}, 1 LowWater {}, 2 HighLimit {}, 3 HighLimitManual {}, 4 GasLow {}, 5 GasHigh {}, 6 Condensate {},
        7 FlowSwitch {}, 8 DamperSwitch {}, 9 FloorLimit {}, 10 TankLimit {}, 11 PressureLow {}, 12 GasDetector {},
    }
    Reset { 0 Automatic {}, 1 Manual {} }
    Modulation { 0 Parallel {}, 1 Sequential {} }
    StageBy { 0 Error {}, 1 Load { 0 rules } }
    UpAgainst { 0 NextMinimum {}, 1 Design {} }
    RotationPolicy {
        0 Fixed {}, 1 HoursDifference { 0 hours }, 2 StartsDifference { 0 starts },
        3 Calendar { every_h every_h, minute_of_day minute_of_day },
    }
    OffOrder { 0 FirstOnFirstOff {}, 1 FirstOnLastOff {} }
    PlantEnable { 0 AnyCall {}, 1 Requests { 0 rules } }
    PurgeTo { 0 None {}, 1 Tank {}, 2 Zone { 0 z } }
    Level { 0 Occupied {}, 1 Setback {} }
}
