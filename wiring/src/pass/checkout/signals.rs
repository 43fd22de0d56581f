//! Signals: what no trip, motor or supply of the other parts tries. The alarm and what it lights, the contacts of another system, each
//! input of the controller, each sensor, each 0-10 V output with what it moves, the damper's stroke.
//!
//! One line a point, from the points and the plan: a point that is added has its line. Safeties' own inputs stand with their trips.
//!
//! Source of the procedure: common practice, no source (point-to-point check). What a reading may be off by is our choice.

use crate::{
    device::{Device, Kind},
    job::{Job, Shown},
    kinds::controller,
    part::{Actuator, LoadUse, Part},
    plan::Plan,
};
use heatwright_core::{
    AnalogId, AnalogUse, ContactId, ContactUse, RelayId, RelayUse, SensorId, SensorUse, Subject, ZoneId,
};
use serde::Serialize;

/// One signal to try.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Signal {
    /// What it is.
    pub what: String,
    /// Terminals at which it is read.
    pub at: String,
    /// How it is made.
    pub how: String,
    /// What must be seen.
    pub seen: String,
    /// True where it needs a burner that is lit or hot water: tried in the part with the trips, else before it.
    pub burner_lit: bool,
    /// The sensor, where it is one: its place among the sensors.
    pub sensor: Option<SensorId>,
}

/// All signals: what reads first, what acts next, last the alarm.
pub(super) fn signals(job: &Job, plan: &Plan) -> Vec<Signal> {
    let mut list = Vec::new();
    if let Some(c) = plan.devices.iter().find(|d| d.kind == Kind::Controller) {
        let points = &job.points;
        list.extend(points.sensors.iter().enumerate().filter_map(|(i, s)| sensor(job, plan, c, SensorId(i as u8), *s)));
        list.extend(
            points.contacts.iter().enumerate().filter_map(|(i, s)| input(job, plan, c, ContactId(i as u8), *s)),
        );
        list.extend(points.analogs.iter().enumerate().filter_map(|(i, s)| output(job, plan, c, AnalogId(i as u8), *s)));
        list.extend(points.relays.iter().enumerate().filter_map(|(i, s)| relay(job, plan, c, RelayId(i as u8), *s)));
    } else {
        // Without a controller a zone valve's end switch starts the pump itself.
        let valves = plan.devices.iter().filter(|d| d.kind == Kind::ZoneValve);
        list.extend(valves.filter_map(|d| end_switch(job, d)));
        list.extend(damper(plan).map(|d| stroke(d, "Turn a thermostat up, then down again.")));
    }
    list.extend(automation(job, plan));
    list
}

fn line(what: String, at: String, how: impl Into<String>, seen: impl Into<String>) -> Signal {
    Signal { what, at, how: how.into(), seen: seen.into(), burner_lit: false, sensor: None }
}

fn pair(tag: &str, marks: &[String; 2]) -> String {
    format!("{tag}: {} - {}", marks[0], marks[1])
}

/// The device that holds a part like this.
fn holder(plan: &Plan, wanted: impl Fn(&Part) -> bool) -> Option<&Device> {
    plan.devices.iter().find(|d| d.parts.iter().any(&wanted))
}

fn moved_by(plan: &Plan, kind: Kind, by: Actuator) -> Option<&Device> {
    let here = |p: &Part| matches!(p, Part::Contact { by: b, .. } if *b == by);
    plan.devices.iter().find(|d| d.kind == kind && d.parts.iter().any(here))
}

fn sensor(job: &Job, plan: &Plan, c: &Device, id: SensorId, what: SensorUse) -> Option<Signal> {
    let measured = match what {
        SensorUse::Spare => return None,
        SensorUse::Outdoor => "outdoor air".to_owned(),
        SensorUse::Supply => "supply".to_owned(),
        SensorUse::Return => "return".to_owned(),
        SensorUse::BoilerOutlet(b) => format!("outlet of {}", job.names.of(Subject::Boiler(b))),
        SensorUse::Tank => job.names.of(Subject::Tank),
        SensorUse::Mixed(z) => format!("mixed supply of {}", job.names.of(Subject::Zone(z))),
    };
    let there = holder(plan, |p| matches!(p, Part::Element { sensor, .. } if *sensor == id));
    let tag = there.map_or_else(|| "it".to_owned(), |d| d.tag.clone());
    let mut s = line(
        format!("sensor {}: {measured}", id.0 + 1),
        pair(&c.tag, &controller::sensor(id)),
        format!("Hold a thermometer at {tag} and let both settle; then warm {tag} by hand or water."),
        "Within 2 °F of the thermometer; warmed, this reading rises and no other. Lifted: the controller reports it.",
    );
    s.sensor = Some(id);
    Some(s)
}

fn input(job: &Job, plan: &Plan, c: &Device, id: ContactId, what: ContactUse) -> Option<Signal> {
    let zone = |z: ZoneId| job.names.of(Subject::Zone(z));
    let n = id.0 + 1;
    let (name, how, seen, lit): (String, String, String, bool) = match what {
        ContactUse::Spare | ContactUse::Safety(..) => return None,
        ContactUse::Call(z) => (
            format!("call of {}", zone(z)),
            "Turn its thermostat up, then down.".into(),
            format!("Input {n} closes, then opens."),
            false,
        ),
        ContactUse::TankCall => (
            format!("call of {}", job.names.of(Subject::Tank)),
            "Turn its aquastat up, then down.".into(),
            format!("Input {n} closes, then opens."),
            false,
        ),
        ContactUse::EndSwitch(z) => (
            format!("end switch of the valve of {}", zone(z)),
            "Turn its thermostat up and watch the valve; down again.".into(),
            format!("Input {n} closes only once the valve is open, and opens as it shuts."),
            false,
        ),
        ContactUse::Flow(b) => (
            format!("flow of {}", job.names.of(Subject::Boiler(b))),
            "Start its pump, then stop it.".into(),
            format!("Input {n} closes with the flow and opens without."),
            false,
        ),
        ContactUse::DamperOpen => (
            "damper open".into(),
            "Call for heat and watch the blades; end the call.".into(),
            format!("Input {n} closes only with the blades open, and opens as they shut."),
            false,
        ),
        ContactUse::Flame(b) => (
            format!("burner of {} lit", job.names.of(Subject::Boiler(b))),
            "Light it, then end its demand.".into(),
            format!("Input {n} closes with the flame and opens when it goes out."),
            true,
        ),
        ContactUse::BoilerFault(b) => (
            format!("fault of {}", job.names.of(Subject::Boiler(b))),
            "Let it lock out with its gas shut; reset it.".into(),
            format!("Input {n} closes with the fault and opens with the reset; the alarm comes."),
            false,
        ),
        ContactUse::Hand(p) | ContactUse::Auto(p) => {
            let (at, other) = if matches!(what, ContactUse::Hand(_)) { ("HAND", "AUTO") } else { ("AUTO", "HAND") };
            let by = if at == "HAND" { Actuator::Hand(p) } else { Actuator::Auto(p) };
            let selector = moved_by(plan, Kind::Selector, by).map_or_else(|| "its selector".into(), |d| d.tag.clone());
            (
                format!("{at} of {}", job.names.of(Subject::Pump(p))),
                format!("Turn {selector} to {at}, OFF and {other}."),
                format!("Input {n} is closed at {at} and open at OFF and {other}."),
                false,
            )
        }
        ContactUse::BoilerSwitch(b) => {
            let by = Actuator::BoilerSwitchOff(b);
            let switch =
                moved_by(plan, Kind::Disconnect, by).map_or_else(|| "its service switch".into(), |d| d.tag.clone());
            (
                format!("service switch of {}", job.names.of(Subject::Boiler(b))),
                format!("Open {switch}, then close it."),
                format!("Input {n} opens, then closes."),
                false,
            )
        }
        ContactUse::Acknowledge => (
            "acknowledge button".into(),
            "Press it.".into(),
            format!("Input {n} is closed while it is pressed."),
            false,
        ),
    };
    let mut s = line(format!("input {n}: {name}"), pair(&c.tag, &controller::input(id)), how, seen);
    s.burner_lit = lit;
    Some(s)
}

fn output(job: &Job, plan: &Plan, c: &Device, id: AnalogId, what: AnalogUse) -> Option<Signal> {
    let there = plan.devices.iter().find_map(|d| {
        let marks = d.parts.iter().find_map(|p| match p {
            Part::SignalIn { plus, minus, analog } if *analog == id => Some([*plus, *minus]),
            _ => None,
        })?;
        let name = |t: crate::part::T| d.terminals.get(usize::from(t.0)).map(|t| t.mark.clone());
        Some((d, pair(&d.tag, &[name(marks[0])?, name(marks[1])?])))
    });
    let far = there.as_ref().map_or_else(String::new, |(_, at)| format!("; {at}"));
    let tag = there.as_ref().map_or_else(|| "it".to_owned(), |(d, _)| d.tag.clone());
    let (name, how, seen, lit) = match what {
        AnalogUse::Spare => return None,
        AnalogUse::Target(b) => (
            format!("target of {}", job.names.of(Subject::Boiler(b))),
            "Call for heat, then end the call.".to_owned(),
            format!(
                "The volts that the controller shows, at both ends, + on +; {tag} shows the same target. 0 V without a call."
            ),
            false,
        ),
        AnalogUse::Rate(b) => (
            format!("firing rate of {}", job.names.of(Subject::Boiler(b))),
            "Light it and let the load rise, then end the call.".to_owned(),
            format!(
                "The volts that the controller shows, at both ends, + on +; the fan of {tag} follows. 0 V without a call."
            ),
            true,
        ),
        AnalogUse::Mixing(z) => (
            format!("mixing valve of {}", job.names.of(Subject::Zone(z))),
            "Call for heat with its water cold, then end the call: a whole stroke each way.".to_owned(),
            format!(
                "The volts that the controller shows, at both ends, + on +. {tag} at 0 V: all return; at 10 V: all supply. The other way \
                 round boiler water goes into the floor: turn its direction, not the wires."
            ),
            false,
        ),
    };
    let mut s = line(
        format!("0-10 V output {}: {name}", id.0 + 1),
        format!("{}{far}", pair(&c.tag, &controller::analog(id))),
        how,
        seen,
    );
    s.burner_lit = lit;
    Some(s)
}

/// Relays that start no motor and ask no boiler: damper, alarm, health.
fn relay(job: &Job, plan: &Plan, c: &Device, id: RelayId, what: RelayUse) -> Option<Signal> {
    let at = pair(&c.tag, &controller::relay_open(id));
    let beacon = plan.devices.iter().find(|d| d.kind == Kind::Beacon);
    match what {
        RelayUse::Damper => damper(plan).map(|d| stroke(d, "Call for heat, then end the call.")),
        RelayUse::Alarm => Some(line(
            format!("relay {}: alarm", id.0 + 1),
            at,
            "Lift one wire of a sensor at the controller; land it again.",
            match beacon {
                Some(d) => {
                    format!("The relay drops and {} lights; with the wire landed and acknowledged it goes out.", d.tag)
                }
                None => "The relay drops; with the wire landed and acknowledged it pulls again.".into(),
            },
        )),
        RelayUse::Health => {
            let lights = beacon.map_or_else(String::new, |d| format!(", {} lights", d.tag));
            let goes_on = match job.panel.hand_over {
                true => "the calls start pumps and boilers by themselves, limits in force",
                false => "no relay of the controller stays pulled",
            };
            Some(line(
                format!("relay {}: health", id.0 + 1),
                at,
                format!(
                    "Take {}'s own supply away at its terminals 24V.1 and 24V.2, nothing else; give it back.",
                    c.tag
                ),
                format!("The relay drops{lights}; {goes_on}."),
            ))
        }
        _ => None,
    }
}

fn damper(plan: &Plan) -> Option<&Device> {
    plan.devices.iter().find(|d| d.kind == Kind::Damper)
}

fn stroke(d: &Device, how: &str) -> Signal {
    line(
        format!("stroke of the damper {}", d.tag),
        format!("{}, at its blades", d.tag),
        how,
        "The blades open all the way and stay; they shut all the way as the power goes. Fingers out.",
    )
}

fn end_switch(job: &Job, d: &Device) -> Option<Signal> {
    let zone = d.parts.iter().find_map(|p| match p {
        Part::Contact { by: Actuator::ValveOpen(z), .. } => Some(*z),
        _ => None,
    })?;
    Some(line(
        format!("end switch of {}, valve of {}", d.tag, job.names.of(Subject::Zone(zone))),
        format!("{}, its last two terminals", d.tag),
        "Turn its thermostat up and watch the valve; down again.",
        "What it starts comes only once the valve is open, and goes as it shuts.",
    ))
}

/// What another system is shown.
fn automation(job: &Job, plan: &Plan) -> Vec<Signal> {
    let mut list = Vec::new();
    for (i, a) in job.automation.iter().enumerate() {
        let own = |p: &Part| matches!(p, Part::Load { what: LoadUse::Automation(n), .. } if usize::from(*n) == i);
        let Some(d) = holder(plan, own) else { continue };
        let field = d.terminals.iter().filter(|t| t.reach == crate::device::Reach::Field).map(|t| t.mark.as_str());
        let (makes, sees) = match a.shows {
            Shown::Alarm => ("Make the alarm as above", "trouble with the alarm"),
            Shown::Health => ("Drop the health relay as above", "trouble while the controller is dead"),
        };
        list.push(line(
            format!("contact for another system: {}", a.name),
            format!("{}: {}", d.tag, field.collect::<Vec<_>>().join(" - ")),
            format!("{makes}; then lift one of its two wires and land it again."),
            format!(
                "Whoever watches that system sees {sees}, trouble with the wire lifted, and none while all is well. Its own {:.0} V stand on \
                 these terminals.",
                a.volts
            ),
        ));
    }
    list
}
