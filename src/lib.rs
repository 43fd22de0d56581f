//! Heatwright: from one plant file to control logic, simulation and wiring plan.

pub mod charts;
pub mod commands;
pub mod exit;
pub mod explain;
pub mod field;
pub mod files;
pub mod finding;
pub mod link;
pub mod names;
pub mod plant;
pub mod series;
pub mod show;
