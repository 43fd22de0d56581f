//! Colours of conductors: which are reserved, and which we choose.
//!
//! Reserved (NFPA 70, from memory): grounded conductors white or gray (200.6), equipment grounds green, green-yellow or bare
//! (250.119); an ungrounded conductor is none of these (310.6(C)). Each system's ungrounded conductors are told apart and the means
//! written down (210.5(C)); the colours themselves are common practice: black, red, blue to 250 V; brown, orange, yellow at 277/480 V.
//!
//! Ungrounded control conductors that stay live with our control circuit off are yellow (NFPA 79, from memory: foreign control circuits).
//! In a plant of 480Y/277 V yellow is phase C, and both may land in one boiler: there foreign control is pink (our choice). The
//! phases keep their colours, since 210.5(C) binds every branch circuit of the building to the one posted code, while the
//! colour of a control circuit is told by the key on our own panel.

use super::{Source, Status};
use crate::row::Colour;

/// Where the rules come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "200.6, 210.5(C), 250.119, 310.6",
    editions: "2020, 2023",
    status: Status::Memory,
    remark: "all from memory; colors of ungrounded conductors are common practice",
};

/// What a conductor is to its system.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// Grounded conductor: neutral, grounded side of a transformer.
    Grounded,
    /// Equipment grounding conductor.
    EquipmentGround,
    /// Everything else.
    Ungrounded,
}

/// Whether a colour may be used for a role. Cores of a cable and shields are identified otherwise: always allowed, but never as a ground.
pub fn may_be(colour: Colour, role: Role) -> bool {
    match colour {
        Colour::White | Colour::Gray => role == Role::Grounded,
        Colour::Green => role == Role::EquipmentGround,
        Colour::Core(_) | Colour::Shield => role != Role::EquipmentGround,
        _ => role == Role::Ungrounded,
    }
}

/// The colour we choose for a phase (0, 1, 2) of a system of so many volts line to line.
pub fn phase(phase: usize, line_volts: f64) -> Option<Colour> {
    let low = [Colour::Black, Colour::Red, Colour::Blue];
    let high = [Colour::Brown, Colour::Orange, Colour::Yellow];
    if line_volts > 250.0 { high.get(phase).copied() } else { low.get(phase).copied() }
}

/// The colour we choose for control conductors that stay live with our control circuit off, in a plant whose service has so many volts
/// line to line.
pub fn foreign(service_line_volts: f64) -> Colour {
    if service_line_volts > 250.0 { Colour::Pink } else { Colour::Yellow }
}

/// The colour we choose for the grounded conductor of a system of so many volts line to line.
pub fn grounded(line_volts: f64) -> Colour {
    if line_volts > 250.0 { Colour::Gray } else { Colour::White }
}
