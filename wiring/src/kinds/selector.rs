//! HAND-OFF-AUTO selectors and the acknowledge button, in the relay panel's door.
//!
//! Contact blocks (EN 50005): 13-14 closed at HAND, 23-24 closed at AUTO, both in the coil circuit; 33-34 (HAND) and 43-44
//! (AUTO) for the controller's inputs. Blocks are rated for control circuits, so a selector never carries a motor.

use crate::{
    device::{Device, Kind, PlaceId},
    part::{Actuator, Part, Rest, T},
};
use heatwright_core::PumpId;

/// HAND in the coil circuit.
pub const HAND: [&str; 2] = ["13", "14"];
/// AUTO in the coil circuit.
pub const AUTO: [&str; 2] = ["23", "24"];
/// HAND for the controller.
pub const HAND_SEEN: [&str; 2] = ["33", "34"];
/// AUTO for the controller.
pub const AUTO_SEEN: [&str; 2] = ["43", "44"];

/// A HAND-OFF-AUTO selector; `seen` adds the blocks for the controller's inputs.
pub fn selector(tag: &str, place: PlaceId, label: &str, pump: PumpId, seen: [bool; 2]) -> Device {
    let mut d = Device::new(tag, Kind::Selector, place, label);
    let blocks = [
        (HAND, Actuator::Hand(pump), true),
        (AUTO, Actuator::Auto(pump), true),
        (HAND_SEEN, Actuator::Hand(pump), seen[0]),
        (AUTO_SEEN, Actuator::Auto(pump), seen[1]),
    ];
    for ([a, b], by, wanted) in blocks {
        if wanted {
            let (a, b) = (d.terminal(a), d.terminal(b));
            d.parts.push(Part::Contact { a, b, rest: Rest::Open, by });
        }
    }
    d
}

/// Which of its contact blocks each position closes, in words: a shop that assembles it and a person who rings it out need that.
pub fn positions(d: &Device) -> String {
    let mark = |t: T| d.terminals.get(usize::from(t.0)).map_or("", |t| t.mark.as_str());
    let closed = |hand: bool| {
        let blocks = d.parts.iter().filter_map(|p| match *p {
            Part::Contact { a, b, by: Actuator::Hand(_), .. } if hand => Some((a, b)),
            Part::Contact { a, b, by: Actuator::Auto(_), .. } if !hand => Some((a, b)),
            _ => None,
        });
        blocks.map(|(a, b)| format!("{}-{}", mark(a), mark(b))).collect::<Vec<_>>().join(" and ")
    };
    format!("HAND closes {}, OFF none, AUTO {}", closed(true), closed(false))
}

/// The acknowledge button: 13-14, open at rest.
pub fn acknowledge(tag: &str, place: PlaceId, label: &str) -> Device {
    let mut d = Device::new(tag, Kind::Button, place, label);
    let (a, b) = (d.terminal("13"), d.terminal("14"));
    d.parts.push(Part::Contact { a, b, rest: Rest::Open, by: Actuator::Acknowledge });
    d
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_position_names_its_blocks() {
        let of = |seen| positions(&selector("S1", PlaceId(0), "selector", PumpId(0), seen));
        assert_eq!(of([true, true]), "HAND closes 13-14 and 33-34, OFF none, AUTO 23-24 and 43-44");
        assert_eq!(of([false, true]), "HAND closes 13-14, OFF none, AUTO 23-24 and 43-44");
    }
}
