//! Redundancy: boilers fail in cold weather, and the rooms cool. How cold does each zone get, and how long does it take?
//!
//! The same plant, weather and seed is run once for each [`Case`]: a set of boilers whose power is off from `fails_s` to the end
//! of the run. The controller sees what it would see on site (a service switch that is off) and brings the others. For each
//! zone the run keeps the lowest air temperature after the failure and the time from the failure until the air is first
//! below each mark. Nothing is added up from formulas: the cold building, the shed load and the boilers left are all in the
//! model.
//!
//! Marks: 60 °F (people leave) and 40 °F (pipes at an outside wall are in danger soon after) are common practice, no source.
//! Edges: a zone that was below a mark when the boilers failed has 0 h. Not modelled: heat between zones, a window left open,
//! freezing itself.

use crate::{
    control::Control,
    fault::{Fault, FaultyWires, Script, Timed},
    outdoor::Outdoor,
    plant::Plant,
    run::{Options, RunError, Sample, Watch, run},
    wires::{Ideal, Wires},
};
use heatwright_core::{BoilerId, ZoneId};
use rayon::prelude::*;

/// Time between looks at the rooms, in seconds.
const LOOK_S: f64 = 60.0;

/// Which boilers fail.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Case {
    /// None: what the rooms do anyway.
    None,
    /// One.
    One(BoilerId),
    /// All of them: no heat but what people and machines give.
    All,
}

impl Case {
    /// The cases worth running: none, the largest boiler, all.
    pub fn all_of(plant: &Plant) -> Vec<Case> {
        let mut cases = vec![Case::None];
        if plant.boilers.len() > 1 {
            cases.extend(largest(plant).map(Case::One));
        }
        cases.push(Case::All);
        cases
    }

    fn boilers(self, plant: &Plant) -> Vec<BoilerId> {
        match self {
            Case::None => Vec::new(),
            Case::One(b) => vec![b],
            Case::All => (0..plant.boilers.len()).map(|i| BoilerId(i as u8)).collect(),
        }
    }
}

/// The boiler with the largest input; the first of those that are as large.
pub fn largest(plant: &Plant) -> Option<BoilerId> {
    let mut best: Option<(usize, f64)> = None;
    for (i, b) in plant.boilers.iter().enumerate() {
        if best.is_none_or(|(_, most_w)| b.input_w > most_w) {
            best = Some((i, b.input_w));
        }
    }
    best.map(|(i, _)| BoilerId(i as u8))
}

/// What became of a zone.
#[derive(Clone, Debug, PartialEq)]
pub struct ZoneOutage {
    /// Which one.
    pub zone: ZoneId,
    /// Air when the boilers failed, in degrees Celsius.
    pub before_c: f64,
    /// Lowest air from then on, in degrees Celsius.
    pub lowest_c: f64,
    /// Hours from the failure until the air is below each mark, in the order of the marks; `None` for never in this run.
    pub below_h: Vec<Option<f64>>,
}

/// One case's result.
#[derive(Clone, Debug, PartialEq)]
pub struct Outage {
    /// Which boilers failed.
    pub case: Case,
    /// Zones, by `ZoneId`.
    pub zones: Vec<ZoneOutage>,
}

impl Outage {
    /// The zone that gets coldest.
    pub fn coldest(&self) -> Option<&ZoneOutage> {
        self.zones.iter().min_by(|a, b| a.lowest_c.total_cmp(&b.lowest_c))
    }

    /// The zone that is first below the mark of this place after the failure, and after how many hours. A zone that was
    /// below it before (a garage that is kept cool) does not count.
    pub fn first_below(&self, mark: usize) -> Option<(ZoneId, f64)> {
        let each = self.zones.iter().filter_map(|z| Some((z.zone, (*z.below_h.get(mark)?)?))).filter(|(_, h)| *h > 0.0);
        each.min_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// Looks at the rooms.
struct Look<'a> {
    fails_s: f64,
    marks_c: &'a [f64],
    zones: Vec<ZoneOutage>,
    done: &'a (dyn Fn(f64) + Sync),
}

impl Watch for Look<'_> {
    fn sample(&mut self, s: &Sample<'_>) {
        let since_s = s.at_s - self.fails_s;
        for (z, air_c) in self.zones.iter_mut().zip(s.state.zones.air_c()) {
            if since_s < 0.5 * LOOK_S {
                z.before_c = air_c;
            }
            if since_s < 0.0 {
                continue;
            }
            z.lowest_c = z.lowest_c.min(air_c);
            for (slot, mark_c) in z.below_h.iter_mut().zip(self.marks_c) {
                if slot.is_none() && air_c < *mark_c {
                    *slot = Some(since_s / 3600.0);
                }
            }
        }
    }

    fn progress(&mut self, done: f64) {
        (self.done)(done);
    }
}

/// Runs every case; `fails_s` in seconds of the counted part, marks in degrees Celsius. `fresh` makes a controller whose
/// meters stand at zero; `progress` is told each run's share done, from any thread.
pub fn study(
    plant: &Plant,
    cases: &[Case],
    (outdoor, options): (&dyn Outdoor, &Options),
    (fails_s, marks_c): (f64, &[f64]),
    fresh: &(dyn Fn() -> Box<dyn Control + Send> + Sync),
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Vec<Outage>, RunError> {
    let options = Options { sample_s: LOOK_S, events_max: 0, ..*options };
    let each: Vec<Result<Outage, RunError>> = cases
        .par_iter()
        .map(|case| {
            let off = case.boilers(plant).into_iter().map(|b| Timed {
                from_s: fails_s,
                to_s: f64::INFINITY,
                fault: Fault::BoilerSwitchOff(b),
            });
            let script = Script::new(off, options.warm_up_s);
            let mut wires: Box<dyn Wires> = Box::new(FaultyWires::new(Ideal::new(plant), plant, script));
            let zone = |i: usize| ZoneOutage {
                zone: ZoneId(i as u8),
                before_c: f64::NAN,
                lowest_c: f64::INFINITY,
                below_h: vec![None; marks_c.len()],
            };
            let zones = (0..plant.zones.len()).map(zone).collect();
            let mut look = Look { fails_s, marks_c, zones, done: progress };
            run(plant, &mut *fresh(), &mut *wires, outdoor, &options, &mut look)?;
            Ok(Outage { case: *case, zones: look.zones })
        })
        .collect();
    each.into_iter().collect()
}
