//! Heatwright: from one plant file to control logic, simulation and wiring plan.

pub mod exit;
pub mod files;
pub mod finding;
pub mod names;
pub mod plant;
pub mod show;
