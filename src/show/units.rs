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
    /// What a result for programs is written in, whatever the text is: the keys of its numbers name SI units.
    pub const JSON: In = In(Units::Si);

    fn us(self) -> bool {
        self.0 == Units::Us
    }
    /// True for the trade's units.
    pub fn is_us(self) -> bool {
        self.us()
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
    /// Sign of a pressure.
    pub fn pressure_unit(self) -> &'static str {
        if self.us() { "psi" } else { "kPa" }
    }
    /// A pressure given in kilopascals.
    pub fn pressure(self, kpa: f64) -> f64 {
        if self.us() { kpa / 6.894_757_293 } else { kpa }
    }
    /// A pressure with its sign: tenths of a psi, whole kilopascals.
    pub fn pressure_text(self, kpa: f64) -> String {
        format!("{} {}", tidy(self.pressure(kpa), usize::from(self.us())), self.pressure_unit())
    }
    /// Sign of a water flow.
    pub fn flow_unit(self) -> &'static str {
        if self.us() { "gal/min" } else { "L/s" }
    }
    /// A water flow given in litres a second.
    pub fn flow(self, l_s: f64) -> f64 {
        if self.us() { l_s * 60.0 / GAL } else { l_s }
    }
    /// A water flow with its sign: tenths of a gallon a minute, hundredths of a litre a second.
    pub fn flow_text(self, l_s: f64) -> String {
        format!("{} {}", tidy(self.flow(l_s), if self.us() { 1 } else { 2 }), self.flow_unit())
    }
    /// A volume of water given in litres, with its sign, one decimal.
    pub fn water_text(self, l: f64) -> String {
        format!("{} {}", tidy(self.water(l), 1), self.water_unit())
    }
    /// Sign of a weight.
    pub fn weight_unit(self) -> &'static str {
        if self.us() { "lb" } else { "kg" }
    }
    /// A weight given in kilograms.
    pub fn weight(self, kg: f64) -> f64 {
        if self.us() { kg / 0.453_592_37 } else { kg }
    }
    /// A height above the sea, given in metres.
    pub fn height_text(self, m: f64) -> String {
        if self.us() { format!("{} ft", tidy(m / 0.3048, 0)) } else { format!("{} m", tidy(m, 0)) }
    }

    /// Sign of a length of wire.
    pub fn length_unit(self) -> &'static str {
        if self.us() { "ft" } else { "m" }
    }
    /// A length of wire given in feet.
    pub fn length(self, ft: f64) -> f64 {
        if self.us() { ft } else { ft * 0.3048 }
    }
    /// The same as text: whole feet, or tenths of a metre.
    pub fn length_text(self, ft: f64) -> String {
        tidy(self.length(ft), usize::from(!self.us()))
    }
    /// A conductor's size: AWG, with its cross-section behind it in international units.
    pub fn awg(self, size: &str) -> String {
        match awg_mm2(size) {
            Some(mm2) if !self.us() => format!("{size} AWG ({} mm²)", figures(mm2, 3)),
            _ => format!("{size} AWG"),
        }
    }
    /// A trade size of raceway: inches, or the metric designator of NEC 300.1(C) (from memory).
    pub fn trade_size(self, inches: &str) -> String {
        let metric = [
            ("3/8", "12"),
            ("1/2", "16"),
            ("3/4", "21"),
            ("1", "27"),
            ("1-1/4", "35"),
            ("1-1/2", "41"),
            ("2", "53"),
            ("2-1/2", "63"),
            ("3", "78"),
            ("3-1/2", "91"),
            ("4", "103"),
        ];
        match metric.iter().find(|m| m.0 == inches.replace(' ', "-")) {
            Some((_, m)) if !self.us() => format!("metric {m}"),
            _ => format!("{inches} in"),
        }
    }
    /// A sentence that was written in trade units: `110 °F`, `50 ft`, `400 MBH`, `3/4 hp` and `12 AWG` in it are restated. Where the metric value
    /// stands behind it in brackets, as in `205 °F (96.1 °C)`, that one is taken.
    pub fn prose(self, text: &str) -> String {
        if self.us() {
            return text.to_owned();
        }
        let words: Vec<&str> = text.split(' ').collect();
        let mut out: Vec<String> = Vec::with_capacity(words.len());
        let mut skip = 0;
        for (i, word) in words.iter().enumerate() {
            if skip > 0 {
                skip -= 1;
                continue;
            }
            if let Some([amount, unit]) = metric_behind(&words, i) {
                out.pop();
                out.extend([amount, unit]);
                skip = 2;
                continue;
            }
            let bare = word.trim_end_matches(['.', ',', ';', ':', ')']);
            let tail = word.get(bare.len()..).unwrap_or_default();
            let before = i.checked_sub(1).and_then(|i| words.get(i)).map(|w| w.trim_start_matches('('));
            let lead =
                i.checked_sub(1).and_then(|i| words.get(i)).map_or("", |w| if w.starts_with('(') { "(" } else { "" });
            let restated = before.and_then(|b| Some((b, amount(b)?))).and_then(|(b, v)| match bare {
                "°F" => Some(format!("{lead}{} °C", figures((v - 32.0) / 1.8, 2))),
                "ft" => Some(format!("{lead}{} m", figures(v * 0.3048, 2))),
                "MBH" => Some(format!("{lead}{} kW", figures(v * 0.293_071_07, 3))),
                "in" => None,
                "hp" => Some(format!("{lead}{b} hp ({} kW)", figures(v * 0.745_699_87, 2))),
                "AWG" => Some(format!("{lead}{}", self.awg(b))),
                _ => None,
            });
            match restated {
                Some(text) => {
                    out.pop();
                    out.push(format!("{text}{tail}"));
                }
                None => out.push((*word).to_owned()),
            }
        }
        out.join(" ")
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

/// Cross-section of an American wire size, in square millimetres: diameter 0.127 mm times 92 to the power (36 - n) / 39
/// (ASTM B258); `1/0` is 0, `2/0` is -1. `None` for what is no such size.
pub fn awg_mm2(size: &str) -> Option<f64> {
    let n: f64 = match size.split_once("/0") {
        Some((zeros, "")) => 1.0 - zeros.parse::<f64>().ok().filter(|z| (1.0..=4.0).contains(z))?,
        _ => size.parse::<f64>().ok().filter(|n| (1.0..=40.0).contains(n))?,
    };
    let d = 0.127 * 92f64.powf((36.0 - n) / 39.0);
    Some(std::f64::consts::FRAC_PI_4 * d * d)
}

/// A plain number, or a fraction as nameplates print it: `3/4`, `1-1/2`.
fn amount(text: &str) -> Option<f64> {
    let part = |t: &str| match t.split_once('/') {
        Some((a, b)) => Some(a.parse::<f64>().ok()? / b.parse::<f64>().ok().filter(|b| *b > 0.0)?),
        None => t.replace(',', "").parse::<f64>().ok(),
    };
    match text.split_once('-') {
        Some((whole, rest)) if !whole.is_empty() => Some(part(whole)? + part(rest)?),
        _ => part(text),
    }
}

/// A number with so many significant figures, without trailing zeros.
fn figures(v: f64, count: i32) -> String {
    if v == 0.0 {
        return "0".into();
    }
    let places = count - 1 - v.abs().log10().floor() as i32;
    let text = tidy(v, places.clamp(0, 6) as usize);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// The metric amount and unit in brackets behind the trade unit that is word `i`: `96.1`, `°C;` of `205 °F (96.1 °C);`.
fn metric_behind(words: &[&str], i: usize) -> Option<[String; 2]> {
    let [before, unit, value, metric] =
        [words.get(i.checked_sub(1)?)?, words.get(i)?, words.get(i + 1)?, words.get(i + 2)?];
    let value = value.strip_prefix('(')?;
    let (name, tail) = metric.split_once(')')?;
    let known = matches!(*unit, "°F" | "ft" | "MBH") && matches!(name, "°C" | "K" | "m" | "kW");
    (known && amount(before.trim_start_matches('(')).is_some() && amount(value).is_some())
        .then(|| [value.to_owned(), format!("{name}{tail}")])
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
    fn wire_sizes_against_their_table() {
        // NEC Chapter 9 Table 8, area in mm2: 18 AWG 0.823, 14 AWG 2.08, 12 AWG 3.31, 4 AWG 21.15, 1/0 53.49, 4/0 107.2.
        for (size, mm2) in [("18", 0.823), ("14", 2.08), ("12", 3.31), ("4", 21.15), ("1/0", 53.49), ("4/0", 107.2)] {
            assert!((awg_mm2(size).unwrap() / mm2 - 1.0).abs() < 2e-3, "{size}");
        }
        assert_eq!(awg_mm2("0/0"), None);
        assert_eq!(In(Units::Si).awg("12"), "12 AWG (3.31 mm²)");
        assert_eq!(In(Units::Us).awg("12"), "12 AWG");
    }

    #[test]
    fn sentences_are_restated() {
        let si = In(Units::Si);
        assert_eq!(si.prose("cool below 110 °F before opening."), "cool below 43 °C before opening.");
        assert_eq!(si.prose("within 50 ft, 1-1/2 hp (12 AWG)."), "within 15 m, 1-1/2 hp (1.1 kW) (12 AWG (3.31 mm²)).");
        assert_eq!(
            si.prose("opens at 205 °F (96.1 °C); closes 10 °F (5.6 K) below"),
            "opens at 96.1 °C; closes 5.6 K below"
        );
        assert_eq!(si.prose("input 400 MBH, 120 V (by 110 °F) (at most)"), "input 117 kW, 120 V (by 43 °C) (at most)");
        assert_eq!(si.prose("a relay in series 2 in a row"), "a relay in series 2 in a row");
        assert_eq!(In(Units::Us).prose("110 °F"), "110 °F");
    }

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
