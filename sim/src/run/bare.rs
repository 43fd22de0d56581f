//! The physics of a run by itself: what a run costs besides its controller and its bookkeeping is measured against this.
//!
//! [`Recorder`] goes between a run and its wires and notes each change of what is live. [`bare`] moves the plant through the
//! same changes on the same weather: no controller, no contacts read, no meters, no events, no samples. It ends in the very
//! state in which the run ended; a test holds it to that, so that it cannot become cheaper by doing less.

use super::{Options, RunError, course::Course};
use crate::{
    outdoor::Outdoor,
    plant::Plant,
    state::{Model, State},
    step::{
        Conditions, Scratch,
        glide::{Reach, Stretch},
    },
    wires::{Field, Powered, Wires},
};
use heatwright_core::{Inputs, Outputs};

/// Wires that note every change of what is live.
#[derive(Debug)]
pub struct Recorder<W> {
    wires: W,
    /// Steps that began so far, and what was live from which step on.
    steps: u64,
    changes: Vec<(u64, Powered)>,
}

impl<W: Wires> Recorder<W> {
    /// Notes what these wires answer.
    pub fn new(wires: W) -> Self {
        Self { wires, steps: 0, changes: Vec::new() }
    }

    /// What was live, and from which step on.
    pub fn changes(self) -> Vec<(u64, Powered)> {
        self.changes
    }
}

impl<W: Wires> Wires for Recorder<W> {
    fn powered(&mut self, outputs: &Outputs, field: &Field) -> Powered {
        let powered = self.wires.powered(outputs, field);
        self.steps += 1;
        if self.changes.last().is_none_or(|(_, last)| *last != powered) {
            self.changes.push((self.steps, powered));
        }
        powered
    }

    fn seen(&mut self, outputs: &Outputs, field: &Field) -> Inputs {
        self.wires.seen(outputs, field)
    }
}

/// Moves a plant through recorded changes of what is live; gives the state at the end.
pub fn bare(
    plant: &Plant,
    changes: &[(u64, Powered)],
    outdoor: &dyn Outdoor,
    options: &Options,
) -> Result<State, RunError> {
    let model = Model::new(plant, options.step_s).map_err(RunError::Plant)?;
    let course = Course::new(outdoor, options)?;
    let mut state = model.start(course.outdoor_c(0)?, options.seed);
    let mut scratch = Scratch::default();
    let mut powered = Powered::default();
    let mut rest = changes.iter().peekable();
    let mut reach = Reach::new();
    let mut step = 0;
    while step < course.steps {
        let first = step + 1;
        while let Some((_, next)) = rest.next_if(|(from, _)| *from <= first) {
            powered = *next;
        }
        let outside = course.outside(first, Conditions::default());
        let still = model.prepare(&mut state, &mut scratch, &powered, &outside);
        let next = rest.peek().map_or(u64::MAX, |(from, _)| from - 1);
        let last = course.same_until(first).min(next).min(course.steps);
        let reach = (still && !course.has_calls && reach.follow(&model, &state, None)).then_some(&reach);
        let stretch = Stretch { first, last, reach, outdoor_c: |step| course.outdoor_c(step) };
        (step, _) = model.glide(&mut state, &mut scratch, None, &stretch)?;
        state.field.at = course.instant(step);
        state.field.civil = Some(course.civil(step));
        model.settle(&mut state, &scratch, &powered, &outside);
    }
    Ok(state)
}
