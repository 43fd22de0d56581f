//! Direct-current resistance of stranded, uncoated copper, ohm per 1000 ft.
//!
//! R(T) = R75 (1 + 0.00323 (T - 75)), T = conductor temperature °C.
//! Source: NFPA 70, Chapter 9, Table 8 and its Note 2, checked.

use super::{Awg, Source, Status};

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Chapter 9 Table 8, resistance",
    editions: "2020, 2023",
    status: Status::Checked,
    remark: "",
};

/// Change per kelvin, of the value at 75 °C.
pub const PER_K: f64 = 0.00323;

/// Resistance at 75 °C, ohm per 1000 ft.
#[expect(clippy::approx_constant, reason = "3.14 ohm is a figure of the table, not pi")]
pub fn ohm_per_kft(awg: Awg) -> f64 {
    match awg {
        Awg::A18 => 7.95,
        Awg::A16 => 4.99,
        Awg::A14 => 3.14,
        Awg::A12 => 1.98,
        Awg::A10 => 1.24,
        Awg::A8 => 0.778,
        Awg::A6 => 0.491,
        Awg::A4 => 0.308,
        Awg::A3 => 0.245,
        Awg::A2 => 0.194,
        Awg::A1 => 0.154,
        Awg::A1_0 => 0.122,
        Awg::A2_0 => 0.0967,
        Awg::A3_0 => 0.0766,
        Awg::A4_0 => 0.0608,
    }
}

/// Resistance at a conductor temperature, ohm per 1000 ft.
pub fn ohm_per_kft_at(awg: Awg, conductor_c: f64) -> f64 {
    ohm_per_kft(awg) * (1.0 + PER_K * (conductor_c - 75.0))
}
