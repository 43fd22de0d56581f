//! Steps that nobody looks at between two switchings against the same run looked at in every step: all that is kept of it is
//! the same, bit by bit. The sensors here are coarse and have no noise, so that it is the contacts that end a stretch.

mod common;

use common::{ColdWeek, config, large, sized, small};
use heatwright_core::{
    Inputs, Instant, Outputs, PumpId, RelayUse, ZoneId,
    config::{BoilerPump, SafetyCircuit, SafetyKind, SafetyScope},
};
use heatwright_sim::{
    Control, Ideal, LinkError, Options, Plant, Run,
    control::InProcess,
    plant::{Drive, Mix, Safety, Trip},
    run,
    run::{Sample, Watch},
};

/// The same controller, asked in every step.
struct Asked(InProcess);

impl Control for Asked {
    fn tick(&mut self, now: Instant, inputs: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        self.0.tick(now, inputs, outputs)
    }
    fn leaves_out(&mut self, now: Instant, inputs: &Inputs) -> bool {
        self.0.leaves_out(now, inputs)
    }
    fn next_due(&self) -> Option<Instant> {
        self.0.next_due()
    }
}

/// Every sample as text.
#[derive(Default, PartialEq)]
struct Series(Vec<String>);

impl Watch for Series {
    fn sample(&mut self, s: &Sample<'_>) {
        self.0.push(format!("{} {} {:?} {:?}", s.at_s, s.civil.get(), s.state.field, s.state.zones));
    }
}

fn calm(mut plant: Plant) -> Plant {
    for s in &mut plant.sensors {
        (s.noise_k, s.quantum_k) = (0.0, 1.0);
    }
    plant
}

/// Runs a plant both ways; gives the run.
fn both(name: &str, plant: &Plant, options: &Options) -> Run {
    let config = config(plant);
    let (mut seen, mut seen_too) = (Series::default(), Series::default());
    let mut control = InProcess::new(config.clone());
    let glided = run(plant, &mut control, &mut Ideal::new(plant), &ColdWeek, options, &mut seen).unwrap();
    let mut asked = Asked(InProcess::new(config));
    let looked = run(plant, &mut asked, &mut Ideal::new(plant), &ColdWeek, options, &mut seen_too).unwrap();
    assert_eq!(glided, looked, "{name}");
    assert!(seen == seen_too, "{name}: another series");
    assert_eq!(control.ticks(), asked.0.ticks(), "{name}");
    assert_eq!(control.state(), asked.0.state(), "{name}");
    glided
}

fn day(step_s: f64) -> Options {
    Options { duration_s: 86_400.0, warm_up_s: 7200.0, step_s, sample_s: 420.0, ..Options::default() }
}

#[test]
fn plants_of_every_kind_end_where_looking_each_time_ends() {
    for (name, plant) in [("small", small()), ("large", large()), ("sized", sized(9, 3))] {
        both(name, &calm(plant), &day(1.0));
    }
    both("half a step", &calm(large()), &day(0.5));
    both("five seconds", &calm(large()), &day(5.0));
    let mut plant = calm(large());
    plant.zones[2].mix = Some(Mix::Modulated { stroke_s: 120.0, max_c: 45.0 });
    both("a motor on the mixing valve", &plant, &day(1.0));
    let mut plant = calm(large());
    for b in &mut plant.boilers {
        b.return_valve_c = Some(58.0);
    }
    for step_s in [0.5, 1.0, 5.0] {
        let ran = both("return valves", &plant, &day(step_s));
        assert!(ran.summary.boilers.iter().all(|b| b.valve_mean < 0.9), "{:?}", ran.summary.boilers);
    }
}

/// The floor alone, which a mixing valve gives more or less, sets the flow through both boilers.
#[test]
fn water_through_boilers_without_pumps_moves_their_flow_contact() {
    let mut plant = calm(large());
    for (i, z) in plant.zones.iter_mut().enumerate() {
        if i != 2 {
            (z.thermostat.set_c, z.thermostat.setback_c) = (5.0, 5.0);
        }
    }
    for b in &mut plant.boilers {
        b.pump = BoilerPump::None;
        b.flow_min_kg_s = 0.16;
    }
    both("no pumps", &plant, &day(1.0));
}

#[test]
fn a_valve_that_shuts_while_its_pump_runs_on_ends_its_flow_in_that_step() {
    let mut plant = calm(large());
    plant.zones[3].drive = Drive::Valve { pump: Some(PumpId(4)), stroke_s: 75.0, end_switch: true };
    plant.points.relays.push(RelayUse::Valve(ZoneId(3))).unwrap();
    both("two valves", &plant, &day(1.0));
}

#[test]
fn an_aquastat_is_seen_at_both_its_edges() {
    let mut plant = calm(large());
    let fan = plant.zones[3].fan.as_mut().unwrap();
    (fan.aquastat_c, fan.differential_k) = (Some(55.0), 1.0);
    both("aquastat", &plant, &day(1.0));
}

/// Limits set into the temperatures that the plant works at: each opens and closes many times in a day.
#[test]
fn limits_that_open_are_seen_in_the_step_in_which_they_do() {
    let boiler = |p: &mut Plant| {
        let Trip::BoilerAbove { open_c, close_c, .. } = &mut p.safeties[3].trip else { unreachable!() };
        (*open_c, *close_c) = (62.0, 55.0);
    };
    let floor = |p: &mut Plant| {
        let Trip::ZoneSupplyAbove { open_c, close_c, .. } = &mut p.safeties[5].trip else { unreachable!() };
        (*open_c, *close_c) = (37.0, 33.0);
    };
    let tank = |p: &mut Plant| {
        let (kind, circuit, scope) = (SafetyKind::TankLimit, SafetyCircuit::TankLimit, SafetyScope::Tank);
        let trip = Trip::TankAbove { open_c: 57.0, close_c: 56.0 };
        p.safeties[5] = Safety { kind, circuit, scope, trip, ..p.safeties[5] };
    };
    let sets: [&dyn Fn(&mut Plant); 3] = [&boiler, &floor, &tank];
    for (set, (name, safety)) in sets.iter().zip([("boiler", 3_u8), ("floor", 5), ("tank", 5)]) {
        let mut plant = calm(large());
        set(&mut plant);
        let opened = both(name, &plant, &day(1.0)).summary.opened;
        let times = opened.iter().find(|o| o.safety.index() == usize::from(safety)).map(|o| o.times);
        assert!(times > Some(3), "{name}: {opened:?}");
    }
}
