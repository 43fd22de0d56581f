//! The alarm of a run or a record in words: a line, and a finding a cause.

use super::clock;
use crate::{finding::Finding, plant::Loaded, show::reasons};
use heatwright_core::{Reason, Severity, Subject};
use heatwright_sim::run::summary::{Alarms, Stood};
use jiff::civil::DateTime;

/// One line on the alarm, also where there was none.
pub(super) fn line(a: &Alarms, hours_h: f64) -> String {
    if a.causes.is_empty() {
        return "The alarm relay did not drop.".into();
    }
    format!(
        "ALARM: the alarm relay was dropped for {:.1} of {hours_h:.1} h{} (R09).",
        a.hours_h,
        if a.at_end { ", and at the end" } else { "" }
    )
}

/// A finding for each cause of the alarm, and for each boiler that was out of order.
pub(super) fn findings(l: &Loaded, a: &Alarms, hours_h: f64, start: DateTime) -> Vec<Finding> {
    let alarm = a.causes.iter().map(|s| {
        let sentence = format!("the alarm stood {}: {}", when(s, hours_h, start), why(l, s));
        Finding::new("R09", Severity::Warning, about(s), sentence).hint(mend(s.why))
    });
    let boilers = a.out_of_order.iter().map(|s| {
        let about = about(s);
        let sentence = format!("{} was out of order {}: {}", l.names.title(about), when(s, hours_h, start), bare(l, s));
        Finding::new("R10", Severity::Warning, about, sentence).hint(mend(s.why))
    });
    alarm.chain(boilers).collect()
}

fn when(s: &Stood, hours_h: f64, start: DateTime) -> String {
    let first = if s.first_s > 0.0 {
        format!("first at {}", clock(start, s.first_s))
    } else {
        "from the beginning on".to_owned()
    };
    let times = if s.times == 1 { String::new() } else { format!(", {} times", s.times) };
    let end = if s.at_end { ", and at the end" } else { "" };
    format!("{first}{times}, for {:.1} of {hours_h:.1} h{end}", s.hours_h)
}

fn about(s: &Stood) -> Subject {
    match (s.boiler, s.why) {
        (Some(b), _)
        | (None, Reason::HotCuts(b) | Reason::StuckFlow(b) | Reason::FlowMissed(b) | Reason::FlameMissed(b)) => {
            Subject::Boiler(b)
        }
        (None, Reason::Safety(x)) => Subject::Safety(x),
        (None, Reason::Fallback(x) | Reason::Frozen(x)) => Subject::Sensor(x),
        (None, Reason::StuckEndSwitch(z)) => Subject::Zone(z),
        (None, Reason::DamperFailed | Reason::StuckDamper) => Subject::Damper,
        (None, _) => Subject::Plant,
    }
}

fn bare(l: &Loaded, s: &Stood) -> String {
    reasons::reason(s.why, &l.names)
}

fn why(l: &Loaded, s: &Stood) -> String {
    let boiler = s.boiler.map(|b| format!("{}: ", l.names.title(Subject::Boiler(b))));
    format!("{}{}", boiler.unwrap_or_default(), bare(l, s))
}

fn mend(why: Reason) -> &'static str {
    match why {
        Reason::HotCuts(_) => {
            "where several burned on a load that one carries: staging (up-error, start-spacing, up-rate); where it burned alone its flow \
             does not carry its heat away at its smallest fire: its flow, turndown, and outlet-max against its targets. guard.hot-cuts \
             says how many cuts are too many"
        }
        Reason::Safety(_) => "see why it opened, mend that, reset it and acknowledge",
        Reason::FlowFailed => "see its pump, its valves and its flow switch; it stays locked out until acknowledged",
        Reason::FlameFailed => "see gas, ignition and its own limits; it stays locked out until acknowledged",
        Reason::FlowMissed(_) => "see its pump, its valves and its flow switch; a second failure locks it out",
        Reason::FlameMissed(_) => "see gas, ignition and its own limits; a second failure locks it out",
        Reason::BoilerFault => "its own display says what is wrong",
        Reason::DamperFailed | Reason::StuckDamper => "see the damper and its end switch",
        Reason::Fallback(_) => {
            "a reading is missing or out of range: see the sensor and its wires, or the column of the record"
        }
        Reason::Frozen(_) => {
            "a reading that stands still while its plant acts: see where the sensor sits, or guard.frozen-after"
        }
        Reason::StuckEndSwitch(_) => "see the valve and its end switch",
        Reason::StuckFlow(_) => "see the flow switch: it is made while no pump runs",
        _ => "the events say what waits to be acknowledged",
    }
}
