//! Plants that cannot be stepped are refused with their fault, all faults at once, and never with a panic.

mod common;

use common::{ColdWeek, Double, large, small};
use heatwright_core::{BoilerId, PumpId, ScheduleId, SensorUse, Severity, Subject, ZoneId, config::BoilerPump};
use heatwright_sim::{
    Emitter, Finding, Ideal, Model, Options, Outdoor, Plant, RunError,
    finding::Fault,
    plant::{Drive, Efficiency, Trip},
    run,
};
use proptest::prelude::*;

fn faults(change: impl Fn(&mut Plant)) -> Vec<Finding> {
    let mut plant = large();
    change(&mut plant);
    Model::new(&plant, 1.0).err().unwrap_or_default()
}

/// Every change is found, about the right subject and field.
#[test]
fn every_planted_fault_is_found() {
    assert_eq!(faults(|_| {}), []);
    type Change = fn(&mut Plant);
    let z = |i| Subject::Zone(ZoneId(i));
    let planted: Vec<(&str, Subject, Change)> = vec![
        ("zones", Subject::Plant, |p| p.zones.clear()),
        ("boilers", Subject::Plant, |p| p.boilers.clear()),
        ("loss_w", z(1), |p| p.zones[1].loss_w = f64::NAN),
        ("loss_w", z(1), |p| p.zones[1].loss_w = -5.0),
        ("loss_indoor_c", z(0), |p| p.zones[0].loss_outdoor_c = 25.0),
        ("flow_kg_s", z(3), |p| p.zones[3].flow_kg_s = f64::INFINITY),
        ("pump", z(0), |p| p.zones[0].drive = Drive::Pump(PumpId(77))),
        ("thermostat.schedule", z(0), |p| p.zones[0].thermostat.schedule = Some(ScheduleId(9))),
        ("points", z(2), |p| {
            p.zones[2].emitter = Emitter::Points {
                points: vec![(10.0, 5.0), (10.0, 9.0)],
                mean: heatwright_sim::emitter::MeanRule::Arithmetic,
            }
        }),
        ("rating.return_c", z(0), |p| {
            if let Emitter::Power { rating, .. } = &mut p.zones[0].emitter {
                rating.room_c = rating.return_c + 1.0;
            }
        }),
        ("minimum_share", Subject::Boiler(BoilerId(1)), |p| p.boilers[1].minimum_share = 0.0),
        ("points of efficiency", Subject::Boiler(BoilerId(0)), |p| {
            p.boilers[0].efficiency = Efficiency::Points(Vec::new())
        }),
        ("pump of its own", Subject::Boiler(BoilerId(0)), |p| {
            for b in &mut p.boilers {
                b.pump = BoilerPump::None;
            }
            p.boilers[0].return_valve_c = Some(55.0);
        }),
        ("return_valve_c", Subject::Boiler(BoilerId(1)), |p| p.boilers[1].return_valve_c = Some(f64::NAN)),
        ("limit_c", Subject::Boiler(BoilerId(1)), |p| p.boilers[1].return_valve_c = Some(95.0)),
        ("some boilers have a pump", Subject::Header, |p| p.boilers[0].pump = BoilerPump::None),
        ("water_l", Subject::Header, |p| p.header.water_l = -1.0),
        ("draw.use_c", Subject::Tank, |p| p.tank.as_mut().unwrap().draw.cold_c = 39.0 + 6.5),
        ("glycol_percent", Subject::Plant, |p| p.fluid.glycol_percent = 80.0),
        ("stroke_s", Subject::Damper, |p| p.damper.as_mut().unwrap().stroke_s = f64::NAN),
        ("trip", Subject::Safety(heatwright_core::SafetyId(1)), |p| p.safeties[1].trip = Trip::BoilerFlow(BoilerId(9))),
        ("damper", Subject::Safety(heatwright_core::SafetyId(0)), |p| p.damper = None),
        ("sensors", Subject::Plant, |p| {
            p.sensors.pop();
        }),
        ("place for this sensor", Subject::Sensor(heatwright_core::SensorId(6)), |p| {
            p.points.sensors[6] = SensorUse::Mixed(ZoneId(12))
        }),
    ];
    for (text, subject, change) in planted {
        let found = faults(change);
        assert!(
            found
                .iter()
                .any(|f| f.subject == subject && f.severity == Severity::Error && f.fault.to_string().contains(text)),
            "{text} about {subject:?} not in {found:?}"
        );
    }
    // Two faults, both told.
    let both = faults(|p| {
        p.zones[0].loss_w = -1.0;
        p.boilers[0].input_w = -1.0;
    });
    assert_eq!(both.len(), 2, "{both:?}");
}

#[test]
fn steps_times_and_weather_that_cannot_be_run_are_refused() {
    let plant = small();
    for step_s in [0.0, -1.0, f64::NAN, 0.05, 0.33, 60.0, f64::INFINITY] {
        let found = Model::new(&plant, step_s).err().unwrap();
        assert!(matches!(found[0].fault, Fault::Step { .. }), "{step_s}: {found:?}");
    }
    let go = |options: Options, outdoor: &dyn Outdoor| {
        run(&plant, &mut Double::new(&plant), &mut Ideal::new(&plant), outdoor, &options, &mut ())
    };
    for duration_s in [-1.0, f64::NAN, f64::INFINITY] {
        let error = go(Options { duration_s, ..Options::default() }, &ColdWeek).unwrap_err();
        assert!(matches!(error, RunError::Time { field: "duration_s", .. }), "{error:?}");
    }
    /// A weather that ends.
    struct Ends;
    impl Outdoor for Ends {
        fn outdoor_c(&self, at_s: f64) -> f64 {
            if at_s > 600.0 { f64::NAN } else { 0.0 }
        }
        fn civil_start(&self) -> heatwright_core::CivilMinute {
            ColdWeek.civil_start()
        }
    }
    let error = go(Options { warm_up_s: 0.0, ..Options::default() }, &Ends).unwrap_err();
    assert_eq!(error, RunError::Weather { at_s: 601.0 });
    // Nothing to count is a run too, with figures that are numbers.
    let nothing = go(Options { duration_s: 0.0, warm_up_s: 0.0, ..Options::default() }, &ColdWeek).unwrap();
    assert!(nothing.summary.zones[0].lowest_c.is_finite() && nothing.balance.water_percent.is_finite());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Whatever sound plant: energy is conserved to rounding, and every node stays a temperature.
    #[test]
    fn any_sound_plant_conserves_energy(
        size in 0.2..5.0f64,
        water in 0.02..20.0f64,
        boiler_flow in 0.05..4.0f64,
        zone_flow in 0.3..3.0f64,
        minimum in 0.05..1.0f64,
        glycol in 0.0..60.0f64,
        check_valves: bool,
        outdoor_c in -40.0..15.0f64,
        step in 1u8..=20,
    ) {
        let mut plant = large();
        plant.fluid.glycol_percent = glycol;
        plant.header = common::header(200.0 * water);
        plant.header.check_valves = check_valves;
        for z in &mut plant.zones {
            z.loss_w *= size;
            z.flow_kg_s *= zone_flow;
            z.water_l *= water;
        }
        for b in &mut plant.boilers {
            b.flow_kg_s *= boiler_flow;
            b.minimum_share = minimum;
        }
        // Only one boiler's pump may run, so that the other can be driven backwards.
        plant.points.relays.retain(|u| *u != heatwright_core::RelayUse::Pump(PumpId(7)));
        plant.boilers[1].pump = BoilerPump::Controller(PumpId(7));
        let options = Options { duration_s: 6.0 * 3600.0, warm_up_s: 3600.0, step_s: f64::from(step) / 10.0, ..Options::default() };
        let outdoor = heatwright_sim::outdoor::Steady { outdoor_c };
        let done = run(&plant, &mut Double::new(&plant), &mut Ideal::new(&plant), &outdoor, &options, &mut ()).unwrap();
        prop_assert!(done.balance.water_percent.abs() < 1e-6, "{:?}", done.balance);
        prop_assert!(done.balance.rooms_percent.abs() < 1e-6, "{:?}", done.balance);
        for z in done.state.zones.iter() {
            prop_assert!((-60.0..150.0).contains(&z.nodes.water_c) && (-60.0..60.0).contains(&z.nodes.air_c), "{z:?}");
        }
    }
}
