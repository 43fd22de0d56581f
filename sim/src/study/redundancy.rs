//! Redundancy: boilers fail in cold weather, and the rooms cool. How cold does each zone get, and how long does it take?
//!
//! The same plant, weather and seed is run once for each [`Case`]: a set of boilers whose power is off from `fails_s` to the end
//! of the run. The controller sees what it would see on site (a service switch that is off) and brings the others. Nothing is
//! added up from formulas: the cold building, the shed load and the boilers left are all in the model.
//!
//! What is due to the failure and what happens anyway are told apart by the run with all boilers in the same weather: a zone
//! passes a mark by the failure when it is below it and at least [`DUE_LEAST_K`] colder than in that run, means of the hour before
//! compared, since the two thermostats swing at other moments. A zone is judged by its own setting too: [`UNDER_SET_K`] below
//! what its thermostat asks for, setback counted; a setting that has risen counts once it is [`RISEN_S`] old, for no zone comes
//! back from a setback at once. A mark at or above the lowest setting of a zone says nothing of it: it is kept so.
//!
//! Marks: 60 °F (people leave) and 40 °F (pipes at an outside wall are in danger soon after) are common practice, no source.
//! Not modelled: heat between zones, a window left open, freezing itself.

use crate::{
    control::Control,
    fault::{Fault, FaultyWires, Script, Timed},
    outdoor::Outdoor,
    plant::Plant,
    run::{Event, Options, Run, RunError, Sample, Watch, run},
    wires::{Ideal, Wires},
};
use heatwright_core::{BoilerId, SensorUse, ZoneId};
use rayon::prelude::*;

/// Time between looks at the rooms, in seconds.
const LOOK_S: f64 = 60.0;
/// Colder than this below what its thermostat asks for, a zone is too cold, in kelvin: our choice, 5 degrees Fahrenheit.
pub const UNDER_SET_K: f64 = 5.0 / 1.8;
/// A zone that is less than this colder than with all boilers is so anyway, in kelvin: our choice, past a thermostat's swing.
pub const DUE_LEAST_K: f64 = 1.0;
/// Time that a zone has to come up to a setting that has risen, in seconds: our choice, three hours.
pub const RISEN_S: f64 = 3.0 * 3600.0;
/// Time over which two runs are compared, in seconds.
const MEAN_S: f64 = 3600.0;

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

/// When a zone passed a mark, and by what.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Passed {
    /// Not in this run.
    Never,
    /// Its own setting is at the mark or below it: the zone is kept so.
    Kept,
    /// It did, and with all boilers it is as cold.
    Anyway,
    /// By the failure, so many hours after it; with all boilers running, so many hours after the moment of it.
    After(f64),
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
    /// Most that it was below what its thermostat asked for, in kelvin; negative where it never was.
    pub under_k: f64,
    /// Most that it was colder than with all boilers at the same moment, in kelvin; zero where it never was.
    pub due_k: f64,
    /// More than [`UNDER_SET_K`] below what its thermostat asked for.
    pub under_set: Passed,
    /// Below each mark, in the order of the marks.
    pub below: Vec<Passed>,
}

/// One case's result.
#[derive(Clone, Debug, PartialEq)]
pub struct Outage {
    /// Which boilers failed.
    pub case: Case,
    /// Zones, by `ZoneId`.
    pub zones: Vec<ZoneOutage>,
    /// The course of the run, a moment a minute.
    pub seen: Vec<Seen>,
    /// What switched, as many as the options keep, in order of time.
    pub events: Vec<Event>,
    /// Changes past those.
    pub events_dropped: u64,
}

/// One moment of a case.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// Seconds since the start of the counted part.
    pub at_s: f64,
    /// Outdoor temperature, in degrees Celsius.
    pub outdoor_c: f64,
    /// Supply temperature, in degrees Celsius.
    pub supply_c: f64,
    /// Air of every zone, in degrees Celsius.
    pub air_c: Vec<f64>,
}

impl Outage {
    /// The zone that gets furthest below its own setting.
    pub fn furthest(&self) -> Option<&ZoneOutage> {
        self.zones.iter().max_by(|a, b| a.under_k.total_cmp(&b.under_k))
    }

    /// The zone that loses most by the failure.
    pub fn hardest_hit(&self) -> Option<&ZoneOutage> {
        self.zones.iter().max_by(|a, b| a.due_k.total_cmp(&b.due_k))
    }

    /// The zone that first passes something, and after how many hours.
    pub fn first(&self, passed: impl Fn(&ZoneOutage) -> Option<Passed>) -> Option<(ZoneId, f64)> {
        let after = |z: &ZoneOutage| match passed(z)? {
            Passed::After(h) => Some((z.zone, h)),
            Passed::Never | Passed::Kept | Passed::Anyway => None,
        };
        self.zones.iter().filter_map(after).min_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// Looks at the rooms.
struct Look<'a> {
    fails_s: f64,
    zones: usize,
    /// Air of every zone at the failure.
    before_c: Vec<f64>,
    /// Hours since the failure, and air and setting of every zone then.
    rows: Vec<(f64, Vec<(f64, f64)>)>,
    seen: Vec<Seen>,
    done: &'a (dyn Fn(f64) + Sync),
}

impl Watch for Look<'_> {
    fn sample(&mut self, s: &Sample<'_>) {
        let since_s = s.at_s - self.fails_s;
        self.seen.push(Seen {
            at_s: s.at_s,
            outdoor_c: s.state.outdoor_c,
            supply_c: s.model.true_c(s.state, SensorUse::Supply),
            air_c: s.state.zones.air_c().collect(),
        });
        if since_s < 0.5 * LOOK_S {
            self.before_c = s.state.zones.air_c().collect();
        }
        if since_s >= -RISEN_S {
            let asked = (0..self.zones).map(|k| s.model.plant.asked_c(k, s.civil));
            self.rows.push((since_s / 3600.0, s.state.zones.air_c().zip(asked).collect()));
        }
    }

    fn progress(&mut self, done: f64) {
        (self.done)(done);
    }
}

/// Hours, air and setting in degrees Celsius, and kelvin colder than with all boilers.
type Moment = (f64, f64, f64, f64);

/// One zone of a case against the same zone with all boilers; without one, what happens anyway.
fn judge(zone: usize, case: &Look<'_>, all: Option<&Look<'_>>, marks_c: &[f64]) -> ZoneOutage {
    let of = |look: &Look<'_>| -> Vec<(f64, f64)> { look.rows.iter().filter_map(|r| r.1.get(zone).copied()).collect() };
    let (own, base) = (of(case), all.map(of));
    // The lowest setting, and the mean difference of both runs, of the looks up to one.
    let back = |k: usize, span_s: f64| (k + 1).saturating_sub((span_s / LOOK_S) as usize)..k + 1;
    let asked_c = |k: usize| own[back(k, RISEN_S)].iter().map(|r| r.1).fold(f64::INFINITY, f64::min);
    let colder_k = |k: usize| {
        let pairs = base.iter().flat_map(|b| b[back(k, MEAN_S)].iter().zip(&own[back(k, MEAN_S)]));
        let (sum, count) = pairs.fold((0.0, 0.0), |(sum, count), (b, o)| (sum + b.0 - o.0, count + 1.0));
        if count > 0.0 { sum / count } else { 0.0 }
    };
    let each: Vec<Moment> = (0..own.len())
        .filter(|k| case.rows[*k].0 >= 0.0)
        .map(|k| (case.rows[k].0, own[k].0, asked_c(k), colder_k(k)))
        .collect();
    let most = |of: fn(&Moment) -> f64| each.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
    let passed = |cold: &dyn Fn(f64, f64) -> bool| {
        let due = |d: f64| all.is_none() || d >= DUE_LEAST_K;
        match each.iter().find(|(_, air_c, asked_c, d)| cold(*air_c, *asked_c) && due(*d)) {
            Some((h, ..)) => Passed::After(*h),
            None if each.iter().any(|(_, air_c, asked_c, _)| cold(*air_c, *asked_c)) => Passed::Anyway,
            None => Passed::Never,
        }
    };
    let lowest_asked_c = -most(|e| -e.2);
    let below = |mark_c: &f64| {
        if lowest_asked_c - DUE_LEAST_K <= *mark_c { Passed::Kept } else { passed(&|air_c, _| air_c < *mark_c) }
    };
    ZoneOutage {
        zone: ZoneId(zone as u8),
        before_c: case.before_c.get(zone).copied().unwrap_or(f64::NAN),
        lowest_c: -most(|e| -e.1),
        under_k: most(|e| e.2 - e.1),
        due_k: most(|e| e.3).max(0.0),
        under_set: passed(&|air_c, asked_c| air_c < asked_c - UNDER_SET_K),
        below: marks_c.iter().map(below).collect(),
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
    let options = Options { sample_s: LOOK_S, ..*options };
    // What happens anyway is needed to judge the others by, whether it was asked for or not.
    let beside = (!cases.contains(&Case::None)).then_some(Case::None);
    let looks: Vec<Result<(Case, Look<'_>, Run), RunError>> = cases
        .iter()
        .copied()
        .chain(beside)
        .collect::<Vec<_>>()
        .par_iter()
        .map(|case| {
            let off = case.boilers(plant).into_iter().map(|b| Timed {
                from_s: fails_s,
                to_s: f64::INFINITY,
                fault: Fault::BoilerSwitchOff(b),
            });
            let script = Script::new(off, options.warm_up_s);
            let mut wires: Box<dyn Wires> = Box::new(FaultyWires::new(Ideal::new(plant), plant, script));
            let zones = plant.zones.len();
            let mut look =
                Look { fails_s, zones, before_c: Vec::new(), rows: Vec::new(), seen: Vec::new(), done: progress };
            let ran = run(plant, &mut *fresh(), &mut *wires, outdoor, &options, &mut look)?;
            Ok((*case, look, ran))
        })
        .collect();
    let looks = looks.into_iter().collect::<Result<Vec<_>, _>>()?;
    let all = looks.iter().find(|(case, ..)| *case == Case::None).map(|(_, look, _)| look);
    let zones = |(case, look, _): &(Case, Look<'_>, Run)| {
        let base = all.filter(|_| *case != Case::None);
        (0..plant.zones.len()).map(|k| judge(k, look, base, marks_c)).collect::<Vec<_>>()
    };
    let judged: Vec<_> = looks.iter().take(cases.len()).map(zones).collect();
    let outage = |((case, look, ran), zones): ((Case, Look<'_>, Run), _)| Outage {
        case,
        zones,
        seen: look.seen,
        events: ran.events,
        events_dropped: ran.events_dropped,
    };
    Ok(looks.into_iter().zip(judged).map(outage).collect())
}
