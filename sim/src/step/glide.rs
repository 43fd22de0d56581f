//! Steps between two switchings, one after the other, without a look at contacts and readings.
//!
//! While nothing is switched, each thing that could be has a bound that its own temperature must pass first: a limit its
//! opening point, an aquastat its edges, a reading the ends of the band in which the controller does nothing. [`Reach`] holds
//! those bounds side by side, so that a step compares and looks at nothing else. Thermostats, burners and the tank say
//! themselves when they have turned. The step in which a bound is passed is the last one: the caller looks after it as after
//! any other. What is looked at between is thus what looking each time would have seen, and so is every bit of the result.

use super::Scratch;
use crate::{
    plant::Trip,
    run::tally::Tally,
    sensor::Felt,
    state::{Model, State},
    zone::lanes::{ALL, BLOCKS, LANES, Lane, place, row},
};
use heatwright_core::{
    Reading, SensorId, SensorUse,
    limits::{BOILERS, SENSORS},
    quiet::Quiet,
};

/// How far temperatures may go before something has to be looked at, in degrees Celsius; both ends counted.
#[derive(Clone, Debug)]
pub(crate) struct Reach {
    pipes_c: [(Lane, Lane); BLOCKS],
    boilers_c: [f64; BOILERS],
    tank_c: f64,
    felt_low_c: Felt,
    felt_high_c: Felt,
    /// Aquastats and safeties that made the bounds of the water, and the readings that made those of each sensor.
    made_by: Option<(u64, u64)>,
    readings: [Option<(i16, i16)>; SENSORS],
}

const NO_BOUND: (Lane, Lane) = (Lane([f64::NEG_INFINITY; LANES]), Lane([f64::INFINITY; LANES]));

impl Reach {
    /// Without any bound.
    pub(crate) fn new() -> Self {
        Self {
            pipes_c: [NO_BOUND; BLOCKS],
            boilers_c: [f64::INFINITY; BOILERS],
            tank_c: f64::INFINITY,
            felt_low_c: [NO_BOUND.0; SENSORS / LANES],
            felt_high_c: [NO_BOUND.1; SENSORS / LANES],
            made_by: None,
            readings: [None; SENSORS],
        }
    }

    /// Takes the bounds while the field stands as it does and the controller is quiet. False while something asks to be
    /// looked at in every step.
    pub(crate) fn follow(&mut self, model: &Model, s: &State, quiet: Option<&Quiet>) -> bool {
        if !model.switches.all_made(s.field.safeties) {
            // One that stands open waits for a hand or for its cause to go.
            return false;
        }
        let made_by = Some((s.field.fan_aquastats, s.field.safeties));
        if self.made_by != made_by {
            self.made_by = made_by;
            self.water(model, s.field.fan_aquastats);
        }
        let Some(quiet) = quiet else { return true };
        for (i, (what, m)) in model.sensors.iter().enumerate().take(SENSORS) {
            if *what == SensorUse::Spare {
                continue;
            }
            let Some((low, high)) = quiet.range(SensorId(i as u8)) else { return false };
            if self.readings[i] != Some((low, high)) {
                self.readings[i] = Some((low, high));
                let (k, l) = (i / LANES, i % LANES);
                (self.felt_low_c[k][l], self.felt_high_c[k][l]) = m.sure_c(low, high);
            }
        }
        true
    }

    /// The bounds of the water, all limits being made.
    fn water(&mut self, model: &Model, fan_aquastats: u64) {
        (self.pipes_c, self.boilers_c, self.tank_c) = ([NO_BOUND; BLOCKS], [f64::INFINITY; BOILERS], f64::INFINITY);
        for (zone, fan) in &model.fans {
            let Some(at_c) = fan.aquastat_c else { continue };
            let (b, l) = place(*zone);
            let (low_c, high_c) = &mut self.pipes_c[b];
            if fan_aquastats >> zone & 1 == 1 {
                low_c[l] = low_c[l].max(at_c - fan.differential_k);
            } else {
                high_c[l] = high_c[l].min(at_c);
            }
        }
        for (open_c, trip) in model.switches.by_temperature() {
            let most_c = match trip {
                Trip::BoilerAbove { boiler, .. } => &mut self.boilers_c[boiler.index() % BOILERS],
                Trip::ZoneSupplyAbove { zone, .. } => {
                    let (b, l) = place(zone.index());
                    &mut self.pipes_c[b].1[l]
                }
                Trip::TankAbove { .. } => &mut self.tank_c,
                Trip::Event | Trip::BoilerFlow(_) | Trip::DamperClosed => continue,
            };
            *most_c = most_c.min(open_c);
        }
    }

    /// True while everything is within reach.
    #[inline(always)]
    fn holds(&self, model: &Model, s: &State, scratch: &Scratch) -> bool {
        let mut within = ALL;
        for ((low_c, high_c), block) in self.pipes_c.iter().zip(&s.zones.blocks).take(model.zones.blocks()) {
            let c = row(&block.supply_pipe_c);
            within &= (c.simd_ge(row(low_c)) & c.simd_le(row(high_c))).to_bitmask();
        }
        let bounds = self.felt_low_c.iter().zip(&self.felt_high_c);
        for (c, (low_c, high_c)) in scratch.felt_c().iter().zip(bounds).take(model.sensors.len().div_ceil(LANES)) {
            let c = row(c);
            within &= (c.simd_ge(row(low_c)) & c.simd_le(row(high_c))).to_bitmask();
        }
        let mut out = within != ALL;
        for (most_c, b) in self.boilers_c.iter().zip(&s.boilers) {
            out |= b.state.water_c > *most_c;
        }
        out |= s.tank.as_ref().is_some_and(|t| t.0.water_c > self.tank_c);
        !out
    }
}

/// What a stretch of steps needs besides the plant.
pub(crate) struct Stretch<'a, F> {
    /// The first of its steps, and the last that it may have.
    pub(crate) first: u64,
    pub(crate) last: u64,
    /// Without it the first step is the last.
    pub(crate) reach: Option<&'a Reach>,
    /// Outdoor temperature at a step, in degrees Celsius.
    pub(crate) outdoor_c: F,
}

impl Model {
    /// Makes the first step of a stretch, and those after it up to the one in which something may have moved, or the last.
    /// Gives its number, and whether nothing has moved even then. All before it are counted in the tally; it is not, since
    /// what it did is not looked at yet.
    pub(crate) fn glide<E>(
        &self,
        s: &mut State,
        scratch: &mut Scratch,
        mut tally: Option<&mut Tally>,
        stretch: &Stretch<'_, impl Fn(u64) -> Result<f64, E>>,
    ) -> Result<(u64, bool), E> {
        let mut step = stretch.first;
        loop {
            let outdoor_c = (stretch.outdoor_c)(step)?;
            let moved = self.advance(s, scratch, outdoor_c);
            let rest = !moved && stretch.reach.is_some_and(|r| r.holds(self, s, scratch));
            if !rest || step >= stretch.last {
                return Ok((step, rest));
            }
            if let Some(tally) = &mut tally {
                tally.add(self, s, scratch);
            }
            step += 1;
        }
    }

    /// What the sensors read in the step before the last one that was made.
    pub(crate) fn readings_before(&self, scratch: &Scratch) -> [Reading; SENSORS] {
        self.readings(scratch.felt_before_c())
    }
}
