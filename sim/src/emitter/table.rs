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
type Cubic = [f64; 4];

/// One segment of a law, from `from` on.
#[derive(Clone, Copy, Debug)]
struct Piece {
    from: f64,
    /// In the distance from `from`.
    cubic: Cubic,
}

/// A piece of a law about its middle: `zero + slope * x + bend * (x - middle)^2`, for arguments from `low` on, up to `high`.
///
/// It meets the law at both ends and in the middle; between them it is within 1e-6 of a power law with exponent 1 to 1.5.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bow {
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) middle: f64,
    pub(crate) zero: f64,
    /// Slope of the chord from end to end.
    pub(crate) slope: f64,
    pub(crate) bend: f64,
    /// Value over argument in the middle of the piece.
    pub(crate) ratio: f64,
}

/// A law in tabulated form.
#[derive(Clone, Debug)]
pub struct Table {
    cubics: Vec<Cubic>,
    /// Middle, zero, slope, bend and ratio of the [`Bow`] over each cubic.
    bows: Vec<[f64; 5]>,
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
        let cubics: Vec<Cubic> = (0..COUNT)
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
        let bows = cubics.iter().enumerate().map(|(i, c)| bow(c, edge(i), edge(i), edge(i + 1))).collect();
        Self { cubics, bows, low, low_slope: law(low) / low, high, high_value: law(high), high_slope: slope(high) }
    }

    /// A law that gives nothing.
    pub(crate) fn zero() -> Self {
        let high = f64::from_bits((FIRST + COUNT as u64) << SHIFT);
        Self { cubics: Vec::new(), bows: Vec::new(), low: high, low_slope: 0.0, high, high_value: 0.0, high_slope: 0.0 }
    }

    /// Value and slope at `x`.
    #[inline]
    pub fn at(&self, x: f64) -> (f64, f64) {
        let size = x.abs();
        let p = self.piece(size);
        let t = size - p.from;
        (p.value(t).copysign(x), p.slope(t))
    }

    /// The bow in which `x` lies, with so many for each doubling, as a power of two; at least as many as there are cubics. It
    /// depends on `x` alone, and whoever lies in it is given it.
    pub(crate) fn bow(&self, x: f64, bows_bits: u32) -> Bow {
        let size = x.abs();
        if size < self.low {
            // The same line on both sides.
            let slope = self.low_slope;
            let (low, high) = ((-self.low).next_up(), self.low);
            return Bow { low, high, middle: 0.0, zero: 0.0, slope, bend: 0.0, ratio: slope };
        }
        let number = size.to_bits() >> (52 - bows_bits);
        let from = f64::from_bits(number << (52 - bows_bits));
        let to = f64::from_bits((number + 1) << (52 - bows_bits));
        // The number of the cubic that it lies in.
        let of = ((size.to_bits() >> SHIFT) - FIRST) as usize;
        let (from, to, [middle, zero, slope, bend, ratio]) = match (self.bows.get(of), self.cubics.get(of)) {
            (Some(bow), _) if bows_bits == SEGMENTS_PER_OCTAVE_BITS => (from, to, *bow),
            (_, Some(cubic)) => {
                let start = f64::from_bits((FIRST + of as u64) << SHIFT);
                (from, to, bow(cubic, start, from, to))
            }
            _ => {
                let zero = self.high_value - self.high_slope * self.high;
                let ratio = self.high_value / self.high;
                (self.high, f64::INFINITY, [0.0, zero, self.high_slope, 0.0, ratio])
            }
        };
        if x < 0.0 {
            let (low, high) = ((-to).next_up(), (-from).next_up());
            Bow { low, high, middle: -middle, zero: -zero, slope, bend: -bend, ratio }
        } else {
            Bow { low: from, high: to, middle, zero, slope, bend, ratio }
        }
    }

    /// The piece in which an argument of this size lies.
    fn piece(&self, size: f64) -> Piece {
        if size < self.low {
            return Piece { from: 0.0, cubic: [0.0, self.low_slope, 0.0, 0.0] };
        }
        let number = size.to_bits() >> SHIFT;
        match self.cubics.get((number - FIRST) as usize) {
            Some(cubic) => {
                // The leading bits alone are the start of the segment.
                let from = f64::from_bits(number << SHIFT);
                Piece { from, cubic: *cubic }
            }
            None => Piece { from: self.high, cubic: [self.high_value, self.high_slope, 0.0, 0.0] },
        }
    }
}

/// Middle, zero, slope, bend and ratio of the [`Bow`] between two points of a cubic that starts at `start`.
fn bow(cubic: &Cubic, start: f64, from: f64, to: f64) -> [f64; 5] {
    let half = 0.5 * (to - from);
    let middle = from + half;
    let piece = Piece { from: start, cubic: *cubic };
    let at = |x: f64| piece.value(x - start);
    let (first, value, last) = (at(from), at(middle), at(to));
    let slope = (last - first) / (to - from);
    let bend = (0.5 * (first + last) - value) / (half * half);
    [middle, value - slope * middle, slope, bend, value / middle]
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

    #[test]
    fn bows_lie_close_and_each_holds_for_its_own_arguments_only() {
        let value = |p: &Bow, x: f64| p.zero + p.slope * x + p.bend * (x - p.middle).powi(2);
        for (n, bits, within) in [(1.0_f64, 4, 1e-9), (1.1, 4, 4e-7), (1.3, 4, 6e-7), (1.5, 4, 8e-7), (1.3, 5, 1e-7)] {
            let law = |x: f64| (37.0 * x.abs().powf(n)).copysign(x);
            let table = Table::new(law);
            let (mut worst, mut mean, mut count): (f64, f64, f64) = (0.0, 0.0, 0.0);
            for sign in [1.0_f64, -1.0] {
                let mut x = sign * 0.0012;
                while x.abs() < 500.0 {
                    let p = table.bow(x, bits);
                    assert!(p.low <= x && x < p.high, "{x}: {p:?}");
                    let off = value(&p, x) / law(x) - 1.0;
                    (worst, mean, count) = (worst.max(off.abs()), mean + off, count + 1.0);
                    assert!((p.ratio * x / law(x) - 1.0).abs() < 0.5 * (p.high - p.low) / x.abs());
                    x *= 1.000_037;
                }
            }
            assert!(worst <= within && (n == 1.0 || worst > 0.3 * within), "exponent {n}, {bits}: {worst:e}");
            assert!((mean / count).abs() < 0.1 * within, "exponent {n}, {bits}: {:e}", mean / count);
        }
        // At every edge each number is given the bow that holds it, and one ends where the next begins.
        let table = Table::new(|x| x.powf(1.3));
        for x in [0.0_f64, 0.000_976_562_5, 0.003, 1.0, 16.0, 47.3, 511.9, 512.0, 600.0] {
            for x in [x, -x] {
                let p = table.bow(x, 4);
                for at in [p.low, p.low.next_down(), p.high.next_down(), p.high] {
                    if at.abs() < 1e6 {
                        let q = table.bow(at, 4);
                        assert!(q.low <= at && at < q.high, "{at}: {q:?}");
                        let same = p.low <= at && at < p.high;
                        assert_eq!(same, (p.low, p.high) == (q.low, q.high), "{at}: {p:?} {q:?}");
                        let apart = value(&p, at) - value(&q, at);
                        assert!(apart.abs() <= 1e-12 * at.abs(), "{at}: {apart:e}");
                    }
                }
            }
        }
        assert!(table.bow(f64::NAN, 4).slope.is_finite());
    }
}
