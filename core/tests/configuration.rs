//! Every fault of a configuration is found, all in one run, and no configuration makes a tick panic or hang.

mod common;
use common::*;
use heatwright_core::{config::*, *};
use proptest::prelude::*;

fn faults(c: &Config) -> Vec<(Fault, Subject)> {
    let mut v = Vec::new();
    c.check(|f| v.push((f.fault, f.about)));
    v
}

fn rich() -> Config {
    config(Shape { boilers: 2, zones: 3, tank: true, damper: true, extras: true, ..Shape::default() })
}

type Spoil = fn(&mut Config);

/// One spoilt setting a row, and the fault it must give.
const SPOILT: &[(Spoil, Fault, Subject)] = &[
    (|c| c.zones[1].drive = ZoneDrive::Pump(PumpId(99)), Fault::NoSuchPump, Subject::Zone(ZoneId(1))),
    (|c| c.zones[1].drive = ZoneDrive::Pump(PumpId(3)), Fault::PumpRole, Subject::Zone(ZoneId(1))),
    (|c| c.boilers[0].pump = BoilerPump::Either(PumpId(0)), Fault::PumpRole, Subject::Boiler(BoilerId(0))),
    (|c| c.pumps[3].role = PumpRole::Boiler(BoilerId(7)), Fault::NoSuchBoiler, Subject::Pump(PumpId(3))),
    (|c| spare(c, RelayUse::Pump(PumpId(1))), Fault::NoPumpRelay, Subject::Pump(PumpId(1))),
    (|c| spare(c, RelayUse::Demand(BoilerId(1))), Fault::NoDemandRelay, Subject::Boiler(BoilerId(1))),
    (|c| spare(c, RelayUse::Valve(ZoneId(0))), Fault::NoValveRelay, Subject::Zone(ZoneId(0))),
    (|c| blind(c, ContactUse::Call(ZoneId(2))), Fault::NoCall, Subject::Zone(ZoneId(2))),
    (|c| blind(c, ContactUse::TankCall), Fault::NoCall, Subject::Tank),
    (|c| c.boilers[0].drive = RATE, Fault::NoSignal, Subject::Boiler(BoilerId(0))),
    (|c| c.boilers[0].drive = RATE, Fault::RateOfOnOff, Subject::Boiler(BoilerId(0))),
    (|c| analog(c, AnalogUse::Target(BoilerId(0))), Fault::WrongSignal, Subject::Boiler(BoilerId(0))),
    (|c| c.points.analogs[0] = AnalogUse::Spare, Fault::NoMixingSignal, Subject::Zone(ZoneId(2))),
    (|c| deaf(c, SensorUse::Mixed(ZoneId(2))), Fault::NoMixedSensor, Subject::Zone(ZoneId(2))),
    (|c| deaf(c, SensorUse::Supply), Fault::NoSupplySensor, Subject::Header),
    (|c| deaf(c, SensorUse::Outdoor), Fault::NoOutdoorSensor, Subject::Plant),
    (|c| c.points.relays.push(RelayUse::Alarm).unwrap(), Fault::SameUse, Subject::Relay(RelayId(12))),
    (
        |c| c.points.contacts[0] = ContactUse::Safety(SafetyId(31), Tap::Aux),
        Fault::NoSuchSafety,
        Subject::Contact(ContactId(0)),
    ),
    (|c| c.points.relays[0] = RelayUse::Valve(ZoneId(9)), Fault::NoSuchZone, Subject::Relay(RelayId(0))),
    (|c| c.reset.points.truncate(1), Fault::CurveTooShort, Subject::Plant),
    (|c| c.reset.points[1].outdoor = c.reset.points[0].outdoor, Fault::CurveNotRising, Subject::Plant),
    (|c| c.reset.points[1].supply = Temp::from_c(90), Fault::CurveSupplyRises, Subject::Plant),
    (|c| c.reset.supply_min = Temp::from_c(99), Fault::BoundsCrossed, Subject::Plant),
    (|c| c.reset.setback = TempDelta::from_k(-1), Fault::Negative, Subject::Plant),
    (|c| c.reset.schedule = Some(ScheduleId(3)), Fault::NoSuchSchedule, Subject::Schedule(ScheduleId(3))),
    (|c| c.staging.band = TempDelta::ZERO, Fault::NotPositive, Subject::Plant),
    (|c| c.boilers[1].input_w = 0, Fault::NotPositive, Subject::Boiler(BoilerId(1))),
    (
        |c| c.boilers[1].drive = BoilerDrive::Target { low: Temp::from_c(50), high: Temp::from_c(50) },
        Fault::RangeEmpty,
        Subject::Boiler(BoilerId(1)),
    ),
    (|c| c.boilers[1].fixed_target = Temp::from_c(99), Fault::TargetAboveOutlet, Subject::Boiler(BoilerId(1))),
    (|c| c.tank.as_mut().unwrap().target = Temp::from_c(99), Fault::TargetAboveOutlet, Subject::Tank),
    (|c| c.tank = None, Fault::NoTank, Subject::Plant),
    (|c| c.purge.otherwise = Some(ZoneId(2)), Fault::PurgeIntoMixed, Subject::Zone(ZoneId(2))),
    (|c| c.purge.to = PurgeTo::Zone(ZoneId(12)), Fault::NoSuchZone, Subject::Plant),
    (
        |c| c.rotation.policy = RotationPolicy::Calendar { every_h: 36, minute_of_day: 0 },
        Fault::CalendarPeriod,
        Subject::Plant,
    ),
    (
        |c| c.rotation.policy = RotationPolicy::Calendar { every_h: 24, minute_of_day: 1440 },
        Fault::MinuteOfDay,
        Subject::Plant,
    ),
    (|c| c.rotation.policy = RotationPolicy::HoursDifference(0), Fault::NotPositive, Subject::Plant),
    (|c| c.rotation.policy = RotationPolicy::StartsDifference(0), Fault::NotPositive, Subject::Plant),
    (|c| c.staging.up_error_k_s = 0, Fault::NotPositive, Subject::Plant),
    (|c| c.staging.down_error_k_s = 0, Fault::NotPositive, Subject::Plant),
    (|c| c.boilers[0].flow_proof_max = Span::ZERO, Fault::NotPositive, Subject::Boiler(BoilerId(0))),
    (|c| c.boilers[1].flame_proof_max = Span::ZERO, Fault::NotPositive, Subject::Boiler(BoilerId(1))),
    (|c| c.guard.hot_cuts = guard::hot::HOT_CUTS_MAX as u8 + 1, Fault::TooMany, Subject::Plant),
    (|c| c.guard.hot_cuts_within = Span::ZERO, Fault::NotPositive, Subject::Plant),
    (
        |c| {
            let ignored = c.zones.len() as u8;
            c.enable = PlantEnable::Requests(EnableRules { ignored, ..EnableRules::GUIDELINE_36 });
        },
        Fault::TooMany,
        Subject::Plant,
    ),
    (
        |c| c.schedules[0].steps[1] = schedule::Step::new(0, Level::Occupied),
        Fault::ScheduleOrder,
        Subject::Schedule(ScheduleId(0)),
    ),
    (|c| c.safeties[0].circuit = SafetyCircuit::ZoneLimit, Fault::SafetyCircuit, Subject::Safety(SafetyId(0))),
    (|c| c.safeties[0].scope = SafetyScope::Boiler(BoilerId(3)), Fault::NoSuchBoiler, Subject::Safety(SafetyId(0))),
    (|c| c.boilers.clear(), Fault::NoBoiler, Subject::Plant),
    (|c| (c.zones.clear(), c.tank = None).1, Fault::NothingToHeat, Subject::Plant),
];

const RATE: BoilerDrive = BoilerDrive::Rate;

fn spare(c: &mut Config, u: RelayUse) {
    let i = c.points.relay(u).unwrap();
    c.points.relays[i.index()] = RelayUse::Spare;
}

fn blind(c: &mut Config, u: ContactUse) {
    let i = c.points.contact(u).unwrap();
    c.points.contacts[i.index()] = ContactUse::Spare;
}

fn deaf(c: &mut Config, u: SensorUse) {
    let i = c.points.sensor(u).unwrap();
    c.points.sensors[i.index()] = SensorUse::Spare;
}

fn analog(c: &mut Config, u: AnalogUse) {
    c.points.analogs.push(u).unwrap();
}

#[test]
fn a_sound_configuration_has_no_fault_and_each_spoilt_setting_gives_its_own() {
    assert_eq!(faults(&rich()), []);
    for (i, (spoil, fault, about)) in SPOILT.iter().enumerate() {
        let mut c = rich();
        spoil(&mut c);
        let found = faults(&c);
        assert!(found.contains(&(*fault, *about)), "row {i}: {found:?} lacks {fault:?} about {about:?}");
        assert!(!c.is_sound());
    }
}

#[test]
fn all_faults_come_in_one_run() {
    let mut c = rich();
    let spoils = [0, 7, 23, 25, 28].map(|i| SPOILT[i]);
    for (spoil, ..) in spoils {
        spoil(&mut c);
    }
    let found = faults(&c);
    for (_, fault, about) in spoils {
        assert!(found.contains(&(fault, about)), "{found:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(200), failure_persistence: None, ..ProptestConfig::default() })]

    /// Any bytes are inputs, and a configuration that nobody checked may point anywhere.
    #[test]
    fn no_input_and_no_configuration_makes_a_tick_panic(
        spoils in prop::collection::vec(0..SPOILT.len(), 0..6),
        records in prop::collection::vec(prop::array::uniform32(any::<u8>()), 1..20),
        ids in prop::collection::vec(any::<u8>(), 8),
        steps in prop::collection::vec(prop_oneof![0u32..100, any::<u32>()], 20),
    ) {
        let mut c = rich();
        for i in spoils {
            // A row spoils what an earlier one may have taken away.
            let before = c.clone();
            if std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| SPOILT[i].0(&mut c))).is_err() {
                c = before;
            }
        }
        for (i, id) in ids.iter().enumerate() {
            if let Some(u) = c.points.contacts.get_mut(i * 3) {
                *u = [ContactUse::Call(ZoneId(*id)), ContactUse::Flame(BoilerId(*id)), ContactUse::Safety(SafetyId(*id), Tap::Chain), ContactUse::Hand(PumpId(*id))][i % 4];
            }
            if let Some(u) = c.points.sensors.get_mut(i) {
                *u = [SensorUse::BoilerOutlet(BoilerId(*id)), SensorUse::Mixed(ZoneId(*id))][i % 2];
            }
        }
        let (mut state, mut outputs) = (State::new(&c, None), Outputs::default());
        let mut now = Instant::ZERO;
        for (record, step) in records.iter().zip(&steps) {
            let mut bytes = [0u8; Inputs::RECORD_BYTES];
            for (slot, b) in bytes.iter_mut().zip(record.iter().cycle()) {
                *slot = *b;
            }
            now = now.after(Span::from_tenths(*step));
            tick(&c, &mut state, now, &Inputs::decode(&bytes), &mut outputs);
            prop_assert!(next_due(&state).is_none_or(|d| d >= state.at));
            prop_assert_eq!(Outputs::decode(&outputs.encode()), Some(outputs));
            let _ = state.rebased(&c);
        }
    }
}
