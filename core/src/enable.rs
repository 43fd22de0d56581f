//! Whether the plant as a whole may heat, by the number of calls.
//!
//! ```text
//!   Off -- off for off_min and more than `ignored` zones call --> On
//!   On  -- on for on_min and no more than `ignored` have called for few_for --> Off
//! ```
//!
//! With `AnyCall` the plant heats on any call and this machine rests. With `Requests` the rule is that of ASHRAE Guideline
//! 36-2021, 5.21.2.2 and 5.21.2.3, whose numbers are parameters. What differs, and why:
//!
//! * A request there is a valve open by more than 95 %; here it is a call that counts.
//! * Its lockout by outdoor temperature is the warm-weather shutdown (`reset`), which has a differential of its own: in the
//!   warm season no zone's call counts.
//! * Its schedule is not asked: a plant that a clock keeps off can freeze. Setback lowers the target instead.
//! * The tank's call always counts while the tank can take heat, however many are ignored, and frost heats whatever
//!   this says: neither can wait for company.
//!
//! A power cut puts the plant to Off from then on, so a start waits `off_min`: the safe reading for the boilers. While it is Off a
//! zone's call moves no water for heat; what runs on runs out, and a purge is carried away.
//! Not decided here: which zones are ignored. They are counted, not named.

use crate::{
    clock::Clock,
    config::{Config, EnableRules, PlantEnable},
    units::Instant,
};

/// Whether the plant runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Enable {
    /// It does not heat.
    Off {
        /// Since when.
        since: Instant,
    },
    /// It may heat.
    On {
        /// Since when.
        since: Instant,
        /// Too few have called since.
        few: Option<Instant>,
    },
}

impl Default for Enable {
    fn default() -> Self {
        Enable::Off { since: Instant::ZERO }
    }
}

impl Enable {
    /// Follows the number of zones that call, and whether the tank does; true while the plant may heat.
    pub(crate) fn decide(
        &mut self,
        config: &Config,
        calls: impl FnOnce() -> u8,
        tank: bool,
        clock: &mut Clock,
    ) -> bool {
        let PlantEnable::Requests(rules) = &config.enable else { return true };
        self.follow(rules, tank || calls() > rules.ignored, clock);
        matches!(self, Enable::On { .. })
    }

    fn follow(&mut self, rules: &EnableRules, enough: bool, clock: &mut Clock) {
        let now = clock.now();
        let next = match *self {
            Enable::Off { since } if enough && clock.elapsed(since, rules.off_min) => {
                Enable::On { since: now, few: None }
            }
            Enable::Off { .. } => return,
            Enable::On { few: None, .. } if enough => return,
            Enable::On { since, few: Some(_) } if enough => Enable::On { since, few: None },
            Enable::On { since, few } => {
                let few_since = few.unwrap_or(now);
                let (few_long, long) = (clock.elapsed(few_since, rules.few_for), clock.elapsed(since, rules.on_min));
                match few {
                    _ if few_long && long => Enable::Off { since: now },
                    Some(_) => return,
                    None => Enable::On { since, few: Some(now) },
                }
            }
        };
        *self = next;
        clock.written(true);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_rule() {
        // ASHRAE Guideline 36-2021, 5.21.2.2 and 5.21.2.3: 15 min off, 15 min on, 3 min without requests.
        let m = |m: u32| Instant::from_s(m * 60);
        let mut e = Enable::default();
        let mut at = |s: u32, enough: bool| {
            e.follow(&EnableRules::GUIDELINE_36, enough, &mut Clock::at(Instant::from_s(s)));
            e
        };
        assert_eq!(at(14 * 60 + 59, true), Enable::Off { since: m(0) });
        assert_eq!(at(15 * 60, true), Enable::On { since: m(15), few: None });
        assert_eq!(at(16 * 60, false), Enable::On { since: m(15), few: Some(m(16)) });
        assert_eq!(at(29 * 60 + 59, false), Enable::On { since: m(15), few: Some(m(16)) }, "shortest run");
        assert_eq!(at(30 * 60, true), Enable::On { since: m(15), few: None });
        assert_eq!(at(40 * 60, false), Enable::On { since: m(15), few: Some(m(40)) });
        assert_eq!(at(42 * 60 + 59, false), Enable::On { since: m(15), few: Some(m(40)) });
        assert_eq!(at(43 * 60, false), Enable::Off { since: m(43) });
        assert_eq!(at(57 * 60, true), Enable::Off { since: m(43) });
        assert_eq!(at(58 * 60, true), Enable::On { since: m(58), few: None });
    }
}
