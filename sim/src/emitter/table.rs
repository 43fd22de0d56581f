//! A law of one variable as a cubic table, so that a step costs no power function.
//!
//! The argument's own binary form picks the segment: each power of two is cut into sixteen, so the relative error is the
//! same at 0.1 K and at 100 K. In a segment the cubic takes value and slope of the law at both ends (Hermite). For a power
//! law with exponent 1 to 1.5 the relative error stays under 1e-6 (some 2e-8 by the remainder term `h^4 f''''/384`).
//!
//! Range: 2^-10 to 2^9 K. Below it the law goes straight to zero, above it straight on; it is odd. A kink in the law (a
//! table of points) is rounded over one segment.

const SEGMENTS_PER_OCTAVE_BITS: u32 = 4;
const LOW_OCTAVE: i32 = -10;
const HIGH_OCTAVE: i32 = 9;
const SHIFT: u32 = 52 - SEGMENTS_PER_OCTAVE_BITS;
/// Segment number of the lowest argument in the numbering of the argument's leading bits.
const FIRST: u64 = ((1023 + LOW_OCTAVE) as u64) << SEGMENTS_PER_OCTAVE_BITS;
const COUNT: usize = ((HIGH_OCTAVE - LOW_OCTAVE) as usize) << SEGMENTS_PER_OCTAVE_BITS;

/// One cubic in the distance from the start of its segment.
pub(crate) type Cubic = [f64; 4];

/// One segment of a law: holds for arguments from `from` on, up to `from + width`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    pub(crate) from: f64,
    pub(crate) width: f64,
    /// In the distance from `from`.
    pub(crate) cubic: Cubic,
}

/// A law in tabulated form.
#[derive(Clone, Debug)]
pub struct Table {
    cubics: Vec<Cubic>,
    low: f64,
    low_slope: f64,
    high: f64,
    high_value: f64,
    high_slope: f64,
}

impl Table {
    /// Tabulates `law`, which is asked only for arguments above zero.
    pub fn new(law: impl Fn(f64) -> f64) -> Self {
        let edge = |i: usize| f64::from_bits((FIRST + i as u64) << SHIFT);
        let slope = |x: f64| {
            // Fourth-order difference: its own error is far below that of the cubic.
            let h = x * 1e-3;
            (8.0 * (law(x + h) - law(x - h)) - (law(x + 2.0 * h) - law(x - 2.0 * h))) / (12.0 * h)
        };
        let cubics = (0..COUNT)
            .map(|i| {
                let (x0, x1) = (edge(i), edge(i + 1));
                let width = x1 - x0;
                let (y0, y1) = (law(x0), law(x1));
                let (s0, s1) = (slope(x0) * width, slope(x1) * width);
                let (c, d) = (3.0 * (y1 - y0) - 2.0 * s0 - s1, 2.0 * (y0 - y1) + s0 + s1);
                [y0, s0 / width, c / (width * width), d / (width * width * width)]
            })
            .collect();
        let (low, high) = (edge(0), edge(COUNT));
        Self { cubics, low, low_slope: law(low) / low, high, high_value: law(high), high_slope: slope(high) }
    }

    /// A law that gives nothing.
    pub(crate) fn zero() -> Self {
        let high = f64::from_bits((FIRST + COUNT as u64) << SHIFT);
        Self { cubics: Vec::new(), low: high, low_slope: 0.0, high, high_value: 0.0, high_slope: 0.0 }
    }

    /// Value and slope at `x`.
    #[inline]
    pub fn at(&self, x: f64) -> (f64, f64) {
        let size = x.abs();
        let p = self.piece(size);
        let t = size - p.from;
        (p.value(t).copysign(x), p.slope(t))
    }

    /// The piece in which an argument of this size lies.
    pub(crate) fn piece(&self, size: f64) -> Piece {
        if size < self.low {
            return Piece { from: 0.0, width: self.low, cubic: [0.0, self.low_slope, 0.0, 0.0] };
        }
        let number = size.to_bits() >> SHIFT;
        match self.cubics.get((number - FIRST) as usize) {
            Some(cubic) => {
                // The leading bits alone are the start of the segment.
                let from = f64::from_bits(number << SHIFT);
                Piece { from, width: f64::from_bits((number + 1) << SHIFT) - from, cubic: *cubic }
            }
            None => {
                Piece { from: self.high, width: f64::INFINITY, cubic: [self.high_value, self.high_slope, 0.0, 0.0] }
            }
        }
    }
}

impl Piece {
    /// Value at this distance from the start.
    #[inline]
    fn value(&self, t: f64) -> f64 {
        let [a, b, c, d] = self.cubic;
        a + t * (b + t * (c + t * d))
    }

    /// Slope at this distance from the start.
    #[inline]
    fn slope(&self, t: f64) -> f64 {
        let [_, b, c, d] = self.cubic;
        b + t * (2.0 * c + 3.0 * d * t)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn worst(law: impl Fn(f64) -> f64, table: &Table) -> f64 {
        let mut worst: f64 = 0.0;
        let mut x = 0.0012;
        while x < 500.0 {
            worst = worst.max((table.at(x).0 / law(x) - 1.0).abs());
            x *= 1.000_37;
        }
        worst
    }

    #[test]
    fn power_laws_are_within_a_millionth() {
        for n in [1.0, 1.1, 1.2, 1.3, 1.4, 1.5] {
            let law = |x: f64| 37.0 * x.powf(n);
            let table = Table::new(law);
            let e = worst(law, &table);
            assert!(e <= 1e-6, "exponent {n}: relative error {e:e}");
            // The check itself can fail: against a law with a slightly other exponent it does.
            assert!(worst(|x| 37.0 * x.powf(n + 1e-4), &table) > 1e-6);
        }
    }

    #[test]
    fn slope_value_and_sign_agree_over_the_edges() {
        let table = Table::new(|x| x.powf(1.3));
        for x in [1e-5, 0.000_976, 0.01, 1.0, 47.3, 511.9, 512.1, 900.0] {
            let h = x * 1e-5;
            let numeric = (table.at(x + h).0 - table.at(x - h).0) / (2.0 * h);
            let slope = table.at(x).1;
            assert!((numeric / slope - 1.0).abs() < 2e-2, "slope at {x}: {slope}, numeric {numeric}");
            assert_eq!(table.at(-x).0, -table.at(x).0);
            assert_eq!(table.at(-x).1, slope);
        }
        assert_eq!(table.at(0.0).0, 0.0);
    }
}
