//! Heatwright: from one plant file to control logic, simulation and wiring plan.

pub mod commands;
pub mod exit;
pub mod field;
pub mod files;
pub mod finding;
pub mod link;
pub mod names;
pub mod plant;
pub mod show;
