//! Quantities: each kind of quantity is a type, held in one unit, read and printed by one table of units.
//!
//! A value in base unit = value in the written unit × `scale` + `offset` (only temperatures have an offset). Scales are
//! exact where the definition is: 1 ft = 0.3048 m, 1 in = 25.4 mm, 1 US gal = 3.785411784 L, 1 Btu (international table)
//! = 1055.05585262 J, 1 hp = 745.6998715822702 W, 1 psi = 6.894757293168 kPa, 1 lb = 0.45359237 kg (NIST SP 811,
//! appendix B). `MBH` is the trade's thousand Btu/h.
//!
//! A point on a temperature scale and a difference of temperatures are two kinds: `10 °F` is -12.2 °C as the one and
//! 5.6 K as the other. Reading lives in [`mod@read`], printing in [`mod@show`]; ranges beside the defaults.
//!
//! It deliberately knows no arithmetic between kinds: the physics is the simulator's.

mod read;
mod show;

pub use read::{Complaint, Written, read};
pub(crate) use read::{bare, bare_up_to, clip};
pub use show::Units;
pub(crate) use show::{in_unit, in_unit_closely, range_both};

use serde::Serialize;

/// A unit of one kind of quantity.
#[derive(Debug)]
pub struct Unit {
    /// How it is printed.
    pub name: &'static str,
    /// Other ways of writing it that are understood, in lower case and without spaces.
    pub also: &'static [&'static str],
    /// Base units in one of it.
    pub scale: f64,
    /// Base value at zero of it.
    pub offset: f64,
    /// Decimals when printed.
    pub decimals: u8,
}

/// A kind of quantity and its units.
#[derive(Debug)]
pub struct Kind {
    /// What it is called in a sentence: "a temperature".
    pub noun: &'static str,
    /// An example for hints.
    pub example: &'static str,
    /// Every unit accepted, the customary ones first.
    pub units: &'static [Unit],
    /// Units to print in for `--units us`, rising in size: the largest that leaves at least one whole is taken.
    pub us: &'static [usize],
    /// The same for `--units si`.
    pub si: &'static [usize],
}

/// A quantity: a number held in the base unit of its kind.
pub trait Quantity: Copy + Default + std::fmt::Debug + PartialEq + 'static {
    /// Its kind.
    const KIND: &'static Kind;
    /// The value in base units.
    fn base(self) -> f64;
    /// From a value in base units.
    fn from_base(v: f64) -> Self;
    /// The value as printed for people.
    fn show(self, units: Units) -> String {
        show::show(Self::KIND, self.base(), units)
    }
    /// The value in both unit systems, `180 °F (82.2 °C)`, or in one where they agree.
    fn show_both(self) -> String {
        show::show_both(Self::KIND, self.base())
    }
}

/// `u!(name, [also], scale[, offset]; decimals)`
macro_rules! u {
    ($name:literal, [$($also:literal),*], $scale:expr; $decimals:literal) => {
        u!($name, [$($also),*], $scale, 0.0; $decimals)
    };
    ($name:literal, [$($also:literal),*], $scale:expr, $offset:expr; $decimals:literal) => {
        Unit { name: $name, also: &[$($also),*], scale: $scale, offset: $offset, decimals: $decimals }
    };
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident { $field:ident }, $noun:literal, $example:literal,
       [$($unit:expr),* $(,)?], us $us:expr, si $si:expr;)*) => {
        $(
            $(#[$doc])*
            #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, Serialize)]
            pub struct $name {
                /// The value; its unit is the field's name.
                pub $field: f64,
            }
            impl Quantity for $name {
                const KIND: &'static Kind = &Kind {
                    noun: $noun, example: $example, units: &[$($unit),*], us: &$us, si: &$si,
                };
                fn base(self) -> f64 { self.$field }
                fn from_base(v: f64) -> Self { Self { $field: v } }
            }
        )*
        /// Every kind, for messages that say what a unit would have fitted and for the guide's table of units.
        pub const KINDS: &[&Kind] = &[$($name::KIND),*];
    };
}

/// Watts in one Btu/h.
const BTU_H: f64 = 1055.05585262 / 3600.0;
/// Litres in one US gallon.
const GAL: f64 = 3.785411784;

quantities! {
    /// A temperature, in degrees Celsius.
    Temp { c }, "a temperature", "180 °F",
        [u!("°F", ["f", "degf", "deg.f", "℉"], 5.0 / 9.0, -32.0 * 5.0 / 9.0; 1), u!("°C", ["c", "degc", "deg.c", "℃"], 1.0; 1)],
        us [0], si [1];
    /// A difference of temperatures, in kelvin.
    TempDelta { k }, "a temperature difference", "20 °F",
        [u!("°F", ["f", "degf", "deg.f", "℉"], 5.0 / 9.0; 1), u!("K", ["°k"], 1.0; 1), u!("°C", ["c", "degc", "deg.c", "℃"], 1.0; 1)],
        us [0], si [1];
    /// Heat flow, in watts.
    Power { w }, "a heat flow", "400 MBH",
        [
            u!("Btu/h", ["btuh", "btu/hr", "btu/hour"], BTU_H; 0), u!("MBH", ["mbtu/h", "kbtu/h"], 1000.0 * BTU_H; 1),
            u!("W", ["watt", "watts"], 1.0; 0), u!("kW", [], 1000.0; 1),
        ],
        us [0, 1], si [2, 3];
    /// Electrical power taken from the line, in watts.
    Watts { w }, "an electrical power", "65 W",
        [u!("W", ["watt", "watts"], 1.0; 1), u!("kW", [], 1000.0; 2)], us [0, 1], si [0, 1];
    /// Rated output of a motor, in horsepower.
    HorsePower { hp }, "a motor rating", "1/6 hp",
        [u!("hp", [], 1.0; 3), u!("W", ["watt", "watts"], 1.0 / 745.6998715822702; 0), u!("kW", [], 1.0 / 0.7456998715822702; 2)],
        us [0], si [1, 2];
    /// Water flow, in litres a second.
    Flow { l_s }, "a water flow", "18 gal/min",
        [
            u!("gal/min", ["gpm", "usgpm", "gallon/min", "gallons/min"], GAL / 60.0; 1), u!("L/s", ["l/sec"], 1.0; 3),
            u!("L/min", ["lpm"], 1.0 / 60.0; 1), u!("m³/h", ["m3/h", "m3/hr"], 1.0 / 3.6; 2), u!("L/h", ["l/hr"], 1.0 / 3600.0; 0),
        ],
        us [0], si [1];
    /// A length, in metres.
    Length { m }, "a length", "120 ft",
        [
            u!("ft", ["foot", "feet", "'"], 0.3048; 1), u!("in", ["inch", "inches", "\""], 0.0254; 2),
            u!("m", ["meter", "meters", "metre", "metres"], 1.0; 2), u!("cm", [], 0.01; 1), u!("mm", [], 0.001; 0),
        ],
        us [1, 0], si [4, 2];
    /// An area, in square metres.
    Area { m2 }, "an area", "600 ft²",
        [u!("ft²", ["ft2", "sqft", "sq.ft"], 0.3048 * 0.3048; 0), u!("m²", ["m2"], 1.0; 1)], us [0], si [1];
    /// A volume, in litres.
    Volume { l }, "a volume", "80 gal",
        [
            u!("gal", ["gallon", "gallons", "usgal"], GAL; 1), u!("L", ["liter", "liters", "litre", "litres"], 1.0; 1),
            u!("ft³", ["ft3", "cuft"], 28.316846592; 2), u!("m³", ["m3"], 1000.0; 3),
        ],
        us [0], si [1];
    /// A mass, in kilograms.
    Mass { kg }, "a mass", "250 lb",
        [u!("lb", ["lbs", "pound", "pounds"], 0.45359237; 1), u!("kg", [], 1.0; 1)], us [0], si [1];
    /// A length of time, in seconds.
    Time { s }, "a time", "5 min",
        [
            u!("s", ["sec", "secs", "second", "seconds"], 1.0; 1), u!("min", ["mins", "minute", "minutes"], 60.0; 1),
            u!("h", ["hr", "hrs", "hour", "hours"], 3600.0; 2), u!("d", ["day", "days"], 86400.0; 2),
        ],
        us [0, 1, 2, 3], si [0, 1, 2, 3];
    /// Voltage, in volts.
    Volts { v }, "a voltage", "120 V",
        [u!("V", ["volt", "volts", "vac", "vdc"], 1.0; 1), u!("mV", [], 0.001; 0), u!("kV", [], 1000.0; 2)], us [0], si [0];
    /// Current, in amperes.
    Amps { a }, "a current", "4.4 A",
        [u!("A", ["amp", "amps"], 1.0; 2), u!("mA", [], 0.001; 1), u!("kA", [], 1000.0; 2)], us [1, 0], si [1, 0];
    /// Apparent power, in volt-amperes.
    Va { va }, "an apparent power", "40 VA",
        [u!("VA", ["voltamps"], 1.0; 1), u!("kVA", [], 1000.0; 2)], us [0], si [0];
    /// Resistance, in ohms.
    Ohms { ohm }, "a resistance", "10 kΩ",
        [u!("Ω", ["ohm", "ohms"], 1.0; 2), u!("kΩ", ["kohm", "kohms"], 1000.0; 2)], us [0, 1], si [0, 1];
    /// A share, as a part of one.
    Share { of_one }, "a share", "30 %",
        [u!("%", ["percent", "pct"], 0.01; 1)], us [0], si [0];
    /// Pressure, in kilopascals.
    Pressure { kpa }, "a pressure", "12 psi",
        [u!("psi", ["psig"], 6.894757293168; 1), u!("kPa", [], 1.0; 1), u!("bar", [], 100.0; 2)], us [0], si [1];
    /// Thermal resistance of a layer, in m²·K/W.
    ThermalResistance { m2_k_w }, "a thermal resistance", "0.5 ft²·°F·h/Btu",
        [
            u!("ft²·°F·h/Btu", ["ft2·°f·h/btu", "ft2*f*h/btu", "ft2.f.h/btu", "r"], 0.09290304 * 5.0 / 9.0 / BTU_H; 2),
            u!("m²·K/W", ["m2·k/w", "m2*k/w", "m2.k/w", "m2k/w"], 1.0; 3),
        ],
        us [0], si [1];
    /// A temperature difference added up over time, in kelvin-minutes.
    DegreeTime { k_min }, "a temperature difference added up over time", "60 °F·min",
        [u!("°F·min", ["°f*min", "f*min", "f·min", "°fmin", "fmin"], 5.0 / 9.0; 0), u!("K·min", ["k*min", "kmin"], 1.0; 1)],
        us [0], si [1];
}

impl Temp {
    /// From degrees Celsius.
    pub const fn from_c(c: f64) -> Self {
        Self { c }
    }
    /// From degrees Fahrenheit.
    pub const fn from_f(f: f64) -> Self {
        Self { c: (f - 32.0) * 5.0 / 9.0 }
    }
    /// As the controller holds it: hundredths of a degree, rounded, saturating.
    pub fn to_core(self) -> heatwright_core::Temp {
        heatwright_core::Temp::from_centi_c((self.c * 100.0).round() as i16)
    }
}

impl TempDelta {
    /// From kelvin.
    pub const fn from_k(k: f64) -> Self {
        Self { k }
    }
    /// From Fahrenheit degrees.
    pub const fn from_f(f: f64) -> Self {
        Self { k: f * 5.0 / 9.0 }
    }
    /// As the controller holds it: hundredths of a kelvin, rounded, saturating.
    pub fn to_core(self) -> heatwright_core::TempDelta {
        heatwright_core::TempDelta::from_centi_k((self.k * 100.0).round() as i16)
    }
}

impl Time {
    /// From seconds.
    pub const fn from_s(s: f64) -> Self {
        Self { s }
    }
    /// From minutes.
    pub const fn from_min(min: f64) -> Self {
        Self { s: min * 60.0 }
    }
    /// As the controller holds it: tenths of a second, rounded, saturating.
    pub fn to_core(self) -> heatwright_core::Span {
        heatwright_core::Span::from_tenths((self.s * 10.0).round() as u32)
    }
}

impl Share {
    /// From per cent.
    pub const fn from_percent(p: f64) -> Self {
        Self { of_one: p / 100.0 }
    }
    /// As the controller holds it: thousandths, rounded, held to full scale.
    pub fn to_core(self) -> heatwright_core::Permille {
        heatwright_core::Permille::new((self.of_one * 1000.0).round() as u16)
    }
}

impl Power {
    /// In Btu/h.
    pub fn btu_h(self) -> f64 {
        self.w / BTU_H
    }
    /// From thousands of Btu/h.
    pub const fn from_mbh(mbh: f64) -> Self {
        Self { w: mbh * 1000.0 * BTU_H }
    }
}

impl Length {
    /// From feet.
    pub const fn from_ft(ft: f64) -> Self {
        Self { m: ft * 0.3048 }
    }
}

impl Volume {
    /// From US gallons.
    pub const fn from_gal(gal: f64) -> Self {
        Self { l: gal * GAL }
    }
}

impl Flow {
    /// From US gallons a minute.
    pub const fn from_gal_min(v: f64) -> Self {
        Self { l_s: v * GAL / 60.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn units_against_their_definitions() {
        // NIST SP 811 (2008), appendix B.9, factors from memory: 1 Btu(IT)/h = 2.930711 E-01 W; 1 gal(US)/min =
        // 6.309020 E-05 m3/s; 1 ft2·h·degF/Btu(IT) = 1.761102 E-01 m2·K/W; 1 psi = 6.894757 kPa; 1 hp = 745.6999 W.
        let near = |a: f64, b: f64| assert!((a - b).abs() <= 1e-6 * b.abs(), "{a} against {b}");
        near(BTU_H, 0.2930711);
        near(GAL / 60.0, 0.06309020);
        near(read::<ThermalResistance>("1 R").unwrap().value.m2_k_w, 0.1761102);
        near(read::<HorsePower>("745.69987 W").unwrap().value.hp, 1.0);
        near(read::<Pressure>("1 psi").unwrap().value.kpa, 6.894757);
        near(read::<Temp>("180 °F").unwrap().value.c, 82.0 + 2.0 / 9.0);
        near(read::<Power>("400 MBH").unwrap().value.w, 117_228.4);
    }

    #[test]
    fn no_two_units_of_a_kind_are_written_alike() {
        for kind in KINDS {
            let mut seen = std::collections::BTreeSet::new();
            for unit in kind.units {
                for name in std::iter::once(&unit.name.to_lowercase().as_str()).chain(unit.also) {
                    assert!(seen.insert(name.to_string()), "{}: `{name}` twice", kind.noun);
                }
            }
            assert!(!kind.us.is_empty() && !kind.si.is_empty());
        }
    }

    proptest! {
        #[test]
        fn any_value_survives_every_unit(v in -1e6f64..1e6) {
            for kind in KINDS {
                for u in kind.units {
                    let base = v * u.scale + u.offset;
                    let back = (base - u.offset) / u.scale;
                    prop_assert!((back - v).abs() <= 1e-9 * v.abs().max(1.0), "{} {}", v, u.name);
                }
            }
        }

        #[test]
        fn printed_values_read_back_as_printed(v in 0.5f64..1e5) {
            fn check<Q: Quantity>(v: f64) -> Result<(), TestCaseError> {
                for units in [Units::Us, Units::Si] {
                    let text = Q::from_base(v).show(units);
                    let again = read::<Q>(&text).map_err(|e| TestCaseError::fail(format!("{text}: {e:?}")))?.value;
                    prop_assert_eq!(again.show(units), text);
                }
                Ok(())
            }
            check::<Temp>(v)?; check::<TempDelta>(v)?; check::<Power>(v)?; check::<Flow>(v)?; check::<Length>(v)?;
            check::<Volume>(v)?; check::<Time>(v)?; check::<HorsePower>(v)?; check::<Amps>(v)?; check::<Share>(v)?;
            check::<ThermalResistance>(v)?; check::<DegreeTime>(v)?; check::<Ohms>(v)?; check::<Pressure>(v)?;
        }
    }
}
