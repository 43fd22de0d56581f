//! `simulate`: the plant under its own control logic on real weather.

mod alarm;
mod calls;
mod drawn;
mod faults;
mod findings;
mod open_loop;
mod paper;
mod unheard;

pub(super) use paper::event_lines;

use super::{Common, Failure, PlantFile, WeatherFile, plan, plot::Plot};
use crate::{
    field::wired::Wired,
    finding::Finding,
    link::{self, Linked},
    plant::Loaded,
    series::SeriesFile,
    show::{
        Format, Report,
        progress::Progress,
        spool::Spool,
        units::{In, tidy},
    },
};
use clap::Args;
use heatwright_core::{BoilerId, ContactUse, PumpId, SensorUse, Severity, Subject, ZoneId};
use heatwright_sim::{
    fault::{Acting, FaultyWires},
    outdoor::Outdoor,
    run::{self, Options, Sample, Watch},
    traces::Replayed,
    wires::{Ideal, Wires},
};
use jiff::civil::{Date, DateTime};
use std::{io::Write as _, path::PathBuf};

/// Run the plant under its own control logic on real weather.
#[derive(Debug, Args)]
pub(super) struct Simulate {
    #[command(flatten)]
    file: PlantFile,
    #[command(flatten)]
    weather: WeatherFile,
    /// Days to run.
    #[arg(long, default_value_t = 7, value_parser = super::days, allow_hyphen_values = true)]
    days: u32,
    /// First day, like 2015-01-05; without it the coldest stretch of that length is taken.
    #[arg(long, value_name = "DATE", value_parser = super::date)]
    from: Option<Date>,
    /// Run through the wiring plan's own network instead of ideal wires.
    #[arg(long)]
    wired: bool,
    /// Where the controller runs. A board at a port acts on invented readings: disconnect its field wiring first.
    #[arg(long, value_enum, default_value_t)]
    controller: Where,
    /// The image 'link' that 'scripts/firmware' builds, for an emulated controller.
    #[arg(long, value_name = "FILE", required_if_eq("controller", "emulated"))]
    image: Option<PathBuf>,
    /// The serial port that the board hangs on, for a controller on a port.
    #[arg(long, value_name = "DEVICE", required_if_eq("controller", "port"))]
    port: Option<PathBuf>,
    /// How many of the first events to print.
    #[arg(long, default_value_t = 24, value_name = "COUNT", value_parser = count)]
    events: usize,
    /// Minutes between lines of the series that `--format csv` or `--series` gives [default: 60].
    #[arg(long, value_name = "MINUTES", value_parser = minutes)]
    sample: Option<u32>,
    #[command(flatten)]
    plot: Plot,
    /// Write the series into this file as the run goes, FILE.csv or FILE.parquet.
    #[arg(long, value_name = "FILE")]
    series: Option<PathBuf>,
    /// Make something fail, ID=HOW@HOURS[-HOURS] of the run: b1=lockout@30, outdoor=open@24-48, p-b1=stopped@30; once for each.
    #[arg(long = "fault", value_name = "FAULT", value_parser = faults::typed)]
    faults: Vec<faults::Typed>,
    /// Recorded thermostats (CSV: time, then 0 or 1 a zone) in place of the model's.
    #[arg(long, value_name = "FILE")]
    calls: Option<PathBuf>,
    /// Recorded temperatures (CSV: time, then a sensor each with its unit): the controller is driven by them, open loop.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["weather", "utc_offset", "days", "from", "wired", "controller", "plot", "faults"])]
    recorded: Option<PathBuf>,
}

/// Where the controller runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
enum Where {
    /// In this process.
    #[default]
    InProcess,
    /// On an emulated board: every tick in the image.
    Emulated,
    /// On a board at a serial port.
    Port,
}

/// An option that does nothing with this controller.
fn idle(option: &str, controller: &str) -> Finding {
    let sentence = format!("{option} does nothing unless --controller is {controller}");
    Finding::new("F08", Severity::Error, Subject::Plant, sentence).hint("leave it out, or choose that controller")
}

/// Stands before and under a run with a real board.
const FICTITIOUS: &str = "Caution: the board is given simulated readings and acts on them. With its field wiring connected, burners and \
    pumps start on temperatures that nobody measured. Disconnect the field wiring, and leave every limit and safety of the plant in \
    force; who works on it is licensed for it, and local codes rule.";

/// About so many samples make a chart.
const CHART_SAMPLES: u32 = 2_016;

impl Simulate {
    /// Minutes between samples: those of the series, or the largest whole part of them that a chart needs.
    fn every_min(&self) -> u32 {
        let fine = (self.days * 1_440 / CHART_SAMPLES).max(1);
        let rows = self.row_min();
        let part = (1..=rows.min(fine)).rev().find(|m| rows.is_multiple_of(*m));
        if self.plot.wanted() { part.unwrap_or(1) } else { rows }
    }

    /// Minutes between lines of the series.
    fn row_min(&self) -> u32 {
        self.sample.unwrap_or(60)
    }

    /// The controller at the other end of a link, where one is asked for.
    fn linked(&self, l: &Loaded) -> Result<Option<Linked>, Failure> {
        let opened = match (self.controller, &self.image, &self.port) {
            (Where::InProcess | Where::Port, Some(_), _) => return Err(idle("--image", "emulated").into()),
            (Where::InProcess | Where::Emulated, _, Some(_)) => return Err(idle("--port", "port").into()),
            (Where::Emulated, Some(image), _) => link::emulator::start(image, &l.config),
            #[cfg(unix)]
            (Where::Port, _, Some(port)) => link::serial::open_port(port, &l.config),
            _ => return Ok(None),
        };
        opened.map(Some).map_err(|e| {
            Finding::new("S03", Severity::Error, Subject::Plant, format!("no controller at the other end: {e}"))
                .hint("'scripts/firmware' builds the image; 'heatwright firmware PLANT --block FILE' writes what the board runs")
                .into()
        })
    }

    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        self.plot.judge(common)?;
        if self.sample.is_some() && self.series.is_none() && common.format != Format::Csv {
            let sentence = "--sample does nothing without a series: this run prints none and writes none";
            return Err(Finding::new("F08", Severity::Error, Subject::Plant, sentence)
                .hint("leave it out, or write the series with --series FILE.csv or print it with --format csv")
                .into());
        }
        if let Some(path) = &self.series {
            super::plot::target(path, &crate::series::ENDINGS, "a series", common)?;
        }
        let loaded = self.file.read()?;
        if self.recorded.is_some() {
            loaded.need_controller("a run on recorded temperatures")?;
        }
        if self.controller != Where::InProcess {
            loaded.need_controller("a run on a board")?;
        }
        if let Some(recorded) = &self.recorded {
            let asked = open_loop::Asked {
                recorded,
                calls: self.calls.as_deref(),
                series: self.series.as_deref(),
                sample_min: self.row_min(),
                events: self.events,
            };
            return open_loop::run(&asked, &loaded, common);
        }
        let calls = self.calls.as_deref().map(|p| calls::Calls::read(p, &loaded)).transpose()?;
        let weather = self.weather.read()?;
        let series = match self.from.or_else(|| calls.as_ref().map(|c| c.traces.start().date())) {
            Some(day) => weather.series.days(day, self.days),
            None => weather.series.coldest_days(self.days),
        }
        .map_err(|e| super::weather_finding(&weather.label, &e))?;
        if let Some(c) = &calls {
            c.covers(series.start(), self.days)?;
        }
        let replayed = calls.as_ref().map(|c| Replayed::new(&series, &c.traces, &c.callers, series.start()));
        let outdoor: &dyn Outdoor = match &replayed {
            Some(r) => r,
            None => &series,
        };
        let wired = if self.wired { Some(solved(&loaded)?) } else { None };
        let options = Options {
            duration_s: f64::from(self.days) * 86_400.0,
            sample_s: f64::from(self.every_min()) * 60.0,
            curve_setback: findings::curve_setback(&loaded),
            ..Options::default()
        };
        let failing = faults::find(&self.faults, &loaded, options.duration_s / 3600.0)?;
        let script = faults::script(&failing, options.warm_up_s);
        let fresh = || -> run::Fresh {
            let wires: Box<dyn Wires + Send> = match &wired {
                Some(w) => Box::new(w.clone()),
                None => Box::new(Ideal::new(&loaded.physics)),
            };
            let wires: Box<dyn Wires + Send> = if failing.is_empty() {
                wires
            } else {
                Box::new(FaultyWires::new(wires, &loaded.physics, script.clone()))
            };
            (loaded.control(), wires)
        };
        let (heads, decimals): (Vec<_>, Vec<_>) = series_columns(&loaded, In(common.units)).into_iter().unzip();
        let file = self.series.as_deref().map(|p| SeriesFile::new(p, series.start(), &heads)).transpose()?;
        let columns: Vec<String> = std::iter::once("Time".to_owned()).chain(heads.iter().cloned()).collect();
        let mut watch = Looker {
            rows: (common.format == Format::Csv).then(|| Spool::new(&columns)).transpose()?,
            file: file.map(Ok),
            decimals,
            row_min: self.row_min(),
            drawn: self.plot.wanted().then(|| drawn::Drawn::new(&loaded, &series, self.every_min())),
            loaded: &loaded,
            units: In(common.units),
            start: series.start(),
            progress: Progress::new("simulating", common.quiet),
        };
        if self.controller == Where::Port {
            // Before the board is told anything, and whatever else is kept quiet.
            let _ = writeln!(std::io::stderr(), "{FICTITIOUS}");
        }
        let mut linked = self.linked(&loaded)?;
        let mut acting = Acting { script: &script, inner: &mut watch };
        let ran = match &mut linked {
            None => run::run_checked(&loaded.physics, &fresh, outdoor, &options, &mut acting),
            Some(l) => run::run_compared(&loaded.physics, l, &fresh, outdoor, &options, &mut acting),
        }
        .map_err(|e| super::stopped(&e))?;
        let far = match &mut linked {
            None => None,
            Some(l) => Some((l.ticks(), l.digest().map_err(|e| super::stopped(&e))?)),
        };
        let rows = watch.rows.take().map(Spool::finish).transpose()?;
        if let Some(d) = watch.drawn.take() {
            self.plot.write(common, || d.chart(In(common.units), &weather.label))?;
        }
        let file = watch.file.take();
        drop(watch);
        let rows_written = match file {
            Some(f) => Some(f?.finish(common.force)?),
            None => None,
        };
        let told = paper::Told { events: self.events, wired: self.wired, failing: &failing };
        let mut r = paper::report(&loaded, &series, &weather.label, &ran, common.shown(), &told);
        if let Some((ticks, digest)) = far {
            let place = if self.controller == Where::Emulated { "an emulated board" } else { "the board at the port" };
            r.text(format!(
                "Every tick was made on {place}: {ticks} ticks, each with the outputs of the same logic in this process, and the \
                 same state at the end (digest {digest:016x})."
            ));
            if self.controller == Where::Port {
                r.text(FICTITIOUS);
            }
            if let Some(json) = r.json.as_object_mut() {
                json.insert("linked".into(), serde_json::json!({ "ticks": ticks, "digest": format!("{digest:016x}") }));
            }
        }
        if let Some(c) = &calls {
            c.tell(&loaded, series.start(), "the model's own thermostats call", &mut r);
        }
        if let (Some(count), Some(path)) = (rows_written, &self.series) {
            r.text(format!("{count} rows of the series stand in {}.", path.display()));
        }
        if series.stands_still() {
            r.text(
                "This weather stands still for a day or more, as air never does; the controller would take its outdoor sensor for \
                 broken. Outdoors is 0.1 °F (0.06 K) warmer for 20 minutes twice a day while it does.",
            );
        }
        super::weather_notes(&series, &mut r);
        loaded.assumed_count(&mut r);
        r.spooled = rows;
        Ok(r)
    }
}

fn minutes(given: &str) -> Result<u32, String> {
    super::whole(given, 1..=1440).map(|n| n as u32)
}

fn count(given: &str) -> Result<usize, String> {
    super::whole(given, 0..=1_000_000).map(|n| n as usize)
}

/// The wires of the plan, ready for a run.
fn solved(l: &Loaded) -> Result<Wired, Failure> {
    let (_, plan) = plan(l)?;
    let made = if l.controlled() {
        Wired::new(&plan.devices, &plan.rows, &l.points)
    } else {
        Wired::without_controller(&plan.devices, &plan.rows, Ideal::new(&l.physics))
    };
    made.map_err(|faults| {
        let findings = faults
            .iter()
            .map(|f| {
                Finding::new("J02", Severity::Error, Subject::Plant, format!("the schedule makes no network: {f}"))
            })
            .collect();
        Failure(l.refuse(findings))
    })
}

/// Collects the series and shows progress.
struct Looker<'a> {
    /// The rows for `--format csv`.
    rows: Option<Spool>,
    /// The series' own file, when one is wanted, or what became of it.
    file: Option<Result<SeriesFile, Finding>>,
    /// Decimals of each column of them.
    decimals: Vec<usize>,
    /// Minutes between rows.
    row_min: u32,
    /// What the chart needs, when one is wanted.
    drawn: Option<drawn::Drawn>,
    loaded: &'a Loaded,
    units: In,
    start: DateTime,
    progress: Progress,
}

/// The series' columns of numbers: heads, and the decimals that a row on paper shows of each.
fn series_columns(l: &Loaded, u: In) -> Vec<(String, usize)> {
    let (t, n) = (u.temp_unit(), &l.names);
    let temp = |what: &str| (format!("{what}, {t}"), 1);
    let mut columns: Vec<_> = ["Outdoor", "Target", "Supply", "Return"].map(temp).into();
    let zones = || (0..l.plant.zones.len()).map(|z| n.zone(ZoneId(z as u8)));
    let boilers = || (0..l.plant.boilers.len()).map(|b| n.boiler(BoilerId(b as u8)));
    columns.extend(zones().map(|z| temp(&z)));
    columns.extend(boilers().map(|b| (format!("{b} rate, %"), 0)));
    columns.extend(l.plant.tank.iter().map(|_| temp("Tank")));
    columns.extend(boilers().map(|b| temp(&format!("{b} outlet"))));
    columns.extend(boilers().map(|b| temp(&format!("{b} entering"))));
    columns.extend(mixed(l).map(|z| temp(&format!("{} mixed supply", n.zone(z)))));
    columns.extend(mixed(l).map(|z| temp(&format!("{} mixed target", n.zone(z)))));
    columns.extend(zones().map(|z| (format!("{z} calls, 0 or 1"), 0)));
    columns.extend((0..l.plant.pumps.len()).map(|p| (format!("{} runs, 0 or 1", n.pump(PumpId(p as u8))), 0)));
    columns
}

/// Zones behind a mixing valve.
fn mixed(l: &Loaded) -> impl Iterator<Item = ZoneId> {
    let mixes = |(z, zone): (u8, &heatwright_sim::plant::Zone)| zone.mix.is_some().then_some(ZoneId(z));
    (0u8..).zip(&l.physics.zones).filter_map(mixes)
}

impl Looker<'_> {
    /// One row of the series.
    fn values(&self, s: &Sample<'_>) -> Vec<Option<f64>> {
        let temp = |c: f64| Some(self.units.temp(c));
        let bit = |is: bool| Some(f64::from(u8::from(is)));
        let mut row = vec![
            temp(s.state.outdoor_c),
            s.outputs.target.and_then(|t| temp(f64::from(t.centi_c()) / 100.0)),
            temp(s.model.true_c(s.state, SensorUse::Supply)),
            temp(s.model.true_c(s.state, SensorUse::Return)),
        ];
        row.extend(s.state.zones.air_c().map(temp));
        row.extend(s.state.boilers.iter().map(|b| {
            let rate = if b.state.burner.lit() { b.state.rate } else { 0.0 };
            Some(rate * 100.0)
        }));
        if self.loaded.plant.tank.is_some() {
            row.push(temp(s.model.true_c(s.state, SensorUse::Tank)));
        }
        let outlet = |b: usize| SensorUse::BoilerOutlet(BoilerId(b as u8));
        row.extend((0..s.state.boilers.len()).map(|b| temp(s.model.true_c(s.state, outlet(b)))));
        row.extend(s.state.boilers.iter().map(|b| temp(b.flux.return_c)));
        row.extend(mixed(self.loaded).map(|z| temp(s.model.true_c(s.state, SensorUse::Mixed(z)))));
        let told = |z: ZoneId| s.mixed.get(z.index()).copied().flatten();
        row.extend(mixed(self.loaded).map(|z| told(z).and_then(|t| temp(f64::from(t.centi_c()) / 100.0))));
        let calls = |z: u8| self.loaded.config.points.contact(ContactUse::Call(ZoneId(z))).map(|c| s.inputs.closed(c));
        row.extend((0u8..).zip(s.state.zones.iter()).map(|(z, now)| bit(calls(z).unwrap_or(now.thermostat.calls))));
        row.extend((0..self.loaded.plant.pumps.len()).map(|p| bit(s.powered.pumps >> p & 1 == 1)));
        row
    }
}

impl Watch for Looker<'_> {
    fn sample(&mut self, s: &Sample<'_>) {
        let u = self.units;
        if let Some(d) = &mut self.drawn {
            d.sample(s, u);
        }
        // A chart may look more often than the series has rows.
        if !((s.at_s / 60.0).round() as u64).is_multiple_of(u64::from(self.row_min)) {
            return;
        }
        let values = self.values(s);
        if let Some(Ok(f)) = &mut self.file
            && let Err(e) = f.row(s.at_s, &values)
        {
            // The run goes on; what was lost is told at its end, and no file is kept.
            self.file = Some(Err(e));
        }
        let cell = |(v, decimals): (&Option<f64>, &usize)| v.map_or(String::new(), |v| tidy(v, *decimals));
        let cells = values.iter().zip(&self.decimals).map(cell);
        if let Some(rows) = &mut self.rows {
            rows.row(std::iter::once(crate::series::stamp(self.start, s.at_s)).chain(cells));
        }
    }

    fn progress(&mut self, done: f64) {
        self.progress.at(done);
    }
}

/// Wall-clock time of a moment of the run.
fn clock(start: DateTime, at_s: f64) -> String {
    let at = start.checked_add(jiff::SignedDuration::from_secs(at_s as i64)).unwrap_or(start);
    at.strftime("%Y-%m-%d %H:%M:%S").to_string()
}
