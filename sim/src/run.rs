//! A run: plant, weather, wires and controller in one loop, and what is kept of it.
//!
//! Each step: the wires say what is live, the plant moves on, the wires say what the inputs see, the controller ticks. A run
//! begins with the plant at rest ([`Model::start`]) and warms up for `warm_up_s` at the weather's first temperature before
//! anything is counted; its clock is set so that the counted part begins at the weather's own start. Zero on the result's
//! time axis is the start of the counted part.
//!
//! A run is not trusted because its own sums agree: see [`balance`].

pub mod alarm;
pub mod balance;
pub mod bare;
mod course;
pub mod event;
mod meter;
pub mod summary;
pub(crate) mod tally;
pub mod why;

use crate::{
    control::{Control, LinkError},
    finding::Finding,
    outdoor::Outdoor,
    plant::Plant,
    state::{Model, State},
    step::{
        Conditions, Scratch,
        glide::{Reach, Stretch},
    },
    wires::{Powered, Wires},
};
use balance::Stored;
pub use balance::{Balance, HalfStep};
use course::Course;
pub use event::{Change, Event};
use heatwright_core::{CivilMinute, Inputs, Instant, Outputs, ScheduleId, Temp, ZoneId};
use meter::Meter;
pub use summary::Summary;
use tally::Tally;
use why::Looks;
pub use why::Why;

/// How to run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Length of the counted part, in seconds.
    pub duration_s: f64,
    /// Time before it, in seconds.
    pub warm_up_s: f64,
    /// Length of a step, in seconds: 0.1 to 5 in whole tenths; in whole fifths where the run at half the step goes beside it.
    pub step_s: f64,
    /// Time between samples of the series, in seconds; 0 for none.
    pub sample_s: f64,
    /// Seed of the sensors' noise.
    pub seed: u64,
    /// Most events kept; more are counted.
    pub events_max: usize,
    /// The schedule by which the controller lowers its curve, and by how much in kelvin: with it a run tells rooms that are cold by that
    /// from those that the curve itself leaves cold.
    pub curve_setback: Option<(ScheduleId, f64)>,
}

impl Default for Options {
    /// One week after one day of warming up, one-second steps, a sample every five minutes.
    fn default() -> Self {
        Self {
            duration_s: 7.0 * 86_400.0,
            warm_up_s: 86_400.0,
            step_s: 1.0,
            sample_s: 300.0,
            seed: 1,
            events_max: 100_000,
            curve_setback: None,
        }
    }
}

/// One moment of a run, for a series: what stands from this moment on. What switches at it has switched; water, heat and returns are those
/// that the step before it came to.
#[derive(Clone, Copy, Debug)]
pub struct Sample<'a> {
    /// Seconds since the start of the counted part.
    pub at_s: f64,
    /// Wall-clock time.
    pub civil: CivilMinute,
    /// The plant's model.
    pub model: &'a Model,
    /// Where the plant stands.
    pub state: &'a State,
    /// What the controller sees; readings as they last mattered to it.
    pub inputs: &'a Inputs,
    /// What the controller states.
    pub outputs: &'a Outputs,
    /// What that switches.
    pub powered: &'a Powered,
    /// What each zone's mixing valve is told to hold, by `ZoneId`; `None` where it is told nothing.
    pub mixed: &'a [Option<Temp>],
}

/// Who looks on during a run, and who acts in the boiler room. Every method may be left out.
pub trait Watch {
    /// One sample of the series, every `sample_s`.
    fn sample(&mut self, _sample: &Sample<'_>) {}

    /// Share of the run that is done, a hundred times a run or so.
    fn progress(&mut self, _done: f64) {}

    /// Gas and hand resets at this time of the counted part, in seconds; asked every step where somebody
    /// [`acts`](Self::acts), else seldom.
    fn conditions(&mut self, _at_s: f64) -> Conditions {
        Conditions::default()
    }

    /// True for one whose conditions may change in any step.
    fn acts(&self) -> bool {
        false
    }

    /// Who acts in the same way in a run beside this one, and looks at nothing.
    fn beside(&self) -> Box<dyn Watch + Send> {
        Box::new(())
    }
}

/// Nobody looks on.
impl Watch for () {}

/// What is kept of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Figures of every zone, pump and boiler.
    pub summary: Summary,
    /// Why zones were cold, and whether the boilers could not.
    pub why: Why,
    /// Does the heat add up?
    pub balance: Balance,
    /// Changes of outputs, in order of time.
    pub events: Vec<Event>,
    /// Events past the most that are kept.
    pub events_dropped: u64,
    /// Where the plant stands at the end.
    pub state: State,
    /// What the controller states at the end.
    pub outputs: Outputs,
}

/// Why a run could not be made or finished.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RunError {
    /// The plant cannot be simulated.
    #[error("the plant cannot be simulated: {} faults", .0.len())]
    Plant(Vec<Finding>),
    /// A length of time that cannot be run.
    #[error("`{field}` is {value_s} s; a run takes 0 to {most_s} s")]
    Time {
        /// Which one.
        field: &'static str,
        /// What was given, in seconds.
        value_s: f64,
        /// Most that can be run, in seconds.
        most_s: f64,
    },
    /// The run at half the step cannot be made: the controller's clock counts tenths of a second.
    #[error(
        "a step of {step_s} s cannot be halved in whole tenths of a second, as the check beside it needs; take 0.2 s or a \
         multiple of it, up to 5 s"
    )]
    HalfStep {
        /// The step that was given, in seconds.
        step_s: f64,
    },
    /// The weather gave no temperature.
    #[error("the weather gives no usable temperature {at_s} s after the start")]
    Weather {
        /// When, in seconds of the counted part.
        at_s: f64,
    },
    /// The controller was lost.
    #[error("{at_s} s after the start: {error}")]
    Link {
        /// When, in seconds of the counted part.
        at_s: f64,
        /// What happened.
        error: LinkError,
    },
}

/// Longest run: ten years. The controller's own clock ends after 13.6.
const RUN_MOST_S: f64 = 10.0 * 366.0 * 86_400.0;

/// Runs a plant.
pub fn run(
    plant: &Plant,
    control: &mut dyn Control,
    wires: &mut dyn Wires,
    outdoor: &dyn Outdoor,
    options: &Options,
    watch: &mut dyn Watch,
) -> Result<Run, RunError> {
    let model = Model::new(plant, options.step_s).map_err(RunError::Plant)?;
    let course = Course::new(outdoor, options)?;
    let Course { warm_steps, steps, sample_every, .. } = course;
    let progress_every = (steps / 100).max(1);
    let at_s = |step| course.at_s(step);
    let link = |step: u64| move |error| RunError::Link { at_s: at_s(step), error };

    let mut state = model.start(course.outdoor_c(0)?, options.seed);
    let mut scratch = Scratch::default();
    let mut outputs = Outputs::default();
    let mut before = Outputs::default();
    let mut log = event::Log::new(options.events_max);
    let mut alarms = alarm::AlarmWatch::new(&model.plant.points);
    let mut meter = Meter::new(&model);
    let mut tally = Tally::new(&model);
    let mut stored = Stored::default();
    let mut looks = Looks::new(&model, warm_steps, options.curve_setback);
    state.field.civil = Some(course.civil(0));
    let mut inputs = wires.seen(&outputs, &state.field);
    control.tick(Instant::ZERO, &inputs, &mut outputs).map_err(link(0))?;
    let mut powered = wires.powered(&outputs, &state.field);
    if warm_steps == 0 {
        stored = Stored::of(&model, &state);
        meter.begin(&state);
        alarms.see(0.0, &outputs);
        if sample_every > 0 {
            watch.sample(&Sample {
                at_s: 0.0,
                civil: course.civil(0),
                model: &model,
                state: &state,
                inputs: &inputs,
                outputs: &outputs,
                powered: &powered,
                mixed: &mixed(&model, control),
            });
        }
    }

    let steady = wires.steady();
    // Nobody has to be asked in every step.
    let alone = steady && !watch.acts() && !course.has_calls;
    // What the wires were last asked about, and whether relays or signals have changed since.
    let mut asked = state.field;
    let mut relays_anew = true;
    // Moments ahead, counted up: a division a step costs more than a zone.
    let mut next_progress = progress_every;
    let mut next_sample = match sample_every {
        0 => u64::MAX,
        _ if warm_steps == 0 => sample_every,
        _ => warm_steps,
    };
    let mut reach = Reach::new();
    // The bands of the readings are those of a tick that the reach has not followed yet.
    let mut ticked = true;
    let mut step = 0;
    while step < steps {
        let first = step + 1;
        let outside = course.outside(first, watch.conditions(at_s(first)));
        let still = model.prepare(&mut state, &mut scratch, &powered, &outside);
        let mut stretch = Stretch { first, last: first, reach: None, outdoor_c: |step| course.outdoor_c(step) };
        if still
            && alone
            && let Some(quiet) = control.quiet()
        {
            if relays_anew {
                asked = state.field;
                inputs = wires.seen(&outputs, &state.field);
                relays_anew = false;
            }
            if quiet.same_contacts(&inputs) && reach.follow(&model, &state, ticked.then_some(quiet)) {
                ticked = false;
                let at_hand = next_sample.min(next_progress).min(looks.next()).min(steps);
                stretch.last = course.before(quiet.until()).min(course.same_until(first)).min(at_hand);
                stretch.reach = Some(&reach);
            }
        }
        let counted = first > warm_steps;
        let at_rest;
        (step, at_rest) = model.glide(&mut state, &mut scratch, counted.then_some(&mut tally), &stretch)?;
        state.field.at = course.instant(step);
        state.field.civil = Some(course.civil(step));
        if step > first {
            // Of the steps that were not asked about, the last.
            (inputs.civil, inputs.sensors) = (Some(course.civil(step - 1)), model.readings_before(&scratch));
            control.leave_out(course.instant(step - 1), &inputs);
        }
        if at_rest {
            model.settle_at_rest(&mut state, &scratch);
        } else {
            model.settle(&mut state, &scratch, &powered, &outside);
        }
        if counted {
            if !at_rest {
                meter.see(&state, tally.steps, at_s(step));
            }
            tally.add(&model, &state, &scratch);
        } else if step == warm_steps {
            stored = Stored::of(&model, &state);
            meter.begin(&state);
        }
        let moved = !at_rest && !state.field.same_contacts(&asked);
        if !steady || relays_anew || moved {
            asked = state.field;
            inputs = wires.seen(&outputs, &state.field);
        } else {
            (inputs.civil, inputs.sensors) = (state.field.civil, state.field.sensors);
        }
        relays_anew = moved;
        let mut signals_anew = false;
        if !control.leaves_out(state.field.at, &inputs) {
            before.clone_from(&outputs);
            ticked = true;
            control.tick(state.field.at, &inputs, &mut outputs).map_err(link(step))?;
            relays_anew |= event::relays_differ(&model.plant.points, &before, &outputs);
            signals_anew = before.analogs != outputs.analogs;
            if counted {
                log.add(at_s(step), &model.plant.points, &before, &outputs);
                alarms.see(at_s(step), &outputs);
            }
        }
        if !steady || relays_anew || signals_anew {
            powered = wires.powered(&outputs, &state.field);
        }
        if step == warm_steps {
            alarms.see(0.0, &outputs);
        }
        if step == looks.next() {
            looks.look((step, at_s(step)), course.civil(step), &model, &state, (&outputs, meter.limit_stops()));
        }
        if step == next_sample {
            next_sample += sample_every;
            watch.sample(&Sample {
                at_s: at_s(step),
                civil: course.civil(step),
                model: &model,
                state: &state,
                inputs: &inputs,
                outputs: &outputs,
                powered: &powered,
                mixed: &mixed(&model, control),
            });
        }
        if step == next_progress {
            next_progress += progress_every;
            watch.progress(step as f64 / steps as f64);
        }
    }
    let balance = tally.balance(&model, &stored, &state);
    let (events, events_dropped) = log.end();
    Ok(Run {
        summary: Summary { alarm: alarms.end(at_s(steps)), ..meter.end(&model, &mut tally) },
        why: looks.end(),
        balance,
        events,
        events_dropped,
        state,
        outputs,
    })
}

/// What the mixing valves are told to hold.
fn mixed(model: &Model, control: &dyn Control) -> Vec<Option<Temp>> {
    (0u8..).zip(&model.plant.zones).map(|(k, _)| control.mixed_target(ZoneId(k))).collect()
}

/// A fresh controller and fresh wires for one run.
pub type Fresh = (Box<dyn Control + Send>, Box<dyn Wires + Send>);

/// The options of the run at half the step beside this one. Refused before anything runs: a step of an odd number of tenths has
/// no half that the controller's clock could count.
fn halved(options: &Options) -> Result<Options, RunError> {
    let half = Options { step_s: 0.5 * options.step_s, sample_s: 0.0, events_max: 0, ..*options };
    let tenths = half.step_s * 10.0;
    if (0.1..=5.0).contains(&options.step_s) && (tenths.round() - tenths).abs() > 1e-6 {
        return Err(RunError::HalfStep { step_s: options.step_s });
    }
    Ok(half)
}

/// Runs a plant under a controller that there is only once, and then once more at half the step under a fresh one.
pub fn run_compared(
    plant: &Plant,
    control: &mut dyn Control,
    fresh: &dyn Fn() -> Fresh,
    outdoor: &dyn Outdoor,
    options: &Options,
    watch: &mut dyn Watch,
) -> Result<Run, RunError> {
    let half = halved(options)?;
    let (mut other, mut wires) = fresh();
    let mut full = run(plant, control, &mut *wires, outdoor, options, watch)?;
    let (_, mut wires) = fresh();
    let half = run(plant, &mut *other, &mut *wires, outdoor, &half, &mut *watch.beside())?;
    full.balance.half_step = Some(HalfStep::between(&full.balance, &half.balance));
    Ok(full)
}

/// Runs a plant, and once more at half the step beside it; the difference stands in the balance.
pub fn run_checked(
    plant: &Plant,
    fresh: &(dyn Fn() -> Fresh + Sync),
    outdoor: &dyn Outdoor,
    options: &Options,
    watch: &mut (dyn Watch + Send),
) -> Result<Run, RunError> {
    let half = halved(options)?;
    let mut beside = watch.beside();
    let (full, half) = rayon::join(
        || {
            let (mut control, mut wires) = fresh();
            run(plant, &mut *control, &mut *wires, outdoor, options, watch)
        },
        || {
            let (mut control, mut wires) = fresh();
            run(plant, &mut *control, &mut *wires, outdoor, &half, &mut *beside)
        },
    );
    let (mut full, half) = (full?, half?);
    full.balance.half_step = Some(HalfStep::between(&full.balance, &half.balance));
    Ok(full)
}
