//! A boiler, seen from its terminals.
//!
//! Inside, its control circuit is either its own transformer on the line or, at the line's own volts and grounded, the line itself.
//! A 120 V control circuit that is said to be ungrounded has an isolating transformer; one of 120 V in a boiler of 240 V has a
//! transformer too. The live side of that circuit stands on the first mark of the limit, proving and demand pairs; behind the second mark sits the load that the
//! pair must make live. The common side may be bonded to the case; the user says so. Burner logic is not modelled here: what
//! burns is decided by whoever reads the loads.

use crate::{
    device::{Device, Kind, PlaceId},
    job::{Boiler, BoilerContact},
    part::{Actuator, LoadUse, Part, Rest, T},
};
use heatwright_core::{AnalogId, BoilerId};

/// The end of a cable's shield at the equipment: insulated and taped back, joined to nothing.
pub const SHIELD: &str = "shield (taped back)";
/// Smallest own control transformer, volt-amperes (our choice).
const CONTROL_VA_MIN: f64 = 40.0;

/// The boiler; `analog` is the controller's output that its 0-10 V input expects.
pub fn boiler(tag: &str, id: BoilerId, label: &str, b: &Boiler, place: PlaceId, analog: Option<AnalogId>) -> Device {
    let mut d = Device::new(tag, Kind::Boiler, place, label);
    let lines: Vec<T> = b.marks.line.iter().map(|m| d.terminal(m.clone())).collect();
    let ground = d.terminal(b.marks.ground.clone());
    d.parts.push(Part::Chassis(ground));
    line_load(&mut d, id, b, &lines);
    let (live, common) = control_supply(&mut d, b, &lines, ground);
    let pairs = [
        (&b.marks.limit, LoadUse::Limit(id)),
        (&b.marks.proving, LoadUse::Proving(id)),
        (&b.marks.demand, LoadUse::Demand(id)),
    ];
    for (marks, what) in pairs {
        let (out, back) = (d.terminal(marks[0].clone()), d.terminal(marks[1].clone()));
        d.parts.push(Part::Bond(live, out));
        d.parts.push(Part::Load { a: back, b: common, what, volts: b.control_volts, va: b.pair_va });
    }
    if let Some(marks) = &b.marks.signal {
        let (plus, minus) = (d.terminal(marks[0].clone()), d.terminal(marks[1].clone()));
        if let Some(analog) = analog {
            d.parts.push(Part::SignalIn { plus, minus, analog });
            d.terminal(SHIELD);
        }
    }
    let contacts = [
        (&b.marks.flame, Actuator::Flame(id)),
        (&b.marks.fault, Actuator::BoilerFault(id)),
        (&b.marks.pump, Actuator::BoilerPump(id)),
    ];
    for (contact, by) in contacts {
        if let Some(c) = contact {
            add_contact(&mut d, c, by, live, common);
        }
    }
    d
}

fn line_load(d: &mut Device, id: BoilerId, b: &Boiler, lines: &[T]) {
    let what = LoadUse::BoilerLine(id);
    match *lines {
        [a, c] => d.parts.push(Part::Load { a, b: c, what, volts: b.supply.volts, va: b.supply.volts * b.amps }),
        [a, c, e] => {
            let va = 3f64.sqrt() * b.supply.volts * b.amps;
            d.parts.push(Part::Load3 { lines: [a, c, e], what, volts: b.supply.volts, va });
        }
        _ => {}
    }
}

/// True when the boiler's control circuit is its grounded line itself, not a transformer behind it.
pub fn control_on_line(b: &Boiler) -> bool {
    b.supply.phases == 1 && (b.supply.volts / b.control_volts - 1.0).abs() < 0.06 && b.control_grounded
}

/// Live and common side of the boiler's own control circuit.
fn control_supply(d: &mut Device, b: &Boiler, lines: &[T], ground: T) -> (T, T) {
    let (live, common) = (d.inside("control live"), d.inside("control common"));
    if let [first, second, ..] = *lines {
        if control_on_line(b) {
            d.parts.extend([Part::Bond(first, live), Part::Bond(second, common)]);
        } else {
            let va = (3.0 * b.pair_va).max(CONTROL_VA_MIN);
            d.parts.push(Part::Transformer {
                primary: [first, second],
                secondary: [live, common],
                primary_volts: b.supply.volts,
                secondary_volts: b.control_volts,
                ohm: 0.08 * b.control_volts * b.control_volts / va,
                va,
            });
            if b.control_grounded {
                d.parts.push(Part::Bond(common, ground));
            }
        }
    }
    (live, common)
}

/// A dry contact between its marks, or the control voltage switched onto the first with the common on the second.
fn add_contact(d: &mut Device, c: &BoilerContact, by: Actuator, live: T, common: T) {
    let (a, b) = (d.terminal(c.marks[0].clone()), d.terminal(c.marks[1].clone()));
    if c.dry {
        d.parts.push(Part::Contact { a, b, rest: Rest::Open, by });
    } else {
        d.parts.push(Part::Contact { a: live, b: a, rest: Rest::Open, by });
        d.parts.push(Part::Bond(b, common));
    }
}
