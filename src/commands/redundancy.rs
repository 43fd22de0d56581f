//! `redundancy`: boilers fail in the cold, and what the rooms do.

use super::{Common, Failure, PlantFile, WeatherFile};
use crate::{
    plant::{Loaded, checked},
    series::SeriesFile,
    show::{
        Report, Table,
        progress::Shared,
        units::{In, tidy},
    },
};
use clap::Args;
use heatwright_core::{Subject, ZoneId};
use heatwright_sim::{
    control::Control,
    run::Options,
    study::redundancy::{self, Case, Outage, Passed, RISEN_S, Seen, UNDER_SET_K, ZoneOutage},
    weather::{ColdSnap, Series},
};
use jiff::civil::Weekday;
use std::path::{Path, PathBuf};

/// The marks, in degrees Celsius: 60 °F and 40 °F (common practice, no source).
const MARKS_C: [f64; 2] = [(60.0 - 32.0) / 1.8, (40.0 - 32.0) / 1.8];
/// The boilers fail this long after the start, in hours: the cold snap has reached its bottom.
const FAILS_H: f64 = 24.0;
/// The snap begins this far above the design temperature, in kelvin, and swings by `RANGE_K` a day: our choice.
const MILD_ABOVE_K: f64 = 15.0;
const RANGE_K: f64 = 5.0;

/// How cold it gets, and how soon, when boilers fail in the cold.
#[derive(Debug, Args)]
pub(super) struct Redundancy {
    #[command(flatten)]
    file: PlantFile,
    /// Take the coldest days of the weather (built-in or `--weather`) in place of a cold snap at the design temperature.
    #[arg(long)]
    real: bool,
    #[command(flatten)]
    weather: WeatherFile,
    /// Days that the boilers stay out, 1 to 30.
    #[arg(long, default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=30), allow_hyphen_values = true)]
    days: u32,
    /// How many changes of each case to print, from the failure on.
    #[arg(long, default_value_t = 0, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(0..=100_000), allow_hyphen_values = true)]
    events: u32,
    /// Write the course of all cases into this file, FILE.csv or FILE.parquet: a row every ten minutes.
    #[arg(long, value_name = "FILE")]
    series: Option<PathBuf>,
}

/// Minutes between rows of the series.
const ROW_MIN: usize = 10;

impl Redundancy {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        if let Some(path) = &self.series {
            super::plot::target(path, &crate::series::ENDINGS, "a series", common)?;
        }
        let loaded = self.file.read()?;
        let (series, weather) = self.weather_of(&loaded, common.shown())?;
        let fails = series.start().checked_add(jiff::SignedDuration::from_secs((FAILS_H * 3600.0) as i64));
        let words = format!("{weather}, from {} on", fails.unwrap_or(series.start()).strftime("%Y-%m-%d %H:%M"));
        let duration_s = f64::from(self.days + 1) * 86_400.0;
        let events_max = if self.events > 0 { Options::default().events_max } else { 0 };
        let options = Options { duration_s, events_max, ..Options::default() };
        let cases = Case::all_of(&loaded.physics);
        let fresh = || -> Box<dyn Control + Send> { loaded.control() };
        let line = Shared::new("letting boilers fail", cases.len(), common.quiet);
        let progress = |_: f64| line.step();
        let found = redundancy::study(
            &loaded.physics,
            &cases,
            (&series, &options),
            (FAILS_H * 3600.0, &MARKS_C),
            &fresh,
            &progress,
        )
        .map_err(|e| super::stopped(&e))?;
        drop(line);
        let mut r = report(&loaded, &found, &words, self.days, common.shown());
        for o in found.iter().filter(|_| self.events > 0) {
            let told = (&o.events[..], o.events_dropped, Some(FAILS_H * 3600.0));
            let head = format!("What switched, and why: {} out", out_of(&loaded, o.case));
            super::simulate::event_lines(&mut r, &loaded, series.start(), (head.as_str(), told), self.events as usize);
        }
        if let Some(path) = &self.series {
            let rows = course(path, &loaded, &found, &series, In(common.units), common.force)?;
            r.text(format!("{rows} rows of the course of all cases stand in {}.", path.display()));
        }
        super::weather_notes(&series, &mut r);
        Ok(r)
    }

    /// The weather of the runs, and how to speak of it.
    fn weather_of(&self, l: &Loaded, u: In) -> Result<(Series, String), Failure> {
        if self.real || self.weather.weather.is_some() {
            let weather = self.weather.read()?;
            let series =
                weather.series.coldest_days(self.days + 1).map_err(|e| super::weather_finding(&weather.label, &e))?;
            let words = format!("the coldest days of {} ({} on average)", weather.label, u.temp_text(series.mean_c()));
            return Ok((series, words));
        }
        let cold_c = l.physics.site.design_outdoor_c;
        let snap = ColdSnap {
            mild_c: cold_c + MILD_ABOVE_K,
            cold_c,
            lead_h: 0.5 * FAILS_H,
            fall_h: 0.5 * FAILS_H,
            hold_h: 24.0 * f64::from(self.days),
            rise_h: 0.0,
            range_k: RANGE_K,
            warmest_h: 15.0,
        };
        // A Monday, so that the week's schedule runs as on working days: the first of the weather year.
        let from = self.weather.read()?.series.start().date();
        let series = snap
            .series(from.nth_weekday(1, Weekday::Monday).unwrap_or(from), self.days + 1)
            .map_err(|e| super::weather_finding("the made-up cold snap", &e))?;
        Ok((series, format!("a cold snap at the design temperature ({} on average)", u.temp_text(cold_c))))
    }
}

/// Which boilers are out, by their ids.
fn out_of(l: &Loaded, case: Case) -> String {
    match case {
        Case::None => "none".to_owned(),
        Case::One(b) => l.names.boiler(b).into_owned(),
        Case::All => "all".to_owned(),
    }
}

/// Writes what all cases did side by side, and says how many rows that are.
fn course(path: &Path, l: &Loaded, found: &[Outage], weather: &Series, u: In, force: bool) -> Result<u64, Failure> {
    let t = u.temp_unit();
    let mut heads = vec![format!("Outdoor, {t}")];
    for o in found {
        let out = out_of(l, o.case);
        heads.push(format!("{out} out: supply, {t}"));
        heads.extend((0..l.plant.zones.len()).map(|z| format!("{out} out: {}, {t}", l.names.zone(ZoneId(z as u8)))));
    }
    let mut file = SeriesFile::new(path, weather.start(), &heads)?;
    let count = found.iter().map(|o| o.seen.len()).min().unwrap_or(0);
    for k in (0..count).step_by(ROW_MIN) {
        let seen: Vec<&Seen> = found.iter().filter_map(|o| o.seen.get(k)).collect();
        let Some(first) = seen.first() else { continue };
        let each = seen.iter().flat_map(|s| std::iter::once(s.supply_c).chain(s.air_c.iter().copied()));
        let values: Vec<Option<f64>> = std::iter::once(first.outdoor_c).chain(each).map(|c| Some(u.temp(c))).collect();
        file.row(first.at_s, &values)?;
    }
    Ok(file.finish(force)?)
}

/// Hours where there are any, and the word for it: cells for programs.
fn apart(p: Option<&Passed>) -> [String; 2] {
    match p {
        Some(Passed::After(h)) => [tidy(*h, 2), "after".into()],
        Some(Passed::Anyway) => [String::new(), "anyway".into()],
        Some(Passed::Kept) => [String::new(), "kept so".into()],
        Some(Passed::Never) | None => [String::new(), "never".into()],
    }
}

fn report(l: &Loaded, found: &[Outage], weather: &str, days: u32, u: In) -> Report {
    let mut r = Report::of(&l.source, format!("Redundancy of {}", l.plant.site.name));
    let rest = match l.plant.panel.control {
        checked::Control::Controller => {
            "The controller and everything else go on; the boilers left take over by the same control logic."
        }
        checked::Control::ZoneRelays => {
            "The relays and everything else go on; there is no controller, and the boilers left go on by their own reset."
        }
    };
    r.text(format!("Boilers lose their power for {days} days in {weather}. {rest} Hours count from the failure."));
    r.text(super::basis::peak(l, u));
    let marks = MARKS_C.map(|c| u.temp_text(c));
    let heads = [
        "Out".to_owned(),
        "Zone".to_owned(),
        format!(">Set, {}", u.temp_unit()),
        format!(">Lowest, {}", u.temp_unit()),
        format!(">By it, {}", u.diff_unit()),
        ">Under set".to_owned(),
        format!(">Below {}", marks[0]),
        format!(">Below {}", marks[1]),
    ];
    let cell = |p: Option<&Passed>| match p {
        Some(Passed::After(h)) => format!("{} h", tidy(*h, 1)),
        Some(Passed::Anyway) => "anyway".to_owned(),
        Some(Passed::Kept) => "kept so".to_owned(),
        Some(Passed::Never) | None => "never".to_owned(),
    };
    let mut t = Table::new(&heads.each_ref().map(String::as_str));
    // For programs: a number or a word a cell, the unit in the head.
    let mut plain = vec![
        "Out".to_owned(),
        "Zone".to_owned(),
        format!(">Set, {}", u.temp_unit()),
        format!(">Lowest, {}", u.temp_unit()),
        format!(">By it, {}", u.diff_unit()),
    ];
    for what in ["Under set".to_owned(), format!("Below {}", marks[0]), format!("Below {}", marks[1])] {
        plain.extend([format!(">{what}, h"), what]);
    }
    let mut wide = Table::new(&plain.iter().map(String::as_str).collect::<Vec<_>>());
    for o in found {
        let out = out_of(l, o.case);
        for z in &o.zones {
            let set = l.plant.zones.get(z.zone.index()).map_or(String::new(), |p| tidy(u.temp(p.room.c), 1));
            let due = if o.case == Case::None { "-".into() } else { tidy(u.diff(z.due_k), 1) };
            let mut cells = vec![
                out.clone(),
                l.names.zone(z.zone).into_owned(),
                set.clone(),
                tidy(u.temp(z.lowest_c), 1),
                due.clone(),
            ];
            for p in [Some(&z.under_set), z.below.first(), z.below.get(1)] {
                cells.extend(apart(p));
            }
            wide.row(cells);
            t.row([
                out.clone(),
                l.names.zone(z.zone).into_owned(),
                set,
                tidy(u.temp(z.lowest_c), 1),
                due,
                cell(Some(&z.under_set)),
                cell(z.below.first()),
                cell(z.below.get(1)),
            ]);
        }
    }
    r.table(t);
    r.main = wide;
    r.text(format!(
        "By it: how much colder than with all boilers in the same hour, at the most. Under set: more than {} below what its \
         thermostat asks for, setback counted; a setting that has risen counts after {:.0} h. Anyway: it is as cold with all boilers. \
         Kept so: its own setting is no higher.",
        u.diff_text(UNDER_SET_K),
        RISEN_S / 3600.0
    ));
    r.heading("What it means");
    for o in found {
        r.item(meaning(l, o, &marks, u));
    }
    r.text(
        "Not counted: heat between zones, open doors, pipes at an outside wall (they freeze before the room does). \
         The two marks are common practice, without a source.",
    );
    r.json = serde_json::json!({
        "plant": l.plant.site.name,
        "weather": weather,
        "days_out": days,
        "marks_c": MARKS_C,
        "cases": found.iter().map(|o| serde_json::json!({
            "out": match o.case {
                Case::None => serde_json::json!([]),
                Case::One(b) => serde_json::json!([l.names.boiler(b)]),
                Case::All => serde_json::json!("all"),
            },
            "zones": o.zones.iter().map(|z| serde_json::json!({
                "zone": l.names.zone(z.zone),
                "before_c": z.before_c,
                "lowest_c": z.lowest_c,
                "under_set_k": z.under_k,
                "due_k": z.due_k,
                "under_set": passed(&z.under_set),
                "below": z.below.iter().map(passed).collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
    });
    r
}

/// A number of hours, or why there is none.
fn passed(p: &Passed) -> serde_json::Value {
    match p {
        Passed::After(h) => serde_json::json!(h),
        Passed::Anyway => "anyway".into(),
        Passed::Kept => "kept so".into(),
        Passed::Never => serde_json::Value::Null,
    }
}

/// One case in words.
fn meaning(l: &Loaded, o: &Outage, marks: &[String; 2], u: In) -> String {
    let title = |z: ZoneId| l.names.title(Subject::Zone(z)).into_owned();
    let under = format!("more than {} below what its thermostat asks for", u.diff_text(UNDER_SET_K));
    if o.case == Case::None {
        let cold: Vec<String> = o
            .zones
            .iter()
            .filter(|z| matches!(z.under_set, Passed::After(_)))
            .map(|z| format!("{} ({} below, {})", title(z.zone), u.diff_text(z.under_k), u.temp_text(z.lowest_c)))
            .collect();
        let furthest = o.furthest().map_or(String::new(), |z| {
            format!(
                " Furthest: {}, {} below it at {}.",
                title(z.zone),
                u.diff_text(z.under_k.max(0.0)),
                u.temp_text(z.lowest_c)
            )
        });
        return if cold.is_empty() {
            format!("With all boilers no zone is {under}.{furthest}")
        } else {
            format!("With all boilers these are {under} anyway: {}.", cold.join(", "))
        };
    }
    let out = match o.case {
        Case::One(b) => {
            let all_w: f64 = l.physics.boilers.iter().map(|b| b.input_w).sum();
            let lost = l.physics.boilers.get(b.index()).map_or(0.0, |b| b.input_w / all_w);
            format!(
                "With {} out, the largest ({} % of the input),",
                l.names.title(Subject::Boiler(b)),
                tidy(100.0 * lost, 0)
            )
        }
        Case::All | Case::None => "With all out,".to_owned(),
    };
    let first = |what: &str, passed: &dyn Fn(&ZoneOutage) -> Option<Passed>| match o.first(passed) {
        Some((z, h)) => format!("{} is {what} after {} h", title(z), tidy(h, 1)),
        None => format!("no zone gets {what} by it"),
    };
    let hit = o.hardest_hit().map_or(String::new(), |z| {
        format!(
            " Hardest hit: {}, {} colder than with all boilers; {} at the lowest.",
            title(z.zone),
            u.diff_text(z.due_k),
            u.temp_text(z.lowest_c)
        )
    });
    format!(
        "{out} {}; {}; {}.{hit}",
        first(&under, &|z| Some(z.under_set)),
        first(&format!("below {}", marks[0]), &|z| z.below.first().copied()),
        first(&format!("below {}", marks[1]), &|z| z.below.get(1).copied())
    )
}
