//! Limits of Class 2 and of Class 1 power-limited circuits.
//!
//! Class 2, alternating current, up to 30 V: at most 100 VA nameplate from a *listed* Class 2 supply. A fuse does not make one, and two of them
//! are never joined. The circuit that feeds it is protected at 20 A or less. Class 1 power limited: up to 30 V and 1000 VA.
//! Sources: NFPA 70 Chapter 9 Table 11(A) (100 VA checked), 725.121(A) and (B) and 725.127 (2020; from memory in 2023, where the sections
//! moved), 725.41(A) of 2020 and 724.40 of 2023 (checked). Above 30 V the answer is `None`: such Class 2 sources (5 mA) drive nothing here.

use super::{Source, Status};

/// Where the limits come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Chapter 9 Table 11(A), Articles 724, 725",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "20 A ahead of the supply, and the 2023 section numbers, are from memory",
};

/// Highest voltage, volts.
pub const VOLTS_MAX: f64 = 30.0;
/// Nameplate limit of a Class 2 supply, volt-amperes.
pub const VA_MAX: f64 = 100.0;
/// Largest device ahead of a Class 2 supply, amperes.
pub const SUPPLY_DEVICE_MAX_AMPS: f64 = 20.0;
/// Share of the nameplate to load, common practice in the trade, no source.
pub const LOAD_SHARE: f64 = 0.80;
/// Class 1 power limited: most volt-amperes up to 30 V.
pub const CLASS1_VA_MAX: f64 = 1000.0;

/// Most current of a Class 2 circuit at its voltage, amperes.
pub fn largest_amps(volts: f64) -> Option<f64> {
    (volts > 0.0 && volts <= VOLTS_MAX).then(|| VA_MAX / volts)
}

/// Whether a supply of this voltage and nameplate can be a Class 2 source at all.
pub fn may_be_class2(volts: f64, nameplate_va: f64) -> bool {
    volts > 0.0 && volts <= VOLTS_MAX && nameplate_va <= VA_MAX
}

/// Whether a supply of this voltage and nameplate can be a Class 1 power-limited source.
pub fn may_be_class1_power_limited(volts: f64, nameplate_va: f64) -> bool {
    volts > 0.0 && volts <= VOLTS_MAX && nameplate_va <= CLASS1_VA_MAX
}
