//! The valve that holds a boiler's return up: its balance, a worked steady state, a cold start, and runs under it.
//!
//! The law is the balance of two streams that mix and holds whatever stands here; nothing of it is measured.

mod common;

use common::{ColdWeek, Double, config, large, small};
use heatwright_core::{
    Inputs, Instant, Outputs, Severity, Temp,
    config::{BoilerDrive, CurvePoint, ResetConfig},
    outputs::Stated,
};
use heatwright_sim::{
    Control, Ideal, LinkError, Options, Plant, State,
    control::InProcess,
    emitter::{Emitter, MeanRule},
    outdoor::Steady,
    plant::{Efficiency, EfficiencyPoint, Fluid},
    run,
    run::{Fresh, Run, Sample, Watch, run_checked, why::Cause},
    study::{
        Issue,
        curve::{HeldBack, Reach, study_within},
    },
    weather,
};

/// Every relay on.
struct AllOn;

impl Control for AllOn {
    fn tick(&mut self, _: Instant, _: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        *outputs = Outputs::default();
        outputs.relays.fill(Stated { on: true, ..Stated::default() });
        Ok(())
    }
    fn next_due(&self) -> Option<Instant> {
        None
    }
}

const FLAME_W: f64 = 18_000.0;

/// One boiler on fire without end, which gives its water 18 kW, one zone behind the header.
fn plant(valve_c: Option<f64>, boiler_kg_s: f64, zone_kg_s: f64) -> Plant {
    let mut p = small();
    let b = &mut p.boilers[0];
    (b.input_w, b.minimum_share, b.drive) = (FLAME_W / 0.9, 1.0, BoilerDrive::Rate);
    b.efficiency = Efficiency::Points(vec![EfficiencyPoint { return_c: 50.0, rate: 1.0, efficiency: 0.9 }]);
    (b.flow_kg_s, b.flow_min_kg_s, b.jacket_w_k) = (boiler_kg_s, 0.0, 0.0);
    b.control.limit_c = 150.0;
    b.return_valve_c = valve_c;
    p.safeties.clear();
    p.header.loss_w_k = 0.0;
    p.zones.truncate(1);
    p.points.contacts.truncate(1);
    let z = &mut p.zones[0];
    (z.flow_kg_s, z.loss_w, z.mass_j_k, z.air_j_k) = (zone_kg_s, 20_000.0, 0.0, 2e5);
    // A straight line: 900 W a kelvin of mean water over the room.
    z.emitter = Emitter::Points { points: vec![(50.0, 45_000.0), (100.0, 90_000.0)], mean: MeanRule::Arithmetic };
    p
}

fn at_rest(p: &Plant) -> State {
    let options = Options { duration_s: 60.0, warm_up_s: 48.0 * 3600.0, ..Options::default() };
    run(p, &mut AllOn, &mut Ideal::new(p), &Steady { outdoor_c: 0.0 }, &options, &mut ()).unwrap().state
}

/// By hand, with the same heat everywhere: water enters at the valve's setting and leaves `Q/w` hotter; the zone sends back what
/// its flow and its emitter say; the valve lets `Q / (w_cp (T - t_R))` of the flow through. All of it whatever the zone's flow.
#[test]
fn a_steady_state_is_the_one_worked_by_hand() {
    let cp = Fluid::WATER.specific_heat_j_kgk(60.0);
    for (boiler_kg_s, zone_kg_s, valve_c) in [(0.5, 0.4, 60.0), (0.5, 0.9, 70.0), (0.9, 0.3, 80.0)] {
        let p = plant(Some(valve_c), boiler_kg_s, zone_kg_s);
        let end = at_rest(&p);
        let (b, z) = (end.boilers[0], end.zones.get(0).unwrap());
        let of = format!("{boiler_kg_s} and {zone_kg_s} kg/s, {valve_c} C: {b:?} {:?}", end.header);
        let outlet_c = valve_c + FLAME_W / (boiler_kg_s * cp);
        // The zone: Q = 900 (mean - room), Q = UA (room - 0), UA = 20 kW over 35 K; gains are in the room too.
        let room_c = (FLAME_W + z.flux.gains_w) / (20_000.0 / 35.0);
        let return_c = room_c + FLAME_W / 900.0 - FLAME_W / (2.0 * zone_kg_s * cp);
        let opening = (outlet_c - valve_c) / (outlet_c - return_c);
        assert!(return_c < valve_c - 5.0, "nothing to hold up: {return_c}");
        assert!((b.state.water_c - outlet_c).abs() < 1e-3, "outlet {outlet_c}: {of}");
        assert!((b.flux.return_c - valve_c).abs() < 1e-9, "{of}");
        assert!((end.header.primary_return_c - return_c).abs() < 1e-3, "return {return_c}: {of}");
        assert!((b.state.opening - opening).abs() < 1e-5, "opening {opening}: {of}");
        assert!((b.flux.flow_kg_s - boiler_kg_s).abs() < 1e-12, "its pump moves all of it: {of}");
        let through_w = b.state.opening * boiler_kg_s * cp * (b.state.water_c - end.header.primary_return_c);
        assert!((through_w - FLAME_W).abs() < 1.0, "{through_w} W to the header: {of}");
        // The zone is none the colder for it: its heat is the flame's.
        assert!((z.flux.heat_w - FLAME_W).abs() < 1.0, "{of}");
    }
}

/// Where the return is as warm as the setting, the valve is open and nothing differs from a plant without it.
#[test]
fn a_warm_return_leaves_the_plant_as_it_is_without_a_valve() {
    let (with, without) = (at_rest(&plant(Some(25.0), 0.5, 0.4)), at_rest(&plant(None, 0.5, 0.4)));
    assert_eq!(with.boilers[0].state.opening, 1.0);
    assert!(with.header.primary_return_c > 40.0, "{:?}", with.header);
    assert!((with.header.supply_c - without.header.supply_c).abs() < 1e-6);
    assert!((with.boilers[0].flux.return_c - without.boilers[0].flux.return_c).abs() < 1e-6);
}

/// A watch over a cold start.
#[derive(Default)]
struct Start(Vec<(f64, f64, f64, f64)>);

impl Watch for Start {
    fn sample(&mut self, s: &Sample<'_>) {
        let b = s.state.boilers[0];
        self.0.push((b.state.opening, b.state.water_c, b.flux.return_c, s.state.header.primary_supply_c));
    }
}

/// All goes round until the boiler is at the setting: `C dT/dt = Q`, so it takes `C (t_v - t_0) / Q` from the first flame, and the
/// header stays as cold as it was. After that no colder water enters any more.
#[test]
fn a_cold_boiler_warms_its_own_water_first() {
    let p = plant(Some(60.0), 0.5, 0.4);
    let options = Options { duration_s: 7200.0, warm_up_s: 0.0, sample_s: 1.0, ..Options::default() };
    let mut seen = Start::default();
    run(&p, &mut AllOn, &mut Ideal::new(&p), &Steady { outdoor_c: 0.0 }, &options, &mut seen).unwrap();
    let b = &p.boilers[0];
    let warm_s = (p.fluid.capacity_j_k(b.water_l) + b.metal_j_k) * (60.0 - 18.0) / FLAME_W;
    let first_s = b.burner.pre_purge_s + b.burner.ignition_s;
    let opened = seen.0.iter().position(|s| s.0 > 0.0).unwrap();
    assert!((opened as f64 - first_s - warm_s).abs() < 5.0, "opened after {opened} s, not {first_s} + {warm_s} s");
    for (opening, water_c, return_c, supply_c) in &seen.0[1..opened] {
        assert_eq!(*opening, 0.0);
        assert!((supply_c - 18.0).abs() < 1e-6, "the header had {supply_c} C of a shut valve");
        assert!((water_c - return_c).abs() < 0.5, "what enters is what left: {return_c} and {water_c}");
    }
    let after = &seen.0[opened..];
    assert!(after.iter().all(|s| s.2 >= 60.0), "colder water entered");
    assert!(after.last().unwrap().3 > 65.0);
}

fn valved(mut p: Plant, valve_c: f64) -> Plant {
    for b in &mut p.boilers {
        (b.return_min_c, b.return_valve_c) = (Some(valve_c), Some(valve_c));
    }
    p
}

fn checked(p: &Plant) -> Run {
    let fresh = || -> Fresh { (Box::new(InProcess::new(config(p))), Box::new(Ideal::new(p))) };
    let options = Options { duration_s: 2.0 * 86_400.0, ..Options::default() };
    run_checked(p, &fresh, &ColdWeek, &options, &mut ()).unwrap()
}

#[test]
fn heat_adds_up_and_burns_on_cold_return_are_starts_alone() {
    for (name, p) in [("small", valved(small(), 45.0)), ("large", valved(large(), 58.0))] {
        let ran = checked(&p);
        let b = ran.balance;
        assert!(b.fuel_kwh > 200.0, "{name} hardly fired: {b:?}");
        assert!(b.water_percent.abs() < 1e-6 && b.rooms_percent.abs() < 1e-6, "{name}: {b:?}");
        assert!(b.sound() && b.half_step.unwrap().worst_percent() < 0.5, "{name}: {b:?}");
        let mut bare = p.clone();
        for b in &mut bare.boilers {
            b.return_valve_c = None;
        }
        let without = checked(&bare);
        for (with, without) in ran.summary.boilers.iter().zip(&without.summary.boilers) {
            assert_eq!(with.return_cold_h, 0.0, "{name}: {with:?}");
            assert!(with.valve_mean < 1.0 && with.valve_shut_h < 0.2 * with.hours_h, "{name}: {with:?}");
            assert!(without.return_cold_h > 2.0 * with.valve_shut_h, "{name}: {with:?} {without:?}");
            assert_eq!((without.valve_mean, without.valve_shut_h), (1.0, 0.0));
        }
    }
}

/// A boiler that is never told more than the setting never lets its heat out.
#[test]
fn a_valve_set_above_the_target_lets_nothing_out() {
    let mut p = valved(small(), 60.0);
    p.boilers[0].drive = BoilerDrive::DemandOnly;
    p.boilers[0].control.fixed_target_c = 50.0;
    let options = Options { duration_s: 86_400.0, ..Options::default() };
    let ran = run(&p, &mut Double::new(&p), &mut Ideal::new(&p), &ColdWeek, &options, &mut ()).unwrap();
    let (s, cold) = (ran.summary, ran.why.cold);
    let b = s.boilers[0];
    assert!(b.hours_h > 0.0 && (b.valve_shut_h - b.hours_h).abs() < 1e-9, "{b:?}");
    assert!(s.zones[0].lowest_c < 15.0, "{:?}", s.zones[0]);
    assert!(cold.iter().any(|c| c.cause == Cause::ReturnValve && c.hours_h > 5.0), "{cold:?}");
    assert!(cold.iter().all(|c| c.cause != Cause::Burner), "{cold:?}");
}

/// Heat to the header, summed second by second: flow that passes the valve, from what comes back to what leaves.
struct ToHeader {
    flow_w_k: f64,
    sum_w: f64,
    count: f64,
}

impl Watch for ToHeader {
    fn sample(&mut self, s: &Sample<'_>) {
        let b = s.state.boilers[0].state;
        self.sum_w += b.opening * self.flow_w_k * (b.water_c - s.state.header.primary_return_c);
        self.count += 1.0;
    }
}

/// What the curve's study says of a boiler that is told a temperature without end, and what a run of four days of it has.
fn said_and_run(p: &Plant) -> (Option<(HeldBack, f64, Severity)>, f64) {
    let b = &p.boilers[0];
    let target = Temp::from_centi_c((b.control.fixed_target_c * 100.0).round() as i16);
    let point = |c| CurvePoint { outdoor: Temp::from_c(c), supply: target };
    let reset = ResetConfig { points: [point(-30), point(20)].into_iter().collect(), ..common::config(p).reset };
    let study = study_within(p, &reset, Reach::told(0.0, vec![150.0]), &weather::builtin().unwrap());
    let said = study.findings.iter().find_map(|f| match f.issue {
        Issue::ReturnValveShort { held, heat_w, .. } => Some((held, heat_w, f.severity)),
        _ => None,
    });
    let options = Options { duration_s: 4.0 * 86_400.0, warm_up_s: 86_400.0, sample_s: 1.0, ..Options::default() };
    let flow_w_k = b.flow_kg_s * p.fluid.specific_heat_j_kgk(60.0);
    let mut seen = ToHeader { flow_w_k, sum_w: 0.0, count: 0.0 };
    run(p, &mut AllOn, &mut Ideal::new(p), &Steady { outdoor_c: 0.0 }, &options, &mut seen).unwrap();
    (said, seen.sum_w / seen.count)
}

/// On at 55, the valve at 57, off at 64: the water between 55 and 57 is lost by the jacket alone. On at 58, it heats.
#[test]
fn a_boiler_that_comes_on_below_its_valve_gives_what_the_study_says() {
    let with = |target_c: f64| {
        let mut p = plant(Some(57.0), 0.5, 0.4);
        let b = &mut p.boilers[0];
        (b.drive, b.jacket_w_k) = (BoilerDrive::DemandOnly, 5.0);
        b.control.fixed_target_c = target_c;
        (b.control.on_below_k, b.control.off_above_k) = (5.0, 4.0);
        said_and_run(&p)
    };
    let (said, run_w) = with(60.0);
    let (held, heat_w, severity) = said.unwrap();
    assert_eq!((held.starts_c, severity), (Some((55.0, 62.0)), Severity::Error));
    assert!((held.most_w / run_w - 1.0).abs() < 0.05, "{} W said, {run_w} W run", held.most_w);
    assert!(heat_w <= held.most_w * 1.001 && run_w < 0.1 * FLAME_W, "{heat_w} {run_w}");
    let (said, run_w) = with(63.0);
    assert!(said.is_none_or(|(held, ..)| held.starts_c.is_none()), "{said:?}");
    assert!(run_w > 0.5 * FLAME_W, "{run_w}");
}
