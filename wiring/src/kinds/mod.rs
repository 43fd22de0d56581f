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
