//! The subcommands: one file each, arguments and one call.

mod basis;
mod check;
mod checkout;
mod completions;
mod curve;
mod explain;
mod firmware;
mod init;
mod lockout;
mod plot;
mod redundancy;
mod rotation;
mod schema;
mod settings;
mod simulate;
mod water;
mod wire;

use crate::{
    exit::Exit,
    files,
    finding::{Finding, Look},
    plant::{self, Loaded, quantity::Units},
    show::{Format, Report, units::In},
};
use clap::{Args, Parser, Subcommand};
use heatwright_core::{BoilerId, Severity, Subject, config::RotationPolicy};
use heatwright_sim::{
    study::{
        curve::{CurveStudy, Reach, out_of_reach, outlets_near, sizes, study_within, tank_beside},
        short_cycle,
    },
    weather::{self, Series},
};
use heatwright_wiring::{job::Job, plan::Plan};
use jiff::civil::Date;
use std::{
    io::{IsTerminal, Read, Write},
    path::PathBuf,
};

/// Plans the controls of a hot-water heating plant and proves the plan before a wire is pulled.
#[derive(Debug, Parser)]
#[command(
    name = "heatwright",
    version,
    max_term_width = 80,
    after_help = "A planning aid. The local code, the authority having jurisdiction, the equipment's instructions and \
                  licensed practice govern."
)]
pub struct Cli {
    #[command(subcommand)]
    command: Command,
    #[command(flatten)]
    common: Common,
}

impl Common {
    /// Units of the result: a result for programs is in SI units whatever is asked for, as the keys of its numbers say.
    fn shown(&self) -> In {
        if self.format == Format::Json { In::JSON } else { In(self.units) }
    }
}

/// What every subcommand understands.
#[derive(Debug, Args)]
struct Common {
    /// Units of what is shown.
    #[arg(long, global = true, value_enum, default_value_t)]
    units: Units,
    /// How the result is shown.
    #[arg(long, global = true, value_enum, default_value_t)]
    format: Format,
    /// Write the result to this file instead of the screen.
    #[arg(long, short, global = true, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Columns of the text, 80 to 200: 80 where it goes to a file, more for wide paper.
    #[arg(long, global = true, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(80..=200))]
    width: Option<u16>,
    /// Cut the text into pages of so many lines, 30 to 200, each with a head and a form feed: 60 for most printers.
    #[arg(long, global = true, value_name = "LINES", value_parser = clap::value_parser!(u16).range(30..=200))]
    page: Option<u16>,
    /// Write over a file that is already there.
    #[arg(long, global = true)]
    force: bool,
    /// No progress on the error stream.
    #[arg(long, short, global = true)]
    quiet: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Write a commented plant file to start from.
    Init(init::Init),
    /// Check plant, controls and wiring against each other and the rules.
    Check(check::Check),
    /// Supply temperature that each zone needs against outdoor temperature.
    Curve(curve::Curve),
    /// Run the plant under its own control logic on real weather.
    Simulate(simulate::Simulate),
    /// Compare ways of sharing hours among the boilers.
    Rotation(rotation::Rotation),
    /// How cold it gets, and how soon, when boilers fail in the cold.
    Redundancy(redundancy::Redundancy),
    /// Fill pressure, expansion tank, relief valves, boiler flow, condensate.
    Water(water::Water),
    /// What to set on each control, on one sheet to fill in.
    Settings(settings::Settings),
    /// The wiring schedule, terminal by terminal, and its proof.
    Wire(wire::Wire),
    /// Disconnects and lockout points, one sheet an item.
    Lockout(lockout::Lockout),
    /// Commissioning: ring out, measure, trip each safety, drop each safety relay alone.
    Checkout(checkout::Checkout),
    /// Configuration block and pin map for a board.
    Firmware(firmware::Firmware),
    /// What a finding means, why it matters, and how to mend it.
    Explain(explain::Explain),
    /// JSON Schema of the plant file, for an editor.
    Schema(schema::Schema),
    /// Completions for a shell.
    Completions(completions::Completions),
}

/// The plant file that a subcommand works on.
#[derive(Debug, Args)]
struct PlantFile {
    /// The plant file.
    #[arg(value_name = "PLANT")]
    plant: PathBuf,
}

impl PlantFile {
    /// Reads and checks the plant.
    fn read(&self) -> Result<Loaded, Failure> {
        let text =
            files::read(&self.plant).map_err(|f| f.hint("'heatwright init PLANT.toml' makes a file to start from"))?;
        plant::load(&self.plant.to_string_lossy(), &text).map_err(Failure)
    }
}

/// The weather that a subcommand works with.
#[derive(Debug, Args)]
struct WeatherFile {
    /// Weather file (EPW, TMY3, ISD-Lite or CSV); without it the built-in real year is taken.
    #[arg(long, value_name = "FILE")]
    weather: Option<PathBuf>,
    /// The site's standard time minus UTC, in hours, for weather files in UTC: -6 for Chicago.
    #[arg(long, value_name = "HOURS", allow_hyphen_values = true, value_parser = utc_offset)]
    utc_offset: Option<i32>,
}

/// A whole number in a range, refused in plain words.
fn whole(given: &str, allowed: std::ops::RangeInclusive<i64>) -> Result<i64, String> {
    let ends = || format!("write a whole number from {} to {}", allowed.start(), allowed.end());
    given.parse().ok().filter(|n| allowed.contains(n)).ok_or_else(ends)
}

fn utc_offset(given: &str) -> Result<i32, String> {
    whole(given, -14..=14).map(|n| n as i32)
}

/// Days of a run.
fn days(given: &str) -> Result<u32, String> {
    whole(given, 1..=366).map(|n| n as u32)
}

/// Weather and what to call it.
struct WeatherRead {
    series: Series,
    label: String,
}

impl WeatherFile {
    fn read(&self) -> Result<WeatherRead, Failure> {
        let options =
            weather::Options { utc_offset_min: self.utc_offset.map(|h| h * 60), ..weather::Options::default() };
        let (series, label) = match &self.weather {
            None if self.utc_offset.is_some() => {
                let sentence = "--utc-offset does nothing without --weather: the built-in year is in local time";
                return Err(Finding::new("F08", Severity::Error, Subject::Plant, sentence)
                    .hint("leave it out, or give the weather file that is in UTC")
                    .into());
            }
            None => (weather::builtin(), "the built-in year".to_owned()),
            Some(path) => {
                let bytes = files::read(path)?;
                let label = path.to_string_lossy().into_owned();
                // Times of a table that carry no offset are local: what was given would do nothing.
                if self.utc_offset.is_some()
                    && matches!(weather::detect(&bytes), Ok(weather::Format::Csv))
                    && weather::parse(&bytes, &label, &weather::Options::default()).is_ok()
                {
                    let sentence =
                        format!("--utc-offset does nothing with {label}: its times carry no offset and are local");
                    return Err(Finding::new("F08", Severity::Error, Subject::Plant, sentence)
                        .hint("leave it out, or write the times with Z if they are in UTC")
                        .into());
                }
                (weather::parse(&bytes, &label, &options), label)
            }
        };
        let series = series.map_err(|e| weather_finding(&label, &e))?;
        Ok(WeatherRead { series, label })
    }
}

/// Weather of days in heating is not as warm as this on average, in degrees Celsius: our choice.
const NOBODY_HEATS_C: f64 = 25.0;

/// Says what was mended in the weather that is used, and doubts what cannot be heated in.
fn weather_notes(series: &Series, r: &mut Report) {
    for n in series.notes() {
        r.item(format!("weather repaired: {n}"));
    }
    let mean_c = series.mean_c();
    if mean_c > NOBODY_HEATS_C {
        r.text(format!(
            "This weather is {:.1} °F ({mean_c:.1} °C) on average, where nobody heats. If the file's numbers are °F, name their column \
             `dry_bulb_f`.",
            mean_c * 1.8 + 32.0
        ));
    }
}

fn weather_finding(label: &str, e: &weather::WeatherError) -> Finding {
    use weather::WeatherError as E;
    let mend = match e {
        E::OffsetMissing | E::OffsetRange { .. } | E::OffsetContradicts { .. } => {
            "give --utc-offset HOURS, the site's standard time: -6 for Chicago, 1 for Berlin"
        }
        E::OutsideSeries { .. } => {
            "choose days that it holds with --from and --days, or give another file with --weather"
        }
        E::WindowTooLong { .. } => "run fewer days (--days), or give a longer file with --weather",
        E::Gap { .. } | E::OutOfRange { .. } | E::Spike { .. } | E::WrongUnit { .. } => {
            "look at that stretch of the file; another stretch is chosen with --from and --days where it is whole"
        }
        E::Empty | E::TooLarge { .. } | E::NotText { .. } | E::UnknownFormat { .. } | E::LineTooLong { .. } => {
            "see that this is the weather file; without --weather the built-in year is taken"
        }
        _ => "mend the file, or fetch it again; 'heatwright explain W01' says what is read",
    };
    Finding::new("W01", Severity::Error, Subject::Plant, format!("the weather of {label}: {e}")).hint(mend)
}

/// A day as people type it.
fn date(given: &str) -> Result<Date, String> {
    let shape = || "write a day like 2015-01-05: year, month, day".to_owned();
    let parts: Vec<&str> = given.split('-').collect();
    let [y, m, d] = parts[..] else { return Err(shape()) };
    if (y.len(), m.len(), d.len()) != (4, 2, 2) {
        return Err(shape());
    }
    let (Ok(year), Ok(month), Ok(day)) = (y.parse(), m.parse(), d.parse()) else { return Err(shape()) };
    Date::new(year, month, day).map_err(|_| "there is no such day in the calendar".to_owned())
}

/// A run that could not be finished.
fn stopped(e: &dyn std::fmt::Display) -> Finding {
    Finding::new("S02", Severity::Error, Subject::Plant, format!("the run stopped: {e}"))
}

/// The study of the curve in effect, with what the controller's settings say of it.
fn curve_study(l: &Loaded, weather: &Series) -> CurveStudy {
    let mut study = study_within(&l.physics, &l.config.reset, Reach::of(&l.config).together(!l.controlled()), weather);
    let near = outlets_near(&l.physics, &l.config, &study);
    study.findings.extend(near);
    let beyond = out_of_reach(&l.config, &study);
    study.findings.extend(beyond);
    let unsaid = l.plant.boilers.iter().zip(0u8..).filter(|(b, _)| b.input_at.is_none());
    let unsaid: Vec<BoilerId> = unsaid.map(|(_, k)| BoilerId(k)).collect();
    let sizes = sizes(&l.physics, &l.config, &study, &unsaid);
    study.findings.extend(sizes);
    if l.controlled() {
        let beside = tank_beside(&l.physics, &l.config, &study);
        study.findings.extend(beside);
    }
    study
}

/// A finding of a study, placed and in words.
fn study_finding(f: &heatwright_sim::study::Finding, l: &Loaded, u: In) -> Finding {
    plant::lower::findings::study(f, &l.names, plant::carrier::kg_l(&l.physics.fluid), u).place(&l.places)
}

/// The same for programs: its numbers under keys that name their units beside the sentence.
fn study_json(f: &heatwright_sim::study::Finding, l: &Loaded) -> serde_json::Value {
    let mut json = study_finding(f, l, In::JSON).to_json(&l.names, Some(&l.source));
    if let Some(map) = json.as_object_mut() {
        map.insert("facts".into(), serde_json::to_value(f.issue).unwrap_or_default());
    }
    json
}

/// The worst short cycles of the boilers that may lead.
fn short_cycles(l: &Loaded) -> (Option<short_cycle::Worst>, Vec<heatwright_sim::study::Finding>) {
    // Where nobody rotates them the boilers go by their own reset, each for itself.
    let policy = if l.controlled() { l.config.rotation.policy } else { RotationPolicy::StartsDifference(1) };
    let leads = short_cycle::leads(&l.physics, policy);
    short_cycle::study(&l.physics, &l.config.reset, l.plant.staging.band.k, &leads)
}

/// The wiring plan of a plant.
fn plan(l: &Loaded) -> Result<(Job, Plan), Failure> {
    let job = l.job();
    let plan = heatwright_wiring::plan::plan(&job).map_err(|faults| {
        let findings = faults
            .iter()
            .map(|f| {
                let sentence = format!("{} cannot be wired: {}", l.names.title(f.subject), f.problem);
                let told = Finding::new("J01", Severity::Error, f.subject, sentence);
                match f.problem.key(f.subject) {
                    Some(key) => told.field(key),
                    None => told,
                }
                .hints(f.problem.mend().map(str::to_owned))
            })
            .collect();
        Failure(l.refuse(findings))
    })?;
    Ok((job, plan))
}

/// Why a subcommand has nothing to show: every finding that stands in the way, already placed.
struct Failure(plant::Refusal);

impl From<Finding> for Failure {
    fn from(f: Finding) -> Self {
        Failure(plant::Refusal::bare(vec![f]))
    }
}

/// Runs a subcommand and says how it ended.
pub fn run(cli: &Cli) -> Exit {
    let common = &cli.common;
    let result = common.output.as_ref().map_or(Ok(()), |p| Ok(files::may_write(p, common.force)?));
    let result = result.and_then(|()| match &cli.command {
        Command::Init(c) => c.run(common),
        Command::Check(c) => c.run(common),
        Command::Curve(c) => c.run(common),
        Command::Simulate(c) => c.run(common),
        Command::Rotation(c) => c.run(common),
        Command::Redundancy(c) => c.run(common),
        Command::Water(c) => c.run(common),
        Command::Settings(c) => c.run(common),
        Command::Wire(c) => c.run(common),
        Command::Lockout(c) => c.run(common),
        Command::Checkout(c) => c.run(common),
        Command::Firmware(c) => c.run(common),
        Command::Explain(c) => c.run(common),
        Command::Schema(c) => c.run(common),
        Command::Completions(c) => c.run(common),
    });
    let shown = result.and_then(|report| show(&report, common).map(|()| report.exit));
    match shown {
        Ok(exit) => exit,
        Err(Failure(refusal)) => {
            let mut err = anstream::stderr();
            let _ = write!(err, "{}", refusal.render(Look { width: 80, color: true }));
            Exit::Unusable
        }
    }
}

/// Puts a report on the screen or into its file.
fn show(report: &Report, common: &Common) -> Result<(), Failure> {
    if common.page.is_some() && (common.format != Format::Text || report.verbatim.is_some()) {
        let sentence = "--page does nothing here: only the text of a report is cut into pages";
        return Err(Finding::new("F08", Severity::Error, Subject::Plant, sentence).hint("leave it out").into());
    }
    let bytes;
    let mut from: Box<dyn Read + '_> = match &report.spooled {
        Some(file) if common.format == Format::Csv => Box::new(&**file),
        Some(_) | None => {
            let columns = common.width.unwrap_or_else(|| width(common.output.is_some()));
            bytes = match common.page {
                Some(lines) => report.paged(columns, usize::from(lines)).into_bytes(),
                None => report.render(common.format, columns),
            };
            Box::new(&*bytes)
        }
    };
    match &common.output {
        Some(path) => Ok(files::write_from(path, &mut from, common.force)?),
        None => {
            let mut out = std::io::stdout().lock();
            match std::io::copy(&mut from, &mut out).and_then(|_| out.flush()) {
                Ok(()) => Ok(()),
                // A reader that stops early (a pager, `head`) is no fault of ours.
                Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
                Err(e) => Err(Finding::new(
                    "F03",
                    Severity::Error,
                    Subject::Plant,
                    format!("the result cannot be written: {}", files::why(&e)),
                )
                .into()),
            }
        }
    }
}

/// Columns for text: 80, or the terminal's width where that is between 80 and 132 and the text goes there.
fn width(to_file: bool) -> u16 {
    if to_file || !std::io::stdout().is_terminal() {
        return 80;
    }
    terminal_size::terminal_size().map_or(80, |(w, _)| w.0.clamp(80, 132))
}
