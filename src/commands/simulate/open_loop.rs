//! `--recorded`: the controller driven by recordings, open loop; what it states is written out.

use super::{
    calls::Calls,
    clock,
    paper::{SWITCHED, event_lines, events_json},
};
use crate::{
    commands::{Common, Failure},
    files,
    finding::Finding,
    plant::{Loaded, nearest},
    series::SeriesFile,
    show::{
        Report, Table, reasons,
        units::{In, tidy},
    },
};
use heatwright_core::{Config, RelayId, RelayUse, SensorId, SensorUse, Severity, Subject};
use heatwright_sim::{
    control::InProcess,
    outdoor::{Outdoor as _, Steady},
    replay::{
        Commanded, Replay,
        record::{Record, RecordError},
        replay,
    },
    traces::Replayed,
};
use std::path::Path;

/// What is asked for.
pub(super) struct Asked<'a> {
    pub(super) recorded: &'a Path,
    pub(super) calls: Option<&'a Path>,
    pub(super) series: Option<&'a Path>,
    pub(super) sample_min: u32,
    pub(super) events: usize,
}

enum Refused {
    Record(RecordError),
    Column(Box<Finding>),
}

impl From<RecordError> for Refused {
    fn from(e: RecordError) -> Self {
        Self::Record(e)
    }
}

fn fault(label: &str, sentence: impl std::fmt::Display) -> Finding {
    Finding::new("W03", Severity::Error, Subject::Plant, format!("the record of {label}: {sentence}"))
}

fn read(path: &Path, l: &Loaded) -> Result<Record, Failure> {
    let label = path.to_string_lossy().into_owned();
    let ids: Vec<String> =
        (0..l.plant.sensors.len()).map(|i| l.names.id(Subject::Sensor(SensorId(i as u8))).into_owned()).collect();
    let sensor = |name: &str| match l.names.find(name) {
        Some(Subject::Sensor(s)) => Ok(l.points.sensors.get(s.index()).copied().unwrap_or(SensorUse::Spare)),
        _ => {
            let near = nearest(name, ids.iter().map(String::as_str)).map(|n| format!("perhaps `{n}` is meant"));
            let shown: String = name.chars().take(40).collect();
            Err(Refused::Column(Box::new(
                fault(&label, format!("`{shown}` is no sensor of this plant"))
                    .hints(near)
                    .hint(format!("a column is named by the id of a sensor: {}", ids.join(", "))),
            )))
        }
    };
    let record = Record::parse(&files::read(path)?, sensor).map_err(|e| match e {
        Refused::Record(e) => fault(&label, e)
            .hint("mend that line or column, or take the stretch out; 'heatwright explain W03' says what is read"),
        Refused::Column(f) => *f,
    })?;
    for (needed, word) in [(SensorUse::Outdoor, "outdoor"), (SensorUse::Supply, "supply")] {
        if !record.columns().iter().any(|c| c.sensor == needed) {
            return Err(fault(&label, format!("no column is the {word} temperature; the controller follows it"))
                .hint("add the column; its name is the id of that sensor")
                .into());
        }
    }
    Ok(record)
}

fn recorded(record: &Record, sensor: SensorUse) -> bool {
    sensor == SensorUse::Spare || record.columns().iter().any(|c| c.sensor == sensor)
}

/// The controller without the sensors that are not recorded, where it can do without: it would take each for broken.
fn without_unrecorded(config: &Config, record: &Record) -> Config {
    let faults = |c: &Config| {
        let mut count = 0_u32;
        c.check(|_| count += 1);
        count
    };
    let (mut config, had) = (config.clone(), faults(config));
    for k in 0..config.points.sensors.len() {
        let mut tried = config.clone();
        let Some(sensor) = tried.points.sensors.get_mut(k).filter(|s| !recorded(record, **s)) else { continue };
        *sensor = SensorUse::Spare;
        if faults(&tried) <= had {
            config = tried;
        }
    }
    config
}

/// Drives the controller and reports.
pub(super) fn run(asked: &Asked<'_>, l: &Loaded, common: &Common) -> Result<Report, Failure> {
    let u = In(common.units);
    let record = read(asked.recorded, l)?;
    let Some(calls) = asked.calls.map(|p| Calls::read(p, l)).transpose()? else {
        return Err(Finding::new(
            "W03",
            Severity::Error,
            Subject::Plant,
            "recorded temperatures alone move nothing: nobody calls for heat",
        )
        .hint("add the recorded thermostats with --calls FILE")
        .into());
    };
    let days = (record.length_s() / 86_400.0).ceil() as u32;
    calls.covers(record.start(), days)?;
    // The weather behind the calls is not asked: outdoors is recorded.
    let nothing = Steady { outdoor_c: 0.0 };
    let replayed = Replayed::new(&nothing, &calls.traces, &calls.callers, record.start());
    let heads = heads(l, u);
    let mut table = Table::new(&std::iter::once("Time").chain(heads.iter().map(String::as_str)).collect::<Vec<_>>());
    let plain: Vec<String> = heads.iter().map(|h| h.trim_start_matches('>').to_owned()).collect();
    let mut file = asked.series.map(|p| SeriesFile::new(p, record.start(), &plain)).transpose()?;
    let mut lost: Option<Finding> = None;
    let mut control = InProcess::new(without_unrecorded(&l.config, &record));
    let mut look = |c: &Commanded<'_>| {
        let values = row(l, c, u);
        if let Some(f) = &mut file
            && lost.is_none()
        {
            lost = f.row(c.at_s, &values).err();
        }
        let cells = values.iter().map(|v| v.map_or(String::new(), |v| tidy(v, 1)));
        table.row(std::iter::once(crate::series::stamp(record.start(), c.at_s)).chain(cells));
    };
    let ran = replay(&l.physics, &record, &|at_s| replayed.calls(at_s), &mut control, asked.sample_min * 60, &mut look)
        .map_err(|e| crate::commands::stopped(&e))?;
    if let Some(f) = lost {
        return Err(f.into());
    }
    if let Some(f) = file {
        f.finish(common.force)?;
    }
    let mut r = report(l, &record, &ran, asked);
    calls.tell(l, record.start(), "nobody calls", &mut r);
    r.main = table;
    Ok(r)
}

fn relays(l: &Loaded) -> impl Iterator<Item = (RelayId, RelayUse)> + '_ {
    let each = l.points.relays.iter().enumerate().map(|(k, u)| (RelayId(k as u8), *u));
    each.filter(|(_, u)| *u != RelayUse::Spare)
}

fn heads(l: &Loaded, u: In) -> Vec<String> {
    let mut heads = Vec::new();
    for (k, use_) in l.points.sensors.iter().enumerate() {
        if *use_ != SensorUse::Spare {
            heads.push(format!(">{}, {}", l.names.title(Subject::Sensor(SensorId(k as u8))), u.temp_unit()));
        }
    }
    heads.push(format!(">Target, {}", u.temp_unit()));
    heads.extend(relays(l).map(|(_, what)| format!(">{}", reasons::relay(what, &l.names))));
    heads.extend((1..=l.points.analogs.len()).map(|k| format!(">0-10 V output {k}, V")));
    heads
}

fn row(l: &Loaded, c: &Commanded<'_>, u: In) -> Vec<Option<f64>> {
    let temp = |t: heatwright_core::Temp| u.temp(f64::from(t.centi_c()) / 100.0);
    let used = l.points.sensors.iter().zip(c.sensors).filter(|(use_, _)| **use_ != SensorUse::Spare);
    let mut out: Vec<Option<f64>> = used.map(|(_, r)| r.temp().map(temp)).collect();
    out.push(c.outputs.target.map(temp));
    out.extend(relays(l).map(|(r, _)| Some(f64::from(u8::from(c.outputs.relay(r).on)))));
    let volts = c.outputs.analogs.iter().take(l.points.analogs.len());
    out.extend(volts.map(|s| Some(f64::from(s.at.get()) / 100.0)));
    out
}

fn report(l: &Loaded, record: &Record, ran: &Replay, asked: &Asked<'_>) -> Report {
    let mut r = Report::of(&l.source, format!("{}: what its controller does on a record", l.plant.site.name));
    r.text(format!(
        "Open loop: {:.1} h from {} of {}. The record stands at the sensors and thermostats; pumps, valves and burners answer as \
         meant; the water does not answer. Hours and starts are those of the commands, not a forecast.",
        ran.length_s / 3600.0,
        clock(record.start(), 0.0),
        asked.recorded.display()
    ));
    let without = without_unrecorded(&l.config, record);
    let absent: Vec<(bool, String)> = (0_u8..)
        .zip(&l.points.sensors)
        .filter(|(_, use_)| !recorded(record, **use_))
        .map(|(k, use_)| {
            (without.points.sensor(*use_).is_some(), l.names.title(Subject::Sensor(SensorId(k))).into_owned())
        })
        .collect();
    let named =
        |needed: bool| absent.iter().filter(|a| a.0 == needed).map(|a| a.1.as_str()).collect::<Vec<_>>().join(", ");
    if absent.iter().any(|a| !a.0) {
        r.text(format!("Not recorded, and taken as not there, so that no alarm stands for them: {}.", named(false)));
    }
    if absent.iter().any(|a| a.0) {
        r.text(format!(
            "Not recorded, and the controller cannot do without: {}. It takes them for broken, and its alarm says so.",
            named(true)
        ));
    }
    let absent: Vec<&str> = absent.iter().map(|a| a.1.as_str()).collect();
    r.heading("Commands");
    let mut t = Table::new(&["Output", ">On, h", ">Switched on"]);
    for (id, what) in relays(l) {
        let k = id.index();
        let hours = ran.on_s.get(k).copied().unwrap_or(0.0) / 3600.0;
        let starts = ran.starts.get(k).copied().unwrap_or(0);
        t.row([reasons::relay(what, &l.names), tidy(hours, 2), starts.to_string()]);
    }
    r.table(t);
    r.text(super::alarm::line(&ran.alarm, ran.length_s / 3600.0));
    let found = super::alarm::findings(l, &ran.alarm, ran.length_s / 3600.0, record.start());
    if !found.is_empty() {
        r.heading("Findings of this record");
    }
    for f in &found {
        r.finding(f);
    }
    event_lines(&mut r, l, record.start(), (SWITCHED, (&ran.events, ran.events_dropped, None)), asked.events);
    for n in record.notes() {
        r.item(format!("record: {n}"));
    }
    let each = relays(l).map(|(id, what)| {
        serde_json::json!({
            "relay": id.0 + 1,
            "serves": reasons::relay(what, &l.names),
            "on_h": ran.on_s.get(id.index()).map(|s| s / 3600.0),
            "switched_on": ran.starts.get(id.index()),
        })
    });
    r.json = serde_json::json!({
        "plant": l.plant.site.name,
        "open_loop": true,
        "from": clock(record.start(), 0.0),
        "length_h": ran.length_s / 3600.0,
        "not_recorded": absent,
        "alarm": ran.alarm,
        "findings": found.iter().map(|f| f.to_json(&l.names, Some(&l.source))).collect::<Vec<_>>(),
        "commands": each.collect::<Vec<_>>(),
        "events": events_json(l, record.start(), &ran.events),
        "events_not_kept": ran.events_dropped,
        "notes": record.notes().iter().map(ToString::to_string).collect::<Vec<_>>(),
    });
    r
}
