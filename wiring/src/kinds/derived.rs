//! A separately derived system: the dry-type transformer TP1 and the connection to its grounding electrode.
//!
//! Single phase, 480 V primary, secondary 120/240 V in two windings of half the rating each, X1-X2 and X3-X4. X2 and X3 are
//! joined and are the middle, so that X1 and X4 stand 180 degrees apart. For the marks see [`primary_marks`]. The middle is grounded here, by a bonding jumper that the
//! schedule lists (NEC 250.30(A)(1)): both are marked as metal that must stand on ground, and so is the electrode's
//! connection. At 480 V the two windings of its primary are in series: H2 and H3 meet on a terminal of their own, where no wire of the plan
//! lands and which is live with the primary. The electrode itself is no way for fault current (250.4(A)(5)), so it counts as no ground of its own.
//!
//! Inner resistance from a regulation of 3 per cent at full load (our choice, typical of dry types of 5 to 25 kVA).

use super::{primary_links, primary_marks};
use crate::{
    device::{Device, Kind, PlaceId},
    part::Part,
};

/// Its secondary lines.
pub const SECONDARY: [&str; 2] = ["X1", "X4"];
/// The middle of its secondary: the link that joins its windings.
pub const MIDDLE: &str = "X2/X3";
/// Where the windings of a primary on 480 V meet.
pub const PRIMARY_JOINT: &str = "H2/H3";
/// Its ground bar.
pub const GROUND: &str = "PE";
/// The one terminal of the electrode's connection.
pub const ELECTRODE: &str = "1";
/// Rated volts of half its secondary.
pub const HALF_V: f64 = 120.0;
/// Voltage drop at full load, as a share.
pub const REGULATION: f64 = 0.03;

/// The transformer.
pub fn transformer(tag: &str, place: PlaceId, label: &str, primary_volts: f64, va: f64) -> Device {
    let mut d = Device::new(tag, Kind::DryTransformer, place, label);
    let [start, end] = primary_marks(primary_volts).map(|m| d.terminal(m));
    let [x1, x4] = SECONDARY.map(|m| d.terminal(m));
    let middle = d.terminal_for(MIDDLE, 2);
    let half = va / 2.0;
    let ohm = REGULATION * HALF_V * HALF_V / half;
    for (primary, line) in [([start, end], x1), ([end, start], x4)] {
        let secondary = [line, middle];
        d.parts.push(Part::Transformer { primary, secondary, primary_volts, secondary_volts: HALF_V, ohm, va: half });
    }
    let ground = d.terminal_for(GROUND, 4);
    if primary_links(primary_volts).is_some_and(|l| l == "H2 to H3") {
        d.terminal_for(PRIMARY_JOINT, 2);
    }
    d.parts.extend([Part::Chassis(ground), Part::Chassis(middle)]);
    d
}

/// Where the grounding electrode conductor ends.
pub fn electrode(tag: &str, place: PlaceId, label: &str) -> Device {
    let mut d = Device::new(tag, Kind::Electrode, place, label);
    let t = d.terminal(ELECTRODE);
    d.parts.push(Part::Chassis(t));
    d
}
