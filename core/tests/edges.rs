//! Settings at their very edge: the last value that is taken, and the first that is not.

mod common;
use common::*;
use heatwright_core::{config::*, *};

const TARGET: BoilerDrive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(90) };

fn rich() -> Config {
    config(Shape { boilers: 2, zones: 3, tank: true, damper: true, extras: true, drive: TARGET, ..Shape::default() })
}

fn faults(c: &Config) -> Vec<(Fault, Subject)> {
    let mut v = Vec::new();
    c.check(|f| v.push((f.fault, f.about)));
    v
}

fn zones(c: &Config) -> u8 {
    c.zones.len() as u8
}
fn pumps(c: &Config) -> u8 {
    c.pumps.len() as u8
}

type Spoil = fn(&mut Config);

/// Taken as they are.
const TAKEN: &[(&str, Spoil)] = &[
    ("as it is", |_| ()),
    ("spare points, two of each", |c| {
        for _ in 0..2 {
            c.points.relays.push(RelayUse::Spare).unwrap();
            c.points.contacts.push(ContactUse::Spare).unwrap();
            c.points.sensors.push(SensorUse::Spare).unwrap();
            c.points.analogs.push(AnalogUse::Spare).unwrap();
        }
    }),
    ("a zone without a mixing valve takes what is purged", |c| c.purge.otherwise = Some(ZoneId(zones(c) - 2))),
    ("the last minute of the week", |c| {
        let _ = c.schedules[0].steps.pop();
        c.schedules[0].steps.push(schedule::Step::new(10_079, Level::Setback)).unwrap();
    }),
    ("a mixed supply designed for its highest", |c| {
        let m = c.zones[2].mix.as_mut().unwrap();
        m.mixed_design = m.mixed_max;
    }),
    ("a tank as hot as the hotter boiler may get", |c| {
        c.boilers[0].outlet_max = Temp::from_c(70);
        c.boilers[0].fixed_target = Temp::from_c(70);
        c.boilers[0].drive = BoilerDrive::Target { low: Temp::from_c(20), high: Temp::from_c(70) };
        c.tank.as_mut().unwrap().target = Temp::from_c(95);
    }),
    ("a target as hot as the boiler may get", |c| c.boilers[0].fixed_target = c.boilers[0].outlet_max),
    ("bounds that meet", |c| (c.reset.supply_min = Temp::from_c(60), c.reset.supply_max = Temp::from_c(60)).1),
    ("a level curve", |c| c.reset.points[1].supply = c.reset.points[0].supply),
    ("no setback, no boost", |c| (c.reset.setback = TempDelta::ZERO, c.reset.boost = TempDelta::ZERO).1),
    ("a low-load band as wide as the other", |c| {
        c.staging.low_load = LowLoadConfig { run_min: Span::from_s(300), band: c.staging.band };
    }),
    ("the last minute of the day", |c| {
        c.rotation.policy = RotationPolicy::Calendar { every_h: 24, minute_of_day: 1439 };
    }),
    ("a difference of one", |c| c.rotation.policy = RotationPolicy::HoursDifference(1)),
    ("one start of difference", |c| c.rotation.policy = RotationPolicy::StartsDifference(1)),
    ("as many hot cuts as are kept", |c| c.guard.hot_cuts = guard::hot::HOT_CUTS_MAX as u8),
    ("no hot cut counted, in no time", |c| (c.guard.hot_cuts = 0, c.guard.hot_cuts_within = Span::ZERO).1),
    ("all calls but one ignored", |c| {
        let ignored = zones(c) - 1;
        c.enable = PlantEnable::Requests(EnableRules { ignored, ..EnableRules::GUIDELINE_36 });
    }),
    ("no call to ignore, no rate to hold", |c| {
        (c.staging.band_pi = TempDelta::ZERO, c.staging.integral = Span::ZERO).1
    }),
    ("a damper that nobody looks at, and no time for it", |c| {
        let i = c.points.contact(ContactUse::DamperOpen).unwrap();
        c.points.contacts[i.index()] = ContactUse::Spare;
        c.guard.damper_proof_max = Span::ZERO;
    }),
    ("a hand switch of which only HAND is read", |c| {
        let i = c.points.contact(ContactUse::Auto(PumpId(1))).unwrap();
        c.points.contacts[i.index()] = ContactUse::Spare;
    }),
    ("a failsafe that never comes", |c| {
        c.staging.stage_by = StageBy::Load(LoadRules { failsafe_below: TempDelta::ZERO, ..LoadRules::CONDENSING });
    }),
    ("a boiler that switches its own pump, without a relay of ours", |c| {
        let BoilerPump::Controller(p) = c.boilers[1].pump else { panic!() };
        c.boilers[1].pump = BoilerPump::Boiler(p);
        let i = c.points.relay(RelayUse::Pump(p)).unwrap();
        c.points.relays[i.index()] = RelayUse::Spare;
    }),
];

/// Refused, with this fault.
const REFUSED: &[(Spoil, Fault, Subject)] = &[
    // The first id past the last of its kind, at each point.
    (|c| relay(c, RelayUse::Demand(BoilerId(2))), Fault::NoSuchBoiler, RELAY),
    (|c| relay(c, RelayUse::Pump(PumpId(pumps(c)))), Fault::NoSuchPump, RELAY),
    (|c| relay(c, RelayUse::Valve(ZoneId(3))), Fault::NoSuchZone, RELAY),
    (|c| contact(c, ContactUse::Call(ZoneId(3))), Fault::NoSuchZone, CONTACT),
    (|c| contact(c, ContactUse::EndSwitch(ZoneId(3))), Fault::NoSuchZone, CONTACT),
    (|c| contact(c, ContactUse::Flow(BoilerId(2))), Fault::NoSuchBoiler, CONTACT),
    (|c| contact(c, ContactUse::Flame(BoilerId(2))), Fault::NoSuchBoiler, CONTACT),
    (|c| contact(c, ContactUse::BoilerFault(BoilerId(2))), Fault::NoSuchBoiler, CONTACT),
    (|c| contact(c, ContactUse::BoilerSwitch(BoilerId(2))), Fault::NoSuchBoiler, CONTACT),
    (|c| contact(c, ContactUse::Hand(PumpId(pumps(c)))), Fault::NoSuchPump, CONTACT),
    (|c| contact(c, ContactUse::Auto(PumpId(pumps(c)))), Fault::NoSuchPump, CONTACT),
    (
        |c| {
            let none = SafetyId(c.safeties.len() as u8);
            contact(c, ContactUse::Safety(none, Tap::Aux));
        },
        Fault::NoSuchSafety,
        CONTACT,
    ),
    (|c| sensor(c, SensorUse::BoilerOutlet(BoilerId(2))), Fault::NoSuchBoiler, SENSOR),
    (|c| sensor(c, SensorUse::Mixed(ZoneId(3))), Fault::NoSuchZone, SENSOR),
    (|c| analog(c, AnalogUse::Target(BoilerId(2))), Fault::NoSuchBoiler, ANALOG),
    (|c| analog(c, AnalogUse::Mixing(ZoneId(3))), Fault::NoSuchZone, ANALOG),
    // One use at two points.
    (|c| relay(c, RelayUse::Demand(BoilerId(0))), Fault::SameUse, RELAY),
    (|c| contact(c, ContactUse::Call(ZoneId(0))), Fault::SameUse, CONTACT),
    (|c| contact(c, ContactUse::Acknowledge), Fault::SameUse, CONTACT),
    (|c| sensor(c, SensorUse::Supply), Fault::SameUse, SENSOR),
    (|c| analog(c, AnalogUse::Target(BoilerId(0))), Fault::SameUse, ANALOG),
    // A pump that no relay runs and no boiler either, though another boiler runs its own.
    (
        |c| {
            let BoilerPump::Controller(p) = c.boilers[1].pump else { panic!() };
            c.boilers[1].pump = BoilerPump::Boiler(p);
            let i = c.points.relay(RelayUse::Pump(PumpId(1))).unwrap();
            c.points.relays[i.index()] = RelayUse::Spare;
        },
        Fault::NoPumpRelay,
        Subject::Pump(PumpId(1)),
    ),
    // One boiler by rate is enough to need the law's figures.
    (
        |c| {
            c.boilers[1].drive = BoilerDrive::Rate;
            let i = c.points.analog(AnalogUse::Target(BoilerId(1))).unwrap();
            c.points.analogs[i.index()] = AnalogUse::Rate(BoilerId(1));
            c.staging.band_pi = TempDelta::ZERO;
        },
        Fault::NotPositive,
        Subject::Plant,
    ),
    (
        |c| {
            c.boilers[1].drive = BoilerDrive::Rate;
            c.staging.integral = Span::ZERO;
        },
        Fault::NotPositive,
        Subject::Plant,
    ),
    (|c| c.staging.down_rate = c.staging.up_rate, Fault::BoundsCrossed, Subject::Plant),
    (
        |c| {
            let band = TempDelta::from_centi_k(c.staging.band.centi_k() - 1);
            c.staging.low_load = LowLoadConfig { run_min: Span::from_s(300), band };
        },
        Fault::BoundsCrossed,
        Subject::Plant,
    ),
    (
        |c| c.staging.stage_by = StageBy::Load(LoadRules { up_percent: 0, ..LoadRules::CONDENSING }),
        Fault::NotPositive,
        Subject::Plant,
    ),
    (
        |c| c.staging.stage_by = StageBy::Load(LoadRules { down_design_percent: 0, ..LoadRules::CONDENSING }),
        Fault::NotPositive,
        Subject::Plant,
    ),
    (
        |c| {
            let failsafe_below = TempDelta::from_centi_k(-1);
            c.staging.stage_by = StageBy::Load(LoadRules { failsafe_below, ..LoadRules::CONDENSING });
        },
        Fault::Negative,
        Subject::Plant,
    ),
    (
        |c| {
            c.staging.stage_by = StageBy::Load(LoadRules::CONDENSING);
            c.zones[1].flow_w_per_k = 0;
        },
        Fault::NoFlowKnown,
        Subject::Zone(ZoneId(1)),
    ),
    (
        |c| {
            c.staging.stage_by = StageBy::Load(LoadRules::CONDENSING);
            c.tank.as_mut().unwrap().flow_w_per_k = 0;
        },
        Fault::NoFlowKnown,
        Subject::Tank,
    ),
    // A damper that somebody looks at, by a contact of its own or as a safety of the proving pair, is waited for.
    (|c| c.guard.damper_proof_max = Span::ZERO, Fault::NotPositive, Subject::Damper),
    (
        |c| {
            let i = c.points.contact(ContactUse::DamperOpen).unwrap();
            c.points.contacts[i.index()] = ContactUse::Spare;
            let (scope, circuit) = (SafetyScope::Plant, SafetyCircuit::Proving);
            let kind = SafetyKind::DamperSwitch;
            c.safeties.push(SafetyConfig { kind, scope, circuit, reset: Reset::Automatic }).unwrap();
            c.guard.damper_proof_max = Span::ZERO;
        },
        Fault::NotPositive,
        Subject::Damper,
    ),
    // At HAND nothing would be seen closed, and that is OFF.
    (
        |c| {
            for u in [ContactUse::Hand(PumpId(1)), ContactUse::Auto(PumpId(1))] {
                let i = c.points.contact(u).unwrap();
                c.points.contacts[i.index()] = ContactUse::Spare;
            }
            contact(c, ContactUse::Auto(PumpId(1)));
        },
        Fault::NoHand,
        CONTACT,
    ),
    // Each of two figures alone.
    (|c| c.zones[2].mix.as_mut().unwrap().stroke = Span::ZERO, Fault::NotPositive, Subject::Zone(ZoneId(2))),
    (|c| c.zones[2].mix.as_mut().unwrap().integral = Span::ZERO, Fault::NotPositive, Subject::Zone(ZoneId(2))),
    (|c| c.zones[2].mix.as_mut().unwrap().band = TempDelta::ZERO, Fault::NotPositive, Subject::Zone(ZoneId(2))),
    (
        |c| {
            let m = c.zones[2].mix.as_mut().unwrap();
            m.mixed_design = m.mixed_max.plus(TempDelta::from_centi_k(1));
        },
        Fault::BoundsCrossed,
        Subject::Zone(ZoneId(2)),
    ),
    (
        |c| c.rotation.policy = RotationPolicy::Calendar { every_h: 0, minute_of_day: 0 },
        Fault::CalendarPeriod,
        Subject::Plant,
    ),
    // A week that ends past its end, and one that does not rise, though its other steps do.
    (
        |c| {
            let _ = c.schedules[0].steps.pop();
            c.schedules[0].steps.push(schedule::Step::new(10_080, Level::Setback)).unwrap();
        },
        Fault::ScheduleOrder,
        Subject::Schedule(ScheduleId(0)),
    ),
    (
        |c| c.schedules[0].steps[3] = schedule::Step::new(c.schedules[0].steps[2].minute_of_week(), Level::Setback),
        Fault::ScheduleOrder,
        Subject::Schedule(ScheduleId(0)),
    ),
    // One pair of a curve is enough, and so is one step of a week that ends past it.
    (|c| curve(c, [(-15, 80), (0, 60), (0, 35)]), Fault::CurveNotRising, Subject::Plant),
    (|c| curve(c, [(-15, 80), (-15, 60), (0, 35)]), Fault::CurveNotRising, Subject::Plant),
    (|c| curve(c, [(-15, 80), (0, 60), (20, 61)]), Fault::CurveSupplyRises, Subject::Plant),
    (|c| curve(c, [(-15, 80), (0, 81), (20, 35)]), Fault::CurveSupplyRises, Subject::Plant),
    (
        |c| {
            let last = c.schedules[0].steps.len() - 1;
            c.schedules[0].steps[last] = schedule::Step::new(10_081, Level::Setback);
        },
        Fault::ScheduleOrder,
        Subject::Schedule(ScheduleId(0)),
    ),
    // Each circuit about what it does not belong to.
    (|c| safety(c, SafetyScope::Zone(ZoneId(3)), SafetyCircuit::ZoneLimit), Fault::NoSuchZone, SAFETY),
    (|c| safety(c, SafetyScope::Zone(ZoneId(0)), SafetyCircuit::Limit), Fault::SafetyCircuit, SAFETY),
    (|c| safety(c, SafetyScope::Zone(ZoneId(0)), SafetyCircuit::Proving), Fault::SafetyCircuit, SAFETY),
    (|c| safety(c, SafetyScope::Boiler(BoilerId(0)), SafetyCircuit::TankLimit), Fault::SafetyCircuit, SAFETY),
    (|c| safety(c, SafetyScope::Plant, SafetyCircuit::ZoneLimit), Fault::SafetyCircuit, SAFETY),
    (|c| (c.tank = None, safety(c, SafetyScope::Tank, SafetyCircuit::TankLimit)).1, Fault::NoTank, SAFETY),
    (|c| c.tank = None, Fault::NoTank, Subject::Plant),
    (|c| c.reset.schedule = Some(ScheduleId(1)), Fault::NoSuchSchedule, Subject::Schedule(ScheduleId(1))),
    (|c| c.purge.to = PurgeTo::Zone(ZoneId(3)), Fault::NoSuchZone, Subject::Plant),
    (|c| c.purge.to = PurgeTo::Zone(ZoneId(2)), Fault::PurgeIntoMixed, Subject::Zone(ZoneId(2))),
];

/// Stand for the point or safety that a row adds: the last of its kind.
const RELAY: Subject = Subject::Relay(RelayId(255));
const CONTACT: Subject = Subject::Contact(ContactId(255));
const SENSOR: Subject = Subject::Sensor(SensorId(255));
const ANALOG: Subject = Subject::Analog(AnalogId(255));
const SAFETY: Subject = Subject::Safety(SafetyId(255));

fn curve(c: &mut Config, points: [(i16, i16); 3]) {
    let points = points.map(|(o, w)| CurvePoint { outdoor: Temp::from_c(o), supply: Temp::from_c(w) });
    c.reset.points = heapless::Vec::from_slice(&points).unwrap();
}
fn relay(c: &mut Config, u: RelayUse) {
    c.points.relays.push(u).unwrap();
}
fn contact(c: &mut Config, u: ContactUse) {
    c.points.contacts.push(u).unwrap();
}
fn sensor(c: &mut Config, u: SensorUse) {
    c.points.sensors.push(u).unwrap();
}
fn analog(c: &mut Config, u: AnalogUse) {
    c.points.analogs.push(u).unwrap();
}
fn safety(c: &mut Config, scope: SafetyScope, circuit: SafetyCircuit) {
    let kind = SafetyKind::HighLimit;
    c.safeties.push(SafetyConfig { kind, scope, circuit, reset: Reset::Automatic }).unwrap();
}

fn last(c: &Config, about: Subject) -> Subject {
    let last = |n: usize| n as u8 - 1;
    match about {
        RELAY => Subject::Relay(RelayId(last(c.points.relays.len()))),
        CONTACT => Subject::Contact(ContactId(last(c.points.contacts.len()))),
        SENSOR => Subject::Sensor(SensorId(last(c.points.sensors.len()))),
        ANALOG => Subject::Analog(AnalogId(last(c.points.analogs.len()))),
        SAFETY => Subject::Safety(SafetyId(last(c.safeties.len()))),
        about => about,
    }
}

#[test]
fn the_last_value_of_each_range_is_taken() {
    for (what, spoil) in TAKEN {
        let mut c = rich();
        spoil(&mut c);
        assert_eq!((faults(&c), c.is_sound()), (vec![], true), "{what}");
    }
}

#[test]
fn the_first_value_past_each_range_is_refused() {
    for (i, (spoil, fault, about)) in REFUSED.iter().enumerate() {
        let mut c = rich();
        spoil(&mut c);
        let found = faults(&c);
        let wanted = (*fault, last(&c, *about));
        assert!(found.contains(&wanted), "row {i}: {found:?} lacks {wanted:?}");
        assert!(!c.is_sound(), "row {i}");
    }
}

/// A plant without boilers has the fault that it has none, and not that its tank is hotter than they may get.
#[test]
fn a_plant_without_boilers_has_no_limit_to_hold_its_tank_against() {
    let mut c = rich();
    c.boilers.clear();
    let found = faults(&c);
    assert!(found.contains(&(Fault::NoBoiler, Subject::Plant)), "{found:?}");
    assert!(!found.iter().any(|(f, _)| *f == Fault::TargetAboveOutlet), "{found:?}");
}
