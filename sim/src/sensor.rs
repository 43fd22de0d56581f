//! A temperature sensor as the controller reads it: lag, seeded noise, constant error, steps of the reading.
//!
//! `y' = (x - y)/lag`; reading = round((y + offset + noise) / quantum) * quantum, halves to the even step, held to the range of the core's `Temp`.
//!
//! Noise is drawn from splitmix64 (Steele, Lea and Flood, 2014), one stream a sensor and seed, one draw a step: the sum of
//! four 16-bit uniforms, centred and scaled to the wanted standard deviation, which ends at 3.46 deviations (our choice: a
//! reading never jumps out of its well).

use crate::{
    plant,
    thermostat::lag_share,
    zone::lanes::{LANES, Lane, Row, row},
};
use heatwright_core::{
    Reading, SensorUse, Temp,
    limits::{BOILERS, SENSORS, ZONES},
};

/// A sensor ready to step.
#[derive(Clone, Copy, Debug)]
pub struct SensorModel {
    share: f64,
    noise_k: f64,
    offset_k: f64,
    quantum_centi_k: f64,
    per_quantum: f64,
}

/// Where it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SensorState {
    /// Its own temperature, in degrees Celsius.
    pub own_c: f64,
    /// Its noise generator.
    pub noise: u64,
}

/// The next value of a splitmix64 stream.
#[inline]
pub(crate) fn splitmix64(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// A draw with mean zero and standard deviation one.
#[inline]
fn draw(state: &mut u64) -> f64 {
    let v = splitmix64(state);
    let sum = (v & 0xffff) + (v >> 16 & 0xffff) + (v >> 32 & 0xffff) + (v >> 48);
    // The sum of four uniforms on 0..1 has mean 2 and variance 4/12.
    (sum as f64 / 65_536.0 - 2.0 + 2.0 / 65_536.0) * 3.0_f64.sqrt()
}

/// 3 * 2^51: added to a smaller number, it leaves no room for a fraction, and the sum's lowest bits are those of the whole number.
const WHOLE: f64 = 6_755_399_441_055_744.0;

/// The nearest whole number, halves to the even one; a library call costs more than the rest of a sensor.
#[inline]
fn nearest(x: f64) -> f64 {
    (x + WHOLE) - WHOLE
}

/// A whole number between -32767 and 32767, the nearest of `x`.
#[inline]
fn short(x: f64) -> i16 {
    const MOST: f64 = i16::MAX as f64;
    let held = if x > MOST { MOST } else { x };
    let held = if held < -MOST { -MOST } else { held };
    (held + WHOLE).to_bits() as i16
}

/// Where all sensors stand, side by side.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SensorStates {
    /// Own temperatures, in degrees Celsius.
    pub(crate) own_c: Felt,
    /// Noise generators.
    pub(crate) noise: [u64; SENSORS],
}

impl SensorStates {
    pub(crate) fn put(&mut self, i: usize, s: SensorState) {
        (self.own_c[i / LANES % ROWS][i % LANES], self.noise[i % SENSORS]) = (s.own_c, s.noise);
    }
}

/// A temperature of each sensor, side by side.
pub(crate) type Felt = [Lane; ROWS];
const ROWS: usize = SENSORS / LANES;
const _: () = assert!(SENSORS.is_multiple_of(LANES));

/// All that a sensor can measure, in degrees Celsius: nothing, the outdoor air, supply, return, the tank, boilers, supply pipes.
pub(crate) type Measured = [f64; MEASURED];
/// Where they begin.
pub(crate) const OUTDOOR: usize = 1;
pub(crate) const SUPPLY: usize = 2;
pub(crate) const RETURN: usize = 3;
pub(crate) const TANK: usize = 4;
pub(crate) const OUTLETS: usize = 8;
pub(crate) const PIPES: usize = 16;
const MEASURED: usize = 32;
const _: () = assert!(OUTLETS + BOILERS <= PIPES && PIPES + ZONES == MEASURED);

/// The place of what a sensor of this use measures.
fn measured(what: SensorUse) -> u8 {
    let (first, i) = match what {
        SensorUse::Spare => (0, 0),
        SensorUse::Outdoor => (OUTDOOR, 0),
        SensorUse::Supply => (SUPPLY, 0),
        SensorUse::Return => (RETURN, 0),
        SensorUse::Tank => (TANK, 0),
        SensorUse::BoilerOutlet(b) => (OUTLETS, b.index() % BOILERS),
        SensorUse::Mixed(z) => (PIPES, z.index() % ZONES),
    };
    (first + i) as u8
}

/// Four sensors ready to step side by side.
#[derive(Clone, Debug)]
pub(crate) struct Lags {
    /// Where what each measures stands among the [`Measured`].
    from: [u8; LANES],
    share: Lane,
    offset_k: Lane,
}

impl Lags {
    /// All sensors, four a row.
    pub(crate) fn of(all: &[(SensorUse, SensorModel)]) -> Vec<Self> {
        let none =
            Self { from: [measured(SensorUse::Spare); LANES], share: Lane::default(), offset_k: Lane::default() };
        let mut rows = vec![none; all.len().div_ceil(LANES).min(ROWS)];
        for (i, (what, m)) in all.iter().enumerate().take(SENSORS) {
            let r = &mut rows[i / LANES];
            (r.from[i % LANES], r.share[i % LANES], r.offset_k[i % LANES]) = (measured(*what), m.share, m.offset_k);
        }
        rows
    }

    /// One step at the true temperatures among these; gives what is read, error in it, noise not.
    #[inline(always)]
    pub(crate) fn step(&self, own_c: &mut Lane, measured_c: &Measured) -> Row {
        let [a, b, c, d] = self.from.map(|from| measured_c[usize::from(from) % MEASURED]);
        let true_c = Row::new([a, b, c, d]);
        let now_c = row(own_c) + row(&self.share) * (true_c - row(own_c));
        *own_c = now_c.into();
        now_c + row(&self.offset_k)
    }
}

impl SensorModel {
    /// Prepares a sensor for steps of `dt_s` seconds.
    pub fn new(s: &plant::Sensor, dt_s: f64) -> Self {
        Self {
            share: lag_share(s.lag_s, dt_s),
            noise_k: s.noise_k,
            offset_k: s.offset_k,
            quantum_centi_k: s.quantum_k.max(0.01) * 100.0,
            per_quantum: 1.0 / s.quantum_k.max(0.01),
        }
    }

    /// At rest at a temperature, with the stream of this sensor number under this seed.
    pub fn start(true_c: f64, number: usize, seed: u64) -> SensorState {
        let mut mixed = seed ^ (number as u64).wrapping_mul(0xd134_2543_de82_ef95);
        SensorState { own_c: true_c, noise: splitmix64(&mut mixed) }
    }

    /// One step at this true temperature in degrees Celsius.
    pub fn step(&self, s: &mut SensorState, true_c: f64) -> Reading {
        s.own_c += self.share * (true_c - s.own_c);
        let noise_k = if self.noisy() { self.noise_k(&mut s.noise) } else { 0.0 };
        self.reading(s.own_c + self.offset_k + noise_k)
    }

    /// It has noise.
    pub(crate) fn noisy(&self) -> bool {
        self.noise_k > 0.0
    }

    /// The noise of one step, in kelvin.
    pub(crate) fn noise_k(&self, state: &mut u64) -> f64 {
        self.noise_k * draw(state)
    }

    /// The reading in its steps.
    #[inline]
    pub(crate) fn reading(&self, felt_c: f64) -> Reading {
        let steps = nearest(felt_c * self.per_quantum);
        Reading::At(Temp::from_centi_c(short(steps * self.quantum_centi_k)))
    }

    /// From where to where what is felt may move, so that the reading surely stays between two readings, both counted, in
    /// hundredths of a degree Celsius. A trifle is left out at both ends; nothing is certain of a range without a step in it.
    pub(crate) fn sure_c(&self, low: i16, high: i16) -> (f64, f64) {
        const TRIFLE: f64 = 1e-6;
        let read = |steps: f64| short(steps * self.quantum_centi_k);
        let mut least = (f64::from(low) / self.quantum_centi_k).floor();
        if read(least) < low {
            least += 1.0;
        }
        let mut most = (f64::from(high) / self.quantum_centi_k).ceil();
        if read(most) > high {
            most -= 1.0;
        }
        if read(least) < low || read(most) > high {
            return (f64::INFINITY, f64::NEG_INFINITY);
        }
        let low_c = if low <= -i16::MAX { f64::NEG_INFINITY } else { (least - 0.5 + TRIFLE) / self.per_quantum };
        let high_c = if high == i16::MAX { f64::INFINITY } else { (most + 0.5 - TRIFLE) / self.per_quantum };
        (low_c, high_c)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_reads_in_steps_with_its_lag_and_error() {
        let m = SensorModel::new(&plant::Sensor { lag_s: 20.0, noise_k: 0.0, offset_k: 0.3, quantum_k: 0.05 }, 1.0);
        let mut s = SensorModel::start(20.0, 0, 1);
        let mut last = Reading::NeverRead;
        for _ in 0..20 {
            last = m.step(&mut s, 30.0);
        }
        // One time constant of a 10 K step: 63.21 %.
        assert_eq!(last, Reading::At(Temp::from_centi_c(2660)), "{s:?}");
    }

    #[test]
    fn whole_numbers_are_the_nearest_ones() {
        for (x, want) in [(0.4, 0), (-0.4, 0), (0.6, 1), (-0.6, -1), (1.5, 2), (2.5, 2), (-1.5, -2), (31_999.7, 32_000)]
        {
            assert_eq!((nearest(x), short(x)), (f64::from(want), want as i16), "{x}");
        }
        assert_eq!([short(1e9), short(-1e9), short(32_767.4)], [i16::MAX, -i16::MAX, i16::MAX]);
    }

    #[test]
    fn within_the_sure_range_the_reading_stays_and_a_step_outside_it_does_not() {
        for quantum_k in [0.0, 0.05, 0.1, 0.37, 1.0] {
            let m = SensorModel::new(&plant::Sensor { lag_s: 0.0, noise_k: 0.0, offset_k: 0.0, quantum_k }, 1.0);
            let read = |c: f64| m.reading(c).temp().map_or(0, Temp::centi_c);
            for (low, high) in [(2000, 2000), (1990, 2123), (-37, 37), (-500, -111)] {
                let (low, high) = (read(f64::from(low) / 100.0), read(f64::from(high) / 100.0));
                let (low_c, high_c) = m.sure_c(low, high);
                assert_eq!((read(low_c), read(high_c)), (low, high), "{quantum_k} K: {low_c} to {high_c}");
                let trifle_c = 2e-6 * quantum_k.max(0.01);
                assert!(read(low_c - trifle_c) < low && read(high_c + trifle_c) > high, "{quantum_k} K");
            }
            assert_eq!(m.sure_c(i16::MIN, i16::MAX), (f64::NEG_INFINITY, f64::INFINITY));
        }
        // Nothing reads between two steps of one kelvin.
        let coarse = SensorModel::new(&plant::Sensor { quantum_k: 1.0, ..plant::Sensor::default() }, 1.0);
        let (low_c, high_c) = coarse.sure_c(2010, 2090);
        assert!(low_c > high_c);
    }

    #[test]
    fn noise_has_the_wanted_deviation_and_repeats_with_its_seed() {
        let m = SensorModel::new(&plant::Sensor { lag_s: 0.0, noise_k: 1.0, offset_k: 0.0, quantum_k: 0.01 }, 1.0);
        let run = |seed| -> Vec<f64> {
            let mut s = SensorModel::start(50.0, 3, seed);
            (0..20_000).map(|_| f64::from(m.step(&mut s, 50.0).temp().map_or(0, Temp::centi_c)) / 100.0).collect()
        };
        let a = run(7);
        let mean = a.iter().sum::<f64>() / a.len() as f64;
        let deviation = (a.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / a.len() as f64).sqrt();
        assert!((mean - 50.0).abs() < 0.03 && (deviation - 1.0).abs() < 0.03, "{mean} {deviation}");
        assert_eq!(a, run(7));
        assert_ne!(a, run(8));
    }
}
