//! `check`: plant, controls and wiring against each other and the rules.

use super::{Common, Failure, PlantFile, WeatherFile, plan, study_finding};
use crate::{
    exit::Exit,
    finding::{Finding, Look, render},
    plant::{
        self, Loaded,
        checked::{Drive, Fallback},
        quantity::{Quantity as _, Temp},
    },
    show::{Block, Report, Table},
};
use clap::{Args, ValueEnum};
use heatwright_core::{Severity, Subject, config::BoilerPump};
use heatwright_wiring::rules;

/// From which weight on a finding makes the command fail.
#[derive(Clone, Copy, Debug, Default, ValueEnum)]
enum Deny {
    /// Any finding.
    Note,
    /// Warnings and errors.
    Warning,
    /// Errors only.
    #[default]
    Error,
}

/// Check plant, controls and wiring against each other and the rules.
#[derive(Debug, Args)]
pub(super) struct Check {
    #[command(flatten)]
    file: PlantFile,
    #[command(flatten)]
    weather: WeatherFile,
    /// Exit with 1 when a finding has at least this weight.
    #[arg(long, value_enum, default_value_t)]
    deny: Deny,
}

impl Check {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        let loaded = self.file.read()?;
        let weather = self.weather.read()?;
        let u = common.shown();
        let mut found = loaded.notes.clone();
        found.extend(controls(&loaded));
        let study = super::curve_study(&loaded, &weather.series);
        found.extend(study.findings.iter().map(|f| study_finding(f, &loaded, u)));
        let (_, short) = super::short_cycles(&loaded);
        found.extend(short.iter().map(|f| study_finding(f, &loaded, u)));
        let (_, water) = super::water::of(&loaded, &study.year);
        found.extend(water.findings.iter().map(|f| study_finding(f, &loaded, u)));
        let (job, plan) = plan(&loaded)?;
        let checked = rules::check(&job, &plan);
        found.extend(checked.findings.iter().map(|f| plant::lower::findings::rule(f).place(&loaded.places)));
        found.sort_by_key(|f| std::cmp::Reverse(f.severity));
        let mut r = report(&loaded, &found, &checked);
        loaded.assumed(&mut r);
        let deny = match self.deny {
            Deny::Note => Severity::Note,
            Deny::Warning => Severity::Warning,
            Deny::Error => Severity::Error,
        };
        if found.iter().any(|f| f.severity >= deny) {
            r.exit = Exit::Findings;
        }
        Ok(r)
    }
}

/// Boilers on a reset of their own know no call of the tank: in mild weather their water may be too cold for it.
fn tank_on_own_reset(l: &Loaded) -> Option<Finding> {
    let t = l.plant.tank.as_ref().filter(|_| !l.controlled())?;
    let least = l.plant.reset.supply_min;
    let cold = l.curve.points.iter().map(|p| p.1).fold(f64::INFINITY, f64::min).max(least.c);
    (cold < t.target.c).then(|| {
        Finding::new(
            "C09",
            Severity::Warning,
            Subject::Tank,
            format!(
                "the tank wants {} and the boilers' own reset comes down to {}: a demand contact does not tell them who calls",
                t.target.show_both(),
                Temp { c: cold }.show_both()
            ),
        )
        .field("target")
        .hint("raise reset.supply-min to the tank's target, or use the boilers' own tank inputs, which this plan does not wire")
    })
}

/// What the control settings are worth a word about.
fn controls(l: &Loaded) -> Vec<Finding> {
    let mut out = Vec::new();
    if l.plant.alarm.is_none() && l.controlled() {
        out.push(
            Finding::new(
                "C07",
                Severity::Note,
                Subject::Plant,
                "the alarm relay lights nothing: an alarm shows on the controller alone",
            )
            .hint("add an alarm beacon or horn under a heading [alarm]"),
        );
    }
    if l.plant.fallback == Fallback::FixedTarget {
        out.push(
            Finding::new(
                "C04",
                Severity::Warning,
                Subject::Plant,
                "the fallback is stated, but nothing is wired that hands over to it: a dead controller leaves the plant without heat",
            )
            .field("guard.fallback")
            .hint("write fallback = \"zone-relays\" under [guard], and the hand-over is planned and proved with the rest"),
        );
    }
    out.extend(tank_on_own_reset(l));
    out.extend(crate::plant::told::all(l));
    out.extend(crate::plant::floors::all(l));
    for (i, b) in l.plant.boilers.iter().enumerate() {
        let id = heatwright_core::BoilerId(i as u8);
        if l.controlled() && l.points.contact(heatwright_core::ContactUse::Flow(id)).is_none() {
            out.push(
                Finding::new(
                    "C05",
                    Severity::Warning,
                    Subject::Boiler(id),
                    format!(
                        "nothing proves to the controller that water flows through {}",
                        l.names.title(Subject::Boiler(id))
                    ),
                )
                .hint("add a flow switch with a second contact: kind = \"flow-switch\", aux = true"),
            );
        }
        let m = &b.marks;
        let missing: Vec<&str> = [
            ("limit", m.limit.is_none()),
            ("proving", m.proving.is_none()),
            ("demand", m.demand.is_none()),
            ("line", m.line.is_none()),
            ("signal", m.signal.is_none() && !matches!(b.drive, Drive::DemandOnly)),
            ("status", m.status.is_none() && b.status_contact),
            ("alarm", m.alarm.is_none() && b.alarm_contact),
            ("pump", m.pump.is_none() && matches!(b.pump, BoilerPump::Boiler(_) | BoilerPump::Either(_))),
        ]
        .into_iter()
        .filter_map(|(n, missing)| missing.then_some(n))
        .collect();
        if !missing.is_empty() {
            out.push(
                Finding::new(
                    "C03",
                    Severity::Note,
                    Subject::Boiler(id),
                    format!(
                        "the terminal marks of {} are not typed for: {}",
                        l.names.title(Subject::Boiler(id)),
                        missing.join(", ")
                    ),
                )
                .hint("read them off the boiler and type them under its marks; the schedule then names real terminals"),
            );
        }
    }
    out.into_iter().map(|f| f.place(&l.places)).collect()
}

fn report(l: &Loaded, found: &[Finding], checked: &rules::Checked) -> Report {
    let mut r = Report::of(&l.source, format!("Check of {}", l.site()));
    let count = |s: Severity| found.iter().filter(|f| f.severity == s).count();
    r.text(format!(
        "{}, {}, {}.",
        counted(count(Severity::Error), "error"),
        counted(count(Severity::Warning), "warning"),
        counted(count(Severity::Note), "note")
    ));
    if !found.is_empty() {
        r.heading("Findings");
        r.push(Block::Lines(render(found, Some(&l.source), Look { width: 80, color: false }).trim_end().to_owned()));
        r.text("'heatwright explain CODE' says what a finding means, why it matters and how to mend it.");
    }
    r.heading("What was checked");
    r.text(format!(
        "The plant file; {}supply temperature against every emitter over the weather; the smallest zone \
         against the smallest fire; fill pressure, expansion tank, relief valves and boiler flow; and {} wiring rules ('heatwright explain --list').",
        if l.controlled() { "the controller's configuration; " } else { "" },
        checked.checked.len()
    ));
    r.heading("What was not");
    for n in checked.not_checked {
        r.item(*n);
    }
    r.text(
        "Nothing here says that the plant complies with a code. The local code, the authority having jurisdiction, the equipment's \
         instructions and licensed practice govern.",
    );
    let mut t = Table::new(&["Code", "Weight", "About", "Finding", "Mend"]);
    for f in found {
        let weight = match f.severity {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Error => "error",
        };
        t.row([
            f.code.to_string(),
            weight.into(),
            l.names.id(f.subject).into_owned(),
            f.sentence.clone(),
            f.hints.join("; "),
        ]);
    }
    r.main = t;
    r.json = serde_json::json!({
        "plant": l.plant.site.name,
        "findings": found.iter().map(|f| f.to_json(&l.names, Some(&l.source))).collect::<Vec<_>>(),
        "rules_checked": checked.checked.iter().map(|c| c.0).collect::<Vec<_>>(),
        "not_checked": checked.not_checked,
        "assumed": l.plant.assumptions,
    });
    r
}

/// A number with its word in the right form.
fn counted(n: usize, word: &str) -> String {
    format!("{n} {word}{}", if n == 1 { "" } else { "s" })
}
