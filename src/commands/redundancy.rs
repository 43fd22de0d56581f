//! `redundancy`: boilers fail in the cold, and what the rooms do.

use super::{Common, Failure, PlantFile, WeatherFile};
use crate::{
    plant::Loaded,
    show::{
        Report, Table,
        progress::Shared,
        units::{In, tidy},
    },
};
use clap::Args;
use heatwright_core::Subject;
use heatwright_sim::{
    control::Control,
    run::Options,
    study::redundancy::{self, Case, Outage},
    weather::{ColdSnap, Series},
};
use jiff::civil::Date;

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
}

impl Redundancy {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        let loaded = self.file.read()?;
        let (series, words) = self.series(&loaded, In(common.units))?;
        let options = Options { duration_s: f64::from(self.days + 1) * 86_400.0, ..Options::default() };
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
        let mut r = report(&loaded, &found, &words, self.days, In(common.units));
        super::weather_notes(&series, &mut r);
        Ok(r)
    }

    /// The weather of the runs, and how to speak of it.
    fn series(&self, l: &Loaded, u: In) -> Result<(Series, String), Failure> {
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
        // A Monday: the week's schedule runs as on working days.
        let series = snap
            .series(Date::constant(2001, 1, 1), self.days + 1)
            .map_err(|e| super::weather_finding("the made-up cold snap", &e))?;
        Ok((series, format!("a cold snap at the design temperature ({} on average)", u.temp_text(cold_c))))
    }
}

fn report(l: &Loaded, found: &[Outage], weather: &str, days: u32, u: In) -> Report {
    let mut r = Report::new(format!("Redundancy of {}", l.plant.site.name));
    r.text(format!(
        "Boilers lose their power for {days} days in {weather}. The controller and everything else go on; the boilers left take \
         over by the same control logic. Hours count from the failure."
    ));
    let hours = |h: Option<f64>| h.map_or_else(|| "never".to_owned(), |h| format!("{} h", tidy(h, 1)));
    let marks = MARKS_C.map(|c| u.temp_text(c));
    let heads = [
        "Out".to_owned(),
        "Zone".to_owned(),
        format!(">Before, {}", u.temp_unit()),
        format!(">Lowest, {}", u.temp_unit()),
        format!(">Below {}", marks[0]),
        format!(">Below {}", marks[1]),
    ];
    let mut t = Table::new(&heads.each_ref().map(String::as_str));
    for o in found {
        let out = match o.case {
            Case::None => "none".to_owned(),
            Case::One(b) => l.names.boiler(b).into_owned(),
            Case::All => "all".to_owned(),
        };
        for z in &o.zones {
            // A garage is kept below the mark: that is no consequence of the failure.
            let below = |k: usize| match MARKS_C.get(k) {
                Some(mark_c) if z.before_c < *mark_c => "already".to_owned(),
                _ => hours(z.below_h.get(k).copied().flatten()),
            };
            t.row([
                out.clone(),
                l.names.zone(z.zone).into_owned(),
                tidy(u.temp(z.before_c), 1),
                tidy(u.temp(z.lowest_c), 1),
                below(0),
                below(1),
            ]);
        }
    }
    r.main_table(t);
    r.heading("What it means");
    for o in found {
        let Some(coldest) = o.coldest() else { continue };
        let zone = l.names.title(Subject::Zone(coldest.zone)).into_owned();
        let low = u.temp_text(coldest.lowest_c);
        let first = |k: usize| match o.first_below(k) {
            Some((z, h)) => {
                format!("{} is below {} after {}", l.names.title(Subject::Zone(z)), marks[k], hours(Some(h)))
            }
            None => format!("no zone falls below {}", marks[k]),
        };
        r.item(match o.case {
            Case::None => format!("With all boilers the coldest zone is {zone}, at {low}."),
            Case::One(b) => {
                let all_w: f64 = l.physics.boilers.iter().map(|b| b.input_w).sum();
                let lost = l.physics.boilers.get(b.index()).map_or(0.0, |b| b.input_w / all_w);
                format!(
                    "With {} out, the largest ({} % of the input), {}; {}. Coldest: {zone}, {low}.",
                    l.names.title(Subject::Boiler(b)),
                    tidy(100.0 * lost, 0),
                    first(0),
                    first(1)
                )
            }
            Case::All => format!("With all out, {}; {}. Coldest: {zone}, {low}.", first(0), first(1)),
        });
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
                "below_h": z.below_h,
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
    });
    r
}
