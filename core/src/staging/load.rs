//! The load that boilers in rate drive carry: their common rate, how it is shared, and what it says about stages.
//!
//! One PI law (`law::pi`) holds the supply at its target by the *common rate* of the boilers that burn. When a boiler
//! joins or leaves, the rate is divided anew so that `rate * sum of inputs` stays: no bump. Without a target it is the
//! lowest there is. Near its bound the hottest outlet takes the rate back, before a boiler would be cut. In parallel each fires at the common rate; in sequence the same sum fills the first to full fire
//! before the next leaves its minimum.
//!
//! ```text
//!   Within -- rate >= up_rate --> High       High, over rate_hold: the next boiler is wanted
//!   Within -- the rest could carry it at down_rate --> Low       Low, over rate_hold: one is dropped
//! ```
//!
//! The rest could carry it when `rate * n / (n - 1) <= down_rate` with `n` boilers of equal size; with unequal ones the share
//! of the one that would go is what its input says. Boilers that modulate by themselves show no rate here: for them, and
//! for a mix, the supply error and the required heat decide (`staging::required`). Source: common practice; compare ASHRAE Guideline 36-2021, 5.21.3.9 (from memory).

use crate::{
    boilers::{Boiler, OUTLET_BACK},
    clock::Clock,
    config::{BoilerDrive, Config, Firing, Modulation},
    ids::BoilerId,
    law::{
        pi::{Aim, Pi},
        quotient_of_bits,
    },
    laws::Basis,
    limits::BOILERS,
    mask::Mask,
    units::{Instant, Permille, Temp, TempDelta},
};

/// From here on below its bound the hottest outlet lets the boilers burn at their least only. Our choice.
pub const LEAST_BELOW: TempDelta = TempDelta::from_k(1);
/// Thousandths by hundredths of a kelvin between the two.
const PER_CENTI_K: (i32, i32) = (5, 2);
const _: () = assert!((OUTLET_BACK.centi_k() - LEAST_BELOW.centi_k()) as i32 * PER_CENTI_K.0 == 1000 * PER_CENTI_K.1);

/// Where the common rate stands against the rates that count.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum RateHold {
    /// Between them.
    #[default]
    Within,
    /// At or above the upper.
    High {
        /// Since when.
        since: Instant,
    },
    /// So low that the rest could carry it.
    Low {
        /// Since when.
        since: Instant,
    },
}

/// The load in rate drive.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Load {
    /// The common rate.
    pub rate: Pi,
    /// Boilers in rate drive that burn.
    pub lit: Mask,
    /// Where the rate stands.
    pub hold: RateHold,
}

/// What the rate says about stages.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Advice {
    pub(crate) up: bool,
    pub(crate) down: bool,
}

/// The inputs of these boilers together.
pub(crate) fn inputs_of(config: &Config, which: Mask) -> u32 {
    let each = which.iter().filter_map(|i| config.boilers.get(usize::from(i)));
    each.fold(0, |sum, b| sum.saturating_add(b.input_w))
}

fn minimum(config: &Config, b: u8) -> Permille {
    match config.boilers.get(usize::from(b)).map(|b| b.firing) {
        Some(Firing::Modulating { minimum }) => minimum,
        Some(Firing::OnOff) | None => Permille::FULL,
    }
}

/// The lowest common rate: the highest minimum of those that burn.
#[inline(never)]
pub(crate) fn lowest(config: &Config, lit: Mask) -> Permille {
    lit.iter().map(|b| minimum(config, b)).max().unwrap_or_default()
}

impl Load {
    /// What the rate follows; nothing while no boiler in rate drive burns.
    pub(crate) fn aim(&self, config: &Config, basis: &Basis) -> Option<Aim> {
        if self.lit.is_empty() {
            return None;
        }
        let low = lowest(config, self.lit);
        Some(Aim {
            target: basis.target?,
            reading: basis.supply,
            band: config.staging.band_pi,
            integral: config.staging.integral,
            low,
            high: self.highest(config, basis.outlet).max(low),
            step_max: Permille::FULL,
            may_rise: basis.rises,
        })
    }

    /// The highest common rate: all there is while the hottest outlet is [`OUTLET_BACK`] or more below the lowest bound of those
    /// that burn, nothing from [`LEAST_BELOW`] on, in proportion between the two.
    fn highest(&self, config: &Config, outlet: Option<Temp>) -> Permille {
        let bounds = self.lit.iter().filter_map(|b| config.boilers.get(usize::from(b))).map(|b| b.outlet_max);
        let (Some(outlet), Some(bound)) = (outlet, bounds.min()) else { return Permille::FULL };
        let below = i32::from(bound.above(outlet).centi_k()).saturating_sub(i32::from(LEAST_BELOW.centi_k()));
        let rate = below.saturating_mul(PER_CENTI_K.0).checked_div(PER_CENTI_K.1).unwrap_or(0);
        Permille::new(u16::try_from(rate.max(0)).unwrap_or(u16::MAX))
    }

    /// The hottest outlet holds the boilers that burn below the rate that brings the next.
    pub(crate) fn held_back(&self, config: &Config, outlet: Option<Temp>) -> bool {
        self.highest(config, outlet) < config.staging.up_rate
    }

    /// Takes note of who burns; shares the rate out anew when that changes. While no heat is wanted (`wanted`), what
    /// still burns for its shortest run burns at the least there is.
    pub(crate) fn decide(&mut self, config: &Config, boilers: &[Boiler; BOILERS], wanted: bool, clock: &mut Clock) {
        let mut lit = Mask::NONE;
        for (i, (c, b)) in (0u8..).zip(config.boilers.iter().zip(boilers)) {
            lit.add_if(i, c.drive == BoilerDrive::Rate && b.state.firing());
        }
        if lit == self.lit && (wanted || lit.is_empty()) {
            return;
        }
        let low = lowest(config, lit);
        let rate = if self.lit.is_empty() || lit.is_empty() || !wanted {
            Pi::at(low)
        } else {
            self.rate.shared(inputs_of(config, self.lit), inputs_of(config, lit), low, Permille::FULL)
        };
        clock.put(&mut self.rate, rate);
        clock.put(&mut self.lit, lit);
        clock.put(&mut self.hold, RateHold::Within);
    }

    /// Follows the rate against the rates that count; `all` is true while every boiler that is wanted is in rate drive and
    /// burns, and the supply that they hold can be read.
    #[inline(never)]
    pub(crate) fn advise(&mut self, config: &Config, all: bool, leaver: Option<BoilerId>, clock: &mut Clock) -> Advice {
        let c = &config.staging;
        let level = self.rate.level();
        let high = all && !self.lit.is_empty() && level >= c.up_rate;
        let low = all && self.lit.count() > 1 && self.rest_could(config, leaver);
        let now = clock.now();
        let next = match self.hold {
            RateHold::High { since } if high => RateHold::High { since },
            RateHold::Low { since } if low => RateHold::Low { since },
            RateHold::Within | RateHold::High { .. } | RateHold::Low { .. } if high => RateHold::High { since: now },
            RateHold::Within | RateHold::High { .. } | RateHold::Low { .. } if low => RateHold::Low { since: now },
            RateHold::Within | RateHold::High { .. } | RateHold::Low { .. } => RateHold::Within,
        };
        clock.put(&mut self.hold, next);
        Advice {
            up: matches!(next, RateHold::High { since } if clock.elapsed(since, c.rate_hold)),
            down: matches!(next, RateHold::Low { since } if clock.elapsed(since, c.rate_hold)),
        }
    }

    /// The others could carry the load at `down_rate` or below without the one that would go.
    fn rest_could(&self, config: &Config, leaver: Option<BoilerId>) -> bool {
        let all = u64::from(inputs_of(config, self.lit));
        let gone = leaver.and_then(|b| config.boilers.get(b.index())).map_or(0, |b| u64::from(b.input_w));
        let load = u64::from(self.rate.level().get()).saturating_mul(all);
        load <= u64::from(config.staging.down_rate.get()).saturating_mul(all.saturating_sub(gone))
    }

    /// The firing rate of one boiler; `order` is that in which they were asked.
    pub(crate) fn rate_of(&self, config: &Config, b: BoilerId, order: &[BoilerId]) -> Permille {
        let low = minimum(config, b.0);
        if !self.lit.has(b.0) {
            return low;
        }
        match config.staging.modulation {
            Modulation::Parallel => self.rate.level().max(low),
            Modulation::Sequential => self.in_sequence(config, b, order),
        }
    }

    fn in_sequence(&self, config: &Config, b: BoilerId, order: &[BoilerId]) -> Permille {
        let input = |i: u8| config.boilers.get(usize::from(i)).map_or(0, |c| u64::from(c.input_w));
        let low = |i: u8| u64::from(minimum(config, i).get());
        // Everyone burns at its minimum; what is left of the sum goes to the first until it is full, then to the next.
        let sum = u64::from(self.rate.level().get()).saturating_mul(u64::from(inputs_of(config, self.lit)));
        let base = self.lit.iter().fold(0u64, |s, i| s.saturating_add(low(i).saturating_mul(input(i))));
        let mut left = sum.saturating_sub(base);
        // Those that burn without being wanted any more come last.
        let wanted = order.iter().map(|o| o.0).filter(|i| self.lit.has(*i));
        let others = self.lit.iter().filter(|i| order.iter().all(|o| o.0 != *i));
        for i in wanted.chain(others) {
            let room = (1000u64).saturating_sub(low(i)).saturating_mul(input(i));
            let part = left.min(room);
            if i == b.0 {
                let input = config.boilers.get(usize::from(i)).map_or(0, |c| c.input_w);
                let more = quotient_of_bits(part, input, 10).unwrap_or(0);
                return Permille::new(u16::try_from(low(i).saturating_add(u64::from(more))).unwrap_or(1000));
            }
            left = left.saturating_sub(part);
        }
        minimum(config, b.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{boilers::BoilerState, tests::plant, units::Span};

    /// Three boilers by rate of 100, 300 and 200 kW with a least rate of 20, 40 and 10 %.
    fn unlike() -> Config {
        let mut c = plant();
        let one = c.boilers[0].clone();
        c.boilers.clear();
        for (input_w, least) in [(100_000, 200), (300_000, 400), (200_000, 100)] {
            let firing = Firing::Modulating { minimum: Permille::new(least) };
            c.boilers.push(crate::config::BoilerConfig { input_w, firing, ..one.clone() }).unwrap();
        }
        (c.staging.up_rate, c.staging.down_rate) = (Permille::new(850), Permille::new(400));
        c.staging.rate_hold = Span::from_s(300);
        c
    }

    fn load(rate: u16, lit: u32) -> Load {
        Load { rate: Pi::at(Permille::new(rate)), lit: Mask::from_bits(lit), hold: RateHold::Within }
    }

    fn rates(c: &Config, l: &Load, order: &[u8]) -> [u16; 3] {
        let mut asked = [BoilerId(0); 3];
        let n = order.len();
        asked.iter_mut().zip(order).for_each(|(a, o)| *a = BoilerId(*o));
        [0, 1, 2].map(|b| l.rate_of(c, BoilerId(b), &asked[..n]).get())
    }

    #[test]
    fn in_parallel_each_burns_at_the_common_rate_and_none_below_its_least() {
        let mut c = unlike();
        c.staging.modulation = Modulation::Parallel;
        assert_eq!(rates(&c, &load(550, 0b111), &[0, 1, 2]), [550, 550, 550]);
        assert_eq!(rates(&c, &load(300, 0b111), &[0, 1, 2]), [300, 400, 300]);
        assert_eq!(rates(&c, &load(550, 0b001), &[0]), [550, 400, 100], "one that does not burn stands at its least");
    }

    /// At half of 600 kW there are 300 kW to give: 160 kW are the least of all three, and 140 kW go to the first until it is full.
    #[test]
    fn in_sequence_what_is_left_of_the_sum_fills_one_after_the_other() {
        let mut c = unlike();
        c.staging.modulation = Modulation::Sequential;
        let l = load(500, 0b111);
        // 80 kW fill the first, 60 of 180 kW are left for the second.
        assert_eq!(rates(&c, &l, &[0, 1, 2]), [1000, 600, 100]);
        // 140 of the 180 kW that the second has room for.
        assert_eq!(rates(&c, &l, &[1, 0, 2]), [200, 866, 100]);
        // The third is asked first and has room for 180 kW.
        assert_eq!(rates(&c, &l, &[2, 1, 0]), [200, 400, 800]);
        // The second burns on though it is wanted no more: it comes last.
        assert_eq!(rates(&c, &l, &[2, 0]), [200, 400, 800]);
        assert_eq!(rates(&c, &load(1000, 0b111), &[0, 1, 2]), [1000; 3]);
        assert_eq!(rates(&c, &load(200, 0b111), &[0, 1, 2]), [200, 400, 100], "less than all at their least");
    }

    /// The first and the third burn; 95 °C is the bound of the first, 90 °C of the third.
    #[test]
    fn the_hottest_outlet_takes_the_rate_back_from_5_k_below_the_lowest_bound_of_those_that_burn() {
        let mut c = unlike();
        for (b, bound) in c.boilers.iter_mut().zip([95, 70, 90]) {
            b.outlet_max = Temp::from_c(bound);
        }
        let high = |outlet: i16, lit| {
            let outlet = Some(Temp::from_centi_c(outlet));
            let basis = Basis { target: Some(Temp::from_c(80)), outlet, ..Basis::default() };
            load(500, lit).aim(&c, &basis).map(|a| a.high.get())
        };
        assert_eq!([high(8500, 0b101), high(8501, 0b101), high(8700, 0b101)], [Some(1000), Some(997), Some(500)]);
        assert_eq!([high(8861, 0b101), high(8900, 0b101), high(9200, 0b101)], [Some(200); 3], "the least there is");
        assert_eq!(high(8700, 0b001), Some(1000));
        assert_eq!(high(6700, 0b010), Some(500));
        let held_back = |outlet| load(500, 0b101).held_back(&c, Some(Temp::from_centi_c(outlet)));
        // At 85.6 °C the outlet leaves 850 thousandths, the rate that brings the next by itself.
        assert!(!held_back(6000) && !held_back(8560) && held_back(8561) && held_back(8700));
    }

    /// Boilers that burn, by index; what the rate says after so many seconds of the same.
    fn says(c: &Config, l: Load, all: bool, leaver: u8, seconds: u32) -> (bool, bool) {
        let mut l = l;
        l.advise(c, all, Some(BoilerId(leaver)), &mut Clock::at(crate::Instant::from_s(50)));
        let a = l.advise(c, all, Some(BoilerId(leaver)), &mut Clock::at(crate::Instant::from_s(50 + seconds)));
        (a.up, a.down)
    }

    #[test]
    fn the_next_is_wanted_once_the_upper_rate_has_stood_for_its_time() {
        let c = unlike();
        assert_eq!(says(&c, load(850, 0b001), true, 0, 300), (true, false));
        assert_eq!(says(&c, load(850, 0b001), true, 0, 299), (false, false));
        assert_eq!(says(&c, load(849, 0b001), true, 0, 300), (false, false));
        assert_eq!(says(&c, load(1000, 0b001), false, 0, 300), (false, false), "one that is wanted does not burn yet");
        assert_eq!(says(&c, load(1000, 0), true, 0, 300), (false, false), "none burns");
    }

    /// Of 600 kW at a rate r the others carry r * 600 at 40 % of theirs: 500 kW without the first, 300 kW without the second.
    #[test]
    fn one_is_dropped_once_the_rest_could_have_carried_its_load_for_that_time() {
        let c = unlike();
        assert_eq!(says(&c, load(333, 0b111), true, 0, 300), (false, true));
        assert_eq!(says(&c, load(334, 0b111), true, 0, 300), (false, false));
        assert_eq!(says(&c, load(200, 0b111), true, 1, 300), (false, true));
        assert_eq!(says(&c, load(201, 0b111), true, 1, 300), (false, false));
        assert_eq!(says(&c, load(333, 0b111), true, 0, 299), (false, false));
        assert_eq!(says(&c, load(0, 0b001), true, 1, 300), (false, false), "the last is not dropped by its rate");
    }

    /// A rate that has stood high counts from its own beginning, and so does one that has stood low.
    #[test]
    fn the_time_begins_anew_where_the_rate_has_left_its_side() {
        let c = unlike();
        let mut l = load(900, 0b011);
        let at = |l: &mut Load, rate: u16, second| {
            l.rate = Pi::at(Permille::new(rate));
            l.advise(&c, true, Some(BoilerId(0)), &mut Clock::at(crate::Instant::from_s(second)))
        };
        assert!(!at(&mut l, 900, 0).up && !at(&mut l, 500, 200).up);
        assert!(!at(&mut l, 900, 250).up && !at(&mut l, 900, 549).up && at(&mut l, 900, 550).up);
        assert!(!at(&mut l, 100, 600).down && at(&mut l, 100, 900).down);
    }

    #[test]
    fn the_common_rate_is_shared_anew_when_one_lights_or_leaves() {
        let c = unlike();
        let burning = |lit: [bool; 3]| {
            let mut boilers = crate::State::new(&c, None).control.boilers;
            for (b, lit) in boilers.iter_mut().zip(lit) {
                if lit {
                    b.state = BoilerState::Firing { began: crate::Instant::ZERO };
                }
            }
            boilers
        };
        let after = |l: Load, lit: [bool; 3], wanted| {
            let mut l = Load { hold: RateHold::High { since: crate::Instant::ZERO }, ..l };
            l.decide(&c, &burning(lit), wanted, &mut Clock::at(crate::Instant::from_s(9)));
            (l.rate.level().get(), l.lit.bits(), l.hold == RateHold::Within)
        };
        // 80 kW of the first become 80 kW of the first and the third: 267 thousandths of 300 kW.
        assert_eq!(after(load(800, 0b001), [true, false, true], true), (267, 0b101, true));
        // And back: 300 kW at 60 % are more than the first has.
        assert_eq!(after(load(600, 0b101), [true, false, false], true), (1000, 0b001, true));
        // The first to light begins at its least, and the second's least is 40 %.
        assert_eq!(after(load(0, 0), [false, true, false], true), (400, 0b010, true));
        assert_eq!(after(load(800, 0b001), [true, false, false], true), (800, 0b001, false), "nothing has changed");
        assert_eq!(
            after(load(800, 0b001), [true, false, false], false),
            (200, 0b001, true),
            "no heat is wanted any more"
        );
        assert_eq!(after(load(800, 0b001), [false; 3], true), (0, 0, true));
        assert!(
            load(500, 0).aim(&c, &Basis { target: Some(Temp::from_c(60)), ..Basis::default() }).is_none(),
            "nothing to follow while none burns"
        );
    }
}
