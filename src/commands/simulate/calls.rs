//! `--calls`: recorded thermostats in place of the model's.

use crate::{
    commands::Failure,
    files,
    finding::Finding,
    plant::{Loaded, nearest},
    show::Report,
};
use heatwright_core::{Severity, Subject, ZoneId};
use heatwright_sim::traces::{Caller, Traces};
use jiff::{SignedDuration, civil::DateTime};
use std::path::Path;

/// A record of calls and whose they are.
pub(super) struct Calls {
    pub(super) traces: Traces,
    pub(super) callers: Vec<Caller>,
    label: String,
}

fn fault(label: &str, sentence: impl std::fmt::Display) -> Finding {
    Finding::new("W02", Severity::Error, Subject::Plant, format!("the calls of {label}: {sentence}"))
}

impl Calls {
    /// Reads a record and finds each of its columns in the plant.
    pub(super) fn read(path: &Path, l: &Loaded) -> Result<Self, Failure> {
        let label = path.to_string_lossy().into_owned();
        let traces = Traces::parse(&files::read(path)?).map_err(|e| fault(&label, e))?;
        let zones: Vec<String> = (0..l.plant.zones.len()).map(|i| l.names.zone(ZoneId(i as u8)).into_owned()).collect();
        let mut callers = Vec::new();
        for name in traces.names() {
            callers.push(match l.names.find(name) {
                Some(Subject::Zone(z)) => Caller::Zone(z),
                _ if name == "tank" && l.plant.tank.is_some() => Caller::Tank,
                _ => {
                    let tank = l.plant.tank.is_some().then_some("tank");
                    let known: Vec<&str> = zones.iter().map(String::as_str).chain(tank).collect();
                    let near = nearest(name, known.iter().copied()).map(|n| format!("perhaps `{n}` is meant"));
                    let shown: String = name.chars().take(40).collect();
                    return Err(fault(&label, format!("`{shown}` is no zone of this plant"))
                        .hints(near)
                        .hint(format!("a column is named by the id of a zone: {}", known.join(", ")))
                        .into());
                }
            });
        }
        Ok(Self { traces, callers, label })
    }

    /// Refuses a run that the record does not reach: before its first line, or more than a day after its last.
    pub(super) fn covers(&self, start: DateTime, days: u32) -> Result<(), Failure> {
        let (first, last) = (self.traces.start(), self.traces.end());
        let end = start.saturating_add(SignedDuration::from_hours(i64::from(days) * 24));
        let slack = SignedDuration::from_hours(24);
        if end.duration_since(last) > slack || first.duration_since(start) >= slack {
            return Err(fault(
                &self.label,
                format!("they reach from {first} to {last}; the run wants {start} to {end}"),
            )
            .hint("choose days that the record holds with --from and --days")
            .into());
        }
        Ok(())
    }

    /// Says whose thermostats were replaced, who calls before the record begins, and what of it is odd.
    pub(super) fn tell(&self, l: &Loaded, start: DateTime, until: &str, r: &mut Report) {
        let whose: Vec<String> = self
            .callers
            .iter()
            .map(|c| match c {
                Caller::Zone(z) => l.names.title(Subject::Zone(*z)).into_owned(),
                Caller::Tank => l.names.title(Subject::Tank).into_owned(),
            })
            .collect();
        r.text(format!("Calls of {} are those of {}.", whose.join(", "), self.label));
        for n in self.traces.notes() {
            r.item(format!("calls: {n}"));
        }
        if start < self.traces.start() {
            r.item(format!("calls: from {start} to the record's first line, {}, {until}", self.traces.start()));
        }
    }
}
