//! A plant file with everything that follows from it: physics, curve, controller.
//!
//! The wiring job follows when it is asked for ([`Loaded::job`]).

use super::{
    checked::{Control, Plant},
    lower,
    places::Places,
    read::{Read, Refusal, read},
};
use crate::{
    finding::{Finding, Source},
    names::Names,
    show::Report,
};
use heatwright_core::{Config, Points, Severity, Subject, limits};
use heatwright_sim as sim;

/// Where the reset curve came from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CurveOrigin {
    /// Typed in the plant file.
    Typed,
    /// Computed from the emitters.
    Fitted {
        /// Most that it stands above the governing zone's need, in kelvin.
        above_max_k: f64,
    },
}

/// The reset curve in effect.
#[derive(Clone, Debug, PartialEq)]
pub struct ResetCurve {
    /// Outdoor and supply temperature in degrees Celsius, outdoors rising.
    pub points: Vec<(f64, f64)>,
    /// Where it came from.
    pub origin: CurveOrigin,
}

/// A plant ready for its back ends.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// The file.
    pub source: Source,
    /// The plant.
    pub plant: Plant,
    /// Its names.
    pub names: Names,
    /// Where things stand in the file.
    pub places: Places,
    /// What reading it left to say.
    pub notes: Vec<Finding>,
    /// Which point of the controller serves what; none without a controller.
    pub points: Points,
    /// The physics.
    pub physics: sim::plant::Plant,
    /// The reset curve in effect.
    pub curve: ResetCurve,
    /// The controller's configuration; without a controller that of its stand-in in the model.
    pub config: Config,
}

/// Reads a plant file and lowers it. Every finding that stands in the way comes back with its place.
pub fn load(label: &str, bytes: &[u8]) -> Result<Loaded, Refusal> {
    let Read { plant, names, places, source, notes } = read(label, bytes)?;
    let refuse = |findings: Vec<Finding>| Refusal {
        findings: findings.into_iter().map(|f| f.place(&places)).collect(),
        source: Some(source.clone()),
    };
    let stand_in = lower::zone_relays::stand_in(&plant);
    let modelled = stand_in.as_ref().unwrap_or(&plant);
    let points = lower::points::points(modelled).map_err(refuse)?;
    let physics = lower::sim::plant(modelled, &points);
    let faults: Vec<Finding> = match sim::state::Model::new(&physics, 1.0) {
        Ok(_) => Vec::new(),
        Err(faults) => faults.iter().map(lower::findings::physics).collect(),
    };
    if !faults.is_empty() {
        return Err(refuse(faults));
    }
    let curve = curve(&plant, &physics).map_err(|f| refuse(vec![f]))?;
    let config = lower::core::config(modelled, &points, &curve.points, &names).map_err(refuse)?;
    let points = if stand_in.is_some() { Points::default() } else { points };
    Ok(Loaded { source, plant, names, places, notes, points, physics, curve, config })
}

/// The typed curve, or the one computed from the emitters, held to the bounds.
fn curve(plant: &Plant, physics: &sim::plant::Plant) -> Result<ResetCurve, Finding> {
    if let Some(points) = &plant.reset.points {
        return Ok(ResetCurve {
            points: points.iter().map(|p| (p.outdoor.c, p.supply.c)).collect(),
            origin: CurveOrigin::Typed,
        });
    }
    match sim::study::curve::fit::fit(physics, plant.reset.warm_weather_off.c, limits::CURVE_POINTS) {
        Ok(fit) => Ok(ResetCurve { points: fit.points, origin: CurveOrigin::Fitted { above_max_k: fit.above_max_k } }),
        Err(e) => {
            Err(Finding::new("L05", Severity::Error, Subject::Plant, format!("no reset curve can be computed: {e}"))
                .hint("check design losses, flows and emitter ratings, or type the curve's points under [reset]"))
        }
    }
}

impl Loaded {
    /// True for a plant that our controller runs.
    pub fn controlled(&self) -> bool {
        self.plant.panel.control == Control::Controller
    }

    /// What decides in a simulated run: our controller, or what stands in for zone relays.
    pub fn control(&self) -> Box<dyn sim::Control + Send> {
        if self.controlled() {
            Box::new(sim::control::InProcess::new(self.config.clone()))
        } else {
            Box::new(sim::zone_relays::ZoneRelays::new(self.config.clone()))
        }
    }

    /// Says why a study of our controller has nothing to study without it.
    pub fn need_controller(&self, what: &str) -> Result<(), Finding> {
        if self.controlled() {
            return Ok(());
        }
        Err(Finding::new(
            "C08",
            Severity::Error,
            Subject::Plant,
            format!("{what} needs our controller, and this plant has zone relays in its place (`panel.control`)"),
        )
        .hint("write control = \"controller\" under [panel], with its sensors, to try it; or use simulate, which runs the relays"))
    }

    /// The wiring job of this plant.
    pub fn job(&self) -> heatwright_wiring::job::Job {
        lower::wiring::job(&self.plant, &self.points)
    }

    /// The building as it stands on paper: its name, and where it is.
    pub fn site(&self) -> String {
        let s = &self.plant.site;
        if s.place.is_empty() { s.name.clone() } else { format!("{}, {}", s.name, s.place) }
    }

    /// A refusal with places in this file.
    pub fn refuse(&self, findings: Vec<Finding>) -> Refusal {
        Refusal {
            findings: findings.into_iter().map(|f| f.place(&self.places)).collect(),
            source: Some(self.source.clone()),
        }
    }

    /// Lists in a report what the file left out and what was taken instead: one line a key and
    /// value, however many things share it.
    pub fn assumed(&self, report: &mut Report) {
        let mut lines: Vec<(String, String, Vec<&str>)> = Vec::new();
        for a in &self.plant.assumptions {
            let key = general(&a.key);
            let line = format!("{key} = {} ({})", a.value, a.reason);
            let id = a.key.split('.').nth(1).unwrap_or_default();
            match lines.iter_mut().find(|l| l.1 == line) {
                Some(l) => l.2.push(id),
                None => lines.push((key, line, vec![id])),
            }
        }
        // Where one key was taken at several values, the reader must know which thing has which.
        lines.sort_by_key(|l| self.plant.assumptions.iter().position(|a| general(&a.key) == l.0));
        if lines.is_empty() {
            return;
        }
        report.heading("Assumed");
        report.text("The plant file does not say these; they were taken as follows. Write a key to change it.");
        for (key, line, ids) in &lines {
            let varies = key.contains(".*.") && lines.iter().filter(|l| l.0 == *key).count() > 1;
            report.item(match ids.len() {
                _ if varies => format!("{line}: {}", ids.join(", ")),
                1 => line.clone(),
                count => format!("{line}, {count} times"),
            });
        }
    }

    /// One line that says how much was assumed.
    pub fn assumed_count(&self, report: &mut Report) {
        report.text(format!(
            "{} values that the plant file does not give were assumed; 'heatwright check' lists them with reasons.",
            self.plant.assumptions.len()
        ));
    }
}

/// A key with the thing's own id left out: `boiler.*.burner.pre-purge`.
fn general(key: &str) -> String {
    let mut parts: Vec<&str> = key.split('.').collect();
    let named = ["boiler", "zone", "pump", "safety", "sensor", "schedule", "automation"];
    if parts.len() > 2
        && parts.first().is_some_and(|p| named.contains(p))
        && let Some(id) = parts.get_mut(1)
    {
        *id = "*";
    }
    parts.join(".")
}
