//! `[schedule.*]`: weekly hours as people write them, `"mon-fri 07:00-18:00"`.

use crate::{finding::Finding, plant::cursor::Cursor};
use heatwright_core::{Level, Schedule, ScheduleId, Severity, Subject, limits::SCHEDULE_STEPS, schedule::Step};

const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
const WEEK: usize = 7 * 1440;

pub(in crate::plant) fn schedules(root: &Cursor<'_>) -> Vec<(String, Schedule)> {
    root.named("schedule", "Weekly schedules.", |i| Subject::Schedule(ScheduleId(i)))
        .into_iter()
        .map(|(id, c)| {
            let ranges = c.texts(
                "occupied",
                "Occupied hours: texts of days, a space and two times. Days: one (\"sat 09:00-13:00\"), a span (\"mon-fri 07:00-18:00\", \"sat-mon ...\") or a list (\"tue,thu ...\"). Times: 00:00 to 24:00; a second one that is not after the first is on the next day; left out: must be written.",
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
            Ok((days, from, to)) => {
                if to <= from {
                    let shown = crate::plant::quantity::clip(r);
                    c.ctx.tell(
                        Finding::new("P65", Severity::Note, c.subject, format!("`{shown}` ends on the next day"))
                            .field("occupied")
                            .at(c.span_of("occupied"))
                        .hint("write two stretches, such as \"mon 00:00-07:00\" and \"mon 18:00-24:00\", if the night is not meant"),
                    );
                }
                let long = if to > from { to - from } else { to + 1440 - from };
                for m in days.iter().flat_map(|d| (0..long).map(move |m| (d * 1440 + from + m) % WEEK)) {
                    if let Some(slot) = week.get_mut(m) {
                        *slot = true;
                    }
                }
            }
            Err(why) => c.ctx.tell(
                c.fault(
                    "occupied",
                    "P31",
                    format!("`{}` is not a stretch of the week: {why}", crate::plant::quantity::clip(r)),
                )
                .hint("write days and times like \"mon-fri 07:00-18:00\", \"sun 09:00-24:00\" or, over night, \"mon-fri 17:00-06:30\""),
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

/// Days, first and last minute of a stretch like `mon-fri 07:00-18:00`; a last one that is not after the first is on the next day. Or
/// what is wrong with it.
fn hours(text: &str) -> Result<(Vec<usize>, usize, usize), String> {
    let lower = text.trim().to_lowercase();
    let (days, times) = lower.split_once(char::is_whitespace).ok_or("it wants days, a space, and two times")?;
    let day = |d: &str| {
        let found = DAYS.iter().position(|n| *n == d.trim());
        found.ok_or_else(|| format!("`{}` is none of {}", crate::plant::quantity::clip(d), DAYS.join(", ")))
    };
    let days = match days.split_once('-') {
        Some((a, b)) => {
            let (a, b) = (day(a)?, day(b)?);
            (0..7).map(|i| (a + i) % 7).take((b + 7 - a) % 7 + 1).collect()
        }
        None => days.split(',').map(day).collect::<Result<Vec<_>, _>>()?,
    };
    let (from, to) = times.trim().split_once('-').ok_or("it wants two times with a dash between them")?;
    let minute = |t: &str, last: bool| match minute_of_day(t) {
        Some(m) => Ok(usize::from(m)),
        None if last && t.trim() == "24:00" => Ok(1440),
        None => {
            let clipped = crate::plant::quantity::clip(t.trim());
            let end = if last { "24:00" } else { "23:59" };
            Err(format!("`{clipped}` is no time of day; times go from 00:00 to {end}"))
        }
    };
    let (from, to) = (minute(from, false)?, minute(to, true)?);
    if from == to {
        return Err("it begins and ends at the same minute; a whole day is 00:00-24:00".into());
    }
    Ok((days, from, to))
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
        assert_eq!(hours("mon-fri 07:00-18:00"), Ok((vec![0, 1, 2, 3, 4], 420, 1080)));
        assert_eq!(hours("sat-mon 9:05-24:00"), Ok((vec![5, 6, 0], 545, 1440)));
        assert_eq!(hours("tue,thu 00:00-00:30"), Ok((vec![1, 3], 0, 30)));
        assert_eq!(hours("mon-fri 17:00-06:30"), Ok((vec![0, 1, 2, 3, 4], 1020, 390)));
        for (bad, why) in [
            ("", "it wants days"),
            ("mon", "it wants days"),
            ("mon 07:00", "two times"),
            ("moo 07:00-08:00", "`moo` is none of mon"),
            ("mon 08:00-08:00", "the same minute"),
            ("mon 06:30-25:00", "`25:00` is no time of day; times go from 00:00 to 24:00"),
            ("mon 24:00-25:00", "`24:00` is no time of day; times go from 00:00 to 23:59"),
            ("mon 7-8", "`7` is no time"),
        ] {
            let said = hours(bad).unwrap_err();
            assert!(said.contains(why), "{bad}: {said}");
        }
    }

    fn steps(occupied: &str) -> (Vec<(u16, Level)>, Vec<String>) {
        let file = include_str!("../../../docs/examples/workshop.toml");
        let file = file.replacen("\"mon-fri 06:30-17:00\", \"sat 07:00-12:00\"", occupied, 1);
        let read =
            crate::plant::read::read("plant.toml", file.as_bytes()).unwrap_or_else(|e| panic!("{:?}", e.findings));
        let notes = read.notes.iter().filter(|f| f.code == "P65").map(|f| f.sentence.clone()).collect();
        let steps = read.plant.schedules[0].steps.iter().map(|s| (s.minute_of_week(), s.level())).collect();
        (steps, notes)
    }

    /// A night shift ends on the morning after, on Sunday night at the head of the week.
    #[test]
    fn a_night_shift_crosses_midnight() {
        let (list, notes) = steps("\"mon 17:00-06:30\"");
        assert_eq!(list, [(17 * 60, Level::Occupied), (1440 + 390, Level::Setback)]);
        assert_eq!(notes, ["`mon 17:00-06:30` ends on the next day"]);
        let (list, _) = steps("\"sun 22:00-02:00\"");
        assert_eq!(list, [(120, Level::Setback), (6 * 1440 + 22 * 60, Level::Occupied)]);
        assert_eq!(steps("\"mon 06:30-17:00\"").1, [""; 0]);
    }
}
