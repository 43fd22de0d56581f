//! Figures in a column: one fixed unit a column, named in its head, so that a column can be read down.

use crate::plant::quantity::Units;

/// Btu in a kilowatt-hour, in thousands.
const KBTU_KWH: f64 = 3.412_141_63;
/// Litres in a US gallon.
const GAL: f64 = 3.785_411_784;

/// The units of one report.
#[derive(Clone, Copy, Debug)]
pub struct In(pub Units);

impl In {
    fn us(self) -> bool {
        self.0 == Units::Us
    }
    /// Sign of a temperature.
    pub fn temp_unit(self) -> &'static str {
        if self.us() { "°F" } else { "°C" }
    }
    /// Sign of a temperature difference.
    pub fn diff_unit(self) -> &'static str {
        if self.us() { "°F" } else { "K" }
    }
    /// Sign of a heat flow.
    pub fn heat_unit(self) -> &'static str {
        if self.us() { "MBH" } else { "kW" }
    }
    /// Sign of an amount of fuel or heat.
    pub fn energy_unit(self) -> &'static str {
        if self.us() { "therm" } else { "kWh" }
    }
    /// Sign of a volume of water.
    pub fn water_unit(self) -> &'static str {
        if self.us() { "gal" } else { "L" }
    }
    /// A temperature given in degrees Celsius.
    pub fn temp(self, c: f64) -> f64 {
        if self.us() { c * 1.8 + 32.0 } else { c }
    }
    /// A temperature difference given in kelvin.
    pub fn diff(self, k: f64) -> f64 {
        if self.us() { k * 1.8 } else { k }
    }
    /// A heat flow given in watts.
    pub fn heat(self, w: f64) -> f64 {
        if self.us() { w / 1000.0 * KBTU_KWH } else { w / 1000.0 }
    }
    /// Fuel or heat given in kilowatt-hours: therms of 100,000 Btu.
    pub fn energy(self, kwh: f64) -> f64 {
        if self.us() { kwh * KBTU_KWH / 100.0 } else { kwh }
    }
    /// Water given in litres.
    pub fn water(self, l: f64) -> f64 {
        if self.us() { l / GAL } else { l }
    }
    /// A temperature with its sign, one decimal: `172.4 °F`.
    pub fn temp_text(self, c: f64) -> String {
        format!("{} {}", tidy(self.temp(c), 1), self.temp_unit())
    }
    /// A temperature difference with its sign, one decimal.
    pub fn diff_text(self, k: f64) -> String {
        format!("{} {}", tidy(self.diff(k), 1), self.diff_unit())
    }
    /// A heat flow with its sign, one decimal.
    pub fn heat_text(self, w: f64) -> String {
        format!("{} {}", tidy(self.heat(w), 1), self.heat_unit())
    }
}

/// A number with so many decimals and never `-0`.
pub fn tidy(v: f64, decimals: usize) -> String {
    let s = format!("{v:.decimals$}");
    if s.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        s.trim_start_matches('-').to_owned()
    } else {
        s
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_therm_is_a_hundred_thousand_btu() {
        let us = In(Units::Us);
        // 1 kWh = 3412.14163 Btu (international table); 1 therm = 100 000 Btu: 29.3071 kWh.
        assert!((us.energy(29.307_107) - 1.0).abs() < 1e-6);
        assert_eq!(us.temp_text(100.0), "212.0 °F");
        assert_eq!(us.diff_text(10.0), "18.0 °F");
        assert_eq!(tidy(-0.04, 1), "0.0");
        assert_eq!(tidy(-0.06, 1), "-0.1");
    }
}
