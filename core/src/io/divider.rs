//! A sensing element in a voltage divider, read by a converter.
//!
//! The element hangs between the input and ground, a fixed resistor between the input and the converter's own reference:
//! `R = R_fixed * n / (N - n)`, with `n` the counts and `N` the counts at full scale. Both ends of the range are a lead, not a
//! temperature: at zero counts the element is shorted, at full scale it is open. Source: the law of the divider. The fixed
//! resistor is what the board has; 10 kilohm for thermistors and 1 kilohm for platinum resolve best about the middle of the
//! range. What a resistance stands for is the [`Element`]'s affair. Not here: averaging, lead resistance, self-heating.

use crate::{element::Element, inputs::Reading};

/// A converter's input. `embedded-hal` 1.0 has no trait for one.
pub trait Converter {
    /// Why a conversion failed.
    type Error;
    /// One conversion, in counts from 0 to [`Divider::full_scale`].
    fn counts(&mut self) -> Result<u16, Self::Error>;
}

/// A divider and what hangs in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Divider {
    /// The element.
    pub element: Element,
    /// The fixed resistor, in tenths of an ohm.
    pub fixed_tenth_ohm: u32,
    /// Counts at the converter's reference, 4095 for twelve bits.
    pub full_scale: u16,
}

impl Divider {
    /// The reading that these counts stand for.
    pub fn reading(&self, counts: u16) -> Reading {
        let above = u64::from(self.full_scale.saturating_sub(counts));
        match u64::from(self.fixed_tenth_ohm).saturating_mul(u64::from(counts)).checked_div(above) {
            None => Reading::Open,
            Some(r) => self.element.reading(u32::try_from(r).unwrap_or(u32::MAX)),
        }
    }

    /// Converts and reads. A converter that fails gives no temperature: the sensor was never read.
    pub fn read<C: Converter>(&self, converter: &mut C) -> Reading {
        converter.counts().map_or(Reading::NeverRead, |n| self.reading(n))
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::units::Temp;

    struct Fixed(Result<u16, ()>);
    impl Converter for Fixed {
        type Error = ();
        fn counts(&mut self) -> Result<u16, ()> {
            self.0
        }
    }

    const TYPE_2: Divider =
        Divider { element: Element::Thermistor10k2, fixed_tenth_ohm: 100_000, full_scale: u16::MAX };

    /// Counts that an ideal 16-bit converter gives for this resistance over 10 kilohm.
    fn counts(ohm: f64) -> u16 {
        (65_535.0 * ohm / (ohm + 10_000.0)).round() as u16
    }

    #[test]
    fn published_anchors_through_a_sixteen_bit_converter() {
        // 10 k type II: 32650, 10000, 3602 ohm at 0, 25, 50 degC (published anchor values).
        for (ohm, centi_c) in [(32_650.0, 0), (10_000.0, 2500), (3_602.0, 5000)] {
            let Reading::At(t) = TYPE_2.read(&mut Fixed(Ok(counts(ohm)))) else { panic!("{ohm} ohm") };
            assert!(t.centi_c().abs_diff(centi_c) <= 10, "{ohm} ohm: {t:?}");
        }
    }

    #[test]
    fn both_ends_are_leads_and_a_failed_conversion_is_no_reading() {
        assert_eq!(TYPE_2.reading(0), Reading::Short);
        assert_eq!(TYPE_2.reading(u16::MAX), Reading::Open);
        assert_eq!(TYPE_2.read(&mut Fixed(Err(()))), Reading::NeverRead);
        let platinum = Divider { element: Element::Platinum1000, fixed_tenth_ohm: 10_000, full_scale: 4095 };
        assert_eq!(platinum.reading(0), Reading::Short);
        assert_eq!(platinum.reading(5000), Reading::Open, "past full scale");
        // 1000 ohm against 1000 ohm is half of full scale: 0 degC within the step of twelve bits (0.13 K a count there).
        let Reading::At(t) = platinum.reading(2048) else { panic!() };
        assert!(t.centi_c().abs() <= 20, "{t:?}");
    }

    #[test]
    fn no_count_is_taken_for_a_temperature_out_of_range() {
        let mut last = Temp::from_centi_c(i16::MAX);
        for n in 0..=u16::MAX {
            if let Reading::At(t) = TYPE_2.reading(n) {
                assert!(t <= last && (-5000..=13_000).contains(&t.centi_c()), "{n}: {t:?}");
                last = t;
            }
        }
    }
}
