//! Boilers that are cut by their own hot water again and again.
//!
//! A cut is a demand that ended in the tick in which the boiler's outlet read above its `outlet_max`, or in which a high limit
//! of its own opened. One is a fact of operation; `hot_cuts` of them within `hot_cuts_within` say that its flow does not carry
//! its heat away (a valve half shut, a pump that slips, air, scale, a setting), whatever the flow switch says. It raises the
//! alarm, with the boiler as its cause, until somebody acknowledges. So long the boiler is asked after all others, so that one
//! whose heat is carried away leads. It is asked on: the cuts themselves are safe, its shortest stop spaces them, and a cold
//! building is the greater harm.
//!
//! The last moments are kept, so that the window slides: the alarm comes at the cut that is the `hot_cuts`th within any stretch of
//! that length. Source: our choice. Three within an hour is the default of the plant file: a boiler that is cut, cools and fires
//! again with minimums of a few minutes comes to four to eight an hour, one whose load merely fell is let go by staging
//! first. A boiler that keeps its flame out by its own control is not cut (`boilers`).

use crate::{
    clock::Clock,
    config::{BoilerConfig, Config, GuardConfig, SafetyKind, SafetyScope},
    ids::BoilerId,
    limits::BOILERS,
    mask::Mask,
    reason::Reason,
    units::{Instant, Temp},
};

/// The most cuts that can be asked for.
pub const HOT_CUTS_MAX: usize = 4;

/// Cuts by hot water.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct HotCuts {
    /// The latest cuts of each boiler, newest first; zero past their number.
    pub cuts: [[Instant; HOT_CUTS_MAX - 1]; BOILERS],
    /// How many are kept of each boiler: fewer than are asked for.
    pub kept: [u8; BOILERS],
    /// Boilers that were cut too often and are not acknowledged.
    pub often: Mask,
}

/// True when the demand of boiler `id` that has just ended was cut by hot water. A limit that stops all alike, such as one in the
/// header, says nothing about the flow of one.
pub(crate) fn cut_hot(
    config: &Config,
    id: BoilerId,
    boiler: &BoilerConfig,
    outlet: Option<Temp>,
    stop: Option<Reason>,
) -> bool {
    let own = SafetyScope::Boiler(id);
    let limit = |kind| matches!(kind, SafetyKind::HighLimit | SafetyKind::HighLimitManual);
    match stop {
        Some(Reason::Safety(s)) => config.safeties.get(s.index()).is_some_and(|s| s.scope == own && limit(s.kind)),
        Some(_) => false,
        None => outlet.is_some_and(|t| t > boiler.outlet_max),
    }
}

impl HotCuts {
    /// Counts one cut of this boiler.
    pub(crate) fn cut(&mut self, config: &GuardConfig, boiler: BoilerId, clock: &mut Clock) {
        let now = clock.now();
        let i = boiler.index();
        let (Some(cuts), Some(kept)) = (self.cuts.get_mut(i), self.kept.get_mut(i)) else { return };
        if config.hot_cuts == 0 {
            return;
        }
        let lately = cuts.iter().take(usize::from(*kept)).filter(|t| now.since(**t) < config.hot_cuts_within).count();
        let [newest, next, _] = *cuts;
        if lately.saturating_add(1) >= usize::from(config.hot_cuts) {
            (*cuts, *kept) = ([Instant::ZERO; 3], 0);
            let often = self.often.or(Mask::of(boiler.0));
            clock.put(&mut self.often, often);
        } else {
            (*cuts, *kept) = match lately {
                0 => ([now, Instant::ZERO, Instant::ZERO], 1),
                1 => ([now, newest, Instant::ZERO], 2),
                _ => ([now, newest, next], 3),
            };
        }
    }

    /// Takes the button.
    pub(crate) fn decide(&mut self, acknowledge: bool, clock: &mut Clock) {
        if acknowledge {
            clock.put(&mut self.often, Mask::NONE);
        }
    }

    /// The first boiler that was cut too often, as a reason for the alarm.
    pub(crate) fn alarm(&self) -> Option<Reason> {
        self.often.first().map(|b| Reason::HotCuts(BoilerId(b)))
    }

    /// Every moment that is kept.
    pub(crate) fn moments(&mut self) -> impl Iterator<Item = &mut Instant> {
        let kept = self.kept;
        self.cuts.iter_mut().zip(kept).flat_map(|(cuts, n)| cuts.iter_mut().take(usize::from(n)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Span, tests::GUARD};

    const CONFIG: GuardConfig = GuardConfig { hot_cuts: 3, hot_cuts_within: Span::from_h(1), ..GUARD };

    fn cut_at(config: &GuardConfig, minutes: &[u32]) -> HotCuts {
        let mut h = HotCuts::default();
        for m in minutes {
            h.cut(config, BoilerId(1), &mut Clock::at(Instant::from_s(m * 60)));
        }
        h
    }

    #[test]
    fn the_third_cut_within_any_hour_raises_the_alarm_with_its_boiler() {
        let alarm = |minutes: &[u32]| cut_at(&CONFIG, minutes).alarm();
        assert_eq!(alarm(&[10, 20]), None);
        assert_eq!(alarm(&[10, 20, 69]), Some(Reason::HotCuts(BoilerId(1))));
        assert_eq!(alarm(&[10, 20, 70]), None, "the first is an hour ago");
        assert_eq!(alarm(&[0, 50, 65, 75]), Some(Reason::HotCuts(BoilerId(1))), "the window slides");
        assert_eq!(alarm(&[0, 40, 80, 120, 160]), None, "two an hour for ever");
        let one = GuardConfig { hot_cuts: 1, ..CONFIG };
        assert_eq!(cut_at(&one, &[5]).alarm(), Some(Reason::HotCuts(BoilerId(1))));
        let four = GuardConfig { hot_cuts: 4, ..CONFIG };
        assert_eq!(cut_at(&four, &[0, 1, 2]).alarm(), None);
        assert!(cut_at(&four, &[0, 1, 2, 3]).alarm().is_some());
        let none = GuardConfig { hot_cuts: 0, ..CONFIG };
        assert_eq!(cut_at(&none, &[0, 1, 2, 3, 4]), HotCuts::default());
    }

    #[test]
    fn it_stays_until_acknowledged_and_counts_anew_from_there() {
        let mut h = cut_at(&CONFIG, &[0, 1, 2]);
        h.decide(false, &mut Clock::at(Instant::from_s(9000)));
        assert!(h.alarm().is_some());
        h.decide(true, &mut Clock::at(Instant::from_s(9001)));
        assert_eq!(h, HotCuts::default());
    }

    /// The outlet may have 90 degrees. Safety 0 is a high limit, 1 low water.
    #[test]
    fn a_cut_is_water_above_its_limit_or_a_high_limit_that_opened() {
        use crate::{
            config::{Reset, SafetyCircuit, SafetyConfig},
            ids::SafetyId,
            tests::plant,
        };
        let mut c = plant();
        let own = SafetyScope::Boiler(BoilerId(0));
        let safeties = [
            (SafetyKind::HighLimit, own),
            (SafetyKind::LowWater, own),
            (SafetyKind::HighLimitManual, own),
            (SafetyKind::HighLimitManual, SafetyScope::Plant),
            (SafetyKind::HighLimit, SafetyScope::Boiler(BoilerId(1))),
        ];
        for (kind, scope) in safeties {
            let (circuit, reset) = (SafetyCircuit::Limit, Reset::Manual);
            c.safeties.push(SafetyConfig { kind, scope, circuit, reset }).unwrap();
        }
        let cut =
            |outlet: Option<i16>, stop| cut_hot(&c, BoilerId(0), &c.boilers[0], outlet.map(Temp::from_centi_c), stop);
        assert!(cut(Some(9001), None));
        assert!(!cut(Some(9000), None), "at its limit it may be");
        assert!(!cut(None, None), "an ordinary end of a boiler without a sensor at its outlet");
        assert!(!cut(Some(9500), Some(Reason::SwitchedOff)), "somebody switched it off");
        let safety = |s| Some(Reason::Safety(SafetyId(s)));
        assert!(cut(None, safety(0)) && cut(Some(8000), safety(2)));
        assert!(!cut(Some(9500), safety(1)) && !cut(None, safety(7)));
        assert!(!cut(None, safety(3)), "the plant's limit stops every boiler, whoever made the heat");
        assert!(!cut(None, safety(4)), "another boiler's");
    }
}
