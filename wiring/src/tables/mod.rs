//! The code tables the planner stands on: one table a file.
//!
//! Each file says in its head, and again as data in its `SOURCE`, which standard, which section, which editions, and whether
//! the figures were checked against a public transcription of the standard or written down from memory. None was read from
//! the licensed text: a person holding the code ticks them once before anything is built by them.
//!
//! Editions: 2020 and 2023 of NFPA 70 (NEC). Where they differ the function takes an [`Edition`]. Copper conductors only,
//! 600 V, 18 AWG to 4/0 AWG. Outside a table the answer is `None`, never the nearest row.
//!
//! What is deliberately absent: aluminum conductors, cable trays, medium voltage, service conductors, the Canadian code.

pub mod adjustment;
pub mod ambient;
pub mod ampacity;
pub mod awg;
pub mod bonding;
pub mod class2;
pub mod colour;
pub mod conductor;
pub mod control_protection;
pub mod derived;
pub mod disconnect;
pub mod drop;
pub mod egc;
pub mod impedance;
pub mod insulation;
pub mod motor;
pub mod overload;
pub mod pilot;
pub mod protect;
pub mod raceway;
pub mod resistance;
pub mod shared;
pub mod small;
pub mod standard;
pub mod transformer;

pub use awg::Awg;
pub use insulation::Insulation;

use serde::{Deserialize, Serialize};

/// Edition of NFPA 70 (NEC) a plan is made by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Edition {
    /// NFPA 70-2020.
    #[serde(rename = "2020")]
    Nec2020,
    /// NFPA 70-2023.
    #[default]
    #[serde(rename = "2023")]
    Nec2023,
}

impl Edition {
    /// The year, as it is written.
    pub const fn year(self) -> u16 {
        match self {
            Edition::Nec2020 => 2020,
            Edition::Nec2023 => 2023,
        }
    }
}

/// How far the figures of a table can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// Compared with a public transcription of the standard.
    Checked,
    /// Some figures compared, others from memory: the file's head says which.
    Partly,
    /// From memory.
    Memory,
}

/// Where a table comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Source {
    /// The standard.
    pub standard: &'static str,
    /// Table or section.
    pub section: &'static str,
    /// Editions it holds for.
    pub editions: &'static str,
    /// How far it was checked.
    pub status: Status,
    /// What exactly is not checked, or is our choice; empty if nothing.
    pub remark: &'static str,
}

/// The sources of all tables, for the page of sources and for whoever ticks them.
pub const SOURCES: &[Source] = &[
    adjustment::SOURCE,
    ambient::SOURCE,
    ampacity::SOURCE,
    awg::SOURCE,
    bonding::SOURCE,
    class2::SOURCE,
    colour::SOURCE,
    conductor::SOURCE,
    control_protection::SOURCE,
    derived::SOURCE,
    disconnect::SOURCE,
    drop::SOURCE,
    egc::SOURCE,
    impedance::SOURCE,
    insulation::SOURCE,
    motor::single_phase::SOURCE,
    motor::three_phase::SOURCE,
    overload::SOURCE,
    pilot::SOURCE,
    protect::SOURCE,
    raceway::SOURCE,
    resistance::SOURCE,
    shared::SOURCE,
    small::SOURCE,
    standard::SOURCE,
    transformer::SOURCE,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_names_its_source_once() {
        for (i, s) in SOURCES.iter().enumerate() {
            assert!(!s.standard.is_empty() && !s.section.is_empty() && !s.editions.is_empty(), "{s:?}");
            assert!(
                s.status == Status::Checked || !s.remark.is_empty(),
                "{} does not say what is unchecked",
                s.section
            );
            assert!(SOURCES.iter().skip(i + 1).all(|o| o.section != s.section), "{} twice", s.section);
        }
    }
}
