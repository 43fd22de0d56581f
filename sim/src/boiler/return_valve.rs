//! The self-acting three-way valve at a boiler's inlet: it leads a part of the outlet water back, so that no water colder than its
//! setting enters.
//!
//! With `T` the boiler's water, `t_B` what comes from the header and `t_v` the setting, `t_in = max(t_B, t_v)`. Of the flow `w`
//! that the boiler's pump moves, the part that goes to the header and comes back from there is
//!
//! ```text
//! f = (T - t_in) / (T - t_B)        0 while T <= t_v > t_B: all goes round until the boiler is warm; 1 where t_B >= t_v
//! ```
//!
//! so `f w (T - t_B) = w (T - t_in)`: the heat to the header is that of the whole flow from `t_in`. The boiler's node sees `f w`
//! and `t_B`; what goes round leaves and enters it at its own temperature. It follows that the header gets no more than
//! `w (T - t_v)`, however large the fire.
//!
//! Source: the balance of two streams that mix; that such a valve is the usual one is common practice. Our simplification: it
//! acts at once on the water of the step's start, without band, leakage or an element that takes time. A boiler that stands
//! without flow keeps its opening; water that is driven backwards through it does not pass the valve.

/// A boiler's return valve, or none.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ReturnValve {
    /// In degrees Celsius; without a valve, below all water.
    setting_c: f64,
}

impl ReturnValve {
    /// With a setting in degrees Celsius; `None` for a boiler without one.
    pub(crate) fn new(setting_c: Option<f64>) -> Self {
        Self { setting_c: setting_c.unwrap_or(f64::NEG_INFINITY) }
    }

    /// True where there is one.
    pub(crate) fn fitted(self) -> bool {
        self.setting_c.is_finite()
    }

    /// Share of the boiler's flow that it lets to the header, with this water in it and this coming back, in degrees Celsius.
    pub(crate) fn opening(self, water_c: f64, header_c: f64) -> f64 {
        if header_c >= self.setting_c {
            1.0
        } else if water_c <= self.setting_c {
            0.0
        } else {
            (water_c - self.setting_c) / (water_c - header_c)
        }
    }

    /// What enters the boiler of what comes from the header, both in degrees Celsius, at an opening that these two made.
    #[inline(always)]
    pub(crate) fn entering_c(self, round_share: f64, water_c: f64, header_c: f64) -> f64 {
        if round_share <= 0.0 {
            header_c
        } else if round_share < 1.0 {
            // What it mixes is its setting.
            self.setting_c
        } else {
            header_c + round_share * (water_c - header_c)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked by hand: 0.6 of 160 and 0.4 of 100 degF make 136.
    #[test]
    fn two_streams_mix_to_the_setting() {
        let v = ReturnValve::new(Some(136.0));
        assert!((v.opening(160.0, 100.0) - 0.4).abs() < 1e-12);
        assert_eq!(v.entering_c(0.6, 160.0, 100.0), 136.0);
        for (water_c, header_c) in [(180.0, 40.0), (137.0, 135.0), (300.0, 20.0)] {
            let f = v.opening(water_c, header_c);
            let mixed_c = f * header_c + (1.0 - f) * water_c;
            assert!((mixed_c - 136.0).abs() < 1e-9, "{f}: {mixed_c}");
            assert!((f * (water_c - header_c) - (water_c - 136.0)).abs() < 1e-9, "{f}");
        }
        // Cold, all goes round; on a warm return, all goes out; without a valve too.
        assert_eq!((v.opening(136.0, 100.0), v.entering_c(1.0, 120.0, 100.0)), (0.0, 120.0));
        assert_eq!((v.opening(120.0, 136.0), v.entering_c(0.0, 120.0, 140.0)), (1.0, 140.0));
        let none = ReturnValve::new(None);
        assert_eq!((none.opening(20.0, 10.0), none.fitted(), v.fitted()), (1.0, false, true));
    }
}
