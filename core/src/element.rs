//! Resistance to temperature in whole numbers: the three common elements.
//!
//! Tables hold tenths of an ohm at even steps of temperature; between two points the temperature is a straight line. With steps
//! of 2 K a thermistor's line lies less than 0.03 K from its curve, with steps of 10 K a platinum element's less than 0.04 K.
//!
//! * 10 kilohm thermistors by Steinhart-Hart, `1/T = A + B ln R + C (ln R)^3` (T in kelvin, R in ohm): type II A 1.129148e-3,
//!   B 2.34125e-4, C 8.76741e-8; type III A 1.028444e-3, B 2.392435e-4, C 1.562216e-7. Coefficients from memory; the anchors
//!   at 0, 25 and 50 degrees Celsius in the tests are published.
//! * Platinum 1000 ohm by IEC 60751, `R = R0 (1 + A t + B t^2 + C (t - 100) t^3)`, the last term below zero only.
//!
//! Range -50 to +130 degrees Celsius. Past the resistance of its ends an element is broken: open or short, never a number. For a
//! platinum element a low resistance is the short and a high one the break, for a thermistor likewise, though cold and warm
//! change sides. Not here: the divider, the converter's counts, lead resistance.

use crate::{inputs::Reading, units::Temp};

/// A kind of sensing element.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Element {
    /// 10 kilohm thermistor, type II curve.
    Thermistor10k2,
    /// 10 kilohm thermistor, type III curve.
    Thermistor10k3,
    /// 1000 ohm platinum.
    Platinum1000,
}

/// Temperature of the first point of every table, in hundredths of a degree Celsius.
const FIRST_CENTI_C: i32 = -5000;
/// Steps of the thermistor tables, in hundredths of a kelvin.
const THERMISTOR_STEP_CENTI_K: i32 = 200;
/// Steps of the platinum table, in hundredths of a kelvin.
const PLATINUM_STEP_CENTI_K: i32 = 1000;

/// Tenths of an ohm, -50 to +130 degrees Celsius in steps of 2 K.
const TYPE_2: [u32; 91] = [
    6_692_487, 5_808_368, 5_051_172, 4_401_334, 3_842_501, 3_360_969, 2_945_236, 2_585_622, 2_273_967, 2_003_377,
    1_768_016, 1_562_933, 1_383_922, 1_227_401, 1_090_315, 970_052, 864_377, 771_373, 689_393, 617_019, 553_029,
    496_369, 446_126, 401_510, 361_834, 326_504, 295_000, 266_871, 241_722, 219_208, 199_029, 180_919, 164_646,
    150_007, 136_821, 124_931, 114_198, 104_496, 95_719, 87_768, 80_559, 74_016, 68_070, 62_661, 57_737, 53_249,
    49_155, 45_417, 41_999, 38_873, 36_010, 33_387, 30_980, 28_770, 26_739, 24_871, 23_152, 21_568, 20_108, 18_760,
    17_516, 16_366, 15_302, 14_318, 13_406, 12_561, 11_777, 11_049, 10_373, 9_744, 9_160, 8_615, 8_108, 7_636, 7_195,
    6_784, 6_400, 6_041, 5_706, 5_392, 5_098, 4_823, 4_565, 4_323, 4_097, 3_883, 3_683, 3_495, 3_319, 3_152, 2_996,
];

/// Tenths of an ohm, -50 to +130 degrees Celsius in steps of 2 K.
const TYPE_3: [u32; 91] = [
    4_416_669, 3_896_484, 3_443_144, 3_047_396, 2_701_353, 2_398_282, 2_132_424, 1_898_846, 1_693_313, 1_512_184,
    1_352_327, 1_211_037, 1_085_978, 975_132, 876_746, 789_301, 711_477, 642_124, 580_240, 524_950, 475_491, 431_193,
    391_469, 355_805, 323_748, 294_900, 268_910, 245_470, 224_306, 205_175, 187_865, 172_186, 157_969, 145_065,
    133_340, 122_678, 112_971, 104_126, 96_059, 88_694, 81_964, 75_810, 70_176, 65_014, 60_281, 55_937, 51_947, 48_279,
    44_904, 41_797, 38_933, 36_292, 33_855, 31_604, 29_523, 27_599, 25_817, 24_167, 22_637, 21_217, 19_900, 18_676,
    17_539, 16_481, 15_496, 14_579, 13_724, 12_927, 12_183, 11_488, 10_840, 10_233, 9_666, 9_135, 8_638, 8_172, 7_735,
    7_326, 6_941, 6_580, 6_241, 5_922, 5_622, 5_340, 5_075, 4_825, 4_589, 4_367, 4_157, 3_959, 3_772,
];

/// Tenths of an ohm, -50 to +130 degrees Celsius in steps of 10 K.
const PLATINUM: [u32; 19] = [
    8_031, 8_427, 8_822, 9_216, 9_609, 10_000, 10_390, 10_779, 11_167, 11_554, 11_940, 12_324, 12_708, 13_090, 13_471,
    13_851, 14_229, 14_607, 14_983,
];

impl Element {
    /// The reading that a resistance stands for, given in tenths of an ohm.
    pub fn reading(self, tenth_ohm: u32) -> Reading {
        match self {
            Element::Thermistor10k2 => falling(&TYPE_2, tenth_ohm),
            Element::Thermistor10k3 => falling(&TYPE_3, tenth_ohm),
            Element::Platinum1000 => rising(&PLATINUM, tenth_ohm),
        }
    }
}

/// A thermistor: resistance falls as it warms.
fn falling(table: &[u32], r: u32) -> Reading {
    let (Some(first), Some(last)) = (table.first(), table.last()) else { return Reading::NeverRead };
    if r > *first {
        return Reading::Open;
    }
    if r < *last {
        return Reading::Short;
    }
    between(table, THERMISTOR_STEP_CENTI_K, |hot, cold| r >= hot && r <= cold, r)
}

/// A platinum element: resistance rises as it warms.
fn rising(table: &[u32], r: u32) -> Reading {
    let (Some(first), Some(last)) = (table.first(), table.last()) else { return Reading::NeverRead };
    if r < *first {
        return Reading::Short;
    }
    if r > *last {
        return Reading::Open;
    }
    between(table, PLATINUM_STEP_CENTI_K, |hot, cold| r >= cold && r <= hot, r)
}

/// The straight line between the two points that `r` lies between; `inside` takes the warmer and the colder point.
fn between(table: &[u32], step_centi_k: i32, inside: impl Fn(u32, u32) -> bool, r: u32) -> Reading {
    let mut at = FIRST_CENTI_C;
    for (cold, hot) in table.iter().zip(table.iter().skip(1)) {
        if inside(*hot, *cold) {
            let whole = cold.abs_diff(*hot).max(1);
            let part = cold.abs_diff(r);
            // At most 1000 steps times 7 million tenths of an ohm: it fits 64 bits with room to spare.
            let moved = u64::from(part).saturating_mul(u64::from(step_centi_k.unsigned_abs()));
            let moved = moved.saturating_add(u64::from(whole / 2)).checked_div(u64::from(whole)).unwrap_or(0);
            let centi_c = at.saturating_add(i32::try_from(moved).unwrap_or(0));
            return Reading::At(Temp::from_centi_c(i16::try_from(centi_c).unwrap_or(i16::MAX)));
        }
        at = at.saturating_add(step_centi_k);
    }
    Reading::NeverRead
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(e: Element, ohm: f64, c: f64) {
        let Reading::At(t) = e.reading((ohm * 10.0).round() as u32) else { panic!("{e:?} at {ohm} ohm") };
        let got = f64::from(t.centi_c()) / 100.0;
        assert!((got - c).abs() <= 0.1, "{e:?} at {ohm} ohm: {got} against {c}");
    }

    #[test]
    fn published_anchors_within_a_tenth_of_a_degree() {
        // 10 k type II: 32650, 10000, 3602 ohm at 0, 25, 50 degC; type III: 29490, 10000, 3893 (published anchor values).
        for (ohm, c) in [(32_650.0, 0.0), (10_000.0, 25.0), (3_602.0, 50.0), (2_487.1, 60.0)] {
            near(Element::Thermistor10k2, ohm, c);
        }
        for (ohm, c) in [(29_490.0, 0.0), (10_000.0, 25.0), (3_893.0, 50.0)] {
            near(Element::Thermistor10k3, ohm, c);
        }
        // IEC 60751 table of a 1000 ohm element.
        for (ohm, c) in [(842.71, -40.0), (1000.0, 0.0), (1097.35, 25.0), (1193.97, 50.0), (1385.05, 100.0)] {
            near(Element::Platinum1000, ohm, c);
        }
    }

    #[test]
    fn the_straight_lines_stay_close_to_the_curves() {
        let curve = |a: f64, b: f64, c: f64, ohm: f64| 1.0 / (a + b * ohm.ln() + c * ohm.ln().powi(3)) - 273.15;
        for (e, a, b, c) in [
            (Element::Thermistor10k2, 1.129148e-3, 2.34125e-4, 8.76741e-8),
            (Element::Thermistor10k3, 1.028444e-3, 2.392435e-4, 1.562216e-7),
        ] {
            let mut ohm = 400.0;
            while ohm < 300_000.0 {
                near(e, ohm, curve(a, b, c, ohm));
                ohm *= 1.01;
            }
        }
    }

    #[test]
    fn a_swapped_curve_reads_two_degrees_off_at_freezing() {
        // Type III at 0 degC has 29490 ohm; on the type II curve that is 2.0 degC.
        let Reading::At(t) = Element::Thermistor10k2.reading(294_900) else { panic!() };
        assert!((190..=210).contains(&t.centi_c()), "{t:?}");
    }

    #[test]
    fn the_ends_of_the_tables_are_the_last_temperatures() {
        let at = |c: i16| Reading::At(Temp::from_c(c));
        for (e, table) in [(Element::Thermistor10k2, TYPE_2), (Element::Thermistor10k3, TYPE_3)] {
            let (cold, hot) = (table[0], table[table.len() - 1]);
            assert_eq!((e.reading(cold), e.reading(cold + 1)), (at(-50), Reading::Open), "{e:?}");
            assert_eq!((e.reading(hot), e.reading(hot - 1)), (at(130), Reading::Short), "{e:?}");
        }
        let e = Element::Platinum1000;
        assert_eq!((e.reading(8_031), e.reading(8_030)), (at(-50), Reading::Short));
        assert_eq!((e.reading(14_983), e.reading(14_984)), (at(130), Reading::Open));
    }

    #[test]
    fn a_broken_lead_is_never_a_number() {
        for e in [Element::Thermistor10k2, Element::Thermistor10k3, Element::Platinum1000] {
            assert_eq!(e.reading(0), Reading::Short);
            assert_eq!(e.reading(u32::MAX), Reading::Open);
            let mut last = None;
            for r in (0..8_000_000).step_by(997) {
                if let Reading::At(t) = e.reading(r) {
                    let falls = e != Element::Platinum1000;
                    assert!(last.is_none_or(|l| if falls { t <= l } else { t >= l }), "{e:?} is not monotonic at {r}");
                    last = Some(t);
                }
            }
        }
    }
}
