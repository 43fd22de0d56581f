//! Conductors: size, colour, insulation and number of each wire.
//!
//! Colours (NEC 200.6, 250.119 and 210.5(C) for power; NFPA 79 for control): phases by the system, white or gray grounded, red
//! ungrounded control at 120 V, white every grounded control side, yellow for circuits that stay live with our control circuit off (pink beside 277/480 V, whose phase C is yellow),
//! green equipment ground, violet Class 2 inside the relay panel (our choice), numbered cores in cables.
//! Insulation: THHN in raceways and panels, TFFN for 18 and 16 AWG inside panels, CL2 for Class 2 cables.

use crate::{
    job::Job,
    pass::{
        loom::{Carries, Loom, RunKey, Way},
        protection::{Protection, in_raceway},
    },
    plan::Duty,
    row::{Class, Colour},
    tables::{Awg, bonding, colour},
};
use std::collections::BTreeMap;

/// Length of a pigtail, feet: more than the 6 in of NEC 300.14 (our choice).
const PIGTAIL_FT: f64 = 1.0;

/// What one wire is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Conductor {
    /// Size.
    pub awg: Awg,
    /// Insulation or cable type.
    pub insulation: &'static str,
    /// Colour.
    pub colour: Colour,
    /// Class.
    pub class: Class,
    /// Feet.
    pub length_ft: f64,
}

/// One conductor a wire of the loom.
pub fn conductors(job: &Job, loom: &Loom, p: &Protection) -> Vec<Conductor> {
    let grounds = grounds(loom, p);
    let mut cores: BTreeMap<RunKey, u8> = BTreeMap::new();
    loom.wires
        .iter()
        .map(|w| {
            let leg = &loom.legs[w.leg];
            let cable = match w.way {
                Way::Run(key, _) if !in_raceway(key.group) && w.carries != Carries::Bond => Some(key),
                _ => None,
            };
            let (awg, class) = match (w.carries, w.way) {
                (Carries::Ground, Way::Run(key, _)) => (grounds.get(&key).copied().unwrap_or(Awg::A14), Class::Ground),
                (Carries::Ground, Way::Inside) => (ground_of(loom, p, w.leg), Class::Ground),
                // A control transformer to 1000 VA: as its conductors, 14 AWG at least (250.30(A)(1) exception, from memory).
                (Carries::Bond, _) if leg.duty == Duty::Control => (p.legs[w.leg].awg.max(Awg::A14), Class::Ground),
                (Carries::Bond, _) => (bonding::size(p.legs[w.leg].awg), Class::Ground),
                _ => (p.legs[w.leg].awg, leg.class),
            };
            // Two systems in one building: each circuit in the colours of its own (210.5(C)).
            let circuit = &loom.circuits[leg.circuit];
            let line_volts = if circuit.volts_to_ground > 150.0 { 480.0 } else { 240.0 };
            let colour = match (w.carries, cable) {
                (Carries::Shield, _) => Colour::Shield,
                (Carries::Bond, _) => Colour::Green,
                (_, Some(key)) => {
                    let n = cores.entry(key).or_insert(0);
                    *n = n.saturating_add(1);
                    Colour::Core(*n)
                }
                (Carries::Phase(n), _) => colour::phase(usize::from(n) - 1, line_volts).unwrap_or(Colour::Black),
                (Carries::Neutral, _) => colour::grounded(line_volts),
                (Carries::Control, _) => Colour::Red,
                (Carries::ControlNeutral | Carries::ForeignNeutral, _) => Colour::White,
                (Carries::Foreign, _) => colour::foreign(job.service.volts.line_volts()),
                (Carries::Class2, _) => Colour::Violet,
                (Carries::Ground, _) => Colour::Green,
            };
            let insulation = match (w.carries, cable) {
                (Carries::Shield, _) => "bare drain",
                (Carries::Bond, _) if matches!(w.way, Way::Run(..)) => "bare",
                (_, Some(_)) => "CL2",
                _ if awg < Awg::A14 => "TFFN",
                _ => "THHN",
            };
            let length_ft = match w.way {
                // From the splice of a machine's grounds to its terminal.
                Way::Inside if w.carries == Carries::Ground && w.from.device == w.to.device => PIGTAIL_FT,
                Way::Inside => job.panel.wire_ft,
                Way::Run(_, ft) => ft,
            };
            Conductor { awg, insulation, colour, class, length_ft }
        })
        .collect()
}

/// The largest equipment ground that a circuit of each raceway asks for; one size a branch circuit, also along its lighter
/// control conductors (our choice).
fn grounds(loom: &Loom, p: &Protection) -> BTreeMap<RunKey, Awg> {
    let mut out: BTreeMap<RunKey, Awg> = BTreeMap::new();
    for w in loom.wires.iter().filter(|w| !matches!(w.carries, Carries::Ground | Carries::Bond)) {
        let Way::Run(key, _) = w.way else { continue };
        let awg = ground_of(loom, p, w.leg);
        let e = out.entry(key).or_insert(awg);
        *e = (*e).max(awg);
    }
    out
}

/// The equipment ground of a leg's branch circuit; 14 AWG for a boiler's or pump's own control circuit.
fn ground_of(loom: &Loom, p: &Protection, leg: usize) -> Awg {
    let circuit = &loom.circuits[loom.legs[leg].circuit];
    if circuit.duty == Duty::Feeder {
        // Between transformer and main breaker: the supply-side bonding jumper (250.30(A)(2)).
        return bonding::size(p.legs[leg].awg);
    }
    let name = &circuit.name;
    let breaker = p.breakers.iter().find(|b| b.circuit == *name);
    breaker.and_then(|b| b.ground_awg.parse().ok()).unwrap_or(Awg::A14)
}
