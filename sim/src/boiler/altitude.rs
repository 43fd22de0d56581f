//! What thin air takes from a burner's plate.
//!
//! A gas burner without a rating of its own for the height gives 4 % less for each 1,000 ft (305 m) above the sea, counted where the
//! site lies above 2,000 ft (610 m): NFPA 54, from memory; local codes and the maker's instructions go before it. A burner that is
//! set or built for the height loses less, which this does not know.

/// Up to this height a plate's input counts in full, in metres: 2,000 ft.
const HIGH_M: f64 = 609.6;
/// Share of the input that each metre above the sea takes.
const DERATE_PER_M: f64 = 0.04 / 304.8;

/// Share of the input on a plate for the sea's level that is lost at an altitude in metres, 0 to 1.
pub fn lost_share(altitude_m: f64) -> f64 {
    if altitude_m > HIGH_M { (DERATE_PER_M * altitude_m).min(1.0) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NFPA 54, from memory: nothing up to 2,000 ft, then 4 % for each 1,000 ft above the sea.
    #[test]
    fn four_percent_a_thousand_feet() {
        for (ft, lost) in [(-100.0, 0.0), (0.0, 0.0), (2000.0, 0.0), (2500.0, 0.10), (5000.0, 0.20), (40_000.0, 1.0)] {
            assert!((lost_share(ft * 0.3048) - lost).abs() < 1e-9, "{ft}");
        }
    }
}
