//! One file a kind of device: its terminals, its parts, its marks.
//!
//! A builder makes a complete [`Device`](crate::device::Device): what stands on its terminals and what is between them, so
//! that the network can be solved from devices and rows alone. Our own devices carry the marks of EN 50005 and IEC 60445
//! (coil A1-A2, change-over 11-12-14, normally open 13-14, main 1/L1-2/T1, overload 95-96) and thermostat letters; the user's
//! equipment carries the marks that the user typed. Nothing here knows the job as a whole.

pub mod appliance;
pub mod automation;
pub mod boiler;
pub mod control_transformer;
pub mod controller;
pub mod derived;
pub mod disconnect;
pub mod panelboard;
pub mod pump;
pub mod relay;
pub mod safety;
pub mod selector;
pub mod sensor;
pub mod strip;
pub mod thermostat;
pub mod transformer;
pub mod valve;

/// Primary marks of a transformer that is wound for 240 and 480 V, as stock units are: its two windings H1-H2 and H3-H4 in
/// series for 480 V (H2 joined to H3) or side by side for 240 V (H1 to H3, H2 to H4), the line on H1 and H4 either way. At another
/// voltage it has one winding. Common practice, no source; its plate governs.
pub fn primary_marks(volts: f64) -> [&'static str; 2] {
    if primary_links(volts).is_some() { ["H1", "H4"] } else { ["H1", "H2"] }
}

/// How its two primary windings are joined for this voltage, where it has two.
pub fn primary_links(volts: f64) -> Option<&'static str> {
    match volts.round() as u32 {
        480 => Some("H2 to H3"),
        240 => Some("H1 to H3, H2 to H4"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_line_stands_on_the_outer_ends_of_two_windings_and_never_on_one_of_them() {
        assert_eq!([480.0, 240.0, 208.0].map(super::primary_marks), [["H1", "H4"], ["H1", "H4"], ["H1", "H2"]]);
        assert_eq!(
            [480.0, 240.0, 208.0].map(super::primary_links),
            [Some("H2 to H3"), Some("H1 to H3, H2 to H4"), None]
        );
    }
}
