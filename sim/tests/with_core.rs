//! The plants of the physics tests under the real control logic: heat adds up, half the step agrees, and ticking only when
//! something is due ends where ticking every second ends.

mod common;

use common::{ColdWeek, config, large, sized, small};
use heatwright_core::{Config, Inputs, Instant, Outputs};
use heatwright_sim::{
    Control, Ideal, LinkError, Options,
    control::InProcess,
    run,
    run::{
        Fresh, RunError,
        bare::{Recorder, bare},
        run_compared,
    },
    run_checked,
};

/// The same core, ticked every step whatever it says.
struct EveryStep {
    config: Config,
    state: heatwright_core::State,
}

impl Control for EveryStep {
    fn tick(&mut self, now: Instant, inputs: &Inputs, outputs: &mut Outputs) -> Result<(), LinkError> {
        heatwright_core::tick(&self.config, &mut self.state, now, inputs, outputs);
        Ok(())
    }
    fn next_due(&self) -> Option<Instant> {
        heatwright_core::next_due(&self.state)
    }
}

#[test]
fn a_week_under_the_real_controller_is_sound() {
    for (name, plant) in [("small", small()), ("large", large())] {
        let config = config(&plant);
        assert!(config.is_sound(), "{name}: {:?}", {
            let mut faults = Vec::new();
            config.check(|f| faults.push(f));
            faults
        });
        let fresh = || -> Fresh { (Box::new(InProcess::new(config.clone())), Box::new(Ideal::new(&plant))) };
        let run = run_checked(&plant, &fresh, &ColdWeek, &Options::default(), &mut ()).unwrap();
        let (b, half) = (run.balance, run.balance.half_step.unwrap());
        assert!(b.water_percent.abs() < 1e-6 && b.rooms_percent.abs() < 1e-6, "{name}: {b:?}");
        assert!(half.worst_percent() < 0.5, "{name}: {half:?}");
        for z in &run.summary.zones {
            let floor = if plant.zones[z.zone.index()].thermostat.schedule.is_some() { 16.5 } else { 19.0 };
            assert!(z.mean_c > floor && z.highest_c < 22.5, "{name}: {z:?}");
        }
        for s in &run.summary.boilers {
            assert!(s.starts_per_h_max <= 12 && s.water_max_c < 93.0, "{name}: {s:?}");
        }
        assert!(!run.events.is_empty());
    }
}

#[test]
fn ticking_when_due_ends_where_ticking_every_step_ends() {
    for plant in [small(), large()] {
        let config = config(&plant);
        let options = Options { duration_s: 2.0 * 86_400.0, warm_up_s: 0.0, ..Options::default() };
        let mut due = InProcess::new(config.clone());
        let a = run(&plant, &mut due, &mut Ideal::new(&plant), &ColdWeek, &options, &mut ()).unwrap();
        let mut every = EveryStep { state: heatwright_core::State::new(&config, None), config };
        let b = run(&plant, &mut every, &mut Ideal::new(&plant), &ColdWeek, &options, &mut ()).unwrap();
        assert!(due.ticks() > 0);
        assert_eq!(a.events, b.events);
        assert_eq!(a.state, b.state);
    }
}

#[test]
fn the_bare_physics_end_where_the_run_ended() {
    for plant in [small(), large(), sized(8, 3)] {
        let config = config(&plant);
        let options = Options { duration_s: 86_400.0, warm_up_s: 3600.0, ..Options::default() };
        let mut recorder = Recorder::new(Ideal::new(&plant));
        let ran = run(&plant, &mut InProcess::new(config), &mut recorder, &ColdWeek, &options, &mut ()).unwrap();
        let mut changes = recorder.changes();
        assert_eq!(bare(&plant, &changes, &ColdWeek, &options).unwrap(), ran.state);
        // Not by luck: with the second half of the changes left out it ends elsewhere.
        changes.truncate(changes.len() / 2);
        assert_ne!(bare(&plant, &changes, &ColdWeek, &options).unwrap(), ran.state);
    }
}

#[test]
fn a_step_that_cannot_be_halved_is_refused_before_anything_runs() {
    let plant = small();
    let config = config(&plant);
    let fresh = || -> Fresh { (Box::new(InProcess::new(config.clone())), Box::new(Ideal::new(&plant))) };
    for step_s in [0.1, 0.3, 0.5, 2.5, 4.9] {
        let options = Options { duration_s: 600.0, warm_up_s: 0.0, step_s, ..Options::default() };
        let refused = Err(RunError::HalfStep { step_s });
        assert_eq!(run_checked(&plant, &fresh, &ColdWeek, &options, &mut ()), refused);
        let mut only = Counted(0);
        assert_eq!(run_compared(&plant, &mut only, &fresh, &ColdWeek, &options, &mut ()), refused);
        assert_eq!(only.0, 0, "the controller that there is only once has been used up");
    }
    for step_s in [0.2, 1.0, 5.0] {
        let options = Options { duration_s: 600.0, warm_up_s: 0.0, step_s, ..Options::default() };
        assert!(run_checked(&plant, &fresh, &ColdWeek, &options, &mut ()).unwrap().balance.half_step.is_some());
    }
    // A step that is out of range keeps its own words.
    let options = Options { step_s: 7.3, ..Options::default() };
    let found = run_checked(&plant, &fresh, &ColdWeek, &options, &mut ());
    assert!(matches!(found, Err(RunError::Plant(_))), "{found:?}");
}

/// Counts its ticks and does nothing.
struct Counted(u32);

impl Control for Counted {
    fn tick(&mut self, _: Instant, _: &Inputs, _: &mut Outputs) -> Result<(), LinkError> {
        self.0 += 1;
        Ok(())
    }
    fn next_due(&self) -> Option<Instant> {
        None
    }
}

#[test]
fn bare_physics_refuse_a_length_that_never_ends() {
    for duration_s in [f64::INFINITY, f64::NAN, -1.0] {
        let options = Options { duration_s, ..Options::default() };
        let found = bare(&small(), &[], &ColdWeek, &options);
        assert!(matches!(found, Err(RunError::Time { field: "duration_s", .. })), "{duration_s}: {found:?}");
    }
}

/// Air that stands still to the hundredth for a day is a broken sensor to the controller. Weather that a study made up is not.
#[test]
fn a_made_up_constant_is_no_frozen_sensor() {
    use heatwright_core::Reason;
    let mut plant = small();
    for s in &mut plant.sensors {
        s.noise_k = 0.0;
    }
    let alarm = plant.points.relays.len();
    plant.points.relays.push(heatwright_core::RelayUse::Alarm).unwrap();
    let options = Options { duration_s: 3.0 * 86_400.0, ..Options::default() };
    let mut control = InProcess::new(config(&plant));
    let outdoor = heatwright_sim::outdoor::Steady { outdoor_c: -8.02 };
    let r = run(&plant, &mut control, &mut Ideal::new(&plant), &outdoor, &options, &mut ()).unwrap();
    let stated = r.outputs.relay(heatwright_core::RelayId(alarm as u8));
    assert_eq!(stated.why, Reason::Healthy, "{stated:?}");
    let switched = |e: &&heatwright_sim::run::Event| {
        matches!(e.change, heatwright_sim::run::Change::Relay { what: heatwright_core::RelayUse::Alarm, .. })
    };
    assert_eq!(r.events.iter().find(switched), None);
}
