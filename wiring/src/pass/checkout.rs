//! The procedure of commissioning: what to ring out before power, what to measure at each supply, which limit terminal is hot, how
//! to trip each safety and what must stop, and the series contacts of the safety relays each alone.
//!
//! * Ring out: every conductor of the schedule, end to end, with what it shows against ground while every breaker is open: joined
//!   to ground, a load's resistance, or open (followed through contacts that are closed at rest).
//! * Trips: with each safety tripped alone, all else that can close closed, what loses its power follows from the network as it does
//!   for a lockout point; everything else must go on. A safety that stops nothing is said to be an alarm.
//! * Series contacts: two relays in series hide that one has welded, since the other still opens. Each coil is dropped alone
//!   (its wire lifted, the relay in its socket: a relay pulled out cannot show a weld).
//! * Pairs: with its pair open a boiler's hot terminal shows its control volts and the other none. The other way round the pair lies
//!   in the grounded leg, where a ground fault bridges every safety of it.
//!
//! Source of the procedure: common practice, no source; the test of a safety by making its condition rather than by lifting a wire
//! is what CSD-1 CW-100 asks for, from memory.
//!
//! What it deliberately does not do: volts between terminals in each state of the plant (readings of the network), combustion,
//! gas pressure and water side, the settings left in the field.

mod ring;
mod trips;

use crate::{
    job::Job,
    pass::lockout::reach::Map,
    plan::{Feed, Plan},
    trace::Trace,
};
use heatwright_core::{BoilerId, Subject};
use serde::Serialize;

pub use ring::{Ring, ToGround};
pub use trips::{Series, Trip};

/// The whole procedure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Checkout {
    /// Conductors to ring out, in schedule order.
    pub ring: Vec<Ring>,
    /// Supplies to measure as each breaker is closed.
    pub supplies: Vec<Supply>,
    /// The limit pair of each boiler.
    pub pairs: Vec<Pair>,
    /// Each safety.
    pub trips: Vec<Trip>,
    /// Each safety relay alone.
    pub series: Vec<Series>,
}

/// A supply, measured once where it first arrives.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Supply {
    /// The breaker's first space, or the tag of the transformer.
    pub from: String,
    /// What it feeds.
    pub feeds: String,
    /// Volts between its conductors.
    pub volts: f64,
    /// Highest volts from one of them to ground.
    pub to_ground_v: f64,
    /// 1 or 3.
    pub phases: u8,
    /// Terminals of its first conductor outside the panelboard or transformer.
    pub at: String,
}

/// Which terminal of a limit pair is hot.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pair {
    /// The boiler.
    pub boiler: String,
    /// Its hot terminal: shows `volts` with the pair open.
    pub hot: String,
    /// The other: shows nothing with the pair open.
    pub far: String,
    /// What both are measured against.
    pub against: String,
    /// Volts of its control circuit.
    pub volts: f64,
}

/// The procedure of a plan.
pub fn checkout(job: &Job, plan: &Plan) -> Checkout {
    let trace = Trace::of(plan);
    let map = Map::of(&trace);
    Checkout {
        ring: ring::ring(plan, &trace),
        supplies: supplies(plan),
        pairs: pairs(job, plan),
        trips: trips::trips(job, plan, &map),
        series: trips::series(job, plan, &map),
    }
}

fn supplies(plan: &Plan) -> Vec<Supply> {
    let mut list = Vec::new();
    let boards = plan.devices.iter().filter(|d| d.kind == crate::device::Kind::Panelboard).count();
    for c in &plan.circuits {
        let (from, source) = match &c.feed {
            Feed::Panelboard { panel, spaces } => {
                let space = spaces.first().map_or_else(String::new, u8::to_string);
                // With two panelboards the space alone says too little.
                (if boards > 1 { format!("{panel}-{space}") } else { space }, panel)
            }
            Feed::Transformer(tag) => (tag.clone(), tag),
            _ => continue,
        };
        let row = plan.rows.iter().find(|r| r.circuit == c.name && r.from.device == *source);
        let Some(row) = row else { continue };
        let at = format!("{}:{}", row.to.device, row.to.terminal);
        let to_ground_v = c.volts_to_ground;
        list.push(Supply { from, feeds: c.label.clone(), volts: c.volts, to_ground_v, phases: c.phases, at });
    }
    list
}

fn pairs(job: &Job, plan: &Plan) -> Vec<Pair> {
    let tag = |b: BoilerId| {
        let mut boilers = plan.devices.iter().filter(|d| d.kind == crate::device::Kind::Boiler);
        boilers.find(|d| d.subject == Some(Subject::Boiler(b))).map(|d| d.tag.clone())
    };
    let mut list = Vec::new();
    for (i, b) in job.boilers.iter().enumerate() {
        let id = BoilerId(i as u8);
        let Some(tag) = tag(id) else { continue };
        let at = |mark: &str| format!("{tag}:{mark}");
        list.push(Pair {
            boiler: job.names.of(Subject::Boiler(id)),
            hot: at(&b.marks.limit[0]),
            far: at(&b.marks.limit[1]),
            against: if b.control_grounded { at(&b.marks.ground) } else { "the common of its control circuit".into() },
            volts: b.control_volts,
        });
    }
    list
}

#[cfg(test)]
mod tests;
