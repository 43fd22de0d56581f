//! The weekly schedule: when a zone is occupied and when it is set back.
//!
//! One type for both readers: the controller shifts its supply target by it, the simulated thermostats their room
//! temperature. Times are wall-clock minutes of the week from Monday 00:00; a step holds until the next one and the last
//! step of the week holds over Sunday midnight.

use crate::{limits::SCHEDULE_STEPS, units::CivilMinute};
use heapless::Vec;

/// What a stretch of the week is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Level {
    /// Normal temperature.
    Occupied,
    /// Lowered temperature.
    Setback,
}

/// From this minute on, this level: two bytes, the level in the highest bit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(from = "Plain", into = "Plain"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Step(u16);

/// The step as it is written down.
#[cfg(feature = "serde")]
#[derive(serde::Serialize, serde::Deserialize)]
#[serde(rename = "Step")]
struct Plain {
    minute_of_week: u16,
    level: Level,
}

#[cfg(feature = "serde")]
impl From<Plain> for Step {
    fn from(p: Plain) -> Self {
        Self::new(p.minute_of_week, p.level)
    }
}

#[cfg(feature = "serde")]
impl From<Step> for Plain {
    fn from(s: Step) -> Self {
        Self { minute_of_week: s.minute_of_week(), level: s.level() }
    }
}

impl Step {
    const SETBACK: u16 = 1 << 15;

    /// From this minute of the week, counted from Monday 00:00 (0 to 10079), on. Minutes past 32767 read as that, which no
    /// configuration passes with.
    pub const fn new(minute_of_week: u16, level: Level) -> Self {
        let minute = if minute_of_week < Self::SETBACK { minute_of_week } else { Self::SETBACK - 1 };
        Self(match level {
            Level::Occupied => minute,
            Level::Setback => minute | Self::SETBACK,
        })
    }
    /// Minute of the week from Monday 00:00.
    pub const fn minute_of_week(self) -> u16 {
        self.0 & !Self::SETBACK
    }
    /// The level from that minute on.
    pub const fn level(self) -> Level {
        if self.0 & Self::SETBACK == 0 { Level::Occupied } else { Level::Setback }
    }
}

/// A week of steps, rising in time. Empty means occupied always.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(transparent))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Schedule {
    /// The steps in rising order of time.
    pub steps: Vec<Step, SCHEDULE_STEPS, u8>,
}

impl Schedule {
    /// The level at a wall-clock time; occupied while the clock is not set.
    pub fn level(&self, civil: Option<CivilMinute>) -> Level {
        civil.map_or(Level::Occupied, |c| self.at(c).0)
    }

    /// Minutes from a wall-clock time until the next step that changes the level; `None` when nothing ever changes.
    pub fn minutes_to_change(&self, civil: CivilMinute) -> Option<u16> {
        self.at(civil).1
    }

    /// Both of them.
    pub(crate) fn at(&self, civil: CivilMinute) -> (Level, Option<u16>) {
        let now = civil.minute_of_week();
        // They rise in time: the first ahead in this week, else the first of the next.
        let past = self.steps.partition_point(|s| s.minute_of_week() <= now);
        let (past, ahead) = self.steps.split_at_checked(past).unwrap_or_default();
        let level = past.last().or(self.steps.last()).map_or(Level::Occupied, |s| s.level());
        let other = |s: &&Step| s.level() != level;
        let this_week = ahead.iter().find(other).map(|s| s.minute_of_week());
        let next_week = || past.iter().find(other).map(|s| s.minute_of_week().saturating_add(CivilMinute::WEEK as u16));
        (level, this_week.or_else(next_week).map(|at| at.saturating_sub(now)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn weekdays() -> Schedule {
        let mut s = Schedule::default();
        for day in 0..5u16 {
            let _ = s.steps.push(Step::new(day * 1440 + 360, Level::Occupied));
            let _ = s.steps.push(Step::new(day * 1440 + 1320, Level::Setback));
        }
        s
    }

    /// Minute of the week as a civil time: Monday 2000-01-03 00:00 is minute 2880.
    fn at(minute_of_week: u32) -> CivilMinute {
        CivilMinute::new(2880 + minute_of_week)
    }

    #[test]
    fn the_last_step_holds_over_the_end_of_the_week() {
        let s = weekdays();
        assert_eq!(s.level(Some(at(0))), Level::Setback, "Monday 00:00 is still Friday's setback");
        assert_eq!(s.level(Some(at(360))), Level::Occupied);
        assert_eq!(s.level(Some(at(6 * 1440))), Level::Setback);
        assert_eq!(s.level(None), Level::Occupied);
        assert_eq!(Schedule::default().level(Some(at(5))), Level::Occupied);
    }

    proptest! {
        #[test]
        fn the_next_change_is_the_nearest_of_all(minutes in prop::collection::btree_set(0u16..10_080, 0..8), now in 0u32..10_080) {
            let mut s = Schedule::default();
            for (i, m) in minutes.iter().enumerate() {
                let level = if i % 3 == 0 { Level::Setback } else { Level::Occupied };
                let _ = s.steps.push(Step::new(*m, level));
            }
            let level = s.level(Some(at(now)));
            let ahead = |s: &Step| (u32::from(s.minute_of_week()) + CivilMinute::WEEK - now - 1) % CivilMinute::WEEK + 1;
            let nearest = s.steps.iter().filter(|s| s.level() != level).map(ahead).min();
            prop_assert_eq!(s.minutes_to_change(at(now)).map(u32::from), nearest);
        }
    }

    #[test]
    fn next_change_wraps_round_the_week() {
        let s = weekdays();
        assert_eq!(s.minutes_to_change(at(0)), Some(360));
        assert_eq!(s.minutes_to_change(at(360)), Some(960));
        assert_eq!(s.minutes_to_change(at(4 * 1440 + 1320)), Some(2 * 1440 + 120 + 360));
        assert_eq!(Schedule::default().minutes_to_change(at(0)), None);
    }
}
