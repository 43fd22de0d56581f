//! Physics, weather and studies of a hot-water heating plant under its own control logic.
//!
//! # The model on one page
//!
//! Temperatures in degrees Celsius, heat in watts, capacities in J/K, flows as capacity rates `w` (mass flow times specific
//! heat) in W/K. One step of 1 s (0.1 to 5 s) moves every node; rates over a step are constant.
//!
//! | node | equation | where |
//! |---|---|---|
//! | room air `a` | `C_a da/dt = (1-f) Q + G - U (a - o) - H (a - m)` | [`zone`] |
//! | building mass `m` | `C_m dm/dt = f Q + H (a - m)` | [`zone`] |
//! | emitter water `r` (leaving) | `C_e dr/dt = w (s - r) - X` | [`zone`] |
//! | floor slab `b` | `C_b db/dt = X - Q` | [`zone`] |
//! | emitter | `Q = Q_r/h (x/x_r)^n`, `x` the mean excess of the water (EN 442); floor `8.92 (t_F - a)^1.1` W/m2 (EN 1264) | [`emitter`] |
//! | boiler water `T` | `C dT/dt = w (B - T) + eta F - J (T - t_room)` | [`boiler`] |
//! | return valve | `w` times `(T - t_in) / (T - B)` goes to the header, `t_in = max(B, t_v)`; the rest round | [`boiler`] |
//! | efficiency `eta` | combustion of methane: flue gas a little above the return, saturated below its dew point; or typed points | [`boiler::efficiency`] |
//! | header halves `U`, `L` | perfect mixers; the larger flow's surplus goes round, up or down | [`header`] |
//! | four pipes | perfect mixers between boilers, header and zones | [`header`] |
//! | tank | `C dT/dt = w e (S - T) - L (T - t_room) - d (T - t_cold)`, `e = 1 - exp(-K/w)` | [`tank`] |
//! | valves, damper, mixing valves | constant speed over their stroke, or a first-order element | `actuator` |
//! | thermostats, sensors | first-order lag; differential, cycle rate, schedule; noise, error, steps | [`thermostat`], [`sensor`] |
//! | burner | purge, trials, proof, post-purge, lockout | [`boiler::burner`] |
//! | fluid | density and specific heat of water (IAPWS-95) or propylene glycol (Melinder), constant in a run | [`fluid`] |
//!
//! **A step** ([`step`]) is implicit. Each law is replaced by a straight line, each zone and boiler is eliminated to a straight
//! line of the water it is given, and the header solves what is left: two unknowns. Energy is conserved to rounding;
//! volumes may be as small as they are. **A run** ([`mod@run`]) closes the loop: [`Wires`] say what is live and what is seen,
//! [`Control`] decides. It reports boiler-side heat against emitter-side heat plus storage, and the difference to the same run
//! at half the step.
//!
//! **Simplified on purpose:** fixed flow per running pump and open valve, one temperature per node, no heat between
//! zones, no sun, no moisture, no heat lost downwards from floors, gains by schedule, constant specific heat.
//!
//! **Absent by rule:** plant files, conductors, processes, ports, a terminal. Same plant, weather and seed give the same
//! bytes on one thread or many.
#![forbid(unsafe_code)]

mod actuator;
pub mod boiler;
mod check;
pub mod control;
pub mod emitter;
pub mod fault;
pub mod finding;
pub mod fluid;
mod gains;
pub mod header;
pub mod outdoor;
pub mod plant;
mod pump;
pub mod replay;
pub mod run;
mod safety;
pub mod sensor;
pub mod state;
pub mod step;
pub mod study;
pub mod tank;
pub mod thermostat;
pub mod timed;
pub mod traces;
pub mod weather;
pub mod wires;
pub mod zone;
pub mod zone_relays;

pub use control::{Control, LinkError};
pub use emitter::Emitter;
pub use finding::Finding;
pub use outdoor::Outdoor;
pub use plant::Plant;
pub use run::{Options, Run, RunError, Summary, run, run_checked};
pub use state::{Model, State};
pub use step::Conditions;
pub use wires::{Field, Ideal, Powered, Wires};
