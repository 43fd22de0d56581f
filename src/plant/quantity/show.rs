//! Printing a quantity for people, in the trade's own units or in the international ones.
//!
//! The unit is the largest of the kind's printing list that leaves at least one whole (`0.5 ft` prints as `6 in`).
//! Trailing zeros go; horsepower prints as the fraction on the nameplate. Rounding is for reading only: nothing computed
//! is ever read back from a printed value.

use super::{Kind, Unit};

/// Which units to print in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum Units {
    /// °F, MBH, gal/min, ft.
    #[default]
    Us,
    /// °C, kW, L/s, m.
    Si,
}

/// A number with at most `decimals` decimals, without trailing zeros and without a minus on zero.
fn number(v: f64, decimals: u8) -> String {
    let mut text = format!("{v:.*}", usize::from(decimals));
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".to_string() } else { text }
}

/// `1/6` where the value, rounded to thousandths, is a fraction as nameplates print it; up to ten whole.
fn fraction(v: f64) -> Option<String> {
    let v = (v * 1000.0).round() / 1000.0;
    let whole = v.floor();
    if !(0.0..10.0).contains(&whole) {
        return None;
    }
    let near = |above: u32, below: u32| ((v - whole) - f64::from(above) / f64::from(below)).abs() < 5e-4;
    let mut all =
        [2, 3, 4, 6, 8, 12, 16, 20, 25].into_iter().flat_map(|below| (1..below).map(move |above| (above, below)));
    let (above, below) = all.find(|(above, below)| near(*above, *below))?;
    Some(if whole > 0.0 { format!("{whole}-{above}/{below}") } else { format!("{above}/{below}") })
}

/// A base value in one given unit.
pub(crate) fn in_unit(unit: &Unit, base: f64) -> String {
    let v = (base - unit.offset) / unit.scale;
    let text = if unit.name == "hp" { fraction(v) } else { None }.unwrap_or_else(|| number(v, unit.decimals));
    if unit.name == "%" { format!("{text} %") } else { format!("{text} {}", unit.name) }
}

/// A base value in one given unit, in at least four figures: what is compared with a bound must not round to it, nor to nothing.
pub(crate) fn in_unit_closely(unit: &Unit, base: f64) -> String {
    let v = (base - unit.offset) / unit.scale;
    if v == 0.0 || !v.is_finite() {
        return in_unit(unit, base);
    }
    let places = 3 - v.abs().log10().floor() as i32;
    let decimals = places.clamp(i32::from(unit.decimals), 12) as u8;
    let text = if unit.name == "hp" { fraction(v) } else { None }.unwrap_or_else(|| number(v, decimals));
    format!("{text} {}", unit.name)
}

pub(super) fn show(kind: &Kind, base: f64, units: Units) -> String {
    let list = match units {
        Units::Us => kind.us,
        Units::Si => kind.si,
    };
    let mut candidates = list.iter().filter_map(|i| kind.units.get(*i));
    let Some(first) = candidates.next() else { return String::new() };
    // Compared with a little slack, so that rounding cannot print `1000 W` here and `1 kW` there.
    let fits = |u: &Unit, base: f64| ((base - u.offset) / u.scale).abs() >= 1.0 - 1e-9;
    let mut unit = first;
    for larger in candidates {
        // What rounds to a whole of the larger unit is one: 86,382 s prints as `1 d`, as `24 h` itself does.
        let step = 10f64.powi(i32::from(unit.decimals));
        let rounded = ((base - unit.offset) / unit.scale * step).round() / step * unit.scale + unit.offset;
        if fits(larger, base) || fits(larger, rounded) {
            unit = larger;
        }
    }
    in_unit(unit, base)
}

/// A range with one unit for both ends, chosen by the larger, four figures each: a limit is meant to be read, not copied.
fn range_in(kind: &Kind, low: f64, high: f64, units: Units) -> String {
    let list = match units {
        Units::Us => kind.us,
        Units::Si => kind.si,
    };
    let big = low.abs().max(high.abs());
    let all = || list.iter().filter_map(|i| kind.units.get(*i));
    let Some(first) = all().next() else { return String::new() };
    let fits = |u: &&Unit, v: f64| ((v - u.offset) / u.scale).abs() >= 1.0 - 1e-9;
    let unit = all().rfind(|u| fits(u, big)).unwrap_or(first);
    // A small lower end keeps a unit of its own: 0.5 in, not 0 ft.
    let own = (low - unit.offset).abs() / unit.scale;
    let low_unit = if low != 0.0 && own < 0.1 { all().rfind(|u| fits(u, low)).unwrap_or(first) } else { unit };
    let end = |u: &Unit, base: f64| {
        let v = (base - u.offset) / u.scale;
        if v.abs() < 1e-12 {
            return format!("0 {}", u.name);
        }
        let last = v.abs().log10().floor() as i32 - 3;
        let step = 10f64.powi(last);
        format!("{} {}", number((v / step).round() * step, (-last).clamp(0, 4) as u8), u.name)
    };
    format!("{} to {}", end(low_unit, low), end(unit, high))
}

/// A range in both unit systems where there are two.
pub(crate) fn range_both(kind: &Kind, low: f64, high: f64) -> String {
    let (us, si) = (range_in(kind, low, high, Units::Us), range_in(kind, low, high, Units::Si));
    if us == si { us } else { format!("{us} ({si})") }
}

pub(super) fn show_both(kind: &Kind, base: f64) -> String {
    let (us, si) = (show(kind, base, Units::Us), show(kind, base, Units::Si));
    if us == si { us } else { format!("{us} ({si})") }
}

#[cfg(test)]
mod tests {
    use super::super::*;
    use super::*;

    #[test]
    fn a_range_has_one_unit_and_few_figures() {
        let range = |low, high| range_both(Length::KIND, low, high);
        assert_eq!(range(0.0, 609.6), "0 ft to 2000 ft (0 m to 609.6 m)");
        assert_eq!(range(-500.0, 5000.0), "-1640 ft to 16400 ft (-500 m to 5000 m)");
        assert_eq!(range_both(Amps::KIND, 0.0, 200_000.0), "0 A to 200000 A");
        assert_eq!(range_both(Temp::KIND, -60.0, 15.0), "-76 °F to 59 °F (-60 °C to 15 °C)");
    }

    #[test]
    fn what_is_compared_does_not_round_to_its_bound() {
        let unit = |kind: &'static Kind, name: &str| kind.units.iter().find(|u| u.name == name).unwrap();
        let gal = unit(Volume::KIND, "gal");
        assert_eq!(in_unit_closely(gal, 0.2), "0.05283 gal");
        assert_eq!(in_unit_closely(gal, 0.05 * 3.785_411_784), "0.05 gal");
        assert_eq!(in_unit_closely(gal, 20_000.0), "5283.4 gal");
        assert_eq!(in_unit_closely(gal, 0.0), "0 gal");
        assert_eq!(in_unit_closely(unit(Temp::KIND, "°F"), 20.0), "68 °F");
        assert_eq!(in_unit_closely(unit(Temp::KIND, "°C"), -1e-4), "-0.0001 °C");
    }

    #[test]
    fn printed_as_a_technician_would() {
        assert_eq!(Temp::from_f(180.0).show_both(), "180 °F (82.2 °C)");
        assert_eq!(TempDelta::from_f(20.0).show_both(), "20 °F (11.1 K)");
        assert_eq!(Power::from_mbh(400.0).show_both(), "400 MBH (117.2 kW)");
        assert_eq!(HorsePower { hp: 1.0 / 6.0 }.show(Units::Us), "1/6 hp");
        assert_eq!(HorsePower { hp: 1.5 }.show(Units::Us), "1-1/2 hp");
        assert_eq!(HorsePower { hp: 2.0 }.show(Units::Us), "2 hp");
        assert_eq!(Time::from_s(90.0).show(Units::Us), "1.5 min");
        assert_eq!(Time::from_s(30.0).show_both(), "30 s");
        assert_eq!(Time::from_s(86_382.0).show(Units::Us), "1 d");
        assert_eq!(Time::from_s(59.96).show(Units::Us), "1 min");
        assert_eq!(Time::from_s(86_360.0).show(Units::Us), "23.99 h");
        assert_eq!(Length { m: 0.1524 }.show_both(), "6 in (152 mm)");
        assert_eq!(Amps { a: 0.02 }.show(Units::Us), "20 mA");
        assert_eq!(Share::from_percent(30.0).show(Units::Us), "30 %");
        assert_eq!(Temp { c: -0.001 }.show(Units::Si), "0 °C");
    }
}
