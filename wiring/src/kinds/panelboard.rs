//! The branch-circuit panelboard: the service's sources, its busbars, its breakers.
//!
//! Spaces are numbered odd on the left and even on the right; the rows of spaces take the phases in turn, so spaces 1 and 2
//! are on the first phase (common practice). Sources are ideal but for a small inner resistance. Phases of a wye stand 120
//! degrees apart, the two legs of 120/240 V stand 180 degrees apart. Neutral and ground bars are bonded here: the panelboard
//! is taken as the service equipment (our choice; a subpanel has the same joint upstream). Each branch circuit has its own
//! terminal on the neutral bar and on the ground bar. A second panelboard has a main breaker and no joint of its two bars.

use crate::{
    device::{Device, Kind, PlaceId},
    job::ServiceVolts,
    part::{Actuator, MAIN_BREAKER, Part, Rest, T},
};

/// The inner resistance of a source, ohm: a stiff supply (our choice, small against every load).
const SOURCE_OHM: f64 = 0.01;

/// The last space of the largest usual panelboard (common practice, no source).
pub const SPACE_MAX: u8 = 84;

/// The panelboard with its busbars; breakers are added one by one.
pub fn panelboard(tag: &str, place: PlaceId, volts: ServiceVolts) -> Device {
    let mut d = Device::new(tag, Kind::Panelboard, place, "panelboard");
    let neutral = d.inside("N");
    let ground = d.inside("G");
    let step = if volts == ServiceVolts::Single120240 { 180.0 } else { -120.0 };
    for phase in 1..=volts.phases() {
        let hot = d.inside(format!("L{phase}"));
        d.parts.push(Part::Source {
            hot,
            ret: neutral,
            volts: volts.phase_volts(),
            angle_deg: step * f64::from(phase - 1),
            ohm: SOURCE_OHM,
        });
    }
    d.parts.extend([Part::Bond(neutral, ground), Part::Earth(ground), Part::Chassis(ground)]);
    d
}

/// Marks of the main breaker's line side, by leg.
pub const MAIN_LINE: [&str; 2] = ["1/L1", "3/L2"];
/// The terminal of the incoming neutral.
pub const MAIN_NEUTRAL: &str = "N.main";

/// A panelboard of 120/240 V behind a transformer, with a main breaker of two poles. Its neutral bar is isolated from its
/// ground bar: the one joint between the two stands at the transformer (NEC 250.30(A)(1), 250.24(A)(5), from memory).
pub fn second(tag: &str, place: PlaceId) -> Device {
    let mut d = Device::new(tag, Kind::Panelboard, place, "panelboard behind the transformer");
    let neutral = d.inside("N");
    let ground = d.inside("G");
    for (i, mark) in MAIN_LINE.into_iter().enumerate() {
        let bus = d.inside(format!("L{}", i + 1));
        let line = d.terminal(mark);
        d.parts.push(Part::Contact { a: line, b: bus, rest: Rest::Closed, by: Actuator::Breaker(MAIN_BREAKER) });
    }
    let incoming = d.terminal(MAIN_NEUTRAL);
    d.parts.extend([Part::Bond(neutral, incoming), Part::Chassis(ground)]);
    d
}

/// The phase of a space: 1 to the number of phases.
pub fn phase_of(space: u8, phases: u8) -> u8 {
    (space.saturating_sub(1) / 2) % phases.max(1) + 1
}

/// Adds a breaker at these spaces, one a pole; its load terminals are marked with the spaces.
pub fn add_breaker(d: &mut Device, spaces: &[u8], phases: u8) -> Vec<T> {
    let Some(&first) = spaces.first() else { return Vec::new() };
    spaces
        .iter()
        .map(|&space| {
            let load = d.terminal(space.to_string());
            if let Some(bus) = d.find(&format!("L{}", phase_of(space, phases))) {
                d.parts.push(Part::Contact { a: bus, b: load, rest: Rest::Closed, by: Actuator::Breaker(first) });
            }
            load
        })
        .collect()
}

/// Adds a terminal on the neutral bar.
pub fn add_neutral(d: &mut Device, mark: &str) -> T {
    add_on(d, "N", format!("N{mark}"))
}

/// Adds a terminal on the ground bar.
pub fn add_ground(d: &mut Device, mark: &str) -> T {
    add_on(d, "G", format!("G.{mark}"))
}

fn add_on(d: &mut Device, bar: &str, mark: String) -> T {
    let t = d.terminal(mark);
    if let Some(bar) = d.find(bar) {
        d.parts.push(Part::Bond(bar, t));
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_spaces_take_the_phases_in_turn() {
        let three: Vec<u8> = (1..=8).map(|s| phase_of(s, 3)).collect();
        assert_eq!(three, [1, 1, 2, 2, 3, 3, 1, 1]);
        let two: Vec<u8> = (1..=6).map(|s| phase_of(s, 2)).collect();
        assert_eq!(two, [1, 1, 2, 2, 1, 1]);
    }

    #[test]
    fn a_two_pole_breaker_opens_both_poles_together() {
        let mut d = panelboard("A2", PlaceId(0), ServiceVolts::Wye208);
        let loads = add_breaker(&mut d, &[4, 6], 3);
        assert_eq!(loads.len(), 2);
        let by: Vec<_> = d
            .parts
            .iter()
            .filter_map(|p| if let Part::Contact { a, by, .. } = p { Some((*a, *by)) } else { None })
            .collect();
        assert_eq!(by.iter().filter(|(_, b)| *b == Actuator::Breaker(4)).count(), 2);
        assert_ne!(by[0].0, by[1].0, "the poles stand on different busbars");
    }
}
