//! `[schedule.*]`: weekly hours as people write them, `"mon-fri 07:00-18:00"`.

use crate::plant::cursor::Cursor;
use heatwright_core::{Level, Schedule, ScheduleId, Subject, limits::SCHEDULE_STEPS, schedule::Step};

const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
const WEEK: usize = 7 * 1440;

pub(in crate::plant) fn schedules(root: &Cursor<'_>) -> Vec<(String, Schedule)> {
    root.named("schedule", "Weekly schedules.", |i| Subject::Schedule(ScheduleId(i)))
        .into_iter()
        .map(|(id, c)| {
            let ranges = c.texts(
                "occupied",
                "Occupied hours, like [\"mon-fri 07:00-18:00\", \"sat 09:00-13:00\"]; left out: must be written.",
                1..=14,
            );
            if ranges.is_none() && c.ctx.schema.is_none() && !c.written("occupied") {
                c.ctx.tell(
                    c.fault("occupied", "P02", format!("[{}] has no `occupied` hours", c.path))
                        .hint("write them like occupied = [\"mon-fri 07:00-18:00\"]"),
                );
            }
            let schedule = schedule(&c, &ranges.unwrap_or_default());
            c.done();
            (id, schedule)
        })
        .collect()
}

fn schedule(c: &Cursor<'_>, ranges: &[String]) -> Schedule {
    let mut week = vec![false; WEEK];
    for r in ranges {
        match hours(r) {
            Some((days, from, to)) => {
                for d in days {
                    for m in from..to {
                        if let Some(slot) = week.get_mut(d * 1440 + m) {
                            *slot = true;
                        }
                    }
                }
            }
            None => c.ctx.tell(
                c.fault(
                    "occupied",
                    "P31",
                    format!("`{}` is not a stretch of the week", crate::plant::quantity::clip(r)),
                )
                .hint("write days and times like \"mon-fri 07:00-18:00\" or \"sun 09:00-24:00\""),
            ),
        }
    }
    let mut out = Schedule::default();
    let mut full = false;
    for m in 0..WEEK {
        let before = week[(m + WEEK - 1) % WEEK];
        if week[m] != before {
            let level = if week[m] { Level::Occupied } else { Level::Setback };
            full |= out.steps.push(Step::new(m as u16, level)).is_err();
        }
    }
    if full {
        c.ctx.tell(
            c.fault("occupied", "P31", format!("[{}] switches more than {SCHEDULE_STEPS} times a week", c.path))
                .hint("join stretches that are close together"),
        );
    }
    if out.steps.is_empty() && !week[0] && !ranges.is_empty() {
        // Nothing of it could be read; the fault is told above.
        return out;
    }
    out
}

/// Days, first and last minute of a stretch like `mon-fri 07:00-18:00`.
fn hours(text: &str) -> Option<(Vec<usize>, usize, usize)> {
    let lower = text.to_lowercase();
    let (days, times) = lower.split_once(' ')?;
    let day = |d: &str| DAYS.iter().position(|n| *n == d.trim());
    let days = match days.split_once('-') {
        Some((a, b)) => {
            let (a, b) = (day(a)?, day(b)?);
            (0..7).map(|i| (a + i) % 7).take((b + 7 - a) % 7 + 1).collect()
        }
        None => days.split(',').map(day).collect::<Option<Vec<_>>>()?,
    };
    let (from, to) = times.trim().split_once('-')?;
    let from = usize::from(minute_of_day(from)?);
    let to = if to.trim() == "24:00" { 1440 } else { usize::from(minute_of_day(to)?) };
    (from < to).then_some((days, from, to))
}

/// Minute of the day of a time like `06:30`.
pub(in crate::plant) fn minute_of_day(text: &str) -> Option<u16> {
    let (h, m) = text.trim().split_once(':')?;
    if h.len() > 2 || m.len() != 2 || !h.chars().chain(m.chars()).all(|c| c.is_ascii_digit()) {
        return None;
    }
    let (h, m): (u16, u16) = (h.parse().ok()?, m.parse().ok()?);
    (h < 24 && m < 60).then_some(h * 60 + m)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_are_read_as_people_write_them() {
        assert_eq!(hours("mon-fri 07:00-18:00"), Some((vec![0, 1, 2, 3, 4], 420, 1080)));
        assert_eq!(hours("sat-mon 9:05-24:00"), Some((vec![5, 6, 0], 545, 1440)));
        assert_eq!(hours("tue,thu 00:00-00:30"), Some((vec![1, 3], 0, 30)));
        for bad in ["", "mon", "mon 07:00", "moo 07:00-08:00", "mon 08:00-07:00", "mon 24:00-25:00", "mon 7-8"] {
            assert_eq!(hours(bad), None, "{bad}");
        }
    }
}
