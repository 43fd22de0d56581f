//! Which readings matter: how far they may move before a tick would do more than take them down.
//!
//! Water that warms moves a reading every other second, and most of these moves change nothing: no machine steps, no output
//! changes, and no law moves before its next grid moment. After a tick, [`Quiet::after`] states for each sensor the *band* in
//! which its reading gives the same answer to every question that a tick asks of it, and the moment `until` which nothing is
//! due. A host may leave out a tick while the contacts are those of the last one, every reading stays in its band and `until`
//! has not come. Before the next tick it must let the controller [`take_down`] what it last saw, since laws follow the
//! readings that stood in the interval just past. Then state and outputs are those of ticking every time; a test holds both to it.
//!
//! The questions, each a threshold at which a reading changes sides:
//!
//! | reading | question | asked in |
//! |---|---|---|
//! | supply, return | below `frost_water`, or its end [`FROST_BACK`] above | `heat` |
//! | supply | at its target; `band` below; `band` above | `decide`, `demand`, `staging` |
//! | supply | down to the purge's `until` | `purge` |
//! | supply | above a mixed zone's `mixed_max` | `asks` |
//! | supply | [`OWED_BELOW`], while it lights [`CONTENT_BELOW`], below what a boiler without an outlet sensor holds | `boilers` |
//! | outlet | above `outlet_max`; above that less [`OUTLET_BACK`]; as far below what it holds | `boilers` |
//! | supply, outlet | [`MOVED`] from where it stood when its driver began | `guard::sensors` |
//! | tank | below `purge_max` | `purge` |
//! | supply, tank | how far apart, while a purge runs: any change | `purge` |
//! | mixed supply | none: its valve follows on the grid | `mixing` |
//!
//! The return enters the required heat (`staging::required`) on the grid: what was taken down last counts.
//!
//! An outdoor reading has no band: any change of it is a tick. So have all readings while one of them is lost, frozen or
//! stood in for, and supply and return with `StageBy::Load`. Laws that follow readings step on grids of whole multiples of
//! [`GRID`]: `until` is never past the next of those moments while one of them is at work.
//!
//! A moment that is due for a law alone is no tick either while the machines hear no other answer of it ([`Quiet::step`]): the law
//! goes its step, and mixing valves' signals, the target and what boilers are told are stated where they have moved. Which moments are
//! a machine's [`tick_for`](crate::tick_for) says.
//!
//! What it does not do: it changes no decision. A board that ticks each time has no use for it.

mod answers;
mod step;

use crate::{
    advance::advance,
    boilers::{BoilerState, CONTENT_BELOW, OUTLET_BACK, OWED_BELOW},
    config::{BoilerDrive, Config, PurgeTo, StageBy},
    demand::held_target,
    guard::sensors::{MOVED, Sensor, Watch},
    heat::FROST_BACK,
    ids::SensorId,
    inputs::{Inputs, Reading},
    law::{self, next},
    limits::SENSORS,
    points::SensorUse,
    staging::{error, required},
    state::State,
    units::{Instant, Span, Temp},
};
pub use step::Asks;

/// The finest grid of the laws that follow readings; the others are whole multiples of it.
pub const GRID: Span = error::GRID;
const _: () = assert!(law::pi::GRID.tenths().is_multiple_of(GRID.tenths()));
const _: () = assert!(law::trim::HEADER_GRID.tenths().is_multiple_of(GRID.tenths()));
const _: () = assert!(required::GRID.tenths().is_multiple_of(GRID.tenths()));

/// Readings that give the same answers, both ends counted, in hundredths of a degree Celsius.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Band {
    low: i16,
    high: i16,
    /// On which side of each edge the reading stands, one bit each.
    sides: u64,
}

impl Band {
    const ANY: Self = Self { low: i16::MIN, high: i16::MAX, sides: 1 };

    /// From here on downwards `t` gives another answer than at `edge` and above.
    fn split(&mut self, at: Temp, edge: Temp) {
        self.sides = self.sides << 1 | u64::from(at >= edge);
        if at >= edge {
            self.low = self.low.max(edge.centi_c());
        } else {
            self.high = self.high.min(edge.centi_c().saturating_sub(1));
        }
    }

    /// `t > edge` gives another answer than `t <= edge`.
    fn split_above(&mut self, at: Temp, edge: Temp) {
        // Nothing reads above the highest temperature there is.
        if edge.centi_c() < i16::MAX {
            self.split(at, Temp::from_centi_c(edge.centi_c().saturating_add(1)));
        }
    }
}

/// What may be left out after a tick.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quiet {
    held: Inputs,
    bands: [Option<Band>; SENSORS],
    /// Sensor inputs that serve something, the first ones: nobody looks at the others.
    used: usize,
    until: Option<Instant>,
    /// When a machine is due whatever the laws do.
    machines: Option<Instant>,
}

impl Quiet {
    /// What may be left out after the last tick; `machines` is what [`tick_for`](crate::tick_for) gave.
    pub fn after(config: &Config, state: &State, machines: Option<Instant>) -> Self {
        let bands = bands(config, state, &state.held);
        Self { held: state.held, bands, used: config.points.sensors.len(), until: until(state, state.at), machines }
    }

    /// True while a tick at `now` with these inputs would do nothing but take its readings down.
    pub fn covers(&self, now: Instant, inputs: &Inputs) -> bool {
        self.until.is_none_or(|t| now < t) && self.same(inputs)
    }

    /// True while these inputs give the same answers as those of the last tick. Wall-clock time that merely runs on is no
    /// new input.
    pub fn same(&self, inputs: &Inputs) -> bool {
        self.same_contacts(inputs)
            && self.bands.iter().zip(inputs.sensors.iter().zip(&self.held.sensors)).take(self.used).all(
                |(band, (is, was))| match (band, is) {
                    (Some(b), Reading::At(t)) => b.low <= t.centi_c() && t.centi_c() <= b.high,
                    (Some(_) | None, _) => is == was,
                },
            )
    }

    /// The lowest and the highest reading of a sensor that give the same answers, in hundredths of a degree Celsius; nothing
    /// where only the very input of the last tick does, and that is no temperature.
    pub fn range(&self, sensor: SensorId) -> Option<(i16, i16)> {
        match (self.bands.get(sensor.index()), self.held.sensors.get(sensor.index())) {
            _ if sensor.index() >= self.used => Some((i16::MIN, i16::MAX)),
            (Some(Some(b)), _) => Some((b.low, b.high)),
            (_, Some(Reading::At(t))) => Some((t.centi_c(), t.centi_c())),
            _ => None,
        }
    }

    /// True while the contacts are those of the last tick, and the clock is set or not as it was.
    pub fn same_contacts(&self, inputs: &Inputs) -> bool {
        inputs.contacts == self.held.contacts && inputs.civil.is_some() == self.held.civil.is_some()
    }

    /// The moment up to which nothing is due; nothing while only new inputs can bring a change.
    pub fn until(&self) -> Option<Instant> {
        self.until
    }
}

/// The moment that comes first: what is due, or the next grid moment while a law follows readings.
fn until(state: &State, now: Instant) -> Option<Instant> {
    let b = &state.laws.basis;
    let follows = b.target.is_some() || b.trimming || !b.mixing.is_empty();
    let grid = follows.then(|| next(now, GRID));
    [state.due, grid].into_iter().flatten().min()
}

/// Every reading is a temperature of its own, and nothing stands in for any.
fn trusted(config: &Config, state: &State) -> bool {
    let s = &state.control.sensors;
    let own = |s: &Sensor| s.lost.is_none() && !matches!(s.watch, Watch::Frozen { .. });
    let reads = |(u, r): (&SensorUse, &Reading)| *u == SensorUse::Spare || r.temp().is_some();
    state.laws.basis.good
        && own(&s.supply)
        && s.outlets.iter().all(own)
        && config.points.sensors.iter().zip(&state.held.sensors).all(reads)
}

/// The bands of these readings.
fn bands(config: &Config, state: &State, inputs: &Inputs) -> [Option<Band>; SENSORS] {
    let mut bands = [None; SENSORS];
    if trusted(config, state) {
        for (slot, (what, reading)) in bands.iter_mut().zip(config.points.sensors.iter().zip(&inputs.sensors)) {
            *slot = reading.temp().and_then(|at| band(config, state, *what, at));
        }
    }
    bands
}

/// The band of a reading that stands at `at`; nothing where every change counts.
fn band(config: &Config, state: &State, what: SensorUse, at: Temp) -> Option<Band> {
    let mut band = Band::ANY;
    let by_load = matches!(config.staging.stage_by, StageBy::Load(_));
    match what {
        SensorUse::Outdoor => return None,
        SensorUse::Spare | SensorUse::Mixed(_) => {}
        SensorUse::Supply | SensorUse::Return if by_load => return None,
        // Whether the tank still takes heat is asked of both together.
        SensorUse::Supply | SensorUse::Tank if config.purge.to == PurgeTo::Tank && state.control.purge.runs() => {
            return None;
        }
        SensorUse::Supply => {
            frost(config, &mut band, at);
            supply(config, state, &mut band, at);
            watch(&state.control.sensors.supply, &mut band, at);
        }
        SensorUse::Return => frost(config, &mut band, at),
        SensorUse::BoilerOutlet(b) => {
            let c = config.boilers.get(b.index())?;
            band.split_above(at, c.outlet_max);
            band.split_above(at, c.outlet_max.minus(OUTLET_BACK));
            band.split(at, owed(config, state, b.index())?);
            watch(state.control.sensors.outlets.get(b.index())?, &mut band, at);
        }
        SensorUse::Tank => band.split(at, config.tank.as_ref()?.purge_max),
    }
    Some(band)
}

fn frost(config: &Config, band: &mut Band, at: Temp) {
    band.split(at, config.guard.frost_water);
    band.split(at, config.guard.frost_water.plus(FROST_BACK));
}

fn supply(config: &Config, state: &State, band: &mut Band, at: Temp) {
    if let Some(target) = state.laws.basis.target {
        let beyond = state.control.low_load.band(&config.staging);
        band.split(at, target);
        band.split_above(at, target.plus(beyond.negated()));
        band.split(at, target.plus(beyond));
    }
    band.split_above(at, config.purge.until);
    for mix in config.zones.iter().filter_map(|z| z.mix.as_ref()) {
        band.split_above(at, mix.mixed_max);
    }
    for b in 0..config.boilers.len() {
        let seen = |u: &SensorUse| matches!(*u, SensorUse::BoilerOutlet(o) if o.index() == b);
        if let Some(owed) = owed(config, state, b).filter(|_| !config.points.sensors.iter().any(seen)) {
            band.split(at, owed);
        }
    }
}

/// Below this a boiler owes a flame, or goes on to owe it.
fn owed(config: &Config, state: &State, b: usize) -> Option<Temp> {
    let c = config.boilers.get(b)?;
    let held = match c.drive {
        BoilerDrive::DemandOnly | BoilerDrive::Target { .. } => {
            let target = state.laws.basis.target;
            held_target(c, target, state.laws.told(target), config.reset.supply_min)
        }
        BoilerDrive::Rate => c.outlet_max,
    };
    let lights = matches!(state.control.boilers.get(b)?.state, BoilerState::Lighting { .. });
    Some(held.minus(if lights { CONTENT_BELOW } else { OWED_BELOW }))
}

fn watch(sensor: &Sensor, band: &mut Band, at: Temp) {
    if let Watch::Waiting { reference, .. } = sensor.watch {
        band.split(at, reference.plus(MOVED));
        band.split_above(at, reference.minus(MOVED));
    }
}

/// Takes down the readings of a moment at which a tick was left out because [`Quiet`] covered it: laws and meters move up to
/// it, and from it on follow these readings. Decides nothing.
pub fn take_down(config: &Config, state: &mut State, at: Instant, inputs: &Inputs) {
    let at = at.max(state.at);
    advance(config, state, at);
    state.at = at;
    if inputs.sensors == state.held.sensors {
        state.held = *inputs;
        return;
    }
    let sensors = &mut state.control.sensors;
    let basis = &mut state.laws.basis;
    basis.outlet = None;
    for (what, reading) in config.points.sensors.iter().zip(&inputs.sensors) {
        let Some(t) = reading.temp() else { continue };
        match *what {
            SensorUse::Supply if basis.good => {
                sensors.supply.good = Some(t);
                basis.supply = Some(t);
            }
            SensorUse::BoilerOutlet(b) => {
                if let Some(outlet) = sensors.outlets.get_mut(b.index()) {
                    outlet.good = Some(t);
                }
                if state.control.boilers.get(b.index()).is_some_and(|b| b.state.firing()) {
                    basis.outlet = basis.outlet.max(Some(t));
                }
            }
            SensorUse::Return if basis.required.return_.is_some() => basis.required.return_ = Some(t),
            SensorUse::Supply
            | SensorUse::Spare
            | SensorUse::Outdoor
            | SensorUse::Return
            | SensorUse::Tank
            | SensorUse::Mixed(_) => {}
        }
    }
    state.held = *inputs;
    let moves = state.laws.due(config, &state.known.looks, inputs, at);
    state.due = [state.due, moves].into_iter().flatten().min();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_reads_above_the_highest_temperature_there_is() {
        let band = |edge| {
            let mut band = Band::ANY;
            band.split_above(Temp::from_c(50), Temp::from_centi_c(edge));
            (band.low, band.high)
        };
        let highest = i16::MAX;
        assert_eq!(band(highest), (i16::MIN, highest));
        assert_eq!(
            [band(highest - 1), band(5000), band(4999)],
            [(i16::MIN, highest - 1), (i16::MIN, 5000), (5000, highest)]
        );
    }
}
