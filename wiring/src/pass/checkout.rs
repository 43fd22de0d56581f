//! The procedure of commissioning: what to ring out before power, what to measure at each supply, which limit terminal is hot, how
//! to trip each safety and what must stop, and the series contacts of the safety relays each alone.
//!
//! * Ring out: every conductor of the schedule, end to end, with what it shows against ground while every breaker is open: joined
//!   to ground, a load's resistance, or open (followed through contacts that are closed at rest).
//! * Before power: torque (see `before`), insulation (see `insulation`); as each supply is closed in: its volts (see `supplies`); motors, fans and
//!   receptacles: see `motors`.
//! * Trips: with each safety tripped alone, all else that can close closed, what loses its power follows from the network as it does
//!   for a lockout point; everything else must go on. A safety that stops nothing is said to be an alarm.
//! * Series contacts: two relays in series hide that one has welded, since the other still opens. Each coil is dropped alone
//!   (its wire lifted, the relay in its socket: a relay pulled out cannot show a weld).
//! * Signals: everything that the parts before do not try, see `signals`.
//! * Pairs: with its pair open a boiler's hot terminal shows its control volts and the other none. The other way round the pair lies
//!   in the grounded leg, where a ground fault bridges every safety of it.
//!
//! Source of the procedure: common practice, no source; the test of a safety by making its condition rather than by lifting a wire
//! is what CSD-1 CW-100 asks for, from memory.
//!
//! What it deliberately does not do: volts between terminals in each state of the plant (readings of the network), combustion,
//! gas pressure and water side, the settings left in the field.

mod before;
mod insulation;
mod motors;
mod ring;
mod signals;
mod starts;
mod supplies;
mod trips;

use crate::{
    job::{Boiler, Job},
    pass::{
        lockout::reach::Map,
        reduced::{Reduced, reduced},
    },
    plan::Plan,
    trace::Trace,
};
use heatwright_core::{BoilerId, Subject};
use serde::Serialize;

pub use before::Torque;
pub use insulation::Insulation;
pub use motors::{Aquastat, Motor, Overload, Receptacle};
pub use ring::{POSITION, Ring, ToGround};
pub use signals::Signal;
pub use supplies::Supply;
pub use trips::{Series, Trip};

/// The whole procedure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Checkout {
    /// Conductors to ring out, in schedule order.
    pub ring: Vec<Ring>,
    /// Screws to tighten, before power.
    pub torque: Vec<Torque>,
    /// Ends at which a long run is spliced down to what the terminal takes: looked at before power.
    pub reduced: Vec<Reduced>,
    /// Insulation to test, before power.
    pub insulation: Vec<Insulation>,
    /// Supplies to measure in the order in which they are closed in.
    pub supplies: Vec<Supply>,
    /// The limit pair of each boiler.
    pub pairs: Vec<Pair>,
    /// Motors: direction, overload, current.
    pub motors: Vec<Motor>,
    /// Starters: overload and auxiliary contact.
    pub overloads: Vec<Overload>,
    /// Aquastats of fans.
    pub aquastats: Vec<Aquastat>,
    /// Receptacles with ground-fault protection.
    pub receptacles: Vec<Receptacle>,
    /// Each safety.
    pub trips: Vec<Trip>,
    /// Each safety relay alone.
    pub series: Vec<Series>,
    /// Inputs, sensors, 0-10 V outputs, alarm: what nothing else tries.
    pub signals: Vec<Signal>,
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
    let mut motors = motors::motors(job, plan, &map);
    let supplies = supplies::supplies(plan, &trace, &map, &motors);
    // What was closed with a supply is not closed again.
    for m in &mut motors {
        m.close.retain(|tag| !supplies.iter().any(|s| s.close == *tag));
    }
    Checkout {
        ring: ring::ring(plan, &trace),
        torque: before::torque(plan),
        reduced: reduced(plan),
        insulation: insulation::insulation(plan, &trace),
        supplies,
        pairs: pairs(job, plan),
        motors,
        overloads: motors::overloads(job, plan, &map),
        aquastats: motors::aquastats(plan),
        receptacles: motors::receptacles(plan),
        trips: trips::trips(job, plan, &map),
        series: trips::series(job, plan, &map),
        signals: signals::signals(job, plan),
    }
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
            against: if b.control_grounded { at(&b.marks.ground) } else { common(b, &at) },
            volts: b.control_volts,
        });
    }
    list
}

/// Where the common of an ungrounded control circuit can be met: at a contact that puts its volts out, else behind the demand pair's
/// own load, while that pair is open.
fn common(b: &Boiler, at: &dyn Fn(&str) -> String) -> String {
    let wet = [&b.marks.flame, &b.marks.fault, &b.marks.pump].into_iter().flatten().find(|c| !c.dry);
    match wet {
        Some(c) => at(&c.marks[1]),
        None => format!("{}, its call ended", at(&b.marks.demand[1])),
    }
}

#[cfg(test)]
mod tests;
