//! Ticking only when something is due ends in the state of ticking every second.
//!
//! Two controllers see one history. One ticks every second. The other ticks when an input has changed (wall-clock time that
//! merely runs on is no change) or when its own `next_due` has come. After every happening, and at the end of every simulated
//! stretch, both are ticked and their states and outputs must be equal. A third kind of host leaves out ticks, too, whose
//! readings have moved without mattering to anybody (`quiet`).

mod common;
use common::history::{Happening, History, apply, plants};
use common::*;
use heatwright_core::{
    config::{BoilerDrive, OffOrder, RotationPolicy},
    quiet::{Asks, Quiet, take_down},
    *,
};
use proptest::prelude::*;

/// Wall-clock time of the controllers' second zero: a quarter to midnight, so that minutes do not begin with seconds.
const CIVIL_AT_ZERO_S: u32 = 300 * 86_400 + 85_500 + 17;

fn civil(now_s: u32) -> Option<CivilMinute> {
    Some(CivilMinute::new((CIVIL_AT_ZERO_S + now_s) / 60))
}

/// The lines in which two states differ.
fn difference(a: &State, b: &State) -> String {
    let (a, b) = (format!("{a:#?}"), format!("{b:#?}"));
    let lines = a.lines().zip(b.lines()).filter(|(a, b)| a != b);
    lines.take(12).map(|(a, b)| format!("left out: {}   every second: {}\n", a.trim(), b.trim())).collect()
}

/// Ticks that the skipping controller made.
struct Run {
    ticks: u32,
    seconds: u32,
}

fn run(shape: Shape, history: &History, forget_due: bool) -> Result<Run, String> {
    let mut every = Bench::new(shape);
    every.water = false;
    let mut state = every.state.clone();
    let mut outputs = every.outputs;
    let mut follow = true;
    let (mut seconds, mut ticks) = (0, 0);
    let mut seen_by_skipper = Inputs { contacts: u64::MAX, ..Inputs::default() };
    for (wait, happening) in &history.steps {
        for _ in 0..*wait {
            every.now_s += 1;
            if follow {
                every.plant();
            }
            every.inputs.civil = civil(every.now_s);
            every.tick();
            seconds += 1;
            let due = next_due(&state).is_some_and(|d| d <= s(every.now_s)) && !forget_due;
            let changed = Inputs { civil: None, ..every.inputs } != Inputs { civil: None, ..seen_by_skipper };
            if due || changed {
                tick(&every.config, &mut state, s(every.now_s), &every.inputs, &mut outputs);
                seen_by_skipper = every.inputs;
                ticks += 1;
            }
            if outputs != every.outputs {
                let first = diff(&outputs, &every.outputs).next();
                return Err(format!("outputs differ at {} s: {first:?}", every.now_s));
            }
        }
        if state.at < s(every.now_s) {
            tick(&every.config, &mut state, s(every.now_s), &every.inputs, &mut outputs);
        }
        if state != every.state {
            return Err(format!("states differ at {} s:\n{}", every.now_s, difference(&state, &every.state)));
        }
        apply(&mut every, happening, &mut follow);
    }
    Ok(Run { ticks, seconds })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(12), max_shrink_iters: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_tick_that_is_not_due_can_be_left_out((shape, history) in plants(40)) {
        if let Err(e) = run(shape, &history, false) {
            return Err(TestCaseError::fail(e));
        }
    }
}

/// The return opens while boilers are staged by the required heat. From the next tick on the firing rate decides: that tick
/// must be due, although no machine has changed. The property above found it.
#[test]
fn a_tick_is_due_when_the_required_heat_is_not_known_any_more() {
    let shape = Shape {
        boilers: 2,
        zones: 2,
        drive: BoilerDrive::Rate,
        tank: true,
        damper: false,
        policy: RotationPolicy::HoursDifference(1),
        off_order: OffOrder::FirstOnLastOff,
        extras: false,
        by_load: true,
        low_load: false,
        by_requests: true,
    };
    let steps = vec![
        (1, Happening::Contact(ContactUse::TankCall, true)),
        (1, Happening::Contact(ContactUse::BoilerSwitch(BoilerId(0)), true)),
        (934, Happening::Read(SensorUse::Supply, Reading::At(c(80)))),
        (332, Happening::Read(SensorUse::Return, Reading::Open)),
        (17, Happening::Follow(true)),
    ];
    run(shape, &History { steps }, false).unwrap();
}

/// A history of three days with calls, changing weather and one failed sensor.
fn three_days() -> History {
    let mut steps = Vec::new();
    for hour in 0..72u32 {
        let z = ZoneId((hour % 2) as u8);
        steps.push((1000, Happening::Contact(ContactUse::Call(z), hour % 3 != 0)));
        let outdoor = -5 + (hour % 24) as i16;
        steps.push((1300, Happening::Read(SensorUse::Outdoor, Reading::At(c(outdoor)))));
        steps.push((700, Happening::Read(SensorUse::Supply, Reading::At(c(30 + ((hour * 7) % 40) as i16)))));
        let reading = if hour == 30 { Reading::Open } else { Reading::At(c(44)) };
        steps.push((600, Happening::Read(SensorUse::Supply, reading)));
    }
    History { steps }
}

#[test]
fn most_ticks_of_three_days_can_be_left_out() {
    let shape = Shape { boilers: 3, drive: BoilerDrive::Target { low: c(20), high: c(90) }, ..Shape::default() };
    let run = run(shape, &three_days(), false).unwrap();
    assert_eq!(run.seconds, 72 * 3600);
    assert!(run.ticks * 8 < run.seconds, "{} ticks of {} were due", run.ticks, run.seconds);
}

#[test]
fn the_comparison_fails_for_a_controller_that_forgets_what_is_due() {
    let shape = Shape { boilers: 2, ..Shape::default() };
    assert!(run(shape, &three_days(), true).is_err());
}

/// How the second controller leaves out ticks whose readings matter to nobody, and how it may do it wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Leaves {
    AsStated,
    /// It ignores the bands of the readings.
    WithoutBands,
    /// It does not take down what it saw before it ticks.
    WithoutTakingDown,
    /// It takes every moment that is due for a law's.
    WithoutMachines,
    /// It does not state mixing valves that moved.
    WithoutSignals,
}

/// Like `run`, with readings that move every second, against a controller that ticks only for readings that matter.
fn run_moving(shape: Shape, history: &History, water: bool, mut seed: u32, leaves: Leaves) -> Result<Run, String> {
    let mut every = Bench::new(shape);
    every.water = water;
    let config = every.config.clone();
    let mut state = every.state.clone();
    let mut outputs = every.outputs;
    let (mut quiet, mut left_out): (Option<Quiet>, Option<(Instant, Inputs)>) = (None, None);
    let mut follow = true;
    let (mut seconds, mut ticks) = (0, 0);
    for (wait, happening) in &history.steps {
        for _ in 0..*wait {
            every.now_s += 1;
            if follow {
                every.plant();
            }
            for (u, r) in every.config.points.sensors.iter().zip(&mut every.inputs.sensors) {
                // Half of the readings move by up to five hundredths, up and down; outdoors once in four minutes.
                seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let moves = if *u == SensorUse::Outdoor { seed >> 24 == 0 } else { seed >> 31 == 1 };
                if let (Reading::At(t), true) = (*r, moves) {
                    *r = Reading::At(t.plus(TempDelta::from_centi_k((seed >> 20) as i16 % 11 - 5)));
                }
            }
            every.inputs.civil = civil(every.now_s);
            every.tick();
            seconds += 1;
            let (now, inputs) = (s(every.now_s), every.inputs);
            let down = |left_out: &mut Option<(Instant, Inputs)>, state: &mut State| {
                if let Some((at, seen)) = left_out.take().filter(|_| leaves != Leaves::WithoutTakingDown) {
                    take_down(&config, state, at, &seen);
                }
            };
            let mut covered = false;
            if let Some(q) = &mut quiet {
                let bands = q.same(&inputs) || (leaves == Leaves::WithoutBands && q.same_contacts(&inputs));
                covered = bands && q.until().is_none_or(|t| now < t);
                if bands && !covered {
                    down(&mut left_out, &mut state);
                    let asks = q.step(&config, &mut state, now, &inputs);
                    if asks == Asks::Signals && leaves != Leaves::WithoutSignals {
                        Quiet::signals(&config, &state, &mut outputs);
                    }
                    covered = asks != Asks::Tick;
                }
            }
            if covered {
                left_out = Some((now, inputs));
            } else {
                down(&mut left_out, &mut state);
                let machines = tick_for(&config, &mut state, now, &inputs, &mut outputs);
                let machines = machines.filter(|_| leaves != Leaves::WithoutMachines);
                quiet = Some(Quiet::after(&config, &state, machines));
                ticks += 1;
            }
            if outputs != every.outputs {
                let first = diff(&outputs, &every.outputs).next();
                return Err(format!("outputs differ at {} s: {first:?}", every.now_s));
            }
        }
        if let Some((at, seen)) = left_out.take() {
            take_down(&config, &mut state, at, &seen);
        }
        let machines = tick_for(&config, &mut state, s(every.now_s), &every.inputs, &mut outputs);
        every.tick();
        quiet = Some(Quiet::after(&config, &state, machines));
        if state != every.state {
            return Err(format!("states differ at {} s:\n{}", every.now_s, difference(&state, &every.state)));
        }
        apply(&mut every, happening, &mut follow);
    }
    Ok(Run { ticks, seconds })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(24), max_shrink_iters: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_tick_whose_readings_matter_to_nobody_can_be_left_out((shape, history) in plants(30), water: bool, seed: u32) {
        if let Err(e) = run_moving(shape, &history, water, seed, Leaves::AsStated) {
            return Err(TestCaseError::fail(e));
        }
    }
}

#[test]
fn most_readings_that_move_matter_to_nobody() {
    let shape = Shape { boilers: 3, drive: BoilerDrive::Target { low: c(20), high: c(90) }, ..Shape::default() };
    let run = run_moving(shape, &three_days(), true, 1, Leaves::AsStated).unwrap();
    assert!(run.ticks * 4 < run.seconds, "{} ticks of {} were needed", run.ticks, run.seconds);
}

#[test]
fn the_comparison_fails_for_a_host_that_leaves_out_too_much() {
    let drive = BoilerDrive::Target { low: c(20), high: c(90) };
    let shape = Shape { boilers: 2, drive, ..Shape::default() };
    for leaves in [Leaves::WithoutBands, Leaves::WithoutTakingDown, Leaves::WithoutMachines] {
        assert!(run_moving(shape, &three_days(), true, 1, leaves).is_err(), "{leaves:?}");
    }
    // With a mixing valve whose sensor reads.
    let shape = Shape { extras: true, ..shape };
    let mut days = three_days();
    days.steps.insert(0, (1, Happening::Read(SensorUse::Mixed(ZoneId(1)), Reading::At(c(30)))));
    assert!(run_moving(shape, &days, true, 1, Leaves::AsStated).is_ok());
    for leaves in [Leaves::WithoutTakingDown, Leaves::WithoutSignals] {
        assert!(run_moving(shape, &days, true, 1, leaves).is_err(), "{leaves:?}");
    }
}
