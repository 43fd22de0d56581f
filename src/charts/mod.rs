//! Charts as SVG: the reset curve, the course of a run, boiler hours by policy.
//!
//! Each chart is a function from plain figures to the text of an SVG file: same figures, same bytes. The house's look is kept in
//! [`ink`] and [`panel`]: axes with their unit, a legend beside the plot and never over it, lines that differ in dash as well
//! as in colour and fills that differ in lightness, so that a copy in black and white can be read.
//!
//! It computes nothing of physics; what is drawn is what the studies gave.

pub mod curve;
pub mod ink;
pub mod panel;
pub mod returns;
pub mod rotation;
pub mod week;
